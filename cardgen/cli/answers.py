"""How a person's answers are read, and how what was read is told again."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from cardgen.lane.geometry import ARROW_BOARDS, CENTRE_BOARD
from cardgen.lane.rack import Leave
from cardgen.profile.composing import fault_of
from cardgen.profile.measures import factors_into
from cardgen.yamlsource import Value, shown

# As people write numbers: a decimal comma, a half as on the cards, a typographic minus; a unit.
_NUMBER = re.compile(
    r"(?:boards?\s*)?([-+−]?)([0-9]{0,9})(?:[.,]([0-9]{0,9})|(\s?½|\s1/2))?\s*([a-z/'′]*)\.?"
)
_ARROW = re.compile(r"(?:the )?(?:([1-7])(?:st|nd|rd|th)?|([a-z]+)) arrow|arrow ([1-7])")
_BETWEEN_PINS = re.compile(r"[\s,/+&–-]+")
_NUMERALS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")
_MIDDLE = ("middle", "centre", "center")
_ABOUT_PINS = ("the", "pin", "pins", "and", "split")
_YES_OR_NO = {"y": True, "yes": True, "n": False, "no": False}


class UnusableError(ValueError):
    """An answer that cannot be: one sentence tells what would be right."""


@dataclass(frozen=True)
class Unit:
    """What an answer is in: ``factors`` into it from what may be written after a number."""

    label: str
    symbol: str
    factors: Mapping[str, float]
    other: str = ""


FEET = Unit("feet, or m", "ft", factors_into("ft"), "4 m")
POUNDS = Unit("pounds, or kg", "lb", factors_into("lb"), "6 kg")
MPH = Unit("mph, or km/h", "mph", factors_into("mph"), "26 km/h")
RPM = Unit("turns a minute", "rpm", {"rpm": 1.0})
DEGREES = Unit("degrees", "degrees", {"deg": 1.0, "degree": 1.0, "degrees": 1.0})
BOARDS = Unit("boards", "boards", {"board": 1.0, "boards": 1.0})


# --- Reading


def yes_or_no(text: str) -> bool:
    """Return whether ``text`` is yes; raise UnusableError if it is neither yes nor no."""
    found = _YES_OR_NO.get(text.casefold())
    if found is None:
        raise UnusableError("Answer yes or no.")
    return found


def one_of(words: Sequence[str]) -> Callable[[str], str]:
    """Return what reads one of ``words``: by its number from 1, or by how it begins."""
    return partial(_word, words)


def _word(words: Sequence[str], text: str) -> str:
    folded = "-".join(text.casefold().split())
    if folded in words:
        return folded
    numbered = {str(number): word for number, word in enumerate(words, 1)}
    if folded in numbered:
        return numbered[folded]
    found = [word for word in words if word.startswith(folded)]
    found = found or [word for word in words if folded.startswith(f"{word}-")]
    if len(found) != 1:
        *most, last = words
        raise UnusableError(f"Answer 1 to {len(words)}, or {', '.join(most)} or {last}.")
    return found[0]


def read_name(text: str) -> str:
    """Return a bowler's name; raise UnusableError if a profile cannot have it."""
    if fault := fault_of("bowler", text):
        raise UnusableError(f"This {fault}.")
    return text


def read_quantity(field: str, unit: Unit, text: str) -> float:
    """Return the number that ``text`` is in ``unit``.

    Raises UnusableError if a profile cannot have it in ``field``.
    """
    number = _number_in(text, unit.factors)
    if fault := fault_of(field, number):
        wanted = fault.partition(" (got ")[0]
        other = f"; or with its unit, such as {unit.other}" if unit.other else ""
        raise UnusableError(f"This {wanted}, in {unit.symbol} (got {shown(text)}){other}.")
    assert isinstance(number, int | float)  # a text is at fault
    return number


def read_board(text: str) -> float:
    """Return the board that ``text`` is; raise UnusableError if a lane has no such board."""
    number = _number_in(text, BOARDS.factors)
    line: Value = {"leave": "10", "stand": number, "target": 20}
    if fault := fault_of("known_lines", [line]):
        raise UnusableError(f"A board {fault}.")
    assert isinstance(number, int | float)  # a text is at fault
    return number


def read_slide(start: float, text: str) -> float:
    """Return the board on which a foot that began on board ``start`` slides.

    Raises UnusableError if there is no such board, or a profile cannot have that drift.
    """
    end = read_board(text)
    if fault := fault_of("stand.drift_boards", plain(start - end)):
        raise UnusableError(f"The drift, from start to slide, {fault}.")
    return end


def read_target(text: str) -> float:
    """Return the board of a target, told as a board or as an arrow.

    Raises UnusableError if there is no such board or arrow.
    """
    found = _ARROW.fullmatch(text.casefold())
    if found is None:
        return read_board(text)
    word = found[2]
    if word in _MIDDLE:
        return CENTRE_BOARD
    if word and word not in _ORDINALS:
        raise UnusableError(f"There are {len(ARROW_BOARDS)} arrows: say 2nd arrow, or a board.")
    number = _ORDINALS.index(word) + 1 if word else int(found[1] or found[3])
    return ARROW_BOARDS[number - 1]


def read_leave(taken: Collection[str], text: str) -> Leave | None:
    """Return the leave that ``text`` names, none of ``taken``; None if it says no.

    Raises UnusableError if there is no such leave, or it is taken.
    """
    folded = text.casefold()
    if _YES_OR_NO.get(folded) is False:
        return None
    pins = [
        str(_NUMERALS.index(word) + 1) if word in _NUMERALS else word
        for word in _BETWEEN_PINS.split(folded)
        if word and word not in _ABOUT_PINS
    ]
    if not pins or not all(word.isdecimal() for word in pins):
        raise UnusableError(
            f"Name the pins that stand by their numbers, such as 3-10 (got {shown(text)})."
        )
    try:
        leave = Leave.parse("-".join(pins))
    except ValueError as error:
        message = str(error)
        raise UnusableError(f"{message[0].upper()}{message[1:]}.") from None
    if str(leave) in taken:
        raise UnusableError(f"The {named(leave)} has its line already; name another leave.")
    return leave


def _number_in(text: str, factors: Mapping[str, float]) -> Value:
    """Return the number that ``text`` is, by the ``factors`` of its unit, or else ``text``."""
    found = _NUMBER.fullmatch(text.casefold())
    if found is None or not (found[2] or found[3] or found[4]):
        return text
    if found[5] and found[5] not in factors:
        return text
    part = "5" if found[4] else found[3] or "0"
    number = Decimal(f"{found[2] or '0'}.{part}")
    if found[1] in ("-", "−"):
        number = -number
    factor = factors.get(found[5], 1.0)
    return plain(float(number) if factor == 1 else round(float(number) * factor, 1))


# --- Telling


def plain(number: float) -> int | float:
    """Return a whole number as an int, as people write it."""
    return int(number) if float(number).is_integer() else number


def worded(value: Value) -> str:
    """Return a value of a profile as it stands in a text."""
    return str(plain(value)) if isinstance(value, float) else str(value)


def named(leave: Leave) -> str:
    """Return how a leave is called in a sentence, after its article."""
    return f"{leave} pin" if len(leave) == 1 else str(leave)
