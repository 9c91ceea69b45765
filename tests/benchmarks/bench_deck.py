"""How long looking up the pins' answers takes beside bare numpy gathering the same numbers."""

import numpy as np

from cardgen.lane.rack import Leave
from cardgen.physics.deck import shipped_deck
from cardgen.physics.grid import ANGLES, PLACES
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 9
_ARRIVALS = 20_000


def measure() -> list[Row]:
    """Return one row."""
    response = shipped_deck().response(Leave.of(3, 10), 6.5)
    rng = np.random.default_rng(1)
    x, angle = rng.uniform(-0.5, 0.5, _ARRIVALS), rng.uniform(-0.1, 0.1, _ARRIVALS)
    place, row = rng.integers(0, PLACES, _ARRIVALS), rng.integers(0, ANGLES, _ARRIVALS)

    def bare() -> None:
        for _ in range(4):  # the corners that a look-up weighs
            response.smooth[row, place] * x

    ours_s, bare_s = least_s(lambda: response.at(x, angle), bare, rounds=_ROUNDS)
    each, bare_each = (time_s / _ARRIVALS * 1e6 for time_s in (ours_s, bare_s))
    what = f"a look-up in bulk: {each:.2f} us, bare gathers {bare_each:.2f} us"
    return [Row("deck", ours_s / bare_s, 6, what)]
