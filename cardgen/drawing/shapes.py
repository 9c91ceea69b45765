"""Shapes of several designs: a box with round corners, and a pin with a face."""

from cardgen.drawing.scene import Curve, Disc, Group, Item, Line, Point, Stroke, Transform
from cardgen.drawing.theme import INK, NAVY, WHITE

_ROUND = 0.5523  # of the radius: a quarter circle as one cubic, to 2.7e-4 (derived)
_SIDE: tuple[tuple[Point, Point, Point], ...] = (
    ((0.08, 0.0), (0.13, 0.05), (0.13, 0.14)),
    ((0.13, 0.23), (0.085, 0.27), (0.085, 0.35)),
    ((0.085, 0.47), (0.19, 0.54), (0.19, 0.72)),
    ((0.19, 0.85), (0.14, 0.93), (0.115, 1.0)),
)
"""A pin's right side from the top of its head, in parts of its height; its head is large."""
PIN_WIDTH = 0.38
"""Of its height."""
_STRIPES = ((0.325, 0.09), (0.385, 0.091))
"""How far down, and half as wide as they are."""


def round_box(
    x_mm: float,
    y_mm: float,
    width_mm: float,
    height_mm: float,
    radius_mm: float,
    *,
    fill: str | None = None,
    stroke: Stroke | None = None,
    name: str = "",
) -> Curve:
    """Return a rectangle whose corners are quarter circles, at most half as wide as it is."""
    radius = max(0.0, min(radius_mm, width_mm / 2, height_mm / 2))
    left, top, right, bottom = x_mm, y_mm, x_mm + width_mm, y_mm + height_mm
    # Each corner, and the ways into it and out of it.
    corners = (
        ((right, top), (1, 0), (0, 1)),
        ((right, bottom), (0, 1), (-1, 0)),
        ((left, bottom), (-1, 0), (0, -1)),
        ((left, top), (0, -1), (1, 0)),
    )
    start = at = (left + radius, top)
    pieces = []
    for (x, y), (in_x, in_y), (out_x, out_y) in corners:
        before = (x - radius * in_x, y - radius * in_y)
        after = (x + radius * out_x, y + radius * out_y)
        pull = radius * (1 - _ROUND)
        pieces.append((at, before, before))
        pieces.append(
            ((x - pull * in_x, y - pull * in_y), (x + pull * out_x, y + pull * out_y), after)
        )
        at = after
    return Curve(start, tuple(pieces), stroke, fill, closed=True, name=name)


def smiling_pin(x_mm: float, y_mm: float, height_mm: float, *, smiles: bool = True) -> Group:
    """Return a pin whose middle is at ``x_mm`` and whose top is at ``y_mm``."""
    line = Stroke(NAVY, max(0.25, 0.018 * height_mm), round_ends=True)
    stripe = Stroke(NAVY, 0.026 * height_mm)

    def at(point: Point) -> Point:
        return (point[0] * height_mm, point[1] * height_mm)

    def mirrored(point: Point) -> Point:
        return (-point[0] * height_mm, point[1] * height_mm)

    ends = [(0.0, 0.0), *(piece[2] for piece in _SIDE)]
    right = [(at(one), at(two), at(end)) for one, two, end in _SIDE]
    foot, other = at(ends[-1]), mirrored(ends[-1])
    left = [
        (mirrored(two), mirrored(one), mirrored(begin))
        for (one, two, _), begin in zip(reversed(_SIDE), reversed(ends[:-1]), strict=True)
    ]
    outline = Curve(
        (0.0, 0.0), (*right, (foot, other, other), *left), line, WHITE, closed=True, name="pin"
    )
    items: list[Item] = [
        outline,
        *(
            Line(*at((-half, down)), *at((half, down)), stripe, "pin-stripe")
            for down, half in _STRIPES
        ),
    ]
    if smiles:
        mouth = (at((-0.025, 0.205)), at((0.025, 0.205)), at((0.05, 0.165)))
        items += [
            *(
                Disc(*at((x, 0.115)), 0.014 * height_mm, fill=INK, name="eye")
                for x in (-0.045, 0.045)
            ),
            Curve(at((-0.05, 0.165)), (mouth,), line, name="smile"),
        ]
    return Group(tuple(items), "smiling-pin", Transform.move(x_mm, y_mm))
