"""The lane from the approach to the pit, with one line on it.

The stretch of the drawing (see :mod:`cardgen.drawing.laneframe`) is kept in view by marks at 15, 30
and 45 ft, and by ticks on every fifth board at the foul line, before the pins and at the arrows.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from cardgen.cards.card import Sketch, board_text, whole_board_text
from cardgen.delivery.ball import STANDARD_RADIUS_M
from cardgen.drawing.fonts import cap_height_mm, width_mm
from cardgen.drawing.ink import heavier
from cardgen.drawing.laneframe import DECK_FROM_M, TICK_MM, LaneFrame
from cardgen.drawing.oil import oil_label, oil_tints
from cardgen.drawing.scene import (
    Align,
    Disc,
    Group,
    Item,
    Line,
    Point,
    Polyline,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import (
    ARROW,
    BALL,
    BREAKPOINT,
    EDGE,
    FOOT,
    FOUL_LINE,
    GREY,
    GUTTER,
    HOOK,
    IMAGINED_PIN,
    INK,
    NAVY,
    OPEN_PIN,
    PATH,
    SKID,
    TICK,
    VERMILION,
    WALK,
    WHITE,
    Format,
)
from cardgen.drawing.thinning import thinned
from cardgen.lane.geometry import (
    ARROW_BOARDS,
    CENTRE_BOARD,
    EDGE_M,
    GUTTER_M,
    LANE_END_M,
    Sights,
    board_x_m,
)
from cardgen.lane.rack import PIN_NUMBERS, PIN_RADIUS_M, Leave, pin_x_m, pin_y_m
from cardgen.profile.bowler import Bowler
from cardgen.targeting.line import Trace
from cardgen.units import FOOT_M

_LABELLED_BOARDS = (10, 20, 30)
_STAND_NUMBER_MM = 2.2  # from the middle of the stand's dot
_DOT_MM = 0.3
_DOT_CLEAR_MM = 1.2
_ROW_CLEAR_MM = 0.6  # a half hangs below the figures before it
_STAND_MM = 1.5
_SLIDE_MM = 0.85
_LAYDOWN_MM = 0.85
_BREAKPOINT_MM = 0.8


def lane_view(sketch: Sketch, frame: LaneFrame, fmt: Format) -> Group:
    """Return the lane, its left edge with gutter at x = 0 and its top at y = 0.

    What all cards of a bowler show alike is a form of its own, which a writer may keep once.
    """
    target = _target_number(frame, sketch, fmt)
    hidden = frozenset(
        feet for feet, text in sketch.marks if _meet(_mark_label(frame, feet, text, fmt), target)
    )
    items = (
        *_approach(frame, sketch, fmt),
        *_pins(frame, sketch),
        *_feet(frame, sketch),
        *_path(frame, sketch),
        *_breakpoint(frame, sketch, fmt, target),
        _target(frame, sketch),
        target,
        _stand_number(frame, sketch, fmt),
    )
    place = Transform.move(frame.width_mm / 2, 0)
    # Smaller marks keep their lines: there is a least width that prints.
    lane = heavier(Group(items, "lane", place), max(1.0, frame.mark))
    ground = _Ground(sketch.bowler, sketch.marks, sketch.oil, hidden, frame, fmt, sketch)
    return replace(lane, items=(_alike(ground), *lane.items))


@dataclass(frozen=True)
class _Ground:
    """What the ground of a drawing rests on: any ``sketch`` of the same bowler's has the same.

    On a narrow lane the target's number may take the place of a mark's label, which is ``hidden``.
    """

    bowler: Bowler
    marks: tuple[tuple[int, str], ...]
    oil: tuple[str, str]
    hidden: frozenset[int]
    frame: LaneFrame
    fmt: Format
    sketch: Sketch = field(compare=False)


@lru_cache(maxsize=64)
def _alike(ground: _Ground) -> Group:
    """Return what all cards of a bowler show alike, drawn once for all of them."""
    sketch, frame, fmt = ground.sketch, ground.frame, ground.fmt
    items = (
        *oil_tints(sketch, frame),
        *_surface(frame),
        *oil_label(sketch, frame, fmt),
        *_ticks(ground),
        *_arrows(frame, sketch),
    )
    return heavier(Group(items, "lane-alike", form="lane"), max(1.0, frame.mark))


def _surface(frame: LaneFrame) -> list[Item]:
    """Both panels: lane edges, gutters, foul line and pit."""
    foul, end = frame.y(0), frame.y(LANE_END_M)
    half = frame.width_mm / 2
    items: list[Item] = []
    for top, bottom in ((end, frame.deck_mm), (frame.lane_top_mm, foul)):
        for side in (-1, 1):
            edge, outer = frame.x(side * EDGE_M), side * frame.mirror * half
            corners = ((edge, bottom), (outer, bottom), (outer, top), (edge, top))
            items.append(Polyline(corners, fill=GUTTER, closed=True, name="gutter"))
            items.append(Line(edge, top, edge, bottom, EDGE, "lane-edge"))
    pit = ((-half, 0.0), (half, 0.0), (half, end), (-half, end))
    items.append(Polyline(pit, fill=GREY, closed=True, name="pit"))
    items.append(Line(-half, foul, half, foul, FOUL_LINE, "foul-line"))
    return items


def _ticks(ground: _Ground) -> list[Item]:
    """Ticks on every fifth board at the foul line and before the pins, and the marks in feet."""
    frame, fmt = ground.frame, ground.fmt
    foul, deck, lane = frame.y(0), frame.deck_mm, frame.lane_top_mm
    numbers_y = (deck + lane + cap_height_mm(fmt.tick_pt)) / 2
    tick = TICK_MM * frame.mark
    items: list[Item] = []
    for board in ARROW_BOARDS:
        x = frame.x(float(board_x_m(board)))
        items.append(Line(x, foul, x, foul + tick, TICK, f"foul-tick-{board}"))
        items.append(Line(x, deck, x, deck + tick, TICK, f"pin-tick-{board}"))
        items.append(Line(x, lane - tick, x, lane, TICK, f"lane-tick-{board}"))
        if board in _LABELLED_BOARDS:
            items.append(
                Text(x, numbers_y, str(board), fmt.tick_pt, Weight.REGULAR, INK, Align.MIDDLE)
            )
    for feet, text in ground.marks:
        y = frame.y(feet * FOOT_M)
        for side in (-1, 1):
            edge = frame.x(side * EDGE_M)
            items.append(Line(edge, y, edge + frame.x(side * 0.035), y, TICK, f"mark-{feet}"))
        if feet not in ground.hidden:
            items.append(_mark_label(frame, feet, text, fmt))
    return items


@lru_cache(maxsize=256)
def _mark_label(frame: LaneFrame, feet: int, text: str, fmt: Format) -> Text:
    middle = EDGE_M + GUTTER_M / 2
    y = frame.y(feet * FOOT_M) + cap_height_mm(fmt.tick_pt) / 2
    x = frame.x(-middle) - frame.mirror * 0.4
    return Text(x, y, text, fmt.tick_pt, align=Align.MIDDLE)


def _approach(frame: LaneFrame, sketch: Sketch, fmt: Format) -> list[Item]:
    """The dot rows, but for the dots that the stand's own dot or its number would touch."""
    touches = _touching(_stand_number(frame, sketch, fmt), frame.mark)
    stand_x, stand_y = frame.x(float(board_x_m(sketch.line.stand))), _stand_y(frame, sketch)
    return [
        dot
        for dot in _dots(frame, sketch.bowler.sights)
        if not touches(dot.x_mm, dot.y_mm)
        and math.hypot(dot.x_mm - stand_x, dot.y_mm - stand_y)
        > (_STAND_MM + 2 * _DOT_MM) * frame.mark
    ]


@lru_cache(maxsize=64)
def _dots(frame: LaneFrame, sights: Sights) -> tuple[Disc, ...]:
    """All dots of the approach's rows."""
    return tuple(
        Disc(
            frame.x(float(board_x_m(board))),
            frame.y(-back),
            _DOT_MM * frame.mark,
            fill=GREY,
            name="approach-dot",
        )
        for back in sights.approach_dots_m
        for board in ARROW_BOARDS
    )


def _arrows(frame: LaneFrame, sketch: Sketch) -> list[Item]:
    """All seven arrows, each with its point on its board; the target hides the one that it is."""
    return [
        Polyline(_arrow(frame, sketch, board), ARROW, closed=True, name=f"arrow-{board}")
        for board in ARROW_BOARDS
    ]


def _arrow(frame: LaneFrame, sketch: Sketch, board: float, scale: float = 1.0) -> tuple[Point, ...]:
    x = frame.x(float(board_x_m(board)))
    y = frame.y(float(sketch.bowler.sights.target_y_m(board)))
    half, high = 0.55 * scale * frame.mark, 2.2 * scale * frame.mark
    return ((x - half, y + high), (x, y), (x + half, y + high))


def _target(frame: LaneFrame, sketch: Sketch) -> Item:
    """The target: its arrow, solid and larger; between arrows a solid lozenge, unlike any arrow."""
    board, edge = sketch.line.target, None
    if board in ARROW_BOARDS:
        corners = _arrow(frame, sketch, board, scale=1.5)
        edge = Stroke(NAVY, ARROW.width_mm)  # hides the outline of the arrow below
    else:
        x, y = frame.x(float(board_x_m(board))), frame.y(sketch.line.trace.target_y_m)
        half, high = 0.75 * frame.mark, 1.4 * frame.mark
        corners = ((x - half, y + high), (x, y), (x + half, y + high), (x, y + 2 * high))
    return Polyline(corners, edge, NAVY, closed=True, name="target")


def _pins(frame: LaneFrame, sketch: Sketch) -> list[Item]:
    standing = sketch.bowler.inside(sketch.line.leave)
    spot = sketch.line.imagine
    imagined = None if spot is None else sketch.bowler.inside(Leave.of(spot)).pins
    radius = PIN_RADIUS_M * frame.across
    items: list[Item] = []
    for pin, (x, y) in _spots(frame):
        if pin in standing:
            items.append(Disc(x, y, radius, fill=NAVY, name="standing-pin"))
        elif (pin,) == imagined:
            items.append(Disc(x, y, radius, IMAGINED_PIN, fill=WHITE, name="imagined-pin"))
        else:
            items.append(Disc(x, y, 0.62 * radius, OPEN_PIN, name="fallen-pin"))
    return items


@lru_cache(maxsize=64)
def _spots(frame: LaneFrame) -> tuple[tuple[int, Point], ...]:
    """Each pin and where its middle is."""
    return tuple((pin, (frame.x(pin_x_m(pin)), frame.y(pin_y_m(pin)))) for pin in PIN_NUMBERS)


def _stand_y(frame: LaneFrame, sketch: Sketch) -> float:
    return frame.y(-sketch.bowler.habits.distance_m)


def _feet(frame: LaneFrame, sketch: Sketch) -> list[Item]:
    """The stand dot, and the walk to where the slide ends beside the ball, behind the foul line."""
    habits, line = sketch.bowler.habits, sketch.line
    laydown = float(board_x_m(line.laydown))
    stand = (frame.x(float(board_x_m(line.stand))), _stand_y(frame, sketch))
    slide = (
        frame.x(float(habits.slide_x_m(np.asarray(laydown)))),
        frame.y(0) + (_SLIDE_MM + 0.5) * frame.mark,
    )
    dot = Disc(*stand, _STAND_MM * frame.mark, fill=NAVY, name="stand")
    if abs(laydown) > EDGE_M:
        return [dot]
    return [
        Line(*stand, *slide, WALK, "walk"),
        Disc(*slide, _SLIDE_MM * frame.mark, FOOT, fill=WHITE, name="slide"),
        dot,
    ]


def _path(frame: LaneFrame, sketch: Sketch) -> list[Item]:
    """The path through both panels, and the ball where it first touches a pin or is lost."""
    trace = sketch.line.trace
    if abs(trace.x_m[0]) > EDGE_M:
        return []  # no such ball can be thrown, and the card says that the line misses
    places = list(zip(trace.x_m.tolist(), trace.y_m.tolist(), strict=True))
    up_lane = [(x, y) for x, y in places if y < DECK_FROM_M]
    at_pins = [(frame.x(x), frame.y(y)) for x, y in places if y >= DECK_FROM_M]
    items: list[Item] = []
    if at_pins:
        cut = (float(np.interp(DECK_FROM_M, trace.y_m, trace.x_m)), DECK_FROM_M)
        up_lane.append(cut)
        at_pins.insert(0, (frame.x(cut[0]), frame.deck_mm))
        items.append(Polyline(thinned(at_pins), PATH, name="path-at-pins"))
    last = at_pins[-1] if at_pins else _up_lane(frame, up_lane[-1])
    return [
        *(
            Polyline(thinned([_up_lane(frame, place) for place in part]), stroke, name=name)
            for part, stroke, name in _phases(up_lane, trace)
        ),
        *items,
        Disc(
            *_up_lane(frame, up_lane[0]), _LAYDOWN_MM * frame.mark, fill=VERMILION, name="laydown"
        ),
        Disc(*last, STANDARD_RADIUS_M * frame.across, BALL, name="ball"),
    ]


def _up_lane(frame: LaneFrame, place: Point) -> Point:
    """Return where a place [m] before the pins' panel lies; its end is the lane's own panel's."""
    x_m, y_m = place
    return frame.x(x_m), frame.y(y_m) if y_m < DECK_FROM_M else frame.lane_top_mm


def _phases(places: list[Point], trace: Trace) -> list[tuple[list[Point], Stroke, str]]:
    """Return a path's parts: skid, hook and roll where they can be told, else all of it as one."""
    hooks, rolls = trace.hooks, trace.rolls
    if hooks is None and rolls is None:
        return [(places, PATH, "path")]
    begun = [
        (0.0, SKID, "path-skid"),
        *([] if hooks is None else [(hooks.y_m, HOOK, "path-hook")]),
        *([] if rolls is None else [(rolls.y_m, PATH, "path-roll")]),
    ]
    ends_m = [*(from_m for from_m, _, _ in begun[1:]), np.inf]
    parts = [(*part, to_m) for part, to_m in zip(begun, ends_m, strict=True)]
    ways = np.array([y for _, y in places])
    found = []
    for from_m, stroke, name, to_m in parts:
        inner = [place for place in places if from_m < place[1] < to_m]
        ends = [y for y in (from_m, to_m) if ways[0] <= y <= ways[-1]]
        ends_at = [(float(np.interp(y, ways, [x for x, _ in places])), y) for y in ends]
        part = sorted({*inner, *ends_at}, key=lambda place: place[1])
        if len(part) > 1:
            found.append((part, stroke, name))
    return found


def _breakpoint(frame: LaneFrame, sketch: Sketch, fmt: Format, target: Text) -> list[Item]:
    """A bar across the path where it turns back, with the board's number beside it.

    Not so near the arrows that its number would be taken for that of the ``target``.
    """
    spot = sketch.line.trace.breakpoint
    if spot is None or spot.y_m >= DECK_FROM_M:
        return []
    x, y = frame.x(spot.x_m), frame.y(spot.y_m)
    if y + cap_height_mm(fmt.tick_pt) > target.y_mm - cap_height_mm(fmt.label_pt, Weight.BOLD):
        return []
    text = whole_board_text(spot.x_m)
    bar = _BREAKPOINT_MM * frame.mark
    reach = bar + 0.5

    def label(side: int) -> Text:
        return Text(
            x + side * reach,
            y + cap_height_mm(fmt.tick_pt) / 2,
            text,
            fmt.tick_pt,
            align=Align.START if side > 0 else Align.END,
            name="breakpoint-label",
        )

    # Outwards, where there is room before the gutter and what is told of the oil in it.
    room = abs(frame.x(EDGE_M) - x) - reach - width_mm(text, fmt.tick_pt)
    oil = [item for item in oil_label(sketch, frame, fmt) if isinstance(item, Text)]
    outwards = label(frame.mirror)
    free = room > 0.4 and not any(_meet(outwards, told) for told in oil)
    return [
        Line(x - bar, y, x + bar, y, BREAKPOINT, "breakpoint"),
        outwards if free else label(-frame.mirror),
    ]


def _target_number(frame: LaneFrame, sketch: Sketch, fmt: Format) -> Text:
    """The target's number, above all arrows on the side that the path leaves free."""
    line, trace = sketch.line, sketch.line.trace
    target_x = float(board_x_m(line.target))
    low = (
        min(frame.y(y) for y in (*sketch.bowler.sights.arrows_m, trace.target_y_m))
        - 0.6 * frame.mark
    )
    middle = low - cap_height_mm(fmt.label_pt, Weight.BOLD) / 2
    # Where the path is beside the number: a hook may end up on the other side of the target.
    beside_m = trace.target_y_m + (frame.y(trace.target_y_m) - middle) / frame.along
    side = (-1 if np.interp(beside_m, trace.y_m, trace.x_m) > target_x else 1) * frame.mirror
    x = frame.x(target_x) + side * 1.2 * frame.mark
    return _label(x, low, side, board_text(line.target), fmt, "target-label")


def _stand_number(frame: LaneFrame, sketch: Sketch, fmt: Format) -> Text:
    """The stand's number, level with its dot."""
    stand = sketch.line.stand
    side = _number_side(frame, stand, fmt) * frame.mirror
    x = frame.x(float(board_x_m(stand))) + side * _STAND_NUMBER_MM * frame.mark
    y = _stand_y(frame, sketch) + cap_height_mm(fmt.label_pt, Weight.BOLD) / 2
    return _label(x, y, side, board_text(stand), fmt, "stand-label")


def _number_side(frame: LaneFrame, stand: float, fmt: Format) -> int:
    """Return the side of the stand's number in the inside frame: outwards, away from the walk.

    On the outermost boards it is inwards where it would come too near the card's edge or call.
    """
    outwards = 1 if stand <= CENTRE_BOARD else -1
    room = frame.width_mm / 2 + min(fmt.margin_mm - fmt.safe_mm, fmt.gap_mm / 2)
    number = width_mm(board_text(stand), fmt.label_pt, Weight.BOLD)
    reach = abs(frame.x(float(board_x_m(stand)))) + _STAND_NUMBER_MM * frame.mark + number
    return outwards if reach <= room else -outwards


def _label(x_mm: float, y_mm: float, side: int, text: str, fmt: Format, name: str) -> Text:
    """A number that runs away from its mark to the ``side``: 1 right, -1 left."""
    align = Align.START if side > 0 else Align.END
    return Text(x_mm, y_mm, text, fmt.label_pt, Weight.BOLD, NAVY, align, name)


def _meet(one: Text, other: Text) -> bool:
    """Tell whether two texts lie on each other, or nearly."""
    (left, top, right, bottom), (left2, top2, right2, bottom2) = map(_extent, (one, other))
    gap = _ROW_CLEAR_MM
    return left < right2 + gap and left2 < right + gap and top < bottom2 and top2 < bottom


def _extent(text: Text) -> tuple[float, float, float, float]:
    """Return a text's left, top, right and bottom; a half rises above capitals and hangs lower."""
    width = width_mm(text.text, text.size_pt, text.weight)
    left = text.x_mm - {Align.START: 0.0, Align.MIDDLE: width / 2, Align.END: width}[text.align]
    rise = cap_height_mm(text.size_pt, text.weight)
    return left, text.y_mm - 1.1 * rise, left + width, text.y_mm + 0.2 * rise


def _touching(number: Text, mark: float) -> Callable[[float, float], bool]:
    """Return what tells if a dot would touch a number, or come so near that it reads as part of it.

    It is asked with the place of the dot's middle.
    """
    away = 1 if number.align is Align.START else -1
    half = width_mm(number.text, number.size_pt, number.weight) / 2
    rise = cap_height_mm(number.size_pt, number.weight) / 2
    across, along = half + _DOT_CLEAR_MM * mark, rise + (_DOT_MM + _ROW_CLEAR_MM) * mark
    return lambda x_mm, y_mm: (
        abs(x_mm - number.x_mm - away * half) < across and abs(y_mm - number.y_mm + rise) < along
    )
