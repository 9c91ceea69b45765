"""What is known of a bowler and his lane beyond what the profile says, and how surely.

Everything that carries a ball astray in the same way every time is one of the UNKNOWNS. A belief
about them is a normal distribution, told in standard deviations of what was known before the first
shot: so the belief of someone who has only a profile is the standard normal one.
"""

from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import FloatArray

UNKNOWNS = (
    "gap",
    "distance",
    "walk",
    "drift",
    "aim",
    "spare_rotation",
    "strike_rotation",
    "spare_speed",
    "strike_speed",
    "film",
    "friction",
    "games",
)
"""In the order of every array over them. ``gap``, ``distance``, ``walk`` and ``drift`` are stand
habits, ``aim`` how far from the board looked at the ball crosses it, towards the ball side;
rotation and speed are each ball's; ``film`` and ``friction`` are logarithms of how many times more
there is of them than the profile says, ``games`` are more games played."""
HABITS = UNKNOWNS[:5]
LANE = UNKNOWNS[9:]


def at(name: str) -> int:
    """Return the index of an unknown; ValueError for another name."""
    return UNKNOWNS.index(name)


@dataclass(frozen=True, eq=False)
class Belief:
    """A normal distribution of the unknowns, in their deviations before the first shot.

    ``mean`` (k,), ``covariance`` (k, k); it rests on so many ``shots`` and known ``lines``.
    """

    mean: FloatArray
    covariance: FloatArray
    shots: int = 0
    lines: int = 0

    @classmethod
    def before(cls) -> "Belief":
        """Return what is believed before the first shot."""
        return cls(np.zeros(len(UNKNOWNS)), np.eye(len(UNKNOWNS)))

    @property
    def factor(self) -> FloatArray:
        """A root (k, k) of the covariance: its rows times standard normals are the unknowns."""
        values, vectors = np.linalg.eigh(self.covariance)
        root: FloatArray = vectors * np.sqrt(np.maximum(values, 0.0))
        return root

    @property
    def sd(self) -> FloatArray:
        """Standard deviations (k,), in those before the first shot."""
        deviations: FloatArray = np.sqrt(np.diagonal(self.covariance))
        return deviations
