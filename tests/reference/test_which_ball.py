"""The spare ball for single pins: common practice, no source.

Coaches want single pins thrown flat and straight with a plastic or urethane ball, since oil hardly
moves it. Nothing in the program asserts that; here it must come out of the sums.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from cardgen.lane.condition import LaneDoubt
from cardgen.lane.rack import SINGLE_PINS
from cardgen.profile.bowler import bowler_of
from cardgen.profile.loader import load_profile
from cardgen.targeting.chart import Chart, chart_for

CORNERS = {7, 10}


@pytest.fixture(scope="module")
def chart(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Chart]:
    folder = tmp_path_factory.mktemp("bowlers")

    def made(style: str, lane: str, spread: str) -> Chart:
        path: Path = folder / f"{style}-{lane}-{spread}.yaml"
        path.write_text(
            f"bowler: Demo\nhand: right\nstyle: {style}\nlane: {lane}\nspread: {spread}\n"
        )
        return chart_for(bowler_of(load_profile(path)), SINGLE_PINS)

    return made


@pytest.mark.parametrize("spread", ["league", "elite"])
@pytest.mark.parametrize("lane", ["house", "short"])
@pytest.mark.parametrize("style", ["one-handed", "two-handed", "no-thumb"])
def test_single_pins_come_out_for_the_flat_spare_ball(
    chart: Callable[..., Chart], style: str, lane: str, spread: str
) -> None:
    lines = chart(style, lane, spread).lines
    assert [line.ball for line in lines] == ["spare"] * 10
    for line in lines:
        # A ball that hooks much has no line to the far corner at all.
        if line.other_ball is not None:
            assert line.other_ball.price > -0.01
    prices = {
        line.leave.pins[0]: 1.0 if line.other_ball is None else line.other_ball.price
        for line in lines
    }
    # Dearest in the corner on the ball side, away from which the hook goes.
    assert prices[10] == max(prices.values())
    assert prices[10] > 0.3


def test_the_steadier_the_bowler_the_more_the_strike_ball_costs(
    chart: Callable[..., Chart],
) -> None:
    # A wild bowler misses with either ball; a steady one loses to what nobody knows of the lane.
    league, elite = (chart("one-handed", "house", spread).lines for spread in ("league", "elite"))
    for wild, steady in zip(league, elite, strict=True):
        assert wild.other_ball is not None
        assert steady.other_ball is not None
        assert steady.other_ball.price > wild.other_ball.price


def test_a_known_lane_takes_the_price_down(chart: Callable[..., Chart]) -> None:
    # What makes the strike ball dear for pins near its pocket is mostly that the lane is not known.
    bowler = chart("one-handed", "house", "elite").bowler
    known = chart_for(bowler.on(replace(bowler.lane, doubt=LaneDoubt())), SINGLE_PINS)
    unknown = chart_for(bowler, SINGLE_PINS)
    for certain, doubtful in zip(known.lines, unknown.lines, strict=True):
        if certain.leave.pins[0] in CORNERS | {6, 4}:
            continue
        assert certain.other_ball is not None
        assert doubtful.other_ball is not None
        assert certain.other_ball.price < doubtful.other_ball.price
