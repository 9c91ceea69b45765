"""How each pin was first touched: by the ball, by a pin, or by one that came off a partition.

The solver does not say, so it is told from looks at a run: what a pin that has begun to move was
touched by is the moving body nearest to it. Between looks nothing moves more than about 2 cm.
"""

import math

from numba import njit

from cardgen.lane.geometry import BoolArray, FloatArray, IndexArray
from cardgen.physics.build_atlas.freeflight import ball_gap_m, pin_gap_m
from cardgen.physics.build_atlas.rackworld import PARTITION_M

UNTOUCHED, BY_BALL, BY_PIN, BY_REBOUND = 0, 1, 2, 3

_MOVES_MPS = 0.02
_NEAR_WALL_M = float(PARTITION_M) - 0.25  # a pin that turns back beyond this met the partition


@njit(cache=True)
def note_touches(
    qpos: FloatArray,
    qvel: FloatArray,
    ball_radius_m: float,
    touched: IndexArray,
    rebounded: BoolArray,
    outward_mps: FloatArray,
) -> None:
    """Bring ``touched`` (pins,) up to date.

    ``rebounded`` (pins,) and ``outward_mps`` (pins,), a pin's speed away from the lane's middle,
    remember what the next look needs.
    """
    pins = len(touched)
    was = touched.copy()
    for i in range(pins):
        v = 6 * (i + 1)
        if was[i] != UNTOUCHED or math.sqrt((qvel[v : v + 3] ** 2).sum()) < _MOVES_MPS:
            continue
        nearest, by = ball_gap_m(qpos, i, ball_radius_m), BY_BALL
        for k in range(pins):
            if k != i and was[k] != UNTOUCHED:
                gap = pin_gap_m(qpos, i, k)
                if gap < nearest:
                    nearest, by = gap, BY_REBOUND if rebounded[k] else BY_PIN
        touched[i] = by
    for i in range(pins):
        x = qpos[7 * (i + 1)]
        outward = qvel[6 * (i + 1)] * (1.0 if x > 0 else -1.0)
        if abs(x) > _NEAR_WALL_M and outward_mps[i] > 0.0 and outward < 0.0:
            rebounded[i] = True
        outward_mps[i] = outward
