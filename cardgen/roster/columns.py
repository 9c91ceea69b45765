"""The columns of a roster that is a table, and the values that their cells say."""

import math
import re
from collections.abc import Iterator, Mapping
from enum import Enum
from typing import Any

from cardgen.profile.complaints import near
from cardgen.profile.schema import Profile
from cardgen.tablesource import Layout
from cardgen.yamlsource import Value

NAME = "name"
"""The column, and the key, that becomes a profile's ``bowler``."""
PLACE = ("group", "copies", "profile")
NOTES = ("note", "notes")
"""Columns that are there for people and are not looked at."""
DEFAULT_NAMES = ("default", "defaults")
"""Names, in small letters, of the row that says what blank cells of the others mean."""

_LEFT_OUT = ("schema", "bowler", "fitted")
"""Fields that are not for a roster: a fit is a bowler's own, and only in a file of his."""
_TEXT_MARK = re.compile("^'(?=[-=+@])")
"""What keeps a spreadsheet from reading a cell as a formula; no name begins like this."""
_SPACES = re.compile(r"\s+")
_BREAKS = frozenset("\t\n\r\v\f\x1c\x1d\x1e\x1f\x85\u2028\u2029")
_NUMBER = re.compile(r"([-+−]?)([0-9]*)(?:[.,]([0-9]*)|(½))?(?:[eE]([-+]?[0-9]{1,3}))?")
_LINE = re.compile(r"([^:/]*):([^:/]*)/\s*(\S+)(?:\s+([^\W\d_]+))?\s*")
_DASHES = re.compile(r"\s*[-‐‑–—\s]\s*")

Schema = Mapping[str, Any]
"""A part of a JSON Schema."""


class Kind(Enum):
    """What the cells of a column hold."""

    TEXT = "text"
    WORD = "one of a few words"
    NUMBER = "a number"
    WHOLE = "a whole number"
    TRUTH = "true or false"
    NUMBERS = "numbers with spaces between them"
    LINES = "lines such as 10: 34/20"


def _fields(root: Schema, schema: Schema, path: str = "") -> Iterator[tuple[str, Kind]]:
    """Yield the dotted path and the kind of each field that a cell can hold."""
    branches = list(_branches(root, schema))
    kinds = [kind for branch in branches if (kind := _kind(branch)) is not None]
    if path and kinds:
        yield path, Kind.NUMBERS if Kind.NUMBERS in kinds else kinds[0]
    for branch in branches:
        for key, inner in branch.get("properties", {}).items():
            if path or key not in _LEFT_OUT:
                yield from _fields(root, inner, f"{path}.{key}" if path else key)


def _branches(root: Schema, schema: Schema) -> Iterator[Schema]:
    if "$ref" in schema:
        yield from _branches(root, root["$defs"][schema["$ref"].rpartition("/")[2]])
    elif choices := schema.get("anyOf") or schema.get("oneOf"):
        for choice in choices:
            yield from _branches(root, choice)
    else:
        yield schema


def _kind(schema: Schema) -> Kind | None:
    match schema.get("type"):
        case "string":
            return Kind.WORD if "enum" in schema else Kind.TEXT
        case "number":
            return Kind.NUMBER
        case "integer":
            return Kind.WHOLE
        case "boolean":
            return Kind.TRUTH
        case "array":
            items = schema.get("items") or schema["prefixItems"][0]
            return Kind.NUMBERS if items.get("type") in ("number", "integer") else None
    return None


_SCHEMA = Profile.model_json_schema()
COLUMNS: dict[str, Kind] = {
    NAME: Kind.TEXT,
    "group": Kind.TEXT,
    "copies": Kind.WHOLE,
    "profile": Kind.TEXT,
    **dict(_fields(_SCHEMA, _SCHEMA)),
    "known_lines": Kind.LINES,
}
"""What a column holds, by its name: ours, and the dotted path of each field of a profile."""
KEYS: tuple[str, ...] = (
    NAME,
    *PLACE,
    *NOTES,
    "schema",
    *(key for key in _SCHEMA["properties"] if key not in _LEFT_OUT),
)
"""What a student of a YAML roster can have."""


def _folded(text: str) -> str:
    return re.sub(r"[\s_]+", "", text).casefold()


_BY_FOLDED = {_folded(name): name for name in (*COLUMNS, *NOTES)}


def column(cell: str) -> str | None:
    """Return the column that a cell of the header names, in whatever letters, or None."""
    return _BY_FOLDED.get(_folded(cell))


def called(word: str) -> list[str]:
    """Return the columns of fields inside others that end in ``word``; none for a vague one."""
    folded = _folded(word)
    ends = [name for name in COLUMNS if folded and _folded(name).endswith(f".{folded}")]
    return ends if len(ends) <= 4 else []


def _near_column(cell: str) -> str | None:
    if _folded(cell) == "bowler":
        return f"did you mean {NAME!r}?"
    ends = called(cell)
    return f"did you mean {' or '.join(map(repr, ends))}?" if ends else near(cell, COLUMNS)


LAYOUT = Layout(
    what="roster",
    required=(NAME,),
    listed="the columns are name, hand, style, group, copies, profile, known_lines and fields of a "
    "profile such as stand.distance_ft or balls.spare.speed_mph",
    needed=f"every roster has {NAME}",
    column=column,
    near=_near_column,
    most=200,
)


def text_of(cell: str) -> str:
    """Return the text of a cell: on one line, without what a spreadsheet needs before it."""
    text = cell.strip()
    if not _BREAKS.isdisjoint(text):
        text = _SPACES.sub(lambda m: m[0] if _BREAKS.isdisjoint(m[0]) else " ", text)
    return _TEXT_MARK.sub("", text)


def value_of(kind: Kind, text: str) -> Value:
    """Return what ``text`` says in a column of ``kind``, or ``text`` itself where it says nothing.

    That is then for the schema to complain of. A blank text says None.
    """
    if not text:
        return None
    match kind:
        case Kind.NUMBER | Kind.WHOLE:
            return _number(text)
        case Kind.WORD:
            return text.casefold()
        case Kind.TRUTH:
            return {"true": True, "false": False}.get(text.casefold(), text)
        case Kind.NUMBERS:
            return [_number(part) for part in re.split(r"[\s;]+", text) if part]
        case Kind.LINES:
            return _lines(text)
    return text


def _number(text: str) -> int | float | str:
    found = _NUMBER.fullmatch(text)
    if found is None or not (found[2] or found[3] or found[4]):
        return text
    sign = "-" if found[1] in ("-", "−") else ""
    number = float(f"{sign}{found[2] or 0}.{5 if found[4] else found[3] or 0}e{found[5] or 0}")
    if not math.isfinite(number):
        return text
    return int(number) if number.is_integer() else number


def _lines(text: str) -> Value:
    """Return known lines from ``leave: stand/target ball; …``, or ``text`` if it is not that."""
    found = [_LINE.fullmatch(part.strip()) for part in text.split(";") if part.strip()]
    if not found or not all(found):
        return text
    return [
        {
            "leave": _DASHES.sub("-", match[1].strip()),
            "stand": _number(match[2].strip()),
            "target": _number(match[3]),
            **({"ball": match[4].casefold()} if match[4] else {}),
        }
        for match in found
        if match
    ]
