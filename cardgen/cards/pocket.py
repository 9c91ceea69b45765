"""The pocket booklet: the few lines to remember on eight pages, which one sheet of paper makes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cardgen.cards.booklet import Advice, Cover, Face, Notes, cover_of
from cardgen.cards.card import Card, card_of, leave_label
from cardgen.cards.fewlines import FewPage, few_page
from cardgen.cards.spoken import spoken_of
from cardgen.cards.words import Words
from cardgen.lane.rack import Leave
from cardgen.profile.loader import LoadedProfile
from cardgen.targeting.chart import Chart
from cardgen.targeting.fewer import FewLines, Served
from cardgen.targeting.line import Line


@dataclass(frozen=True, eq=False)
class Pocket:
    """A title for the file; the cover, the lines, a face for each, the cautions, and what fills."""

    title: str
    cover: Cover
    few: FewPage
    faces: tuple[Face, ...]
    cautions: Advice
    notes: Notes


def pocket_of(
    loaded: LoadedProfile,
    chart: Chart,
    few: FewLines,
    lines: Sequence[Line],
    words: Words,
    *,
    date: str = "",
) -> Pocket:
    """Return the pocket booklet of the ``few`` lines, ``lines`` being those described.

    Each face tells which other leaves the line serves.
    """
    page = few_page(few, chart, words)
    served = {(f.ball, f.stand, f.target): f.serves for f in few.lines}
    return Pocket(
        words("document.pocket", bowler=chart.bowler.name),
        cover_of(loaded, chart, words, date),
        replace(page, notes=page.notes[:-1]),  # no other cards come after these
        tuple(
            Face(_face(line, chart, served[line.ball, line.stand, line.target], words))
            for line in lines
        ),
        Advice(words("cautions.title"), words.all("cautions.points"), points=True),
        Notes(words("notes.title")),
    )


def _face(line: Line, chart: Chart, served: Sequence[Served], words: Words) -> Card:
    """Return the card of a line that says which leaves it serves instead of its own's kind."""
    also = _also([each.leave for each in served], words)
    card = replace(card_of(line, chart, words), kind=also)
    return replace(card, spoken=spoken_of(card, words))


def _also(leaves: Sequence[Leave], words: Words) -> str:
    rest = ", ".join(leave_label(leave, words) for leave in leaves[1:])
    return words("pocket.also", leaves=rest) if rest else ""
