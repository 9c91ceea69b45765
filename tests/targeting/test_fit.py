"""Stand habits fitted to known lines."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.delivery.stance import StandHabits
from cardgen.lane.geometry import BOARD_M, Hand
from cardgen.lane.rack import Leave, mirrored_pin, pin_x_m
from cardgen.physics.deck import PinDeck, Response, shipped_deck
from cardgen.physics.grid import PLACES_M
from cardgen.profile.bowler import Bowler
from cardgen.profile.fitted import REACH
from cardgen.targeting.chart import chart_for
from cardgen.targeting.fit import believing, fit_bowler
from cardgen.targeting.lines import lines_of
from cardgen.units import FOOT_M

MakeBowler = Callable[..., Bowler]
DECK = shipped_deck()


def fitted_habits(bowler: Bowler) -> StandHabits:
    return believing(bowler, fit_bowler(bowler, DECK)).habits


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
    fit = fit_bowler(bowler, DECK)
    assert believing(bowler, fit).habits == bowler.habits
    assert (fit.lines_used, fit.spread) == (0, bowler.spread)


def test_lines_for_leaves_hardly_anybody_makes_are_left_out_but_believed(
    make_bowler: MakeBowler,
) -> None:
    # Common practice, no source: the 7-10 is hardly ever made, so no place tells where a line for
    # it ought to arrive.
    assert DECK.response(Leave.parse("7-10"), 6.35).smooth.max() < 0.5
    bowler = make_bowler(unsure=True, known=[("7-10", 24, 15)])
    fit = fit_bowler(bowler, DECK)
    assert (fitted_habits(bowler), fit.lines_used) == (bowler.habits, 0)
    assert fit.believed == bowler.known_lines
    both = make_bowler(unsure=True, known=[("7-10", 24, 15), ("10", 35, 20)])
    assert fit_bowler(both, DECK).lines_used == 1
    assert fit_bowler(both, DECK).believed == both.known_lines
    alone = make_bowler(unsure=True, known=[("10", 35, 20)])
    assert fitted_habits(both) == fitted_habits(alone)


def test_a_line_for_two_pins_that_are_made_speaks_for_the_habits_too(
    make_bowler: MakeBowler,
) -> None:
    # The 6-10 is made by hitting the 6 pin nearly anywhere: its line tells about as much as one
    # for the 6 pin, which is about where the truth was when it was found.
    truth = make_bowler(gap_boards=7)
    stands = np.arange(1, 39.5, 0.5)
    pins = Leave.parse("6-10")
    x = lines_of(truth, truth.balls[0], stands, 20).path([pins.front_row_m]).x_m[:, 0]
    stand = float(stands[np.abs(x - pin_x_m(6)).argmin()])
    bowler = make_bowler(unsure=True, known=[("6-10", stand, 20)])
    assert fit_bowler(bowler, DECK).lines_used == 1
    assert bowler.habits.gap_m < fitted_habits(bowler).gap_m < truth.habits.gap_m


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize(("gap", "feet"), [(4.0, 12.5), (3.5, 13.0), (6.0, 13.0), (6.5, 13.5)])
def test_a_fit_comes_nearer_to_the_habits_that_made_the_lines(
    make_bowler: MakeBowler, hand: Hand, gap: float, feet: float
) -> None:
    truth = make_bowler(gap_boards=gap, distance_ft=feet, walk=0.9)
    known = lines_at_pins(truth, hand)
    bowler = make_bowler(
        unsure=True, hand=hand, gap_boards=5, distance_ft=13, walk=0.9, known=known
    )
    fit = fit_bowler(bowler, DECK)
    assert fit.lines_used == 6
    # Gap and drift carry the ball the same way: only their sum shows.
    habits = fitted_habits(bowler)
    assert abs((habits.gap_m + habits.drift_m) / BOARD_M - gap) < 0.7 * abs(5 - gap)
    # What the fit is for: the lines arrive where the bowler knows that they do.
    assert miss_boards(believing(bowler, fit)) < 0.75 * miss_boards(bowler)


def miss_boards(moved: Bowler) -> float:
    """Return how far the known lines arrive from their pins' middles (root mean square)."""
    bowler, misses = moved, []
    for line in bowler.known_lines:
        leave = bowler.inside(line.leave)
        thrown = lines_of(moved, bowler.balls[0], line.stand, line.target)
        misses.append(thrown.path([leave.front_row_m]).x_m[0, 0] - pin_x_m(leave.pins[0]))
    return float(np.sqrt(np.mean(np.square(misses)))) / BOARD_M


def test_a_measured_gap_moves_less_than_a_default_one(make_bowler: MakeBowler) -> None:
    known = lines_at_pins(make_bowler(gap_boards=8))
    gaps = [
        fitted_habits(make_bowler(unsure=True, known=known, habits_given=given)).gap_m / BOARD_M
        for given in (False, True)
    ]
    assert 5 < gaps[1] < gaps[0] < 8.3


def test_a_fit_keeps_to_what_a_body_can_do(make_bowler: MakeBowler) -> None:
    far = lines_at_pins(make_bowler(gap_boards=11, distance_ft=15.9))
    bowler = make_bowler(unsure=True, known=far, drift_boards=2)
    assert fit_bowler(bowler, DECK).lines_used == len(far)
    habits = fitted_habits(bowler)
    for value, (least, most) in zip(
        (habits.gap_m, habits.distance_m, habits.walk, habits.drift_m), REACH, strict=False
    ):
        assert least - 1e-9 <= value <= most + 1e-9
    assert habits.drift_m > 2 * BOARD_M  # it carries the ball the same way
    assert REACH[1][0] == pytest.approx(6 * FOOT_M)


def test_a_slip_of_the_pen_does_not_bend_the_chart(make_bowler: MakeBowler) -> None:
    good = lines_at_pins(make_bowler(gap_boards=6))
    wild = [("4", 1.0, 39.0), ("6", 3.0, 33.0)]
    alone, with_slips = (
        fit_bowler(make_bowler(unsure=True, known=known), DECK) for known in (good, [*good, *wild])
    )
    assert alone.lines_used == with_slips.lines_used == len(good)
    assert {(str(line.leave), line.stand, line.target) for line in with_slips.believed} == {*good}
    assert np.array_equal(with_slips.belief.mean, alone.belief.mean)


class _Answering(PinDeck):
    """Knows the answer of one leave."""

    def __init__(self, response: Response) -> None:
        super().__init__(shipped_deck().atlas)
        self._response = response

    def response(self, leave: Leave, mass_kg: float) -> Response:
        assert leave == self._response.leave
        assert mass_kg > 0
        return self._response


@pytest.mark.parametrize("aimed_m", [0.05, 0.25])
def test_a_leave_may_be_made_from_either_side(
    make_bowler: MakeBowler,
    make_response: Callable[..., Response],
    stand_for: Callable[..., float],
    aimed_m: float,
) -> None:
    # Two windows, one a little better; a bowler who plays the other one is no worse a witness.
    pins = Leave.parse("3-10")
    windows = [np.abs(PLACES_M - x) < 0.05 for x in (0.05, 0.25)]
    deck = _Answering(make_response(pins, np.where(windows[0], 1.0, np.where(windows[1], 0.9, 0))))
    plain = make_bowler()
    stand = stand_for(plain, 20, pins.front_row_m, aimed_m)
    bowler = make_bowler(unsure=True, known=[("3-10", stand, 20)])
    fit = fit_bowler(bowler, deck)
    assert fit.lines_used == 1
    assert believing(bowler, fit).habits.gap_m / BOARD_M == pytest.approx(5, abs=0.1)
    # A line found by one whose gap is a board wider speaks for that, whichever window it is.
    wider = make_bowler(gap_boards=6)
    stand = stand_for(wider, 20, pins.front_row_m, aimed_m)
    told = make_bowler(unsure=True, known=[("3-10", stand, 20)])
    assert 5.1 < believing(told, fit_bowler(told, deck)).habits.gap_m / BOARD_M < 6.1


@pytest.mark.parametrize("leave", ["1-3-6", "3-6-10", "3-10", "6-10", "1-3-10"])
def test_the_charts_own_lines_are_believed(make_bowler: MakeBowler, leave: str) -> None:
    (line,) = chart_for(make_bowler(), [Leave.parse(leave)]).lines
    known = [(leave, line.stand, line.target)]
    bowler = make_bowler(unsure=True, known=known, known_ball=line.ball)
    fit = fit_bowler(bowler, DECK)
    assert fit.believed == bowler.known_lines
    assert fitted_habits(bowler).gap_m / BOARD_M == pytest.approx(5, abs=1)
