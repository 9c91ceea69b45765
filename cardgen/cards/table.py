"""The whole chart at once: rows to print, and the record that scripts read."""

from dataclasses import dataclass

from cardgen.cards.card import board_text, in_hundred, leave_label, makes_at_all, side_word
from cardgen.cards.words import Words
from cardgen.targeting.chart import Chart, Line
from cardgen.units import DEGREE_RAD


@dataclass(frozen=True)
class Row:
    """One leave of the table."""

    leave: str
    stand: str
    target: str
    ball: str
    chance: str
    room: str
    own: bool


@dataclass(frozen=True)
class Table:
    """The chart as rows under headings; ``notes`` tell the count and the mark of own lines."""

    title: str
    headings: tuple[str, str, str, str, str]
    room_heading: str
    rows: tuple[Row, ...]
    own_mark: str
    notes: tuple[str, ...]


def table_of(chart: Chart, words: Words) -> Table:
    """Return the chart's table."""
    rows = tuple(
        Row(
            leave=leave_label(line.leave, words),
            stand=board_text(line.stand),
            target=board_text(line.target),
            ball=words(f"table.{line.ball}"),
            chance="–" if line.odds is None else in_hundred(line.odds.make),
            room=_room_text(line, words),
            own=line.known,
        )
        for line in chart.lines
    )
    return Table(
        title=words("table.title"),
        headings=(
            words("table.leave"),
            words("table.stand"),
            words("table.target"),
            words("table.ball"),
            words("table.chance"),
        ),
        room_heading=words("table.room"),
        rows=rows,
        own_mark=words("table.own_mark"),
        notes=(
            words("table.count", side=side_word(words, chart.bowler.hand, ball_side=True)),
            *([words("table.own_note")] if any(row.own for row in rows) else []),
            words("table.chance_note"),
        ),
    )


def _room_text(line: Line, words: Words) -> str:
    if line.odds is None or not makes_at_all(line.odds):
        return "–"
    left, right = line.odds.room_left, line.odds.room_right
    return words("table.room_text", left=f"{left:.1f}", right=f"{right:.1f}")


def record_of(chart: Chart, words: Words) -> dict[str, object]:
    """Return the chart as plain values for JSON.

    Boards are in the bowler's own count; ``entry_deg`` is positive away from the ball side;
    ``make`` is 0 to 1 and, with the room, null where the chance is not computed.
    """
    return {
        "bowler": chart.bowler.name,
        "hand": chart.bowler.hand.value,
        "lines": [_line_record(line, words) for line in chart.lines],
    }


def _line_record(line: Line, words: Words) -> dict[str, object]:
    odds = line.odds
    return {
        "leave": list(line.leave),
        "name": words.leave(line.leave),
        "kind": line.leave.kind.value,
        "ball": line.ball,
        "stand": _plain(line.stand),
        "target": _plain(line.target),
        "laydown": round(line.laydown, 2),
        "arrive": round(line.arrive, 2),
        "entry_deg": round(line.entry_rad / DEGREE_RAD, 2),
        "make": None if odds is None else round(odds.make, 4),
        "room_left": None if odds is None else round(odds.room_left, 2),
        "room_right": None if odds is None else round(odds.room_right, 2),
        "imagine": line.imagine,
        "source": "known" if line.known else "computed",
    }


def _plain(board: float) -> int | float:
    return int(board) if board == int(board) else board
