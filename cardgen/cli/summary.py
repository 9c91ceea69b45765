"""What the answers to an interview come to: rows, each of which can be changed."""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cardgen.cli.answers import named, worded
from cardgen.cli.interview import (
    BAG_TOPIC,
    MORE_TOPIC,
    TURN,
    TURN_TOPIC,
    leave_of,
    line_topic,
    lines_of,
    way_of,
)
from cardgen.cli.tables import aligned
from cardgen.profile.composing import defaults_of
from cardgen.units import FOOT_M, KMH_MPS, MPH_MPS, POUND_KG
from cardgen.yamlsource import Value

_LEAST_TEXT = 12
"""Columns that a row's text has, however narrow the terminal is."""
_WALKS = {
    "along": "along the line of the shot",
    "between": "half-way to that line",
    "straight": "straight ahead",
}
_BOWLER = (
    ("bowler", "Name"),
    ("hand", "Hand"),
    ("style", "Style"),
    ("spread", "Steadiness"),
    ("stand.distance_ft", "Start"),
    ("stand.ball_gap_boards", "Foot to ball"),
    ("stand.walk", "Walk"),
    ("stand.drift_boards", "Drift"),
    (BAG_TOPIC, "Balls"),
)
_ONE_BALL = (
    ("balls.spare.cover", "Ball"),
    ("balls.spare.weight_lb", "its weight"),
)
_TWO_BALLS = (
    ("balls.spare.cover", "Spare ball"),
    ("balls.spare.weight_lb", "its weight"),
    ("balls.strike.cover", "Strike ball"),
    ("balls.strike.weight_lb", "its weight"),
)
_THROWS_AND_LANE = (
    ("balls.spare.speed_mph", "Spare speed"),
    ("balls.strike.speed_mph", "Strike speed"),
    (TURN_TOPIC, "Strike turn"),
    ("lane", "Lane"),
)


@dataclass(frozen=True)
class Row:
    """What a profile says of one ``topic`` of the interview, which can be changed."""

    topic: str
    label: str
    text: str


def rows_of(given: Mapping[str, Value], topics: Sequence[str]) -> list[Row]:
    """Return what a profile says, and where it says nothing, in the order of the questions.

    ``topics`` are those of the conversation; what it did not ask is no row.
    """
    values = {**defaults_of(given), **given}
    one = "balls.strike.cover" not in topics
    rows = []
    for topic, label in (*_BOWLER, *(_ONE_BALL if one else _TWO_BALLS), *_THROWS_AND_LANE):
        default = "" if _is_given(topic, given) else " (default)"
        rows.append(Row(topic, label, f"{_said(topic, values, one=one)}{default}"))
    return [*rows, *_line_rows(given, topics), Row(MORE_TOPIC, "Other leaves", "no line")]


def _line_rows(given: Mapping[str, Value], topics: Sequence[str]) -> Iterator[Row]:
    lines = {line_topic(str(line["leave"])): line for line in lines_of(given)}
    for topic in topics:
        if (leave := leave_of(topic)) is not None:
            text = _line_said(lines[topic]) if topic in lines else "no line"
            yield Row(topic, named(leave).capitalize(), text)


def summary(rows: Sequence[Row], width: int) -> list[str]:
    """Return ``rows``, numbered from 1, as lines.

    They are ``width`` columns wide at most, if a label and a word go into that.
    """
    numbered = [(str(number), row.label, row.text) for number, row in enumerate(rows, 1)]
    taken = sum(max(len(cells[column]) for cells in numbered) + len("  ") for column in (0, 1))
    return list(
        aligned(
            [
                ("", "", line) if again else (number, label, line)
                for number, label, text in numbered
                for again, line in enumerate(textwrap.wrap(text, max(width - taken, _LEAST_TEXT)))
            ],
            right=(0,),
        )
    )


def _said(topic: str, values: Mapping[str, Value], *, one: bool) -> str:
    """Return what is told of a topic; a measure in both units, so that a wrong one is seen."""
    if topic == BAG_TOPIC:
        return "one for everything" if one else "one for spares, one for strikes"
    if topic == TURN_TOPIC:
        rev, rotation = (worded(values[field]) for field in TURN)
        return f"{rev} rpm, axis rotation {rotation} degrees"
    value = values[topic]
    text = worded(value)
    if not isinstance(value, int | float):
        return text
    match topic.rpartition(".")[2]:
        case "walk":
            return _WALKS.get(way_of(value), f"{text} of the way to along the line")
        case "distance_ft":
            return f"{text} ft ({value * FOOT_M:.1f} m) behind the foul line"
        case "weight_lb":
            return f"{text} lb ({value * POUND_KG:.1f} kg)"
        case "speed_mph":
            return f"{text} mph ({value * MPH_MPS / KMH_MPS:.0f} km/h)"
        case "drift_boards" if value:
            return f"{worded(abs(value))} boards {'towards' if value > 0 else 'off'} the ball side"
    return f"{text} boards"


def _is_given(topic: str, given: Mapping[str, Value]) -> bool:
    if topic == BAG_TOPIC:
        return True
    fields = TURN if topic == TURN_TOPIC else (topic,)
    return any(field in given for field in fields)


def _line_said(line: Mapping[str, Value]) -> str:
    ball = line.get("ball", "spare")
    return f"stand on {worded(line['stand'])}, look at {worded(line['target'])}, {ball} ball"
