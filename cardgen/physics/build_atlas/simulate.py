"""Running the draws of a leave, or of the full rack, cell by cell into arrays."""

from collections.abc import Callable, Iterator
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cardgen.lane.geometry import BoolArray, IndexArray
from cardgen.lane.rack import FULL_RACK, PIN_NUMBERS, Leave
from cardgen.physics.build_atlas.chunks import Chunk, recipe
from cardgen.physics.build_atlas.draws import (
    BALLS,
    DRAWS,
    Cell,
    Draw,
    angle_cells,
    cell_draws,
    place_cells,
)
from cardgen.physics.build_atlas.pinfall import run
from cardgen.physics.build_atlas.planar import planar_touched
from cardgen.physics.build_atlas.rackworld import RackWorld
from cardgen.physics.build_atlas.touches import BY_BALL, BY_REBOUND, UNTOUCHED

RACK_PLACES = range(-24, 24)
"""Place cells of full-rack runs: within a foot of the middle at the head pin."""
RACK_ANGLES = (0, 1, 2, 3)
"""Angle cells of full-rack runs; the mirror image gives the rest."""
RACK_ROUNDS = 2


Solver: TypeAlias = Callable[[Draw], tuple[BoolArray, IndexArray, int]]
"""Gives a draw's fallen pins (pins,), what touched each (pins,), and how often it was redone."""


def _solver(leave: Leave, ball: int, planar: bool) -> Solver:
    def flat(draw: Draw) -> tuple[BoolArray, IndexArray, int]:
        touched = planar_touched(BALLS[ball], draw, leave.front_row_m)
        return touched != UNTOUCHED, touched, 0

    if planar:
        return flat
    world = RackWorld(leave, BALLS[ball])

    def solid(draw: Draw) -> tuple[BoolArray, IndexArray, int]:
        outcome = run(world, draw.arrival, draw.surfaces, draw.spots_m)
        return outcome.fell, outcome.touched, outcome.redone

    return solid


def simulate_leave(leave: Leave, *, planar: bool = False) -> Chunk:
    """Return the chunk of ``leave``.

    Arrays: ``spares`` (balls, angles, places) uint16, bit d set if draw d took all pins; ``felled``
    (balls, angles, places, pins) uint8, in how many draws each pin fell; ``by_ball`` and
    ``by_rebound``, of that shape, in how many of the spares each pin was first touched by the ball,
    or by a pin off a partition; ``angles`` (angles,) and ``places`` (places,) the numbers of the
    cells; ``redone`` how many runs were done again.
    """
    angles, places = angle_cells(leave), place_cells(leave)
    spares = np.zeros((len(BALLS), len(angles), len(places)), np.uint16)
    felled, by_ball, by_rebound = np.zeros((3, *spares.shape, len(leave)), np.uint8)
    redone = 0
    for ball in range(len(BALLS)):
        solve = _solver(leave, ball, planar)
        for i, angle in enumerate(angles):
            for j, place in enumerate(places):
                for d, draw in enumerate(cell_draws(leave, Cell(ball, angle, place))):
                    fell, touched, again = solve(draw)
                    redone += again
                    felled[ball, i, j] += fell
                    if fell.all():
                        spares[ball, i, j] |= np.uint16(1 << d)
                        by_ball[ball, i, j] += touched == BY_BALL
                        by_rebound[ball, i, j] += touched == BY_REBOUND
    arrays: dict[str, NDArray[Any]] = {
        "spares": spares,
        "felled": felled,
        "by_ball": by_ball,
        "by_rebound": by_rebound,
        "angles": np.array(angles, np.int16),
        "places": np.array(places, np.int16),
        "redone": np.array(redone, np.int32),
    }
    return Chunk(arrays, recipe("planar" if planar else "3-D", leave=str(leave)))


def simulate_rack(ball: int, angle: int, round_: int) -> Chunk:
    """Return one slice of full-rack runs.

    Arrays: ``left`` (places, draws) uint16, bit p - 1 set if pin p stands after the first ball;
    ``numbers`` (places, draws, names) float32, what each run drew, named by ``names`` in the
    recipe; ``places`` (places,) the numbers of the cells.
    """
    solve = _solver(FULL_RACK, ball, False)
    left = np.zeros((len(RACK_PLACES), DRAWS), np.uint16)
    numbers = []
    bits = 1 << np.arange(len(PIN_NUMBERS))
    for j, place in enumerate(RACK_PLACES):
        for d, draw in enumerate(cell_draws(FULL_RACK, Cell(ball, angle, place, round_))):
            left[j, d] = (~solve(draw)[0] * bits).sum()
            numbers.append(list(draw.numbers().values()))
    names = list(draw.numbers())
    arrays: dict[str, NDArray[Any]] = {
        "left": left,
        "numbers": np.array(numbers, np.float32).reshape(*left.shape, -1),
        "places": np.array(RACK_PLACES, np.int16),
    }
    return Chunk(
        arrays, recipe("3-D", rack=True, ball=ball, angle=angle, round=round_, names=names)
    )


def rack_slices() -> Iterator[tuple[int, int, int]]:
    """Yield ball, angle and round of every slice of full-rack runs."""
    for round_ in range(RACK_ROUNDS):
        for ball in range(len(BALLS)):
            for angle in RACK_ANGLES:
                yield ball, angle, round_
