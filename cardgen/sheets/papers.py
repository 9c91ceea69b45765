"""Sizes of paper, upright (width x height), in millimetres."""

from dataclasses import dataclass

from cardgen.units import INCH_M

_INCH_MM = INCH_M * 1000


@dataclass(frozen=True)
class Size:
    """A named rectangle of paper."""

    name: str
    width_mm: float
    height_mm: float


A4 = Size("A4", 210.0, 297.0)  # ISO 216
LETTER = Size("Letter", 8.5 * _INCH_MM, 11 * _INCH_MM)  # ANSI/ASME Y14.1, size A
PAPERS = {size.name.lower(): size for size in (A4, LETTER)}
