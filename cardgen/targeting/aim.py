"""The best line for a leave: the highest chance, and within a whisker of it the easiest to keep."""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from cardgen.lane.geometry import ARROW_BOARDS, BOARD_M, EDGE_M, FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import PinDeck, Response
from cardgen.targeting.conversion import WATCHED_M, Arrivals

PLATEAU = 0.01
"""Chances this close to the best count as equal: no bowler can feel the difference."""
_IMBALANCE_STEP_BOARDS = 0.5  # assumption: nobody aims finer
_CHANCE_DECIMALS = 4  # far above rounding noise, so that ties break alike on every machine


class Reason(Enum):
    """Why a line was chosen over its runner-up, strongest first."""

    SPARE_BALL = "spare-ball"
    FAVOURITE_TARGET = "favourite-target"
    CENTRED = "centred"
    REUSED = "reused"
    ARROW = "arrow"
    CHANCE = "chance"
    ONLY = "only"
    OWN = "own"


_PREFERENCES = (
    Reason.SPARE_BALL,
    Reason.FAVOURITE_TARGET,
    Reason.CENTRED,
    Reason.REUSED,
    Reason.ARROW,
    Reason.CHANCE,
)


@dataclass(frozen=True)
class Habits:
    """What makes a line easy to keep: a favourite target, and the lines already in the chart."""

    favourite_target: float
    lines_in_use: frozenset[tuple[float, float]] = frozenset()

    def with_line(self, stand: float, target: float) -> "Habits":
        """Return the habits with one more line in use."""
        return Habits(self.favourite_target, self.lines_in_use | {(stand, target)})


@dataclass(frozen=True)
class Pick:
    """A chosen line: which ball (index into the arrivals) and which of its lines."""

    ball: int
    line: int
    make: float


@dataclass(frozen=True)
class Choice:
    """The winner, the runner-up where there is one, and what decided between them."""

    best: Pick
    runner_up: Pick | None
    reason: Reason


@dataclass(frozen=True, eq=False)
class Room:
    """How far the target may be missed, in boards, each (n,); both nought where it never makes."""

    left: FloatArray
    right: FloatArray


def window_of(response: Response, x_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the left and right ends (n,) of the stretch about ``x_m`` that makes at 50 % or more.

    Where ``x_m`` itself makes less than that, both ends are ``x_m``.
    """
    good = response.chance >= 0.5
    left, right = x_m.copy(), x_m.copy()
    cells = response.chance.shape[1]
    for k in range(cells):
        here = good[:, k] & (response.edges_m[:, k] <= x_m) & (x_m < response.edges_m[:, k + 1])
        for row in np.flatnonzero(here):
            first = last = k
            while first > 0 and good[row, first - 1]:
                first -= 1
            while last + 1 < cells and good[row, last + 1]:
                last += 1
            left[row], right[row] = response.edges_m[row, first], response.edges_m[row, last + 1]
    return left, right


def room_of(arrivals: Arrivals, leave: Leave, deck: PinDeck, which: IndexArray) -> Room:
    """Return the room (m,) of the lines ``which`` (m,): boards at the target, the laydown kept."""
    row = arrivals.row(leave)
    lines = arrivals.lines.pick(which)
    across = lines.laydown_x_m - lines.target_x_m
    launch_per_m = -lines.target_y_m / (lines.target_y_m**2 + across**2)
    # Metres at each plane for a metre at the target.
    gain = arrivals.jacobian[which][:, :, 0, 1] * launch_per_m[:, None]
    x = arrivals.x_m[which]
    left, right = window_of(deck.response(leave, arrivals.angle_rad[which, row]), x[:, row])
    to_left = (x[:, row] - left) / gain[:, row]
    to_right = (right - x[:, row]) / gain[:, row]
    watched = slice(1, len(WATCHED_M))  # at the foul line the launch moves nothing
    to_left = np.minimum(to_left, ((x + EDGE_M)[:, watched] / gain[:, watched]).min(axis=1))
    to_right = np.minimum(to_right, ((EDGE_M - x)[:, watched] / gain[:, watched]).min(axis=1))
    makes = right > left
    return Room(
        np.where(makes, np.maximum(to_left, 0) / BOARD_M, 0.0),
        np.where(makes, np.maximum(to_right, 0) / BOARD_M, 0.0),
    )


def choose(bags: list[Arrivals], leave: Leave, deck: PinDeck, habits: Habits) -> Choice | None:
    """Return the line to throw at ``leave``, or None if no line of any ball reaches it.

    ``bags`` holds the candidate lines of each ball, in the order in which the bowler would rather
    throw them. Lines within :data:`PLATEAU` of the best chance compete by, in order: the ball, the
    favourite target, standing in the middle of the plateau, a line already in use, an arrow to
    look at, the chance itself.
    """
    rivals = [_rivals(ball, arrivals, leave, deck) for ball, arrivals in enumerate(bags)]
    ball = np.concatenate([r[0] for r in rivals])
    line = np.concatenate([r[1] for r in rivals])
    make = np.concatenate([r[2] for r in rivals])
    if not line.size:
        return None
    best = np.flatnonzero(make >= make.max() - PLATEAU)
    keys = np.concatenate(
        [
            _keys(index, bags[index], leave, deck, habits, line[at], make[at])
            for index in range(len(bags))
            if (at := best[ball[best] == index]).size
        ]
    )
    ball, line, make = ball[best], line[best], make[best]
    order = np.lexsort(keys.T[::-1])
    picks = [Pick(int(ball[i]), int(line[i]), float(make[i])) for i in order[:2]]
    if len(picks) == 1:
        return Choice(picks[0], None, Reason.ONLY)
    differs = np.flatnonzero(keys[order[0]] != keys[order[1]])
    first = min(int(differs[0]), len(_PREFERENCES) - 1)
    return Choice(picks[0], picks[1], _PREFERENCES[first])


def _rivals(
    ball: int, arrivals: Arrivals, leave: Leave, deck: PinDeck
) -> tuple[IndexArray, IndexArray, FloatArray]:
    """Return (ball, line, chance) of the lines whose mean shot can make the leave."""
    row = arrivals.row(leave)
    response = deck.response(leave, arrivals.angle_rad[:, row])
    x = arrivals.x_m[:, row]
    which = np.flatnonzero((x > response.edges_m[:, 0]) & (x < response.edges_m[:, -1]))
    make = arrivals.conversion(leave, deck, which)
    return np.full(which.size, ball), which, np.round(make, _CHANCE_DECIMALS)


def _keys(
    ball: int,
    arrivals: Arrivals,
    leave: Leave,
    deck: PinDeck,
    habits: Habits,
    which: IndexArray,
    make: FloatArray,
) -> FloatArray:
    """Return the sort keys (m, 8), most important first, smaller is better."""
    stand, target = arrivals.lines.stand[which], arrivals.lines.target[which]
    room = room_of(arrivals, leave, deck, which)
    new = [
        (s, t) not in habits.lines_in_use
        for s, t in zip(stand.tolist(), target.tolist(), strict=True)
    ]
    return np.column_stack(
        [
            np.full(which.size, ball),
            np.abs(target - habits.favourite_target),
            np.floor(np.abs(room.left - room.right) / _IMBALANCE_STEP_BOARDS),
            new,
            ~np.isin(target, ARROW_BOARDS),
            -make,
            stand,
            target,
        ]
    )
