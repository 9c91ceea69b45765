"""Plans for booklets that are folded: saddle-stitched, or one sheet of eight pages."""

from dataclasses import replace

from cardgen.drawing.scene import Clip, Item, Line
from cardgen.errors import UsageError
from cardgen.sheets.margin import (
    around,
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
    Cuts,
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


def creep_mm(pages: int, thickness_mm: float = PAPER_THICKNESS_MM) -> tuple[float, ...]:
    """Return by how much each sheet of a booklet, the outermost first, sticks out in front.

    Each lies within those before it, so it starts further from the spine by their thickness (common
    practice, no source). Cut flush, the inner pages are narrower by as much.
    """
    return tuple(sheet * thickness_mm for sheet in range(-(-pages // 4)))


def saddle(
    pages: int,
    page: Size,
    paper: Size,
    *,
    thickness_mm: float = PAPER_THICKNESS_MM,
    bleed_mm: float = 0.0,
    duplex: Duplex = SHORT_EDGE,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for sheets that are laid into each other, folded, and stitched in the fold.

    With N pages, filled up to a multiple of 4 with blanks, sheet s (from 0, outermost) has N - 2 s
    and 2 s + 1 on its front, 2 s + 2 and N - 2 s - 1 on its back (common practice, no source). What
    is on inner sheets moves towards the spine by their creep. The two pages are in the middle of
    ``paper``, which lies whichever way leaves most around them; they may fill it. Raises UsageError
    if they do not fit.
    """
    spread = Size(page.name, 2 * page.width_mm, page.height_mm)
    lying = max((paper, paper.turned), key=lambda size: _least_room(spread, size))
    if _least_room(spread, lying) < -SLACK_MM:
        raise UsageError(
            f"two pages of {page.text} beside each other do not fit {paper.name} ({paper.text})"
        )
    left, top = (lying.width_mm - spread.width_mm) / 2, (lying.height_mm - spread.height_mm) / 2
    middle = lying.width_mm / 2
    area = Clip(
        left - bleed_mm,
        top - bleed_mm,
        spread.width_mm + 2 * bleed_mm,
        page.height_mm + 2 * bleed_mm,
    )
    outer, inner = _booklet_marks(spread, area, lying, margin_mm)
    leaves = 4 * -(-pages // 4)
    sheets: list[Sheet] = []
    for s, creep in enumerate(creep_mm(pages, thickness_mm)):
        behind = {leaves - 2 * s - 1: leaves - 2 * s - 2, 2 * s: 2 * s + 1}  # from 0
        halves = (
            Slot(
                page=leaves - 2 * s - 1,
                x_mm=left,
                y_mm=top,
                width_mm=page.width_mm,
                height_mm=page.height_mm,
                shift_mm=creep,
                bleed=Edges(bleed_mm, bleed_mm, 0.0, bleed_mm),
            ),
            Slot(
                page=2 * s,
                x_mm=middle,
                y_mm=top,
                width_mm=page.width_mm,
                height_mm=page.height_mm,
                shift_mm=-creep,
                bleed=Edges(0.0, bleed_mm, bleed_mm, bleed_mm),
            ),
        )
        front, back = with_back(
            Sheet(s + 1, False, halves, area, outer),
            lying,
            duplex,
            behind,
            inner,
        )
        sheets += _without_blanks(front, pages), _without_blanks(back, pages)
    return Plan(lying, tuple(sheets), margin_mm, is_two_sided=True)


def _least_room(spread: Size, paper: Size) -> float:
    return min(paper.width_mm - spread.width_mm, paper.height_mm - spread.height_mm)


def _booklet_marks(
    spread: Size, area: Clip, paper: Size, margin_mm: float
) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return the marks on the outer and on the inner side of every sheet of a booklet.

    Where the pages leave no room for the fold's, they are in the fold itself, inside.
    """
    middle, centre = paper.width_mm / 2, paper.height_mm / 2
    cuts = Cuts(
        (middle - spread.width_mm / 2, middle + spread.width_mm / 2),
        (centre - spread.height_mm / 2, centre + spread.height_mm / 2),
    )
    marks = around(area, cuts, paper, margin_mm)
    if ticks := fold_ticks(area, middle, paper, margin_mm):
        return (*marks, *ticks), (*marks, *ticks)
    return marks, (*marks, *fold_ends(middle, paper, margin_mm))


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
