"""The path at its awkward moments."""

import numpy as np
import pytest

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.release import Release
from cardgen.lane.friction import FrictionGrid
from cardgen.physics.path import ball_path

BALL = Ball(STANDARD_RADIUS_M, 0.066, 6.4)


def test_a_ball_released_rolling_rolls_at_once_and_keeps_its_speed() -> None:
    release = Release.of(0.1, 0.0, 8.0, 8.0 / STANDARD_RADIUS_M)
    path = ball_path(BALL, release, FrictionGrid.uniform(0.1), [0.0, 18.0])
    assert path.speed_mps == pytest.approx(8)
    assert path.x_m == pytest.approx(0.1)
    assert path.t_s[0] == pytest.approx([0, 18 / 8])
    assert path.roll_y_m[0] == pytest.approx(0, abs=1e-9)


def test_a_ball_still_sliding_at_the_last_plane_has_not_begun_to_roll() -> None:
    path = ball_path(BALL, Release.of(0, 0, 8.0), FrictionGrid.uniform(0.01), [18.0])
    assert np.isnan([path.roll_x_m, path.roll_y_m, path.roll_t_s]).all()


def test_a_ball_spun_back_hard_never_arrives() -> None:
    # Back spin turns it round before 20 m: rolling speed is the slip's share less, below nought.
    release = Release.of(0.0, 0.0, [3.0, 8.0], [-150.0, 0.0])
    path = ball_path(BALL, release, FrictionGrid.uniform(0.2), [0.5, 20.0])
    assert np.isfinite(path.x_m[:, 0]).all()
    assert np.isnan(path.x_m[0, 1])
    assert np.isfinite(path.x_m[1, 1])


def test_two_frictions_along_a_straight_ball_by_hand() -> None:
    # v^2 = v0^2 - 2 mu g y over each stretch, without spin and before it rolls.
    g = 9.80665
    friction = FrictionGrid.zones([6.0], [0.02, 0.05])
    path = ball_path(BALL, Release.of(0, 0, 9.0), friction, [6.0, 10.0])
    first = (81 - 2 * 0.02 * g * 6) ** 0.5
    second = (first**2 - 2 * 0.05 * g * 4) ** 0.5
    assert path.vy_mps[0] == pytest.approx([first, second])
    assert path.t_s[0] == pytest.approx([12 / (9 + first), 12 / (9 + first) + 8 / (first + second)])


def test_a_ball_through_a_corner_of_the_grid_takes_the_strip_it_rolls_into() -> None:
    """A stop and a strip edge met at once: rounding once left some balls on the wrong strip."""
    corner_x, corner_y = 0.2, 9.3
    launch = np.random.default_rng(1).uniform(-0.05, 0.05, 5000)
    at_corner = corner_x + np.tan(launch) * corner_y
    beside = at_corner + np.where(launch < 0, 1e-7, -1e-7)
    grid = FrictionGrid(
        np.array([corner_x]), np.array([corner_y]), np.array([[0.02, 0.02], [0.02, 0.30]])
    )
    times = [
        ball_path(BALL, Release.of(x, launch, 7.5), grid, [18.0]).t_s for x in (at_corner, beside)
    ]
    assert times[0] == pytest.approx(times[1], abs=1e-5)


def test_the_slightest_sideways_speed_is_no_trouble() -> None:
    grid = FrictionGrid(np.array([0.3]), np.empty(0), np.array([[0.1, 0.1]]))
    assert np.isfinite(ball_path(BALL, Release.of(0.0, -1e-310, 8.0), grid, [18.0]).t_s).all()
