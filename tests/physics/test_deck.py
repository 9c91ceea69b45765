"""Answers about leaves: single pins by geometry, the mirror, smoothing, first touches."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.lane.geometry import EDGE_M, FloatArray
from cardgen.lane.rack import ALL_LEAVES, SINGLE_PINS, Leave, mirrored_pin, pin_x_m, pin_y_m
from cardgen.physics.atlas import Atlas, leave_bits
from cardgen.physics.deck import (
    REACH_M,
    PinDeck,
    Response,
    doubt_of,
    first_touch,
    shipped_deck,
    single_pin_chance,
    single_pin_window_m,
    windows,
)
from cardgen.physics.grid import ANGLES, ANGLES_RAD, CELL_M, PLACE_EDGES_M, PLACES, PLACES_M
from cardgen.units import INCH_M, POUND_KG

SOME_ANGLES = np.array([-0.06, -0.02, 0.0, 0.03, 0.06])
HEAVY_KG = 15 * POUND_KG


@pytest.fixture(scope="module")
def deck() -> PinDeck:
    return shipped_deck()


PAIR = Leave.of(2, 7)


def hand_made(made: FloatArray) -> PinDeck:
    """Return a deck that knows one leave: ``made`` (balls, angles, places) runs of sixteen."""
    shape = (1, 2, ANGLES, PLACES)
    return PinDeck(
        Atlas(
            pins=np.array([leave_bits(PAIR)], np.uint16),
            solid=np.array([True]),
            ball_kg=np.array([5.0, 7.0]),
            draws=np.array([16], np.uint8),
            made=np.broadcast_to(made, shape).astype(np.uint8),
            felled=np.broadcast_to(made, shape).astype(np.uint16),
            touched=np.zeros((1, ANGLES, PLACES, 10), np.uint8),
            contrasts=np.zeros((1, 15), np.float32),
            stood=np.zeros((2, 4, 1, 1), np.uint16),
            rack_places=np.array([0], np.int16),
            recipe={},
        )
    )


# --- Single pins


@pytest.mark.parametrize("pin", range(1, 11))
def test_a_window_ends_where_the_ball_passes_at_reach(pin: int) -> None:
    ends = np.stack(single_pin_window_m(pin, SOME_ANGLES), axis=1)
    offset = (ends - pin_x_m(pin)) * np.cos(SOME_ANGLES)[:, None]
    # On the lane's side of a corner pin and on both sides of the others.
    inner = {7: [1], 10: [0]}.get(pin, [0, 1])
    assert offset[:, inner] == pytest.approx(
        np.tile(np.array([-REACH_M, REACH_M])[inner], (5, 1)), abs=1e-12
    )


@pytest.mark.parametrize(("pin", "side"), [(7, -1), (10, 1)])
def test_beside_a_corner_pin_the_ball_is_on_the_lane_when_it_touches(pin: int, side: int) -> None:
    ends = single_pin_window_m(pin, SOME_ANGLES)[1 if side > 0 else 0]
    # A ball whose middle is over the edge when it touches is a reach from the pin there.
    aside = EDGE_M - abs(pin_x_m(pin))
    before_row = (REACH_M**2 - aside**2) ** 0.5
    assert ends == pytest.approx(side * EDGE_M - before_row * np.tan(SOME_ANGLES))


@pytest.mark.parametrize("pin", [1, 4, 7, 10])
def test_the_cells_of_a_single_pin_add_up_to_its_window(pin: int) -> None:
    left, right = single_pin_window_m(pin, ANGLES_RAD)
    width = single_pin_chance(pin).sum(axis=1) * CELL_M
    assert width == pytest.approx(right - left)


def test_a_response_tells_the_window_of_a_single_pin_to_a_twentieth_of_an_inch(
    deck: PinDeck,
) -> None:
    for pin in range(1, 11):
        response = deck.response(Leave.of(pin), HEAVY_KG)
        left, right = single_pin_window_m(pin, ANGLES_RAD)
        middle = (left + right) / 2
        found = response.window(middle, ANGLES_RAD)
        for end, exact in zip(found, single_pin_window_m(pin, ANGLES_RAD), strict=True):
            assert end == pytest.approx(exact, abs=0.05 * INCH_M)


# --- Every leave


def test_it_answers_for_all_1023_leaves_and_their_mirror_images(deck: PinDeck) -> None:
    responses = deck.responses(ALL_LEAVES, HEAVY_KG)
    assert [r.leave for r in responses] == list(ALL_LEAVES)
    answers = {r.leave: r for r in responses}
    for leave, response in answers.items():
        mirror = answers[leave.mirrored]
        assert np.allclose(response.chance, mirror.chance[::-1, ::-1])
        assert np.allclose(response.count, mirror.count[::-1, ::-1])
        assert (response.estimate, response.doubt) == (mirror.estimate, mirror.doubt)
        assert response.count.max() <= len(leave)
        assert ((response.chance >= 0) & (response.chance <= 1)).all()
        # All pins down counts for all of them.
        assert (response.count >= response.chance * len(leave) - 1e-9).all()
    assert not any(r.estimate for r in responses if len(r.leave) <= 3)


def test_how_pins_are_touched_is_mirrored_too(deck: PinDeck) -> None:
    leave = Leave.of(3, 10)
    response, mirror = deck.responses([leave, leave.mirrored], HEAVY_KG)
    for x in np.linspace(-0.1, 0.4, 11):
        there = response.how_touched(float(x), 0.0)
        image = mirror.how_touched(-float(x), 0.0)
        assert {mirrored_pin(p): how for p, how in there.items()} == image


def test_a_ball_between_the_two_of_the_atlas_is_between_them() -> None:
    made = np.zeros((2, ANGLES, PLACES))
    made[0], made[1] = 4, 12
    deck = hand_made(made)
    for mass, chance in ((5.0, 0.25), (7.0, 0.75), (6.0, 0.5), (3.0, 0.25), (8.0, 0.75)):
        assert deck.response(PAIR, mass).chance == pytest.approx(chance)


def step_response(first: int, last: int, height: int = 16) -> Response:
    """Return a response good in the cells from ``first`` to before ``last``."""
    made = np.zeros((2, ANGLES, PLACES))
    made[:, :, first:last] = height
    return hand_made(made).response(PAIR, 6.0)


def test_smoothing_keeps_the_area_and_the_place_of_an_edge() -> None:
    response = step_response(40, 56)
    assert response.smooth.sum() == pytest.approx(response.chance.sum())
    left, right = response.window(PLACES_M[[48]], np.zeros(1))
    assert left[0] == pytest.approx(PLACE_EDGES_M[40], abs=1e-9)
    assert right[0] == pytest.approx(PLACE_EDGES_M[56], abs=1e-9)


def test_a_window_is_told_at_half_the_best_however_low_that_is() -> None:
    high, low = step_response(40, 56), step_response(40, 56, height=4)
    x = PLACES_M[[44, 30]]
    for a, b in zip(high.window(x, np.zeros(2)), low.window(x, np.zeros(2)), strict=True):
        assert a == pytest.approx(b)


def test_outside_its_window_an_arrival_has_no_room_and_one_that_never_comes_neither() -> None:
    response = step_response(40, 56)
    x = np.array([PLACES_M[20], np.nan, np.inf])
    left, right = response.window(x, np.zeros(3))
    assert left[0] == right[0] == x[0]
    assert not (right > left).any()


def test_of_two_windows_the_one_about_the_arrival_counts() -> None:
    made = np.zeros((2, ANGLES, PLACES))
    made[:, :, 20:30] = made[:, :, 50:60] = 16
    response = hand_made(made).response(PAIR, 6.0)
    left, right = response.window(PLACES_M[[25, 55]], np.zeros(2))
    assert (left < right).all()
    assert right[0] < left[1]


def test_a_window_told_of_an_arrival_holds_it_even_beside_a_narrow_hole() -> None:
    rows = np.zeros((7, PLACES))
    rows[:, 40:50] = 1.0
    rows[:, 44] = 0.45
    x = np.linspace(PLACE_EDGES_M[40], PLACE_EDGES_M[49], 7)
    x[3] = PLACES_M[44] + 0.2 * CELL_M
    left, right = windows(rows, x)
    has_room = right > left
    assert has_room.sum() >= 6
    assert ((left <= x) & (x <= right))[has_room].all()


@given(x=st.floats(-0.6, 0.6), angle=st.floats(-0.12, 0.12))
def test_a_looked_up_chance_lies_between_its_neighbours(x: float, angle: float) -> None:
    response = shipped_deck().response(Leave.of(3, 10), HEAVY_KG)
    (chance,) = response.at(np.array([x]), np.array([angle]))
    assert 0 <= chance <= response.smooth.max()
    (beside,) = response.at(np.array([x + 1e-6]), np.array([angle + 1e-7]))
    if abs(x) < 0.55:
        assert chance == pytest.approx(beside, abs=1e-3)


def test_doubt_is_the_deviation_over_independent_uniform_factors() -> None:
    # Against a plain simulation: a chance that is linear in four uniform factors.
    slopes = np.array([0.2, -0.1, 0.05, 0.0])
    contrasts = np.zeros(15)
    contrasts[[7, 3, 1, 0]] = slopes / 2
    drawn = np.random.default_rng(3).uniform(-0.5, 0.5, (200_000, 4)) @ slopes
    assert doubt_of(contrasts) == pytest.approx(drawn.std(), rel=0.01)


def test_doubt_leaves_sampling_noise_out() -> None:
    rng = np.random.default_rng(4)
    noise = rng.normal(0, 0.03, (400, 15))
    assert np.median([doubt_of(each) for each in noise]) < 0.02
    noise[:, 7] += 0.1
    told = np.array([doubt_of(each) for each in noise])
    assert told.mean() == pytest.approx(0.1 / 3**0.5, rel=0.1)


# --- First touches


def test_a_straight_ball_touches_a_reach_before_the_pin_it_meets_head_on() -> None:
    leave = Leave.parse("1")
    touch = first_touch(leave, 0.0, 0.0)
    assert touch is not None
    assert touch.y_m == pytest.approx(leave.front_row_m - REACH_M)
    # A quarter reach from its edge, and past it altogether.
    grazing = first_touch(leave, 0.75 * REACH_M, 0.0)
    assert grazing is not None
    assert grazing.y_m == pytest.approx(leave.front_row_m - REACH_M * (1 - 0.75**2) ** 0.5)
    assert grazing.aside_m == pytest.approx(0.75 * REACH_M)
    assert first_touch(leave, 1.1 * REACH_M, 0.0) is None


@pytest.mark.parametrize("angle", [-0.05, 0.0, 0.08])
def test_at_its_first_touch_a_ball_is_a_reach_from_the_nearest_pin(angle: float) -> None:
    leave = Leave.parse("3-6-10")
    for x in np.linspace(0.05, 0.5, 10):
        touch = first_touch(leave, float(x), angle)
        assert touch is not None
        at = x - np.tan(angle) * (touch.y_m - leave.front_row_m)
        away = {p: np.hypot(pin_x_m(p) - at, pin_y_m(p) - touch.y_m) for p in leave}
        assert min(away.values()) == pytest.approx(REACH_M)
        assert away[touch.pin] == min(away.values())


def test_single_pins_are_never_estimates(deck: PinDeck) -> None:
    for response in deck.responses(SINGLE_PINS, HEAVY_KG):
        assert not response.estimate
        assert response.doubt == 0
