"""What the sheets to fill in say: the log of shots, and the questions that make a profile."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from cardgen.cards.words import Words
from cardgen.profile.intake import INTAKE, KNOWN_LINES
from cardgen.profile.schema import BallName
from cardgen.shotlog.columns import COLUMNS
from cardgen.shotlog.shot import Result

_COLUMN_WORDS = {
    "date": "forms.log_date",
    "ball": "forms.log_ball",
    "leave": "forms.log_leave",
    "stand_board": "forms.log_stand",
    "target_board": "forms.log_target",
    "arrows_board": "forms.log_arrows",
    "pins_board": "forms.log_pins",
    "result": "forms.log_result",
    "off_boards": "forms.log_off",
    "speed_mph": "forms.log_speed",
    "note": "forms.log_note",
}
_COLUMN_OPTIONS: Mapping[str, tuple[str, ...]] = {
    "ball": ("", *get_args(BallName)),
    "result": ("", *(result.value for result in Result)),
}
LOG_ROWS = 20
"""Shots on one page."""


@dataclass(frozen=True)
class LogColumn:
    """A column: its name in a log file, heading, what to write there, and the choices."""

    name: str
    heading: str
    hint: str
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class LogSheet:
    """The sheet on which shots are written down, in as many pages of ``LOG_ROWS`` as it needs.

    ``filled`` has what stands in the first rows already, by column.
    """

    title: str
    intro: str
    columns: tuple[LogColumn, ...]
    rows: int
    filled: tuple[Mapping[str, str], ...]
    shot: str
    cautions: str

    def field(self, row: int, column: LogColumn) -> str:
        """Return the form's name for a column of a row, rows counted from 1."""
        return f"shot.{row}.{column.name}"

    def value(self, row: int, column: LogColumn) -> str:
        """Return what stands there already."""
        return self.filled[row - 1].get(column.name, "") if row <= len(self.filled) else ""


@dataclass(frozen=True)
class Entry:
    """A question of the intake form: what is asked, its field, and what an answer looks like."""

    field: str
    label: str
    hint: str
    options: tuple[str, ...] = ()
    value: str = ""


@dataclass(frozen=True)
class Group:
    """Questions that stand under each other, under a heading if there is one."""

    entries: tuple[Entry, ...]
    heading: str = ""


@dataclass(frozen=True)
class Section:
    """Groups beside each other, under the section's title and a note (empty: none)."""

    title: str
    note: str
    groups: tuple[Group, ...]


@dataclass(frozen=True)
class LineTable:
    """The known lines: a row of entries for each, whose labels and hints are the headings."""

    title: str
    note: str
    rows: tuple[tuple[Entry, ...], ...]


@dataclass(frozen=True)
class IntakeSheet:
    """The questions from which a profile is made."""

    title: str
    intro: str
    sections: tuple[Section, ...]
    lines: LineTable
    cautions: str


def log_sheet(words: Words, *, filled: Sequence[Mapping[str, str]] = ()) -> LogSheet:
    """Return the log sheet, its first rows filled in with ``filled`` (column: text).

    Raises:
        ValueError: a row has a column that the sheet has not, or a word that is no choice there.
    """
    made = tuple(_log_column(name, words) for name in COLUMNS)
    options = {column.name: column.options for column in made}
    for row in filled:
        for name, text in row.items():
            if name not in options:
                raise ValueError(f"the log sheet has no column {name!r}")
            if options[name] and text not in options[name]:
                raise ValueError(f"{text!r} is no choice in the column {name!r}")
    return LogSheet(
        title=words("forms.log_title"),
        intro=words("forms.log_intro"),
        columns=made,
        rows=LOG_ROWS * max(1, -(-len(filled) // LOG_ROWS)),
        filled=tuple(dict(row) for row in filled),
        shot=words("forms.shot"),
        cautions=words("forms.cautions"),
    )


def _log_column(name: str, words: Words) -> LogColumn:
    heading, hint = words.all(_COLUMN_WORDS[name])
    return LogColumn(name, heading, hint, _COLUMN_OPTIONS.get(name, ()))


def intake_sheet(words: Words, values: Mapping[str, str] | None = None) -> IntakeSheet:
    """Return the intake form, filled in with ``values`` (see ``profile.intake.values_of``)."""
    options = {question.field: question.options for question in INTAKE}

    def entry(field: str, key: str) -> Entry:
        label, hint = words.all(key)
        # On a screen a choice can be taken back, on paper left blank.
        choices = ("", *options[field]) if options[field] else ()
        if choices and not hint:
            hint = ", ".join(options[field])
        return Entry(field, label, hint, choices, (values or {}).get(field, ""))

    def ball(name: BallName, heading: str, *more: Entry) -> Group:
        return Group(
            (
                entry(f"balls.{name}.cover", "forms.cover"),
                entry(f"balls.{name}.weight_lb", "forms.weight"),
                entry(f"balls.{name}.speed_mph", "forms.speed"),
                *more,
            ),
            heading,
        )

    return IntakeSheet(
        title=words("forms.intake_title"),
        intro=words("forms.intake_intro"),
        sections=(
            Section(
                words("forms.bowler_title"),
                "",
                (
                    Group(
                        (
                            entry("bowler", "forms.bowler"),
                            entry("hand", "forms.hand"),
                            entry("style", "forms.style"),
                        )
                    ),
                    Group((entry("spread", "forms.spread"), entry("lane", "forms.lane"))),
                ),
            ),
            Section(
                words("forms.stand_title"),
                words("forms.stand_note"),
                (
                    Group(
                        (
                            entry("stand.distance_ft", "forms.distance"),
                            entry("stand.ball_gap_boards", "forms.gap"),
                        )
                    ),
                    Group(
                        (
                            entry("stand.walk", "forms.walk"),
                            entry("stand.drift_boards", "forms.drift"),
                        )
                    ),
                ),
            ),
            Section(
                words("forms.balls_title"),
                words("forms.balls_note"),
                (
                    ball("spare", words("balls.spare")),
                    ball(
                        "strike",
                        words("balls.strike"),
                        entry("balls.strike.rev_rpm", "forms.revs"),
                        entry("balls.strike.rotation_deg", "forms.rotation"),
                    ),
                ),
            ),
        ),
        lines=LineTable(
            words("forms.lines_title"),
            words("forms.lines_note"),
            tuple(
                (
                    entry(f"known_lines.{row}.leave", "forms.line_leave"),
                    entry(f"known_lines.{row}.stand", "forms.line_stand"),
                    entry(f"known_lines.{row}.target", "forms.line_target"),
                    entry(f"known_lines.{row}.ball", "forms.line_ball"),
                )
                for row in range(1, KNOWN_LINES + 1)
            ),
        ),
        cautions=words("forms.cautions"),
    )
