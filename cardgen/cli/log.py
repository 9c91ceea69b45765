"""``cardgen log``."""

from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.words import load_words
from cardgen.cli.options import force_option, paper_option, shots_of, words_option
from cardgen.cli.speaking import advise, show, typed
from cardgen.errors import UsageError
from cardgen.press import log_pdf
from cardgen.sheets.papers import PAPERS
from cardgen.shotlog.writing import csv_of

_SUFFIXES = (".csv", ".pdf")


@click.command()
@click.argument("logs", metavar="[LOG]...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--to",
    "path",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="File to write: a table (.csv), or a sheet to write on and to fill in (.pdf).",
)
@click.option("--skip-bad", is_flag=True, help="Use the good rows of a log that has bad ones.")
@paper_option("Paper of the sheet.")
@words_option
@force_option
def command(
    logs: tuple[Path, ...], path: Path, skip_bad: bool, paper: str, language: str, force: bool
) -> int:
    """Print an empty shot log, or turn logs into a table or sheet.

    LOG is a table (.csv, .tsv), a list in YAML, or a sheet filled in as PDF; without any, what is
    written is empty.
    """
    words = load_words(language)
    if path.suffix.lower() not in _SUFFIXES:
        raise UsageError(f"{path}: name a file that ends in {' or '.join(_SUFFIXES)}")
    shots, skipped = shots_of(logs, skip_bad=skip_bad)
    if skipped and path.resolve() in [log.resolve() for log in logs]:
        raise UsageError(f"{path}: the rows left out would be lost; write to another file")
    if path.suffix.lower() == ".csv":
        data = csv_of(shots).encode()
    else:
        data = log_pdf(words, PAPERS[paper], shots)
    write_whole(path, data, force=force)
    show(path)
    advise(f"With shots in it: {typed('fit', 'PROFILE', path)}")
    return 1 if skipped else 0
