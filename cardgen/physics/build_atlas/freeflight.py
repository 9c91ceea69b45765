"""How long no hard contact can begin: a lower bound, so that a run may take longer steps till then.

Pins are bounded by capsules around their axes. Two bodies cannot touch before the gap between their
bounds is closed at the greatest speed any of their points may have.
"""

import math

import numpy as np
from numba import njit

from cardgen.lane.geometry import FloatArray
from cardgen.physics.build_atlas.pinmodel import PIN_HEIGHT_M, pin_body

# Plain numbers for the compiled code: the axis runs between the lowest and the highest sphere.
_CG = float(pin_body().cg_m)
_FAT = float(pin_body().sphere_radius_m.max())
_BELOW = float(pin_body().sphere_height_m[0]) - _CG
_ABOVE = float(pin_body().sphere_height_m[-1]) - _CG
_ARM = float(PIN_HEIGHT_M) - _CG
_FALL_MPS = 0.05  # what gravity and the deck may add to a closing speed meanwhile


@njit(cache=True)
def _axis_end(qpos: FloatArray, pin: int, along: float) -> tuple[float, float, float]:
    """Return the point [m] of a pin's axis ``along`` [m] above its middle."""
    at = 7 * (pin + 1)
    w, x, y, z = qpos[at + 3], qpos[at + 4], qpos[at + 5], qpos[at + 6]
    return (
        qpos[at] + along * 2.0 * (x * z + w * y),
        qpos[at + 1] + along * 2.0 * (y * z - w * x),
        qpos[at + 2] + along * (1.0 - 2.0 * (x * x + y * y)),
    )


@njit(cache=True)
def segments_apart_m(p: FloatArray, q: FloatArray, r: FloatArray, s: FloatArray) -> float:
    """Return the distance [m] between the segments p-q and r-s, points (3,); r may equal s."""
    u, v, w = q - p, s - r, p - r
    a, b, c = float(u @ u), float(u @ v), float(v @ v)
    d, e = float(u @ w), float(v @ w)
    det = a * c - b * b
    t = 0.0
    if det > 1e-12 * a * max(c, 1e-12):
        t = min(max((b * e - c * d) / det, 0.0), 1.0)
    f = min(max((b * t + e) / c, 0.0), 1.0) if c > 1e-12 else 0.0
    t = min(max((b * f - d) / a, 0.0), 1.0)  # the best on p-q for that point, clamped again
    apart = w + t * u - f * v
    return math.sqrt(apart @ apart)


@njit(cache=True)
def _axis(qpos: FloatArray, pin: int) -> tuple[FloatArray, FloatArray]:
    """Return the ends (3,) [m] of a pin's axis."""
    low, high = np.empty(3), np.empty(3)
    low[:] = _axis_end(qpos, pin, _BELOW)
    high[:] = _axis_end(qpos, pin, _ABOVE)
    return low, high


@njit(cache=True)
def ball_gap_m(qpos: FloatArray, pin: int, ball_radius_m: float) -> float:
    """Return the least gap [m] there can be between the ball and a pin; below 0 if bounds meet."""
    low, high = _axis(qpos, pin)
    ball = qpos[:3].copy()
    return segments_apart_m(low, high, ball, ball) - ball_radius_m - _FAT


@njit(cache=True)
def pin_gap_m(qpos: FloatArray, one: int, other: int) -> float:
    """Return the least gap [m] there can be between two pins; below 0 if their bounds meet."""
    low, high = _axis(qpos, one)
    other_low, other_high = _axis(qpos, other)
    return segments_apart_m(low, high, other_low, other_high) - 2.0 * _FAT


@njit(cache=True)
def free_s(qpos: FloatArray, qvel: FloatArray, pins: int, ball_radius_m: float) -> float:
    """Return a time [s] within which neither the ball nor a pin can touch a pin anew."""
    fastest = np.empty(pins)
    for i in range(pins):
        v = 6 * (i + 1)
        fastest[i] = math.sqrt((qvel[v : v + 3] ** 2).sum())
        fastest[i] += _ARM * math.sqrt((qvel[v + 3 : v + 6] ** 2).sum())
    ball_speed = math.sqrt((qvel[:3] ** 2).sum())
    least = 1.0
    for i in range(pins):
        gap = ball_gap_m(qpos, i, ball_radius_m)
        least = min(least, gap / (ball_speed + fastest[i] + _FALL_MPS))
        for k in range(i):
            speed = fastest[i] + fastest[k]
            if speed > 0.0:
                least = min(least, pin_gap_m(qpos, i, k) / (speed + _FALL_MPS))
    return max(least, 0.0)
