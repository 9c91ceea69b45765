"""The text of a shot log that somebody's spreadsheet or editor has written."""

from pathlib import Path

from cardgen import textfile

MAX_BYTES = 1 << 20


def read_text(path: Path) -> str:
    """Return the text of the file at ``path``: UTF-8, or UTF-16 where a byte-order mark says so.

    Raises:
        InputError: there is no such file, it cannot be read, is larger than ``MAX_BYTES``, or is
            neither.
    """
    return textfile.read_text(path, MAX_BYTES, "shot log")
