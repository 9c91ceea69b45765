"""Lines as a bowler throws them: from stands and targets to launches and arrivals."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cardgen.delivery.release import Release
from cardgen.lane.geometry import FloatArray, board_x_m
from cardgen.physics.path import BallPath, arrival_jacobian, ball_path
from cardgen.profile.bowler import BallChoice, Bowler

_NEWTON_STEPS = 4  # after three, the wildest spin the schema allows is off by 0.1 mm


@dataclass(frozen=True, eq=False)
class LineSet:
    """n lines thrown with one ball; each array is (n,)."""

    ball: BallChoice
    stand: FloatArray
    target: FloatArray
    target_x_m: FloatArray
    target_y_m: FloatArray
    laydown_x_m: FloatArray
    launch_rad: FloatArray

    def __len__(self) -> int:
        return len(self.stand)

    def pick(self, which: ArrayLike) -> "LineSet":
        """Return the lines that an index or a mask (n,) picks."""
        chosen = np.asarray(which)
        return LineSet(
            self.ball,
            self.stand[chosen],
            self.target[chosen],
            self.target_x_m[chosen],
            self.target_y_m[chosen],
            self.laydown_x_m[chosen],
            self.launch_rad[chosen],
        )

    @property
    def release(self) -> Release:
        """The n releases."""
        return self.ball.release(self.laydown_x_m, self.launch_rad)

    def path(self, planes_m: ArrayLike) -> BallPath:
        """Return the mean shot's path over ``planes_m``, (p,) or (n, p)."""
        return ball_path(self.ball.ball, self.release, self.ball.friction, planes_m)

    def jacobian(self, planes_m: ArrayLike) -> FloatArray:
        """Return the Jacobian (n, p, 2, 4) of the arrival at ``planes_m``."""
        return arrival_jacobian(self.ball.ball, self.release, self.ball.friction, planes_m)


def lines_of(
    bowler: Bowler, ball: BallChoice, stand_boards: ArrayLike, target_boards: ArrayLike
) -> LineSet:
    """Return the lines from ``stand_boards`` over ``target_boards`` (n,), thrown by ``bowler``.

    The launch is solved so that the ball crosses the target, however much it curves on the way.
    """
    stand, target = (
        np.array(part, dtype=np.float64)
        for part in np.broadcast_arrays(np.atleast_1d(stand_boards), np.atleast_1d(target_boards))
    )
    target_x, target_y = board_x_m(target), bowler.sights.target_y_m(target)
    laydown = bowler.habits.laydown_x_m(board_x_m(stand), target_x, target_y)
    launch = np.arctan2(laydown - target_x, target_y)
    for _ in range(_NEWTON_STEPS):
        crossed = ball_path(
            ball.ball, ball.release(laydown, launch), ball.friction, target_y[:, np.newaxis]
        )
        miss = crossed.x_m[:, 0] - target_x
        # Turning the launch by da moves the crossing by about -r^2/y da about the laydown.
        launch = launch + miss * target_y / (target_y**2 + (laydown - target_x) ** 2)
    return LineSet(ball, stand, target, target_x, target_y, laydown, launch)
