"""What decides between lines that make equally often, on lines set against each other by hand."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import SinglePinDeck
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import Choice, Habits, Reason, choose
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.lines import lines_of

MakeBowler = Callable[..., Bowler]
FIVE = Leave.parse("5")


def arrivals_at(
    bowler: Bowler, targets: list[float], off_centre_m: float | list[float] = 0.0
) -> Arrivals:
    """Return straight lines over ``targets`` that arrive so far right of the 5 pin's middle."""
    stands = np.arange(1, 39.01, 0.01)
    wanted: FloatArray = np.broadcast_to(off_centre_m, len(targets))
    best = []
    for target, x in zip(targets, wanted, strict=True):
        arrive = lines_of(bowler, bowler.balls[0], stands, target).path([FIVE.front_row_m]).x_m
        best.append(float(stands[np.abs(arrive[:, 0] - x).argmin()]))
    lines = lines_of(bowler, bowler.balls[0], best, targets)
    return Arrivals(lines, bowler.spread, (FIVE.front_row_m,))


def chosen(habits: Habits, *bags: Arrivals) -> Choice:
    choice = choose(list(bags), FIVE, SinglePinDeck(), habits)
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
    choice = chosen(Habits(22), arrivals_at(bowler, [22, 22], [0.006, 0.0]))
    assert choice.runner_up is not None
    assert choice.best.make > choice.runner_up.make
    assert (choice.best.line, choice.reason) == (1, Reason.CHANCE)


def test_one_line_is_the_only_one_and_none_is_none(bowler: Bowler) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [20]))
    assert (choice.runner_up, choice.reason) == (None, Reason.ONLY)
    missing = arrivals_at(bowler, [20], 0.4)
    assert choose([missing], FIVE, SinglePinDeck(), Habits(20)) is None


def test_a_line_that_makes_less_by_more_than_a_point_loses_whatever_its_charm(
    bowler: Bowler,
) -> None:
    choice = chosen(Habits(20), arrivals_at(bowler, [20, 25], [0.06, 0.0]))
    assert choice.best.line == 1
