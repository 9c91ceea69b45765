"""Balls followed on several lanes at once take the paths they take on each by itself."""

from dataclasses import fields

import numpy as np
import pytest

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.release import Release
from cardgen.lane.friction import FrictionGrid
from cardgen.physics.path import ball_path, ball_paths

BALL = Ball(STANDARD_RADIUS_M, 0.066, 6.4)
RELEASE = Release.of([0.1, -0.2, 0.3], [0.0, 0.02, -0.03], 7.5, [0.0, 20.0, 40.0], 0.8, 0.1)
LANES = (
    FrictionGrid.uniform(0.1),
    FrictionGrid.zones([6.0, 13.0], [0.04, 0.1, 0.25]),
    FrictionGrid(
        np.array([-0.3, 0.0, 0.25]),
        np.array([12.0]),
        np.array([[0.2, 0.04, 0.05, 0.2], [0.2, 0.25, 0.2, 0.25]]),
        slope=1e-4,
    ),
)
PLANES = (0.0, 4.0, 12.0, 18.288)


def test_paths_on_several_lanes_are_those_on_each() -> None:
    together = ball_paths(BALL, RELEASE, LANES, PLANES)
    for lane, path in zip(LANES, together, strict=True):
        alone = ball_path(BALL, RELEASE, lane, PLANES)
        for part in fields(path):
            np.testing.assert_array_equal(getattr(path, part.name), getattr(alone, part.name))


def test_planes_may_come_in_any_order() -> None:
    order = [2, 0, 3, 1]
    for lane in LANES:
        rising = ball_path(BALL, RELEASE, lane, PLANES)
        mixed = ball_path(BALL, RELEASE, lane, [PLANES[k] for k in order])
        np.testing.assert_array_equal(mixed.x_m, rising.x_m[:, order])
        np.testing.assert_array_equal(mixed.roll_y_m, rising.roll_y_m)


def test_on_no_lane_there_is_no_path() -> None:
    assert ball_paths(BALL, RELEASE, [], PLANES) == []


def test_a_plane_is_told_where_a_ball_turns_round_beyond_it() -> None:
    # Without side: v^2 = v0^2 - 2 mu g y until it stands; mu g = 1.96133, so it turns at 2.294 m.
    release = Release.of(0.0, 0.0, 3.0, -150.0)
    path = ball_path(BALL, release, FrictionGrid.uniform(0.2), [2.2, 2.4])
    assert path.vy_mps[0, 0] == pytest.approx((9 - 2 * 0.2 * 9.80665 * 2.2) ** 0.5)
    assert np.isnan(path.x_m[0, 1])
