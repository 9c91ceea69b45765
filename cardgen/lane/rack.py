"""The rack of ten pins, and the leave: the set of pins still standing after the first ball."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from cardgen.lane.geometry import HEAD_PIN_M
from cardgen.units import INCH_M

SPACING_M = 12 * INCH_M
"""Pin spot to pin spot (USBC equipment specifications)."""
ROW_M = SPACING_M * 3**0.5 / 2
"""Row to row (derived: an equilateral triangle; 10.392 in)."""
PIN_RADIUS_M = 4.766 / 2 * INCH_M
"""Widest radius of a pin, 4 1/2 in up (from memory, two memories agree)."""
PIN_CONTACT_RADIUS_M = 2.38 * INCH_M
"""Radius of a pin at the height where a ball meets it (derived from the pin's outline)."""


def _place(number: int) -> tuple[int, int]:
    """Return row r = 0..3 and place k = 0..r from the left of pin ``number``."""
    row = (0, 1, 1, 2, 2, 2, 3, 3, 3, 3)[number - 1]
    return row, number - 1 - row * (row + 1) // 2


def _pin_at(row: int, place: int) -> int:
    return row * (row + 1) // 2 + place + 1


PIN_NUMBERS = tuple(range(1, 11))


_SPOTS_M = {
    pin: ((2 * place - row) * SPACING_M / 2, HEAD_PIN_M + row * ROW_M)
    for pin in PIN_NUMBERS
    for row, place in (_place(pin),)
}


def pin_x_m(number: int) -> float:
    """Return x [m] of the spot of pin ``number``, right of the lane's centre."""
    return _SPOTS_M[number][0]


def pin_y_m(number: int) -> float:
    """Return y [m] of the spot of pin ``number``, down-lane from the foul line."""
    return _SPOTS_M[number][1]


ROWS_M = tuple(dict.fromkeys(pin_y_m(pin) for pin in PIN_NUMBERS))
"""Y [m] of the four rows, front first."""


def mirrored_pin(number: int) -> int:
    """Return the pin that stands where ``number`` is seen in a mirror."""
    row, place = _place(number)
    return _pin_at(row, row - place)


# Pairs of pins, front first: diagonal neighbours touch shoulders, a sleeper hides straight behind.
_DIAGONAL = tuple(
    (_pin_at(row, place), _pin_at(row + 1, place + step))
    for row in range(3)
    for place in range(row + 1)
    for step in (0, 1)
)
_IN_LINE = tuple(
    (_pin_at(row, place), _pin_at(row + 2, place + 1))
    for row in range(2)
    for place in range(row + 1)
)
# A pair side by side, and the pin immediately ahead of both.
_SIDE_BY_SIDE = tuple(
    (_pin_at(row, place), _pin_at(row, place + 1), _pin_at(row - 1, place))
    for row in range(1, 4)
    for place in range(row)
)


class LeaveKind(Enum):
    """What sort of leave it is, which decides how it is shot and where a booklet puts it."""

    SINGLE = "single"
    SLEEPER = "sleeper"
    SPLIT = "split"
    WASHOUT = "washout"
    OTHER = "other"


@dataclass(frozen=True, order=True)
class Leave:
    """The pins left standing, as a value; ``str`` and :meth:`parse` are each other's inverse."""

    pins: tuple[int, ...]

    def __post_init__(self) -> None:
        """Raise ValueError unless ``pins`` are distinct rising pin numbers, one at least."""
        if not self.pins:
            raise ValueError("a leave has at least one pin")
        if any(p not in PIN_NUMBERS for p in self.pins):
            raise ValueError(f"pins are numbered 1 to 10 (got {'-'.join(map(str, self.pins))})")
        if list(self.pins) != sorted(set(self.pins)):
            raise ValueError(
                f"pins are named once each, lowest first (got {'-'.join(map(str, self.pins))})"
            )

    @classmethod
    def of(cls, *pins: int) -> "Leave":
        """Return the leave of ``pins``, given in any order."""
        return cls(tuple(sorted(pins)))

    @classmethod
    def parse(cls, text: str) -> "Leave":
        """Return the leave written as ``3-10`` (spaces around the dashes are fine).

        Raises:
            ValueError: the text is not pin numbers joined by dashes, or the pins are not a leave.
        """
        parts = [part.strip() for part in text.split("-")]
        if not all(part.isascii() and part.isdigit() and len(part) <= 2 for part in parts):
            raise ValueError(
                f"a leave is pin numbers joined by dashes, such as 3-10 (got {text!r})"
            )
        pins = [int(part) for part in parts]
        if len(set(pins)) != len(pins):
            raise ValueError(f"a pin is named twice (got {text!r})")
        return cls.of(*pins)

    def __str__(self) -> str:
        return "-".join(map(str, self.pins))

    def __len__(self) -> int:
        return len(self.pins)

    def __iter__(self) -> Iterator[int]:
        return iter(self.pins)

    def __contains__(self, pin: int) -> bool:
        return pin in self.pins

    @property
    def mirrored(self) -> "Leave":
        """The same leave seen in a mirror: the 10 pin for the 7 pin."""
        return Leave.of(*(mirrored_pin(p) for p in self.pins))

    @property
    def front_row_m(self) -> float:
        """Y [m] of the row of the front-most pin, where an arrival is measured."""
        return pin_y_m(self.pins[0])  # numbers rise row by row

    @property
    def kind(self) -> LeaveKind:
        """Single, sleeper, split, washout or other.

        A split by USBC rule 2h: the head pin is down and at least one pin is down between, or
        immediately ahead of, two or more standing pins. A sleeper is two pins in line; a washout
        keeps the head pin and has a gap (trade use).
        """
        if len(self) == 1:
            return LeaveKind.SINGLE
        if self.pins in _IN_LINE:
            return LeaveKind.SLEEPER
        gap = self._groups() > 1
        if 1 in self:
            return LeaveKind.WASHOUT if gap else LeaveKind.OTHER
        ahead_down = any(
            left in self and right in self and ahead not in self
            for left, right, ahead in _SIDE_BY_SIDE
        )
        return LeaveKind.SPLIT if gap or ahead_down else LeaveKind.OTHER

    def _groups(self) -> int:
        """Return how many groups the pins form when diagonal and in-line neighbours are linked."""
        group = {pin: pin for pin in self.pins}
        for front, back in (*_DIAGONAL, *_IN_LINE):
            if front in group and back in group:
                old, new = group[back], group[front]
                group = {pin: new if g == old else g for pin, g in group.items()}
        return len(set(group.values()))


def _subsets(pins: Iterable[int]) -> Iterator[Leave]:
    numbers = tuple(pins)
    for mask in range(1, 1 << len(numbers)):
        yield Leave(tuple(n for bit, n in enumerate(numbers) if mask >> bit & 1))


ALL_LEAVES = tuple(sorted(_subsets(PIN_NUMBERS), key=lambda leave: (len(leave), leave.pins)))
"""All 1,023 leaves, fewest pins first."""
SINGLE_PINS = ALL_LEAVES[:10]
FULL_RACK = Leave(PIN_NUMBERS)
