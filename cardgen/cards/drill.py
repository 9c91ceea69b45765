"""What is said of the shots to throw next, and of what practice wins."""

from collections.abc import Sequence
from dataclasses import dataclass

from cardgen.cards.card import board_text, leave_label
from cardgen.cards.chances import in_hundred
from cardgen.cards.words import Words
from cardgen.targeting.drill import DRILL_THROWS, Drill, Practice
from cardgen.targeting.line import Line

PLANNED = 6
"""Leaves of the plan: as many as anybody practises (an assumption)."""
_IN_TEN = 1.28  # standard deviations within which a normal error stays 8 times in 10
_LEAST_WIN = 0.05  # spares in 100 first balls: less prints as none


@dataclass(frozen=True)
class DrillRow:
    """A line to throw: the leave, stand, target and ball, and what each of its boxes is for."""

    leave: str
    stand: str
    target: str
    ball: str
    boxes: tuple[str, ...]


@dataclass(frozen=True)
class DrillPage:
    """The shots to throw next, and below them the leaves whose practice wins most.

    ``rows`` or ``plan`` may be empty. ``sure`` tells what the shots win.
    """

    title: str
    intro: str
    headings: tuple[str, ...]
    rows: tuple[DrillRow, ...]
    sure: str
    plan_title: str
    plan_headings: tuple[str, ...]
    plan: tuple[tuple[str, ...], ...]
    plan_note: str
    caution: str


def drill_page(drill: Drill | None, practice: Sequence[Practice], words: Words) -> DrillPage:
    """Return the page of ``drill`` and of the first of ``practice``."""
    lines = () if drill is None else tuple(throw.line for throw in drill.throws)
    return DrillPage(
        title=words("drill.title"),
        intro=words("drill.intro", throws=DRILL_THROWS),
        headings=words.all("drill.headings"),
        rows=tuple(_row(line, words) for line in lines),
        sure="" if drill is None else sure_text(drill, words),
        plan_title=words("drill.plan_title"),
        plan_headings=words.all("drill.plan_headings"),
        plan=practice_rows(practice, words),
        plan_note=words("drill.plan_note"),
        caution=words("back.caution"),
    )


def drill_rows(drill: Drill, words: Words) -> tuple[tuple[str, ...], ...]:
    """Return each line of ``drill`` as leave, stand, target and ball."""
    return tuple(_cells(throw.line, words) for throw in drill.throws)


def sure_text(drill: Drill, words: Words) -> str:
    """Return how sure the chart's arrivals are before the drill and after it."""
    after = drill.throws[-1].unsure_boards if drill.throws else drill.unsure_boards
    return words(
        "drill.sure",
        before=words.number(_IN_TEN * drill.unsure_boards, 1),
        after=words.number(_IN_TEN * after, 1),
    )


def practice_rows(
    practice: Sequence[Practice], words: Words, count: int = PLANNED
) -> tuple[tuple[str, ...], ...]:
    """Return the first ``count`` of ``practice``, so far as there is anything to win.

    Each is the leave, how often in 100 first balls it is faced, its chance in 100 now and with
    steadier shots, and the spares won in 100 first balls.
    """
    return tuple(
        (
            leave_label(each.line.leave, words),
            _least(each.faced, words) or words.number(each.faced, 1),
            _chance(each.line.odds.make, each, words),
            _chance(each.better, each, words),
            _least(each.wins, words) or words("drill.plan_wins", wins=words.number(each.wins, 1)),
        )
        for each in practice[:count]
        if each.wins > 0
    )


def _chance(chance: float, each: Practice, words: Words) -> str:
    """Return a chance in 100: to the unit for several pins too, or no gain would ever show."""
    told = in_hundred(chance)
    whole = len(each.line.leave) == 1 or told.startswith("<")
    return told if whole else words("drill.plan_about", chance=told)


def _least(number: float, words: Words) -> str:
    return words("drill.plan_least") if number < _LEAST_WIN else ""


def _row(line: Line, words: Words) -> DrillRow:
    leave, stand, target, ball = _cells(line, words)
    throws = range(1, DRILL_THROWS + 1)
    boxes = tuple(words("drill.tip", leave=leave, throw=throw) for throw in throws)
    return DrillRow(leave, stand, target, ball, boxes)


def _cells(line: Line, words: Words) -> tuple[str, str, str, str]:
    return (
        leave_label(line.leave, words),
        board_text(line.stand),
        board_text(line.target),
        words(f"table.{line.ball}"),
    )
