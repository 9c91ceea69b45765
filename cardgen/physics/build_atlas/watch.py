"""Judging a run from outside: which pins are down, and whether anything can still change."""

import numpy as np
from numba import njit

from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.physics.build_atlas.pinmodel import BASE_RADIUS_M, PIN_HEIGHT_M, PIN_MASS_KG, pin_body
from cardgen.physics.build_atlas.rackworld import DECK_END_M
from cardgen.units import DEGREE_RAD, STANDARD_GRAVITY_MPS2

GO_ON, ALL_DOWN, SETTLED, BROKEN = 0, 1, 2, 3

# Plain numbers for the compiled code.
_EDGE, _END, _G = float(EDGE_M), float(DECK_END_M), STANDARD_GRAVITY_MPS2
_CG, _BASE = float(pin_body().cg_m), float(BASE_RADIUS_M)
_GYRATION2 = float(pin_body().transverse_inertia_kgm2 / PIN_MASS_KG)  # the larger of the two
_TIP_COS = float(np.cos(pin_body().tip_angle_rad))
_TIP_RISE_M = float(np.hypot(_CG, _BASE)) - _CG  # what the middle climbs before a pin tips
_SAFE = 0.8  # of that rise: a standing pin with less energy cannot tip by itself
_SURELY_DOWN = float(np.cos(45 * DEGREE_RAD))  # nothing stands a pin up again from here
_FALLING = float(np.cos(25 * DEGREE_RAD))  # nor from here if it leans further every moment
_FALLEN_M = 0.05  # and so far down its middle is no standing pin's
_SUNK_M = 0.0  # a pin with no more energy than this height stays in gutter or pit
_INTO_PIT_M = 0.05
_DEEP_M, _HIGH_M, _TOO_SLOW_MPS = 0.3, 0.25, 1.0  # deep in the pit it would fall in 0.24 s
_SPUN_MPS = 3.0  # the cushion may turn a faster pin's spin into speed
_DROPS_MPS = 2.0  # a slower pin over the pit drops into it; the cushion throws a faster one back
_AWAY_M, _APART_M = 60.0, 1.0  # where bodies go that are out of it, clear of each other
_CRAWL_MPS = 0.1  # rolling resistance stops it within 4 cm
_REST_MPS = 0.02
_NEAR_M = float(PIN_HEIGHT_M) - _CG + 0.10  # lying pin, its middle to a standing pin's: 13 in


@njit(cache=True)
def upright(qpos: FloatArray, pin: int) -> float:
    """Return the cosine of the lean of pin number ``pin`` of the leave, from its quaternion."""
    at = 7 * (pin + 1)
    return float(1.0 - 2.0 * (qpos[at + 4] ** 2 + qpos[at + 5] ** 2))


@njit(cache=True)
def _straightens(qpos: FloatArray, qvel: FloatArray, pin: int) -> float:
    """Return the rate [1/s] at which the cosine of a pin's lean grows; its spin is in its frame."""
    at, v = 7 * (pin + 1), 6 * (pin + 1)
    w, x, y, z = qpos[at + 3], qpos[at + 4], qpos[at + 5], qpos[at + 6]
    return float(2.0 * ((x * z - w * y) * qvel[v + 4] - (y * z + w * x) * qvel[v + 3]))


@njit(cache=True)
def base_off(qpos: FloatArray, pin: int) -> bool:
    """Tell whether the base of a pin is off the deck, or will stand on it no more."""
    at = 7 * (pin + 1)
    w, x, y, z = qpos[at + 3], qpos[at + 4], qpos[at + 5], qpos[at + 6]
    base_x = qpos[at] - _CG * 2.0 * (x * z + w * y)
    base_y = qpos[at + 1] - _CG * 2.0 * (y * z - w * x)
    return abs(base_x) > _EDGE or base_y > _END or upright(qpos, pin) < _SURELY_DOWN


@njit(cache=True)
def surely_down(qpos: FloatArray, qvel: FloatArray, pins: int) -> BoolArray:
    """Return which of the ``pins`` (n,) will not stand again whatever happens."""
    down = np.zeros(pins, np.bool_)
    for i in range(pins):
        down[i] = (
            base_off(qpos, i)
            or qpos[7 * (i + 1) + 2] < _CG - _FALLEN_M
            or (upright(qpos, i) < _FALLING and _straightens(qpos, qvel, i) < 0.0)
        )
    return down


@njit(cache=True)
def standing(qpos: FloatArray, pins: int) -> BoolArray:
    """Return which of the ``pins`` (n,) stand: on the deck and leaning less than they tip at."""
    up = np.zeros(pins, np.bool_)
    for i in range(pins):
        up[i] = upright(qpos, i) > _TIP_COS and not (
            base_off(qpos, i) or qpos[7 * (i + 1) + 2] < _CG - _FALLEN_M
        )
    return up


@njit(cache=True)
def _energy_m(qpos: FloatArray, qvel: FloatArray, pin: int) -> float:
    """Return the energy of a pin as a height [m]: of its middle, and what its speed could climb."""
    v = 6 * (pin + 1)
    speed2 = (qvel[v : v + 3] ** 2).sum()
    spin2 = (qvel[v + 3 : v + 6] ** 2).sum()
    return float(qpos[7 * (pin + 1) + 2] + (speed2 + _GYRATION2 * spin2) / (2.0 * _G))


@njit(cache=True)
def _speed_mps(qvel: FloatArray, pin: int) -> float:
    """Return the speed of a pin, its spin counted in, for that may become speed."""
    v = 6 * (pin + 1)
    speed2, spin2 = (qvel[v : v + 3] ** 2).sum(), (qvel[v + 3 : v + 6] ** 2).sum()
    return float(np.sqrt(speed2 + _GYRATION2 * spin2))


@njit(cache=True)
def in_pit_for_good(qpos: FloatArray, qvel: FloatArray, pin: int) -> bool:
    """Tell whether a pin is in the pit, or drops into it, and will not come back to the deck."""
    at = 7 * (pin + 1)
    y, z = qpos[at + 1], qpos[at + 2]
    if y <= _END:
        return False
    speed, back = _speed_mps(qvel, pin), -qvel[6 * (pin + 1) + 1]
    turned = -_DROPS_MPS < back < _TOO_SLOW_MPS and speed < _SPUN_MPS
    return (
        (turned and y > _END + _DEEP_M and z < _HIGH_M)
        or (y > _END + _INTO_PIT_M and back < _CRAWL_MPS and speed < _DROPS_MPS)
        or _energy_m(qpos, qvel, pin) < _SUNK_M
    )


@njit(cache=True)
def take_from_pit(qpos: FloatArray, qvel: FloatArray, gone: BoolArray) -> None:
    """Take away the pins that stay in the pit, which would cost steps there to no end.

    ``gone`` (pins,) remembers them.
    """
    for i in range(len(gone)):
        if not gone[i] and in_pit_for_good(qpos, qvel, i):
            gone[i] = True
            at, v = 7 * (i + 1), 6 * (i + 1)
            qpos[at : at + 3] = (0.0, _END + _AWAY_M + _APART_M * i, 0.0)
            qvel[v : v + 6] = 0.0


@njit(cache=True)
def verdict(qpos: FloatArray, qvel: FloatArray, pins: int, ball_gone: bool, gone: BoolArray) -> int:
    """Tell how a run stands: go on, all down, settled (nothing can change), or broken (NaN).

    Settled means: no pin still up has the energy to tip by itself, and no other body can reach
    one. A ball cannot when it is past them; a fallen pin cannot when it is ``gone`` (pins,) into
    the pit, when it has not the energy to climb out of a gutter, or when it crawls far from them.
    """
    if not (np.all(np.isfinite(qpos)) and np.all(np.isfinite(qvel))):
        return BROKEN
    down = surely_down(qpos, qvel, pins)
    if down.all():
        return ALL_DOWN
    last_y = -1.0e9
    for i in range(pins):
        if down[i]:
            continue
        if upright(qpos, i) < _TIP_COS or _energy_m(qpos, qvel, i) > _CG + _SAFE * _TIP_RISE_M:
            return GO_ON
        last_y = max(last_y, qpos[7 * (i + 1) + 1])
    if not ball_gone and qpos[1] < last_y + 0.05:
        return GO_ON
    for i in range(pins):
        if not down[i] or gone[i]:
            continue
        x, y = qpos[7 * (i + 1)], qpos[7 * (i + 1) + 1]
        if (y > _END or abs(x) > _EDGE) and _energy_m(qpos, qvel, i) < _SUNK_M:
            continue
        speed = _speed_mps(qvel, i)
        if speed > _CRAWL_MPS:
            return GO_ON
        if speed < _REST_MPS:
            continue
        for k in range(pins):
            if not down[k]:
                to = 7 * (k + 1)
                if np.hypot(qpos[to] - x, qpos[to + 1] - y) < _NEAR_M:
                    return GO_ON
    return SETTLED


@njit(cache=True)
def drop_bases(qpos: FloatArray, on: BoolArray, geoms: IndexArray, conaffinity: IndexArray) -> None:
    """Take from the deck's plane, which has no edge, the bases that have left the deck.

    ``on`` (pins,) remembers which still count; ``geoms`` (pins,) index ``conaffinity``.
    """
    for i in range(len(on)):
        if on[i] and base_off(qpos, i):
            on[i] = False
            conaffinity[geoms[i]] = 0
