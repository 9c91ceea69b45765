"""Arguments and options that several commands share."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from cardgen.cards.words import Words
from cardgen.drawing.fonts import use_fonts
from cardgen.drawing.theme import FORMATS, Format, format_of
from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.layouts import Layout, Scheme
from cardgen.press import open_profile
from cardgen.printers import Offset, offset_of
from cardgen.profile.loader import LoadedProfile, find_profile
from cardgen.sheets.nup import Order
from cardgen.sheets.papers import PAPERS, Size
from cardgen.sheets.stock import find_stock
from cardgen.shotlog.reading import read_log
from cardgen.shotlog.shot import Shot
from cardgen.templating.loading import open_template
from cardgen.templating.template import Template

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


def look_options(function: F) -> F:
    """Add ``--template`` and ``--font``."""
    template = click.option(
        "--template",
        help="A template: a file, or the name of a design or centre that comes with the program.",
    )
    font = click.option(
        "--font",
        "font_files",
        multiple=True,
        type=click.Path(path_type=Path, dir_okay=False),
        help="Font for what the card font lacks, such as Japanese; may be given more than once.",
    )
    return template(font(function))


def looks(name: str | None, font_files: tuple[Path, ...], words: Words) -> Template | None:
    """Return the template asked for, and have its words printed in the fonts given."""
    use_fonts([*font_files, *words.fonts])
    if name is None:
        return None
    opened_template = open_template(name, words.language)
    for warning in opened_template.warnings:
        say(str(warning))
    return opened_template.template


def layout_options(function: F) -> F:
    """Add what tells how cards come on to sheets; see :func:`layout_of`."""
    options = (
        click.option(
            "--layout",
            "scheme",
            type=click.Choice(["two-sided", "by-hand", "fold-over", "single"]),
            default="two-sided",
            show_default=True,
            help="Cards on both sides of a sheet; fronts and backs as two files, to feed a printer "
            "twice; both sides beside each other, to fold; each side a page of its own.",
        ),
        click.option("--stock", help="Print cards on this perforated stock."),
        click.option(
            "--start-at",
            type=click.IntRange(1),
            default=1,
            show_default=True,
            help="First free place of a part-used sheet of stock.",
        ),
        click.option(
            "--order",
            type=click.Choice(["reading", "cut-stack"]),
            default="reading",
            show_default=True,
            help="cut-stack: cut a pile of sheets through, and the stacks follow each other.",
        ),
        click.option("--copies", type=click.IntRange(1, 500), default=1, show_default=True),
        click.option(
            "--flip",
            type=click.Choice(["long", "short"]),
            default="long",
            show_default=True,
            help="Edge on which the printer flips the sheets of cards.",
        ),
        click.option("--ring", is_flag=True, help="Add a strip with a hole for a ring."),
        click.option("--printer", help="Make up for the offset that cardgen align has kept."),
    )
    for option in reversed(options):
        function = option(function)
    return function


def layout_of(
    paper: Size,
    *,
    scheme: Scheme,
    stock: str | None,
    start_at: int,
    order: Order,
    copies: int,
    flip: str,
    ring: bool,
    printer: str | None,
) -> Layout:
    """Return the layout that the options of :func:`layout_options` tell.

    Raises UsageError for an unknown stock or printer, and for what does not go together.
    """
    if stock is not None and scheme != "two-sided":
        raise UsageError("--stock is printed on both sides; leave --layout out")
    if start_at > 1 and stock is None:
        raise UsageError("--start-at counts places of stock; give --stock as well")
    if order == "cut-stack" and (scheme in ("fold-over", "single") or stock is not None):
        raise UsageError("--order cut-stack is for plain sheets of cards that are cut in a pile")
    if scheme == "single" and copies > 1:
        raise UsageError("--layout single has each card once; leave --copies out")
    return Layout(
        paper=paper,
        scheme=scheme if stock is None else "stock",
        stock=None if stock is None else find_stock(stock),
        start_at=start_at,
        order=order,
        copies=copies,
        flip="long-edge" if flip == "long" else "short-edge",
        ring=ring,
        offset=Offset() if printer is None else offset_of(printer),
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
