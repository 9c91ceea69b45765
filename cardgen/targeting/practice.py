"""What is worth practising: the leaves that cost this bowler most."""

from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Line


def practice_order(chart: Chart) -> list[Line]:
    """Return the chart's lines, those first whose misses the bowler will see most often.

    That is the share of the leave after his own first balls times the chance of a miss; leaves of
    which the first balls say nothing come last, in the chart's order.
    """
    shares = {} if chart.first_ball is None else chart.first_ball.shares

    def missed(line: Line) -> float:
        return shares.get(line.leave, 0.0) * (1 - line.odds.make)

    return sorted(chart.lines, key=lambda line: -round(missed(line), 6))
