"""``cardgen make``."""

from collections.abc import Iterable, Iterator
from itertools import product
from pathlib import Path
from typing import Any

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import (
    every,
    force_option,
    layout_of,
    layout_options,
    look_options,
    looks,
    opened,
    out_option,
    paper_option,
    size_options,
    words_option,
)
from cardgen.cli.speaking import advise, detail, insist, progressing, say, show, typed
from cardgen.clinic.several import USUAL, Made, Note, Wish, endings_known, made_of_each
from cardgen.drawing.fonts import check_printable
from cardgen.errors import UsageError
from cardgen.filenames import distinct_stems
from cardgen.handouts import POSTERS
from cardgen.layouts import Binding
from cardgen.products import PAGE, PRODUCTS, FileType, Order, check_order
from cardgen.sheets.binding import HOLES, HoleName
from cardgen.sheets.papers import PAPERS


@click.command()
@click.argument("profiles", metavar="PROFILE...", nargs=-1, required=True)
@click.option(
    "--as",
    "products",
    type=click.Choice(PRODUCTS),
    multiple=True,
    help="What to make; may be given more than once. pocket is one sheet that folds to eight pages "
    "of the lines to remember, practice what to throw next with a log to fill in, page the cards "
    "for a phone as one HTML file.  [default: pocket]",
)
@paper_option("Paper of all that is printed on sheets.")
@size_options("Format of the cards, id1 unless it is said, and of a booklet's pages, as a rule a7.")
@click.option(
    "--binding",
    type=click.Choice(["pages", "saddle"]),
    default="pages",
    show_default=True,
    help="A booklet's pages one by one, or on sheets to cut, fold into each other and stitch.",
)
@layout_options
@click.option(
    "--holes",
    type=click.Choice(list(HOLES)),
    help="Holes that handouts leave room for.  [default: two, three on Letter]",
)
@click.option(
    "--poster-size",
    type=click.Choice(sorted(POSTERS)),
    default="a3",
    show_default=True,
    help="Paper of a poster.",
)
@look_options
@click.option(
    "--file-type",
    type=click.Choice(["pdf", "svg", "png"]),
    default="pdf",
    show_default=True,
    help="PDF, or a file for each page: SVG, or PNG (which needs cardgen[png]).",
)
@click.option(
    "--dpi",
    metavar="N",
    type=click.FloatRange(10, 1200),
    default=300,
    show_default=True,
    help="Dots an inch of PNG.",
)
@click.option("--date", default="", metavar="TEXT", help="Print this date on the cover.")
@out_option
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
    holes: HoleName | None,
    poster_size: str,
    template: str | None,
    font_files: tuple[Path, ...],
    file_type: FileType,
    dpi: float,
    date: str,
    out: Path,
    language: str,
    force: bool,
    **sheets: Any,
) -> int:
    """Print booklets, cards, handouts and more.

    Without --as, the lines to remember on one sheet to fold. One file a bowler and product. PROFILE
    is a YAML file, or the name of a demo bowler. Nothing is written unless every profile is right;
    then each bowler's files are, as soon as they are made.
    """
    layout = layout_of(PAPERS[paper], **sheets)
    order = Order(layout, size, large_print, binding, poster_size, holes, date)
    check_order(order, products or [USUAL])  # before a template or a profile is looked at
    if file_type != "pdf" and set(products) == {PAGE}:
        raise UsageError("--as page is one HTML file; leave --file-type out")
    words = load_words(language)
    look = looks(template, font_files, words)
    order = order.like(look)
    check_order(order, products or [USUAL])
    check_printable(date, "--date")
    loaded = every(profiles, opened)
    stems = distinct_stems(one.profile.bowler for one in loaded)
    wish = Wish(
        tuple(dict.fromkeys(products)), order, language, mono, look, font_files, file_type, dpi
    )
    for stem, ending in product(stems, endings_known(wish)):
        refuse_to_bury(out / f"{stem}{ending}", force=force)
    settings: dict[str, None] = {}
    advice: list[str] = []
    whole = True
    bowlers = progressing(list(zip(stems, loaded, strict=True)), "Making")
    for (stem, one), made in zip(bowlers, made_of_each(loaded, wish), strict=True):
        _tell(made.notes)
        paths = {out / f"{stem}{file.ending}": file for file in made.files}
        for path in paths:
            refuse_to_bury(path, force=force)
        for path, file in paths.items():
            write_whole(path, file.data, force=force)
            show(path)
            advice = advice or list(_next(file.product, made, one.source, path))
        settings |= dict.fromkeys(made.settings)
        whole = whole and made.whole
    for setting in settings:
        say(words("spoken.sentence", text=f"{setting[:1].upper()}{setting[1:]}"))
    if advice:
        advise(advice[0])
    return 0 if whole else 1


def _tell(notes: Iterable[Note]) -> None:
    tellers = {"step": detail, "note": say, "missing": insist}
    for note in notes:
        tellers[note.kind](note.text)


def _next(product: str, made: Made, source: str, path: Path) -> Iterator[str]:
    """Yield what to do with a product, beyond what its settings say."""
    if product == "pocket":
        yield (
            "To fold: crease it to eighths, slit the solid line, fold it along the slit and push "
            "the ends together; page 1 is outside."
        )
    elif product == "practice" and path.suffix == ".pdf":
        yield f"With shots in it: {typed('fit', source, path)}"
    elif made.from_defaults and product in ("cards", "booklet"):
        practice = typed("make", source, "--as", "practice")
        yield f"Defaults are behind these lines. What to throw to make them your own: {practice}"
