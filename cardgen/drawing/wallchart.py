"""The wall chart of a group: its students' lines for the single pins, a row for each.

It is laid out as wide as A3 on its side; other sizes are the same made larger or smaller.
"""

from cardgen.cards.clinic import CHART_PUPILS, Call, WallChart, WallRow
from cardgen.drawing.cautions import cautions_at_foot
from cardgen.drawing.clinic import name_lines, strike_mark
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.scene import (
    Align,
    Disc,
    Group,
    Item,
    Line,
    Polyline,
    Scene,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import GREY, HAIRLINE, INK, MIST, NAVY, OPEN_PIN, RULE
from cardgen.lane.rack import PIN_NUMBERS, SPACING_M, pin_x_m, pin_y_m
from cardgen.units import POINT_MM

WIDTH_MM = 420.0  # A3 on its side, ISO 216
FIGURE_PT = 26.0
"""Figures of 6.3 mm are seen under 16 minutes of arc from 1.35 m, from 2 m under twice the 5 that
a normal eye resolves (derived); halves make them smaller."""
_SAFE_MM, _MARGIN_MM = 8.0, 12.0
_TITLE_PT, _BESIDE_PT, _NAME_PT, _HAND_PT, _PIN_PT = 44.0, 26.0, 20.0, 13.0, 18.0
_KEY_PT, _FOOT_PT = 14.0, 12.0
_NAME_CHOICES = ((_NAME_PT, 1), (18.0, 1), (16.0, 1), (15.0, 2), (14.0, 2), (13.0, 2), (12.0, 2))
_NAMES_MM = 74.0
_RACK_MM = 3.6  # from pin to pin in the little racks above the columns
_DOT_MM, _SOLID_MM = 0.8, 1.5
_ROW_MM = (20.0, 26.0)  # at most when there are many and few rows
_APART_MM = 2.5  # two texts beside each other, at least
_SLANT = 0.18  # of a figure's size, on each side of the stroke between stand and target
_LEADING = 1.3


def wall_scene(chart: WallChart, width_mm_: float, height_mm_: float) -> Scene:
    """Return the chart on a sheet of that size, laid on its side."""
    wide, high = max(width_mm_, height_mm_), min(width_mm_, height_mm_)
    scale = wide / WIDTH_MM
    title = f"{chart.title}, {chart.beside}" if chart.beside else chart.title
    place = Transform(scale, 0.0, 0.0, scale)
    return Scene(
        wide,
        high,
        (Group(tuple(_items(chart, high / scale)), "wall-chart", place),),
        title=title,
        safe_mm=scale * _SAFE_MM,
    )


def _items(chart: WallChart, height: float) -> list[Item]:
    left, right = _MARGIN_MM, WIDTH_MM - _MARGIN_MM
    base = _MARGIN_MM + cap_height_mm(_TITLE_PT, Weight.BOLD)
    used = width_mm(chart.title, _TITLE_PT, Weight.BOLD) + 12.0
    folio_mm = 25.0 if chart.folio else 0.0
    beside = shortened(chart.beside, right - left - used - folio_mm, _BESIDE_PT, Weight.MEDIUM)
    items: list[Item] = [
        Text(left, base, chart.title, _TITLE_PT, Weight.BOLD, name="title"),
        Text(left + used, base, beside, _BESIDE_PT, Weight.MEDIUM, NAVY, name="group"),
        Text(right, base, chart.folio, _BESIDE_PT, colour=GREY, align=Align.END, name="folio"),
        Line(left, base + 4.5, right, base + 4.5, RULE),
    ]
    foot, foot_top = _foot(chart, left, right, height - _MARGIN_MM)
    items += foot
    pitch = (right - left - _NAMES_MM) / len(chart.pins)
    columns = [left + _NAMES_MM + (k + 0.5) * pitch for k in range(len(chart.pins))]
    top = base + 9.0
    top = _heads(items, chart, columns, pitch, left, top)
    room = foot_top - 4.0 - top
    few, many = _ROW_MM[1], _ROW_MM[0]
    high = min(room / len(chart.rows), few if len(chart.rows) <= CHART_PUPILS // 2 else many)
    for number, row in enumerate(chart.rows):
        y = top + number * high
        if number % 2 == 0:
            corners = ((left, y), (right, y), (right, y + high), (left, y + high))
            items.append(Polyline(corners, fill=MIST, closed=True, name="stripe"))
        items += _student(row, left, y, high)
        size = _figure_pt(row, pitch)
        for x, pin in zip(columns, chart.pins, strict=True):
            items += _cell(row.calls[pin - 1], x, y + high / 2, size)
    bottom = top + len(chart.rows) * high
    items += [Line(left, y, right, y, HAIRLINE) for y in (top, bottom)]
    return items


def _heads(
    items: list[Item], chart: WallChart, columns: list[float], pitch: float, left: float, top: float
) -> float:
    """Set the little racks and the names of the pins, and return where the rows begin."""
    rack_mm = 3 * _RACK_MM * 3**0.5 / 2
    size = min(
        _PIN_PT,
        *((pitch - _APART_MM) / width_mm(name, 1.0, Weight.BOLD) for name in chart.names),
    )
    base = top + 2 * _SOLID_MM + rack_mm + 3.0 + cap_height_mm(_PIN_PT, Weight.BOLD)
    for x, pin, name in zip(columns, chart.pins, chart.names, strict=True):
        items += _rack(pin, x, top + _SOLID_MM)
        items.append(Text(x, base, name, size, Weight.BOLD, NAVY, Align.MIDDLE, "pin-name"))
    items.append(Text(left + 3.0, base, chart.student, _PIN_PT, Weight.BOLD, NAVY, name="heading"))
    return base + 3.5


def _rack(pin: int, x_mm: float, top_mm: float) -> list[Item]:
    """The rack as the bowler sees it, with the pin that stands solid."""
    scale = _RACK_MM / SPACING_M
    back = max(pin_y_m(number) for number in PIN_NUMBERS)
    items: list[Item] = []
    for number in PIN_NUMBERS:
        x, y = x_mm + scale * pin_x_m(number), top_mm + scale * (back - pin_y_m(number))
        if number == pin:
            items.append(Disc(x, y, _SOLID_MM, fill=NAVY, name="standing-pin"))
        else:
            items.append(Disc(x, y, _DOT_MM, OPEN_PIN, name="fallen-pin"))
    return items


def _student(row: WallRow, left: float, top: float, high: float) -> list[Item]:
    """A name on one line or, smaller, on two, and the hand below it."""
    room = _NAMES_MM - 6.0
    size, lines = name_lines(row.name, room, _NAME_CHOICES)
    hand_pt = _HAND_PT if len(lines) == 1 else 0.85 * _HAND_PT
    capital, hand = cap_height_mm(size, Weight.BOLD), cap_height_mm(hand_pt)
    step, gap = 1.15 * size * POINT_MM, 2.8 if len(lines) == 1 else 2.0
    used = capital + (len(lines) - 1) * step + gap + hand
    base = top + (high - used) / 2 + capital
    items: list[Item] = [
        Text(left + 3.0, base + k * step, line, size, Weight.BOLD, name="student")
        for k, line in enumerate(lines)
    ]
    base += (len(lines) - 1) * step + gap + hand
    items.append(Text(left + 3.0, base, row.hand, hand_pt, colour=GREY, name="hand"))
    return items


def _figure_pt(row: WallRow, pitch: float) -> float:
    """Return the size of a student's figures: halves make them smaller."""
    return min(FIGURE_PT, (pitch - _APART_MM) / max(_call_mm(call, 1.0) for call in row.calls))


def _call_mm(call: Call, size: float) -> float:
    stand, _, target = call.figures.partition("/")
    mark = _mark_mm(size) if call.strike else 0.0
    between = _between_mm(size) if target else 0.0
    return mark + sum(width_mm(part, size, Weight.BOLD) for part in (stand, target)) + between


def _between_mm(size: float) -> float:
    return width_mm("/", size) + 2 * _SLANT * 0.3 * size * POINT_MM


def _mark_mm(size: float) -> float:
    return 0.8 * cap_height_mm(size, Weight.BOLD)


def _cell(call: Call, middle: float, level: float, size: float) -> list[Item]:
    """A call: stand, stroke, target, and before them the mark of the strike ball."""
    base = level + cap_height_mm(size, Weight.BOLD) / 2
    stand, _, target = call.figures.partition("/")
    if not target:
        return [Text(middle, base, stand, size, colour=GREY, align=Align.MIDDLE, name="none")]
    x = middle - _call_mm(call, size) / 2
    items: list[Item] = []
    if call.strike:
        items.append(strike_mark(x, base, 0.72 * size))
        x += _mark_mm(size)
    items.append(Text(x, base, stand, size, Weight.BOLD, name="figure-stand"))
    x += width_mm(stand, size, Weight.BOLD)
    between = _between_mm(size)
    items.append(Text(x + between / 2, base, "/", size, Weight.REGULAR, INK, Align.MIDDLE))
    items.append(Text(x + between, base, target, size, Weight.BOLD, name="figure-target"))
    return items


def _foot(chart: WallChart, left: float, right: float, y: float) -> tuple[list[Item], float]:
    """Return the key and the cautions, set upwards from ``y``, and their top."""
    line_mm = _LEADING * _FOOT_PT * POINT_MM
    cautions = cautions_at_foot(chart.cautions, left, y, right - left, _FOOT_PT, line_mm)
    items: list[Item] = [*cautions]
    y = cautions[0].y_mm - line_mm - 1.5
    marked = 5.0 + width_mm(chart.strike_key, _KEY_PT) + 8.0
    for line in reversed(wrap(chart.note, right - left - marked, _KEY_PT)):
        items.append(Text(left + marked, y, line, _KEY_PT, name="note"))
        y -= _LEADING * _KEY_PT * POINT_MM
    y += _LEADING * _KEY_PT * POINT_MM
    items.append(strike_mark(left, y, _KEY_PT))
    items.append(Text(left + 5.0, y, chart.strike_key, _KEY_PT, name="note"))
    return items, y - cap_height_mm(_KEY_PT)
