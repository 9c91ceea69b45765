"""The path of the ball, exactly: slide along each cell of friction, then roll straight on.

A balanced ball on a flat lane with Coulomb friction. While it slides, the direction of its contact
slip u never turns, whatever the friction does from place to place; so along s with ds/dt = mu g

    velocity = v0 - s u0/|u0|,   and rolling begins at s = lambda |u0|

(Hopkins & Patterson, Am. J. Phys. 45, 263 (1977); Frohlich, Am. J. Phys. 72, 1170 (2004); cited
from memory, re-derived and checked against an ODE solver in the tests). In a cell of constant
friction the path is a parabola, so the march from edge to edge makes no step error.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cardgen.delivery.ball import Ball
from cardgen.delivery.release import Release
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import BoolArray, FloatArray, IndexArray
from cardgen.units import STANDARD_GRAVITY_MPS2


@dataclass(frozen=True, eq=False)
class BallPath:
    """Where n balls cross p planes, each field (n, p), and where each begins to roll, (n,).

    A ball that never reaches a plane has NaN there; one that has not begun to roll by the last
    plane has NaN for the place and time of rolling.
    """

    y_m: FloatArray
    x_m: FloatArray
    vx_mps: FloatArray
    vy_mps: FloatArray
    t_s: FloatArray
    roll_x_m: FloatArray
    roll_y_m: FloatArray
    roll_t_s: FloatArray

    @property
    def angle_rad(self) -> FloatArray:
        """Direction of travel, positive away from the ball side: the entry angle at the pins."""
        return np.arctan2(-self.vx_mps, self.vy_mps)

    @property
    def speed_mps(self) -> FloatArray:
        """Speed over the lane."""
        return np.hypot(self.vx_mps, self.vy_mps)


def ball_path(
    ball: Ball, release: Release, friction: FrictionGrid, planes_m: ArrayLike
) -> BallPath:
    """Return where each of n released balls crosses each plane y = ``planes_m``.

    ``planes_m`` [m] is (p,) for all balls alike or (n, p); rising along p, none before the foul
    line. The inputs are untouched.
    """
    planes = np.broadcast_to(
        np.asarray(planes_m, dtype=np.float64), (len(release), np.shape(planes_m)[-1])
    )
    march = _March(ball, release, friction)
    # A plane that lies on an edge comes before it (stable sort), and both are visited.
    edges = np.broadcast_to(friction.y_edges_m, (len(release), friction.y_edges_m.size))
    stops = np.concatenate([planes, edges], axis=1)
    order = np.argsort(stops, axis=1, kind="stable")
    stops = np.take_along_axis(stops, order, axis=1)
    last_plane = planes.shape[1] - 1

    crossed = np.full((4, *planes.shape), np.nan)
    everyone = np.arange(len(release))
    for step in range(stops.shape[1]):
        march.advance(stops[:, step])
        which = order[:, step]
        at_plane = which <= last_plane
        crossed[:, everyone[at_plane], which[at_plane]] = march.state[:, at_plane]
    x, vx, vy, t = crossed
    rolled_late = ~(march.roll[1] <= planes[:, -1])
    roll = np.where(rolled_late, np.nan, march.roll)
    return BallPath(planes, x, vx, vy, t, roll[0], roll[1], roll[2])


class _March:
    """The balls' moving state; ``advance`` takes every ball on to its next stop down-lane."""

    def __init__(self, ball: Ball, release: Release, friction: FrictionGrid) -> None:
        self._grid = friction
        vx, vy = release.velocity_mps
        rim_x, rim_y = release.rim_mps(ball.radius_m)
        slip_x, slip_y = vx - rim_x, vy - rim_y
        slip = np.hypot(slip_x, slip_y)
        safe = np.where(slip > 0, slip, 1.0)
        self._ux, self._uy = slip_x / safe, slip_y / safe
        self._slide_left = ball.roll_fraction * slip  # m/s of speed change still to come
        self._x, self._y = release.x_m.copy(), np.zeros(len(release))
        self._vx, self._vy = vx.copy(), vy.copy()
        self._t = np.zeros(len(release))
        self._column = np.searchsorted(friction.x_edges_m, self._x, side="right")
        self._row = np.zeros(len(release), dtype=np.intp)
        self.roll = np.full((3, len(release)), np.nan)
        at_once = self._slide_left <= 0
        self.roll[:, at_once] = np.stack([self._x, self._y, self._t])[:, at_once]

    @property
    def state(self) -> FloatArray:
        """x, vx, vy and t, (4, n)."""
        return np.stack([self._x, self._vx, self._vy, self._t])

    def advance(self, stop_m: FloatArray) -> None:
        """Move every ball to y = ``stop_m`` (n,), through any strip edges and the start of roll."""
        self._row = np.searchsorted(self._grid.y_edges_m, (self._y + stop_m) / 2, side="right")
        moving = np.flatnonzero(self._y < stop_m)
        while moving.size:
            # All at once is the common case, and a slice spares it the copies.
            who = slice(None) if moving.size == stop_m.size else moving
            moving = moving[self._step(who, stop_m[who])]

    def _step(self, who: IndexArray | slice, stop_m: FloatArray) -> BoolArray:
        """Take balls ``who`` to their next event; tell which have not reached the stop."""
        mu = self._grid.mu[self._row[who], self._column[who]]
        sliding = self._slide_left[who] > 0
        pull = np.where(sliding, mu * STANDARD_GRAVITY_MPS2, 0.0)
        ax, ay = -pull * self._ux[who], -pull * self._uy[who]
        vx, vy = self._vx[who].copy(), self._vy[who].copy()

        to_stop = _first_time(stop_m - self._y[who], vy, ay)
        to_roll = np.where(sliding, self._slide_left[who] / np.where(sliding, pull, 1.0), np.inf)
        to_side, turn = self._to_strip_edge(who, vx, ax)
        dt = np.minimum(np.minimum(to_stop, to_roll), to_side)
        lost = ~np.isfinite(dt)  # it will never get there
        dt[lost] = np.nan

        self._x[who] += (vx + ax * dt / 2) * dt
        self._y[who] += (vy + ay * dt / 2) * dt
        self._vx[who] = vx + ax * dt
        self._vy[who] = vy + ay * dt
        self._t[who] += dt
        self._slide_left[who] -= pull * dt

        rolls = to_roll <= dt
        self._slide_left[who] = np.where(rolls, 0.0, self._slide_left[who])
        here = np.stack([self._x[who], self._y[who], self._t[who]])
        self.roll[:, who] = np.where(rolls, here, self.roll[:, who])
        self._column[who] += np.where(to_side <= dt, turn, 0)
        arrived = to_stop <= dt
        self._y[who] = np.where(arrived, stop_m, self._y[who])
        unfinished: BoolArray = ~(arrived | lost)
        return unfinished

    def _to_strip_edge(
        self, who: IndexArray | slice, vx: FloatArray, ax: FloatArray
    ) -> tuple[FloatArray, IndexArray]:
        """Return the time to the nearer strip edge and which way (-1, +1) it leads."""
        if self._grid.x_edges_m.size == 0:
            return np.full(len(vx), np.inf), np.zeros(len(vx), dtype=np.intp)
        edges = np.concatenate([[-np.inf], self._grid.x_edges_m, [np.inf]])
        column = self._column[who]
        right = _first_time(edges[column + 1] - self._x[who], vx, ax)
        left = _first_time(self._x[who] - edges[column], -vx, -ax)
        return np.minimum(left, right), np.where(right < left, 1, -1).astype(np.intp)


def _first_time(distance_m: FloatArray, v_mps: FloatArray, a_mps2: FloatArray) -> FloatArray:
    """Return the first t > 0 with v t + a t^2 / 2 = distance >= 0, else infinity; all (n,).

    A distance just below nought is rounding: the ball is at the edge.
    """
    distance_m = np.maximum(distance_m, 0.0)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        root = np.sqrt(v_mps * v_mps + 2 * a_mps2 * distance_m)
        ahead = 2 * distance_m / (v_mps + root)
        if np.all(v_mps > 0):
            return np.where(ahead >= 0, ahead, np.inf)
        behind = (root - v_mps) / a_mps2  # moving away first; a pull back is needed
        t = np.where(v_mps > 0, ahead, np.where(a_mps2 > 0, behind, np.inf))
    return np.where(np.isfinite(t) & (t >= 0), t, np.inf)


ERRORS = ("x_m", "launch_rad", "speed_mps", "rev_radps")
"""What a bowler varies from shot to shot, in the order of a Jacobian's last axis."""
# Steps for central differences: error ~ step^2 x third derivative, far below a micrometre.
_STEPS = (1e-5, 1e-5, 1e-4, 1e-3)


def arrival_jacobian(
    ball: Ball, release: Release, friction: FrictionGrid, planes_m: ArrayLike
) -> FloatArray:
    """Return d(x [m], angle [rad]) / d(laydown [m], launch [rad], speed [m/s], rev [rad/s]).

    Shape (n, p, 2, 4) for n releases and the planes y = ``planes_m`` [m], as in :func:`ball_path`.
    Central differences of the exact path.
    """
    count = len(release)
    planes = np.broadcast_to(np.asarray(planes_m), (count, np.shape(planes_m)[-1]))
    both = release.tiled(2 * len(ERRORS))
    for axis, (name, step) in enumerate(zip(ERRORS, _STEPS, strict=True)):
        varied = getattr(both, name)
        varied[2 * axis * count : (2 * axis + 1) * count] += step
        varied[(2 * axis + 1) * count : (2 * axis + 2) * count] -= step
    path = ball_path(ball, both, friction, np.tile(planes, (2 * len(ERRORS), 1)))
    arrival = np.stack([path.x_m, path.angle_rad], axis=-1)
    arrival = arrival.reshape(len(ERRORS), 2, count, planes.shape[1], 2)
    slope = (arrival[:, 0] - arrival[:, 1]) / (2 * np.reshape(_STEPS, (-1, 1, 1, 1)))
    return np.moveaxis(slope, 0, -1)
