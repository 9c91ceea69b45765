"""Shots that left nearly alike: to which cells of the grid they come, what the gutter takes."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray
from cardgen.physics.grid import ANGLES, PLACE_EDGES_M, PLACES, PLACES_M, angle_weights

_AT_RISK_SD = 4.0  # farther from the gutter than this, the gutter takes less than 1 in 10^4
_DENSITY_AT_0 = 1 / np.sqrt(2 * np.pi)  # of the normal distribution
_FLAT = 1e-4  # between nearer edges the integral's difference is rounding noise


@dataclass(frozen=True, eq=False)
class Bundle:
    """Shots of m lines that left nearly alike, at planes before the pins and a row of the rack.

    ``x_m`` (m, planes) and ``angle_rad`` (m,) at the row are the means, ``covariance_m2`` (m,
    planes, planes) is that of the places, ``with_angle`` (m,) that of place and angle at the row.
    """

    x_m: FloatArray
    angle_rad: FloatArray
    covariance_m2: FloatArray
    with_angle: FloatArray


def add_cells(weights: FloatArray, share: float, bundle: Bundle) -> None:
    """Add to ``weights`` (m, angles, places) where a ``share`` of shots, a bundle, arrives.

    ``weights`` are without gaps in memory (C order).
    """
    mean, variance = bundle.x_m[:, -1], bundle.covariance_m2[:, -1, -1]
    sd = np.sqrt(variance)[:, None]
    cell = share * np.diff(ndtr((PLACE_EDGES_M - mean[:, None]) / sd), axis=1)
    for side in (-1, 1):
        risky = _gutter_risk(side, bundle)
        if risky.any():
            cell[risky] *= _stays_on(side, bundle, risky, PLACE_EDGES_M - mean[risky, None])
    aside = PLACES_M - mean[:, None]
    turn = (bundle.with_angle / variance)[:, None]
    below, part = angle_weights(bundle.angle_rad[:, None] + turn * aside)
    line, place = np.arange(len(mean))[:, None], np.arange(PLACES)
    # No two of these are one cell of the grid, told by one number each: that is faster.
    low = (line * ANGLES + below.astype(np.intp)) * PLACES + place
    steeper, flat = cell * part, weights.reshape(-1)
    flat[low] += cell - steeper
    flat[low + PLACES] += steeper


def _gutter_risk(side: int, bundle: Bundle) -> BoolArray:
    """Return which lines (m,) the gutter on a ``side``, 1 right or -1 left, may take shots of."""
    margin = EDGE_M - side * bundle.x_m[:, :-1]
    variance = np.diagonal(bundle.covariance_m2, axis1=1, axis2=2)[:, :-1]
    risky: BoolArray = np.any(margin < _AT_RISK_SD * np.sqrt(variance), axis=1)
    return risky


def _stays_on(side: int, bundle: Bundle, which: BoolArray, edges_m: FloatArray) -> FloatArray:
    """Return the chance (m, places) that a ball arriving in a cell missed a gutter before.

    ``edges_m`` (m, places + 1): the cells' edges, right of each line's mean. Given the arrival,
    the place at a watched plane is normal about its regression. Of the planes, the one most
    likely to lose the ball on this side stands for all: they move together.
    """
    x, covariance = bundle.x_m[which], bundle.covariance_m2[which]
    margin = EDGE_M - side * x[:, :-1]
    variance = np.diagonal(covariance, axis1=1, axis2=2)[:, :-1]
    with np.errstate(divide="ignore"):
        worst = np.argmin(margin / np.sqrt(variance), axis=1)
    pick = np.arange(len(x))
    own = variance[pick, worst]
    shared = covariance[pick, worst, -1]
    arrival = covariance[:, -1, -1]
    rest = np.sqrt(np.maximum(own - shared**2 / arrival, 1e-12))
    pulled = side * (shared / arrival)[:, None] * edges_m
    return _mean_ndtr((margin[pick, worst][:, None] - pulled) / rest[:, None])


def _mean_ndtr(edges: FloatArray) -> FloatArray:
    """Return the mean (m, k) of the normal distribution function between edges (m, k + 1).

    Exactly, from its integral z ndtr(z) + density(z): where a gutter is sure to take the ball or
    not within a fraction of a cell, the middle of the cell would not do.
    """
    below = ndtr(edges)
    integral = edges * below + _DENSITY_AT_0 * np.exp(-0.5 * edges * edges)
    width = np.diff(edges, axis=1)
    flat = np.abs(width) < _FLAT
    if not flat.any():
        return np.asarray(np.diff(integral, axis=1) / width)
    mean: FloatArray = np.diff(integral, axis=1) / np.where(flat, 1.0, width)
    return np.where(flat, (below[:, 1:] + below[:, :-1]) / 2, mean)
