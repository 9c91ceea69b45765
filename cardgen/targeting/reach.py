"""Why no line comes to a leave: the boards a bowler can stand on, or a ball that hooks too far."""

from dataclasses import replace

import numpy as np

from cardgen.lane.geometry import BOARD_M, BOARDS, CENTRE_BOARD, x_board
from cardgen.lane.rack import FULL_RACK, Leave, pin_x_m
from cardgen.physics.deck import REACH_M
from cardgen.physics.firstball import POCKET_BOARD
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.candidates import candidates
from cardgen.targeting.firstball import STRIKE_BALL
from cardgen.targeting.hook import hook_boards

_NEAR_POCKET_BOARDS = 1.0  # as a strike line may be off it


def overhook_boards(bowler: Bowler, ball: str) -> float | None:
    """Return how far ``ball`` hooks on the way to the head pin, if too far to come to it.

    That is more boards than the lane has, and no line from any board helps.
    """
    stand = CENTRE_BOARD + bowler.habits.gap_m / BOARD_M  # set down about the middle
    boards = abs(hook_boards(bowler, ball, stand, CENTRE_BOARD))
    if not boards > BOARDS:  # a ball that stops short has none
        return None
    anywhere = replace(bowler, stand_boards=(1, BOARDS))
    first = FULL_RACK if ball == STRIKE_BALL else Leave.of(1)
    return None if _comes(anywhere, bowler.ball(ball), first) else boards


def hooks_too_far(bowler: Bowler, leave: Leave) -> tuple[str, ...]:
    """Return the balls that would come to ``leave`` if only they turned less.

    ``bowler`` has no line for it. None of them if other boards to stand on would do, or nothing
    that is known here.
    """
    inside = bowler.inside(leave)
    balls = [b for b in bowler.balls if leave != FULL_RACK or b.name == STRIKE_BALL]
    anywhere = replace(bowler, stand_boards=(1, BOARDS))
    if any(_comes(anywhere, ball, inside) for ball in balls):
        return ()
    straight = [(ball, replace(ball, rev_radps=0.0, rotation_rad=0.0)) for ball in balls]
    return tuple(ball.name for ball, rolled in straight if _comes(bowler, rolled, inside))


def _comes(bowler: Bowler, ball: BallChoice, leave: Leave) -> bool:
    """Tell whether any line of ``ball`` comes to the pocket, or to a front pin of ``leave``."""
    x_m = candidates(bowler, ball).path([leave.front_row_m]).x_m[:, 0]
    if leave == FULL_RACK:
        return bool((np.abs(x_board(x_m) - POCKET_BOARD) <= _NEAR_POCKET_BOARDS).any())
    off = np.abs(x_m[:, np.newaxis] - [pin_x_m(pin) for pin in leave])
    return bool((off < REACH_M).any())
