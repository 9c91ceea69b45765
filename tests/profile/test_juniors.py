"""What is told of one ball goes for the other: no child is given the ball of an adult."""

import pickle
from pathlib import Path

import pytest

import cardgen
from cardgen.cards.assumptions import assumptions_of
from cardgen.cards.words import load_words
from cardgen.lane.rack import Leave
from cardgen.physics.deck import shipped_deck
from cardgen.profile.bowler import Bowler, bowler_of
from cardgen.profile.loader import LoadedProfile, read_profile
from cardgen.profile.schema import BallName, Profile, Style
from cardgen.profile.styles import STYLES, usual_turn
from cardgen.resources import data_folder
from cardgen.roster.reading import read_roster
from cardgen.targeting.chart import chart_for
from cardgen.units import MPH_MPS, POUND_KG, RPM_RADPS
from cardgen.yamlsource import parse_yaml

HEAD = "bowler: Demo\nhand: right\n"


def loaded(text: str) -> LoadedProfile:
    return read_profile(parse_yaml(HEAD + text, "junior.yaml"), Path())


def balls(text: str) -> list[tuple[str, float, float]]:
    """Return cover, pounds and mph of the spare ball and of the strike ball."""
    found = loaded(text).profile.balls
    return [(x.cover, x.weight_lb, x.speed_mph) for x in (found.spare, found.strike)]


@pytest.mark.parametrize(
    ("text", "spare", "strike"),
    [
        ("", ("plastic", 14, 17), ("reactive", 14, 16)),
        ("balls: {}", ("plastic", 14, 17), ("reactive", 14, 16)),
        # From one ball to the other: weight the same, a spare 1 mph faster.
        (
            "balls: {spare: {weight_lb: 8, speed_mph: 11}}",
            ("plastic", 8, 11),
            ("plastic", 8, 10),
        ),
        (
            "balls: {strike: {weight_lb: 8, speed_mph: 11}}",
            ("plastic", 8, 12),
            ("plastic", 8, 11),
        ),
        ("balls: {spare: {weight_lb: 15}}", ("plastic", 15, 17), ("reactive", 15, 16)),
        ("balls: {spare: {speed_mph: 20}}", ("plastic", 14, 20), ("reactive", 14, 19)),
        (
            "balls: {spare: {weight_lb: 12, speed_mph: 14}, strike: {speed_mph: 13.5}}",
            ("plastic", 12, 14),
            ("reactive", 12, 13.5),
        ),
        # What is told of both stays.
        (
            "balls: {spare: {weight_lb: 8}, strike: {weight_lb: 14}}",
            ("plastic", 8, 17),
            ("reactive", 14, 16),
        ),
        # A light ball is the one ball there is, unless its cover is told.
        (
            "balls: {spare: {cover: urethane, weight_lb: 11}}",
            ("urethane", 11, 17),
            ("urethane", 11, 16),
        ),
        (
            "balls: {strike: {cover: reactive, weight_lb: 11}}",
            ("plastic", 11, 17),
            ("reactive", 11, 16),
        ),
        # Never beyond what a speed may be.
        ("balls: {spare: {speed_mph: 8.5}}", ("plastic", 14, 8.5), ("reactive", 14, 8)),
        ("balls: {strike: {speed_mph: 30}}", ("plastic", 14, 30), ("reactive", 14, 30)),
    ],
)
def test_what_is_told_of_one_ball_goes_for_the_other(
    text: str, spare: tuple[str, float, float], strike: tuple[str, float, float]
) -> None:
    assert balls(text) == [spare, strike]


def test_what_is_carried_over_is_still_a_default() -> None:
    junior = loaded("balls: {spare: {weight_lb: 8, speed_mph: 11}}")
    assert "balls.spare.weight_lb" in junior.given
    assert not any(field.startswith("balls.strike") for field in junior.given)
    assert junior.profile.balls.strike.model_fields_set == set()
    # A speed that nobody told is known as little as any default.
    told = loaded("balls: {spare: {weight_lb: 8, speed_mph: 11}, strike: {speed_mph: 10}}")
    unsure, sure = (bowler_of(each).scale for each in (junior, told))
    assert (unsure >= sure).all()
    assert (unsure > sure).sum() == 1


def test_profiles_are_the_same_however_they_are_told(tmp_path: Path) -> None:
    fields = {"balls": {"spare": {"weight_lb": 8, "speed_mph": 11}}}
    wanted = loaded("balls: {spare: {weight_lb: 8, speed_mph: 11}}").profile.balls
    assert Profile.model_validate({"bowler": "A", "hand": "right", **fields}).balls == wanted
    table = tmp_path / "r.csv"
    table.write_text(
        "name,hand,balls.spare.weight_lb,balls.spare.speed_mph\n"
        "default,right,,11\nAna Bell,,8,\nBen Cole,,8,11\n"
    )
    listed = tmp_path / "r.yaml"
    listed.write_text(
        "defaults: {hand: left, balls: {spare: {speed_mph: 11}}}\n"
        "students:\n- {name: Ana Bell, balls: {spare: {weight_lb: 8}}}\n"
    )
    for path in (table, listed):
        roster = read_roster(path)
        assert not roster.bad
        for student in roster.students:
            assert student.loaded.profile.balls == wanted
            assert pickle.loads(pickle.dumps(student.loaded)) == student.loaded
    own = tmp_path / "own.yaml"
    own.write_text(HEAD + "balls: {spare: {weight_lb: 8, speed_mph: 11}}\n")
    assert cardgen.load_profile(own).profile.balls == wanted


def test_what_holds_for_all_counts_as_told(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text(
        "name,hand,balls.spare.weight_lb,balls.strike.weight_lb\n"
        "default,right,14,15\nAna Bell,,8,\n"
    )
    (student,) = read_roster(path).students
    of = student.loaded.profile.balls
    assert (of.spare.weight_lb, of.strike.weight_lb) == (8, 15)


def test_the_booklet_prints_it_as_a_default() -> None:
    junior = loaded("spread: new\nballs: {spare: {weight_lb: 8, speed_mph: 11}}")
    chart = chart_for(bowler_of(junior), [Leave.of(10)])
    page = assumptions_of(junior, chart, load_words("en"))
    rows = {row.label: row for _, section in page.sections for row in section}
    strike = rows["Strike ball"]
    assert strike.value.replace("\u00a0", " ") == "plastic, 8 lb, 10 mph"
    assert strike.is_default
    assert "109 rpm" in rows["Strike ball, turn"].value.replace("\u00a0", " ")
    assert rows["Strike ball, turn"].is_default
    assert not rows["Spare ball"].is_default


@pytest.mark.parametrize("name", ["saturday.csv", "one-bad-row.csv"])
def test_no_junior_of_the_shipped_rosters_has_an_adults_ball(name: str) -> None:
    students = read_roster(data_folder("profiles") / "clinics" / name).students
    juniors = [s.loaded.profile.balls for s in students if s.group == "Juniors"]
    assert juniors
    for of in juniors:
        assert of.strike.weight_lb == of.spare.weight_lb <= 10
        assert of.strike.speed_mph <= of.spare.speed_mph <= 13.5
        assert of.strike.cover == "plastic"


def rpm(bowler: Bowler, ball: str) -> float:
    return bowler.ball(ball).rev_radps / RPM_RADPS


@pytest.mark.parametrize("style", STYLES)
def test_the_usual_turn_falls_with_the_speed_and_never_rises(style: Style) -> None:
    usual_mph: dict[BallName, float] = {"spare": 17.0, "strike": 16.0}
    for ball, default_mph in usual_mph.items():
        usual = STYLES[style].turn[ball]
        assert usual_turn(style, ball, default_mph) == usual
        assert usual_turn(style, ball, default_mph + 4) == usual
        rates = [usual_turn(style, ball, mph / 2).rev_rpm for mph in range(16, 35)]
        assert rates == sorted(rates)
        half = usual_turn(style, ball, default_mph / 2)
        assert half.rev_rpm == pytest.approx(usual.rev_rpm / 4, abs=0.5)
        assert (half.rotation_deg, half.tilt_deg) == (usual.rotation_deg, usual.tilt_deg)


def test_a_rev_rate_that_is_told_stays() -> None:
    told = bowler_of(loaded("balls: {strike: {speed_mph: 11, rev_rpm: 250}}"))
    assert rpm(told, "strike") == pytest.approx(250)
    usual = bowler_of(loaded("balls: {strike: {speed_mph: 11}}"))
    # 280 rpm × (11/16)², derived.
    assert rpm(usual, "strike") == pytest.approx(132)


# Juniors' balls: 6 to 10 lb, about a pound for each ten of the child's weight; 9 to 13 mph (common
# practice, no source).
@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize(("pounds", "mph"), [(6, 9), (8, 11), (10, 12)])
def test_a_typical_junior_has_a_strike_line_and_a_line_for_every_pin(
    style: Style, pounds: float, mph: float
) -> None:
    junior = bowler_of(
        loaded(
            f"style: {style}\nspread: new\n"
            f"balls: {{spare: {{weight_lb: {pounds}, speed_mph: {mph}}}}}\n"
        )
    )
    for ball in junior.balls:
        assert ball.ball.mass_kg == pytest.approx(pounds * POUND_KG)
        assert ball.speed_mps <= mph * MPH_MPS
    chart = chart_for(junior, deck=shipped_deck())
    assert chart.first_ball is not None
    assert not chart.unanswered
    assert sum(len(line.leave) == 1 for line in chart.lines) == 10
    assert sum(len(line.leave) > 1 for line in chart.lines) > 10
