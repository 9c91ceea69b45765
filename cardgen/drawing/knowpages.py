"""The pages of what is known of the bowler: lines to remember, lines that changed, what to throw.

The last of them also as a sheet with boxes to tick.
"""

from collections.abc import Iterator, Sequence

from cardgen.cards.changes import ChangesPage
from cardgen.cards.drill import DrillPage, DrillRow
from cardgen.cards.fewlines import FewPage, FewRow
from cardgen.drawing.column import Column, fits
from cardgen.drawing.fonts import cap_height_mm, width_mm
from cardgen.drawing.forms import FormFormat, form_cautions
from cardgen.drawing.scene import Align, Field, Polyline, Scene, Stroke, Text, Weight
from cardgen.drawing.theme import EDGE, GREY, HAIRLINE, NAVY, RULE, Format
from cardgen.drawing.titled import finished, titled
from cardgen.units import POINT_MM

_FIGURE = 2.6  # times the body's size: read at arm's length, and no rival to a card's own figures
_APART_MM = 2.0  # at least, between two texts of a line
_ROOMY_MM, _TIGHT_MM = (1.9, 2.4), (1.5, 1.2)  # under a line's figures, and under its leaves
_OLD_AT = 0.36  # of the width: where the lines of a change begin
_BOX = Stroke(GREY, EDGE.width_mm)
_BOX_MM, _BOX_PITCH_MM = 3.4, 4.7
_PLAN_AT = (0.0, 0.44, 0.58, 0.80, 1.0)  # of the width: where the plan's columns end
_SHEET_BOX_MM, _SHEET_PITCH_MM, _SHEET_ROW_MM = 7.0, 11.0, 13.0
_SHEET_NOTES_MM = 9.0  # from line to line, for a hand
_SHEET_AT = (0.0, 0.34, 0.46, 0.52)  # of the sheet's width: leave, stand, target, ball


def few_scenes(page: FewPage, fmt: Format) -> list[Scene]:
    """Return the pages of the lines to remember.

    Where it makes one page of two, lines stand closer, and of their leaves those that come often.
    """
    roomy, tight = (
        (under * fmt.body_scale, below * fmt.body_scale) for under, below in (_ROOMY_MM, _TIGHT_MM)
    )
    for usual, apart in ((False, roomy), (False, tight), (True, tight)):
        scenes = list(_few(page, fmt, usual, apart))
        if len(scenes) == 1:
            return scenes
    return list(_few(page, fmt, False, roomy))


def _few(page: FewPage, fmt: Format, usual: bool, apart: tuple[float, float]) -> Iterator[Scene]:
    column, title = titled(page.title, fmt), page.title
    bottom = fmt.height_mm - fmt.margin_mm
    column.text(page.intro, fmt.label_pt, colour=GREY)
    column.space(1.8)
    stops = _few_stops(page, fmt)
    _few_headings(column, page, stops, fmt)
    for row in page.rows:
        leaves = row.usual if usual else row.leaves
        high = _figure_mm(fmt) + apart[0] + column.height_of(leaves, fmt.body_pt)
        if column.y_mm + high > bottom + 1.0:
            yield finished(column, fmt, title)
            column, title = titled(page.title, fmt), ""
            _few_headings(column, page, stops, fmt)
        _few_row(column, row, leaves, stops, apart, fmt)
    notes_mm = sum(column.height_of(note, fmt.label_pt) + 0.8 for note in page.notes)
    if column.y_mm + notes_mm > bottom + 1.5:
        yield finished(column, fmt, title)
        column, title = titled(page.title, fmt), ""
    for note in page.notes:
        column.text(note, fmt.label_pt, colour=GREY)
        column.space(0.8)
    yield finished(column, fmt, title)


def _few_stops(page: FewPage, fmt: Format) -> tuple[float, float]:
    """Return where the targets begin and where the balls do."""
    size = _FIGURE * fmt.body_pt

    def room(heading: str, figures: list[str]) -> float:
        widest = max(width_mm(figure, size, Weight.BOLD) for figure in figures)
        return max(width_mm(heading, fmt.label_pt, Weight.MEDIUM), widest) + 2 * _APART_MM

    target = room(page.headings[0], [row.stand for row in page.rows])
    return target, target + room(page.headings[1], [row.target for row in page.rows])


def _few_headings(column: Column, page: FewPage, stops: tuple[float, float], fmt: Format) -> None:
    cells = zip((0.0, stops[0]), page.headings, strict=True)
    column.row(
        [(x, text, Align.START, Weight.MEDIUM) for x, text in cells], fmt.label_pt, colour=NAVY
    )


def _figure_mm(fmt: Format) -> float:
    return cap_height_mm(_FIGURE * fmt.body_pt, Weight.BOLD)


def _few_row(
    column: Column,
    row: FewRow,
    leaves: str,
    stops: tuple[float, float],
    apart: tuple[float, float],
    fmt: Format,
) -> None:
    base, size = column.y_mm + _figure_mm(fmt), _FIGURE * fmt.body_pt
    for x, figure, name in ((0.0, row.stand, "few-stand"), (stops[0], row.target, "few-target")):
        column.add(Text(column.x_mm + x, base, figure, size, Weight.BOLD, name=name))
    column.add(Text(column.x_mm + stops[1], base, row.ball, fmt.body_pt, Weight.MEDIUM))
    column.y_mm = base + apart[0]
    column.text(leaves, fmt.body_pt)
    column.space(apart[1])


def changes_scenes(page: ChangesPage, fmt: Format) -> list[Scene]:
    """Return the pages of the lines that changed, the old one above the new."""
    return list(_changes(page, fmt))


def _changes(page: ChangesPage, fmt: Format) -> Iterator[Scene]:
    column, title = titled(page.title, fmt), page.title
    bottom = fmt.height_mm - fmt.margin_mm
    column.text(page.intro, fmt.label_pt, colour=GREY)
    column.space(2.0)
    line_mm = fmt.leading * fmt.body_pt * POINT_MM
    at = _OLD_AT * column.width_mm
    for leave, old, new in page.rows:
        above = not fits(leave, at - _APART_MM, fmt.body_pt, Weight.BOLD)
        if column.y_mm + (3 if above else 2) * line_mm > bottom + 1.0:
            yield finished(column, fmt, title)
            column, title = titled(page.title, fmt), ""
        top = column.y_mm
        column.text(leave, fmt.body_pt, Weight.BOLD)
        if not above:
            column.y_mm = top
        column.row([(at, old, Align.START, Weight.REGULAR)], fmt.body_pt, colour=GREY)
        column.row([(at, new, Align.START, Weight.BOLD)], fmt.body_pt)
        column.space(1.6)
    yield finished(column, fmt, title)


def drill_scenes(page: DrillPage, fmt: Format) -> list[Scene]:
    """Return the page of what to throw next; the plan goes on to another where it must."""
    return list(_drill(page, fmt))


def _drill(page: DrillPage, fmt: Format) -> Iterator[Scene]:
    column, title = titled(page.title, fmt), page.title
    if page.rows:
        column.text(page.intro, fmt.label_pt, colour=GREY)
        column.space(1.8)
        _drill_table(column, page, fmt)
        column.space(1.6)
        column.text(page.sure, fmt.label_pt)
        column.space(2.0)
    row_mm = 1.45 * fmt.body_pt * POINT_MM
    if page.plan:
        high = (len(page.plan) + 2) * row_mm + column.height_of(page.plan_note, fmt.label_pt)
        if column.y_mm + high + _foot_mm(fmt) > fmt.height_mm - fmt.margin_mm:
            _caution(column, page.caution, fmt)
            yield finished(column, fmt, title)
            column, title = titled(page.title, fmt), ""
        _plan(column, page, row_mm, fmt)
    _caution(column, page.caution, fmt)
    yield finished(column, fmt, title)


def _foot_mm(fmt: Format) -> float:
    return fmt.leading * fmt.label_pt * POINT_MM


def _caution(column: Column, caution: str, fmt: Format) -> None:
    foot = fmt.height_mm - fmt.margin_mm
    column.add(Text(column.x_mm, foot, caution, fmt.label_pt, colour=GREY))


def _drill_table(column: Column, page: DrillPage, fmt: Format) -> None:
    """Set each line with its boxes; a leave too long to stand beside its figures stands above."""
    width = column.width_mm
    box_mm, pitch_mm = _BOX_MM * fmt.body_scale, _BOX_PITCH_MM * fmt.body_scale
    boxes_mm = max(len(row.boxes) for row in page.rows) * pitch_mm
    ball = width - boxes_mm - _APART_MM
    target = ball - max(width_mm(row.ball, fmt.body_pt) for row in page.rows) - _APART_MM
    stand = target - _APART_MM
    stand -= max(
        width_mm(page.headings[2], fmt.label_pt, Weight.MEDIUM),
        *(width_mm(row.target, fmt.body_pt, Weight.BOLD) for row in page.rows),
    )
    stops = (0.0, stand, target, ball)
    aligns = (Align.START, Align.END, Align.END, Align.END)
    headings = zip(stops, page.headings, aligns, strict=True)
    column.row([(x, t, a, Weight.MEDIUM) for x, t, a in headings], fmt.label_pt, colour=NAVY)
    column.space(0.6)
    row_mm = 1.75 * fmt.body_pt * POINT_MM
    for row in page.rows:
        room = stand - width_mm(row.stand, fmt.body_pt, Weight.BOLD) - _APART_MM
        if not fits(row.leave, room, fmt.body_pt):
            column.text(row.leave, fmt.body_pt)
            stands = ""
        else:
            stands = row.leave
        top = column.y_mm
        column.y_mm = top + (row_mm - cap_height_mm(fmt.body_pt)) / 2
        weights = (Weight.REGULAR, Weight.BOLD, Weight.BOLD, Weight.REGULAR)
        cells = zip(stops, (stands, row.stand, row.target, row.ball), aligns, weights, strict=True)
        column.row(list(cells), fmt.body_pt)
        for number in range(len(row.boxes)):
            x = column.x_mm + width - (len(row.boxes) - number) * pitch_mm
            x += pitch_mm - box_mm
            column.add(_square(x, top + (row_mm - box_mm) / 2, box_mm))
        column.y_mm = top + row_mm


def _square(x: float, y: float, side: float) -> Polyline:
    corners = ((x, y), (x + side, y), (x + side, y + side), (x, y + side))
    return Polyline(corners, _BOX, closed=True, name="box")


def _plan(column: Column, page: DrillPage, row_mm: float, fmt: Format) -> None:
    column.text(page.plan_title, fmt.body_pt, Weight.BOLD)
    column.space(0.4)
    column.row(_plan_cells(column, page.plan_headings, Weight.MEDIUM), fmt.label_pt, colour=NAVY)
    column.striped(_plan_rows(column, page), row_mm, fmt.body_pt, beyond_mm=1.0)
    column.space(1.4)
    column.text(page.plan_note, fmt.label_pt, colour=GREY)


def _plan_rows(column: Column, page: DrillPage) -> list[list[tuple[float, str, Align, Weight]]]:
    return [_plan_cells(column, row, Weight.REGULAR) for row in page.plan]


def _plan_cells(
    column: Column, texts: Sequence[str], weight: Weight
) -> list[tuple[float, str, Align, Weight]]:
    """Return a row's cells: the leave set left, what it wins bold."""
    last = len(texts) - 1
    return [
        (
            at * column.width_mm,
            text,
            Align.END if number else Align.START,
            Weight.BOLD if number == last and weight is Weight.REGULAR else weight,
        )
        for number, (at, text) in enumerate(zip(_PLAN_AT, texts, strict=True))
    ]


def practice_scene(
    page: DrillPage, notes: str, cautions: str, paper_width_mm: float, paper_height_mm: float
) -> Scene:
    """Return what to throw next on an upright paper of that size, with a box for each throw.

    What is left of the page is headed ``notes``, with lines to write on.
    """
    fmt = FormFormat(paper_width_mm, paper_height_mm)
    column = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    column.text(page.title, fmt.title_pt, Weight.BOLD, name="title")
    column.rule(RULE)
    column.space(3.0)
    if page.rows:
        column.text(page.intro, fmt.head_pt)
        column.space(4.0)
        _sheet_drill(column, page, fmt)
        column.space(2.5)
        column.text(page.sure, fmt.head_pt)
        column.space(8.0)
    if page.plan:
        _sheet_plan(column, page, fmt)
        column.space(7.0)
    foot = form_cautions(cautions, fmt)
    _sheet_notes(column, notes, foot[0].y_mm - fmt.line_mm(fmt.body_pt) - 3.0, fmt)
    column.items += foot
    return Scene(
        fmt.width_mm, fmt.height_mm, tuple(column.items), title=page.title, safe_mm=fmt.safe_mm
    )


def _sheet_notes(column: Column, notes: str, bottom_mm: float, fmt: FormFormat) -> None:
    column.text(notes, fmt.title_pt, Weight.BOLD)
    column.space(_SHEET_NOTES_MM - 2.0)
    while column.y_mm <= bottom_mm:
        column.rule(HAIRLINE)
        column.space(_SHEET_NOTES_MM)


def _sheet_drill(column: Column, page: DrillPage, fmt: FormFormat) -> None:
    stops = [at * column.width_mm for at in _SHEET_AT]
    aligns = (Align.START, Align.END, Align.END, Align.START)
    heads = zip(stops, page.headings, aligns, strict=True)
    column.row([(x, t, a, Weight.MEDIUM) for x, t, a in heads], fmt.head_pt, colour=NAVY)
    column.space(1.0)
    for number, row in enumerate(page.rows, start=1):
        _sheet_row(column, row, number, stops, fmt)


def _sheet_row(
    column: Column, row: DrillRow, number: int, stops: Sequence[float], fmt: FormFormat
) -> None:
    top = column.y_mm
    base = top + (_SHEET_ROW_MM + cap_height_mm(fmt.title_pt, Weight.BOLD)) / 2
    size = fmt.title_pt
    while size > fmt.body_pt and not fits(row.leave, 0.25 * column.width_mm, size):
        size -= 0.5
    cells = (
        (stops[0], row.leave, size, Weight.REGULAR, Align.START),
        (stops[1], row.stand, fmt.title_pt, Weight.BOLD, Align.END),
        (stops[2], row.target, fmt.title_pt, Weight.BOLD, Align.END),
        (stops[3], row.ball, fmt.head_pt, Weight.REGULAR, Align.START),
    )
    for x, text, text_pt, weight, align in cells:
        column.add(Text(column.x_mm + x, base, text, text_pt, weight, align=align))
    y = top + (_SHEET_ROW_MM - _SHEET_BOX_MM) / 2
    for place, tip in enumerate(row.boxes):
        x = column.x_mm + column.width_mm - (len(row.boxes) - place) * _SHEET_PITCH_MM
        x += _SHEET_PITCH_MM - _SHEET_BOX_MM
        column.add(_square(x, y, _SHEET_BOX_MM))
        name = f"drill.{number}.{place + 1}"
        column.add(Field(x, y, _SHEET_BOX_MM, _SHEET_BOX_MM, name, tip, box=True))
    column.y_mm = top + _SHEET_ROW_MM
    column.rule(HAIRLINE)


def _sheet_plan(column: Column, page: DrillPage, fmt: FormFormat) -> None:
    column.text(page.plan_title, fmt.title_pt, Weight.BOLD)
    column.space(2.0)
    column.row(_plan_cells(column, page.plan_headings, Weight.MEDIUM), fmt.head_pt, colour=NAVY)
    column.space(0.8)
    row_mm = 1.9 * fmt.head_pt * POINT_MM
    column.striped(_plan_rows(column, page), row_mm, fmt.head_pt, beyond_mm=1.0)
    column.space(2.5)
    column.text(page.plan_note, fmt.body_pt, colour=GREY)
