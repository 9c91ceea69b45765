"""What cards say about planned lines, worked out for all lines of a ball at once."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from cardgen.lane.geometry import BOARD_M, FloatArray, x_board
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.physics.deck import Response, first_touch, rows_at, windows
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.action import action_of, imagined_pin
from cardgen.targeting.aim import believable, room_between
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.line import Alternative, Line, Odds, told_chance
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.targeting.planning import Plan
from cardgen.targeting.trace import traces

EIGHT_IN_TEN = 1.2816
"""Deviations to each side of the mean within which a normal value is 8 times in 10."""


def describe(
    bowler: Bowler, ball: BallChoice, plans: Sequence[Plan], answers: Mapping[Leave, Response]
) -> Iterator[Line]:
    """Yield the planned lines of one ball, described; without what the other ball would do."""
    if not plans:
        return
    stand = np.array([plan.stand for plan in plans])
    target = np.array([plan.target for plan in plans])
    rows = np.array([plan.leave.front_row_m for plan in plans])
    thrown, foot_effect, target_effect = _thrown(bowler, ball, stand, target, rows)
    arrivals = Arrivals(thrown, bowler.spread, sorted(set(rows.tolist())))
    every, planes = np.arange(len(plans)), [arrivals.row(plan.leave) for plan in plans]
    x_row, entry = arrivals.x_m[every, planes], arrivals.angle_rad[every, planes]
    touches = [
        first_touch(plan.leave, float(x), float(angle))
        for plan, x, angle in zip(plans, x_row, entry, strict=True)
    ]
    ends = np.array(
        [row if touch is None else touch.y_m for row, touch in zip(rows, touches, strict=True)]
    )
    paths, lost = traces(thrown, ends)
    reaches = [touch is not None and i not in lost for i, touch in enumerate(touches)]
    odds = _odds(bowler, arrivals, plans, answers, reaches, foot_effect)
    for i, plan in enumerate(plans):
        x, angle, touch = float(x_row[i]), float(entry[i]), touches[i]
        yield Line(
            leave=bowler.inside(plan.leave),
            ball=ball.name,
            stand=plan.stand,
            target=plan.target,
            laydown=float(x_board(thrown.laydown_x_m[i])),
            arrive=float(x_board(x)),
            entry_rad=angle,
            odds=odds[i],
            action=action_of(touch, answers[plan.leave], x, angle, bowler.hand)
            if touch is not None and reaches[i]
            else None,
            imagine=imagined_pin(plan.leave, x, angle, bowler.hand) if reaches[i] else None,
            reaches=reaches[i],
            reason=plan.reason,
            runner_up=_told(plan.runner_up, plan.leave),
            play=plan.play,
            other=_told(plan.other, plan.leave),
            other_ball=None,
            foot_effect_boards=float(foot_effect[i]),
            target_effect_boards=float(target_effect[i]),
            trace=paths[i],
        )


def _thrown(
    bowler: Bowler, ball: BallChoice, stand: FloatArray, target: FloatArray, rows_m: FloatArray
) -> tuple[LineSet, FloatArray, FloatArray]:
    """Return n lines, and how many boards the feet and the target by one move their arrivals.

    The latter (n,) each; half of what a board to each side makes.
    """
    by = np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]])
    stands, targets = (stand + by[:, :1]).ravel(), (target + by[:, 1:]).ravel()
    all_lines = lines_of(bowler, ball, stands, targets)
    count = len(stand)
    moved = all_lines.pick(np.arange(count, len(all_lines)))
    path = moved.path(np.tile(rows_m, len(by) - 1)[:, np.newaxis])
    arrive = x_board(path.x_m[:, 0]).reshape(-1, count)
    thrown = all_lines.pick(np.arange(count))
    return thrown, (arrive[0] - arrive[1]) / 2, (arrive[2] - arrive[3]) / 2


def _told(line: Alternative | None, leave: Leave) -> Alternative | None:
    if line is None:
        return None
    make = told_chance(line.make, leave)
    return Alternative(line.ball, line.stand, line.target, make, line.count)


def _odds(
    bowler: Bowler,
    arrivals: Arrivals,
    plans: Sequence[Plan],
    answers: Mapping[Leave, Response],
    reaches: Sequence[bool],
    foot_effect: FloatArray,
) -> list[Odds]:
    responses = [answers[plan.leave] for plan in plans]
    rows = np.array([arrivals.row(plan.leave) for plan in plans])
    make, count = np.zeros(len(plans)), np.zeros(len(plans))
    racks = np.array([plan.leave == FULL_RACK for plan in plans])
    for row, full in sorted(set(zip(rows.tolist(), racks.tolist(), strict=True))):
        there = np.flatnonzero((rows == row) & (racks == full))
        # A strike line is moved until it comes in; a spare is thrown once.
        weights = arrivals.weights(int(row), there, settled=full)
        for said, cells in (
            (make, np.stack([responses[i].chance for i in there])),
            (count, np.stack([responses[i].count for i in there])),
        ):
            said[there] = (weights * cells).sum(axis=(1, 2))
    every = np.arange(len(plans))
    x, angle = arrivals.x_m[every, rows], arrivals.angle_rad[every, rows]
    ends = windows(rows_at(np.stack([r.smooth for r in responses]), every, angle), x)
    # A strike line is moved until it comes in, so nobody is unsure where it does.
    unsure_m = np.where(racks, 0.0, arrivals.unsure_m(rows, every))
    ends = believable(ends, unsure_m)
    room = room_between(arrivals, rows, every, ends)
    with np.errstate(divide="ignore"):
        unsure = EIGHT_IN_TEN * unsure_m / BOARD_M / np.abs(foot_effect)
    # As the bowler looks: a left-hander's right is the inside frame's left.
    left, right = (room.left, room.right)[:: bowler.hand.mirror]
    near, far = x_board(ends[1]), x_board(ends[0])
    return [
        Odds(
            # A line that misses has the chance of a slip, which nobody should be told is more.
            make=told_chance(float(make[i]), plan.leave) if reaches[i] else float(make[i]),
            count=float(count[i]),
            room_left=float(left[i]),
            room_right=float(right[i]),
            window_boards=(float(near[i]), float(far[i])),
            unsure_boards=float(unsure[i]),
            arrive_unsure_boards=float(EIGHT_IN_TEN * unsure_m[i] / BOARD_M),
            doubt=responses[i].doubt,
            estimate=responses[i].estimate,
        )
        for i, plan in enumerate(plans)
    ]
