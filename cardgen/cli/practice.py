"""``cardgen practice``."""

import json

import click

from cardgen.cards.drill import drill_rows, practice_rows, sure_text
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, words_option
from cardgen.cli.speaking import advise, say, show, stage, typed
from cardgen.cli.tables import aligned, paragraphs
from cardgen.errors import CardgenError
from cardgen.press import doubts_of, job_of
from cardgen.targeting.drill import DRILL_THROWS, Drill, Practice

_KEYS = """--json prints unsure_boards, one standard deviation of where the ball arrives now; next,
each throw with its leave, ball, stand, target, the number of throws, and unsure_boards after them;
and practice, each leave with how often in 100 first balls it is faced, the chance to make it now
and with steadier shots (0 to 1), and what that wins in 100 first balls."""


@click.command(epilog=_KEYS)
@click.argument("profile")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@words_option
def command(profile: str, as_json: bool, language: str) -> None:
    """Tell what to throw next, and which leaves are worth practising.

    PROFILE is a YAML file, or the name of a demo bowler. The lines to throw next are those whose
    shots would tell most about this bowler: write them down and give them to cardgen fit. The sheet
    for it is made by cardgen make --as practice.
    """
    words = load_words(language)
    loaded = opened(profile)
    with stage("chart", "Working out the chart"):
        job = job_of(loaded, words)
    for doubt in doubts_of(job.chart):
        say(doubt)
    with stage("what to throw, and what practice wins", "Weighing what to throw"):
        drill, plan = job.answers.drill, job.answers.practice
    if as_json:
        show(json.dumps(_record(drill, plan), indent=2))
    if drill is None:
        raise CardgenError(f"{profile}: no line comes to any spare: there is nothing to practise")
    if as_json:
        return
    rows = [words.all("drill.headings"), *drill_rows(drill, words)]
    lines = [
        words("drill.title"),
        *aligned(rows, right=(1, 2), head=True, strong=(1, 2)),
        *paragraphs(words("drill.intro", throws=DRILL_THROWS), sure_text(drill, words)),
    ]
    if plan:
        rows = [words.all("drill.plan_headings"), *practice_rows(plan, words, len(plan))]
        # Without its chances a leave still has what practice wins; without that, nothing.
        table = aligned(rows, right=(1, 2, 3, 4), spare=(3, 2, 1), head=True)
        lines += ["", words("drill.plan_title"), *table, *paragraphs(words("drill.plan_note"))]
    show("\n".join(lines))
    advise(f"As a sheet with a log to fill in: {typed('make', profile, '--as', 'practice')}")


def _record(drill: Drill | None, plan: tuple[Practice, ...]) -> dict[str, object]:
    if drill is None:
        return {"unsure_boards": None, "next": [], "practice": []}
    return {
        "unsure_boards": round(drill.unsure_boards, 3),
        "next": [
            {
                "leave": list(throw.line.leave),
                "ball": throw.line.ball,
                "stand": throw.line.stand,
                "target": throw.line.target,
                "throws": DRILL_THROWS,
                "unsure_boards": round(throw.unsure_boards, 3),
            }
            for throw in drill.throws
        ],
        "practice": [
            {
                "leave": list(each.line.leave),
                "faced": round(each.faced, 3),
                "make": round(each.line.odds.make, 4),
                "steadier": round(each.better, 4),
                "wins": round(each.wins, 3),
            }
            for each in plan
        ],
    }
