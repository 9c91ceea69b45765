"""``cardgen draw``."""

from pathlib import Path

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import (
    force_option,
    leaves_of,
    look_options,
    looks,
    opened,
    size_options,
    words_option,
)
from cardgen.cli.speaking import say, show, stage
from cardgen.errors import CardgenError, UsageError
from cardgen.press import doubts_of, job_of, unanswered_of
from cardgen.products import Order

DPI = 300
STDOUT = Path("-")
FILE = click.Path(path_type=Path, dir_okay=False, allow_dash=True)


@click.command()
@click.argument("profile")
@click.argument("leave")
@click.option(
    "--svg",
    type=FILE,
    help="SVG to write; without it, or a PNG, the drawing goes to standard output.",
)
@click.option("--png", type=FILE, help="PNG to write, of pixels (needs cardgen[png]).")
@click.option(
    "--dpi",
    metavar="N",
    type=click.FloatRange(min=1),
    help=f"Dots an inch of the PNG, {DPI} unless it is said.",
)
@click.option("--back", is_flag=True, help="Draw the back of the card.")
@look_options
@size_options("Format of the card, id1 unless it is said.")
@words_option
@force_option
def command(
    profile: str,
    leave: str,
    svg: Path | None,
    png: Path | None,
    dpi: float | None,
    back: bool,
    size: str | None,
    large_print: bool,
    mono: bool,
    template: str | None,
    font_files: tuple[Path, ...],
    language: str,
    force: bool,
) -> None:
    """Draw one card as SVG or PNG, for LEAVE such as 10, 3-10 or strike.

    PROFILE is a YAML file, or the name of a demo bowler.
    """
    if dpi is not None and png is None:
        raise UsageError("--dpi is for a PNG: name its file with --png")
    if svg is None and png is None:
        svg = STDOUT
    if svg == png:
        raise UsageError(f"--svg and --png both name {svg}: give each a file of its own")
    for path in (svg, png):
        if path is not None and path != STDOUT:
            refuse_to_bury(path, force=force)
    (asked,) = leaves_of((leave,))
    words = load_words(language)
    look = looks(template, font_files, words)
    fmt = Order(size=size, large_print=large_print).like(look).cards()
    loaded = opened(profile)
    with stage("chart", "Working out the chart"):
        job = job_of(loaded, words, [asked], mono=mono, template=look)
    if not job.chart.lines:
        raise CardgenError("\n".join(unanswered_of(job.chart)))
    for doubt in doubts_of(job.chart):
        say(doubt)
    made: list[tuple[Path, bytes]] = []
    with stage("drawing"):
        card = job.card_side(job.chart.lines[0], fmt, back=back)
        if svg is not None:
            made.append((svg, card.svg()[0].encode()))
        if png is not None:
            made.append((png, card.png(DPI if dpi is None else dpi)[0]))
    for path, data in made:
        if path == STDOUT:
            show(data, end="")
            continue
        write_whole(path, data, force=force)
        show(path)
