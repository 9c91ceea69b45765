"""The best line for a leave: the highest chance, and within a whisker of it the easiest to keep."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from scipy.special import ndtr

from cardgen.lane.geometry import ARROW_BOARDS, BOARD_M, EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response
from cardgen.targeting.conversion import Arrivals

PLATEAU = 0.02
"""Chances this close to the best count as equal: no bowler can feel the difference, and no model of
a lane is that good."""
SIMULATED_PLATEAU = 0.03
"""The same for leaves of several pins, whose chances the simulation tells no finer (derived: the
sampling error of sixteen runs a cell, averaged over a good bowler's spread, is 0.02 to 0.03)."""
_ARROWS = frozenset(ARROW_BOARDS)
_SHARE = 0.1  # of the best chance, a smaller plateau for poor ones (an assumption)
_UNEVEN_STEP_BOARDS = 0.5  # assumption: nobody aims finer
_LEAST_ROOM_BOARDS = 0.1  # cards print room to a tenth of a board
_AWAY_SHARE = 0.15  # so much unevenness is a target worth that is a board nearer (an assumption)
_HALVINGS = 20  # of a window: finer than a micrometre
_DECIMALS = 4  # far above rounding noise, so that ties break alike on every machine


class Reason(Enum):
    """Why a line was chosen over its runner-up, strongest first."""

    SPARE_BALL = "spare-ball"
    FAVOURITE_TARGET = "favourite-target"
    CENTRED = "centred"
    KEPT = "kept"
    REUSED = "reused"
    ARROW = "arrow"
    CHANCE = "chance"
    ONLY = "only"
    COUNT = "count"
    OWN = "own"
    STRIKE = "strike"


_LAST = (Reason.REUSED, Reason.ARROW, Reason.CHANCE)
_PREFERENCES = (Reason.SPARE_BALL, Reason.FAVOURITE_TARGET, Reason.CENTRED, *_LAST)
# Windows of several pins are narrow, and where two are near each other a wild bowler's best aim
# lies between them: the shot itself should be a good one first.
_PREFERENCES_OF_SEVERAL = (Reason.SPARE_BALL, Reason.CENTRED, Reason.FAVOURITE_TARGET, *_LAST)


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
    """A chosen line: which ball (index into the offers) and which of its lines."""

    ball: int
    line: int


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

    @property
    def uneven(self) -> FloatArray:
        """How many boards more there are on one side than on the other (n,).

        Without end where there is hardly any room to one side: such a shot is on the brink.
        """
        brink = np.minimum(self.left, self.right) < _LEAST_ROOM_BOARDS
        return np.where(brink, np.inf, np.abs(self.left - self.right))


@dataclass(frozen=True, eq=False)
class Offer:
    """The n lines of one ball for one leave.

    ``make`` (n,): chance of all pins. ``count`` (n,): pins felled on the average. ``comes`` (n,):
    whether the mean shot touches a pin of the leave. ``uneven`` (n,): see :class:`Room`; told of
    those lines at least that come to a choice.
    """

    arrivals: Arrivals
    response: Response
    make: FloatArray
    count: FloatArray
    comes: BoolArray
    uneven: FloatArray


def room_between(
    arrivals: Arrivals, row: IndexArray, which: IndexArray, ends: tuple[FloatArray, FloatArray]
) -> Room:
    """Return the room (m,) of the lines ``which`` (m,): boards at the target, the laydown kept.

    Where the lane brings back whatever is thrown, it is what there is between target and gutter.
    ``ends`` (m,) each, left and right: the windows at the planes ``row`` (m,), within which a shot
    still makes at least half as often as the best arrival does.
    """
    lines = arrivals.lines.pick(which)
    across = lines.laydown_x_m - lines.target_x_m
    boards_per_rad = (lines.target_y_m**2 + across**2) / lines.target_y_m / BOARD_M
    left, right = ends
    to_left, to_right = arrivals.room(row, which, ends)
    makes = right > left
    most_left, most_right = (
        (EDGE_M + lines.target_x_m) / BOARD_M,
        (EDGE_M - lines.target_x_m) / BOARD_M,
    )
    return Room(
        np.where(makes, np.minimum(to_left * boards_per_rad, most_left), 0.0),
        np.where(makes, np.minimum(to_right * boards_per_rad, most_right), 0.0),
    )


def believable(
    ends: tuple[FloatArray, FloatArray], unsure_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return windows (m,) drawn in to where a shot is believed to make it as likely as not.

    ``unsure_m`` (m,): deviations of where the mean shot arrives. To someone who does not know that,
    a window has soft edges; twice and more as wide as the doubt it keeps its width, and narrower
    than two thirds of a deviation to each side no shot is half sure.
    """
    middle, half = (ends[0] + ends[1]) / 2, (ends[1] - ends[0]) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(unsure_m > 0, half / unsure_m, np.inf)
    low, high = np.zeros_like(half), np.ones_like(half)
    for _ in range(_HALVINGS):
        share = (low + high) / 2
        likely = ndtr(ratio * (1 - share)) - ndtr(-ratio * (1 + share)) >= 0.5
        low, high = np.where(likely, share, low), np.where(likely, high, share)
    kept = np.where(np.isfinite(ratio), low, 1.0) * half
    return middle - kept, middle + kept


def plateau_of(make: Sequence[FloatArray], comes: Sequence[BoolArray], leave: Leave) -> float:
    """Return how much below the best chance of ``leave`` counts as equal to it.

    ``make`` and ``comes`` (n,) are those of each ball's lines; see :class:`Offer`.
    """
    best = max(float(each[there].max(initial=0.0)) for each, there in zip(make, comes, strict=True))
    return min(SIMULATED_PLATEAU if len(leave) > 1 else PLATEAU, _SHARE * best)


def choose(offers: Sequence[Offer], habits: Habits) -> Choice | None:
    """Return the line with the best chance of all pins; see :func:`choose_by`."""
    return choose_by([offer.make for offer in offers], offers, habits, plateau_at(offers))


def plateau_at(offers: Sequence[Offer]) -> float:
    """Return the plateau of the leave that ``offers`` are for; see :func:`plateau_of`."""
    make, comes = [offer.make for offer in offers], [offer.comes for offer in offers]
    return plateau_of(make, comes, offers[0].response.leave)


def choose_by(
    scores: Sequence[FloatArray], offers: Sequence[Offer], habits: Habits, plateau: float
) -> Choice | None:
    """Return the line to throw at a leave, or None if no line of any ball comes to it.

    ``offers`` hold the candidate lines of each ball, in the order in which the bowler would rather
    throw them, ``scores`` (n,) of each what is wanted. Lines within ``plateau`` of the best score
    compete by, in order: the ball, the favourite target, coming in the middle of the window, a line
    already in use, an arrow to look at, the score itself. For several pins the middle comes before
    the target, but not at any price: a far target counts against it.
    """
    several = len(offers[0].response.leave) > 1
    preferences = _PREFERENCES_OF_SEVERAL if several else _PREFERENCES
    near = near_best(scores, [offer.comes for offer in offers], plateau)
    picks = [Pick(ball, int(at)) for ball, which in enumerate(near) for at in which]
    if not picks:
        return None
    table = np.concatenate(
        [
            _keys(ball, offer, habits, which, np.round(score[which], _DECIMALS))
            for ball, (offer, which, score) in enumerate(zip(offers, near, scores, strict=True))
        ]
    )
    order = np.lexsort(table.T[::-1])[:2]
    if len(order) == 1:
        return Choice(picks[order[0]], None, Reason.ONLY)
    best, second = table[order]
    first = min(int(np.flatnonzero(best != second)[0]), len(preferences) - 1)
    reason = preferences[first]
    if several and reason is Reason.CENTRED:
        # The middle and the target are weighed against each other: only one may have told.
        middle, target = best[[1, 2]] - second[[1, 2]]
        if np.isclose(middle, _AWAY_SHARE * target, atol=0.01):
            reason = Reason.FAVOURITE_TARGET
    return Choice(picks[order[0]], picks[order[1]], reason)


def near_best(
    scores: Sequence[FloatArray], comes: Sequence[BoolArray], plateau: float
) -> list[IndexArray]:
    """Return of each ball's lines (n,) those within ``plateau`` of the best score of all.

    Only lines that come to the leave count.
    """
    score = [
        np.where(there, np.round(each, _DECIMALS), -np.inf)
        for each, there in zip(scores, comes, strict=True)
    ]
    most = max(float(each.max(initial=-np.inf)) for each in score)
    return [np.flatnonzero((each >= most - plateau) & np.isfinite(each)) for each in score]


def _keys(
    ball: int, offer: Offer, habits: Habits, which: IndexArray, score: FloatArray
) -> FloatArray:
    """Return the sort keys (m, 8), most important first, smaller is better."""
    lines = offer.arrivals.lines
    stand, target = lines.stand[which], lines.target[which]
    calls = list(zip(stand.tolist(), target.tolist(), strict=True))
    new = [call not in habits.lines_in_use for call in calls]
    off_arrow = [target not in _ARROWS for _, target in calls]
    away = np.abs(target - habits.favourite_target)
    uneven = offer.uneven[which]
    if len(offer.response.leave) > 1:
        beyond = np.maximum(uneven - _UNEVEN_STEP_BOARDS, 0.0)
        ease = (np.round(beyond + _AWAY_SHARE * away, 2), away)
    else:
        ease = (away, np.floor(uneven / _UNEVEN_STEP_BOARDS))
    return np.column_stack(
        [
            np.full(which.size, ball),
            *ease,
            new,
            off_arrow,
            -score,
            stand,
            target,
        ]
    )
