"""Whatever a file holds, it is a roster or a located problem, and a long one takes little room."""

import csv
import io
import re
import tracemalloc
import zipfile
from collections import Counter
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError
from cardgen.roster.columns import COLUMNS
from cardgen.roster.reading import Roster, open_roster, read_roster
from cardgen.roster.student import Student
from tests.fuzz.targets import assert_told_well

SHARED_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
HEADER = "name,hand,stand.boards,known_lines,lane,lane.oil_ft,copies,profile\n"
PIECES = (
    *(",", ";", "\t", "\n", "\r", "\r\n", '"', '""', "'", " ", "\x00", "\x85", "\u2028", "\ufeff"),
    *("Ann", "default", "left", "3 37", "10: 34/20", "7: 6/20;", ": /", "½", "short", "x.yaml"),
    *("=1", "-1", "13,5", "é", "𝄞", "\u202e", "9" * 400, "1e999", "nan", "true", "../..", "."),
    *("Ann,left,,,,,,\n", *COLUMNS),
)
TABLE = st.lists(st.sampled_from(PIECES), max_size=40).map("".join)
RIGHT = {
    "name": ("Ann", "Bo, jr", "Čeněk", "Dan"),
    "hand": ("left", "right", "Left"),
    "stand.boards": ("", "3 37"),
    "known_lines": ("", "10: 34/20", "7: 6/20; 3-10: 31.5/20"),
    "lane": ("", "", "short"),
    "copies": ("", "2"),
}


@st.composite
def tables(draw: st.DrawFn) -> str:
    """Return a table in which most cells are right, and now and then one is anything."""
    separator, out = draw(st.sampled_from(",;\t")), io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator=draw(st.sampled_from(ENDS)))
    names = draw(st.permutations(list(RIGHT)))
    writer.writerow(names)
    if draw(st.booleans()):
        writer.writerow(["default" if name == "name" else RIGHT[name][-1] for name in names])
    for _ in range(draw(st.integers(1, 4))):
        row = [draw(st.sampled_from(RIGHT[name])) for name in names]
        if draw(st.booleans()):
            row[draw(st.integers(0, len(row) - 1))] = draw(st.sampled_from(PIECES))
        writer.writerow(row)
    return out.getvalue()


ENDS = ("\n", "\r\n", "\r")


def read(path: Path, data: bytes) -> Roster | None:
    path.write_bytes(data)
    try:
        roster = read_roster(path)
    except InputError as error:
        assert_told_well(error)
        return None
    assert roster.students or roster.bad
    if roster.bad:
        assert_told_well(InputError(roster.bad))
    assert all(problem.source == str(path) for problem in roster.bad)
    return roster


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".yaml"])
def test_any_bytes_are_a_roster_or_a_problem(tmp_path: Path, suffix: str) -> None:
    @given(st.binary(max_size=200))
    def check(data: bytes) -> None:
        read(tmp_path / f"r{suffix}", data)

    check()


@SHARED_FILE
@given(TABLE, st.booleans(), st.sampled_from(["utf-8", "utf-16", "utf-16-be", "latin-1"]))
def test_any_table_is_a_roster_or_a_problem(
    tmp_path: Path, table: str, headed: bool, encoding: str
) -> None:
    text = HEADER + table if headed else table
    read(tmp_path / "r.csv", text.encode(encoding, errors="replace"))


def test_a_table_of_mostly_right_cells_has_students_and_located_problems(tmp_path: Path) -> None:
    found = Counter[str]()

    @given(tables())
    def check(table: str) -> None:
        roster = read(tmp_path / "r.csv", table.encode())
        if roster is not None:
            found["good"] += bool(roster.students)
            found["bad"] += bool(roster.bad)
            lines = len(re.findall("\r\n|\r|\n", table))
            assert all(0 < (problem.line or 0) <= lines for problem in roster.bad)

    check()
    assert min(found["good"], found["bad"]) > 20, found  # or nearly all would mean the same


@SHARED_FILE
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from(["name", "hand", "group", "copies", "profile", "stand", "lane", "x"]),
            st.sampled_from(["left", "~", "true", "[1]", "{a: b}", "1e99", '"\\0"', "3", "x.yaml"]),
        ).map(lambda row: "{" + ", ".join(f"{k}: {v}" for k, v in row.items()) + "}"),
        max_size=5,
    ),
    st.sampled_from(["", "defaults: {hand: left}\n", "defaults: {lane: {oil_ft: 30}}\n"]),
)
def test_any_yaml_is_a_roster_or_a_problem(tmp_path: Path, rows: list[str], top: str) -> None:
    text = f"{top}students:\n" + "".join(f"- {row}\n" for row in rows)
    read(tmp_path / "r.yaml", text.encode())


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The parts of a good workbook."""
    book = openpyxl.Workbook()
    for row in (["name", "hand", "copies"], ["Ann", "left", 2], ["Bo", "right", 3]):
        book.active.append(row)
    path = tmp_path_factory.mktemp("book") / "r.xlsx"
    book.save(path)
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@SHARED_FILE
@given(data=st.data())
def test_any_damaged_workbook_is_a_roster_or_a_problem(
    tmp_path: Path, parts: dict[str, bytes], data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(sorted(parts)))
    part = parts[name]
    start = data.draw(st.integers(0, len(part)))
    stop = data.draw(st.integers(start, min(len(part), start + 12)))
    inside = data.draw(st.binary(max_size=6) | st.sampled_from([b"A1", b"&#0;", b'"', b"9" * 9]))
    path = tmp_path / "r.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        for other, content in parts.items():
            archive.writestr(
                other, part[:start] + inside + part[stop:] if other == name else content
            )
    read(path, path.read_bytes())


def test_long_cells_take_no_longer_than_their_length(tmp_path: Path) -> None:
    # What backtracks would take minutes here, not a moment.
    for text in (
        "9" * 100_000 + "!",
        "a" + " " * 100_000 + "b",
        "a\n" * 50_000 + "b",
        "a" + " " * 50_000 + "\n" + " " * 50_000 + "b",
        "10: 34/" * 10_000,
        "3 " * 50_000 + "!",
        ":" * 100_000,
        "/" * 100_000,
    ):
        cells = ",".join(f'"{text}"' for _ in range(7))
        roster = read(tmp_path / "r.csv", (HEADER + cells).encode())
        assert roster is not None
        assert roster.bad


def test_a_roster_ten_times_as_long_takes_no_more_room(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"

    def peak_of(rows: int) -> int:
        path.write_text(
            "name,hand,group,balls.spare.weight_lb,lane,known_lines\ndefault,right,,12,short,\n"
            + "".join(f"Student {i},,G{i % 3},{8 + i % 5},,10: 34/20\n" for i in range(rows))
        )
        tracemalloc.start()
        try:
            assert sum(isinstance(one, Student) for one in open_roster(path)[1]) == rows
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    peak_of(10)  # what is made once and kept
    assert peak_of(10_000) < 1.5 * peak_of(1_000)


def test_an_iterator_left_early_leaves_no_file_open(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("name,hand\n" + "Ann,left\n" * 100)
    students = open_roster(path)[1]
    assert isinstance(next(students), Student)
    del students  # a warning of an open file would fail the test
