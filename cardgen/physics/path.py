"""The path of the ball, exactly: slide along each cell of friction, then roll straight on.

A balanced ball on a flat lane with Coulomb friction. While it slides, the direction of its contact
slip u never turns, whatever the friction does from place to place; so along s with ds/dt = mu g

    velocity = v0 - s u0/|u0|,   and rolling begins at s = lambda |u0|

(Hopkins & Patterson, Am. J. Phys. 45, 263 (1977); Frohlich, Am. J. Phys. 72, 1170 (2004); cited
from memory, re-derived and checked against an ODE solver in the tests). In a cell of constant
friction the path is a parabola, so the march from edge to edge makes no step error.
"""

from collections.abc import Sequence
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
    crossed, roll = _march(ball, release, friction, planes)
    x, vx, vy, t = crossed
    if friction.slope:
        aside, faster = _downhill(ball, friction.slope, t, roll[2][:, np.newaxis])
        x, vx = x + aside, vx + faster
    rolled_late = ~(roll[1] <= planes[:, -1])
    roll = np.where(rolled_late, np.nan, roll)
    return BallPath(planes, x, vx, vy, t, roll[0], roll[1], roll[2])


def _downhill(
    ball: Ball, slope: float, t_s: FloatArray, roll_t_s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return how far (n, p) a surface that leans has moved balls at ``t_s``, and how fast.

    The pull of the slope is a hundredth of the friction's at most, so it is added to the path on a
    level lane: the whole of it on a ball that slides, 1 / (1 + kappa) of it on one that rolls.
    """
    pull = STANDARD_GRAVITY_MPS2 * slope
    rolling_s = np.nan_to_num(np.maximum(t_s - roll_t_s, 0.0))
    sliding_s = t_s - rolling_s
    at_roll = pull * sliding_s
    slower = pull / (1 + ball.kappa)
    aside = (at_roll / 2) * sliding_s + (at_roll + slower * rolling_s / 2) * rolling_s
    return aside, at_roll + slower * rolling_s


@dataclass(eq=False)
class _Moving:
    """The balls still on their way, each field (m,); ``who`` are their numbers among all.

    ``stop`` is the next plane or edge down-lane of each, by its place in the order of all stops;
    ``left`` how much speed the slide has still to change, in m/s.
    """

    who: IndexArray
    x: FloatArray
    y: FloatArray
    vx: FloatArray
    vy: FloatArray
    t: FloatArray
    ux: FloatArray
    uy: FloatArray
    left: FloatArray
    row: IndexArray
    column: IndexArray
    stop: IndexArray

    def only(self, kept: BoolArray) -> "_Moving":
        """Return the balls that ``kept`` (m,) picks."""
        return self if kept.all() else _Moving(*(part[kept] for part in vars(self).values()))


def _set_down(ball: Ball, release: Release, friction: FrictionGrid) -> _Moving:
    """Return all balls at the foul line."""
    vx, vy = release.velocity_mps
    rim_x, rim_y = release.rim_mps(ball.radius_m)
    slip_x, slip_y = vx - rim_x, vy - rim_y
    slip = np.hypot(slip_x, slip_y)
    safe = np.where(slip > 0, slip, 1.0)
    count = len(release)
    return _Moving(
        who=np.arange(count),
        x=release.x_m.copy(),
        y=np.zeros(count),
        vx=vx.copy(),
        vy=vy.copy(),
        t=np.zeros(count),
        ux=slip_x / safe,
        uy=slip_y / safe,
        left=ball.roll_fraction * slip,
        row=np.searchsorted(friction.y_edges_m, np.zeros(count), side="right"),
        column=np.searchsorted(friction.x_edges_m, release.x_m, side="right"),
        stop=np.zeros(count, dtype=np.intp),
    )


def _march(
    ball: Ball, release: Release, friction: FrictionGrid, planes: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return x, vx, vy, t (4, n, p) at the planes (n, p), and x, y, t (3, n) where rolling begins.

    Every ball goes from event to event of its own: a plane or an edge down-lane, an edge across,
    the end of its slide. From there on it rolls straight, and all planes left are told at once.
    """
    count, last = planes.shape[0], planes.shape[1] - 1
    # A plane that lies on an edge comes before it (stable sort), and both are visited.
    edges = np.broadcast_to(friction.y_edges_m, (count, friction.y_edges_m.size))
    stops = np.concatenate([planes, edges], axis=1)
    order = np.argsort(stops, axis=1, kind="stable")
    stops = np.take_along_axis(stops, order, axis=1)
    crossed = np.full((4, *planes.shape), np.nan)
    roll = np.full((3, count), np.nan)
    sides = np.concatenate([[-np.inf], friction.x_edges_m, [np.inf]])

    on = _set_down(ball, release, friction)
    while on.who.size:
        rolls = on.left <= 0
        if rolls.any():
            rolling = on.only(rolls)
            roll[:, rolling.who] = rolling.x, rolling.y, rolling.t
            _roll_on(rolling, planes, crossed)
            on = on.only(~rolls)
        pull = friction.mu[on.row, on.column] * STANDARD_GRAVITY_MPS2
        ax, ay = -pull * on.ux, -pull * on.uy
        stop_m = stops[on.who, on.stop]
        to_stop = _first_time(stop_m - on.y, on.vy, ay)
        to_roll = on.left / pull
        dt = np.minimum(to_stop, to_roll)
        if friction.x_edges_m.size:
            to_side, turn = _to_strip_edge(sides, on, ax)
            dt = np.minimum(dt, to_side)
            on.column += np.where(to_side <= dt, turn, 0)
        on.x += (on.vx + ax * dt / 2) * dt
        on.y += (on.vy + ay * dt / 2) * dt
        on.vx += ax * dt
        on.vy += ay * dt
        on.t += dt
        on.left = np.where(to_roll <= dt, 0.0, on.left - pull * dt)

        arrived = to_stop <= dt
        on.y = np.where(arrived, stop_m, on.y)
        which = order[on.who, on.stop]
        at_plane = arrived & (which <= last)
        crossed[:, on.who[at_plane], which[at_plane]] = np.stack([on.x, on.vx, on.vy, on.t])[
            :, at_plane
        ]
        on.row += arrived & (which > last)
        on.stop += arrived
        on = on.only(~(at_plane & (which == last)))
    return crossed, roll


def _roll_on(on: _Moving, planes: FloatArray, crossed: FloatArray) -> None:
    """Tell where balls that roll straight on cross the planes not passed yet, into ``crossed``.

    A ball that does not move down-lane passes none.
    """
    ahead = planes[on.who] - on.y[:, np.newaxis]
    with np.errstate(divide="ignore", invalid="ignore"):
        wait = ahead / on.vy[:, np.newaxis]
    coming = np.isnan(crossed[0, on.who]) & (wait >= 0) & np.isfinite(wait)
    wait = np.where(coming, wait, 0.0)
    x = on.x[:, np.newaxis] + on.vx[:, np.newaxis] * wait
    told = (x, on.vx[:, np.newaxis], on.vy[:, np.newaxis], on.t[:, np.newaxis] + wait)
    for part, value in zip(crossed, told, strict=True):
        part[on.who] = np.where(coming, value, part[on.who])


def _to_strip_edge(sides: FloatArray, on: _Moving, ax: FloatArray) -> tuple[FloatArray, IndexArray]:
    """Return the time (m,) to the strip's edge that comes first, and which way (-1, +1) it leads.

    A ball may move to one side, be pulled back and leave by the other.
    """
    way = np.where((on.vx > 0) | ((on.vx == 0) & (ax > 0)), 1, -1).astype(np.intp)
    ahead = sides[on.column + (way > 0)]
    time = _first_time(way * (ahead - on.x), way * on.vx, way * ax)
    back = np.flatnonzero(~np.isfinite(time) & (way * ax < 0))
    if back.size:
        behind = sides[on.column[back] + (way[back] < 0)]
        time[back] = _first_time(
            way[back] * (on.x[back] - behind), -way[back] * on.vx[back], -way[back] * ax[back]
        )
        way[back] *= -1
    return time, way


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
    ball: Ball,
    release: Release,
    friction: FrictionGrid,
    planes_m: ArrayLike,
    *,
    errors: Sequence[str] = ERRORS,
    steps: Sequence[float] = _STEPS,
) -> FloatArray:
    """Return d(x [m], angle [rad]) / d(laydown [m], launch [rad], speed [m/s], rev [rad/s]).

    Shape (n, p, 2, e) for n releases, the planes y = ``planes_m`` [m], as in :func:`ball_path`, and
    the ``errors`` asked for. Central differences of the exact path over ``steps``, in SI units and
    more than nought: tiny ones give the derivative, larger ones the mean slope over that much of an
    error, which is what counts where friction changes within it.
    """
    count = len(release)
    planes = np.broadcast_to(np.asarray(planes_m), (count, np.shape(planes_m)[-1]))
    both = release.tiled(2 * len(errors))
    for axis, (name, step) in enumerate(zip(errors, steps, strict=True)):
        varied = getattr(both, name)
        varied[2 * axis * count : (2 * axis + 1) * count] += step
        varied[(2 * axis + 1) * count : (2 * axis + 2) * count] -= step
    path = ball_path(ball, both, friction, np.tile(planes, (2 * len(errors), 1)))
    arrival = np.stack([path.x_m, path.angle_rad], axis=-1)
    arrival = arrival.reshape(len(errors), 2, count, planes.shape[1], 2)
    slope = (arrival[:, 0] - arrival[:, 1]) / (2 * np.reshape(steps, (-1, 1, 1, 1)))
    return np.moveaxis(slope, 0, -1)
