"""A lane drawn in characters, as the bowler looks at it: pins at the top, feet at the bottom."""

import codecs
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from cardgen.lane.geometry import ARROW_BOARDS, BOARD_M, BOARDS, CENTRE_BOARD, Hand
from cardgen.lane.rack import PIN_NUMBERS, ROWS_M, Leave, pin_x_m, pin_y_m

STAND_MARK, TARGET_MARK = "S", "T"
_INDENT = "  "
_NAMES_COLUMNS = 28
"""Columns to the right of the lane in which its parts are named, where there are so many."""
_ARROW_STEP = ARROW_BOARDS[1] - ARROW_BOARDS[0]
_CHEVRON_ROWS = 4


@dataclass(frozen=True)
class Strokes:
    """The characters that a lane is drawn with."""

    edge: str
    foul_line: str
    arrow: str
    fallen: str


DRAWN = Strokes("│", "═", "▲", "·")
PLAIN = Strokes("|", "=", "^", ".")


def strokes_for(encoding: str | None, environment: Mapping[str, str]) -> Strokes:
    """Return the characters for a console of ``encoding``.

    Only Unicode ones show the finer characters surely, and in one column each. A terminal that
    calls itself dumb, and one that was told NO_COLOR, gets the plain ones.
    """
    if environment.get("NO_COLOR") or environment.get("TERM") == "dumb":
        return PLAIN
    try:
        name = codecs.lookup(encoding or "ascii").name
    except LookupError:
        return PLAIN
    return DRAWN if name.startswith("utf") else PLAIN


@dataclass
class _Canvas:
    """Rows of characters between the lane's edges; columns stand for ``boards`` boards each."""

    hand: Hand
    boards: int
    rows: list[tuple[str, str]] = field(default_factory=list)

    @property
    def columns(self) -> int:
        return 2 * self._middle + 1

    @property
    def _middle(self) -> int:
        return math.ceil((BOARDS - 1) / 2 / self.boards)

    def column(self, board: float) -> int:
        """Return the column of a board counted from the bowler's ball side."""
        return self.column_at(self.hand.mirror * (CENTRE_BOARD - board))

    def column_at(self, boards_right: float) -> int:
        """Return the column so many boards to the right of the lane's middle."""
        return self._middle + round(boards_right / self.boards)

    def row(self, marks: Mapping[int, str], edge: str, name: str = "", *, blank: str = " ") -> None:
        """Add a row with texts about the middle of their columns; a later one lies on top."""
        cells = [blank] * self.columns
        for column, text in marks.items():
            first = column - (len(text) - 1) // 2
            cells[first : first + len(text)] = text
        self.rows.append((f"{_INDENT}{edge}{''.join(cells)}{edge}", name))


def lane_sketch(
    hand: Hand,
    leave: Leave,
    *,
    width: int,
    strokes: Strokes = PLAIN,
    stand: float | None = None,
    target: float | None = None,
) -> tuple[str, ...]:
    """Return the lines of a drawing at most ``width`` columns wide; none if it has no room.

    It has the pins of ``leave`` by their numbers and the fallen ones, the arrows, and the boards
    numbered from the side of ``hand``; and where the bowler stands and looks, where that is given
    in boards.
    """
    frame = len(_INDENT) + 2
    boards = 1 if width >= frame + BOARDS else 2
    canvas = _Canvas(hand, boards)
    if width < frame + canvas.columns:
        return ()
    _pins(canvas, leave, strokes)
    canvas.row({}, strokes.edge)
    _arrows(canvas, strokes, target)
    canvas.row({}, strokes.edge, "foul line", blank=strokes.foul_line)
    step = _ARROW_STEP * boards
    numbers = {canvas.column(board): str(board) for board in range(step, BOARDS, step)}
    canvas.row(numbers, " ", f"boards, from your {hand.value}")
    if stand is not None:
        canvas.row({canvas.column(stand): STAND_MARK}, " ", "your slide foot at the start")
    named = width >= frame + canvas.columns + _NAMES_COLUMNS + len(_INDENT)
    return tuple(
        f"{row}{_INDENT}{name}".rstrip() if named else row.rstrip() for row, name in canvas.rows
    )


def _pins(canvas: _Canvas, leave: Leave, strokes: Strokes) -> None:
    for row_m in reversed(ROWS_M):
        marks = {
            canvas.column_at(pin_x_m(pin) / BOARD_M): (str(pin) if pin in leave else strokes.fallen)
            for pin in PIN_NUMBERS
            if pin_y_m(pin) == row_m
        }
        canvas.row(marks, strokes.edge, "pins" if row_m == ROWS_M[-1] else "")


def _arrows(canvas: _Canvas, strokes: Strokes, target: float | None) -> None:
    for row in range(_CHEVRON_ROWS):
        marks = {
            canvas.column(board): strokes.arrow for board in ARROW_BOARDS if _chevron(board) == row
        }
        if target is not None and _chevron(target) == row:
            marks |= {canvas.column(target): TARGET_MARK}
        canvas.row(marks, strokes.edge, "arrows" if row == 0 else "")


def _chevron(board: float) -> int:
    """Return the row of the arrows that a board is on, from the farthest; the arms drawn on."""
    return min(round(abs(board - CENTRE_BOARD) / _ARROW_STEP), _CHEVRON_ROWS - 1)
