"""What one card says about one line, front and back."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from cardgen.cards.chances import chance_text, pins_text
from cardgen.cards.spoken import Spoken, spoken_of
from cardgen.cards.words import Words
from cardgen.lane.geometry import ARROW_BOARDS, BOARDS, Hand, x_board
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import (
    Action,
    Alternative,
    How,
    Line,
    Odds,
    Play,
    Spot,
    Trace,
)
from cardgen.units import DEGREE_RAD, FOOT_M, MPH_MPS

FLATTEST_HOOK_RAD = 20 * DEGREE_RAD
"""A spare ball is thrown flat with 0 to 15 degrees of axis rotation (common practice, no source);
from here on a release is called a hook."""
MARKS_FT = (15, 30, 45)
_MOST_UNSURE = 9.9  # boards: past it no figure helps
_MOST_FEET = 8  # boards of feet that anybody would move after a miss (an assumption)


@dataclass(frozen=True)
class Call:
    """One of the two figures a bowler takes to the lane."""

    label: str
    figure: str


@dataclass(frozen=True)
class RoomGauge:
    """How far the target may be missed: numbers to draw, words to print."""

    target: float
    left: float
    right: float
    left_text: str
    right_text: str


@dataclass(frozen=True)
class Note:
    """A heading and what stands under it; one that is ``kept`` is never left out for room."""

    heading: str
    lines: tuple[str, ...]
    kept: bool = False


@dataclass(frozen=True)
class Remedy:
    """A miss, and what to move."""

    miss: str
    move: str


@dataclass(frozen=True, eq=False)
class Sketch:
    """What the drawing of the lane shows: the line itself, and who throws it.

    ``marks`` are feet with their labels; ``oil`` names the oil and tells how far it reaches.
    """

    line: Line
    bowler: Bowler
    marks: tuple[tuple[int, str], ...]
    oil: tuple[str, str]


@dataclass(frozen=True, eq=False)
class Card:
    """One card.

    ``arrow`` is the target again, by the arrows; ``imagine`` the spot to roll over, if no standing
    pin marks it; ``defaults`` says so of a line that rests on nothing else; ``summary`` the call in
    a few words; ``sketch`` what the lane drawing shows; ``notes`` what else there is to say, the
    most useful first; ``owner`` whose card it is; ``spoken`` all that for who cannot see it.
    """

    leave: Leave
    name: str
    kind: str
    stand: Call
    target: Call
    arrow: str
    imagine: str
    count: str
    ball: str
    manner: str
    own: str
    defaults: str
    sketch: Sketch
    summary: str
    chance: Note
    room_heading: str
    room: RoomGauge | None
    remedy_heading: str
    remedies: tuple[Remedy, ...]
    notes: tuple[Note, ...]
    caution: str
    owner: str
    spoken: Spoken = field(default_factory=Spoken)


def board_text(board: float) -> str:
    """Return a board as print writes it: ``34`` or ``34½``."""
    whole, rest = divmod(board, 1)
    half = "½" if rest == 0.5 else ""
    return half if half and not whole else f"{whole:.0f}{half}"


def whole_board_text(x_m: float) -> str:
    """Return the number of the board at ``x_m`` in the inside frame."""
    return f"{math.floor(float(x_board(x_m)) + 0.5)}"


def speed_text(speed_mps: float, words: Words) -> str:
    """Return a speed in miles per hour, to a tenth where there is one."""
    return words.number(round(speed_mps / MPH_MPS, 1))


def side_word(words: Words, hand: Hand, *, ball_side: bool) -> str:
    """Return left or right for the bowler's ball side or the side away from it."""
    return words(f"sides.{'right' if (hand is Hand.RIGHT) == ball_side else 'left'}")


def card_of(line: Line, chart: Chart, words: Words) -> Card:
    """Return the card of ``line``."""
    bowler = chart.bowler
    ball = bowler.ball(line.ball)
    stand, target = board_text(line.stand), board_text(line.target)
    flat = abs(ball.rotation_rad) < FLATTEST_HOOK_RAD
    speed = words("card.speed", speed=speed_text(ball.speed_mps, words))
    card = Card(
        leave=line.leave,
        name=leave_label(line.leave, words),
        kind=_kind(line.leave, words),
        stand=Call(words("card.stand"), stand),
        target=Call(words("card.target"), target),
        arrow=_arrow(line.target, bowler.hand, words),
        imagine=""
        if line.imagine is None
        else words("card.imagine", pin=words.leave(Leave.of(line.imagine))),
        count=words("card.count", side=side_word(words, bowler.hand, ball_side=True)),
        ball=words(f"balls.{line.ball}"),
        manner=words.listed((words("card.flat" if flat else "card.turned"), speed)),
        own=words("card.own") if line.known else "",
        defaults=words("card.defaults") if _by_defaults(line, chart) else "",
        sketch=Sketch(
            line,
            bowler,
            tuple((feet, words("card.feet", feet=feet)) for feet in MARKS_FT),
            (
                words("card.oil"),
                words(
                    "card.feet", feet=words.number(float(f"{bowler.lane.fresh.oil_m / FOOT_M:.3g}"))
                ),
            ),
        ),
        summary=words("back.call", stand=stand, target=target),
        chance=_chance(line, words),
        room_heading=words("back.room"),
        room=_room(line.target, line.odds, words) if makes_at_all(line) else None,
        remedy_heading=words("back.miss"),
        remedies=_remedies(line, bowler, words) if _can_be_mended(line) else (),
        notes=tuple(_notes(line, chart, words)),
        caution=words("back.caution"),
        owner=words(
            "back.owner", bowler=bowler.name, hand=words(f"cover.hand_{bowler.hand.value}")
        ),
    )
    return replace(card, spoken=spoken_of(card, words))


def leave_label(leave: Leave, words: Words) -> str:
    """Return what a leave is called where two must not be confused: some share a trade name."""
    return words.leave_title(leave) if len(leave) in (1, len(FULL_RACK)) else str(leave)


def _kind(leave: Leave, words: Words) -> str:
    """Return the trade name of a leave that is called by its pins, else what sort it is."""
    if leave == FULL_RACK:
        return words("kinds.strike")
    named = words.leave_name(leave) if len(leave) > 1 else None
    return named or words(f"kinds.{leave.kind.value}")


def _arrow(target: float, hand: Hand, words: Words) -> str:
    """Return a target by the nearest arrow, the arrows counted like the boards (trade use)."""
    number, board = min(enumerate(ARROW_BOARDS), key=lambda arrow: abs(arrow[1] - target))
    arrow = words.all("arrows.names")[number]
    if target == board:
        return words("arrows.on", arrow=arrow)
    side = side_word(words, hand, ball_side=target < board)
    return words("arrows.off", boards=board_text(abs(target - board)), side=side, arrow=arrow)


def _by_defaults(line: Line, chart: Chart) -> bool:
    return chart.from_defaults and not line.known


def _chance(line: Line, words: Words) -> Note:
    """Return what to expect: the chance, or the pins where the line goes for those."""
    chance = chance_text(line.odds.make, line.leave, words, estimate=line.odds.estimate)
    if line.leave == FULL_RACK:
        return Note(words("strike.chance"), (chance,))
    if line.play is Play.ALL:
        return Note(words("back.chance"), (chance,))
    pins = pins_text(line.odds.count, words, estimate=line.odds.estimate)
    return Note(words("back.count"), (pins, words("back.all_of_them", chance=chance)))


def makes_at_all(line: Line) -> bool:
    """Tell whether the line goes for the spare and its mean shot makes it well enough.

    Of one that does not, no room can be told; nor is there any where print would say 0.0.
    """
    near, far = line.odds.window_boards
    room = round(max(line.odds.room_left, line.odds.room_right), 1)
    return line.play is Play.ALL and far > near and room > 0


def _can_be_mended(line: Line) -> bool:
    """Tell whether a move of a board is small enough to bring a miss back, and not too small.

    What to move when a strike ball misses fills a page of its own.
    """
    near, far = line.odds.window_boards
    effect = abs(line.foot_effect_boards)
    farthest = max(far - line.arrive, line.arrive - near)
    wide = far - near >= effect and farthest <= _MOST_FEET * effect
    return line.leave != FULL_RACK and makes_at_all(line) and wide


def _notes(line: Line, chart: Chart, words: Words) -> Iterator[Note]:
    hand = chart.bowler.hand
    if line.other is not None:
        better = line.other.make > line.odds.make
        heading = words("back.need_all" if better else "back.want_count")
        yield Note(heading, (_other(line.other, line, words),))
    if sure := " ".join(_sure(line, chart, words)):
        yield Note(words("back.sure"), (sure,), kept=True)
    if line.action is not None and len(line.leave) > 1:
        heading = words("back.action_rough" if line.odds.estimate else "back.action")
        yield Note(heading, _action(line, line.action, hand, words))
    if line.play is Play.ALL and line.leave != FULL_RACK:
        yield Note(words("back.which"), (_which(line, words),))
    if path := tuple(_path(line.trace, words)):
        yield Note(words("back.path"), path)
    yield Note(words("back.feet"), (_feet(line, hand, words),))
    why = _why(line, chart.favourite_target, words)
    yield Note(words("back.why"), why, kept=not line.reaches)


def _sure(line: Line, chart: Chart, words: Words) -> Iterator[str]:
    """Yield how far off the right stand may be, and what makes it surer; nothing if it is sure."""
    unsure = line.odds.unsure_boards
    if not line.reaches or not unsure:
        return
    if round(unsure, 1) > _MOST_UNSURE:
        yield words("back.sure_far")
    else:
        yield words("back.sure_text", boards=words.number(max(unsure, 0.1), 1))
    if _by_defaults(line, chart):
        yield words("back.sure_defaults")


def _other(other: Alternative, line: Line, words: Words) -> str:
    """Return the line for the other play in a sentence."""
    return words(
        "back.other" if other.ball == line.ball else "back.other_ball",
        stand=board_text(other.stand),
        target=board_text(other.target),
        ball=words(f"balls.{other.ball}"),
        chance=chance_text(other.make, line.leave, words, estimate=line.odds.estimate),
        pins=pins_text(other.count, words),
    )


def _which(line: Line, words: Words) -> str:
    """Return what the other ball costs, in a sentence."""
    other = line.other_ball
    if other is None:
        named = "strike" if line.ball == "spare" else "spare"
        return words("back.which_none", ball=words(f"balls.{named}"))
    return words(
        "back.which_text",
        ball=words(f"balls.{other.line.ball}"),
        stand=board_text(other.line.stand),
        target=board_text(other.line.target),
        price=_price(other.price, words),
        drier=_price(other.price_drier, words),
    )


def _price(price: float, words: Words) -> str:
    """Return by how much a chance is less."""
    hundredths = round(100 * abs(price))
    if not hundredths:
        return words("back.same")
    return words("back.fewer" if price > 0 else "back.more", price=hundredths)


def _path(trace: Trace, words: Words) -> Iterator[str]:
    """Yield how far a hooking ball does what, and where it is farthest out."""

    def feet(spot: Spot) -> str:
        return words.number(spot.y_m / FOOT_M, 0)

    if trace.hooks is not None and trace.rolls is not None:
        yield words("back.skids_hooks_rolls", hooks=feet(trace.hooks), rolls=feet(trace.rolls))
    elif trace.hooks is not None:
        yield words("back.skids_hooks", hooks=feet(trace.hooks))
    elif trace.rolls is not None:
        yield words("stages.slides_rolls", rolls=feet(trace.rolls))
    if (out := trace.breakpoint) is not None:
        yield words("back.breakpoint", board=whole_board_text(out.x_m), feet=feet(out))


def _action(line: Line, action: Action, hand: Hand, words: Words) -> tuple[str, ...]:
    """Return what the ball meets and, where it goes for all, what takes each of the other pins."""
    if line.leave == FULL_RACK and not line.known:
        return (words("action.pocket", pin=3 if hand is Hand.RIGHT else 2),)
    side = words(f"sides.{'right' if action.side > 0 else 'left'}")
    met = words(f"action.{action.hit.value}", side=side, pin=action.first)
    if line.play is Play.COUNT or line.leave == FULL_RACK:
        return (met,)
    taken = {how: [pin for pin, by in action.others if by is how] for how in How}
    return met, *(
        words(f"action.by_{how.value}", pins=_listed(pins, words))
        for how, pins in taken.items()
        if pins
    )


def _listed(pins: Sequence[int], words: Words) -> str:
    """Return pins as a sentence lists them: the 4, the 5 and the 7."""
    named = [words("pins.one", pin=pin) for pin in pins]
    if len(named) == 1:
        return named[0]
    return words("pins.list", pins=words.listed(named[:-1]), last=named[-1])


def _room(target: float, odds: Odds, words: Words) -> RoomGauge:
    return RoomGauge(
        target=target,
        left=odds.room_left,
        right=odds.room_right,
        left_text=words("back.room_left", boards=words.number(odds.room_left, 1)),
        right_text=words("back.room_right", boards=words.number(odds.room_right, 1)),
    )


def _feet(line: Line, hand: Hand, words: Words) -> str:
    # Feet away from the ball side, target kept: the ball goes to the ball side (effect < 0).
    return words(
        "back.feet_text",
        feet_side=side_word(words, hand, ball_side=False),
        boards=words.number(abs(line.foot_effect_boards), 1),
        ball_side=side_word(words, hand, ball_side=line.foot_effect_boards < 0),
    )


def _remedies(line: Line, bowler: Bowler, words: Words) -> tuple[Remedy, ...]:
    """Return what to move after missing to either side: enough to bring a close miss back.

    A ball that just slips past the pin is off by the distance from the aim to the window's end.
    Feet follow the miss (common practice): with the target kept they turn the line the other way.
    Where the feet would leave the boards that this bowler stands on, the target moves instead,
    against the miss.
    """
    near, far = line.odds.window_boards
    remedies = []
    for ball_side, end in ((False, far), (True, near)):
        side = "right" if (bowler.hand is Hand.RIGHT) == ball_side else "left"
        gutter = end < 1 or end > BOARDS
        remedies.append(
            Remedy(
                _miss(side, gutter, line.leave, words),
                _move(line, end - line.arrive, bowler, words),
            )
        )
    # In the order in which the bowler sees them.
    return tuple(remedies if bowler.hand is Hand.RIGHT else remedies[::-1])


def _miss(side: str, gutter: bool, leave: Leave, words: Words) -> str:
    """Return a miss in words: ``side`` is left or right."""
    if len(leave) > 1 and not gutter:
        return words("back.miss_side", side=words(f"sides.{side}"))
    key = "back.miss_gutter" if gutter else "back.miss_past"
    return words(key, side=words(f"back.side_{side}"))


def _move(line: Line, missed_boards: float, bowler: Bowler, words: Words) -> str:
    """Return the move that takes ``missed_boards`` (positive away from the ball side) back."""
    feet = round(-missed_boards / line.foot_effect_boards) or math.copysign(1, missed_boards)
    first, last = bowler.stand_boards
    if first <= line.stand + feet <= last:
        key, boards = "back.move_feet", feet
    else:
        key = "back.move_target"
        boards = round(-missed_boards / line.target_effect_boards) or -math.copysign(
            1, missed_boards
        )
    side = side_word(words, bowler.hand, ball_side=boards < 0)
    return words(key, boards=words.number(abs(boards), 0), side=side)


def _why(line: Line, favourite: float, words: Words) -> tuple[str, ...]:
    said = [words(f"reasons.{line.reason.value}", favourite=board_text(favourite))]
    if not line.reaches:
        said.append(words("back.doubt"))
    if (second := line.runner_up) is not None and line.reason is not Reason.OWN:
        values = {
            "stand": board_text(second.stand),
            "target": board_text(second.target),
            "chance": chance_text(second.make, line.leave, words, estimate=line.odds.estimate),
            "ball": words(f"balls.{second.ball}"),
        }
        key = "reasons.next" if second.ball == line.ball else "reasons.next_ball"
        said.append(words(key, **values))
    return tuple(said)
