"""From files to profiles: the shipped ones, good ones, and bad ones with their exact messages."""

import re
from pathlib import Path

import pytest

from cardgen.errors import InputError
from cardgen.lane.geometry import Hand
from cardgen.profile.loader import find_profile, load_lane, load_profile
from cardgen.profile.schema import LaneSpec, Profile
from cardgen.profile.styles import STYLES, Turn
from cardgen.resources import data_folder
from cardgen.yamlsource import load_yaml

HERE = Path(__file__).parent
VALID = sorted((HERE / "valid").glob("*.yaml"))
INVALID = sorted((HERE / "invalid").glob("*.yaml"))
DEMOS = sorted(data_folder("profiles").glob("*.yaml"))


def stem(path: Path) -> str:
    return path.stem


def test_the_folders_are_not_empty() -> None:
    assert len(VALID) >= 6
    assert len(INVALID) >= 18
    assert len(DEMOS) >= 2


def test_every_bad_profile_has_its_messages_and_none_is_left_over() -> None:
    assert {path.stem for path in (HERE / "invalid").glob("*.txt")} == {p.stem for p in INVALID}


@pytest.mark.parametrize("path", INVALID, ids=stem)
def test_a_bad_profile_says_exactly_this(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(InputError) as caught:
        load_profile(Path(path.name))
    assert str(caught.value) + "\n" == path.with_suffix(".txt").read_text(encoding="utf-8")
    assert caught.value.exit_code == 2


@pytest.mark.parametrize("path", VALID, ids=stem)
def test_a_good_profile_loads(path: Path) -> None:
    loaded = load_profile(path)
    assert isinstance(loaded.profile, Profile)
    assert loaded.source == str(path)


@pytest.mark.parametrize("path", DEMOS, ids=stem)
def test_the_demos_load_and_explain_themselves(path: Path) -> None:
    loaded = load_profile(path)
    assert loaded.profile.bowler
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# A demo profile with an invented bowler")


def test_the_first_demo_shows_every_field_at_its_default(tmp_path: Path) -> None:
    # Whoever copies it sees what there is to set: stated, or as a comment to take the '#' off.
    shown = find_profile("ilse-marchetti").read_text(encoding="utf-8")
    copy = tmp_path / "copy.yaml"
    copy.write_text(re.sub(r"^( +)# (?=\w+: \S)", r"\1", shown, flags=re.M), encoding="utf-8")
    loaded = load_profile(copy)
    least = Profile(bowler="Ilse Marchetti", hand=Hand.RIGHT)
    ilse = loaded.profile
    # What turns a ball is left to the style, and shown as that of hers.
    turn = ("rev_rpm", "rotation_deg", "tilt_deg")
    for name, usual in STYLES[ilse.style].turn.items():
        ball = getattr(ilse.balls, name)
        assert Turn(*(getattr(ball, field) for field in turn)) == usual
        unset = ball.model_copy(update=dict.fromkeys(turn))
        assert unset == getattr(least.balls, name)
    assert ilse.stand.model_copy(update={"ball_gap_boards": None}) == least.stand
    assert {f"stand.{name}" for name in type(ilse.stand).model_fields} <= loaded.given
    assert {
        f"balls.{ball}.{name}"
        for ball in ("spare", "strike")
        for name in ("cover", "weight_lb", "speed_mph", "rev_rpm", "rotation_deg", "tilt_deg")
    } <= loaded.given
    assert [(line.leave, line.stand) for line in ilse.known_lines] == [("10", 34)]


def test_the_second_demo_differs() -> None:
    wren = load_profile(find_profile("wren-skobernik"))
    assert (wren.profile.bowler, wren.profile.hand.value) == ("Wren Škobernik", "left")
    assert wren.profile.style == "two-handed"
    assert wren.profile.stand.ball_gap_boards is None
    assert "stand.ball_gap_boards" not in wren.given
    assert (wren.lane.oil_ft, wren.lane.friction) == (37, LaneSpec().friction)


def test_the_house_lane_states_every_default() -> None:
    path = data_folder("templates") / "lanes" / "house.yaml"
    assert load_lane(path) == LaneSpec()
    stated = load_yaml(path).value
    assert isinstance(stated, dict)
    # A load sheet says the same in another way.
    assert stated.keys() == LaneSpec.model_fields.keys() - {"load_sheet"}
    assert isinstance(stated["friction"], dict)
    assert stated["friction"].keys() == type(LaneSpec().friction).model_fields.keys()
    assert "assumed values" in path.read_text(encoding="utf-8").splitlines()[0]


def test_every_shipped_lane_loads() -> None:
    lanes = sorted((data_folder("templates") / "lanes").glob("*.yaml"))
    assert lanes
    for lane in lanes:
        load_lane(lane)
    assert [lane.stem for lane in lanes] == ["dry", "flat", "house", "long", "short"]


def test_shipped_lanes_are_what_their_names_say() -> None:
    # Short 35 ft or less, long 42 ft or more; house 8:1 to 12:1 of oil in the middle, sport 4:1 or
    # flatter (common practice, no source).
    folder = data_folder("templates") / "lanes"
    lanes = {path.stem: load_lane(path) for path in folder.glob("*.yaml")}
    assert lanes["short"].oil_ft <= 35
    assert lanes["long"].oil_ft >= 42
    assert 38 <= lanes["house"].oil_ft <= 42
    assert 8 <= lanes["house"].ratio <= 12
    assert lanes["flat"].ratio <= 4
    assert lanes["dry"].oil_ml == min(lane.oil_ml for lane in lanes.values())
    assert lanes["dry"].games == max(lane.games for lane in lanes.values())


def test_given_tells_own_values_from_defaults(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_text(
        "bowler: Ann\nhand: left\nstand: {walk: 1.0, ball_gap_boards: null}\n"
        "balls: {strike: {cover: reactive}}\nknown_lines: [{leave: 10, stand: 34, target: 20}]\n"
    )
    assert load_profile(path).given == {
        *("bowler", "hand", "stand", "stand.walk", "balls", "balls.strike", "balls.strike.cover"),
        *("known_lines", "known_lines.1", "known_lines.1.leave", "known_lines.1.stand"),
        "known_lines.1.target",
    }


def test_a_lane_file_is_found_beside_the_profile() -> None:
    loaded = load_profile(HERE / "valid" / "own_lane.yaml")
    assert loaded.lane.oil_ft == 34
    assert loaded.lane.friction.oil == 0.05
    assert loaded.lane.friction.plastic == LaneSpec().friction.plastic
    assert loaded.lane.arrows_ft == LaneSpec().arrows_ft
    assert {"lane", "lane.oil_ft", "lane.friction", "lane.friction.oil"} <= loaded.given
    assert "lane.arrows_ft" not in loaded.given


def test_a_named_lane_gives_nothing_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_text("bowler: Ann\nhand: left\nlane: house\n")
    loaded = load_profile(path)
    assert loaded.lane == LaneSpec()
    assert {field for field in loaded.given if field.startswith("lane")} == {"lane"}


@pytest.mark.parametrize(
    "name", ["../profiles/ilse-marchetti", "house/../house", "/etc/passwd", "."]
)
def test_a_lane_name_leads_nowhere_else(tmp_path: Path, name: str) -> None:
    path = tmp_path / "f.yaml"
    path.write_text(f"bowler: Ann\nhand: left\nlane: {name}\n")
    with pytest.raises(InputError, match="there is no lane called"):
        load_profile(path)


def test_the_mistakes_of_profile_and_lane_file_come_together(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_text("bowler: Ann\nhand: lefft\nlane: lane.yml\n")
    (tmp_path / "lane.yml").write_text("oil_ft: .nan\n")
    with pytest.raises(InputError) as caught:
        load_profile(path)
    assert [Path(problem.source).name for problem in caught.value.problems] == [
        "f.yaml",
        "lane.yml",
    ]


def test_a_missing_profile() -> None:
    with pytest.raises(InputError, match="there is no such file"):
        load_profile(Path("none.yaml"))


# Finding a profile by name.


def test_a_path_comes_before_a_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert find_profile("ilse-marchetti.yaml") == data_folder("profiles") / "ilse-marchetti.yaml"
    (tmp_path / "ilse-marchetti.yaml").touch()
    assert find_profile("ilse-marchetti.yaml") == Path("ilse-marchetti.yaml")
    assert find_profile("ilse-marchetti") == data_folder("profiles") / "ilse-marchetti.yaml"


def test_a_folder_does_not_hide_a_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ilse-marchetti").mkdir()
    assert find_profile("ilse-marchetti").is_file()


@pytest.mark.parametrize(
    ("name", "message"),
    [
        (
            "Ilse-Marcheti",
            "Ilse-Marcheti: there is no such profile, neither a file nor a demo\n"
            "  hint: did you mean 'ilse-marchetti'?",
        ),
        (
            "an.yaml",
            "an.yaml: there is no such profile, neither a file nor a demo\n"
            "  hint: did you mean 'ann.yaml'?",
        ),
        (
            "sub/bo.yaml",
            "sub/bo.yaml: there is no such profile, neither a file nor a demo\n"
            "  hint: did you mean 'sub/bob.yaml'?",
        ),
        (
            "\x1b[0m",
            "\ufffd[0m: there is no such profile, neither a file nor a demo\n"
            "  hint: the demo profiles are ilse-marchetti, wren-skobernik",
        ),
        ("sub", "sub: this is a folder, not a file"),
    ],
)
def test_near_misses_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sub").mkdir()
    (tmp_path / "ann.yaml").touch()
    (tmp_path / "sub" / "bob.yaml").touch()
    with pytest.raises(InputError) as caught:
        find_profile(name)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    "name", ["", "\0", "x" * 5000, "../profiles/ilse-marchetti/", "none/x.yaml"]
)
def test_odd_names_are_no_profiles(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError):
        find_profile(name)
