"""``cardgen chart``."""

import json

import click

from cardgen.cards.table import Table, record_of, table_of
from cardgen.cards.words import load_words
from cardgen.cli.options import leaves_of, opened, words_option
from cardgen.cli.speaking import advise, insist, say, show, stage, typed
from cardgen.cli.tables import aligned, paragraphs
from cardgen.press import doubts_of, job_of, unanswered_of

_FIGURES = (1, 2, 4)  # the columns of figures
_CALL = (1, 2)  # stand and target: what a bowler looks for
_SPARE = (5, 4)  # room and chance: one can do without them at the lane


@click.command()
@click.argument("profile")
@click.argument("leaves", metavar="[LEAVE]...", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print the chart as JSON.")
@words_option
def command(profile: str, leaves: tuple[str, ...], as_json: bool, language: str) -> int:
    """Show where to stand and look for each leave.

    PROFILE is a YAML file, or the name of a demo bowler. LEAVE is pin numbers joined by dashes,
    such as 3-10, or strike for the full rack; without any, the strike line, the ten single pins,
    the leaves of several pins that this bowler will face most, and those he has lines of his own
    for.
    """
    words = load_words(language)
    asked = leaves_of(leaves) or None
    loaded = opened(profile)
    with stage("chart", "Working out the chart"):
        job = job_of(loaded, words, asked)
    chart = job.chart
    if as_json:
        record = record_of(chart, words, job.answers.strike)
        show(json.dumps(record, ensure_ascii=False, indent=2))
    elif chart.lines:
        table = table_of(chart, words)
        show("\n".join(_aligned(table)))
    for doubt in doubts_of(chart):
        say(doubt)
    for missing in unanswered_of(chart):
        insist(missing)
    if chart.lines and not as_json:
        advise(f"As cards: {typed('make', profile)}")
    return 1 if chart.unanswered else 0


def _aligned(table: Table) -> list[str]:
    """Return the table's lines: names left, figures right under their headings."""
    rows = [
        (
            f"{row.leave} {table.own_mark}" if row.own else row.leave,
            row.stand,
            row.target,
            row.ball,
            row.chance,
            row.room,
        )
        for row in table.rows
    ]
    headings = (*table.headings, table.room_heading)
    lines = aligned([headings, *rows], right=_FIGURES, spare=_SPARE, head=True, strong=_CALL)
    return [*lines, "", *paragraphs(*table.notes)]
