"""What a new chart changes: the lines to learn anew, and no others."""

from collections.abc import Sequence
from dataclasses import dataclass

from cardgen.lane.rack import Leave
from cardgen.profile.bowler import KnownLine
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Line


@dataclass(frozen=True)
class Change:
    """A leave whose line is another now."""

    leave: Leave
    old: KnownLine
    new: Line


def printed_of(chart: Chart) -> tuple[KnownLine, ...]:
    """Return the lines of ``chart`` as a bowler learns them."""
    return tuple(KnownLine(x.leave, x.stand, x.target, x.ball) for x in chart.lines)


def changes_of(printed: Sequence[KnownLine], chart: Chart) -> tuple[Change, ...]:
    """Return the leaves whose call is not the one ``printed`` before, in the chart's order.

    A call is the ball, the stand and the target: a chance that is now known better changes nothing
    that a bowler has to learn. Leaves that were not printed before are new, not changed.
    """
    before = {line.leave: line for line in printed}
    return tuple(
        Change(line.leave, old, line)
        for line in chart.lines
        if (old := before.get(line.leave)) is not None and _call(old) != _call(line)
    )


def _call(line: Line | KnownLine) -> tuple[str, float, float]:
    return line.ball, line.stand, line.target
