"""A quick estimate of pin action: discs on a plane that exchange impulses.

Bodies slide straight on between impacts; an impact has a restitution and Coulomb friction. A pin
that is touched falls. What it leaves out - pins that fly, lie down, roll back - makes it an
estimate, poorest where pins stand close together.
"""

import math

import numpy as np
from numba import njit

from cardgen.delivery.ball import Ball
from cardgen.lane.geometry import EDGE_M, FloatArray, IndexArray
from cardgen.physics.build_atlas.draws import Draw
from cardgen.physics.build_atlas.pinfall import first_touch_m, touch_distance_m
from cardgen.physics.build_atlas.pinmodel import PIN_MASS_KG, pin_body
from cardgen.physics.build_atlas.rackworld import DECK_END_M, PARTITION_M
from cardgen.physics.build_atlas.touches import BY_BALL, BY_PIN, BY_REBOUND, UNTOUCHED
from cardgen.units import INCH_M

_EDGE, _END, _WALL = float(EDGE_M), float(DECK_END_M), float(PARTITION_M)
_PIN = float(pin_body().sphere_radius_m.max())
_PIN_MASS = float(PIN_MASS_KG)
_PIN_INERTIA = float(pin_body().axial_inertia_kgm2)
_PIT_M = 6 * INCH_M  # so far behind the deck a pin can hit nothing on it
_LONGEST_S = 1.5
_MOST_IMPACTS = 200
_BEFORE_M = 0.001
_PARTING_MPS = 1e-9


@njit(cache=True)
def impact(
    n: FloatArray,
    velocity: FloatArray,
    spin: FloatArray,
    mass: FloatArray,
    inertia: FloatArray,
    radius: FloatArray,
    a: int,
    b: int,
    restitution: float,
    friction: float,
    cross_slip_mps: float,
) -> None:
    """Change the ``velocity`` (bodies, 2) and ``spin`` (bodies,) of ``a`` and ``b``, which touch.

    ``n`` (2,) is the unit vector from a to b. Friction acts against the slip, of which
    ``cross_slip_mps`` is upright (a rolling ball's skin moves down where it meets a pin) and takes
    its share; it stops the slip at most.
    """
    t = np.array([-n[1], n[0]])
    apart = velocity[b] - velocity[a]
    closing = -(apart @ n)
    if closing <= 0.0:
        return
    jn = (1.0 + restitution) * closing / (1.0 / mass[a] + 1.0 / mass[b])
    slip = apart @ t - spin[b] * radius[b] - spin[a] * radius[a]
    yields = 1.0 / mass[a] + 1.0 / mass[b]
    yields += radius[a] ** 2 / inertia[a] + radius[b] ** 2 / inertia[b]
    total = math.sqrt(slip * slip + cross_slip_mps * cross_slip_mps)
    limit = friction * jn * (abs(slip) / total if total > 0.0 else 0.0)
    jt = min(limit, abs(slip) / yields)
    if slip > 0.0:
        jt = -jt
    velocity[a] -= (jn * n + jt * t) / mass[a]
    velocity[b] += (jn * n + jt * t) / mass[b]
    spin[a] -= jt * radius[a] / inertia[a]
    spin[b] -= jt * radius[b] / inertia[b]


@njit(cache=True)
def meeting_s(apart: FloatArray, closing: FloatArray, reach_m: float) -> float:
    """Return when [s] two discs touch, ``apart`` (2,) and moving apart at ``closing``; inf if not.

    Discs that already overlap touch at once if they approach.
    """
    b = float(apart @ closing)
    if b >= -_PARTING_MPS:
        return np.inf
    c = float(apart @ apart) - reach_m * reach_m
    if c <= 0.0:
        return 0.0
    a = float(closing @ closing)
    root = b * b - a * c
    if root <= 0.0:
        return np.inf
    return c / (-b + math.sqrt(root))


@njit(cache=True)
def run_planar(
    start: FloatArray,
    speed_mps: float,
    along: FloatArray,
    spots_m: FloatArray,
    ball_mass_kg: float,
    ball_inertia_kgm2: float,
    ball_radius_m: float,
    reach_m: float,
    surfaces: FloatArray,
) -> IndexArray:
    """Return what first touches each of the pins on ``spots_m`` (pins, 2), (pins,).

    The numbers are those of :mod:`touches`; a pin that anything touches falls.

    The ball comes from ``start`` (2,) in the direction ``along`` (2,); ``reach_m`` is the distance
    of the axes when it touches an upright pin. ``surfaces`` (5,) are the restitutions ball-pin,
    pin-pin and partition, and the frictions ball-pin and pin-pin.
    """
    pins = len(spots_m)
    place = np.empty((pins + 1, 2))
    velocity = np.zeros((pins + 1, 2))
    spin = np.zeros(pins + 1)
    mass = np.full(pins + 1, _PIN_MASS)
    inertia = np.full(pins + 1, _PIN_INERTIA)
    radius = np.full(pins + 1, _PIN)
    mass[0], inertia[0], radius[0] = ball_mass_kg, ball_inertia_kgm2, ball_radius_m
    place[0] = start
    place[1:] = spots_m
    velocity[0] = speed_mps * along
    touched = np.full(pins + 1, UNTOUCHED)
    rebounded, gone = np.zeros(pins + 1, np.bool_), np.zeros(pins + 1, np.bool_)
    time = 0.0
    for _ in range(_MOST_IMPACTS):
        soonest, first, second = np.inf, -1, -1
        for a in range(pins + 1):
            if gone[a]:
                continue
            if a > 0 and touched[a] != UNTOUCHED and velocity[a, 0] != 0.0:
                side = math.copysign(_WALL - _PIN, velocity[a, 0])
                when = max((side - place[a, 0]) / velocity[a, 0], 0.0)
                if when < soonest:
                    soonest, first, second = when, a, -1
            for b in range(a + 1, pins + 1):
                if gone[b] or (a > 0 and touched[a] == UNTOUCHED and touched[b] == UNTOUCHED):
                    continue
                touch = reach_m if a == 0 else 2.0 * _PIN
                when = meeting_s(place[b] - place[a], velocity[b] - velocity[a], touch)
                if when < soonest:
                    soonest, first, second = when, a, b
        if first < 0 or time + soonest > _LONGEST_S:
            break
        time += soonest
        place += soonest * velocity
        for a in range(pins + 1):
            # The ball drops where the lane ends; a pin flies on across the gutters.
            if place[a, 1] > _END + _PIT_M or (a == 0 and abs(place[0, 0]) > _EDGE):
                gone[a] = True
        if gone[first] or (second >= 0 and gone[second]):
            continue
        if second < 0:
            velocity[first, 0] *= -surfaces[2]
            rebounded[first] = True
            continue
        n = place[second] - place[first]
        n /= math.sqrt(n @ n)
        ball = first == 0
        cross = math.sqrt(velocity[0] @ velocity[0]) if ball else 0.0
        restitution = surfaces[0] if ball else surfaces[1]
        friction = surfaces[3] if ball else surfaces[4]
        impact(
            n, velocity, spin, mass, inertia, radius, first, second, restitution, friction, cross
        )
        for pin, other in ((second, first), (first, second)):
            if pin > 0 and touched[pin] == UNTOUCHED:
                if other == 0:
                    touched[pin] = BY_BALL
                else:
                    touched[pin] = BY_REBOUND if rebounded[other] else BY_PIN
    return touched[1:]


def planar_touched(ball: Ball, draw: Draw, front_m: float) -> IndexArray:
    """Return what touches each pin (pins,) in ``draw``; its arrival is at the row ``front_m``."""
    reach = touch_distance_m(ball)
    touch = first_touch_m(draw.arrival, front_m, draw.spots_m, reach)
    if touch is None:
        return np.full(len(draw.spots_m), UNTOUCHED)
    along = np.array([-np.sin(draw.arrival.angle_rad), np.cos(draw.arrival.angle_rad)])
    s = draw.surfaces
    return run_planar(
        np.array(touch) - _BEFORE_M * along,
        draw.arrival.speed_mps,
        along,
        draw.spots_m,
        ball.mass_kg,
        ball.kappa * ball.mass_kg * ball.radius_m**2,
        ball.radius_m,
        reach,
        np.array([s.ball_pin_e, s.pin_pin_e, s.partition_e, s.ball_pin_mu, s.pin_pin_mu]),
    )
