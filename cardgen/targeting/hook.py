"""How much a ball hooks for this bowler on this lane, and how sure that is."""

from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import BOARD_M, HEAD_PIN_M
from cardgen.profile.belief import LANE, UNKNOWNS, Belief
from cardgen.profile.bowler import Bowler
from cardgen.targeting.lines import lines_of


@dataclass(frozen=True)
class Hook:
    """How far a ball comes in from where its launch pointed, at the head pin, and its deviation.

    Both in boards, positive away from the ball side.
    """

    boards: float
    unsure_boards: float


def hook_of(bowler: Bowler, ball: str, stand: float, target: float) -> Hook:
    """Return the hook of ``ball`` on the line from ``stand`` over ``target``."""
    turning = {f"{ball}_rotation", f"{ball}_speed", *LANE}
    rows = np.array([name in turning for name in UNKNOWNS])
    spread = []
    for column in (bowler.unsure * rows[:, np.newaxis]).T:
        if column.any():  # a deviation to each side
            more, less = (
                hook_boards(
                    bowler.believing(Belief(by * column, np.eye(column.size))), ball, stand, target
                )
                for by in (1.0, -1.0)
            )
            spread.append((more - less) / 2)
    return Hook(hook_boards(bowler, ball, stand, target), float(np.linalg.norm(spread)))


def hook_boards(bowler: Bowler, ball: str, stand: float, target: float) -> float:
    """Return the hook of ``ball`` alone, in boards, as ``Hook`` has it."""
    lines = lines_of(bowler, bowler.ball(ball), stand, target)
    straight = lines.laydown_x_m[0] - HEAD_PIN_M * np.tan(lines.launch_rad[0])
    return float(straight - lines.path([HEAD_PIN_M]).x_m[0, 0]) / BOARD_M
