"""What to move when strike balls come in wrong: computed, beside the rule of thumb it replaces."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from cardgen.lane.condition import OiledLane
from cardgen.lane.geometry import BOARDS, HEAD_PIN_M, FloatArray, x_board
from cardgen.profile.bowler import Bowler
from cardgen.targeting.lines import LineSet, lines_of

_GAMES_LATER = 3.0
_MOST_STEPS = 6
_NEAR_BOARDS = 0.75
"""A ball that comes in so near to where it should is back: no bowler can feel the difference."""
_MOST_GRIP = 0.6
"""So much more or less may a lane grip than is said of it, to explain a miss (an assumption)."""


class Fault(Enum):
    """How strike balls come in, when they do not come to the pocket; or what becomes of the oil."""

    LIGHT = "light"
    HIGH = "high"
    NOSE = "nose"
    LATER = "later"


@dataclass(frozen=True)
class Step:
    """Boards to move feet and target, positive away from the ball side."""

    feet: float
    target: float


_MISSED_BOARDS = {Fault.LIGHT: -2.0, Fault.HIGH: 1.5, Fault.NOSE: 2.5}
"""How far from the pocket's middle, positive away from the ball side: a ball two boards light still
touches the head pin thinly, one two and a half high meets it in the middle (derived)."""
_RULES = {
    Fault.LIGHT: Step(-1, -1),
    Fault.HIGH: Step(1, 0),
    Fault.NOSE: Step(2, 1),
    Fault.LATER: Step(2, 1),
}
"""Follow the miss, with one and one, feet only or two and one: common practice, no source, and
coaches differ on which of them for what."""
WAYS = (Step(1, 0), Step(1, 1), Step(2, 1))
"""The ways to move, a step of each: feet only, one and one, two and one."""


@dataclass(frozen=True)
class Move:
    """What to move after a fault.

    ``off_boards``: how far from where the strike line should come in the ball then does, positive
    away from the ball side; ``rule`` is the rule of thumb's move, ``rule_off_boards`` the same
    after that.
    """

    fault: Fault
    step: Step
    off_boards: float
    rule: Step
    rule_off_boards: float


@dataclass(frozen=True)
class Shift:
    """How far a step moves the arrival, in boards away from the ball side."""

    step: Step
    boards: float


def moves_of(bowler: Bowler, strike: LineSet) -> list[Move]:
    """Return the move for each fault that the lane can explain; ``strike`` is one line.

    A fault is taken to mean that the lane grips more or less than was thought. Of the moves that
    bring the ball back, the smallest.
    """
    where = _board(bowler, strike, [Step(0, 0)])[0]
    moves = []
    for fault, lane in _lanes(bowler, strike):
        rule = _RULES[fault]
        steps = [rule, *_within_reach(bowler, strike)]
        off = (_board(bowler.on(lane), strike, steps) - where).tolist()
        rule_off, *offs = off
        best = min(
            zip(steps[1:], offs, strict=True),
            key=lambda moved: (max(abs(moved[1]), _NEAR_BOARDS), _size(moved[0]), abs(moved[1])),
        )
        moves.append(Move(fault, *best, rule, rule_off))
    return moves


def shifts_of(bowler: Bowler, strike: LineSet) -> list[Shift]:
    """Return how far a step of each of :data:`WAYS` moves the arrival of ``strike``, one line."""
    back = [Step(-step.feet, -step.target) for step in WAYS]
    boards = (_board(bowler, strike, WAYS) - _board(bowler, strike, back)) / 2
    return [Shift(step, by) for step, by in zip(WAYS, boards.tolist(), strict=True)]


def _board(bowler: Bowler, strike: LineSet, steps: Sequence[Step]) -> FloatArray:
    """Return the board (n,) at which ``strike``, one line, arrives after each of ``steps``."""
    ball = bowler.ball(strike.ball.name)
    stands = strike.stand[0] + np.array([step.feet for step in steps])
    targets = strike.target[0] + np.array([step.target for step in steps])
    return x_board(lines_of(bowler, ball, stands, targets).path([HEAD_PIN_M]).x_m[:, 0])


def _within_reach(bowler: Bowler, strike: LineSet) -> list[Step]:
    """Return no move at all, and those of :data:`WAYS` that the bowler can make."""
    first, last = bowler.stand_boards
    steps = [
        Step(times * way.feet, times * way.target)
        for way in WAYS
        for times in range(-_MOST_STEPS, _MOST_STEPS + 1)
        if times
    ]
    return [Step(0, 0)] + [
        step
        for step in steps
        if first <= strike.stand[0] + step.feet <= last
        and 1 <= strike.target[0] + step.target <= BOARDS
    ]


def _size(step: Step) -> float:
    return abs(step.feet) + abs(step.target)


def _lanes(bowler: Bowler, strike: LineSet) -> list[tuple[Fault, OiledLane]]:
    """Return the lanes on which the strike line comes in wrong, each with its fault."""
    # Imported here: it costs more than all the rest, and most charts have no need of it.
    from scipy.optimize import brentq

    where = _board(bowler, strike, [Step(0, 0)])[0]

    def away(grip: float) -> float:
        lane = bowler.on(bowler.lane.changed(friction=grip))
        return float(_board(lane, strike, [Step(0, 0)])[0] - where)

    least, most = away(-_MOST_GRIP), away(_MOST_GRIP)
    lanes = []
    for fault, missed in _MISSED_BOARDS.items():
        if least < missed < most:  # a ball that grips more hooks more
            grip = brentq(
                lambda grip, by=missed: away(grip) - by, -_MOST_GRIP, _MOST_GRIP, xtol=1e-3
            )
            lanes.append((fault, bowler.lane.changed(friction=float(grip))))
    lanes.append((Fault.LATER, bowler.lane.changed(games=_GAMES_LATER)))
    return lanes
