"""Plans for cards that are cut out of a sheet: many up, fold-over, or one to a page."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal, TypeAlias

from cardgen.drawing.scene import Line
from cardgen.errors import UsageError
from cardgen.sheets.grids import Grid, best_grid
from cardgen.sheets.margin import around, fold_line
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import (
    LONG_EDGE,
    PRINTER_MARGIN_MM,
    Duplex,
    Mirror,
    Plan,
    Sheet,
    Slot,
    Turn,
    with_back,
)
from cardgen.sheets.stock import Stock

Order: TypeAlias = Literal["reading", "cut-stack"]
"""Card by card along the rows; or so that the stacks, cut and laid on each other, are in order."""


def n_up(
    cards: int,
    card: Size,
    paper: Size,
    *,
    two_sided: bool = False,
    bleed_mm: float = 0.0,
    order: Order = "reading",
    copies: int = 1,
    duplex: Duplex = LONG_EDGE,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for ``cards`` cards, as many on a sheet as fit.

    Pages 0 to ``cards`` - 1 are the fronts, the next as many their backs if ``two_sided``. Cards
    butt against each other; with a bleed they stand twice that apart. ``copies`` are of the whole
    set, one set after the other. A sheet that is only partly filled keeps the grid, which is why
    fronts and backs meet and all sheets can be cut alike. Raises UsageError if no card fits.
    """
    grid = best_grid(card, paper, margin_mm, bleed_mm)
    pages = _ordered(tuple(range(cards)) * copies, grid.capacity, order)
    area = grid.area(bleed_mm)
    marks = around(area, grid.cuts, paper, margin_mm)  # of both sides: the grid is in the middle
    back_of = {page: cards + page for page in range(cards)}
    sheets: list[Sheet] = []
    for number, side in enumerate(pages, start=1):
        slots = tuple(
            grid.slot(position, page, bleed_mm)
            for position, page in enumerate(side)
            if page is not None
        )
        front = Sheet(number, False, slots, area, marks)
        if two_sided:
            sheets += with_back(front, paper, duplex, back_of, marks)
        else:
            sheets.append(front)
    return Plan(paper, tuple(sheets), margin_mm, is_two_sided=two_sided)


def _ordered(pages: Sequence[int], capacity: int, order: Order) -> Iterator[tuple[int | None, ...]]:
    """Yield what goes on each sheet, place by place.

    In cut-stack order position k of sheet s holds the card numbered k x sheets + s, so the stacks,
    each one position, follow each other (common practice, no source).
    """
    sheets = -(-len(pages) // capacity)
    for sheet in range(sheets):
        if order == "reading":
            yield tuple(pages[sheet * capacity : (sheet + 1) * capacity])
        else:
            places = (position * sheets + sheet for position in range(capacity))
            yield tuple(pages[at] if at < len(pages) else None for at in places)


def on_stock(
    cards: int,
    card: Size,
    stock: Stock,
    *,
    two_sided: bool = False,
    start_at: int = 1,
    copies: int = 1,
    duplex: Duplex = LONG_EDGE,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for cards on perforated stock, which needs no marks.

    ``start_at`` is the first free place, counted from 1 along the rows, of a first sheet that has
    been used in part. Raises UsageError if the card is not of the stock's size, or there is no such
    place.
    """
    grid = stock.grid(card)
    if not 1 <= start_at <= grid.capacity:
        raise UsageError(
            f"a sheet of {stock.name} has the places 1 to {grid.capacity}, not {start_at}"
        )
    taken = start_at - 1
    pages = (None,) * taken + tuple(range(cards)) * copies
    back_of = {page: cards + page for page in range(cards)}
    sheets: list[Sheet] = []
    for number, first in enumerate(range(0, len(pages), grid.capacity), start=1):
        side = pages[first : first + grid.capacity]
        slots = tuple(grid.slot(at, page) for at, page in enumerate(side) if page is not None)
        front = Sheet(number, False, slots, grid.area())
        if two_sided:
            sheets += with_back(front, stock.paper, duplex, back_of)
        else:
            sheets.append(front)
    return Plan(stock.paper, tuple(sheets), margin_mm, is_two_sided=two_sided)


def fold_over(
    cards: int,
    card: Size,
    paper: Size,
    *,
    bleed_mm: float = 0.0,
    copies: int = 1,
    turn: Turn = "side",
    margin_mm: float = PRINTER_MARGIN_MM,
) -> Plan:
    """Return the plan for cards whose front and back lie beside each other on one side of paper.

    Each pair is cut out as one, folded away from the reader and glued, so that a printer need not
    print on both sides. Pages 0 to ``cards`` - 1 are the fronts, the next as many their backs. The
    back is left of the front, or above it where more pairs fit so. Raises UsageError if no pair
    fits.
    """
    beside = Size(card.name, 2 * card.width_mm, card.height_mm)
    stacked = Size(card.name, card.width_mm, 2 * card.height_mm)
    grids: list[tuple[Grid, bool]] = []
    for pair in (beside, stacked):
        try:
            grids.append((best_grid(pair, paper, margin_mm, bleed_mm), pair is beside))
        except UsageError:
            continue
    if not grids:
        raise UsageError(
            f"a card of {card.text} with its back beside it does not fit {paper.name} "
            f"with a margin of {margin_mm:g} mm"
        )
    grid, is_beside = max(grids, key=lambda one: one[0].capacity)  # the first of two as good
    area = grid.area(bleed_mm)
    marks = around(area, grid.cuts, paper, margin_mm)
    sheets: list[Sheet] = []
    for number, side in enumerate(
        _ordered(tuple(range(cards)) * copies, grid.capacity, "reading"), start=1
    ):
        slots: list[Slot] = []
        folds: list[Line] = []
        for position, page in enumerate(side):
            if page is not None:
                front, mirror = _half(grid.slot(position, page, bleed_mm), is_beside=is_beside)
                slots += front, mirror.slot(front, cards + page, turn)
                folds.append(_fold(front, mirror))
        sheets.append(Sheet(number, False, tuple(slots), area, (*marks, *folds)))
    return Plan(paper, tuple(sheets), margin_mm)


def _half(pair: Slot, *, is_beside: bool) -> tuple[Slot, Mirror]:
    """Return the place of the front in that of a pair, and the fold between it and the back.

    The front is right of the fold or below it; in a pair that is turned clockwise, below or left.
    """
    turned = bool(pair.quarter_turns)
    if is_beside != turned:
        width, middle = pair.width_mm / 2, pair.x_mm + pair.width_mm / 2
        bleed = replace(pair.bleed, **{"right_mm" if turned else "left_mm": 0.0})
        at = pair.x_mm if turned else middle
        return replace(pair, x_mm=at, width_mm=width, bleed=bleed), Mirror(True, middle)
    height, middle = pair.height_mm / 2, pair.y_mm + pair.height_mm / 2
    bleed = replace(pair.bleed, top_mm=0.0)
    return replace(pair, y_mm=middle, height_mm=height, bleed=bleed), Mirror(False, middle)


def _fold(front: Slot, mirror: Mirror) -> Line:
    at = mirror.at_mm
    if mirror.upright:
        return fold_line(at, front.y_mm, at, front.y_mm + front.height_mm)
    return fold_line(front.x_mm, at, front.x_mm + front.width_mm, at)


def one_each(cards: int, card: Size, *, two_sided: bool = False, bleed_mm: float = 0.0) -> Plan:
    """Return the plan that gives each side of each card a page of its own, as print shops ask.

    The page is the card and its bleed, without marks; its trim is the card. Fronts and backs
    alternate; a back reads upright when the card is turned over like a page.
    """
    page = Size(card.name, card.width_mm + 2 * bleed_mm, card.height_mm + 2 * bleed_mm)
    grid = Grid(1, 1, card.width_mm, card.height_mm, bleed_mm, bleed_mm, 0)
    whole = grid.area(bleed_mm)
    sheets: list[Sheet] = []
    for number in range(1, cards + 1):
        sheets.append(Sheet(number, False, (grid.slot(0, number - 1, bleed_mm),), whole))
        if two_sided:
            back = grid.slot(0, cards + number - 1, bleed_mm)
            sheets.append(Sheet(number, True, (back,), whole))
    return Plan(page, tuple(sheets), 0.0, trim=grid.area(), is_two_sided=two_sided)
