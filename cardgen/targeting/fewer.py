"""Fewer lines: the few that keep most of the spares, and the leaves that each of them serves.

Nobody remembers thirty lines at the lane, and nobody needs to: one line serves several leaves.
"""

from dataclasses import dataclass, replace

import numpy as np

from cardgen.lane.geometry import ARROW_BOARDS, BOARD_M, EDGE_M, FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import PinDeck, shipped_deck
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import Chart
from cardgen.targeting.covering import Cover, curve, whole
from cardgen.targeting.describe import describe
from cardgen.targeting.line import Line, told_chance
from cardgen.targeting.planning import Menu, Plan

MOST_LINES = 8
"""Nobody carries more in the head (an assumption)."""
GUTTER_BOARDS = 3.0
"""A ball set down nearer to the edge is nothing to remember (an assumption)."""
ENOUGH = 0.95
"""Of what all lines keep; what is missing then is a spare in some hundred frames (derived)."""


@dataclass(frozen=True)
class Served:
    """A leave that a line serves, with its chance."""

    leave: Leave
    make: float


@dataclass(frozen=True)
class FewLine:
    """A line to remember, and the leaves to throw it at, those that come most often first."""

    ball: str
    stand: float
    target: float
    serves: tuple[Served, ...]


@dataclass(frozen=True)
class FewLines:
    """The lines to remember, the one that adds most first.

    ``kept``: for 1, 2, 3 and so on lines, the share of the spares of all lines together that they
    keep; ``exact``: for each, whether no others as easy to remember keep more. Spares count as
    often as this bowler faces them; those he has lines of his own for do not, he keeps these.
    """

    lines: tuple[FewLine, ...]
    kept: tuple[float, ...]
    exact: tuple[bool, ...]


def few_lines(chart: Chart, count: int | None = None) -> FewLines | None:
    """Return the ``count`` best lines for the spares of ``chart``, else as many as are worth it.

    None for a chart of no spares that any line makes.
    """
    menu = chart.menu
    if menu is None or not menu.make.size:
        return None
    menu = _without_own(chart, menu)
    if not menu.leaves:
        return None
    weights = _weights(chart, menu.leaves)
    most = max(MOST_LINES, count or 0)
    everything = whole(menu.make, weights)
    if not everything:
        return None
    menu = _easy(menu)
    covers = curve(menu.make, weights, most, exact=None)
    kept = tuple(cover.kept / everything for cover in covers)
    chosen = covers[_enough(kept) if count is None else count - 1]
    return FewLines(
        tuple(_few_line(chart, menu, chosen, k, weights) for k in range(len(chosen.lines))),
        kept,
        tuple(cover.exact for cover in covers),
    )


def few_described(chart: Chart, few: FewLines, deck: PinDeck | None = None) -> tuple[Line, ...]:
    """Return each of the few lines that serves a leave, described for the likeliest of those."""
    pins, bowler = shipped_deck() if deck is None else deck, chart.bowler
    described = {}
    for ball in bowler.balls:
        plans = [
            Plan(
                bowler.inside(line.serves[0].leave),
                ball.name,
                line.stand,
                line.target,
                Reason.CHANCE,
            )
            for line in few.lines
            if line.ball == ball.name and line.serves
        ]
        leaves = [plan.leave for plan in plans]
        answers = {r.leave: r for r in pins.responses(leaves, ball.ball.mass_kg)}
        for line in describe(bowler, ball, plans, answers):
            described[line.ball, line.stand, line.target] = line
    return tuple(described[line.ball, line.stand, line.target] for line in few.lines if line.serves)


def _without_own(chart: Chart, menu: Menu) -> Menu:
    """Return ``menu`` without the leaves that the bowler has lines of his own for."""
    own = {chart.bowler.inside(line.leave) for line in chart.lines if line.known}
    left = [i for i, leave in enumerate(menu.leaves) if leave not in own]
    return replace(menu, leaves=tuple(menu.leaves[i] for i in left), make=menu.make[:, left])


def _easy(menu: Menu) -> Menu:
    """Return the lines of ``menu`` that are looked at within the arrows and set down well inside.

    A line along the gutter may be a hair better, but nobody remembers it gladly.
    """
    first, last = ARROW_BOARDS[0], ARROW_BOARDS[-1]
    inside = np.abs(menu.laydown_x_m) <= EDGE_M - GUTTER_BOARDS * BOARD_M
    easy = np.flatnonzero(inside & (menu.target >= first) & (menu.target <= last))
    if not easy.size:
        return menu
    return Menu(
        tuple(menu.ball[i] for i in easy),
        menu.stand[easy],
        menu.target[easy],
        menu.laydown_x_m[easy],
        menu.leaves,
        menu.make[easy],
    )


def _enough(kept: tuple[float, ...]) -> int:
    enough = (k for k, share in enumerate(kept) if round(share, 2) >= ENOUGH)  # as it is printed
    return next(enough, MOST_LINES - 1)


def _weights(chart: Chart, leaves: tuple[Leave, ...]) -> FloatArray:
    """Return how often the bowler faces each of ``leaves`` of the inside frame."""
    bowler, first = chart.bowler, chart.first_ball
    shares = {} if first is None else first.shares
    weights = np.array([shares.get(bowler.inside(leave), 0.0) for leave in leaves])
    return weights if weights.any() else np.ones(len(leaves))


def _few_line(chart: Chart, menu: Menu, cover: Cover, k: int, weights: FloatArray) -> FewLine:
    at = cover.lines[k]
    mine = [j for j in np.argsort(-weights, kind="stable").tolist() if cover.serves[j] == k]
    return FewLine(
        menu.ball[at],
        float(menu.stand[at]),
        float(menu.target[at]),
        tuple(
            Served(
                chart.bowler.inside(menu.leaves[j]),
                told_chance(float(menu.make[at, j]), menu.leaves[j]),
            )
            for j in mine
        ),
    )
