"""Rows of any text table, located as they stand in it."""

import csv
import io
from typing import Literal

from hypothesis import given
from hypothesis import strategies as st

from cardgen.tablesource import rows_of
from cardgen.yamlsource import printable

PIECES = ["a", "b c", '"', ",", ";", "\t", "\n", "é", "'", "1,5", "レ", "\u202e", "x" * 60]
_END = "\n\0"
CELL = st.lists(st.sampled_from(PIECES)).map(lambda pieces: "".join(pieces).strip())


def known(cell: str) -> str | None:
    return cell.strip().casefold() if cell.strip().casefold() in ("one", "two") else None


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[list[str]], str, str]:
    """Return rows without a blank one, what stands between their cells, and them as a text."""
    rows = draw(st.lists(st.lists(CELL, min_size=2, max_size=4), max_size=5))
    rows = [["One", "two"], *(row for row in rows if any(row))]
    separator, end = draw(st.sampled_from(",;\t")), draw(st.sampled_from(["\n", "\r\n", "\r"]))
    quoted = draw(st.booleans())
    quoting: Literal[0, 1] = csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL
    text = end * draw(st.integers(0, 3))
    for row in rows:
        file = io.StringIO(newline="")
        # A row is written cell by cell, so that there may be spaces before each.
        writer = csv.writer(file, delimiter=separator, lineterminator=_END, quoting=quoting)
        writer.writerows([cell, ""] for cell in row)
        cells = file.getvalue().split(_END)[:-1]
        blank = separator + ('""' if quoted else "")
        spaces = (" " * draw(st.integers(0, 2)) for _ in row)
        text += separator.join(map(str.__add__, spaces, (c.removesuffix(blank) for c in cells)))
        text += end
    return rows, separator, text


@given(tables())
def test_rows_are_what_was_written_and_stand_where_they_say(
    table: tuple[list[list[str]], str, str],
) -> None:
    rows, separator, text = table
    found = list(rows_of(io.StringIO(text, newline=""), "t.csv", known))
    assert [list(row.cells) for row in found] == rows
    lines = io.StringIO(text, newline="").readlines()
    for row in found:
        assert row.text.startswith(lines[row.line - 1])
        assert row.separator == separator
        for number, cell in enumerate(row.cells):
            problem = row.problem(number, "x", "wrong")
            assert problem.line == row.line
            if problem.column is None:
                continue
            at = lines[row.line - 1][problem.column - 1 :]
            assert at.startswith(('"', cell.partition("\n")[0] or separator)) or not at.strip()
            shown = problem.excerpt or ""
            assert shown[problem.caret : problem.caret + 1] == printable(at[:1].strip("\r\n"))


def test_a_cell_that_stands_far_right_is_shown_with_what_is_about_it() -> None:
    text = "one;two\n" + "x" * 300 + "; here\n"
    problem = list(rows_of([*text.splitlines(keepends=True)], "t.csv", known))[1].problem(
        1, "two", "wrong"
    )
    assert problem.column == 303
    assert problem.excerpt == "…" + "x" * 48 + "; here"
    assert problem.excerpt[problem.caret :] == "here"


def test_rows_are_read_when_they_are_asked_for() -> None:
    lines = iter(["one;two\n", "1;2\n", "3;4\n", "5;6\n"])
    rows = rows_of(lines, "t.csv", known)
    assert list(next(rows).cells) == ["one", "two"]
    assert list(next(rows).cells) == ["1", "2"]
    assert list(lines) == ["3;4\n", "5;6\n"]


def test_a_table_without_anything_has_no_rows() -> None:
    assert list(rows_of(["\n", " , ;\n"], "t.csv", known)) == []
