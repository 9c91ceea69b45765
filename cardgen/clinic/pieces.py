"""What one process does of a clinic: charts, and a stack of students' pages.

Tasks and results are values, so that they may travel to another process or another machine.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Literal, TypeAlias

from cardgen.cards.clinic import CoachRow, Pupil, WallRow, coach_row, wall_row
from cardgen.cards.words import Words, load_words
from cardgen.chartcache import packed, program_key, unpacked
from cardgen.clinic.seats import Seat
from cardgen.drawing.accent import in_colours
from cardgen.drawing.fonts import use_fonts
from cardgen.drawing.ink import in_mono
from cardgen.drawing.scene import Scene
from cardgen.errors import CardgenError, UsageError
from cardgen.press import Job, doubts_of, has_stale_fit, odd_balls_of, unanswered_of
from cardgen.printers import Flip
from cardgen.products import Order, documents_of
from cardgen.profile.bowler import bowler_of
from cardgen.sheets.papers import A4, Size
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import chart_for
from cardgen.templating.template import Template
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

Product: TypeAlias = Literal["pocket", "booklet", "cards"]


@dataclass(frozen=True)
class Look:
    """What every student's pages have in common, and what else is wanted of each.

    ``each``: a PDF of his own; ``rows``: his row on the coach's sheet and on the wall chart.
    ``title`` is that of documents that must not carry a name; None lets them carry it.
    """

    product: Product
    order: Order
    language: str = "en"
    mono: bool = False
    template: Template = field(default_factory=Template)
    fonts: tuple[Path, ...] = ()
    each: bool = False
    rows: bool = False
    title: str | None = None


@dataclass(frozen=True)
class Piece:
    """Students whose pages are made in one go, and the answers they need, by key.

    Answers that are missing are worked out anew.
    """

    look: Look
    seats: tuple[Seat, ...]
    answers: Mapping[str, bytes]


@dataclass(frozen=True)
class Made:
    """What came of one student: pages, a file of his own if asked for, and what there is to say.

    ``warned`` is what whoever prints should know now, ``settings`` what to mind when his pages are
    printed and afterwards; ``failed`` says why nothing came of him.
    """

    seat: Seat
    pages: int = 0
    pdf: bytes = b""
    said: tuple[str, ...] = ()
    warned: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    failed: str = ""
    whole: bool = True
    coach: CoachRow | None = None
    wall: WallRow | None = None


@dataclass(frozen=True)
class Stack:
    """The pages of one piece in one PDF, students in order; empty if there are none.

    ``paper`` is how the sheets lie before the reader, ``duplex`` the edge on which they flip if
    they have two sides.
    """

    made: tuple[Made, ...]
    pdf: bytes = b""
    paper: Size = A4
    duplex: Flip | None = None


@dataclass(frozen=True)
class Sum:
    """A student whose answers are wanted, from the program that ``program_key`` tells."""

    seat: Seat
    program: str


def worked(task: Sum) -> bytes:
    """Return all the answers for a student, packed, and good for all who have his key.

    Raises CardgenError if this process runs another program than the one that is to keep them.
    """
    if program_key() != task.program:
        raise CardgenError(
            "a worker has another cardgen, Python or numpy than this one; install the same there"
        )
    seat = task.seat
    bowler = replace(bowler_of(seat.loaded), name="")
    return packed(Answers(chart_for(bowler)).worked_out())


def drawn(piece: Piece) -> Stack:
    """Return the pages of a piece; raise UsageError if they cannot be as they are asked for."""
    look = piece.look
    use_fonts([*look.fonts, *words_of(look.language).fonts])
    made: list[Made] = []
    scenes: list[Scene] = []
    duplex: Flip | None = None
    for seat in piece.seats:
        try:
            job = job_of_seat(seat, piece.answers.get(seat.key), look)
            _check_lines(job, look.product)
            (document,) = documents_of(job, look.product, look.order)
            findings = tuple(map(str, document.findings))
            odd = (*_stale(job), *doubts_of(job.chart))
            said = (*odd, *unanswered_of(job.chart), *findings)
            whole = not job.chart.unanswered
            pdf = pdf_bytes(document.scenes, _info(document.info, look)) if look.each else b""
        except UsageError:
            raise  # no student's doing: the same for all
        except CardgenError as error:
            made.append(Made(seat, failed=str(error), whole=False))
            continue
        pupil = pupil_of(job, seat) if look.rows else None
        made.append(
            Made(
                seat,
                len(document.scenes),
                pdf,
                said,
                _odd_balls(job),
                document.settings,
                whole=whole,
                coach=None if pupil is None else coach_row(pupil, job.words),
                wall=None if pupil is None else wall_row(pupil, job.words),
            )
        )
        scenes += document.scenes
        duplex = document.info.duplex
    if not scenes:
        return Stack(tuple(made))
    info = DocumentInfo("", language=look.language, duplex=duplex)
    paper = Size(look.order.layout.paper.name, scenes[0].width_mm, scenes[0].height_mm)
    return Stack(tuple(made), pdf_bytes(scenes, info), paper, duplex)


def job_of_seat(seat: Seat, kept: bytes | None, look: Look) -> Job:
    """Return the print job of a student, from answers that were kept or else worked out anew."""
    loaded = seat.loaded
    answers = None if kept is None else unpacked(kept)
    if answers is None:
        answers = Answers(chart_for(bowler_of(loaded)))
    words = words_of(look.language)
    return Job(loaded, answers.of(seat.name), words, look.mono, look.template)


def _check_lines(job: Job, product: Product) -> None:
    """Raise CardgenError, which names nobody, if there is no line to make a product of."""
    if not job.chart.lines:
        raise CardgenError("no line comes to any leave")
    if product == "pocket" and job.answers.pocket is None:
        raise CardgenError("no line comes to any spare")


def _stale(job: Job) -> tuple[str, ...]:
    if not has_stale_fit(job.loaded):
        return ()
    return ("fitted: was fitted to other numbers than this row and its lane have now",)


def _odd_balls(job: Job) -> tuple[str, ...]:
    return tuple(f"balls.{ball}: {message}; {do}" for ball, message, do in odd_balls_of(job.loaded))


def pupil_of(job: Job, seat: Seat) -> Pupil:
    """Return a student as the pages of a class see him."""
    answers = job.answers
    return Pupil(seat.name, seat.group, answers.chart, answers.few, answers.drill, answers.practice)


def inked(scene: Scene, look: Look) -> Scene:
    """Return a page of the clinic's own in its inks."""
    return in_mono(scene) if look.mono else in_colours(scene, look.template.design.colours)


def _info(info: DocumentInfo, look: Look) -> DocumentInfo:
    return info if look.title is None else replace(info, title=look.title)


@cache
def words_of(language: str) -> Words:
    """Return the words of a language, read once in each process."""
    return load_words(language)
