"""Whatever a file holds, it is a log or a located problem, never another exception."""

import csv
import io
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError
from cardgen.shotlog.columns import COLUMNS
from cardgen.shotlog.reading import Log, read_log
from tests.fuzz.targets import assert_told_well

SHARED_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
HEADER = "leave,stand_board,target_board,note,result,off_boards\n"
PIECES = (
    *(",", ";", "\t", "\n", "\r", "\r\n", '"', '""', "'", " ", "\x00", "\x85", "\u2028", "\ufeff"),
    *("10", "3 10", "3-10", "03-Oct", "strike", "34", "34,5", "20", "-1", "=1", "left", "hit", "x"),
    *("é", "𝄞", "\u202e", "9" * 400, "1e999", "nan", "2026-11-25", "n" * 400, "10,34,20\n"),
    *COLUMNS,
)
TABLE = st.lists(st.sampled_from(PIECES), max_size=40).map("".join)
RIGHT = {
    "leave": ("10", "3-10", "strike"),
    "stand_board": ("34", "13.5"),
    "target_board": ("20", "11.25"),
    "note": ("", "pulled it", "a; b, c"),
    "result": ("", "hit", "left"),
}


@st.composite
def tables(draw: st.DrawFn) -> str:
    """Return a table in which most cells are right, and now and then one is anything."""
    separator, out = draw(st.sampled_from(",;\t")), io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator=draw(st.sampled_from(ENDS)))
    names = draw(st.permutations(list(RIGHT)))
    writer.writerow(names)
    for _ in range(draw(st.integers(1, 4))):
        row = [draw(st.sampled_from(RIGHT[name])) for name in names]
        if draw(st.booleans()):
            row[draw(st.integers(0, len(row) - 1))] = draw(st.sampled_from(PIECES))
        writer.writerow(row)
    return out.getvalue()


ENDS = ("\n", "\r\n", "\r")


def logged(path: Path, data: bytes) -> Log | None:
    path.write_bytes(data)
    try:
        log = read_log(path)
    except InputError as error:
        assert_told_well(error)
        return None
    assert log.shots or log.bad
    if log.bad:
        assert_told_well(InputError(log.bad))
    assert all(problem.source == str(path) for problem in log.bad)
    return log


@pytest.mark.parametrize("suffix", [".csv", ".yaml", ".pdf"])
def test_any_bytes_are_a_log_or_a_problem(tmp_path: Path, suffix: str) -> None:
    @given(st.binary(max_size=200))
    def check(data: bytes) -> None:
        logged(tmp_path / f"log{suffix}", data)

    check()


@SHARED_FILE
@given(TABLE, st.booleans(), st.sampled_from(["utf-8", "utf-16", "utf-16-be", "latin-1"]))
def test_any_table_is_a_log_or_a_problem(
    tmp_path: Path, table: str, headed: bool, encoding: str
) -> None:
    text = HEADER + table if headed else table
    logged(tmp_path / "log.csv", text.encode(encoding, errors="replace"))


def test_a_table_of_mostly_right_cells_has_shots_and_located_problems(tmp_path: Path) -> None:
    found = Counter[str]()

    @given(tables())
    def check(table: str) -> None:
        log = logged(tmp_path / "log.csv", table.encode())
        if log is not None:
            found["good"] += bool(log.shots)
            found["bad"] += bool(log.bad)
            lines = len(re.findall("\r\n|\r|\n", table))
            assert all(0 < (problem.line or 0) <= lines for problem in log.bad)

    check()
    assert min(found["good"], found["bad"]) > 20, found  # or nearly all would mean the same


@SHARED_FILE
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from([*COLUMNS, "x"]),
            st.sampled_from(["10", "3-10", "~", "true", "[1]", "{a: b}", "1e99", '"\\0"', "34.5"]),
        ).map(lambda row: "{" + ", ".join(f"{k}: {v}" for k, v in row.items()) + "}"),
        max_size=5,
    )
)
def test_any_yaml_is_a_log_or_a_problem(tmp_path: Path, rows: list[str]) -> None:
    logged(tmp_path / "log.yaml", ("shots:\n" + "".join(f"- {row}\n" for row in rows)).encode())


def test_long_cells_take_no_longer_than_their_length(tmp_path: Path) -> None:
    # What backtracks would take minutes here, not a moment.
    for text in (
        "9" * 100_000 + "!",
        "a" + " " * 100_000 + "b",
        "3 " * 50_000 + "!",
        "-" * 100_000,
    ):
        cells = ",".join(f'"{text}"' for _ in range(6))
        log = logged(tmp_path / "log.csv", (HEADER + cells).encode())
        assert log is not None
        assert log.bad
