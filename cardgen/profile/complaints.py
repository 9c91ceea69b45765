"""What is wrong with a profile or a lane, in sentences of our own."""

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from cardgen.errors import Problem
from cardgen.lane.rack import Leave
from cardgen.profile.measures import unit_hint
from cardgen.profile.schema import ONE_OF, repeated_leaves
from cardgen.yamlsource import Located, Value, Where, dotted, shown

_QUOTED_NUMBER = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?")
_TRUTHS = {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false"}

Schema = Mapping[str, Any]
"""A part of a JSON Schema."""


class Complaint(NamedTuple):
    """A sentence, what would help, and whether it is about the key rather than the value."""

    message: str
    hint: str | None = None
    at_key: bool = False


def near(word: str, words: Iterable[str]) -> str | None:
    """Return a hint that names the one of ``words`` most like ``word``, or None.

    Two that are as like are both named.
    """
    folded = word.casefold()
    by_folded = {w.casefold(): w for w in sorted(words, reverse=True)}
    found = difflib.get_close_matches(folded, by_folded, n=2)
    if not found:
        return None
    likeness = [difflib.SequenceMatcher(None, match, folded).ratio() for match in found]
    as_like = [f for f, like in zip(found, likeness, strict=True) if like == likeness[0]]
    return f"did you mean {' or '.join(repr(by_folded[f]) for f in sorted(as_like))}?"


MOST_TOLD = 100
"""Nobody reads more mistakes at a time, and to locate each of a million takes minutes."""


def problems_of(error: ValidationError, document: Located, model: type[BaseModel]) -> list[Problem]:
    """Return a located problem for each mistake that ``model`` found in ``document``."""
    fields = _Fields(model.model_json_schema())
    problems = {}
    mistakes = error.errors(include_url=False)
    for details in mistakes[:MOST_TOLD]:
        # A repeated leave is located exactly by repeated_leave_problems.
        if details["type"] == "repeated_leave":
            continue
        where = tuple(step for step in details["loc"] if not str(step).startswith(ONE_OF))
        if details["type"] == "missing" and where and isinstance(where[-1], int):
            where = where[:-1]  # a tuple too short: once for the list, not for each item missing
        complaint = _complaint(details, where, fields)
        if details["type"] == "lane_oil":
            where = (*where, "load_sheet")
        problem = document.problem(where, *complaint)
        problems[problem.where, problem.message] = problem
    if (untold := len(mistakes) - MOST_TOLD) > 0:
        message = f"there are {untold:,} mistakes more; mend these first"
        problems["", message] = document.problem((), message)
    return list(problems.values())


def repeated_leave_problems(document: Located) -> Iterator[Problem]:
    """Yield a problem for each known line whose leave has a known line already."""
    lines = document.value.get("known_lines") if isinstance(document.value, dict) else None
    if not isinstance(lines, list):
        return
    leaves = [_canonical_leave(line, i) for i, line in enumerate(lines)]
    for again, first in repeated_leaves(leaves).items():
        where = ("known_lines", again, "leave")
        line = document.line(("known_lines", first, "leave"))
        message = f"the leave {leaves[again]} already has its line, in line {line} of this file"
        yield document.problem(where, message, "keep one of the two")


def _canonical_leave(line: Value, index: int) -> str:
    """Return the leave of a known line as it is compared, or what equals no other."""
    leave = line.get("leave") if isinstance(line, dict) else None
    try:
        return str(Leave.parse(leave if isinstance(leave, str) else repr(leave)))
    except ValueError:
        return f"none in line {index}"


class _Fields:
    """The fields that a place in a profile may have, looked up in the JSON Schema."""

    def __init__(self, root: Schema) -> None:
        self.root = root

    def alternatives(self, where: Where) -> list[Schema]:
        """Return the schemas that the value at ``where`` may follow; none for an unknown place."""
        found = self._branches(self.root)
        for step in where:
            found = [
                branch
                for schema in found
                if (inner := self._inner(schema, step)) is not None
                for branch in self._branches(inner)
            ]
        return found

    def keys(self, where: Where) -> list[str]:
        """Return the keys of the mapping at ``where``."""
        return [key for schema in self.alternatives(where) for key in schema.get("properties", ())]

    def required(self, where: Where) -> list[str]:
        """Return the keys that the mapping at ``where`` must have."""
        return [key for schema in self.alternatives(where) for key in schema.get("required", ())]

    def homes(self, key: str) -> list[str]:
        """Return the dotted paths of all mappings that have ``key``."""
        return list(self._homes(key, ()))

    def _homes(self, key: str, where: tuple[str, ...]) -> Iterator[str]:
        keys = self.keys(where)
        if where and key in keys:
            yield dotted(where)
        for inner in keys:
            if inner != "fitted":  # nobody writes there by hand
                yield from self._homes(key, (*where, inner))

    def _branches(self, schema: Schema) -> list[Schema]:
        if "$ref" in schema:
            name = schema["$ref"].rpartition("/")[2]
            return self._branches(self.root["$defs"][name])
        if choices := schema.get("anyOf") or schema.get("oneOf"):
            return [branch for choice in choices for branch in self._branches(choice)]
        return [schema]

    @staticmethod
    def _inner(schema: Schema, step: str | int) -> Schema | None:
        inner: Schema | None
        if isinstance(step, str):
            inner = schema.get("properties", {}).get(step)
        elif step < len(items := schema.get("prefixItems", ())):
            inner = items[step]
        else:
            inner = schema.get("items")
        return inner


def _complaint(details: ErrorDetails, where: Where, fields: _Fields) -> Complaint:
    given = details["input"]
    match details["type"]:
        case "extra_forbidden":
            return _unknown_key(str(where[-1]), where[:-1], fields)
        case "missing" if where and isinstance(where[-1], str) and not isinstance(given, list):
            return Complaint("is missing, and there is no default for it")
        case "lane_oil" | "loads":
            return Complaint(details["msg"])
        case (
            "leave" | "blank" | "unprintable" | "rising" | "size" | "version" | "sure" | "triangle"
        ):
            message = details["msg"]
            got = "" if "(" in message else f" (got {_listed(given)})"
            hint = 'write pins with dashes, in quotes, such as "3-10"'
            return Complaint(message + got, hint if details["type"] == "leave" else None)
    alternatives = fields.alternatives(where)
    wanted = ", or ".join(dict.fromkeys(map(_wanted, alternatives)))
    got = f"{len(given)} characters" if details["type"] == "string_too_long" else _listed(given)
    if given is None:
        optional = not where or where[-1] not in fields.required(where[:-1])
        hint = "give it a value" + (", or take the line out to have its default" * optional)
        return Complaint(f"must be {wanted} (got {got})", hint)
    return Complaint(f"must be {wanted} (got {got})", _hint(given, alternatives, where))


def _unknown_key(key: str, where: Where, fields: _Fields) -> Complaint:
    keys = fields.keys(where)
    hint = near(key, keys)
    if hint is None and (homes := fields.homes(key)):
        hint = f"it belongs under {' or '.join(homes)}"
    return Complaint("there is no such field", hint or f"the fields here: {', '.join(keys)}", True)


def _listed(given: object) -> str:
    """Return ``given`` as it is quoted; a short list item by item, which may tell what is wrong."""
    if isinstance(given, list) and 0 < len(given) <= 10:
        return f"[{', '.join(map(shown, given))}]"
    return "an empty list" if given == [] else shown(given)


def _wanted(schema: Schema) -> str:
    """Return what ``schema`` asks for, as it follows "must be"."""
    if "enum" in schema:
        *most, last = schema["enum"]
        return f"{', '.join(most)} or {last}"
    if "const" in schema:
        return str(schema["const"])
    match schema.get("type"):
        case "number" | "integer":
            return _wanted_number(schema)
        case "string":
            longest = schema.get("maxLength")
            return f"text of at most {longest} characters" if longest else "text"
        case "array":
            return _wanted_list(schema)
        case "object":
            if required := schema.get("required"):
                return f"a mapping with {' and '.join(required)}"
            return f"a mapping of fields such as {next(iter(schema['properties']))}"
        case "boolean":
            return "true or false"
        case "null":
            return "null"
    return "something else"


def _wanted_number(schema: Schema) -> str:
    kind = "a whole number" if schema["type"] == "integer" else "a number"
    if "minimum" in schema:
        kind += f" from {schema['minimum']:g} to {schema['maximum']:g}"
    return f"{kind} in steps of {step:g}" if (step := schema.get("multipleOf")) else kind


def _wanted_list(schema: Schema) -> str:
    least, most = schema.get("minItems", 0), schema.get("maxItems")
    count = f"{least}" if least == most else f"at most {most}"
    items = schema.get("items") or schema["prefixItems"][0]
    kind = {"number": "numbers", "integer": "whole numbers"}.get(items.get("type"), "mappings")
    return f"a list of {count} {kind}"


def _hint(given: object, alternatives: list[Schema], where: Where) -> str | None:
    types = {schema.get("type") for schema in alternatives}
    if "boolean" in types:
        truth = _TRUTHS.get(str(given).casefold())
        return f"write {truth}, without quotes" if truth else None
    if isinstance(given, str):
        if types & {"number", "integer"} or any("const" in schema for schema in alternatives):
            return _number_hint(given, next((s for s in reversed(where) if isinstance(s, str)), ""))
        return near(given, [word for schema in alternatives for word in schema.get("enum", ())])
    if isinstance(given, bool | int | float) and any(
        schema.get("type") == "string" and "enum" not in schema for schema in alternatives
    ):
        return f'put it in quotes: "{shown(given)}"'
    return None


def _number_hint(given: str, field: str) -> str | None:
    text = given.strip()
    if _QUOTED_NUMBER.fullmatch(text):
        digits = text.lstrip("+-")
        if len(digits) > 1 and digits[0] == "0" and digits[1].isdigit():
            return "write the number without zeros in front, and without quotes"
        return "take the quotes off"
    if _QUOTED_NUMBER.fullmatch(point := text.replace(",", ".")):
        return f"write a decimal point: {point}"
    if _QUOTED_NUMBER.fullmatch(plain := text.replace("_", "")):
        return f"write {plain}"
    return unit_hint(point, field)
