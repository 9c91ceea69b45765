"""The room gauge: the boards about the target, and the stretch of them that still makes."""

import math

from cardgen.cards.card import RoomGauge, board_text
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.scene import Align, Group, Item, Line, Polyline, Text, Weight
from cardgen.drawing.theme import EDGE, INK, NAVY, SKY, TICK, Format
from cardgen.lane.geometry import BOARDS

_REACH_BOARDS = 3
_BAR_MM = 2.6
_WHOLE, _HALF = 1.8, 1.0


def gauge_height_mm(fmt: Format) -> float:
    """Return the height of :func:`gauge_view`."""
    return _BAR_MM + _WHOLE + 1.0 + cap_height_mm(fmt.tick_pt)


def gauge_view(room: RoomGauge, mirror: int, width_mm: float, fmt: Format) -> Group:
    """Return the gauge, its top left corner at the origin.

    Left on paper is left on the lane, as the bowler looks: boards rise to the left for a
    right-hander (``mirror`` 1) and to the right for a left-hander (-1).
    """
    # As many boards as the room needs, so that the bar's ends are seen.
    reach = max(_REACH_BOARDS, math.ceil(max(room.left, room.right) + 0.5))
    pitch = width_mm / (2 * reach + 1)
    middle = width_mm / 2

    def x(boards_right: float) -> float:
        return middle + boards_right * pitch

    bar = (
        (x(-room.left), 0.0),
        (x(room.right), 0.0),
        (x(room.right), _BAR_MM),
        (x(-room.left), _BAR_MM),
    )
    items: list[Item] = [
        Polyline(bar, EDGE, fill=SKY, closed=True, name="room"),
        Line(x(-reach), _BAR_MM, x(reach), _BAR_MM, EDGE),
    ]
    low = _BAR_MM + _WHOLE + 0.8 + cap_height_mm(fmt.tick_pt)
    for step in range(-reach, reach + 1):
        board = room.target - mirror * step
        if not 1 <= board <= BOARDS:
            continue
        items.append(Line(x(step), _BAR_MM, x(step), _BAR_MM + _HALF, TICK))
        weight = Weight.REGULAR if step else Weight.BOLD
        text = board_text(board)
        items.append(Text(x(step), low, text, fmt.tick_pt, weight, INK, Align.MIDDLE))
    tip = ((middle - 0.9, _BAR_MM), (middle, 0.0), (middle + 0.9, _BAR_MM))
    items.append(Polyline(tip, fill=NAVY, closed=True, name="gauge-target"))
    return Group(tuple(items), "room-gauge")
