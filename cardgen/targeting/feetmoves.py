"""Spares from the strike line: the target kept, the feet moved, and how far the habit goes wrong.

Many bowlers keep the strike ball and its target, and move their feet so many boards for each column
of pins from the head pin (common practice, no source): three, six and nine, or two, four and six.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import ROWS_M, Leave
from cardgen.physics.deck import Response
from cardgen.profile.bowler import Bowler
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.line import told_chance
from cardgen.targeting.lines import LineSet, lines_of

COLUMNS: Mapping[int, int] = {2: 1, 4: 2, 7: 3, 3: -1, 6: -2, 10: -3}
"""How many columns from the head pin a pin stands, positive away from the ball side."""
HABITS = (3, 2)
"""Boards of feet for a column, by either habit."""
_HARDLY_MADE = 0.1  # with less of a chance it is no move at all (an assumption)
_WORTH_A_WARNING = 0.1
"""A habit that costs so much of a chance is warned of (an assumption)."""


@dataclass(frozen=True)
class HabitMove:
    """A habit's move for one pin: boards of feet and the chance; None off the bowler's boards."""

    feet: int
    make: float | None
    misses: bool


@dataclass(frozen=True)
class FeetMove:
    """The feet's move from the strike line for one pin, as the bowler sees it.

    ``feet`` in boards, positive away from the ball side, None where no stand brings the ball to
    the pin. ``habits`` are those of :data:`HABITS`; one ``misses`` that makes a tenth less of them,
    or that nobody can stand for.
    """

    pin: int
    feet: float | None
    make: float
    habits: tuple[HabitMove, ...]


def feet_moves(
    bowler: Bowler, strike: LineSet, answers: Mapping[Leave, Response]
) -> list[FeetMove]:
    """Return the move for each pin of :data:`COLUMNS`; ``strike`` is one line.

    Of moves that are as good, the smallest. ``answers`` has the pins' responses to the ball.
    """
    first, last = bowler.stand_boards
    stands = np.arange(first, last + bowler.step / 2, bowler.step)
    lines = lines_of(bowler, strike.ball, stands, strike.target[0])
    arrivals = Arrivals(lines, bowler.spread, ROWS_M)
    moves = []
    for pin, column in COLUMNS.items():
        leave = Leave.of(pin)
        weights = arrivals.weights(arrivals.row(leave))
        make = (weights * answers[leave].chance).sum(axis=(1, 2))
        by_stand = {
            float(stand): told_chance(float(chance), leave)
            for stand, chance in zip(stands, make, strict=True)
        }
        best = _best(stands, make, float(strike.stand[0]))
        moves.append(
            FeetMove(
                bowler.inside(leave).pins[0],
                best - float(strike.stand[0]) if by_stand[best] >= _HARDLY_MADE else None,
                by_stand[best],
                tuple(
                    _habit(-boards * column, float(strike.stand[0]), by_stand, by_stand[best])
                    for boards in HABITS
                ),
            )
        )
    return moves


def _habit(feet: int, stand: float, by_stand: Mapping[float, float], best: float) -> HabitMove:
    make = by_stand.get(stand + feet)
    return HabitMove(feet, make, make is None or make < best - _WORTH_A_WARNING)


def _best(stands: FloatArray, make: FloatArray, stand: float) -> float:
    """Return the stand with the best chance, to the hundredth; of such the nearest to ``stand``."""
    good = stands[np.round(make, 2) >= np.round(make.max(), 2)]
    return float(good[np.abs(good - stand).argmin()])
