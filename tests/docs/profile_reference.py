"""The profile's reference, made from its schema: ``python tests/docs/profile_reference.py``."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from cardgen.delivery.spread import PRESETS
from cardgen.lane.geometry import BOARD_M
from cardgen.profile.schema import Profile, SpareBall, StrikeBall
from cardgen.profile.styles import STYLES, usual_turn
from cardgen.units import DEGREE_RAD, MPH_MPS

PATH = Path(__file__).resolve().parents[2] / "cardgen" / "docs" / "profile.md"

_Schema = Mapping[str, Any]

_HEAD = """\
# The profile, field by field

<!-- Made by tests/docs/profile_reference.py from the schema; change it there. -->

A profile is a YAML file about one bowler. Only `bowler` and `hand` are needed. Leave out what you
do not know: a default counts then, and the printed pages say that it is one.

- Boards are counted from the side of the bowling hand, 1 to 39. Boards of a load sheet are counted
  from the right, as the machine has them.
- A number is written without quotes. Pins of a leave are joined by dashes, such as `3-10`.
- A section may be left out, or hold only some of its fields.
- `cardgen check FILE` tells every mistake with its line and column. `cardgen schema` prints the
  same rules as JSON Schema, for editors that complete as you type.
- `cardgen new` asks for what matters most of it and writes the file.

In a [roster](rosters.md) a column has a field's dotted name, such as `stand.distance_ft`.
"""

_FITTED = """\
## fitted

`cardgen fit PROFILE LOG --write` writes this section: what known lines and shots say of the bowler,
each number with its standard deviation, and the lines of the chart before the fit. It counts in
place of what the profile says above it. It is not for writing by hand: take it out to go back, or
change the profile and fit anew.
"""

# Sections that hold the same fields are told once; the names are what the heading says.
_SECTIONS = (
    ("A bowler", "Profile"),
    ("stand", "Stand"),
    ("spread", "SpreadValues"),
    ("balls.spare", "SpareBall"),
    ("balls.strike", "StrikeBall"),
    ("lane", "LaneSpec"),
    ("lane.friction", "Frictions"),
    ("lane.friction.oil", "OilFriction"),
    ("lane.doubt", "LaneDoubtSpec"),
    ("lane.load_sheet", "LoadSheet"),
    ("lane.load_sheet.forward and .reverse: a list of loads", "LoadSpec"),
    ("known_lines: a list of lines", "KnownLine"),
)


def reference() -> str:
    """Return the whole document."""
    root = Profile.model_json_schema()
    definitions = {**root["$defs"], "Profile": root}
    parts = [_HEAD]
    for title, name in _SECTIONS:
        parts.append("\n".join(_section(title, definitions[name], definitions)))
        parts += {"Stand": [_styles()], "SpreadValues": [_levels()]}.get(name, [])
    return "\n".join([*parts, _FITTED])


def _section(title: str, schema: _Schema, definitions: _Schema) -> Iterator[str]:
    yield f"## {title}\n"
    yield f"{schema['description']}\n"
    yield "| Field | Values | Default | Meaning |"
    yield "| --- | --- | --- | --- |"
    needed = schema.get("required", ())
    for key, field in schema["properties"].items():
        values = " or ".join(dict.fromkeys(_values(field, definitions)))
        default = "needed" if key in needed else _default(field)
        meaning = field.get("description", "") or _described(field, definitions)
        yield f"| `{key}` | {values} | {default} | {meaning} |"
    yield ""


def _described(field: _Schema, definitions: _Schema) -> str:
    return str(_resolved(field, definitions).get("description", ""))


def _resolved(field: _Schema, definitions: _Schema) -> _Schema:
    if "$ref" in field:
        inner: _Schema = definitions[field["$ref"].rpartition("/")[2]]
        return inner
    return field


def _values(field: _Schema, definitions: _Schema) -> Iterator[str]:
    """Yield what a field can be, in words."""
    for choice in field.get("anyOf") or field.get("oneOf") or [field]:
        schema = _resolved(choice, definitions)
        match schema.get("type"):
            case "object":
                yield "a section"
            case "array":
                yield _list(schema, definitions)
            case "null":
                yield "null"
            case "boolean":
                yield "true, false"
            case "string":
                words = schema.get("enum")
                yield ", ".join(f"`{word}`" for word in words) if words else "text"
            case "integer" | "number" as kind:
                if "const" in schema:
                    yield f"`{schema['const']}`"
                else:
                    yield _range(schema, "whole " if kind == "integer" else "")


def _range(schema: _Schema, whole: str) -> str:
    steps = {0.5: " in halves"}.get(schema.get("multipleOf", 0), "")
    low, high = schema.get("minimum"), schema.get("maximum")
    if low is None or high is None:
        return f"{whole}number"
    return f"{whole}{_number(low)} to {_number(high)}{steps}"


def _list(schema: _Schema, definitions: _Schema) -> str:
    if "prefixItems" in schema:
        first = _resolved(schema["prefixItems"][0], definitions)
        whole = "whole " if first["type"] == "integer" else ""
        return f"{len(schema['prefixItems'])} numbers, each {_range(first, whole)}"
    most = f"at most {schema['maxItems']}" if "maxItems" in schema else "any number"
    item = _resolved(schema["items"], definitions)
    if item.get("type") == "object":
        return f"a list, {most}"
    return f"a list, {most}, each {_range(item, '')}"


def _default(field: _Schema) -> str:
    default = field.get("default")
    match default:
        case None:
            section = any("$ref" in choice for choice in field.get("anyOf", ()))
            return "none" if section else "see the meaning"
        case bool():
            return f"`{str(default).lower()}`"
        case dict():
            return "as below"
        case [] | ():
            return "none"
        case list() | tuple():
            return f"`[{', '.join(_number(item) for item in default)}]`"
        case int() | float():
            return f"`{_number(default)}`"
    return f"`{default}`"


def _number(value: float) -> str:
    return f"{value:g}"


def _styles() -> str:
    """Return the table of what a style says where the profile says nothing."""
    rows = [
        "What a `style` means where the profile says nothing (assumptions):\n",
        "| Style | `ball_gap_boards` | Spare ball: rpm, rotation, tilt | Strike ball |",
        "| --- | --- | --- | --- |",
    ]
    for style, says in STYLES.items():
        spare, strike = (
            f"{turn.rev_rpm:g} rpm, {turn.rotation_deg:g}°, {turn.tilt_deg:g}°"
            for turn in (says.turn["spare"], says.turn["strike"])
        )
        rows.append(f"| `{style}` | {says.ball_gap_boards:g} | {spare} | {strike} |")
    slow = usual_turn("one-handed", "strike", 11)
    rows += [
        "",
        f"Below {SpareBall().speed_mph:g} mph with the spare ball and {StrikeBall().speed_mph:g} "
        "with the strike ball the rpm fall with the square of",
        f"the speed (an assumption): at 11 mph the {STYLES['one-handed'].turn['strike'].rev_rpm:g} "
        f"are {slow.rev_rpm:.0f}.",
    ]
    return "\n".join([*rows, ""])


def _levels() -> str:
    """Return the table of the levels of spread."""
    rows = [
        "The levels. Angles come from a governing body's accuracy test of 2012, converted; the",
        "rest are assumptions:\n",
        "| Level | `angle_deg` | `laydown_boards` | `speed_mph` | `rev_percent` |",
        "| --- | --- | --- | --- | --- |",
    ]
    for name, spread in PRESETS.items():
        numbers = (
            spread.launch_rad / DEGREE_RAD,
            spread.laydown_m / BOARD_M,
            spread.speed_mps / MPH_MPS,
            spread.rev_fraction * 100,
        )
        rows.append(f"| `{name}` | {' | '.join(f'{round(n, 2):g}' for n in numbers)} |")
    return "\n".join([*rows, ""])


if __name__ == "__main__":
    PATH.write_text(reference(), encoding="utf-8")
