"""The chance that a line makes the spare, under the bowler's own spread."""

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response
from cardgen.physics.grid import ANGLES, PLACE_EDGES_M, PLACES, PLACES_M, angle_weights
from cardgen.targeting.lines import LineSet
from cardgen.units import FOOT_M

WATCHED_M = tuple(feet * FOOT_M for feet in (0.0, 15.0, 30.0, 45.0, 57.0))
"""Where a ball is watched for the gutter before the pins; the deck watches the rest."""
_AT_RISK_SD = 5.0  # farther from the gutter than this, the gutter takes less than 1 in 10^6
_FLAT = 1e-4  # between nearer edges the integral's difference is rounding noise


class Arrivals:
    """Means and covariances of n lines at the watched planes and at the rows of the rack."""

    def __init__(self, lines: LineSet, spread: Spread, rows_m: Sequence[float]) -> None:
        """March each line once to every plane; ``rows_m`` are the front rows that leaves have."""
        self.lines = lines
        self._rows = {row: index for index, row in enumerate(rows_m, start=len(WATCHED_M))}
        planes = np.array([*WATCHED_M, *rows_m])
        path = lines.path(planes)
        jacobian = lines.jacobian(planes)
        self.x_m, self.angle_rad = path.x_m, path.angle_rad
        self.jacobian = jacobian
        # Place and angle at every plane as linear maps of the four errors.
        strayed = jacobian * spread.deviations(lines.ball.rev_radps)
        # Covariance of the place between planes, and of place with angle at each.
        self._covariance = strayed[:, :, 0] @ strayed[:, :, 0].transpose(0, 2, 1)
        self._with_angle = (strayed[:, :, 0] * strayed[:, :, 1]).sum(axis=-1)

    def row(self, leave: Leave) -> int:
        """Return the index of the plane where ``leave`` is met."""
        return self._rows[leave.front_row_m]

    def weights(self, row: int, which: IndexArray | None = None) -> FloatArray:
        """Return how often each of the lines ``which`` (m,) arrives in each cell of the grid.

        The array is (m, angles, places); what is missing to 1 is in the gutter. ``row`` is a plane
        of the rack. The angle is taken as its mean given the place: what it varies beside that is
        far less than the grid's step.
        """
        lines = np.arange(len(self.lines)) if which is None else which
        weights = np.zeros((len(lines), ANGLES, PLACES))
        comes = np.isfinite(self.x_m[lines, row])
        if not comes.all():  # a ball that stops short, on a line that its bowler brought
            if comes.any():
                weights[comes] = self.weights(row, lines[comes])
            return weights
        mean, variance = self.x_m[lines, row], self._covariance[lines, row, row]
        sd = np.sqrt(variance)[:, None]
        cell = np.diff(ndtr((PLACE_EDGES_M - mean[:, None]) / sd), axis=1)
        risky = self._gutter_risk(lines)
        if risky.any():
            edges = PLACE_EDGES_M - mean[risky, None]
            for side in (-1, 1):
                cell[risky] *= self._stays_on(side, row, lines[risky], edges)
        aside = PLACES_M - mean[:, None]
        turn = (self._with_angle[lines, row] / variance)[:, None]
        below, share = angle_weights(self.angle_rad[lines, row][:, None] + turn * aside)
        low = below.astype(np.intp)[:, None, :]
        np.put_along_axis(weights, low, (cell * (1 - share))[:, None, :], axis=1)
        np.put_along_axis(weights, low + 1, (cell * share)[:, None, :], axis=1)
        return weights

    def conversion(self, response: Response, which: IndexArray) -> FloatArray:
        """Return P(make) (m,) of the response's leave for the lines ``which`` (m,)."""
        weights = self.weights(self.row(response.leave), which)
        return expected(weights, response.chance[np.newaxis])[:, 0]

    def _gutter_risk(self, lines: IndexArray) -> BoolArray:
        watched = slice(len(WATCHED_M))
        margin = EDGE_M - np.abs(self.x_m[lines, watched])
        variance = np.diagonal(self._covariance[lines, watched, watched], axis1=1, axis2=2)
        risky: BoolArray = np.any(margin < _AT_RISK_SD * np.sqrt(variance), axis=1)
        return risky

    def _stays_on(self, side: int, row: int, lines: IndexArray, edges_m: FloatArray) -> FloatArray:
        """Return the chance (m, places) that a ball arriving in a cell missed a gutter before.

        ``edges_m`` (m, places + 1): the cells' edges, right of each line's mean. Given the arrival,
        the place at a watched plane is normal about its regression. Of the planes, the one most
        likely to lose the ball on this side stands for all: they move together.
        """
        watched = np.arange(len(WATCHED_M))
        margin = EDGE_M - side * self.x_m[np.ix_(lines, watched)]
        variance = self._covariance[lines[:, None], watched, watched]
        with np.errstate(divide="ignore"):
            worst = np.argmin(margin / np.sqrt(variance), axis=1)
        pick = np.arange(len(lines))
        own = variance[pick, worst]
        shared = self._covariance[lines, worst, row]
        arrival = self._covariance[lines, row, row]
        rest = np.sqrt(np.maximum(own - shared**2 / arrival, 1e-12))
        pulled = side * (shared / arrival)[:, None] * edges_m
        return _mean_ndtr((margin[pick, worst][:, None] - pulled) / rest[:, None])


def _mean_ndtr(edges: FloatArray) -> FloatArray:
    """Return the mean (m, k) of the normal distribution function between edges (m, k + 1).

    Exactly, from its integral z ndtr(z) + density(z): where a gutter is sure to take the ball or
    not within a fraction of a cell, the middle of the cell would not do.
    """
    below = ndtr(edges)
    integral = edges * below + np.exp(-(edges**2) / 2) / np.sqrt(2 * np.pi)
    width = np.diff(edges, axis=1)
    flat = np.abs(width) < _FLAT
    mean: FloatArray = np.diff(integral, axis=1) / np.where(flat, 1.0, width)
    return np.where(flat, (below[:, 1:] + below[:, :-1]) / 2, mean)


def expected(weights: FloatArray, cells: FloatArray) -> FloatArray:
    """Return the mean (m, k) of k maps ``cells`` (k, angles, places) over arrivals (m, …)."""
    each = ANGLES * PLACES  # spelled out: of no lines at all, numpy could not tell
    mean: FloatArray = weights.reshape(-1, each) @ cells.reshape(-1, each).T
    return mean
