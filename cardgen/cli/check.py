"""``cardgen check``."""

import click

from cardgen.cli.options import every, say
from cardgen.press import check_file


@click.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
def command(files: tuple[str, ...]) -> None:
    """Check profiles and lane files for mistakes; all of them are listed, and nothing is made."""
    for name, warnings in zip(files, every(files, check_file), strict=True):
        for warning in warnings:
            say(str(warning))
        click.echo(f"{name}: fine")
