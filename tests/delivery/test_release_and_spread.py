"""The release's frame, and the spread's units."""

from itertools import pairwise

import numpy as np
import pytest

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.release import Release
from cardgen.delivery.spread import PRESETS, Spread


def test_releases_spread_to_one_length() -> None:
    release = Release.of([0.1, 0.2, 0.3], 0.01, 8.0, rotation_rad=0.2)
    assert len(release) == 3
    assert release.launch_rad.tolist() == [0.01] * 3
    assert release.tilt_rad.tolist() == [0.0] * 3
    assert release.tiled(2).x_m.tolist() == [0.1, 0.2, 0.3, 0.1, 0.2, 0.3]


def test_releases_of_unlike_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="broadcast"):
        Release.of([0.1, 0.2, 0.3], [0.01, 0.02], 8.0)


def test_a_positive_launch_leads_away_from_the_ball_side_and_rotation_farther() -> None:
    release = Release.of(0.0, 0.1, 8.0, 30.0, 0.5, 0.3)
    vx, vy = release.velocity_mps
    assert (vx[0], vy[0]) == pytest.approx((-8 * np.sin(0.1), 8 * np.cos(0.1)))
    rim_x, rim_y = release.rim_mps(0.1)
    # Only the level part of the spin drives the ball.
    assert np.hypot(rim_x, rim_y)[0] == pytest.approx(0.1 * 30 * np.cos(0.3))
    assert np.arctan2(-rim_x, rim_y)[0] == pytest.approx(0.6)


def test_a_uniform_sphere_gives_two_sevenths_of_its_slip() -> None:
    # Kappa 2/5, lambda 2/7: any textbook of mechanics.
    ball = Ball(STANDARD_RADIUS_M, STANDARD_RADIUS_M * 0.4**0.5, 7)
    assert ball.kappa == pytest.approx(0.4)
    assert ball.roll_fraction == pytest.approx(2 / 7)


def test_spread_in_the_units_of_the_trade() -> None:
    spread = Spread.of(angle_deg=0.5, laydown_boards=1, speed_mph=0.5, rev_percent=8)
    ours = (spread.laydown_m, spread.launch_rad, spread.speed_mps, spread.rev_fraction)
    assert ours == pytest.approx((41.5 / 39 * 0.0254, np.deg2rad(0.5), 0.5 * 0.44704, 0.08))
    assert spread.deviations(12.0) == pytest.approx([*ours[:3], 0.08 * 12.0])


def test_levels_get_tighter_in_everything() -> None:
    levels = [PRESETS[name] for name in ("new", "league", "strong", "elite")]
    for worse, better in pairwise(levels):
        assert all(b < a for a, b in zip(vars(worse).values(), vars(better).values(), strict=True))
