"""How long looking up the pins' answers takes beside bare numpy gathering the same numbers.

Run it: ``python tests/benchmarks/bench_deck.py``. Both sides look up the same arrivals, turn by
turn in one process, so that only their ratio counts.
"""

import sys
import time
from collections.abc import Callable

import numpy as np

from cardgen.lane.rack import Leave
from cardgen.physics.deck import shipped_deck
from cardgen.physics.grid import ANGLES, PLACES

_ROUNDS = 9
_ARRIVALS = 20_000


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio to bare numpy, what was timed, with the microseconds)."""
    response = shipped_deck().response(Leave.of(3, 10), 6.5)
    rng = np.random.default_rng(1)
    x, angle = rng.uniform(-0.5, 0.5, _ARRIVALS), rng.uniform(-0.1, 0.1, _ARRIVALS)
    place, row = rng.integers(0, PLACES, _ARRIVALS), rng.integers(0, ANGLES, _ARRIVALS)

    def bare() -> None:
        for _ in range(4):  # the corners that a look-up weighs
            response.smooth[row, place] * x

    def ours() -> None:
        response.at(x, angle)

    pairs = [(_seconds(ours), _seconds(bare)) for _ in range(_ROUNDS)]
    best, least = (min(side) for side in zip(*pairs, strict=True))
    each = best / _ARRIVALS * 1e6
    text = f"a look-up in bulk: {each:.2f} us, bare gathers {least / _ARRIVALS * 1e6:.2f} us"
    return [("deck", best / least, text)]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
