"""A form filled in on a screen (PDF, AcroForm) as texts by field name: the only user of pypdf.

What a form may hold is decided by whoever asked for it; here only that it is a form and can be
read. A file is untrusted: nothing in it may end the program but one clear sentence.
"""

import logging
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

from cardgen.errors import InputError, Problem
from cardgen.yamlsource import NO_FILE, printable

MAX_BYTES = 20 << 20
MAX_CHARACTERS = 300
"""Of one value: as many as the longest text of a profile has."""
TICKED = "yes"
"""The value of a box that is ticked."""

_BREAKS = re.compile("\r\n|[\n\r\v\f\x85\u2028\u2029]")
_HEADER_WITHIN = 1024  # where viewers look for the header (ISO 32000-1, annex H.3, note 13)


@dataclass(frozen=True)
class Form:
    """What was filled in: ``values`` by full field name, stripped, without the blank ones.

    A ticked box has the value ``TICKED``.
    """

    source: str
    values: Mapping[str, str]

    def problem(self, field: str, message: str, hint: str | None = None) -> Problem:
        """Return a problem of the field of that name."""
        return Problem(self.source, None, None, field, message, hint=hint)


def read_form(path: Path) -> Form:
    """Return what is filled in in the PDF form at ``path``.

    Breaks of line in values become spaces, other control characters are replaced.

    Raises:
        InputError: there is no such file, it cannot be read, is larger than ``MAX_BYTES``, no PDF,
            damaged, encrypted or has no form fields; or values are longer than ``MAX_CHARACTERS``.
    """
    source = printable(str(path))
    values: dict[str, str] = {}
    too_long: list[Problem] = []
    for name, value in _fields(_bytes(path, source), source):
        text = printable(_BREAKS.sub(" ", value)).strip()
        name = printable(name)
        if len(text) > MAX_CHARACTERS:
            message = f"must be at most {MAX_CHARACTERS} characters (got {len(text)})"
            too_long.append(Problem(source, None, None, name, message))
        elif text:
            values[name] = text
    if too_long:
        raise InputError(too_long)
    return Form(source, values)


def _wrong(source: str, message: str, hint: str | None = None) -> InputError:
    return InputError([Problem(source, None, None, "", message, hint=hint)])


def _bytes(path: Path, source: str) -> bytes:
    try:
        if path.is_fifo():  # it would be waited on for ever
            raise _wrong(source, NO_FILE)
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise _wrong(source, "there is no such file") from None
    except IsADirectoryError:
        raise _wrong(source, "this is a folder, not a file") from None
    except PermissionError:
        raise _wrong(source, "this file may not be read: its permissions forbid it") from None
    except ValueError:  # a NUL in it
        raise _wrong(source, "no file can have this name") from None
    except OSError as error:
        raise _wrong(source, f"this file cannot be read: {error.strerror or error}") from None
    if len(data) > MAX_BYTES:
        raise _wrong(source, f"the file is larger than {MAX_BYTES >> 20} MB, which no form is")
    if b"%PDF-" not in data[:_HEADER_WITHIN]:
        hint = "save the form as PDF in the program that you filled it in with"
        raise _wrong(source, "this is no PDF file", hint)
    return data


def _fields(data: bytes, source: str) -> list[tuple[str, str]]:
    """Return name and raw text of every field that can hold a value."""
    from pypdf import PdfReader
    from pypdf.errors import DependencyError

    try:
        with _hushed():
            reader = PdfReader(BytesIO(data))
            if reader.is_encrypted:
                raise _encrypted(source)
            fields = list(_values(reader))
    except InputError:
        raise
    except DependencyError:
        raise _encrypted(source) from None
    except Exception:
        # A damaged file makes pypdf raise nearly anything: KeyError, RecursionError, zlib.error.
        hint = "save it once more in the program that you filled it in with"
        raise _wrong(source, "this PDF is damaged and cannot be read", hint) from None
    if not fields:
        hint = "a scan or a print has no fields: type the log into a CSV"
        raise _wrong(source, "this PDF has no form fields", hint)
    return fields


def _encrypted(source: str) -> InputError:
    hint = "save it without a password or any other protection"
    return _wrong(source, "this PDF is encrypted", hint)


def _values(reader: Any) -> Iterator[tuple[str, str]]:
    for name, field in (reader.get_fields() or {}).items():
        kind = field.get("/FT")
        if kind == "/Btn":
            state = field.get("/V")
            yield str(name), TICKED if state is not None and str(state) not in ("", "/Off") else ""
        elif kind in ("/Tx", "/Ch"):
            yield str(name), _text(field.get("/V"))


def _text(value: Any) -> str:
    """Return the text of a value; of a list of chosen options, all of them."""
    value = value.get_object() if hasattr(value, "get_object") else value
    if value is None:
        return ""
    if isinstance(value, list):
        return ", ".join(map(_text, value))
    if isinstance(value, bytes):
        return value.decode("latin-1")
    if hasattr(value, "get_data"):  # a long text may be a stream (ISO 32000-1, 12.7.4.3)
        return _text(value.get_data())
    return str(value)


@contextmanager
def _hushed() -> Iterator[None]:
    """Keep pypdf's warnings and log lines from the user: what matters becomes an error of ours."""
    logger = logging.getLogger("pypdf")
    propagate = logger.propagate
    handler = logging.NullHandler()
    logger.addHandler(handler)
    logger.propagate = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logger.propagate = propagate
        logger.removeHandler(handler)
