"""The pages of a booklet, and the cards of a set, in the order in which they are read."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeAlias

from cardgen.cards.assumptions import Assumptions, assumptions_of
from cardgen.cards.card import (
    Card,
    Sketch,
    board_text,
    card_of,
    leave_label,
    side_word,
    speed_text,
)
from cardgen.cards.chances import chance_text, pins_text
from cardgen.cards.changes import ChangesPage, changes_page
from cardgen.cards.drill import DrillPage, drill_page
from cardgen.cards.fewlines import FewPage, few_page
from cardgen.cards.strike import FeetTable, Moves, feet_page, moves_page
from cardgen.cards.table import Table, table_of
from cardgen.cards.words import Words
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import BallSpec, LaneSpec
from cardgen.resources import YAML_SUFFIXES
from cardgen.targeting.changes import Change
from cardgen.targeting.chart import Chart
from cardgen.targeting.drill import Drill, Practice
from cardgen.targeting.fewer import FewLines
from cardgen.targeting.line import Line
from cardgen.targeting.practice import practice_order
from cardgen.targeting.sections import Section, section_of
from cardgen.targeting.strike import Strike
from cardgen.units import FOOT_M

EXAMPLE = Leave.of(10)
"""The leave that explains a card: in the corner, where every mark shows apart from the others."""


@dataclass(frozen=True)
class Cover:
    """The front page."""

    title: str
    bowler: str
    facts: tuple[str, ...]
    date: str


@dataclass(frozen=True, eq=False)
class Guide:
    """How to read a card: the marks of its drawing, numbered, on an example."""

    title: str
    sketch: Sketch
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Advice:
    """A page of paragraphs, or of points where ``points`` is set."""

    title: str
    paragraphs: tuple[str, ...]
    points: bool = False


@dataclass(frozen=True)
class Opener:
    """The page that opens a section: how such leaves are played, and which follow.

    ``rows``: each leave with its call and its chance.
    """

    title: str
    intro: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, eq=False)
class Face:
    """The front of a card as a page."""

    card: Card


@dataclass(frozen=True, eq=False)
class Back:
    """The back of a card as a page."""

    card: Card


@dataclass(frozen=True)
class Tally:
    """A page to mark throws on."""

    title: str
    intro: str
    date: str
    leaves: tuple[str, ...]


@dataclass(frozen=True)
class Notes:
    """A page to write on."""

    title: str


Page: TypeAlias = (
    Cover
    | FewPage
    | ChangesPage
    | Guide
    | Advice
    | Opener
    | Notes
    | Face
    | Back
    | Moves
    | FeetTable
    | Table
    | Assumptions
    | DrillPage
    | Tally
)


@dataclass(frozen=True, eq=False)
class Booklet:
    """A title for the file, the pages in reading order, and the page that fills where one must."""

    title: str
    pages: tuple[Page, ...]
    notes: Notes


@dataclass(frozen=True, eq=False)
class CardSet:
    """A title for the file, the cards in order, and the card that goes with them.

    Its front is the key to the others, its back the cautions.
    """

    title: str
    cards: tuple[Card, ...]
    key: Advice
    care: Advice


def cards_of(chart: Chart, words: Words) -> CardSet:
    """Return a card for each line of ``chart``, and the key to them."""
    key = words.all(
        "key_card.points",
        side=side_word(words, chart.bowler.hand, ball_side=True),
        distance=words.number(chart.bowler.habits.distance_m / FOOT_M, 1),
    )
    return CardSet(
        title=words("document.cards", bowler=chart.bowler.name),
        cards=tuple(card_of(line, chart, words) for line in chart.lines),
        key=Advice(words("key_card.title"), key, points=True),
        care=Advice(words("key_card.care_title"), words.all("key_card.care"), points=True),
    )


def booklet_of(
    loaded: LoadedProfile,
    chart: Chart,
    words: Words,
    *,
    stretch: float,
    strike: Strike | None = None,
    few: FewLines | None = None,
    changes: Sequence[Change] = (),
    drill: Drill | None = None,
    practice: Sequence[Practice] = (),
    date: str = "",
) -> Booklet:
    """Return the booklet of ``chart``.

    ``strike`` is what there is to say of its strike line, if it has one; ``few`` are its lines to
    remember, ``changes`` those that a fit has changed; ``drill`` and ``practice`` are what to throw
    next. ``stretch`` is how many times too wide the lane is drawn, which the reader is told;
    ``date`` is printed on the cover if there is one.
    """
    cards = cards_of(chart, words).cards
    guide = Guide(words("guide.title"), _example(chart, cards).sketch, words.all("guide.keys"))
    side = side_word(words, chart.bowler.hand, ball_side=True)
    text = words.all(
        "guide.text",
        side=side,
        distance=words.number(chart.bowler.habits.distance_m / FOOT_M, 1),
        stretch=words.number(stretch, 0),
    )
    pages: list[Page] = [
        cover_of(loaded, chart, words, date),
        *([] if few is None else [few_page(few, chart, words)]),
        *([changes_page(changes, words)] if changes else []),
        guide,
        Advice(words("guide.text_title"), text),
    ]
    for section, group in groupby(zip(chart.lines, cards, strict=True), _section):
        shown = list(group)
        if section is not Section.STRIKE:  # a single card opens itself
            pages.append(_opener(section, [line for line, _ in shown], words))
        for _, card in shown:
            pages += [Face(card), Back(card)]
        if section is Section.STRIKE and strike is not None:
            hand = chart.bowler.hand
            pages += [moves_page(strike, hand, words), feet_page(strike, hand, words)]
    pages += [table_of(chart, words), assumptions_of(loaded, chart, words)]
    if drill is not None or practice:
        pages.append(drill_page(drill, practice, words))
    spares = [line.leave for line in practice_order(chart) if line.leave != FULL_RACK]
    if spares:
        pages.append(_tally(spares, words))
    pages.append(Advice(words("cautions.title"), words.all("cautions.points"), points=True))
    return Booklet(
        words("document.booklet", bowler=chart.bowler.name),
        tuple(pages),
        Notes(words("notes.title")),
    )


def _section(shown: tuple[Line, Card]) -> Section:
    return section_of(shown[0])


def _opener(section: Section, lines: Sequence[Line], words: Words) -> Opener:
    return Opener(
        words(f"sections.{section.value}"),
        words(f"section_intros.{section.value}"),
        tuple(
            (
                leave_label(line.leave, words),
                words("table.call", stand=board_text(line.stand), target=board_text(line.target)),
                pins_text(line.odds.count, words, estimate=line.odds.estimate)
                if section is Section.COUNT
                else chance_text(line.odds.make, line.leave, words, estimate=line.odds.estimate),
            )
            for line in lines
        ),
    )


def _tally(leaves: Sequence[Leave], words: Words) -> Tally:
    return Tally(
        words("tally.title"),
        words("tally.intro"),
        words("tally.date"),
        tuple(leave_label(leave, words) for leave in leaves),
    )


def _example(chart: Chart, cards: Sequence[Card]) -> Card:
    """Return the card to explain: the corner pin's, else a spare's whose ball comes to its pin."""
    corner = chart.bowler.inside(EXAMPLE)

    def unfit(card: Card) -> tuple[bool, bool, bool]:
        return card.leave == FULL_RACK, not card.sketch.line.reaches, card.leave != corner

    return min(cards, key=unfit)


def cover_of(loaded: LoadedProfile, chart: Chart, words: Words, date: str) -> Cover:
    """Return the front page; ``date`` is printed on it if there is one."""
    bowler = chart.bowler
    hand = words(f"cover.hand_{bowler.hand.value}")
    facts = [
        words.listed((hand, words(f"cover.{bowler.style}"))),
        words("cover.count", side=side_word(words, bowler.hand, ball_side=True)),
    ]
    used = {line.ball for line in chart.lines}
    for ball in bowler.balls:
        if ball.name in used:
            spec: BallSpec = getattr(loaded.profile.balls, ball.name)
            facts.append(
                words(
                    "cover.ball",
                    ball=words(f"balls.{ball.name}"),
                    cover=words(f"covers.{spec.cover}"),
                    weight=words.number(spec.weight_lb),
                    speed=speed_text(ball.speed_mps, words),
                )
            )
    facts.append(words("cover.lane", lane=_lane_name(loaded.profile.lane, words)))
    return Cover(
        title=words("cover.title"),
        bowler=bowler.name,
        facts=tuple(facts),
        date=words("cover.date", date=date) if date else "",
    )


def _lane_name(lane: str | LaneSpec, words: Words) -> str:
    """Return what a lane is called; the path of a lane file is nobody's business on paper."""
    if not isinstance(lane, str) or lane.endswith(YAML_SUFFIXES):
        return words("cover.lane_own")
    return words.texts.get(f"lanes.{lane}", lane)
