"""Pages for the class as a whole: lessons, worksheets, one leave several ways, wall and coach."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, islice
from typing import Literal, TypeAlias, get_args

from cardgen.cards.clinic import CoachRow, WallRow, coach_sheet, wall_charts
from cardgen.cards.ways import LETTERS
from cardgen.cards.words import Words
from cardgen.chartcache import ChartCache
from cardgen.clinic.job import Clinic
from cardgen.clinic.pieces import inked, job_of_seat, pupil_of, words_of
from cardgen.clinic.seats import Seat
from cardgen.drawing.coachsheet import coach_pages
from cardgen.drawing.scene import Scene
from cardgen.drawing.wallchart import wall_scene
from cardgen.handouts import lessons, side_by_side, worksheet
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import Leave
from cardgen.preflight import passed
from cardgen.press import Document, Job
from cardgen.profile.bowler import bowler_of
from cardgen.sheets.papers import A3, Size
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import chart_for
from cardgen.writers.document import DocumentInfo

ClassPage: TypeAlias = Literal["lessons", "worksheet", "ways", "wall", "coach"]
CLASS_PAGES: tuple[ClassPage, ...] = get_args(ClassPage)
WAYS = 3
"""So many students show one leave side by side, unless they are named."""
MOST_WAYS = len(LETTERS)
"""So many can be named."""
_TRIED = 4 * WAYS
"""So many are asked for a line; where none of them has one, the leave is out of reach."""


@dataclass(frozen=True)
class Class:
    """Who is in it, with their rows, in order; and the ``leave`` that the pages are about.

    ``shown`` are the students who show it side by side; none for those who differ most.
    """

    clinic: Clinic
    store: ChartCache
    rows: Sequence[tuple[Seat, CoachRow, WallRow]]
    leave: Leave
    shown: Sequence[Seat] = ()

    @property
    def words(self) -> Words:
        """The words on its pages."""
        return words_of(self.clinic.look.language)

    @property
    def paper(self) -> Size:
        """The paper of its pages."""
        return self.clinic.look.order.layout.paper

    def job(self, seat: Seat) -> Job:
        """Return the print job of a student."""
        return job_of_seat(seat, self.store.packed(seat.key), self.clinic.look)

    def scenes(self, page: ClassPage) -> Sequence[Scene]:
        """Return the pages of a kind.

        Raises:
            UsageError: there are none, and why.
        """
        return _MAKERS[page](self)


def class_document(of: Class, page: ClassPage) -> Document:
    """Return the document of a kind of pages; it bears the clinic's title and nobody's name.

    Raises:
        UsageError: there is none, and why.
    """
    scenes = [inked(scene, of.clinic.look) for scene in of.scenes(page)]
    findings = passed(scenes, kind="handout", forgiven=("overlap",))
    info = DocumentInfo(of.clinic.title, language=of.words.language)
    return Document("", tuple(scenes), info, findings)


def _lessons(of: Class) -> Sequence[Scene]:
    """Show the lessons on the lines that most students share."""
    usual, _ = Counter(seat.key for seat, _, _ in of.rows).most_common(1)[0]
    seat = next(seat for seat, _, _ in of.rows if seat.key == usual)
    return lessons(of.job(replace(seat, name=of.clinic.title)), of.paper).scenes


def _worksheet(of: Class) -> Sequence[Scene]:
    """Return a page for each hand in the class."""
    hands = dict.fromkeys(seat.loaded.profile.hand for seat, _, _ in of.rows)
    pages = (worksheet(of.words, of.leave, of.paper, hand=Hand(hand)) for hand in hands)
    return [scene for page in pages for scene in page.scenes]


def _ways(of: Class) -> Sequence[Scene]:
    seats = of.shown or _unlike(seat for seat, _, _ in of.rows)[:_TRIED]
    jobs = ((_with_line(of.job(seat), of.leave), seat) for seat in seats)
    # Who is not asked for by name shows it only if a line brings him to it.
    able = ((job, seat) for job, seat in jobs if of.shown or _has_line(job, of.leave))
    pupils = [pupil_of(job, seat) for job, seat in islice(able, len(of.shown) or WAYS)]
    look = of.job(of.rows[0][0])
    return side_by_side(pupils, of.leave, look, of.clinic.title, of.paper).scenes


def _has_line(job: Job, leave: Leave) -> bool:
    return any(line.leave == leave for line in job.chart.lines)


def _with_line(job: Job, leave: Leave) -> Job:
    """Return the job of a student with a line for ``leave``, though his chart has none."""
    if _has_line(job, leave):
        return job
    return replace(job, answers=Answers(chart_for(bowler_of(job.loaded), [leave])))


def _wall(of: Class) -> Sequence[Scene]:
    sheet = A3.landscape
    groups = groupby(of.rows, lambda row: row[0].group)
    return [
        wall_scene(chart, sheet.width_mm, sheet.height_mm)
        for group, rows in groups
        for chart in wall_charts([wall for _, _, wall in rows], group or of.clinic.title, of.words)
    ]


def _coach(of: Class) -> Sequence[Scene]:
    sheet = coach_sheet([coach for _, coach, _ in of.rows], of.clinic.title, of.words)
    lying = of.paper.landscape
    return list(coach_pages(sheet, lying.width_mm, lying.height_mm))


_MAKERS: dict[ClassPage, Callable[[Class], Sequence[Scene]]] = {
    "lessons": _lessons,
    "worksheet": _worksheet,
    "ways": _ways,
    "wall": _wall,
    "coach": _coach,
}


def _unlike(seats: Iterable[Seat]) -> list[Seat]:
    """Return students no two of whom have one chart, first those of another hand or style."""
    kinds: dict[object, Seat] = {}
    others: dict[str, Seat] = {}
    for seat in seats:
        profile = seat.loaded.profile
        kind = (profile.hand, profile.style)
        if kind not in kinds:
            kinds[kind] = seat
        elif seat.key not in {known.key for known in kinds.values()}:
            others.setdefault(seat.key, seat)
    return [*kinds.values(), *others.values()]
