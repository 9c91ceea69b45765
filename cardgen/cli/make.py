"""``cardgen make``."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import (
    every,
    force_option,
    format_asked,
    layout_of,
    layout_options,
    look_options,
    looks,
    opened,
    page_asked,
    paper_option,
    say,
    size_options,
    words_option,
)
from cardgen.drawing.theme import Format, format_of
from cardgen.filenames import distinct_stems
from cardgen.handouts import POSTERS, Handout, leave_handouts, lessons, poster, worksheets
from cardgen.layouts import Binding, Layout, settings_of
from cardgen.preflight import passed
from cardgen.press import Document, Job, doubts_of, job_of, unanswered_of
from cardgen.sheets.papers import PAPERS

_POCKET_PAGES = {"a4": "a7", "letter": "mini-letter"}  # an eighth of the paper


@dataclass(frozen=True)
class _Order:
    """What was asked for, but for the profiles."""

    paper: str
    size: str | None
    large_print: bool
    binding: Binding
    poster_size: str
    layout: Layout
    date: str

    def pages(self) -> Format:
        return page_asked(self.size, large_print=self.large_print)

    def cards(self) -> Format:
        return format_asked(self.size, "id1", large_print=self.large_print)


def _booklet(job: Job, order: _Order) -> Iterator[Document]:
    yield job.booklet(
        order.pages(),
        binding=order.binding,
        paper=order.layout.paper,
        offset=order.layout.offset,
        date=order.date,
    )


def _pocket(job: Job, order: _Order) -> Iterator[Document]:
    fmt = format_of(_POCKET_PAGES[order.paper])
    yield job.pocket(fmt, paper=order.layout.paper, date=order.date)


def _cards(job: Job, order: _Order) -> Iterator[Document]:
    yield from job.cards(order.cards(), order.layout)


def _practice(job: Job, order: _Order) -> Iterator[Document]:
    yield job.practice_sheets(order.layout.paper)


def _handout(
    make: Callable[[Job, _Order], Handout],
) -> Callable[[Job, _Order], Iterator[Document]]:
    def made(job: Job, order: _Order) -> Iterator[Document]:
        handout = make(job, order)
        findings = passed(handout.scenes, kind="handout", forgiven=("overlap",))
        yield Document("", job.inked(handout.scenes), handout.info, findings)

    return made


_PRODUCTS: dict[str, Callable[[Job, _Order], Iterator[Document]]] = {
    "booklet": _booklet,
    "pocket": _pocket,
    "cards": _cards,
    "practice": _practice,
    "handout": _handout(lambda job, order: leave_handouts(job, order.layout.paper)),
    "worksheet": _handout(lambda job, order: worksheets(job, order.layout.paper)),
    "lessons": _handout(lambda job, order: lessons(job, order.layout.paper)),
    "poster": _handout(lambda job, order: poster(job, POSTERS[order.poster_size])),
}


@click.command()
@click.argument("profiles", metavar="PROFILE...", nargs=-1, required=True)
@click.option(
    "--as",
    "products",
    type=click.Choice(list(_PRODUCTS)),
    multiple=True,
    default=["booklet"],
    help="What to make; may be given more than once. pocket is one sheet that folds to eight pages "
    "of the lines to remember, practice what to throw next with a log to fill in.  "
    "[default: booklet]",
)
@paper_option("Paper of all that is printed on sheets.")
@size_options("Format of the cards, id1 unless it is said, and of a booklet's pages, as a rule a7.")
@click.option(
    "--binding",
    type=click.Choice(["pages", "saddle"]),
    default="pages",
    show_default=True,
    help="A booklet's pages one by one, or on sheets to fold into each other and stitch.",
)
@layout_options
@click.option("--poster-size", type=click.Choice(sorted(POSTERS)), default="a3", show_default=True)
@look_options
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
    binding: Binding,
    poster_size: str,
    template: str | None,
    font_files: tuple[Path, ...],
    date: str,
    out: Path,
    language: str,
    force: bool,
    **sheets: Any,
) -> int:
    """Print booklets, cards, handouts and more as PDF.

    One file a bowler and product. PROFILE is a YAML file, or the name of a demo bowler. Nothing is
    written unless every profile is right.
    """
    order = _Order(
        paper, size, large_print, binding, poster_size, layout_of(PAPERS[paper], **sheets), date
    )
    if "booklet" in products:
        order.pages()  # a format that no booklet has is told before anything is computed
    if "cards" in products:
        order.cards()
    words = load_words(language)
    look = looks(template, font_files, words)
    loaded = every(profiles, opened)
    stems = distinct_stems(one.profile.bowler for one in loaded)
    made: list[tuple[Path, bytes]] = []
    whole = True
    for stem, one in zip(stems, loaded, strict=True):
        job = job_of(one, words, mono=mono, template=look)
        for said in (*doubts_of(job.chart), *unanswered_of(job.chart)):
            say(f"{one.source}: {said}")
        whole = whole and not job.chart.unanswered
        if not job.chart.lines:
            continue
        for product in dict.fromkeys(products):
            for document in _PRODUCTS[product](job, order):
                path = out / f"{stem}-{product}{document.ending}.pdf"
                for finding in document.findings:
                    say(f"{path}: {finding}")
                made.append((path, document.pdf()))
    for path, _ in made:
        refuse_to_bury(path, force=force)
    for path, data in made:
        write_whole(path, data, force=force)
        click.echo(path)
    if made and "cards" in products:
        for setting in settings_of(order.layout, words):
            say(f"{setting[:1].upper()}{setting[1:]}.")
    return 0 if whole else 1
