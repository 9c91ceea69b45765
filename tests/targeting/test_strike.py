"""The strike line, its moves, and spares from its target: what they say against balls thrown."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from cardgen.delivery.release import Release
from cardgen.lane.condition import OiledLane
from cardgen.lane.geometry import HEAD_PIN_M, Hand, x_board
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave, mirrored_pin
from cardgen.physics.deck import shipped_deck
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import Bowler, KnownLine
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import chart_for
from cardgen.targeting.feetmoves import COLUMNS
from cardgen.targeting.line import Line
from cardgen.targeting.lines import lines_of
from cardgen.targeting.moves import Fault, Step, moves_of, shifts_of
from cardgen.targeting.strike import Strike, strike_of

MakeBowler = Callable[..., Bowler]
HOUSE = oiled_lane(LaneSpec())
STAY = Step(0, 0)
BOARDS_OFF = {Fault.LIGHT: -2.0, Fault.HIGH: 1.5, Fault.NOSE: 2.5}


def strike_line(bowler: Bowler) -> Line:
    (line,) = chart_for(bowler, [FULL_RACK]).lines
    return line


def told(bowler: Bowler) -> Strike:
    chart = chart_for(bowler, [FULL_RACK])
    return strike_of(chart, chart.lines[0])


def arrival(bowler: Bowler, line: Line, step: Step = STAY) -> float:
    thrown = lines_of(
        bowler, bowler.ball(line.ball), line.stand + step.feet, line.target + step.target
    )
    return float(x_board(thrown.path([HEAD_PIN_M]).x_m[0, 0]))


@pytest.fixture(scope="module", params=list(Hand))
def bowler(request: pytest.FixtureRequest, make_bowler: MakeBowler) -> Bowler:
    hand: Hand = request.param
    return make_bowler(hand=hand, lane=HOUSE, spread="strong")


@pytest.fixture(scope="module")
def strike(bowler: Bowler) -> Strike:
    return told(bowler)


def test_the_full_rack_is_the_strike_line(bowler: Bowler) -> None:
    chart = chart_for(bowler, [FULL_RACK, Leave.of(10)])
    line = chart.lines[0]
    assert chart.first_ball is not None
    assert (line.stand, line.target) == (chart.first_ball.stand, chart.first_ball.target)
    assert line.reason is Reason.STRIKE
    assert line.ball == "strike"
    assert line.odds.make == pytest.approx(chart.first_ball.strikes, abs=1e-5)
    # The pocket, within half a board (the governing body's published optimum).
    assert line.arrive == pytest.approx(17.5, abs=0.5)


def test_a_strike_line_of_the_bowlers_own_is_kept(make_bowler: MakeBowler) -> None:
    known = (KnownLine(FULL_RACK, 27.0, 11.0, "strike"),)
    bowler = replace(make_bowler(lane=HOUSE), known_lines=known)
    chart = chart_for(bowler, [FULL_RACK])
    assert chart.first_ball is not None
    assert (chart.first_ball.stand, chart.first_ball.target) == (27.0, 11.0)
    assert (chart.lines[0].stand, chart.lines[0].reason) == (27.0, Reason.OWN)


def test_crossing_shots_are_counted_as_they_are_thrown(
    bowler: Bowler, strike: Strike, drawn_releases: Callable[..., Release]
) -> None:
    ball = bowler.ball("strike")
    thrown = lines_of(bowler, ball, strike.line.stand, strike.line.target)
    release = drawn_releases(thrown, bowler.spread, 100_000, 3)
    x = ball_path(ball.ball, release, ball.friction, [HEAD_PIN_M]).x_m[:, 0]
    assert strike.crossed == pytest.approx((x < 0).mean(), abs=0.05)
    assert 0 < strike.crossed_strikes < 1


def lane_of(bowler: Bowler, line: Line, fault: Fault) -> OiledLane:
    """Return the lane whose grip explains a fault, found by a solver."""

    def off(grip: float) -> float:
        changed = bowler.on(bowler.lane.changed(friction=grip))
        return arrival(changed, line) - line.arrive - BOARDS_OFF[fault]

    return bowler.lane.changed(friction=float(brentq(off, -0.6, 0.6)))


def test_every_fault_has_its_move(strike: Strike) -> None:
    assert [move.fault for move in strike.moves] == list(Fault)


@pytest.mark.parametrize("fault", BOARDS_OFF)
def test_a_move_brings_the_ball_back_as_far_as_it_says(
    bowler: Bowler, strike: Strike, fault: Fault
) -> None:
    (move,) = (move for move in strike.moves if move.fault is fault)
    changed = bowler.on(lane_of(bowler, strike.line, fault))
    where = strike.line.arrive
    assert arrival(changed, strike.line, move.step) - where == pytest.approx(
        move.off_boards, abs=0.25
    )
    assert arrival(changed, strike.line, move.rule) - where == pytest.approx(
        move.rule_off_boards, abs=0.25
    )
    assert abs(move.off_boards) < abs(BOARDS_OFF[fault])
    assert abs(move.off_boards) <= max(abs(move.rule_off_boards), 0.75)


def test_no_smaller_move_would_do(bowler: Bowler, strike: Strike) -> None:
    for move in strike.moves:
        if move.fault is Fault.LATER or move.step == STAY:
            continue
        changed = bowler.on(lane_of(bowler, strike.line, move.fault))
        stays = arrival(changed, strike.line) - strike.line.arrive
        assert abs(stays) > 0.75
        if abs(move.off_boards) <= 0.75 and abs(move.step.feet) + abs(move.step.target) > 1:
            sign = np.sign(move.step.feet)
            one = arrival(changed, strike.line, Step(sign, 0)) - strike.line.arrive
            assert abs(one) > 0.7


def test_shifts_are_what_steps_do(bowler: Bowler, strike: Strike) -> None:
    for shift in strike.shifts:
        back = Step(-shift.step.feet, -shift.step.target)
        by = arrival(bowler, strike.line, shift.step) - arrival(bowler, strike.line, back)
        assert shift.boards == pytest.approx(by / 2, abs=1e-9)
    feet_only = strike.shifts[0]
    assert feet_only.step == Step(1, 0)
    assert feet_only.boards < 0  # feet one way with the target kept: the ball goes the other


def test_a_left_hander_moves_as_the_mirror_image(make_bowler: MakeBowler) -> None:
    # On a lane that nobody has played since it was oiled: right-handers wear one side.
    fresh = replace(HOUSE, games=0.0, doubt=replace(HOUSE.doubt, games=0.0))
    right, left = (told(make_bowler(hand=hand, lane=fresh)) for hand in (Hand.RIGHT, Hand.LEFT))
    away = [[move for move in s.moves if move.fault is not Fault.LATER] for s in (right, left)]
    assert away[0] == away[1]
    assert right.shifts == left.shifts
    assert [(m.feet, m.make, m.habits) for m in right.feet] == [
        (m.feet, m.make, m.habits) for m in left.feet
    ]
    assert [mirrored_pin(m.pin) for m in right.feet] == [m.pin for m in left.feet]


def test_moves_keep_to_the_bowlers_boards(make_bowler: MakeBowler) -> None:
    wide = make_bowler(lane=HOUSE)
    stand = int(strike_line(wide).stand)
    narrow = make_bowler(lane=HOUSE, stand_boards=(stand, stand + 1))
    line = strike_line(narrow)
    thrown = lines_of(narrow, narrow.ball("strike"), line.stand, line.target)
    for move in moves_of(narrow, thrown):
        assert stand <= line.stand + move.step.feet <= stand + 1


def test_a_ball_that_friction_hardly_turns_has_no_faults_to_explain(
    make_bowler: MakeBowler,
) -> None:
    bowler = make_bowler(rotation_deg=0, lane=HOUSE)
    straight = lines_of(bowler, bowler.ball("spare"), 27.0, 20.0)
    assert [move.fault for move in moves_of(bowler, straight)] == [Fault.LATER]
    assert shifts_of(bowler, straight)[1].boards == pytest.approx(1.0, abs=0.05)


def test_moves_of_the_feet_are_as_good_as_any(bowler: Bowler, strike: Strike) -> None:
    assert [bowler.inside(Leave.of(move.pin)).pins[0] for move in strike.feet] == list(COLUMNS)
    ball = bowler.ball("strike")
    deck = shipped_deck()
    assert sum(move.feet is not None for move in strike.feet) >= 5
    for move in strike.feet:
        if move.feet is None:
            assert move.make < 0.1
            continue
        assert all(habit.make is None or habit.make <= move.make + 0.01 for habit in move.habits)
        # Away from the side on which the pin stands.
        assert np.sign(move.feet) == -np.sign(COLUMNS[bowler.inside(Leave.of(move.pin)).pins[0]])
        leave = bowler.inside(Leave.of(move.pin))
        thrown = lines_of(bowler, ball, strike.line.stand + move.feet, strike.line.target)
        path = thrown.path([leave.front_row_m])
        chance = deck.response(leave, ball.ball.mass_kg).at(path.x_m[:, 0], path.angle_rad[:, 0])
        assert chance[0] >= 0.5


def test_habits_are_warned_of_where_they_cost_a_tenth(strike: Strike) -> None:
    habits = [(move, habit) for move in strike.feet for habit in move.habits]
    for move, habit in habits:
        assert habit.misses is (habit.make is None or habit.make < move.make - 0.1)
    # Three boards a column for the pin next to the head pin, two boards for the same.
    first = strike.feet[0]
    assert [habit.feet for habit in first.habits] == [-3, -2]


def test_a_pin_that_no_stand_reaches_has_no_move(make_bowler: MakeBowler) -> None:
    bowler = make_bowler(lane=HOUSE)
    stand = int(strike_line(bowler).stand)
    fixed = make_bowler(lane=HOUSE, stand_boards=(stand, stand + 1))
    corner = {move.pin: move for move in told(fixed).feet}
    assert corner[7].feet is None
    assert corner[10].feet is None
    assert all(habit.make is None and habit.misses for habit in corner[7].habits)


def test_single_pins_are_never_the_strike_line(make_bowler: MakeBowler) -> None:
    chart = chart_for(make_bowler(lane=HOUSE), SINGLE_PINS)
    assert all(line.reason is not Reason.STRIKE for line in chart.lines)
