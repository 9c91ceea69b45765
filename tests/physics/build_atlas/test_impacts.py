"""Two bodies meeting: the contact law by itself, and as the solver carries it out."""

from dataclasses import replace

import mujoco
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.build_atlas.contactlaw import Spring, damping_ratio_for, restitution_of
from cardgen.physics.build_atlas.draws import BALLS
from cardgen.physics.build_atlas.rackworld import RackWorld, Surfaces
from cardgen.units import INCH_M, MPH_MPS

MIDDLE = Surfaces(0.7, 0.7, 0.45, 0.15, 0.2, 0.35, 0.2)
SMOOTH = replace(MIDDLE, ball_pin_mu=1e-5, pin_pin_mu=1e-5)


@pytest.mark.parametrize("restitution", [0.3, 0.45, 0.6, 0.7, 0.8, 0.95])
def test_contact_law_against_a_general_solver(restitution: float) -> None:
    ratio = damping_ratio_for(restitution)
    assert np.isclose(restitution_of(ratio), restitution)

    def push(_t: float, y: FloatArray) -> list[float]:
        return [y[1], -y[0] - 2 * ratio * y[1]]

    def parts(t: float, y: FloatArray) -> float:
        return float(-y[0] - 2 * ratio * y[1]) if t > 1e-3 else -1.0

    parts.terminal = True  # type: ignore[attr-defined]  # the solver's way to say "stop here"
    # x is how deep the surfaces are pressed; the push ends when it would become a pull.
    end = solve_ivp(push, (0, 10), [0.0, 1.0], events=parts, rtol=1e-9, atol=1e-12)
    assert np.isclose(-end.y[1, -1], restitution, atol=1e-6)


def test_contact_law_refuses_what_it_cannot_do() -> None:
    for restitution in (-0.1, 0.1, 1.1):
        with pytest.raises(ValueError, match=r"restitution here is 0\.2 to 1"):
            Spring.of(restitution, 1e-3)


def _free_world(leave: Leave, surfaces: Surfaces, ball: int = 1) -> RackWorld:
    """Return a world without gravity or surroundings, its pins awake."""
    world = RackWorld(leave, BALLS[ball])
    world.reset(surfaces, world.spots_m)
    world.model.opt.gravity[:] = 0.0
    world.model.geom_contype[world.model.geom_bodyid == 0] = 0
    world.model.opt.enableflags &= ~int(mujoco.mjtEnableBit.mjENBL_SLEEP)
    mujoco.mj_resetData(world.model, world.data)
    return world


def _strike(
    world: RackWorld, body: int, target: int, offset_m: float, speed_mps: float, rolls: bool
) -> dict[str, float]:
    """Drive ``body`` at ``target`` (0 the ball, then the pins), and tell how they part."""
    model, data = world.model, world.data
    at, goal = data.qpos[7 * body : 7 * body + 3], data.qpos[7 * target : 7 * target + 3]
    at[:] = goal + np.array([-offset_m, -0.3, 0.0])
    if body == 0:
        at[2] = world.ball.radius_m
    velocity = data.qvel.reshape(-1, 6)
    velocity[body, 1] = speed_mps
    if rolls:
        velocity[body, 3] = -speed_mps / world.ball.radius_m
    mass = model.body_mass[1:]
    before, energy = velocity.copy(), _energy(world)
    for _ in range(20_000):
        where = data.qpos.copy()
        mujoco.mj_step(model, data)
        if data.ncon:
            break
    contact = data.contact[0]
    normal, point = contact.frame[:3].copy(), contact.pos.copy()
    if normal[1] < 0:
        normal = -normal
    while data.ncon:
        mujoco.mj_step(model, data)

    def apart(v: FloatArray) -> FloatArray:
        # The solver keeps spin in the body's own frame; that hardly turns in a millisecond.
        skin = [
            v[b, :3]
            + np.cross(data.xmat[b + 1].reshape(3, 3) @ v[b, 3:], point - where[7 * b : 7 * b + 3])
            for b in (body, target)
        ]
        return np.asarray(skin[1] - skin[0])

    after = velocity.copy()
    impulse = mass[target] * (after[target, :3] - before[target, :3])
    pushed = float(impulse @ normal)
    return {
        "restitution": -float(apart(after) @ normal) / float(apart(before) @ normal),
        "friction": float(np.linalg.norm(impulse - pushed * normal)) / pushed,
        "momentum": float(np.abs((mass[:, None] * (after - before)[:, :3]).sum(axis=0)).max()),
        "energy": _energy(world) / energy,
    }


def _energy(world: RackWorld) -> float:
    v = world.data.qvel.reshape(-1, 6)
    twice = (world.model.body_mass[1:, None] * v[:, :3] ** 2).sum()
    return float(twice + (world.model.body_inertia[1:] * v[:, 3:] ** 2).sum()) / 2


@pytest.mark.parametrize("wanted", [0.6, 0.7, 0.8])
@pytest.mark.parametrize("ball", [0, 1])
@pytest.mark.parametrize("offset_in", [0.0, 3.0, 5.0])
def test_ball_and_pin_part_with_the_restitution_asked_for(
    wanted: float, ball: int, offset_in: float
) -> None:
    world = _free_world(Leave.of(5), replace(SMOOTH, ball_pin_e=wanted), ball)
    met = _strike(world, 0, 1, offset_in * INCH_M, 15 * MPH_MPS, rolls=True)
    assert abs(met["restitution"] - wanted) < 0.03
    assert met["momentum"] < 1e-9
    assert met["energy"] < 1


@pytest.mark.parametrize("wanted", [0.6, 0.7, 0.8])
@pytest.mark.parametrize(
    ("speed_mps", "soft"), [(1.0, False), (3.0, False), (9.0, False), (1.0, True), (3.0, True)]
)
def test_one_setting_serves_two_pins_as_well(wanted: float, speed_mps: float, soft: bool) -> None:
    world = _free_world(Leave.of(2, 8), replace(SMOOTH, pin_pin_e=wanted))
    world.data.qpos[:3] = (0.0, 50.0, 1.0)
    if soft:
        world.soften()
    met = _strike(world, 1, 2, 2 * INCH_M, speed_mps, rolls=False)
    assert abs(met["restitution"] - wanted) < 0.03
    assert met["momentum"] < 1e-9


@pytest.mark.parametrize("mu", [0.05, 0.1, 0.15])
def test_a_rolling_ball_rubs_the_pin_by_coulombs_law(mu: float) -> None:
    # Its skin moves down at the speed of the ball, so the two slip as long as they touch.
    world = _free_world(Leave.of(5), replace(MIDDLE, ball_pin_mu=mu))
    met = _strike(world, 0, 1, 1 * INCH_M, 15 * MPH_MPS, rolls=True)
    assert abs(met["friction"] / mu - 1) < 0.05
    assert abs(met["restitution"] - 0.7) < 0.03
    assert met["energy"] < 1


def test_friction_stops_the_slip_of_a_ball_that_does_not_roll_and_no_more() -> None:
    little, much = (
        _strike(_free_world(Leave.of(5), replace(MIDDLE, ball_pin_mu=mu)), 0, 1, 0.03, 6.7, False)
        for mu in (0.25, 0.4)
    )
    assert abs(little["friction"] - much["friction"]) < 0.01  # both stuck, so both the same
    assert little["friction"] < 0.2
