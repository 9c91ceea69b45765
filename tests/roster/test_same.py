"""However a roster is written, it says the same: as each student's own profile file would."""

import csv
import io
import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeAlias

import openpyxl
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from cardgen.profile.loader import LoadedProfile, load_profile
from cardgen.roster.reading import Roster, read_roster
from cardgen.roster.student import Student

Fields: TypeAlias = dict[str, Any]
"""Fields of a student by dotted path, as YAML has their values."""

SHARED_FOLDER = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
NUMBERS = {
    "stand.distance_ft": (6, 16),
    "stand.ball_gap_boards": (-5, 15),
    "balls.spare.weight_lb": (6, 16),
    "balls.spare.speed_mph": (8, 30),
    "balls.strike.rotation_deg": (-30, 95),
    "lane.oil_ft": (0, 60),
    "lane.friction.oil": (0.0078125, 0.25),
}
WORDS = {
    "hand": ("right", "left"),
    "style": ("one-handed", "two-handed", "no-thumb"),
    "spread": ("new", "league", "strong", "elite"),
    "balls.strike.cover": ("plastic", "urethane", "reactive"),
}
NAME_PIECES = (
    *(
        "Ann",
        "Bo",
        "Žilanský",
        "李",
        "É",
        "\u0301",
        "x",
        "1",
        "12,5",
        "=1+1",
        "@SUM(A1)",
        "+49",
        "-",
    ),
    *(" ", "  ", '"', '""', "'", ",", ";", "\t", "\n", "\r\n", "\n\n", "|", ":", "#", "{", "\\"),
)


def _names() -> st.SearchStrategy[str]:
    pieces = st.lists(st.sampled_from(NAME_PIECES), min_size=1, max_size=8).map("".join)
    return pieces.filter(lambda name: printed(name) != "")


def printed(name: str) -> str:
    """Return how a table's name is printed: on one line, a mark of text taken off."""
    return re.sub("^'(?=[-=+@])", "", re.sub(r"\s*[\t\r\n]+\s*", " ", name).strip())


@st.composite
def _students(draw: st.DrawFn) -> Fields:
    fields: Fields = {"name": draw(_names()), "hand": draw(st.sampled_from(WORDS["hand"]))}
    for field, words in WORDS.items():
        if field not in fields and draw(st.booleans()):
            fields[field] = draw(st.sampled_from(words))
    for field, (low, high) in NUMBERS.items():
        if draw(st.booleans()):
            fields[field] = draw(st.floats(low, high, width=16) | st.just((low + high) / 2)) + 0.0
    if draw(st.booleans()):
        low, high = sorted(draw(st.lists(st.integers(1, 39), min_size=2, max_size=2, unique=True)))
        fields["stand.boards"] = [low, high]
    if draw(st.booleans()):
        fields["stand.half_boards"] = draw(st.booleans())
    if not any(field.startswith("lane.") for field in fields) and draw(st.booleans()):
        fields["lane"] = draw(st.sampled_from(["house", "short", "long"]))
    leaves = draw(st.lists(st.sampled_from(["10", "7", "3-10", "2-4-5"]), max_size=3, unique=True))
    if leaves:
        boards = st.integers(2, 78).map(lambda half: half / 2)
        fields["known_lines"] = [
            {"leave": leave, "stand": draw(boards), "target": draw(boards), "ball": ball}
            if (ball := draw(st.sampled_from(["spare", "strike", None])))
            else {"leave": leave, "stand": draw(boards), "target": draw(boards)}
            for leave in leaves
        ]
    fields["group"] = draw(st.sampled_from(["", "Juniors", "2", "Evening, late"]))
    fields["copies"] = draw(st.integers(1, 500))
    return fields


def nested(fields: Fields) -> Fields:
    tree: Fields = {}
    for path, value in fields.items():
        *above, last = path.split(".")
        inner = tree
        for step in above:
            inner = inner.setdefault(step, {})
        inner[last] = value
    return tree


def cell(value: Any, point: str = ".") -> str:
    match value:
        case None:
            return ""
        case bool():
            return str(value).upper()
        case float():
            return repr(value).replace(".", point)
        case [dict(), *_]:
            lines = [
                f"{x['leave']}: {cell(x['stand'], point)}/{cell(x['target'], point)}"
                f" {x.get('ball', '')}"
                for x in value
            ]
            return "; ".join(lines)
        case list():
            return " ".join(cell(item, point) for item in value)
    return str(value)


def columns_of(students: Sequence[Fields]) -> list[str]:
    return list(dict.fromkeys(field for student in students for field in student))


def csv_text(students: Sequence[Fields], separator: str, end: str, point: str, always: bool) -> str:
    columns = columns_of(students)

    def quoted(text: str) -> str:
        special = {separator, '"', "\n", "\r"} & set(text) or text[:1].isspace()
        return '"' + text.replace('"', '""') + '"' if always or special else text

    rows = [columns, *([cell(s.get(c), point) for c in columns] for s in students)]
    return "".join(separator.join(map(quoted, row)) + end for row in rows)


def write_xlsx(path: Path, students: Sequence[Fields]) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    columns = columns_of(students)
    for y, student in enumerate([dict(zip(columns, columns, strict=True)), *students], start=1):
        for x, column in enumerate(columns, start=1):
            value = student.get(column)
            if value is None:
                continue
            at = sheet.cell(y, x, value if isinstance(value, bool | int | float) else cell(value))
            if isinstance(at.value, str):
                at.data_type = "s"  # also where it looks like a formula
    book.save(path)


def yaml_text(students: Sequence[Fields], **more: object) -> str:
    rows = [nested({**student, "name": printed(student["name"])}) for student in students]
    return json.dumps({**more, "students": rows}, ensure_ascii=False)


def own_file(folder: Path, fields: Fields) -> LoadedProfile:
    path = folder / "own.yaml"
    profile = nested({k: v for k, v in fields.items() if k not in ("name", "group", "copies")})
    path.write_text(
        json.dumps({"bowler": printed(fields["name"]), **profile}, ensure_ascii=False),
        encoding="utf-8",
    )
    return load_profile(path)


def same(student: Student, loaded: LoadedProfile) -> bool:
    ours = student.loaded
    return (ours.profile, ours.lane, ours.given) == (loaded.profile, loaded.lane, loaded.given)


def assert_students(roster: Roster, students: Sequence[Fields], folder: Path) -> None:
    assert roster.bad == ()
    assert len(roster.students) == len(students)
    for student, fields in zip(roster.students, students, strict=True):
        assert same(student, own_file(folder, fields))
        assert (student.group, student.copies) == (fields["group"], fields["copies"])


@SHARED_FOLDER
@given(
    students=st.lists(_students(), min_size=1, max_size=4),
    separator=st.sampled_from([",", ";", "\t"]),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    point=st.sampled_from([".", ","]),
    always=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"]),
)
def test_a_table_says_what_each_student_s_own_file_would(
    tmp_path: Path,
    students: list[Fields],
    separator: str,
    end: str,
    point: str,
    always: bool,
    encoding: str,
) -> None:
    text = csv_text(students, separator, end, point, always)
    if encoding.startswith("utf-16-"):
        text = f"\ufeff{text}"
    path = tmp_path / "roster.csv"
    path.write_bytes(text.encode(encoding))
    assert_students(read_roster(path), students, tmp_path)


@SHARED_FOLDER
@given(st.lists(_students(), min_size=1, max_size=3))
def test_a_workbook_says_the_same(tmp_path: Path, students: list[Fields]) -> None:
    path = tmp_path / "roster.xlsx"
    write_xlsx(path, students)
    assert_students(read_roster(path), students, tmp_path)


@SHARED_FOLDER
@given(st.lists(_students(), min_size=1, max_size=3))
def test_yaml_says_the_same(tmp_path: Path, students: list[Fields]) -> None:
    path = tmp_path / "roster.yaml"
    path.write_text(yaml_text(students), encoding="utf-8")
    assert_students(read_roster(path), students, tmp_path)


DEFAULTS: Fields = {
    "hand": "left",
    "style": "two-handed",
    "lane.games": 5,
    "lane.friction.oil": 0.05,
    "balls.spare.weight_lb": 11,
    "known_lines": [{"leave": "7", "stand": 33, "target": 20}],
}


def _as_csv(path: Path, defaults: Fields, students: Sequence[Fields]) -> None:
    rows = [{"name": "Default", **defaults}, *students]
    path.write_text(csv_text(rows, ";", "\n", ",", False), encoding="utf-8")


def _as_xlsx(path: Path, defaults: Fields, students: Sequence[Fields]) -> None:
    write_xlsx(path, [{"name": " DEFAULTS", **defaults}, *students])


def _as_yaml(path: Path, defaults: Fields, students: Sequence[Fields]) -> None:
    path.write_text(yaml_text(students, defaults=nested(defaults)), encoding="utf-8")


def _with_a_file(path: Path, defaults: Fields, students: Sequence[Fields]) -> None:
    path.write_text(csv_text(students, ",", "\n", ".", True), encoding="utf-8")
    path.with_name("defaults.yaml").write_text(json.dumps(nested(defaults)), encoding="utf-8")


@pytest.mark.parametrize(
    ("write", "suffix"),
    [(_as_csv, "csv"), (_as_xlsx, "xlsx"), (_as_yaml, "yaml"), (_with_a_file, "csv")],
)
def test_blanks_take_what_holds_for_all(
    tmp_path: Path, write: Callable[[Path, Fields, Sequence[Fields]], None], suffix: str
) -> None:
    students: list[Fields] = [
        {"name": "Ann", "group": "G", "copies": 2, "hand": None, "lane.games": 7},
        {"name": "Bo", "group": "", "copies": 1, "hand": "right", "lane": "short"},
        {"name": "Cy", "group": "", "copies": 1, "known_lines": DEFAULTS["known_lines"] * 1},
    ]
    path = tmp_path / f"roster.{suffix}"
    written = [{k: v for k, v in student.items() if v is not None} for student in students]
    write(path, DEFAULTS, written)
    defaults = path.with_name("defaults.yaml")
    roster = read_roster(path, defaults if defaults.exists() else None)
    lane_out = {k: v for k, v in DEFAULTS.items() if not k.startswith("lane.")}
    expected = [{**DEFAULTS, **written[0]}, {**lane_out, **written[1]}, {**DEFAULTS, **written[2]}]
    assert_students(roster, expected, tmp_path)


def test_a_profile_comes_between_the_row_and_what_holds_for_all(tmp_path: Path) -> None:
    (tmp_path / "their").mkdir()
    (tmp_path / "their" / "lane.yaml").write_text("oil_ft: 33")
    (tmp_path / "their" / "ann.yaml").write_text(
        "bowler: Annabel\nhand: left\nlane: lane.yaml\nstand: {walk: 0.5, distance_ft: 12}\n"
    )
    path = tmp_path / "roster.csv"
    path.write_text(
        "name,hand,stand.distance_ft,stand.drift_boards,profile,lane\n"
        "default,right,13,1,,short\nAnn,,11,,their/ann.yaml,\nBo,,,,,\n"
    )
    ann, bo = read_roster(path).students
    (tmp_path / "their" / "own.yaml").write_text(
        "bowler: Ann\nhand: left\nlane: lane.yaml\n"
        "stand: {walk: 0.5, distance_ft: 11, drift_boards: 1}\n"
    )
    assert same(ann, load_profile(tmp_path / "their" / "own.yaml"))
    assert ann.loaded.lane.oil_ft == 33
    assert "lane.oil_ft" in ann.loaded.given
    stand = {"stand.distance_ft": 13, "stand.drift_boards": 1}
    assert same(bo, own_file(tmp_path, {"name": "Bo", "hand": "right", "lane": "short", **stand}))


def test_the_rows_of_defaults_come_before_the_file_of_defaults(tmp_path: Path) -> None:
    path, defaults = tmp_path / "roster.csv", tmp_path / "club.yaml"
    path.write_text("name;hand;group;stand.walk\ndefault;left;;\nAnn;;;\nBo;;B;0,25\n")
    defaults.write_text(
        "schema: 1\nhand: right\ngroup: A\ncopies: 3\nstand: {walk: 0.5, drift_boards: 2}\n"
    )
    ann, bo = read_roster(path, defaults).students
    assert (ann.group, ann.copies, bo.group, bo.copies) == ("A", 3, "B", 3)
    assert ann.loaded.profile.hand.value == "left"
    assert (ann.loaded.profile.stand.walk, ann.loaded.profile.stand.drift_boards) == (0.5, 2)
    assert bo.loaded.profile.stand.walk == 0.25


def test_null_in_yaml_takes_a_default_of_the_clinic_back(tmp_path: Path) -> None:
    path = tmp_path / "roster.yaml"
    path.write_text(
        "defaults: {hand: right, stand: {ball_gap_boards: 7}}\n"
        "students: [{name: Ann}, {name: Bo, stand: {ball_gap_boards: null}, group: null}]\n"
    )
    ann, bo = read_roster(path).students
    assert ann.loaded.profile.stand.ball_gap_boards == 7
    assert bo.loaded.profile.stand.ball_gap_boards is None
    assert "stand.ball_gap_boards" not in bo.loaded.given


@example("=1+1")
@example("'=1+1")
@example("'twas")
@example("''=1")
@SHARED_FOLDER
@given(_names())
def test_a_name_like_a_formula_is_text(tmp_path: Path, name: str) -> None:
    for path in (tmp_path / "a.csv", tmp_path / "a.xlsx"):
        if path.suffix == ".csv":
            file = io.StringIO()
            csv.writer(file, quoting=csv.QUOTE_ALL).writerows([["name", "hand"], [name, "left"]])
            path.write_text(file.getvalue(), encoding="utf-8", newline="")
        else:
            write_xlsx(path, [{"name": name, "hand": "left"}])
        (student,) = read_roster(path).students
        assert student.loaded.profile.bowler == printed(name)
