"""The release: how the ball leaves the hand, for one ball or for thousands at once."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import FloatArray


@dataclass(frozen=True, eq=False)
class Release:
    """Releases at the foul line, each field an array (n,).

    ``x_m`` is the place of the ball's middle; ``launch_rad`` its direction, 0 straight down the
    lane and positive away from the ball side (towards -x); ``rev_radps`` the whole spin;
    ``rotation_rad`` how far the roll direction is turned from the launch towards the hook side;
    ``tilt_rad`` how far the spin axis leans out of the horizontal, which spins the ball in place
    and does not drive it.
    """

    x_m: FloatArray
    launch_rad: FloatArray
    speed_mps: FloatArray
    rev_radps: FloatArray
    rotation_rad: FloatArray
    tilt_rad: FloatArray

    @classmethod
    def of(
        cls,
        x_m: ArrayLike,
        launch_rad: ArrayLike,
        speed_mps: ArrayLike,
        rev_radps: ArrayLike = 0.0,
        rotation_rad: ArrayLike = 0.0,
        tilt_rad: ArrayLike = 0.0,
    ) -> "Release":
        """Return releases from scalars and arrays (n,), each spread to the same length."""
        parts = np.broadcast_arrays(
            *(
                np.atleast_1d(np.asarray(part, dtype=np.float64))
                for part in (x_m, launch_rad, speed_mps, rev_radps, rotation_rad, tilt_rad)
            )
        )
        return cls(*parts)

    def __len__(self) -> int:
        return len(self.x_m)

    def tiled(self, times: int) -> "Release":
        """Return the releases ``times`` over, one whole copy after the other."""
        return Release(*(np.concatenate([getattr(self, f.name)] * times) for f in fields(self)))

    @property
    def velocity_mps(self) -> tuple[FloatArray, FloatArray]:
        """Velocity (x, y) of the ball's middle, each (n,)."""
        return (
            -self.speed_mps * np.sin(self.launch_rad),
            self.speed_mps * np.cos(self.launch_rad),
        )

    def rim_mps(self, radius_m: float) -> tuple[FloatArray, FloatArray]:
        """Return the velocity (x, y), each (n,), at which the ball would roll with this spin."""
        rim = radius_m * self.rev_radps * np.cos(self.tilt_rad)
        heading = self.launch_rad + self.rotation_rad
        return -rim * np.sin(heading), rim * np.cos(heading)
