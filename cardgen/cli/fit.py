"""``cardgen fit``."""

import json
import shlex
from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.changes import change_rows
from cardgen.cards.fitted import FitReport
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, say, shots_of, words_option
from cardgen.cli.tables import aligned
from cardgen.errors import CardgenError, UsageError
from cardgen.fitting import Fitting, fitting_of
from cardgen.profile.loader import find_profile
from cardgen.profile.writing import is_demo, refuse_demo, with_section


@click.command()
@click.argument("profile")
@click.argument("logs", metavar="[LOG]...", nargs=-1, type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Put what is found into the profile.")
@click.option("--skip-bad", is_flag=True, help="Use the good rows of a log that has bad ones.")
@click.option("--json", "as_json", is_flag=True, help="Print what is found as JSON.")
@words_option
def command(
    profile: str,
    logs: tuple[Path, ...],
    write: bool,
    skip_bad: bool,
    as_json: bool,
    language: str,
) -> int:
    """Fit a bowler's numbers to shots and known lines.

    LOG is a table (.csv, .tsv), a list in YAML, or a log sheet filled in as PDF; its columns are
    those of the log sheet. A fit begins with what the profile says each time, so give all the logs
    that count.
    """
    words = load_words(language)
    path = find_profile(profile)
    if write:
        refuse_demo(path)
    loaded = opened(str(path))
    shots, skipped = shots_of(logs, skip_bad=skip_bad)
    if silent := sum(not shot.tells for shot in shots):
        say(f"rows that tell nothing but a line: {silent}")
    fitting = fitting_of(loaded, shots, words)
    if fitting is None:
        raise UsageError(
            f"{profile}: there is nothing to fit to: give a log of shots, or put known_lines into "
            "the profile"
        )
    if as_json:
        click.echo(json.dumps(fitting.record(), ensure_ascii=False, indent=2))
    else:
        click.echo("\n".join(_told(fitting, fitting.report())))
    if write:
        if not fitting.fit.settled:
            raise CardgenError(f"{path}: not written: the fit has not settled")
        write_whole(path.resolve(), with_section(path, fitting.section()), force=True)
        say(f"{path}: written")
    elif not as_json and fitting.fit.settled and not is_demo(path):
        again = [profile, *map(str, logs), *(["--skip-bad"] if skipped else []), "--write"]
        say(words("fit.next", command=shlex.join(["cardgen", "fit", *again])))
    return 1 if skipped else 0


def _told(fitting: Fitting, report: FitReport) -> list[str]:
    rows = [report.headings, *((r.label, r.before, r.after, r.unit) for r in report.rows)]
    lines = [report.title, "", *aligned(rows, right=(1, 2))]
    if report.sure:
        lines += ["", *aligned([report.sure_heading, *report.sure], right=(1, 2))]
    changed = change_rows(fitting.changes, fitting.words)
    words = fitting.words
    told = words("fit.changed", count=len(changed)) if changed else words("fit.unchanged")
    lines += ["", told, *(f"  {line}" for line in aligned(changed))] if changed else ["", told]
    return [*lines, "", *report.notes]
