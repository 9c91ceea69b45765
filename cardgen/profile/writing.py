"""Putting a fit into a profile's text: every other line of it stays as its writer left it."""

import re
from collections.abc import Sequence
from pathlib import Path

from cardgen.errors import InputError, Problem, UsageError
from cardgen.profile.fitted import SECTION_NOTE
from cardgen.resources import data_folder
from cardgen.yamlsource import Value, parse_yaml, read_yaml

_AFTER_BREAK = re.compile(r"(?<=\n)|(?<=\r)(?!\n)")
_KEY = re.compile(r"fitted *:")
_INSIDE = re.compile(r"[ \t]|\s*$")
"""A line of a section: indented, or with nothing on it."""
_ASIDE = re.compile(r"\s*(#|$)")


def with_section(path: Path, section: Sequence[str]) -> bytes:
    """Return the profile at ``path`` with ``section`` as its section ``fitted``.

    The old section is replaced where it stands; a first one comes at the end. Line ends and a
    byte-order mark stay what they were.

    Raises:
        InputError: the file cannot be read, or is written so that no section can be put in.
        UsageError: it is one of the demo profiles that come with the program.
    """
    refuse_demo(path)
    data = read_yaml(path)
    before = parse_yaml(data, str(path))
    after = _replaced(data.decode("utf-8"), section)
    wanted = parse_yaml("\n".join(section), "section").value
    if _value(after) != {**_mapping(before.value), **_mapping(wanted)}:
        message = "no section can be added to a profile written like this"
        hint = "begin each field on a line of its own, at its first column"
        raise InputError([Problem(before.source, None, None, "", message, hint=hint)])
    return after.encode()


def is_demo(path: Path) -> bool:
    """Tell whether ``path`` is in the folder of the profiles that come with the program."""
    return path.resolve().is_relative_to(data_folder("profiles").resolve())


def refuse_demo(path: Path) -> None:
    """Raise UsageError if ``path`` is a demo."""
    if is_demo(path):
        raise UsageError(f"{path}: this is a demo that others see too; fit a copy of it")


def _value(text: str) -> Value:
    try:
        return parse_yaml(text.encode(), "").value
    except InputError:
        return None


def _mapping(value: Value) -> dict[str, Value]:
    return value if isinstance(value, dict) else {}


def _replaced(text: str, section: Sequence[str]) -> str:
    newline = "\r\n" if "\r\n" in text else "\n"
    ours = [line + newline for line in section]
    lines = [line for line in _AFTER_BREAK.split(text) if line]
    start = next((i for i, line in enumerate(lines) if _KEY.match(line)), None)
    if start is None:
        while lines and not lines[-1].strip():
            lines.pop()
        kept = "".join(lines).rstrip("\r\n")
        return kept + 2 * newline + "".join(ours)
    end = start + 1
    while end < len(lines) and _INSIDE.match(lines[end]):
        end += 1
    while _ASIDE.match(lines[end - 1]):  # what stands before the next field is not ours
        end -= 1
    while start and lines[start - 1].rstrip("\r\n") in SECTION_NOTE:
        start -= 1
    return "".join([*lines[:start], *ours, *lines[end:]])
