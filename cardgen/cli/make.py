"""``cardgen make``."""

from pathlib import Path

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import every, force_option, opened, say, size_option, words_option
from cardgen.drawing.theme import FORMATS
from cardgen.filenames import distinct_stems
from cardgen.press import Job, doubts_of, job_of, unanswered_of
from cardgen.sheets.papers import PAPERS


@click.command()
@click.argument("profiles", metavar="PROFILE...", nargs=-1, required=True)
@click.option(
    "--as",
    "products",
    type=click.Choice(["booklet", "cards"]),
    multiple=True,
    default=["booklet"],
    help="What to make; may be given twice.  [default: booklet]",
)
@click.option(
    "--paper",
    type=click.Choice(sorted(PAPERS)),
    default="a4",
    show_default=True,
    help="Paper that card sheets are printed on.",
)
@size_option("Size of the cards on a sheet; booklets have A7 pages.")
@click.option("--date", default="", metavar="TEXT", help="Print this date on the cover.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("out"),
    show_default=True,
    help="Folder to write into.",
)
@words_option
@force_option
def command(
    profiles: tuple[str, ...],
    products: tuple[str, ...],
    paper: str,
    size: str,
    date: str,
    out: Path,
    language: str,
    force: bool,
) -> int:
    """Print booklets or card sheets as PDF, one file a bowler.

    PROFILE is a YAML file, or the name of a demo bowler. Nothing is written unless every profile
    is right.
    """
    words = load_words(language)
    loaded = every(profiles, opened)
    stems = distinct_stems(one.profile.bowler for one in loaded)
    made: list[tuple[Path, bytes]] = []
    whole = True
    for stem, one in zip(stems, loaded, strict=True):
        job = job_of(one, words)
        for said in (*doubts_of(job.chart), *unanswered_of(job.chart)):
            say(f"{one.source}: {said}")
        whole = whole and not job.chart.unanswered
        if not job.chart.lines:
            continue
        for product in dict.fromkeys(products):
            made.append((out / f"{stem}-{product}.pdf", _print(job, product, size, paper, date)))
    for path, _ in made:
        refuse_to_bury(path, force=force)
    for path, data in made:
        write_whole(path, data, force=force)
        click.echo(path)
    if made and "cards" in products:
        say("Print the cards at actual size (100 %), two-sided, flipped on the long edge.")
    return 0 if whole else 1


def _print(job: Job, product: str, size: str, paper: str, date: str) -> bytes:
    if product == "cards":
        return job.cards_pdf(FORMATS[size], PAPERS[paper])
    return job.booklet_pdf(date=date)
