"""The page that explains a card: the lane of an example with its marks numbered."""

import numpy as np

from cardgen.cards.booklet import Guide
from cardgen.cards.card import Sketch
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import LaneFrame, lane_frame
from cardgen.drawing.scene import Align, Disc, Item, Line, Point, Scene, Stroke, Text, Weight, moved
from cardgen.drawing.theme import EDGE, INK, TICK, WHITE, Format
from cardgen.drawing.titled import finished, titled
from cardgen.lane.geometry import EDGE_M, GUTTER_M, board_x_m
from cardgen.lane.rack import pin_x_m, pin_y_m
from cardgen.units import POINT_MM

_RING = 0.6614  # of the size of the number in it
_WALK = 0.42  # how far back along the walk its number points


def guide_scenes(guide: Guide, fmt: Format) -> list[Scene]:
    """Return the page: the example's lane at the left, its marks explained at the right.

    Explanations that do not fit beside the lane go on to another page.
    """
    page = titled(guide.title, fmt)
    top = page.y_mm
    frame = lane_frame(guide.sketch, fmt, fmt.height_mm - fmt.margin_mm - top)
    page.add(moved(lane_view(guide.sketch, frame, fmt), fmt.margin_mm, top))
    middle = fmt.margin_mm + frame.width_mm / 2
    for number, ((x, y), (ring_x, ring_y)) in enumerate(_places(guide.sketch, frame), start=1):
        leader = Line(middle + x, top + y, middle + ring_x, top + ring_y, TICK, "leader")
        for item in (leader, *_ring(middle + ring_x, top + ring_y, number, fmt)):
            page.add(item)

    left = fmt.margin_mm + fmt.lane_width_mm + fmt.gap_mm
    keys = Column(left, top, fmt.width_mm - fmt.margin_mm - left, leading=fmt.leading)
    scenes: list[Scene] = []
    for number, key in enumerate(guide.keys, start=1):
        if keys.y_mm + _key_mm(keys, key, fmt) > fmt.height_mm - fmt.margin_mm + 1.0:
            page.items += keys.items
            scenes.append(finished(page, fmt, "" if scenes else guide.title))
            page, keys = titled(guide.title, fmt), titled(guide.title, fmt)
            keys.items.clear()
        _key(keys, key, number, fmt)
    page.items += keys.items
    return [*scenes, finished(page, fmt, "" if scenes else guide.title)]


def _key_mm(keys: Column, key: str, fmt: Format) -> float:
    trial = Column(0.0, 0.0, keys.width_mm, leading=keys.leading)
    trial.text(key, fmt.label_pt, indent_mm=_indent_mm(fmt))
    return trial.y_mm


def _key(keys: Column, key: str, number: int, fmt: Format) -> None:
    middle = keys.y_mm + cap_height_mm(fmt.label_pt) / 2
    for item in _ring(keys.x_mm + _ring_mm(fmt), middle, number, fmt):
        keys.add(item)
    keys.text(key, fmt.label_pt, indent_mm=_indent_mm(fmt))
    keys.space(1.4)


def _ring_mm(fmt: Format) -> float:
    return _RING * fmt.label_pt * POINT_MM


def _indent_mm(fmt: Format) -> float:
    return 2 * _ring_mm(fmt) + 1.2


def _places(sketch: Sketch, frame: LaneFrame) -> tuple[tuple[Point, Point], ...]:
    """Return each mark and where its number stands, in the gutter on the side that is free.

    In order: stand, walk, laydown, target, path, a fallen pin.
    """
    line, habits = sketch.line, sketch.bowler.habits
    stand, laydown, target = (
        float(board_x_m(board)) for board in (line.stand, line.laydown, line.target)
    )
    slide = float(habits.slide_x_m(np.asarray(laydown)))
    # Of a full rack, all there is to show for bowlers without any spare, a pin that stands.
    fallen = next((pin for pin in (4, 5, 6) if pin not in sketch.bowler.inside(line.leave)), 5)
    trace = line.trace
    later = 3 * len(trace.x_m) // 5
    gutter = EDGE_M + GUTTER_M / 2
    ball_side, away = frame.x(gutter), frame.x(-gutter)
    dot_mm, arrow_mm = (size * frame.mark * frame.mirror for size in (1.5, 0.7))
    stand_y, walk_y = frame.y(-habits.distance_m), frame.y(-_WALK * habits.distance_m)
    foul_y, target_y = frame.y(0), frame.y(trace.target_y_m) + 1.2
    path_y, pin_y = frame.y(float(trace.y_m[later])), frame.y(pin_y_m(fallen))
    return (
        ((frame.x(stand) + dot_mm, stand_y), (ball_side, stand_y)),
        ((frame.x(slide + _WALK * (stand - slide)), walk_y), (ball_side, walk_y)),
        ((frame.x(laydown) + 0.6 * dot_mm, foul_y - 0.4), (ball_side, foul_y - 3.2)),
        ((frame.x(target) + arrow_mm, target_y), (ball_side, target_y)),
        ((frame.x(float(trace.x_m[later])), path_y), (away, path_y)),
        ((frame.x(pin_x_m(fallen)), pin_y), (away, pin_y)),
    )


def _ring(x_mm: float, y_mm: float, number: int, fmt: Format) -> tuple[Item, ...]:
    size = fmt.label_pt
    return (
        Disc(x_mm, y_mm, _ring_mm(fmt), Stroke(INK, EDGE.width_mm), fill=WHITE, name="key"),
        Text(
            x_mm,
            y_mm + cap_height_mm(size, Weight.BOLD) / 2,
            str(number),
            size,
            Weight.BOLD,
            INK,
            Align.MIDDLE,
        ),
    )
