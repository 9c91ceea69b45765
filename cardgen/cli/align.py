"""``cardgen align``."""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import FLIPS, force_option, words_option
from cardgen.cli.speaking import advise, say, show, typed
from cardgen.cli.tables import aligned
from cardgen.drawing.alignpage import align_scenes
from cardgen.errors import UsageError
from cardgen.preflight import passed
from cardgen.printers import Offset, keep, load_printers, offset_of, printers_file
from cardgen.sheets.papers import PAPERS
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

_KEYS = """--json prints printers, by name, each with right_mm and up_mm."""


@click.command(epilog=_KEYS)
@click.argument("printer", required=False)
@click.option("--page", is_flag=True, help="Write the test page.")
@click.option(
    "--paper",
    type=click.Choice(sorted(PAPERS)),
    help="Paper of the test page.  [default: a4]",
)
@click.option(
    "--flip",
    type=click.Choice(list(FLIPS)),
    help="Edge on which the printer flips the test page.  [default: long]",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File to write the test page to.",
)
@click.option(
    "--right",
    type=float,
    metavar="MM",
    help="How far the back lies to the right of the front; to the left with a minus.",
)
@click.option(
    "--up",
    type=float,
    metavar="MM",
    help="How far the back lies above the front; below it with a minus.",
)
@click.option("--json", "as_json", is_flag=True, help="List printers as JSON.")
@words_option
@force_option
def command(
    printer: str | None,
    page: bool,
    paper: str | None,
    flip: str | None,
    out: Path | None,
    right: float | None,
    up: float | None,
    as_json: bool,
    language: str,
    force: bool,
) -> None:
    """Keep where each printer lays the back of a sheet, so that backs meet their fronts.

    Write the test page with --page --out FILE.pdf, print it on both sides, and read it against the
    light; it tells how. Then name the printer as you like and give what you read with --right and
    --up, both as seen from the front. Without anything, the printers are listed.

    With a printer that is kept, --page moves the back to make up for it: all should read 0.
    """
    reading = right is not None or up is not None
    if page and as_json:
        raise UsageError("--json is for the list of printers; leave --page out")
    if page and reading:
        raise UsageError("either write the test page with --page, or keep --right and --up")
    if page:
        if out is None:
            raise UsageError("--page needs --out, the file to write the test page to")
        write_whole(out, _page(printer, paper or "a4", flip or "long", language), force=force)
        show(out)
        say("Print it on one sheet, at actual size (100 %); the page tells the rest.")
        return
    given = {"--paper": paper, "--flip": flip, "--out": out}
    if without := [name for name, value in given.items() if value is not None]:
        raise UsageError(f"{without[0]} is for the test page; give --page as well")
    if reading:
        printer = _kept(printer, right, up)
        if not as_json:
            make = typed("make", "PROFILE", "--as", "cards", "--printer", printer)
            advise(f"Cards that make up for it: {make}")
    rows = {printer: offset_of(printer)} if printer is not None else load_printers()
    if as_json:
        show(json.dumps(_record(rows), ensure_ascii=False, indent=2))
    elif rows:
        show("\n".join(_listed(rows)))
    else:
        say("No printer is kept yet. Begin with: cardgen align --page --out FILE.pdf")


def _kept(printer: str | None, right: float | None, up: float | None) -> str:
    """Keep what was read of a printer's test page, and return what the printer is called."""
    if printer is None:
        raise UsageError("name the printer whose offset is to be kept, such as office")
    if right is None or up is None:
        raise UsageError("give both --right and --up, 0 for the one that is not off")
    name = keep(printer, Offset(right, -up))
    say(f"{printers_file()}: written")
    return name


def _page(printer: str | None, paper: str, flip: str, language: str) -> bytes:
    words, size = load_words(language), PAPERS[paper]
    offset = Offset() if printer is None else offset_of(printer)
    edge = FLIPS[flip]
    scenes = align_scenes(
        words, size.width_mm, size.height_mm, edge, offset=offset, printer=printer or ""
    )
    for warning in passed(scenes, kind="sheet"):
        say(str(warning))
    info = DocumentInfo(
        title=words("align.title"),
        subject=words("align.subject"),
        language=words.language,
        duplex=edge,
    )
    return pdf_bytes(scenes, info)


def _listed(rows: dict[str, Offset]) -> Iterator[str]:
    """Yield the printers with what the options would say of them."""
    heads = ("Printer", "--right", "--up")
    cells = [(name, f"{at.dx_mm:g}", f"{0.0 - at.dy_mm:g}") for name, at in rows.items()]
    return aligned([heads, *cells], right=(1, 2), wrap=(0,), head=True)


def _record(rows: dict[str, Offset]) -> dict[str, object]:
    printers = {name: {"right_mm": at.dx_mm, "up_mm": 0.0 - at.dy_mm} for name, at in rows.items()}
    return {"printers": printers}
