"""The intake form: its questions, the profile that its answers make, and the way back.

A field of the form is called like the field of the profile that it fills, items of a list counted
from 1. A blank field is a default of the profile; what a profile says beyond the questions has no
place on the form.
"""

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from pydantic import ValidationError

from cardgen.errors import InputError, Problem
from cardgen.formsource import Form
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import Leave
from cardgen.profile.complaints import near, problems_of
from cardgen.profile.schema import BallName, Cover, Profile, SpreadLevel, Style, repeated_leaves
from cardgen.resources import data_folder
from cardgen.yamlsource import Value, parse_yaml, shown, yaml_text

KNOWN_LINES = 4
"""Rows for known lines on the form."""

# As people write numbers: a decimal comma, a half as on the cards, a typographic minus.
_NUMBER = re.compile(r"([-+−]?)([0-9]*)(?:[.,]([0-9]*)|(½))?")
_PLAIN = re.compile(r"(?!(?:true|false|null)$)[a-z]+(?:-[a-z]+)*")
_OF_A_LINE = re.compile(r"known_lines\.([1-9][0-9]*)(\..*)?")


@dataclass(frozen=True)
class Question:
    """One field of the form; ``options`` where only those are answers, ``number`` if it is one."""

    field: str
    options: tuple[str, ...] = ()
    number: bool = False


def lane_names() -> tuple[str, ...]:
    """Return the names of the lanes that come with the program."""
    return tuple(sorted(path.stem for path in (data_folder("templates") / "lanes").glob("*.yaml")))


def yaml_word(text: str) -> str:
    """Return ``text`` as YAML writes it; a word such as the schema's own needs no quotes."""
    return text if _PLAIN.fullmatch(text) else yaml_text(text)


def _ball(name: str, *numbers: str) -> Iterator[Question]:
    yield Question(f"balls.{name}.cover", get_args(Cover))
    for number in numbers:
        yield Question(f"balls.{name}.{number}", number=True)


def _line(number: int) -> Iterator[Question]:
    yield Question(f"known_lines.{number}.leave")
    yield Question(f"known_lines.{number}.stand", number=True)
    yield Question(f"known_lines.{number}.target", number=True)
    yield Question(f"known_lines.{number}.ball", get_args(BallName))


INTAKE: tuple[Question, ...] = (
    Question("bowler"),
    Question("hand", tuple(hand.value for hand in Hand)),
    Question("style", get_args(Style)),
    Question("stand.distance_ft", number=True),
    Question("stand.ball_gap_boards", number=True),
    Question("stand.walk", number=True),
    Question("stand.drift_boards", number=True),
    Question("spread", get_args(SpreadLevel)),
    *_ball("spare", "weight_lb", "speed_mph"),
    *_ball("strike", "weight_lb", "speed_mph", "rev_rpm", "rotation_deg"),
    Question("lane", lane_names()),
    *(question for n in range(1, KNOWN_LINES + 1) for question in _line(n)),
)
"""The questions in the order in which the form asks them and the profile says them."""

_NEEDED = {"bowler": "bowler: A\n", "hand": "hand: right\n"}
"""Stands in for what has no default while a form that leaves it open is checked."""

_SECTIONS: tuple[tuple[str, str], ...] = (
    ("stand", "How the bowler stands and comes to the line; boards count from the ball side."),
    ("spread", "How far the shots of one day differ from each other."),
    ("balls", "The two balls, and how each of them is released."),
    ("lane", "A lane that comes with the program."),
    ("known_lines", "Lines that the bowler already trusts: they are kept."),
)


def profile_text_of(form: Form, *, whole: bool = True) -> str:
    """Return the profile that a filled intake form makes, as the text of a YAML file.

    It has the fields that were filled in and no others, in the order of ``INTAKE``. Unless it is to
    be ``whole``, what every profile needs may be missing.

    Raises:
        InputError: the answers do not make a profile; each mistake is told by its field's name.
    """
    questions = {question.field: question for question in INTAKE}
    unknown = [name for name in form.values if name not in questions]
    if unknown and len(unknown) == len(form.values):
        message = "none of the fields filled in is one of the intake form"
        raise InputError([form.problem("", message, "is this another form?")])
    problems = [form.problem(name, "the intake form has no such field") for name in unknown]
    answers: dict[str, str] = {}
    for name, question in questions.items():
        if name not in form.values:
            continue
        text = form.values[name]
        if not question.options:
            answers[name] = _yaml_number(text) if question.number else yaml_text(text)
        elif (option := _option(text, question.options)) is not None:
            answers[name] = yaml_word(option)
        else:
            *most, last = question.options
            message = f"must be {', '.join(most)} or {last} (got {shown(text)})"
            problems.append(form.problem(name, message, near(text, question.options)))
    problems += _repeated(form)
    rows = _filled_rows(answers)
    text = "\n".join(_yaml(answers, rows)) + "\n"
    faulty = {problem.where for problem in problems}
    missing = "" if whole else "".join(v for name, v in _NEEDED.items() if name not in form.values)
    problems += [p for p in _complaints(text + missing, form, rows) if p.where not in faulty]
    if problems:
        raise InputError(problems)
    return text


def values_of(profile: Profile, given: Collection[str]) -> dict[str, str]:
    """Return the form's values for what a profile says, by field name.

    ``given`` has the dotted path of each field that the bowler stated, as in ``LoadedProfile``; the
    others are defaults and stay blank. So does what the form cannot hold: own values in place of a
    level or a lane's name, a lane of the bowler's own, known lines after the fourth.
    """
    values: dict[str, str] = {}
    for question in INTAKE:
        if question.field not in given:
            continue
        value = _at(profile.model_dump(mode="json"), question.field)
        if isinstance(value, str) and (not question.options or value in question.options):
            values[question.field] = value
        elif isinstance(value, int | float):
            values[question.field] = _number_text(value)
    return values


def _at(value: Value, name: str) -> Value:
    for step in name.split("."):
        if isinstance(value, dict):
            value = value.get(step)
        elif isinstance(value, list):
            value = value[int(step) - 1] if int(step) <= len(value) else None
        else:
            return None
    return value


def _number_text(number: float) -> str:
    """Return a number in digits, as exact as it is and no longer."""
    text = format(Decimal(repr(number)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _option(text: str, options: tuple[str, ...]) -> str | None:
    return next((option for option in options if option.casefold() == text.casefold()), None)


def _yaml_number(text: str) -> str:
    """Return a number as YAML writes it, or else a text, for the schema to complain of."""
    found = _NUMBER.fullmatch(text)
    if found is None or not (found[2] or found[3] or found[4]):
        return yaml_text(text)
    sign, whole = "-" if found[1] in ("-", "−") else "", found[2].lstrip("0") or "0"
    part = "5" if found[4] else found[3] or ""
    return f"{sign}{whole}.{part}" if part else f"{sign}{whole}"


def _filled_rows(answers: Mapping[str, str]) -> list[int]:
    """Return the numbers of the form's rows of known lines in which anything stands."""
    found = (_OF_A_LINE.fullmatch(name) for name in answers)
    return sorted({int(match[1]) for match in found if match})


def _yaml(answers: Mapping[str, str], rows: list[int]) -> Iterator[str]:
    yield "# Made from an intake form. What was left blank there is a default."
    yield "schema: 1"
    for name in ("bowler", "hand", "style"):
        if name in answers:
            yield f"{name}: {answers[name]}"
    for section, comment in _SECTIONS:
        names = [name for name in answers if name.partition(".")[0] == section]
        if not names:
            continue
        yield ""
        yield f"# {comment}"
        if names == [section]:
            yield f"{section}: {answers[section]}"
            continue
        yield f"{section}:"
        if section == "known_lines":
            for row in rows:
                line = [name for name in names if name.startswith(f"known_lines.{row}.")]
                pairs = (f"{name.rpartition('.')[2]}: {answers[name]}" for name in line)
                yield f"  - {{{', '.join(pairs)}}}"
            continue
        inner = ""
        for name in names:
            *above, key = name.split(".")[1:]
            if above and above[0] != inner:
                inner = above[0]
                yield f"  {inner}:"
            yield f"{'    ' if above else '  '}{key}: {answers[name]}"


def _complaints(text: str, form: Form, rows: list[int]) -> Iterator[Problem]:
    """Yield what is wrong with the profile ``text``, by the names of the form's fields."""
    try:
        document = parse_yaml(text, form.source)
        Profile.model_validate(document.value)
        return
    except InputError as error:
        problems = list(error.problems)
    except ValidationError as error:
        problems = problems_of(error, document, Profile)
    for problem in problems:
        where = problem.where
        if (line := _OF_A_LINE.fullmatch(where)) and int(line[1]) <= len(rows):
            where = f"known_lines.{rows[int(line[1]) - 1]}{line[2] or ''}"
        # On a form nothing is null, and nothing stands in quotes.
        message = problem.message.replace(", or null", "")
        hint = problem.hint
        if hint and "quotes" in hint:
            hint = "write pins with dashes, such as 3-10" if where.endswith(".leave") else None
        if line and "is missing" in message:
            hint = "fill in leave, stand and target, or leave the whole line blank"
        yield form.problem(where, message, hint)


def _repeated(form: Form) -> Iterator[Problem]:
    """Yield a problem for each known line whose leave a line above it has already."""
    names = [f"known_lines.{row}.leave" for row in range(1, KNOWN_LINES + 1)]
    leaves = [_canonical(form.values.get(name, ""), name) for name in names]
    for again, first in repeated_leaves(leaves).items():
        message = f"the leave {leaves[again]} already has its line, in {names[first]}"
        yield form.problem(names[again], message, "keep one of the two")


def _canonical(text: str, name: str) -> str:
    """Return a leave as it is compared, or what equals no other."""
    try:
        return str(Leave.parse(text))
    except ValueError:
        return name
