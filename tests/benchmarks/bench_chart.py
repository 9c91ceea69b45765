"""How long charts take beside bare numpy at the same work of geometry.

Run it: ``python tests/benchmarks/bench_chart.py``. The baseline is one vectorised evaluation of a
closed form, a ball that slides on a single friction and then rolls, for as many releases and planes
as the chart has candidate lines, watched places and central differences. Both sides run in one
process, turn by turn, so that only their ratio counts.
"""

import sys
import time
from collections.abc import Callable, Sequence

import numpy as np

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.spread import PRESETS
from cardgen.delivery.stance import StandHabits
from cardgen.lane.geometry import BOARD_M, EDGE_M, FloatArray, Hand, Sights
from cardgen.lane.rack import ALL_LEAVES, SINGLE_PINS, Leave
from cardgen.physics.path import ERRORS
from cardgen.profile.bowler import BallChoice, Bowler, KnownLine, scale_of
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.chart import chart_for
from cardgen.targeting.conversion import WATCHED_M
from cardgen.units import (
    DEGREE_RAD,
    FOOT_M,
    INCH_M,
    MPH_MPS,
    POUND_KG,
    RPM_RADPS,
    STANDARD_GRAVITY_MPS2,
)

_ROUNDS = 9


LANE = oiled_lane(LaneSpec())
"""The house lane, with what is unknown of it."""


def _ball(
    name: str, rg_in: float, mph: float, rpm: float, turned_deg: float, cover: str
) -> BallChoice:
    return BallChoice(
        name,
        Ball(STANDARD_RADIUS_M, rg_in * INCH_M, 14 * POUND_KG),
        mph * MPH_MPS,
        rpm * RPM_RADPS,
        turned_deg * DEGREE_RAD,
        10 * DEGREE_RAD,
        cover,
        LANE.friction(cover),
    ).on(LANE)


def _bowler(step: float, known: tuple[KnownLine, ...] = ()) -> Bowler:
    return Bowler(
        name="Bench",
        hand=Hand.RIGHT,
        style="one-handed",
        habits=StandHabits(13 * FOOT_M, 5 * BOARD_M, 1.0),
        stand_boards=(1, 39),
        step=step,
        spread=PRESETS["league"],
        balls=(
            _ball("spare", 2.72, 17, 120, 5, "plastic"),
            _ball("strike", 2.5, 16, 280, 50, "reactive"),
        ),
        lane=LANE,
        sights=Sights(),
        known_lines=known,
        scale=scale_of({}, LANE),
    )


def closed_form(
    ball: BallChoice, x_m: FloatArray, launch_rad: FloatArray, planes_m: FloatArray
) -> FloatArray:
    """Return x [m] (n, p) of n balls on the friction of the oil alone."""
    mu = float(ball.friction.mu[0, 0])
    heading = launch_rad + ball.rotation_rad
    rim = ball.ball.radius_m * ball.rev_radps * np.cos(ball.tilt_rad)
    vx, vy = -ball.speed_mps * np.sin(launch_rad), ball.speed_mps * np.cos(launch_rad)
    ux, uy = vx + rim * np.sin(heading), vy - rim * np.cos(heading)
    slip, pull = np.hypot(ux, uy), mu * STANDARD_GRAVITY_MPS2
    ax, ay = -pull * ux / slip, -pull * uy / slip
    rolls = ball.ball.roll_fraction * slip / pull
    y_roll = (vy + ay * rolls / 2) * rolls
    y = np.minimum(planes_m, y_roll[:, None])
    t = 2 * y / (vy[:, None] + np.sqrt(vy[:, None] ** 2 + 2 * ay[:, None] * y))
    beyond = (planes_m - y) / (vy + ay * rolls)[:, None]
    x: FloatArray = (
        x_m[:, None] + (vx[:, None] + ax[:, None] * t / 2) * t
        + (vx + ax * rolls)[:, None] * beyond
    )  # fmt: skip
    return x


def _bare(bowler: Bowler) -> Callable[[], None]:
    boards = np.arange(1, 39 + bowler.step / 2, bowler.step)
    count = boards.size**2
    rows = sorted({leave.front_row_m for leave in SINGLE_PINS})
    planes = np.array([*WATCHED_M, *rows])
    # Each line once, and twice more for each error of the Jacobian.
    paths = count * (1 + 2 * len(ERRORS))
    x, launch = np.linspace(-EDGE_M, EDGE_M, paths), np.linspace(-0.06, 0.06, paths)

    def run() -> None:
        for ball in bowler.balls:
            closed_form(ball, x, launch, planes)

    return run


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _compare(
    name: str, bowler: Bowler, what: str, leaves: Sequence[Leave] = SINGLE_PINS
) -> tuple[str, float, str]:
    bare = _bare(bowler)
    chart_for(bowler, leaves)
    bare()
    pairs = [(_seconds(lambda: chart_for(bowler, leaves)), _seconds(bare)) for _ in range(_ROUNDS)]
    # The fastest of each: what else the machine does only ever adds.
    ours, theirs = (min(side) for side in zip(*pairs, strict=True))
    text = f"{what}: {ours * 1e3:.0f} ms, bare numpy {theirs * 1e3:.0f} ms"
    return name, ours / theirs, text


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio to bare numpy, what was timed, with the milliseconds)."""
    ten, seven = SINGLE_PINS[9], SINGLE_PINS[6]
    first = chart_for(_bowler(1.0), []).first_ball
    if first is None:
        raise RuntimeError("the benchmark's bowler has no strike line")
    common = sorted(first.shares, key=lambda leave: -first.shares[leave])[:10]
    known = (KnownLine(ten, 35, 20, "spare"), KnownLine(seven, 19, 23, "spare"))
    return [
        _compare("chart", _bowler(1.0), "ten single pins, two balls, whole boards"),
        _compare("chart-halves", _bowler(0.5), "the same in half boards"),
        _compare("chart-common", _bowler(1.0), "the ten commonest leaves", common),
        _compare("chart-all", _bowler(1.0), "all 1,023 leaves", ALL_LEAVES),
        _compare("chart-fitted", _bowler(1.0, known), "the same in whole boards, two known lines"),
    ]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
