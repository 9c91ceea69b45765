"""Slips that part the stacks of a clinic, as scenes, and the mark of the strike ball."""

import re
from collections.abc import Iterable

from cardgen.cards.clinic import Slip
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.scene import Align, Item, Polyline, Scene, Text, Weight
from cardgen.drawing.theme import GREY, INK, NAVY, RULE, WHITE
from cardgen.units import POINT_MM

_SLIP_SAFE_MM, _SLIP_MARGIN_MM = 6.0, 18.0
_TAB_MM, _TAB_OVER_MM = (18.0, 21.0), 3.0  # wide and high, and how far it runs off the paper
_TABS = 12
"""Places of the tabs down an edge: so many can be told apart from the side (an assumption)."""
_NAME_CHOICES = (
    *((size, 2) for size in range(72, 49, -2)),
    *((size, 3) for size in range(48, 27, -2)),
)
_SLIP_TITLE_PT, _LABEL_PT, _FACT_PT, _PLACE_PT, _NOTE_PT = 26.0, 16.0, 64.0, 20.0, 14.0
_TAB_PT = 20.0
_SLIP_LEADING = 1.15
_SHORT_NAME_CHOICES = (
    *((size, 2) for size in range(40, 19, -2)),
    *((size, 3) for size in range(18, 9, -1)),
    (10, 2),
    (9, 1),
)
_SHORT_SAFE_MM, _SHORT_MARGIN_MM, _SHORT_GAP_MM = 3.0, 5.0, 2.0
_SHORT_PT, _SHORT_NOTE_PT = 9.0, 7.5
_ACCENT = 0.25  # of the size: what stands above a capital, as in Š
_LEAST_WIDTH_MM = 90.0
"""Of a slip with figures: less, and three of them beside each other are hard to read."""
_PIECES = re.compile(r"[\s-]+|(?<=[\u2e80-\ua95f\uf900-\uff9f])")
"""Words are whole between spaces and hyphens; kanji and kana break anywhere."""


def slip_scene(slip: Slip, width_mm_: float, height_mm_: float) -> Scene:
    """Return a slip on paper of that size: a name to see in passing, and a tab at the right edge.

    The tab steps down from slip to slip, so that a stack seen from its side shows where each part
    begins. A paper too small for all that, such as a card, has the name and whose it is.
    """
    return _whole_slip(slip, width_mm_, height_mm_) or _short_slip(slip, width_mm_, height_mm_)


def _whole_slip(slip: Slip, width_mm_: float, height_mm_: float) -> Scene | None:
    """Return the slip with its figures, or None if the paper is too small for it."""
    left, right = _SLIP_MARGIN_MM, width_mm_ - _TAB_MM[0] - 10.0
    if right - left < _LEAST_WIDTH_MM:
        return None
    column = Column(left, 0.16 * height_mm_, right - left, leading=_SLIP_LEADING)
    column.text(slip.title or slip.beside, _SLIP_TITLE_PT, colour=GREY, name="title")
    if slip.title and slip.beside:
        column.text(slip.beside, _SLIP_TITLE_PT, Weight.MEDIUM, colour=NAVY, name="group")
    column.space(6.0)
    size, lines = name_lines(slip.name, column.width_mm, _NAME_CHOICES)
    for line in lines:
        column.text(line, size, Weight.BOLD, name="name")
    column.space(8.0)
    column.rule(RULE)
    column.space(12.0)
    _facts(column, slip)
    column.text(slip.place, _PLACE_PT, Weight.MEDIUM, name="place")
    note = wrap(slip.note, column.width_mm, _NOTE_PT)
    foot = Column(left, 0.0, column.width_mm, leading=1.3)
    foot.y_mm = height_mm_ - _SLIP_MARGIN_MM - len(note) * 1.3 * _NOTE_PT * POINT_MM
    if column.y_mm > foot.y_mm:
        return None
    foot.text(slip.note, _NOTE_PT, colour=GREY, name="note")
    items = (*_tab(slip, width_mm_, height_mm_), *column.items, *foot.items)
    return Scene(width_mm_, height_mm_, items, title=slip.name, safe_mm=_SLIP_SAFE_MM)


def _short_slip(slip: Slip, width_mm_: float, height_mm_: float) -> Scene:
    """Return a slip of a card's size: the name under its group or its roster, its place, a note.

    What follows is told in small type, where there is room.
    """
    margin = _SHORT_MARGIN_MM
    room = width_mm_ - 2 * margin
    foot = Column(margin, 0.0, room)
    note_mm = foot.height_of(slip.note, _SHORT_NOTE_PT)
    foot.y_mm = height_mm_ - margin - note_mm
    note_top_mm = foot.y_mm
    foot.text(slip.note, _SHORT_NOTE_PT, colour=GREY, name="note")
    column = Column(margin, margin, room, leading=_SLIP_LEADING)
    above = shortened(slip.beside or slip.title, room, _SHORT_PT)
    column.text(above, _SHORT_PT, colour=GREY, name="title")
    column.space(_SHORT_GAP_MM)
    place_mm = _SLIP_LEADING * _SHORT_PT * POINT_MM
    left_mm = note_top_mm - _SHORT_GAP_MM - place_mm - _SHORT_GAP_MM - column.y_mm
    choices = [
        (size, most)
        for size, most in _SHORT_NAME_CHOICES
        if (most * _SLIP_LEADING + _ACCENT) * size * POINT_MM <= left_mm
    ]
    size, lines = name_lines(slip.name, room, choices or _SHORT_NAME_CHOICES[-1:])
    column.space(_ACCENT * size * POINT_MM)
    for line in lines:
        column.text(line, size, Weight.BOLD, name="name")
    column.space(_SHORT_GAP_MM)
    column.text(slip.place, _SHORT_PT, Weight.MEDIUM, name="place")
    facts = [f"{label} {figure}" for label, figure in slip.facts]
    facts_mm = sum(column.height_of(fact, _SHORT_PT) for fact in facts)
    if column.y_mm + facts_mm + _SHORT_GAP_MM <= note_top_mm:
        for fact in facts:
            column.text(fact, _SHORT_PT, name="fact")
    items = (*column.items, *foot.items)
    return Scene(width_mm_, height_mm_, items, title=slip.name, safe_mm=_SHORT_SAFE_MM)


def _tab(slip: Slip, width: float, height: float) -> list[Item]:
    """The bar at the edge with the slip's number; after the lowest place comes the highest."""
    wide, high = _TAB_MM
    places = min(slip.count, _TABS)
    step = (height - 2 * _SLIP_MARGIN_MM - high) / max(places - 1, 1)
    top = _SLIP_MARGIN_MM + (slip.number - 1) % places * step
    left, right = width - wide, width + _TAB_OVER_MM
    corners = ((left, top), (right, top), (right, top + high), (left, top + high))
    text = f"{slip.number}"
    room = wide - _SLIP_SAFE_MM - 2.0
    size = min(_TAB_PT, room / width_mm(text, 1.0, Weight.BOLD))
    base = top + (high + cap_height_mm(size, Weight.BOLD)) / 2
    middle = left + 1.0 + room / 2
    return [
        Polyline(corners, fill=GREY, closed=True, name="tab"),
        Text(middle, base, text, size, Weight.BOLD, WHITE, Align.MIDDLE, "tab-number"),
    ]


def _facts(column: Column, slip: Slip) -> None:
    """Set the figures beside each other, each below its label."""
    pitch = column.width_mm / 3
    top = column.y_mm
    high = cap_height_mm(_FACT_PT, Weight.BOLD)
    for number, (label, figure) in enumerate(slip.facts):
        x = column.x_mm + number * pitch
        size = min(_LABEL_PT, (pitch - 4.0) / width_mm(label, 1.0, Weight.MEDIUM))
        base = top + cap_height_mm(_LABEL_PT, Weight.MEDIUM)
        column.add(Text(x, base, label, size, Weight.MEDIUM, NAVY, name="label"))
        large = min(_FACT_PT, (pitch - 4.0) / width_mm(figure, 1.0, Weight.BOLD))
        column.add(Text(x, base + 6.0 + high, figure, large, Weight.BOLD, name="figure-fact"))
    column.space(cap_height_mm(_LABEL_PT, Weight.MEDIUM) + 6.0 + high + 16.0)


def name_lines(
    name: str, room_mm: float, choices: Iterable[tuple[float, int]]
) -> tuple[float, tuple[str, ...]]:
    """Return a size in points and the lines of a bold name in it, the first of ``choices`` that do.

    A choice is a size and how many lines it may take. No word is broken but at its hyphens; a name
    that does not even go in at the last of them is cut short.
    """
    lines: tuple[str, ...] = ()
    for size, most in choices:
        lines = wrap(name, room_mm, size, Weight.BOLD)
        pieces = (f"{piece}-" for piece in _PIECES.split(name))
        if len(lines) <= most and all(width_mm(x, size, Weight.BOLD) <= room_mm for x in pieces):
            return size, lines
    if len(lines) > most:
        last = lines[most - 1]
        while last and width_mm(f"{last}…", size, Weight.BOLD) > room_mm:
            last = last[:-1].rstrip()
        lines = (*lines[: most - 1], f"{last}…")
    return size, lines


def strike_mark(x_mm: float, base_mm: float, size_pt: float) -> Polyline:
    """Return the mark of the strike ball, as high as capitals of that size: a wedge on its side."""
    high = 0.86 * cap_height_mm(size_pt, Weight.BOLD)
    corners = (
        (x_mm, base_mm),
        (x_mm, base_mm - high),
        (x_mm + 0.8 * high, base_mm - high / 2),
    )
    return Polyline(corners, fill=INK, closed=True, name="strike-mark")


def mark_mm(size_pt: float) -> float:
    """Return how wide the mark of the strike ball is with the space behind it."""
    return 1.05 * cap_height_mm(size_pt, Weight.BOLD)
