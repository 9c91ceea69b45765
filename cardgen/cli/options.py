"""Arguments and options that several commands share."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from cardgen.drawing.theme import FORMATS, Format, format_of
from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.press import open_profile
from cardgen.profile.loader import LoadedProfile, find_profile
from cardgen.sheets.papers import PAPERS
from cardgen.shotlog.reading import read_log
from cardgen.shotlog.shot import Shot

F = TypeVar("F", bound=Callable[..., Any])


def words_option(function: F) -> F:
    """Add ``--words``."""
    return click.option(
        "--words", "language", default="en", show_default=True, help="Language of the words."
    )(function)


def force_option(function: F) -> F:
    """Add ``--force``."""
    return click.option("--force", is_flag=True, help="Overwrite files that cardgen did not make.")(
        function
    )


def size_options(help_text: str) -> Callable[[F], F]:
    """Return a decorator that adds ``--size``, ``--large-print`` and ``--mono``."""
    names = ", ".join(sorted(FORMATS))

    def added(function: F) -> F:
        size = click.option(
            "--size",
            metavar="FORMAT",
            help=f"{help_text} One of {names}, or millimetres such as 60x90, width first.",
        )
        large = click.option(
            "--large-print",
            is_flag=True,
            help="Type half as large again, on A6 (the default then) and larger.",
        )
        mono = click.option("--mono", is_flag=True, help="Black and two greys, no colour.")
        return size(large(mono(function)))

    return added


def format_asked(size: str | None, usual: str, *, large_print: bool) -> Format:
    """Return the format asked for, else the ``usual`` one, or A6 in large print.

    Raises UsageError as ``format_of`` does.
    """
    return format_of(size or ("a6" if large_print else usual), large_print=large_print)


def page_asked(size: str | None, *, large_print: bool) -> Format:
    """Return the format asked for a booklet's pages, A7 as a rule.

    Raises UsageError for one that no booklet has.
    """
    fmt = format_asked(size, "a7", large_print=large_print)
    if not fmt.is_page:
        names = ", ".join(name for name, known in sorted(FORMATS.items()) if known.is_page)
        raise UsageError(f"size {size!r}: a booklet has pages of {names}, or larger upright ones")
    return fmt


def paper_option(help_text: str) -> Callable[[F], F]:
    """Return a decorator that adds ``--paper``."""
    return click.option(
        "--paper",
        type=click.Choice(sorted(PAPERS)),
        default="a4",
        show_default=True,
        help=help_text,
    )


def leaves_of(texts: tuple[str, ...]) -> tuple[Leave, ...]:
    """Return the leaves named on the command line; ``strike`` is the full rack."""
    leaves = []
    for text in texts:
        try:
            leaves.append(FULL_RACK if text == "strike" else Leave.parse(text))
        except ValueError as error:
            raise UsageError(f"LEAVE: {error}") from error
    return tuple(leaves)


def every(paths: tuple[str, ...], read: Callable[[str], Any]) -> list[Any]:
    """Return ``read`` of each path; the mistakes of all of them come as one error."""
    made: list[Any] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            made.append(read(path))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return made


def shots_of(logs: tuple[Path, ...], *, skip_bad: bool) -> tuple[list[Shot], bool]:
    """Return the shots of all logs, and whether bad ones were left out and named.

    Raises:
        InputError: there are bad ones, and they are not to be skipped; all of them are listed.
    """
    shots: list[Shot] = []
    bad: list[Problem] = []
    for log in every(tuple(map(str, dict.fromkeys(logs))), lambda path: read_log(Path(path))):
        shots += log.shots
        bad += log.bad
    if bad and not skip_bad:
        raise InputError(bad)
    for problem in bad:
        say(f"left out: {problem}")
    return shots, bool(bad)


def opened(name: str) -> LoadedProfile:
    """Return the profile called ``name``, and tell what there is to know about it."""
    found = open_profile(find_profile(name))
    for warning in found.warnings:
        say(str(warning))
    return found.loaded


def say(message: str) -> None:
    """Tell the person, not the next program."""
    click.echo(message, err=True)
