"""The lines that are offered: none that nobody would throw."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.lane.geometry import EDGE_M, x_board
from cardgen.profile.bowler import Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.candidates import candidates
from cardgen.targeting.lines import lines_of
from cardgen.units import FOOT_M, INCH_M

MakeBowler = Callable[..., Bowler]
WAY_M = np.linspace(0, 57, 58) * FOOT_M


@pytest.fixture(scope="module")
def bowler(make_bowler: MakeBowler) -> Bowler:
    return make_bowler(lane=oiled_lane(LaneSpec()))


@pytest.mark.parametrize("ball", ["spare", "strike"])
def test_offered_lines_stay_on_the_lane(bowler: Bowler, ball: str) -> None:
    x = candidates(bowler, bowler.ball(ball)).path(WAY_M).x_m
    assert len(x) > 300
    # To a quarter inch: a hook may bulge between the places that are looked at.
    assert np.abs(x).max() < EDGE_M + 0.25 * INCH_M


def test_no_hook_is_swung_along_the_gutter_and_far_back(bowler: Bowler) -> None:
    boards = x_board(candidates(bowler, bowler.ball("strike")).path(WAY_M).x_m)
    back = boards[:, -1] - boards.min(axis=1)
    swung = boards[:, 0] > boards.min(axis=1) + 1
    assert boards.min(axis=1)[swung & (back > 7)].min() > 3.2
    # Without the rule there would be such lines.
    wide = lines_of(bowler, bowler.ball("strike"), 26.0, 8.0).path(WAY_M).x_m[0]
    assert x_board(wide).min() < 2.5
    assert x_board(wide)[-1] > x_board(wide).min() + 7


def test_a_straight_ball_may_cross_the_lane_from_its_edge(bowler: Bowler) -> None:
    lines = candidates(bowler, bowler.ball("spare"))
    far = x_board(lines.path([57 * FOOT_M]).x_m[:, 0])
    assert x_board(lines.laydown_x_m)[far > 20].min() < 4
