"""What the handouts say: a leave worked out in numbers, a worksheet, the lessons, the poster."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cardgen.cards.card import (
    MARKS_FT,
    Card,
    Note,
    Sketch,
    board_text,
    card_of,
    leave_label,
    makes_at_all,
    side_word,
)
from cardgen.cards.chances import chance_figure, chance_text
from cardgen.cards.fewlines import few_page
from cardgen.cards.words import Words
from cardgen.delivery.stance import StandHabits
from cardgen.errors import UsageError
from cardgen.lane.condition import OiledLane
from cardgen.lane.geometry import BOARD_M, CENTRE_BOARD, EDGE_M, board_x_m, x_board
from cardgen.lane.rack import SINGLE_PINS, Leave, pin_x_m
from cardgen.physics.deck import REACH_M, first_touch
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import Chart
from cardgen.targeting.fewer import FewLines, few_described
from cardgen.targeting.hook import hook_of
from cardgen.targeting.line import Line, Odds, Play, Trace
from cardgen.targeting.lines import lines_of
from cardgen.targeting.reach import overhook_boards
from cardgen.targeting.trace import traces
from cardgen.units import FOOT_M

THROWS, TRIES = 3, 10
"""Shots from one stand before it is moved, and those that tell how good a line is (common practice,
no source)."""
_MINUS = "−"
_SHOWS = 0.05  # boards: less prints as nought
_WAYS = "ABCD"  # more lines in one drawing hide each other
_FEET = 3  # boards of feet that the lesson on moving them shows: a miss that many bowlers make
_NOWHERE = -60.0  # a board far off any drawing


@dataclass(frozen=True, eq=False)
class LeavePage:
    """One leave for one bowler: its card's texts, and how its numbers follow from each other.

    ``notes`` are the card's, without what the steps say.
    """

    card: Card
    notes: tuple[Note, ...]
    steps_heading: str
    steps: tuple[str, ...]
    cautions: str


@dataclass(frozen=True, eq=False)
class Worksheet:
    """The page on which a line is found: what is to fill in, and how to find it in five steps.

    ``call`` and ``ball`` label the blanks of the line that is found, ``made`` the ``tries`` circles
    that tell how good it is; ``headings`` are those of the tries, each of ``throws`` shots.
    """

    title: str
    kind: str
    sketch: Sketch
    call: tuple[str, str]
    ball: str
    made: str
    steps_heading: str
    steps: tuple[str, ...]
    headings: tuple[str, ...]
    throws: int
    tries: int
    count: str
    cautions: str


@dataclass(frozen=True, eq=False)
class Way:
    """A line in a drawing of several, under a letter; a ``thin`` one is drawn broken.

    ``arrive`` is the board at the row of the front pin.
    """

    letter: str
    stand: float
    target: float
    laydown: float
    arrive: float
    trace: Trace
    thin: bool = False


@dataclass(frozen=True)
class LessonRow:
    """What there is to say of one of a lesson's lines."""

    letter: str
    heading: str
    text: str


@dataclass(frozen=True, eq=False)
class Lesson:
    """A page about one thing: a few lines on one lane, what each does, and what to learn.

    ``sketch`` is the lane without a line; ``tries`` the circles of each line for its ``task``;
    ``notes`` heads what is left to write on.
    """

    title: str
    lead: str
    sketch: Sketch
    ways: tuple[Way, ...]
    rows: tuple[LessonRow, ...]
    points: tuple[str, ...]
    task_heading: str
    task: str
    tries: int
    notes: str
    cautions: str


@dataclass(frozen=True, eq=False)
class PosterLane:
    """One pin on the poster: its lane and, below it, its figures."""

    name: str
    sketch: Sketch
    figures: tuple[str, str]
    rest: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Poster:
    """The single pins side by side as they stand, from the left.

    ``labels`` head the rows of figures and of the ``rest``; ``note`` tells how boards count.
    """

    title: str
    owner: str
    lanes: tuple[PosterLane, ...]
    figure_labels: tuple[str, str]
    rest_labels: tuple[str, ...]
    note: str
    cautions: str


# --- a leave ----------------------------------------------------------------------------------


def leave_page(line: Line, chart: Chart, words: Words) -> LeavePage:
    """Return the page of ``line``, one of ``chart``'s."""
    card = card_of(line, chart, words)
    return LeavePage(
        card,
        tuple(note for note in card.notes if note.heading != words("back.feet")),
        words("handout.steps_title"),
        tuple(" ".join(step) for step in _worked(line, chart.bowler, words)),
        words("forms.cautions"),
    )


def _worked(line: Line, bowler: Bowler, words: Words) -> Iterator[list[str]]:
    """Yield the sentences of the five steps.

    Sums are of the numbers as printed, so that whoever adds them up comes out right: what a step
    adds is the difference of its ends, each to a tenth.
    """
    habits, hand = bowler.habits, bowler.hand
    gap, drift = (round(part_m / BOARD_M, 1) for part_m in (habits.gap_m, habits.drift_m))
    laydown, arrive = round(line.laydown, 1), round(line.arrive, 1)

    beside = round(line.stand - gap, 1)
    step = [
        words(
            "handout.beside",
            gap=words.number(gap, 1),
            side=side_word(words, hand, ball_side=True),
            sum=_sum(line.stand, -gap, beside, words, first_text=board_text(line.stand)),
        )
    ]
    walked_from = round(beside - drift, 1)
    if abs(drift) >= _SHOWS:
        step.append(
            words(
                "handout.drift",
                boards=words.number(abs(drift), 1),
                side=side_word(words, hand, ball_side=drift > 0),
                sum=_sum(beside, -drift, walked_from, words),
            )
        )
    yield step

    aim = round(bowler.aim_m / BOARD_M, 1)
    crossed = round(line.target - aim, 1)
    to_target = line.trace.target_y_m / FOOT_M
    # The feet follow what the eyes see, so the walk leans towards the board looked at.
    lean = (line.target - laydown) / to_target
    walked = round(laydown - walked_from, 1)
    if abs(walked) < _SHOWS:
        yield [words("handout.walk_straight", laydown=words.number(laydown, 1))]
    else:
        yield [
            words(
                "handout.walk",
                distance=words.number(habits.distance_m / FOOT_M, 1),
                share=words.number(100 * habits.walk, 0),
                lean=words.number(abs(lean), 2),
                boards=words.number(abs(walked), 1),
                side=side_word(words, hand, ball_side=walked < 0),
                sum=_sum(walked_from, walked, laydown, words),
            )
        ]

    step = []
    if abs(aim) >= _SHOWS:
        step.append(
            words(
                "handout.aim",
                boards=words.number(abs(aim), 1),
                side=side_word(words, hand, ball_side=aim > 0),
                crossed=words.number(crossed, 1),
            )
        )
    across = round(crossed - laydown, 1)
    step.append(
        words(
            "handout.shot" if abs(across) >= _SHOWS else "handout.shot_up",
            laydown=words.number(laydown, 1),
            target=words.number(crossed, 1),
            feet=words.number(to_target, 1),
            boards=words.number(abs(across), 1),
            side=side_word(words, hand, ball_side=across < 0),
            sum=_sum(laydown, across, crossed, words),
        )
    )
    yield step

    beyond = line.leave.front_row_m / FOOT_M - to_target
    straight = round(crossed + (crossed - laydown) * beyond / to_target, 1)
    curve = round(arrive - straight, 1)
    step = [
        words(
            "handout.straight" if abs(straight - crossed) >= _SHOWS else "handout.straight_up",
            feet=words.number(beyond, 1),
            boards=words.number(abs(straight - crossed), 1),
            straight=words.number(straight, 1),
            sum=_sum(crossed, straight - crossed, straight, words),
        ),
        words(
            "handout.curve",
            boards=words.number(abs(curve), 1),
            side=side_word(words, hand, ball_side=curve < 0),
            sum=_sum(straight, curve, arrive, words),
        )
        if abs(curve) >= _SHOWS
        else words("handout.no_curve"),
    ]
    if makes_at_all(line):
        near, far = line.odds.window_boards
        step.append(words("handout.window", first=words.number(near, 1), last=words.number(far, 1)))
    yield step

    yield [
        words(
            key,
            side=side_word(words, hand, ball_side=False),
            boards=words.number(abs(effect), 1),
            other=side_word(words, hand, ball_side=effect < 0),
        )
        for key, effect in (
            ("handout.move_feet", line.foot_effect_boards),
            ("handout.move_target", line.target_effect_boards),
        )
    ]


def _sum(first: float, more: float, total: float, words: Words, *, first_text: str = "") -> str:
    """Return a sum as it is written out: ``25.0 − 5.0 = 20.0``."""
    parts = (
        first_text or words.number(first, 1),
        _MINUS if more < 0 else "+",
        words.number(abs(more), 1),
        "=",
        words.number(total, 1),
    )
    return "\u00a0".join(parts)


# --- the worksheet ----------------------------------------------------------------------------


def feet_effect(habits: StandHabits, target_y_m: float, row_m: float) -> float:
    """Return how many boards a straight ball moves at ``row_m`` for a board of the feet.

    The target is kept, and the ball goes the other way: the line turns about the target, and the
    walk that follows it takes part of the move back (``StandHabits.laydown_x_m``).
    """
    turn = row_m / target_y_m - 1
    return turn / (1 + habits.walk * habits.distance_m / target_y_m)


def worksheet_page(
    leave: Leave, bowler: Bowler, words: Words, *, walks: bool, arrive: float | None = None
) -> Worksheet:
    """Return the page to find a line for ``leave``, which a ball should meet at board ``arrive``.

    ``walks``: the way that ``bowler`` walks is known; else both extremes are told, a walk straight
    ahead and one along the line. Without ``arrive`` the search begins at the front pin.
    """
    return Worksheet(
        title=leave_label(leave, words),
        kind=words("handout.find"),
        sketch=_bare(leave, bowler, words, oil=False),
        call=(words("card.stand"), words("card.target")),
        ball=words("table.ball"),
        made=words("handout.made", tries=TRIES),
        steps_heading=words("handout.method_title"),
        steps=tuple(_method(leave, bowler, words, arrive, walks=walks)),
        headings=words.all("handout.try_headings"),
        throws=THROWS,
        tries=TRIES,
        count=words("card.count", side=side_word(words, bowler.hand, ball_side=True)),
        cautions=words("forms.cautions"),
    )


def _method(
    leave: Leave, bowler: Bowler, words: Words, arrive: float | None, *, walks: bool
) -> Iterator[str]:
    hand, habits = bowler.hand, bowler.habits
    middle_m = float(bowler.sights.target_y_m(CENTRE_BOARD))
    effects = [
        feet_effect(replace(habits, walk=walk), middle_m, leave.front_row_m)
        for walk in ((habits.walk,) if walks else (0.0, 1.0))
    ]
    front = Leave.of(leave.pins[0])
    place = _middle_of_room(bowler.inside(front).pins[0]) if arrive is None else arrive
    off = round(CENTRE_BOARD - place)  # positive towards the ball side
    yield words("handout.method_start", board=board_text(CENTRE_BOARD))
    if not off:
        yield words("handout.method_stay")
    else:
        known = arrive is not None or len(leave) == 1
        yield words(
            "handout.method_move" if known else "handout.method_front",
            pin=words.leave(front),
            boards=abs(off),
            side=side_word(words, hand, ball_side=off > 0),
            feet=_either([words.number(abs(off) / effect, 0) for effect in effects], words),
            other=side_word(words, hand, ball_side=off < 0),
        )
    yield words("handout.method_throw", throws=THROWS)
    if walks:
        yield words("handout.method_correct", boards=words.number(effects[0], 1))
    else:
        straight, along = (words.number(effect, 1) for effect in effects)
        yield words("handout.method_correct_either", straight=straight, along=along)
    yield words("handout.method_log", tries=TRIES)


def _middle_of_room(inside_pin: int) -> float:
    """Return the board midway between the last that touch a pin, or that are still on the lane."""
    x_m = pin_x_m(inside_pin)
    ends = max(x_m - REACH_M, -EDGE_M), min(x_m + REACH_M, EDGE_M)
    return float(x_board(sum(ends) / 2))


def _either(texts: Sequence[str], words: Words) -> str:
    first, last = texts[0], texts[-1]
    return first if first == last else words("handout.either", first=first, last=last)


def _bare(leave: Leave, bowler: Bowler, words: Words, *, oil: bool) -> Sketch:
    """Return what shows the lane and ``leave``, without any line."""
    marks = tuple((feet, words("card.feet", feet=feet)) for feet in MARKS_FT)
    said = ("", "")
    if oil:
        end = f"{bowler.lane.fresh.oil_m / FOOT_M:.3g}"
        said = (words("card.oil"), words("card.feet", feet=end))
    return Sketch(_no_line(leave, bowler), bowler, marks, said)


def _no_line(leave: Leave, bowler: Bowler) -> Line:
    """Return a line that is nowhere, for a drawing of the lane alone."""
    away = np.full(2, float(board_x_m(_NOWHERE)))
    return Line(
        leave=leave,
        ball="",
        stand=_NOWHERE,
        target=_NOWHERE,
        laydown=_NOWHERE,
        arrive=_NOWHERE,
        entry_rad=0.0,
        odds=Odds(0.0, 0.0, 0.0, 0.0, (0.0, 0.0), 0.0, 0.0, 0.0, estimate=True),
        action=None,
        imagine=None,
        reaches=False,
        reason=Reason.ONLY,
        runner_up=None,
        play=Play.ALL,
        other=None,
        other_ball=None,
        foot_effect_boards=0.0,
        target_effect_boards=0.0,
        trace=Trace(
            away, np.array([0.0, leave.front_row_m]), float(bowler.sights.target_y_m(CENTRE_BOARD))
        ),
    )


# --- lessons ----------------------------------------------------------------------------------


def few_lesson(chart: Chart, few: FewLines | None, words: Words) -> Lesson:
    """Return the lesson that one line serves several leaves, on the first of ``few``.

    Raises:
        UsageError: the chart has no spares.
    """
    lines = () if few is None else few_described(chart, few)[: len(_WAYS)]
    if few is None or not lines:
        raise UsageError("there is no lesson on few lines: the chart has no spares")
    page = few_page(few, chart, words)
    pins = {pin for line in lines for pin in line.leave}
    serving = [row for row, line in zip(page.rows, few.lines, strict=True) if line.serves]
    return Lesson(
        title=words("handout.few_title"),
        lead=page.intro,
        sketch=_bare(Leave.of(*pins), chart.bowler, words, oil=True),
        ways=tuple(
            Way(letter, line.stand, line.target, line.laydown, line.arrive, line.trace)
            for letter, line in zip(_WAYS, lines, strict=False)
        ),
        rows=tuple(
            LessonRow(
                letter,
                words("back.call", stand=row.stand, target=row.target),
                words("handout.few_row", ball=row.ball, leaves=row.usual),
            )
            for letter, row, _ in zip(_WAYS, serving, lines, strict=False)
        ),
        points=words.all("handout.few_points", reach=words.number(REACH_M / BOARD_M, 1)),
        task_heading=words("handout.task_title"),
        task=words("handout.few_task"),
        tries=TRIES,
        notes=words("notes.title"),
        cautions=words("forms.cautions"),
    )


def miss_lesson(chart: Chart, words: Words) -> Lesson:
    """Return the lesson that the feet follow the miss, on the line for a pin near the middle.

    Raises:
        UsageError: the chart has no line to show it on.
    """
    bowler, hand = chart.bowler, chart.bowler.hand
    first, last = bowler.stand_boards
    line = _line_for(
        chart,
        (5, 1, 8, 9, 2, 3, 4, 6, 7, 10),
        lambda line: first + _FEET <= line.stand <= last - _FEET,
        "there is no lesson on moving the feet: the chart has no line for a pin from a stand that "
        "leaves room to move",
    )
    # In the order in which the bowler sees them.
    moves = [move * hand.mirror for move in (_FEET, 0, -_FEET)]
    ways = tuple(
        _way(letter, bowler, line.ball, line.stand + move, line.target, line.leave)
        for letter, move in zip(_WAYS, moves, strict=False)
    )
    effect = abs(line.foot_effect_boards)
    pin = words.leave(line.leave)
    rows = []
    for way, move in zip(ways, moves, strict=True):
        by = way.arrive - line.arrive
        if not move:
            call = words("back.call", stand=board_text(way.stand), target=board_text(way.target))
            rows.append(LessonRow(way.letter, call, words("handout.miss_line", pin=pin)))
            continue
        side = side_word(words, hand, ball_side=move < 0)
        heading = words(
            "handout.miss_feet", boards=abs(move), side=side, stand=board_text(way.stand)
        )
        text = words(
            "handout.miss_row",
            boards=words.number(abs(by), 1),
            side=side_word(words, hand, ball_side=by < 0),
        )
        rows.append(LessonRow(way.letter, heading, text))
    return Lesson(
        title=words("handout.miss_title"),
        lead=words("handout.miss_lead"),
        sketch=_bare(line.leave, bowler, words, oil=True),
        ways=ways,
        rows=tuple(rows),
        points=words.all(
            "handout.miss_points",
            effect=words.number(effect, 1),
            feet=_FEET,
            missed=words.number(_FEET * effect, 0),
            side=side_word(words, hand, ball_side=False),
            other=side_word(words, hand, ball_side=True),
        ),
        task_heading=words("handout.task_title"),
        task=words("handout.miss_task"),
        tries=TRIES,
        notes=words("notes.title"),
        cautions=words("forms.cautions"),
    )


def straight_lesson(chart: Chart, words: Words) -> Lesson:
    """Return the lesson why a spare ball goes straight, on a pin in the far corner.

    Both balls' lines for it, and what becomes of the strike ball's on a drier lane.

    Raises:
        UsageError: the chart has no pin that the spare ball is for, with a line of the other ball;
            or a ball hooks farther than the lane is wide.
    """
    bowler, hand = chart.bowler, chart.bowler.hand
    for name in (choice.name for choice in bowler.balls):
        if (boards := overhook_boards(bowler, name)) is not None:
            raise UsageError(
                f"there is no lesson on the spare ball: the {name} ball hooks {boards:.0f} boards, "
                f"more than the lane is wide; check balls.{name}.rev_rpm and "
                f"balls.{name}.speed_mph"
            )
    far = bowler.inside(Leave.of(10)).pins[0]
    line = _line_for(
        chart,
        (far, *(pin for pin in (6, 4, 10, 7, 3, 2, 9, 8, 5, 1) if pin != far)),
        lambda line: line.ball == "spare" and line.other_ball is not None,
        "there is no lesson on the spare ball: the chart has no pin that it is for and that the "
        "strike ball has a line to",
    )
    assert line.other_ball is not None
    other = line.other_ball.line
    drier = bowler.lane.drier
    calls = ((line.ball, line.stand, line.target), (other.ball, other.stand, other.target))
    ways, rows = [], []
    for letter, (ball, stand, target), make in zip(
        _WAYS, calls, (line.odds.make, other.make), strict=False
    ):
        way = _way(letter, bowler, ball, stand, target, line.leave)
        dry = _way(letter, bowler, ball, stand, target, line.leave, thrown_on=drier)
        by = dry.arrive - way.arrive
        ways += [dry, way]
        heading = words(
            "handout.straight_call",
            ball=words(f"balls.{ball}"),
            stand=board_text(stand),
            target=board_text(target),
        )
        text = words(
            "handout.straight_row",
            hook=words.number(abs(hook_of(bowler, ball, stand, target).boards), 1),
            boards=words.number(abs(by), 1),
            side=side_word(words, hand, ball_side=by < 0),
            chance=chance_text(make, line.leave, words),
        )
        rows.append(LessonRow(letter, heading, text))
    return Lesson(
        title=words("handout.straight_title"),
        lead=words("handout.straight_lead", pin=words.leave(line.leave)),
        sketch=_bare(line.leave, bowler, words, oil=True),
        ways=tuple(ways),
        rows=tuple(rows),
        points=words.all("handout.straight_points"),
        task_heading=words("handout.task_title"),
        task=words("handout.straight_task"),
        tries=TRIES,
        notes=words("notes.title"),
        cautions=words("forms.cautions"),
    )


def _line_for(
    chart: Chart, pins: Sequence[int], suits: Callable[[Line], bool], otherwise: str
) -> Line:
    """Return the line of the first of ``pins`` that the chart has a good one for."""
    lines = {line.leave: line for line in chart.lines}
    for pin in pins:
        line = lines.get(Leave.of(pin))
        if line is not None and makes_at_all(line) and line.reaches and suits(line):
            return line
    raise UsageError(otherwise)


def _way(
    letter: str,
    bowler: Bowler,
    ball: str,
    stand: float,
    target: float,
    leave: Leave,
    *,
    thrown_on: OiledLane | None = None,
) -> Way:
    """Return a line as it goes, up to its first touch; on another lane it is met unawares."""
    choice = bowler.ball(ball)
    thrown = lines_of(bowler, choice, stand, target)
    if thrown_on is not None:
        thrown = replace(thrown, ball=choice.on(thrown_on))
    arrival = thrown.path([leave.front_row_m])
    x_m, angle_rad = float(arrival.x_m[0, 0]), float(arrival.angle_rad[0, 0])
    touch = first_touch(bowler.inside(leave), x_m, angle_rad)
    end_m = leave.front_row_m if touch is None else touch.y_m
    (trace,), _ = traces(thrown, np.array([end_m]))
    return Way(
        letter,
        stand,
        target,
        float(x_board(thrown.laydown_x_m[0])),
        float(x_board(x_m)),
        trace,
        thin=thrown_on is not None,
    )


# --- the poster -------------------------------------------------------------------------------


def poster_of(chart: Chart, words: Words) -> Poster:
    """Return the poster of the single pins that ``chart`` has lines for.

    Raises:
        UsageError: it has none.
    """
    lines: Mapping[Leave, Line] = {line.leave: line for line in chart.lines}
    pins = [pin for leave in SINGLE_PINS if leave in lines for pin in leave]
    if not pins:
        raise UsageError("there is no poster: the chart has no line for a single pin")
    # From the left as the bowler sees them, those behind each other from the front.
    pins.sort(key=lambda pin: (round(pin_x_m(pin), 6), pin))
    cards = [(line, card_of(line, chart, words)) for pin in pins for line in [lines[Leave.of(pin)]]]
    return Poster(
        title=words("handout.poster_title"),
        owner=cards[0][1].owner,
        lanes=tuple(
            PosterLane(
                card.name,
                card.sketch,
                (card.stand.figure, card.target.figure),
                (words(f"table.{line.ball}"), chance_figure(line.odds.make, line.leave)),
            )
            for line, card in cards
        ),
        figure_labels=(words("card.stand"), words("card.target")),
        rest_labels=(words("table.ball"), words("table.chance")),
        note=words(
            "handout.poster_note",
            side=side_word(words, chart.bowler.hand, ball_side=True),
            distance=words.number(chart.bowler.habits.distance_m / FOOT_M, 1),
        ),
        cautions=words("forms.cautions"),
    )
