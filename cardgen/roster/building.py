"""From what a roster says of a student, on top of what holds for all, to his profile."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import problems_of, repeated_leave_problems
from cardgen.profile.loader import LoadedProfile, given_in, lane_of
from cardgen.profile.schema import LaneSpec, Profile
from cardgen.resources import YAML_SUFFIXES, is_file
from cardgen.roster.student import Place, Student
from cardgen.yamlsource import Value, Where, load_yaml, printable, shown

_MAX_KEPT = 64
"""Lanes and profiles that are kept for the next student who names them."""
_ANYBODY: Mapping[str, Value] = {"bowler": "Anybody", "hand": "right"}
"""What makes a profile of fields that hold for all."""

_K = TypeVar("_K")
_V = TypeVar("_V")

MakeProblem = Callable[[Where, str, str | None, bool], Problem]
"""Makes a located problem of a field, what is wrong, a hint or None, and whether it is the key."""


@dataclass(frozen=True)
class Said:
    """What one place says of a student: fields of a profile, and of a ``Place``.

    ``folder`` is where the paths in it start, ``row`` where it stands. ``problem`` and ``line``
    locate a field by its way in ``fields`` or ``place``.
    """

    fields: dict[str, Value]
    place: dict[str, Value]
    folder: Path
    row: int
    problem: MakeProblem
    line: Callable[[Where], int]


@dataclass(frozen=True)
class _Layers:
    """What several places say, each on top of the ones before it, as one document.

    Only the last ``mutable`` of them can have mistakes, or else be in the way of one another: the
    ones before are what holds for all, and known to be right.
    """

    layers: Sequence[Said]
    mutable: int
    value: Value

    def problem(
        self, where: Where, message: str, hint: str | None = None, at_key: bool = False
    ) -> Problem:
        """Return a problem of the value at ``where``, located in the last layer that has it."""
        hint = hint and hint.replace("the profile's folder", "this file's folder")
        return self._layer(where).problem(where, message, hint, at_key)

    def line(self, where: Where) -> int:
        """Return the line on which the value at ``where`` begins."""
        return self._layer(where).line(where)

    def _layer(self, where: Where) -> Said:
        top_first = self.layers[: -self.mutable - 1 : -1]
        return max(top_first, key=lambda layer: _depth(layer.fields, where))


@dataclass
class Builder:
    """Makes students of what a roster says, row by row.

    ``source`` names the roster, ``folder`` is where it and its profiles are.
    """

    source: str
    folder: Path
    _for_all: list[Said] = field(default_factory=list)
    _fields: dict[str, Value] = field(default_factory=dict)
    _place: dict[str, Value] = field(default_factory=dict)
    _lanes: dict[tuple[Path, str], tuple[LaneSpec, frozenset[str]]] = field(default_factory=dict)
    _profiles: dict[Path, Said | InputError] = field(default_factory=dict)

    def for_all(self, said: Said) -> None:
        """Let what ``said`` says hold for every student of whom nothing else is said.

        Raises:
            InputError: it has mistakes, or a name, or names a profile.
        """
        problems = list(_changed_lane(self._fields, said))
        if "bowler" in said.fields:
            message = "what holds for all students has no name"
            problems.append(said.problem(("bowler",), message, "take it out", True))
        if said.place.get("profile") is not None:
            message = "what holds for all students names no profile"
            problems.append(said.problem(("profile",), message, "name it for each student", True))
        fields = {key: value for key, value in said.fields.items() if key != "bowler"}
        fields = _merged(self._fields, fields)
        layers = _Layers([*self._for_all, said], 1, {**_ANYBODY, **fields})
        for checked in (self._place_of(said), self._loaded(layers)):
            if isinstance(checked, list):
                problems += checked
        if problems:
            raise InputError(problems)
        self._for_all.append(said)
        self._fields = fields
        self._place = {**self._place, **_without_none(said.place)}

    def student(self, said: Said) -> Student | list[Problem]:
        """Return the student of whom ``said`` is said, or everything that is wrong with it."""
        place = self._place_of(said)
        problems = place if isinstance(place, list) else []
        layers, fields = [*self._for_all, said], self._fields
        if isinstance(name := said.place.get("profile"), str):
            own = self._profile(name, said)
            if isinstance(own, list):
                return [*problems, *own]
            layers.insert(-1, own)
            fields = _merged(fields, own.fields)
        problems += _changed_lane(fields, said)
        mutable = len(layers) - len(self._for_all)
        loaded = self._loaded(_Layers(layers, mutable, _merged(fields, said.fields)))
        if isinstance(loaded, list):
            problems += loaded
        if isinstance(place, Place) and isinstance(loaded, LoadedProfile) and not problems:
            return Student(loaded, place.group, place.copies, said.row)
        if any(problem.source != self.source for problem in problems):
            where = "lane" if name is None else "profile"
            message = "the file that is named here has mistakes"
            problems.append(said.problem((where,), message, None, False))
        return sorted(problems, key=self._order)

    def _order(self, problem: Problem) -> tuple[bool, int, int]:
        """Put what is wrong with a row as it stands there, and what with other files behind it."""
        return problem.source != self.source, problem.line or 0, problem.column or 0

    def _place_of(self, said: Said) -> Place | list[Problem]:
        value: dict[str, Value] = {**self._place, **_without_none(said.place)}
        try:
            return Place.model_validate(value)
        except ValidationError as error:
            return _problems(error, _Layers([said], 1, value), Place)

    def _loaded(self, layers: _Layers) -> LoadedProfile | list[Problem]:
        """Return the profile of what ``layers`` say, as its own file would make it."""
        problems: list[Problem] = []
        profile: Profile | None = None
        lane, lane_given = LaneSpec(), frozenset[str]()
        try:
            profile = Profile.model_validate(layers.value)
        except ValidationError as error:
            problems += _problems(error, layers, Profile)
            problems += repeated_leave_problems(layers)
        try:
            lane, lane_given = self._lane(layers)
        except InputError as error:
            problems += error.problems
        if profile is None or problems:
            return problems
        if isinstance(profile.lane, LaneSpec):
            lane = profile.lane
        given = frozenset(given_in(layers.value, ())) | lane_given
        return LoadedProfile(profile, lane, self.source, given)

    def _lane(self, layers: _Layers) -> tuple[LaneSpec, frozenset[str]]:
        name = layers.value.get("lane") if isinstance(layers.value, dict) else None
        if not isinstance(name, str):
            return LaneSpec(), frozenset()
        # Whoever names a lane file means one beside what he wrote it in.
        folder = next(s.folder for s in reversed(layers.layers) if s.fields.get("lane") is not None)
        return _kept(self._lanes, (folder, name), lambda: lane_of(layers, folder))

    def _profile(self, name: str, said: Said) -> Said | list[Problem]:
        """Return what the profile beside the roster says that a row names."""
        path = self.folder / name
        message = hint = None
        if not name.endswith(YAML_SUFFIXES):
            message = "must be the name of a profile, which ends in .yaml or .yml"
        elif not _is_beside(path, self.folder):
            message = "must be a file in the roster's folder"
        elif not is_file(path):
            message = f"there is no profile {printable(str(path))}"
            hint = "the name starts at the roster's folder"
        if message is not None:
            return [said.problem(("profile",), message, hint, False)]
        found = _kept(self._profiles, path, lambda: _read_profile(path))
        if isinstance(found, InputError):
            message = "the file that is named here has mistakes"
            return [said.problem(("profile",), message, None, False), *found.problems]
        return found


def _read_profile(path: Path) -> Said | InputError:
    try:
        document = load_yaml(path)
    except InputError as error:
        return error
    if not isinstance(document.value, dict):
        return InputError([document.problem((), "must be a mapping of fields such as hand")])
    return Said(document.value, {}, path.parent, 1, document.problem, document.line)


def _changed_lane(below: Mapping[str, Value], said: Said) -> Iterator[Problem]:
    """Yield a problem if ``said`` has fields of a lane that is a name ``below``.

    They would be counted from the house lane, whichever was named.
    """
    name, lane = below.get("lane"), said.fields.get("lane")
    if isinstance(lane, dict) and lane and isinstance(name, str) and name != "house":
        message = f"the lane is {shown(name)}, which a field cannot change"
        hint = "put all of it into a lane file, and name that as the lane"
        yield said.problem(("lane", next(iter(lane))), message, hint, True)


def _problems(error: ValidationError, layers: _Layers, model: type[BaseModel]) -> list[Problem]:
    return problems_of(error, layers, model)


def _merged(below: Mapping[str, Value], above: Mapping[str, Value]) -> dict[str, Value]:
    """Return ``below`` with what ``above`` has instead, field by field; lists are taken whole."""
    merged = dict(below)
    for key, value in above.items():
        under = merged.get(key)
        if isinstance(value, dict) and isinstance(under, dict):
            merged[key] = _merged(under, value)
        else:
            merged[key] = value
    return merged


def _without_none(place: Mapping[str, Value]) -> dict[str, Value]:
    return {key: value for key, value in place.items() if value is not None}


def _depth(value: Value, where: Where) -> int:
    """Return how many steps of ``where`` there are in ``value``."""
    for depth, step in enumerate(where):
        match value, step:
            case dict(), str() if step in value:
                value = value[step]
            case list(), int() if step < len(value):
                value = value[step]
            case _:
                return depth
    return len(where)


def _is_beside(path: Path, folder: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):  # a name too long, a NUL in it, links in a circle
        return False


def _kept(kept: dict[_K, _V], key: _K, make: Callable[[], _V]) -> _V:
    """Return what is ``kept`` under ``key``, made at the first time; a few are kept, no more."""
    if key not in kept:
        if len(kept) >= _MAX_KEPT:
            kept.clear()
        kept[key] = make()
    return kept[key]
