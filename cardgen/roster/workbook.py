"""The rows of a workbook's first sheet (Office Open XML): the only user of openpyxl.

A file is untrusted: nothing in it may end the program but one clear sentence, and nothing in it is
evaluated.
"""

import warnings
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from cardgen.errors import InputError, Problem
from cardgen.textfile import check_file, unread, wrong
from cardgen.yamlsource import printable

MAX_BYTES = 64 << 20
MAX_UNPACKED = 512 << 20
"""Bytes of all parts of a workbook, unpacked; a few packed ones can mean very many."""
MAX_CELLS = 1 << 24
"""Of a sheet, blank ones too: one cell far down or far to the right can mean very many."""

_BATCH = 256
_LEAST_WIDTH = 16
"""As how many cells even a blank row counts."""
_OLE = b"\xd0\xcf\x11\xe0"
"""How old workbooks begin, and those with a password (MS-CFB, 2.2)."""
_SAVE = "save the table as .xlsx, or as .csv, in your spreadsheet program"


@dataclass(frozen=True)
class SheetRow:
    """The cells of one row of a sheet; ``faults`` tells of those that are no text or number."""

    source: str
    line: int
    cells: Sequence[str]
    faults: Mapping[int, str]
    mistake: None = None

    def problem(
        self, cell: int | None, where: str, message: str, hint: str | None = None
    ) -> Problem:
        """Return a problem of the row, or of its ``cell``, counted from 0, told as ``B7``."""
        place = f"row {self.line}" if cell is None else f"{_letters(cell)}{self.line}"
        told = f"{place} {where}".rstrip()
        return Problem(self.source, None, None, told, message, hint=hint)

    def fault(self, cell: int) -> str | None:
        """Return why the cell, counted from 0, is no text or number, or None."""
        return self.faults.get(cell)

    def misfit(self, _width: int, named: int) -> Problem | None:
        """Return the problem that there is something under no name, or None."""
        for cell in range(named, len(self.cells)):
            if self.cells[cell].strip() or cell in self.faults:
                message = f"there is something here, but there are {named} columns"
                return self.problem(cell, "", message, "name the column, or clear the cell")
        return None


def sheet_rows(path: Path) -> Iterator[SheetRow]:
    """Yield the rows of the first sheet at ``path`` that have anything in them.

    Raises:
        InputError: there is no such file, it is no workbook, is too large, protected or damaged,
            or openpyxl is not installed.
    """
    check_file(path)
    source = printable(str(path))
    with closing(_opened(path)) as book:
        count = 0
        for number, row in enumerate(_raw_rows(path, book), start=1):
            count += max(len(row), _LEAST_WIDTH)
            if count > MAX_CELLS:
                message = "the first sheet has cells very far down, or far to the right"
                raise wrong(path, message, "copy the roster to a new sheet, and save that alone")
            if not row:
                continue
            cells, faults = list[str](), dict[int, str]()
            for index, cell in enumerate(row):
                text, fault = _read(cell)
                cells.append(text)
                if fault is not None:
                    faults[index] = fault
            if faults or any(cell.strip() for cell in cells):
                yield SheetRow(source, number, cells, faults)


def _opened(path: Path) -> Any:
    try:
        import openpyxl
    except ImportError:
        hint = "pip install 'cardgen[xlsx]', or save the table as .csv"
        message = "a workbook can only be read where openpyxl is installed"
        raise wrong(path, message, hint) from None
    _check_parts(path)
    try:
        with _hushed():
            return openpyxl.load_workbook(path, read_only=True, keep_links=False)
    except Exception:
        # A damaged file makes openpyxl raise nearly anything: KeyError, ValueError, ParseError.
        raise _damaged(path) from None


def _check_parts(path: Path) -> None:
    """Raise InputError unless it is a zip archive that does not unpack to very much."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise wrong(path, f"the file is larger than {MAX_BYTES >> 20} MiB, which no roster is")
        with path.open("rb") as file:
            head = file.read(len(_OLE))
    except OSError as error:
        raise unread(path, error) from None
    if head == _OLE:
        raise wrong(path, "this workbook has a password, or is of an old kind", _SAVE)
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
    except Exception:
        raise wrong(path, "this is no workbook", _SAVE) from None
    if sum(part.file_size for part in parts) > MAX_UNPACKED:
        raise wrong(path, f"unpacked, this workbook is larger than {MAX_UNPACKED >> 20} MiB")


def _damaged(path: Path) -> InputError:
    return wrong(path, "this workbook is damaged and cannot be read", _SAVE)


def _raw_rows(path: Path, book: Any) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of the first sheet, also the blank ones between them."""
    try:
        with _hushed():
            sheet = book.worksheets[0]
            sheet.reset_dimensions()  # programs write wrong ones
            rows = sheet.iter_rows()
    except Exception:
        raise _damaged(path) from None
    while True:
        try:
            with _hushed():
                batch = list(islice(rows, _BATCH))
        except Exception:
            raise _damaged(path) from None
        if not batch:
            return
        yield from batch


def _hushed() -> AbstractContextManager[object]:
    """Keep openpyxl's warnings from the user: none is about a value of a cell."""
    return warnings.catch_warnings(action="ignore")


def _read(cell: Any) -> tuple[str, str | None]:
    """Return the text of a cell, a number in digits, and what is wrong with it or None."""
    value, kind = cell.value, getattr(cell, "data_type", "n")
    if value is None:
        return "", None
    if kind == "f":
        return "", "a formula stands here: put its value in instead"
    if kind == "e":
        return "", f"an error of the spreadsheet stands here ({printable(str(value))[:20]})"
    if isinstance(value, bool):
        return str(value).lower(), None
    if isinstance(value, int | float):
        return repr(int(value) if float(value).is_integer() else value), None
    if isinstance(value, str):
        return value, None
    return "", "a date or a time stands here: format the cell as text, and write it again"


def _letters(cell: int) -> str:
    """Return the name of a column, counted from 0: A to Z, then AA."""
    name, number = "", cell + 1
    while number:
        number, letter = divmod(number - 1, 26)
        name = chr(ord("A") + letter) + name
    return name
