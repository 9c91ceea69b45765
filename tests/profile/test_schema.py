"""What a profile can say: defaults, ranges, strictness, and the JSON Schema of it all."""

import json
import subprocess
import sys
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import ValidationError

from cardgen.lane.geometry import Hand, Sights
from cardgen.lane.rack import ALL_LEAVES
from cardgen.profile.schema import (
    Balls,
    KnownLine,
    LaneSpec,
    Profile,
    SpareBall,
    Stand,
    Style,
    profile_json_schema,
)
from cardgen.profile.styles import STYLES
from cardgen.units import FOOT_M

LEAST = {"bowler": "Ann", "hand": "right"}


def profile(**fields: Any) -> Profile:
    return Profile.model_validate(LEAST | fields)


def refused(**fields: Any) -> list[tuple[str, tuple[str | int, ...]]]:
    with pytest.raises(ValidationError) as caught:
        profile(**fields)
    return [(details["type"], details["loc"]) for details in caught.value.errors()]


def test_name_and_hand_are_enough() -> None:
    ann = profile()
    assert (ann.bowler, ann.hand, ann.style) == ("Ann", Hand.RIGHT, "one-handed")
    assert ann == Profile(bowler="Ann", hand=Hand.RIGHT)
    assert ann.stand == Stand()
    assert (ann.stand.distance_ft, ann.stand.ball_gap_boards, ann.stand.walk) == (13, None, 1)
    assert (ann.stand.drift_boards, ann.stand.boards, ann.stand.half_boards) == (0, (1, 39), False)
    assert (ann.spread, ann.lane, ann.known_lines) == ("league", "house", ())


def test_each_ball_in_part_keeps_its_own_defaults() -> None:
    balls = profile(balls={"spare": {"rev_rpm": 100}, "strike": {"rev_rpm": 300}}).balls
    assert balls.spare.model_dump() == {
        "cover": "plastic",
        "weight_lb": 14,
        "speed_mph": 17,
        "rev_rpm": 100,
        "rotation_deg": None,
        "tilt_deg": None,
        "rg_in": None,
    }
    assert balls.strike.model_dump() == {
        "cover": "reactive",
        "weight_lb": 14,
        "speed_mph": 16,
        "rev_rpm": 300,
        "rotation_deg": None,
        "tilt_deg": None,
        "rg_in": None,
    }


def test_the_default_spare_ball_is_thrown_as_spares_are() -> None:
    # Flat, 50 to 150 rpm, axis rotation 0 to 15 degrees (common practice, no source).
    assert Balls().spare.cover == "plastic"
    spare = STYLES["one-handed"].turn["spare"]
    assert 50 <= spare.rev_rpm <= 150
    assert 0 <= spare.rotation_deg <= 15


def test_every_style_has_its_turn_of_both_balls() -> None:
    assert set(STYLES) == set(get_args(Style))
    one_handed = STYLES["one-handed"]
    for style, usual in STYLES.items():
        spare, strike = usual.turn["spare"], usual.turn["strike"]
        # Held back for a spare, as far as the style can.
        assert spare.rev_rpm < strike.rev_rpm
        assert spare.rotation_deg < strike.rotation_deg
        # Two hands, or no thumb, turn a ball more than one hand does (common practice, no source).
        if style != "one-handed":
            assert spare.rev_rpm > one_handed.turn["spare"].rev_rpm
            assert strike.rev_rpm > one_handed.turn["strike"].rev_rpm


def test_the_default_lane_agrees_with_the_literature() -> None:
    # Frohlich, Am. J. Phys. 72, 1170 (2004), as relayed: 0.04 for 12 m, then 0.20.
    lane = LaneSpec()
    assert lane.friction.oil == 0.04
    # On the dry lane all covers are below that, plastic most (an assumption).
    dry = [lane.friction.plastic, lane.friction.urethane, lane.friction.reactive]
    assert dry == sorted(dry)
    assert dry[-1] <= 0.20
    assert lane.oil_ft * FOOT_M == pytest.approx(12, abs=0.25)


def test_the_default_marks_agree_with_the_standard() -> None:
    # USBC equipment specifications: arrows 12 to 16 ft past the foul line, the centre one farthest.
    arrows = LaneSpec().arrows_ft
    assert all(12 <= distance <= 16 for distance in arrows)
    assert [i for i, distance in enumerate(arrows) if distance == max(arrows)] == [3]
    assert tuple(d * FOOT_M for d in arrows) == Sights().arrows_m
    assert tuple(d * FOOT_M for d in LaneSpec().approach_dots_ft) == Sights().approach_dots_m


@pytest.mark.parametrize(
    ("field", "low", "high"),
    [
        # USBC equipment specifications: a ball weighs 16 lb at most, its radius of gyration is
        # 2.46 to 2.80 in, and it rubs on the lane with 0.32 at most.
        ("weight_lb", 6, 16),
        ("rg_in", 2.46, 2.80),
        ("speed_mph", 8, 30),
        ("rev_rpm", 0, 700),
        ("rotation_deg", -30, 95),
        ("tilt_deg", 0, 80),
    ],
)
def test_ball_ranges(field: str, low: float, high: float) -> None:
    for inside in (low, high):
        assert getattr(profile(balls={"spare": {field: inside}}).balls.spare, field) == inside
    for outside in (low - 0.001, high + 0.001):
        assert refused(balls={"spare": {field: outside}})[0][1] == ("balls", "spare", field)


def test_friction_has_the_standard_limit() -> None:
    assert LaneSpec.model_validate({"friction": {"reactive": 0.32}}).friction.reactive == 0.32
    with pytest.raises(ValidationError):
        LaneSpec.model_validate({"friction": {"reactive": 0.3201}})


def test_frozen() -> None:
    with pytest.raises(ValidationError):
        profile().bowler = "Bo"


@pytest.mark.parametrize("number", ["14", True, None, float("nan"), float("inf"), [14]])
def test_only_numbers_are_numbers(number: object) -> None:
    assert refused(balls={"strike": {"weight_lb": number}})


@pytest.mark.parametrize("version", [True, 1.0, "1", 0, 2, None])
def test_only_the_whole_number_1_is_schema_1(version: object) -> None:
    assert refused(schema=version)[0][1] == ("schema",)


@pytest.mark.parametrize("truth", ["yes", "true", 1, 0, None])
def test_only_truths_are_truths(truth: object) -> None:
    assert refused(stand={"half_boards": truth}) == [("bool_type", ("stand", "half_boards"))]


@pytest.mark.parametrize(
    "boards",
    [[39, 1], [5, 5], [0, 39], [1, 40], [1], [1, 2, 3], [1.5, 9], ["1", 9], {"1": 2}, "19"],
)
def test_stand_boards_are_two_rising_boards(boards: object) -> None:
    assert refused(stand={"boards": boards})


@pytest.mark.parametrize(
    "name",
    ["Ilse Marchetti", "Škobernik", "李", "O'Neill-Smith", "NO", "x" * 300, "a\u202eb", "🎳 Ann"],
)
def test_names(name: str) -> None:
    assert profile(bowler=name).bowler == name


def test_a_name_has_no_space_around_it() -> None:
    assert profile(bowler="  Ann ").bowler == "Ann"


@pytest.mark.parametrize(
    "name",
    ["", "  ", "x" * 301, "a\nb", "a\x1bb", "a\u2028b", 7, None],
)
def test_no_names(name: object) -> None:
    assert refused(bowler=name)


def test_a_surrogate_is_no_name() -> None:
    assert refused(bowler="a\ud800b")


def test_spread_is_a_level_or_values() -> None:
    spread = profile(spread={"angle_deg": 0.3}).spread
    assert not isinstance(spread, str)
    assert spread.model_dump() == {
        "angle_deg": 0.3,
        "laydown_boards": 0.5,
        "speed_mph": 0.4,
        "rev_percent": 8.0,
    }
    assert refused(spread={})[0][0] == "missing"
    assert refused(spread="weak")
    assert refused(spread=0.3)


def test_every_leave_can_have_its_line() -> None:
    for leave in ALL_LEAVES:
        line = KnownLine.model_validate({"leave": str(leave), "stand": 20, "target": 20.5})
        assert (line.leave, line.ball) == (str(leave), "spare")


def test_a_leave_is_kept_in_its_usual_form() -> None:
    for given, kept in ((10, "10"), ("10 - 3", "3-10"), ("07", "7")):
        line = KnownLine.model_validate({"leave": given, "stand": 20, "target": 20})
        assert line.leave == kept


@pytest.mark.parametrize("leave", [0, 11, -7, "", "3/10", "3-3", "1-11", True, None, 3.1, [3, 10]])
def test_no_leaves(leave: object) -> None:
    with pytest.raises(ValidationError):
        KnownLine.model_validate({"leave": leave, "stand": 20, "target": 20})


@pytest.mark.parametrize("board", [0.5, 39.5, 20.25, "20", True])
def test_no_boards(board: object) -> None:
    with pytest.raises(ValidationError):
        KnownLine.model_validate({"leave": 10, "stand": board, "target": 20})
    with pytest.raises(ValidationError):
        KnownLine.model_validate({"leave": 10, "stand": 20, "target": board})


def test_a_leave_has_one_line() -> None:
    line = {"leave": "3-10", "stand": 30, "target": 20}
    assert refused(known_lines=[line, line | {"leave": "10-3", "ball": "strike"}]) == [
        ("repeated_leave", ("known_lines",))
    ]


def test_there_are_200_lines_at_most() -> None:
    lines = [{"leave": str(leave), "stand": 20, "target": 20} for leave in ALL_LEAVES]
    assert len(profile(known_lines=lines[:200]).known_lines) == 200
    assert refused(known_lines=lines[:201]) == [("too_long", ("known_lines",))]


# The JSON Schema.


def properties(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    """Yield path, own schema and resolved schema of each property."""
    for owner in (schema, *schema["$defs"].values()):
        for name, own in owner.get("properties", {}).items():
            target = schema["$defs"][own["$ref"].rpartition("/")[2]] if "$ref" in own else own
            yield f"{owner['title']}.{name}", own, target


def test_the_json_schema_is_2020_12_and_names_every_field() -> None:
    schema = profile_json_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "$id" not in schema
    assert schema["title"] == "Bowler profile, schema 1"
    assert schema["required"] == ["bowler", "hand"]
    assert schema["additionalProperties"] is False
    assert list(schema["properties"]) == [
        *("schema", "bowler", "hand", "style", "stand"),
        *("spread", "balls", "lane", "known_lines", "fitted"),
    ]
    assert json.loads(json.dumps(schema, allow_nan=False)) == schema


def test_every_field_is_described_and_has_its_range() -> None:
    for path, own, target in properties(profile_json_schema()):
        assert own.get("description") or target.get("description"), path
        for branch in own.get("anyOf", [own]):
            if branch.get("type") == "number":
                assert {"minimum", "maximum"} <= branch.keys(), path


def test_every_number_has_its_unit_in_name_or_description() -> None:
    units = (
        "feet",
        "boards",
        "Boards",
        "degrees",
        "hour",
        "percent",
        "pounds",
        "minute",
        "inches",
        "litres",
        "metres",
        "games",
        "Games",
        "no unit",
        "to that outside",  # a ratio
    )
    for path, own, _ in properties(profile_json_schema()):
        numeric = any(b.get("type") == "number" for b in own.get("anyOf", [own]))
        if numeric and not path.startswith(("Frictions.", "OilFriction.")):
            assert any(unit in own["description"] for unit in units), path


def test_the_defaults_in_the_json_schema_are_those_of_the_models() -> None:
    schema = profile_json_schema()
    spare = schema["$defs"]["SpareBall"]["properties"]
    assert {name: field["default"] for name, field in spare.items()} == SpareBall().model_dump()
    lane = schema["$defs"]["LaneSpec"]["properties"]
    stated = {name: field["default"] for name, field in lane.items()}
    assert stated == LaneSpec().model_dump(mode="json")
    assert schema["properties"]["spread"]["default"] == "league"
    assert schema["properties"]["schema"] == {
        "const": 1,
        "default": 1,
        "description": "The version of these fields and their meaning.",
        "title": "Schema",
        "type": "integer",
    }


def test_the_json_schema_is_the_same_in_every_run() -> None:
    code = (
        "import json; from cardgen.profile.schema import profile_json_schema;"
        "print(json.dumps(profile_json_schema()))"
    )
    printed = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert printed == {(json.dumps(profile_json_schema()) + "\n").encode()}
