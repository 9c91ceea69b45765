"""The lines that a bowler could throw, before any leave is asked about."""

import numpy as np

from cardgen.lane.geometry import BOARD_M, BOARDS, EDGE_M, BoolArray, FloatArray, board_x_m
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.units import FOOT_M

STEEPEST_RAD = 0.1
"""Launches farther from straight are not offered (an assumption); crossing the lane is 0.06."""

OUTERMOST_BOARD = 3.5
"""Nobody swings a ball out beyond this to have it hook far back (an assumption): the gutter is
near, whatever dry outer boards may do."""
_FAR_BACK_M = 6 * BOARD_M  # less is a ball to a corner (an assumption)
_WAY_M = np.linspace(0, 57, 20) * FOOT_M  # a hook bulges less than a quarter inch between these


def candidates(bowler: Bowler, ball: BallChoice) -> LineSet:
    """Return every line of ``ball`` whose mean shot stays on the lane and that anybody would throw.

    Not absurdly steep, and not swung along the gutter.
    """
    first, last = bowler.stand_boards
    stands = np.arange(first, last + bowler.step / 2, bowler.step)
    targets = np.arange(1, BOARDS + bowler.step / 2, bowler.step)
    stand, target = (part.ravel() for part in np.meshgrid(stands, targets, indexing="ij"))
    lines = lines_of(bowler, ball, stand, target)
    sane = np.abs(lines.launch_rad) < STEEPEST_RAD
    set_down = np.abs(lines.laydown_x_m) <= EDGE_M - BOARD_M / 2
    lines = lines.pick(np.flatnonzero(sane & set_down))
    x = lines.path(_WAY_M).x_m
    on_lane = (np.abs(x) < EDGE_M).all(axis=1)
    return lines.pick(np.flatnonzero(on_lane & ~_swings_wide(x)))


def _swings_wide(x_m: FloatArray) -> BoolArray:
    """Tell which paths (n, planes), from the foul line on, go out near the gutter and far back."""
    out = x_m.max(axis=1)
    wide: BoolArray = (
        (out > board_x_m(OUTERMOST_BOARD)) & (out > x_m[:, 0]) & (x_m[:, -1] < out - _FAR_BACK_M)
    )
    return wide
