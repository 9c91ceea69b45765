"""The windows of single pins, with the gutter beside the corner pins."""

import numpy as np
import pytest

from cardgen.lane.geometry import EDGE_M
from cardgen.lane.rack import ALL_LEAVES, SINGLE_PINS, Leave, pin_x_m, pin_y_m
from cardgen.physics.deck import REACH_M, Response, SinglePinDeck, first_touch_y_m

DECK = SinglePinDeck()
ANGLES = np.array([-0.06, -0.02, 0.0, 0.03, 0.06])


def test_it_knows_the_ten_single_pins() -> None:
    assert tuple(leave for leave in ALL_LEAVES if DECK.knows(leave)) == SINGLE_PINS


@pytest.mark.parametrize("leave", SINGLE_PINS, ids=str)
def test_a_window_ends_where_the_ball_passes_at_reach(leave: Leave) -> None:
    edges = DECK.response(leave, ANGLES).edges_m
    offset = (edges - pin_x_m(leave.pins[0])) * np.cos(ANGLES)[:, None]
    # On the lane's side of a corner pin and on both sides of the others.
    inner = {7: [1], 10: [0]}.get(leave.pins[0], [0, 1])
    assert offset[:, inner] == pytest.approx(
        np.tile(np.array([-REACH_M, REACH_M])[inner], (5, 1)), abs=1e-12
    )


@pytest.mark.parametrize(("pin", "side"), [(7, -1), (10, 1)])
def test_beside_a_corner_pin_the_ball_is_on_the_lane_when_it_touches(pin: int, side: int) -> None:
    edges = DECK.response(Leave.of(pin), ANGLES).edges_m
    ends = edges[:, 1 if side > 0 else 0]
    # A ball whose middle is over the edge when it touches is a reach from the pin there.
    aside = EDGE_M - abs(pin_x_m(pin))
    before_row = (REACH_M**2 - aside**2) ** 0.5
    assert ends == pytest.approx(side * EDGE_M - before_row * np.tan(ANGLES))


def test_a_mirrored_pin_has_the_mirrored_window() -> None:
    for leave in SINGLE_PINS:
        window = DECK.response(leave, ANGLES).edges_m
        mirror = DECK.response(leave.mirrored, -ANGLES).edges_m
        assert mirror == pytest.approx(-window[:, ::-1], abs=1e-12)


def test_a_response_is_a_step_function() -> None:
    response = Response(
        np.array([[0.0, 1.0, 2.0], [1.0, 2.0, 3.0]]), np.array([[0.5, 1.0], [0.2, 0.4]])
    )
    places = np.array([[-1, 0, 0.5, 1, 1.5, 2], [0.5, 1, 1.5, 2, 2.5, 3]], dtype=float)
    assert response.at(places).tolist() == [[0, 0.5, 0.5, 1, 1, 0], [0, 0.2, 0.2, 0.4, 0.4, 0]]


def test_a_straight_ball_touches_a_reach_before_the_pin_it_meets_head_on() -> None:
    leave = Leave.parse("1")
    assert first_touch_y_m(leave, 0.0, 0.0) == pytest.approx(leave.front_row_m - REACH_M)
    # A quarter reach from its edge, and past it altogether.
    grazing = leave.front_row_m - REACH_M * (1 - 0.75**2) ** 0.5
    assert first_touch_y_m(leave, 0.75 * REACH_M, 0.0) == pytest.approx(grazing)
    assert first_touch_y_m(leave, 1.1 * REACH_M, 0.0) is None


@pytest.mark.parametrize("angle", [-0.05, 0.0, 0.08])
def test_at_its_first_touch_a_ball_is_a_reach_from_the_nearest_pin(angle: float) -> None:
    leave = Leave.parse("3-6-10")
    for x in np.linspace(0.05, 0.5, 10):
        y = first_touch_y_m(leave, float(x), angle)
        assert y is not None
        at = x - np.tan(angle) * (y - leave.front_row_m)
        away = [np.hypot(pin_x_m(p) - at, pin_y_m(p) - y) for p in leave]
        assert min(away) == pytest.approx(REACH_M)
