"""The sheets to fill in as scenes: made for a pen, with a field wherever a pen would write."""

from collections.abc import Iterator
from dataclasses import dataclass

from cardgen.cards.forms import (
    LOG_ROWS,
    Entry,
    Group,
    IntakeSheet,
    LineTable,
    LogColumn,
    LogSheet,
    Section,
)
from cardgen.drawing.cautions import cautions_at_foot
from cardgen.drawing.column import Column
from cardgen.drawing.fields import INDENT_MM
from cardgen.drawing.fonts import cap_height_mm, wrap
from cardgen.drawing.scene import Align, Field, Item, Line, Polyline, Scene, Stroke, Text, Weight
from cardgen.drawing.theme import EDGE, GREY, HAIRLINE, INK, MIST, NAVY, RULE
from cardgen.units import POINT_MM


@dataclass(frozen=True)
class FormFormat:
    """A sheet to fill in, and the sizes of its type in points and of its rows.

    Nothing at all stands within ``safe_mm`` of the edge, where printers leave white.
    """

    width_mm: float
    height_mm: float
    margin_mm: float = 10.0
    safe_mm: float = 5.0
    title_pt: float = 16.0
    head_pt: float = 11.0
    body_pt: float = 9.0
    label_pt: float = 7.5
    value_pt: float = 10.0
    leading: float = 1.25

    @property
    def inner_width_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * self.margin_mm

    @property
    def bottom_mm(self) -> float:
        """Where the bottom margin begins."""
        return self.height_mm - self.margin_mm

    def line_mm(self, size_pt: float) -> float:
        """Return the height of a line of type."""
        return self.leading * size_pt * POINT_MM


_COLUMN_MM = {
    "date": 24.0,
    "ball": 18.0,
    "leave": 23.0,
    "stand_board": 19.0,
    "target_board": 19.0,
    "arrows_board": 20.0,
    "pins_board": 20.0,
    "result": 25.0,
    "off_boards": 17.0,
    "speed_mph": 17.0,
}
"""Room for handwriting; the note has what is left."""
_NUMBER_MM = 7.0  # the numbers of the rows
_OTHER_MM = 20.0
_FINE = Stroke(GREY, 0.25 * POINT_MM)
_INSET_MM = 0.35  # keeps a field off the lines about it
_TEXT_IN_MM = _INSET_MM + INDENT_MM
_EVERY = 5  # rows, to keep the place by

_GUTTER_MM = 10.0  # between groups
_LABEL_SHARE = 0.5  # of a group's width
_ROW_MM = (9.5, 13.0)  # of a question, at least and at most
_BOX_MM = 8.0
_LINE_ROW_MM = 8.5
_ABOVE_SECTION_MM = 4.0


def log_scenes(sheet: LogSheet, paper_width_mm: float, paper_height_mm: float) -> list[Scene]:
    """Return the pages of the log on an upright paper of that size, laid on its side."""
    fmt = FormFormat(paper_height_mm, paper_width_mm)
    pages = sheet.rows // LOG_ROWS
    return [_log_page(sheet, page, pages, fmt) for page in range(pages)]


def _log_page(sheet: LogSheet, page: int, pages: int, fmt: FormFormat) -> Scene:
    column = _headed(sheet.title, sheet.intro, fmt)
    if pages > 1:
        right, base = fmt.width_mm - fmt.margin_mm, fmt.margin_mm + cap_height_mm(fmt.title_pt)
        folio = f"{page + 1}/{pages}"
        column.add(Text(right, base, folio, fmt.body_pt, colour=GREY, align=Align.END))
    foot_mm = _cautioned(column, sheet.cautions, fmt)
    stops = _stops(sheet, fmt)
    heads_mm = 0.6 * fmt.body_pt * POINT_MM + fmt.line_mm(fmt.body_pt) + fmt.line_mm(fmt.label_pt)
    top = column.y_mm + heads_mm + fmt.line_mm(fmt.label_pt)
    row_mm = (foot_mm - 2.5 - top) / LOG_ROWS
    bottom = top + LOG_ROWS * row_mm
    for x, log_column in zip(stops, sheet.columns, strict=False):
        _log_heading(column, x + _TEXT_IN_MM, log_column, fmt)
    for x in stops[1:-1]:
        column.add(Line(x, column.y_mm, x, bottom, _FINE))
    for number in range(LOG_ROWS + 1):
        y = top + number * row_mm
        column.add(Line(fmt.margin_mm, y, stops[-1], y, _FINE if number % _EVERY else EDGE))
    for place in range(LOG_ROWS):
        row, y = page * LOG_ROWS + place + 1, top + place * row_mm
        base = y + (row_mm + cap_height_mm(fmt.body_pt)) / 2
        right = stops[0] - _TEXT_IN_MM
        column.add(Text(right, base, str(row), fmt.body_pt, colour=GREY, align=Align.END))
        for i, log_column in enumerate(sheet.columns):
            column.add(
                Field(
                    stops[i] + _INSET_MM,
                    y + _INSET_MM,
                    stops[i + 1] - stops[i] - 2 * _INSET_MM,
                    row_mm - 2 * _INSET_MM,
                    sheet.field(row, log_column),
                    f"{sheet.shot} {row}: {_tip(log_column.heading, log_column.hint)}",
                    sheet.value(row, log_column),
                    log_column.options,
                    size_pt=fmt.value_pt,
                )
            )
    title = sheet.title if page == 0 else ""
    return _scene(column, title, fmt)


def _stops(sheet: LogSheet, fmt: FormFormat) -> list[float]:
    """Return where each column begins, and where the last one ends."""
    stops = [fmt.margin_mm + _NUMBER_MM]
    for column in sheet.columns[:-1]:
        stops.append(stops[-1] + _COLUMN_MM.get(column.name, _OTHER_MM))
    return [*stops, fmt.width_mm - fmt.margin_mm]


def _log_heading(column: Column, x: float, log_column: LogColumn, fmt: FormFormat) -> None:
    """Set a column's heading, what to write there, and its name in a log file."""
    y = column.y_mm + cap_height_mm(fmt.body_pt) + 0.3
    column.add(Text(x, y, log_column.heading, fmt.body_pt, Weight.MEDIUM, NAVY))
    y += fmt.line_mm(fmt.body_pt)
    column.add(Text(x, y, log_column.hint, fmt.label_pt, Weight.REGULAR, INK))
    y += fmt.line_mm(fmt.label_pt)
    column.add(Text(x, y, log_column.name, fmt.label_pt, Weight.REGULAR, GREY))


def intake_scene(sheet: IntakeSheet, paper_width_mm: float, paper_height_mm: float) -> Scene:
    """Return the intake form on one upright page of that size."""
    fmt = FormFormat(paper_width_mm, paper_height_mm)
    column = _headed(sheet.title, sheet.intro, fmt)
    foot_mm = _cautioned(column, sheet.cautions, fmt)
    fixed_mm = sum(_above_groups_mm(section, fmt) for section in sheet.sections)
    rows = sum(max(len(group.entries) for group in section.groups) for section in sheet.sections)
    room_mm = foot_mm - 3.0 - column.y_mm - fixed_mm - _lines_mm(sheet.lines, fmt)
    row_mm = min(max(room_mm / rows, _ROW_MM[0]), _ROW_MM[1])
    # What the rows leave goes between the sections, the last of which is the known lines.
    apart_mm = max(0.0, room_mm - rows * row_mm) / (len(sheet.sections) + 1)
    for section in sheet.sections:
        _section(column, section, row_mm, fmt)
        column.space(apart_mm)
    _lines(column, sheet.lines, fmt)
    return _scene(column, sheet.title, fmt)


def _above_groups_mm(section: Section, fmt: FormFormat) -> float:
    heading = any(group.heading for group in section.groups)
    return _head_mm(fmt) + (fmt.line_mm(fmt.body_pt) + 1.0 if heading else 0.0)


def _head_mm(fmt: FormFormat) -> float:
    return _ABOVE_SECTION_MM + fmt.line_mm(fmt.head_pt) + 2.2


def _lines_mm(table: LineTable, fmt: FormFormat) -> float:
    headings = fmt.line_mm(fmt.body_pt) + fmt.line_mm(fmt.label_pt)
    return _head_mm(fmt) + headings + len(table.rows) * _LINE_ROW_MM


def _section_head(column: Column, title: str, note: str, fmt: FormFormat) -> None:
    column.space(_ABOVE_SECTION_MM)
    base = column.y_mm + cap_height_mm(fmt.head_pt)
    right = column.x_mm + column.width_mm
    column.add(Text(right, base, note, fmt.label_pt, colour=GREY, align=Align.END))
    column.text(title, fmt.head_pt, Weight.BOLD, colour=NAVY)
    column.rule(RULE)
    column.space(2.2)


def _section(column: Column, section: Section, row_mm: float, fmt: FormFormat) -> None:
    _section_head(column, section.title, section.note, fmt)
    count = len(section.groups)
    width = (column.width_mm - (count - 1) * _GUTTER_MM) / count
    top = column.y_mm
    for number, group in enumerate(section.groups):
        column.y_mm = top
        _group(column, group, column.x_mm + number * (width + _GUTTER_MM), width, row_mm, fmt)
    headed = any(group.heading for group in section.groups)
    tallest = max(len(group.entries) for group in section.groups)
    column.y_mm = top + (fmt.line_mm(fmt.body_pt) + 1.0 if headed else 0.0) + tallest * row_mm


def _group(
    column: Column, group: Group, x: float, width: float, row_mm: float, fmt: FormFormat
) -> None:
    if group.heading:
        base = column.y_mm + cap_height_mm(fmt.body_pt)
        column.add(Text(x, base, group.heading, fmt.body_pt, Weight.BOLD))
        column.y_mm += fmt.line_mm(fmt.body_pt) + 1.0
    label_mm = _LABEL_SHARE * width
    for entry in group.entries:
        base = column.y_mm + 0.5 + cap_height_mm(fmt.body_pt)
        column.add(Text(x, base, entry.label, fmt.body_pt, Weight.MEDIUM))
        for line in wrap(entry.hint, label_mm - 2.0, fmt.label_pt):
            base += fmt.line_mm(fmt.label_pt)
            column.add(Text(x, base, line, fmt.label_pt, colour=GREY))
        for item in _box(entry, x + label_mm, column.y_mm, width - label_mm, _BOX_MM, fmt):
            column.add(item)
        column.y_mm += row_mm


def _lines(column: Column, table: LineTable, fmt: FormFormat) -> None:
    _section_head(column, table.title, table.note, fmt)
    gap = 3.0
    count = len(table.rows[0])
    width = (column.width_mm - (count - 1) * gap) / count
    for number, entry in enumerate(table.rows[0]):
        x = column.x_mm + number * (width + gap)
        base = column.y_mm + cap_height_mm(fmt.body_pt)
        column.add(Text(x, base, entry.label, fmt.body_pt, Weight.MEDIUM))
        base += fmt.line_mm(fmt.label_pt)
        column.add(Text(x, base, entry.hint, fmt.label_pt, colour=GREY))
    column.y_mm += fmt.line_mm(fmt.body_pt) + fmt.line_mm(fmt.label_pt)
    for row in table.rows:
        for number, entry in enumerate(row):
            x = column.x_mm + number * (width + gap)
            for item in _box(entry, x, column.y_mm, width, _LINE_ROW_MM - 1.0, fmt):
                column.add(item)
        column.y_mm += _LINE_ROW_MM


def _box(
    entry: Entry, x: float, y: float, width: float, height: float, fmt: FormFormat
) -> Iterator[Item]:
    """Yield a tinted place to write in with a line under it, and its field."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    yield Polyline(corners, fill=MIST, closed=True, name="answer")
    yield Line(x, y + height, x + width, y + height, HAIRLINE)
    yield Field(
        x,
        y,
        width,
        height,
        entry.field,
        _tip(entry.label, entry.hint),
        entry.value,
        entry.options,
        size_pt=fmt.value_pt,
    )


def _tip(label: str, hint: str) -> str:
    return f"{label} ({hint})" if hint else label


def _headed(title: str, intro: str, fmt: FormFormat) -> Column:
    """Return a page's column with its title, a rule and the introduction set."""
    column = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    column.text(title, fmt.title_pt, Weight.BOLD, name="title")
    column.rule(RULE)
    column.space(2.0)
    column.text(intro, fmt.body_pt)
    column.space(1.5)
    return column


def form_cautions(cautions: str, fmt: FormFormat) -> tuple[Text, ...]:
    """Return the cautions, their descenders above the bottom margin."""
    last_mm = fmt.bottom_mm - 0.25 * fmt.body_pt * POINT_MM
    line_mm = fmt.line_mm(fmt.body_pt)
    return cautions_at_foot(
        cautions, fmt.margin_mm, last_mm, fmt.inner_width_mm, fmt.body_pt, line_mm
    )


def _cautioned(column: Column, cautions: str, fmt: FormFormat) -> float:
    """Set the cautions at the foot of the page and return where they begin."""
    lines = form_cautions(cautions, fmt)
    column.items += lines
    return lines[0].y_mm - cap_height_mm(fmt.body_pt)


def _scene(column: Column, title: str, fmt: FormFormat) -> Scene:
    return Scene(fmt.width_mm, fmt.height_mm, tuple(column.items), title=title, safe_mm=fmt.safe_mm)
