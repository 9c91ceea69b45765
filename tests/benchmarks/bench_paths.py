"""How long hooks through a film of oil take beside a closed form on one friction.

Run it: ``python tests/benchmarks/bench_paths.py``. Both sides throw the same balls at the pins, in
one process, turn by turn; the closed form is that of bench_chart.py. What is told also says how
many paths a second that makes on one core of this machine.
"""

import runpy
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from cardgen.lane.geometry import EDGE_M, HEAD_PIN_M
from cardgen.physics.path import ball_path

_ROUNDS = 7
_CHART = runpy.run_path(str(Path(__file__).with_name("bench_chart.py")))


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _compare(name: str, what: str, games: float, count: int) -> tuple[str, float, str]:
    lane = replace(_CHART["LANE"], games=games)
    ball = _CHART["_bowler"](1.0).ball("strike").on(lane)
    rng = np.random.default_rng(1)
    x, launch = rng.uniform(-EDGE_M / 2, EDGE_M / 2, count), rng.uniform(-0.06, 0.02, count)
    planes = np.full((count, 1), HEAD_PIN_M)
    pairs = [
        (
            _seconds(lambda: ball_path(ball.ball, ball.release(x, launch), ball.friction, planes)),
            _seconds(lambda: _CHART["closed_form"](ball, x, launch, planes)),
        )
        for _ in range(_ROUNDS)
    ]
    ours, bare = (min(side) for side in zip(*pairs, strict=True))
    return name, ours / bare, f"{what}: {count / ours:,.0f} paths a second on one core"


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio to the closed form, what was timed, with the paths a second)."""
    return [
        _compare("paths-fresh", "hooks through the fresh house film", 0.0, 20_000),
        _compare("paths-worn", "the same, worn by play", 4.0, 20_000),
        _compare("paths-few", "a hundred at a time", 4.0, 100),
    ]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
