"""What to go for, on answers made up by hand; and the sums behind it, against thrown balls."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from cardgen.delivery.release import Release
from cardgen.delivery.spread import Spread
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray
from cardgen.lane.rack import Leave, pin_x_m
from cardgen.physics.deck import REACH_M, Response, shipped_deck
from cardgen.physics.grid import ANGLES, ANGLES_RAD, CELL_M, PLACE_EDGES_M, PLACES, PLACES_M
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.aim import Habits, Reason
from cardgen.targeting.conversion import WATCHED_M, Arrivals, expected
from cardgen.targeting.line import Play
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.targeting.planning import Plan, Planner

MakeBowler = Callable[..., Bowler]
MakeResponse = Callable[..., Response]
StandFor = Callable[..., float]
FOUR_SIX = Leave.parse("4-6")
AT_FOUR, AT_SIX = pin_x_m(4), pin_x_m(6)
STEADY = Spread.of(0.05, 0, 0, 0)  # within half an inch at the pins: what counts is where it goes
BONUS_PINS = 8.0


@pytest.fixture
def steady(make_bowler: MakeBowler) -> Bowler:
    return make_bowler(rotation_deg=0, spread=STEADY)


def stretches(at_four: float, at_six: float, elsewhere: float = 0.0) -> FloatArray:
    """Return values (places,): about the 4 pin's middle, about the 6 pin's, and elsewhere."""
    near = REACH_M - CELL_M
    return np.where(
        np.abs(PLACES_M - AT_FOUR) < near,
        at_four,
        np.where(np.abs(PLACES_M - AT_SIX) < near, at_six, elsewhere),
    )


@pytest.fixture
def sent(steady: Bowler, stand_for: StandFor) -> Callable[..., Arrivals]:
    def send(
        places_m: Sequence[float], targets: Sequence[float], leave: Leave = FOUR_SIX, ball: int = 0
    ) -> Arrivals:
        row = leave.front_row_m
        stands = [stand_for(steady, t, row, x) for t, x in zip(targets, places_m, strict=True)]
        # A straight ball by the other one's name goes straight too.
        choice = replace(steady.balls[0], name=steady.balls[ball].name)
        lines = lines_of(steady, choice, stands, targets)
        return Arrivals(lines, steady.spread, (row,))

    return send


def plan_of(
    bags: Sequence[Arrivals], response: Response, bonus_pins: float = BONUS_PINS
) -> Plan | None:
    planner = Planner(bags, [{response.leave: response}] * len(bags), bonus_pins)
    return planner.plans([response.leave], Habits(20)).get(response.leave)


# --- All the pins, or the sure ones: one line at each pin, and what going for both brings


@pytest.mark.parametrize(
    ("make", "both_count", "bonus", "play", "other"),
    [
        # Both fall with .3: 3.0 points for the spare against 1.0 for the sure pin.
        (0.3, 0.6, BONUS_PINS, Play.ALL, None),
        # .02: 0.66 points against 1.0; the other line is then the one for the spare.
        (0.02, 0.5, BONUS_PINS, Play.COUNT, AT_SIX),
        # .052: 0.95 points against 1.04 (no chance counts as nought); more pins for sure are worth
        # a word.
        (0.052, 0.53, BONUS_PINS, Play.ALL, AT_FOUR),
        # 0.96 against 1.04, a gain of less than a tenth, and of less than a fifth of a pin.
        (0.01, 0.88, BONUS_PINS, Play.ALL, None),
        # The next ball decides: it brings nothing, and the sure pin is the better one.
        (0.3, 0.6, 0.0, Play.COUNT, AT_SIX),
    ],
)
def test_the_count_is_taken_where_it_brings_more_points(
    sent: Callable[..., Arrivals],
    make_response: MakeResponse,
    make: float,
    both_count: float,
    bonus: float,
    play: Play,
    other: float | None,
) -> None:
    response = make_response(FOUR_SIX, stretches(0, make), stretches(1, both_count))
    arrivals = sent([AT_FOUR, AT_SIX], [25, 15])
    plan = plan_of([arrivals], response, bonus)
    assert plan is not None
    four, six = (
        (float(arrivals.lines.stand[k]), float(arrivals.lines.target[k])) for k in range(2)
    )
    chosen, told = (six, four) if play is Play.ALL else (four, six)
    assert plan.play is play
    assert (plan.stand, plan.target) == chosen
    assert (plan.reason is Reason.COUNT) is (play is Play.COUNT)
    if other is None:
        assert plan.other is None
        return
    assert plan.other is not None
    assert (plan.other.stand, plan.other.target) == told
    expected_odds = (make, both_count) if other == AT_SIX else (0, 1)
    assert (plan.other.make, plan.other.count) == pytest.approx(expected_odds, abs=1e-6)
    assert plan.runner_up is None


def test_a_line_that_makes_half_as_often_does_not_give_the_spare_up(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    # Both are the better line by points; the spare is told as given up only where it is.
    arrivals = sent([AT_FOUR, AT_SIX], [25, 15])
    for share, play in ((0.51, Play.ALL), (0.49, Play.COUNT)):
        response = make_response(FOUR_SIX, stretches(share * 0.4, 0.4), stretches(1, 0.5))
        plan = plan_of([arrivals], response, 1.0)
        assert plan is not None
        assert plan.play is play
        assert plan.reason is Reason.COUNT
        assert plan.other is not None
        assert plan.other.make == pytest.approx(0.4)


def test_a_leave_that_hardly_ever_falls_is_played_for_the_count(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    # The chances are told alike, so there is no other line for a frame that needs them all.
    response = make_response(FOUR_SIX, stretches(0.018, 0.02), stretches(1, 0.5))
    plan = plan_of([sent([AT_FOUR, AT_SIX], [25, 15])], response)
    assert plan is not None
    assert plan.play is Play.COUNT
    assert plan.other is None


def test_of_one_pin_there_is_no_count_to_take(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    four = Leave.parse("4")
    response = make_response(four, stretches(0.02, 0), stretches(0.5, 1))
    arrivals = sent([AT_FOUR], [25], four)
    plan = plan_of([arrivals], response)
    assert plan is not None
    assert (plan.play, plan.other, plan.reason) == (Play.ALL, None, Reason.ONLY)


def test_the_two_plays_may_want_different_balls(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    # The sure pin by the ball preferred less; the bowler is told which ball is meant.
    bags = [sent([AT_SIX], [15], ball=0), sent([AT_FOUR], [25], ball=1)]
    response = make_response(FOUR_SIX, stretches(0, 0.02), stretches(1, 0.5))
    plan = plan_of(bags, response)
    assert plan is not None
    assert (plan.ball, plan.play) == ("strike", Play.COUNT)
    assert plan.other is not None
    assert plan.other.ball == "spare"


# --- Lines that come


def test_lines_that_touch_nothing_are_not_planned(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    # Between the two pins a ball touches neither of them, whatever the cells say.
    response = make_response(FOUR_SIX, stretches(0.2, 0.2, elsewhere=1.0))
    assert plan_of([sent([0.0], [20])], response) is None
    plan = plan_of([sent([0.0, AT_SIX], [20, 15])], response)
    assert plan is not None
    assert (plan.target, plan.reason) == (15, Reason.ONLY)


@pytest.mark.parametrize(("inside_mm", "comes"), [(1.0, True), (-1.0, False)])
@pytest.mark.parametrize("side", [-1, 1])
def test_a_line_comes_if_its_mean_shot_touches_a_pin_by_a_hair(
    sent: Callable[..., Arrivals],
    make_response: MakeResponse,
    side: int,
    inside_mm: float,
    comes: bool,
) -> None:
    arrivals = sent([AT_FOUR + side * (REACH_M - inside_mm / 1000)], [25])
    # Cells are half an inch wide: some of the balls in this one touch, others do not.
    response = make_response(FOUR_SIX, 0.3, 0.6)
    assert (plan_of([arrivals], response) is not None) is comes


def test_a_ball_without_any_line_takes_nothing_from_the_other(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    none, one = sent([AT_SIX], [15]), sent([AT_FOUR], [25], ball=1)
    none = Arrivals(none.lines.pick(np.zeros(1, np.bool_)), STEADY, (FOUR_SIX.front_row_m,))
    response = make_response(FOUR_SIX, 0.3, 0.6)
    plan = plan_of([none, one], response)
    assert plan is not None
    assert plan.ball == "strike"
    assert plan_of([none, none], response) is None


def test_each_leave_sees_the_lines_chosen_before(
    sent: Callable[..., Arrivals], make_response: MakeResponse
) -> None:
    # Over the 22nd board, no arrow, only because the leave before is played so.
    first, then = FOUR_SIX, Leave.parse("4-6-10")
    arrivals = sent([AT_FOUR, AT_SIX], [20, 22])
    answers = {
        first: make_response(first, stretches(0, 0.6)),
        then: make_response(then, stretches(0.6, 0.6)),
    }
    plans = Planner([arrivals], [answers], BONUS_PINS).plans([first, then], Habits(21))
    assert (plans[first].target, plans[then].target) == (22, 22)
    alone = Planner([arrivals], [answers], BONUS_PINS).plans([then], Habits(21))
    assert alone[then].target == 20


# --- The sums


BALLS = 200_000
LINES = [
    # ball, leave, stand, target, whether the gutter takes a share of the balls
    ("spare", "2-4-5", 22, 20, False),
    ("spare", "3-10", 29, 20, False),
    ("strike", "1-2", 20, 10, False),
    ("spare", "10", 35, 20, True),
    ("spare", "10", 9.5, 4, True),
    ("strike", "4-6", 9, 3, True),
    ("spare", "7-8", 42, 37.5, True),
]


GOOD_ENOUGH = 0.008
"""What launches in seven bundles may be off by, in any share of balls."""


def thrown(
    lines: LineSet, row_m: float, release: Release, friction: FrictionGrid
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Return place and angle (n,) of the balls at a row, and which are still on the lane there."""
    path = ball_path(lines.ball.ball, release, friction, [*WATCHED_M, row_m])
    stays: BoolArray = np.all(np.abs(path.x_m[:, :-1]) <= EDGE_M, axis=1)
    return path.x_m[:, -1], path.angle_rad[:, -1], stays


@pytest.mark.parametrize(("ball", "pins", "stand", "target", "risky"), LINES)
def test_the_sums_are_those_of_balls_thrown(
    make_bowler: MakeBowler,
    drawn_releases: Callable[..., Release],
    ball: str,
    pins: str,
    stand: float,
    target: float,
    risky: bool,
) -> None:
    bowler, leave = make_bowler(), Leave.parse(pins)
    lines = lines_of(bowler, bowler.ball(ball), stand, target)
    arrivals = Arrivals(lines, bowler.spread, (leave.front_row_m,))
    x, angle, stays = thrown(
        lines,
        leave.front_row_m,
        drawn_releases(lines, bowler.spread, BALLS, 20_260_102),
        lines.ball.friction,
    )
    assert bool((~stays).mean() > 0.01) is risky
    weights = arrivals.weights(arrivals.row(leave))
    assert weights.shape == (1, ANGLES, PLACES)
    assert np.all(weights >= 0)

    cell = np.floor((x - PLACE_EDGES_M[0]) / CELL_M).astype(int)
    inside = (cell >= 0) & (cell < PLACES)
    # How often balls come as far to the left as a place, and how often at all.
    share = weights[0].sum(axis=0)
    counted = np.bincount(cell[stays & inside], minlength=PLACES) / BALLS
    assert np.all(np.abs(np.cumsum(counted) - np.cumsum(share)) < GOOD_ENOUGH)

    # Means of a smooth map and of a ragged one, the angles between the known ones interpolated.
    rng = np.random.default_rng(7)
    smooth = np.exp(-(((PLACES_M - x.mean()) / 0.1) ** 2)) * np.linspace(0.2, 1, ANGLES)[:, None]
    maps = np.stack([smooth, rng.random((ANGLES, PLACES))])
    found = expected(weights, maps)
    assert found.shape == (1, 2)
    for map_, mean in zip(maps, found[0], strict=True):
        values = np.zeros(BALLS)
        values[inside] = looked_up(map_, cell[inside], angle[inside])
        assert abs((values * stays).mean() - mean) < GOOD_ENOUGH


HOUSE = oiled_lane(LaneSpec())
LANES_DRAWN, BALLS_A_LANE = 300, 200
ON_A_LANE_HALF_KNOWN = [
    # Ball, leave, stand, target: the shipped house lane, on which oil bends what a miss does.
    ("spare", "10", 34, 20),
    ("spare", "2", 22, 20),
    ("strike", "1", 27, 12),
    ("strike", "2", 18, 8),
    ("strike", "6", 39, 16),
    ("strike", "9", 36, 16),
]


@pytest.mark.parametrize(("ball", "pins", "stand", "target"), ON_A_LANE_HALF_KNOWN)
def test_chances_are_those_of_balls_thrown_on_lanes_as_uncertain_as_told(
    make_bowler: MakeBowler,
    drawn_releases: Callable[..., Release],
    ball: str,
    pins: str,
    stand: float,
    target: float,
) -> None:
    bowler, leave = make_bowler(lane=HOUSE), Leave.parse(pins)
    lines = lines_of(bowler, bowler.ball(ball), stand, target)
    response = shipped_deck().response(leave, lines.ball.ball.mass_kg)
    rng = np.random.default_rng(5)
    made = []
    for lane in range(LANES_DRAWN):
        film, friction, games = rng.standard_normal(3)
        doubt = HOUSE.doubt
        drawn = HOUSE.changed(
            film=max(doubt.film * film, -0.9),
            friction=max(doubt.friction * friction, -0.9),
            games=doubt.games * games,
        )
        x, angle, stays = thrown(
            lines,
            leave.front_row_m,
            drawn_releases(lines, bowler.spread, BALLS_A_LANE, lane),
            drawn.friction(lines.ball.cover),
        )
        cell = np.floor((x - PLACE_EDGES_M[0]) / CELL_M).astype(int)
        inside = (cell >= 0) & (cell < PLACES) & stays
        values = looked_up(response.chance, cell[inside], angle[inside])
        made.append(values.sum() / BALLS_A_LANE)
    arrivals = Arrivals(lines, bowler.spread, (leave.front_row_m,))
    ours = arrivals.conversion(response, np.array([0]))[0]
    # What the lane does is taken as in proportion, for a flat ball nearly exactly.
    assert ours == pytest.approx(np.mean(made), abs=0.015 if ball == "spare" else 0.06)
    settled = expected(arrivals.weights(arrivals.row(leave), settled=True), response.chance[None])[
        0, 0
    ]
    if ball == "strike":
        assert settled > ours


def standard_error(share: FloatArray | float) -> FloatArray:
    return np.asarray(np.sqrt(np.asarray(share) * (1 - np.asarray(share)) / BALLS) + 1e-9)


def looked_up(map_: FloatArray, cell: FloatArray, angle_rad: FloatArray) -> FloatArray:
    """Return the values (n,) of a map (angles, places) in cells (n,), linear between the angles."""
    values = np.zeros(len(cell))
    for place in np.unique(cell):
        these = cell == place
        values[these] = np.interp(angle_rad[these], ANGLES_RAD, map_[:, place])
    return values


def test_lines_are_told_apart_and_stray_ones_weigh_nothing(make_bowler: MakeBowler) -> None:
    bowler = make_bowler()
    lines = lines_of(bowler, bowler.balls[0], [35, 22, 9.5], [20, 20, 4])
    arrivals = Arrivals(lines, bowler.spread, (FOUR_SIX.front_row_m,))
    row = arrivals.row(FOUR_SIX)
    together = arrivals.weights(row)
    for which in ([0], [2, 1], [1, 1, 0]):
        assert np.array_equal(arrivals.weights(row, np.array(which)), together[which])
    arrivals.x_m[1, row] = np.nan  # a ball that stops short
    weights = arrivals.weights(row)
    assert np.all(weights[1] == 0)
    assert np.array_equal(weights[[0, 2]], together[[0, 2]])
