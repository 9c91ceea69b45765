"""How long choosing a few lines takes beside one pass of numpy over what they all make.

As many lines and leaves as a large chart has,
their chances invented: they fall off with the distance of line and leave in a plane.
"""

import numpy as np

from cardgen.lane.geometry import FloatArray
from cardgen.targeting.covering import cover, curve
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 9
_LINES, _LEAVES, _MOST = 2000, 30, 8
_FEW = 200  # lines, for the exact cover
_REACH = 0.2


def _chances(lines: int) -> tuple[FloatArray, FloatArray]:
    rng = np.random.default_rng(1)
    line, leave = rng.random((lines, 1, 2)), rng.random((_LEAVES, 2))
    make: FloatArray = 0.95 * np.exp(-(((line - leave) / _REACH) ** 2).sum(axis=2))
    return make, rng.random(_LEAVES)


def measure() -> list[Row]:
    """Return a row for the quick choice, and one for the exact choice."""
    make, weights = _chances(_LINES)
    few, often = _chances(_FEW)
    quick, bare = least_s(
        lambda: curve(make, weights, _MOST, exact=False),
        lambda: np.max(make, axis=0),
        rounds=_ROUNDS,
    )
    exact, greedy = least_s(
        lambda: cover(few, often, _MOST, exact=True),
        lambda: cover(few, often, _MOST, exact=False),
        rounds=_ROUNDS,
    )
    curved = (
        f"1 to {_MOST} of {_LINES} lines: {quick * 1e3:.1f} ms, one maximum {bare * 1e3:.3f} ms"
    )
    proved = f"{_MOST} of {_FEW} lines, exact {exact * 1e3:.1f} ms, quick {greedy * 1e3:.1f} ms"
    return [
        Row("cover-curve", quick / bare, 350, curved),
        Row("cover-exact", exact / greedy, 12, proved),
    ]
