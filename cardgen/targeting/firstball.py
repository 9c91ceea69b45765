"""What this bowler's own first balls leave: which leaves he will face, and how often."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cardgen.lane.geometry import IndexArray, x_board
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.physics.deck import PinDeck
from cardgen.physics.firstball import POCKET_BOARD, believed_shares, simulated_shares
from cardgen.profile.bowler import Bowler
from cardgen.targeting.conversion import Arrivals, expected
from cardgen.targeting.lines import lines_of

STRIKE_BALL = "strike"
_DECIMALS = 6  # far above rounding noise, so that ties break alike on every machine
TYPICAL_PINS = 8.0
"""What a first ball fells, where nothing better is known (common practice, no source)."""
_AS_GOOD = 0.02  # a bowler who has learned a line keeps it for less (an assumption)
_NEAR_BOARDS = 0.5
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
    """Return the bowler's own line for strikes, else the one to the pocket with the best chance.

    None if no line comes to the pocket. ``arrivals`` are those of all lines that the bowler could
    throw with the ball for strikes. The lane counts as known: a bowler moves until the ball comes
    in.
    """
    ball = arrivals.lines.ball
    own = [x for x in bowler.known_lines if x.leave == FULL_RACK and x.ball == ball.name]
    if own:
        thrown = lines_of(bowler, ball, own[0].stand, own[0].target)
        arrivals = Arrivals(thrown, bowler.spread, [FULL_RACK.front_row_m])
    lines, row = arrivals.lines, arrivals.row(FULL_RACK)
    to_pocket = np.arange(len(lines)) if own else _to_pocket(arrivals)
    if not to_pocket.size or not np.isfinite(arrivals.x_m[to_pocket, row]).all():
        return None
    response = deck.response(FULL_RACK, ball.ball.mass_kg)
    arriving = arrivals.weights(row, to_pocket, settled=True)
    strikes = np.round(expected(arriving, response.chance[None])[:, 0], _DECIMALS)
    pick = int(strikes.argmax())
    for line in bowler.printed:
        if line.leave == FULL_RACK:
            here = lines.pick(to_pocket)
            same = (here.stand == line.stand) & (here.target == line.target)
            near = np.flatnonzero(same & (strikes >= strikes[pick] - _AS_GOOD))
            pick = int(near[0]) if near.size else pick
    best, weights = int(to_pocket[pick]), arriving[pick]
    try:
        simulated = simulated_shares(deck.atlas, weights, ball.ball.mass_kg)
    except ValueError:  # a line of the bowler's own that misses the rack
        return None
    return FirstBall(
        stand=float(lines.stand[best]),
        target=float(lines.target[best]),
        strikes=float(strikes[pick]),
        pins=float((weights * response.count).sum()),
        shares={bowler.inside(leave): share for leave, share in believed_shares(simulated).items()},
    )


def _to_pocket(arrivals: Arrivals) -> IndexArray:
    """Return the lines that come to the pocket."""
    off = np.abs(x_board(arrivals.x_m[:, arrivals.row(FULL_RACK)]) - POCKET_BOARD)
    near = off <= _NEAR_BOARDS
    # Stands in whole boards may leave none so near.
    return np.flatnonzero(near if near.any() else off <= 2 * _NEAR_BOARDS)
