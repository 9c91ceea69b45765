"""What is told of a well thrown ball: how it meets the first pin, what fells the rest, the aim."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.lane.geometry import BOARD_M, Hand
from cardgen.lane.rack import PIN_NUMBERS, ROW_M, SINGLE_PINS, Leave, mirrored_pin, pin_x_m
from cardgen.physics.deck import REACH_M, Response, Touch, first_touch
from cardgen.physics.grid import ANGLES, ANGLES_RAD, CELL_M, PLACES, PLACES_M
from cardgen.targeting.action import action_of, imagined_pin
from cardgen.targeting.line import Hit, How

MakeResponse = Callable[..., Response]
TWO_TEN = Leave.parse("2-10")


# --- The hit


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize(
    ("share", "hit"),
    [
        (0.01, Hit.FULL),
        (0.249, Hit.FULL),
        (0.251, Hit.HALF),
        (0.599, Hit.HALF),
        (0.601, Hit.THIN),
        (0.999, Hit.THIN),
    ],
)
def test_a_hit_is_told_by_how_far_the_ball_passes_from_the_middle(
    make_response: MakeResponse, share: float, hit: Hit, side: int
) -> None:
    touch = Touch(2, 18.4, side * share * REACH_M)
    right, left = (
        action_of(touch, make_response(TWO_TEN, 1), 0.0, 0.0, hand)
        for hand in (Hand.RIGHT, Hand.LEFT)
    )
    assert (right.first, right.hit, right.side) == (2, hit, side)
    # What a right-hander sees on the right of the 2 pin, a left-hander sees on the left of the 3.
    assert (left.first, left.hit, left.side) == (3, hit, -side)


@pytest.mark.parametrize(("off_boards", "side"), [(2, 1), (-2, -1)])
def test_a_ball_right_of_the_pin_hits_it_on_the_right(
    make_response: MakeResponse, off_boards: float, side: int
) -> None:
    x = pin_x_m(2) + off_boards * BOARD_M
    touch = first_touch(TWO_TEN, x, 0.0)
    assert touch is not None
    action = action_of(touch, make_response(TWO_TEN, 1), x, 0.0, Hand.RIGHT)
    assert (action.first, action.side, action.hit) == (2, side, Hit.HALF)


def test_the_other_pins_are_told_with_what_brings_them_down(make_response: MakeResponse) -> None:
    leave = Leave.parse("1-2-4-6-10")
    touched = np.zeros((ANGLES, PLACES, 10))
    place, angle = 40, 4
    # Of the 6 pin it is not told; the 1 pin is the one that the ball meets first.
    touched[angle, place, [0, 1, 3, 9]] = [1, 1, 2, 3]
    touched[angle, place + 1, :] = 1
    touched[angle - 1, place, :] = 1
    response = make_response(leave, 1, touched=touched)
    x, rolls = float(PLACES_M[place] + 0.4 * CELL_M), float(ANGLES_RAD[angle]) - 0.01
    touch = Touch(1, 18.1, -0.1)
    right = action_of(touch, response, x, rolls, Hand.RIGHT)
    assert right.others == ((2, How.BALL), (4, How.PIN), (10, How.REBOUND))
    left = action_of(touch, response, x, rolls, Hand.LEFT)
    assert left.others == ((3, How.BALL), (6, How.PIN), (7, How.REBOUND))


def test_a_single_pin_has_no_others(make_response: MakeResponse) -> None:
    response = make_response(Leave.of(5), 1, touched=1)
    assert action_of(Touch(5, 18.7, 0.0), response, 0.0, 0.0, Hand.RIGHT).others == ()


# --- The spot to roll over


@pytest.mark.parametrize("leave", SINGLE_PINS, ids=str)
def test_a_single_pin_marks_its_own_aim(leave: Leave) -> None:
    for x in np.linspace(-0.5, 0.5, 21):
        for hand in Hand:
            assert imagined_pin(leave, float(x), 0.02, hand) is None


@pytest.mark.parametrize("side", [-1, 1])
def test_a_standing_pin_within_half_a_board_marks_the_way(side: int) -> None:
    # The 9 pin stands; the 3's spot is in front of it.
    for boards, spot in ((0.0, None), (0.49, None), (0.51, 3)):
        x = pin_x_m(9) + side * boards * BOARD_M
        assert imagined_pin(Leave.parse("7-9"), x, 0.0, Hand.RIGHT) == spot


def test_a_standing_pin_behind_marks_the_way_where_the_ball_would_come_there() -> None:
    x = pin_x_m(3)
    assert imagined_pin(Leave.parse("1-9"), x, 0.0, Hand.RIGHT) is None
    assert imagined_pin(Leave.parse("1-10"), x, 0.0, Hand.RIGHT) == 3
    # Turned so that the ball is 0.7 boards from the 9's spot, three rows on, and over the 3's.
    turned = 0.7 * BOARD_M / (2 * ROW_M)
    assert imagined_pin(Leave.parse("1-9"), x + turned * ROW_M, turned, Hand.RIGHT) == 3


@pytest.mark.parametrize("side", [-1, 1])
def test_a_spot_more_than_a_board_away_helps_nobody(side: int) -> None:
    # The ball comes straight at the 6 pin's row, in which the 4's spot is.
    for boards, spot in ((0.99, 4), (1.01, None)):
        x = pin_x_m(4) + side * boards * BOARD_M
        assert imagined_pin(Leave.parse("7-8"), x, 0.0, Hand.RIGHT) == spot


def test_a_spot_straight_behind_a_standing_pin_is_out_of_sight() -> None:
    x = pin_x_m(2) + 0.7 * BOARD_M
    assert imagined_pin(TWO_TEN, x, 0.0, Hand.RIGHT) is None  # the 8's, behind the 2 pin
    assert imagined_pin(Leave.parse("1-10"), x, 0.0, Hand.RIGHT) == 2


@pytest.mark.parametrize("angle_rad", [-0.03, 0.0, 0.02])
def test_the_spot_is_the_one_the_ball_would_roll_over(angle_rad: float) -> None:
    # A ball that moves to the left (a positive angle) is still right of the 4's spot a row before.
    x = pin_x_m(4) + ROW_M * np.tan(angle_rad)
    assert imagined_pin(TWO_TEN, float(x), angle_rad, Hand.RIGHT) == 4
    assert imagined_pin(TWO_TEN, float(x), angle_rad, Hand.LEFT) == 6


def test_pins_that_stand_are_not_imagined() -> None:
    for leave in (TWO_TEN, Leave.parse("1-2-10"), Leave.parse("5-7"), Leave.parse("1-3-6-8-10")):
        for x in np.linspace(-0.45, 0.45, 46):
            for hand in Hand:
                pin = imagined_pin(leave, float(x), 0.02, hand)
                seen = leave if hand is Hand.RIGHT else leave.mirrored
                assert pin is None or pin not in seen


def test_a_full_rack_has_no_spot_to_imagine() -> None:
    for x in np.linspace(-0.45, 0.45, 46):
        assert imagined_pin(Leave(PIN_NUMBERS), float(x), 0.05, Hand.RIGHT) is None


def test_left_handers_imagine_the_mirrored_pin() -> None:
    seen = set()
    for x in np.linspace(-0.45, 0.45, 91):
        right = imagined_pin(TWO_TEN, float(x), 0.02, Hand.RIGHT)
        left = imagined_pin(TWO_TEN, float(x), 0.02, Hand.LEFT)
        assert (right and mirrored_pin(right)) == left
        seen.add(left)
    # The ball touches the 2 pin up to 12.7 in left of the middle; thin, it goes on to the 4's.
    assert {None, 6} <= seen
