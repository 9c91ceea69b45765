"""Which ball: what the line with the other ball costs, on this lane and on a drier one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response
from cardgen.profile.bowler import Bowler
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.line import OtherBall, told_chance
from cardgen.targeting.lines import lines_of
from cardgen.targeting.planning import Plan


@dataclass(frozen=True)
class _Throw:
    """A line of one ball at a leave."""

    leave: Leave
    ball: str
    stand: float
    target: float


def other_balls(
    bowler: Bowler,
    plans: Sequence[Plan],
    make: Mapping[Leave, float],
    answers: Mapping[str, Mapping[Leave, Response]],
) -> dict[Leave, OtherBall]:
    """Return what the other ball would do at the leaves of ``plans`` that it has a line for.

    ``make`` is the chance of each planned line, ``answers`` the responses by ball. A drier lane is
    met unawares: the bowler aims as on the lane he thinks it is.
    """
    told = [(plan, other) for plan in plans if (other := plan.other_ball) is not None]
    chosen = [_Throw(plan.leave, plan.ball, plan.stand, plan.target) for plan, _ in told]
    others = [_Throw(plan.leave, o.ball, o.stand, o.target) for plan, o in told]
    drier = _on_drier_lane(bowler, [*chosen, *others], answers)
    return {
        throw.leave: OtherBall(
            replace(line, make=told_chance(line.make, throw.leave)),
            make[throw.leave] - told_chance(line.make, throw.leave),
            drier[throw] - drier[other],
        )
        for (_, line), throw, other in zip(told, chosen, others, strict=True)
    }


def _on_drier_lane(
    bowler: Bowler, throws: Sequence[_Throw], answers: Mapping[str, Mapping[Leave, Response]]
) -> dict[_Throw, float]:
    """Return the chance of each throw if the lane is drier than the bowler thinks."""
    found: dict[_Throw, float] = {}
    drier = bowler.lane.drier
    for ball in bowler.balls:
        mine = [throw for throw in throws if throw.ball == ball.name]
        if not mine:
            continue
        aimed = lines_of(bowler, ball, [t.stand for t in mine], [t.target for t in mine])
        thrown = replace(aimed, ball=ball.on(drier))
        rows = sorted({throw.leave.front_row_m for throw in mine})
        arrivals = Arrivals(thrown, bowler.spread, rows)
        for row_m in rows:
            which = np.array([i for i, t in enumerate(mine) if t.leave.front_row_m == row_m])
            weights = arrivals.weights(arrivals.row(mine[which[0]].leave), which, settled=True)
            for i, cells in zip(which.tolist(), weights, strict=True):
                throw = mine[i]
                chance = float((cells * answers[ball.name][throw.leave].chance).sum())
                found[throw] = told_chance(chance, throw.leave)
    return found
