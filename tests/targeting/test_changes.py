"""What a new chart changes: the calls, and nothing else."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from cardgen.lane.rack import SINGLE_PINS, Leave
from cardgen.profile.bowler import Bowler, KnownLine
from cardgen.targeting.changes import changes_of, printed_of
from cardgen.targeting.chart import Chart, chart_for

MakeBowler = Callable[..., Bowler]


@pytest.fixture(scope="module")
def chart(make_bowler: MakeBowler) -> Chart:
    return chart_for(make_bowler(), SINGLE_PINS)


def test_a_chart_changes_nothing_of_itself(chart: Chart) -> None:
    assert changes_of(printed_of(chart), chart) == ()


def test_what_is_printed_is_the_call_of_each_line(chart: Chart) -> None:
    printed = printed_of(chart)
    assert [line.leave for line in printed] == [line.leave for line in chart.lines]
    for told, line in zip(printed, chart.lines, strict=True):
        assert (told.ball, told.stand, told.target) == (line.ball, line.stand, line.target)


def test_a_chance_known_better_is_no_change(chart: Chart) -> None:
    lines = tuple(
        replace(line, odds=replace(line.odds, make=line.odds.make / 2, unsure_boards=3.0))
        for line in chart.lines
    )
    assert changes_of(printed_of(chart), replace(chart, lines=lines)) == ()


@pytest.mark.parametrize(
    ("stand", "target", "ball"),
    [(1.0, None, None), (None, 1.0, None), (None, None, "strike")],
)
def test_each_part_of_a_call_counts(
    chart: Chart, stand: float | None, target: float | None, ball: str | None
) -> None:
    was = chart.lines[3]
    old = KnownLine(was.leave, stand or was.stand, target or was.target, ball or was.ball)
    printed = printed_of(chart)
    (change,) = changes_of([*printed[:3], old, *printed[4:]], chart)
    assert (change.leave, change.old, change.new) == (was.leave, old, was)


def test_leaves_that_came_or_went_are_no_changes(chart: Chart) -> None:
    printed = printed_of(chart)
    assert changes_of(printed[:3], chart) == ()
    assert changes_of(printed, replace(chart, lines=chart.lines[5:])) == ()
    assert changes_of([], chart) == ()


def test_changes_come_in_the_charts_order_whatever_the_old_one_was(chart: Chart) -> None:
    old = [replace(line, stand=line.stand + 1) for line in printed_of(chart)]
    changes = changes_of(old[::-1], chart)
    assert [change.new for change in changes] == list(chart.lines)


def test_what_changes_is_what_differs_between_two_bowlers(
    chart: Chart, make_bowler: MakeBowler
) -> None:
    other = chart_for(make_bowler(gap_boards=7), SINGLE_PINS)
    changes = changes_of(printed_of(chart), other)
    was, now = (
        {line.leave: (line.ball, line.stand, line.target) for line in each.lines}
        for each in (chart, other)
    )
    told = [change.leave for change in changes]
    assert told
    assert told == [leave for leave in now if now[leave] != was[leave]]


def test_a_leave_of_several_pins_is_a_leave_like_another(make_bowler: MakeBowler) -> None:
    leaves = [Leave.parse("3-10"), Leave.parse("6-10")]
    one, two = (chart_for(make_bowler(gap_boards=gap), leaves) for gap in (5, 9))
    assert [change.leave for change in changes_of(printed_of(one), two)] == leaves
