"""Equal cells on a sheet: as many as fit, or those of a perforated stock."""

import math
from dataclasses import dataclass

from cardgen.drawing.scene import Clip
from cardgen.errors import UsageError
from cardgen.sheets.papers import SLACK_MM, Size
from cardgen.sheets.slots import PRINTER_MARGIN_MM, Cuts, Edges, Slot


@dataclass(frozen=True)
class Grid:
    """Equal cells in rows; ``gap_x_mm`` lies between columns, ``gap_y_mm`` between rows.

    A card is turned clockwise by ``quarter_turns`` x 90 degrees to fill its cell.
    """

    columns: int
    rows: int
    cell_width_mm: float
    cell_height_mm: float
    left_mm: float
    top_mm: float
    quarter_turns: int
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    @property
    def capacity(self) -> int:
        """The number of cells."""
        return self.columns * self.rows

    @property
    def cuts(self) -> Cuts:
        """The edges of the cells; cells that touch share one."""
        return Cuts(
            _cuts(self.left_mm, self.columns, self.cell_width_mm, self.gap_x_mm),
            _cuts(self.top_mm, self.rows, self.cell_height_mm, self.gap_y_mm),
        )

    def area(self, bleed_mm: float = 0.0) -> Clip:
        """Return the rectangle around all cells and their bleed."""
        width = self.columns * self.cell_width_mm + (self.columns - 1) * self.gap_x_mm
        height = self.rows * self.cell_height_mm + (self.rows - 1) * self.gap_y_mm
        return Clip(
            self.left_mm - bleed_mm,
            self.top_mm - bleed_mm,
            width + 2 * bleed_mm,
            height + 2 * bleed_mm,
        )

    def slot(self, position: int, page: int, bleed_mm: float = 0.0) -> Slot:
        """Return the cell at ``position``, counted from 0 row by row, for ``page``."""
        row, column = divmod(position, self.columns)
        return Slot(
            page=page,
            x_mm=self.left_mm + column * (self.cell_width_mm + self.gap_x_mm),
            y_mm=self.top_mm + row * (self.cell_height_mm + self.gap_y_mm),
            width_mm=self.cell_width_mm,
            height_mm=self.cell_height_mm,
            quarter_turns=self.quarter_turns,
            bleed=Edges.all_round(bleed_mm),
        )


def _cuts(start_mm: float, cells: int, cell_mm: float, gap_mm: float) -> tuple[float, ...]:
    if not gap_mm:
        return tuple(start_mm + i * cell_mm for i in range(cells + 1))
    starts = [start_mm + i * (cell_mm + gap_mm) for i in range(cells)]
    return tuple(edge for start in starts for edge in (start, start + cell_mm))


def best_grid(
    card: Size, paper: Size, margin_mm: float = PRINTER_MARGIN_MM, bleed_mm: float = 0.0
) -> Grid:
    """Return the grid with most cards on ``paper``, upright where turning gains nothing.

    It is in the middle of the sheet, and each card has its whole ``bleed_mm`` inside the margin.
    Raises UsageError if not one card fits.
    """
    upright = _grid(card.width_mm, card.height_mm, 0, paper, margin_mm, bleed_mm)
    turned = _grid(card.height_mm, card.width_mm, 1, paper, margin_mm, bleed_mm)
    best = turned if turned.capacity > upright.capacity else upright
    if best.capacity == 0:
        with_bleed = f", a bleed of {bleed_mm:g} mm" if bleed_mm else ""
        raise UsageError(
            f"a card of {card.text} does not fit {paper.name} "
            f"with a margin of {margin_mm:g} mm{with_bleed}"
        )
    return best


def _grid(
    width_mm: float, height_mm: float, turns: int, paper: Size, margin_mm: float, bleed_mm: float
) -> Grid:
    gap = 2 * bleed_mm
    columns = _fitting(paper.width_mm - 2 * margin_mm, width_mm + gap)
    rows = _fitting(paper.height_mm - 2 * margin_mm, height_mm + gap)
    return Grid(
        columns=columns,
        rows=rows,
        cell_width_mm=width_mm,
        cell_height_mm=height_mm,
        left_mm=(paper.width_mm - columns * (width_mm + gap) + gap) / 2,
        top_mm=(paper.height_mm - rows * (height_mm + gap) + gap) / 2,
        quarter_turns=turns,
        gap_x_mm=gap,
        gap_y_mm=gap,
    )


def _fitting(room_mm: float, each_mm: float) -> int:
    return max(0, math.floor((room_mm + SLACK_MM) / each_mm))
