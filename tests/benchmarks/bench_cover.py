"""How long choosing a few lines takes beside one pass of numpy over what they all make.

Run it: ``python tests/benchmarks/bench_cover.py``. As many lines and leaves as a large chart has,
their chances invented: they fall off with the distance of line and leave in a plane. The sides run
turn by turn in one process, so that only their ratios count.
"""

import sys
import time
from collections.abc import Callable

import numpy as np

from cardgen.lane.geometry import FloatArray
from cardgen.targeting.covering import cover, curve

_ROUNDS = 9
_LINES, _LEAVES, _MOST = 2000, 30, 8
_FEW = 200  # lines, for the exact cover
_REACH = 0.2


def _chances(lines: int) -> tuple[FloatArray, FloatArray]:
    rng = np.random.default_rng(1)
    line, leave = rng.random((lines, 1, 2)), rng.random((_LEAVES, 2))
    make: FloatArray = 0.95 * np.exp(-(((line - leave) / _REACH) ** 2).sum(axis=2))
    return make, rng.random(_LEAVES)


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _least(*works: Callable[[], object]) -> list[float]:
    """Return the shortest time of each, after a first turn that is not counted."""
    turns = [[_seconds(work) for work in works] for _ in range(_ROUNDS + 1)]
    return [min(times) for times in zip(*turns[1:], strict=True)]


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio, what was timed, with the milliseconds) of quick and exact choices."""
    make, weights = _chances(_LINES)
    few, often = _chances(_FEW)
    quick, bare = _least(
        lambda: curve(make, weights, _MOST, exact=False), lambda: np.max(make, axis=0)
    )
    exact, greedy = _least(
        lambda: cover(few, often, _MOST, exact=True), lambda: cover(few, often, _MOST, exact=False)
    )
    curved = (
        f"1 to {_MOST} of {_LINES} lines: {quick * 1e3:.1f} ms, one maximum {bare * 1e3:.3f} ms"
    )
    proved = f"{_MOST} of {_FEW} lines, exact {exact * 1e3:.1f} ms, quick {greedy * 1e3:.1f} ms"
    return [("cover curve", quick / bare, curved), ("cover exact", exact / greedy, proved)]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
