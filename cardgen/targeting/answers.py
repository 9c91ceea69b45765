"""What a bowler's products say beyond the chart's lines, each part worked out when asked for."""

from dataclasses import dataclass, replace
from functools import cached_property

from cardgen.lane.rack import FULL_RACK
from cardgen.targeting.changes import Change, changes_of
from cardgen.targeting.chart import Chart
from cardgen.targeting.drill import Drill, Practice, drill_of, practice_of
from cardgen.targeting.fewer import FewLines, few_described, few_lines
from cardgen.targeting.line import Line
from cardgen.targeting.strike import Strike, strike_of

POCKET_LINES = 5
"""So many lines have a page of their own in a pocket booklet, beside cover, list and cautions."""
_PARTS = ("strike", "few", "pocket", "drill", "practice", "changes")


@dataclass(frozen=True, eq=False)
class Answers:
    """A chart, and all that follows from it."""

    chart: Chart

    @cached_property
    def strike(self) -> Strike | None:
        """What there is to say of the chart's strike line; None if it has none."""
        racks = [line for line in self.chart.lines if line.leave == FULL_RACK and line.reaches]
        return strike_of(self.chart, racks[0]) if racks else None

    @cached_property
    def few(self) -> FewLines | None:
        """The few lines to remember; None for a chart of no spares."""
        return few_lines(self.chart)

    @cached_property
    def pocket(self) -> tuple[FewLines, tuple[Line, ...]] | None:
        """The few lines that a pocket booklet holds, and each of them described."""
        few = self.few
        if few is not None and len(few.lines) > POCKET_LINES:
            few = few_lines(self.chart, POCKET_LINES) or few
        return None if few is None else (few, few_described(self.chart, few))

    @cached_property
    def drill(self) -> Drill | None:
        """What to throw next; None for a chart of no spares."""
        return drill_of(self.chart)

    @cached_property
    def practice(self) -> tuple[Practice, ...]:
        """The chart's spares, those first whose practice wins most."""
        return practice_of(self.chart)

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """The lines that the last fit has changed; none where there was no fit."""
        return changes_of(self.chart.bowler.printed, self.chart)

    def worked_out(self) -> "Answers":
        """Return the same with every part worked out, and without the menu they came from.

        That is a quarter of the size: what is worth keeping.
        """
        for part in _PARTS:
            getattr(self, part)
        return self._with(replace(self.chart, menu=None))

    def of(self, name: str) -> "Answers":
        """Return the same answers for a bowler who differs in nothing but his name."""
        return self._with(replace(self.chart, bowler=replace(self.chart.bowler, name=name)))

    def _with(self, chart: Chart) -> "Answers":
        other = Answers(chart)
        known = self.__dict__
        other.__dict__.update({part: known[part] for part in _PARTS if part in known})
        return other
