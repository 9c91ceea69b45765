"""A roster, and what holds for all students of one, as YAML."""

from collections.abc import Iterator
from pathlib import Path

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import near
from cardgen.roster.building import Said
from cardgen.roster.columns import KEYS, NAME, NOTES, PLACE, called
from cardgen.yamlsource import Document, Value, Where, load_yaml, shown

_ROOT = ("clinic", "defaults", "students")
_OF_A_FILE = tuple(key for key in KEYS if key not in (NAME, "profile"))


def defaults_of(path: Path) -> Said:
    """Return what the YAML file at ``path`` says for all students: fields of a profile.

    Raises:
        InputError: the file cannot be read, or has fields that there are not.
    """
    document = load_yaml(path)
    said = _said(document, (), document.value, path.parent, _OF_A_FILE)
    if isinstance(said, list):
        raise InputError(said)
    return said


class RosterDocument:
    """A YAML roster: its ``title`` or None, what it says for all, its students one by one."""

    def __init__(self, path: Path) -> None:
        """Read the file at ``path``; raise InputError if it is not laid out as a roster is."""
        self._document = document = load_yaml(path)
        self._folder = path.parent
        root = document.value
        if not isinstance(root, dict):
            message = f"must be a mapping with the list students (got {shown(root)})"
            raise InputError([document.problem((), message)])
        problems = [
            document.problem((key,), "there is no such field", _hint(key, _ROOT), at_key=True)
            for key in root
            if key not in _ROOT
        ]
        title, rows = root.get("clinic"), root.get("students")
        if title is not None and not (isinstance(title, str) and title.isprintable()):
            message = f"must be text on one line (got {shown(title)})"
            problems.append(document.problem(("clinic",), message))
        if "students" not in root:
            hint = "begin the list with students:"
            problems.append(document.problem(("students",), "is missing", hint))
        elif not isinstance(rows, list):
            message = f"must be a list of mappings (got {shown(rows)})"
            problems.append(document.problem(("students",), message))
        self.title = title.strip() or None if isinstance(title, str) else None
        self._rows = rows if isinstance(rows, list) else []
        self.defaults: Said | None = None
        if root.get("defaults") is not None:
            said = self._of(("defaults",), root["defaults"], _OF_A_FILE)
            if isinstance(said, list):
                problems += said
            else:
                self.defaults = said
        if problems:
            raise InputError(problems)

    def students(self) -> Iterator[Said | list[Problem]]:
        """Yield what is said of each student, or what is wrong with how it is laid out."""
        for index, row in enumerate(self._rows):
            where = ("students", index)
            said = self._of(where, row, KEYS)
            if isinstance(said, Said) and said.fields.get("bowler") in (None, ""):
                message = "must be the student's name (got nothing)"
                yield [self._document.problem((*where, NAME), message)]
            else:
                yield said

    def _of(
        self, where: tuple[str | int, ...], value: Value, keys: tuple[str, ...]
    ) -> Said | list[Problem]:
        return _said(self._document, where, value, self._folder, keys)


def _said(
    document: Document,
    where: tuple[str | int, ...],
    value: Value,
    folder: Path,
    keys: tuple[str, ...],
) -> Said | list[Problem]:
    """Return what the mapping ``value`` at ``where`` says; only ``keys`` may be in it."""
    if not isinstance(value, dict):
        message = f"must be a mapping of fields such as hand (got {shown(value)})"
        return [document.problem(where, message)]
    unknown = [
        document.problem((*where, key), "there is no such field", _hint(key, keys), at_key=True)
        for key in value
        if key not in keys
    ]
    if unknown:
        return unknown

    def at(field: Where) -> tuple[str | int, ...]:
        return (*where, *((NAME,) if tuple(field) == ("bowler",) else field))

    fields = {
        "bowler" if key == NAME else key: inner
        for key, inner in value.items()
        if key not in (*PLACE, *NOTES)
    }
    return Said(
        fields,
        {key: inner for key, inner in value.items() if key in PLACE},
        folder,
        document.line(where),
        lambda field, *said: document.problem(at(field), *said),
        lambda field: document.line(at(field)),
    )


def _hint(key: str, keys: tuple[str, ...]) -> str:
    if key == "bowler" and NAME in keys:
        return f"did you mean {NAME!r}?"
    hint = near(key, keys)
    if hint is None and keys is not _ROOT and (homes := called(key)):
        return f"it belongs under {' or '.join(home.rpartition('.')[0] for home in homes)}"
    return hint or f"the fields here: {', '.join(keys)}"
