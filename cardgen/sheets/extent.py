"""How much room drawn items take."""

from collections.abc import Iterable, Iterator

from cardgen.drawing import fonts
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Field,
    Group,
    Image,
    Item,
    Line,
    Point,
    Polyline,
    Text,
    Transform,
)


def extent_of(items: Iterable[Item]) -> Clip | None:
    """Return the smallest upright rectangle that surely holds all ink; None if there is nothing.

    Curves count with their control points and groups without their clips, so it may be too large.
    """
    points = [point for item in items for point in _corners(item, Transform())]
    if not points:
        return None
    left, top = min(x for x, _ in points), min(y for _, y in points)
    return Clip(left, top, max(x for x, _ in points) - left, max(y for _, y in points) - top)


def _corners(item: Item, place: Transform) -> Iterator[Point]:
    if isinstance(item, Group):
        for inner in item.items:
            yield from _corners(inner, item.transform.then(place))
        return
    points, grown = _outline(item)
    if not points:
        return
    xs, ys = [x for x, _ in points], [y for _, y in points]
    for x in (min(xs) - grown, max(xs) + grown):
        for y in (min(ys) - grown, max(ys) + grown):
            yield place.point(x, y)


def _outline(
    item: Line | Polyline | Curve | Disc | Text | Image | Field,
) -> tuple[list[Point], float]:
    """Return points around an item, and by how much its ink reaches beyond them.

    That is a whole width of its stroke, twice what a square end or a right angle takes.
    """
    match item:
        case Line():
            return [(item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)], item.stroke.width_mm
        case Polyline():
            return list(item.points_mm), item.stroke.width_mm if item.stroke else 0.0
        case Curve():
            points = [start for start, _ in item.contours_mm]
            points += [p for _, pieces in item.contours_mm for piece in pieces for p in piece]
            return points, item.stroke.width_mm if item.stroke else 0.0
        case Disc():
            radius = item.radius_mm + (item.stroke.width_mm if item.stroke else 0.0)
            return [(item.x_mm, item.y_mm)], radius
        case Image() | Field():
            far = (item.x_mm + item.width_mm, item.y_mm + item.height_mm)
            return [(item.x_mm, item.y_mm), far], 0.0
        case Text():
            width = fonts.width_mm(item.text, item.size_pt, item.weight)
            before = {Align.START: 0.0, Align.MIDDLE: width / 2, Align.END: width}[item.align]
            metrics, left = fonts.metrics(item.weight), item.x_mm - before
            em = fonts.cap_height_mm(item.size_pt, item.weight) / metrics.cap_height_em
            top, foot = item.y_mm - metrics.ascent_em * em, item.y_mm + metrics.descent_em * em
            return [(left, top), (left + width, foot)], 0.0
