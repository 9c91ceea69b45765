"""Lines as a bowler throws them: from stands and targets to launches and arrivals."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from cardgen.delivery.release import Release
from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import FloatArray, board_x_m
from cardgen.physics.path import ERRORS, BallPath, arrival_jacobian, ball_path
from cardgen.profile.bowler import BallChoice, Bowler

_REACH = 3**0.5  # deviations: two points there have the moments of a normal error to the fifth
_LEAST_STEP = 1e-6  # SI units: where nothing varies, the slope is multiplied by nought
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

    def fan(self, turns_rad: FloatArray) -> "LineSet":
        """Return the lines with launches off by ``turns_rad`` (k,): n k lines, k for each."""
        fanned = self.pick(np.repeat(np.arange(len(self)), turns_rad.size))
        launch = fanned.launch_rad + np.tile(turns_rad, len(self))
        return replace(fanned, launch_rad=launch)

    def moved_by_shots(self, planes_m: ArrayLike, spread: Spread) -> FloatArray:
        """Return what a deviation of laydown, speed and rev rate moves, (n, p, 2, 3).

        That is place [m] and angle [rad] at ``planes_m`` (p,), in proportion to how far they stray
        on the average (root mean square).
        """
        sizes = dict(zip(ERRORS, spread.deviations(self.ball.rev_radps).tolist(), strict=True))
        errors = [name for name in ERRORS if name != "launch_rad"]
        slope = arrival_jacobian(
            self.ball.ball,
            self.release,
            self.ball.friction,
            planes_m,
            errors=errors,
            steps=[max(_REACH * sizes[name], _LEAST_STEP) for name in errors],
        )
        moved: FloatArray = slope * np.array([sizes[name] for name in errors])
        return moved

    def moved_by_doubts(self, planes_m: ArrayLike) -> FloatArray:
        """Return what a standard deviation of each unknown of the lane moves, (n, p, 2, k).

        That is place [m] and angle [rad] at ``planes_m`` (p,); the release stays what it is.
        """
        ball, release = self.ball, self.release
        moved = np.zeros((len(self), np.shape(planes_m)[-1], 2, len(ball.doubts)))
        for k, doubt in enumerate(ball.doubts):
            less, more = (
                ball_path(ball.ball, release, friction, planes_m)
                for friction in (doubt.less, doubt.more)
            )
            moved[..., 0, k] = (more.x_m - less.x_m) / doubt.deviations
            moved[..., 1, k] = (more.angle_rad - less.angle_rad) / doubt.deviations
        return moved


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
