"""The mean shot on its way: where it is, and what it does there."""

import numpy as np

from cardgen.lane.geometry import BOARD_M, EDGE_M, FloatArray, IndexArray
from cardgen.profile.bowler import BallChoice
from cardgen.targeting.line import Spot, Trace
from cardgen.targeting.lines import LineSet
from cardgen.units import DEGREE_RAD

_POINTS = 65  # about a foot apart
_SHOWS_BOARDS = 1.0
"""So far must a path come back for its outermost point to be called a breakpoint."""
_SHOWS_RAD = 1.5 * DEGREE_RAD
"""So much must a path turn for skid, hook and roll to be told apart."""


def traces(thrown: LineSet, ends_m: FloatArray) -> tuple[list[Trace], IndexArray]:
    """Return the paths of n lines up to y = ``ends_m`` (n,), and which of them are lost.

    A path that leaves the lane ends there and counts as lost.
    """
    steps = np.linspace(0, 1, _POINTS)
    path = thrown.path(ends_m[:, np.newaxis] * steps)
    lost = np.flatnonzero(np.any(np.abs(path.x_m) > EDGE_M, axis=1))
    if lost.size:
        ends_m = ends_m.copy()
        ends_m[lost] = [_gutter_y_m(path.x_m[i], path.y_m[i]) for i in lost]
        path = thrown.path(ends_m[:, np.newaxis] * steps)
    friction = thrown.ball.friction.at(path.x_m, path.y_m)
    turned = np.ptp(path.angle_rad, axis=1) >= _SHOWS_RAD
    found = []
    for i in range(len(thrown)):
        hooks = rolls = None
        if turned[i]:
            hooks = _hooks(path.x_m[i], path.y_m[i], friction[i], thrown.ball)
            if np.isfinite(path.roll_y_m[i]):
                rolls = Spot(float(path.roll_x_m[i]), float(path.roll_y_m[i]))
            if hooks is not None and rolls is not None and rolls.y_m <= hooks.y_m:
                hooks = None  # slow enough, a ball rolls before the oil ends
        found.append(
            Trace(
                path.x_m[i],
                path.y_m[i],
                float(thrown.target_y_m[i]),
                breakpoint=_breakpoint(path.x_m[i], path.y_m[i]),
                hooks=hooks,
                rolls=rolls,
            )
        )
    return found, lost


def _breakpoint(x_m: FloatArray, y_m: FloatArray) -> Spot | None:
    out = int(x_m.argmax())
    if out == 0 or x_m[out] - x_m[-1] < _SHOWS_BOARDS * BOARD_M:
        return None
    return Spot(float(x_m[out]), float(y_m[out]))


def _hooks(x_m: FloatArray, y_m: FloatArray, mu: FloatArray, ball: BallChoice) -> Spot | None:
    """Return where friction is half-way from the least to the most there is for this ball."""
    grips = mu > (ball.friction.mu.min() + ball.friction.mu.max()) / 2
    first = int(grips.argmax())
    return Spot(float(x_m[first]), float(y_m[first])) if grips.any() and first else None


def _gutter_y_m(x_m: FloatArray, y_m: FloatArray) -> float:
    """Return y [m] where a path (p,) that leaves the lane crosses its edge."""
    out = int(np.argmax(np.abs(x_m) > EDGE_M))
    if out == 0:
        return 0.0
    return float(np.interp(EDGE_M, np.abs(x_m[out - 1 : out + 1]), y_m[out - 1 : out + 1]))
