"""The chance that a line makes the spare: under the bowler's own spread, on a lane half known."""

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import EDGE_M, FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response
from cardgen.physics.grid import ANGLES, PLACES
from cardgen.physics.path import ERRORS
from cardgen.targeting.bundle import Bundle, add_cells
from cardgen.targeting.lines import LineSet
from cardgen.targeting.unknowns import moved_by_unknowns
from cardgen.units import FOOT_M

WATCHED_M = tuple(feet * FOOT_M for feet in (0.0, 15.0, 30.0, 45.0, 57.0))
"""Where a ball is watched for the gutter before the pins; the deck watches the rest."""
_STEP_SD = 0.8
_NODES_SD: FloatArray = np.arange(-3.0, 4.0) * _STEP_SD
"""Launches, in deviations from the mean, from which paths are followed."""
# Each stands for a bell of launches about it. A narrower normal distribution, taken at these steps
# and smeared by what it lacks in variance, is the whole one again, to a part in a thousand.
_SHARES: FloatArray = np.exp(-(_NODES_SD**2) / 2 / 0.75)
_SHARES = _SHARES / _SHARES.sum()
_SMEAR_SD = float(np.sqrt(1 - _SHARES @ _NODES_SD**2))
_BESIDE_LAUNCH = [name for name in ERRORS if name != "launch_rad"]
_FEW_SD: FloatArray = _NODES_SD[1::2]
"""Launches at which the effects of laydown, speed and rev rate are told."""
_NEAREST_FEW = (0, 0, 1, 1, 1, 2, 2)  # of them, for each launch followed
_MEAN = _NODES_SD.size // 2


class Arrivals:
    """How n lines arrive at the watched planes and at the rows of the rack, shot by shot.

    The launch strays most, and oil that is thick here and thin there bends its effect: so paths
    are followed at several launches. About each, laydown, speed and rev rate move the arrival in
    proportion; and so does what is not known of the lane, which moves all shots of a line alike,
    nobody knows how far.
    """

    def __init__(self, lines: LineSet, spread: Spread, rows_m: Sequence[float]) -> None:
        """March each line to every plane; ``rows_m`` are the front rows that leaves have."""
        self.lines = lines
        self._launch_sd_rad = spread.launch_rad
        self._rows = {row: index for index, row in enumerate(rows_m, start=len(WATCHED_M))}
        planes = self._planes_m = np.array([*WATCHED_M, *rows_m])
        fan = lines.fan(_NODES_SD * spread.launch_rad).path(planes)
        nodes = (len(lines), _NODES_SD.size, planes.size)
        self._x_m, self._angle_rad = fan.x_m.reshape(nodes), fan.angle_rad.reshape(nodes)
        self.x_m, self.angle_rad = self._x_m[:, _MEAN], self._angle_rad[:, _MEAN]
        few = lines.fan(_FEW_SD * spread.launch_rad)
        sizes = dict(zip(ERRORS, spread.deviations(lines.ball.rev_radps).tolist(), strict=True))
        size = [sizes[name] for name in _BESIDE_LAUNCH]
        slopes = few.slope_by(planes, _BESIDE_LAUNCH, size)
        self._slopes = slopes.reshape(len(lines), _FEW_SD.size, *slopes.shape[1:])
        self._shots = self._slopes * np.array(size)

    @cached_property
    def _doubts(self) -> FloatArray:
        """What is not known of bowler and lane, (n, planes, 2, k)."""
        if not self.lines.bowler.unsure.any():
            return np.zeros((len(self.lines), self._planes_m.size, 2, 0))
        apart = _STEP_SD * self._launch_sd_rad
        turned = [
            (each[:, _MEAN + 1] - each[:, _MEAN - 1]) / (2 * apart)
            for each in (self._x_m, self._angle_rad)
        ]
        mean = self._slopes[:, _FEW_SD.size // 2]
        by = {name: mean[..., k] for k, name in enumerate(_BESIDE_LAUNCH)}
        by["launch_rad"] = np.stack(turned, axis=-1)
        moved = moved_by_unknowns(self.lines, self._planes_m, by) @ self.lines.bowler.unsure
        return np.ascontiguousarray(moved)

    def unsure_m(self, row: IndexArray, which: IndexArray) -> FloatArray:
        """Return how far the mean shots may be from where they are believed to arrive, (m,).

        A standard deviation, of the lines ``which`` (m,) at the planes ``row`` (m,).
        """
        far: FloatArray = np.linalg.norm(self._doubts[which, row, 0], axis=-1)
        return far

    def row(self, leave: Leave) -> int:
        """Return the index of the plane where ``leave`` is met."""
        return self._rows[leave.front_row_m]

    def weights(
        self, row: int, which: IndexArray | None = None, *, settled: bool = False
    ) -> FloatArray:
        """Return how often each of the lines ``which`` (m,) arrives in each cell of the grid.

        The array is (m, angles, places); what is missing to 1 is in the gutter. ``row`` is a plane
        of the rack. On a ``settled`` lane nothing is unknown: the bowler has moved until the ball
        came in. The angle is taken as its mean given launch and place: what it varies beside that
        is far less than the grid's step.
        """
        lines = np.arange(len(self.lines)) if which is None else which
        weights = np.zeros((len(lines), ANGLES, PLACES))
        comes = np.isfinite(self._x_m[lines, :, row]).all(axis=1)
        if not comes.all():  # a ball that stops short, on a line that its bowler brought
            if comes.any():
                weights[comes] = self.weights(row, lines[comes], settled=settled)
            return weights
        for share, bundle in zip(_SHARES, self._bundles(lines, row, settled=settled), strict=True):
            add_cells(weights, share, bundle)
        return weights

    def _bundles(self, lines: IndexArray, row: int, *, settled: bool) -> Iterator[Bundle]:
        """Yield the shots of ``lines`` about each of the launches followed."""
        planes = [*range(len(WATCHED_M)), row]
        x, angle = self._x_m[lines][:, :, planes], self._angle_rad[lines][:, :, row]
        strays = [_strays(self._shots[lines, few], planes) for few in range(_FEW_SD.size)]
        if not settled:
            unsure_m2, unsure = _strays(self._doubts[lines], planes)
            strays = [(places + unsure_m2, place + unsure) for places, place in strays]
        for node, few in enumerate(_NEAREST_FEW):
            before, after = max(node - 1, 0), min(node + 1, _NODES_SD.size - 1)
            smear = _SMEAR_SD / (_NODES_SD[after] - _NODES_SD[before])
            aside = (x[:, after] - x[:, before]) * smear
            turned = (angle[:, after] - angle[:, before]) * smear
            places_m2, with_angle = strays[few]
            yield Bundle(
                x[:, node],
                angle[:, node],
                places_m2 + aside[:, :, np.newaxis] * aside[:, np.newaxis],
                with_angle + aside[:, -1] * turned,
            )

    def conversion(self, response: Response, which: IndexArray) -> FloatArray:
        """Return P(make) (m,) of the response's leave for the lines ``which`` (m,)."""
        weights = self.weights(self.row(response.leave), which)
        return expected(weights, response.chance[np.newaxis])[:, 0]

    def room(
        self, row: IndexArray, which: IndexArray, ends: tuple[FloatArray, FloatArray]
    ) -> tuple[FloatArray, FloatArray]:
        """Return how far (m,) the launch may turn to the left and to the right [rad], both > 0.

        That is of the lines ``which`` (m,), until the ball is lost or arrives outside ``ends``, the
        left and right one (m,) of a window at the planes ``row`` (m,).
        """
        nodes = np.arange(_NODES_SD.size)
        x = self._x_m[which[:, None], nodes, row[:, None]]
        watched = self._x_m[which][:, :, 1 : len(WATCHED_M)]  # the foul line is never missed
        spare_m = np.minimum(x - ends[0][:, None], ends[1][:, None] - x)
        spare_m = np.minimum(spare_m, EDGE_M - np.abs(watched).max(axis=2))
        left = _first_nought(spare_m[:, _MEAN:])
        right = _first_nought(spare_m[:, _MEAN::-1])
        step = _STEP_SD * self._launch_sd_rad
        return left * step, right * step


def _strays(by: FloatArray, planes: Sequence[int]) -> tuple[FloatArray, FloatArray]:
    """Return the covariance (m, p, p) of places, and that of place and angle at the last plane.

    ``by`` (m, all planes, 2, k) is what each of k independent errors moves, place and angle.
    """
    places, angle = by[:, planes, 0], by[:, planes[-1], 1]
    return places @ places.transpose(0, 2, 1), (places[:, -1] * angle).sum(axis=-1)


def _first_nought(values: FloatArray) -> FloatArray:
    """Return where (m,) rows of ``values`` (m, k) come down to nought first, in columns.

    Straight between columns, and straight on beyond the last; without end if it does not fall.
    """
    below = values <= 0
    column = np.where(below.any(axis=1), below.argmax(axis=1), values.shape[1] - 1)
    column = np.maximum(column, 1)
    row = np.arange(len(values))
    before, after = values[row, column - 1], values[row, column]
    with np.errstate(divide="ignore", invalid="ignore"):
        way = before / (before - after)
    found: FloatArray = np.where(
        values[:, 0] <= 0, 0.0, np.where(before > after, column - 1 + way, np.inf)
    )
    return found


def expected(weights: FloatArray, cells: FloatArray) -> FloatArray:
    """Return the mean (m, k) of k maps ``cells`` (k, angles, places) over arrivals (m, …)."""
    each = ANGLES * PLACES  # spelled out: of no lines at all, numpy could not tell
    mean: FloatArray = weights.reshape(-1, each) @ cells.reshape(-1, each).T
    return mean
