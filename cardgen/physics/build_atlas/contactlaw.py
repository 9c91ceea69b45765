"""Contact as a damped spring: the stiffness and damping that give a wanted restitution.

The solver turns direct stiffness k and damping c into the relative acceleration -k r - c v of the
two surfaces, whatever their masses, so one pair (k, c) gives one restitution to every pair of
bodies. Surfaces push but never pull: they part when that acceleration has fallen to nought.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq


def restitution_of(damping_ratio: float) -> float:
    """Return the restitution of a damped spring that cannot pull.

    The spring x'' = -w^2 x - 2 z w x' from x = 0 first stops pushing at the phase
    w_d t = pi - atan2(2 z sqrt(1 - z^2), 1 - 2 z^2), where the speed has fallen by exp(-z w t)
    (derived; z below 1).
    """
    rest = np.sqrt(1 - damping_ratio**2)
    phase = np.pi - np.arctan2(2 * damping_ratio * rest, 1 - 2 * damping_ratio**2)
    return float(np.exp(-damping_ratio / rest * phase))


@lru_cache(maxsize=4096)
def damping_ratio_for(restitution: float) -> float:
    """Return the damping ratio that gives ``restitution``, of 0.2 to 1.

    Raises:
        ValueError: the restitution is outside that range.
    """
    if not 0.2 <= restitution <= 1:
        raise ValueError(f"a restitution here is 0.2 to 1 (got {restitution})")
    return float(brentq(lambda z: restitution_of(z) - restitution, 0.0, 0.999))


@dataclass(frozen=True)
class Spring:
    """A contact's stiffness and damping, per unit of the bodies' reduced mass."""

    stiffness_ps2: float
    damping_ps: float

    @classmethod
    def of(cls, restitution: float, duration_s: float) -> "Spring":
        """Return the spring whose undamped contact would last ``duration_s``."""
        frequency = np.pi / duration_s
        return cls(float(frequency**2), float(2 * damping_ratio_for(restitution) * frequency))

    @property
    def solref(self) -> tuple[float, float]:
        """The pair in the solver's direct format: both negative."""
        return -self.stiffness_ps2, -self.damping_ps
