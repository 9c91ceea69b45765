"""How what is not known of bowler and lane carries the balls of a line astray."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import FloatArray
from cardgen.physics.path import ball_path
from cardgen.profile.belief import HABITS, UNKNOWNS, at
from cardgen.targeting.lines import LineSet

_ROTATION = "rotation_rad"


def moved_by_unknowns(
    lines: LineSet, planes_m: ArrayLike, by: Mapping[str, FloatArray]
) -> FloatArray:
    """Return what each unknown moves, (n, p, 2, k), a standard deviation of what it was at first.

    That is place [m] and angle [rad] at ``planes_m``, (p,) or (n, p), of ``lines`` (n,). ``by`` has
    what a unit of ``x_m`` and ``launch_rad`` of the release moves, (n, p, 2) each.
    """
    bowler = lines.bowler
    moved = np.zeros((len(lines), np.shape(planes_m)[-1], 2, len(UNKNOWNS)))
    turn = lines.launch_by_target[:, np.newaxis, np.newaxis]
    # The feet move the laydown, and the launch turns so that the ball still crosses the target.
    by_laydown = by["x_m"] - by["launch_rad"] * turn
    for name, laydown in _laydown_by(lines).items():
        moved[..., at(name)] = by_laydown * laydown[:, np.newaxis, np.newaxis]
    moved[..., at("aim")] = by["launch_rad"] * turn
    moved *= bowler.scale
    for name, here, crossing_m in _turning(lines, planes_m):
        # However the ball turns on its way, the bowler rolls it over the target.
        back = by["launch_rad"] * turn * crossing_m[:, np.newaxis, np.newaxis]
        moved[..., at(name)] = here - back
    return moved


def _turning(lines: LineSet, planes_m: ArrayLike) -> Iterator[tuple[str, FloatArray, FloatArray]]:
    """Yield of each unknown that turns the path what a deviation of it moves, the release kept.

    That is (n, p, 2) at ``planes_m``, and (n,) to the right where the ball crosses the target.
    """
    ball, release, scale = lines.ball, lines.release, lines.bowler.scale
    targets = lines.target_y_m[:, np.newaxis]
    for name, error in ((f"{ball.name}_speed", "speed_mps"), (f"{ball.name}_rotation", _ROTATION)):
        if size := float(scale[at(name)]):
            here, crossing = (
                size * lines.slope_by(planes, [error], [size])[..., 0]
                for planes in (planes_m, targets)
            )
            yield name, here, crossing[:, 0, 0]
    for doubt in ball.doubts:
        moved = []
        for planes in (planes_m, targets):
            less, more = (
                ball_path(ball.ball, release, friction, planes)
                for friction in (doubt.less, doubt.more)
            )
            by = np.stack([more.x_m - less.x_m, more.angle_rad - less.angle_rad], axis=-1)
            moved.append(by / doubt.deviations)
        yield doubt.name, moved[0], moved[1][:, 0, 0]


def _laydown_by(lines: LineSet) -> dict[str, FloatArray]:
    """Return how far (n,) a unit of each stand habit moves the laydown to the right."""
    habits = lines.bowler.habits
    reach = habits.distance_m / lines.target_y_m
    keeps = 1 / (1 + habits.walk * reach)  # a walk along the line takes part of it back
    along = (lines.target_x_m - lines.bowler.aim_m - lines.laydown_x_m) * keeps
    by = (keeps, along * habits.walk / lines.target_y_m, along * reach, keeps)
    return dict(zip(HABITS, by, strict=False))
