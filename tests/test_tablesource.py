"""Rows of any text table, located as they stand in it."""

import csv
import io

from hypothesis import assume, given
from hypothesis import strategies as st

from cardgen.tablesource import rows_of

CELL = st.lists(st.sampled_from(["a", "b c", '"', ",", ";", "\t", "\n", "é", "'", "1,5"])).map(
    "".join
)


def known(cell: str) -> str | None:
    return cell.strip().casefold() if cell.strip().casefold() in ("one", "two") else None


@given(
    st.lists(st.lists(CELL, min_size=2, max_size=4), max_size=5),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n"]),
    st.integers(0, 3),
)
def test_rows_are_what_was_written_and_stand_where_they_say(
    rows: list[list[str]], separator: str, end: str, blank: int
) -> None:
    rows = [[cell.strip() for cell in row] for row in rows]
    assume(all(any(row) for row in rows))
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=separator, lineterminator=end, quoting=csv.QUOTE_ALL)
    writer.writerows([["One", "two"], *rows])
    text = end * blank + file.getvalue()
    found = list(rows_of(io.StringIO(text, newline=""), "t.csv", known))
    assert [list(row.cells) for row in found] == [["One", "two"], *rows]
    lines = io.StringIO(text, newline="").readlines()
    for row in found:
        assert row.text.startswith(lines[row.line - 1])
        assert row.separator == separator
        for number in range(len(row.cells)):
            problem = row.problem(number, "x", "wrong")
            assert problem.line == row.line
            if problem.column is not None and problem.column <= 100:
                assert lines[row.line - 1][problem.column - 1] == '"'


def test_rows_are_read_when_they_are_asked_for() -> None:
    lines = iter(["one;two\n", "1;2\n", "3;4\n", "5;6\n"])
    rows = rows_of(lines, "t.csv", known)
    assert list(next(rows).cells) == ["one", "two"]
    assert list(next(rows).cells) == ["1", "2"]
    assert list(lines) == ["3;4\n", "5;6\n"]


def test_a_table_without_anything_has_no_rows() -> None:
    assert list(rows_of(["\n", " , ;\n"], "t.csv", known)) == []
