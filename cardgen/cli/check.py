"""``cardgen check``."""

import click

from cardgen.cli.options import every, say
from cardgen.press import check_file


@click.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
def command(files: tuple[str, ...]) -> None:
    """Check profiles, lane files and shot logs for mistakes; all of them are listed."""
    for name, warnings in zip(files, every(files, check_file), strict=True):
        for warning in warnings:
            say(str(warning))
        click.echo(f"{name}: fine")
