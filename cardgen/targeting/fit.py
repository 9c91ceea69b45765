"""Stand habits fitted to the lines a bowler already trusts."""

import math
from dataclasses import dataclass

import numpy as np

from cardgen.delivery.stance import StandHabits
from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.physics.deck import PinDeck, Response
from cardgen.physics.grid import PLACES, PLACES_M
from cardgen.profile.bowler import Bowler, KnownLine
from cardgen.targeting.lines import lines_of
from cardgen.units import FOOT_M

# The ranges that a profile may state (assumptions).
DISTANCE_RANGE_M = (6 * FOOT_M, 16 * FOOT_M)
GAP_RANGE_M = (-5 * BOARD_M, 15 * BOARD_M)
_MOSTLY_MADE = 0.5
_WILD = 4.0
"""Over two half windows off (an assumption): a gap wrong by 5 boards is 3 for a corner pin."""


@dataclass(frozen=True)
class HabitFit:
    """The fitted habits, how many lines they rest on, and the lines that are believed.

    Believed are the lines used, and those that cannot be checked: no place is good enough for
    their leaves to tell where they ought to arrive.
    """

    habits: StandHabits
    lines_used: int
    believed: tuple[KnownLine, ...] = ()


def fit_habits(bowler: Bowler, deck: PinDeck) -> HabitFit:
    """Return the stand habits under which the bowler's known lines arrive where they should.

    Gap, distance and walk are fitted; drift cannot be told from the gap and stays. A trusted line
    is taken to arrive anywhere in a window of its leave with equal chance, so about the window's
    middle with its uniform deviation. The profile's numbers are normal priors. Lines for leaves
    that are made less than half the time at best are left out, and so are lines that by the
    profile's numbers come in farther off than any stance explains: a slip of the pen must not bend
    the whole chart.
    """
    answers = {
        line: deck.response(bowler.inside(line.leave), bowler.ball(line.ball).ball.mass_kg)
        for line in bowler.known_lines
    }
    checked = {line: r for line, r in answers.items() if r.smooth.max() >= _MOSTLY_MADE}
    known = {line: r for line, r in checked.items() if abs(_miss(bowler, line, r)) < _WILD}
    believed = tuple(line for line in answers if line in known or line not in checked)
    if not known:
        return HabitFit(bowler.habits, 0, believed)
    # Imported here: it costs more than the rest of a chart, and most profiles have no known lines.
    from scipy.optimize import least_squares

    prior, sd = bowler.habits, bowler.habits_sd
    centre = np.array([prior.gap_m, prior.distance_m, prior.walk])
    scale = np.array([sd.gap_m, sd.distance_m, sd.walk])

    def residuals(theta: FloatArray) -> FloatArray:
        moved = bowler.with_habits(_habits(theta, prior))
        misses = [_miss(moved, line, response) for line, response in known.items()]
        return np.concatenate([misses, (theta - centre) / scale])

    bounds = np.array([GAP_RANGE_M, DISTANCE_RANGE_M, (0.0, 1.0)]).T
    # The prior may sit on a bound (walk 1), where the solver cannot start.
    inside = np.clip(centre, bounds[0] + 1e-6, bounds[1] - 1e-6)
    solved = least_squares(residuals, inside, bounds=tuple(bounds), x_scale=scale)
    return HabitFit(_habits(solved.x, prior), len(known), believed)


def _habits(theta: FloatArray, prior: StandHabits) -> StandHabits:
    gap, distance, walk = (float(value) for value in theta)
    return StandHabits(distance_m=distance, gap_m=gap, walk=walk, drift_m=prior.drift_m)


def _miss(bowler: Bowler, line: KnownLine, response: Response) -> float:
    """Return how far a line arrives from its window's middle, in the window's deviations.

    Of a leave that is made from several sides, the window is the one it misses least. Infinite for
    a ball that never comes to the pins.
    """
    thrown = lines_of(bowler, bowler.ball(line.ball), [line.stand], [line.target])
    path = thrown.path([response.leave.front_row_m])
    x, angle = float(path.x_m[0, 0]), float(path.angle_rad[0, 0])
    if not math.isfinite(x):
        return math.inf
    left, right = response.window(PLACES_M, np.full(PLACES, angle))
    good = right > left
    middle, half = (left + right)[good] / 2, (right - left)[good] / 2
    misses = (x - middle) / (half / np.sqrt(3))
    return float(misses[np.abs(misses).argmin()]) if misses.size else math.inf
