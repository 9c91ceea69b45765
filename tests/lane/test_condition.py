"""The lane as a ball feels it: friction by place, for each cover, for either hand."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cardgen.lane.condition import Grip, LaneDoubt, OiledLane
from cardgen.lane.film import FilmMap
from cardgen.lane.geometry import BOARD_M, BOARDS, EDGE_M, Hand, board_x_m, x_board
from cardgen.profile.lane import oiled_lane
from cardgen.profile.loader import load_lane
from cardgen.profile.schema import LaneSpec
from cardgen.resources import data_folder
from cardgen.units import FOOT_M

LANES = sorted((data_folder("templates") / "lanes").glob("*.yaml"))
REACTIVE = {"reactive": Grip(0.04, 0.20)}


@pytest.mark.parametrize("path", LANES, ids=lambda path: path.stem)
@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("cover", ["plastic", "urethane", "reactive"])
def test_friction_is_that_of_the_film_everywhere(path: Path, hand: Hand, cover: str) -> None:
    lane = oiled_lane(load_lane(path)).seen_by(hand)
    grid, film, grip = lane.friction(cover), lane.film, lane.grips[cover]
    rng = np.random.default_rng(1)
    x, y = rng.uniform(-EDGE_M, EDGE_M, 2000), rng.uniform(0, 60 * FOOT_M, 2000)
    board = np.round(x_board(x)).astype(int)
    row = np.searchsorted(film.y_edges_m, y, side="right") - 1
    inside = row < len(film.film_m)
    thick = np.where(inside, film.film_m[np.minimum(row, len(film.film_m) - 1), board - 1], 0.0)
    mu = grip.oil + (grip.dry - grip.oil) * np.exp(-thick / lane.screen_m)
    assert grid.at(x, y) == pytest.approx(mu, abs=1e-12)


def test_cells_that_are_alike_are_one() -> None:
    lane = OiledLane(FilmMap.flooded(40 * FOOT_M), REACTIVE, 1e-7)
    grid = lane.friction("reactive")
    assert grid.x_edges_m.size == 0
    assert grid.y_edges_m.tolist() == [40 * FOOT_M]
    assert grid.mu.tolist() == [[0.04], [0.20]]


def test_a_film_of_nothing_and_one_without_end_are_dry_and_oiled_exactly() -> None:
    dry = OiledLane(FilmMap.shaped(40 * FOOT_M, 0.0, 10, 7, 2.0), REACTIVE, 1e-7)
    assert dry.friction("reactive").mu.tolist() == [[0.20]]
    oiled = OiledLane(FilmMap.flooded(80 * FOOT_M), REACTIVE, 1e-7)
    assert oiled.friction("reactive").mu[0].tolist() == [0.04]


def test_a_left_hander_sees_the_mirror_image() -> None:
    lane = oiled_lane(LaneSpec(games=6, slope_in=0.03))
    right, left = (lane.seen_by(hand).friction("reactive") for hand in (Hand.RIGHT, Hand.LEFT))
    assert left.x_edges_m == pytest.approx(-right.x_edges_m[::-1])
    assert left.mu == pytest.approx(right.mu[:, ::-1])
    # The right edge is the lower one: towards +x for a right-hander, -x in a left-hander's frame.
    assert right.slope == -left.slope > 0


def test_oil_may_grip_covers_differently() -> None:
    spec = LaneSpec.model_validate({"friction": {"oil": {"plastic": 0.03, "reactive": 0.05}}})
    grips = oiled_lane(spec).grips
    assert (grips["plastic"], grips["urethane"], grips["reactive"]) == (
        Grip(0.03, 0.12),
        Grip(0.04, 0.14),
        Grip(0.05, 0.16),
    )


def test_a_load_sheet_counts_its_boards_from_the_right() -> None:
    spec = LaneSpec.model_validate(
        {
            "games": 0,
            "load_sheet": {
                "microlitres": 40,
                "drop_ft": 30,
                "forward": [{"boards": [2, 10], "passes": 3, "to_ft": 20}],
                "reverse": [{"boards": [5, 8], "passes": 1, "to_ft": 12}],
            },
        }
    )
    lane = oiled_lane(spec)
    assert lane.fresh.volume_m3 == pytest.approx((9 * 3 + 4 * 1) * 40e-9)
    there = float(board_x_m(6))  # the sixth board from the right
    right = lane.seen_by(Hand.RIGHT).friction("reactive")
    left = lane.seen_by(Hand.LEFT).friction("reactive")
    assert right.at(np.array([there]), np.array([3.0]))[0] < 0.05
    assert left.at(np.array([there]), np.array([3.0]))[0] == 0.16
    assert left.at(np.array([-there]), np.array([3.0]))[0] < 0.05


def test_a_change_changes_what_it_says() -> None:
    lane = oiled_lane(LaneSpec())
    assert lane.changed(film=0.5).fresh.volume_m3 == pytest.approx(1.5 * lane.fresh.volume_m3)
    assert lane.changed(friction=0.1).grips["plastic"].dry == pytest.approx(0.132)
    assert lane.changed(games=3).games == lane.games + 3
    assert lane.changed(games=-99).games == 0


def test_doubts_lie_on_both_sides_of_what_is_said() -> None:
    doubt = LaneDoubt(film=0.25, friction=0.2, games=2.0)
    lane = replace(oiled_lane(LaneSpec(games=5)), doubt=doubt)
    (_, thin, thick, apart), (_, slick, grippy, _), (_, early, late, _) = lane.doubts()
    assert [name for name, *_ in lane.doubts()] == ["film", "friction", "games"]
    # Root 3 deviations to each side: two points with the moments of a normal error.
    assert (thin.fresh.volume_m3, thick.fresh.volume_m3) == pytest.approx(
        ((1 - 0.25 * 3**0.5) * lane.fresh.volume_m3, (1 + 0.25 * 3**0.5) * lane.fresh.volume_m3)
    )
    assert slick.grips["reactive"].dry < lane.grips["reactive"].dry < grippy.grips["reactive"].dry
    assert (early.games, late.games) == pytest.approx((5 - 2 * 3**0.5, 5 + 2 * 3**0.5))
    assert apart == pytest.approx(2 * 3**0.5)


def test_nobody_has_played_fewer_games_than_none() -> None:
    lane = replace(oiled_lane(LaneSpec(games=1)), doubt=LaneDoubt(games=2.0))
    ((_, early, late, deviations),) = lane.doubts()
    assert (early.games, late.games) == pytest.approx((0, 1 + 2 * 3**0.5))
    assert deviations == pytest.approx(late.games / 2)


def test_a_lane_known_for_certain_has_no_doubts_and_no_drier_one() -> None:
    lane = replace(oiled_lane(LaneSpec()), doubt=LaneDoubt())
    assert list(lane.doubts()) == []
    drier = lane.drier
    assert drier.fresh.volume_m3 == lane.fresh.volume_m3
    assert (drier.grips, drier.games) == (lane.grips, lane.games)


def test_a_drier_lane_grips_more_wherever_nobody_carried_oil() -> None:
    lane = oiled_lane(LaneSpec())
    usual, drier = lane.friction("reactive"), lane.drier.friction("reactive")
    x = board_x_m(np.arange(1, BOARDS + 1)) + 0.1 * BOARD_M
    for feet in (5, 20, 33, 37):
        y = np.full(BOARDS, feet * FOOT_M)
        assert np.all(drier.at(x, y) > usual.at(x, y))
