"""What holds for every path of the ball, whatever the release and the lane."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cardgen.delivery.ball import Ball
from cardgen.delivery.release import Release
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import EDGE_M, FloatArray
from cardgen.physics.path import ERRORS, BallPath, arrival_jacobian, ball_path
from cardgen.units import FOOT_M, INCH_M, MPH_MPS, RPM_RADPS

PLANES_M = np.array([0, 15, 30, 45, 60, 62.6]) * FOOT_M
ROUNDING_M = 1e-9  # far above floating point, far below a board


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    # Nobody measures a nanometre, and numbers near the smallest of all are no lane's.
    return st.floats(low, high).map(lambda value: round(value, 9))


balls = st.builds(
    Ball,
    radius_m=floats(4.25 * INCH_M, 4.2975 * INCH_M),
    rg_m=floats(2.46 * INCH_M, 2.80 * INCH_M),
    mass_kg=floats(3, 7.2),
)
releases = st.builds(
    Release.of,
    x_m=floats(-EDGE_M, EDGE_M),
    launch_rad=floats(-0.1, 0.1),
    speed_mps=floats(8 * MPH_MPS, 30 * MPH_MPS),
    rev_radps=floats(0, 700 * RPM_RADPS),
    rotation_rad=floats(-0.5, 1.6),
    tilt_rad=floats(0, 1.3),
)
frictions = floats(0.01, 0.32)


@st.composite
def edges(draw: st.DrawFn, low: float, high: float, most: int) -> FloatArray:
    """Rising edges a finger's breadth apart at least."""
    places = draw(st.lists(st.integers(0, 99), max_size=most, unique=True))
    return np.sort(low + (high - low) * np.array(places, dtype=np.float64) / 99)


@st.composite
def zones(draw: st.DrawFn) -> FrictionGrid:
    inner = draw(edges(1, 19, 4))
    return FrictionGrid.zones(inner, [draw(frictions) for _ in range(inner.size + 1)])


@st.composite
def grids(draw: st.DrawFn) -> FrictionGrid:
    x_edges, y_edges = draw(edges(-0.5, 0.5, 4)), draw(edges(1, 19, 3))
    shape = (y_edges.size + 1, x_edges.size + 1)
    mu = [draw(frictions) for _ in range(shape[0] * shape[1])]
    return FrictionGrid(x_edges, y_edges, np.array(mu).reshape(shape))


def together(releases_: list[Release]) -> Release:
    return Release(
        *(np.concatenate([getattr(r, f.name) for r in releases_]) for f in fields(Release))
    )


def assert_same(one: BallPath, other: BallPath) -> None:
    for field in fields(BallPath):
        ours, theirs = getattr(one, field.name), getattr(other, field.name)
        assert ours == pytest.approx(theirs, abs=ROUNDING_M, nan_ok=True), field.name


@given(balls, releases, grids())
def test_a_mirrored_release_on_a_mirrored_lane_takes_the_mirrored_path(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    # The release's frame turns with the launch, so launch and rotation change sign with x, and
    # speed, rev rate and tilt stay.
    other = replace(
        release,
        x_m=-release.x_m,
        launch_rad=-release.launch_rad,
        rotation_rad=-release.rotation_rad,
    )
    turned = FrictionGrid(-lane.x_edges_m[::-1], lane.y_edges_m, lane.mu[:, ::-1])
    # A ball set down on an edge may belong to either side of it.
    assume(not np.any(np.isclose(lane.x_edges_m, release.x_m, atol=1e-6)))
    path, mirror = (
        ball_path(ball, release, lane, PLANES_M),
        ball_path(ball, other, turned, PLANES_M),
    )
    assert mirror.x_m == pytest.approx(-path.x_m, abs=ROUNDING_M)
    assert mirror.angle_rad == pytest.approx(-path.angle_rad, abs=ROUNDING_M)
    assert mirror.t_s == pytest.approx(path.t_s, abs=ROUNDING_M)


@given(balls, releases, frictions, floats(-0.1, 0.1))
def test_turning_the_launch_on_uniform_friction_turns_the_path(
    ball: Ball, release: Release, mu: float, by: float
) -> None:
    lane, far = FrictionGrid.uniform(mu), [500.0]
    straight = ball_path(ball, release, lane, far)
    turned = ball_path(ball, replace(release, launch_rad=release.launch_rad + by), lane, far)
    # Positive launches lead towards -x: a turn counter-clockwise seen from above.
    turn = np.array([[np.cos(by), -np.sin(by)], [np.sin(by), np.cos(by)]])

    def places(path: BallPath) -> tuple[FloatArray, FloatArray]:
        return (
            np.array([path.roll_x_m[0] - release.x_m[0], path.roll_y_m[0]]),
            np.array([path.vx_mps[0, 0], path.vy_mps[0, 0]]),
        )

    for before, after in zip(places(straight), places(turned), strict=True):
        assert after == pytest.approx(turn @ before, abs=1e-8)
    assert turned.roll_t_s == pytest.approx(straight.roll_t_s)


@given(balls, releases, grids())
def test_the_slip_never_turns_and_speed_plus_kappa_spin_is_kept(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    # v + kappa (v - u) is the angular momentum about a line in the lane, which friction at the
    # contact cannot change; v - u is the speed of the rim.
    path = ball_path(ball, release, lane, [*PLANES_M, 2000.0])
    v0 = np.array(release.velocity_mps)[:, 0]
    rim0 = np.array(release.rim_mps(ball.radius_m))[:, 0]
    u0 = v0 - rim0
    change = np.stack([path.vx_mps[0], path.vy_mps[0]]) - v0[:, None]
    assert change[0] * u0[1] - change[1] * u0[0] == pytest.approx(0, abs=1e-9)
    rolling = np.array([path.vx_mps[0, -1], path.vy_mps[0, -1]])  # where u is nought
    assert (1 + ball.kappa) * rolling == pytest.approx(v0 + ball.kappa * rim0, abs=1e-9)


@given(balls, releases, grids(), grids())
def test_friction_decides_where_the_ball_rolls_but_not_which_way_or_how_fast(
    ball: Ball, release: Release, one: FrictionGrid, other: FrictionGrid
) -> None:
    # Hopkins & Patterson, Am. J. Phys. 45, 263 (1977), from memory.
    ends = [ball_path(ball, release, lane, [2000.0]) for lane in (one, other)]
    assert ends[0].angle_rad == pytest.approx(ends[1].angle_rad, abs=1e-9)
    assert ends[0].speed_mps == pytest.approx(ends[1].speed_mps, abs=1e-9)


@given(balls, st.lists(releases, min_size=1, max_size=5), grids())
def test_balls_and_planes_together_are_what_they_are_alone(
    ball: Ball, several: list[Release], lane: FrictionGrid
) -> None:
    path = ball_path(ball, together(several), lane, PLANES_M)
    own_planes = ball_path(ball, together(several), lane, np.tile(PLANES_M, (len(several), 1)))
    assert_same(path, own_planes)
    for i, release in enumerate(several):
        for k, plane in enumerate(PLANES_M):
            alone = ball_path(ball, release, lane, [plane])
            for name in ("x_m", "vx_mps", "vy_mps", "t_s"):
                value = getattr(path, name)[i, k]
                assert getattr(alone, name)[0, 0] == pytest.approx(value, abs=ROUNDING_M)


@given(balls, releases, grids(), st.lists(floats(0, 19), max_size=6))
def test_more_planes_change_nothing_elsewhere(
    ball: Ball, release: Release, lane: FrictionGrid, more: list[float]
) -> None:
    few = ball_path(ball, release, lane, PLANES_M)
    # Planes on edges too, which the march must pass in the right order.
    every = np.sort([*PLANES_M, *more, *lane.y_edges_m])
    many = ball_path(ball, release, lane, every)
    at = np.searchsorted(every, PLANES_M)
    for name in ("x_m", "vx_mps", "vy_mps", "t_s"):
        ours = getattr(many, name)[:, at]
        assert ours == pytest.approx(getattr(few, name), abs=ROUNDING_M)


@given(balls, releases, zones(), st.integers(1, 5), floats(0.5, 18.5))
def test_cutting_a_zone_in_two_of_the_same_friction_changes_nothing(
    ball: Ball, release: Release, lane: FrictionGrid, strips: int, cut: float
) -> None:
    assume(not np.any(lane.y_edges_m == cut))
    row = int(np.searchsorted(lane.y_edges_m, cut))
    finer = FrictionGrid.zones(
        np.insert(lane.y_edges_m, row, cut), np.insert(lane.mu[:, 0], row, lane.mu[row, 0])
    )
    across = FrictionGrid(
        np.linspace(-0.4, 0.4, strips), lane.y_edges_m, np.tile(lane.mu, (1, strips + 1))
    )
    path = ball_path(ball, release, lane, PLANES_M)
    assert_same(path, ball_path(ball, release, finer, PLANES_M))
    assert_same(path, ball_path(ball, release, across, PLANES_M))


@given(balls, releases, grids())
def test_time_goes_on_and_the_ball_never_speeds_away(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    path = ball_path(ball, release, lane, PLANES_M)
    assert np.all(np.diff(path.t_s[0]) > 0)
    assert path.x_m[0, 0] == release.x_m[0]
    assert path.t_s[0, 0] == 0
    # Friction can bring the ball no faster than its release or its rim.
    rim = np.hypot(*release.rim_mps(ball.radius_m))
    assert np.all(path.speed_mps <= max(release.speed_mps[0], rim[0]) + 1e-9)


@given(balls, releases, grids())
def test_nothing_given_is_changed(ball: Ball, release: Release, lane: FrictionGrid) -> None:
    edges_and_mu = (lane.x_edges_m, lane.y_edges_m, lane.mu)
    inputs = [*vars(release).values(), *edges_and_mu, PLANES_M]
    before = [array.copy() for array in inputs]
    for array in inputs:
        array.flags.writeable = False
    ball_path(ball, release, lane, PLANES_M)
    arrival_jacobian(ball, release, lane, PLANES_M)
    PLANES_M.flags.writeable = True
    for array, was in zip(inputs, before, strict=True):
        assert np.array_equal(array, was)


@given(balls, releases, zones())
def test_the_jacobian_agrees_with_other_differences(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    ours = arrival_jacobian(ball, release, lane, PLANES_M)[0]
    for axis, step in enumerate((3e-4, 2e-4, 1e-3, 2e-2)):
        name = ERRORS[axis]
        up, down = (
            ball_path(ball, replace(release, **{name: getattr(release, name) + by}), lane, PLANES_M)
            for by in (step, -step)
        )
        slope = np.stack([up.x_m - down.x_m, up.angle_rad - down.angle_rad], axis=-1) / (2 * step)
        # Where the step takes the start of rolling over a plane, the angle there has a kink.
        smooth = (up.roll_y_m <= PLANES_M) == (down.roll_y_m <= PLANES_M)
        assert ours[smooth, :, axis] == pytest.approx(slope[0, smooth], rel=1e-3, abs=1e-4)


@given(balls, releases, zones())
def test_a_ball_set_down_a_metre_over_arrives_a_metre_over(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    laydown = arrival_jacobian(ball, release, lane, PLANES_M)[0, :, :, 0]
    assert laydown[:, 0] == pytest.approx(1, abs=1e-8)
    assert laydown[:, 1] == pytest.approx(0, abs=1e-8)


@given(balls, releases, zones())
def test_a_ball_without_side_turns_on_its_laydown_alone(
    ball: Ball, release: Release, lane: FrictionGrid
) -> None:
    # x = -y tan(launch), derived by hand: the ball goes straight whatever its speed and revs.
    straight = replace(release, rotation_rad=np.zeros(1))
    ours = arrival_jacobian(ball, straight, lane, PLANES_M)[0]
    launch = float(release.launch_rad[0])
    assert ours[:, 0, 1] == pytest.approx(-PLANES_M / np.cos(launch) ** 2, abs=1e-6)
    assert ours[:, 1, 1] == pytest.approx(1, abs=1e-6)
    assert ours[:, :, 2:] == pytest.approx(0, abs=1e-8)
