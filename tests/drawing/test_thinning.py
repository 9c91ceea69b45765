"""Thinned curves: no point farther off than is asked for, and no more points than that needs."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.drawing.thinning import UNSEEN_MM, thinned

Points = list[tuple[float, float]]
FINITE = st.floats(-500, 500, allow_nan=False)
POINTS = st.lists(st.tuples(FINITE, FINITE), max_size=40)


def farthest(points: Points, kept: Points) -> float:
    """Return how far the points are from the lines through those kept, at most."""
    p = np.array(points)[:, None, :]
    a, b = np.array(kept)[:-1], np.array(kept)[1:]
    if not len(a):
        a = b = np.array(kept)
    along = b - a
    squared = (along**2).sum(axis=1)
    share = ((p - a) * along).sum(axis=2) / np.where(squared > 0, squared, 1.0)
    nearest = a + np.clip(share, 0.0, 1.0)[:, :, None] * along
    return float(np.hypot(*np.moveaxis(p - nearest, 2, 0)).min(axis=1).max())


def test_a_straight_line_needs_its_ends() -> None:
    assert thinned([(float(k), 2.0 * k) for k in range(65)]) == ((0.0, 0.0), (64.0, 128.0))


def test_a_circle_needs_as_many_points_as_its_chords() -> None:
    radius = 30.0
    points = [
        (radius * math.cos(t), radius * math.sin(t))
        for t in (math.pi * k / 5000 for k in range(5001))
    ]
    kept = thinned(points)
    # A chord is off its arc by r (1 - cos(a / 2)) (derived): so few chords make half a circle.
    least = math.pi / (2 * math.acos(1 - UNSEEN_MM / radius))
    assert least <= len(kept) - 1 <= 2 * least
    assert farthest(points, list(kept)) <= UNSEEN_MM * (1 + 1e-9)


@given(POINTS, st.floats(0.01, 50))
def test_ends_stay_and_no_point_is_farther_off(points: Points, within_mm: float) -> None:
    kept = list(thinned(points, within_mm))
    assert kept == [] if not points else kept[0] == points[0]
    if points:
        assert kept[-1] == points[-1]
        assert farthest(points, kept) <= within_mm * (1 + 1e-9)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_few_points_stay(count: int) -> None:
    points = [(1.0, 1.0)] * count
    assert thinned(points) == tuple(points)
