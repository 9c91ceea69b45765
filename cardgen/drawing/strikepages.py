"""The pages that go with the strike line."""

from collections.abc import Sequence

from cardgen.cards.strike import FeetTable, MoveRow, Moves
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.scene import Align, Polyline, Scene, Weight
from cardgen.drawing.theme import GREY, MIST, NAVY, Format
from cardgen.drawing.titled import finished, titled
from cardgen.units import POINT_MM

_FEET_AT = (0.0, 0.42, 0.60, 0.80, 1.0)  # of the width: where the columns of the feet's table end


def moves_scenes(moves: Moves, fmt: Format) -> list[Scene]:
    """Return the page of moves: a fault, the move, and below it the rule of thumb's."""
    page = titled(moves.title, fmt)
    page.text(moves.intro, fmt.label_pt, colour=GREY)
    page.space(1.8)
    for row in moves.rows:
        _move(page, row, fmt)
    page.text(moves.shifts_heading, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    page.space(0.3)
    for step, result in moves.shifts:
        page.row(
            [
                (0.0, step, Align.START, Weight.REGULAR),
                (page.width_mm, result, Align.END, Weight.BOLD),
            ],
            fmt.body_pt,
        )
    page.space(1.6)
    for note in moves.notes:
        page.text(note, fmt.label_pt, colour=GREY)
        page.space(0.8)
    return [finished(page, fmt, moves.title)]


def _move(page: Column, row: MoveRow, fmt: Format) -> None:
    page.row(
        [
            (0.0, row.fault, Align.START, Weight.REGULAR),
            (page.width_mm, row.move, Align.END, Weight.BOLD),
        ],
        fmt.body_pt,
    )
    page.text(row.rule, fmt.label_pt, colour=GREY)
    page.space(1.7)


def feet_scenes(table: FeetTable, fmt: Format) -> list[Scene]:
    """Return the page of spares from the strike line, a row for each pin."""
    page = titled(table.title, fmt)
    page.text(table.intro, fmt.body_pt)
    page.space(2.0)
    page.row(_cells(page, table.headings, Weight.MEDIUM), fmt.label_pt, colour=NAVY)
    page.space(0.6)
    row_mm = 1.7 * fmt.body_pt * POINT_MM
    for index, row in enumerate(table.rows):
        top = page.y_mm
        if index % 2 == 0:
            _band(page, top, row_mm)
        page.y_mm = top + (row_mm - cap_height_mm(fmt.body_pt)) / 2
        page.row(_cells(page, row, Weight.REGULAR), fmt.body_pt)
        page.y_mm = top + row_mm
    page.space(1.8)
    for note in table.notes:
        page.text(note, fmt.label_pt, colour=GREY)
        page.space(0.8)
    return [finished(page, fmt, table.title)]


def _cells(
    page: Column, texts: Sequence[str], weight: Weight
) -> list[tuple[float, str, Align, Weight]]:
    """Return a row's cells: the first set left, the bowler's own move bold."""
    return [
        (
            at * page.width_mm,
            text,
            Align.END if column else Align.START,
            Weight.BOLD if column == 1 and weight is Weight.REGULAR else weight,
        )
        for column, (at, text) in enumerate(zip(_FEET_AT, texts, strict=True))
    ]


def _band(page: Column, top_mm: float, high_mm: float) -> None:
    left, right, bottom = page.x_mm, page.x_mm + page.width_mm, top_mm + high_mm
    corners = ((left, top_mm), (right, top_mm), (right, bottom), (left, bottom))
    page.add(Polyline(corners, fill=MIST, closed=True))
