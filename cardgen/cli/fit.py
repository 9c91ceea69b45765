"""``cardgen fit``."""

import json
from pathlib import Path

import click

from cardgen.atomicfile import write_whole
from cardgen.cards.changes import change_rows
from cardgen.cards.fitted import FitReport
from cardgen.cards.words import load_words
from cardgen.cli.options import opened, shots_of, words_option
from cardgen.cli.speaking import advise, say, show, stage, typed
from cardgen.cli.tables import aligned, paragraphs
from cardgen.errors import CardgenError, UsageError
from cardgen.fitting import Fitting, fitting_of
from cardgen.profile.loader import find_profile
from cardgen.profile.writing import is_demo, refuse_demo, with_section

_KEYS = """--json prints the bowler; how many shots and lines of his own count; settled, whether the
fit came to rest; wild, the shots taken as none of his; values, each with its value and standard
deviation before and after; spread, his angle_deg, laydown_boards and speed_mph; and what changed,
each leave with its line before and after (ball, stand, target; null if there is none)."""


@click.command(epilog=_KEYS)
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

    PROFILE is a YAML file, or the name of a demo bowler. LOG is a table (.csv, .tsv), a list in
    YAML, or a sheet of cardgen log filled in as PDF; its columns are those of the sheet. A fit
    begins with what the profile says each time, so give all the logs that count. Without --write it
    only shows what it finds.
    """
    words = load_words(language)
    path = find_profile(profile)
    if write:
        refuse_demo(path)
    loaded = opened(str(path))
    shots, skipped = shots_of(logs, skip_bad=skip_bad)
    if silent := sum(not shot.tells for shot in shots):
        say(f"rows that tell nothing but a line: {silent}")
    with stage("fit", f"Fitting to {len(shots)} shots" if shots else "Fitting"):
        fitting = fitting_of(loaded, shots, words)
    if fitting is None:
        raise UsageError(
            f"{profile}: there is nothing to fit to: give a log of shots, or put known_lines into "
            "the profile"
        )
    with stage("charts before and after", "Working out what changes"):
        told = (
            json.dumps(fitting.record(), ensure_ascii=False, indent=2)
            if as_json
            else "\n".join(_told(fitting, fitting.report()))
        )
    show(told)
    if write:
        if not fitting.fit.settled:
            raise CardgenError(f"{path}: not written: the fit has not settled")
        write_whole(path.resolve(), with_section(path, fitting.section()), force=True)
        say(f"{path}: written")
        advise(f"Print anew: {typed('make', profile)}")
    elif as_json or not fitting.fit.settled:
        pass
    elif is_demo(path):
        advise("This bowler is a demo. For a profile of your own: cardgen new")
    else:
        again = [profile, *logs, *(["--skip-bad"] if skipped else []), "--write"]
        say(words("fit.next", command=typed("fit", *again)))
    return 1 if skipped else 0


def _told(fitting: Fitting, report: FitReport) -> list[str]:
    rows = [report.headings, *((r.label, r.before, r.after, r.unit) for r in report.rows)]
    lines = [*paragraphs(report.title), ""]
    lines += aligned(rows, right=(1, 2), spare=(3, 1), wrap=(3, 0), head=True, strong=(2,))
    if report.sure:
        sure = [report.sure_heading, *report.sure]
        lines += ["", *aligned(sure, right=(1, 2), spare=(1,), wrap=(0,), head=True, strong=(2,))]
    changed = change_rows(fitting.changes, fitting.words)
    words = fitting.words
    told = words("fit.changed", count=len(changed)) if changed else words("fit.unchanged")
    lines += ["", *paragraphs(told), *aligned(changed, spare=(1,), strong=(2,), indent=2)]
    return [*lines, "", *paragraphs(*report.notes)]
