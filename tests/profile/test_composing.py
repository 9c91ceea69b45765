"""A profile that teaches: it says what was given and no more, and each line off has its default."""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from cardgen.delivery.spread import PRESETS
from cardgen.lane.rack import Leave
from cardgen.profile.bowler import bowler_of
from cardgen.profile.composing import composed, defaults_of, fault_of
from cardgen.profile.intake import lane_names
from cardgen.profile.loader import LoadedProfile, load_profile
from cardgen.profile.schema import Profile
from cardgen.targeting.chart import chart_for
from cardgen.yamlsource import Value, parse_yaml, yaml_text

LEAST: dict[str, Value] = {"bowler": "Ana", "hand": "right"}
FULL: dict[str, Value] = {
    "bowler": 'Ana "Bo" Ľ — #1: x',
    "hand": "left",
    "style": "no-thumb",
    "stand.distance_ft": 12.5,
    "stand.ball_gap_boards": -1,
    "stand.walk": 0.25,
    "stand.drift_boards": 1.5,
    "stand.boards": [3, 37],
    "stand.half_boards": True,
    "spread": "strong",
    "balls.spare.cover": "urethane",
    "balls.spare.weight_lb": 13,
    "balls.spare.speed_mph": 16.5,
    "balls.spare.rev_rpm": 150,
    "balls.spare.rotation_deg": 0,
    "balls.spare.tilt_deg": 3,
    "balls.spare.rg_in": 2.7,
    "balls.strike.cover": "plastic",
    "balls.strike.weight_lb": 14,
    "balls.strike.speed_mph": 15,
    "balls.strike.rev_rpm": 320,
    "balls.strike.rotation_deg": 45,
    "balls.strike.tilt_deg": 8,
    "balls.strike.rg_in": 2.71,
    "lane": "long",
    "known_lines": [
        {"leave": "10", "stand": 34.5, "target": 20, "ball": "spare"},
        {"leave": "3-10", "stand": 30, "target": 19, "ball": "strike"},
    ],
}
SECTIONS = {"stand", "balls", "balls.spare", "balls.strike", "schema"}
OFF = re.compile(r"^( *)# ((?!known_lines:) *[a-z_]+:.*)$", re.MULTILINE)
EXAMPLE = re.compile(r"^# (known_lines:\n)# (  - .*)$", re.MULTILINE)


def loaded(text: str, folder: Path) -> LoadedProfile:
    path = folder / "profile.yaml"
    path.write_text(text, encoding="utf-8")
    return load_profile(path)


def stated(made: LoadedProfile) -> set[str]:
    """Return the fields that a profile gives, without the sections about them and items in them."""
    return {name for name in made.given - SECTIONS if not re.search(r"\.[0-9]", name)}


@pytest.mark.parametrize("values", [LEAST, FULL])
def test_exactly_what_was_given_is_given(values: dict[str, Value], tmp_path: Path) -> None:
    made = loaded(composed(values), tmp_path)
    assert stated(made) == set(values)
    profile = made.profile.model_dump(mode="json")
    for name, value in values.items():
        found: Value = profile
        for step in name.split("."):
            assert isinstance(found, dict)
            found = found[step]
        assert found == value


def test_name_and_hand_are_enough(tmp_path: Path) -> None:
    made = loaded(composed(LEAST), tmp_path)
    assert made.profile == Profile.model_validate(LEAST)
    assert made.given == {"schema", "bowler", "hand"}


def test_every_field_of_a_profile_stands_in_it_with_a_comment() -> None:
    # FULL has each field by hand, so a field that is new to profiles must be looked at here too.
    text = composed(LEAST)
    fields = [name.rpartition(".")[2] for name in defaults_of({}) if name != "known_lines"]
    assert len(fields) == len(FULL)  # the schema's version in place of the known lines
    for name in fields:
        rows = re.findall(rf"^[# ]*{name}: [^#\n]+# [^\n]{{10,}}$", text, re.MULTILINE)
        assert len(rows) == fields.count(name), name
    for lane in lane_names():
        assert lane in text


@pytest.mark.parametrize("style", ["one-handed", "two-handed", "no-thumb"])
@pytest.mark.parametrize(
    "ball", [{}, {"balls.spare.weight_lb": 8, "balls.strike.cover": "plastic"}]
)
def test_a_line_that_is_off_shows_what_counts_without_it(
    style: str, ball: dict[str, Value], tmp_path: Path
) -> None:
    values = {**LEAST, "style": style, "stand.walk": 0.5, **ball}
    text = composed(values)
    before = loaded(text, tmp_path)
    on, count = OFF.subn(r"\1\2", text)
    after = loaded(on, tmp_path)
    assert count >= 19
    # All on, each field is given, and the bowler is the same to the engine. A line has no default.
    assert stated(after) == set(FULL) - {"known_lines"}
    old, new = bowler_of(before), bowler_of(after)
    assert new.habits == old.habits
    assert new.spread == old.spread
    assert new.stand_boards == old.stand_boards
    for mine, other in zip(new.balls, old.balls, strict=True):
        assert mine.ball == other.ball
        assert mine.speed_mps == other.speed_mps
        assert (mine.rev_radps, mine.rotation_rad, mine.tilt_rad) == (
            other.rev_radps,
            other.rotation_rad,
            other.tilt_rad,
        )
    assert after.lane == before.lane


def test_one_line_alone_can_be_put_on_with_those_that_it_belongs_to(tmp_path: Path) -> None:
    text = composed(LEAST)
    for key in ("balls:", "  strike:", "    rev_rpm: 280"):
        text = text.replace(f"# {key}", key)
    assert stated(loaded(text, tmp_path)) == {"bowler", "hand", "balls.strike.rev_rpm"}
    # Where the section is on already, the line alone will do.
    text = composed({**LEAST, "stand.walk": 1}).replace("# drift_boards: 0", "drift_boards: 2")
    assert stated(loaded(text, tmp_path)) == {"bowler", "hand", "stand.walk", "stand.drift_boards"}


@pytest.mark.parametrize(("hand", "corner"), [("right", "10"), ("left", "7")])
def test_the_example_of_a_line_is_a_line_once_it_is_put_on(
    hand: str, corner: str, tmp_path: Path
) -> None:
    on, count = EXAMPLE.subn(r"\1\2", composed({**LEAST, "hand": hand}))
    assert count == 1
    made = loaded(on, tmp_path)
    assert made.profile.known_lines[0].leave == corner
    assert stated(made) == {"bowler", "hand", "known_lines"}
    # A mirror image; the model has it hit the corner pin with everything else left alone.
    chart = chart_for(bowler_of(made), [Leave.parse(corner)])
    assert [line.reaches for line in chart.lines] == [True]
    # Where there are lines there is no example.
    assert EXAMPLE.search(composed(FULL)) is None


def test_what_the_words_for_steadiness_stand_for_is_what_counts() -> None:
    text = " ".join(composed(LEAST).replace("\n# ", " ").split())
    told = "new (4 to 5 or more), league (about 4), strong (about 3) or elite (about 2)"
    assert told in text
    # Ten normal values range over 3.078 standard deviations in the mean (the factor d2 of control
    # charts for samples of ten, any handbook of quality control; from memory). The arrows are some
    # 15 ft past the foul line (USBC), a board is 41.5 in / 39 wide.
    for level, boards in (("new", 4.5), ("league", 4), ("strong", 3), ("elite", 2)):
        boards_off = 15 * 12 * math.tan(PRESETS[level].launch_rad) / (41.5 / 39)
        assert 3.078 * boards_off == pytest.approx(boards, abs=0.1), level


@pytest.mark.parametrize(("unit", "comment"), [(2.2, "1 kg is 2.2"), (6.2, "10 km/h are 6.2")])
def test_units_in_comments_are_right(unit: float, comment: str) -> None:
    # An exact pound is 0.45359237 kg and a mile 1609.344 m (international yard and pound, 1959).
    exact = {2.2: 1 / 0.45359237, 6.2: 10 / 1.609344}
    assert round(exact[unit], 1) == unit
    assert comment in composed(LEAST)


def test_it_tells_from_which_side_boards_count() -> None:
    assert "the right: board 1 is the rightmost" in composed(LEAST).replace("\n# ", " ")
    assert "the left: board 1 is the leftmost" in composed({**LEAST, "hand": "left"}).replace(
        "\n# ", " "
    )


def test_a_known_line_is_told_in_words() -> None:
    assert composed(FULL).endswith(
        """
known_lines:
  - {leave: "10", stand: 34.5, target: 20, ball: spare}    # the 10 pin: stand on 34.5, look at 20
  - {leave: "3-10", stand: 30, target: 19, ball: strike}  # the 3-10: stand on 30, look at 19
""".replace("spare}    #", "spare}   #")
    )


@pytest.mark.parametrize("values", [LEAST, FULL, {**LEAST, "bowler": "x" * 300}])
def test_lines_are_short_enough_to_read(values: dict[str, Value]) -> None:
    lines = composed(values).splitlines()
    assert all(len(line) <= 100 for line in lines if not line.startswith("bowler: "))


def test_a_field_set_to_nothing_is_not_given(tmp_path: Path) -> None:
    made = loaded(composed({**LEAST, "stand.walk": None, "known_lines": []}), tmp_path)
    assert made.given == {"schema", "bowler", "hand"}


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("stand.walk", 2, "must be a number from 0 to 1 (got 2)"),
        ("stand.walk", "much", "must be a number from 0 to 1 (got 'much')"),
        ("balls.spare.cover", "wood", "must be plastic, urethane or reactive (got 'wood')"),
        ("hand", "both", "must be right or left (got 'both')"),
        ("bowler", "a\x07b", "must be printable characters (it has U+0007)"),
        ("stand.walk", 0.5, None),
        ("bowler", "Ana", None),
    ],
)
def test_a_fault_is_told_as_the_profile_has_it(field: str, value: Value, fault: str | None) -> None:
    assert fault_of(field, value) == fault


def test_what_is_no_profile_is_not_written() -> None:
    for values in ({"bowler": "Ana"}, {**LEAST, "stand.walk": 2}, {**LEAST, "stand.wlak": 1}):
        with pytest.raises(ValidationError):
            composed(values)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_any_text_comes_back_from_its_quotes(text: str) -> None:
    assert parse_yaml(f"name: {yaml_text(text)}\n", "t").value == {"name": text}


@given(
    st.fixed_dictionaries(
        {
            "bowler": st.text(
                st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=40
            ).filter(str.strip),
            "hand": st.sampled_from(["right", "left"]),
        },
        optional={
            "stand.distance_ft": st.floats(6, 16),
            "stand.drift_boards": st.floats(-10, 10),
            "stand.ball_gap_boards": st.integers(-5, 15),
            "balls.strike.rotation_deg": st.floats(-30, 95),
            "balls.spare.weight_lb": st.floats(6, 16),
            "spread": st.sampled_from(["new", "league", "strong", "elite"]),
            "lane": st.sampled_from(["house", "flat", "mine.yaml", "true", "a: b", "1"]),
        },
    )
)
def test_any_values_come_back_as_they_were(values: dict[str, Value]) -> None:
    found = parse_yaml(composed(values), "t").value
    profile = Profile.model_validate(found)
    assert profile == Profile.model_validate(_tree(values))


def _tree(values: dict[str, Value]) -> dict[str, Value]:
    tree: dict[str, Value] = {}
    for name, value in values.items():
        node = tree
        *above, key = name.split(".")
        for step in above:
            inner = node.setdefault(step, {})
            assert isinstance(inner, dict)
            node = inner
        node[key] = value
    return tree
