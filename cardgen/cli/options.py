"""Arguments and options that several commands share."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from cardgen.cards.words import Words
from cardgen.cli.speaking import detail, insist, say, stage
from cardgen.drawing.fonts import use_fonts
from cardgen.drawing.theme import FORMATS
from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.layouts import Layout, Scheme
from cardgen.press import open_profile
from cardgen.printers import Flip, Offset, offset_of
from cardgen.profile.loader import LoadedProfile, find_profile
from cardgen.resources import data_folder, yaml_files
from cardgen.sheets.finishing import POUCH_EDGE_MM
from cardgen.sheets.nup import Order
from cardgen.sheets.papers import PAPERS, Size
from cardgen.sheets.stock import find_stock
from cardgen.shotlog.reading import Log, read_log
from cardgen.shotlog.shot import Shot
from cardgen.templating.loading import open_template
from cardgen.templating.template import Template

F = TypeVar("F", bound=Callable[..., Any])
T = TypeVar("T")

FLIPS: dict[str, Flip] = {"long": "long-edge", "short": "short-edge"}
"""What ``--flip`` may be, and the edge that it means."""


def words_option(function: F) -> F:
    """Add ``--words``."""
    languages = ", ".join(file.stem for file in yaml_files(data_folder("templates") / "words"))
    return click.option(
        "--words",
        "language",
        metavar="LANGUAGE",
        envvar="CARDGEN_WORDS",
        show_envvar=True,
        default="en",
        show_default=True,
        help=f"Language of the words, one of {languages}.",
    )(function)


def out_option(function: F) -> F:
    """Add ``--out``."""
    return click.option(
        "--out",
        type=click.Path(path_type=Path, file_okay=False),
        default=Path("out"),
        show_default=True,
        help="Folder to write into.",
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
            help=f"{help_text} One of {names}, or millimetres such as 60x90, width first; id1 is "
            "the size of a bank card.",
        )
        large = click.option(
            "--large-print",
            is_flag=True,
            help="Type half as large again, on A6 (the default then) and larger.",
        )
        mono = click.option("--mono", is_flag=True, help="Black and two greys, no colour.")
        return size(large(mono(function)))

    return added


def paper_option(help_text: str) -> Callable[[F], F]:
    """Return a decorator that adds ``--paper``."""
    return click.option(
        "--paper",
        type=click.Choice(sorted(PAPERS)),
        envvar="CARDGEN_PAPER",
        show_envvar=True,
        default="a4",
        show_default=True,
        help=help_text,
    )


def look_options(function: F) -> F:
    """Add ``--template`` and ``--font``."""
    template = click.option(
        "--template",
        metavar="NAME",
        envvar="CARDGEN_TEMPLATE",
        show_envvar=True,
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
    with stage(f"read {name}"):
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
        click.option(
            "--stock",
            metavar="NAME",
            help="Print cards on this perforated stock, such as a4-10-business.",
        ),
        click.option(
            "--stock-file",
            type=click.Path(path_type=Path, dir_okay=False),
            help="Stocks of your own, in a YAML file such as templates/stock.yaml.",
        ),
        click.option(
            "--start-at",
            metavar="N",
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
        click.option(
            "--copies",
            metavar="N",
            type=click.IntRange(1, 500),
            default=1,
            show_default=True,
            help="How often each card is printed.",
        ),
        click.option(
            "--flip",
            type=click.Choice(list(FLIPS)),
            default="long",
            show_default=True,
            help="Edge on which the printer flips the sheets of cards.",
        ),
        click.option("--ring", is_flag=True, help="Add a strip with a hole for a ring."),
        click.option(
            "--laminate",
            is_flag=True,
            help="Print cards smaller, so that they have their --size once sealed in film.",
        ),
        click.option(
            "--film",
            "film_mm",
            type=click.FloatRange(1, 10),
            metavar="MM",
            help=f"Film around a laminated card.  [default: {POUCH_EDGE_MM:g}]",
        ),
        click.option(
            "--bleed",
            "bleed_mm",
            type=click.FloatRange(0, 5),
            default=0.0,
            metavar="MM",
            help="Leave so much around each card or page to cut off.  [default: 0]",
        ),
        click.option(
            "--printer",
            metavar="NAME",
            help="Make up for the offset that cardgen align has kept of this printer.",
        ),
    )
    for option in reversed(options):
        function = option(function)
    return function


def layout_of(
    paper: Size,
    *,
    scheme: Scheme,
    stock: str | None,
    stock_file: Path | None,
    start_at: int,
    order: Order,
    copies: int,
    flip: str,
    ring: bool,
    laminate: bool,
    film_mm: float | None,
    bleed_mm: float,
    printer: str | None,
) -> Layout:
    """Return the layout that the options of :func:`layout_options` tell.

    Raises UsageError for an unknown stock or printer, and for what does not go together; InputError
    for a stock file with mistakes.
    """
    if stock_file is not None and stock is None:
        raise UsageError("--stock-file has stocks to choose from; name one with --stock as well")
    if stock is not None and scheme != "two-sided":
        raise UsageError("--stock is printed on both sides; leave --layout out")
    if stock is not None and bleed_mm:
        raise UsageError("--stock breaks out along its own edges; leave --bleed out")
    if film_mm is not None and not laminate:
        raise UsageError("--film is the film around a laminated card; give --laminate as well")
    if start_at > 1 and stock is None:
        raise UsageError("--start-at counts places of stock; give --stock as well")
    if order == "cut-stack" and (scheme in ("fold-over", "single") or stock is not None):
        raise UsageError("--order cut-stack is for plain sheets of cards that are cut in a pile")
    if scheme == "single" and copies > 1:
        raise UsageError("--layout single has each card once; leave --copies out")
    return Layout(
        paper=paper,
        scheme=scheme if stock is None else "stock",
        stock=None if stock is None else find_stock(stock, stock_file),
        start_at=start_at,
        order=order,
        copies=copies,
        flip=FLIPS[flip],
        ring=ring,
        offset=Offset() if printer is None else offset_of(printer),
        bleed_mm=bleed_mm,
        film_mm=(POUCH_EDGE_MM if film_mm is None else film_mm) if laminate else 0.0,
    )


def leaves_of(texts: tuple[str, ...]) -> tuple[Leave, ...]:
    """Return the leaves named on the command line; ``strike`` is the full rack."""
    leaves = []
    for text in texts:
        try:
            leaves.append(FULL_RACK if text.casefold() == "strike" else Leave.parse(text))
        except ValueError as error:
            raise UsageError(f"LEAVE: {error}") from error
    return tuple(leaves)


def every(paths: Iterable[str], read: Callable[[str], T]) -> list[T]:
    """Return ``read`` of each path; the mistakes of all of them come as one error."""
    made: list[T] = []
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
    for log in every(map(str, dict.fromkeys(logs)), _log):
        shots += log.shots
        bad += log.bad
    if bad and not skip_bad:
        raise InputError(bad)
    for problem in bad:
        insist(f"left out: {problem}")
    return shots, bool(bad)


def _log(name: str) -> Log:
    with stage(f"read {name}", "Reading"):
        return read_log(Path(name))


def opened(name: str) -> LoadedProfile:
    """Return the profile called ``name``, and tell what there is to know about it."""
    path = find_profile(name)
    with stage(f"read {path}"):
        found = open_profile(path)
    if isinstance(lane := found.loaded.profile.lane, str):
        detail(f"with the lane {lane}")
    for warning in found.warnings:
        say(str(warning))
    return found.loaded
