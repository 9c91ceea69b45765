"""A roster as a table: a row a student, whatever file the rows come from."""

import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Protocol

from cardgen.errors import InputError, Problem
from cardgen.roster.building import Said
from cardgen.roster.columns import (
    COLUMNS,
    DEFAULT_NAMES,
    LAYOUT,
    NAME,
    NOTES,
    PLACE,
    Kind,
    text_of,
    value_of,
)
from cardgen.yamlsource import Value, Where, dotted, shown

# What is said of a value in YAML, and makes no sense of a cell.
_NO_CELL = re.compile(r", or (null|a mapping (with|of fields such as) \w+)")
_UNQUOTED = ", without quotes"
_LIST_HINT = "write numbers with spaces between them"
_LINES_HINT = "write leave: stand/target, a ball if need be, and semicolons between lines"


class Row(Protocol):
    """A row of a table, as :class:`cardgen.tablesource.TableRow` is one."""

    @property
    def line(self) -> int:
        """Where it stands."""

    @property
    def cells(self) -> Sequence[str]:
        """What stands in it."""

    @property
    def mistake(self) -> str | None:
        """Why it has no cells."""

    def fault(self, cell: int) -> str | None:
        """Return why the cell, counted from 0, is no text or number, or None."""

    def problem(
        self, cell: int | None, where: str, message: str, hint: str | None = None
    ) -> Problem:
        """Return a problem of the row, or of its ``cell``."""

    def misfit(self, width: int, named: int) -> Problem | None:
        """Return the problem that it does not fit under a header, or None."""


class Table:
    """The rows under a header: first what they say for all, then the students one by one."""

    def __init__(self, rows: Iterable[Row], source: str, folder: Path) -> None:
        """Read the header, and the row of defaults if that is the next.

        Raises:
            InputError: there is no header, or it or the row of defaults has mistakes.
        """
        self._rows = iter(rows)
        self._folder = folder
        header = next(self._rows, None)
        if header is None:
            raise InputError([Problem(source, None, None, "", "the file is empty")])
        faults = [(i, fault) for i in range(len(header.cells)) if (fault := header.fault(i))]
        if faults:
            raise InputError(header.problem(i, "", fault) for i, fault in faults)
        self._names = LAYOUT.columns(header)
        self._width = len(header.cells)
        self.defaults: Said | None = None
        self._first: Said | list[Problem] | None = None
        first = next(self._rows, None)
        if first is None:
            return
        said = self._said(first)
        if self._is_defaults(first):
            if isinstance(said, list):
                raise InputError(said)
            del said.fields["bowler"]
            self.defaults = said
        else:
            self._first = said

    def students(self) -> Iterator[Said | list[Problem]]:
        """Yield what is said of each student, or what is wrong with how it is written.

        Raises:
            InputError: a row of defaults is not the first; or the rows have no end.
        """
        if self._first is not None:
            yield self._first
        for row in self._rows:
            if self._is_defaults(row):
                message = "the row that holds for all students must be the first under the header"
                cell = self._names.index(NAME)
                raise InputError([row.problem(cell, NAME, message, "there can be only one")])
            yield self._said(row)

    def _is_defaults(self, row: Row) -> bool:
        cells = dict(zip(self._names, row.cells, strict=False))
        return text_of(cells.get(NAME, "")).casefold() in DEFAULT_NAMES

    def _said(self, row: Row) -> Said | list[Problem]:
        if (misfit := row.misfit(self._width, len(self._names))) is not None:
            return [misfit]
        problems: list[Problem] = []
        fields: dict[str, Value] = {}
        place: dict[str, Value] = {}
        for cell, (name, text) in enumerate(zip(self._names, row.cells, strict=False)):
            if name in NOTES:
                continue
            if (fault := row.fault(cell)) is not None:
                problems.append(row.problem(cell, name, fault))
                continue
            value = value_of(COLUMNS[name], text_of(text))
            if value is None:
                continue
            if COLUMNS[name] is Kind.LINES and isinstance(value, str):
                message = f"must be lines such as 10: 34/20; 3-10: 31.5/20 (got {shown(value)})"
                problems.append(row.problem(cell, name, message, _LINES_HINT))
            elif name in PLACE:
                place[name] = value
            elif (other := _put(fields, name, value)) is not None:
                message = f"{other} is given in this row too, and only one of the two can be"
                problems.append(row.problem(cell, name, message))
        cell = self._names.index(NAME)
        if "bowler" not in fields and row.fault(cell) is None:
            problems.append(row.problem(cell, NAME, "must be the student's name (got nothing)"))
        if problems:
            return problems
        problem = _Locating(row, self._names)
        return Said(fields, place, self._folder, row.line, problem, lambda _: row.line)


def _put(fields: dict[str, Value], name: str, value: Value) -> str | None:
    """Put ``value`` into ``fields``; return what is in the way, the whole of it or a part."""
    *path, last = ("bowler",) if name == NAME else name.split(".")
    for depth, step in enumerate(path):
        inner = fields.setdefault(step, {})
        if not isinstance(inner, dict):
            return ".".join(path[: depth + 1])
        fields = inner
    if isinstance(under := fields.get(last), dict):
        return f"{name}.{next(iter(under))}"
    fields[last] = value
    return None


class _Locating:
    """Tells problems of a profile by the cells of a row."""

    def __init__(self, row: Row, names: Sequence[str]) -> None:
        self._row = row
        self._names = names

    def __call__(self, where: Where, message: str, hint: str | None, _at_key: bool) -> Problem:
        told = NAME if where and where[0] == "bowler" else dotted(where)
        around = [n for n in self._names if told == n or told.startswith(f"{n}.")]
        column = max(around, key=len, default=None)
        cell = None if column is None else self._names.index(column)
        kind = None if column is None else COLUMNS.get(column)
        return self._row.problem(cell, told, _NO_CELL.sub("", message), _cell_hint(kind, hint))


def _cell_hint(kind: Kind | None, hint: str | None) -> str | None:
    """Return ``hint`` as it helps with a cell of ``kind``, where there are no quotes."""
    match kind:
        case Kind.NUMBERS:
            return _LIST_HINT
        case Kind.LINES if hint is not None and "quotes" in hint:
            return "write pins with dashes, such as 3-10"
    if hint is not None and "quotes" in hint.removesuffix(_UNQUOTED):
        return None
    return hint and hint.removesuffix(_UNQUOTED)
