"""``cardgen check``."""

import click

from cardgen.cli.options import every
from cardgen.press import check_file


@click.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
def command(files: tuple[str, ...]) -> None:
    """Check profiles and lane files for mistakes; all of them are listed, and nothing is made."""
    every(files, check_file)
    for name in files:
        click.echo(f"{name}: fine")
