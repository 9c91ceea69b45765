"""``cardgen form``."""

from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import force_option, opened, paper_option, words_option
from cardgen.cli.speaking import advise, show, typed
from cardgen.errors import UsageError
from cardgen.press import intake_pdf
from cardgen.sheets.papers import PAPERS


@click.command()
@click.argument("path", metavar="FILE.pdf", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--profile", metavar="PROFILE", help="Fill in what this profile says.")
@paper_option("Paper of the form.")
@words_option
@force_option
def command(path: Path, profile: str | None, paper: str, language: str, force: bool) -> None:
    """Print the intake form: the questions from which cardgen new makes a profile.

    It is a PDF to fill in on a screen, or on paper and to type in later.
    """
    words = load_words(language)
    if path.suffix.lower() != ".pdf":
        raise UsageError(f"{path}: name a file that ends in .pdf")
    loaded = None if profile is None else opened(profile)
    write_whole(path, intake_pdf(words, PAPERS[paper], loaded), force=force)
    show(path)
    advise(f"Once it is filled in: {typed('new', 'NEW.yaml', '--form', path)}")
