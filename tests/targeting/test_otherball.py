"""Which ball: the price of the other one."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from cardgen.delivery.release import Release
from cardgen.lane.geometry import EDGE_M
from cardgen.lane.rack import ROWS_M, SINGLE_PINS, Leave
from cardgen.physics.deck import shipped_deck
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.candidates import candidates
from cardgen.targeting.chart import chart_for
from cardgen.targeting.conversion import WATCHED_M, Arrivals
from cardgen.targeting.line import Line
from cardgen.targeting.lines import lines_of

MakeBowler = Callable[..., Bowler]
HOUSE = oiled_lane(LaneSpec())


@pytest.fixture(scope="module")
def bowler(make_bowler: MakeBowler) -> Bowler:
    return make_bowler(lane=HOUSE)


@pytest.fixture(scope="module")
def lines(bowler: Bowler) -> tuple[Line, ...]:
    return chart_for(bowler, [*SINGLE_PINS, Leave.of(3, 10), Leave.of(1, 2, 4)]).lines


def test_the_other_ball_is_the_other(lines: tuple[Line, ...]) -> None:
    for line in lines:
        assert line.other_ball is not None
        assert {line.ball, line.other_ball.line.ball} == {"spare", "strike"}


def test_the_price_is_the_difference_of_the_chances(lines: tuple[Line, ...]) -> None:
    for line in lines:
        assert line.other_ball is not None
        price = line.odds.make - line.other_ball.line.make
        assert line.other_ball.price == pytest.approx(price, abs=1e-12)


def test_no_line_of_the_other_ball_is_better(bowler: Bowler, lines: tuple[Line, ...]) -> None:
    bags = {
        ball.name: Arrivals(candidates(bowler, ball), bowler.spread, ROWS_M)
        for ball in bowler.balls
    }
    for line in lines:
        assert line.other_ball is not None
        other = line.other_ball.line
        bag = bags[other.ball]
        response = shipped_deck().response(line.leave, bag.lines.ball.ball.mass_kg)
        best = bag.conversion(response, np.arange(len(bag.lines))).max()
        # Within what counts as equal, and twice that for a line whose own shot is good.
        assert other.make >= best - 3 * (0.01 if len(line.leave) == 1 else 0.03)


def test_a_known_line_also_tells_the_other_balls_price(make_bowler: MakeBowler) -> None:
    own = make_bowler(known=[("10", 34, 20)], lane=HOUSE)
    (line,) = chart_for(own, [Leave.of(10)]).lines
    assert line.known
    assert line.other_ball is not None
    assert line.other_ball.line.ball == "strike"
    assert line.other_ball.price > 0.2  # a hook at the corner pin over a house oil


def test_a_bowler_whose_other_ball_comes_nowhere_is_told_no_price(make_bowler: MakeBowler) -> None:
    bowler = make_bowler(lane=HOUSE)
    weak, strong = bowler.balls
    wild = replace(strong, rotation_rad=1.5, rev_radps=60.0)
    (line,) = chart_for(replace(bowler, balls=(weak, wild)), [Leave.of(10)]).lines
    assert line.other_ball is None


def test_on_a_lane_known_for_certain_a_drier_one_is_the_same(make_bowler: MakeBowler) -> None:
    for line in chart_for(make_bowler(), SINGLE_PINS).lines:
        assert line.other_ball is not None
        assert line.other_ball.price_drier == pytest.approx(line.other_ball.price, abs=1e-9)


def test_the_drier_price_is_that_of_balls_thrown_unawares(
    bowler: Bowler, lines: tuple[Line, ...], drawn_releases: Callable[..., Release]
) -> None:
    (line,) = (line for line in lines if line.leave == Leave.of(6))
    assert line.other_ball is not None
    chances = []
    for name, stand, target in (
        (line.ball, line.stand, line.target),
        (line.other_ball.line.ball, line.other_ball.line.stand, line.other_ball.line.target),
    ):
        ball = bowler.ball(name)
        aimed = lines_of(bowler, ball, stand, target)
        release = drawn_releases(aimed, bowler.spread, 100_000, 11)
        path = ball_path(
            ball.ball,
            release,
            bowler.lane.drier.friction(ball.cover),
            [*WATCHED_M, line.leave.front_row_m],
        )
        stays = (np.abs(path.x_m[:, :-1]) <= EDGE_M).all(axis=1)
        response = shipped_deck().response(line.leave, ball.ball.mass_kg)
        chances.append((response.at(path.x_m[:, -1], path.angle_rad[:, -1]) * stays).mean())
    assert line.other_ball.price_drier == pytest.approx(chances[0] - chances[1], abs=0.02)
