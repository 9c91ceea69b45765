"""The chart: one line a leave, for one bowler on one lane."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from cardgen.lane.geometry import CENTRE_BOARD
from cardgen.lane.rack import FULL_RACK, ROWS_M, SINGLE_PINS, Leave
from cardgen.physics.deck import PinDeck, shipped_deck
from cardgen.profile.bowler import Bowler, KnownLine
from cardgen.targeting.aim import Habits, Reason
from cardgen.targeting.candidates import candidates
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.describe import describe
from cardgen.targeting.firstball import STRIKE_BALL, TYPICAL_PINS, FirstBall, first_ball
from cardgen.targeting.fit import Fit, believing, remembered
from cardgen.targeting.line import Line
from cardgen.targeting.otherball import other_balls
from cardgen.targeting.planning import Menu, Plan, Planner
from cardgen.targeting.sections import in_sections

COMMON = 20
"""So many leaves of several pins, the likeliest, are in a chart nobody chose the leaves of (an
assumption: what a booklet for the bag still holds)."""


@dataclass(frozen=True, eq=False)
class Chart:
    """A bowler's lines, one a leave, and the habits they rest on.

    ``bowler`` already has the fitted habits; ``unanswered`` are the leaves without a line.
    ``first_ball`` is None for a bowler none of whose lines comes to the pocket; ``menu`` is what
    all his lines make of the chart's spares, None if it has none.
    """

    bowler: Bowler
    fit: Fit
    favourite_target: float
    first_ball: FirstBall | None
    lines: tuple[Line, ...]
    unanswered: tuple[Leave, ...]
    menu: Menu | None = None

    @property
    def from_defaults(self) -> bool:
        """Whether nothing but defaults tells where this bowler's balls go."""
        return not (self.fit.belief.shots or self.fit.lines_used or self.bowler.measured)


def chart_for(
    bowler: Bowler, leaves: Iterable[Leave] | None = None, deck: PinDeck | None = None
) -> Chart:
    """Return the chart of ``leaves``, in their order.

    Without any: of the full rack (the strike line), the single pins, the likeliest others after
    this bowler's own first balls, and those he has lines of his own for, by sections and the
    likeliest first.
    """
    pins = shipped_deck() if deck is None else deck
    fit = remembered(bowler, pins)
    fitted = believing(bowler, fit)
    bags = [Arrivals(candidates(fitted, ball), fitted.spread, ROWS_M) for ball in fitted.balls]
    strikes = next(bag for bag in bags if bag.lines.ball.name == STRIKE_BALL)
    first = first_ball(fitted, strikes, pins)
    asked = tuple(dict.fromkeys(_usual(bowler, first) if leaves is None else leaves))
    habits = Habits(
        _favourite_target(fit.believed),
        frozenset((line.stand, line.target) for line in fit.believed),
    )
    lines, menu = _lines(fitted, asked, bags, first, pins, habits)
    found = [lines[leave] for leave in asked if leave in lines]
    return Chart(
        fitted,
        fit,
        habits.favourite_target,
        first,
        tuple(found if leaves is not None else in_sections(found, bowler, first)),
        tuple(leave for leave in asked if leave not in lines),
        menu,
    )


def _usual(bowler: Bowler, first: FirstBall | None) -> list[Leave]:
    """Return the leaves of a chart that nobody chose them for."""
    own = [line.leave for line in bowler.known_lines]
    rack = [] if first is None else [FULL_RACK]
    shares = {} if first is None else first.shares
    several = [leave for leave in shares if len(leave) > 1]
    several.sort(key=lambda leave: (-shares[leave], bowler.inside(leave)))
    return [*rack, *SINGLE_PINS, *several[:COMMON], *own]


def _favourite_target(lines: Sequence[KnownLine]) -> float:
    """Return the target that ``lines`` use most, else the centre arrow (an assumption)."""
    if not lines:
        return CENTRE_BOARD
    uses = Counter(line.target for line in lines)
    return min(uses, key=lambda t: (-uses[t], abs(t - CENTRE_BOARD), t))


def _lines(
    bowler: Bowler,
    leaves: Sequence[Leave],
    bags: Sequence[Arrivals],
    first: FirstBall | None,
    deck: PinDeck,
    habits: Habits,
) -> tuple[dict[Leave, Line], Menu | None]:
    """Return the lines by leave, the bowler's own as they are, others computed; and the menu."""
    # Inside order, so that a left-hander's chart mirrors a right-hander's whatever was asked.
    inside = sorted(bowler.inside(leave) for leave in leaves)
    if not inside:
        return {}, None
    menu = None
    answers = {
        ball.name: {r.leave: r for r in deck.responses(inside, ball.ball.mass_kg)}
        for ball in bowler.balls
    }
    plans = {
        (leave := bowler.inside(own.leave)): Plan(
            leave, own.ball, own.stand, own.target, Reason.OWN
        )
        for own in bowler.known_lines
        if own.leave in leaves
    }
    if first is not None and FULL_RACK in inside and FULL_RACK not in plans:
        plans[FULL_RACK] = Plan(FULL_RACK, STRIKE_BALL, first.stand, first.target, Reason.STRIKE)
    spares = [leave for leave in inside if leave != FULL_RACK]
    if spares:
        planner = Planner(
            bags,
            [{leave: answers[ball.name][leave] for leave in spares} for ball in bowler.balls],
            TYPICAL_PINS if first is None else first.pins,
        )
        menu = planner.menu
        printed = {bowler.inside(line.leave): line for line in bowler.printed}
        plans |= planner.plans([leave for leave in spares if leave not in plans], habits, printed)
        for leave in spares:
            if plan := plans.get(leave):
                other = planner.with_other_ball(leave, plan.ball, habits)
                plans[leave] = replace(plan, other_ball=other)
    lines = {
        bowler.inside(line.leave): line
        for ball in bowler.balls
        for line in describe(
            bowler, ball, [p for p in plans.values() if p.ball == ball.name], answers[ball.name]
        )
    }
    make = {leave: line.odds.make for leave, line in lines.items()}
    others = other_balls(bowler, list(plans.values()), make, answers)
    return {
        line.leave: replace(line, other_ball=others.get(leave)) for leave, line in lines.items()
    }, menu
