"""From a file to a clinic's roster: a table, a workbook or YAML; good rows and bad ones."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from cardgen.errors import Problem
from cardgen.resources import YAML_SUFFIXES
from cardgen.roster.building import Builder, Said
from cardgen.roster.columns import NAME, column
from cardgen.roster.document import RosterDocument, defaults_of
from cardgen.roster.student import Student as Student
from cardgen.roster.table import Table
from cardgen.roster.workbook import sheet_rows
from cardgen.tablesource import BLANK, TABLE_SUFFIXES, rows_of
from cardgen.textfile import check_file, text_lines, wrong
from cardgen.yamlsource import load_yaml, printable, shown

MAX_BYTES = 64 << 20
MAX_STUDENTS = 100_000
WORKBOOK_SUFFIX = ".xlsx"
_CELLS = re.compile("[,;\t]")
ROSTER_SUFFIXES = (*TABLE_SUFFIXES, WORKBOOK_SUFFIX, *YAML_SUFFIXES)


@dataclass(frozen=True)
class Roster:
    """The students of a clinic in the roster's order, and what is wrong with its bad rows."""

    title: str
    students: tuple[Student, ...]
    bad: tuple[Problem, ...]


def read_roster(path: Path, defaults: Path | None = None) -> Roster:
    """Return the roster in the file at ``path``: .csv, .tsv or .txt, .xlsx, .yaml or .yml.

    A row says of a student: ``name``, ``hand`` and any other field of a profile by its dotted path,
    ``group``, ``copies``, and ``profile``, a file beside the roster. A blank is what the profile
    says, or else the row that is called default, or else ``defaults``, a YAML file of a profile's
    fields, or else the default of a profile. A bad row spoils no other: whether to go on without it
    is for the caller to decide.

    Raises:
        InputError: a file cannot be read, is none of these, is not laid out as a roster is, has no
            students at all or more than ``MAX_STUDENTS``; or what holds for all has mistakes.
    """
    title, rows = open_roster(path, defaults)
    students: list[Student] = []
    bad: list[Problem] = []
    for row in rows:
        if isinstance(row, Student):
            students.append(row)
        else:
            bad += row
    return Roster(title, tuple(students), tuple(bad))


def is_roster(path: Path) -> bool:
    """Tell whether a file is laid out as a roster, and not as a shot log or a profile.

    Raises:
        InputError: it cannot be read.
    """
    suffix = path.suffix.lower()
    if suffix in YAML_SUFFIXES:
        value = load_yaml(path).value
        return isinstance(value, dict) and "students" in value
    if suffix in TABLE_SUFFIXES:
        lines = text_lines(path, MAX_BYTES, "roster")
        header = next((line for line in lines if line.strip(BLANK)), "")
        return any(column(cell.strip(' "\r\n')) == NAME for cell in _CELLS.split(header))
    return suffix == WORKBOOK_SUFFIX


def open_roster(
    path: Path, defaults: Path | None = None
) -> tuple[str, Iterator[Student | list[Problem]]]:
    """Return a roster's title, and its students one by one, or what is wrong with each bad row.

    See :func:`read_roster`. Of a table and a workbook no more is held at a time than one row. What
    is wrong with the file as a whole may only be found, and InputError raised, after some of them.
    """
    check_file(path)
    source = printable(str(path))
    builder = Builder(source, path.parent)
    if defaults is not None:
        builder.for_all(defaults_of(defaults))
    title = printable(path.stem)
    roster: RosterDocument | Table
    match path.suffix.lower():
        case suffix if suffix in YAML_SUFFIXES:
            roster = RosterDocument(path)
            title = roster.title or title
        case suffix if suffix in TABLE_SUFFIXES:
            lines = text_lines(path, MAX_BYTES, "roster")
            roster = Table(rows_of(lines, source, column), source, path.parent)
        case suffix if suffix == WORKBOOK_SUFFIX:
            roster = Table(sheet_rows(path), source, path.parent)
        case _:
            got = shown(path.suffix) if path.suffix else "no ending"
            *most, last = ROSTER_SUFFIXES
            message = f"a roster's name ends in {', '.join(most)} or {last} (got {got})"
            raise wrong(path, message, "save a table as .csv or .xlsx")
    if roster.defaults is not None:
        builder.for_all(roster.defaults)
    return title, _students(path, roster.students(), builder.student)


def _students(
    path: Path,
    rows: Iterator[Said | list[Problem]],
    student: Callable[[Said], Student | list[Problem]],
) -> Iterator[Student | list[Problem]]:
    count = 0
    for count, said in enumerate(rows, start=1):
        if count > MAX_STUDENTS:
            raise wrong(path, f"there are more than {MAX_STUDENTS:,} students", "split the roster")
        yield said if isinstance(said, list) else student(said)
    if not count:
        raise wrong(path, "there are no students in this file")
