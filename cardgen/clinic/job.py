"""A whole clinic: the charts it needs, every student's pages, and print jobs to hand on."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, islice
from pathlib import Path
from typing import Literal, TypeAlias, TypeVar

from cardgen.cards.clinic import Slip, group_slip, pupil_slip
from cardgen.chartcache import ChartCache, program_key
from cardgen.clinic.pieces import Look, Made, Piece, Stack, Sum, drawn, inked, words_of, worked
from cardgen.clinic.seats import Seat
from cardgen.clinic.workers import Workers
from cardgen.drawing.clinic import slip_scene
from cardgen.drawing.scene import Scene
from cardgen.errors import OutputError
from cardgen.printers import Flip
from cardgen.sheets.papers import Size
from cardgen.writers.collation import Part, collated
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

Slips: TypeAlias = Literal["student", "group", "none"]
Told: TypeAlias = Callable[[int], object]
"""Is told of so many tasks done."""

TOGETHER = 25
"""So many students are one task and share one PDF on the way: fonts are kept once, and a worker has
something to do for a second or two. The same whatever the number of workers, so are the bytes."""
STACKS_IN_ONE_JOB = 80
"""So many tasks make one print job; more make several, and none grows beyond measure."""
_SLIPS = "slips"

T = TypeVar("T")


@dataclass(frozen=True)
class Clinic:
    """Students in the order in which they are handed out, under the title of their roster."""

    title: str
    seats: Sequence[Seat]
    look: Look


def work_out(clinic: Clinic, store: ChartCache, workers: Workers, told: Told) -> None:
    """Keep the answers that students need in ``store``, where it does not have them."""
    wanted = {seat.key: seat for seat in clinic.seats}
    missing = [seat for key, seat in wanted.items() if key not in store]
    told(len(wanted) - len(missing))
    sums = (Sum(seat, program_key()) for seat in missing)
    for seat, body in zip(missing, workers.results(worked, sums, len(missing)), strict=True):
        store.put(seat.key, body)
        told(1)


def stacks(clinic: Clinic, store: ChartCache, workers: Workers, told: Told) -> Iterator[Stack]:
    """Yield the students' pages, ``TOGETHER`` students at a time, in order."""
    count = -(-len(clinic.seats) // TOGETHER)
    pieces = (
        Piece(clinic.look, tuple(seats), _kept(store, seats))
        for seats in batches(clinic.seats, TOGETHER)
    )
    for stack in workers.results(drawn, pieces, count):
        yield stack
        told(len(stack.made))


def _kept(store: ChartCache, seats: Sequence[Seat]) -> dict[str, bytes]:
    found = {key: store.packed(key) for key in dict.fromkeys(seat.key for seat in seats)}
    return {key: body for key, body in found.items() if body is not None}


@dataclass(frozen=True)
class _Placed:
    """A student's pages, and where they are."""

    made: Made
    source: str
    first: int


class Pile:
    """Students' pages on the way to one print job, kept in files of a ``folder``.

    Each student's pages stand together, as many times as he wants copies, behind the slip that is
    asked for. Slips have a blank back where the students' sheets have two sides.
    """

    def __init__(self, clinic: Clinic, folder: Path) -> None:
        self._clinic = clinic
        self._folder = folder
        self._sources: dict[str, Path] = {}
        self._placed: list[_Placed] = []
        self._paper = clinic.look.order.layout.paper
        self._duplex: Flip | None = None

    def add(self, stack: Stack) -> None:
        """Lay a stack on the pile; raise OutputError if the folder has no room for it."""
        name, first = f"{len(self._sources)}", 0
        if not stack.pdf:
            return
        self._sources[name] = self._folder / f"{name}.pdf"
        _write(self._sources[name], stack.pdf)
        self._paper, self._duplex = stack.paper, stack.duplex
        for made in stack.made:
            if made.pages:
                self._placed.append(_Placed(made, name, first))
                first += made.pages

    def __bool__(self) -> bool:
        return bool(self._placed)

    def pdf(self, slips: Slips, info: DocumentInfo) -> bytes:
        """Return the print job.

        Raises ValueError if the pile is empty, OutputError if the folder has no room for slips.
        """
        sections = list(_sections(self._placed, slips))
        sources, sides = dict(self._sources), _sides(self._clinic.look)
        if slips != "none":
            sources[_SLIPS] = self._folder / f"{_SLIPS}.pdf"
            scenes = _slip_scenes(self._clinic, sections, slips, self._paper)
            # The first document tells the printer how to turn the paper of them all.
            _write(sources[_SLIPS], pdf_bytes(scenes, replace(info, duplex=self._duplex)))
        parts: list[Part] = []
        for number, section in enumerate(sections):
            if slips != "none":
                title = section[0].made.seat.group if slips == "group" else ""
                parts.append(Part(_SLIPS, number * sides, sides, title))
            for each in section:
                parts += [Part(each.source, each.first, each.made.pages)] * each.made.seat.copies
        return collated(sources, parts, info)


def _write(path: Path, data: bytes) -> None:
    try:
        path.write_bytes(data)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror or error}") from error


def _sections(placed: Sequence[_Placed], slips: Slips) -> Iterator[list[_Placed]]:
    """Yield what stands behind one slip each."""
    if slips == "student":
        yield from ([each] for each in placed)
    elif slips == "group":
        yield from (list(each) for _, each in groupby(placed, lambda p: p.made.seat.group))
    else:
        yield list(placed)


def _slip_scenes(
    clinic: Clinic, sections: Sequence[Sequence[_Placed]], slips: Slips, paper: Size
) -> list[Scene]:
    """Return the slips, lying as the sheets do that they part."""
    sides = _sides(clinic.look)
    scenes: list[Scene] = []
    for number, section in enumerate(sections, start=1):
        slip = _slip(clinic, section, slips, number, len(sections))
        front = slip_scene(slip, paper.width_mm, paper.height_mm)
        scenes += [front, Scene(front.width_mm, front.height_mm, ())][:sides]
    return [inked(scene, clinic.look) for scene in scenes]


def _slip(
    clinic: Clinic, section: Sequence[_Placed], slips: Slips, number: int, count: int
) -> Slip:
    words, sides = words_of(clinic.look.language), _sides(clinic.look)
    seats = [each.made.seat for each in section]
    if slips == "student":
        (seat,), (each,) = seats, section
        return pupil_slip(
            seat.name,
            seat.group,
            clinic.title,
            sheets=each.made.pages // sides,
            copies=seat.copies,
            number=number,
            count=count,
            words=words,
        )
    return group_slip(
        seats[0].group,
        clinic.title,
        students=len(seats),
        sheets=sum(each.made.pages // sides * each.made.seat.copies for each in section),
        copies=seats[0].copies if len({seat.copies for seat in seats}) == 1 else None,
        number=number,
        count=count,
        words=words,
    )


def _sides(look: Look) -> int:
    """Return on how many sides of its paper each sheet is printed."""
    if look.product == "cards":
        return 1 if look.order.layout.scheme in ("fold-over", "single") else 2
    return 2 if look.product == "booklet" and look.order.binding == "saddle" else 1


def batches(items: Iterable[T], size: int) -> Iterator[list[T]]:
    """Yield the items ``size`` at a time."""
    left = iter(items)
    while batch := list(islice(left, size)):
        yield batch
