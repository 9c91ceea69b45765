"""The coach's sheet as scenes: a row for each student, as many pages as that takes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from cardgen.cards.clinic import Call, CoachRow, CoachSheet
from cardgen.drawing.cautions import cautions_at_foot
from cardgen.drawing.clinic import mark_mm, name_lines, strike_mark
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.scene import Align, Item, Polyline, Scene, Text, Weight
from cardgen.drawing.theme import GREY, HAIRLINE, INK, MIST, NAVY, RULE
from cardgen.units import POINT_MM

_SAFE_MM, _MARGIN_MM = 5.0, 8.0
_SHEET_TITLE_PT, _BESIDE_PT, _HEAD_PT, _ROW_PT, _CALL_PT, _SMALL_PT, _KEY_PT = (
    *(16.0, 10.0, 8.5, 9.0, 11.0, 8.0, 8.0),
)
_STUDENT_PT, _GROUP_PT = 10.5, 10.0
_NAME_CHOICES = ((_STUDENT_PT, 2), (10.0, 2), (9.5, 2), (9.0, 2), (8.5, 2), (8.5, 3))
_SHARES = (0.16, 0.16, 0.075, 0.075, 0.075, 0.275, 0.075, 0.105)
_PAD_MM, _CELL_MM = 1.15, 2.0  # above and below a row's texts, and between two cells
_GROUP_MM = 6.4
_LEADING = 1.2
_LEAST_PT = 7.5
_INDENT_MM = 2.6  # of the balls, for the mark
_INDENTED = {2: _CALL_PT, 3: _CALL_PT, 4: _CALL_PT, 5: _ROW_PT, 7: _ROW_PT}
"""Columns of calls, which leave room for the mark of the strike ball, and their size."""


@dataclass(frozen=True, eq=False)
class _Band:
    """What stands on a page between the head and the foot: a group's heading, or a student."""

    height_mm: float
    group: str
    row: CoachRow | None = None
    striped: bool = False


def coach_pages(sheet: CoachSheet, width_mm_: float, height_mm_: float) -> Iterator[Scene]:
    """Yield the coach's sheet on an upright paper of that size laid on its side, page by page.

    A group's heading comes again where the group goes on, and never stands last on a page.
    """
    layout = _Layout(sheet, max(width_mm_, height_mm_), min(width_mm_, height_mm_))
    pages = layout.pages()
    for number, bands in enumerate(pages, start=1):
        yield layout.page(bands, number, len(pages))


class _Layout:
    """Where everything stands on the pages of one coach's sheet."""

    def __init__(self, sheet: CoachSheet, width: float, height: float) -> None:
        self._sheet, self._width, self._height = sheet, width, height
        left, inner = _MARGIN_MM, width - 2 * _MARGIN_MM
        stops = [left]
        for share in _SHARES:
            stops.append(stops[-1] + share * inner)
        self._cells = [(x, end - x - _CELL_MM) for x, end in pairwise(stops)]
        self._right = left + inner
        self._head = self._headed(1, 1)
        self._foot = self._footed()
        tops = [item.y_mm for item in self._foot if isinstance(item, Text)]
        self._bottom = min(tops) - cap_height_mm(_KEY_PT) - 3.0

    def pages(self) -> list[list[_Band]]:
        """Return the bands of each page."""
        room = self._bottom - self._head.y_mm
        pages: list[list[_Band]] = [[]]
        left = room
        for group, rows in groupby(self._sheet.rows, key=lambda row: row.group):
            heading = [_Band(_GROUP_MM, group)] if group else []
            heading_mm = _GROUP_MM if group else 0.0
            new = True
            for number, row in enumerate(rows):
                high = self._row_mm(row)
                needed = high + (heading_mm if new else 0.0)
                if needed > left and pages[-1]:
                    pages.append([])
                    left, new = room, True
                    if heading and number:
                        heading = [_Band(_GROUP_MM, self._sheet.continued[group])]
                if new:
                    pages[-1] += heading
                    left -= heading_mm
                    new = False
                pages[-1].append(_Band(high, group, row, number % 2 == 0))
                left -= high
        return pages

    def page(self, bands: Sequence[_Band], number: int, count: int) -> Scene:
        """Return one page."""
        column = self._headed(number, count)
        for band in bands:
            if band.row is None:
                self._group(column, band)
            else:
                self._row(column, band.row, band)
        column.rule(HAIRLINE)
        title = self._sheet.title if number == 1 else ""
        items = (*column.items, *self._foot)
        return Scene(self._width, self._height, items, title=title, safe_mm=_SAFE_MM)

    def _headed(self, number: int, count: int) -> Column:
        sheet, right = self._sheet, self._right
        column = Column(_MARGIN_MM, _MARGIN_MM, right - _MARGIN_MM, leading=_LEADING)
        base = _MARGIN_MM + cap_height_mm(_SHEET_TITLE_PT, Weight.BOLD)
        column.add(Text(_MARGIN_MM, base, sheet.title, _SHEET_TITLE_PT, Weight.BOLD, name="title"))
        used = width_mm(sheet.title, _SHEET_TITLE_PT, Weight.BOLD) + 5.0
        beside = shortened(sheet.beside, column.width_mm - used - 25.0, _BESIDE_PT)
        column.add(Text(_MARGIN_MM + used, base, beside, _BESIDE_PT, colour=GREY, name="beside"))
        folio = f"{number}/{count}"
        column.add(Text(right, base, folio, _BESIDE_PT, Weight.MEDIUM, INK, Align.END, "folio"))
        column.y_mm = base + 4.5
        heads = [
            wrap(text, room, _HEAD_PT, Weight.BOLD)
            for text, (_, room) in zip(sheet.headings, self._cells, strict=True)
        ]
        line = _LEADING * _HEAD_PT * POINT_MM
        most = max(map(len, heads))
        for number, lines in enumerate(heads):
            x = self._cells[number][0] + (mark_mm(_INDENTED[number]) if number in _INDENTED else 0)
            for k, text in enumerate(lines):
                y = column.y_mm + cap_height_mm(_HEAD_PT) + (most - len(lines) + k) * line
                column.add(Text(x, y, text, _HEAD_PT, Weight.BOLD, NAVY, name="heading"))
        column.space(most * line + 0.6)
        column.rule(RULE)
        return column

    def _footed(self) -> list[Item]:
        """Return the key, whom the sheet is for and the cautions, set upwards from the margin."""
        sheet, left = self._sheet, _MARGIN_MM
        room, line_mm = self._right - left, _LEADING * _KEY_PT * POINT_MM
        y = self._height - _MARGIN_MM
        cautions = cautions_at_foot(sheet.cautions, left, y, room, _KEY_PT, line_mm)
        items: list[Item] = [*cautions]
        y = cautions[0].y_mm - line_mm - 0.6
        for line in reversed(wrap(sheet.private, room, _KEY_PT, Weight.BOLD)):
            items.append(Text(left, y, line, _KEY_PT, Weight.BOLD, name="private"))
            y -= line_mm
        y -= 0.6
        marked = 3.0 + width_mm(sheet.strike_key, _KEY_PT) + 6.0
        lines = wrap(" ".join(sheet.keys), room - marked, _KEY_PT)
        for line in reversed(lines):
            items.append(Text(left + marked, y, line, _KEY_PT, colour=GREY, name="key"))
            y -= line_mm
        y += line_mm
        items.append(strike_mark(left, y, _KEY_PT))
        items.append(Text(left + 3.0, y, sheet.strike_key, _KEY_PT, colour=GREY, name="key"))
        return items

    def _group(self, column: Column, band: _Band) -> None:
        base = column.y_mm + (_GROUP_MM + cap_height_mm(_GROUP_PT, Weight.BOLD)) / 2 + 0.5
        name = shortened(band.group, column.width_mm, _GROUP_PT, Weight.BOLD)
        column.add(Text(_MARGIN_MM, base, name, _GROUP_PT, Weight.BOLD, NAVY, name="group"))
        column.space(band.height_mm)
        column.rule(HAIRLINE)

    def _texts(self, row: CoachRow) -> tuple[float, tuple[str, ...], list[str]]:
        """Return the size of a student's name, its lines, and those of hand, style and balls."""
        (_, name_mm), (_, manner_mm), *_ = self._cells
        size, name = name_lines(row.name, name_mm, _NAME_CHOICES)
        manner = [line for _, lines in _manner(row, manner_mm - _INDENT_MM) for line in lines]
        return size, name, manner

    def _row_mm(self, row: CoachRow) -> float:
        size, name, manner = self._texts(row)
        small = _LEADING * _SMALL_PT * POINT_MM
        heights = (
            len(name) * _LEADING * size * POINT_MM,
            len(manner) * small,
            -(-len(row.few) // 2) * _LEADING * _ROW_PT * POINT_MM,
            len(row.drill) * _LEADING * _ROW_PT * POINT_MM,
            len(row.practise) * _LEADING * _ROW_PT * POINT_MM,
        )
        return max(heights) + 2 * _PAD_MM - (_LEADING - 1) * _ROW_PT * POINT_MM

    def _row(self, column: Column, row: CoachRow, band: _Band) -> None:
        top, bottom = column.y_mm, column.y_mm + band.height_mm
        if band.striped:
            left, right = _MARGIN_MM - 1.5, self._right + 1.5
            corners = ((left, top), (right, top), (right, bottom), (left, bottom))
            column.add(Polyline(corners, fill=MIST, closed=True, name="stripe"))
        base = top + _PAD_MM + cap_height_mm(_STUDENT_PT, Weight.BOLD)
        size, name, _ = self._texts(row)
        for k, line in enumerate(name):
            y = base + k * _LEADING * size * POINT_MM
            column.add(Text(self._cells[0][0], y, line, size, Weight.BOLD, name="student"))
        self._manner(column, row, top + _PAD_MM)
        for call, (x, room) in zip(row.calls, self._cells[2:5], strict=True):
            _call(column, call, x, base, room, _CALL_PT)
        x, room = self._cells[5]
        half = room / 2
        for k, call in enumerate(row.few):
            across, down = divmod(k, -(-len(row.few) // 2))
            y = base + down * _LEADING * _ROW_PT * POINT_MM
            _call(column, call, x + across * half, y, half - _CELL_MM, _ROW_PT)
        for k, text in enumerate(row.practise):
            y = base + k * _LEADING * _ROW_PT * POINT_MM
            weight = Weight.MEDIUM if k == 0 else Weight.REGULAR
            column.add(Text(self._cells[6][0], y, text, _ROW_PT, weight, name="practise"))
        x, room = self._cells[7]
        for k, call in enumerate(row.drill):
            _call(column, call, x, base + k * _LEADING * _ROW_PT * POINT_MM, room, _ROW_PT)
        column.y_mm = bottom

    def _manner(self, column: Column, row: CoachRow, top: float) -> None:
        """Set hand, style and the balls, the strike ball behind its mark."""
        x, room = self._cells[1]
        y = top + cap_height_mm(_SMALL_PT)
        for number, (size, lines) in enumerate(_manner(row, room - _INDENT_MM)):
            if number == 2:
                column.add(strike_mark(x, y, _SMALL_PT))
            for line in lines:
                indent = _INDENT_MM if number else 0.0
                column.add(Text(x + indent, y, line, size, name="manner"))
                y += _LEADING * _SMALL_PT * POINT_MM


def _manner(row: CoachRow, room: float) -> list[tuple[float, tuple[str, ...]]]:
    """Return size and lines of hand and style, and of each ball; some are smaller, to go on one."""
    found = []
    for text in (row.manner, *row.balls):
        size = max(_LEAST_PT, min(_SMALL_PT, room / width_mm(text, 1.0)))
        found.append((size, wrap(text, room, size)))
    return found


def _call(column: Column, call: Call, x: float, base: float, room: float, size: float) -> None:
    """Set a call: the mark of the ball, the figures, and what it is for so far as there is room."""
    indent = mark_mm(size)
    if call.strike:
        column.add(strike_mark(x, base, size))
    if not call.leaves:
        most = (room - indent) / width_mm(call.figures, 1.0, Weight.BOLD)
        size = min(size, most)
    column.add(Text(x + indent, base, call.figures, size, Weight.BOLD, name="call"))
    if call.leaves:
        used = indent + width_mm(call.figures, size, Weight.BOLD) + 1.4
        told = (text for text in call.leaves if width_mm(text, _SMALL_PT) <= room - used)
        text = next(told, "") or shortened(call.leaves[-1], room - used, _SMALL_PT)
        column.add(Text(x + used, base, text, _SMALL_PT, name="leaves"))
