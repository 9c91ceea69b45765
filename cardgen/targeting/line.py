"""A line as the chart gives it: what to do, how likely it is, and what happens at the pins."""

from dataclasses import dataclass
from enum import Enum

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import LEAST_CHANCE, MOST_CHANCE
from cardgen.targeting.aim import Reason


class Play(Enum):
    """What a line goes for: all the pins, or as many as are sure."""

    ALL = "all"
    COUNT = "count"


class How(Enum):
    """How a pin is brought down, mostly, when all of them fall."""

    BALL = "ball"
    PIN = "pin"
    REBOUND = "rebound"


class Hit(Enum):
    """How much of the first pin the ball meets, on the side where it passes."""

    FULL = "full"
    HALF = "half"
    THIN = "thin"


@dataclass(frozen=True)
class Action:
    """What happens at the pins, as the bowler sees them.

    The ball meets ``first`` on its ``side`` (+1 right, -1 left); ``others`` are the other pins and
    how each is brought down.
    """

    first: int
    hit: Hit
    side: int
    others: tuple[tuple[int, How], ...]


@dataclass(frozen=True)
class Alternative:
    """A line that was not chosen: the next best, or the one for the other play."""

    ball: str
    stand: float
    target: float
    make: float
    count: float


@dataclass(frozen=True)
class OtherBall:
    """The best line with the other ball, and what it costs to throw that.

    ``price``: by how much the chance is less than with the ball chosen; ``price_drier``: the same
    if the lane turns out drier than said, by a standard deviation of all that is unknown of it.
    """

    line: Alternative
    price: float
    price_drier: float


def told_chance(make: float, leave: Leave) -> float:
    """Return a chance as far as it may be believed: of several pins never nought, never sure."""
    return make if len(leave) == 1 else min(max(make, LEAST_CHANCE), MOST_CHANCE)


@dataclass(frozen=True)
class Odds:
    """The chance of the spare, and how far the line may be missed.

    ``count``: pins felled on the average. ``room_left`` and ``room_right``: boards by which the
    target may be missed, as the bowler looks, with the shot still making at least half as often.
    ``window_boards``: the ends of the stretch of arrivals that do, nearest the ball side first.
    ``unsure_boards``: 8 times in 10 the stand that would bring the mean shot to where this one is
    believed to come is no farther from it, for all that is not known of bowler and lane;
    ``arrive_unsure_boards`` is the same at the pins. Both are nought for a strike line, which is
    moved until it comes in.
    ``doubt``: standard deviation of a good bowler's chance over what nobody knows of a deck.
    ``estimate``: the pin action was not simulated in three dimensions.
    """

    make: float
    count: float
    room_left: float
    room_right: float
    window_boards: tuple[float, float]
    unsure_boards: float
    arrive_unsure_boards: float
    doubt: float
    estimate: bool


@dataclass(frozen=True)
class Spot:
    """A place on a path, in the inside frame."""

    x_m: float
    y_m: float


@dataclass(frozen=True, eq=False)
class Trace:
    """The mean shot from the foul line to its first touch, or to the gutter.

    Places (p,) each, in the inside frame. ``breakpoint``: where it is farthest out towards the ball
    side, if it comes back from there so far that it shows. ``hooks``: where it leaves the oil, the
    end of its skid; ``rolls``: where it stops sliding. Both are told of a ball that turns so much
    that it shows, and where it does so before its end.
    """

    x_m: FloatArray
    y_m: FloatArray
    target_y_m: float
    breakpoint: Spot | None = None
    hooks: Spot | None = None
    rolls: Spot | None = None


@dataclass(frozen=True, eq=False)
class Line:
    """The line for one leave, as the bowler sees the leave and counts the boards.

    ``foot_effect_boards`` is how many boards the arrival moves away from the ball side when the
    feet move one board away from it, the target kept; ``target_effect_boards`` when the target
    does, the feet kept. ``imagine`` is the pin whose spot to roll over where no standing pin marks
    the aim. ``reaches``: the mean shot stays on the lane and touches a pin of the leave, which it
    may not on a line that the bowler brought; ``action`` is None where it does not. ``other`` is
    the line for the play that ``play`` is not, where that is another line worth telling;
    ``other_ball`` the line with the ball that ``ball`` is not, where that ball has one.
    """

    leave: Leave
    ball: str
    stand: float
    target: float
    laydown: float
    arrive: float
    entry_rad: float
    odds: Odds
    action: Action | None
    imagine: int | None
    reaches: bool
    reason: Reason
    runner_up: Alternative | None
    play: Play
    other: Alternative | None
    other_ball: OtherBall | None
    foot_effect_boards: float
    target_effect_boards: float
    trace: Trace

    @property
    def known(self) -> bool:
        """Whether the line is the bowler's own, not computed."""
        return self.reason is Reason.OWN
