"""From a file to a profile: every mistake in it located, every default told from a given value."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import near, problems_of, repeated_leave_problems
from cardgen.profile.schema import LaneSpec, Profile
from cardgen.resources import YAML_SUFFIXES, data_folder, is_file, shipped, yaml_files
from cardgen.yamlsource import Document, Located, Value, dotted, load_yaml, printable


@dataclass(frozen=True)
class LoadedProfile:
    """A profile, its lane, and what of them the bowler wrote.

    ``given`` has the dotted path of each field that a file of the bowler's states, such as
    ``balls.spare.cover`` or ``known_lines.1.stand`` (items counted from 1), and of the sections
    around it; a field set to null is not given. Fields of a lane file of the bowler's own count as
    given (``lane.oil_ft``), those of a shipped lane do not.
    """

    profile: Profile
    lane: LaneSpec
    source: str
    given: frozenset[str]


def load_profile(path: Path) -> LoadedProfile:
    """Return the profile in the YAML file at ``path``, with the lane it names.

    Raises:
        InputError: the file, or the lane file it names, cannot be read or has mistakes: all of
            them, in the order in which they stand in the files.
    """
    return read_profile(load_yaml(path), path.parent)


def read_profile(document: Document, folder: Path) -> LoadedProfile:
    """Return the profile that ``document`` says, as ``load_profile`` does.

    The path of a lane file that it names starts at ``folder``.
    """
    problems = list(repeated_leave_problems(document))
    profile: Profile | None = None
    lane, lane_given = LaneSpec(), frozenset[str]()
    try:
        profile = Profile.model_validate(document.value)
    except ValidationError as error:
        problems += problems_of(error, document, Profile)
    try:
        lane, lane_given = lane_of(document, folder)
    except InputError as error:
        problems += error.problems
    if profile is None or problems:
        raise InputError(problems)
    if isinstance(profile.lane, LaneSpec):
        lane = profile.lane
    given = frozenset(given_in(document.value)) | lane_given
    return LoadedProfile(profile, lane, document.source, given)


def load_lane(path: Path) -> LaneSpec:
    """Return the lane in the YAML file at ``path``; unset fields take the house lane's values.

    Raises:
        InputError: the file cannot be read or has mistakes, all of them listed.
    """
    return _validated(load_yaml(path))


def find_profile(name: str) -> Path:
    """Return the file called ``name``, or else the shipped demo profile of that name or stem.

    Raises:
        InputError: there is neither; the hint tells what comes near, or which demos there are.
    """
    path = Path(name)
    if is_file(path):
        return path
    if not name.strip():
        raise InputError([Problem("", None, None, "", "the name of a profile is empty")])
    demos = sorted(demo.stem for demo in yaml_files(data_folder("profiles")))
    stem = name.removesuffix(".yaml")
    if stem in demos and (demo := shipped("profiles", f"{stem}.yaml")):
        return demo
    if _is_folder(path):
        raise InputError([Problem(printable(name), None, None, "", "this is a folder, not a file")])
    # A pipe of the very name that was asked for is none that was meant.
    beside = [str(path.parent / f.name) for f in yaml_files(path.parent) if f.name != path.name]
    hint = near(name, [*beside, *demos]) or f"the demo profiles are {', '.join(demos)}"
    message = "there is no such profile, neither a file nor a demo"
    raise InputError([Problem(printable(name), None, None, "", message, hint=hint)])


def lane_of(document: Located, folder: Path) -> tuple[LaneSpec, frozenset[str]]:
    """Return the lane that a profile names, and which of its fields the bowler stated.

    Raises:
        InputError: there is no such lane, or its file has mistakes.
    """
    name = document.value.get("lane") if isinstance(document.value, dict) else None
    if not isinstance(name, str) or not name:
        return LaneSpec(), frozenset()
    if name.endswith(YAML_SUFFIXES):
        path = folder / name
        if not is_file(path):
            message = f"there is no lane file {printable(str(path))}"
            hint = "the path starts at the profile's folder"
            raise InputError([document.problem(("lane",), message, hint)])
        lane_document = load_yaml(path)
        lane = _validated(lane_document)
        return lane, frozenset(given_in(lane_document.value, ("lane",)))
    names = sorted(file.stem for file in yaml_files(data_folder("templates") / "lanes"))
    if name not in names:
        message = f"there is no lane called {name[:60]!r}"
        hint = near(name, names) or f"write {', '.join(names)}, a path ending in .yaml, or values"
        raise InputError([document.problem(("lane",), message, hint)])
    return load_lane(data_folder("templates") / "lanes" / f"{name}.yaml"), frozenset()


def _validated(document: Document) -> LaneSpec:
    try:
        return LaneSpec.model_validate(document.value)
    except ValidationError as error:
        raise InputError(problems_of(error, document, LaneSpec)) from None


def given_in(value: Value, where: tuple[str | int, ...] = ()) -> Iterator[str]:
    """Yield the dotted path of each field that ``value``, found at ``where``, states."""
    if value is None:
        return
    if where:
        yield dotted(where)
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from given_in(inner, (*where, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from given_in(inner, (*where, index))


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False
