"""The text of a file that somebody's spreadsheet or editor has written."""

import codecs
import stat
from pathlib import Path

from cardgen.errors import InputError, Problem
from cardgen.yamlsource import printable

MAX_BYTES = 1 << 20


def check_file(path: Path) -> None:
    """Raise InputError unless there is a file at ``path``."""
    try:
        is_folder = stat.S_ISDIR(path.stat().st_mode)  # is_dir() hides why
    except (OSError, ValueError) as error:
        raise _unread(path, error) from None
    if is_folder:
        raise _wrong(path, "this is a folder, not a file")


def read_text(path: Path) -> str:
    """Return the text of the file at ``path``: UTF-8, or UTF-16 where a byte-order mark says so.

    Raises:
        InputError: there is no such file, it cannot be read, is larger than ``MAX_BYTES``, or is
            neither.
    """
    check_file(path)
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise _unread(path, error) from None
    if len(data) > MAX_BYTES:
        raise _wrong(path, f"the file is larger than {MAX_BYTES >> 10} KiB, which no shot log is")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            hint = "save the table as UTF-8 text"
            raise _wrong(path, "the file begins as UTF-16 does, but is not", hint) from None
    try:
        return data.removeprefix(codecs.BOM_UTF8).decode()
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode().replace("\r\n", "\n").replace("\r", "\n")
        column = len(before) - before.rfind("\n")
        message = f"the byte 0x{error.object[error.start]:02X} here is not UTF-8"
        hint = "save the table as UTF-8 text"
        problem = Problem(
            printable(str(path)), before.count("\n") + 1, column, "", message, hint=hint
        )
        raise InputError([problem]) from None


def _wrong(path: Path, message: str, hint: str | None = None) -> InputError:
    return InputError([Problem(printable(str(path)), None, None, "", message, hint=hint)])


def _unread(path: Path, error: OSError | ValueError) -> InputError:
    match error:
        case FileNotFoundError() | NotADirectoryError():
            return _wrong(path, "there is no such file")
        case PermissionError():
            return _wrong(path, "this file may not be read: its permissions forbid it")
        case OSError():
            return _wrong(path, f"this file cannot be read: {error.strerror or error}")
    return _wrong(path, "no file can have this name")  # a NUL in it
