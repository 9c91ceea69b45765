"""What holds for every film of oil and every release on it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.delivery.ball import Ball
from cardgen.delivery.release import Release
from cardgen.lane.condition import Grip, OiledLane
from cardgen.lane.film import FilmMap
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import EDGE_M, Hand
from cardgen.physics.path import ball_path
from cardgen.units import FOOT_M, INCH_M, MICROMETRE_M, MILLILITRE_M3, MPH_MPS, RPM_RADPS

FAR_M = [2000.0]  # far past any lane: by then every ball rolls


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 9))


films = st.builds(
    FilmMap.shaped,
    oil_m=floats(0.5 * FOOT_M, 60 * FOOT_M),
    volume_m3=floats(0, 60).map(lambda ml: ml * MILLILITRE_M3),
    ratio=floats(1, 30),
    outer_boards=floats(0, 18),
    taper_m=floats(0, 60 * FOOT_M),
)
lanes = st.builds(
    OiledLane,
    fresh=films,
    grips=st.builds(
        lambda oil, dry: {"reactive": Grip(oil, dry)}, floats(0.02, 0.08), floats(0.1, 0.32)
    ),
    screen_m=floats(0.05, 2).map(lambda um: um * MICROMETRE_M),
    games=floats(0, 30),
)
balls = st.builds(
    Ball,
    radius_m=floats(4.25 * INCH_M, 4.2975 * INCH_M),
    rg_m=floats(2.46 * INCH_M, 2.80 * INCH_M),
    mass_kg=floats(3, 7.2),
)
releases = st.builds(
    Release.of,
    x_m=floats(-EDGE_M, EDGE_M),
    launch_rad=floats(-0.08, 0.08),
    speed_mps=floats(8 * MPH_MPS, 25 * MPH_MPS),
    rev_radps=floats(0, 600 * RPM_RADPS),
    rotation_rad=floats(-0.5, 1.6),
    tilt_rad=floats(0, 1.3),
)


@given(lanes)
def test_friction_is_between_that_of_oil_and_that_of_the_dry_lane(lane: OiledLane) -> None:
    mu = lane.friction("reactive").mu
    grip = lane.grips["reactive"]
    assert np.all((mu >= grip.oil - 1e-15) & (mu <= grip.dry + 1e-15))
    assert np.all(mu[-1] <= grip.dry)


@given(films, floats(0, 40))
def test_oil_is_conserved_by_depletion_plus_deposit(film: FilmMap, games: float) -> None:
    worn, off_m3 = film.worn(games)
    assert worn.volume_m3 + off_m3 == pytest.approx(film.volume_m3, rel=1e-9, abs=1e-18)
    assert off_m3 >= -1e-18
    # What lies past the end of the fresh oil was taken up before it.
    past = worn.y_edges_m[:-1] >= film.oil_m - 1e-9
    carried = float((np.diff(worn.y_edges_m)[past] @ worn.film_m[past]).sum())
    kept = float((np.diff(worn.y_edges_m)[~past] @ worn.film_m[~past]).sum())
    total = float((np.diff(film.y_edges_m) @ film.film_m).sum())
    assert carried <= total - kept + 1e-15


@given(balls, releases, lanes)
def test_friction_never_changes_where_a_ball_heads_in_the_end(
    ball: Ball, release: Release, lane: OiledLane
) -> None:
    on_film = ball_path(ball, release, lane.friction("reactive"), FAR_M)
    anywhere = ball_path(ball, release, FrictionGrid.uniform(0.15), FAR_M)
    assert on_film.vx_mps == pytest.approx(anywhere.vx_mps, abs=1e-9, nan_ok=True)
    assert on_film.vy_mps == pytest.approx(anywhere.vy_mps, abs=1e-9, nan_ok=True)


@given(balls, releases, lanes)
def test_the_mirror_image_of_a_shot_is_the_shot_on_the_mirrored_lane(
    ball: Ball, release: Release, lane: OiledLane
) -> None:
    planes = np.array([15, 40, 60]) * FOOT_M
    other = replace(
        release,
        # Off the edges of boards, where a ball may belong to either side.
        x_m=-(release.x_m + 1e-7),
        launch_rad=-release.launch_rad,
        rotation_rad=-release.rotation_rad,
    )
    release = replace(release, x_m=release.x_m + 1e-7)
    right, left = (lane.seen_by(hand).friction("reactive") for hand in (Hand.RIGHT, Hand.LEFT))
    path, mirror = ball_path(ball, release, right, planes), ball_path(ball, other, left, planes)
    assert mirror.x_m == pytest.approx(-path.x_m, abs=1e-8, nan_ok=True)
    assert mirror.t_s == pytest.approx(path.t_s, abs=1e-8, nan_ok=True)
