"""A drawing as plain values in millimetres, before anything knows of PDF or SVG.

Origin at the top left, x to the right, y down. Values are immutable and compare by content, so that
imposition is a function from scenes to scenes and a test can ask a scene what it shows.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from struct import unpack_from
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Pieces: TypeAlias = tuple[tuple[Point, Point, Point], ...]
"""Cubic Bezier pieces; each is two control points and an end point."""
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PNG_HEAD_BYTES = 24


class Weight(Enum):
    """The weights of the type family that cards use."""

    REGULAR = "Regular"
    MEDIUM = "Medium"
    BOLD = "Bold"


class Align(Enum):
    """Which end of a text its x belongs to."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True)
class Stroke:
    """How a line is inked: ``#rrggbb``, width, and dash lengths (empty for a solid line)."""

    colour: str
    width_mm: float
    dash_mm: tuple[float, ...] = ()
    round_ends: bool = False


@dataclass(frozen=True)
class Line:
    """A straight line."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    stroke: Stroke
    name: str = ""


@dataclass(frozen=True)
class Polyline:
    """Straight pieces through ``points_mm``; closed and filled it is a polygon."""

    points_mm: tuple[Point, ...]
    stroke: Stroke | None = None
    fill: str | None = None
    closed: bool = False
    name: str = ""


@dataclass(frozen=True)
class Curve:
    """Cubic Bezier pieces from ``start_mm``.

    ``more_mm`` are further contours, inked together with the first and closed like it: one that
    lies in another is a hole in it if it runs the other way round, or always if ``even_odd`` is set
    (ISO 32000-1, 8.5.3.3).
    """

    start_mm: Point
    pieces_mm: Pieces
    stroke: Stroke | None = None
    fill: str | None = None
    closed: bool = False
    name: str = ""
    more_mm: tuple[tuple[Point, Pieces], ...] = ()
    even_odd: bool = False

    @property
    def contours_mm(self) -> tuple[tuple[Point, Pieces], ...]:
        """Every contour: where it starts, and its pieces."""
        return ((self.start_mm, self.pieces_mm), *self.more_mm)


@dataclass(frozen=True)
class Disc:
    """A circle, filled or outlined or both."""

    x_mm: float
    y_mm: float
    radius_mm: float
    stroke: Stroke | None = None
    fill: str | None = None
    name: str = ""


@dataclass(frozen=True)
class Text:
    """One run of text on a baseline at ``y_mm``."""

    x_mm: float
    y_mm: float
    text: str
    size_pt: float
    weight: Weight = Weight.REGULAR
    colour: str = "#111111"
    align: Align = Align.START
    name: str = ""


@dataclass(frozen=True)
class Image:
    """A picture of pixels, its top left corner at (``x_mm``, ``y_mm``).

    ``png`` is a whole PNG file, ``alt`` what it shows, for who cannot see it.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    png: bytes
    name: str = ""
    alt: str = ""

    @property
    def pixels(self) -> tuple[int, int]:
        """How many pixels wide and high it is (PNG, third edition, 11.2.1: IHDR)."""
        if self.png[:8] != PNG_SIGNATURE or len(self.png) < _PNG_HEAD_BYTES:
            raise ValueError("a picture is the bytes of a PNG file")
        width, height = unpack_from(">2I", self.png, 16)
        return width, height


@dataclass(frozen=True)
class Field:
    """A place to fill in on a screen, its top left corner at (``x_mm``, ``y_mm``).

    ``name`` is its full name in the form, dots between its steps; ``tip`` says what belongs there,
    for a pointer and a screen reader. ``options`` make it a choice, ``box`` a box to tick, ticked
    where ``value`` is not empty. It has no border: whoever draws the page draws its lines.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    name: str
    tip: str
    value: str = ""
    options: tuple[str, ...] = ()
    box: bool = False
    size_pt: float = 10.0


@dataclass(frozen=True)
class Transform:
    """An affine map x' = a x + c y + e, y' = b x + d y + f (the order of ISO 32000-1, 8.3.3)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def move(cls, dx_mm: float, dy_mm: float) -> "Transform":
        """Return the shift by (``dx_mm``, ``dy_mm``)."""
        return cls(e=dx_mm, f=dy_mm)

    @classmethod
    def quarter_turns(cls, turns: int) -> "Transform":
        """Return the turn about the origin by ``turns`` x 90 degrees, clockwise as seen."""
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[turns % 4]
        return cls(a=cos, b=sin, c=-sin, d=cos)

    def then(self, after: "Transform") -> "Transform":
        """Return this map followed by ``after``."""
        return Transform(
            a=after.a * self.a + after.c * self.b,
            b=after.b * self.a + after.d * self.b,
            c=after.a * self.c + after.c * self.d,
            d=after.b * self.c + after.d * self.d,
            e=after.a * self.e + after.c * self.f + after.e,
            f=after.b * self.e + after.d * self.f + after.f,
        )

    def point(self, x_mm: float, y_mm: float) -> Point:
        """Return where the map puts a point."""
        return (self.a * x_mm + self.c * y_mm + self.e, self.b * x_mm + self.d * y_mm + self.f)

    @property
    def degrees(self) -> float:
        """The turn it makes, clockwise as seen."""
        return math.degrees(math.atan2(self.b, self.a))


@dataclass(frozen=True)
class Clip:
    """The rectangle outside which a group's items do not show, in the group's own coordinates."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Group:
    """Items that belong together, under one name, one transform and one clip.

    ``form`` names what many pages show alike: a writer may keep the items once and refer to them.
    """

    items: tuple["Item", ...]
    name: str = ""
    transform: Transform = Transform()
    clip: Clip | None = None
    form: str = ""


Item: TypeAlias = Line | Polyline | Curve | Disc | Text | Image | Field | Group


@dataclass(frozen=True)
class Scene:
    """One page.

    ``title`` is its name in a document's outline (empty: not listed); ``safe_mm`` the margin inside
    which everything meant to be read stays; ``trim`` the finished page where it is smaller than the
    scene (none: the scene itself). ``description`` is what it shows, for who cannot see it (empty:
    its texts, as ``told`` reads them).
    """

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    title: str = ""
    safe_mm: float = 0.0
    trim: Clip | None = None
    description: str = ""

    def walk(self) -> Iterator[tuple[Item, Transform]]:
        """Yield every drawn item, outermost group first, with the transform into the page."""
        return _walk(self.items, Transform())


def _walk(items: tuple[Item, ...], outer: Transform) -> Iterator[tuple[Item, Transform]]:
    for item in items:
        if isinstance(item, Group):
            yield from _walk(item.items, item.transform.then(outer))
        else:
            yield item, outer


def moved(group: Group, dx_mm: float, dy_mm: float) -> Group:
    """Return ``group`` shifted on its page."""
    return replace(group, transform=group.transform.then(Transform.move(dx_mm, dy_mm)))
