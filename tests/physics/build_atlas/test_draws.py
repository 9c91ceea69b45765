"""The design of the runs: cells, strata, classes."""

import numpy as np
import pytest

from cardgen.lane.geometry import EDGE_M
from cardgen.lane.rack import ALL_LEAVES, Leave
from cardgen.physics.build_atlas.draws import (
    ANGLE_STEP_RAD,
    BALLS,
    CELL_M,
    DRAWS,
    HALVED,
    RANGES,
    SPOT_SD_M,
    Cell,
    angle_cells,
    cell_draws,
    place_cells,
    representative,
)
from cardgen.physics.build_atlas.pinfall import Arrival, first_touch_m, touch_distance_m

LEAVE = Leave.of(3, 10)


def test_half_the_rack_is_enough() -> None:
    # Counting: 45 pairs and 120 triples, of which 5 and 8 are their own mirror images.
    for pins, classes in ((1, 6), (2, 25), (3, 64)):
        assert len({representative(v) for v in ALL_LEAVES if len(v) == pins}) == classes
    assert angle_cells(Leave.of(7, 10)) == (0, 1, 2, 3)
    assert len(angle_cells(LEAVE)) == 7


def test_each_quantity_falls_once_into_each_sixteenth_of_its_range() -> None:
    cell = Cell(1, -2, 5)
    draws = cell_draws(LEAVE, cell)
    ranges = dict(RANGES)
    ranges["x_m"] = (5 * CELL_M, 6 * CELL_M)
    ranges["angle_rad"] = (-2.5 * ANGLE_STEP_RAD, -1.5 * ANGLE_STEP_RAD)
    for name, (low, high) in ranges.items():
        share = (np.array([d.numbers()[name] for d in draws]) - low) / (high - low)
        assert sorted(np.floor(share * DRAWS)) == list(range(DRAWS)), name


def test_the_halves_of_the_four_that_matter_are_in_the_bits() -> None:
    for place in range(3):
        for d, draw in enumerate(cell_draws(LEAVE, Cell(0, 0, place))):
            for k, name in enumerate(HALVED):
                low, high = RANGES[name]
                assert (draw.numbers()[name] > (low + high) / 2) == bool(d >> (3 - k) & 1)


def test_a_cell_depends_on_nothing_but_itself() -> None:
    cell = Cell(1, 0, 3)
    once = [d.numbers() for d in cell_draws(LEAVE, cell)]
    cell_draws(LEAVE, Cell(0, 0, 3))
    assert [d.numbers() for d in cell_draws(LEAVE, cell)] == once
    others = [Cell(0, 0, 3), Cell(1, 1, 3), Cell(1, 0, 4), Cell(1, 0, 3, 1)]
    assert all([d.numbers() for d in cell_draws(LEAVE, o)] != once for o in others)
    assert [d.numbers() for d in cell_draws(Leave.of(2, 7), cell)] != once


def test_spots_are_off_by_the_jitter_asked_for() -> None:
    off = np.concatenate(
        [
            [d.spots_m for d in cell_draws(LEAVE, Cell(0, 0, p))]
            for p in range(60)
        ]
    )  # fmt: skip
    assert np.allclose(off.std(axis=0), SPOT_SD_M, rtol=0.1)


@pytest.mark.parametrize("leave", [LEAVE, Leave.of(7, 10), Leave.of(1, 10), Leave.of(5)])
def test_no_ball_outside_the_places_touches_a_pin(leave: Leave) -> None:
    places = place_cells(leave)
    spots = np.array([d.spots_m for d in cell_draws(leave, Cell(0, 0, 0))]).mean(axis=0)
    for angle in np.linspace(-3.5, 3.5, 29) * ANGLE_STEP_RAD:
        for x in (places.start * CELL_M - 1e-3, places.stop * CELL_M + 1e-3):
            for further in (0.0, 0.05, 0.2):
                arrival = Arrival(x + np.sign(x) * further, float(angle), 7.0)
                touch = first_touch_m(arrival, leave.front_row_m, spots, touch_distance_m(BALLS[0]))
                # Beyond the edge at the front row it would have come out of the gutter.
                assert touch is None or abs(arrival.x_m) > EDGE_M
