"""Plans for handouts that go into a binder: a wide margin at the holes, one page a sheet."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from cardgen.drawing.scene import Clip, Line, Stroke
from cardgen.errors import UsageError
from cardgen.sheets.papers import LETTER, SLACK_MM, Size
from cardgen.sheets.slots import LONG_EDGE, PRINTER_MARGIN_MM, Duplex, Plan, Sheet, Slot, with_back
from cardgen.units import INCH_M

BINDING_MARGIN_MM = 20.0  # common practice, no source
_MARK = Stroke("#5A6068", 0.1)
_TICK_MM = 3.0


@dataclass(frozen=True)
class Holes:
    """Holes along the bound edge: their middles ``apart_mm``, about the middle of the sheet."""

    count: int
    apart_mm: float
    from_edge_mm: float

    def middles_mm(self, length_mm: float) -> tuple[float, ...]:
        """Return how far down an edge of that length each hole's middle is."""
        first = (length_mm - (self.count - 1) * self.apart_mm) / 2
        return tuple(first + hole * self.apart_mm for hole in range(self.count))


TWO_HOLES = Holes(2, 80.0, 12.0)  # ISO 838, from memory: holes of 6 mm, 80 mm apart, 12 mm in
THREE_HOLES = Holes(3, 4.25 * INCH_M * 1000, 0.5 * INCH_M * 1000)  # common practice, no source
FOUR_HOLES = Holes(4, 80.0, 12.0)  # two more, as ISO 838 allows: 80-80-80 mm, from memory
HoleName: TypeAlias = Literal["two", "three", "four", "none"]
HOLES: dict[HoleName, Holes | None] = {
    "two": TWO_HOLES,
    "three": THREE_HOLES,
    "four": FOUR_HOLES,
    "none": None,
}


def holes_for(paper: Size) -> Holes:
    """Return the holes that binders for ``paper`` have."""
    is_letter = LETTER.width_mm in (paper.width_mm, paper.height_mm)
    return THREE_HOLES if is_letter else TWO_HOLES


def binding_room(
    paper: Size,
    *,
    binding_mm: float = BINDING_MARGIN_MM,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Size:
    """Return the largest page that a bound sheet of ``paper`` holds beside its holes."""
    return Size(
        paper.name,
        paper.width_mm - binding_mm - margin_mm,
        paper.height_mm - 2 * margin_mm,
    )


def bound(
    pages: int,
    page: Size,
    paper: Size,
    *,
    holes: HoleName | None = None,
    two_sided: bool = False,
    binding_mm: float = BINDING_MARGIN_MM,
    duplex: Duplex = LONG_EDGE,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for handouts bound at the left: pages in order, one a side.

    Two-sided, even pages are on backs and have their wide margin at the right. The margin has
    a small cross for each hole's middle; ``holes`` are those that binders for ``paper`` have, if it
    is None. Without holes the pages are in the middle. Raises UsageError if a page is too large.
    """
    room = binding_room(paper, binding_mm=binding_mm, margin_mm=margin_mm)
    if page.width_mm > room.width_mm + SLACK_MM or page.height_mm > room.height_mm + SLACK_MM:
        raise UsageError(
            f"a page of {page.text} does not fit {paper.name} beside a binding margin of "
            f"{binding_mm:g} mm; it has room for {room.text}"
        )
    punched = holes_for(paper) if holes is None else HOLES[holes]
    left = (paper.width_mm - room.width_mm) / 2 if punched is None else binding_mm
    area = Clip(left, margin_mm, room.width_mm, room.height_mm)
    marks = () if punched is None else _crosses(punched, paper)
    mirror = duplex.mirror(paper)
    back_marks = tuple(
        Line(
            *mirror.point(mark.x1_mm, mark.y1_mm),
            *mirror.point(mark.x2_mm, mark.y2_mm),
            _MARK,
            name=mark.name,
        )
        for mark in marks
    )
    sheets: list[Sheet] = []
    step = 2 if two_sided else 1
    for number, first in enumerate(range(0, pages, step), start=1):
        slot = Slot(first, area.x_mm, area.y_mm, area.width_mm, area.height_mm)
        front = Sheet(number, False, (slot,), area, marks)
        if two_sided:
            back_of = {first: first + 1} if first + 1 < pages else {}
            sheets += with_back(front, paper, duplex, back_of, back_marks)
        else:
            sheets.append(front)
    return Plan(paper, tuple(sheets), margin_mm, is_two_sided=two_sided)


def _crosses(holes: Holes, paper: Size) -> tuple[Line, ...]:
    half, x = _TICK_MM / 2, holes.from_edge_mm
    return tuple(
        line
        for y in holes.middles_mm(paper.height_mm)
        for line in (
            Line(x - half, y, x + half, y, _MARK, name="hole mark"),
            Line(x, y - half, x, y + half, _MARK, name="hole mark"),
        )
    )
