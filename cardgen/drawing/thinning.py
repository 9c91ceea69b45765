"""Fewer points for a curve that nobody can tell from the one with all of them."""

from collections.abc import Sequence
from math import hypot

from cardgen.drawing.scene import Point

UNSEEN_MM = 0.005
"""An eighth of the dot of a printer of 600 dots to an inch (derived)."""


def thinned(points: Sequence[Point], within_mm: float = UNSEEN_MM) -> tuple[Point, ...]:
    """Return those of ``points`` that keep all others ``within_mm`` of the lines between them.

    Both ends stay. By Ramer (1972), Computer Graphics and Image Processing 1:244, and Douglas and
    Peucker (1973), Cartographica 10:112 (from memory).
    """
    if len(points) <= 2:
        return tuple(points)
    kept = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        far, at = max(
            ((_off(points[k], points[first], points[last]), k) for k in range(first + 1, last)),
            default=(0.0, first),
        )
        if far > within_mm:
            kept.add(at)
            spans += (first, at), (at, last)
    return tuple(points[k] for k in sorted(kept))


def _off(point: Point, start: Point, end: Point) -> float:
    """Return how far a point is from the line between two others."""
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    x, y = point[0] - start[0], point[1] - start[1]
    squared = along_x**2 + along_y**2
    if squared == 0.0:
        return hypot(x, y)
    share = min(max((x * along_x + y * along_y) / squared, 0.0), 1.0)
    return hypot(x - share * along_x, y - share * along_y)
