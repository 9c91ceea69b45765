"""Where each printer lays the back of a sheet, kept in the user's own folder of settings.

The file is TOML 1.0 (https://toml.io), one table a printer. It may be edited by hand, and a mistake
in it is told and never written over.
"""

import os
import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from pathlib import Path
from typing import Literal, TypeAlias

from cardgen.atomicfile import write_whole
from cardgen.errors import InputError, Problem, UsageError

Flip: TypeAlias = Literal["long-edge", "short-edge"]
"""The edge of an upright sheet about which its back is turned."""

FOLDER_VARIABLE = "CARDGEN_CONFIG"
LIMIT_MM = 10.0
"""A back farther off is the wrong paper or the wrong setting, no offset."""
MAX_NAME = 60
MAX_BYTES = 1 << 20
_DIGITS = 2  # ten times finer than the test page can be read
_FIELDS = ("dx_mm", "dy_mm")
_HEAD = """\
# Where each printer lays the back of a sheet, off its front, in millimetres.
# Seen from the front, against the light: dx_mm to the right, dy_mm down.
# "cardgen align" keeps and lists them.
"""
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True)
class Offset:
    """How far the back lies off its front as the sheet is seen from the front against the light.

    ``dx_mm`` is to the right, ``dy_mm`` down, as in a scene. So told it is the same however the
    sheet is flipped: a duplex unit turns all paper alike, and the driver turns the picture.
    """

    dx_mm: float = 0.0
    dy_mm: float = 0.0

    def shift_mm(self, flip: Flip, *, lying: bool = False) -> tuple[float, float]:
        """Return by how much (x, y) a back's own drawing must move to meet its front.

        That is the offset turned over with the sheet, and taken back. The sheet is upright, or
        ``lying``: then it comes out of the printer upright, turned anticlockwise (RFC 8011, 5.2.10,
        orientation-requested, from memory; a driver that turns it clockwise has both signs wrong).
        """
        dx, dy = (-self.dy_mm, self.dx_mm) if lying else (self.dx_mm, self.dy_mm)
        # What turns over left and right is the edge that stands upright as the sheet is drawn.
        if (flip == "long-edge") is not lying:
            return dx + 0.0, 0.0 - dy
        return 0.0 - dx, dy + 0.0


def printers_file() -> Path:
    """Return where the offsets are kept: in ``CARDGEN_CONFIG``, else the user's settings folder.

    Raises UsageError for a user without one.
    """
    if folder := os.environ.get(FOLDER_VARIABLE):
        return Path(folder) / "printers.toml"
    from platformdirs import user_config_dir

    try:
        return Path(user_config_dir("cardgen", appauthor=False)) / "printers.toml"
    except RuntimeError:  # a user without a home, as in containers
        raise UsageError(
            f"you have no home folder to keep printers in; set {FOLDER_VARIABLE} to a folder"
        ) from None


def load_printers() -> dict[str, Offset]:
    """Return the offset of each printer, in the order in which the file has them.

    Raises InputError if the file cannot be read or is damaged, UsageError if there is no place for
    one; no file is no printers.
    """
    path = printers_file()
    try:
        if path.is_fifo():  # it would be waited on for ever
            message = "this is a pipe, not a file"
            raise InputError([Problem(str(path), None, None, "", message)])
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        return {}
    except OSError as error:
        message = f"cannot be read: {error.strerror or error}"
        raise InputError([Problem(str(path), None, None, "", message)]) from error
    if len(data) > MAX_BYTES:
        message = f"the file is larger than {MAX_BYTES >> 10} KiB, which no list of printers is"
        raise InputError([Problem(str(path), None, None, "", message)])
    try:
        # As editors on some systems begin a file; TOML itself has no byte order mark.
        text = data.decode().removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = "is not UTF-8 text; save it as UTF-8"
        raise InputError([Problem(str(path), line, None, "", message)]) from error
    return _read(text, str(path))


def keep(name: str, offset: Offset) -> str:
    """Keep the offset of a printer in place of what was kept of it; return its name as kept.

    Raises UsageError for a name that cannot be kept and an offset beyond ``LIMIT_MM``; InputError
    if the file is damaged, which is then left as it is; OutputError if it cannot be written.
    """
    kept = _name(name)
    for value in (offset.dx_mm, offset.dy_mm):
        if not _within(value):
            raise UsageError(f"an offset is {_limits()}, not {value:g} mm")
    printers = load_printers()
    old = _found(kept, printers) or kept
    printers[old] = Offset(_rounded(offset.dx_mm), _rounded(offset.dy_mm))
    # Through a link, as people have them in such folders, to the file it stands for.
    write_whole(printers_file().resolve(), _written(printers).encode(), force=True)
    return old


def offset_of(name: str) -> Offset:
    """Return the offset kept of a printer; capitals in its name make no difference.

    Raises UsageError for a printer of which none is kept, InputError if the file is damaged.
    """
    printers = load_printers()
    found = _found(name, printers)
    if found is not None:
        return printers[found]
    if not printers:
        raise UsageError(f"no offset is kept of a printer called {name!r}, nor of any other")
    near = get_close_matches(_key(name), map(_key, printers), n=1)
    meant = next((f"; did you mean {n!r}?" for n in printers if [_key(n)] == near), "")
    known = ", ".join(map(repr, printers))
    raise UsageError(f"no offset is kept of a printer called {name!r}, only of {known}{meant}")


def _key(name: str) -> str:
    return " ".join(unicodedata.normalize("NFC", name).split()).casefold()


def _found(name: str, printers: Mapping[str, Offset]) -> str | None:
    return next((known for known in printers if _key(known) == _key(name)), None)


def _name(name: str) -> str:
    kept = " ".join(unicodedata.normalize("NFC", name).split())
    if not kept:
        raise UsageError("a printer needs a name, such as office")
    if len(kept) > MAX_NAME or not kept.isprintable():
        raise UsageError(f"a printer's name is up to {MAX_NAME} characters that print")
    return kept


def _within(value: float) -> bool:
    return isfinite(value) and abs(value) <= LIMIT_MM


def _limits() -> str:
    return f"a number from -{LIMIT_MM:g} to {LIMIT_MM:g}"


def _rounded(value: float) -> float:
    return round(value, _DIGITS) + 0.0  # no -0


def _written(printers: Mapping[str, Offset]) -> str:
    return "\n".join([_HEAD, *(_table(name, offset) for name, offset in printers.items())])


def _table(name: str, offset: Offset) -> str:
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'["{quoted}"]\ndx_mm = {offset.dx_mm:g}\ndy_mm = {offset.dy_mm:g}\n'


def _read(text: str, source: str) -> dict[str, Offset]:
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax_problem(str(error), text, source)]) from error
    except (ValueError, RecursionError):  # thousands of digits, or of brackets within each other
        message = "is no TOML that can be read: no printer has numbers or brackets like these"
        raise InputError([Problem(source, None, None, "", message)]) from None
    problems = list(_problems(tables, text, source))
    if problems:
        raise InputError(problems[:1])
    return {
        unicodedata.normalize("NFC", name): Offset(*(float(table[field]) for field in _FIELDS))
        for name, table in tables.items()
    }


def _syntax_problem(said: str, text: str, source: str) -> Problem:
    """Return what ``tomllib`` says with its place taken out of the text."""
    place = _PLACE.search(said)
    end = (text.count("\n") + 1, None)
    line, column = (int(place[1]), int(place[2])) if place and place[1] else end
    what = _PLACE.sub("", said)
    message = f"is no TOML that can be read: {what[:1].lower()}{what[1:]}"
    return Problem(source, line, column, "", message)


def _problems(tables: Mapping[str, object], text: str, source: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for key, table in tables.items():
        line, name = _line_of(text, key), _visible(key)
        if not isinstance(table, dict):
            message = 'a printer is a table, as ["office"], with dx_mm and dy_mm'
            yield Problem(source, line, None, name, message)
            continue
        if _key(key) in seen:
            yield Problem(source, line, None, name, "this printer is there twice; keep one of them")
        seen.add(_key(key))
        for field in _FIELDS:
            where, value = f"{name}.{field}", table.get(field)
            if field not in table:
                yield Problem(source, line, None, where, f"is missing; it is {_limits()}")
            elif isinstance(value, bool) or not isinstance(value, int | float):
                at = _line_of(text, key, field)
                yield Problem(source, at, None, where, f"must be {_limits()}")
            elif not _within(value):
                at = _line_of(text, key, field)
                yield Problem(source, at, None, where, f"is {value:g} and must be {_limits()}")
        for extra in (each for each in table if each not in _FIELDS):
            message = f"is nothing a printer has; it has {' and '.join(_FIELDS)}"
            at = _line_of(text, key, extra)
            yield Problem(source, at, None, f"{name}.{_visible(extra)}", message)


def _visible(name: str) -> str:
    return name if name.isprintable() else ascii(name)


def _line_of(text: str, name: str, field: str | None = None) -> int | None:
    """Return the line, from 1, of a printer or of a field of it, where its spelling lets us tell.

    ``tomllib`` keeps no places, so each line is read by itself.
    """
    head: int | None = None
    inside = False
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            alone = tomllib.loads(line)
        except (ValueError, RecursionError):
            continue
        if inside and field is not None and field in alone and not line.lstrip().startswith("["):
            return number
        if line.lstrip().startswith("["):
            inside = name in alone
        if name in alone and head is None:
            head = number
    return head
