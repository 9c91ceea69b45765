"""Numbers with a unit are told in the unit of the field, whoever wrote them where."""

from pathlib import Path

import pytest

from cardgen.errors import InputError
from cardgen.profile.loader import read_profile
from cardgen.profile.measures import factors_into, unit_hint
from cardgen.roster.reading import read_roster
from cardgen.yamlsource import parse_yaml


@pytest.mark.parametrize(
    ("text", "field", "hint"),
    [
        # Factors: NIST SP 811, appendix B.8 (mile, pound, foot, inch), to three figures.
        ("27 km/h", "speed_mph", "27 km/h is 16.8 mph: write 16.8"),
        ("27km/h", "speed_mph", "27km/h is 16.8 mph: write 16.8"),
        ("7.5 m/s", "speed_mph", "7.5 m/s is 16.8 mph: write 16.8"),
        ("6 kg", "weight_lb", "6 kg is 13.2 lb: write 13.2"),
        ("3600 g", "weight_lb", "3600 g is 7.94 lb: write 7.94"),
        ("1 st", "weight_lb", "1 st is 14 lb: write 14"),
        ("224 oz", "weight_lb", "224 oz is 14 lb: write 14"),
        ("4 m", "distance_ft", "4 m is 13.1 ft: write 13.1"),
        ("400 cm", "distance_ft", "400 cm is 13.1 ft: write 13.1"),
        ("156 in", "distance_ft", "156 in is 13 ft: write 13"),
        ("6.35 cm", "rg_in", "6.35 cm is 2.5 in: write 2.5"),
        ("12,19 m", "oil_ft", "12,19 m is 40 ft: write 40"),
    ],
)
def test_a_known_unit_is_converted(text: str, field: str, hint: str) -> None:
    assert unit_hint(text, field) == hint


@pytest.mark.parametrize(
    ("text", "field", "hint"),
    [
        ("16 mph", "speed_mph", "write the number alone: 16"),
        ("14 Lbs.", "weight_lb", "write the number alone: 14"),
        ("13'", "distance_ft", "write the number alone: 13"),
        ("34 boards", "stand_board", "write the number alone: 34"),
        ("34th", "stand_board", "write the number alone: 34"),
        ("280 rpm", "rev_rpm", "write the number alone: 280"),
        ("50°", "rotation_deg", "write the number alone: 50"),
        ("34 boards", "stand", "write the number alone: 34"),
        # Nobody is told a number that would then be taken for another.
        ("17 knots", "speed_mph", "write the number alone, in miles per hour"),
        ("14 kg", "speed_mph", "write the number alone, in miles per hour"),
        ("5 strides", "distance_ft", "write the number alone, in feet"),
        ("5 cm", "drift_boards", "write the number alone, in boards"),
        ("13 or so", "weight_lb", "write the number alone, in pounds"),
    ],
)
def test_any_other_unit_is_taken_off_or_named(text: str, field: str, hint: str) -> None:
    assert unit_hint(text, field) == hint


@pytest.mark.parametrize("text", ["", "fast", "0x1F", "0b1", "12", "1e3", "km/h", "1_000"])
def test_what_is_no_number_with_a_unit_has_no_such_hint(text: str) -> None:
    assert unit_hint(text, "speed_mph") is None


@pytest.mark.parametrize("speed", ["27 km/h", '"27 km/h"'])
def test_a_profile_tells_it(speed: str) -> None:
    text = f"bowler: A\nhand: right\nballs: {{spare: {{speed_mph: {speed}}}}}\n"
    with pytest.raises(InputError) as refused:
        read_profile(parse_yaml(text, "a.yaml"), Path())
    (problem,) = refused.value.problems
    assert problem.hint == "27 km/h is 16.8 mph: write 16.8"


def test_items_of_a_list_have_the_unit_of_the_list() -> None:
    text = "bowler: A\nhand: right\nlane: {approach_dots_ft: [12, 4.6 m]}\n"
    with pytest.raises(InputError) as refused:
        read_profile(parse_yaml(text, "a.yaml"), Path())
    (problem,) = refused.value.problems
    assert problem.hint == "4.6 m is 15.1 ft: write 15.1"


def test_a_roster_tells_it(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text('name,hand,balls.spare.speed_mph\nAna,right,"27 km/h"\nBen,right,"27,4 km/h"\n')
    hints = [problem.hint for problem in read_roster(path).bad]
    assert hints == ["27 km/h is 16.8 mph: write 16.8", "27.4 km/h is 17 mph: write 17"]


def test_a_unit_takes_what_is_of_its_kind_and_no_other() -> None:
    # NIST SP 811, appendix B.8: 1 ft = 0.3048 m, 1 lb = 0.453 592 37 kg, 1 mi/h = 0.447 04 m/s
    feet, pounds, mph = (factors_into(unit) for unit in ("ft", "lb", "mph"))
    assert (feet["m"], pounds["kilos"]) == pytest.approx((1 / 0.3048, 1 / 0.45359237))
    assert (mph["m/s"], mph["kph"]) == pytest.approx((1 / 0.44704, 1 / 3.6 / 0.44704))
    assert (feet["feet"], feet["in"], pounds["stone"], mph["mi/h"]) == pytest.approx(
        (1, 1 / 12, 14, 1)
    )
    assert not set(feet) & set(pounds)
    assert set(factors_into("rpm")) == {"rpm", "u/min"}
