"""Lines as a bowler throws them: from stands and targets to launches and arrivals."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from cardgen.delivery.release import Release
from cardgen.lane.geometry import FloatArray, board_x_m
from cardgen.physics.path import BallPath, arrival_jacobian, ball_path
from cardgen.profile.bowler import BallChoice, Bowler

_REACH = 3**0.5  # deviations: two points there have the moments of a normal error to the fifth
_LEAST_STEP = 1e-6  # SI units: where nothing varies, the slope is multiplied by nought
_NEWTON_STEPS = 4  # after three, the wildest spin the schema allows is off by 0.1 mm


@dataclass(frozen=True, eq=False)
class LineSet:
    """n lines that ``bowler`` throws with one ball; each array is (n,).

    ``target_x_m`` is where the ball crosses, which may be beside the board looked at.
    """

    bowler: Bowler
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
            self.bowler,
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

    @property
    def launch_by_target(self) -> FloatArray:
        """By how much (n,) the launch turns [rad] when the crossing moves right by a metre.

        The laydown stays, and so does the opposite for the laydown: about the target a line turns
        by as much the other way. Of a straight line; nothing bends it much before the target.
        """
        across = self.laydown_x_m - self.target_x_m
        turn: FloatArray = -self.target_y_m / (self.target_y_m**2 + across**2)
        return turn

    def slope_by(
        self, planes_m: ArrayLike, errors: Sequence[str], sizes: Sequence[float]
    ) -> FloatArray:
        """Return what each of ``errors`` of the release moves, (n, p, 2, e), a unit of it.

        That is place [m] and angle [rad] at ``planes_m``, (p,) or (n, p), in proportion to how far
        errors of the root mean square ``sizes`` stray.
        """
        return arrival_jacobian(
            self.ball.ball,
            self.release,
            self.ball.friction,
            planes_m,
            errors=errors,
            steps=[max(_REACH * size, _LEAST_STEP) for size in sizes],
        )


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
    target_x = target_x + bowler.aim_m  # the feet follow what the eyes see
    launch = np.arctan2(laydown - target_x, target_y)
    for _ in range(_NEWTON_STEPS):
        crossed = ball_path(
            ball.ball, ball.release(laydown, launch), ball.friction, target_y[:, np.newaxis]
        )
        miss = crossed.x_m[:, 0] - target_x
        # Turning the launch by da moves the crossing by about -r^2/y da about the laydown.
        launch = launch + miss * target_y / (target_y**2 + (laydown - target_x) ** 2)
    return LineSet(bowler, ball, stand, target, target_x, target_y, laydown, launch)
