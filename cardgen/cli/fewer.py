"""``cardgen fewer``."""

import json

import click

from cardgen.cards.fewlines import curve_text, few_rows, own_text
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, words_option
from cardgen.cli.speaking import advise, show, stage, typed
from cardgen.cli.tables import aligned, paragraphs
from cardgen.errors import CardgenError
from cardgen.press import job_of
from cardgen.targeting.fewer import FewLines, few_lines

_KEYS = """--json prints lines, each with its ball, stand, target and what it serves (leave: its
pins; make: its chance, 0 to 1); kept, the share of all lines' spares that one line keeps, two, and
so on; and exact, whether no other lines could keep more."""


@click.command(epilog=_KEYS)
@click.argument("profile")
@click.option(
    "--lines",
    "count",
    metavar="N",
    type=click.IntRange(1, 30),
    help="So many lines; without it as many as keep 95 in 100, 8 at most.",
)
@click.option("--json", "as_json", is_flag=True, help="Print them as JSON.")
@words_option
def command(profile: str, count: int | None, as_json: bool, language: str) -> None:
    """Choose the few lines that keep most of the spares, each for several leaves.

    PROFILE is a YAML file, or the name of a demo bowler. The lines are the first page of a booklet.
    Spares count as often as this bowler faces them.
    """
    words = load_words(language)
    loaded = opened(profile)
    with stage("chart", "Working out the chart"):
        job = job_of(loaded, words)
    with stage("few lines", "Choosing lines"):
        few = few_lines(job.chart, count)
    if as_json:
        show(json.dumps(_record(few), indent=2))
    if few is None:
        raise CardgenError(f"{profile}: no line comes to any spare")
    if as_json:
        return
    heads = tuple(words(f"table.{name}") for name in ("stand", "target", "ball", "leave"))
    rows = [heads, *few_rows(few, words)]
    table = aligned(rows, right=(0, 1), wrap=(3,), head=True, strong=(0, 1))
    said = paragraphs(*own_text(job.chart, words), curve_text(few, words))
    show("\n".join([*table, "", *said]))
    advise(f"On a sheet that folds to a booklet: {typed('make', profile, '--as', 'pocket')}")


def _record(few: FewLines | None) -> dict[str, object]:
    if few is None:
        return {"lines": [], "kept": [], "exact": []}
    return {
        "lines": [
            {
                "ball": line.ball,
                "stand": line.stand,
                "target": line.target,
                "serves": [
                    {"leave": list(each.leave), "make": round(each.make, 4)} for each in line.serves
                ],
            }
            for line in few.lines
        ],
        "kept": [round(share, 4) for share in few.kept],
        "exact": list(few.exact),
    }
