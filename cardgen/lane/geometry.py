"""The lane: boards as names for places across it, and the marks a bowler can see.

The frame of the whole program: x to the right of the lane's centre as the bowler looks, y
down-lane from the foul line, in metres. Inside, every bowler is right-handed: a left-hander's
world is the mirror image (x becomes -x), and the mirror is applied once, where a profile comes in
and where a drawing or a leave goes out. So a board number, counted from the bowler's own ball side,
has the same x inside for both hands.
"""

from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cardgen.units import FOOT_M, INCH_M

FloatArray: TypeAlias = NDArray[np.float64]
IndexArray: TypeAlias = NDArray[np.intp]
BoolArray: TypeAlias = NDArray[np.bool_]

BOARDS = 39
"""Boards across the lane (USBC equipment specifications)."""
CENTRE_BOARD = (BOARDS + 1) / 2
WIDTH_M = 41.5 * INCH_M
"""Lane width, 41 1/2 +- 1/2 in (USBC equipment specifications)."""
EDGE_M = WIDTH_M / 2
"""From the lane's centre to the edge; a ball whose centre passes it is in the gutter."""
BOARD_M = WIDTH_M / BOARDS
"""Pitch of the boards (derived: 41.5 in / 39)."""
GUTTER_M = 9.25 * INCH_M
"""Gutter width, 9 to 9 1/2 in (USBC equipment specifications)."""
HEAD_PIN_M = 60 * FOOT_M
"""Foul line to head-pin spot, 60 ft +- 1/2 in (USBC equipment specifications)."""
LANE_END_M = (62 * 12 + 10.1875) * INCH_M
"""Foul line to lane end, 62 ft 10 3/16 in without the tail plank (USBC)."""
APPROACH_M = 15 * FOOT_M
"""Shortest approach allowed (USBC equipment specifications)."""
ARROW_BOARDS = (5, 10, 15, 20, 25, 30, 35)
"""Boards of the seven arrows, and of the dots before the foul line (USBC)."""
LANE_DOT_BOARDS = (3, 5, 8, 11, 14, 26, 29, 32, 35, 37)
"""Boards of the ten dots on the lane, 6 to 8 ft past the foul line (USBC)."""
LANE_DOTS_M = 7 * FOOT_M
"""Where the lane dots are drawn: the middle of their 6 to 8 ft band."""


class Hand(Enum):
    """The hand that delivers the ball, which is also the side the boards are counted from."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def mirror(self) -> int:
        """Return +1 where the inside frame is the real one, -1 where it is its mirror image."""
        return 1 if self is Hand.RIGHT else -1


def board_x_m(board: ArrayLike, hand: Hand = Hand.RIGHT) -> FloatArray:
    """Return x [m] of the middle of ``board``, counted from ``hand``'s side; any shape."""
    return hand.mirror * (CENTRE_BOARD - np.asarray(board, dtype=np.float64)) * BOARD_M


def x_board(x_m: ArrayLike, hand: Hand = Hand.RIGHT) -> FloatArray:
    """Return the (fractional) board at ``x_m`` [m], counted from ``hand``'s side; any shape."""
    return CENTRE_BOARD - hand.mirror * np.asarray(x_m, dtype=np.float64) / BOARD_M


@dataclass(frozen=True)
class Sights:
    """What a bowler looks at: the arrows' chevron, and the dot rows of the approach.

    No standard gives each arrow's distance, only the band of 12 to 16 ft and that the centre arrow
    is farthest (USBC); dot rows vary by centre. Both are therefore settings of a lane.
    """

    arrows_m: tuple[float, ...] = field(
        default=tuple(d * FOOT_M for d in (12.5, 13.5, 14.5, 15.5, 14.5, 13.5, 12.5))
    )
    approach_dots_m: tuple[float, ...] = field(default=(12 * FOOT_M, 15 * FOOT_M))

    def target_y_m(self, board: ArrayLike) -> FloatArray:
        """Return y [m] of a target on ``board``: on the chevron, its arms drawn on to the edges."""
        b = np.asarray(board, dtype=np.float64)
        y = np.interp(b, ARROW_BOARDS, self.arrows_m)
        first, second, *_, penultimate, last = self.arrows_m
        pitch = ARROW_BOARDS[1] - ARROW_BOARDS[0]
        y = np.where(
            b < ARROW_BOARDS[0], first + (b - ARROW_BOARDS[0]) * (second - first) / pitch, y
        )
        return np.where(
            b > ARROW_BOARDS[-1],
            last + (b - ARROW_BOARDS[-1]) * (last - penultimate) / pitch,
            y,
        )
