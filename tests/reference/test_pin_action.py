"""Pin action against counts from play, published optima and facts of the trade."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from cardgen.lane.geometry import BOARD_M, FloatArray, x_board
from cardgen.lane.rack import PIN_NUMBERS, Leave, pin_x_m
from cardgen.physics.atlas import FACTORS, shipped_atlas
from cardgen.physics.deck import doubt_of, shipped_deck
from cardgen.physics.firstball import simulated_shares
from cardgen.physics.grid import ANGLES, CELL_M, HALF_ANGLES, PLACES_M
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import chart_for
from cardgen.targeting.line import How, Play
from cardgen.targeting.lines import lines_of
from cardgen.units import INCH_M, POUND_KG

MakeBowler = Callable[..., Bowler]
STRAIGHT = HALF_ANGLES
HEAVY_KG = 15 * POUND_KG
FINALIST_SD_M = 2.30 * INCH_M
"""With it the 10 pin is made as often as finalists on television made it (derived)."""


def raw_chance(leave: Leave) -> FloatArray:
    """Return what the runs themselves gave (angles, places), without any geometry of ours."""
    atlas = shipped_atlas()
    number = atlas.number_of[leave]
    return np.asarray(atlas.made[number, 1] / atlas.draws[number])


def best_for_a_finalist(leave: Leave) -> float:
    """Return the best chance of balls that stray as finalists' do, whatever the angle."""
    chance = shipped_deck().response(leave, HEAVY_KG).chance
    return float(gaussian_filter1d(chance, FINALIST_SD_M / CELL_M, mode="constant").max())


def test_simulated_balls_find_the_window_that_geometry_gives() -> None:
    # One open pin: 2 x 6.66 in (derived; the trade says "over 13 inches").
    width = raw_chance(Leave.of(5))[STRAIGHT].sum() * CELL_M
    assert width / INCH_M == pytest.approx(2 * 6.66, abs=0.3)


def test_simulated_balls_lose_the_corner_pin_to_the_gutter() -> None:
    # From a reach inside the pin to the lane's edge, 2.75 in outside it (USBC specifications).
    width = raw_chance(Leave.of(7))[STRAIGHT].sum() * CELL_M
    assert width / INCH_M == pytest.approx(6.66 + 2.75, abs=0.3)


@pytest.mark.parametrize("leave", ["2-8", "3-9"])
def test_double_wood_takes_about_half_of_one_pin_s_window(leave: str) -> None:
    # 5 to 6 in derived for smooth impacts; rough ones and jitter may widen it to 6.5.
    chance = shipped_deck().response(Leave.parse(leave), HEAVY_KG).chance[STRAIGHT]
    assert 5 <= chance.sum() * CELL_M / INCH_M <= 6.5


def test_the_hard_splits_are_hard() -> None:
    # Televised finals 2005-10 (a sports network's count, relayed): 7-10 none of 53, 4-6-7-10 one
    # of 30, of which the 95 % interval ends at 17 %.
    assert best_for_a_finalist(Leave.of(7, 10)) <= 0.01
    assert best_for_a_finalist(Leave.of(4, 6, 7, 10)) <= 0.17


def test_the_baby_split_beside_its_count(record_property: Callable[[str, object], None]) -> None:
    # The same count: 3-10 made 17 of 35 times (31 to 66 %). Ours is of the best aim with a straight
    # ball and no pressure; the difference is told in the documents, not tuned away.
    ours = best_for_a_finalist(Leave.of(3, 10))
    record_property("3-10, counted 17 of 35", f"ours {ours:.2f}")
    assert 0.31 <= ours <= 0.97


def right_hander(make_bowler: MakeBowler) -> Bowler:
    return make_bowler(rotation_deg=0, spread="strong")


def test_the_3_10_is_made_by_fitting_the_ball_between(make_bowler: MakeBowler) -> None:
    # Common practice, no source: thin on the 3 on the 10's side, and the ball takes the 10; from
    # board 30 over 19 for a right-hander.
    bowler, leave = right_hander(make_bowler), Leave.of(3, 10)
    (line,) = chart_for(bowler, [leave]).lines
    assert line.action is not None
    assert (line.action.first, line.action.side) == (3, 1)
    assert line.action.others == ((10, How.BALL),)
    trade = lines_of(bowler, bowler.balls[0], [30.0], [19.0]).path([leave.front_row_m])
    response = shipped_deck().response(leave, bowler.balls[0].ball.mass_kg)
    assert response.at(trade.x_m[:, 0], trade.angle_rad[:, 0])[0] >= 0.5
    assert abs(line.arrive - float(x_board(trade.x_m[0, 0]))) <= 1.5


def test_the_2_10_is_aimed_at_the_spot_of_the_4_pin(make_bowler: MakeBowler) -> None:
    # Common practice, no source: imagine the 4 pin; the 2 slides into the 10.
    (line,) = chart_for(right_hander(make_bowler), [Leave.of(2, 10)]).lines
    assert line.play is Play.ALL
    assert abs(line.arrive - float(x_board(pin_x_m(4)))) <= 1.0
    assert line.imagine == 4
    assert line.action is not None
    assert line.action.others == ((10, How.PIN),)


def strikes(angle: int, ball: int = 1) -> FloatArray:
    """Return the share of strikes (places,) of simulated first balls that move to the left."""
    atlas = shipped_atlas()
    stood = atlas.stood[ball, angle]
    return np.asarray((stood == 0).mean(axis=-1), np.float64)


def pocket(angle: int) -> FloatArray:
    """Return the places [m] about the right pocket from which half or more strike."""
    atlas = shipped_atlas()
    middle = (atlas.rack_places + 0.5) * CELL_M
    good = (gaussian_filter1d(strikes(angle), 0.7) >= 0.5) & (middle > 0)
    return np.asarray(middle[good], np.float64)


@pytest.mark.parametrize("angle", [2, 3])
def test_the_pocket_is_on_board_17_5(angle: int) -> None:
    # The governing body's published optimum: board 17.5, at an entry of 4 to 6 degrees.
    places = pocket(angle)
    middle = (places.min() + places.max()) / 2
    assert float(x_board(middle)) == pytest.approx(17.5, abs=0.5)


def test_a_steeper_entry_opens_the_pocket() -> None:
    # The same source: 6 degrees are better than fewer.
    assert len(pocket(3)) > len(pocket(1))
    assert strikes(3).sum() > strikes(1).sum()


def test_a_finalist_strikes_about_as_often_as_counted(
    record_property: Callable[[str, object], None],
) -> None:
    # Televised finals 2005-10: 61.1 % of 7,155. Ours averages over decks that nobody knows.
    aimed = gaussian_filter1d(strikes(3), FINALIST_SD_M / CELL_M, mode="constant").max()
    record_property("strikes, counted 61.1 %", f"ours {100 * aimed:.1f} %")
    assert 0.45 <= aimed <= 0.70


def test_every_leave_is_answered_from_both_sides() -> None:
    rack = Leave(PIN_NUMBERS)
    chance = shipped_deck().response(rack, HEAVY_KG).chance
    assert chance == pytest.approx(chance[::-1, ::-1])
    assert abs(PLACES_M[chance[HALF_ANGLES + 3].argmax()]) < 6 * BOARD_M


# --- What the text on the model tells


MODEL = Path(__file__).parents[2] / "cardgen" / "docs" / "model.md"
ROW = re.compile(r"^\| (?P<what>[^|]+?) \| [^|]+? \| (?P<ours>\d+) % \|$", re.MULTILINE)


def finals_shares() -> dict[Leave | None, float]:
    """Return what finalists' balls leave that come about board 17.5 at 4 to 6 degrees."""
    place = np.exp(-((PLACES_M - 2.5 * BOARD_M) ** 2) / (2 * FINALIST_SD_M**2))
    weights = np.zeros((ANGLES, len(PLACES_M)))
    weights[HALF_ANGLES + 2 :] = place / place.sum() / 2
    return simulated_shares(shipped_atlas(), weights, HEAVY_KG)


def test_the_text_tells_how_much_a_chance_depends_on_what_nobody_knows() -> None:
    atlas = shipped_atlas()
    several = [k for leave, k in atlas.number_of.items() if len(leave) > 1]
    doubt = 100 * np.array([doubt_of(atlas.contrasts[k]) for k in several])
    text = MODEL.read_text(encoding="utf-8")
    told = re.search(
        r"about (\d+) in 100 for most.*?(\d+) for one leave in ten, (\d+) at", text, re.S
    )
    assert told is not None
    found = (np.median(doubt), np.quantile(doubt, 0.9), doubt.max())
    assert [int(each) for each in told.groups()] == [round(float(each)) for each in found]
    # "Mostly by the friction between ball and pin, then by how they bounce", where it is simulated.
    effect = (atlas.contrasts[several][:, [7, 3, 1, 0]][atlas.solid[several]] ** 2).mean(axis=0)
    strongest = [FACTORS[k] for k in np.argsort(-effect)]
    assert strongest[:2] == ["ball_pin_mu", "ball_pin_e"]


def test_the_text_tells_what_the_atlas_says() -> None:
    text = MODEL.read_text(encoding="utf-8")
    told = {row["what"]: int(row["ours"]) for row in ROW.finditer(text)}
    shares = finals_shares()
    leaves = 1 - shares[None]
    straight = {
        leave: gaussian_filter1d(
            shipped_deck().response(Leave.parse(leave), HEAVY_KG).chance[STRAIGHT],
            FINALIST_SD_M / CELL_M,
            mode="constant",
        ).max()
        for leave in ("10", "3-10", "4-6-7-10", "7-10")
    }
    aimed = gaussian_filter1d(strikes(3), FINALIST_SD_M / CELL_M, mode="constant").max()
    ours = {
        "10 pin": straight["10"],
        "3-10": straight["3-10"],
        "4-6-7-10": straight["4-6-7-10"],
        "7-10": straight["7-10"],
        "strikes, at 6°": aimed,
        "10 pin, of all leaves": shares[Leave.of(10)] / leaves,
        "7 pin, of all leaves": shares[Leave.of(7)] / leaves,
        "9 pin, of all leaves": shares[Leave.of(9)] / leaves,
    }
    assert told == {what: round(100 * float(share)) for what, share in ours.items()}
