"""The text of a file that somebody's spreadsheet or editor has written."""

import codecs
import stat
from collections.abc import Iterator
from pathlib import Path

from cardgen.errors import InputError, Problem
from cardgen.yamlsource import NO_FILE, printable

MAX_LINE = 1 << 20
"""Characters of a line of a long text; more are no line of a table."""

_HINT = "save the table as UTF-8 text"


def check_file(path: Path) -> None:
    """Raise InputError unless there is a file at ``path``."""
    try:
        mode = path.stat().st_mode  # is_dir() hides why
    except (OSError, ValueError) as error:
        raise unread(path, error) from None
    if stat.S_ISDIR(mode):
        raise wrong(path, "this is a folder, not a file")
    if not stat.S_ISREG(mode):  # it would be waited on, or read, for ever
        raise wrong(path, NO_FILE)


def read_text(path: Path, max_bytes: int, what: str) -> str:
    """Return the text of the file at ``path``: UTF-8, or UTF-16 where a byte-order mark says so.

    ``what`` names the kind of file for the message that it is too large.

    Raises:
        InputError: there is no such file, it cannot be read, is larger than ``max_bytes``, or is
            neither.
    """
    check_file(path)
    try:
        with path.open("rb") as file:
            data = file.read(max_bytes + 1)
    except OSError as error:
        raise unread(path, error) from None
    if len(data) > max_bytes:
        raise _too_large(path, max_bytes, what)
    try:
        return data.decode(_encoding(data))
    except UnicodeDecodeError as error:
        raise _undecoded(path, error) from None


def text_lines(path: Path, max_bytes: int, what: str) -> Iterator[str]:
    """Yield the lines of the same text as :func:`read_text` returns, each with its break.

    No more of the file is held at a time than the lines about the current one.

    Raises:
        InputError: as :func:`read_text`, or a line is longer than ``MAX_LINE``.
    """
    check_file(path)
    size = 0
    try:
        if path.stat().st_size > max_bytes:
            raise _too_large(path, max_bytes, what)
        with path.open("rb") as file:
            encoding = _encoding(file.peek(3))
        with path.open(encoding=encoding, newline="") as text:
            while line := text.readline(MAX_LINE):
                size += len(line)
                if size > max_bytes:  # it has grown
                    raise _too_large(path, max_bytes, what)
                if len(line) == MAX_LINE:
                    message = f"a line has more than {MAX_LINE:,} characters"
                    raise wrong(path, f"{message}, which none of a {what} has")
                yield line
    except OSError as error:
        raise unread(path, error) from None
    except UnicodeDecodeError:
        # The decoder works ahead of the lines: the whole file tells where the byte stands.
        read_text(path, max_bytes, what)
        raise wrong(path, "this file was changed while it was read") from None


def wrong(path: Path, message: str, hint: str | None = None) -> InputError:
    """Return the error of something wrong with the file at ``path`` as a whole."""
    return InputError([Problem(printable(str(path)), None, None, "", message, hint=hint)])


def unread(path: Path, error: OSError | ValueError) -> InputError:
    """Return the error of a file at ``path`` that the system would not give."""
    match error:
        case FileNotFoundError() | NotADirectoryError():
            return wrong(path, "there is no such file")
        case PermissionError():
            return wrong(path, "this file may not be read: its permissions forbid it")
        case OSError():
            return wrong(path, f"this file cannot be read: {error.strerror or error}")
    return wrong(path, "no file can have this name")  # a NUL in it


def _encoding(data: bytes) -> str:
    utf_16 = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    return "utf-16" if utf_16 else "utf-8-sig"


def _too_large(path: Path, max_bytes: int, what: str) -> InputError:
    size = f"{max_bytes >> 20} MiB" if max_bytes >= 10 << 20 else f"{max_bytes >> 10} KiB"
    return wrong(path, f"the file is larger than {size}, which no {what} is")


def _undecoded(path: Path, error: UnicodeDecodeError) -> InputError:
    if error.encoding.startswith("utf-16"):
        return wrong(path, "the file begins as UTF-16 does, but is not", _HINT)
    # Where the byte-order mark was taken off, the error counts from behind it.
    before = error.object[: error.start].decode().replace("\r\n", "\n").replace("\r", "\n")
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    message = f"the byte 0x{error.object[error.start]:02X} here is not UTF-8"
    problem = Problem(printable(str(path)), line, column, "", message, hint=_HINT)
    return InputError([problem])
