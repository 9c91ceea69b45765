"""An intake form makes the profile it says, and a profile fills the form it came from."""

from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cardgen.errors import InputError, Problem
from cardgen.formsource import Form
from cardgen.profile.intake import (
    INTAKE,
    KNOWN_LINES,
    lane_names,
    profile_text_of,
    values_of,
    yaml_word,
)
from cardgen.profile.loader import LoadedProfile, find_profile, load_profile
from cardgen.profile.schema import Profile
from cardgen.yamlsource import parse_yaml

LEAST = {"bowler": "Ana", "hand": "right"}
FULL = {
    "bowler": 'Ana "Bo" Ľ — #1: x',
    "hand": "left",
    "style": "no-thumb",
    "stand.distance_ft": "12.5",
    "stand.ball_gap_boards": "-1",
    "stand.walk": "0.25",
    "stand.drift_boards": "1.5",
    "spread": "strong",
    "balls.spare.cover": "urethane",
    "balls.spare.weight_lb": "13",
    "balls.spare.speed_mph": "16.5",
    "balls.strike.cover": "reactive",
    "balls.strike.weight_lb": "14",
    "balls.strike.speed_mph": "15",
    "balls.strike.rev_rpm": "320",
    "balls.strike.rotation_deg": "45",
    "lane": "long",
    "known_lines.1.leave": "10",
    "known_lines.1.stand": "34.5",
    "known_lines.1.target": "20",
    "known_lines.1.ball": "spare",
    "known_lines.2.leave": "3-10",
    "known_lines.2.stand": "30",
    "known_lines.2.target": "19",
    "known_lines.2.ball": "strike",
}


def text_of(values: dict[str, str]) -> str:
    return profile_text_of(Form("intake.pdf", values))


def loaded(text: str, folder: Path) -> LoadedProfile:
    path = folder / "profile.yaml"
    path.write_text(text, encoding="utf-8")
    return load_profile(path)


def said(values: dict[str, str]) -> list[str]:
    with pytest.raises(InputError) as caught:
        text_of(values)
    return [str(p).removeprefix("intake.pdf: ") for p in caught.value.problems]


def test_a_full_form_makes_the_profile_it_says(tmp_path: Path) -> None:
    made = loaded(text_of(FULL), tmp_path)
    profile = made.profile
    assert profile.bowler == FULL["bowler"]
    assert profile.hand.value == "left"
    assert (profile.style, profile.spread, profile.lane) == ("no-thumb", "strong", "long")
    assert profile.stand.model_dump(exclude={"boards", "half_boards"}) == {
        "distance_ft": 12.5,
        "ball_gap_boards": -1,
        "walk": 0.25,
        "drift_boards": 1.5,
    }
    assert profile.balls.spare.model_dump(include={"cover", "weight_lb", "speed_mph"}) == {
        "cover": "urethane",
        "weight_lb": 13,
        "speed_mph": 16.5,
    }
    assert (profile.balls.strike.rev_rpm, profile.balls.strike.rotation_deg) == (320, 45)
    lines = [(line.leave, line.stand, line.target, line.ball) for line in profile.known_lines]
    assert lines == [("10", 34.5, 20, "spare"), ("3-10", 30, 19, "strike")]
    # What was filled in counts as given, and nothing else does.
    assert set(FULL) <= made.given
    assert "stand.boards" not in made.given


def test_name_and_hand_are_enough_and_the_rest_are_defaults(tmp_path: Path) -> None:
    made = loaded(text_of(LEAST), tmp_path)
    assert made.profile == Profile.model_validate({"bowler": "Ana", "hand": "right"})
    assert made.given == {"schema", "bowler", "hand"}


def test_the_text_is_one_that_a_bowler_would_go_on_editing() -> None:
    assert (
        text_of(
            {
                **LEAST,
                "balls.strike.rev_rpm": "280",
                "known_lines.3.leave": "10",
                "known_lines.3.stand": "34½",
                "known_lines.3.target": "20",
            }
        )
        == """\
# Made from an intake form. What was left blank there is a default.
schema: 1
bowler: "Ana"
hand: right

# The two balls, and how each of them is released.
balls:
  strike:
    rev_rpm: 280

# Lines that the bowler already trusts: they are kept.
known_lines:
  - {leave: "10", stand: 34.5, target: 20}
"""
    )


@pytest.mark.parametrize(
    ("written", "number"),
    [("13", 13), ("12.5", 12.5), ("12,5", 12.5), ("12½", 12.5), ("012", 12), ("+9", 9), ("8.", 8)],
)
def test_numbers_are_read_as_people_write_them(written: str, number: float) -> None:
    document = parse_yaml(text_of({**LEAST, "stand.distance_ft": written}), "t")
    assert isinstance(document.value, dict)
    assert document.value["stand"] == {"distance_ft": number}


@pytest.mark.parametrize("written", ["-½", "−.5", "-0,5", "-0.50"])
def test_signs_are_read_as_people_write_them(written: str) -> None:
    document = parse_yaml(text_of({**LEAST, "stand.drift_boards": written}), "t")
    assert isinstance(document.value, dict)
    assert document.value["stand"] == {"drift_boards": -0.5}


@pytest.mark.parametrize(
    ("values", "problem"),
    [
        ({"stand.walk": "2"}, "stand.walk: must be a number from 0 to 1 (got 2)"),
        (
            {"stand.distance_ft": "13 ft"},
            "stand.distance_ft: must be a number from 6 to 16 (got '13 ft')\n"
            "  hint: write the number alone: 13",
        ),
        (
            {"stand.distance_ft": "1e1"},
            "stand.distance_ft: must be a number from 6 to 16 (got '1e1')",
        ),
        ({"stand.distance_ft": "."}, "stand.distance_ft: must be a number from 6 to 16 (got '.')"),
        (
            {"balls.strike.rev_rpm": "800"},
            "balls.strike.rev_rpm: must be a number from 0 to 700 (got 800)",
        ),
        (
            {"balls.spare.cover": "plastik"},
            "balls.spare.cover: must be plastic, urethane or reactive (got 'plastik')\n"
            "  hint: did you mean 'plastic'?",
        ),
        (
            {"lane": "mine.yaml"},
            "lane: must be dry, flat, house, long or short (got 'mine.yaml')",
        ),
        (
            {"bowler": "x" * 301},
            "bowler: must be text of at most 300 characters (got 301 characters)",
        ),
        ({"bowler": "a\x07b"}, "bowler: must be printable characters (it has U+0007)"),
        ({"weight": "14"}, "weight: the intake form has no such field"),
    ],
)
def test_a_mistake_is_told_by_its_field(values: dict[str, str], problem: str) -> None:
    assert said({**LEAST, **values}) == [problem]


def test_name_and_hand_are_asked_for() -> None:
    missing = "is missing, and there is no default for it"
    assert said({}) == [f"bowler: {missing}", f"hand: {missing}"]
    # A wrong hand is told once, as what it is.
    assert said({"hand": "both", "bowler": "Ana"}) == ["hand: must be right or left (got 'both')"]


def test_a_choice_may_come_in_capitals() -> None:
    assert text_of({"bowler": "Ana", "hand": "Right"}) == text_of(LEAST)


def test_a_known_line_is_whole_or_blank() -> None:
    # The form's own row is named, though the rows above it are blank.
    missing = (
        "is missing, and there is no default for it\n"
        "  hint: fill in leave, stand and target, or leave the whole line blank"
    )
    assert said({**LEAST, "known_lines.3.leave": "10"}) == [
        f"known_lines.3.stand: {missing}",
        f"known_lines.3.target: {missing}",
    ]
    assert said({**LEAST, "known_lines.4.ball": "strike", "known_lines.4.stand": "3"}) == [
        f"known_lines.4.leave: {missing}",
        f"known_lines.4.target: {missing}",
    ]


def test_a_wrong_board_or_leave_of_a_line_is_told_by_its_row() -> None:
    line = {"known_lines.2.leave": "11", "known_lines.2.stand": "40", "known_lines.2.target": "9.3"}
    leave, stand, target = said({**LEAST, **line})
    assert leave.startswith("known_lines.2.leave: ")
    assert "quotes" not in leave
    assert stand == "known_lines.2.stand: must be a number from 1 to 39 in steps of 0.5 (got 40)"
    assert target.startswith("known_lines.2.target: must be a number from 1 to 39")


def test_a_leave_with_two_lines_is_told() -> None:
    rows = {
        f"known_lines.{n}.{key}": value
        for n, leave in ((1, "3-10"), (4, "10-3"))
        for key, value in (("leave", leave), ("stand", "30"), ("target", "20"))
    }
    assert said({**LEAST, **rows}) == [
        "known_lines.4.leave: the leave 3-10 already has its line, in known_lines.1.leave\n"
        "  hint: keep one of the two"
    ]


def test_another_form_is_told_as_such() -> None:
    assert said({"shot.1.leave": "10", "shot.2.leave": "7"}) == [
        "none of the fields filled in is one of the intake form\n  hint: is this another form?"
    ]


def test_every_mistake_is_told_at_once() -> None:
    problems = said({"bowler": "A", "hand": "rite", "stand.walk": "no", "lane": "wet", "x": "y"})
    assert [problem.partition(":")[0] for problem in problems] == [
        "hand",
        "lane",
        "stand.walk",
        "x",
    ]


def test_the_form_asks_for_nothing_that_a_profile_cannot_say() -> None:
    assert len({question.field for question in INTAKE}) == len(INTAKE)
    assert lane_names() == ("dry", "flat", "house", "long", "short")
    for question in INTAKE:
        for option in question.options:
            row = question.field.rpartition(".")[0] + "."
            line = {f"{row}leave": "10", f"{row}stand": "30", f"{row}target": "20"}
            with_line = line if question.field.startswith("known_lines") else {}
            assert option in text_of({**LEAST, **with_line, question.field: option})


@pytest.mark.parametrize("values", [LEAST, FULL])
def test_a_profile_fills_the_form_that_it_came_from(values: dict[str, str], tmp_path: Path) -> None:
    made = loaded(text_of(values), tmp_path)
    assert values_of(made.profile, made.given) == values


@pytest.mark.parametrize("name", ["ilse-marchetti", "wren-skobernik"])
def test_a_shipped_profile_goes_into_the_form_and_out_again(name: str, tmp_path: Path) -> None:
    demo = load_profile(find_profile(name))
    values = values_of(demo.profile, demo.given)
    assert values["bowler"] == demo.profile.bowler
    made = loaded(text_of(values), tmp_path)
    assert values_of(made.profile, made.given) == values
    assert made.profile.stand.distance_ft == demo.profile.stand.distance_ft
    assert made.profile.known_lines == demo.profile.known_lines[:KNOWN_LINES]


def test_what_the_form_has_no_place_for_stays_blank(tmp_path: Path) -> None:
    lines = "".join(f"  - {{leave: '{pin}', stand: 20, target: 20}}\n" for pin in range(2, 9))
    made = loaded(
        "bowler: A\nhand: left\nspread: {angle_deg: 0.4}\nlane: {oil_ft: 38}\n"
        "stand: {boards: [3, 30], half_boards: true}\nknown_lines:\n" + lines,
        tmp_path,
    )
    values = values_of(made.profile, made.given)
    assert set(values) == {"bowler", "hand"} | {
        f"known_lines.{n}.{key}" for n in range(1, 5) for key in ("leave", "stand", "target")
    }


def numbers(low: float, high: float) -> st.SearchStrategy[str]:
    """Return numbers as the form writes them: in digits, without needless ones."""
    return st.decimals(low, high, places=3).map(lambda x: format((x + 0).normalize(), "f"))


HALVES = st.integers(2, 78).map(lambda n: f"{n / 2:g}")
NUMBERS = {
    "stand.distance_ft": numbers(6, 16),
    "stand.ball_gap_boards": numbers(-5, 15),
    "stand.walk": numbers(0, 1),
    "stand.drift_boards": numbers(-10, 10),
    "balls.spare.weight_lb": numbers(6, 16),
    "balls.spare.speed_mph": numbers(8, 30),
    "balls.strike.weight_lb": numbers(6, 16),
    "balls.strike.speed_mph": numbers(8, 30),
    "balls.strike.rev_rpm": numbers(0, 700),
    "balls.strike.rotation_deg": numbers(-30, 95),
}
NAMES = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=40)
LEAVES = ["10", "7", "3-10", "2-8", "1-2-4-7", "4-6-7-10"]


@st.composite
def intakes(draw: st.DrawFn) -> dict[str, str]:
    values: dict[str, str] = {}
    rows = draw(st.integers(0, KNOWN_LINES))
    leaves = draw(st.permutations(LEAVES))
    for question in INTAKE:
        name = question.field
        if name.startswith("known_lines."):
            row, key = int(name.split(".")[1]), name.split(".")[2]
            if row > rows:
                continue
            if key == "leave":
                values[name] = leaves[row]
            elif key != "ball":
                values[name] = draw(HALVES)
            elif draw(st.booleans()):
                values[name] = draw(st.sampled_from(question.options))
        elif name == "bowler":
            values[name] = draw(NAMES.map(str.strip).filter(bool))
        elif name == "hand" or draw(st.booleans()):
            options = question.options
            values[name] = draw(st.sampled_from(options) if options else NUMBERS[name])
    return values


@given(values=intakes())
@example(values=FULL)
@example(values={**LEAST, "bowler": "null"})
@example(values={**LEAST, "bowler": "a\u00a0b\ufeff\U0001f3b3 \\x41 'q' %{}[]&*!|>@`"})
def test_intake_to_profile_to_intake_is_a_round_trip(
    values: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = text_of(values)
    made = loaded(text, tmp_path_factory.mktemp("intake"))
    back = values_of(made.profile, made.given)
    assert back == values
    assert text_of(back) == text


@given(
    values=st.dictionaries(
        st.sampled_from([question.field for question in INTAKE]),
        st.text(max_size=20)
        | st.sampled_from(["10", "3-10", "20", "1e3", "-", "½", ",", "9" * 20]),
    )
)
def test_whatever_is_typed_makes_a_profile_or_is_told_by_its_field(values: dict[str, str]) -> None:
    problems: tuple[Problem, ...] = ()
    try:
        Profile.model_validate(parse_yaml(text_of(values), "t").value)
    except InputError as error:
        problems = error.problems
    assert {problem.where for problem in problems} <= {question.field for question in INTAKE}
    assert {problem.source for problem in problems} <= {"intake.pdf"}


@pytest.mark.parametrize(
    "text", ["true", "false", "null", "house", "one-handed", "Ana", "7", "a: b"]
)
def test_a_word_of_a_profile_is_read_back_as_that_word(text: str) -> None:
    assert parse_yaml(f"x: {yaml_word(text)}\n", "").value == {"x": text}
    assert yaml_word("one-handed") == "one-handed"
