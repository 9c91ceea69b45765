"""The grid on which pin action is known: cells of place at the front pin's row, and of angle."""

import numpy as np

from cardgen.lane.geometry import FloatArray
from cardgen.units import DEGREE_RAD, INCH_M, POUND_KG

CELL_M = 0.5 * INCH_M
"""Width of a cell of place."""
HALF_PLACES = 44
"""Cells on each side of the lane's middle: beyond the edge by what a steep ball may need."""
PLACES = 2 * HALF_PLACES
PLACE_EDGES_M: FloatArray = np.arange(-HALF_PLACES, HALF_PLACES + 1, dtype=np.float64) * CELL_M
"""Edges (89,) of the cells, right of the lane's middle."""
PLACES_M: FloatArray = (PLACE_EDGES_M[1:] + PLACE_EDGES_M[:-1]) / 2
"""Middles (88,) of the cells."""
ANGLE_STEP_RAD = 2 * DEGREE_RAD
HALF_ANGLES = 3
ANGLES = 2 * HALF_ANGLES + 1
ANGLES_RAD: FloatArray = np.arange(-HALF_ANGLES, HALF_ANGLES + 1, dtype=np.float64) * ANGLE_STEP_RAD
"""The known angles (7,), positive when the ball moves to the left; between them, linear."""

LIGHTEST_BALL_KG = 11 * POUND_KG
"""The lightest ball whose pin action is known; a lighter one counts as it."""


def angle_weights(angle_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the known angle below and the share of the next one, each of ``angle_rad``'s shape.

    Steeper angles than the steepest known count as it.
    """
    place = np.clip(angle_rad / ANGLE_STEP_RAD + HALF_ANGLES, 0.0, ANGLES - 1.0)
    below = np.minimum(np.floor(place), ANGLES - 2.0)
    return below, place - below
