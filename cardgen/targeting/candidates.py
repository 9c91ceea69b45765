"""The lines that a bowler could throw, before any leave is asked about."""

import numpy as np

from cardgen.lane.geometry import BOARD_M, BOARDS, EDGE_M
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.conversion import WATCHED_M
from cardgen.targeting.lines import LineSet, lines_of

STEEPEST_RAD = 0.1
"""Launches farther from straight are not offered (an assumption); crossing the lane is 0.06."""


def candidates(bowler: Bowler, ball: BallChoice) -> LineSet:
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
