"""The pin as a rigid body: outline, mass, centre of gravity, inertia, and a stack of spheres.

A solid of revolution touches other bodies fast and smoothly when it is built of spheres inside it;
only the base, on which it stands and over whose rim it tips, needs a cylinder.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import PchipInterpolator

from cardgen.lane.geometry import FloatArray
from cardgen.units import INCH_M, POUND_KG

PIN_HEIGHT_M = 15 * INCH_M
"""Height of a pin (USBC equipment specifications)."""
PIN_MASS_KG = 3.5 * POUND_KG
"""Middle of the 3 lb 6 oz to 3 lb 10 oz allowed (USBC equipment specifications)."""
CROWN_RADIUS_M = 1.273 * INCH_M
"""Radius of the rounded top (from memory, two memories agree)."""
OUTLINE_IN = (
    (0.0, 2.031),
    (0.75, 2.828),
    (2.25, 3.906),
    (3.375, 4.510),
    (4.5, 4.766),
    (5.875, 4.563),
    (7.25, 3.703),
    (8.625, 2.472),
    (9.375, 1.965),
    (10.0, 1.797),
    (10.875, 1.870),
    (11.75, 2.094),
    (12.625, 2.406),
    (13.5, 2.547),
)
"""Diameters [in] by height [in] (from memory, two memories agree)."""
BASE_RADIUS_M = OUTLINE_IN[0][1] / 2 * INCH_M
BELLY_HEIGHT_M = 4.5 * INCH_M
"""Where a pin is widest."""
SPHERE_HEIGHTS_IN = (1.05, 2.35, 3.45, 4.5, 5.6, 7.05, 8.6, 10.05, 11.25, 12.55, 13.727)
"""Middles of the spheres: one at the belly, one in the crown, the rest to leave small gaps."""
_CLEARANCE_M = 0.5e-3  # a standing pin's lowest sphere stays off the deck
_FINE = 3001


def outline_radius_m(height_m: FloatArray) -> FloatArray:
    """Return the pin's radius [m] at ``height_m`` [m] above its base; any shape.

    A monotone cubic through the table (a free cubic would overshoot), and the crown as part of a
    sphere above the widest place of the head.
    """
    knots = np.array(OUTLINE_IN) * INCH_M
    crown = PIN_HEIGHT_M - CROWN_RADIUS_M
    body = PchipInterpolator(
        np.append(knots[:, 0], crown), np.append(knots[:, 1] / 2, CROWN_RADIUS_M)
    )
    h = np.asarray(height_m, dtype=np.float64)
    above = np.clip(h - crown, 0.0, CROWN_RADIUS_M)
    cap = np.sqrt(CROWN_RADIUS_M**2 - above**2)
    return np.where(h < crown, body(np.clip(h, 0.0, crown)), cap)


@dataclass(frozen=True, eq=False)
class PinBody:
    """A pin of uniform density and its stand-in of spheres; heights are above the base."""

    cg_m: float
    axial_inertia_kgm2: float
    transverse_inertia_kgm2: float
    sphere_height_m: FloatArray
    sphere_radius_m: FloatArray

    @property
    def tip_angle_rad(self) -> float:
        """Lean at which the centre of gravity stands over the rim of the base."""
        return float(np.arctan2(BASE_RADIUS_M, self.cg_m))

    def envelope_radius_m(self, height_m: FloatArray) -> FloatArray:
        """Return the radius [m] of the stack of spheres at ``height_m`` (n,), nought outside."""
        rise = height_m[:, np.newaxis] - self.sphere_height_m
        square = self.sphere_radius_m**2 - rise**2
        widest: FloatArray = np.sqrt(np.clip(square, 0.0, None)).max(axis=1)
        return widest


def _inscribed_m(at: float, height: FloatArray, radius: FloatArray) -> float:
    """Return the radius of the largest sphere around height ``at`` that fits in the outline."""
    fits = float(np.sqrt(((height - at) ** 2 + radius**2).min()))
    return min(fits, at - _CLEARANCE_M)


@lru_cache(maxsize=1)
def pin_body() -> PinBody:
    """Return the pin: integrals of the outline, and the sphere stack with the least worst gap."""
    height = np.linspace(0.0, PIN_HEIGHT_M, _FINE)
    radius = outline_radius_m(height)
    area = np.pi * radius**2
    volume = np.trapezoid(area, height)
    cg = float(np.trapezoid(area * height, height) / volume)
    density = PIN_MASS_KG / volume
    axial = float(density * np.trapezoid(area * radius**2 / 2, height))
    transverse = float(density * np.trapezoid(area * (radius**2 / 4 + (height - cg) ** 2), height))

    heights = np.array(SPHERE_HEIGHTS_IN) * INCH_M
    radii = np.array([_inscribed_m(float(a), height, radius) for a in heights])
    return PinBody(cg, axial, transverse, heights, radii)
