"""``cardgen make``."""

from collections.abc import Iterator
from pathlib import Path

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import (
    every,
    force_option,
    format_asked,
    opened,
    page_asked,
    paper_option,
    say,
    size_options,
    words_option,
)
from cardgen.drawing.theme import Format
from cardgen.filenames import distinct_stems
from cardgen.layouts import Layout
from cardgen.press import Job, doubts_of, job_of, unanswered_of
from cardgen.sheets.papers import PAPERS


@click.command()
@click.argument("profiles", metavar="PROFILE...", nargs=-1, required=True)
@click.option(
    "--as",
    "products",
    type=click.Choice(["booklet", "cards", "practice"]),
    multiple=True,
    default=["booklet"],
    help="What to make; may be given more than once. practice is a sheet of what to throw next, "
    "with a log to fill in.  [default: booklet]",
)
@paper_option("Paper that card and practice sheets are printed on.")
@size_options("Format of the cards, id1 unless it is said, and of a booklet's pages, as a rule a7.")
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
    size: str | None,
    large_print: bool,
    mono: bool,
    date: str,
    out: Path,
    language: str,
    force: bool,
) -> int:
    """Print booklets or card sheets as PDF, one file a bowler.

    PROFILE is a YAML file, or the name of a demo bowler. Nothing is written unless every profile
    is right.
    """
    formats = {
        product: asked(size, large_print)
        for product, asked in _FORMATS.items()
        if product in products
    }
    words = load_words(language)
    loaded = every(profiles, opened)
    stems = distinct_stems(one.profile.bowler for one in loaded)
    made: list[tuple[Path, bytes]] = []
    whole = True
    for stem, one in zip(stems, loaded, strict=True):
        job = job_of(one, words, mono=mono)
        for said in (*doubts_of(job.chart), *unanswered_of(job.chart)):
            say(f"{one.source}: {said}")
        whole = whole and not job.chart.unanswered
        if not job.chart.lines:
            continue
        for product in dict.fromkeys(products):
            for ending, data in _print(job, product, formats.get(product), paper, date):
                made.append((out / f"{stem}-{product}{ending}.pdf", data))
    for path, _ in made:
        refuse_to_bury(path, force=force)
    for path, data in made:
        write_whole(path, data, force=force)
        click.echo(path)
    if made and "cards" in products:
        say("Print the cards at actual size (100 %), two-sided, flipped on the long edge.")
    return 0 if whole else 1


def _cards(size: str | None, large_print: bool) -> Format:
    return format_asked(size, "id1", large_print=large_print)


def _pages(size: str | None, large_print: bool) -> Format:
    return page_asked(size, large_print=large_print)


_FORMATS = {"cards": _cards, "booklet": _pages}


def _print(
    job: Job, product: str, fmt: Format | None, paper: str, date: str
) -> Iterator[tuple[str, bytes]]:
    """Yield each document of a product: what its name ends in, and its bytes."""
    if fmt is None:
        yield "", job.practice_pdf(PAPERS[paper])
    elif product == "cards":
        for document in job.cards(fmt, Layout(PAPERS[paper])):
            yield document.ending, document.pdf()
    else:
        document = job.booklet(fmt, date=date)
        yield document.ending, document.pdf()
