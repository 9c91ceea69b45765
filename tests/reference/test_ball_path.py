"""The path of the ball against worked values and against an ODE solver fed with first principles.

The worked values are our own derivations from the equations of Hopkins & Patterson (Am. J. Phys.
45, 263, 1977) and Frohlich (Am. J. Phys. 72, 1170, 2004), both cited from memory; each was checked
numerically when it was derived.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from cardgen.delivery.ball import Ball
from cardgen.delivery.release import Release
from cardgen.lane.condition import Grip, OiledLane
from cardgen.lane.film import FilmMap
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import BOARD_M, WIDTH_M, FloatArray, Hand
from cardgen.physics.path import BallPath, ball_path
from cardgen.profile.lane import oiled_lane
from cardgen.profile.loader import load_lane
from cardgen.resources import data_folder
from cardgen.units import (
    DEGREE_RAD,
    FOOT_M,
    INCH_M,
    MPH_MPS,
    POUND_KG,
    RPM_RADPS,
    STANDARD_GRAVITY_MPS2,
)


def ball_of(rg_in: float, radius_in: float = 4.28) -> Ball:
    return Ball(radius_in * INCH_M, rg_in * INCH_M, 15 * POUND_KG)


def release_of(
    mph: float, launch_deg: float, rpm: float, rotation_deg: float, tilt_deg: float
) -> Release:
    return Release.of(
        0.0,
        launch_deg * DEGREE_RAD,
        mph * MPH_MPS,
        rpm * RPM_RADPS,
        rotation_deg * DEGREE_RAD,
        tilt_deg * DEGREE_RAD,
    )


UNIFORM = {
    # Ball, release, friction, and (derived, checked numerically) the time, velocity and place at
    # which rolling begins, all SI.
    "no spin": (
        Ball(0.1085, 0.1085 * 0.4**0.5, 7),
        Release.of(0.0, 0.0, 8.0),
        0.12,
        (1.9423, 0.0, 5.7143, 0.0, 13.3187),
    ),
    # Spin (-21.2132, -21.2132, 0) rad/s: 30 rad/s about an axis turned by 45 degrees.
    "hook on oil": (
        Ball(0.1085, 0.1085 * 0.4**0.5, 7),
        Release.of(0.0, 0.0, 8.0, 30.0, np.pi / 4),
        0.04,
        (4.4763, -0.6576, 6.3719, -1.4718, 32.1664),
    ),
    "reactive hook": (
        ball_of(2.50),
        release_of(17, 0, 300, 45, 15),
        0.20,
        (0.7472, -0.5934, 6.2598, -0.2217, 5.1776),
    ),
}


@pytest.mark.parametrize(("ball", "release", "mu", "rolls"), UNIFORM.values(), ids=UNIFORM.keys())
def test_where_rolling_begins_on_uniform_friction(
    ball: Ball, release: Release, mu: float, rolls: tuple[float, ...]
) -> None:
    path = ball_path(ball, release, FrictionGrid.uniform(mu), [50.0])
    ours = (path.roll_t_s, path.vx_mps[:, 0], path.vy_mps[:, 0], path.roll_x_m, path.roll_y_m)
    assert [float(value[0]) for value in ours] == pytest.approx(rolls, abs=5.1e-5)


@dataclass(frozen=True)
class TwoZones:
    """A release on oil, then dry boards."""

    rg_in: float
    mph: float
    launch_deg: float
    rpm: float
    rotation_deg: float
    tilt_deg: float
    oil_ft: float
    mu_oil: float
    mu_dry: float

    def path(self, **changed: float) -> BallPath:
        at = {**vars(self), **changed}
        # A film that hides the lane altogether, then none.
        lane = OiledLane(
            FilmMap.flooded(at["oil_ft"] * FOOT_M), {"any": Grip(at["mu_oil"], at["mu_dry"])}, 1e-7
        )
        friction = lane.friction("any")
        release = release_of(
            at["mph"], at["launch_deg"], at["rpm"], at["rotation_deg"], at["tilt_deg"]
        )
        return ball_path(ball_of(at["rg_in"]), release, friction, [60 * FOOT_M])

    def boards(self, **changed: float) -> float:
        """Boards left of the start at 60 ft."""
        return -float(self.path(**changed).x_m[0, 0]) / BOARD_M


HOOK = TwoZones(2.50, 17, 0, 300, 45, 15, 40, 0.04, 0.20)
SPARE = TwoZones(2.72, 16, 1, 150, 10, 10, 40, 0.03, 0.12)


def test_a_hook_ball_over_40_feet_of_oil() -> None:
    # Derived, checked numerically.
    path = HOOK.path()
    ours = (
        HOOK.boards(),
        path.angle_rad[0, 0] / DEGREE_RAD,
        path.speed_mps[0, 0] / MPH_MPS,
        path.t_s[0, 0],
    )
    assert ours == pytest.approx((26.5327, 5.4153, 14.0656, 2.6195), abs=5.1e-5)
    assert path.roll_y_m[0] / FOOT_M == pytest.approx(48.99, abs=5e-3)


def test_a_hook_ball_over_36_feet_of_oil() -> None:
    # Derived, checked numerically.
    assert HOOK.boards(oil_ft=36) == pytest.approx(28.6629, abs=5.1e-5)


def test_a_spare_ball_over_40_feet_of_oil() -> None:
    # Derived, checked numerically.
    ours = (SPARE.boards(), SPARE.path().angle_rad[0, 0] / DEGREE_RAD)
    assert ours == pytest.approx((14.9069, 1.8639), abs=5.1e-5)


@pytest.mark.parametrize(
    ("name", "step", "hook", "spare"),
    # Derived, checked numerically: boards at 60 ft for a step, half of what two steps, one up and
    # one down, make.
    [
        ("launch_deg", 0.25, 2.96, 2.95),
        ("rpm", 0.1, 2.79, 0.39),
        ("rotation_deg", 5, 1.71, 1.51),
        ("oil_ft", 2, -1.03, -0.19),
        ("mu_oil", 0.01, 3.51, 0.73),
    ],
)
def test_sensitivities(name: str, step: float, hook: float, spare: float) -> None:
    for shot, boards in ((HOOK, hook), (SPARE, spare)):
        at = getattr(shot, name)
        by = step * at if name == "rpm" else step
        moved = (shot.boards(**{name: at + by}) - shot.boards(**{name: at - by})) / 2
        assert moved == pytest.approx(boards, abs=0.0055)


@pytest.mark.parametrize(
    ("film", "mu"),
    [
        (FilmMap.shaped(40 * FOOT_M, 0.0, 10, 7, 2.5), 0.20),
        (FilmMap.flooded(200.0), 0.04),
    ],
    ids=["no film", "film without end"],
)
@pytest.mark.parametrize(("ball", "release", "_mu", "_rolls"), UNIFORM.values(), ids=UNIFORM.keys())
def test_a_film_of_nothing_and_one_without_end_take_the_closed_forms(
    ball: Ball, release: Release, _mu: float, _rolls: object, film: FilmMap, mu: float
) -> None:
    lane = OiledLane(film, {"any": Grip(0.04, 0.20)}, 1e-7)
    planes = np.array([5.0, 12.0, 18.288])
    ours = ball_path(ball, release, lane.friction("any"), planes)
    # Friction as above (Hopkins & Patterson), written out: slide, then roll straight on.
    vx, vy = (float(part[0]) for part in release.velocity_mps)
    rim_x, rim_y = (float(part[0]) for part in release.rim_mps(ball.radius_m))
    slip = np.hypot(vx - rim_x, vy - rim_y)
    pull = mu * STANDARD_GRAVITY_MPS2
    ax, ay = -pull * (vx - rim_x) / slip, -pull * (vy - rim_y) / slip
    rolls_s = ball.roll_fraction * slip / pull
    for plane, x in zip(planes, ours.x_m[0], strict=True):
        left = vy**2 + 2 * ay * plane  # below nought: it rolls before it would stop
        t = min((-vy + np.sqrt(left)) / ay, rolls_s) if left >= 0 else rolls_s
        y_t, x_t = vy * t + ay * t**2 / 2, vx * t + ax * t**2 / 2
        wait = (plane - y_t) / (vy + ay * t)
        assert x == pytest.approx(x_t + (vx + ax * t) * wait, abs=1e-12)


class Event:
    """An event for the solver, which reads off it whether to stop there."""

    def __init__(self, value: Callable[[FloatArray], float], terminal: bool = False) -> None:
        self.value, self.terminal = value, terminal

    def __call__(self, _t: float, state: FloatArray) -> float:
        return self.value(state)


def _beyond(plane_m: float, state: FloatArray) -> float:
    return float(state[1]) - plane_m


def slide_and_roll(
    ball: Ball, release: Release, friction: FrictionGrid, planes_m: FloatArray
) -> FloatArray:
    """Return x, vx, vy, t (4, p) at planes of one ball, integrated from first principles.

    Newton for the middle, Euler for the spin of a balanced sphere: friction F = -mu m g u/|u| at
    the contact, u = v + w x r with r = (0, 0, -R), torque r x F. No use is made of the theorem
    that the direction of u never turns, save to see the moment when u vanishes.
    """
    radius, inertia = ball.radius_m, ball.mass_kg * ball.rg_m**2
    heading = float(release.launch_rad[0])
    speed, rev = float(release.speed_mps[0]), float(release.rev_radps[0])
    turned, tilt = heading + float(release.rotation_rad[0]), float(release.tilt_rad[0])
    # The axis lies to the left of where the ball rolls (right-hand rule), its end up by the tilt.
    level = rev * np.cos(tilt)
    spin = (-level * np.cos(turned), -level * np.sin(turned), rev * np.sin(tilt))
    start = np.array(
        [float(release.x_m[0]), 0, -speed * np.sin(heading), speed * np.cos(heading), *spin]
    )
    below = np.array([0.0, 0.0, -radius])

    def slip(s: FloatArray) -> FloatArray:
        return np.array([s[2], s[3], 0.0]) + np.cross(s[4:], below)

    first_slip = slip(start)

    def mu_at(s: FloatArray) -> float:
        row = int(np.sum(friction.y_edges_m < s[1]))
        column = int(np.sum(friction.x_edges_m < s[0]))
        return float(friction.mu[row, column])

    def rates(_t: float, s: FloatArray) -> FloatArray:
        u = slip(s)
        force = -mu_at(s) * ball.mass_kg * STANDARD_GRAVITY_MPS2 * u / np.linalg.norm(u)
        torque = np.cross(below, force)
        return np.array([s[2], s[3], *(force[:2] / ball.mass_kg), *(torque / inertia)])

    grips = Event(lambda s: float(slip(s) @ first_slip), terminal=True)
    passes = [Event(partial(_beyond, plane)) for plane in planes_m.tolist()]
    solved = solve_ivp(
        rates,
        (0, 10),
        start,
        method="DOP853",
        events=[grips, *passes],
        rtol=1e-9,
        atol=1e-10,
        max_step=0.05,
    )
    assert solved.t_events is not None
    assert solved.y_events is not None
    rolling, t_roll = solved.y[:, -1], solved.t[-1]
    out = np.empty((4, len(planes_m)))
    for k, plane in enumerate(planes_m):
        if solved.t_events[k + 1].size:
            at = solved.y_events[k + 1][0]
            out[:, k] = at[0], at[2], at[3], solved.t_events[k + 1][0]
        else:
            wait = (plane - rolling[1]) / rolling[3]
            out[:, k] = rolling[0] + rolling[2] * wait, *rolling[2:4], t_roll + wait
    return out


PLANES_M = np.array([15, 35, 50, 60, 62.6]) * FOOT_M
_FINE = BOARD_M / 10_000  # the solver's own error; the march has none


def assert_agrees(ball: Ball, release: Release, friction: FrictionGrid) -> None:
    x, vx, vy, t = slide_and_roll(ball, release, friction, PLANES_M)
    path = ball_path(ball, release, friction, PLANES_M)
    assert path.x_m[0] == pytest.approx(x, abs=_FINE)
    assert path.vx_mps[0] == pytest.approx(vx, abs=1e-4)
    assert path.vy_mps[0] == pytest.approx(vy, abs=1e-4)
    assert path.t_s[0] == pytest.approx(t, abs=1e-4)


def random_release(rng: np.random.Generator) -> tuple[Ball, Release]:
    ball = ball_of(rng.uniform(2.46, 2.80), rng.uniform(4.25, 4.2975))
    release = Release.of(
        rng.uniform(-0.4, 0.4),
        rng.uniform(-0.06, 0.06),
        rng.uniform(10, 22) * MPH_MPS,
        rng.uniform(0, 550) * RPM_RADPS,
        rng.uniform(-20, 90) * DEGREE_RAD,
        rng.uniform(0, 60) * DEGREE_RAD,
    )
    return ball, release


@pytest.mark.parametrize("seed", range(20))
def test_zones_agree_with_an_ode_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    zones = int(rng.integers(1, 5))
    edges = np.sort(rng.uniform(5, 60, zones - 1)) * FOOT_M
    friction = FrictionGrid.zones(edges, rng.uniform(0.02, 0.30, zones))
    assert_agrees(*random_release(rng), friction)


def test_12_metres_of_oil_then_dry_agrees_with_an_ode_solver() -> None:
    # Friction .04 for 12 m, then .20: Frohlich, Am. J. Phys. 72, 1170 (2004), relayed.
    friction = FrictionGrid.zones([12.0], [0.04, 0.20])
    assert_agrees(ball_of(2.55), release_of(18, 2, 325, 70, 15), friction)


@pytest.mark.parametrize("seed", range(20))
def test_strips_across_the_lane_agree_with_an_ode_solver(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    x_edges = np.sort(rng.uniform(-0.45, 0.45, 4))
    y_edges = np.sort(rng.uniform(5, 60, 2)) * FOOT_M
    friction = FrictionGrid(x_edges, y_edges, rng.uniform(0.02, 0.25, (3, 5)))
    assert_agrees(*random_release(rng), friction)


def test_balls_that_curve_back_over_a_strips_edge_agree_with_an_ode_solver() -> None:
    # Thrown out to the right over the edge of the oil and hooking back over it.
    ball, edge = ball_of(2.50), 0.25
    friction = FrictionGrid(
        np.array([-0.2, edge, 0.33]),
        np.array([38 * FOOT_M]),
        np.array([[0.05, 0.04, 0.09, 0.14], [0.15, 0.12, 0.20, 0.22]]),
    )
    for launch_deg in (-1.6, -1.9, -2.2, -2.4):
        release = Release.of(
            0.2, launch_deg * DEGREE_RAD, 16 * MPH_MPS, 400 * RPM_RADPS, 1.1, 10 * DEGREE_RAD
        )
        x = ball_path(ball, release, friction, np.linspace(0, 18, 91)).x_m[0]
        assert x[0] < edge < x.max()
        assert x[-1] < edge
        assert_agrees(ball, release, friction)


LANES = sorted((data_folder("templates") / "lanes").glob("*.yaml"))
A_TWENTIETH = BOARD_M / 20


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("lane", LANES, ids=lambda path: path.stem)
def test_films_of_shipped_lanes_agree_with_an_ode_solver(lane: Path, hand: Hand) -> None:
    condition = oiled_lane(load_lane(lane)).seen_by(hand)
    rng = np.random.default_rng(sum(map(ord, lane.stem + hand.value)))
    for cover in ("plastic", "urethane", "reactive"):
        friction = condition.friction(cover)
        for _ in range(2):
            ball, release = random_release(rng)
            x, _, _, t = slide_and_roll(ball, release, friction, PLANES_M)
            path = ball_path(ball, release, friction, PLANES_M)
            assert path.x_m[0] == pytest.approx(x, abs=A_TWENTIETH)
            assert path.t_s[0] == pytest.approx(t, abs=1e-3)


def test_a_lane_at_the_limit_of_levelness_moves_a_ball_by_an_inch() -> None:
    # Levelness: 0.040 in at most (USBC equipment specifications); sideways in 2.4 s that is 0.8 in
    # for a ball that rolls, 1.1 in for one that slides (derived).
    slope = 0.040 * INCH_M / WIDTH_M
    ball, speed = ball_of(2.52), 18.288 / 2.4
    level = FrictionGrid.uniform(0.04)
    rolling = Release.of(0.0, 0.0, speed, speed / ball.radius_m)
    sliding = Release.of(0.0, 0.0, speed + 0.04 * STANDARD_GRAVITY_MPS2 * 2.4 / 2)
    for release, inches in ((rolling, 0.8), (sliding, 1.1)):
        leaning = ball_path(ball, release, replace(level, slope=slope), [18.288])
        straight = ball_path(ball, release, level, [18.288])
        assert straight.t_s[0, 0] == pytest.approx(2.4, abs=1e-6)
        aside_m = leaning.x_m[0, 0] - straight.x_m[0, 0]
        assert aside_m / INCH_M == pytest.approx(inches, abs=0.05)
