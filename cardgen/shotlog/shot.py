"""A shot, as far as somebody at the lane can see and write it down."""

import datetime
from dataclasses import dataclass
from enum import Enum

from cardgen.lane.rack import Leave, pin_y_m
from cardgen.profile.schema import BallName


class Result(Enum):
    """What became of the leave, and on which side of it the ball came in where that was seen."""

    HIT = "hit"
    MISS = "miss"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True)
class Shot:
    """One shot as the bowler saw it; boards in the bowler's own count, from the ball side.

    ``leave``: the pins as the bowler sees them. ``stand`` and ``target``: the line meant, in half
    boards. ``arrows``: the board the ball crossed at the target's distance, in quarter boards.
    ``arrive``: the board of the ball's middle at the row of the leave's front pin, -1 to 41; a
    gutter ball is just beyond 1 or 39. ``result``: ``HIT`` fells all pins, the others do not.
    ``off_boards``: only with ``LEFT`` or ``RIGHT``, and where the leave has one front pin: by so
    many boards the ball's middle passed to that side of the middle of that pin, as seen from the
    foul line. ``note``: one line.
    """

    leave: Leave
    stand: float
    target: float
    ball: BallName = "spare"
    date: datetime.date | None = None
    arrows: float | None = None
    arrive: float | None = None
    result: Result | None = None
    off_boards: float | None = None
    speed_mph: float | None = None
    note: str = ""

    @property
    def tells(self) -> bool:
        """Whether anything was seen of it: a line that is only begun on a sheet says nothing."""
        seen = (self.arrows, self.arrive, self.result, self.speed_mph)
        return any(value is not None for value in seen)


def front_pins(leave: Leave) -> int:
    """Return how many pins of ``leave`` stand in its nearest row."""
    return sum(pin_y_m(pin) == leave.front_row_m for pin in leave)
