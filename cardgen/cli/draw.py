"""``cardgen draw``."""

from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import (
    force_option,
    format_asked,
    leaves_of,
    look_options,
    looks,
    opened,
    say,
    size_options,
    words_option,
)
from cardgen.errors import CardgenError
from cardgen.press import doubts_of, job_of, unanswered_of


@click.command()
@click.argument("profile")
@click.argument("leave")
@click.option(
    "--svg",
    "path",
    type=click.Path(path_type=Path, dir_okay=False, allow_dash=True),
    default=Path("-"),
    help="File to write; without it the drawing goes to standard output.",
)
@click.option("--back", is_flag=True, help="Draw the back of the card.")
@look_options
@size_options("Format of the card, id1 unless it is said.")
@words_option
@force_option
def command(
    profile: str,
    leave: str,
    path: Path,
    back: bool,
    size: str | None,
    large_print: bool,
    mono: bool,
    template: str | None,
    font_files: tuple[Path, ...],
    language: str,
    force: bool,
) -> None:
    """Draw one card as SVG, for LEAVE such as 10, 3-10 or strike."""
    (asked,) = leaves_of((leave,))
    fmt = format_asked(size, "id1", large_print=large_print)
    words = load_words(language)
    look = looks(template, font_files, words)
    job = job_of(opened(profile), words, [asked], mono=mono, template=look)
    if not job.chart.lines:
        raise CardgenError("\n".join(unanswered_of(job.chart)))
    for doubt in doubts_of(job.chart):
        say(doubt)
    svg = job.card_svg(job.chart.lines[0], fmt, back=back)
    if str(path) == "-":
        click.echo(svg, nl=not svg.endswith("\n"))
        return
    write_whole(path, svg.encode(), force=force)
    click.echo(path)
