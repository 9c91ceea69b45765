"""Where each card goes on a sheet, front and back, and the sheets as scenes.

A sheet is portrait and is flipped on its long edge, so the back is the front's mirror image about
the vertical middle: a cell at x from the left on the front is at x from the right on the back. The
grid sits in the middle of the sheet and stays where it is on a sheet that is only partly filled,
which is why fronts and backs meet.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from cardgen.drawing.scene import Clip, Group, Scene, Transform
from cardgen.errors import UsageError
from cardgen.sheets.margin import SheetWords, Window, cut_marks, footer, line_of
from cardgen.sheets.papers import Size

PRINTER_MARGIN_MM = 5.0  # what common printers leave white; common practice, no source
_SLACK_MM = 1e-6  # below any paper's tolerance: 4 x 52.5 fits 210


@dataclass(frozen=True)
class Grid:
    """Equal cells, edge to edge, in the middle of a sheet.

    A card is turned clockwise by ``quarter_turns`` x 90 degrees to fill its cell.
    """

    columns: int
    rows: int
    cell_width_mm: float
    cell_height_mm: float
    left_mm: float
    top_mm: float
    quarter_turns: int

    @property
    def capacity(self) -> int:
        """The number of cells."""
        return self.columns * self.rows

    @property
    def x_cuts_mm(self) -> tuple[float, ...]:
        """Where the upright cuts run, from left to right."""
        return tuple(self.left_mm + i * self.cell_width_mm for i in range(self.columns + 1))

    @property
    def y_cuts_mm(self) -> tuple[float, ...]:
        """Where the level cuts run, from top to bottom."""
        return tuple(self.top_mm + i * self.cell_height_mm for i in range(self.rows + 1))


@dataclass(frozen=True)
class Slot:
    """Card ``page`` (from 0) with its cell's top left corner at (``x_mm``, ``y_mm``).

    The card is turned clockwise by ``quarter_turns`` x 90 degrees to fill the cell.
    """

    page: int
    x_mm: float
    y_mm: float
    quarter_turns: int


@dataclass(frozen=True)
class Sheet:
    """One side of one sheet of paper; ``number`` counts sheets of paper from 1."""

    number: int
    is_back: bool
    slots: tuple[Slot, ...]


def best_grid(card: Size, paper: Size, margin_mm: float = PRINTER_MARGIN_MM) -> Grid:
    """Return the grid with most cards on ``paper``, upright where turning gains nothing.

    Raises UsageError if not one card fits inside the margin.
    """
    upright = _grid(card.width_mm, card.height_mm, 0, paper, margin_mm)
    turned = _grid(card.height_mm, card.width_mm, 1, paper, margin_mm)
    best = turned if turned.capacity > upright.capacity else upright
    if best.capacity == 0:
        raise UsageError(
            f"a card of {card.width_mm:g} x {card.height_mm:g} mm does not fit {paper.name} "
            f"with a margin of {margin_mm:g} mm"
        )
    return best


def _grid(width_mm: float, height_mm: float, turns: int, paper: Size, margin_mm: float) -> Grid:
    columns = max(0, math.floor((paper.width_mm - 2 * margin_mm + _SLACK_MM) / width_mm))
    rows = max(0, math.floor((paper.height_mm - 2 * margin_mm + _SLACK_MM) / height_mm))
    return Grid(
        columns=columns,
        rows=rows,
        cell_width_mm=width_mm,
        cell_height_mm=height_mm,
        left_mm=(paper.width_mm - columns * width_mm) / 2,
        top_mm=(paper.height_mm - rows * height_mm) / 2,
        quarter_turns=turns,
    )


def lay_out(cards: int, grid: Grid, paper: Size, *, two_sided: bool) -> tuple[Sheet, ...]:
    """Return the sheets for ``cards`` cards in reading order, each front followed by its back."""
    sheets: list[Sheet] = []
    for number, first in enumerate(range(0, cards, grid.capacity), start=1):
        pages = range(first, min(first + grid.capacity, cards))
        front = Sheet(number, is_back=False, slots=tuple(_slot(page, grid) for page in pages))
        sheets.append(front)
        if two_sided:
            backs = tuple(_behind(slot, grid, paper) for slot in front.slots)
            sheets.append(Sheet(number, is_back=True, slots=backs))
    return tuple(sheets)


def _slot(page: int, grid: Grid) -> Slot:
    row, column = divmod(page % grid.capacity, grid.columns)
    return Slot(
        page=page,
        x_mm=grid.left_mm + column * grid.cell_width_mm,
        y_mm=grid.top_mm + row * grid.cell_height_mm,
        quarter_turns=grid.quarter_turns,
    )


def _behind(slot: Slot, grid: Grid, paper: Size) -> Slot:
    """Return where the back of the card in ``slot`` goes.

    A card that lies on its side is turned the other way round on the back: its head points right on
    the front, so behind it, seen from the back, left. Cut out, it turns over like a page of a book.
    """
    return Slot(
        page=slot.page,
        x_mm=paper.width_mm - slot.x_mm - grid.cell_width_mm,
        y_mm=slot.y_mm,
        quarter_turns=-slot.quarter_turns % 4,
    )


def impose(
    fronts: Sequence[Scene],
    backs: Sequence[Scene],
    paper: Size,
    words: SheetWords,
    margin_mm: float = PRINTER_MARGIN_MM,
) -> tuple[Scene, ...]:
    """Return the sheets that carry the cards, with cut marks and a line of words in the margin.

    ``backs`` is empty for one-sided cards, else holds one back for each front. Cards are cut at
    their trim, where they have one, and butt against each other. Raises UsageError if a card does
    not fit the sheet, ValueError if the cards differ in size or fronts and backs in number.
    """
    if backs and len(backs) != len(fronts):
        raise ValueError(f"{len(fronts)} fronts need as many backs, not {len(backs)}")
    trims = {_trim_size(scene) for scene in chain(fronts, backs)}
    if not trims:
        return ()
    if len(trims) > 1:
        raise ValueError(f"cards on one sheet must be of one size, not {sorted(trims)}")
    card = Size("card", *trims.pop())
    grid = best_grid(card, paper, margin_mm)
    sheets = lay_out(len(fronts), grid, paper, two_sided=bool(backs))
    window = Window(paper, margin_mm, grid.x_cuts_mm, grid.y_cuts_mm)
    marks = cut_marks(window)
    count = sheets[-1].number
    scenes = []
    for sheet in sheets:
        cards = backs if sheet.is_back else fronts
        label = f"{words.sheet} {sheet.number}/{count}"
        side = (words.back if sheet.is_back else words.front) if backs else ""
        placed = (_placed(cards[slot.page], slot) for slot in sheet.slots)
        scenes.append(
            Scene(
                width_mm=paper.width_mm,
                height_mm=paper.height_mm,
                items=(*placed, *marks, *footer(window, words, [label, side])),
                title=line_of([label, side]),
                safe_mm=margin_mm,
            )
        )
    return tuple(scenes)


def _trim(scene: Scene) -> Clip:
    return scene.trim or Clip(0.0, 0.0, scene.width_mm, scene.height_mm)


def _trim_size(scene: Scene) -> tuple[float, float]:
    trim = _trim(scene)
    return trim.width_mm, trim.height_mm


def slot_transform(slot: Slot, card_width_mm: float, card_height_mm: float) -> Transform:
    """Return the map from a card of the given size (trim at the origin) into its place."""
    turn = Transform.quarter_turns(slot.quarter_turns)
    x, y = turn.point(card_width_mm, card_height_mm)
    return turn.then(Transform.move(slot.x_mm - min(x, 0.0), slot.y_mm - min(y, 0.0)))


def _placed(scene: Scene, slot: Slot) -> Group:
    trim = _trim(scene)
    to_origin = Transform.move(-trim.x_mm, -trim.y_mm)
    return Group(
        items=scene.items,
        name=f"card {slot.page + 1}",
        transform=to_origin.then(slot_transform(slot, trim.width_mm, trim.height_mm)),
        clip=trim,
    )
