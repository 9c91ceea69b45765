"""What decides between lines that make equally often, on lines set against each other by hand."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from cardgen.lane.geometry import FloatArray, IndexArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response, shipped_deck
from cardgen.physics.grid import CELL_M, PLACES_M
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import (
    PLATEAU,
    SIMULATED_PLATEAU,
    Choice,
    Habits,
    Offer,
    Reason,
    Room,
    choose,
    choose_by,
    room_between,
)
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.lines import lines_of

MakeBowler = Callable[..., Bowler]
MakeResponse = Callable[..., Response]
FIVE = Leave.parse("5")
TWO_FIVE = Leave.parse("2-5")


def arrivals_at(
    bowler: Bowler,
    targets: list[float],
    off_centre_m: float | list[float] = 0.0,
    leave: Leave = FIVE,
) -> Arrivals:
    """Return straight lines over ``targets`` that arrive so far right of the lane's middle."""
    stands = np.arange(1, 39.01, 0.01)
    wanted: FloatArray = np.broadcast_to(off_centre_m, len(targets))
    best = []
    for target, x in zip(targets, wanted, strict=True):
        arrive = lines_of(bowler, bowler.balls[0], stands, target).path([leave.front_row_m]).x_m
        best.append(float(stands[np.abs(arrive[:, 0] - x).argmin()]))
    lines = lines_of(bowler, bowler.balls[0], best, targets)
    return Arrivals(lines, bowler.spread, (leave.front_row_m,))


def room_of(arrivals: Arrivals, response: Response, which: IndexArray) -> Room:
    row = arrivals.row(response.leave)
    ends = response.window(arrivals.x_m[which, row], arrivals.angle_rad[which, row])
    return room_between(arrivals, np.full(len(which), row), which, ends)


def offered(arrivals: Arrivals, response: Response) -> Offer:
    """Return the lines as an offer: those come whose mean shot may fell a pin."""
    row, every = arrivals.row(response.leave), np.arange(len(arrivals.lines))
    make = arrivals.conversion(response, every)
    comes = response.at(arrivals.x_m[:, row], arrivals.angle_rad[:, row]) > 0
    uneven = room_of(arrivals, response, every).uneven
    return Offer(arrivals, response, make, len(response.leave) * make, comes, uneven)


def chosen(habits: Habits, *bags: Arrivals) -> Choice:
    answer = shipped_deck().response(FIVE, bags[0].lines.ball.ball.mass_kg)
    choice = choose([offered(arrivals, answer) for arrivals in bags], habits)
    assert choice is not None
    return choice


@pytest.fixture
def bowler(make_bowler: MakeBowler) -> Bowler:
    return make_bowler(rotation_deg=0)


def test_the_spare_ball_comes_first(bowler: Bowler) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [24]), arrivals_at(bowler, [20]))
    assert (choice.best.ball, choice.reason) == (0, Reason.SPARE_BALL)


def test_then_the_favourite_target(bowler: Bowler) -> None:
    choice = chosen(Habits(22), arrivals_at(bowler, [20, 22, 25]))
    assert (choice.best.line, choice.reason) == (1, Reason.FAVOURITE_TARGET)


def test_then_the_middle_of_the_window(bowler: Bowler) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [20, 20], [0.032, 0.02]))
    assert (choice.best.line, choice.reason) == (1, Reason.CENTRED)


def test_then_a_line_already_in_use(bowler: Bowler) -> None:
    lines = arrivals_at(bowler, [20, 22])
    in_use = (float(lines.lines.stand[1]), 22.0)
    choice = chosen(Habits(21).with_line(*in_use), lines)
    assert (choice.best.line, choice.reason) == (1, Reason.REUSED)


def test_then_an_arrow(bowler: Bowler) -> None:
    choice = chosen(Habits(21), arrivals_at(bowler, [22, 20]))
    assert (choice.best.line, choice.reason) == (1, Reason.ARROW)


def test_then_the_chance_itself(bowler: Bowler) -> None:
    lines = arrivals_at(bowler, [22, 22], [0.006, 0.0])
    choice = chosen(Habits(22), lines)
    assert choice.runner_up is not None
    answer = shipped_deck().response(FIVE, bowler.balls[0].ball.mass_kg)
    make = offered(lines, answer).make
    assert make[choice.best.line] > make[choice.runner_up.line]
    assert (choice.best.line, choice.reason) == (1, Reason.CHANCE)


def test_one_line_is_the_only_one_and_none_is_none(bowler: Bowler) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [20]))
    assert (choice.runner_up, choice.reason) == (None, Reason.ONLY)
    missing = arrivals_at(bowler, [20], 0.4)
    answer = shipped_deck().response(FIVE, bowler.balls[0].ball.mass_kg)
    assert choose([offered(missing, answer)], Habits(20)) is None
    assert choose([offered(missing, answer), offered(missing, answer)], Habits(20)) is None


def test_a_line_that_makes_less_by_more_than_a_point_loses_whatever_its_charm(
    bowler: Bowler,
) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [20, 25], [0.06, 0.0]))
    assert choice.best.line == 1


# --- Leaves of several pins, answered by hand


def window(low_m: float, high_m: float, chance: float = 1.0) -> FloatArray:
    """Return the chances (places,) of one window, its ends inside cells covered in part."""
    covered = np.minimum(high_m, PLACES_M + CELL_M / 2) - np.maximum(low_m, PLACES_M - CELL_M / 2)
    return chance * np.clip(covered / CELL_M, 0.0, 1.0)


def best_with(offer: Offer) -> int:
    choice = choose([offer], Habits(20))
    assert choice is not None
    return choice.best.line


def test_of_several_pins_chances_are_told_less_finely(
    bowler: Bowler, make_response: MakeResponse
) -> None:
    answer = make_response(TWO_FIVE, window(-0.1, 0.1))
    lines = arrivals_at(bowler, [20, 25], 0.0, TWO_FIVE)
    offer = offered(lines, answer)
    assert PLATEAU < SIMULATED_PLATEAU < 0.05
    for less, best in ((SIMULATED_PLATEAU - 1e-3, 0), (SIMULATED_PLATEAU + 1e-3, 1)):
        make = np.array([0.6 - less, 0.6])
        assert best_with(replace(offer, make=make)) == best
        single = shipped_deck().response(FIVE, bowler.balls[0].ball.mass_kg)
        alone = replace(offer, arrivals=arrivals_at(bowler, [20, 25]), response=single, make=make)
        assert best_with(alone) == 1


def test_of_poor_chances_too_the_best_is_wanted(
    bowler: Bowler, make_response: MakeResponse
) -> None:
    # A tenth of the best is the most that counts as equal: 1 % is not as good as 2 %.
    answer = make_response(TWO_FIVE, window(-0.1, 0.1))
    lines = arrivals_at(bowler, [20, 25], 0.0, TWO_FIVE)
    offer = offered(lines, answer)
    for worse, best in ((0.0100, 1), (0.0179, 1), (0.0181, 0)):
        make = np.array([worse, 0.02])
        assert best_with(replace(offer, make=make)) == best


def test_a_line_that_comes_to_nothing_is_no_line_however_often_stray_balls_make(
    bowler: Bowler, make_response: MakeResponse
) -> None:
    answer = make_response(TWO_FIVE, window(-0.1, 0.1))
    lines = arrivals_at(bowler, [20, 25], 0.0, TWO_FIVE)
    make, comes = np.array([0.9, 0.2]), np.array([False, True])
    choice = choose([Offer(lines, answer, make, make, comes, np.zeros(2))], Habits(20))
    assert choice is not None
    assert (choice.best.line, choice.reason) == (1, Reason.ONLY)
    nothing = Offer(lines, answer, make, make, np.zeros(2, np.bool_), np.zeros(2))
    assert choose([nothing], Habits(20)) is None


def test_a_mean_shot_between_two_windows_is_not_in_the_middle_of_one(
    bowler: Bowler, make_response: MakeResponse
) -> None:
    # Two windows with a hole between. The first line is sent into the hole, from where shots stray
    # into both windows; the second one into a window, off its middle.
    answer = make_response(TWO_FIVE, window(-0.14, -0.03) + window(0.03, 0.14))
    lines = arrivals_at(bowler, [20, 20], [0.0, 0.06], TWO_FIVE)
    room = room_of(lines, answer, np.arange(2))
    assert room.left[0] == room.right[0] == 0
    assert 0.2 < room.left[1] < room.right[1] - 0.2
    assert room.uneven[0] == np.inf
    assert room.uneven[1] == pytest.approx(room.right[1] - room.left[1])
    offer = offered(lines, answer)
    told = Offer(lines, answer, np.full(2, 0.6), np.full(2, 1.2), np.full(2, True), offer.uneven)
    choice = choose([told], Habits(20))
    assert choice is not None
    assert (choice.best.line, choice.reason) == (1, Reason.CENTRED)


def test_a_choice_may_go_by_anything_else(bowler: Bowler, make_response: MakeResponse) -> None:
    answer = make_response(TWO_FIVE, window(-0.1, 0.1))
    lines = arrivals_at(bowler, [20, 25, 22], 0.0, TWO_FIVE)
    offer = offered(lines, answer)
    points = [np.array([1.0, 1.5, 1.48])]
    for plateau, best in ((0.01, 1), (0.05, 2), (0.6, 0)):
        choice = choose_by(points, [offer], Habits(20), plateau)
        assert choice is not None
        assert choice.best.line == best
        assert (choice.reason is Reason.ONLY) is (plateau == 0.01)
