"""The columns of a shot log, and the shot that a row of texts says."""

import datetime
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, get_args

from pydantic import TypeAdapter

from cardgen.errors import Problem
from cardgen.lane.geometry import BOARDS
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.complaints import near
from cardgen.profile.measures import unit_hint
from cardgen.profile.schema import BallName, Board, SpeedMph
from cardgen.shotlog.shot import Result, Shot, front_pins
from cardgen.yamlsource import shown

COLUMNS: tuple[str, ...] = (
    "date",
    "ball",
    "leave",
    "stand_board",
    "target_board",
    "arrows_board",
    "pins_board",
    "result",
    "off_boards",
    "speed_mph",
    "note",
)
"""In the order in which they are written; they are read in any."""
REQUIRED: tuple[str, ...] = ("leave", "stand_board", "target_board")
STRIKE = "strike"
"""How the full rack is written."""
MAX_NOTE = 300
"""Characters of a note; a longer text is a mistake of the file."""

MakeProblem = Callable[[str, str, str | None], Problem]
"""Makes a located problem of a column, what is wrong, and a hint or None."""

_NUMBER = re.compile(r"[-+]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)([eE][-+]?[0-9]+)?")
_HALF = re.compile(r"([0-9]*)½")  # as cards print it
_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DAY_FIRST = re.compile(r"([0-9]{1,2})\. *([0-9]{1,2})\. *([0-9]{4})")
_YEAR_FIRST = re.compile(r"([0-9]{4})[-./]([0-9]{1,2})[-./]([0-9]{1,2})([ T][0-9:.]+)?")
_PIN = re.compile("[0-9]{1,2}")
_PINS = re.compile(r"[0-9]{1,2}([\s‐‑–—-]+[0-9]{1,2})*")
# What spreadsheets make of 3-10: 03-Oct, Oct 10, 3. Okt, 10/3, 3.10., 2026-10-03, 3-10-2026.
_DATED_LEAVE = re.compile(
    r"[0-9]{1,4}[-./\s]+[^\W\d_]{3,}\.?([-./\s]+[0-9]{2,4})?"
    r"|[^\W\d_]{3,}\.?[-./\s]+[0-9]{1,4}([-,./\s]+[0-9]{2,4})?"
    r"|[0-9]{1,2}[./][0-9]{1,2}([./]([0-9]{2,4})?)?"
    r"|[0-9]{1,2}-[0-9]{1,2}-[0-9]{2,4}"
    r"|[0-9]{4}[-./][0-9]{1,2}[-./][0-9]{1,2}([ T][0-9:.]+)?"
)
_DATED_LEAVE_HINT = "has a spreadsheet made a date of the pins? write them with a space: 3 10"
_BREAKS = re.compile("\\s*[\t\n\r\v\f\x1c-\x1f\x85\u2028\u2029]+\\s*")
_COUNTS = {2: "two", 3: "three", 4: "four"}


@dataclass(frozen=True)
class _Range:
    """Numbers that a column may have: from ``low`` to ``high``, in steps of ``step`` if any."""

    what: str
    low: float
    high: float
    unit: str = ""
    step: float | None = None

    @classmethod
    def of(cls, profile_type: Any, what: str, unit: str = "") -> "_Range":
        """Return the numbers that a type of the profile's schema allows."""
        schema = TypeAdapter(profile_type).json_schema()
        return cls(what, schema["minimum"], schema["maximum"], unit, schema.get("multipleOf"))

    def __contains__(self, number: float) -> bool:
        stepped = self.step is None or (number / self.step).is_integer()
        return self.low <= number <= self.high and stepped

    def __str__(self) -> str:
        steps = f" in steps of {self.step:g}" if self.step else ""
        return f"{self.what} from {self.low:g} to {self.high:g}{self.unit}{steps}"


_CALLED_BOARD = _Range.of(Board, "a board")
_SEEN_BOARD = replace(_CALLED_BOARD, step=0.25)  # assumption: nobody sees finer
# However far out a ball in the gutter rolls, it is written as just beyond the edge.
_PINS_BOARD = _Range("a board", -1, BOARDS + 2)
_OFF_BOARDS = _Range("a number of boards", 0, BOARDS + 1)
_SPEED_MPH = _Range.of(SpeedMph, "a speed", " mph")


def shot_of(cells: Mapping[str, str], problem: MakeProblem) -> Shot | list[Problem]:
    """Return the shot that ``cells``, texts by column, say; or everything that is wrong with them.

    A blank text is as good as none; names that are no column are not looked at.
    """
    row = _Row(cells, problem)
    date = row.date("date")
    ball = row.choice("ball", get_args(BallName))
    leave = row.leave("leave")
    stand = row.number("stand_board", _CALLED_BOARD)
    target = row.number("target_board", _CALLED_BOARD)
    arrows = row.number("arrows_board", _SEEN_BOARD)
    arrive = row.number("pins_board", _PINS_BOARD)
    word = row.choice("result", [result.value for result in Result])
    result = Result(word) if word else None
    off_boards = row.number("off_boards", _OFF_BOARDS)
    if row.text("off_boards"):
        row.check_off_boards(leave, result)
    speed_mph = row.number("speed_mph", _SPEED_MPH)
    note = row.note("note")
    if row.problems or leave is None or stand is None or target is None:
        return row.problems
    return Shot(
        leave=leave,
        stand=stand,
        target=target,
        ball="strike" if ball == "strike" else "spare",
        date=date,
        arrows=arrows,
        arrive=arrive,
        result=result,
        off_boards=off_boards,
        speed_mph=speed_mph,
        note=note,
    )


class _Row:
    """Reads the cells of one row, and keeps what is wrong with them."""

    def __init__(self, cells: Mapping[str, str], problem: MakeProblem) -> None:
        self.problems: list[Problem] = []
        self._cells = cells
        self._problem = problem
        self._wrong: set[str] = set()

    def text(self, column: str) -> str:
        return self._cells.get(column, "").strip()

    def number(self, column: str, numbers: _Range) -> float | None:
        text = self.text(column)
        if not text and column not in REQUIRED:
            return None
        if half := _HALF.fullmatch(text):
            text = f"{half[1]}.5"
        if _NUMBER.fullmatch(text) and (number := float(text.replace(",", "."))) in numbers:
            return number + 0.0  # -0.0 becomes 0.0
        self._must_be(column, str(numbers), unit_hint(text, column))
        return None

    def choice(self, column: str, words: "tuple[str, ...] | list[str]") -> str | None:
        text = self.text(column)
        if not text or text.casefold() in words:
            return text.casefold() or None
        *most, last = words
        self._must_be(column, f"{', '.join(most)} or {last}", near(text, words))
        return None

    def date(self, column: str) -> datetime.date | None:
        text = self.text(column)
        if not text:
            return None
        if not _ISO_DATE.fullmatch(text):
            self._must_be(column, "a date such as 2026-11-25", _date_hint(text))
            return None
        try:
            return datetime.date.fromisoformat(text)
        except ValueError:
            self._refuse(column, f"there is no such day (got {shown(text)})")
            return None

    def leave(self, column: str) -> Leave | None:
        text = self.text(column)
        if text.casefold() == STRIKE:
            return FULL_RACK
        hint = _DATED_LEAVE_HINT if _DATED_LEAVE.fullmatch(text) else None
        if not _PINS.fullmatch(text):
            self._must_be(column, f"pins such as 3 10, or {STRIKE} for the full rack", hint)
            return None
        try:
            return Leave.parse("-".join(_PIN.findall(text)))
        except ValueError as error:
            self._refuse(column, str(error), hint)
            return None

    def check_off_boards(self, leave: Leave | None, result: Result | None) -> None:
        """Refuse boards beside the front pin where there is no side, or no such pin."""
        if result is Result.HIT:
            hint = "where all pins fell, pins_board can say where the ball came in"
            self._refuse("off_boards", "must be blank where the result is hit", hint)
        elif result not in (Result.LEFT, Result.RIGHT) and "result" not in self._wrong:
            self._refuse("off_boards", "needs the side as result: left or right")
        if leave is not None and (count := front_pins(leave)) > 1:
            message = f"this leave has {_COUNTS[count]} front pins; write pins_board instead"
            self._refuse("off_boards", message)

    def note(self, column: str) -> str:
        text = self.text(column)
        if len(text) > MAX_NOTE:
            self._refuse(column, f"must be at most {MAX_NOTE} characters (got {len(text)})")
            return ""
        text = _BREAKS.sub(" ", text)
        if bad := next((c for c in text if unicodedata.category(c) in {"Cc", "Cs"}), None):
            self._refuse(column, f"must be printable characters (it has U+{ord(bad):04X})")
        return text

    def _must_be(self, column: str, wanted: str, hint: str | None = None) -> None:
        got = shown(self.text(column) or None)
        self._refuse(column, f"must be {wanted} (got {got})", hint)

    def _refuse(self, column: str, message: str, hint: str | None = None) -> None:
        self._wrong.add(column)
        self.problems.append(self._problem(column, message, hint))


def _date_hint(text: str) -> str:
    """Return how ``text`` is written as ISO 8601 has it, where its order cannot be misread."""
    hint = "write year-month-day (ISO 8601)"
    if found := _DAY_FIRST.fullmatch(text):
        day, month, year = map(int, found.groups())
    elif found := _YEAR_FIRST.fullmatch(text):
        year, month, day = map(int, found.groups()[:3])
    else:
        return hint
    try:
        return f"{hint}: {datetime.date(year, month, day).isoformat()}"
    except ValueError:
        return hint
