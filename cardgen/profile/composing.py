"""A profile's text that teaches: what was given with a comment, what was not as a line left off.

A line left off begins with ``# `` and has the default that counts in its place, so taking those two
characters away changes nothing yet, and then a number can be put in. Only a known line has no
default; an example stands in its place, and says so.
"""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from pydantic import ValidationError

from cardgen.lane.geometry import Hand
from cardgen.lane.rack import Leave
from cardgen.profile.bowler import bowler_of
from cardgen.profile.complaints import problems_of
from cardgen.profile.intake import lane_names, yaml_word
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import BallName, LaneSpec, Model, Profile
from cardgen.profile.styles import STYLES
from cardgen.units import DEGREE_RAD, INCH_M, RPM_RADPS
from cardgen.yamlsource import Value, parse_yaml

_LEAST: dict[str, Value] = {"bowler": "A", "hand": "right"}
_LINES = "known_lines"
_SKIPPED = ("fitted",)  # a fit writes it, nobody else
_WIDTH = 98
_COMMENT_COLUMN = 34

_HEAD = """\
A bowler's profile. What stands after a '#' is for you to read: the program passes over it.

A line such as '# style: one-handed' is switched off, and shows the default that counts meanwhile. \
To switch it on, take away its first '# ', and that of each line above to which it belongs, as \
'distance_ft' belongs to 'stand'. Leave the spaces before a name as they are. Then put your own \
value in, and let 'cardgen check' with the name of this file tell whether all is well. In doubt \
leave a line off: the printed pages say which numbers are defaults.\
"""
_NOTES = {
    "stand": "Where you stand, and how you come to the line. Boards count from your ball side, the "
    "{side}: board 1 is the {side}most.",
    "spread": "How far the shots of one day differ from each other, in boards at the arrows: new "
    "(4 to 5 or more), league (about 4), strong (about 3) or elite (about 2). Own values can stand "
    "here too, such as {{angle_deg: 0.4, laydown_boards: 0.5}}.",
    "balls": "Your two balls, and how you release each of them. With one ball for everything, say "
    "the same of both.",
    "lane": "A lane that comes with the program ({lanes}), or the name of a lane file of your own, "
    "or values such as {{oil_ft: 38, games: 6}}.",
    _LINES: "Lines that you make already; they are kept as they are. 'stand' is the board of your "
    "slide foot at the start, 'target' the board to roll over at the arrows. The target that comes "
    "most often is taken for your favourite.",
}
_NO_LINES = "Switched off is an example, no default: put your own line in its place."
_COMMENTS = {
    "schema": "how this file is laid out: leave it as it is",
    "bowler": "the name to print",
    "hand": "the hand that bowls: right or left",
    "style": "one-handed, two-handed or no-thumb",
    "distance_ft": "from the foul line back to your slide foot at the start, in feet",
    "ball_gap_boards": "from your slide foot to the middle of the ball, in boards",
    "walk": "1: along the line of the shot, 0: straight, .5: between",
    "drift_boards": "how far your slide ends off the walk, + towards the ball side",
    "boards": "the first and the last board you can and will stand on",
    "half_boards": "true: lines may also use half boards",
    "spread": "how steady you are",
    "cover": "plastic, urethane or reactive",
    "weight_lb": "what the ball weighs, in pounds (1 kg is 2.2)",
    "speed_mph": "how fast it leaves your hand, in mph (10 km/h are 6.2)",
    "rev_rpm": "how often it turns in a minute: the rev rate",
    "rotation_deg": "axis rotation: 0 rolls straight on, 90 spins sideways",
    "tilt_deg": "axis tilt: 0 is a level axis",
    "rg_in": "radius of gyration in inches, as the maker tells it",
    "lane": "the lane you bowl on",
}


def fault_of(field: str, value: Value) -> str | None:
    """Return what a profile has against ``value`` in ``field`` (dotted), as it follows "this".

    Such as ``must be a number from 6 to 16 (got 20)``; None if nothing is wrong.
    """
    try:
        Profile.model_validate(_nested({**_LEAST, field: value}))
    except ValidationError as error:
        message = problems_of(error, parse_yaml("{}", ""), Profile)[0].message
        return message.replace(", or null", "")  # nobody answers with it
    return None


def defaults_of(given: Mapping[str, Value]) -> dict[str, Value]:
    """Return what counts for each field, by dotted path, where ``given`` does not say.

    It depends on what is given: a style has its own gap and turns, a cover its radius of gyration,
    and what is told of one ball may go for the other.

    Raises:
        ValidationError: the values given are none of a profile.
    """
    profile = Profile.model_validate(_nested({**_LEAST, **given}))
    values = profile.model_dump(mode="json", by_alias=True)
    found = {path: _at(values, path) for path in _paths(Profile)}
    found["stand.ball_gap_boards"] = STYLES[profile.style].ball_gap_boards
    bowler = bowler_of(LoadedProfile(profile, LaneSpec(), "", frozenset()))
    names: tuple[BallName, ...] = ("spare", "strike")
    for name in names:
        chosen = bowler.ball(name)
        found[f"balls.{name}.rev_rpm"] = round(chosen.rev_radps / RPM_RADPS, 1)
        found[f"balls.{name}.rotation_deg"] = round(chosen.rotation_rad / DEGREE_RAD, 1)
        found[f"balls.{name}.tilt_deg"] = round(chosen.tilt_rad / DEGREE_RAD, 1)
        found[f"balls.{name}.rg_in"] = round(chosen.ball.rg_m / INCH_M, 3)
    return found


def composed(given: Mapping[str, Value]) -> str:
    """Return the profile that says what is ``given``, by dotted path, as the text of a YAML file.

    Every other field stands in it as a line left off, and so does one that is None. Known lines
    come as a list of mappings.

    Raises:
        ValidationError: the values given do not make a profile.
    """
    values = {name: value for name, value in given.items() if value is not None}
    hand = Profile.model_validate(_nested(values)).hand
    head = [line for part in _HEAD.split("\n\n") for line in ("#", *_comment(part))][1:]
    return "\n".join([*head, "", *_rows(hand, values, defaults_of(values))]) + "\n"


def _nested(given: Mapping[str, Value]) -> dict[str, Value]:
    tree: dict[str, Value] = {}
    for name, value in given.items():
        *above, key = name.split(".")
        inner = tree
        for step in above:
            inner = cast("dict[str, Value]", inner.setdefault(step, {}))
        inner[key] = value
    return tree


def _fields(model: type[Model]) -> Iterator[tuple[str, object]]:
    """Yield the key and the default of each field that a bowler writes."""
    for name, field in model.model_fields.items():
        if name not in _SKIPPED:
            yield field.alias or name, field.default


def _paths(model: type[Model], *above: str) -> Iterator[str]:
    for key, default in _fields(model):
        if isinstance(default, Model):
            yield from _paths(type(default), *above, key)
        else:
            yield ".".join((*above, key))


def _at(value: Value, path: str) -> Value:
    for step in path.split("."):
        value = cast("dict[str, Value]", value)[step]
    return value


def _rows(hand: Hand, given: Mapping[str, Value], defaults: Mapping[str, Value]) -> Iterator[str]:
    for key, default in _fields(Profile):
        if key in _NOTES:
            yield ""
            yield from _comment(_NOTES[key].format(side=hand.value, lanes=", ".join(lane_names())))
        if key == _LINES:
            yield from _known_lines(hand, given)
        elif isinstance(default, Model):
            yield from _section(type(default), (key,), 0, given, defaults)
        else:
            shown: Mapping[str, Value] = {**defaults, "schema": 1}
            yield _row((key,), 0, key == "schema" or key in given, {**shown, **given})


def _section(
    model: type[Model],
    where: tuple[str, ...],
    around: int,
    given: Mapping[str, Value],
    defaults: Mapping[str, Value],
) -> Iterator[str]:
    """Yield a section's lines; the ``around`` sections about it are on."""
    path = ".".join(where)
    on = any(name.startswith(path + ".") for name in given)
    yield _placed(f"{where[-1]}:", len(where) - 1, around, on)
    around += on
    for key, default in _fields(model):
        if isinstance(default, Model):
            yield from _section(type(default), (*where, key), around, given, defaults)
        else:
            yield _row((*where, key), around, f"{path}.{key}" in given, {**defaults, **given})


def _row(where: tuple[str, ...], around: int, on: bool, values: Mapping[str, Value]) -> str:
    text = f"{where[-1]}: {_scalar(values['.'.join(where)])}"
    return _commented(_placed(text, len(where) - 1, around, on), _COMMENTS.get(where[-1], ""))


def _placed(text: str, depth: int, around: int, on: bool) -> str:
    """Return ``text`` indented by ``depth``; the mark of a line left off stands where it can go."""
    return "  " * depth + text if on else "  " * around + "# " + "  " * (depth - around) + text


def _commented(text: str, comment: str) -> str:
    return f"{text.ljust(_COMMENT_COLUMN - 2)}  # {comment}" if comment else text


def _known_lines(hand: Hand, given: Mapping[str, Value]) -> Iterator[str]:
    lines = cast("Sequence[Mapping[str, Value]]", given.get(_LINES, ()))
    off = "" if lines else "# "
    if not lines:
        yield from _comment(_NO_LINES)
        corner = "10" if hand is Hand.RIGHT else "7"
        lines = [{"leave": corner, "stand": 34, "target": 20, "ball": "spare"}]
    yield f"{off}{_LINES}:"
    texts = [
        f"{off}  - {{{', '.join(f'{k}: {_scalar(v)}' for k, v in line.items())}}}" for line in lines
    ]
    width = max(map(len, texts))
    for line, text in zip(lines, texts, strict=True):
        leave = Leave.parse(str(line["leave"]))
        stand, target = _scalar(line["stand"]), _scalar(line["target"])
        named = f"the {leave}{' pin' if len(leave) == 1 else ''}"
        yield f"{text.ljust(width)}  # {named}: stand on {stand}, look at {target}"


def _scalar(value: Value) -> str:
    match value:
        case bool():
            return str(value).lower()
        case int():
            return str(value)
        case float():
            return str(int(value)) if value.is_integer() else repr(value)
        case list():
            return f"[{', '.join(map(_scalar, value))}]"
    return yaml_word(str(value))


def _comment(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ")
