"""What the booklet says of the strike line: what to move, and which spares its target makes."""

from collections.abc import Iterator
from dataclasses import dataclass

from cardgen.cards.card import board_text, leave_label, side_word
from cardgen.cards.chances import about, in_hundred
from cardgen.cards.words import Words
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import Leave
from cardgen.targeting.feetmoves import HABITS, FeetMove, HabitMove
from cardgen.targeting.moves import Fault, Move, Step
from cardgen.targeting.strike import Strike

_BACK_BOARDS = 0.75  # a ball so near counts as back, as it does where moves are chosen


@dataclass(frozen=True)
class MoveRow:
    """A fault, what to move, and what the rule of thumb would do.

    ``rule`` begins with what the move itself leaves, where that is not the pocket.
    """

    fault: str
    move: str
    rule: str


@dataclass(frozen=True)
class Moves:
    """The page of moves; ``shifts`` are steps and what each does to the arrival."""

    title: str
    intro: str
    rows: tuple[MoveRow, ...]
    shifts_heading: str
    shifts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FeetTable:
    """The page of spares from the strike line: a row for each pin."""

    title: str
    intro: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


def moves_page(strike: Strike, hand: Hand, words: Words) -> Moves:
    """Return the page that tells what to move."""
    return Moves(
        title=words("strike.moves_title"),
        intro=words(
            "strike.moves_intro",
            stand=board_text(strike.line.stand),
            target=board_text(strike.line.target),
        ),
        rows=tuple(_move_row(move, hand, words) for move in strike.moves),
        shifts_heading=words("strike.shifts"),
        shifts=tuple(
            (
                _step(shift.step, hand, words),
                words(
                    "strike.shift",
                    boards=words.number(abs(shift.boards), 1),
                    side=side_word(words, hand, ball_side=shift.boards < 0),
                ),
            )
            for shift in strike.shifts
        ),
        notes=tuple(_moves_notes(strike, words)),
    )


def feet_page(strike: Strike, hand: Hand, words: Words) -> FeetTable:
    """Return the page of spares from the strike line."""
    labels = [words(f"strike.habit_{boards}") for boards in HABITS]
    return FeetTable(
        title=words("strike.feet_title"),
        intro=words(
            "strike.feet_intro",
            ball=words(f"table.{strike.line.ball}"),
            stand=board_text(strike.line.stand),
            target=board_text(strike.line.target),
        ),
        headings=(
            words("table.leave"),
            words("strike.feet"),
            words("table.chance"),
            *labels,
        ),
        rows=tuple(_feet_row(move, hand, words) for move in strike.feet),
        notes=tuple(_feet_notes(strike, words)),
    )


def _moves_notes(strike: Strike, words: Words) -> Iterator[str]:
    if len(strike.moves) < len(Fault):
        yield words("strike.unexplained")
    yield words("strike.moves_note")
    times, tries = about(strike.crossed_strikes)
    crossed = in_hundred(strike.crossed)
    yield words("strike.crossed", crossed=crossed, times=times, tries=tries)


def _move_row(move: Move, hand: Hand, words: Words) -> MoveRow:
    rule = words(
        "strike.rule",
        move=_step(move.rule, hand, words),
        result=_result(move.rule_off_boards, words),
    )
    if not _is_back(move.off_boards):  # the best there is, and no more is claimed for it
        rule = f"{_result(move.off_boards, words)} {rule}"
    return MoveRow(words(f"strike.faults.{move.fault.value}"), _step(move.step, hand, words), rule)


def _is_back(off_boards: float) -> bool:
    return abs(off_boards) <= _BACK_BOARDS


def _result(off_boards: float, words: Words) -> str:
    """Return how a ball comes in that is off by so much, away from the ball side if positive."""
    if _is_back(off_boards):
        return words("strike.back")
    key = "strike.still_high" if off_boards > 0 else "strike.still_light"
    return words(key, boards=words.number(abs(off_boards), 1))


def _step(step: Step, hand: Hand, words: Words) -> str:
    """Return a step in words: feet 2 left, target 1 left."""
    if not step.feet and not step.target:
        return words("strike.stay")
    side = side_word(words, hand, ball_side=step.feet < 0)
    feet, target = board_text(abs(step.feet)), board_text(abs(step.target))
    if not step.target:
        return words("strike.step_feet", feet=feet, side=side)
    return words("strike.step", feet=feet, target=target, side=side)


def _feet_row(move: FeetMove, hand: Hand, words: Words) -> tuple[str, ...]:
    feet = words("strike.none")
    if move.feet is not None:
        feet = _side_boards(move.feet, hand, words)
    own = in_hundred(move.make) if move.feet is not None else words("strike.none")
    habits = (_habit(habit, words) for habit in move.habits)
    return (leave_label(Leave.of(move.pin), words), feet, own, *habits)


def _side_boards(boards: float, hand: Hand, words: Words) -> str:
    if boards == 0:
        return words("strike.stay")
    side = side_word(words, hand, ball_side=boards < 0)
    return words("strike.boards", boards=board_text(abs(boards)), side=side)


def _habit(habit: HabitMove, words: Words) -> str:
    if habit.make is None:
        return words("strike.none")
    chance = in_hundred(habit.make)
    return words("strike.misses", chance=chance) if habit.misses else chance


def _feet_notes(strike: Strike, words: Words) -> Iterator[str]:
    yield words("strike.habits_note")
    habits = [habit for move in strike.feet for habit in move.habits]
    if any(habit.make is not None and habit.misses for habit in habits):
        yield words("strike.misses_note")
    if any(habit.make is None for habit in habits) or any(m.feet is None for m in strike.feet):
        yield words("strike.none_note")
    yield words("strike.feet_note")
