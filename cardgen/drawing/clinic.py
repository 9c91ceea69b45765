"""Slips that part the stacks of a clinic, as scenes, and the mark of the strike ball."""

import re
from collections.abc import Iterable

from cardgen.cards.clinic import Slip
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, width_mm, wrap
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
_PIECES = re.compile(r"[\s-]+|(?<=[\u2e80-\ua95f\uf900-\uff9f])")
"""Words are whole between spaces and hyphens; kanji and kana break anywhere."""


def slip_scene(slip: Slip, width_mm_: float, height_mm_: float) -> Scene:
    """Return a slip on paper of that size: a name to see in passing, and a tab at the right edge.

    The tab steps down from slip to slip, so that a stack seen from its side shows where each part
    begins.
    """
    left, right = _SLIP_MARGIN_MM, width_mm_ - _TAB_MM[0] - 10.0
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
    foot.text(slip.note, _NOTE_PT, colour=GREY, name="note")
    items = (*_tab(slip, width_mm_, height_mm_), *column.items, *foot.items)
    return Scene(width_mm_, height_mm_, items, title=slip.name, safe_mm=_SLIP_SAFE_MM)


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
