"""Several bowlers' products, each bowler's as soon as they are made, by as many processes as help.

A bowler is one task. Tasks and results are values, so that they may travel to another process.
"""

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias

from cardgen.clinic.pieces import words_of
from cardgen.clinic.workers import Workers
from cardgen.drawing.fonts import use_fonts
from cardgen.errors import CardgenError, InputError, UsageError
from cardgen.press import Job, doubts_of, job_of, unanswered_of
from cardgen.products import PAGE, FileType, Order, documents_of, page_of, pages_as
from cardgen.profile.loader import LoadedProfile
from cardgen.templating.template import Template

USUAL = "pocket"
"""What is made where nothing is asked for, if a line comes to any spare; if not, ``_INSTEAD``."""
_INSTEAD = "booklet"
_PAGE_ENDING = f"-{PAGE}.html"
_WORTH_PROCESSES = 8
"""So many bowlers take longer than starting other processes does, which must load all this."""

Kind: TypeAlias = Literal["step", "note", "missing"]


@dataclass(frozen=True)
class Wish:
    """What is wanted of each bowler, and how; of no ``products``, the usual one."""

    products: tuple[str, ...]
    order: Order
    language: str = "en"
    mono: bool = False
    template: Template | None = None
    fonts: tuple[Path, ...] = ()
    file_type: FileType = "pdf"
    dpi: float = 300.0


@dataclass(frozen=True)
class Note:
    """A sentence on a bowler's products: how long a step took, what to know, what is missing."""

    kind: Kind
    text: str


@dataclass(frozen=True)
class File:
    """A finished file of a product; its name begins with the bowler's."""

    product: str
    ending: str
    data: bytes


@dataclass(frozen=True)
class Made:
    """What came of a bowler, in the order in which it did; ``settings`` as documents have them."""

    notes: tuple[Note, ...]
    files: tuple[File, ...]
    settings: tuple[str, ...]
    from_defaults: bool

    @property
    def whole(self) -> bool:
        """Whether nothing is missing."""
        return all(note.kind != "missing" for note in self.notes)


@dataclass(frozen=True)
class _Task:
    loaded: LoadedProfile
    wish: Wish


def endings_known(wish: Wish) -> list[str]:
    """Return what names of files will end in, as far as that can be known before they are made.

    How many files of one page each there will be cannot.
    """
    endings = []
    for product in wish.products or (USUAL,):
        if product == PAGE:
            endings.append(_PAGE_ENDING)
        elif wish.file_type == "pdf":
            by_hand = product == "cards" and wish.order.layout.scheme == "by-hand"
            parts = ("-fronts", "-backs") if by_hand else ("",)
            endings += [f"-{product}{part}.pdf" for part in parts]
    return endings


def made_of_each(
    bowlers: Sequence[LoadedProfile], wish: Wish, workers: Workers | None = None
) -> Iterator[Made]:
    """Yield what comes of each bowler, in their order.

    Raises:
        UsageError: something cannot be as it is asked for, whoever the bowler.
        InputError: something asked for cannot be printed.
        CardgenError: a process ended before its work.
    """
    if workers is None:
        workers = Workers() if len(bowlers) >= _WORTH_PROCESSES else Workers(1)
    tasks = (_Task(loaded, wish) for loaded in bowlers)
    return workers.results(_made, tasks, len(bowlers))


def _made(task: _Task) -> Made:
    wish = task.wish
    words = words_of(wish.language)
    use_fonts([*wish.fonts, *words.fonts])  # this may be another process than the one that knows
    bench = _Bench(task.loaded.source)
    with bench.step("chart"):
        job = job_of(task.loaded, words, mono=wish.mono, template=wish.template)
    for text in doubts_of(job.chart):
        bench.say(text)
    for text in unanswered_of(job.chart):
        bench.say(text, "missing")
    if job.chart.lines:
        for product in wish.products or (_usual(job, bench),):
            bench.make(product, job, wish)
    return Made(
        tuple(bench.notes), tuple(bench.files), tuple(bench.settings), job.chart.from_defaults
    )


def _usual(job: Job, bench: "_Bench") -> str:
    """Return what is made where nothing is asked for, and say so if it is not the usual."""
    if job.answers.pocket is not None:
        return USUAL
    bench.say("no line comes to any spare, so a booklet is made instead of a pocket sheet")
    return _INSTEAD


@dataclass
class _Bench:
    """Where a bowler's products are made, and what lies on it so far."""

    source: str
    notes: list[Note] = field(default_factory=list)
    files: list[File] = field(default_factory=list)
    settings: dict[str, None] = field(default_factory=dict)

    def say(self, text: str, kind: Kind = "note") -> None:
        self.notes.append(Note(kind, f"{self.source}: {text}"))

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        begun = time.perf_counter()
        try:
            yield
        finally:
            seconds = time.perf_counter() - begun
            self.notes.append(Note("step", f"{name} of {self.source}: {seconds:.2f} s"))

    def make(self, product: str, job: Job, wish: Wish) -> None:
        """Make a product, or say why it cannot be made of this bowler."""
        with self.step(product):
            try:
                self.files += list(self._files(product, job, wish))
            except (InputError, UsageError):
                raise  # no bowler's doing: the same for all
            except CardgenError as error:
                for line in str(error).splitlines():
                    self.say(f"{product}: {line}", "missing")

    def _files(self, product: str, job: Job, wish: Wish) -> Iterator[File]:
        if product == PAGE:
            yield File(product, _PAGE_ENDING, page_of(job, wish.order))
            return
        for document in documents_of(job, product, wish.order):
            for finding in document.findings:
                self.say(f"{product}: {finding}")
            self.settings |= dict.fromkeys(document.settings)
            for ending, data in pages_as(document, wish.file_type, wish.dpi):
                yield File(product, f"-{product}{ending}", data)
