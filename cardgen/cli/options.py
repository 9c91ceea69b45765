"""Arguments and options that several commands share."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from cardgen.drawing.theme import FORMATS
from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.press import open_profile
from cardgen.profile.loader import LoadedProfile, find_profile

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


def size_option(help_text: str) -> Callable[[F], F]:
    """Return a decorator that adds ``--size``."""
    return click.option(
        "--size",
        type=click.Choice(sorted(FORMATS, reverse=True)),
        default="id1",
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


def opened(name: str) -> LoadedProfile:
    """Return the profile called ``name``, and tell what there is to know about it."""
    found = open_profile(find_profile(name))
    for warning in found.warnings:
        say(str(warning))
    return found.loaded


def say(message: str) -> None:
    """Tell the person, not the next program."""
    click.echo(message, err=True)
