"""A shot log as a table: text with a header, and commas, semicolons or tabs between the cells."""

import io
from collections.abc import Iterator

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import near
from cardgen.shotlog.columns import COLUMNS, REQUIRED, shot_of
from cardgen.shotlog.shot import Shot
from cardgen.tablesource import Layout, TableRow, rows_of

TEXT_MARK = "'"
"""Before a cell, it keeps a spreadsheet from reading the cell as anything but text."""


def table_rows(text: str, source: str) -> Iterator[Shot | list[Problem]]:
    """Yield each row of the table ``text`` as a shot, or as everything that is wrong with it.

    Rows without anything in them are left out.

    Raises:
        InputError: the header is missing or wrong, or a quote never ends.
    """
    rows = rows_of(io.StringIO(text, newline=""), source, _column)
    header = next(rows, None)
    if header is None:
        raise InputError([Problem(source, None, None, "", "the file is empty")])
    names = _LAYOUT.columns(header)
    for row in rows:
        misfit = row.misfit(len(header.cells), len(names))
        yield _shot(row, names) if misfit is None else [misfit]


def _name(cell: str) -> str:
    return "_".join(cell.casefold().split())


def _column(cell: str) -> str | None:
    return name if (name := _name(cell)) in COLUMNS else None


_LAYOUT = Layout(
    what="shot log",
    required=REQUIRED,
    listed=f"the columns are {', '.join(COLUMNS)}",
    needed=f"every log has {', '.join(REQUIRED[:-1])} and {REQUIRED[-1]}",
    column=_column,
    near=lambda cell: near(_name(cell), COLUMNS),
    most=50,
)


def _shot(row: TableRow, names: list[str]) -> Shot | list[Problem]:
    def problem(column: str, message: str, hint: str | None) -> Problem:
        return row.problem(names.index(column), column, message, hint)

    cells = (cell.strip().removeprefix(TEXT_MARK) for cell in row.cells)
    return shot_of(dict(zip(names, cells, strict=False)), problem)
