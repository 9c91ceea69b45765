"""A table as text: a header, and commas, semicolons or tabs between the cells of its rows.

Which columns there are, and what their cells mean, is for whoever reads the table.
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Protocol

from cardgen.errors import InputError, Problem
from cardgen.yamlsource import EXCERPT_COLUMNS, printable, shown

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
TABLE_SUFFIXES = (".csv", ".tsv", ".txt")

FindColumn = Callable[[str], str | None]
"""Returns the column that a cell of the header names, or None."""

_BREAK = re.compile("\r\n|\r|\n")
BLANK = " \r\n" + "".join(SEPARATORS)
"""What a line is made of that has nothing in it."""


@dataclass(frozen=True)
class TableRow:
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

    def fault(self, _cell: int) -> str | None:
        """Return None: whatever stands in a cell of a text is text."""
        return None

    def misfit(self, width: int, named: int) -> Problem | None:
        """Return the problem that the row does not fit under its header, or None.

        The header has ``width`` cells, of which the first ``named`` have names. Even a blank cell
        more than ``width`` tells that something has split a cell before it, such as a decimal
        comma.
        """
        if self.mistake is not None:
            return self.problem(None, "", self.mistake)
        filled = (cell for cell in range(named, len(self.cells)) if self.cells[cell].strip())
        beyond = next(filled, width if len(self.cells) > width else None)
        if beyond is None:
            return None
        comma = "; a decimal comma too" if self.separator == "," else ""
        mark = SEPARATORS[self.separator]
        hint = f'put a cell that has a {mark} in it between quote marks ("){comma}'
        message = f"the row has {len(self.cells)} cells, but there are {named} columns"
        return self.problem(beyond, "", message, hint)

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


class Header(Protocol):
    """The row that names the columns, of a text or of anything else that has rows of cells."""

    @property
    def cells(self) -> Sequence[str]:
        """What stands in it."""

    @property
    def mistake(self) -> str | None:
        """Why it has no cells."""

    def problem(
        self, cell: int | None, where: str, message: str, hint: str | None = None
    ) -> Problem:
        """Return a problem of the row, or of its ``cell``, counted from 0."""


@dataclass(frozen=True)
class Layout:
    """The columns that a kind of table has: ``what`` is the kind, ``required`` those of each.

    ``listed`` and ``needed`` are hints: which columns there are, and which there must be; ``near``
    returns a hint for a cell that names none, or None. A row of more than ``most`` cells is no
    header with mistakes in it.
    """

    what: str
    required: Sequence[str]
    listed: str
    needed: str
    column: FindColumn
    near: Callable[[str], str | None]
    most: int

    def columns(self, header: Header) -> list[str]:
        """Return the columns that ``header`` names, in its order.

        Raises:
            InputError: it names none, or something else, or one twice, or lacks one.
        """
        if header.mistake is not None:
            raise InputError([header.problem(None, "", header.mistake)])
        cells = [cell.strip() for cell in header.cells]
        while cells and not cells[-1]:
            cells.pop()
        names = [self.column(cell) for cell in cells[: self.most]]
        if len(cells) > self.most or not any(names):
            message = f"the first row must name the columns of a {self.what}"
            raise InputError([header.problem(0, "", message, self.listed)])
        problems = []
        for i, (cell, name) in enumerate(zip(cells, names, strict=True)):
            if not cell:
                problems.append(header.problem(i, "", "this column has no name", self.listed))
            elif name is None:
                message = f"there is no column {shown(cell)}"
                problems.append(header.problem(i, "", message, self.near(cell) or self.listed))
            elif name in names[:i]:
                message = f"the column {name} is here a second time"
                problems.append(header.problem(i, "", message, "keep one of the two"))
        for name in self.required:
            if name not in names:
                message = f"the column {name} is missing"
                problems.append(header.problem(None, "", message, self.needed))
        if problems:
            raise InputError(problems)
        return [name for name in names if name]


def rows_of(lines: Iterable[str], source: str, column: FindColumn) -> Iterator[TableRow]:
    """Return the rows that have anything in them, the header first, each read when it is asked for.

    ``lines`` come with their breaks, whichever they are. What stands between the cells is what
    finds the most columns in the header.

    Raises:
        InputError: a quote never ends.
    """
    lines = iter(lines)
    for skipped, line in enumerate(lines):
        if line.strip(BLANK):
            return _Rows(chain([line], lines), source, _separator(line, column), skipped)
    return iter(())


class _Rows(Iterator[TableRow]):
    def __init__(self, lines: Iterable[str], source: str, separator: str, skipped: int) -> None:
        self._source = source
        self._separator = separator
        self._skipped = skipped
        self._taken: list[str] = []  # the lines of the row being read
        self._reader = csv.reader(
            self._taking(lines), delimiter=separator, skipinitialspace=True, strict=True
        )

    def __next__(self) -> TableRow:
        while True:
            first = self._skipped + self._reader.line_num + 1
            self._taken.clear()
            mistake, cells = None, list[str]()
            try:
                cells = next(self._reader)
            except csv.Error as error:
                mistake = self._mistake(error, first)
            if mistake is not None or any(cell.strip() for cell in cells):
                text = "".join(self._taken)
                return TableRow(self._source, first, text, self._separator, cells, mistake)

    def _taking(self, lines: Iterable[str]) -> Iterator[str]:
        for line in lines:
            self._taken.append(line)
            yield line

    def _mistake(self, error: csv.Error, line: int) -> str:
        """Return what is wrong with a row that goes on as far as the reader has come."""
        if "expected after" not in str(error):
            # Whatever stands behind it would be lost without a word.
            message = "a quote mark opens a cell of this row and never ends, or a cell is too long"
            hint = 'take the quote mark out, or end the cell with another one (")'
            raise InputError([Problem(self._source, line, None, "", message, hint=hint)])
        last = self._skipped + self._reader.line_num
        until = f"; so read, the row ends in line {last}" if last > line else ""
        return f"something follows the quote mark that ends a cell{until}"


def _separator(header: str, column: FindColumn) -> str:
    def found(separator: str) -> tuple[int, int]:
        cells = header.split(separator)
        return len({column(cell.strip(' "\r\n')) for cell in cells} - {None}), len(cells)

    return max(SEPARATORS, key=found)
