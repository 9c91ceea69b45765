"""``cardgen practice``."""

import json

import click

from cardgen.cards.drill import drill_rows, practice_rows, sure_text
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, say, words_option
from cardgen.cli.tables import aligned
from cardgen.errors import CardgenError
from cardgen.press import doubts_of, job_of
from cardgen.targeting.drill import DRILL_THROWS, Drill, Practice


@click.command()
@click.argument("profile")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@words_option
def command(profile: str, as_json: bool, language: str) -> None:
    """Tell what to throw next, and which leaves are worth practising.

    The lines to throw next are those whose shots would tell most about this bowler: write them down
    and give them to cardgen fit. The sheet for it is made by cardgen make --as practice.
    """
    words = load_words(language)
    job = job_of(opened(profile), words)
    for doubt in doubts_of(job.chart):
        say(doubt)
    drill, plan = job.drill(), job.practice()
    if drill is None:
        raise CardgenError(f"{profile}: no line comes to any spare: there is nothing to practise")
    if as_json:
        click.echo(json.dumps(_record(drill, plan), indent=2))
        return
    lines = [
        words("drill.title"),
        *aligned([words.all("drill.headings"), *drill_rows(drill, words)], right=(1, 2)),
        words("drill.intro", throws=DRILL_THROWS),
        sure_text(drill, words),
    ]
    if plan:
        rows = [words.all("drill.plan_headings"), *practice_rows(plan, words, len(plan))]
        lines += ["", words("drill.plan_title"), *aligned(rows, right=(1, 2, 3, 4))]
        lines.append(words("drill.plan_note"))
    click.echo("\n".join(lines))


def _record(drill: Drill, plan: tuple[Practice, ...]) -> dict[str, object]:
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
