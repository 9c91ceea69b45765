"""What this bowler's own first balls leave: which leaves he will face, and how often."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import x_board
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.physics.deck import PinDeck
from cardgen.physics.firstball import POCKET_BOARD, believed_shares, simulated_shares
from cardgen.profile.bowler import Bowler
from cardgen.targeting.conversion import Arrivals, expected

STRIKE_BALL = "strike"
_DECIMALS = 6  # far above rounding noise, so that ties break alike on every machine
TYPICAL_PINS = 8.0
"""What a first ball fells, where nothing better is known (common practice, no source)."""
_NEAR_BOARDS = 1.0
"""A wild bowler's strikes would peak between the two pockets, but nobody aims there (common
practice, no source)."""


@dataclass(frozen=True)
class FirstBall:
    """A bowler's strike line and what comes of it.

    ``stand`` and ``target`` in boards; ``strikes``: chance of a strike. ``pins``: felled on the
    average. ``shares``: of each leave among those that remain, as the bowler sees them.
    """

    stand: float
    target: float
    strikes: float
    pins: float
    shares: Mapping[Leave, float]


def first_ball(bowler: Bowler, arrivals: Arrivals, deck: PinDeck) -> FirstBall | None:
    """Return the line to the pocket with the best chance of a strike; None if there is none.

    ``arrivals`` are those of all lines that the bowler could throw with the ball for strikes.
    """
    lines, row = arrivals.lines, arrivals.row(FULL_RACK)
    off_pocket = np.abs(x_board(arrivals.x_m[:, row]) - POCKET_BOARD)
    to_pocket = np.flatnonzero(off_pocket <= _NEAR_BOARDS)
    if not to_pocket.size:
        return None
    ball = lines.ball
    response = deck.response(FULL_RACK, ball.ball.mass_kg)
    arriving = arrivals.weights(row, to_pocket)
    strikes = np.round(expected(arriving, response.chance[None])[:, 0], _DECIMALS)
    pick = int(strikes.argmax())
    best, weights = int(to_pocket[pick]), arriving[pick]
    shares = believed_shares(simulated_shares(deck.atlas, weights, ball.ball.mass_kg))
    return FirstBall(
        stand=float(lines.stand[best]),
        target=float(lines.target[best]),
        strikes=float(strikes[pick]),
        pins=float((weights * response.count).sum()),
        shares={bowler.inside(leave): share for leave, share in shares.items()},
    )
