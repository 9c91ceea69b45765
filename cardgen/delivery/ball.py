"""The ball as a rigid, balanced sphere."""

from dataclasses import dataclass

from cardgen.units import INCH_M

STANDARD_RADIUS_M = 8.55 / 2 * INCH_M
"""Middle of the diameters allowed, 8.500 to 8.595 in (USBC equipment specifications)."""


@dataclass(frozen=True)
class Ball:
    """A ball's size, mass and radius of gyration (RG)."""

    radius_m: float
    rg_m: float
    mass_kg: float

    @property
    def kappa(self) -> float:
        """Inertia over m R^2: 0.4 for a uniform sphere."""
        return (self.rg_m / self.radius_m) ** 2

    @property
    def roll_fraction(self) -> float:
        """Share lambda = kappa / (1 + kappa) of the first slip by which the speed will change."""
        return self.kappa / (1 + self.kappa)
