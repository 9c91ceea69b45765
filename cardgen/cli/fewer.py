"""``cardgen fewer``."""

import json

import click

from cardgen.cards.fewlines import curve_text, few_rows, own_text
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, words_option
from cardgen.cli.tables import aligned
from cardgen.errors import CardgenError
from cardgen.press import job_of
from cardgen.targeting.fewer import few_lines


@click.command()
@click.argument("profile")
@click.option(
    "--lines",
    "count",
    type=click.IntRange(1, 30),
    help="So many lines; without it as many as keep 95 in 100, 8 at most.",
)
@click.option("--json", "as_json", is_flag=True, help="Print them as JSON.")
@words_option
def command(profile: str, count: int | None, as_json: bool, language: str) -> None:
    """Choose the few lines that keep most of the spares, each for several leaves.

    They are the first page of a booklet. Spares count as often as this bowler faces them.
    """
    words = load_words(language)
    job = job_of(opened(profile), words)
    few = few_lines(job.chart, count)
    if few is None:
        raise CardgenError(f"{profile}: no line comes to any spare")
    if as_json:
        record = {
            "lines": [
                {
                    "ball": line.ball,
                    "stand": line.stand,
                    "target": line.target,
                    "serves": [
                        {"leave": list(each.leave), "make": round(each.make, 4)}
                        for each in line.serves
                    ],
                }
                for line in few.lines
            ],
            "kept": [round(share, 4) for share in few.kept],
            "exact": list(few.exact),
        }
        click.echo(json.dumps(record, indent=2))
        return
    said = ["", *own_text(job.chart, words), curve_text(few, words)]
    click.echo("\n".join([*aligned(few_rows(few, words), right=(0, 1)), *said]))
