"""The poster of the single pins: their lanes side by side, and below each its figures.

It is laid out once, for A3 on its side; the larger sizes are the same scene made larger, for all
sizes of the A series are alike.
"""

from dataclasses import replace

from cardgen.cards.handout import Poster, PosterLane
from cardgen.drawing.branding import SheetFoot, along_foot
from cardgen.drawing.cautions import cautions_at_foot
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.scene import Align, Group, Item, Line, Polyline, Scene, Text, Transform, Weight
from cardgen.drawing.theme import GREY, HAIRLINE, ID_1, INK, MIST, NAVY, RULE
from cardgen.templating.template import Centre
from cardgen.units import POINT_MM

WIDTH_MM, HEIGHT_MM = 420.0, 297.0  # A3 on its side, ISO 216
SAFE_MM = 8.0
FIGURE_PT = 42.0
"""Read from two metres: digits of 10 mm are seen there under a third of a degree (derived)."""
_MARGIN_MM = 12.0
_TITLE_PT, _OWNER_PT, _NAME_PT, _REST_PT, _NOTE_PT, _FOOT_PT = 44.0, 20.0, 26.0, 22.0, 15.0, 12.0
_LABEL_PT = 16.0
_LABELS_MM = 23.0  # the column of the rows' labels
_LANE_SCALE = 1.4
_LANE_MM = 31.0
_FMT = replace(ID_1, lane_width_mm=_LANE_MM / _LANE_SCALE)
_PINS = 10
_BAND_MM, _REST_MM = 17.0, 11.5  # rows of figures, and of the rest
_APART_MM = 2.5  # two texts beside each other, at least
_LEADING = 1.3
_LOGO_MM, _ABOVE_CENTRE_MM = 13.0, 4.0
_NO_CENTRE = Centre()


def poster_scene(
    poster: Poster, width_mm_: float, height_mm_: float, centre: Centre = _NO_CENTRE
) -> Scene:
    """Return the poster on a sheet of that size, its long edge level, a centre along its foot."""
    scale = min(width_mm_ / WIDTH_MM, height_mm_ / HEIGHT_MM)
    place = Transform(
        scale,
        0.0,
        0.0,
        scale,
        (width_mm_ - scale * WIDTH_MM) / 2,
        (height_mm_ - scale * HEIGHT_MM) / 2,
    )
    return Scene(
        width_mm_,
        height_mm_,
        (Group(tuple(_items(poster, centre)), "poster", place),),
        title=poster.title,
        safe_mm=SAFE_MM,
    )


def _items(poster: Poster, centre: Centre) -> list[Item]:
    left, right = _MARGIN_MM, WIDTH_MM - _MARGIN_MM
    base = _MARGIN_MM + cap_height_mm(_TITLE_PT, Weight.BOLD)
    title_mm = width_mm(poster.title, _TITLE_PT, Weight.BOLD)
    owner = shortened(poster.owner, right - left - title_mm - 15.0, _OWNER_PT)
    rule = base + 4.5
    items: list[Item] = [
        Text(left, base, poster.title, _TITLE_PT, Weight.BOLD, name="title"),
        Text(right, base, owner, _OWNER_PT, colour=GREY, align=Align.END, name="owner"),
        Line(left, rule, right, rule, RULE),
    ]
    bottom = HEIGHT_MM - _MARGIN_MM
    placed = along_foot(centre, SheetFoot(left, right, bottom, _LABEL_PT, _FOOT_PT, _LOGO_MM))
    if placed is not None:
        items += placed.items
        bottom = placed.top_mm - _ABOVE_CENTRE_MM
    foot, foot_top = _foot(poster, left, right, bottom)
    items += foot
    rows_mm = 2 * _BAND_MM + len(poster.rest_labels) * _REST_MM
    rows_top = foot_top - 5.0 - rows_mm
    pitch = (right - left - _LABELS_MM) / _PINS
    # Fewer pins stand in the middle, as wide as ten would.
    first = left + _LABELS_MM + (_PINS - len(poster.lanes)) * pitch / 2
    items += _rows(poster, left, right, rows_top)
    names_base = rule + 5.0 + cap_height_mm(_NAME_PT, Weight.BOLD)
    for number, lane in enumerate(poster.lanes):
        middle = first + (number + 0.5) * pitch
        size = _fitting(lane.name, pitch, _NAME_PT, Weight.BOLD)
        name = Text(
            middle, names_base, lane.name, size, Weight.BOLD, NAVY, Align.MIDDLE, "pin-name"
        )
        items += [name, *_lane(lane, middle, names_base + 4.5, rows_top - 4.5)]
        items += _figures(lane, middle, pitch, rows_top)
    return items


def _lane(lane: PosterLane, middle: float, top: float, bottom: float) -> list[Item]:
    frame = lane_frame(lane.sketch, _FMT, (bottom - top) / _LANE_SCALE)
    place = Transform(_LANE_SCALE, 0.0, 0.0, _LANE_SCALE, middle - _LANE_MM / 2, top)
    return [Group((lane_view(lane.sketch, frame, _FMT),), "poster-lane", place)]


def _rows(poster: Poster, left: float, right: float, top: float) -> list[Item]:
    """The bands of the table, and what heads each of its rows."""
    items: list[Item] = []
    y = top
    for number, label in enumerate((*poster.figure_labels, *poster.rest_labels)):
        high = _BAND_MM if number < len(poster.figure_labels) else _REST_MM
        if number % 2 == 0:
            corners = ((left, y), (right, y), (right, y + high), (left, y + high))
            items.append(Polyline(corners, fill=MIST, closed=True, name="band"))
        size = _fitting(label, _LABELS_MM, _LABEL_PT, Weight.MEDIUM)
        base = y + (high + cap_height_mm(size, Weight.MEDIUM)) / 2
        items.append(Text(left + 2.0, base, label, size, Weight.MEDIUM, NAVY, name="row"))
        y += high
    items += [Line(left, edge, right, edge, HAIRLINE) for edge in (top, y)]
    return items


def _figures(lane: PosterLane, middle: float, pitch: float, top: float) -> list[Item]:
    items: list[Item] = []
    y = top
    for figure in lane.figures:
        base = y + (_BAND_MM + cap_height_mm(FIGURE_PT, Weight.BOLD)) / 2
        items.append(
            Text(middle, base, figure, FIGURE_PT, Weight.BOLD, INK, Align.MIDDLE, "figure-call")
        )
        y += _BAND_MM
    for text in lane.rest:
        size = _fitting(text, pitch, _REST_PT, Weight.REGULAR)
        base = y + (_REST_MM + cap_height_mm(size)) / 2
        items.append(Text(middle, base, text, size, align=Align.MIDDLE, name="rest"))
        y += _REST_MM
    return items


def _fitting(text: str, room_mm: float, size_pt: float, weight: Weight) -> float:
    """Return the size at which a text goes into its column: the poster's figures alone never give.

    Some languages have longer words for a pin and a ball.
    """
    return min(size_pt, (room_mm - _APART_MM) / width_mm(text, 1.0, weight))


def _foot(poster: Poster, left: float, right: float, y: float) -> tuple[list[Item], float]:
    """Return how boards count and the cautions, set upwards from ``y``, and their top."""
    line_mm = _LEADING * _FOOT_PT * POINT_MM
    cautions = cautions_at_foot(poster.cautions, left, y, right - left, _FOOT_PT, line_mm)
    items: list[Item] = [*cautions]
    y = cautions[0].y_mm - line_mm - 1.5
    for line in reversed(wrap(poster.note, right - left, _NOTE_PT)):
        items.append(Text(left, y, line, _NOTE_PT, name="note"))
        y -= _LEADING * _NOTE_PT * POINT_MM
    y -= 1.5
    return items, y + _LEADING * _NOTE_PT * POINT_MM - cap_height_mm(_NOTE_PT)
