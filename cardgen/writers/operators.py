"""The operators that draw shapes on a page of a PDF, as text (ISO 32000-1, 8.4 and 8.5).

Written here and not by reportlab, which takes a call for each step of a path and a dozen operations
for each number: a deck of cards has hundreds of thousands, and most come again and again. Places
and lengths go in as millimetres and come out as points. A number that is not finite raises
ValueError.
"""

from functools import lru_cache
from math import isfinite

from cardgen.drawing.scene import Clip, Curve, Line, Polyline, Transform
from cardgen.units import POINT_MM

PT = 1 / POINT_MM
"""Points to a millimetre."""
DIGITS = 3
"""A thousandth of a point is 0.35 micrometres."""
_FINE_DIGITS = 6  # of numbers that multiply lengths, and of inks


@lru_cache(maxsize=1 << 16)
def points(length_mm: float) -> str:
    """Return a place or a length in points, in as few characters as it can be written."""
    return _written(length_mm * PT, DIGITS)


@lru_cache(maxsize=1 << 10)
def number(value: float) -> str:
    """Return a number that is no length, such as a font's size."""
    return _written(value, _FINE_DIGITS)


def _written(value: float, digits: int) -> str:
    if not isfinite(value):
        raise ValueError(f"every number on paper must be finite, not {value}")
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    if text == "-0":
        return "0"
    return text[1:] if text.startswith("0.") else text


def line(item: Line) -> str:
    """Return a straight line and its stroke."""
    start = f"{points(item.x1_mm)} {points(item.y1_mm)}"
    return f"n {start} m {points(item.x2_mm)} {points(item.y2_mm)} l S"


def polyline(item: Polyline) -> str:
    """Return the path through at least one point, without its ink."""
    steps = [f"{points(x)} {points(y)} l" for x, y in item.points_mm]
    steps[0] = f"n {steps[0][:-1]}m"
    if item.closed:
        steps.append("h")
    return " ".join(steps)


def curve(item: Curve) -> str:
    """Return the path along every contour, without its ink."""
    steps = ["n"]
    for (x, y), pieces in item.contours_mm:
        steps.append(f"{points(x)} {points(y)} m")
        for piece in pieces:
            steps += [f"{points(x)} {points(y)}" for x, y in piece]
            steps.append("c")
        if item.closed:
            steps.append("h")
    return " ".join(steps)


def clipped(clip: Clip) -> str:
    """Return what hides all that is drawn outside a rectangle."""
    corner = f"{points(clip.x_mm)} {points(clip.y_mm)}"
    return f"n {corner} {points(clip.width_mm)} {points(clip.height_mm)} re W n"


def placed(by: Transform) -> str:
    """Return what puts all that is drawn somewhere else."""
    turn = " ".join(map(number, (by.a, by.b, by.c, by.d)))
    return f"{turn} {points(by.e)} {points(by.f)} cm"


def dash(lengths_mm: tuple[float, ...]) -> str:
    """Return what makes all lines dashed; with no lengths, solid."""
    return f"[{' '.join(map(points, lengths_mm))}] 0 d"


def paint(*, stroke: bool, fill: bool, even_odd: bool = False) -> str:
    """Return the operator that inks a path."""
    if not fill:
        return "S" if stroke else "n"
    return ("B" if stroke else "f") + ("*" if even_odd else "")


@lru_cache(maxsize=64)
def rgb(colour: str) -> tuple[float, float, float]:
    """Return the shares of red, green and blue of ``#rrggbb``, else raise ValueError."""
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"a colour is written #rrggbb, not {colour!r}")
    red, green, blue = bytes.fromhex(colour[1:])
    return red / 255, green / 255, blue / 255


def ink(colour: str) -> str:
    """Return the shares of red, green and blue of ``#rrggbb`` as operands."""
    return " ".join(map(number, rgb(colour)))
