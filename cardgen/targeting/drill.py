"""What to throw next: the lines that tell most about the chart, and the leaves worth practising."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.lane.rack import FULL_RACK
from cardgen.physics.deck import PinDeck, shipped_deck
from cardgen.profile.belief import Belief
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import Chart
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.evidence import Throw, answers_to, expected_of
from cardgen.targeting.fit import for_another_day
from cardgen.targeting.likelihood import READ_SD
from cardgen.targeting.line import Line, told_chance
from cardgen.targeting.lines import lines_of

DRILL_LINES = 3
DRILL_THROWS = 3
"""Throws of each line: enough to see past one bad shot (an assumption)."""
STEADIER = 0.8
"""What practice can win is what shots a fifth less astray would (an assumption; the levels of the
accuracy test are a quarter to a third apart)."""
_SEEN = slice(0, 2)  # of a drill's shots the boards are written down, at the arrows and the pins


@dataclass(frozen=True)
class DrillThrow:
    """A line to throw ``DRILL_THROWS`` times, and how sure the chart's arrivals are after it.

    ``unsure_boards``: root mean square over the leaves as often as they are faced, at the pins.
    """

    line: Line
    unsure_boards: float


@dataclass(frozen=True)
class Drill:
    """The lines to throw next, in order, and how unsure the chart's arrivals are before."""

    unsure_boards: float
    throws: tuple[DrillThrow, ...]


@dataclass(frozen=True)
class Practice:
    """What practising a leave is worth.

    ``faced``: how often in 100 first balls; ``better``: the chance with steadier shots; ``wins``:
    so many more spares in 100 first balls.
    """

    line: Line
    faced: float
    better: float
    wins: float


def drill_of(chart: Chart, deck: PinDeck | None = None) -> Drill | None:
    """Return the lines whose shots would tell most of where the chart's balls arrive.

    Most: the expected fall of the variance of the arrivals on another day, weighted by how often
    each leave is faced; a line comes once in a drill. Single pins and the strike line are thrown
    at, if the chart has any. None for a chart of no spares.
    """
    pins = shipped_deck() if deck is None else deck
    lines = [line for line in chart.lines if line.reaches]
    spares = np.array([line.leave != FULL_RACK for line in lines])
    if not spares.any():
        return None
    bowler = chart.bowler
    throws = [Throw(x.ball, x.stand, x.target, bowler.inside(x.leave)) for x in lines]
    expected = expected_of(bowler, throws, answers_to(bowler, pins, throws), bowler.spread)
    weights = np.where(spares, _faced(chart, lines), 0.0)
    weights = weights / weights.sum() if weights.any() else spares / spares.sum()
    strays = bowler.spread
    variance = np.array([strays.launch_rad, strays.laydown_m, strays.speed_mps]) ** 2
    noise = (expected.by_stray * variance) @ expected.by_stray.transpose(0, 2, 1)
    noise = noise[:, _SEEN, _SEEN] + np.diag(READ_SD[_SEEN] ** 2)
    noise[:, 1, 1] += expected.rest_m2
    noise = noise / DRILL_THROWS
    told, arrive = expected.by_unknown[:, _SEEN], expected.by_unknown[:, 1]
    covariance = bowler.unsure @ bowler.unsure.T
    # A lane sets up single pins for nobody, but anybody can throw where one would stand.
    easy = [i for i, line in enumerate(lines) if len(line.leave) == 1 or not spares[i]]
    left = easy or list(range(len(lines)))
    chosen: list[DrillThrow] = []
    before = _unsure_boards(arrive, covariance, weights)
    while left and len(chosen) < DRILL_LINES:
        after = {i: _after(covariance, told[i], noise[i]) for i in left}
        unsure = {
            i: _unsure_boards(arrive, _on_another_day(bowler, after[i]), weights) for i in left
        }
        best = min(left, key=lambda i: round(unsure[i], 6))
        covariance = after[best]
        left.remove(best)
        chosen.append(DrillThrow(lines[best], unsure[best]))
    return Drill(before, tuple(chosen))


def practice_of(chart: Chart, deck: PinDeck | None = None) -> tuple[Practice, ...]:
    """Return the spares of ``chart``, those first whose practice wins most.

    That is how often the bowler faces the leave, times the chance of missing it, times the share of
    those misses that steadier shots on the same line would make. Empty where nothing is known of
    the bowler's first balls.
    """
    first = chart.first_ball
    if first is None:
        return ()
    pins = shipped_deck() if deck is None else deck
    lines = [line for line in chart.lines if line.leave != FULL_RACK and line.reaches]
    frames = 100 * (1 - first.strikes)
    faced = frames * _faced(chart, lines)
    better = _with_spread(chart, lines, pins, _steadier(chart.bowler.spread))
    plan = [
        Practice(line, float(often), float(made), float(often * max(made - line.odds.make, 0.0)))
        for line, often, made in zip(lines, faced, better, strict=True)
    ]
    return tuple(sorted(plan, key=lambda each: -round(each.wins, 6)))


def _faced(chart: Chart, lines: Sequence[Line]) -> FloatArray:
    shares = {} if chart.first_ball is None else chart.first_ball.shares
    return np.array([shares.get(line.leave, 0.0) for line in lines])


def _unsure_boards(arrive: FloatArray, covariance: FloatArray, weights: FloatArray) -> float:
    variance = np.einsum("ik,kl,il->i", arrive, covariance, arrive)
    return float(np.sqrt(weights @ variance)) / BOARD_M


def _on_another_day(bowler: Bowler, covariance: FloatArray) -> FloatArray:
    """Return the covariance (k, k) on the lane of another day than the drill's."""
    belief = Belief(np.zeros(len(covariance)), covariance)
    return for_another_day(bowler, belief, days=1.0).covariance


def _after(covariance: FloatArray, told: FloatArray, noise: FloatArray) -> FloatArray:
    """Return the covariance (k, k) once ``told`` (2, k) has been seen with ``noise`` (2, 2)."""
    pulled = covariance @ told.T
    gain = np.linalg.solve(told @ pulled + noise, pulled.T)
    return np.asarray(covariance - pulled @ gain, np.float64)


def _steadier(spread: Spread) -> Spread:
    return replace(
        spread,
        laydown_m=STEADIER * spread.laydown_m,
        launch_rad=STEADIER * spread.launch_rad,
        speed_mps=STEADIER * spread.speed_mps,
    )


def _with_spread(chart: Chart, lines: Sequence[Line], deck: PinDeck, spread: Spread) -> FloatArray:
    """Return the chance (n,) of each of ``lines`` if shots strayed by ``spread``."""
    bowler, made = chart.bowler, np.zeros(len(lines))
    throws = [Throw(x.ball, x.stand, x.target, bowler.inside(x.leave)) for x in lines]
    answers = answers_to(bowler, deck, throws)
    for ball in bowler.balls:
        mine = [i for i, line in enumerate(lines) if line.ball == ball.name]
        if not mine:
            continue
        thrown = lines_of(
            bowler, ball, [lines[i].stand for i in mine], [lines[i].target for i in mine]
        )
        leaves = [bowler.inside(lines[i].leave) for i in mine]
        arrivals = Arrivals(thrown, spread, sorted({leave.front_row_m for leave in leaves}))
        for k, (i, leave) in enumerate(zip(mine, leaves, strict=True)):
            chance = arrivals.conversion(answers[ball.name, leave], np.array([k]))[0]
            made[i] = told_chance(float(chance), leave)
    return made
