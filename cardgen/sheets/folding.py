"""Plans for booklets that are folded: saddle-stitched, or one sheet of eight pages."""

import math
from dataclasses import dataclass, replace

from cardgen.drawing.scene import Clip, Item, Line
from cardgen.errors import UsageError
from cardgen.sheets.grids import Grid
from cardgen.sheets.margin import (
    around,
    cut_ends,
    fold_ends,
    fold_line,
    fold_ticks,
    slit_line,
    slit_word,
)
from cardgen.sheets.papers import SLACK_MM, Size
from cardgen.sheets.slots import (
    PRINTER_MARGIN_MM,
    SHORT_EDGE,
    Duplex,
    Edges,
    Plan,
    Sheet,
    Slot,
    with_back,
)
from cardgen.units import INCH_M

PAPER_THICKNESS_MM = 0.1  # of 80 g/m2 paper; common practice, no source
PAGES_OF_ONE_SHEET = 8
_UPRIGHT_ROW = (6, 7, 8, 1)  # at the foot; common practice, no source
_TURNED_ROW = (5, 4, 3, 2)  # above it, heads together; common practice, no source
_BESIDE_SLIT_MM = 3.0
_LEAST_MARGIN_MM = 4.2
"""What most printers leave white at most, a sixth of an inch; common practice, no source."""
_NONE = Edges()


def creep_mm(pages: int, thickness_mm: float = PAPER_THICKNESS_MM) -> tuple[float, ...]:
    """Return by how much each sheet of a booklet, the outermost first, sticks out in front.

    Each lies within those before it, so it starts further from the spine by their thickness (common
    practice, no source). Cut flush, the inner pages are narrower by as much.
    """
    return tuple(sheet * thickness_mm for sheet in range(-(-pages // 4)))


@dataclass(frozen=True)
class _Spreads:
    """Where spreads, two pages beside each other, lie on paper: as a grid of cells.

    ``fills`` says that they reach into what printers leave white, with nothing but the white of
    their pages; then their feet meet in the middle.
    """

    paper: Size
    grid: Grid
    fills: bool = False

    @property
    def least_room_mm(self) -> float:
        """The paper that is left across and down, the lesser of the two."""
        area = self.grid.area()
        return 2 * min(area.x_mm, area.y_mm)

    def is_turned(self, position: int) -> bool:
        """Whether the spread there stands on its head."""
        rows = self.grid.rows
        return self.fills and rows > 1 and position // self.grid.columns >= rows / 2


def saddle(
    pages: int,
    page: Size,
    paper: Size,
    *,
    thickness_mm: float = PAPER_THICKNESS_MM,
    bleed_mm: float = 0.0,
    white: Edges = _NONE,
    duplex: Duplex = SHORT_EDGE,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for sheets that are laid into each other, folded, and stitched in the fold.

    With N pages, filled up to a multiple of 4 with blanks, sheet s (from 0, outermost) has N - 2 s
    and 2 s + 1 on its front, 2 s + 2 and N - 2 s - 1 on its back (common practice, no source). What
    is on inner sheets moves towards the spine by their creep.

    As many such spreads are on a sheet of ``paper`` as save some, in the middle, and it lies
    whichever way leaves most around them: cut apart as a pile, the stacks laid on each other along
    the rows are the booklet's sheets, the outermost on top. One spread may fill the paper; several
    may if ``white``, what all pages leave free at their edges, keeps their ink off its edge. Raises
    UsageError if not one fits.
    """
    count = -(-pages // 4)
    spreads = _spreads(count, page, paper, bleed_mm, white, margin_mm)
    grid, lying = spreads.grid, spreads.paper
    plan_margin = min(margin_mm, _LEAST_MARGIN_MM) if spreads.fills else margin_mm
    outer, inner = _booklet_marks(grid, grid.area(bleed_mm), lying, plan_margin)
    printed = -(-count // grid.capacity)
    leaves, creep = 4 * count, creep_mm(pages, thickness_mm)
    behind = {p: p + 1 if p % 2 == 0 else p - 1 for p in range(leaves)}  # pages from 0
    sheets: list[Sheet] = []
    for number in range(printed):
        halves: list[Slot] = []
        for position in range(grid.capacity):
            s = position * printed + number
            if s < count:
                two = (leaves - 2 * s - 1, 2 * s)
                halves += _halves(spreads, position, two, creep[s], bleed_mm)
        front, back = with_back(
            Sheet(number + 1, False, tuple(halves), grid.area(bleed_mm), outer),
            lying,
            duplex,
            behind,
            inner,
        )
        sheets += _without_blanks(front, pages), _without_blanks(back, pages)
    return Plan(lying, tuple(sheets), plan_margin, is_two_sided=True)


def _spreads(
    count: int, page: Size, paper: Size, bleed_mm: float, white: Edges, margin_mm: float
) -> _Spreads:
    """Return the arrangement that takes the fewest sheets of paper, then the fewest spreads."""
    found: list[_Spreads] = []
    for lying in (paper, paper.turned):
        most = (
            math.floor(lying.width_mm / (2 * page.width_mm) + SLACK_MM),
            math.floor(lying.height_mm / page.height_mm + SLACK_MM),
        )
        for columns in range(1, most[0] + 1):
            for rows in range(1, most[1] + 1):
                spreads = _arranged(columns, rows, page, lying, bleed_mm, white, margin_mm)
                found += [] if spreads is None else [spreads]
    if not found:
        raise UsageError(
            f"two pages of {page.text} beside each other do not fit {paper.name} ({paper.text})"
        )
    return min(
        found,
        key=lambda s: (-(-count // s.grid.capacity), s.grid.capacity, s.fills, -s.least_room_mm),
    )


def _arranged(
    columns: int,
    rows: int,
    page: Size,
    paper: Size,
    bleed_mm: float,
    white: Edges,
    margin_mm: float,
) -> _Spreads | None:
    """Return so many spreads in the middle of the paper, None if it has no room for their ink."""
    width, height, gap = 2 * page.width_mm, page.height_mm, 2 * bleed_mm
    grid = Grid(
        columns=columns,
        rows=rows,
        cell_width_mm=width,
        cell_height_mm=height,
        left_mm=(paper.width_mm - columns * (width + gap) + gap) / 2,
        top_mm=(paper.height_mm - rows * (height + gap) + gap) / 2,
        quarter_turns=0,
        gap_x_mm=gap,
        gap_y_mm=gap,
    )
    area = grid.area(bleed_mm)
    if min(area.x_mm, area.y_mm) >= margin_mm - SLACK_MM or grid.capacity == 1:
        return _Spreads(paper, grid)
    # Heads are outside and feet inside, but for a single row.
    foot = white.top_mm if rows > 1 else white.bottom_mm
    across = area.x_mm + min(white.left_mm, white.right_mm)
    down = area.y_mm + min(white.top_mm, foot)
    if bleed_mm or min(across, down) < _LEAST_MARGIN_MM - SLACK_MM:
        return None
    return _Spreads(paper, grid, fills=True)


def _halves(
    spreads: _Spreads, position: int, pages: tuple[int, int], creep: float, bleed_mm: float
) -> tuple[Slot, Slot]:
    """Return the two pages of a spread in their places, moved towards its spine by the creep."""
    turned = spreads.is_turned(position)
    left, right = reversed(pages) if turned else pages
    cell = replace(
        spreads.grid.slot(position, left),
        width_mm=spreads.grid.cell_width_mm / 2,
        quarter_turns=2 if turned else 0,
    )
    return (
        replace(cell, shift_mm=creep, bleed=Edges(bleed_mm, bleed_mm, 0.0, bleed_mm)),
        replace(
            cell.moved(cell.width_mm, 0.0),
            page=right,
            shift_mm=-creep,
            bleed=Edges(0.0, bleed_mm, bleed_mm, bleed_mm),
        ),
    )


def _booklet_marks(
    grid: Grid, area: Clip, paper: Size, margin_mm: float
) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return the marks on the outer and on the inner side of every sheet of a booklet.

    Where the pages leave no room for the folds', they are in the folds themselves, inside; those of
    the cuts are then on the edges of the pages.
    """
    pitch = grid.cell_width_mm + grid.gap_x_mm
    folds = [grid.left_mm + grid.cell_width_mm / 2 + n * pitch for n in range(grid.columns)]
    marks = around(area, grid.cuts, paper, margin_mm)
    if not marks:
        marks = cut_ends(grid.cuts, paper, margin_mm)
    if ticks := [tick for x in folds for tick in fold_ticks(area, x, paper, margin_mm)]:
        return (*marks, *ticks), (*marks, *ticks)
    return marks, (*marks, *(end for x in folds for end in fold_ends(x, paper, margin_mm)))


def _without_blanks(sheet: Sheet, pages: int) -> Sheet:
    return replace(sheet, slots=tuple(slot for slot in sheet.slots if slot.page < pages))


def eight_pages(
    pages: int,
    page: Size,
    paper: Size,
    *,
    slit: str = "",
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for a booklet of up to eight pages on one side of one sheet, no staples.

    The sheet lies on its side, four pages to a row: 5 4 3 2 on their heads above 6 7 8 1 (common
    practice, no source). Fold along the broken lines, cut along the solid one, which parts pages 3
    and 4 from 7 and 8, and push the ends together. Pages are never scaled: a smaller one sits in
    the middle of its eighth. ``slit`` is written along the cut. Raises UsageError if there are more
    pages, or they are larger than an eighth of ``paper``.
    """
    lying = paper.landscape
    cell = Size(paper.name, lying.width_mm / 4, lying.height_mm / 2)
    if pages > PAGES_OF_ONE_SHEET:
        raise UsageError(f"a booklet of one sheet has eight pages, not {pages}")
    if page.width_mm > cell.width_mm + SLACK_MM or page.height_mm > cell.height_mm + SLACK_MM:
        inches = " x ".join(
            f"{side / 1000 / INCH_M:.4g}" for side in (cell.width_mm, cell.height_mm)
        )
        raise UsageError(
            f"a page of {page.text} is larger than an eighth of {paper.name}; use pages of at most "
            f"{cell.text} ({inches} in), or larger paper"
        )
    slots = tuple(
        Slot(
            page=number - 1,
            x_mm=column * cell.width_mm,
            y_mm=row * cell.height_mm,
            width_mm=cell.width_mm,
            height_mm=cell.height_mm,
            quarter_turns=turns,
        )
        for row, (numbers, turns) in enumerate(((_TURNED_ROW, 2), (_UPRIGHT_ROW, 0)))
        for column, number in enumerate(numbers)
        if number <= pages
    )
    one, two, three = (column * cell.width_mm for column in (1, 2, 3))
    marks: tuple[Item, ...] = (
        *(fold_line(x, margin_mm, x, lying.height_mm - margin_mm) for x in (one, two, three)),
        fold_line(margin_mm, cell.height_mm, one, cell.height_mm),
        fold_line(three, cell.height_mm, lying.width_mm - margin_mm, cell.height_mm),
        slit_line(one, three, cell.height_mm),
        *slit_word(slit, one + _BESIDE_SLIT_MM, cell.height_mm),
    )
    whole = Clip(0.0, 0.0, lying.width_mm, lying.height_mm)
    return Plan(lying, (Sheet(1, False, slots, whole, marks),), margin_mm)
