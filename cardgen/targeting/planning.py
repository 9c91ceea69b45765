"""Deciding on a line for every leave, and on what to go for: all the pins or the sure ones."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.lane.rack import PIN_NUMBERS, Leave, pin_x_m, pin_y_m
from cardgen.physics.deck import REACH_M, Response, rows_at, windows
from cardgen.profile.bowler import KnownLine
from cardgen.targeting.aim import (
    Choice,
    Habits,
    Offer,
    Pick,
    Reason,
    choose,
    choose_by,
    near_best,
    plateau_at,
    plateau_of,
    room_between,
)
from cardgen.targeting.conversion import Arrivals, expected
from cardgen.targeting.line import Alternative, Play, told_chance

_AT_ONCE = 8192  # windows: enough to hide what a call costs, few enough for the cache
# All that follow are assumptions.
_WORTH_PINS = 0.1
"""Going for the count must gain so many pins a frame to be called better."""
_POINTS_PLATEAU = 0.05  # pins; no bowler can feel the difference
_GIVES_UP = 0.5  # a line with less than this share of the best chance gives the spare up
_HARDLY_MADE = 0.1  # a leave with less than this best chance is played for the count, if that pays
_STEADY = 2.0  # so many plateaus of chance are worth a line whose own shot is good
_BETTER = 1.25  # so many times the chance are worth another line when all are needed
_OTHER_PINS = 0.2  # a line for the count that gains less is not worth its place on a card


@dataclass(frozen=True)
class Plan:
    """A line decided on, before it is described; the leave is in the inside frame.

    ``other`` is the line for the other play, ``other_ball`` the best one with the other ball.
    """

    leave: Leave
    ball: str
    stand: float
    target: float
    reason: Reason
    runner_up: Alternative | None = None
    play: Play = Play.ALL
    other: Alternative | None = None
    other_ball: Alternative | None = None


@dataclass(frozen=True, eq=False)
class Menu:
    """What every line that the bowler could throw makes of every leave.

    n lines: ``ball`` names, ``stand``, ``target`` and ``laydown_x_m`` (n,); ``make`` (n, leaves) is
    the chance of each of ``leaves``, which are in the inside frame.
    """

    ball: tuple[str, ...]
    stand: FloatArray
    target: FloatArray
    laydown_x_m: FloatArray
    leaves: tuple[Leave, ...]
    make: FloatArray


Brought: TypeAlias = tuple[FloatArray, FloatArray, BoolArray]
"""What lines bring at a leave, each (lines,): chance of all, pins on the average, do they come."""


class Planner:
    """The lines of each ball, what they bring at each leave, and the choice between them.

    ``bags`` are the arrivals of each ball's lines, ``answers`` the leaves' responses to each ball.
    ``bonus_pins`` is what a spare wins on top of its pins: the next ball's.
    """

    def __init__(
        self,
        bags: Sequence[Arrivals],
        answers: Sequence[Mapping[Leave, Response]],
        bonus_pins: float,
    ) -> None:
        self._bonus_pins = bonus_pins
        self._bags = bags
        brought = self._all = [
            _brought(arrivals, list(responses.values()))
            for arrivals, responses in zip(bags, answers, strict=True)
        ]
        wanted = {leave: self._worth_a_look(leave, brought) for leave in answers[0]}
        self._offers: dict[Leave, list[Offer]] = {leave: [] for leave in answers[0]}
        for ball, (arrivals, responses) in enumerate(zip(bags, answers, strict=True)):
            lines = {leave: wanted[leave][ball] for leave in responses}
            uneven = _uneven(arrivals, responses, lines)
            for leave, response in responses.items():
                offer = Offer(arrivals, response, *brought[ball][leave], uneven[leave])
                self._offers[leave].append(offer)

    @property
    def menu(self) -> Menu:
        """All lines of all balls, with their chances."""
        leaves = tuple(self._all[0])
        sizes = [len(arrivals.lines) for arrivals in self._bags]
        return Menu(
            tuple(
                arrivals.lines.ball.name
                for arrivals, size in zip(self._bags, sizes, strict=True)
                for _ in range(size)
            ),
            np.concatenate([arrivals.lines.stand for arrivals in self._bags]),
            np.concatenate([arrivals.lines.target for arrivals in self._bags]),
            np.concatenate([arrivals.lines.laydown_x_m for arrivals in self._bags]),
            leaves,
            np.concatenate(
                [np.stack([each[leave][0] for leave in leaves], axis=1) for each in self._all]
            ),
        )

    def plans(
        self,
        leaves: Sequence[Leave],
        habits: Habits,
        printed: Mapping[Leave, KnownLine] | None = None,
    ) -> dict[Leave, Plan]:
        """Return a plan for each of ``leaves`` that a line comes to.

        In order: each leave sees the lines chosen for those before it. A line that was ``printed``
        for a leave stays its line if no other is better by as much as a bowler could feel.
        """
        plans = {}
        for leave in leaves:
            offers = self._offers[leave]
            choice = _choose_steady(offers, habits)
            if choice is None:
                continue
            plan = self._plan(leave, offers, choice, habits)
            if (old := (printed or {}).get(leave)) is not None:
                plan = self._unless_as_good(plan, offers, choice, old)
            habits = habits.with_line(plan.stand, plan.target)
            plans[leave] = plan
        return plans

    def _unless_as_good(
        self, plan: Plan, offers: Sequence[Offer], choice: Choice, old: KnownLine
    ) -> Plan:
        """Return ``plan``, or the ``old`` line in its place if that is nearly as good."""
        if (plan.ball, plan.stand, plan.target) == (old.ball, old.stand, old.target):
            return plan
        pick = _find(offers, old)
        if pick is None or not _is_steady(offers, pick):
            return plan
        best, kept = (self._alternative(offers, each) for each in (choice.best, pick))
        if plan.play is Play.COUNT:
            best = self._alternative(offers, _find(offers, plan) or choice.best)
            near = self._points(kept, plan.leave) >= (
                self._points(best, plan.leave) - _POINTS_PLATEAU
            )
        else:
            near = kept.make >= best.make - _STEADY * plateau_at(offers)
        if not near:
            return plan
        return replace(
            plan,
            ball=kept.ball,
            stand=kept.stand,
            target=kept.target,
            reason=Reason.KEPT,
            runner_up=best,
        )

    def with_other_ball(self, leave: Leave, ball: str, habits: Habits) -> Alternative | None:
        """Return the best line for ``leave`` with the ball that ``ball`` is not; None if none."""
        offers = [o for o in self._offers[leave] if o.arrivals.lines.ball.name != ball]
        choice = _choose_steady(offers, habits) if offers else None
        return None if choice is None else self._alternative(offers, choice.best)

    def _worth_a_look(
        self, leave: Leave, brought: Sequence[Mapping[Leave, Brought]]
    ) -> list[IndexArray]:
        """Return each ball's lines that are near the best, by the chance or by the points."""
        make, count, comes = zip(*(each[leave] for each in brought), strict=True)
        plateau = _STEADY * plateau_of(make, comes, leave)
        # Of each ball by itself: the card also tells what the other ball would do.
        by_chance = [
            near_best([of_ball], [there], plateau)[0]
            for of_ball, there in zip(make, comes, strict=True)
        ]
        if len(leave) == 1:
            return by_chance
        points = [c + self._bonus_pins * m for c, m in zip(count, make, strict=True)]
        by_points = near_best(points, comes, _POINTS_PLATEAU)
        return [np.union1d(a, b) for a, b in zip(by_chance, by_points, strict=True)]

    def _plan(self, leave: Leave, offers: Sequence[Offer], choice: Choice, habits: Habits) -> Plan:
        spare = self._alternative(offers, choice.best)
        second = None if choice.runner_up is None else self._alternative(offers, choice.runner_up)
        plan = Plan(leave, spare.ball, spare.stand, spare.target, choice.reason, second)
        if len(leave) == 1:
            return plan
        points = [offer.count + self._bonus_pins * offer.make for offer in offers]
        sure = choose_by(points, offers, habits, _POINTS_PLATEAU)
        if sure is None or sure.best == choice.best:
            return plan
        count = self._alternative(offers, sure.best)
        # Chances that count as equal are equal here too, and so are the pins that come of them.
        worth = _WORTH_PINS + self._bonus_pins * plateau_at(offers)
        gives_up = _gives_up(count, spare, leave)
        if self._points(count, leave) < self._points(spare, leave) + worth:
            return replace(plan, other=count if gives_up else None)
        for_count = gives_up or told_chance(spare.make, leave) < _HARDLY_MADE
        if not (for_count or _is_steady(offers, sure.best)):
            return plan
        return Plan(
            leave,
            count.ball,
            count.stand,
            count.target,
            Reason.COUNT,
            play=Play.COUNT if for_count else Play.ALL,
            other=spare if _is_better(spare, count, leave) else None,
        )

    def _points(self, line: Alternative, leave: Leave) -> float:
        return line.count + self._bonus_pins * told_chance(line.make, leave)

    def _alternative(self, offers: Sequence[Offer], pick: Pick) -> Alternative:
        offer = offers[pick.ball]
        lines = offer.arrivals.lines
        return Alternative(
            lines.ball.name,
            float(lines.stand[pick.line]),
            float(lines.target[pick.line]),
            float(offer.make[pick.line]),
            float(offer.count[pick.line]),
        )


def _choose_steady(offers: Sequence[Offer], habits: Habits) -> Choice | None:
    """Return the best line whose own mean shot is a good one, if it is not much worse than any.

    Between two windows a wild bowler's chance is best where a perfect shot makes nothing; nobody
    would aim there.
    """
    free = choose(offers, habits)
    if free is None or _is_steady(offers, free.best):
        return free
    steady = [replace(o, comes=o.comes & np.isfinite(o.uneven)) for o in offers]
    choice = choose(steady, habits)
    if choice is None:
        return free
    best, found = (float(offers[each.best.ball].make[each.best.line]) for each in (free, choice))
    return choice if found >= best - _STEADY * plateau_at(offers) else free


def _find(offers: Sequence[Offer], line: KnownLine | Plan) -> Pick | None:
    """Return which of the ``offers``' lines ``line`` is; None if it is none that comes."""
    for ball, offer in enumerate(offers):
        lines = offer.arrivals.lines
        if lines.ball.name == line.ball:
            same = (lines.stand == line.stand) & (lines.target == line.target) & offer.comes
            if same.any():
                return Pick(ball, int(same.argmax()))
    return None


def _is_steady(offers: Sequence[Offer], pick: Pick) -> bool:
    """Tell whether the mean shot of a line is a good one, with room to both sides."""
    return bool(np.isfinite(offers[pick.ball].uneven[pick.line]))


def _gives_up(count: Alternative, spare: Alternative, leave: Leave) -> bool:
    """Tell whether the line for the count has more pins but hardly a chance of all."""
    hardly = told_chance(count.make, leave) < _GIVES_UP * told_chance(spare.make, leave)
    return hardly and count.count >= spare.count + _OTHER_PINS


def _is_better(spare: Alternative, count: Alternative, leave: Leave) -> bool:
    """Tell whether the line for all the pins has a chance worth telling apart from the other's."""
    return told_chance(spare.make, leave) >= _BETTER * told_chance(count.make, leave)


def _brought(arrivals: Arrivals, responses: Sequence[Response]) -> dict[Leave, Brought]:
    """Return what the lines of one ball bring at each leave, a row of the rack at a time."""
    brought = {}
    rows = {arrivals.row(response.leave) for response in responses}
    for row in sorted(rows):
        there = [r for r in responses if arrivals.row(r.leave) == row]
        weights = arrivals.weights(row)
        make = expected(weights, np.stack([r.chance for r in there])).T
        count = expected(weights, np.stack([r.count for r in there])).T
        comes = _comes(arrivals, row, there)
        for k, response in enumerate(there):
            brought[response.leave] = (make[k], count[k], comes[k])
    return brought


def _comes(arrivals: Arrivals, row: int, responses: Sequence[Response]) -> BoolArray:
    """Return which mean shots (leaves, lines) touch a pin of each leave, still on the lane.

    By the pins' places, not by the grid: a cell beside a pin also holds balls that pass it by.
    """
    x, angle = arrivals.x_m[:, row, None], arrivals.angle_rad[:, row, None]
    row_m = responses[0].leave.front_row_m
    to_x = np.array([pin_x_m(pin) for pin in PIN_NUMBERS]) - x
    to_y = np.array([pin_y_m(pin) for pin in PIN_NUMBERS]) - row_m
    sine, cosine = np.sin(angle), np.cos(angle)
    aside = to_x * cosine + to_y * sine
    way = to_y * cosine - to_x * sine - np.sqrt(np.maximum(REACH_M**2 - aside**2, 0.0))
    touched = (np.abs(aside) < REACH_M) & (np.abs(x - way * sine) <= EDGE_M)
    comes: BoolArray = np.stack(
        [touched[:, [pin - 1 for pin in r.leave]].any(axis=1) for r in responses]
    )
    return comes


def _uneven(
    arrivals: Arrivals, responses: Mapping[Leave, Response], lines: Mapping[Leave, IndexArray]
) -> dict[Leave, FloatArray]:
    """Return how uneven the room of the ``lines`` asked about is at each leave, (n,) by leave.

    Without end for the other lines. All leaves at once, as far as they fit into the cache.
    """
    leaves = list(responses)
    uneven = np.full((len(leaves), len(arrivals.lines)), np.inf)
    maps = np.stack([responses[leave].smooth for leave in leaves])
    row_of = np.array([arrivals.row(leave) for leave in leaves])
    leaf = np.repeat(np.arange(len(leaves)), [len(lines[leave]) for leave in leaves])
    asked = np.concatenate([lines[leave] for leave in leaves])
    for start in range(0, len(asked), _AT_ONCE):
        at, which = leaf[start : start + _AT_ONCE], asked[start : start + _AT_ONCE]
        rows = row_of[at]
        x, angle = arrivals.x_m[which, rows], arrivals.angle_rad[which, rows]
        ends = windows(rows_at(maps, at, angle), x)
        uneven[at, which] = room_between(arrivals, rows, which, ends).uneven
    return dict(zip(leaves, uneven, strict=True))
