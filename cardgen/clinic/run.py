"""One run of a clinic: files as they are finished, and what there is to say of a student."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeAlias

from cardgen.chartcache import ChartCache
from cardgen.clinic.classwork import Class, ClassPage, class_document
from cardgen.clinic.job import (
    STACKS_IN_ONE_JOB,
    TOGETHER,
    Clinic,
    Pile,
    Slips,
    Told,
    stacks,
    work_out,
)
from cardgen.clinic.pieces import Made
from cardgen.clinic.seats import Seat
from cardgen.clinic.workers import Workers
from cardgen.errors import CardgenError
from cardgen.filenames import distinct_stems
from cardgen.lane.rack import Leave
from cardgen.writers.document import DocumentInfo


@dataclass(frozen=True)
class Wanted:
    """What is wanted beside each student's pages: pages of a class, and slips.

    ``stem`` begins the name of every file.
    """

    stem: str
    pages: Sequence[ClassPage]
    leave: Leave
    shown: Sequence[Seat]
    slips: Slips


@dataclass(frozen=True)
class File:
    """A finished file, under its name in the folder of the clinic."""

    name: str
    data: bytes


@dataclass(frozen=True)
class Said:
    """A sentence on the student of a row (None: the class).

    ``failed``: something is missing; ``grave``: who prints this should know it now.
    """

    row: int | None
    text: str
    failed: bool = False
    grave: bool = False


@dataclass(frozen=True)
class Advice:
    """What to mind when the print jobs are printed, and afterwards."""

    text: str


Event: TypeAlias = File | Said | Advice


def names_of(clinic: Clinic, wanted: Wanted) -> list[str]:
    """Return the names of all files that a run may make."""
    return [
        *(_job_name(clinic, wanted, number) for number in range(1, _jobs(clinic) + 1)),
        *(_student_names(clinic, wanted) if clinic.look.each else ()),
        *(_page_name(wanted, page) for page in wanted.pages),
    ]


def events(
    clinic: Clinic, wanted: Wanted, store: ChartCache, workers: Workers, told: Told
) -> Iterator[Event]:
    """Yield what happens: files of students, print jobs, files for the class.

    ``told`` hears of every bowler worked out and of every student drawn.
    """
    work_out(clinic, store, workers, told)
    info = DocumentInfo(clinic.title, language=clinic.look.language)
    names = iter(_student_names(clinic, wanted))
    made = stacks(clinic, store, workers, told)
    rows = []
    settings: dict[str, None] = {}
    for number in range(1, _jobs(clinic) + 1):
        with TemporaryDirectory(prefix="cardgen-") as folder:
            pile = Pile(clinic, Path(folder))
            for stack in islice(made, STACKS_IN_ONE_JOB):
                for one in stack.made:
                    yield from _events(one, next(names))
                    settings |= dict.fromkeys(one.settings)
                    if one.coach is not None and one.wall is not None:
                        rows.append((one.seat, one.coach, one.wall))
                pile.add(stack)
            if pile:
                data = pile.pdf(wanted.slips, info)
                yield File(_job_name(clinic, wanted, number), data)
    yield from map(Advice, settings)
    of = Class(clinic, store, rows, wanted.leave, wanted.shown)
    for page in wanted.pages if rows else ():
        try:
            document = class_document(of, page)
        except CardgenError as error:
            yield Said(None, f"{page}: {error}", failed=True)
            continue
        yield from (Said(None, f"{page}: {finding}") for finding in document.findings)
        yield File(_page_name(wanted, page), document.pdf())


def _events(made: Made, name: str) -> Iterator[Event]:
    row = made.seat.row
    if made.failed:
        yield Said(row, made.failed, failed=True)
    yield from (Said(row, text, grave=True) for text in made.warned)
    yield from (Said(row, text) for text in made.said)
    if not made.whole and not made.failed:
        yield Said(row, "some leaves have no line", failed=True)
    if made.pdf:
        yield File(name, made.pdf)


def _jobs(clinic: Clinic) -> int:
    """Return how many print jobs a clinic comes to."""
    return -(-len(clinic.seats) // (TOGETHER * STACKS_IN_ONE_JOB))


def _job_name(clinic: Clinic, wanted: Wanted, number: int) -> str:
    part = f"-{number}" if _jobs(clinic) > 1 else ""
    return f"{wanted.stem}-{clinic.look.product}{part}.pdf"


def _student_names(clinic: Clinic, wanted: Wanted) -> list[str]:
    stems = distinct_stems(seat.name for seat in clinic.seats)
    return [f"{wanted.stem}/{stem}-{clinic.look.product}.pdf" for stem in stems]


def _page_name(wanted: Wanted, page: ClassPage) -> str:
    return f"{wanted.stem}-{page}.pdf"
