"""What is wrong with a roster is told where it stands, and spoils no other row."""

import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from cardgen.errors import InputError
from cardgen.profile.schema import Profile
from cardgen.resources import data_folder, yaml_files
from cardgen.roster import reading
from cardgen.roster.columns import COLUMNS, Kind
from cardgen.roster.reading import MAX_BYTES, Roster, open_roster, read_roster
from cardgen.roster.student import Student

Read = Callable[..., Roster]
LISTED = (
    "  hint: the columns are name, hand, style, group, copies, profile, known_lines and fields of "
    "a profile such as stand.distance_ft or balls.spare.speed_mph"
)


@pytest.fixture
def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Read:
    monkeypatch.chdir(tmp_path)

    def read(content: str | bytes, name: str = "r.csv", defaults: str | None = None) -> Roster:
        Path(name).write_bytes(content if isinstance(content, bytes) else content.encode())
        if defaults is None:
            return read_roster(Path(name))
        Path("all.yaml").write_text(defaults)
        return read_roster(Path(name), Path("all.yaml"))

    return read


def refusal(
    read: Read, content: str | bytes, name: str = "r.csv", defaults: str | None = None
) -> str:
    with pytest.raises(InputError) as caught:
        read(content, name, defaults)
    return str(caught.value)


def bad(roster: Roster) -> str:
    return "\n".join(map(str, roster.bad)) + "\n"


def names(roster: Roster) -> list[str]:
    return [student.loaded.profile.bowler for student in roster.students]


# --- What there is


def test_every_field_of_a_profile_that_a_cell_can_hold_has_its_column() -> None:
    top = {name.partition(".")[0] for name in COLUMNS}
    assert top >= Profile.model_fields.keys() - {"schema_version", "bowler", "fitted"}
    assert COLUMNS["balls.strike.rotation_deg"] is Kind.NUMBER
    assert COLUMNS["stand.boards"] is COLUMNS["lane.arrows_ft"] is Kind.NUMBERS
    assert COLUMNS["stand.half_boards"] is Kind.TRUTH
    assert COLUMNS["hand"] is COLUMNS["spread"] is COLUMNS["balls.spare.cover"] is Kind.WORD
    assert COLUMNS["lane"] is Kind.TEXT
    assert COLUMNS["known_lines"] is Kind.LINES


def test_headers_are_read_in_any_letters_and_notes_are_not_looked_at(read: Read) -> None:
    roster = read(
        " NAME ;Hand;Stand.Distance FT;balls . spare . Weight_LB;Known Lines;Note;notes;;\n"
        'Ann;Left;13,5;"10,25";10: 31½/20,5 Strike ;=1/0;x;;\n'
    )
    (ann,) = roster.students
    profile = ann.loaded.profile
    assert (profile.stand.distance_ft, profile.balls.spare.weight_lb) == (13.5, 10.25)
    (line,) = profile.known_lines
    assert (line.leave, line.stand, line.target, line.ball) == ("10", 31.5, 20.5, "strike")
    assert (ann.group, ann.copies, ann.row) == ("", 1, 2)
    assert roster == Roster("r", (ann,), ())


def test_two_students_may_have_one_name(read: Read) -> None:
    assert names(read("name,hand\nAnn,left\nAnn,left\n")) == ["Ann", "Ann"]


def test_rows_count_as_lines_of_the_file(read: Read) -> None:
    roster = read('\n,\nname,hand\n\n"Ann\nLee",left\n,\nBo,left\n')
    assert [(s.loaded.profile.bowler, s.row) for s in roster.students] == [
        ("Ann Lee", 5),
        ("Bo", 8),
    ]


def test_the_title_is_the_clinic_s_or_the_file_s(read: Read) -> None:
    assert read("name,hand\nAnn,left\n", "Saturday class.tsv").title == "Saturday class"
    text = "students: [{name: Ann, hand: left}]\n"
    assert read(text, "r.yml").title == "r"
    assert read(f"clinic: Saturday juniors\n{text}", "r.yml").title == "Saturday juniors"


# --- Bad rows


BAD = sorted((Path(__file__).parent / "bad").glob("rows.*[!t]"))


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.suffix)
def test_bad_rows_are_located_and_the_others_kept(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(path.parent)
    roster = read_roster(Path(path.name))
    assert names(roster) == ["Ann", "Ona"]
    expected = path.with_name(f"{path.suffix[1:]}.txt").read_text(encoding="utf-8")
    assert bad(roster) == expected


def test_there_are_bad_rows_of_two_kinds() -> None:
    assert [path.suffix for path in BAD] == [".csv", ".yaml"]


def test_the_place_of_a_student_in_the_iterator_is_that_of_his_row(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("name,hand\nAnn,left\nBo,?\nCy,left\n")
    kinds = [isinstance(one, Student) for one in open_roster(path)[1]]
    assert kinds == [True, False, True]


def test_a_lane_by_name_is_not_changed_by_a_field(read: Read) -> None:
    roster = read("name;hand;lane;lane.oil_ft\ndefault;left;dry;\nAnn;;;38\nBo;;house;38\nCy;;;\n")
    assert bad(roster) == textwrap.dedent("""\
        r.csv:3:7: lane.oil_ft: the lane is 'dry', which a field cannot change
            Ann;;;38
                  ^
          hint: put all of it into a lane file, and name that as the lane
        r.csv:4:11: lane.oil_ft: lane is given in this row too, and only one of the two can be
            Bo;;house;38
                      ^
        """)
    assert names(roster) == ["Cy"]
    assert names(read("name;hand;lane;lane.oil_ft\ndefault;left;house;\nAnn;;;38\n")) == ["Ann"]


# --- What spoils the whole file


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "r.csv: the file is empty"),
        (" \n;;\n,,\n", "r.csv: the file is empty"),
        ("name,hand\n", "r.csv: there are no students in this file"),
        ("name,hand\ndefault,left\n", "r.csv: there are no students in this file"),
        (
            "Ann,left\nBo,right\n",
            "r.csv:1:1: the first row must name the columns of a roster\n"
            f"    Ann,left\n    ^\n{LISTED}",
        ),
        (
            "hand,nmae,stand.walk\nleft,Ann,1\n",
            "r.csv:1: the column name is missing\n  hint: every roster has name\n"
            "r.csv:1:6: there is no column 'nmae'\n"
            "    hand,nmae,stand.walk\n         ^\n  hint: did you mean 'name'?",
        ),
        (
            "name;Bowler;speed_mph;walk;age;;hand;Hand\nAnn\n",
            "r.csv:1:6: there is no column 'Bowler'\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n         ^\n"
            "  hint: did you mean 'name'?\n"
            "r.csv:1:13: there is no column 'speed_mph'\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n                ^\n"
            "  hint: did you mean 'spread.speed_mph' or 'balls.spare.speed_mph' or "
            "'balls.strike.speed_mph'?\n"
            "r.csv:1:23: there is no column 'walk'\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n                          ^\n"
            "  hint: did you mean 'stand.walk'?\n"
            "r.csv:1:28: there is no column 'age'\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n                               ^\n"
            f"{LISTED}\n"
            "r.csv:1:32: this column has no name\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n                                   ^\n"
            f"{LISTED}\n"
            "r.csv:1:38: the column hand is here a second time\n"
            "    name;Bowler;speed_mph;walk;age;;hand;Hand\n"
            "                                         ^\n"
            "  hint: keep one of the two",
        ),
        (
            "name,hand\nAnn,left\nDefault,right\n",
            "r.csv:3:1: name: the row that holds for all students must be the first under the "
            "header\n    Default,right\n    ^\n  hint: there can be only one",
        ),
        (
            "name,hand,profile\ndefault,lft,a.yaml\nAnn,,\n",
            "r.csv:2:9: hand: must be right or left (got 'lft')\n"
            "    default,lft,a.yaml\n            ^\n  hint: did you mean 'left'?\n"
            "r.csv:2:13: profile: what holds for all students names no profile\n"
            "    default,lft,a.yaml\n                ^\n  hint: name it for each student",
        ),
        (
            'name,hand\nAnn,"left\nBo,left\n',
            "r.csv:2: a quote mark opens a cell of this row and never ends, or a cell is too long\n"
            '  hint: take the quote mark out, or end the cell with another one (")',
        ),
        (
            b"name,hand\r\nAnn,left\r\nAndr\xe9,left\r\n",
            "r.csv:3:5: the byte 0xE9 here is not UTF-8\n  hint: save the table as UTF-8 text",
        ),
        (
            b"\xff\xfea",
            "r.csv: the file begins as UTF-16 does, but is not\n"
            "  hint: save the table as UTF-8 text",
        ),
        (
            "name\n" + "n" * (1 << 20),
            "r.csv: a line has more than 1,048,576 characters, which none of a roster has",
        ),
    ],
)
def test_what_spoils_a_whole_table_is_told(read: Read, content: str | bytes, message: str) -> None:
    assert refusal(read, content) == message


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            "- 3\n",
            "r.yaml:1:1: must be a mapping with the list students (got a list)\n    - 3\n    ^",
        ),
        (
            "students: 3\n",
            "r.yaml:1:11: students: must be a list of mappings (got 3)\n"
            "    students: 3\n              ^",
        ),
        (
            "student: []\nclinic: [a]\n",
            "r.yaml:1:1: student: there is no such field\n    student: []\n    ^\n"
            "  hint: did you mean 'students'?\n"
            "r.yaml:1:1: students: is missing\n    student: []\n    ^\n"
            "  hint: begin the list with students:\n"
            "r.yaml:2:9: clinic: must be text on one line (got a list)\n"
            "    clinic: [a]\n            ^",
        ),
        ("students: []\n", "r.yaml: there are no students in this file"),
        (
            "defaults: {hand: lft, name: Ann}\nstudents: [{name: Ann}]\n",
            "r.yaml:1:23: defaults.name: there is no such field\n"
            "    defaults: {hand: lft, name: Ann}\n                          ^\n"
            "  hint: the fields here: group, copies, note, notes, schema, hand, style, stand, "
            "spread, balls, lane, known_lines",
        ),
        (
            "defaults: {hand: lft, stand: 3}\nstudents: [{name: Ann}]\n",
            "r.yaml:1:18: defaults.hand: must be right or left (got 'lft')\n"
            "    defaults: {hand: lft, stand: 3}\n                     ^\n"
            "  hint: did you mean 'left'?\n"
            "r.yaml:1:30: defaults.stand: must be a mapping of fields such as distance_ft (got 3)\n"
            "    defaults: {hand: lft, stand: 3}\n                                 ^",
        ),
    ],
)
def test_what_spoils_a_whole_yaml_roster_is_told(read: Read, content: str, message: str) -> None:
    assert refusal(read, content, "r.yaml") == message


@pytest.mark.parametrize(
    ("defaults", "message"),
    [
        (
            "hand: lft\n",
            "all.yaml:1:7: hand: must be right or left (got 'lft')\n    hand: lft\n"
            "          ^\n  hint: did you mean 'left'?",
        ),
        (
            "bowler: Ann\nwalk: 1\n",
            "all.yaml:1:1: bowler: there is no such field\n    bowler: Ann\n    ^\n"
            "  hint: the fields here: group, copies, note, notes, schema, hand, style, stand, "
            "spread, balls, lane, known_lines\n"
            "all.yaml:2:1: walk: there is no such field\n    walk: 1\n    ^\n"
            "  hint: it belongs under stand",
        ),
        (
            "- 1\n",
            "all.yaml:1:1: must be a mapping of fields such as hand (got a list)\n    - 1\n    ^",
        ),
        (
            "copies: 501\nlane: none.yaml\n",
            "all.yaml:1:9: copies: must be a whole number from 1 to 500 (got 501)\n"
            "    copies: 501\n            ^\n"
            "all.yaml:2:7: lane: there is no lane file none.yaml\n    lane: none.yaml\n"
            "          ^\n  hint: the path starts at this file's folder",
        ),
    ],
)
def test_what_is_wrong_with_a_file_of_defaults_is_told(
    read: Read, defaults: str, message: str
) -> None:
    assert refusal(read, "name,hand\nAnn,left\n", defaults=defaults) == message


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("none.csv", "none.csv: there is no such file"),
        ("none.xlsx", "none.xlsx: there is no such file"),
        ("none.yaml", "none.yaml: there is no such file"),
        ("folder.csv", "folder.csv: this is a folder, not a file"),
        ("a\0.csv", "a\ufffd.csv: no file can have this name"),
        (
            "r.xls",
            "r.xls: a roster's name ends in .csv, .tsv, .txt, .xlsx, .yaml or .yml (got '.xls')\n"
            "  hint: save a table as .csv or .xlsx",
        ),
        (
            "r",
            "r: a roster's name ends in .csv, .tsv, .txt, .xlsx, .yaml or .yml (got no ending)\n"
            "  hint: save a table as .csv or .xlsx",
        ),
    ],
)
def test_what_is_wrong_with_the_file_itself_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("folder.csv").mkdir()
    for file in ("r", "r.xls"):
        Path(file).write_text("no roster")
    with pytest.raises(InputError) as caught:
        read_roster(Path(name))
    assert str(caught.value) == message
    assert caught.value.exit_code == 2


def test_a_table_of_too_many_bytes_is_refused_unread(tmp_path: Path) -> None:
    for name in ("r.csv", "r.xlsx"):
        path = tmp_path / name
        with path.open("wb") as file:
            file.truncate(MAX_BYTES + 1)  # takes no room on the disk
        with pytest.raises(InputError, match="larger than 64 MiB, which no roster is"):
            read_roster(path)


def test_more_students_than_any_clinic_has_are_refused(
    read: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "MAX_STUDENTS", 3)
    assert len(read("name,hand\n" + "Ann,left\n" * 3).students) == 3
    message = "r.csv: there are more than 3 students\n  hint: split the roster"
    assert refusal(read, "name,hand\n" + "Ann,left\n" * 4) == message


# --- The demo clinics


def test_the_demo_clinic_has_no_mistakes_and_is_one_of_many_hands() -> None:
    roster = read_roster(data_folder("profiles") / "clinics" / "saturday.csv")
    assert roster.bad == ()
    assert roster.title == "saturday"
    profiles = [student.loaded.profile for student in roster.students]
    assert len(profiles) >= 20
    assert len({student.group for student in roster.students}) == 3
    assert {profile.hand.value for profile in profiles} == {"right", "left"}
    assert {profile.style for profile in profiles} == {"one-handed", "two-handed", "no-thumb"}
    assert sum(bool(profile.known_lines) for profile in profiles) == 2
    assert len({profile.bowler for profile in profiles}) == len(profiles)
    for student in roster.students:
        balls = student.loaded.profile.balls
        if student.group == "Juniors":
            # Ten pounds at most for a child's ball, well under an adult's (common practice, no
            # source).
            assert max(balls.spare.weight_lb, balls.strike.weight_lb) <= 10
            assert max(balls.spare.speed_mph, balls.strike.speed_mph) <= 14


def test_the_other_demo_clinic_has_one_bad_row() -> None:
    roster = read_roster(data_folder("profiles") / "clinics" / "one-bad-row.csv")
    assert names(roster) == ["Pip Larkwell", "Bram Oosterlee"]
    assert [(p.line, p.where, p.message) for p in roster.bad] == [
        (4, "hand", "must be right or left (got 'lefft')")
    ]


def test_the_clinics_are_no_demo_profiles() -> None:
    folder = data_folder("profiles")
    assert (folder / "clinics").is_dir()
    assert not [path for path in yaml_files(folder) if "clinic" in str(path.relative_to(folder))]
