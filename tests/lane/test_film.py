"""The film of oil: how it is shaped and laid, and how play moves it."""

import numpy as np
import pytest

from cardgen.lane.film import FilmMap, Load, laid
from cardgen.lane.geometry import BOARD_M, BOARDS, HEAD_PIN_M
from cardgen.units import FOOT_M, MILLILITRE_M3

OIL_M = 40 * FOOT_M


@pytest.fixture
def house() -> FilmMap:
    return FilmMap.shaped(OIL_M, 25 * MILLILITRE_M3, 10, 7, 8 * FOOT_M)


@pytest.mark.parametrize("taper_ft", [0, 3, 8, 40, 60])
@pytest.mark.parametrize("oil_ft", [1, 33.5, 40, 60])
def test_a_shaped_film_holds_all_the_oil(oil_ft: float, taper_ft: float) -> None:
    film = FilmMap.shaped(oil_ft * FOOT_M, 25 * MILLILITRE_M3, 6, 5, taper_ft * FOOT_M)
    assert film.volume_m3 == pytest.approx(25 * MILLILITRE_M3, rel=1e-12)
    assert film.oil_m == pytest.approx(oil_ft * FOOT_M)


def test_a_shaped_film_is_thick_inside_and_thin_outside(house: FilmMap) -> None:
    first = house.film_m[0]
    assert first[:7] == pytest.approx(np.full(7, first[0]))
    assert first[19] / first[0] == pytest.approx(10)
    assert np.all(np.diff(first[:20]) >= 0)
    assert first == pytest.approx(first[::-1])


def test_a_shaped_film_thins_out_evenly_to_its_end(house: FilmMap) -> None:
    middle = house.film_m[:, 19]
    taper = house.y_edges_m[:-1] >= 32 * FOOT_M
    centres = (house.y_edges_m[1:] + house.y_edges_m[:-1])[taper] / 2
    straight = middle[0] * (OIL_M - centres) / (8 * FOOT_M)
    assert middle[taper] == pytest.approx(straight)
    assert middle[~taper] == pytest.approx(np.full((~taper).sum(), middle[0]))


def test_a_ratio_of_one_is_flat() -> None:
    film = FilmMap.shaped(OIL_M, 25 * MILLILITRE_M3, 1, 7, 0)
    assert film.film_m == pytest.approx(
        np.full(film.film_m.shape, 25 * MILLILITRE_M3 / (OIL_M * BOARD_M * BOARDS))
    )


@pytest.mark.parametrize(("oil_m", "volume_m3"), [(0.0, 25e-6), (OIL_M, 0.0)])
def test_a_lane_may_be_dry(oil_m: float, volume_m3: float) -> None:
    film = FilmMap.shaped(oil_m, volume_m3, 10, 7, 2.0)
    assert film.volume_m3 == 0
    assert film.oil_m == 0
    worn, off_m3 = film.worn(5)
    assert (worn.volume_m3, off_m3) == (0, 0)


def test_every_board_keeps_what_the_machine_gave_it() -> None:
    forward = [
        Load(2, 38, 100e-9, (0.0, 9 * FOOT_M)),
        Load(9, 31, 150e-9, (9 * FOOT_M, 28 * FOOT_M)),
    ]
    reverse = [Load(11, 29, 120e-9, (20 * FOOT_M, 34 * FOOT_M))]
    film = laid(forward, reverse, OIL_M)
    given = np.zeros(BOARDS)
    for load in (*forward, *reverse):
        given[load.first - 1 : load.last] += load.volume_m3
    assert np.diff(film.y_edges_m) @ film.film_m * BOARD_M == pytest.approx(given)
    assert film.volume_m3 == pytest.approx(given.sum())
    # Boards 1 and 39 are dry; the brush takes the last load's oil on to the end, with no step.
    assert np.all(film.film_m[:, [0, -1]] == 0)
    assert film.oil_m == pytest.approx(OIL_M)
    buffed = laid(forward, [], OIL_M)
    rows = buffed.y_edges_m[:-1] >= 28 * FOOT_M
    assert np.all(np.diff(buffed.film_m[rows, 19]) < 0)
    before = buffed.film_m[np.flatnonzero(rows)[0] - 1, 19]
    assert 0.9 * before < buffed.film_m[rows, 19][0] < before


def test_a_load_lies_evenly_where_it_is_laid() -> None:
    film = laid([Load(5, 35, 100e-9, (0.0, OIL_M))], [], OIL_M)
    thick = 100e-9 / (BOARD_M * OIL_M)
    inside = film.y_edges_m[:-1] < OIL_M
    assert film.film_m[inside, 4:35] == pytest.approx(np.full((inside.sum(), 31), thick))


def test_oil_is_neither_made_nor_lost_by_play(house: FilmMap) -> None:
    for games in (0.5, 1, 3, 20):
        worn, off_m3 = house.worn(games)
        assert worn.volume_m3 + off_m3 == pytest.approx(house.volume_m3, rel=1e-12)
        assert off_m3 > 0
        assert np.all(worn.film_m >= 0)


def test_no_play_changes_nothing(house: FilmMap) -> None:
    worn, off_m3 = house.worn(0)
    assert worn is house
    assert off_m3 == 0


def test_play_thins_the_track_and_carries_oil_past_the_end(house: FilmMap) -> None:
    worn, _ = house.worn(3)
    here = worn.film_m[0]
    thinner = 1 - here / house.film_m[0]
    # The right-handers' track, boards 6 to 16, most; the left-handers' a ninth of that; the middle
    # not at all.
    assert thinner[5:16] == pytest.approx(np.full(11, thinner[5]))
    assert 0 < thinner[33] < thinner[5] / 8
    assert thinner[19] == pytest.approx(0)
    beyond = worn.film_m[worn.y_edges_m[:-1] >= OIL_M - 1e-9]
    assert np.all(beyond[:, 10] > 0)
    assert np.all(np.diff(beyond[:, 10]) < 0)
    assert np.all(beyond[:, 19] == 0)
    assert worn.y_edges_m[-1] == pytest.approx(HEAD_PIN_M)


def test_more_games_thin_more(house: FilmMap) -> None:
    off = [house.worn(games)[1] for games in (1, 2, 5, 10)]
    assert np.all(np.diff(off) > 0)


def test_a_film_mirrored_twice_is_itself(house: FilmMap) -> None:
    worn, _ = house.worn(4)
    assert not np.array_equal(worn.mirrored.film_m, worn.film_m)
    assert np.array_equal(worn.mirrored.mirrored.film_m, worn.film_m)


@pytest.mark.parametrize(
    ("edges", "film", "message"),
    [
        ([0.0, 1.0], np.zeros((2, BOARDS)), "does not fit"),
        ([1.0, 0.0], np.zeros((1, BOARDS)), "rise"),
        ([0.0, 1.0], np.full((1, BOARDS), -1e-9), "nought or thicker"),
    ],
)
def test_a_film_that_cannot_be_is_refused(
    edges: list[float], film: np.ndarray, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        FilmMap(np.array(edges), film)
