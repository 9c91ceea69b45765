"""One ball at one leave, from the first touch until nothing can change: which pins fell."""

from dataclasses import dataclass

import mujoco
import numpy as np

from cardgen.delivery.ball import Ball
from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.physics.build_atlas import freeflight, touches, watch
from cardgen.physics.build_atlas.pinmodel import BELLY_HEIGHT_M, pin_body
from cardgen.physics.build_atlas.rackworld import (
    DECK_END_M,
    HARD_STEP_S,
    SOFT_STEP_S,
    RackWorld,
    Surfaces,
)

HARD_PART_S = 0.25
"""After so long only slow pins are left, and steps grow longer."""
SOFT_PART_S = 0.7
"""After so long pins roll where they lie, and steps grow longer still."""
LONGEST_S = 4.0
"""A run that has not settled by then is judged as it stands (a pin rolling about the deck)."""
_HARD_STEPS, _SOFT_STEPS = 15, 10  # steps between two looks at a run
_WORTH_IT = 2  # long steps in free flight, or else short ones
_GAP_M = 0.002  # a run starts so far before the first touch
_AWAY_M = 60.0  # where a ball goes that is past the deck
_MOST_REDONE = 4


@dataclass(frozen=True)
class Arrival:
    """A ball arriving: its place at the row of the front pin [m], angle [rad] and speed [m/s].

    The angle is positive when the ball moves to the left, as a right-hander's hook does.
    """

    x_m: float
    angle_rad: float
    speed_mps: float


@dataclass(frozen=True, eq=False)
class Outcome:
    """What one ball did, and how the run went.

    ``fell`` (pins,) tells which pins of the leave fell, ``touched`` (pins,) what first touched
    each, by the numbers of :mod:`touches`.
    """

    fell: BoolArray
    touched: IndexArray
    simulated_s: float
    redone: int


def first_touch_m(
    arrival: Arrival, front_m: float, spots_m: FloatArray, reach_m: float
) -> tuple[float, float] | None:
    """Return where [m] the ball's middle is when it first touches a pin; None if it never does.

    The ball rolls straight; one whose middle is past the lane's edge by then is in the gutter.
    ``spots_m`` (pins, 2) are where the pins stand, ``front_m`` the row the arrival is measured at.
    """
    along = np.array([-np.sin(arrival.angle_rad), np.cos(arrival.angle_rad)])
    start = np.array([arrival.x_m, front_m])
    apart = spots_m - start
    way = apart @ along
    miss = apart[:, 0] * along[1] - apart[:, 1] * along[0]
    hit = np.abs(miss) < reach_m
    if not hit.any():
        return None
    travel = np.min(way[hit] - np.sqrt(reach_m**2 - miss[hit] ** 2))
    x, y = start + travel * along
    return None if abs(x) > EDGE_M else (float(x), float(y))


def touch_distance_m(ball: Ball) -> float:
    """Return the distance [m] between the axes of ``ball`` and an upright pin when they touch."""
    widest = float(pin_body().sphere_radius_m.max())
    rise = BELLY_HEIGHT_M - ball.radius_m
    return float(np.sqrt((ball.radius_m + widest) ** 2 - rise**2))


def run(
    world: RackWorld,
    arrival: Arrival,
    surfaces: Surfaces,
    spots_m: FloatArray,
    *,
    stop_early: bool = True,
) -> Outcome:
    """Return the outcome of ``arrival`` at the world's leave standing on ``spots_m`` (pins, 2).

    A run in which the solver fails is done again with half the step.

    Raises:
        RuntimeError: it still fails at a sixteenth of the step.
    """
    pins = len(world.leave)
    reach = touch_distance_m(world.ball)
    touch = first_touch_m(arrival, world.leave.front_row_m, spots_m, reach)
    if touch is None:
        return Outcome(np.zeros(pins, np.bool_), np.zeros(pins, np.intp), 0.0, 0)
    for redone in range(_MOST_REDONE + 1):
        result = _attempt(world, arrival, surfaces, spots_m, touch, 0.5**redone, stop_early)
        if result is not None:
            return Outcome(*result, world.data.time, redone)
    raise RuntimeError(f"leave {world.leave}: no stable run for {arrival} on {surfaces}")


def launch(world: RackWorld, arrival: Arrival, touch: tuple[float, float]) -> None:
    """Place the ball a little before the first touch, rolling."""
    radius, data = world.ball.radius_m, world.data
    along = np.array([-np.sin(arrival.angle_rad), np.cos(arrival.angle_rad)])
    data.qpos[:2] = np.array(touch) - _GAP_M * along
    data.qpos[2] = radius
    data.qpos[3:7] = (1.0, 0.0, 0.0, 0.0)
    data.qvel[:2] = arrival.speed_mps * along
    data.qvel[3:5] = np.array([-along[1], along[0]]) * arrival.speed_mps / radius


def _attempt(
    world: RackWorld,
    arrival: Arrival,
    surfaces: Surfaces,
    spots_m: FloatArray,
    touch: tuple[float, float],
    step_scale: float,
    stop_early: bool,
) -> tuple[BoolArray, IndexArray] | None:
    """Return which pins fell and what touched them, or None if the solver failed."""
    world.reset(surfaces, spots_m, step_scale)
    launch(world, arrival, touch)
    model, data, pins = world.model, world.data, len(world.leave)
    qpos, qvel = data.qpos, data.qvel
    hard, soft, ball_gone = True, True, False
    on, gone = np.ones(pins, np.bool_), np.zeros(pins, np.bool_)
    touched, rebounded = np.zeros(pins, np.intp), np.zeros(pins, np.bool_)
    outward_mps = np.zeros(pins)
    while data.time < LONGEST_S:
        if hard and data.time >= HARD_PART_S:
            world.soften()
            hard = False
        elif soft and data.time >= SOFT_PART_S:
            world.crawl()
            soft = False
        steps = _SOFT_STEPS
        if hard:
            free = freeflight.free_s(qpos, qvel, pins, world.ball.radius_m)
            long_steps = int(free / SOFT_STEP_S)
            if long_steps > _WORTH_IT:
                steps = min(long_steps, _SOFT_STEPS)
                world.set_step(SOFT_STEP_S)
            else:
                steps = _HARD_STEPS
                world.set_step(HARD_STEP_S)
        mujoco.mj_step(model, data, nstep=round(steps / step_scale))
        if not ball_gone and qpos[1] > DECK_END_M + world.ball.radius_m:
            ball_gone = True
            qpos[:3] = (0.0, DECK_END_M + _AWAY_M, 0.0)
            qvel[:6] = 0.0
        touches.note_touches(qpos, qvel, world.ball.radius_m, touched, rebounded, outward_mps)
        watch.take_from_pit(qpos, qvel, gone)
        word = watch.verdict(qpos, qvel, pins, ball_gone, gone)
        if word == watch.BROKEN:
            return None
        if stop_early and word != watch.GO_ON:
            break
        watch.drop_bases(qpos, on, world.base_geoms, model.geom_conaffinity)
    return ~watch.standing(qpos, pins), touched
