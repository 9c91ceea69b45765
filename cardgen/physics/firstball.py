"""What a ball at a full rack leaves standing, from the atlas's full-rack runs."""

from collections.abc import Mapping

import numpy as np

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import PIN_NUMBERS, Leave, mirrored_pin
from cardgen.physics.atlas import Atlas, leave_of_bits
from cardgen.physics.grid import HALF_ANGLES, HALF_PLACES, PLACES

COUNTED: Mapping[Leave, float] = {
    Leave.of(10): 0.255,
    Leave.of(7): 0.120,
    Leave.of(9): 0.032,
}
"""Share of three leaves among 2,781 first balls that were no strike: televised finals 2005 to 2010,
counted by a sports network (relayed; nearly all right-handers, an assumption)."""
POCKET_BOARD = 17.5
"""Where a strike ball should come to the head pin (the governing body's published optimum)."""
_TRUST = 0.5
"""How far a count is believed against the simulation (an assumption): it is of other bowlers, and
the simulation is of this one, but leaves too few 10 pins."""
_MIRROR = np.array(
    [
        sum(1 << (mirrored_pin(pin) - 1) for pin in PIN_NUMBERS if bits >> (pin - 1) & 1)
        for bits in range(1 << len(PIN_NUMBERS))
    ]
)


def simulated_shares(
    atlas: Atlas, weights: FloatArray, mass_kg: float
) -> dict[Leave | None, float]:
    """Return the share of each leave (None: strike) after first balls of a right-hander.

    ``weights`` (angles, places) tell how often a ball arrives in each cell; balls that arrive
    farther out than the full-rack runs do not count. The shares add up to 1.

    Raises:
        ValueError: no ball arrives where the full-rack runs are.
    """
    share = atlas.heavy_share(mass_kg)
    first = HALF_PLACES + int(atlas.rack_places[0])
    places = np.arange(first, first + len(atlas.rack_places))
    angles = np.arange(HALF_ANGLES + 1)
    # The runs are of balls that move to the left; their mirror image gives those that do not.
    direct = weights[HALF_ANGLES + angles][:, places]
    turned = weights[HALF_ANGLES - angles][:, PLACES - 1 - places]
    turned[0] = 0.0  # straight balls are in the direct part already
    found = np.zeros(len(_MIRROR))
    for ball, part in ((0, 1 - share), (1, share)):
        stood = atlas.stood[ball]
        for bits, weight in ((stood, direct), (_MIRROR[stood], turned)):
            each = np.broadcast_to((part * weight)[..., None], bits.shape)
            found += np.bincount(bits.ravel(), each.ravel(), len(_MIRROR))
    total = found.sum()
    if total == 0:
        raise ValueError("no ball arrives at the pins")
    return {leave_of_bits(int(bits)): found[bits] / total for bits in np.flatnonzero(found)}


def believed_shares(simulated: Mapping[Leave | None, float]) -> dict[Leave, float]:
    """Return the share of each leave among those that remain, for a right-hander.

    The simulated shares, drawn towards the published counts where there are such.
    """
    strikes = simulated.get(None, 0.0)
    left = {leave: share for leave, share in simulated.items() if leave is not None}
    among = {leave: share / (1 - strikes) for leave, share in left.items()} if left else {}
    known = {
        leave: _TRUST * counted + (1 - _TRUST) * among.get(leave, 0.0)
        for leave, counted in COUNTED.items()
    }
    others = {leave: share for leave, share in among.items() if leave not in known}
    scale = (1 - sum(known.values())) / sum(others.values()) if others else 0.0
    shares = known | {leave: scale * share for leave, share in others.items()}
    total = sum(shares.values())
    return {leave: share / total for leave, share in shares.items()}
