"""How likely a log of shots is, whatever of each shot was written down.

A shot's launch, laydown and speed stray from the line's, each normally. What was seen of it (the
board at the target, the board at the pins, the speed) is then jointly normal, to first order; of a
shot that only hit or missed, the chance of that is known given the rest. One reading in fifty, and
one outcome in fifty, is taken to be wild (an assumption): a slip, or a slip of the pen. It says
next to nothing.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from cardgen.lane.geometry import BOARD_M, EDGE_M, FloatArray, IndexArray
from cardgen.physics.grid import PLACE_EDGES_M, PLACES_M
from cardgen.units import MPH_MPS

SEEN = ("arrows_m", "arrive_m", "speed_mps")
"""What may be seen of a shot, in the order of arrays over it."""
STRAYS = ("launch_rad", "laydown_m", "speed_mps")
"""What strays from shot to shot, in the order of arrays over it."""
HIT, MISS, LEFT, RIGHT, GUTTER_LEFT, GUTTER_RIGHT, UNTOLD = range(7)
"""Outcomes by code; left and right are those of the inside frame."""
WILD = 0.02
READ_SD = np.array([0.35 * BOARD_M, 0.75 * BOARD_M, 0.2 * MPH_MPS])
"""How exactly people read boards and speeds (assumptions)."""
_WIDE = np.array([5 * BOARD_M, 12 * BOARD_M, 3 * MPH_MPS])
"""How far wild shots stray."""
_UNSEEN = 1e3  # metres or m/s: what was not seen may have been anything
_LEAST_SD_M = 1e-4
_OF_WILD = np.array([1 / 3, 2 / 3, 1 / 3, 1 / 3, 1 / 6, 1 / 6])
"""How often a wild shot hits, misses, misses to each side, ends in each gutter (assumptions)."""


@dataclass(frozen=True, eq=False)
class Sightings:
    """What n shots, ``times`` each, of ``line`` (n,) were: ``seen`` (n, 3), ``outcome`` (n,).

    ``seen`` is not a number where nothing was.
    """

    line: IndexArray
    seen: FloatArray
    outcome: IndexArray
    times: FloatArray


@dataclass(frozen=True, eq=False)
class Expected:
    """What u lines lead to expect, linear in the unknowns.

    ``seen`` (u, 3) at unknowns of nought, ``by_unknown`` (u, 3, k), ``by_stray`` (u, 3, 3) by what
    strays; ``chance`` (u, places) of all pins for arrivals in the cells of the grid, ``split_m``
    (u,) where a miss to the left ends and one to the right begins; ``angle_rad`` (u,) at the pins;
    ``rest_m2`` (u,) is the variance of the arrival by what else strays, which no shot tells.
    """

    seen: FloatArray
    by_unknown: FloatArray
    by_stray: FloatArray
    chance: FloatArray
    split_m: FloatArray
    angle_rad: FloatArray
    rest_m2: FloatArray


class ShotLikelihood:
    """The log likelihood of shots, of the unknowns (k,) and the logarithms of the spread (3,)."""

    def __init__(self, expected: Expected, sightings: Sightings) -> None:
        line = sightings.line
        self._times = sightings.times
        self._unseen = np.isnan(sightings.seen)
        self._aside = np.where(self._unseen, 0.0, sightings.seen - expected.seen[line])
        self._mean = expected.seen[line, 1]
        self._by_unknown = expected.by_unknown[line]
        self._by_stray = expected.by_stray[line]
        self._rest = np.zeros((line.size, len(SEEN), len(SEEN)))
        self._rest[:, 1, 1] = expected.rest_m2[line]
        self._read = np.where(self._unseen, _UNSEEN, READ_SD) ** 2
        self._wide = self._read + np.where(self._unseen, 0.0, _WIDE**2)
        self._told = np.flatnonzero(sightings.outcome != UNTOLD)
        self._outcome = sightings.outcome[self._told]
        self._cells = _cells_of(expected, line[self._told], self._outcome)

    def value(self, unknowns: FloatArray, log_spread: FloatArray) -> tuple[float, FloatArray]:
        """Return the log likelihood and its slope (k + 3,), by the unknowns and the spread."""
        each = self._each(unknowns, log_spread)
        by_seen = each.by_seen * self._times[:, None]
        by_unknown = by_seen.ravel() @ self._by_unknown.reshape(by_seen.size, -1)
        return float(self._times @ each.log), np.concatenate(
            [by_unknown, self._times @ each.by_spread]
        )

    def sane(self, unknowns: FloatArray, log_spread: FloatArray) -> FloatArray:
        """Return how sure (n,) it is that each shot was not a wild one."""
        return self._each(unknowns, log_spread).sane

    def _each(self, unknowns: FloatArray, log_spread: FloatArray) -> "_Each":
        variance = np.exp(2 * log_spread)
        by_stray = self._by_stray
        true = (by_stray * variance) @ by_stray.transpose(0, 2, 1) + self._rest
        shift = self._by_unknown @ unknowns
        aside = np.where(self._unseen, 0.0, self._aside - shift)
        good = _Normal(aside, true, self._read, by_stray, variance)
        wide = _Normal(aside, true, self._wide, by_stray, variance)
        log_good, log_wild = good.log + np.log1p(-WILD), wide.log + np.log(WILD)
        log = np.logaddexp(log_good, log_wild)
        sane = np.exp(log_good - log)
        share = sane[:, None]
        each = _Each(
            log,
            share * good.pulled + (1 - share) * wide.pulled,
            share * good.by_spread + (1 - share) * wide.by_spread,
            sane,
        )
        if self._told.size:
            self._add_outcomes(each, good, true, variance, aside, shift)
        return each

    def _add_outcomes(
        self,
        each: "_Each",
        good: "_Normal",
        true: FloatArray,
        variance: FloatArray,
        aside: FloatArray,
        shift: FloatArray,
    ) -> None:
        """Add the chance of each outcome given what else was seen of the shot.

        Given that, the arrival is normal about its regression.
        """
        told = self._told
        along = true[told, 1]
        pull = (along[:, None] @ good.precision[told])[:, 0]
        mean = self._mean[told] + shift[told, 1] + (pull * aside[told]).sum(axis=1)
        rest = true[told, 1, 1] - (pull * along).sum(axis=1)
        sd = np.sqrt(np.maximum(rest, _LEAST_SD_M**2))
        cells, first, last = self._cells
        z = (PLACE_EDGES_M - mean[:, None]) / sd[:, None]
        below = ndtr(z)
        density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi) / sd[:, None]

        def over_cells(ends: FloatArray) -> FloatArray:
            inside = (cells * np.diff(ends, axis=1)).sum(axis=1)
            return np.asarray(inside + first * ends[:, 0] - last * ends[:, -1])

        mixed = (1 - WILD) * (over_cells(below) + last) + WILD * _OF_WILD[self._outcome]
        by_mean = -(1 - WILD) * over_cells(density) / mixed
        by_sd = -(1 - WILD) * over_cells(density * z) / mixed
        stray = self._by_stray[told]
        left = stray[:, 1] - (pull[:, None] @ stray)[:, 0]  # what the rest does not tell of it
        seen = (good.pulled[told][:, None] @ stray)[:, 0]
        each.log[told] += np.log(mixed)
        by_seen = -pull
        by_seen[:, 1] += 1.0
        each.by_seen[told] += by_mean[:, None] * by_seen
        each.by_spread[told] += (
            2 * variance * left * (by_mean[:, None] * seen + (by_sd / 2 / sd)[:, None] * left)
        )


@dataclass(frozen=True, eq=False)
class _Each:
    """The log likelihood of each shot (n,), its slopes (n, 3) by what is expected, and by spread.

    ``sane`` (n,): how sure it is that the shot was not a wild one.
    """

    log: FloatArray
    by_seen: FloatArray
    by_spread: FloatArray
    sane: FloatArray


class _Normal:
    """The log density (n,) of ``aside`` (n, 3), and its slopes by the mean and by the spread."""

    def __init__(
        self,
        aside: FloatArray,
        true: FloatArray,
        blur: FloatArray,
        by_stray: FloatArray,
        variance: FloatArray,
    ) -> None:
        covariance = true + blur[:, :, None] * np.eye(aside.shape[1])
        self.precision: FloatArray = np.asarray(np.linalg.inv(covariance), np.float64)
        self.pulled: FloatArray = (self.precision @ aside[:, :, None])[:, :, 0]
        size = np.log(np.linalg.det(covariance))
        self.log: FloatArray = -((aside * self.pulled).sum(axis=1) + size) / 2
        seen = (self.pulled[:, None] @ by_stray)[:, 0]
        spread = ((self.precision @ by_stray) * by_stray).sum(axis=1)
        self.by_spread: FloatArray = variance * (seen**2 - spread)


def _cells_of(
    expected: Expected, line: IndexArray, outcome: IndexArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the chance of each outcome (m,) by cell, (m, places), and off both ends, (m,).

    Off the grid is past the gutter: always a miss to that side.
    """
    chance = expected.chance[line]
    left = expected.split_m[line][:, None] > PLACES_M
    code = outcome[:, None]
    side = np.where(code == LEFT, left, np.where(code == RIGHT, ~left, True))
    cells = np.where(code == HIT, chance, (1 - chance) * side)
    # A ball in the gutter is beyond the edge, and nobody can tell by how much it would have been.
    cells = np.where(code == GUTTER_LEFT, PLACES_M < -EDGE_M, cells)
    cells = np.where(code == GUTTER_RIGHT, PLACES_M > EDGE_M, cells)
    first = np.isin(outcome, (MISS, LEFT, GUTTER_LEFT)).astype(np.float64)
    last = np.isin(outcome, (MISS, RIGHT, GUTTER_RIGHT)).astype(np.float64)
    return cells, first, last
