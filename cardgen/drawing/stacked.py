"""A card's front with its panels one under the other, in any order and at any size of figures."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise, product

from cardgen.cards.card import Call, Card
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, width_mm, wrap
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.scene import Align, Item, Polyline, Scene, Text, Weight, moved
from cardgen.drawing.shapes import PIN_WIDTH, round_box, smiling_pin
from cardgen.drawing.theme import GREY, MIST, NAVY, Format
from cardgen.templating.schema import FacePanel
from cardgen.templating.template import Design
from cardgen.units import POINT_MM

_NARROWER, _NARROWEST_MM = 0.86, 20.0  # a lane beside large figures, and the least it has
_SCALES = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
_LESS: tuple[frozenset[str], ...] = tuple(
    frozenset(less)
    for less in (
        (),
        ("cheer",),
        ("cheer", "count"),
        ("cheer", "count", "kind"),
        ("cheer", "count", "kind", "arrow"),
    )
)
"""What goes where there is no room, once figures have become smaller: ever more."""
_LEAST_SCALE_FOR = {"cheer": 0.8}
_AT_FOOT = frozenset({"count", "cheer"})
_FIGURE_SHARE = (0.235, 0.56)  # of the height that a call's block takes, upright and lying
_WIDEST = "30½"
_LARGER = 1.3  # than the widest figure would have to be, so that a deck's cards look alike
_RISE, _DROP = 0.1, 0.1  # of its size that a half rises above its figures, and drops below
_INSIDE_MM = 0.3  # from there to the end of a block
_APART, _MOST_APART = (0.018, 0.032), 0.045  # of the height, between panels: at least, at most
_BELONGS: dict[str, frozenset[str]] = {
    "kind": frozenset({"leave"}),
    "arrow": frozenset({"call"}),
    "own": frozenset({"ball"}),
}
"""What a panel belongs to if it comes right after it: they stand close together."""
_CLOSE = 0.35  # of the distance between others
_ROUND_MM = 2.2
_SMALLEST_PT = 11.0
_PIN_SHARE = 0.16  # of the height, at most


@dataclass(frozen=True)
class _Panel:
    """A panel, how it is set from the top of a column, and whether it stands at the foot."""

    name: FacePanel
    set_in: Callable[[Column], None]

    def height_mm(self, width_mm: float, fmt: Format) -> float:
        column = Column(0.0, 0.0, width_mm, leading=fmt.leading)
        self.set_in(column)
        return column.y_mm


def stacked_face(card: Card, fmt: Format, design: Design) -> Scene:
    """Return the front: the lane at one side, the other panels stacked beside it.

    Figures become smaller and then what is least needed goes, until all has room.
    """
    fmt = _with_lane_for(fmt, design)
    lane_first = design.face[0] == "lane"
    beside = fmt.lane_width_mm + fmt.gap_mm
    left = fmt.margin_mm + (beside if lane_first else 0.0)
    at = fmt.margin_mm if lane_first else fmt.width_mm - fmt.margin_mm - fmt.lane_width_mm
    frame = lane_frame(card.sketch, fmt, fmt.inner_height_mm)
    lane = moved(lane_view(card.sketch, frame, fmt), at, fmt.margin_mm)
    width = fmt.inner_width_mm - beside
    items = _stacked(card, fmt, design, left, width)
    return Scene(fmt.width_mm, fmt.height_mm, (lane, *items), card.name, safe_mm=fmt.safe_mm)


def _with_lane_for(fmt: Format, design: Design) -> Format:
    """Return the format with a narrower lane where figures are to be large."""
    if design.figures == "regular":
        return fmt
    narrow = max(_NARROWER * fmt.lane_width_mm, min(_NARROWEST_MM, fmt.lane_width_mm))
    return replace(fmt, lane_width_mm=narrow)


def _stacked(card: Card, fmt: Format, design: Design, left: float, width: float) -> list[Item]:
    # The last line's leading may run into the margin.
    room = fmt.inner_height_mm + (fmt.leading - 0.75) * fmt.label_pt * POINT_MM
    least, most = _APART[fmt.lying] * fmt.inner_height_mm, _MOST_APART * fmt.inner_height_mm
    for less, scale in product(_LESS, _SCALES):
        if not less and scale < _LEAST_SCALE_FOR["cheer"] and "cheer" in design.face:
            continue  # rather without the design's own line than with small figures
        panels = list(_panels(card, fmt, design, width, less, scale))
        heights = [panel.height_mm(width, fmt) for panel in panels]
        shares = _shares(panels)
        free = room - sum(heights) - least * sum(shares)
        if free >= 0:
            break
    # What is free goes between panels as far as that looks well, the rest above the foot.
    apart = least + min(max(free, 0.0) / max(sum(shares), 1.0), most)
    rest = room - sum(heights) - apart * sum(shares)
    column = Column(left, fmt.margin_mm, width, leading=fmt.leading)
    at_foot = False
    for number, (panel, height, share) in enumerate(zip(panels, heights, shares, strict=True)):
        if not at_foot and all(other.name in _AT_FOOT for other in panels[number:]):
            at_foot = True
            column.space(max(rest, 0.0))
        top = column.y_mm + apart * share
        column.y_mm = top
        panel.set_in(column)
        column.y_mm = top + height
    return column.items


def _shares(panels: list[_Panel]) -> list[float]:
    """Return how much of the usual distance each panel has above it."""
    names = [panel.name for panel in panels]
    return [0.0] + [
        _CLOSE if before in _BELONGS.get(name, ()) else 1.0 for before, name in pairwise(names)
    ]


def _panels(
    card: Card, fmt: Format, design: Design, width: float, less: frozenset[str], scale: float
) -> Iterator[_Panel]:
    size_pt = max(_SMALLEST_PT, scale * _figure_pt(card, fmt, design, width))
    setters: dict[FacePanel, Callable[[Column], None] | None] = {
        "leave": lambda c: c.text(card.name, fmt.title_pt, Weight.BOLD, name="title"),
        "kind": lambda c: c.text(card.kind, fmt.label_pt, colour=GREY),
        "call": lambda c: _call(c, card, fmt, design, size_pt),
        "arrow": lambda c: c.text(card.arrow, fmt.label_pt, colour=GREY),
        "imagine": (lambda c: c.text(card.imagine, fmt.body_pt, Weight.MEDIUM, colour=NAVY))
        if card.imagine
        else None,
        "ball": lambda c: _ball(c, card, fmt),
        "own": (lambda c: _own(c, card, fmt)) if card.own or card.defaults else None,
        "count": lambda c: c.text(card.count, fmt.label_pt, colour=GREY),
        "cheer": (lambda c: _cheer(c, fmt, design)) if design.cheer else None,
    }
    for name in design.face:
        setter = setters.get(name)
        if setter is not None and name not in less:
            yield _Panel(name, setter)


def _weight(design: Design) -> Weight:
    return Weight.BOLD if design.weight == "bold" else Weight.MEDIUM


def _pad_mm(fmt: Format, design: Design) -> float:
    return 1.5 * max(1.0, fmt.mark) if design.pattern == "blocks" else 0.0


def _between_mm(fmt: Format, design: Design) -> float:
    return 1.5 * max(1.0, fmt.mark) if design.pattern == "blocks" else fmt.gap_mm


def _figure_pt(card: Card, fmt: Format, design: Design, width: float) -> float:
    """Return how large the two figures can be at most; they are of one size."""
    weight, pad = _weight(design), _pad_mm(fmt, design)
    each = (width - _between_mm(fmt, design)) / 2 if fmt.lying else width
    own = max(width_mm(call.figure, 1.0, weight) for call in (card.stand, card.target))
    widest = (each - 2 * pad) / max(own, width_mm(_WIDEST, 1.0, weight) / _LARGER)
    high = _FIGURE_SHARE[fmt.lying] * fmt.inner_height_mm - 2 * pad - _label_mm(fmt, 0.0)
    largest = min(widest, high / (cap_height_mm(1.0, weight) + _RISE * POINT_MM))
    return largest if design.figures == "large" else min(largest, fmt.figure_pt)


def _label_mm(fmt: Format, size_pt: float) -> float:
    """Return the height of a figure's label and of the space below it."""
    space = max(1.3 * max(1.0, fmt.mark), _RISE * size_pt * POINT_MM)
    return cap_height_mm(fmt.label_pt, Weight.MEDIUM) + space


def _call(column: Column, card: Card, fmt: Format, design: Design, size_pt: float) -> None:
    between = _between_mm(fmt, design)
    if fmt.lying:
        half = (column.width_mm - between) / 2
        top = column.y_mm
        for number, call in enumerate((card.stand, card.target)):
            column.y_mm = top
            _block(column, call, fmt, design, size_pt, number * (half + between), half)
        return
    _block(column, card.stand, fmt, design, size_pt, 0.0, column.width_mm)
    column.space(between if design.pattern == "blocks" else 2.2 * max(1.0, fmt.mark))
    _block(column, card.target, fmt, design, size_pt, 0.0, column.width_mm)


def _block(
    column: Column,
    call: Call,
    fmt: Format,
    design: Design,
    size_pt: float,
    indent: float,
    width: float,
) -> None:
    """Set a figure under its label, in a tinted block if the design has blocks."""
    pad, weight = _pad_mm(fmt, design), _weight(design)
    left, top = column.x_mm + indent, column.y_mm
    high = cap_height_mm(size_pt, weight)
    below = max(pad, _DROP * size_pt * POINT_MM + _INSIDE_MM) if pad else 0.0
    bottom = top + pad + _label_mm(fmt, size_pt) + high + below
    blocks = design.pattern == "blocks"
    if blocks:
        column.add(box(left, top, width, bottom - top, fmt, design))
    label = top + pad + cap_height_mm(fmt.label_pt, Weight.MEDIUM)
    column.add(Text(left + pad, label, call.label, fmt.label_pt, Weight.MEDIUM, NAVY))
    middle, align = (left + width / 2, Align.MIDDLE) if blocks else (left, Align.START)
    name = f"figure-{call.label}"
    column.add(Text(middle, bottom - below, call.figure, size_pt, weight, align=align, name=name))
    column.y_mm = bottom + (0.0 if blocks else _DROP * size_pt * POINT_MM)


def box(
    x_mm: float, y_mm: float, width_mm: float, height_mm: float, fmt: Format, design: Design
) -> Item:
    """Return a tinted block with the design's corners."""
    if design.corners == "square":
        right, bottom = x_mm + width_mm, y_mm + height_mm
        corners = ((x_mm, y_mm), (right, y_mm), (right, bottom), (x_mm, bottom))
        return Polyline(corners, fill=MIST, closed=True, name="block")
    radius = _ROUND_MM * max(1.0, fmt.mark)
    return round_box(x_mm, y_mm, width_mm, height_mm, radius, fill=MIST, name="block")


def _ball(column: Column, card: Card, fmt: Format) -> None:
    column.text(card.ball, fmt.body_pt, Weight.BOLD)
    column.text(card.manner, fmt.body_pt)


def _own(column: Column, card: Card, fmt: Format) -> None:
    if card.own:
        column.text(card.own, fmt.body_pt, Weight.MEDIUM, colour=NAVY)
    else:
        column.text(card.defaults, fmt.label_pt, colour=GREY)


def _cheer(column: Column, fmt: Format, design: Design) -> None:
    """Set the design's own line, beside a pin that means it if the design has blocks."""
    if design.pattern != "blocks":
        column.text(design.cheer, fmt.body_pt, Weight.MEDIUM, colour=NAVY)
        return
    pin_mm = min(11.0 * max(1.0, 0.9 * fmt.mark), _PIN_SHARE * fmt.inner_height_mm)
    indent = PIN_WIDTH * pin_mm + 1.4
    line_mm = column.leading * fmt.body_pt * POINT_MM
    lines = len(list(wrap(design.cheer, column.width_mm - indent, fmt.body_pt, Weight.MEDIUM)))
    text_mm = (lines - 1) * line_mm + cap_height_mm(fmt.body_pt, Weight.MEDIUM)
    top, height = column.y_mm, max(pin_mm, text_mm)
    column.add(smiling_pin(column.x_mm + PIN_WIDTH * pin_mm / 2, top + height - pin_mm, pin_mm))
    column.y_mm = top + (height - text_mm) / 2
    column.text(design.cheer, fmt.body_pt, Weight.MEDIUM, colour=NAVY, indent_mm=indent)
    column.y_mm = top + height + (fmt.leading - 0.75) * fmt.label_pt * POINT_MM
