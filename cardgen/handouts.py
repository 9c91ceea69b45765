"""From a profile to finished handouts: pages for a binder, and the poster for a wall."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol, TypeAlias, get_args

from cardgen.cards.clinic import Pupil
from cardgen.cards.handout import (
    Lesson,
    few_lesson,
    leave_page,
    miss_lesson,
    poster_of,
    straight_lesson,
    worksheet_page,
)
from cardgen.cards.ways import ways_of
from cardgen.cards.words import Words
from cardgen.drawing.handout import HandoutFormat, leave_scene, lesson_scene, worksheet_scene
from cardgen.drawing.poster import poster_scene
from cardgen.drawing.scene import Scene
from cardgen.drawing.ways import ways_scene
from cardgen.errors import UsageError
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import SINGLE_PINS, Leave
from cardgen.profile.bowler import Bowler, bowler_of
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import LaneSpec, Profile
from cardgen.sheets.binding import HoleName, binding_room, bound
from cardgen.sheets.imposition import imposed
from cardgen.sheets.papers import A3, Size
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import Chart
from cardgen.templating.template import Template
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

LessonName: TypeAlias = Literal["few", "miss", "straight"]
LESSONS: tuple[LessonName, ...] = get_args(LessonName)
"""One line for several leaves; follow the miss; why the spare ball goes straight."""
A2 = Size("A2", 420.0, 594.0)  # ISO 216
POSTERS = {size.name.lower(): size for size in (A3, A2)}


class Job(Protocol):
    """What a handout needs of a print job (``press.Job``)."""

    @property
    def chart(self) -> Chart:
        """The bowler's chart."""

    @property
    def words(self) -> Words:
        """The words on paper."""

    @property
    def answers(self) -> Answers:
        """The chart, and what follows from it."""

    @property
    def template(self) -> Template:
        """The template, whose centre stands at the foot."""


@dataclass(frozen=True)
class Handout:
    """A finished document: its pages, and what it says of itself."""

    scenes: tuple[Scene, ...]
    info: DocumentInfo

    @property
    def title(self) -> str:
        """The document's title."""
        return self.info.title

    def pdf(self) -> bytes:
        """Return all pages as a PDF."""
        return pdf_bytes(self.scenes, self.info)

    def svg(self) -> tuple[str, ...]:
        """Return each page as an SVG."""
        return tuple(svg_text(scene, self.info) for scene in self.scenes)


def leave_handout(job: Job, leave: Leave, paper: Size, holes: HoleName | None = None) -> Handout:
    """Return the page of ``leave``, worked out for the job's bowler.

    ``holes`` are to be punched, if it is None those that binders for the paper have.

    Raises:
        UsageError: the job's chart has no line for the leave.
    """
    lines = {line.leave: line for line in job.chart.lines}
    if leave not in lines:
        raise UsageError(f"{leave}: the chart has no line for it, so there is no handout")
    page = leave_page(lines[leave], job.chart, job.words)
    title = job.words("document.card", leave=page.card.name, bowler=job.chart.bowler.name)
    return _bound([leave_scene(page, _format(paper, job))], paper, title, job.words, holes)


def leave_handouts(job: Job, paper: Size, holes: HoleName | None = None) -> Handout:
    """Return the pages of all leaves of the job's chart, in its order."""
    fmt = _format(paper, job)
    scenes = [leave_scene(leave_page(x, job.chart, job.words), fmt) for x in job.chart.lines]
    title = job.words("document.booklet", bowler=job.chart.bowler.name)
    return _bound(scenes, paper, title, job.words, holes)


def worksheet(
    source: Job | Words,
    leave: Leave,
    paper: Size,
    holes: HoleName | None = None,
    *,
    hand: Hand = Hand.RIGHT,
) -> Handout:
    """Return the page on which a line for ``leave`` is found.

    For the bowler of a job; or, given nothing but words, for anybody of that ``hand``.
    """
    if isinstance(source, Words):
        words, fmt = source, _format(paper)
        page = worksheet_page(leave, _anybody(hand), words, walks=False)
    else:
        words, chart, fmt = source.words, source.chart, _format(paper, source)
        places = {line.leave: line.arrive for line in chart.lines if line.reaches}
        page = worksheet_page(leave, chart.bowler, words, walks=True, arrive=places.get(leave))
    title = f"{page.title}, {page.kind}"
    return _bound([worksheet_scene(page, fmt)], paper, title, words, holes)


def worksheets(job: Job, paper: Size, holes: HoleName | None = None) -> Handout:
    """Return the pages on which lines for the ten single pins are found."""
    pages = [worksheet(job, leave, paper, holes) for leave in SINGLE_PINS]
    title = job.words("handout.worksheets_title")
    return Handout(tuple(scene for page in pages for scene in page.scenes), _info(job.words, title))


def lesson(job: Job, name: LessonName, paper: Size, holes: HoleName | None = None) -> Handout:
    """Return the page of a lesson, shown on the job's own lines.

    Raises:
        UsageError: the chart has no line to show it on.
    """
    page = _lesson(job, name)
    return _bound([lesson_scene(page, _format(paper, job))], paper, page.title, job.words, holes)


def lessons(job: Job, paper: Size, holes: HoleName | None = None) -> Handout:
    """Return the pages of all lessons that the job's chart has lines for.

    Raises:
        UsageError: it has lines for none of them.
    """
    pages, missing = [], []
    for name in LESSONS:
        try:
            pages.append(_lesson(job, name))
        except UsageError as error:
            missing.append(error)
    if not pages:
        raise missing[0]
    fmt = _format(paper, job)
    scenes = [lesson_scene(page, fmt) for page in pages]
    return _bound(scenes, paper, job.words("handout.lessons_title"), job.words, holes)


def side_by_side(
    pupils: Sequence[Pupil], leave: Leave, of: Job, title: str, paper: Size
) -> Handout:
    """Return the page on which two to four students show ``leave``, in words and look of a job.

    ``title`` is that of their class.

    Raises:
        UsageError: there are fewer or more, or one of them has no line for the leave.
    """
    page = ways_of(pupils, leave, title, of.words)
    return _bound([ways_scene(page, _format(paper, of))], paper, title, of.words, None)


def poster(job: Job, size: Size) -> Handout:
    """Return the poster of the single pins, on its side on a sheet of ``size``.

    Raises:
        UsageError: the chart has no line for a single pin, or the sheet is smaller than A3.
    """
    sheet = size.landscape
    if sheet.width_mm < A3.height_mm or sheet.height_mm < A3.width_mm:
        raise UsageError(f"a poster needs A3 or larger, not {size.name} ({size.text})")
    content = poster_of(job.chart, job.words)
    scene = poster_scene(content, sheet.width_mm, sheet.height_mm, job.template.centre)
    title = f"{content.title}, {content.owner}"
    return Handout((replace(scene, title=title),), _info(job.words, title))


def _lesson(job: Job, name: LessonName) -> Lesson:
    match name:
        case "few":
            return few_lesson(job.chart, job.answers.few, job.words)
        case "miss":
            return miss_lesson(job.chart, job.words)
        case "straight":
            return straight_lesson(job.chart, job.words)


def _anybody(hand: Hand) -> Bowler:
    """Return a bowler of whom nothing but the hand is known."""
    profile = Profile(bowler="-", hand=hand)
    return bowler_of(LoadedProfile(profile, LaneSpec(), "", frozenset()))


def _format(paper: Size, job: Job | None = None) -> HandoutFormat:
    room = binding_room(paper)
    fmt = HandoutFormat(room.width_mm, room.height_mm)
    return fmt if job is None else fmt.signed(job.template.centre)


def _bound(
    pages: list[Scene], paper: Size, title: str, words: Words, holes: HoleName | None
) -> Handout:
    plan = bound(len(pages), binding_room(paper), paper, holes=holes)
    sheets = zip(imposed(pages, plan), pages, strict=True)
    return Handout(
        tuple(replace(sheet, title=page.title) for sheet, page in sheets), _info(words, title)
    )


def _info(words: Words, title: str) -> DocumentInfo:
    return DocumentInfo(
        title=title, subject=words("document.subject"), language=words.language, duplex=None
    )
