"""A shot log as a table: text with a header, and commas, semicolons or tabs between the cells."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import near
from cardgen.shotlog.columns import COLUMNS, REQUIRED, shot_of
from cardgen.shotlog.shot import Shot
from cardgen.yamlsource import EXCERPT_COLUMNS, printable, shown

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
MAX_COLUMNS = 50
"""A row of more is no header with mistakes in it."""
TEXT_MARK = "'"
"""Before a cell, it keeps a spreadsheet from reading the cell as anything but text."""

_BREAK = re.compile("\r\n|\r|\n")


def table_rows(text: str, source: str) -> Iterator[Shot | list[Problem]]:
    """Yield each row of the table ``text`` as a shot, or as everything that is wrong with it.

    Rows without anything in them are left out.

    Raises:
        InputError: the header is missing or wrong, or a quote never ends.
    """
    lines = tuple(io.StringIO(text, newline=""))  # each with its line break, whichever it is
    rows = _Rows(lines, source, _separator(lines))
    header = next(rows, None)
    if header is None:
        raise InputError([Problem(source, None, None, "", "the file is empty")])
    names = _names(header)
    for row in rows:
        if row.mistake is not None:
            yield [row.problem(None, "", row.mistake)]
            continue
        beyond = _beyond(row, len(header.cells), len(names))
        if beyond is None:
            yield _shot(row, names)
        else:
            comma = "; a decimal comma too" if rows.separator == "," else ""
            mark = SEPARATORS[rows.separator]
            hint = f'put a cell that has a {mark} in it between quote marks ("){comma}'
            message = f"the row has {len(row.cells)} cells, but there are {len(names)} columns"
            yield [row.problem(beyond, "", message, hint)]


@dataclass(frozen=True)
class _Row:
    """The cells of one row, and where it stands: in ``text``, its lines, from line ``line`` on.

    ``mistake``: why it has no cells.
    """

    source: str
    line: int
    text: str
    separator: str
    cells: Sequence[str]
    mistake: str | None = None

    def problem(
        self, cell: int | None, where: str, message: str, hint: str | None = None
    ) -> Problem:
        """Return a problem of the row, or of its ``cell``, counted from 0.

        A cell is shown where it stands in the first line of the row.
        """
        line = _BREAK.split(self.text, maxsplit=1)[0]
        at = None if cell is None else self._start(cell)
        if at is None or at > len(line):
            return Problem(self.source, self.line, None, where, message, hint=hint)
        first = 0 if at < EXCERPT_COLUMNS else at - EXCERPT_COLUMNS // 2
        last = first + EXCERPT_COLUMNS
        head, tail = "…" if first else "", "…" if last < len(line) else ""
        excerpt = f"{head}{printable(line[first:last])}{tail}"
        caret = len(head) + at - first
        return Problem(self.source, self.line, at + 1, where, message, excerpt, caret, hint)

    def _start(self, cell: int) -> int | None:
        """Return where in the text of the row ``cell`` begins, or None if the row ends before."""
        start, blank, quotable, quoted = 0, True, True, False
        for i, c in enumerate(self.text):
            if not quoted and c in (self.separator, "\r", "\n"):
                if cell == 0 or c != self.separator:
                    break
                cell -= 1
                start, blank, quotable = i + 1, True, True
            elif blank and c == " ":
                start = i + 1
            else:
                quotable = quotable if not blank else c == '"'
                quoted ^= quotable and c == '"'
                blank = False
        return None if cell else start


class _Rows(Iterator[_Row]):
    """The rows of a table that have anything in them, the header first."""

    def __init__(self, lines: Sequence[str], source: str, separator: str) -> None:
        self.separator = separator
        self._lines = lines
        self._source = source
        self._reader = csv.reader(lines, delimiter=separator, skipinitialspace=True, strict=True)

    def __next__(self) -> _Row:
        while True:
            first = self._reader.line_num
            mistake, cells = None, list[str]()
            try:
                cells = next(self._reader)
            except csv.Error as error:
                mistake = self._mistake(error, first + 1)
            if mistake is not None or any(cell.strip() for cell in cells):
                text = "".join(self._lines[first : self._reader.line_num])
                return _Row(self._source, first + 1, text, self.separator, cells, mistake)

    def _mistake(self, error: csv.Error, line: int) -> str:
        """Return what is wrong with a row that goes on as far as the reader has come."""
        if "expected after" not in str(error):
            # Whatever stands behind it would be lost without a word.
            message = "a quote mark opens a cell of this row and never ends, or a cell is too long"
            hint = 'take the quote mark out, or end the cell with another one (")'
            raise InputError([Problem(self._source, line, None, "", message, hint=hint)])
        last = self._reader.line_num
        until = f"; so read, the row ends in line {last}" if last > line else ""
        return f"something follows the quote mark that ends a cell{until}"


def _separator(lines: Sequence[str]) -> str:
    """Return what stands between the cells of the header: what finds the most columns in it."""
    header = next((line for line in lines if line.strip()), "")

    def found(separator: str) -> tuple[int, int]:
        names = [_name(cell.strip(' "')) for cell in header.split(separator)]
        return len(set(names) & set(COLUMNS)), len(names)

    return max(SEPARATORS, key=found)


def _name(cell: str) -> str:
    return "_".join(cell.casefold().split())


def _names(header: _Row) -> list[str]:
    """Return the columns that ``header`` names, in its order.

    Raises:
        InputError: it names none, or something else, or one twice, or lacks one.
    """
    names = [_name(cell) for cell in header.cells]
    while names and not names[-1]:
        names.pop()
    listed = f"the columns are {', '.join(COLUMNS)}"
    if header.mistake is not None:
        raise InputError([header.problem(None, "", header.mistake)])
    if len(names) > MAX_COLUMNS or not set(names) & set(COLUMNS):
        message = "the first row must name the columns of a shot log"
        raise InputError([header.problem(0, "", message, listed)])
    problems = []
    for i, name in enumerate(names):
        if not name:
            problems.append(header.problem(i, "", "this column has no name", listed))
        elif name not in COLUMNS:
            message = f"there is no column {shown(header.cells[i].strip())}"
            problems.append(header.problem(i, "", message, near(name, COLUMNS) or listed))
        elif name in names[:i]:
            message = f"the column {name} is here a second time"
            problems.append(header.problem(i, "", message, "keep one of the two"))
    for name in REQUIRED:
        if name not in names:
            needed = f"every log has {', '.join(REQUIRED[:-1])} and {REQUIRED[-1]}"
            problems.append(header.problem(None, "", f"the column {name} is missing", needed))
    if problems:
        raise InputError(problems)
    return names


def _beyond(row: _Row, width: int, named: int) -> int | None:
    """Return the first cell of ``row`` for which there is no column, or None.

    The header has ``width`` cells, of which the first ``named`` have names. Even a blank cell more
    than ``width`` tells that something has split a cell before it, such as a decimal comma.
    """
    filled = (cell for cell in range(named, len(row.cells)) if row.cells[cell].strip())
    return next(filled, width if len(row.cells) > width else None)


def _shot(row: _Row, names: list[str]) -> Shot | list[Problem]:
    def problem(column: str, message: str, hint: str | None) -> Problem:
        return row.problem(names.index(column), column, message, hint)

    cells = (cell.strip().removeprefix(TEXT_MARK) for cell in row.cells)
    return shot_of(dict(zip(names, cells, strict=False)), problem)
