"""How far a bowler's shots stray from each other."""

from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.units import DEGREE_RAD, MPH_MPS


@dataclass(frozen=True)
class Spread:
    """Standard deviations from shot to shot, taken as independent."""

    laydown_m: float
    launch_rad: float
    speed_mps: float
    rev_fraction: float

    def deviations(self, rev_radps: float) -> FloatArray:
        """Return the deviations (4,) of laydown, launch, speed and rev rate, in SI units."""
        return np.array(
            [self.laydown_m, self.launch_rad, self.speed_mps, self.rev_fraction * rev_radps]
        )

    @classmethod
    def of(
        cls, angle_deg: float, laydown_boards: float, speed_mph: float, rev_percent: float
    ) -> "Spread":
        """Return a spread from the trade's units."""
        return cls(
            laydown_boards * BOARD_M,
            angle_deg * DEGREE_RAD,
            speed_mph * MPH_MPS,
            rev_percent / 100,
        )


PRESETS = {
    "new": Spread.of(0.50, 1.0, 0.7, 10),
    "league": Spread.of(0.44, 0.7, 0.5, 8),
    "strong": Spread.of(0.33, 0.5, 0.4, 6),
    "elite": Spread.of(0.22, 0.3, 0.2, 5),
}
"""Spread by level. Angles: the governing body's accuracy test of 2012, range of ten shots at the
arrows for averages of 160+, 180+, 200+ and 220+, converted. Laydown, speed and rev rate are
assumptions."""
