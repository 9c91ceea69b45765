"""A workbook's first sheet is read cell by cell, and what is no text or number is located."""

import datetime
import sys
import textwrap
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from cardgen.errors import InputError
from cardgen.roster import workbook
from cardgen.roster.reading import Roster, read_roster

Make = Callable[..., Path]


@pytest.fixture
def make(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Make:
    """A function from rows of values to a workbook; None leaves a cell, or a row, away."""
    monkeypatch.chdir(tmp_path)

    def make(*rows: list[Any] | None, name: str = "r.xlsx") -> Path:
        book = openpyxl.Workbook()
        sheet = book.active
        for y, row in enumerate(rows, start=1):
            for x, value in enumerate(row or [], start=1):
                if value is not None:
                    sheet.cell(y, x, value)
        book.create_sheet("Other")["A1"] = "not read"
        book.save(name)
        return Path(name)

    return make


def names(roster: Roster) -> list[str]:
    return [student.loaded.profile.bowler for student in roster.students]


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_roster(path)
    return str(caught.value)


def repacked(path: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    """Return a copy of the workbook in which one part is changed."""
    copy = path.with_name("changed.xlsx")
    with (
        zipfile.ZipFile(path) as source,
        zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for info in source.infolist():
            data = source.read(info)
            target.writestr(info.filename, change(data) if info.filename == part else data)
    return copy


SHEET = "xl/worksheets/sheet1.xml"


def test_cells_are_told_by_letter_and_row(make: Make) -> None:
    day = datetime.date(2026, 3, 12)
    roster = read_roster(
        make(
            None,
            ["Name", "Hand", "stand.boards", "balls.spare.weight_lb", "stand.distance_ft", "Notes"],
            ["default", "right", None, 10.5],
            ["Ann", "LEFT", "3 37", 9, None, day],
            [],
            ["Bo", "rigt", day, "=3+4", 99, "=NOW()"],
            ["Cy", None, datetime.time(3, 10), True, "13,5", None, None, "x"],
            [None, "left"],
            ["Dy", None, None, "#REF!", None],
            ["=A1", None, None, None, 5],
            [12, None, None, "9,5", 13.25],
        )
    )
    assert names(roster) == ["Ann", "12"]
    assert [student.row for student in roster.students] == [4, 11]
    ann, twelve = (student.loaded.profile for student in roster.students)
    assert (ann.hand.value, ann.stand.boards, ann.balls.spare.weight_lb) == ("left", (3, 37), 9)
    assert (twelve.balls.spare.weight_lb, twelve.stand.distance_ft) == (9.5, 13.25)
    date = "a date or a time stands here: format the cell as text, and write it again"
    formula = "a formula stands here: put its value in instead"
    assert "\n".join(map(str, roster.bad)) + "\n" == textwrap.dedent(f"""\
        r.xlsx: C6 stand.boards: {date}
        r.xlsx: D6 balls.spare.weight_lb: {formula}
        r.xlsx: H7: there is something here, but there are 6 columns
          hint: name the column, or clear the cell
        r.xlsx: A8 name: must be the student's name (got nothing)
        r.xlsx: D9 balls.spare.weight_lb: an error of the spreadsheet stands here (#REF!)
        r.xlsx: A10 name: {formula}
        """)


def test_values_out_of_range_are_told_by_their_cell(make: Make) -> None:
    path = make(
        ["name", "stand.distance_ft", "copies"], ["Ann", 99, True], ["Bo", 13, 1.5], ["Cy", 13]
    )
    assert "\n".join(map(str, read_roster(path).bad)) == textwrap.dedent("""\
        r.xlsx: C2 copies: must be a whole number from 1 to 500 (got 'true')
        r.xlsx: row 2 hand: is missing, and there is no default for it
        r.xlsx: B2 stand.distance_ft: must be a number from 6 to 16 (got 99)
        r.xlsx: C3 copies: must be a whole number from 1 to 500 (got 1.5)
        r.xlsx: row 3 hand: is missing, and there is no default for it
        r.xlsx: row 4 hand: is missing, and there is no default for it""")


def test_columns_beyond_z_have_two_letters(make: Make) -> None:
    path = make(["name", "hand"], ["Ann", "left", *[None] * 24, "x"], ["Bo", "left"])
    roster = read_roster(path)
    assert [problem.where for problem in roster.bad] == ["AA2"]
    assert names(roster) == ["Bo"]


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ([], "r.xlsx: the file is empty"),
        ([["name", "hand"]], "r.xlsx: there are no students in this file"),
        ([["name", "hnd"], ["Ann", 1]], "r.xlsx: B1: there is no column 'hnd'\n  hint: did you "),
        ([["hand"], ["left"]], "r.xlsx: row 1: the column name is missing\n"),
        ([["name", "=A1"], ["Ann"]], "r.xlsx: B1: a formula stands here: put its value in instead"),
        ([["name", "hand"], ["default", "x"]], "r.xlsx: B2 hand: must be right or left (got 'x')"),
    ],
)
def test_what_spoils_a_whole_sheet_is_told(make: Make, rows: list[Any], message: str) -> None:
    assert refusal(make(*rows)).startswith(message)


def test_what_is_no_workbook_is_told(make: Make, tmp_path: Path) -> None:
    path = tmp_path / "r.xlsx"
    hint = "\n  hint: save the table as .xlsx, or as .csv, in your spreadsheet program"
    path.write_text("name,hand\nAnn,left\n")
    assert refusal(Path("r.xlsx")) == f"r.xlsx: this is no workbook{hint}"
    path.write_bytes(b"")
    assert refusal(Path("r.xlsx")) == f"r.xlsx: this is no workbook{hint}"
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512))
    message = "this workbook has a password, or is of an old kind"
    assert refusal(Path("r.xlsx")) == f"r.xlsx: {message}{hint}"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("a.txt", "x")
    damaged = f"this workbook is damaged and cannot be read{hint}"
    assert refusal(Path("r.xlsx")) == f"r.xlsx: {damaged}"
    good = make(["name", "hand"], ["Ann", "left"], name="good.xlsx")
    for part in (SHEET, "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml"):
        broken = repacked(good, part, lambda data: data[: len(data) // 2])
        assert refusal(broken) == f"changed.xlsx: {damaged}"


def test_a_cell_very_far_away_is_told_not_waited_for(make: Make) -> None:
    good = make(["name", "hand"], ["Ann", "left"])
    message = "changed.xlsx: the first sheet has cells very far down, or far to the right"
    down = repacked(good, SHEET, lambda data: data.replace(b'"2"', b'"999999999"'))
    assert refusal(down).startswith(message)


def test_a_workbook_that_unpacks_to_very_much_is_refused(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = make(["name", "hand"], ["Ann", "left"])
    monkeypatch.setattr(workbook, "MAX_UNPACKED", 1 << 10)
    assert refusal(path).startswith("r.xlsx: unpacked, this workbook is larger than")


def test_a_sheet_that_tells_its_size_wrong_is_read_whole(make: Make) -> None:
    good = make(["name", "hand"], ["Ann", "left"], ["Bo", "left"])
    wrong = repacked(good, SHEET, lambda data: data.replace(b'ref="A1:B3"', b'ref="A1"'))
    assert wrong.read_bytes() != good.read_bytes()
    assert names(read_roster(wrong)) == ["Ann", "Bo"]


def test_without_openpyxl_one_sentence_says_so(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    path = make(["name", "hand"], ["Ann", "left"])
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    assert refusal(path) == (
        "r.xlsx: a workbook can only be read where openpyxl is installed\n"
        "  hint: pip install 'cardgen[xlsx]', or save the table as .csv"
    )
