"""What first touched a pin, as told from looks at a run."""

import numpy as np
import pytest

from cardgen.delivery.ball import Ball
from cardgen.lane.rack import Leave, pin_x_m
from cardgen.physics.build_atlas.draws import BALLS, Cell, cell_draws, place_cells
from cardgen.physics.build_atlas.pinfall import Arrival, run
from cardgen.physics.build_atlas.planar import planar_touched
from cardgen.physics.build_atlas.rackworld import RackWorld, Surfaces
from cardgen.physics.build_atlas.touches import (
    BY_BALL,
    BY_PIN,
    BY_REBOUND,
    UNTOUCHED,
    note_touches,
)
from cardgen.units import INCH_M

MIDDLE = Surfaces(0.7, 0.7, 0.45, 0.15, 0.2, 0.35, 0.2)


def _touched(leave: Leave, x_m: float, ball: Ball = BALLS[1]) -> list[int]:
    world = RackWorld(leave, ball)
    outcome = run(world, Arrival(x_m, 0.0, 6.7), MIDDLE, world.spots_m)
    return [int(by) for by in outcome.touched]


def test_a_ball_that_fits_between_touches_both() -> None:
    assert _touched(Leave.of(4, 5), (pin_x_m(4) + pin_x_m(5)) / 2) == [BY_BALL, BY_BALL]


def test_a_pin_slides_into_its_neighbour() -> None:
    # Thin on the far side of the 5 pin sends it straight across; the ball passes the 4 pin by.
    touched = _touched(Leave.of(4, 5), pin_x_m(5) + 6.3 * INCH_M)
    assert touched[1] == BY_BALL
    assert touched[0] in (UNTOUCHED, BY_PIN)
    assert _touched(Leave.of(2, 8), pin_x_m(2))[1] == BY_PIN


def test_nothing_is_touched_by_a_ball_that_passes() -> None:
    assert _touched(Leave.of(7), 0.0) == [UNTOUCHED]


@pytest.mark.parametrize("leave", [Leave.of(4, 5), Leave.of(2, 4, 5), Leave.of(3, 9, 10)])
def test_two_models_tell_alike_what_the_ball_touches(leave: Leave) -> None:
    """Up to the first impact both are geometry, so the first pin must agree; later ones mostly."""
    world = RackWorld(leave, BALLS[1])
    alike = total = 0
    for place in list(place_cells(leave))[::5]:
        for draw in cell_draws(leave, Cell(1, 0, place))[::4]:
            outcome = run(world, draw.arrival, draw.surfaces, draw.spots_m)
            flat = planar_touched(BALLS[1], draw, leave.front_row_m)
            assert (BY_BALL in outcome.touched) == (BY_BALL in flat)
            assert (outcome.touched == UNTOUCHED)[outcome.fell].sum() == 0
            alike += int(((outcome.touched == BY_BALL) == (flat == BY_BALL)).sum())
            total += len(leave)
    assert alike > 0.9 * total


def test_a_rebound_is_told_from_a_direct_hit() -> None:
    """Looks at a pin that flies to the partition, turns back there, and meets a standing pin."""
    for turns_back, says in ((True, BY_REBOUND), (False, BY_PIN)):
        touched, rebounded = np.array([BY_BALL, UNTOUCHED]), np.zeros(2, np.bool_)
        outward = np.zeros(2)
        qpos, qvel = np.zeros(21), np.zeros(18)
        qpos[[3, 10, 17]] = 1.0  # all upright
        qpos[1] = 1.0  # the ball is far past
        qpos[14] = pin_x_m(10)
        looks = [(0.60, 3.0), (0.62, -1.0)] if turns_back else [(0.30, 1.0)]
        for x, vx in looks:
            qpos[7], qvel[6] = x, vx
            note_touches(qpos, qvel, 0.1, touched, rebounded, outward)
        qpos[7] = pin_x_m(10) + (0.12 if turns_back else -0.12)
        qvel[12] = 0.5  # the other has begun to move
        note_touches(qpos, qvel, 0.1, touched, rebounded, outward)
        assert touched.tolist() == [BY_BALL, says]
