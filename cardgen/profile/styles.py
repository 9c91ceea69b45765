"""What a style of delivery implies where a profile does not say.

Assumptions, all of them. Only the range is published: a governing body's tracking has deliveries of
220 to 520 rpm with 60 to 80 degrees of axis rotation (relayed), among bowlers far above the level
that a default is for.
"""

from dataclasses import dataclass, replace

from cardgen.profile.schema import BallName, SpareBall, StrikeBall, Style


@dataclass(frozen=True)
class Turn:
    """How a ball is turned at release."""

    rev_rpm: float
    rotation_deg: float
    tilt_deg: float


@dataclass(frozen=True)
class StyleDefaults:
    """A style's gap from slide foot to ball, and its turn of each ball."""

    ball_gap_boards: float
    turn: dict[BallName, Turn]


STYLES: dict[Style, StyleDefaults] = {
    # Slide foot to ball: 5 to 7 boards one-handed (common practice, no source). Spare balls: thrown
    # flat, 50 to 150 rpm, 0 to 15 degrees (common practice, no source).
    "one-handed": StyleDefaults(5.0, {"spare": Turn(120, 5, 10), "strike": Turn(280, 50, 12)}),
    # The hand under the ball turns it more, and cannot quite stop turning it for a spare. The foot
    # slides nearer to the ball's line: nothing is published, measure it.
    "two-handed": StyleDefaults(3.0, {"spare": Turn(220, 12, 8), "strike": Turn(400, 55, 10)}),
    "no-thumb": StyleDefaults(5.0, {"spare": Turn(200, 12, 10), "strike": Turn(350, 60, 14)}),
}

_FULL_TURN_MPH: dict[BallName, float] = {
    "spare": SpareBall().speed_mph,
    "strike": StrikeBall().speed_mph,
}
_SLOWED = 2.0
"""Who throws at half the speed turns the ball a quarter as much (an assumption). With the speed, or
its power 1.5, no ball of a two-handed junior would come to the pocket (derived with the engine: 6
to 10 lb, 9 to 12 mph); what a child throws does."""


def usual_turn(style: Style, ball: BallName, speed_mph: float) -> Turn:
    """Return how a bowler of that style turns that ball who throws it at ``speed_mph``.

    The table is of grown bowlers. At their rev rate a child's ball, slow and all the longer on the
    lane, would hook farther than the lane is wide; so below the default speed the rev rate falls
    with a power of the speed. Above it nothing changes.
    """
    usual = STYLES[style].turn[ball]
    share = min(1.0, speed_mph / _FULL_TURN_MPH[ball]) ** _SLOWED
    # Whole, as it is printed and written: who writes it down changes nothing.
    return replace(usual, rev_rpm=float(round(usual.rev_rpm * share)))
