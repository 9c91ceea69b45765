"""Friction of the lane as a function of place."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import FloatArray


@dataclass(frozen=True, eq=False)
class FrictionGrid:
    """Coulomb friction, constant on each cell of a grid over the lane.

    ``x_edges_m`` (c,) and ``y_edges_m`` (r,) are the inner edges, rising; ``mu`` (r+1, c+1) holds a
    row for each stretch down-lane, nearest first, and a column for each strip across, left first.
    The outer cells reach to infinity, so that a ball is always on some cell. ``slope`` is how much
    the surface falls towards +x, metres a metre.
    """

    x_edges_m: FloatArray
    y_edges_m: FloatArray
    mu: FloatArray
    slope: float = 0.0

    def __post_init__(self) -> None:
        """Raise ValueError unless the edges rise, the shapes agree and friction is positive."""
        if self.mu.shape != (self.y_edges_m.size + 1, self.x_edges_m.size + 1):
            raise ValueError(f"mu has shape {self.mu.shape}, which does not fit the edges")
        if not all(np.all(np.diff(edges) > 0) for edges in (self.x_edges_m, self.y_edges_m)):
            raise ValueError("the edges of a friction grid rise")
        if not np.all(self.mu > 0) or not np.all(np.isfinite(self.mu)):
            raise ValueError("friction is positive and finite everywhere")

    @classmethod
    def zones(cls, y_edges_m: ArrayLike, mu: ArrayLike) -> "FrictionGrid":
        """Return zones across the whole lane: ``mu`` (r+1,) between the edges (r,)."""
        return cls(
            np.empty(0),
            np.atleast_1d(np.asarray(y_edges_m, dtype=np.float64)),
            np.atleast_1d(np.asarray(mu, dtype=np.float64))[:, np.newaxis],
        )

    def at(self, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
        """Return the friction at places of any one shape."""
        row = np.searchsorted(self.y_edges_m, y_m, side="right")
        column = np.searchsorted(self.x_edges_m, x_m, side="right")
        found: FloatArray = self.mu[row, column]
        return found

    @classmethod
    def uniform(cls, mu: float) -> "FrictionGrid":
        """Return the same friction everywhere."""
        return cls.zones([], [mu])
