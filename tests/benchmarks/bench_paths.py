"""How long hooks through a film of oil take beside a closed form on one friction.

Both sides throw the same balls at the pins; the closed form is that of ``bench_chart``. What is
told also says how many paths a second that makes on one core of this machine.
"""

from dataclasses import replace

import numpy as np

from cardgen.lane.geometry import EDGE_M, HEAD_PIN_M
from cardgen.physics.path import ball_path
from tests.benchmarks.bench_chart import LANE, bowler_of_the_bench, closed_form
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 7


def _compare(name: str, most: float, what: str, games: float, count: int) -> Row:
    ball = bowler_of_the_bench(1.0).ball("strike").on(replace(LANE, games=games))
    rng = np.random.default_rng(1)
    x, launch = rng.uniform(-EDGE_M / 2, EDGE_M / 2, count), rng.uniform(-0.06, 0.02, count)
    planes = np.full((count, 1), HEAD_PIN_M)
    paths_s, bare_s = least_s(
        lambda: ball_path(ball.ball, ball.release(x, launch), ball.friction, planes),
        lambda: closed_form(ball, x, launch, planes),
        rounds=_ROUNDS,
    )
    text = f"{what}: {count / paths_s:,.0f} paths a second on one core"
    return Row(name, paths_s / bare_s, most, text)


def measure() -> list[Row]:
    """Return a row for each kind of lane and bulk."""
    return [
        _compare("paths-fresh", 45, "hooks through the fresh house film", 0.0, 20_000),
        _compare("paths-worn", 55, "the same, worn by play", 4.0, 20_000),
        _compare("paths-few", 140, "a hundred at a time", 4.0, 100),
    ]
