"""A bowler's own first balls: what holds whatever the simulation says of the pins."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from cardgen.lane.geometry import Hand, x_board
from cardgen.lane.rack import PIN_NUMBERS, Leave
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import chart_for
from cardgen.targeting.firstball import FirstBall
from cardgen.targeting.lines import lines_of

MakeBowler = Callable[..., Bowler]
HEAD_ROW_M = Leave.of(1).front_row_m


def first_of(bowler: Bowler) -> FirstBall:
    first = chart_for(bowler, []).first_ball
    assert first is not None
    return first


def arrival_board(bowler: Bowler, first: FirstBall) -> float:
    lines = lines_of(bowler, bowler.ball("strike"), first.stand, first.target)
    return float(x_board(lines.path([HEAD_ROW_M]).x_m[0, 0]))


@pytest.mark.parametrize("spread", ["new", "elite"])
def test_a_left_handers_leaves_are_the_mirror_image(make_bowler: MakeBowler, spread: str) -> None:
    right = first_of(make_bowler(spread=spread))
    left = first_of(make_bowler(spread=spread, hand=Hand.LEFT))
    assert (left.stand, left.target) == (right.stand, right.target)
    assert (left.strikes, left.pins) == (right.strikes, right.pins)
    assert left.shares == {leave.mirrored: share for leave, share in right.shares.items()}
    assert left.shares != right.shares


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("spread", ["new", "league", "strong", "elite"])
def test_shares_are_those_of_all_leaves_that_remain(
    make_bowler: MakeBowler, spread: str, hand: Hand
) -> None:
    first = first_of(make_bowler(spread=spread, hand=hand))
    assert sum(first.shares.values()) == pytest.approx(1, abs=1e-12)
    assert min(first.shares.values()) >= 0
    # Balls in the gutter leave the rack; they are not told among the leaves.
    assert Leave(PIN_NUMBERS) not in first.shares
    assert 0 < first.strikes < 1
    assert 10 * first.strikes <= first.pins <= 10


def test_a_wider_spread_strikes_less_and_fells_less(make_bowler: MakeBowler) -> None:
    firsts = [first_of(make_bowler(spread=s)) for s in ("elite", "strong", "league", "new")]
    for tighter, wider in pairwise(firsts):
        assert wider.strikes < tighter.strikes
        assert wider.pins < tighter.pins


@pytest.mark.parametrize("hand", list(Hand))
def test_a_hook_for_a_strike_is_aimed_between_the_head_pin_and_its_neighbour(
    make_bowler: MakeBowler, hand: Hand
) -> None:
    # The pocket is on the ball side of the head pin, boards 16 to 18 at its row (common practice,
    # no source); the ball's middle is between the head pin's, board 20, and the 3 pin's, board 14.
    bowler = make_bowler(hand=hand, spread="elite")
    assert 14 < arrival_board(bowler, first_of(bowler)) < 20


def test_the_line_is_one_the_bowler_can_throw(make_bowler: MakeBowler) -> None:
    bowler = make_bowler(stand_boards=(22, 26))
    first = first_of(bowler)
    assert 22 <= first.stand <= 26
    assert first.stand % 1 == first.target % 1 == 0
    assert 10 < arrival_board(bowler, first) < 30
    halves = first_of(replace(bowler, step=0.5))
    assert halves.strikes >= first.strikes
