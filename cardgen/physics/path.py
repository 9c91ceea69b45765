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

    ``planes_m`` [m] is (p,) for all balls alike or (n, p); none is before the foul line. The inputs
    are untouched.
    """
    return ball_paths(ball, release, [friction], planes_m)[0]


def ball_paths(
    ball: Ball, release: Release, lanes: Sequence[FrictionGrid], planes_m: ArrayLike
) -> list[BallPath]:
    """Return the paths of the same n releases on each of several lanes; see :func:`ball_path`.

    All are followed together: for few balls a step costs as much as for many.
    """
    if not lanes:
        return []
    count = len(release)
    planes = np.broadcast_to(
        np.asarray(planes_m, dtype=np.float64), (count, np.shape(planes_m)[-1])
    )
    every = np.tile(planes, (len(lanes), 1))
    on = _set_down(ball, release.tiled(len(lanes)), every)
    crossed, roll = _march(on, _stacked(lanes, on, count), every)
    paths = []
    for number, lane in enumerate(lanes):
        mine = slice(number * count, (number + 1) * count)
        (x, vx, vy, t), begun = crossed[:, mine], roll[:, mine]
        if lane.slope:
            aside, faster = _downhill(ball, lane.slope, t, begun[2][:, np.newaxis])
            x, vx = x + aside, vx + faster
        paths.append(BallPath(planes, x, vx, vy, t, *begun))
    return paths


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
    """The balls still on their way, each field (m,).

    ``who`` are their numbers among all. ``back_x`` and ``back_y`` are the direction of the pull,
    against the slip's; ``left`` is how much speed the slide has still to change, in m/s. ``ahead``
    and ``end`` are the next and the last plane; ``cell``, ``edge`` and ``side`` are where each ball
    is in the arrays of its :class:`_Lanes`.
    """

    who: IndexArray
    x: FloatArray
    y: FloatArray
    vx: FloatArray
    vy: FloatArray
    t: FloatArray
    back_x: FloatArray
    back_y: FloatArray
    left: FloatArray
    ahead: FloatArray
    end: FloatArray
    cell: IndexArray
    edge: IndexArray
    side: IndexArray

    def only(self, kept: BoolArray) -> "_Moving":
        """Return the balls that ``kept`` (m,) picks."""
        which = np.flatnonzero(kept)
        if which.size == kept.size:
            return self
        return _Moving(*(part.take(which) for part in vars(self).values()))


@dataclass(frozen=True, eq=False)
class _Lanes:
    """Friction grids laid end to end.

    ``pull_mps2``: of each cell, row by row, ``columns`` to a row. ``edges_m``: where each row ends,
    down-lane. ``sides_m``: the edges of the columns, the two outermost without end.
    """

    pull_mps2: FloatArray
    columns: int
    edges_m: FloatArray
    sides_m: FloatArray


def _stacked(lanes: Sequence[FrictionGrid], on: _Moving, each: int) -> _Lanes:
    """Return ``lanes`` as one, and put on each of them as many balls: ``each``."""
    rows, columns = (max(lane.mu.shape[axis] for lane in lanes) for axis in (0, 1))
    shape = (len(lanes), rows, columns)
    pull = np.ones(shape)  # of cells that no ball comes to, too
    edges = np.full(shape[:2], np.inf)
    sides = np.full((len(lanes), columns + 1), np.inf)
    sides[:, 0] = -np.inf
    for number, lane in enumerate(lanes):
        here = slice(number * each, (number + 1) * each)
        down, across = lane.y_edges_m, lane.x_edges_m
        pull[number, : down.size + 1, : across.size + 1] = lane.mu * STANDARD_GRAVITY_MPS2
        edges[number, : down.size] = down
        sides[number, 1 : across.size + 1] = across
        column = np.searchsorted(across, on.x[here], side="right")
        on.edge[here] = number * rows + np.searchsorted(down, 0.0, side="right")
        on.cell[here] = on.edge[here] * columns + column
        on.side[here] = number * (columns + 1) + column
    return _Lanes(pull.ravel(), columns, edges.ravel(), sides.ravel())


def _set_down(ball: Ball, release: Release, planes: FloatArray) -> _Moving:
    """Return all balls at the foul line, not yet on any lane; ``planes`` is (n, p)."""
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
        vx=vx,
        vy=vy,
        t=np.zeros(count),
        back_x=-slip_x / safe,
        back_y=-slip_y / safe,
        left=ball.roll_fraction * slip,
        ahead=np.where(planes > 0, planes, np.inf).min(axis=1),
        end=planes.max(axis=1),
        cell=np.zeros(count, dtype=np.intp),
        edge=np.zeros(count, dtype=np.intp),
        side=np.zeros(count, dtype=np.intp),
    )


@np.errstate(invalid="ignore", divide="ignore", over="ignore")
def _march(on: _Moving, lanes: _Lanes, planes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return x, vx, vy, t (4, n, p) at the planes (n, p), and x, y, t (3, n) where rolling begins.

    Every ball goes from event to event of its own: an edge down-lane or across, its last plane, the
    end of its slide, from where it rolls straight on. On the way from one to the next, its planes
    are told.
    """
    count = len(planes)
    crossed = np.full((4, planes.size), np.nan)
    roll = np.full((3, count), np.nan)
    still = np.zeros(count)
    ball, plane = np.nonzero(planes <= 0.0)
    _tell(on, ball, plane, planes, still, still, crossed)
    while on.who.size:
        sliding = on.left > 0
        if not sliding.all():
            rolling = on.only(~sliding)
            roll[:, rolling.who] = rolling.x, rolling.y, rolling.t
            ball, plane = np.nonzero(planes[rolling.who] >= rolling.ahead[:, np.newaxis])
            _tell(rolling, ball, plane, planes, still, still, crossed)
            on = on.only(sliding)
        pull = lanes.pull_mps2.take(on.cell)
        ax, ay = pull * on.back_x, pull * on.back_y
        stop_m = np.minimum(lanes.edges_m.take(on.edge), on.end)
        to_stop = _first_time(stop_m - on.y, on.vy, ay)
        to_roll = on.left / pull
        dt = np.minimum(to_stop, to_roll)
        if lanes.columns > 1:
            to_side, way = _to_strip_edge(lanes.sides_m, on, ax)
            dt = np.minimum(dt, to_side)
        faster_x, faster_y = ax * dt, ay * dt
        turned = (on.vy + faster_y < 0) & (on.vy > 0)
        if turned.any():  # a plane may lie between here and where the ball turns round
            dt = np.where(turned, -on.vy / ay, dt)
            faster_x, faster_y = ax * dt, np.where(turned, -on.vy, ay * dt)
        arrived = to_stop <= dt
        y = np.where(arrived, stop_m, on.y + (on.vy + faster_y / 2) * dt)
        _pass(on, y, planes, ax, ay, crossed)

        on.x += (on.vx + faster_x / 2) * dt
        on.y = y
        on.vx += faster_x
        on.vy += faster_y
        on.t += dt
        on.left = np.where(to_roll <= dt, 0.0, on.left - pull * dt)
        on.edge += arrived
        on.cell += lanes.columns * arrived
        if lanes.columns > 1:
            turn = np.where(to_side <= dt, way, 0)
            on.side += turn
            on.cell += turn
        on = on.only(on.y < on.end)
    return crossed.reshape(4, *planes.shape), roll


def _pass(
    on: _Moving,
    y: FloatArray,
    planes: FloatArray,
    ax: FloatArray,
    ay: FloatArray,
    crossed: FloatArray,
) -> None:
    """Tell how balls cross the planes between where they are and ``y`` (m,); see :func:`_tell`."""
    due = np.flatnonzero(on.ahead <= y)
    if not due.size:
        return
    mine, now, then = planes[on.who[due]], on.y[due, np.newaxis], y[due, np.newaxis]
    beyond = mine > then
    on.ahead[due] = np.where(beyond, mine, np.inf).min(axis=1)
    ball, plane = np.nonzero((mine > now) & ~beyond)
    _tell(on, due[ball], plane, planes, ax, ay, crossed)


def _tell(
    on: _Moving,
    ball: IndexArray,
    plane: IndexArray,
    planes: FloatArray,
    ax: FloatArray,
    ay: FloatArray,
    crossed: FloatArray,
) -> None:
    """Tell how each ``ball`` (k,) of those ``on`` their way crosses a ``plane`` (k,) of ``planes``.

    ``ax`` and ``ay`` (m,) change their speed until then; ``crossed`` is (4, n p).
    """
    told = on.who.take(ball) * planes.shape[1] + plane
    vx, vy, ax, ay = on.vx.take(ball), on.vy.take(ball), ax.take(ball), ay.take(ball)
    wait = _first_time(planes.take(told) - on.y.take(ball), vy, ay)
    wait = np.where(np.isfinite(wait), wait, np.nan)  # it rolls back, or stands
    faster_x = ax * wait
    crossed[0, told] = on.x.take(ball) + (vx + faster_x / 2) * wait
    crossed[1, told] = vx + faster_x
    crossed[2, told] = vy + ay * wait
    crossed[3, told] = on.t.take(ball) + wait


def _to_strip_edge(sides: FloatArray, on: _Moving, ax: FloatArray) -> tuple[FloatArray, IndexArray]:
    """Return the time (m,) to the strip's edge that comes first, and which way (-1, +1) it leads.

    A ball may move to one side, be pulled back and leave by the other.
    """
    right = np.where(on.vx == 0, ax, on.vx) > 0
    way = np.where(right, 1.0, -1.0)
    pull = way * ax
    time = _first_time(way * (sides.take(on.side + right) - on.x), way * on.vx, pull)
    back = np.flatnonzero(np.isinf(time) & (pull < 0))
    if back.size:
        way[back] *= -1
        back_way = way[back]
        behind = sides.take(on.side[back] + (back_way > 0))
        time[back] = _first_time(
            back_way * (behind - on.x[back]), back_way * on.vx[back], back_way * ax[back]
        )
    return time, way.astype(np.intp)


def _first_time(distance_m: FloatArray, v_mps: FloatArray, a_mps2: FloatArray) -> FloatArray:
    """Return the first t > 0 with v t + a t^2 / 2 = distance >= 0, else infinity; all (n,).

    A distance just below nought is rounding: the ball is at the edge. The caller has numpy's
    warnings off.
    """
    distance_m = np.maximum(distance_m, 0.0)
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
