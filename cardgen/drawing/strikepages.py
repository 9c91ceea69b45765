"""The pages that go with the strike line."""

from collections.abc import Callable, Sequence
from functools import partial

from cardgen.cards.strike import FeetTable, MoveRow, Moves
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import width_mm
from cardgen.drawing.scene import Align, Scene, Weight
from cardgen.drawing.theme import GREY, NAVY, Format
from cardgen.drawing.titled import finished, titled
from cardgen.units import POINT_MM


def moves_scenes(moves: Moves, fmt: Format) -> list[Scene]:
    """Return the page of moves: a fault, the move, and below it the rule of thumb's.

    What does not fit goes on to another page.
    """
    pages = _Pages(moves.title, fmt)
    pages.add(partial(_remark, text=moves.intro, fmt=fmt), 1.8)
    for row in moves.rows:
        pages.add(partial(_move, row=row, fmt=fmt), 1.7)
    pages.add(lambda page: _shifts(page, moves, fmt), 1.6)
    for note in moves.notes:
        pages.add(partial(_remark, text=note, fmt=fmt), 0.8)
    return pages.scenes()


class _Pages:
    """Pages under one title, to which parts are added that stay in one piece."""

    def __init__(self, title: str, fmt: Format) -> None:
        self._title = title
        self._fmt = fmt
        self._columns = [titled(title, fmt)]

    def add(self, set_in: Callable[[Column], None], space_mm: float = 0.0) -> None:
        """Set a part on the last page, or on a new one where it goes over that one's foot."""
        fmt, page = self._fmt, self._columns[-1]
        trial = Column(0.0, page.y_mm, page.width_mm, leading=page.leading)
        set_in(trial)
        if trial.y_mm > fmt.height_mm - fmt.margin_mm + 1.0:
            page = titled(self._title, fmt)
            self._columns.append(page)
        set_in(page)
        page.space(space_mm)

    def scenes(self) -> list[Scene]:
        """Return the pages; the first of them is in the outline."""
        first, *rest = self._columns
        return [
            finished(first, self._fmt, self._title),
            *(finished(page, self._fmt, "") for page in rest),
        ]


def _move(page: Column, row: MoveRow, fmt: Format) -> None:
    page.pair(row.fault, row.move, fmt.body_pt, Weight.BOLD)
    page.text(row.rule, fmt.label_pt, colour=GREY)


def _remark(page: Column, text: str, fmt: Format) -> None:
    page.text(text, fmt.label_pt, colour=GREY)


def _shifts(page: Column, moves: Moves, fmt: Format) -> None:
    page.text(moves.shifts_heading, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    page.space(0.3)
    for step, result in moves.shifts:
        page.pair(step, result, fmt.body_pt, Weight.BOLD)


def feet_scenes(table: FeetTable, fmt: Format) -> list[Scene]:
    """Return the page of spares from the strike line, a row for each pin.

    What does not fit goes on to another page.
    """
    pages = _Pages(table.title, fmt)
    pages.add(lambda page: page.text(table.intro, fmt.body_pt), 2.0)
    pages.add(lambda page: _feet_rows(page, table, fmt), 1.8)
    for note in table.notes:
        pages.add(partial(_remark, text=note, fmt=fmt), 0.8)
    return pages.scenes()


def _feet_rows(page: Column, table: FeetTable, fmt: Format) -> None:
    ends_mm = _ends_mm(page, table, fmt)
    page.row(_cells(ends_mm, table.headings, heading=True), fmt.label_pt, colour=NAVY)
    page.space(0.6)
    row_mm = 1.7 * fmt.body_pt * POINT_MM
    rows = [_cells(ends_mm, row) for row in table.rows]
    page.striped(rows, row_mm, fmt.body_pt)


def _ends_mm(page: Column, table: FeetTable, fmt: Format) -> list[float]:
    """Return where each column ends: as wide as its texts, with what is left in equal parts."""
    wide = [
        max(
            width_mm(heading, fmt.label_pt, Weight.MEDIUM),
            *(width_mm(row[number], fmt.body_pt, _weight(number)) for row in table.rows),
        )
        for number, heading in enumerate(table.headings)
    ]
    apart = (page.width_mm - sum(wide)) / (len(wide) - 1)
    return [sum(wide[: number + 1]) + number * apart for number in range(len(wide))]


def _weight(column: int) -> Weight:
    """Return the weight of a row's cell: the bowler's own move is bold."""
    return Weight.BOLD if column == 1 else Weight.REGULAR


def _cells(
    ends_mm: Sequence[float], texts: Sequence[str], *, heading: bool = False
) -> list[tuple[float, str, Align, Weight]]:
    """Return a row's cells: the first set left, the others at their columns' ends."""
    return [
        (
            end if number else 0.0,
            text,
            Align.END if number else Align.START,
            Weight.MEDIUM if heading else _weight(number),
        )
        for number, (end, text) in enumerate(zip(ends_mm, texts, strict=True))
    ]
