"""Stand habits fitted to known lines."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.delivery.stance import StandHabits
from cardgen.lane.geometry import BOARD_M, Hand
from cardgen.lane.rack import Leave, mirrored_pin, pin_x_m
from cardgen.physics.deck import SinglePinDeck
from cardgen.profile.bowler import Bowler
from cardgen.targeting.fit import DISTANCE_RANGE_M, GAP_RANGE_M, fit_habits
from cardgen.targeting.lines import lines_of
from cardgen.units import FOOT_M

MakeBowler = Callable[..., Bowler]
DECK = SinglePinDeck()


def lines_at_pins(bowler: Bowler, hand: Hand = Hand.RIGHT) -> list[tuple[str, float, float]]:
    """Return, for several pins and targets, the half-board stand that sends it at the pin."""
    known = []
    stands = np.arange(1, 39.5, 0.5)
    for pin, target in ((4, 12), (1, 17), (2, 25), (3, 10), (6, 24), (5, 20)):
        lines = lines_of(bowler, bowler.balls[0], stands, target)
        x = lines.path([Leave.of(pin).front_row_m]).x_m[:, 0]
        named = pin if hand is Hand.RIGHT else mirrored_pin(pin)
        known.append((str(named), float(stands[np.abs(x - pin_x_m(pin)).argmin()]), float(target)))
    return known


def test_without_known_lines_the_habits_are_the_profiles(make_bowler: MakeBowler) -> None:
    bowler = make_bowler(drift_boards=1)
    fit = fit_habits(bowler, DECK)
    assert fit.habits == bowler.habits
    assert fit.lines_used == 0


def test_lines_for_leaves_the_deck_does_not_know_are_left_out(make_bowler: MakeBowler) -> None:
    bowler = make_bowler(known=[("3-10", 24, 15)])
    fit = fit_habits(bowler, DECK)
    assert (fit.habits, fit.lines_used) == (bowler.habits, 0)
    assert fit_habits(make_bowler(known=[("3-10", 24, 15), ("10", 35, 20)]), DECK).lines_used == 1


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize(("gap", "feet"), [(4.0, 12.5), (3.5, 13.0), (6.0, 13.0), (6.5, 13.5)])
def test_a_fit_comes_nearer_to_the_habits_that_made_the_lines(
    make_bowler: MakeBowler, hand: Hand, gap: float, feet: float
) -> None:
    truth = make_bowler(gap_boards=gap, distance_ft=feet, walk=0.9)
    known = lines_at_pins(truth, hand)
    bowler = make_bowler(hand=hand, gap_boards=5, distance_ft=13, walk=0.9, known=known)
    fit = fit_habits(bowler, DECK)
    assert fit.lines_used == 6
    assert fit.habits.gap_m / BOARD_M == pytest.approx(gap, abs=0.6)
    # What the fit is for: the lines arrive where the bowler knows that they do.
    assert miss_boards(bowler, fit.habits) < 0.75 * miss_boards(bowler, bowler.habits)


def miss_boards(bowler: Bowler, habits: StandHabits) -> float:
    """Return how far the known lines arrive from their pins' middles (root mean square)."""
    moved, misses = bowler.with_habits(habits), []
    for line in bowler.known_lines:
        leave = bowler.inside(line.leave)
        thrown = lines_of(moved, bowler.balls[0], line.stand, line.target)
        misses.append(thrown.path([leave.front_row_m]).x_m[0, 0] - pin_x_m(leave.pins[0]))
    return float(np.sqrt(np.mean(np.square(misses)))) / BOARD_M


def test_a_measured_gap_moves_less_than_a_default_one(make_bowler: MakeBowler) -> None:
    known = lines_at_pins(make_bowler(gap_boards=8))
    gaps = [
        fit_habits(make_bowler(known=known, habits_given=given), DECK).habits.gap_m / BOARD_M
        for given in (False, True)
    ]
    assert 5 < gaps[1] < gaps[0] < 8.3


def test_a_fit_keeps_to_what_a_body_can_do(make_bowler: MakeBowler) -> None:
    far = lines_at_pins(make_bowler(gap_boards=11, distance_ft=15.9))
    fit = fit_habits(make_bowler(known=far, drift_boards=2), DECK)
    assert fit.lines_used == len(far)
    habits = fit.habits
    assert GAP_RANGE_M[0] <= habits.gap_m <= GAP_RANGE_M[1]
    assert DISTANCE_RANGE_M[0] <= habits.distance_m <= DISTANCE_RANGE_M[1]
    assert 0 <= habits.walk <= 1
    assert habits.drift_m == pytest.approx(2 * BOARD_M)
    assert DISTANCE_RANGE_M[0] == pytest.approx(6 * FOOT_M)


def test_a_slip_of_the_pen_does_not_bend_the_chart(make_bowler: MakeBowler) -> None:
    good = lines_at_pins(make_bowler(gap_boards=6))
    wild = [("4", 1.0, 39.0), ("6", 3.0, 33.0)]
    alone, with_slips = (
        fit_habits(make_bowler(known=known), DECK) for known in (good, [*good, *wild])
    )
    assert alone.lines_used == with_slips.lines_used == len(good)
    assert with_slips.habits == alone.habits
