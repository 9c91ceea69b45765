"""Every page of a booklet as scenes; what does not fit goes on to another page, never smaller."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from cardgen.cards.assumptions import Assumption, Assumptions
from cardgen.cards.booklet import (
    Advice,
    Back,
    Booklet,
    Cover,
    Face,
    Guide,
    Notes,
    Opener,
    Page,
    Tally,
)
from cardgen.cards.changes import ChangesPage
from cardgen.cards.drill import DrillPage
from cardgen.cards.fewlines import FewPage
from cardgen.cards.strike import FeetTable, Moves
from cardgen.cards.table import Row, Table
from cardgen.drawing.branding import at_foot, signed
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.clinic import name_lines
from cardgen.drawing.column import Column, fits
from cardgen.drawing.fonts import cap_height_mm, width_mm, wrap
from cardgen.drawing.guide import guide_scenes
from cardgen.drawing.knowpages import changes_scenes, drill_scenes, few_scenes
from cardgen.drawing.scene import Align, Disc, Item, Line, Polyline, Scene, Stroke, Text, Weight
from cardgen.drawing.shapes import PIN_WIDTH, smiling_pin
from cardgen.drawing.stacked import box
from cardgen.drawing.strikepages import feet_scenes, moves_scenes
from cardgen.drawing.theme import (
    EDGE,
    GREY,
    HAIRLINE,
    MIST,
    NAVY,
    SKY,
    Format,
)
from cardgen.drawing.titled import finished, titled
from cardgen.templating.template import Template
from cardgen.units import POINT_MM

_NAMES = (1.6, 1.3, 1.0)  # of a title's size: a bowler's name on the cover
_NAME_LINES = 3
_UNDER_HEADINGS_MM, _ABOVE_NOTES_MM = 0.6, 1.8  # of the table
_STAND_AT = 0.46  # of the table's width
_PARAGRAPHS_APART_MM = (1.3, 0.6)  # the closer where it saves a page
_APART_MM = 2.0  # at least, between two texts of a line
_COVER_PAD_MM = 3.0
_COVER_PINS = (0.62, 0.8, 1.0, 0.8, 0.62)  # how high, in parts of the highest
_PIN_SHARE, _LEAST_PIN_MM = 0.27, 8.0  # of the cover's height, at most, and what is still a pin
NO_TEMPLATE = Template()
"""The plain design, and no centre."""


def booklet_scenes(booklet: Booklet, fmt: Format, template: Template = NO_TEMPLATE) -> list[Scene]:
    """Return the booklet's pages in order, numbered from the second on.

    The last page, the cautions, also tells of the template's centre.

    A card's front is a left-hand page, so that its back lies beside it; where it would fall on a
    right-hand one, a page for notes comes before.
    """
    scenes: list[Scene] = []
    for page in booklet.pages:
        if isinstance(page, Face) and len(scenes) % 2 == 0:
            scenes += page_scenes(booklet.notes, fmt, template)
        made = page_scenes(page, fmt, template)
        if page is booklet.pages[-1]:
            made = signed(made, template.centre, fmt, facts=True)
        scenes += made
    return scenes[:1] + [_numbered(scene, n, fmt) for n, scene in enumerate(scenes[1:], start=2)]


def page_scenes(page: Page, fmt: Format, template: Template = NO_TEMPLATE) -> list[Scene]:
    """Return the scenes of one page: one, or more where its content overflows."""
    design = template.design
    match page:
        case Cover():
            return [_cover(page, fmt, template)]
        case FewPage():
            return few_scenes(page, fmt)
        case ChangesPage():
            return changes_scenes(page, fmt)
        case Guide():
            return guide_scenes(page, fmt)
        case Opener():
            return list(_opener(page, fmt))
        case Face():
            return [face_scene(page.card, fmt, design)]
        case Back():
            return [back_scene(page.card, fmt, design)]
        case Advice():
            return list(_advice(page, fmt))
        case Table():
            return list(_table(page, fmt))
        case Assumptions():
            return list(_assumptions(page, fmt))
        case DrillPage():
            return drill_scenes(page, fmt)
        case Tally():
            return list(_tally(page, fmt))
        case Moves():
            return moves_scenes(page, fmt)
        case FeetTable():
            return feet_scenes(page, fmt)
        case Notes():
            return [_notes(page, fmt)]


def _numbered(scene: Scene, number: int, fmt: Format) -> Scene:
    """Print the page's number in the outer corner: right on odd pages, left on even ones."""
    right = number % 2 == 1
    x = fmt.width_mm - fmt.margin_mm if right else fmt.margin_mm
    y = fmt.height_mm - fmt.safe_mm - 0.2
    align = Align.END if right else Align.START
    folio = Text(x, y, str(number), fmt.tick_pt, Weight.REGULAR, GREY, align, "folio")
    return replace(scene, items=(*scene.items, folio))


def _cover(cover: Cover, fmt: Format, template: Template) -> Scene:
    """The front page, with the centre at its foot and above that, where there is room, arrows."""
    blocks = template.design.pattern == "blocks"
    page = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    pad = _COVER_PAD_MM * max(1.0, fmt.mark) if blocks else 0.0
    title = Column(fmt.margin_mm + pad, fmt.margin_mm, page.width_mm - 2 * pad, leading=fmt.leading)
    title.space(pad if blocks else 0.04 * fmt.inner_height_mm)
    title.text(cover.title, fmt.title_pt, Weight.MEDIUM, colour=NAVY)
    title.space(1.5)
    sizes = [(share * fmt.title_pt, _NAME_LINES) for share in _NAMES]
    size, lines = name_lines(cover.bowler, title.width_mm, sizes)
    for line in lines:
        title.text(line, size, Weight.BOLD, name="title")
    if blocks:
        height = title.y_mm + 0.2 * pad - fmt.margin_mm
        page.add(box(fmt.margin_mm, fmt.margin_mm, page.width_mm, height, fmt, template.design))
        title.space(pad)
    page.items += title.items
    page.y_mm = title.y_mm
    page.space(0.03 * fmt.inner_height_mm)
    for fact in cover.facts:
        page.text(fact, fmt.body_pt)
    if cover.date:
        page.text(cover.date, fmt.body_pt, colour=GREY)
    foot = fmt.height_mm - fmt.margin_mm
    placed = at_foot(template.centre, fmt, facts=True)
    if placed is None:
        foot -= 0.05 * fmt.inner_height_mm
    else:
        foot = placed.top_mm - 0.03 * fmt.inner_height_mm
        page.items += placed.items
    if blocks:
        page.items += _pins(fmt, page.y_mm, foot)
    else:
        arrows = list(_chevron(fmt, foot))
        top = min(y for arrow in arrows for _, y in arrow.points_mm)
        # A centre's lines may need the room of the arrows, which say nothing.
        page.items += arrows if placed is None or top > page.y_mm else []
    return finished(page, fmt, cover.title)


def _chevron(fmt: Format, base: float) -> Iterator[Polyline]:
    """The arrows of a lane across the foot of the cover, as a bowler sees them."""
    pitch = fmt.inner_width_mm / 6.6
    half, high = 0.20 * pitch, 0.95 * pitch
    for step in range(-3, 4):
        x = fmt.width_mm / 2 + step * pitch
        tip = base - high - (3 - abs(step)) * 0.38 * pitch
        corners = ((x - half, tip + high), (x, tip), (x + half, tip + high))
        yield Polyline(corners, fill=SKY if step else NAVY, closed=True, name="cover-arrow")


def _pins(fmt: Format, top: float, foot: float) -> list[Item]:
    """Pins in a row across the foot of the cover, as high as there is room for."""
    high = min(_PIN_SHARE * fmt.inner_height_mm, foot - top - 2.0)
    if high < _LEAST_PIN_MM:
        return []
    pitch = 1.25 * PIN_WIDTH * high
    middle = len(_COVER_PINS) // 2
    return [
        smiling_pin(
            fmt.width_mm / 2 + (number - middle) * pitch,
            foot - share * high,
            share * high,
            smiles=number == middle,
        )
        for number, share in enumerate(_COVER_PINS)
    ]


def _notes(notes: Notes, fmt: Format) -> Scene:
    """A page to write on."""
    page = titled(notes.title, fmt)
    pitch = 2.4 * fmt.body_pt * POINT_MM
    bottom = fmt.height_mm - fmt.margin_mm
    page.space(pitch - 2.4)
    while page.y_mm <= bottom:
        page.rule(HAIRLINE)
        page.space(pitch)
    return finished(page, fmt, "")


def _advice(advice: Advice, fmt: Format) -> Iterator[Scene]:
    """Paragraphs on as few pages as can be, each as full as the others."""
    pages, apart_mm = min(
        (len(list(_filled(advice, advice.paragraphs, fmt, apart_mm))), -apart_mm)
        for apart_mm in _PARAGRAPHS_APART_MM
    )
    rest, title = list(advice.paragraphs), advice.title
    while rest or title:
        share = math.ceil(len(rest) / pages) if pages > 1 else math.inf
        page, count = next(_filled(advice, rest, fmt, -apart_mm, share))
        yield finished(page, fmt, title)
        rest, title, pages = rest[count:], "", max(1, pages - 1)


def _filled(
    advice: Advice,
    paragraphs: Sequence[str],
    fmt: Format,
    apart_mm: float,
    most: float = math.inf,
) -> Iterator[tuple[Column, int]]:
    """Yield pages filled with paragraphs, at ``most`` so many on each, and how many have gone."""
    bottom = fmt.height_mm - fmt.margin_mm
    indent = 3.0 * fmt.body_scale if advice.points else 0.0
    page, count = titled(advice.title, fmt), 0
    for text in paragraphs:
        lines = wrap(text, page.width_mm - indent, fmt.body_pt)
        full = page.y_mm + len(lines) * fmt.leading * fmt.body_pt * POINT_MM > bottom + 1.0
        if count and (full or count >= most):
            yield page, count
            page, count = titled(advice.title, fmt), 0
        if advice.points:
            middle = page.y_mm + cap_height_mm(fmt.body_pt) / 2
            x, radius = page.x_mm + 0.8 * fmt.body_scale, 0.7 * fmt.body_scale
            page.add(Disc(x, middle, radius, fill=NAVY))
        page.text(text, fmt.body_pt, indent_mm=indent)
        page.space(apart_mm)
        count += 1
    yield page, count


def _opener(opener: Opener, fmt: Format) -> Iterator[Scene]:
    """A section's opening: how to play such leaves, and the list of those that follow.

    A leave too long to stand beside its call stands above it.
    """
    row_mm = 1.6 * fmt.body_pt * POINT_MM
    page, title = titled(opener.title, fmt), opener.title
    page.text(opener.intro, fmt.body_pt)
    page.space(2.4)
    widest_mm = max((width_mm(chance, fmt.body_pt) for *_, chance in opener.rows), default=0.0)
    call_at = min(0.64 * page.width_mm, page.width_mm - widest_mm - _APART_MM)
    for name, call, chance in opener.rows:
        room = call_at - width_mm(call, fmt.body_pt) - _APART_MM
        above = not fits(name, room, fmt.body_pt, Weight.BOLD)
        if page.y_mm + (2 if above else 1) * row_mm > fmt.height_mm - fmt.margin_mm:
            yield finished(page, fmt, title)
            page, title = titled(opener.title, fmt), ""
        name_cell = (0.0, name, Align.START, Weight.BOLD)
        figures = [
            (call_at, call, Align.END, Weight.REGULAR),
            (page.width_mm, chance, Align.END, Weight.REGULAR),
        ]
        for cells in ([name_cell], figures) if above else ([name_cell, *figures],):
            top = page.y_mm
            page.row(cells, fmt.body_pt)
            page.y_mm = top + row_mm
    yield finished(page, fmt, title)


def _table(table: Table, fmt: Format) -> Iterator[Scene]:
    """The chart: name at the left, figures set right under their headings.

    A leave too long to stand beside its figures stands above them.
    """
    row_mm = 1.7 * fmt.body_pt * POINT_MM
    page, title = titled(table.title, fmt), table.title
    room = fmt.height_mm - fmt.margin_mm - page.y_mm - _around_rows_mm(page, table, fmt)
    highs = [row_mm * (2 if _stands_above(page, table, row, fmt) else 1) for row in table.rows]
    rest = list(table.rows)
    for count in _shares(highs, room):
        page = titled(table.title, fmt)
        _table_rows(page, table, rest[:count], row_mm, fmt)
        rest = rest[count:]
        yield finished(page, fmt, title)
        title = ""


def _shares(highs_mm: Sequence[float], room_mm: float) -> list[int]:
    """Return how many rows go on each page: as few pages as can be, and none nearly empty."""

    def filled(most: float) -> list[int]:
        counts, high = [0], 0.0
        for row in highs_mm:
            if counts[-1] and (high + row > room_mm or counts[-1] >= most):
                counts.append(0)
                high = 0.0
            counts[-1] += 1
            high += row
        return counts

    full = filled(math.inf)
    even = filled(math.ceil(len(highs_mm) / len(full)))
    return min(full, even, key=lambda counts: (len(counts), max(counts)))


def _leave_cell(table: Table, row: Row) -> str:
    return f"{row.leave} {table.own_mark}" if row.own else row.leave


def _table_stops(page: Column, table: Table, fmt: Format) -> tuple[float, ...]:
    """Return where columns begin at the left, or end that are set right."""
    width = page.width_mm

    def room(number: int, cells: Iterable[str], weight: Weight) -> float:
        heading = width_mm(table.headings[number], fmt.label_pt, Weight.MEDIUM)
        return max(heading, *(width_mm(cell, fmt.body_pt, weight) for cell in cells))

    chances = room(4, (row.chance for row in table.rows), Weight.REGULAR)
    balls = room(3, (row.ball for row in table.rows), Weight.REGULAR)
    ball = min(0.71 * width, width - chances - _APART_MM - balls)
    target = ball - 0.07 * width
    targets = room(2, (row.target for row in table.rows), Weight.BOLD)
    return (0.0, min(_STAND_AT * width, target - targets - _APART_MM), target, ball, width)


def _stands_above(page: Column, table: Table, row: Row, fmt: Format) -> bool:
    stand = width_mm(row.stand, fmt.body_pt, Weight.BOLD)
    room = _table_stops(page, table, fmt)[1] - stand - _APART_MM
    return not fits(_leave_cell(table, row), room, fmt.body_pt)


def _around_rows_mm(page: Column, table: Table, fmt: Format) -> float:
    """Return the height of all but the rows: the headings and the notes below."""
    heading = fmt.leading * fmt.label_pt * POINT_MM + _UNDER_HEADINGS_MM
    notes = sum(page.height_of(note, fmt.label_pt) for note in table.notes)
    return heading + _ABOVE_NOTES_MM + notes


def _table_rows(
    page: Column, table: Table, rows: Sequence[Row], row_mm: float, fmt: Format
) -> None:
    width = page.width_mm
    stops = _table_stops(page, table, fmt)
    aligns = (Align.START, Align.END, Align.END, Align.START, Align.END)
    page.row(
        [
            (x, text, align, Weight.MEDIUM)
            for x, text, align in zip(stops, table.headings, aligns, strict=True)
        ],
        fmt.label_pt,
        colour=NAVY,
    )
    page.space(_UNDER_HEADINGS_MM)
    high = cap_height_mm(fmt.body_pt)
    for index, row in enumerate(rows):
        above = _stands_above(page, table, row, fmt)
        top = page.y_mm
        bottom = top + (2 * row_mm if above else row_mm)
        if index % 2 == 0:
            corners = (
                (page.x_mm - 1, top),
                (page.x_mm + width + 1, top),
                (page.x_mm + width + 1, bottom),
                (page.x_mm - 1, bottom),
            )
            page.add(Polyline(corners, fill=MIST, closed=True))
        cells = (_leave_cell(table, row), row.stand, row.target, row.ball, row.chance)
        weights = (Weight.REGULAR, Weight.BOLD, Weight.BOLD, Weight.REGULAR, Weight.REGULAR)
        placed = list(zip(stops, cells, aligns, weights, strict=True))
        for line in (placed[:1], placed[1:]) if above else (placed,):
            page.y_mm = top + (row_mm - high) / 2
            page.row(line, fmt.body_pt)
            top += row_mm
        page.y_mm = bottom
    page.space(_ABOVE_NOTES_MM)
    for note in table.notes:
        page.text(note, fmt.label_pt, colour=GREY)


def _assumptions(content: Assumptions, fmt: Format) -> Iterator[Scene]:
    """Each number with its origin; a default is set apart by weight and by its word."""
    size, title = fmt.label_pt, content.title
    bottom = fmt.height_mm - fmt.margin_mm
    line_mm = fmt.leading * size * POINT_MM
    page = titled(content.title, fmt)
    page.text(content.intro, size, colour=GREY)
    page.space(1.8)
    rows = [row for _, section in content.sections for row in section]
    origin_mm = max(width_mm(row.origin, size, Weight.MEDIUM) for row in rows)
    for heading, section in content.sections:
        # A section that does not fit whole begins a new page.
        lines = 1 + sum(len(_rows_of(page, row, origin_mm, size)) for row in section)
        if page.y_mm + line_mm * lines > bottom + 1.0:
            yield finished(page, fmt, title)
            page, title = titled(content.title, fmt), ""
        page.text(heading, size, Weight.MEDIUM, colour=NAVY)
        for row in section:
            _assumption(page, row, origin_mm, size)
        page.space(2.2)
    for note in content.notes:
        if page.y_mm + page.height_of(note, size) > bottom + 1.0:
            yield finished(page, fmt, title)
            page, title = titled(content.title, fmt), ""
        page.text(note, size)
        page.space(1.2)
    yield finished(page, fmt, title)


def _rows_of(
    page: Column, row: Assumption, origin_mm: float, size: float
) -> list[tuple[str, str, str]]:
    """Return label, value and origin on one line or, where they are too long, on several."""
    label, value = width_mm(row.label, size), width_mm(row.value, size)
    if label + value + origin_mm + 2 * _APART_MM <= page.width_mm:
        return [(row.label, row.value, row.origin)]
    labels = wrap(row.label, page.width_mm, size)
    *values, last = wrap(row.value, page.width_mm - origin_mm - _APART_MM, size) or ("",)
    return [(x, "", "") for x in labels] + [("", x, "") for x in values] + [("", last, row.origin)]


def _assumption(page: Column, row: Assumption, origin_mm: float, size: float) -> None:
    weight = Weight.REGULAR if row.is_default else Weight.MEDIUM
    for label, value, origin in _rows_of(page, row, origin_mm, size):
        cells = (
            (0.0, label, Align.START, Weight.REGULAR),
            (page.width_mm - origin_mm - _APART_MM, value, Align.END, Weight.REGULAR),
            (page.width_mm, origin, Align.END, weight),
        )
        page.row([cell for cell in cells if cell[1]], size)


def _tally(tally: Tally, fmt: Format) -> Iterator[Scene]:
    """Ten circles for each leave, in two fives."""
    rest, title = list(tally.leaves), tally.title
    row_mm = 2.1 * fmt.body_pt * POINT_MM
    counts: list[int] = []
    while rest or title:
        page = titled(tally.title, fmt)
        page.text(tally.intro, fmt.label_pt, colour=GREY)
        page.space(2.4)
        page.row([(0.0, tally.date, Align.START, Weight.MEDIUM)], fmt.label_pt, colour=NAVY)
        at = page.x_mm + width_mm(tally.date, fmt.label_pt, Weight.MEDIUM) + 2.0
        under = page.y_mm - 0.9
        page.add(Line(at, under, page.x_mm + page.width_mm, under, HAIRLINE))
        page.space(2.0)
        room = fmt.height_mm - fmt.margin_mm - page.y_mm
        counts = counts or _shares([row_mm] * len(rest), room)
        count = counts.pop(0)
        _tally_rows(page, rest[:count], row_mm, fmt)
        rest = rest[count:]
        yield finished(page, fmt, title)
        title = ""


def _tally_rows(page: Column, leaves: Sequence[str], row_mm: float, fmt: Format) -> None:
    names_mm = max(width_mm(name, fmt.body_pt) for name in leaves) + 2.5
    pitch = min(4.4 * fmt.body_scale, (page.width_mm - names_mm) / 10.6)
    ring = Stroke(GREY, EDGE.width_mm)
    high = cap_height_mm(fmt.body_pt)
    first = page.x_mm + page.width_mm - 9.6 * pitch - 0.4 * pitch
    for name in leaves:
        top = page.y_mm
        page.y_mm = top + (row_mm - high) / 2
        page.row([(0.0, name, Align.START, Weight.REGULAR)], fmt.body_pt)
        for throw in range(10):
            x = first + throw * pitch + (0.6 * pitch if throw >= 5 else 0.0)
            page.add(Disc(x, top + row_mm / 2, 0.36 * pitch, ring, name="tally"))
        page.y_mm = top + row_mm
