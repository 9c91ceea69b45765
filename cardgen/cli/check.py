"""``cardgen check``."""

import json

import click

from cardgen.cli.speaking import advise, say, show, stage
from cardgen.errors import InputError, Problem
from cardgen.press import check_file

_KEYS = """--json prints checked, the files; and problems, each with its file, line and column (from
1, or null), where (the field), message, hint (or null) and kind: error or warning."""


@click.command(epilog=_KEYS)
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@click.option("--json", "as_json", is_flag=True, help="Print the mistakes as JSON.")
def command(files: tuple[str, ...], as_json: bool) -> int:
    """Check profiles, lane files, shot logs and rosters for mistakes; all of them are listed."""
    mistakes: list[Problem] = []
    told: dict[str, tuple[Problem, ...]] = {}
    for name in files:
        try:
            with stage(f"read {name}", "Reading"):
                told[name] = check_file(name)
        except InputError as error:
            mistakes += error.problems
    warnings = [problem for found in told.values() for problem in found]
    wrong = InputError(mistakes)
    if as_json:
        problems = [
            *(_record(problem, "error") for problem in wrong.problems),
            *(_record(problem, "warning") for problem in warnings),
        ]
        record = {"checked": list(files), "problems": problems}
        show(json.dumps(record, ensure_ascii=False, indent=2))
        return wrong.exit_code if mistakes else 0
    for warning in warnings:
        say(str(warning))
    if mistakes:
        raise wrong
    for name in files:
        show(f"{name}: {'no mistakes' if told[name] else 'fine'}")
    if len(files) > 1:
        advise("No mistakes.")
    return 0


def _record(problem: Problem, kind: str) -> dict[str, object]:
    return {
        "file": problem.source,
        "line": problem.line,
        "column": problem.column,
        "where": problem.where,
        "message": problem.message,
        "hint": problem.hint,
        "kind": kind,
    }
