"""What to throw next, and what is worth practising, checked one line at a time."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from cardgen.delivery.release import Release
from cardgen.lane.condition import LaneDoubt
from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave
from cardgen.physics.deck import shipped_deck
from cardgen.physics.path import ball_path
from cardgen.profile.belief import LANE, UNKNOWNS
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.drill import (
    DRILL_LINES,
    DRILL_THROWS,
    STEADIER,
    drill_of,
    practice_of,
)
from cardgen.targeting.evidence import Throw, expected_of
from cardgen.targeting.likelihood import READ_SD, Expected
from cardgen.targeting.line import Line
from cardgen.targeting.lines import lines_of

MakeBowler = Callable[..., Bowler]
DECK = shipped_deck()
LEAVES = (FULL_RACK, *SINGLE_PINS, Leave.parse("3-10"), Leave.parse("6-10"))


@pytest.fixture(scope="module")
def chart(make_bowler: MakeBowler) -> Chart:
    """The chart of one all of whose numbers are uncertain."""
    lane = replace(make_bowler().lane, doubt=LaneDoubt(friction=0.25))
    return chart_for(make_bowler(unsure=True, lane=lane), LEAVES)


@pytest.fixture(scope="module")
def certain(make_bowler: MakeBowler) -> Chart:
    return chart_for(make_bowler(), LEAVES)


def weights_of(chart: Chart) -> FloatArray:
    """Return the share of each line's leave among the spares that are faced."""
    assert chart.first_ball is not None
    shares = chart.first_ball.shares
    often = np.array([shares.get(x.leave, 0.0) * (x.leave != FULL_RACK) for x in chart.lines])
    return np.asarray(often / often.sum())


def expected_from(chart: Chart) -> Expected:
    bowler = chart.bowler
    throws = [Throw(x.ball, x.stand, x.target, bowler.inside(x.leave)) for x in chart.lines]
    answers = {
        (t.ball, t.leave): DECK.response(t.leave, bowler.ball(t.ball).ball.mass_kg) for t in throws
    }
    return expected_of(bowler, throws, answers, bowler.spread)


def unsure_after(chart: Chart, thrown: list[int]) -> float:
    """Return how unsure [boards] the arrivals are once some of the chart's lines were thrown.

    What is known adds up, shot by shot: the other way to the same answer. Of what is learned of a
    lane, the day's half is gone on another day, and the rest is told half as well (derived).
    """
    expected, spread = expected_from(chart), chart.bowler.spread
    variance = np.array([spread.launch_rad, spread.laydown_m, spread.speed_mps]) ** 2
    known = np.linalg.inv(chart.bowler.unsure @ chart.bowler.unsure.T)
    for i in thrown:
        strays = (expected.by_stray[i] * variance) @ expected.by_stray[i].T + np.diag(READ_SD**2)
        strays[1, 1] += expected.rest_m2[i]
        seen = expected.by_unknown[i, :2]
        for _ in range(DRILL_THROWS):
            known = known + seen.T @ np.linalg.inv(strays[:2, :2]) @ seen
    arrive, covariance = expected.by_unknown[:, 1], np.linalg.inv(known)
    if thrown:
        lane = np.array([name in LANE for name in UNKNOWNS])
        first = np.diagonal(chart.bowler.unsure @ chart.bowler.unsure.T)
        learned = first - np.diagonal(covariance)
        half = np.where(lane, 0.5, 1.0)
        covariance = covariance * np.outer(half, half)
        covariance[lane, lane] = (first - 0.25 * learned)[lane]
    each = np.einsum("ik,kl,il->i", arrive, covariance, arrive)
    return float(np.sqrt(weights_of(chart) @ each)) / BOARD_M


# --- The drill


def test_before_a_drill_arrivals_are_as_unsure_as_the_chart_has_them(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    unsure_m = []
    for line in chart.lines:
        leave = chart.bowler.inside(line.leave)
        thrown = lines_of(chart.bowler, chart.bowler.ball(line.ball), line.stand, line.target)
        arrivals = Arrivals(thrown, chart.bowler.spread, [leave.front_row_m])
        unsure_m.append(
            float(arrivals.unsure_m(np.array([arrivals.row(leave)]), np.zeros(1, int))[0])
        )
    told = np.sqrt(weights_of(chart) @ np.square(unsure_m)) / BOARD_M
    assert drill.unsure_boards == pytest.approx(told, rel=0.03)
    assert drill.unsure_boards == pytest.approx(unsure_after(chart, []), rel=1e-9)


def test_the_first_line_is_the_one_that_tells_most_of_all(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    easy = [i for i, x in enumerate(chart.lines) if len(x.leave) == 1 or x.leave == FULL_RACK]
    after = {i: unsure_after(chart, [i]) for i in easy}
    best = min(after, key=lambda i: after[i])
    assert drill.throws[0].line is chart.lines[best]
    assert drill.throws[0].unsure_boards == pytest.approx(after[best], rel=1e-9)


def test_each_next_line_is_the_one_that_tells_most_after_those_before(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    places = [chart.lines.index(throw.line) for throw in drill.throws]
    easy = [i for i, x in enumerate(chart.lines) if len(x.leave) == 1 or x.leave == FULL_RACK]
    for k, throw in enumerate(drill.throws):
        others = {i: unsure_after(chart, [*places[:k], i]) for i in easy if i not in places[:k]}
        assert throw.unsure_boards == pytest.approx(min(others.values()), rel=1e-5)


def test_no_throw_leaves_anybody_less_sure(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    unsure = [drill.unsure_boards, *(throw.unsure_boards for throw in drill.throws)]
    assert all(after < before for before, after in pairwise(unsure))
    assert unsure[-1] < 0.8 * unsure[0]


def test_lines_of_a_drill_differ(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    assert len(drill.throws) == DRILL_LINES
    assert len({throw.line.leave for throw in drill.throws}) == DRILL_LINES


def test_a_drill_needs_no_rack_set_up(chart: Chart) -> None:
    drill = drill_of(chart)
    assert drill is not None
    assert all(len(x.line.leave) == 1 or x.line.leave == FULL_RACK for x in drill.throws)


def test_where_all_is_known_a_drill_tells_nothing(certain: Chart) -> None:
    drill = drill_of(certain)
    assert drill is not None
    unsure = [drill.unsure_boards, *(throw.unsure_boards for throw in drill.throws)]
    assert unsure == pytest.approx([0] * 4, abs=1e-9)


def test_a_short_chart_has_a_short_drill(make_bowler: MakeBowler) -> None:
    drill = drill_of(chart_for(make_bowler(unsure=True), SINGLE_PINS[:2]))
    assert drill is not None
    assert len(drill.throws) == 2


def test_without_spares_there_is_nothing_to_throw(make_bowler: MakeBowler) -> None:
    assert drill_of(chart_for(make_bowler(unsure=True), [FULL_RACK])) is None
    assert drill_of(chart_for(make_bowler(unsure=True), [])) is None


def test_who_knows_more_has_less_to_gain(chart: Chart) -> None:
    half = np.eye(len(UNKNOWNS)) / 2
    known = replace(chart, bowler=replace(chart.bowler, unsure=half))
    one, other = drill_of(chart), drill_of(known)
    assert one is not None
    assert other is not None
    assert other.unsure_boards == pytest.approx(one.unsure_boards / 2)
    gains = [x.unsure_boards - x.throws[-1].unsure_boards for x in (one, other)]
    assert gains[1] < gains[0]


# --- Practice


def test_practice_wins_as_many_spares_as_are_faced_and_made_more_often(chart: Chart) -> None:
    practice = practice_of(chart)
    assert chart.first_ball is not None
    assert {each.line.leave for each in practice} == set(LEAVES) - {FULL_RACK}
    frames = 100 * (1 - chart.first_ball.strikes)
    for each in practice:
        assert each.faced == pytest.approx(frames * chart.first_ball.shares[each.line.leave])
        more = max(each.better - each.line.odds.make, 0.0)
        assert each.wins == pytest.approx(each.faced * more)
    assert sum(each.faced for each in practice) <= frames


def test_what_wins_most_stands_first(chart: Chart) -> None:
    wins = [each.wins for each in practice_of(chart)]
    assert wins == sorted(wins, reverse=True)
    assert wins[0] > 0.05


@pytest.mark.parametrize("which", ["chart", "certain"])
def test_steadier_shots_make_single_pins_more_often(
    which: str, request: pytest.FixtureRequest
) -> None:
    for each in practice_of(request.getfixturevalue(which)):
        if len(each.line.leave) == 1:
            assert each.line.odds.make < each.better <= 1


def test_better_is_what_steadier_shots_make_when_thrown(
    certain: Chart, drawn_releases: Callable[..., Release]
) -> None:
    bowler, spread = certain.bowler, certain.bowler.spread
    steadier = replace(
        spread,
        laydown_m=STEADIER * spread.laydown_m,
        launch_rad=STEADIER * spread.launch_rad,
        speed_mps=STEADIER * spread.speed_mps,
    )
    better = {each.line.leave: each.better for each in practice_of(certain)}

    def thrown(line: Line) -> float:
        ball = bowler.ball(line.ball)
        lines = lines_of(bowler, ball, line.stand, line.target)
        release = drawn_releases(lines, steadier, 20_000, 3)
        path = ball_path(ball.ball, release, ball.friction, [line.leave.front_row_m])
        response = DECK.response(line.leave, ball.ball.mass_kg)
        return float(response.at(path.x_m[:, 0], path.angle_rad[:, 0]).mean())

    for line in certain.lines:
        if len(line.leave) == 1:
            assert better[line.leave] == pytest.approx(thrown(line), abs=0.012), line.leave


def test_of_one_who_never_comes_to_the_pocket_nothing_is_known(chart: Chart) -> None:
    assert practice_of(replace(chart, first_ball=None)) == ()
