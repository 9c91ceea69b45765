"""The strike line and what goes with it: its misses, what to move, and spares from its target."""

from dataclasses import dataclass

from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.physics.deck import PinDeck, shipped_deck
from cardgen.physics.grid import PLACES_M
from cardgen.targeting.chart import Chart
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.feetmoves import COLUMNS, FeetMove, feet_moves
from cardgen.targeting.line import Line
from cardgen.targeting.lines import lines_of
from cardgen.targeting.moves import Move, Shift, moves_of, shifts_of


@dataclass(frozen=True, eq=False)
class Strike:
    """A bowler's strike line on this lane.

    ``crossed`` is the share of shots that come in on the far side of the head pin, and
    ``crossed_strikes`` how many of those strike; ``shifts``: what feet only, one and one, and two
    and one do to the arrival.
    """

    line: Line
    crossed: float
    crossed_strikes: float
    moves: tuple[Move, ...]
    shifts: tuple[Shift, ...]
    feet: tuple[FeetMove, ...]


def strike_of(chart: Chart, line: Line, deck: PinDeck | None = None) -> Strike:
    """Return all there is to say of ``line``, the strike line of ``chart``."""
    pins = shipped_deck() if deck is None else deck
    bowler = chart.bowler
    ball = bowler.ball(line.ball)
    thrown = lines_of(bowler, ball, line.stand, line.target)
    response = pins.response(FULL_RACK, ball.ball.mass_kg)
    arrivals = Arrivals(thrown, bowler.spread, [FULL_RACK.front_row_m])
    weights = arrivals.weights(arrivals.row(FULL_RACK), settled=True)[0]
    far = weights[:, PLACES_M < 0]
    crossed = float(far.sum())
    struck = float((far * response.chance[:, PLACES_M < 0]).sum())
    leaves = [Leave.of(pin) for pin in COLUMNS]
    answers = {r.leave: r for r in pins.responses(leaves, ball.ball.mass_kg)}
    return Strike(
        line,
        crossed,
        struck / crossed if crossed else 0.0,
        tuple(moves_of(bowler, thrown)),
        tuple(shifts_of(bowler, thrown)),
        tuple(feet_moves(bowler, thrown, answers)),
    )
