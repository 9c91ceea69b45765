"""Where the bowler's feet are against where the ball is set down."""

from dataclasses import dataclass

from cardgen.lane.geometry import FloatArray


@dataclass(frozen=True)
class StandHabits:
    """How a stance becomes a laydown.

    ``distance_m``: the slide foot's mark behind the foul line at the start. ``gap_m``: from that
    foot to the ball's middle, towards the ball side. ``walk``: 1 walks parallel to the line, 0
    straight ahead. ``drift_m``: sideways drift on the way, positive towards the ball side.
    """

    distance_m: float
    gap_m: float
    walk: float
    drift_m: float = 0.0

    def laydown_x_m(
        self, stand_x_m: FloatArray, target_x_m: FloatArray, target_y_m: FloatArray
    ) -> FloatArray:
        """Return x [m] of the ball's middle at the foul line, for stands and targets (n,).

        The walk follows the line's slope, and the line starts where the walk ends, so the two are
        solved together: laydown = stand + gap + drift + walk x distance x slope, with slope =
        (target - laydown) / target distance.
        """
        pull = self.walk * self.distance_m / target_y_m
        return (stand_x_m + self.gap_m + self.drift_m + pull * target_x_m) / (1 + pull)

    def slide_x_m(self, laydown_x_m: FloatArray) -> FloatArray:
        """Return x [m] of the slide foot at the line when the ball is set down."""
        return laydown_x_m - self.gap_m
