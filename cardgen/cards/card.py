"""What one card says about one line, front and back."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cardgen.cards.chances import chance_text, pins_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import ARROW_BOARDS, BOARDS, Hand
from cardgen.lane.rack import Leave
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Action, Alternative, How, Line, Odds, Play
from cardgen.units import DEGREE_RAD, MPH_MPS

FLATTEST_HOOK_RAD = 20 * DEGREE_RAD
"""A spare ball is thrown flat with 0 to 15 degrees of axis rotation (common practice, no source);
from here on a release is called a hook."""
MARKS_FT = (15, 30, 45)


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
    """A heading and what stands under it."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Remedy:
    """A miss, and what to move."""

    miss: str
    move: str


@dataclass(frozen=True, eq=False)
class Sketch:
    """What the drawing of the lane shows: the line itself, and who throws it."""

    line: Line
    bowler: Bowler
    marks: tuple[tuple[int, str], ...]


@dataclass(frozen=True, eq=False)
class Card:
    """One card.

    ``arrow`` is the target again, by the arrows; ``imagine`` the spot to roll over, if no standing
    pin marks it; ``summary`` the call in a few words; ``sketch`` what the lane drawing shows;
    ``notes`` what else there is to say, the most useful first; ``owner`` whose card it is.
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


def board_text(board: float) -> str:
    """Return a board as print writes it: ``34`` or ``34½``."""
    whole, rest = divmod(board, 1)
    return f"{whole:.0f}{'½' if rest == 0.5 else ''}"


def speed_text(speed_mps: float) -> str:
    """Return a speed in miles per hour, to a tenth where there is one."""
    return f"{round(speed_mps / MPH_MPS, 1):g}"


def side_word(words: Words, hand: Hand, *, ball_side: bool) -> str:
    """Return left or right for the bowler's ball side or the side away from it."""
    return words(f"sides.{'right' if (hand is Hand.RIGHT) == ball_side else 'left'}")


def card_of(line: Line, chart: Chart, words: Words) -> Card:
    """Return the card of ``line``."""
    bowler = chart.bowler
    ball = bowler.ball(line.ball)
    stand, target = board_text(line.stand), board_text(line.target)
    flat = abs(ball.rotation_rad) < FLATTEST_HOOK_RAD
    speed = words("card.speed", speed=speed_text(ball.speed_mps))
    return Card(
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
        manner=f"{words('card.flat') if flat else words('card.turned')}, {speed}",
        own=words("card.own") if line.known else "",
        sketch=Sketch(
            line, bowler, tuple((feet, words("card.feet", feet=feet)) for feet in MARKS_FT)
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


def leave_label(leave: Leave, words: Words) -> str:
    """Return what a leave is called where two must not be confused: some share a trade name."""
    return words.leave_title(leave) if len(leave) == 1 else str(leave)


def _kind(leave: Leave, words: Words) -> str:
    """Return the trade name of a leave that is called by its pins, else what sort it is."""
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


def _chance(line: Line, words: Words) -> Note:
    """Return what to expect: the chance, or the pins where the line goes for those."""
    chance = chance_text(line.odds.make, line.leave, words, estimate=line.odds.estimate)
    if line.play is Play.ALL:
        return Note(words("back.chance"), (chance,))
    pins = pins_text(line.odds.count, words, estimate=line.odds.estimate)
    return Note(words("back.count"), (pins, words("back.all_of_them", chance=chance)))


def makes_at_all(line: Line) -> bool:
    """Tell whether the line goes for the spare and its mean shot makes it well enough.

    Of one that does not, no room can be told.
    """
    near, far = line.odds.window_boards
    return line.play is Play.ALL and far > near


def _can_be_mended(line: Line) -> bool:
    """Tell whether a move of a board is small enough to bring a miss back, and not beyond."""
    near, far = line.odds.window_boards
    return makes_at_all(line) and far - near >= abs(line.foot_effect_boards)


def _notes(line: Line, chart: Chart, words: Words) -> Iterator[Note]:
    hand = chart.bowler.hand
    if line.other is not None:
        better = line.other.make > line.odds.make
        heading = words("back.need_all" if better else "back.want_count")
        yield Note(heading, (_other(line.other, line, words),))
    if line.action is not None and len(line.leave) > 1:
        heading = words("back.action_rough" if line.odds.estimate else "back.action")
        yield Note(heading, _action(line.action, line.play, words))
    yield Note(words("back.feet"), (_feet(line, hand, words),))
    yield Note(words("back.why"), _why(line, chart.favourite_target, words))


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


def _action(action: Action, play: Play, words: Words) -> tuple[str, ...]:
    """Return what the ball meets and, where it goes for all, what takes each of the other pins."""
    side = words(f"sides.{'right' if action.side > 0 else 'left'}")
    met = words(f"action.{action.hit.value}", side=side, pin=action.first)
    if play is Play.COUNT:
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
    return words("pins.list", pins=", ".join(named[:-1]), last=named[-1])


def _room(target: float, odds: Odds, words: Words) -> RoomGauge:
    return RoomGauge(
        target=target,
        left=odds.room_left,
        right=odds.room_right,
        left_text=words("back.room_left", boards=f"{odds.room_left:.1f}"),
        right_text=words("back.room_right", boards=f"{odds.room_right:.1f}"),
    )


def _feet(line: Line, hand: Hand, words: Words) -> str:
    # Feet away from the ball side, target kept: the ball goes to the ball side (effect < 0).
    return words(
        "back.feet_text",
        feet_side=side_word(words, hand, ball_side=False),
        boards=f"{abs(line.foot_effect_boards):.1f}",
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
    return words(key, boards=f"{abs(boards):.0f}", side=side)


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
