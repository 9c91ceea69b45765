"""How long a fit to a log of shots takes beside the chart that is made of it.

The shots are of the chart's own lines for the ten
single pins, strayed and read as the bowler's profile and the model have it.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from cardgen.lane.geometry import x_board
from cardgen.lane.rack import SINGLE_PINS
from cardgen.physics.deck import shipped_deck
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import Bowler, bowler_of
from cardgen.profile.loader import load_profile
from cardgen.shotlog.shot import Result, Shot
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.fit import fit_bowler
from cardgen.targeting.likelihood import READ_SD
from cardgen.targeting.lines import lines_of
from cardgen.units import MPH_MPS
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 5
_PROFILE = Path(__file__).resolve().parents[2] / "profiles" / "wren-skobernik.yaml"


def _log(chart: Chart, count: int) -> list[Shot]:
    """Return ``count`` shots over the lines in turn; of every third only what came of it."""
    rng, bowler, deck = np.random.default_rng(1), chart.bowler, shipped_deck()
    shots = []
    for i in range(count):
        line = chart.lines[i % len(chart.lines)]
        ball, leave = bowler.ball(line.ball), bowler.inside(line.leave)
        meant = lines_of(bowler, ball, line.stand, line.target)
        strays = rng.standard_normal(4) * bowler.spread.deviations(ball.rev_radps)
        release = ball.release(meant.laydown_x_m + strays[0], meant.launch_rad + strays[1])
        planes = [float(meant.target_y_m[0]), leave.front_row_m]
        path = ball_path(ball.ball, release, ball.friction, planes)
        arrows, arrive = path.x_m[0] + rng.standard_normal(2) * READ_SD[:2]
        made = deck.response(leave, ball.ball.mass_kg).at(path.x_m[:, 1], path.angle_rad[:, 1])[0]
        result = Result.HIT if rng.random() < made else Result.MISS
        tally = i % 3 == 2
        shots.append(
            Shot(
                line.leave,
                line.stand,
                line.target,
                "spare" if line.ball == "spare" else "strike",
                arrows=None if tally else float(np.round(4 * x_board(arrows)) / 4),
                arrive=None if tally else float(np.clip(np.round(x_board(arrive)), -1, 41)),
                result=result if tally else None,
                speed_mph=None if tally else float(np.round(ball.speed_mps / MPH_MPS, 1)),
            )
        )
    return shots


def _compare(name: str, most: float, bowler: Bowler, shots: list[Shot], what: str) -> Row:
    deck = shipped_deck()
    fit_s, chart_s = least_s(
        lambda: fit_bowler(bowler, deck, shots),
        lambda: chart_for(bowler, SINGLE_PINS),
        rounds=_ROUNDS,
    )
    text = f"{what}: {fit_s * 1e3:.0f} ms, a chart of ten single pins {chart_s * 1e3:.0f} ms"
    return Row(name, fit_s / chart_s, most, text)


def measure() -> list[Row]:
    """Return a row for many shots, and one for few."""
    bowler = replace(bowler_of(load_profile(_PROFILE)), step=1.0)  # whole boards, as most
    chart = chart_for(bowler, SINGLE_PINS)
    return [
        _compare("fit", 2, bowler, _log(chart, 200), "200 shots at ten single pins"),
        _compare("fit-few", 0.6, bowler, _log(chart, 12), "12 shots at ten single pins"),
    ]
