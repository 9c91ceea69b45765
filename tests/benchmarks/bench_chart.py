"""How long charts take beside bare numpy at the same work of geometry.

The baseline is one vectorised evaluation of a
closed form, a ball that slides on a single friction and then rolls, for as many releases and planes
as the chart has candidate lines, watched places and central differences.
"""

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
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 5

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


def bowler_of_the_bench(step: float, known: tuple[KnownLine, ...] = ()) -> Bowler:
    """Return an invented bowler with two balls, who takes boards by ``step``."""
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


def _compare(
    name: str, most: float, bowler: Bowler, what: str, leaves: Sequence[Leave] = SINGLE_PINS
) -> Row:
    chart_s, bare_s = least_s(lambda: chart_for(bowler, leaves), _bare(bowler), rounds=_ROUNDS)
    text = f"{what}: {chart_s * 1e3:.0f} ms, bare numpy {bare_s * 1e3:.0f} ms"
    return Row(name, chart_s / bare_s, most, text)


def measure() -> list[Row]:
    """Return a row for each kind of chart."""
    ten, seven = SINGLE_PINS[9], SINGLE_PINS[6]
    first = chart_for(bowler_of_the_bench(1.0), []).first_ball
    if first is None:
        raise RuntimeError("the benchmark's bowler has no strike line")
    common = sorted(first.shares, key=lambda leave: -first.shares[leave])[:10]
    known = (KnownLine(ten, 35, 20, "spare"), KnownLine(seven, 19, 23, "spare"))
    bowler = bowler_of_the_bench(1.0)
    fitted = bowler_of_the_bench(1.0, known)
    halves = bowler_of_the_bench(0.5)
    return [
        _compare("chart", 160, bowler, "ten single pins, two balls, whole boards"),
        _compare("chart-halves", 110, halves, "the same in half boards"),
        _compare("chart-common", 150, bowler, "the ten commonest leaves", common),
        _compare("chart-all", 550, bowler, "all 1,023 leaves", ALL_LEAVES),
        _compare("chart-fitted", 160, fitted, "the same in whole boards, two known lines"),
    ]
