"""How what is not known of bowler and lane carries the balls of a line astray."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import FloatArray
from cardgen.physics.path import ball_paths
from cardgen.profile.belief import HABITS, UNKNOWNS, at
from cardgen.targeting.lines import LineSet


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
    ball = lines.ball
    each = (len(lines), np.shape(planes_m)[-1])
    planes = np.concatenate(
        [np.broadcast_to(planes_m, each), lines.target_y_m[:, np.newaxis]], axis=1
    )
    errors = {f"{ball.name}_speed": "speed_mps", f"{ball.name}_rotation": "rotation_rad"}
    sizes = {name: float(lines.bowler.scale[at(name)]) for name in errors}
    told = [name for name, size in sizes.items() if size]
    if told:
        slopes = lines.slope_by(planes, [errors[n] for n in told], [sizes[n] for n in told])
        for k, name in enumerate(told):
            moved = sizes[name] * slopes[..., k]
            yield name, moved[:, :-1], moved[:, -1, 0]
    frictions = [friction for doubt in ball.doubts for friction in (doubt.less, doubt.more)]
    paths = iter(ball_paths(ball.ball, lines.release, frictions, planes))
    for doubt, less, more in zip(ball.doubts, paths, paths, strict=True):
        by = np.stack([more.x_m - less.x_m, more.angle_rad - less.angle_rad], axis=-1)
        moved = by / doubt.deviations
        yield doubt.name, moved[:, :-1], moved[:, -1, 0]


def _laydown_by(lines: LineSet) -> dict[str, FloatArray]:
    """Return how far (n,) a unit of each stand habit moves the laydown to the right."""
    habits = lines.bowler.habits
    reach = habits.distance_m / lines.target_y_m
    keeps = 1 / (1 + habits.walk * reach)  # a walk along the line takes part of it back
    along = (lines.target_x_m - lines.bowler.aim_m - lines.laydown_x_m) * keeps
    by = (keeps, along * habits.walk / lines.target_y_m, along * reach, keeps)
    return dict(zip(HABITS, by, strict=False))
