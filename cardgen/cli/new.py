"""``cardgen new``."""

from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cli.options import force_option
from cardgen.errors import UsageError
from cardgen.formsource import read_form
from cardgen.profile.intake import profile_text_of
from cardgen.resources import YAML_SUFFIXES


@click.command()
@click.argument("path", metavar="FILE.yaml", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--form",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="An intake form (PDF) that was filled in.",
)
@force_option
def command(path: Path, form: Path, force: bool) -> None:
    """Write a new profile from an intake form.

    Nothing is written unless every answer is right; the form itself is left as it is.
    """
    if path.suffix not in YAML_SUFFIXES:
        raise UsageError(f"{path}: name a file that ends in {' or '.join(YAML_SUFFIXES)}")
    write_whole(path, profile_text_of(read_form(form)).encode(), force=force)
    click.echo(path)
