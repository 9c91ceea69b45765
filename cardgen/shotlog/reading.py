"""From a file to a log of shots: a table, YAML, or a form filled in; good rows and bad ones."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cardgen.errors import InputError, Problem
from cardgen.formsource import read_form
from cardgen.profile.complaints import near
from cardgen.shotlog.columns import COLUMNS, shot_of
from cardgen.shotlog.shot import Shot
from cardgen.shotlog.table import table_rows
from cardgen.shotlog.textfile import read_text
from cardgen.tablesource import TABLE_SUFFIXES as TABLE_SUFFIXES  # others ask for them here
from cardgen.textfile import check_file
from cardgen.yamlsource import Document, Value, load_yaml, printable, shown

MAX_SHOTS = 5000

_FIELD = re.compile(r"shot\.([1-9][0-9]{0,3})\.(.+)")


@dataclass(frozen=True)
class Log:
    """The shots of a file in its order, what is wrong with its bad rows, and the file's name."""

    shots: tuple[Shot, ...]
    bad: tuple[Problem, ...]
    source: str


def read_log(path: Path) -> Log:
    """Return the shots in the file at ``path``: .csv, .tsv or .txt, .yaml or .yml, or .pdf.

    A bad row spoils no other: whether to go on without it is for the caller to decide.

    Raises:
        InputError: the file cannot be read, is none of these, is not laid out as a shot log is,
            has no shots at all or more than ``MAX_SHOTS``.
    """
    source = printable(str(path))
    shots: list[Shot] = []
    bad: list[Problem] = []
    count = 0
    for row in _rows(path, source):
        count += 1
        if isinstance(row, Shot):
            shots.append(row)
        else:
            bad += row
        if count > MAX_SHOTS:
            message = f"there are more than {MAX_SHOTS:,} shots"
            raise InputError([Problem(source, None, None, "", message, hint="take the latest")])
    if not count:
        raise InputError([Problem(source, None, None, "", "there are no shots in this file")])
    return Log(tuple(shots), tuple(bad), source)


def _rows(path: Path, source: str) -> Iterator[Shot | list[Problem]]:
    match path.suffix.lower():
        case suffix if suffix in TABLE_SUFFIXES:
            return table_rows(read_text(path), source)
        case ".yaml" | ".yml":
            return _document_rows(load_yaml(path))
        case ".pdf":
            return _form_rows(path)
    check_file(path)
    got = shown(path.suffix) if path.suffix else "no ending"
    message = f"a shot log's name ends in .csv, .tsv, .txt, .yaml, .yml or .pdf (got {got})"
    raise InputError([Problem(source, None, None, "", message, hint="save a table as .csv")])


def _document_rows(document: Document) -> Iterator[Shot | list[Problem]]:
    root = document.value
    if not isinstance(root, dict):
        message = f"must be a mapping with the list shots (got {shown(root)})"
        raise InputError([document.problem((), message)])
    problems = [
        document.problem((key,), "there is no such field", near(key, ["shots"]), at_key=True)
        for key in root
        if key != "shots"
    ]
    rows = root.get("shots")
    if "shots" not in root:
        problems.append(document.problem(("shots",), "is missing", "begin the list with shots:"))
    elif not isinstance(rows, list):
        message = f"must be a list of mappings (got {shown(rows)})"
        problems.append(document.problem(("shots",), message))
    if problems or not isinstance(rows, list):
        raise InputError(problems)
    for index, row in enumerate(rows):
        yield _document_shot(document, index, row)


def _document_shot(document: Document, index: int, row: Value) -> Shot | list[Problem]:
    where = ("shots", index)
    if not isinstance(row, dict):
        message = f"must be a mapping such as {{leave: 3-10, ...}} (got {shown(row)})"
        return [document.problem(where, message)]
    problems: dict[str, Problem] = {}
    cells: dict[str, str] = {}
    for key, value in row.items():
        if key not in COLUMNS:
            hint = near(key, COLUMNS) or f"the fields here: {', '.join(COLUMNS)}"
            message = "there is no such field"
            problems[key] = document.problem((*where, key), message, hint, at_key=True)
        elif isinstance(value, bool | list | dict):
            message = f"must be text or a number (got {shown(value)})"
            problems[key] = document.problem((*where, key), message)
        elif value is not None:
            cells[key] = str(value)
    shot = shot_of(cells, lambda column, *said: document.problem((*where, column), *said))
    if not problems:
        return shot
    told = {problem.where for problem in problems.values()}
    others = [] if isinstance(shot, Shot) else shot
    return [*problems.values(), *(problem for problem in others if problem.where not in told)]


def _form_rows(path: Path) -> Iterator[Shot | list[Problem]]:
    form = read_form(path)
    rows: dict[int, dict[str, str]] = defaultdict(dict)
    for name, text in form.values.items():
        if (found := _FIELD.fullmatch(name)) and found[2] in COLUMNS and text.strip():
            rows[int(found[1])][found[2]] = text
    for number in sorted(rows):
        prefix = f"shot.{number}."
        yield shot_of(
            rows[number],
            lambda column, *said, prefix=prefix: form.problem(prefix + column, *said),
        )
