"""The whole chart at once: rows to print, and the record that scripts read."""

from dataclasses import dataclass

from cardgen.cards.card import board_text, leave_label, makes_at_all, side_word
from cardgen.cards.chances import chance_figure, pins_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import x_board
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Alternative, Line, Play, Spot
from cardgen.targeting.moves import Step
from cardgen.targeting.strike import Strike
from cardgen.units import DEGREE_RAD, FOOT_M


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
            chance=chance_figure(
                line.odds.make, line.leave, words("table.rough_mark") if line.odds.estimate else ""
            ),
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
            *([words("table.about_note")] if any(len(x.leave) > 1 for x in chart.lines) else []),
            *([words("table.rough_note")] if any(x.odds.estimate for x in chart.lines) else []),
        ),
    )


def _room_text(line: Line, words: Words) -> str:
    if line.play is Play.COUNT:
        pins = pins_text(line.odds.count, words, estimate=line.odds.estimate)
        return words("table.count_text", pins=pins)
    if not makes_at_all(line):
        return "–"
    left, right = line.odds.room_left, line.odds.room_right
    return words("table.room_text", left=words.number(left, 1), right=words.number(right, 1))


def record_of(chart: Chart, words: Words, strike: Strike | None = None) -> dict[str, object]:
    """Return the chart as plain values for JSON, with what there is to say of its strike line.

    Boards are in the bowler's own count; ``entry_deg`` is positive away from the ball side;
    ``make`` is 0 to 1, of several pins no finer than thousandths. ``others`` are the pins that the
    first one leaves, and what brings each down; ``other`` is the line for the other play,
    ``other_ball`` that with the other ball and its price. Moves are positive away from the ball
    side.
    """
    return {
        "bowler": chart.bowler.name,
        "hand": chart.bowler.hand.value,
        "lines": [_line_record(line, words) for line in chart.lines],
        "strike": None if strike is None else _strike_record(strike),
        "unanswered": [list(leave) for leave in chart.unanswered],
    }


def _line_record(line: Line, words: Words) -> dict[str, object]:
    odds, action = line.odds, line.action
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
        "make": _make(odds.make, line),
        "doubt": round(odds.doubt, 2),
        "estimate": odds.estimate,
        "count": round(odds.count, 2),
        "room_left": round(odds.room_left, 2),
        "room_right": round(odds.room_right, 2),
        "reaches": line.reaches,
        "hit": None
        if action is None
        else {
            "pin": action.first,
            "side": "right" if action.side > 0 else "left",
            "part": action.hit.value,
        },
        "others": {} if action is None else {str(pin): how.value for pin, how in action.others},
        "imagine": line.imagine,
        "play": line.play.value,
        "other": None if line.other is None else _other_record(line.other, line),
        "other_ball": None
        if line.other_ball is None
        else {
            **_other_record(line.other_ball.line, line),
            "price": _make(line.other_ball.price, line),
            "price_drier": _make(line.other_ball.price_drier, line),
        },
        "breakpoint": _spot(line.trace.breakpoint),
        "hooks": _spot(line.trace.hooks),
        "rolls": _spot(line.trace.rolls),
        "source": "known" if line.known else "computed",
    }


def _spot(spot: Spot | None) -> dict[str, float] | None:
    """Return a place on the path: board, and feet from the foul line."""
    if spot is None:
        return None
    return {"board": round(float(x_board(spot.x_m)), 1), "feet": round(spot.y_m / FOOT_M, 1)}


def _strike_record(strike: Strike) -> dict[str, object]:
    return {
        "stand": _plain(strike.line.stand),
        "target": _plain(strike.line.target),
        "strikes": _make(strike.line.odds.make, strike.line),
        "crossed": round(strike.crossed, 3),
        "crossed_strikes": round(strike.crossed_strikes, 3),
        "moves": [
            {
                "fault": move.fault.value,
                **_step_record(move.step),
                "off_boards": round(move.off_boards, 2),
                "rule": {**_step_record(move.rule), "off_boards": round(move.rule_off_boards, 2)},
            }
            for move in strike.moves
        ],
        "shifts": [
            {**_step_record(shift.step), "boards": round(shift.boards, 2)}
            for shift in strike.shifts
        ],
        "spares_by_feet": [
            {
                "pin": move.pin,
                "feet": None if move.feet is None else _plain(move.feet),
                "make": round(move.make, 4),
                "habits": [
                    {
                        "feet": habit.feet,
                        "make": None if habit.make is None else round(habit.make, 4),
                        "misses": habit.misses,
                    }
                    for habit in move.habits
                ],
            }
            for move in strike.feet
        ],
    }


def _step_record(step: Step) -> dict[str, int | float]:
    return {"feet": _plain(step.feet), "target": _plain(step.target)}


def _make(chance: float, line: Line) -> float:
    return round(chance, 4 if len(line.leave) == 1 else 3)


def _other_record(other: Alternative, line: Line) -> dict[str, object]:
    return {
        "ball": other.ball,
        "stand": _plain(other.stand),
        "target": _plain(other.target),
        "make": _make(other.make, line),
        "count": round(other.count, 2),
    }


def _plain(board: float) -> int | float:
    return int(board) if board == int(board) else board
