"""The chance that a line makes the spare, under the bowler's own spread."""

import numpy as np
from scipy.special import ndtr

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import PinDeck, Response
from cardgen.targeting.lines import LineSet
from cardgen.units import FOOT_M

WATCHED_M = tuple(feet * FOOT_M for feet in (0.0, 15.0, 30.0, 45.0, 57.0))
"""Where a ball is watched for the gutter before the pins; the deck watches the rest."""
_AT_RISK_SD = 5.0  # farther from the gutter than this, the gutter takes less than 1 in 10^6
_PIECES = 24  # of each window, where the gutter's chance varies along it


class Arrivals:
    """Means and covariances of n lines at the watched planes and at the rows of the rack."""

    def __init__(self, lines: LineSet, spread: Spread, rows_m: tuple[float, ...]) -> None:
        """March each line once to every plane; ``rows_m`` are the front rows that leaves have."""
        self.lines = lines
        self._rows = {row: index for index, row in enumerate(rows_m, start=len(WATCHED_M))}
        planes = np.array([*WATCHED_M, *rows_m])
        path = lines.path(planes)
        jacobian = lines.jacobian(planes)
        self.x_m, self.angle_rad = path.x_m, path.angle_rad
        self.jacobian = jacobian
        # x at every plane as a linear map of the four errors, and its covariance between planes.
        strayed = jacobian[:, :, 0, :] * spread.deviations(lines.ball.rev_radps)
        self._covariance = strayed @ strayed.transpose(0, 2, 1)

    def row(self, leave: Leave) -> int:
        """Return the index of the plane where ``leave`` is met."""
        return self._rows[leave.front_row_m]

    def conversion(self, leave: Leave, deck: PinDeck, which: IndexArray) -> FloatArray:
        """Return P(make) of ``leave`` for the lines picked by the index array ``which`` (m,)."""
        row = self.row(leave)
        mean, sd = self.x_m[which, row], np.sqrt(self._covariance[which, row, row])
        response = deck.response(leave, self.angle_rad[which, row])
        chance = _integrate(response, mean, sd)
        risky = self._gutter_risk(which)
        if risky.any():
            chance[risky] = self._with_gutter(response, row, which, risky)
        return chance

    def _gutter_risk(self, which: IndexArray) -> BoolArray:
        watched = slice(len(WATCHED_M))
        margin = EDGE_M - np.abs(self.x_m[which, watched])
        variance = np.diagonal(self._covariance[which, watched, watched], axis1=1, axis2=2)
        risky: BoolArray = np.any(margin < _AT_RISK_SD * np.sqrt(variance), axis=1)
        return risky

    def _with_gutter(
        self, response: Response, row: int, which: IndexArray, risky: BoolArray
    ) -> FloatArray:
        """Integrate over fine pieces of each window, each weighed by its chance to get there.

        Given the arrival, the place at a watched plane is normal about its regression. Of the
        planes, the one most likely to lose the ball on each side stands for all: they move
        together.
        """
        lines = which[risky]
        mean, variance = self.x_m[lines, row], self._covariance[lines, row, row]
        sd = np.sqrt(variance)
        left, right = response.edges_m[risky, :-1], response.edges_m[risky, 1:]
        part = np.linspace(0, 1, _PIECES + 1)
        # Beyond 8 sd there is nothing to integrate.
        low, high = (
            np.clip(edge, (mean - 8 * sd)[:, None], (mean + 8 * sd)[:, None])
            for edge in (left, right)
        )
        cuts = low[..., None] + (high - low)[..., None] * part  # (m, k, pieces + 1)
        z = (cuts - mean[:, None, None]) / sd[:, None, None]
        weight = np.diff(ndtr(z), axis=-1)
        middle = (cuts[..., 1:] + cuts[..., :-1]) / 2 - mean[:, None, None]
        for side in (-1, 1):
            weight = weight * self._stays_on(side, row, lines, middle)
        weighed: FloatArray = np.einsum("mkp,mk->m", weight, response.chance[risky])
        return weighed

    def _stays_on(
        self, side: int, row: int, lines: IndexArray, deviation_m: FloatArray
    ) -> FloatArray:
        """Return the chance that a ball deviating so at its arrival missed the gutter on a side."""
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
        pulled = side * (shared / arrival)[:, None, None] * deviation_m
        stays: FloatArray = ndtr(
            (margin[pick, worst][:, None, None] - pulled) / rest[:, None, None]
        )
        return stays


def _integrate(response: Response, mean_m: FloatArray, sd_m: FloatArray) -> FloatArray:
    """Return the mean chance of normal arrivals (n,) over the steps of a response, exactly."""
    z = (response.edges_m - mean_m[:, None]) / sd_m[:, None]
    weighed: FloatArray = np.einsum("nk,nk->n", np.diff(ndtr(z), axis=1), response.chance)
    return weighed
