"""The room gauge: the boards about the target, and the stretch of them that still makes."""

import math

from cardgen.cards.card import RoomGauge, board_text
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.fonts import width_mm as width_of
from cardgen.drawing.ink import heavier
from cardgen.drawing.scene import Align, Group, Item, Line, Polyline, Text, Weight
from cardgen.drawing.shapes import round_box
from cardgen.drawing.theme import EDGE, INK, NAVY, SKY, TICK, Format
from cardgen.lane.geometry import BOARDS

_REACH_BOARDS = 3
_BAR_MM = 2.6
_WHOLE, _HALF = 1.8, 1.0
_APART_MM = 0.6  # at least, between two numbers


def gauge_height_mm(fmt: Format) -> float:
    """Return the height of :func:`gauge_view`."""
    return (_BAR_MM + _WHOLE) * _mark(fmt) + 1.0 + cap_height_mm(fmt.tick_pt)


def _mark(fmt: Format) -> float:
    return max(1.0, fmt.mark)


def gauge_view(
    room: RoomGauge, mirror: int, width_mm: float, fmt: Format, *, rounded: bool = False
) -> Group:
    """Return the gauge, its top left corner at the origin; its bar may have ``rounded`` corners.

    Left on paper is left on the lane, as the bowler looks: boards rise to the left for a
    right-hander (``mirror`` 1) and to the right for a left-hander (-1).
    """
    # As many boards as the room needs, so that the bar's ends are seen.
    reach = max(_REACH_BOARDS, math.ceil(max(room.left, room.right) + 0.5))
    pitch = width_mm / (2 * reach + 1)
    middle = width_mm / 2
    mark = _mark(fmt)
    high = _BAR_MM * mark

    def x(boards_right: float) -> float:
        return middle + boards_right * pitch

    left, right = x(-room.left), x(room.right)
    bar: Item
    if rounded:
        bar = round_box(left, 0.0, right - left, high, high / 2, fill=SKY, stroke=EDGE, name="room")
    else:
        corners = ((left, 0.0), (right, 0.0), (right, high), (left, high))
        bar = Polyline(corners, EDGE, fill=SKY, closed=True, name="room")
    items: list[Item] = [
        bar,
        Line(x(-reach), high, x(reach), high, EDGE),
    ]
    numbers = {step: room.target - mirror * step for step in range(-reach, reach + 1)}
    numbers = {step: board for step, board in numbers.items() if 1 <= board <= BOARDS}
    widest = max(
        width_of(board_text(board), fmt.tick_pt, Weight.BOLD) for board in numbers.values()
    )
    every = math.ceil((widest + _APART_MM) / pitch)
    low = high + _WHOLE * mark + 0.8 + cap_height_mm(fmt.tick_pt)
    for step, board in numbers.items():
        items.append(Line(x(step), high, x(step), high + _HALF * mark, TICK))
        if step % every == 0:
            weight = Weight.REGULAR if step else Weight.BOLD
            text = board_text(board)
            items.append(Text(x(step), low, text, fmt.tick_pt, weight, INK, Align.MIDDLE))
    tip = ((middle - 0.9 * mark, high), (middle, 0.0), (middle + 0.9 * mark, high))
    items.append(Polyline(tip, fill=NAVY, closed=True, name="gauge-target"))
    return heavier(Group(tuple(items), "room-gauge"), mark)
