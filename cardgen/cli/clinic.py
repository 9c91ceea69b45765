"""``cardgen clinic``."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cards.words import Words, load_words
from cardgen.chartcache import ChartCache, cache_folder
from cardgen.cli.options import (
    force_option,
    layout_of,
    layout_options,
    leaves_of,
    look_options,
    looks,
    out_option,
    paper_option,
    size_options,
    words_option,
)
from cardgen.cli.speaking import Voice, advise, counting, insist, say, show, stage, voice
from cardgen.clinic.classwork import CLASS_PAGES, MOST_WAYS
from cardgen.clinic.job import Clinic, Slips
from cardgen.clinic.pieces import Look, Product
from cardgen.clinic.run import Advice, Event, File, Said, Wanted, events, names_of
from cardgen.clinic.seats import Register, Seat, by_groups, printed, with_initials
from cardgen.clinic.workers import Workers
from cardgen.drawing.fonts import missing_glyphs
from cardgen.errors import InputError, Problem, UsageError
from cardgen.filenames import safe_stem
from cardgen.products import Order, check_order
from cardgen.roster.reading import Student, open_roster
from cardgen.sheets.papers import PAPERS
from cardgen.templating.template import Template

_LEAVE = "10"
_QUOTED = re.compile(r" \(got [^-+.0-9].*\)$")
"""What a message quotes of a cell, unless it is a number."""


@click.command()
@click.argument("roster", type=click.Path(path_type=Path))
@click.option(
    "--defaults",
    type=click.Path(path_type=Path, dir_okay=False),
    help="YAML with what a blank cell means: the fields of a profile, but for the name.",
)
@click.option(
    "--as",
    "product",
    type=click.Choice(["pocket", "booklet", "cards"]),
    default="pocket",
    show_default=True,
    help="What each student gets: the sheet that folds to eight pages, a booklet, cards.",
)
@click.option(
    "--with",
    "pages",
    type=click.Choice([*CLASS_PAGES, "none"]),
    multiple=True,
    default=CLASS_PAGES,
    help="Pages for the class; may be given more than once. ways is one leave as several students "
    "shoot it, wall a chart of the single pins, coach all key lines and drills.  [default: all]",
)
@click.option(
    "--leave",
    metavar="LEAVE",
    default=_LEAVE,
    show_default=True,
    help="The leave of worksheet and ways.",
)
@click.option(
    "--of",
    "shown",
    multiple=True,
    metavar="NAME",
    help="A student of ways, two to four; those who differ most if none is named.",
)
@click.option(
    "--slips",
    type=click.Choice(["student", "group", "none"]),
    help="A slip of paper before each student's sheets, or before each group's.  [default: "
    "student; group for a pocket booklet, which is one sheet]",
)
@click.option("--each", is_flag=True, help="Also write a file for each student.")
@click.option("--initials", is_flag=True, help="Print initials instead of names.")
@click.option("--named", is_flag=True, help="Let the files of --each have the name in their title.")
@click.option("--strict", is_flag=True, help="Make nothing if a row is wrong.")
@click.option("--no-cache", is_flag=True, help="Neither use charts of earlier runs nor keep any.")
@click.option(
    "--jobs",
    type=click.IntRange(1),
    metavar="N",
    help="Work in so many processes.  [default: one a core]",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Work on other machines: those of the Dask scheduler at this address, such as tcp://host:8786.",
)
@paper_option("Paper of all that is printed.")
@size_options("Format of cards or of a booklet's pages, as make has them.")
@layout_options
@look_options
@click.option("--date", default="", metavar="TEXT", help="Print this date on the covers.")
@out_option
@words_option
@force_option
def command(
    roster: Path,
    defaults: Path | None,
    product: Product,
    pages: tuple[str, ...],
    leave: str,
    shown: tuple[str, ...],
    slips: Slips | None,
    each: bool,
    initials: bool,
    named: bool,
    strict: bool,
    no_cache: bool,
    jobs: int | None,
    cluster: str | None,
    paper: str,
    size: str | None,
    large_print: bool,
    mono: bool,
    template: str | None,
    font_files: tuple[Path, ...],
    date: str,
    out: Path,
    language: str,
    force: bool,
    **sheets: Any,
) -> int:
    """Print a whole class from a roster: one print job, and pages for the class.

    ROSTER is a table (.csv, .xlsx) or a YAML file, a row a student. A row that is wrong is told,
    and the others are made. Messages name rows, not students.
    """
    layout = layout_of(PAPERS[paper], **sheets)
    if product == "cards" and layout.scheme == "by-hand":
        raise UsageError("a clinic is one print job; leave --layout by-hand out")
    order = Order(
        layout,
        size,
        large_print,
        binding="saddle" if product == "booklet" else "pages",
        date=date,
    )
    check_order(order, [product])
    if layout.start_at > 1:
        raise UsageError("--start-at is for one sheet, and every student begins one; leave it out")
    if jobs is not None and cluster is not None:
        raise UsageError("--jobs is for this machine, --cluster for others; give one of them")
    if named and not each:
        raise UsageError("--named is for the files of --each; give that as well")
    _check_pages(pages, leave, shown)
    (about,) = leaves_of((leave,))
    words = load_words(language)
    look = looks(template, font_files, words) or Template()
    order = order.like(look)
    check_order(order, [product])
    title, seats, whole = _class_in(roster, defaults, strict=strict)
    named_seats = _seats_called(shown, seats)
    if initials:
        changed = dict(zip(seats, with_initials(seats), strict=True))
        seats, named_seats = list(changed.values()), [changed[seat] for seat in named_seats]
    clinic = Clinic(
        title,
        seats,
        Look(
            product=product,
            order=order,
            language=language,
            mono=mono,
            template=look,
            fonts=font_files,
            each=each,
            rows=set(pages) != {"none"},
            title=None if named else title,
        ),
    )
    wanted = Wanted(
        stem=safe_stem(roster.stem),
        pages=[page for page in CLASS_PAGES if page in pages],
        leave=about,
        shown=named_seats,
        slips=slips or ("group" if product == "pocket" else "student"),
    )
    for name in names_of(clinic, wanted):
        refuse_to_bury(out / name, force=force)
    report = _Report(roster, out, f"{wanted.stem}-{product}", force=force)
    steps = len({seat.key for seat in clinic.seats}) + len(clinic.seats)
    with _store(no_cache=no_cache) as store, counting(steps, "Clinic") as told:
        for event in events(clinic, wanted, store, Workers(jobs, cluster), told):
            report.take(event)
    report.close(words)
    return 0 if whole and report.whole else 1


def _class_in(roster: Path, defaults: Path | None, *, strict: bool) -> tuple[str, list[Seat], bool]:
    """Return a roster's title, its seats by groups, and whether all rows are right; tell the wrong.

    Raises InputError for a roster that cannot be read; if it is ``strict``, for any wrong row.
    """
    register = Register()
    seats: list[Seat] = []
    bad: list[Problem] = []
    cut: list[int] = []
    with stage(f"read {roster}", "Reading"):
        title, rows = open_roster(roster, defaults)
        for row in rows:
            if isinstance(row, Student):
                seats.append(register.seat(row))
                cut += [row.row] if _is_cut(row) else []
            else:
                bad += row
    if strict and bad:
        raise InputError(_private(bad))
    for problem in _private(bad):
        insist(f"left out: {problem}")
    for line in cut:
        say(f"{roster}:{line}: the fonts lack letters of the name or group; --font adds a font")
    return printed(title), by_groups(seats), not bad


class _Report:
    """Writes the files of a run and tells what happens; ``whole`` while nothing is missing."""

    def __init__(self, roster: Path, out: Path, job: str, *, force: bool) -> None:
        """Write into ``out``; the names of print jobs begin with ``job``."""
        self.whole = True
        self._roster = roster
        self._out = out
        self._job = job
        self._force = force
        self._verbose = voice() is Voice.VERBOSE
        self._hidden = 0
        self._jobs: list[str] = []
        self._settings: list[str] = []

    def take(self, event: Event) -> None:
        match event:
            case File():
                self._write(event)
            case Advice():
                self._settings.append(f"{event.text[:1].upper()}{event.text[1:]}")
            case Said():
                self.whole = self.whole and not event.failed
                self._tell(event)

    def close(self, words: Words) -> None:
        """Tell what there is to say at the end."""
        if self._hidden:
            say(f"{self._hidden} more to know; -v tells.")
        for setting in self._settings:
            say(words("spoken.sentence", text=setting))
        if self._jobs:
            advise(f"For the copy shop: {', '.join(self._jobs)}")

    def _write(self, file: File) -> None:
        path = self._out / file.name
        write_whole(path, file.data, force=self._force)
        if "/" not in file.name or self._verbose:
            show(path)
        if file.name.startswith(self._job):
            self._jobs.append(str(path))

    def _tell(self, said: Said) -> None:
        if not (said.failed or said.grave or self._verbose):
            self._hidden += 1
            return
        place = self._roster if said.row is None else f"{self._roster}:{said.row}"
        tell = insist if said.failed else say
        tell(f"{place}: {said.text}")


def _private(problems: list[Problem]) -> list[Problem]:
    """Return problems without the rows and the texts that they show: names may stand in these."""
    if voice() is Voice.VERBOSE:
        return problems
    return [
        replace(problem, message=_QUOTED.sub("", problem.message), excerpt=None)
        for problem in problems
    ]


def _check_pages(pages: tuple[str, ...], leave: str, shown: tuple[str, ...]) -> None:
    """Raise UsageError for pages that cannot be together, and for a wish that no page heeds."""
    if "none" in pages and len(set(pages)) > 1:
        raise UsageError("--with none leaves all pages out; give it alone")
    if shown and "ways" not in pages:
        raise UsageError("--of names students of ways; give --with ways as well")
    if leave != _LEAVE and not {"ways", "worksheet"} & set(pages):
        raise UsageError("--leave is that of worksheet and ways; give --with one of them as well")


def _is_cut(student: Student) -> bool:
    """Tell whether the fonts print less than the whole of a student's name, or of his group."""
    return any(map(missing_glyphs, (student.loaded.profile.bowler, student.group)))


def _seats_called(shown: tuple[str, ...], seats: list[Seat]) -> list[Seat]:
    """Return the seats of students by name, the first of those who share one.

    Raises UsageError for a name that nobody has, one that comes twice, and too few or too many.
    """
    names: dict[str, Seat] = {}
    for seat in seats:
        names.setdefault(seat.name, seat)
    asked = [printed(name) for name in shown]
    for name in asked:
        if name not in names:
            raise UsageError(f"--of: no student is called {name[:60]!r}; names are in the roster")
    if asked and not 2 <= len(set(asked)) == len(asked) <= MOST_WAYS:
        raise UsageError(f"--of: name two to {MOST_WAYS} students, each of them once")
    return [names[name] for name in asked]


@contextmanager
def _store(*, no_cache: bool) -> Iterator[ChartCache]:
    """Yield where charts are kept: in the user's cache, or for this run alone."""
    if no_cache:
        with TemporaryDirectory(prefix="cardgen-") as folder:
            yield ChartCache(Path(folder))
    else:
        cache = ChartCache(cache_folder())
        cache.tidy()
        yield cache
