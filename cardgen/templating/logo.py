"""A logo as plain data: outlines, or pixels. Nothing here knows where it will stand."""

from dataclasses import dataclass
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Pieces: TypeAlias = tuple[tuple[Point, Point, Point], ...]


@dataclass(frozen=True)
class Contour:
    """Cubic Bezier pieces from ``start``; each is two control points and an end point."""

    start: Point
    pieces: Pieces
    closed: bool


@dataclass(frozen=True)
class Shape:
    """Contours that are inked together, in ``#rrggbb`` or not at all.

    ``even_odd`` tells what is inside (SVG 1.1, 11.3: fill-rule); else it is the non-zero rule.
    """

    contours: tuple[Contour, ...]
    fill: str | None = None
    even_odd: bool = False
    stroke: str | None = None
    stroke_width: float = 0.0


@dataclass(frozen=True)
class Outlines:
    """A logo of shapes in a frame ``width`` x ``height``, its origin at the top left, y down."""

    width: float
    height: float
    shapes: tuple[Shape, ...]


@dataclass(frozen=True)
class Pixels:
    """A logo of ``width`` x ``height`` pixels, as a PNG file that holds nothing but them."""

    width: int
    height: int
    png: bytes


Logo: TypeAlias = Outlines | Pixels


class LogoError(ValueError):
    """A logo cannot be used: one sentence that tells why, and what would help."""

    def __init__(self, message: str, hint: str | None = None) -> None:
        """Keep the sentence, which goes on from the file's name, and the hint."""
        super().__init__(message)
        self.message = message
        self.hint = hint
