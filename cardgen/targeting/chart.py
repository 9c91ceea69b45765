"""The chart: one line a leave, for one bowler on one lane."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import BOARD_M, BOARDS, CENTRE_BOARD, EDGE_M, FloatArray, Hand, x_board
from cardgen.lane.rack import SINGLE_PINS, Leave
from cardgen.physics.deck import PinDeck, SinglePinDeck, first_touch_y_m
from cardgen.physics.path import BallPath
from cardgen.profile.bowler import BallChoice, Bowler, KnownLine
from cardgen.targeting.aim import Habits, Pick, Reason, choose, room_of, window_of
from cardgen.targeting.conversion import WATCHED_M, Arrivals
from cardgen.targeting.fit import HabitFit, fit_habits
from cardgen.targeting.lines import LineSet, lines_of

STEEPEST_RAD = 0.1
"""Launches farther from straight are not offered (an assumption); crossing the lane is 0.06."""
_TRACE_POINTS = 33


@dataclass(frozen=True)
class Alternative:
    """The line that came second."""

    ball: str
    stand: float
    target: float
    make: float


@dataclass(frozen=True)
class Odds:
    """The chance of the spare, and how far the line may be missed.

    ``room_left`` and ``room_right``: boards by which the target may be missed, as the bowler looks,
    with the mean shot still making at 50 % or more. ``window_boards``: the ends of the stretch of
    arrivals that do, nearest the ball side first.
    """

    make: float
    room_left: float
    room_right: float
    window_boards: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Trace:
    """The mean shot from the foul line to its first touch, or to the gutter.

    Places (p,) each, in the inside frame.
    """

    x_m: FloatArray
    y_m: FloatArray
    target_y_m: float


@dataclass(frozen=True, eq=False)
class Line:
    """The line for one leave, as the bowler sees the leave and counts the boards.

    ``odds`` is None where the deck has no answer for a leave the bowler brought his own line for.
    ``foot_effect_boards`` is how many boards the arrival moves away from the ball side when the
    feet move one board away from it, the target kept; ``target_effect_boards`` when the target
    does, the feet kept. ``imagine`` is the pin whose spot to roll over where no standing pin marks
    the aim; none for a single pin. ``reaches``: the mean shot stays on the lane and touches a pin
    of the leave, which it may not on a line that the bowler brought.
    """

    leave: Leave
    ball: str
    stand: float
    target: float
    laydown: float
    arrive: float
    entry_rad: float
    odds: Odds | None
    imagine: int | None
    reaches: bool
    reason: Reason
    runner_up: Alternative | None
    foot_effect_boards: float
    target_effect_boards: float
    trace: Trace

    @property
    def known(self) -> bool:
        """Whether the line is the bowler's own, not computed."""
        return self.reason is Reason.OWN


@dataclass(frozen=True, eq=False)
class Chart:
    """A bowler's lines, one a leave in the order asked for, and the habits they rest on.

    ``bowler`` already has the fitted habits; ``unanswered`` are the leaves without a line.
    """

    bowler: Bowler
    fit: HabitFit
    favourite_target: float
    lines: tuple[Line, ...]
    unanswered: tuple[Leave, ...]


def chart_for(
    bowler: Bowler, leaves: Iterable[Leave] | None = None, deck: PinDeck | None = None
) -> Chart:
    """Return the chart of ``leaves`` (default: single pins, then the bowler's own other lines).

    Leaves that ``deck`` does not know and the bowler has no line for come back as unanswered.
    """
    pins = SinglePinDeck() if deck is None else deck
    fit = fit_habits(bowler, pins)
    fitted = bowler.with_habits(fit.habits)
    own = {
        line.leave: _Plan(line.leave, line.ball, line.stand, line.target, Reason.OWN, None)
        for line in bowler.known_lines
    }
    asked = tuple(dict.fromkeys((*SINGLE_PINS, *own) if leaves is None else leaves))
    habits = Habits(
        _favourite_target(fit.believed),
        frozenset((line.stand, line.target) for line in fit.believed),
    )
    computed = _plan_all(fitted, [leave for leave in asked if leave not in own], pins, habits)
    plans = [plan for leave in asked if (plan := own.get(leave) or computed.get(leave))]
    lines = {
        line.leave: line
        for ball in fitted.balls
        for line in _describe(fitted, ball, [p for p in plans if p.ball == ball.name], pins)
    }
    return Chart(
        fitted,
        fit,
        habits.favourite_target,
        tuple(lines[leave] for leave in asked if leave in lines),
        tuple(leave for leave in asked if leave not in lines),
    )


@dataclass(frozen=True)
class _Plan:
    """A line decided on, before it is described."""

    leave: Leave
    ball: str
    stand: float
    target: float
    reason: Reason
    runner_up: Alternative | None


def _favourite_target(lines: Sequence[KnownLine]) -> float:
    """Return the target that ``lines`` use most, else the centre arrow (an assumption)."""
    if not lines:
        return CENTRE_BOARD
    uses = Counter(line.target for line in lines)
    return min(uses, key=lambda t: (-uses[t], abs(t - CENTRE_BOARD), t))


def _candidates(bowler: Bowler, ball: BallChoice) -> LineSet:
    """Return every line of ``ball`` whose mean shot stays on the lane and is not absurdly steep."""
    first, last = bowler.stand_boards
    stands = np.arange(first, last + bowler.step / 2, bowler.step)
    targets = np.arange(1, BOARDS + bowler.step / 2, bowler.step)
    stand, target = (part.ravel() for part in np.meshgrid(stands, targets, indexing="ij"))
    lines = lines_of(bowler, ball, stand, target)
    sane = np.abs(lines.launch_rad) < STEEPEST_RAD
    set_down = np.abs(lines.laydown_x_m) <= EDGE_M - BOARD_M / 2
    lines = lines.pick(np.flatnonzero(sane & set_down))
    on_lane = np.abs(lines.path(WATCHED_M).x_m) < EDGE_M
    return lines.pick(np.flatnonzero(on_lane.all(axis=1)))


def _plan_all(
    bowler: Bowler, leaves: Sequence[Leave], deck: PinDeck, habits: Habits
) -> dict[Leave, _Plan]:
    """Return the computed lines; each leave sees the lines chosen for those before it."""
    # Inside order, so that a left-hander's chart mirrors a right-hander's whatever was asked.
    inside_leaves = sorted(bowler.inside(leave) for leave in leaves)
    inside_leaves = [leave for leave in inside_leaves if deck.knows(leave)]
    if not inside_leaves:
        return {}
    rows = tuple(sorted({leave.front_row_m for leave in inside_leaves}))
    bags = [Arrivals(_candidates(bowler, ball), bowler.spread, rows) for ball in bowler.balls]
    plans = {}
    for inside in inside_leaves:
        choice = choose(bags, inside, deck, habits)
        if choice is None:
            continue
        best = _alternative(bags, choice.best)
        second = None if choice.runner_up is None else _alternative(bags, choice.runner_up)
        habits = habits.with_line(best.stand, best.target)
        leave = bowler.inside(inside)
        plans[leave] = _Plan(leave, best.ball, best.stand, best.target, choice.reason, second)
    return plans


def _alternative(bags: Sequence[Arrivals], pick: Pick) -> Alternative:
    lines = bags[pick.ball].lines
    return Alternative(
        lines.ball.name, float(lines.stand[pick.line]), float(lines.target[pick.line]), pick.make
    )


def _describe(
    bowler: Bowler, ball: BallChoice, plans: Sequence[_Plan], deck: PinDeck
) -> Iterator[Line]:
    """Yield everything that cards say about the planned lines of one ball."""
    if not plans:
        return
    inside = [bowler.inside(plan.leave) for plan in plans]
    stand = np.array([plan.stand for plan in plans])
    target = np.array([plan.target for plan in plans])
    thrown = lines_of(bowler, ball, stand, target)
    rows = np.array([leave.front_row_m for leave in inside])
    arrival = thrown.path(rows[:, np.newaxis])
    x_row, entry = arrival.x_m[:, 0], arrival.angle_rad[:, 0]
    touches = [
        first_touch_y_m(leave, float(x), float(angle))
        for leave, x, angle in zip(inside, x_row, entry, strict=True)
    ]
    ends = np.where([y is None for y in touches], rows, np.array(touches, dtype=np.float64))
    trace = _trace(thrown, ends)
    lost = np.any(np.abs(trace.x_m) > EDGE_M, axis=1)
    if lost.any():
        in_gutter = [_gutter_y_m(trace.x_m[i], trace.y_m[i]) for i in np.flatnonzero(lost)]
        ends[lost] = in_gutter
        trace = _trace(thrown, ends)
    arrivals = Arrivals(thrown, bowler.spread, tuple(sorted(set(rows.tolist()))))

    def arrive(stand_by: float, target_by: float) -> FloatArray:
        moved = lines_of(bowler, ball, stand + stand_by, target + target_by)
        return x_board(moved.path(rows[:, np.newaxis]).x_m[:, 0])

    foot_effect = arrive(0.5, 0) - arrive(-0.5, 0)
    target_effect = arrive(0, 0.5) - arrive(0, -0.5)
    for i, (plan, leave) in enumerate(zip(plans, inside, strict=True)):
        odds = _odds(bowler, arrivals, leave, i, deck)
        yield Line(
            leave=plan.leave,
            ball=ball.name,
            stand=plan.stand,
            target=plan.target,
            laydown=float(x_board(thrown.laydown_x_m[i])),
            arrive=float(x_board(x_row[i])),
            entry_rad=float(entry[i]),
            odds=odds,
            imagine=None,
            reaches=touches[i] is not None and not lost[i],
            reason=plan.reason,
            runner_up=plan.runner_up,
            foot_effect_boards=float(foot_effect[i]),
            target_effect_boards=float(target_effect[i]),
            trace=Trace(
                trace.x_m[i],
                trace.y_m[i],
                float(thrown.target_y_m[i]),
            ),
        )


def _trace(thrown: LineSet, ends_m: FloatArray) -> BallPath:
    """Return the path of each line (n,) at even steps up to y = ``ends_m`` (n,)."""
    return thrown.path(ends_m[:, np.newaxis] * np.linspace(0, 1, _TRACE_POINTS))


def _gutter_y_m(x_m: FloatArray, y_m: FloatArray) -> float:
    """Return y [m] where a path (p,) that leaves the lane crosses its edge."""
    out = int(np.argmax(np.abs(x_m) > EDGE_M))
    if out == 0:
        return 0.0
    return float(np.interp(EDGE_M, np.abs(x_m[out - 1 : out + 1]), y_m[out - 1 : out + 1]))


def _odds(
    bowler: Bowler, arrivals: Arrivals, inside: Leave, line: int, deck: PinDeck
) -> Odds | None:
    if not deck.knows(inside):
        return None
    only = np.array([line])
    room = room_of(arrivals, inside, deck, only)
    left, right = float(room.left[0]), float(room.right[0])
    if bowler.hand is Hand.LEFT:
        left, right = right, left
    row = arrivals.row(inside)
    response = deck.response(inside, arrivals.angle_rad[only, row])
    ends = window_of(response, arrivals.x_m[only, row])
    return Odds(
        make=float(arrivals.conversion(inside, deck, only)[0]),
        room_left=left,
        room_right=right,
        window_boards=(float(x_board(ends[1])[0]), float(x_board(ends[0])[0])),
    )
