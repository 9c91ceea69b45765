"""What the pages of a clinic say: slips between the sheets, the coach's sheet, the wall chart.

A clinic may have thousands of students, so each of them is boiled down to a row of short texts, and
pages are made of the rows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cardgen.cards.card import board_text, leave_label, speed_text
from cardgen.cards.drill import practice_rows
from cardgen.cards.words import Words
from cardgen.errors import UsageError
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave, pin_x_m
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.chart import Chart
from cardgen.targeting.drill import Drill, Practice
from cardgen.targeting.fewer import FewLine, FewLines
from cardgen.targeting.line import Line
from cardgen.units import POUND_KG

CHART_PUPILS = 12
"""As many rows as a sheet holds with figures that a group can read standing (tried on paper)."""
FEW_SHOWN = 6
"""Lines to remember on the coach's sheet: they keep nearly all that more would (an assumption)."""
_LEAVES_SHOWN = 4
_NONE = "–"


@dataclass(frozen=True, eq=False)
class Pupil:
    """A student of a clinic, with all that the pages for a group draw on.

    ``few``, ``drill`` and ``practice`` follow from the ``chart``; ``group`` may be empty.
    """

    name: str
    group: str
    chart: Chart
    few: FewLines | None
    drill: Drill | None
    practice: tuple[Practice, ...]


# --- slips ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Slip:
    """A page that parts a stack of sheets: whose sheets follow, and how many.

    ``facts`` are labels with their figures; the slip is ``number`` of ``count``, and ``place`` says
    so.
    """

    name: str
    beside: str
    title: str
    facts: tuple[tuple[str, str], ...]
    number: int
    count: int
    place: str
    note: str


def group_slip(
    group: str,
    title: str,
    *,
    students: int,
    sheets: int,
    copies: int | None,
    number: int,
    count: int,
    words: Words,
) -> Slip:
    """Return the slip before the ``sheets`` of a group's ``students``, ``copies`` of each.

    ``copies`` is None if they differ; ``sheets`` counts them all.

    It is ``number`` of ``count``, from 1; ``title`` is the roster's.
    """
    facts = [
        (words("clinic.slip_students"), f"{students}"),
        (words("clinic.slip_sheets"), f"{sheets}"),
    ]
    if copies is not None:
        facts.append((words("clinic.slip_copies"), f"{copies}"))
    return _slip(group or title, "", title if group else "", tuple(facts), number, count, words)


def pupil_slip(
    name: str,
    group: str,
    title: str,
    *,
    sheets: int,
    copies: int,
    number: int,
    count: int,
    words: Words,
) -> Slip:
    """Return the slip before one student's ``sheets``, ``copies`` of each."""
    facts = (
        (words("clinic.slip_sheets"), f"{sheets}"),
        (words("clinic.slip_copies"), f"{copies}"),
    )
    return _slip(name, group, title, facts, number, count, words)


def _slip(
    name: str,
    beside: str,
    title: str,
    facts: tuple[tuple[str, str], ...],
    number: int,
    count: int,
    words: Words,
) -> Slip:
    if not 1 <= number <= count:
        raise ValueError(f"slip {number} of {count}")
    place = words("clinic.slip_place", number=number, count=count)
    return Slip(name, beside, title, facts, number, count, place, words("clinic.slip_note"))


# --- the coach's sheet --------------------------------------------------------------------------


@dataclass(frozen=True)
class Call:
    """A stand and a target in a few characters, ``34/20``, and whether the strike ball is thrown.

    ``leaves`` say what for, if the column does not: the fullest text first, for less room others.
    """

    figures: str
    strike: bool = False
    leaves: tuple[str, ...] = ()


@dataclass(frozen=True)
class CoachRow:
    """A student on the coach's sheet, in texts.

    ``manner`` is hand and style; ``balls`` the spare ball and the strike ball; ``calls`` the strike
    line, the 10 pin and the 7 pin; ``few`` the lines to remember; ``practise`` the leave whose
    practice wins most and what it wins; ``drill`` what to throw next.
    """

    name: str
    group: str
    manner: str
    balls: tuple[str, str]
    calls: tuple[Call, Call, Call]
    few: tuple[Call, ...]
    practise: tuple[str, ...]
    drill: tuple[Call, ...]


@dataclass(frozen=True)
class CoachSheet:
    """All rows, those of a group together, under ``headings``.

    ``continued`` heads a group that goes on, by group. ``keys`` tell what the figures mean, and
    what to change where there are none; ``strike_key`` what their mark does; ``private`` whom the
    sheet is for; ``cautions`` what he tells the class.
    """

    title: str
    beside: str
    headings: tuple[str, ...]
    rows: tuple[CoachRow, ...]
    continued: dict[str, str]
    keys: tuple[str, ...]
    strike_key: str
    private: str
    cautions: str


def coach_row(pupil: Pupil, words: Words) -> CoachRow:
    """Return what the coach's sheet says of ``pupil``."""
    chart, bowler = pupil.chart, pupil.chart.bowler
    lines = {line.leave: line for line in chart.lines}
    spare, strike = (_ball(bowler.ball(name), words) for name in ("spare", "strike"))
    rack, ten, seven = (
        _call_of(lines.get(leave)) for leave in (FULL_RACK, Leave.of(10), Leave.of(7))
    )
    few = () if pupil.few is None else pupil.few.lines[:FEW_SHOWN]
    throws = () if pupil.drill is None else pupil.drill.throws
    wins = practice_rows(pupil.practice, words, 1)
    return CoachRow(
        name=pupil.name,
        group=pupil.group,
        manner=manner_text(bowler, words),
        balls=(spare, strike),
        calls=(rack, ten, seven),
        few=tuple(_few_call(line, words) for line in few if line.serves),
        practise=(wins[0][0], wins[0][-1]) if wins else (_NONE,),
        drill=tuple(_call_of(throw.line, *_names(throw.line.leave, words)) for throw in throws),
    )


def coach_sheet(rows: Sequence[CoachRow], title: str, words: Words) -> CoachSheet:
    """Return the coach's sheet of ``rows``; groups stay in the order in which they first come.

    Raises:
        UsageError: there are no rows.
    """
    if not rows:
        raise UsageError("there is no coach's sheet: there are no students")
    order = {group: place for place, group in enumerate(dict.fromkeys(row.group for row in rows))}
    student, manner, *rest = words.all("clinic.coach_headings")
    pins = (words.leave_title(Leave.of(pin)) for pin in (10, 7))
    rack = words("kinds.strike")
    return CoachSheet(
        title=words("clinic.coach_title"),
        beside=title,
        headings=(student, manner, rack[:1].upper() + rack[1:], *pins, *rest),
        rows=tuple(sorted(rows, key=lambda row: order[row.group])),
        continued={group: words("clinic.coach_continued", group=group) for group in order if group},
        keys=(words("clinic.key"), words("clinic.coach_key"), *_gaps(rows, words)),
        strike_key=words("balls.strike"),
        private=words("clinic.coach_private"),
        cautions=words("forms.cautions"),
    )


def manner_text(bowler: Bowler, words: Words) -> str:
    """Return hand and style in a few words."""
    return words.listed((words(f"cover.hand_{bowler.hand.value}"), words(f"cover.{bowler.style}")))


def figures_text(stand: float, target: float) -> str:
    """Return a stand and a target in a few characters."""
    return f"{board_text(stand)}/{board_text(target)}"


def _call_of(line: Line | None, *leaves: str) -> Call:
    if line is None:
        return Call(_NONE)
    return Call(figures_text(line.stand, line.target), line.ball == "strike", leaves)


def _names(leave: Leave, words: Words) -> tuple[str, ...]:
    """Return what a leave is called, and a shorter name where there may be no room for it."""
    short = (words("table.strike"),) if leave == FULL_RACK else ()
    return (leave_label(leave, words), *short)


def _few_call(line: FewLine, words: Words) -> Call:
    leaves = [leave_label(served.leave, words) for served in line.serves]
    told = []
    for shown in range(min(_LEAVES_SHOWN, len(leaves)), 0, -1):
        rest = len(leaves) - shown
        told.append(words.listed(leaves[:shown]) + (f" +{rest}" if rest else ""))
    return Call(figures_text(line.stand, line.target), line.ball == "strike", tuple(told))


def _ball(ball: BallChoice, words: Words) -> str:
    return words(
        "assumptions.ball_unit",
        cover=words(f"covers.{ball.cover}"),
        weight=words.number(round(ball.ball.mass_kg / POUND_KG, 1)),
        speed=speed_text(ball.speed_mps, words),
    )


# --- the wall chart -----------------------------------------------------------------------------


@dataclass(frozen=True)
class WallRow:
    """A student on the wall chart: the hand, and a line for each of the ten pins, pin 1 first."""

    name: str
    hand: str
    calls: tuple[Call, ...]


@dataclass(frozen=True)
class WallChart:
    """The lines for the single pins of some students, columns as the pins stand, from the left.

    ``folio`` tells which of several charts it is, empty if it is the only one.
    """

    title: str
    beside: str
    student: str
    pins: tuple[int, ...]
    names: tuple[str, ...]
    rows: tuple[WallRow, ...]
    note: str
    strike_key: str
    cautions: str
    folio: str


def wall_row(pupil: Pupil, words: Words) -> WallRow:
    """Return what the wall chart says of ``pupil``."""
    lines = {line.leave: line for line in pupil.chart.lines}
    return WallRow(
        pupil.name,
        words(f"cover.hand_{pupil.chart.bowler.hand.value}"),
        tuple(_call_of(lines.get(leave)) for leave in SINGLE_PINS),
    )


def wall_charts(rows: Sequence[WallRow], group: str, words: Words) -> tuple[WallChart, ...]:
    """Return the charts of a group: as few as hold all its rows, each with about as many.

    Raises:
        UsageError: none of the students has a line for a single pin.
    """
    if all(call.figures == _NONE for row in rows for call in row.calls):
        raise UsageError("there is no wall chart: no student has a line for a single pin")
    # From the left as the bowler sees them, those behind each other from the front.
    pins = sorted((leave.pins[0] for leave in SINGLE_PINS), key=lambda pin: (_across(pin), pin))
    pages = -(-len(rows) // CHART_PUPILS)
    ends = [len(rows) * page // pages for page in range(pages + 1)]
    return tuple(
        WallChart(
            title=words("handout.poster_title"),
            beside=group,
            student=words.all("clinic.coach_headings")[0],
            pins=tuple(pins),
            names=tuple(words.leave_title(Leave.of(pin)) for pin in pins),
            rows=tuple(rows[first:last]),
            note=" ".join((words("clinic.key"), *_gaps(rows[first:last], words))),
            strike_key=words("balls.strike"),
            cautions=words("forms.cautions"),
            folio=f"{number}/{pages}" if pages > 1 else "",
        )
        for number, (first, last) in enumerate(pairwise(ends), start=1)
    )


def _gaps(rows: Sequence[CoachRow] | Sequence[WallRow], words: Words) -> tuple[str, ...]:
    """Return what a dash in place of a line means, if one of the rows has one."""
    lacks = any(call.figures == _NONE for row in rows for call in row.calls)
    return (words("gaps.coach_line"),) if lacks else ()


def _across(pin: int) -> float:
    return round(pin_x_m(pin), 6)
