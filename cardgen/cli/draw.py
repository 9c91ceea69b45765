"""``cardgen draw``."""

from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import force_option, leaves_of, opened, say, size_option, words_option
from cardgen.drawing.theme import FORMATS
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
@size_option("Size of the card.")
@words_option
@force_option
def command(
    profile: str, leave: str, path: Path, back: bool, size: str, language: str, force: bool
) -> None:
    """Draw one card as SVG, for LEAVE such as 10, 3-10 or strike."""
    (asked,) = leaves_of((leave,))
    job = job_of(opened(profile), load_words(language), [asked])
    if not job.chart.lines:
        raise CardgenError("\n".join(unanswered_of(job.chart)))
    for doubt in doubts_of(job.chart):
        say(doubt)
    svg = job.card_svg(job.chart.lines[0], FORMATS[size], back=back)
    if str(path) == "-":
        click.echo(svg, nl=not svg.endswith("\n"))
        return
    write_whole(path, svg.encode(), force=force)
    click.echo(path)
