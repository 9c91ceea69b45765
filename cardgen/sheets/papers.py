"""Sizes of paper and of cards, upright (width x height), in millimetres."""

from dataclasses import dataclass

from cardgen.units import INCH_M

_INCH_MM = INCH_M * 1000
SLACK_MM = 1e-6  # below any paper's tolerance: 4 x 52.5 fits 210


@dataclass(frozen=True)
class Size:
    """A named rectangle of paper."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def turned(self) -> "Size":
        """The same paper on its side."""
        return Size(self.name, self.height_mm, self.width_mm)

    @property
    def landscape(self) -> "Size":
        """The same paper, the long edge level."""
        return self.turned if self.height_mm > self.width_mm else self

    @property
    def text(self) -> str:
        """The two lengths as a message gives them."""
        return f"{self.width_mm:g} x {self.height_mm:g} mm"


A3 = Size("A3", 297.0, 420.0)  # ISO 216
A4 = Size("A4", 210.0, 297.0)  # ISO 216
A5 = Size("A5", 148.0, 210.0)  # ISO 216
A6 = Size("A6", 105.0, 148.0)  # ISO 216
LETTER = Size("Letter", 8.5 * _INCH_MM, 11 * _INCH_MM)  # ANSI/ASME Y14.1, size A
HALF_LETTER = Size("half letter", 5.5 * _INCH_MM, 8.5 * _INCH_MM)  # Letter, cut once
PAPERS = {size.name.lower(): size for size in (A4, LETTER)}
"""What any desk printer takes."""
SHEETS = PAPERS | {size.name.lower().replace(" ", "-"): size for size in (A3, A5, A6, HALF_LETTER)}
"""All the paper that something may be imposed on."""

A7 = Size("A7", 74.0, 105.0)  # ISO 216
A8 = Size("A8", 52.0, 74.0)  # ISO 216
ID_1 = Size("ID-1", 53.98, 85.60)  # ISO/IEC 7810, held upright
US_BUSINESS = Size("US business", 2.0 * _INCH_MM, 3.5 * _INCH_MM)  # common practice, no source
EU_BUSINESS = Size("EU business", 55.0, 85.0)  # common practice, no source
POKER = Size("poker", 2.5 * _INCH_MM, 3.5 * _INCH_MM)  # common practice, no source
INDEX_3X5 = Size("index 3x5", 3.0 * _INCH_MM, 5.0 * _INCH_MM)  # common practice, no source
CARDS = {
    size.name.lower().replace(" ", "-"): size
    for size in (A6, A7, A8, ID_1, US_BUSINESS, EU_BUSINESS, POKER, INDEX_3X5)
}
"""Sizes that cards are cut to."""
