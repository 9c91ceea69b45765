"""The page that explains a card: the lane of an example with its marks numbered."""

import numpy as np

from cardgen.cards.booklet import Guide
from cardgen.cards.card import Sketch
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import LaneFrame, lane_frame
from cardgen.drawing.scene import Align, Disc, Item, Line, Point, Scene, Stroke, Text, Weight, moved
from cardgen.drawing.theme import EDGE, INK, RULE, TICK, WHITE, Format
from cardgen.lane.geometry import EDGE_M, GUTTER_M, board_x_m
from cardgen.lane.rack import pin_x_m, pin_y_m

_RING_MM = 1.75
_WALK = 0.42  # how far back along the walk its number points


def guide_scene(guide: Guide, fmt: Format) -> Scene:
    """Return the page: the example's lane at the left, its marks explained at the right."""
    page = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    page.text(guide.title, fmt.head_pt, Weight.BOLD, name="title")
    page.space(0.2)
    page.rule(RULE)
    page.space(2.4)
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
    for number, key in enumerate(guide.keys, start=1):
        rise = cap_height_mm(fmt.label_pt)
        for item in _ring(left + _RING_MM, keys.y_mm + rise / 2, number, fmt):
            keys.add(item)
        keys.text(key, fmt.label_pt, indent_mm=2 * _RING_MM + 1.2)
        keys.space(1.4)
    return Scene(
        fmt.width_mm,
        fmt.height_mm,
        (*page.items, *keys.items),
        guide.title,
        safe_mm=fmt.safe_mm,
    )


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
    dot_mm, arrow_mm = 1.5 * frame.mirror, 0.7 * frame.mirror
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
        Disc(x_mm, y_mm, _RING_MM, Stroke(INK, EDGE.width_mm), fill=WHITE, name="key"),
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
