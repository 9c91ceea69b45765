"""The few lines to remember, of a whole chart."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from cardgen.lane.geometry import BOARD_M, EDGE_M, FloatArray, Hand
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.covering import cover, whole
from cardgen.targeting.fewer import ENOUGH, GUTTER_BOARDS, MOST_LINES, few_lines
from cardgen.targeting.line import told_chance
from cardgen.targeting.planning import Menu

MakeBowler = Callable[..., Bowler]
LEAVES = (*SINGLE_PINS, *map(Leave.parse, ("3-10", "6-10", "2-8", "1-2-4", "3-6-10")))


@pytest.fixture(scope="module")
def chart(make_bowler: MakeBowler) -> Chart:
    return chart_for(make_bowler(), LEAVES)


def all_of(chart: Chart) -> Menu:
    assert chart.menu is not None
    return chart.menu


def menu_of(chart: Chart) -> Menu:
    """Return the lines that anybody would remember: looked at within the arrows, off the gutter."""
    menu = all_of(chart)
    aside = np.abs(menu.laydown_x_m) <= EDGE_M - GUTTER_BOARDS * BOARD_M
    easy = np.flatnonzero(aside & (menu.target >= 5) & (menu.target <= 35))
    return replace(
        menu,
        ball=tuple(np.array(menu.ball)[easy].tolist()),
        stand=menu.stand[easy],
        target=menu.target[easy],
        laydown_x_m=menu.laydown_x_m[easy],
        make=menu.make[easy],
    )


def weights_of(chart: Chart) -> FloatArray:
    """Return how often each leave of the menu is faced."""
    assert chart.first_ball is not None
    shares, inside = chart.first_ball.shares, chart.bowler.inside
    return np.array([shares.get(inside(leave), 0.0) for leave in menu_of(chart).leaves])


def test_more_lines_never_keep_less(chart: Chart) -> None:
    fewer = few_lines(chart)
    assert fewer is not None
    assert len(fewer.kept) == len(fewer.exact) == MOST_LINES
    assert all(after >= before for before, after in pairwise(fewer.kept))
    assert fewer.kept[0] > 0.3
    assert fewer.kept[-1] <= 1


def test_as_many_lines_as_leaves_keep_all(make_bowler: MakeBowler) -> None:
    singles = chart_for(make_bowler(), SINGLE_PINS)
    fewer = few_lines(singles, count=len(SINGLE_PINS))
    assert fewer is not None
    # All but what lines along the gutter would keep, which nobody is told to remember.
    assert 0.99 < fewer.kept[-1] <= 1
    assert fewer.exact[-1]


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_every_leave_is_served_once_by_the_best_of_the_lines(chart: Chart, count: int) -> None:
    fewer = few_lines(chart, count=count)
    assert fewer is not None
    assert len(fewer.lines) == count
    served = Counter(served.leave for line in fewer.lines for served in line.serves)
    assert served == Counter(LEAVES)
    menu = menu_of(chart)
    rows = [
        int(
            np.flatnonzero(
                (np.array(menu.ball) == line.ball)
                & (menu.stand == line.stand)
                & (menu.target == line.target)
            )[0]
        )
        for line in fewer.lines
    ]
    for line in fewer.lines:
        for served_leave in line.serves:
            at = menu.leaves.index(chart.bowler.inside(served_leave.leave))
            best = told_chance(float(menu.make[rows, at].max()), served_leave.leave)
            assert served_leave.make == pytest.approx(best, abs=1e-9)


def test_no_line_is_along_the_gutter_or_beside_the_arrows(chart: Chart) -> None:
    fewer = few_lines(chart, count=8)
    assert fewer is not None
    menu = menu_of(chart)
    calls = set(zip(menu.ball, menu.stand.tolist(), menu.target.tolist(), strict=True))
    assert {(line.ball, line.stand, line.target) for line in fewer.lines} <= calls


@pytest.mark.parametrize("count", [1, 3, 8])
def test_what_is_kept_is_what_a_cover_keeps(chart: Chart, count: int) -> None:
    fewer = few_lines(chart, count=count)
    assert fewer is not None
    make, weights = menu_of(chart).make, weights_of(chart)
    everything = whole(all_of(chart).make, weights)
    share = fewer.kept[count - 1]
    kept = sum(
        weights[menu_of(chart).leaves.index(served.leave)] * served.make
        for line in fewer.lines
        for served in line.serves
        if len(served.leave) == 1  # chances of several pins are told within bounds
    )
    assert kept <= share * everything + 1e-9
    quick = cover(make, weights, count, exact=False)
    assert share >= quick.kept / everything - 1e-9
    assert share <= quick.bound / everything + 1e-9
    if fewer.exact[count - 1]:
        exact = cover(make, weights, count, exact=True)
        assert exact.exact
        assert share == pytest.approx(exact.kept / everything, abs=1e-6)


def test_no_single_line_keeps_more_than_the_first(chart: Chart) -> None:
    fewer = few_lines(chart, count=1)
    assert fewer is not None
    make, weights = menu_of(chart).make, weights_of(chart)
    best = (make @ weights).max() / (all_of(chart).make.max(axis=0) @ weights)
    assert fewer.kept[0] == pytest.approx(best, abs=1e-8)
    assert fewer.exact[0]


def test_unless_told_it_takes_no_more_lines_than_are_worth_it(chart: Chart) -> None:
    fewer = few_lines(chart)
    assert fewer is not None
    count = len(fewer.lines)
    assert fewer.kept[count - 1] >= ENOUGH or count == MOST_LINES
    assert count == 1 or fewer.kept[count - 2] < ENOUGH


def test_leaves_that_come_most_often_stand_first(chart: Chart) -> None:
    fewer = few_lines(chart, count=3)
    assert fewer is not None
    assert chart.first_ball is not None
    shares = chart.first_ball.shares
    for line in fewer.lines:
        often = [shares.get(served.leave, 0.0) for served in line.serves]
        assert often == sorted(often, reverse=True)


def test_the_first_lines_add_the_most(chart: Chart) -> None:
    # Each line alone, after those before it.
    fewer = few_lines(chart, count=4)
    assert fewer is not None
    menu, weights = menu_of(chart), weights_of(chart)
    calls = list(zip(menu.ball, menu.stand.tolist(), menu.target.tolist(), strict=True))
    rows = [calls.index((line.ball, line.stand, line.target)) for line in fewer.lines]
    kept = [menu.make[rows[: k + 1]].max(axis=0) @ weights for k in range(len(rows))]
    gains = np.diff([0.0, *kept])
    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(gains))


def test_a_left_hander_has_the_same_few_lines_in_the_mirror(make_bowler: MakeBowler) -> None:
    right, left = (
        few_lines(chart_for(make_bowler(hand=hand), SINGLE_PINS), count=3)
        for hand in (Hand.RIGHT, Hand.LEFT)
    )
    assert right is not None
    assert left is not None
    assert left.kept == pytest.approx(right.kept)
    for one, other in zip(right.lines, left.lines, strict=True):
        assert (one.ball, one.stand, one.target) == (other.ball, other.stand, other.target)
        assert {s.leave.mirrored for s in one.serves} == {s.leave for s in other.serves}


def test_a_chart_without_spares_has_none(make_bowler: MakeBowler) -> None:
    assert few_lines(chart_for(make_bowler(), [FULL_RACK])) is None
    assert few_lines(chart_for(make_bowler(), [])) is None


def test_three_lines_make_single_pins_nearly_as_often_as_ten(make_bowler: MakeBowler) -> None:
    # Common practice, no source: many bowlers shoot all single pins from three spots.
    fewer = few_lines(chart_for(make_bowler(), SINGLE_PINS), count=3)
    assert fewer is not None
    assert fewer.kept[2] >= 0.85
