"""One leave as a few students shoot it, as a scene: a lane for each, its figures, the reasons."""

from dataclasses import dataclass, replace

from cardgen.cards.ways import OneWay, Ways
from cardgen.drawing.clinic import name_lines
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.handout import HandoutFormat, handout_cautions
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.scene import Align, Disc, Group, Item, Line, Scene, Text, Transform, Weight
from cardgen.drawing.theme import A7, EDGE, GREY, HAIRLINE, NAVY, RULE, WHITE
from cardgen.units import POINT_MM

_LANE_MM = (34.0, 52.0)  # a lane's width, at least and at most
_LANE_SCALE = 1.3  # how many times larger than on a pocket page its marks and type are
_LEAST_LANE_MM = 92.0  # high: a lower one shows too little of the path
_GAP_MM = 6.0  # between two columns
_APART_MM = 3.0  # and between two figures
_ROUND_MM = 3.1
_FIGURE_PT = 40.0
_TITLE_PT, _NAME_PT = 24.0, 13.0
_NAME_CHOICES = ((_NAME_PT, 2), (12.0, 2), (11.0, 2), (11.0, 3), (10.0, 3), (9.0, 3), (8.5, 3))
_BODY_PT = (10.5, 9.5, 9.0, 8.5)
"""What is read below the lanes: as large as leaves the lanes their height."""
_BULLET_MM = 3.0


@dataclass(frozen=True)
class _Sizes:
    """A column's width, and the type below its lane."""

    width_mm: float
    figure_pt: float
    body_pt: float
    leading: float


def ways_scene(ways: Ways, fmt: HandoutFormat) -> Scene:
    """Return the page: lanes of one height side by side, and below each why its feet are there."""
    items: list[Item] = []
    top = _head(items, ways, fmt)
    foot = _foot(items, ways, fmt)
    count = len(ways.ways)
    width = (fmt.inner_width_mm - (count - 1) * _GAP_MM) / count
    names_mm = max(_name(way, 0.0, top, width).y_mm for way in ways.ways) - top
    figure_pt = min(_figure_pt(way, width) for way in ways.ways)
    for body_pt in _BODY_PT:
        sizes = _Sizes(width, figure_pt, body_pt, 1.22)
        thrown_mm = max(_thrown(way, 0.0, 0.0, sizes).y_mm for way in ways.ways)
        below_mm = max(_why(way, 0.0, thrown_mm, sizes).y_mm for way in ways.ways)
        lane_mm = foot - top - names_mm - below_mm - 4.0
        if lane_mm >= _LEAST_LANE_MM:
            break
    frames = [lane_frame(way.card.sketch, A7, lane_mm / _LANE_SCALE) for way in ways.ways]
    approach_m = max(frame.approach_m for frame in frames)
    for number, way in enumerate(ways.ways):
        x = fmt.left_mm + number * (width + _GAP_MM)
        items += _name(way, x, top, width).items
        items.append(_lane(way, x, top + names_mm, width, lane_mm, approach_m))
        below = top + names_mm + lane_mm + 4.0
        items += _thrown(way, x, below, sizes).items
        items += _why(way, x, below + thrown_mm, sizes).items
        if number:
            middle = x - _GAP_MM / 2
            items.append(Line(middle, top, middle, foot, HAIRLINE, "between"))
    return Scene(fmt.width_mm, fmt.height_mm, (*items, *fmt.centre), title=ways.title)


def _head(items: list[Item], ways: Ways, fmt: HandoutFormat) -> float:
    """Set title, lead and what there is to say of the oil, and return where the columns begin."""
    column = Column(fmt.left_mm, fmt.top_mm, fmt.inner_width_mm, leading=fmt.leading)
    base = fmt.top_mm + cap_height_mm(_TITLE_PT, Weight.BOLD)
    right = fmt.width_mm - fmt.right_mm
    lines = wrap(ways.title, column.width_mm, _TITLE_PT, Weight.BOLD)
    used = width_mm(lines[0], _TITLE_PT, Weight.BOLD) + 6.0
    if (room := column.width_mm - used) > 25.0:
        beside = shortened(ways.beside, room, fmt.label_pt)
        column.add(Text(right, base, beside, fmt.label_pt, colour=GREY, align=Align.END))
    column.text(ways.title, _TITLE_PT, Weight.BOLD, name="title")
    column.space(-1.0)
    column.rule(RULE)
    column.space(4.0)
    column.text(f"{ways.lead}\n{ways.oil}", fmt.body_pt, name="lead")
    items += column.items
    return column.y_mm + 2.5


def _foot(items: list[Item], ways: Ways, fmt: HandoutFormat) -> float:
    """Set the cautions upwards from the margin, and return where the columns end."""
    foot = handout_cautions(ways.cautions, fmt)
    items += foot
    y = foot[0].y_mm - cap_height_mm(fmt.foot_pt, Weight.MEDIUM) - 2.2
    items.append(Line(fmt.left_mm, y, fmt.width_mm - fmt.right_mm, y, RULE))
    return y - 3.0


def _name(way: OneWay, x: float, top: float, width: float) -> Column:
    """A letter, the name on one line or two, and the hand."""
    column = Column(x, top, width, leading=1.15)
    indent = 2 * _ROUND_MM + 2.0
    size, lines = name_lines(way.name, width - indent, _NAME_CHOICES)
    middle = top + cap_height_mm(_NAME_PT, Weight.BOLD) / 2
    base = middle + cap_height_mm(11.0, Weight.BOLD) / 2
    at = x + _ROUND_MM
    column.add(Disc(at, middle, _ROUND_MM, EDGE, NAVY, name="letter"))
    column.add(Text(at, base, way.letter, 11.0, Weight.BOLD, WHITE, Align.MIDDLE, "letter"))
    for line in lines:
        column.text(line, size, Weight.BOLD, indent_mm=indent, name="name")
    column.text(way.manner, 9.5, colour=GREY, indent_mm=indent, name="manner")
    column.space(2.0)
    return column


def _lane(
    way: OneWay, x: float, top: float, width: float, height: float, approach_m: float
) -> Group:
    """The lane in the middle of its column, larger than on a card, all foul lines level."""
    lane_mm = min(max(0.92 * width, _LANE_MM[0]), _LANE_MM[1], width)
    fmt = replace(A7, lane_width_mm=lane_mm / _LANE_SCALE)
    sketch = way.card.sketch
    frame = replace(lane_frame(sketch, fmt, height / _LANE_SCALE), approach_m=approach_m)
    left = x + (width - lane_mm) / 2
    place = Transform(_LANE_SCALE, 0.0, 0.0, _LANE_SCALE, left, top)
    return Group((lane_view(sketch, frame, fmt),), "way-lane", place)


def _thrown(way: OneWay, x: float, top: float, sizes: _Sizes) -> Column:
    """The figures, and the ball."""
    column = Column(x, top, sizes.width_mm, leading=sizes.leading)
    _figures(column, way, sizes.figure_pt)
    column.text(way.card.ball, sizes.body_pt, Weight.BOLD)
    column.text(way.card.manner, sizes.body_pt)
    column.space(2.0)
    return column


def _why(way: OneWay, x: float, top: float, sizes: _Sizes) -> Column:
    """The sum of the stand, and the reasons."""
    column = Column(x, top, sizes.width_mm, leading=sizes.leading)
    *parts, total = way.sum
    for label, boards in parts:
        _summand(column, label, boards, sizes.body_pt, Weight.REGULAR)
    column.rule(HAIRLINE)
    column.space(1.4)
    _summand(column, *total, sizes.body_pt, Weight.BOLD)
    column.space(2.6)
    column.text(way.against, sizes.body_pt, Weight.BOLD, colour=NAVY, name="against")
    column.space(0.4)
    for reason in way.reasons:
        middle = column.y_mm + cap_height_mm(sizes.body_pt) / 2
        column.add(Disc(column.x_mm + 0.8, middle, 0.7, fill=NAVY))
        column.text(reason, sizes.body_pt, indent_mm=_BULLET_MM, name="reason")
        column.space(0.9)
    return column


def _figure_pt(way: OneWay, width: float) -> float:
    """Return how large the two figures can be: those of all students are of one size."""
    half = (width - _APART_MM) / 2
    widest = max(width_mm(call.figure, 1.0, Weight.BOLD) for call in way.calls)
    return min(_FIGURE_PT, half / widest)


def _figures(column: Column, way: OneWay, size: float) -> None:
    """Set stand and target beside each other, of one size."""
    half = (column.width_mm - _APART_MM) / 2
    label_pt = min(9.5, *(half / width_mm(call.label, 1.0, Weight.MEDIUM) for call in way.calls))
    label_mm = cap_height_mm(9.5, Weight.MEDIUM)
    base = column.y_mm + label_mm + 2.4 + cap_height_mm(size, Weight.BOLD)
    for number, call in enumerate(way.calls):
        at = column.x_mm + number * (half + _APART_MM)
        y = column.y_mm + label_mm
        column.add(Text(at, y, call.label, label_pt, Weight.MEDIUM, NAVY, name="label"))
        name = f"figure-{number}"
        column.add(Text(at, base, call.figure, size, Weight.BOLD, name=name))
    column.y_mm = base + 4.0


def _summand(column: Column, label: str, boards: str, size: float, weight: Weight) -> None:
    """Set a label and its boards on one line, the label smaller where it is too long."""
    room = column.width_mm - width_mm(boards, size, Weight.BOLD) - 2.0
    label_pt = min(size, room / width_mm(label, 1.0, weight))
    base = column.y_mm + cap_height_mm(size, weight)
    column.add(Text(column.x_mm, base, label, label_pt, weight, name="sum"))
    right = column.x_mm + column.width_mm
    column.add(Text(right, base, boards, size, weight, align=Align.END, name="sum"))
    column.space(column.leading * size * POINT_MM)
