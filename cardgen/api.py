"""What cardgen offers to Python programs; names and meanings here are kept from release to release.

A profile is loaded, its chart computed, and products made of it:

>>> from cardgen import chart, load_profile, make
>>> bowler = load_profile({"bowler": "Ana Bell", "hand": "left"})
>>> card = chart(bowler, ["7"])["7"]
>>> card.ball
'spare'
>>> len(make(bowler, "pocket")[0].scenes)
1

Boards are counted from the side of the bowling hand, as bowlers do; chances are from 0 to 1.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from cardgen.cards.table import record_of, table_of
from cardgen.cards.words import load_words
from cardgen.drawing.fonts import use_fonts
from cardgen.drawing.theme import format_of
from cardgen.errors import CardgenError, InputError, UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.layouts import Layout
from cardgen.press import Document, Job, job_of, open_profile, printable_profile
from cardgen.products import PAPER_PRODUCTS, Order, check_order, documents_of
from cardgen.profile.loader import LoadedProfile, find_profile
from cardgen.sheets.papers import PAPERS
from cardgen.targeting.line import Line, told_chance
from cardgen.templating.loading import open_template
from cardgen.yamlsource import parse_yaml

__all__ = [
    "BowlerChart",
    "Card",
    "CardgenError",
    "Document",
    "InputError",
    "LoadedProfile",
    "UsageError",
    "chart",
    "load_profile",
    "make",
]


def load_profile(source: str | Path | Mapping[str, Any]) -> LoadedProfile:
    """Return the profile in a YAML file, a demo profile by its name, or one given as values.

    Raises:
        InputError: it has mistakes, all of them listed.
    """
    if isinstance(source, Mapping):
        # Every JSON text is a YAML text (YAML 1.2, 1.2), so the same reader tells what is wrong.
        return printable_profile(parse_yaml(json.dumps(dict(source)), "profile"), Path()).loaded
    return open_profile(find_profile(str(source))).loaded


@dataclass(frozen=True, eq=False)
class Card:
    """One leave's line, and the card that tells it. A notebook shows its front.

    ``stand`` and ``target`` are boards, ``ball`` is ``spare`` or ``strike``, ``chance`` that of the
    whole leave, ``room`` the boards by which the target may be missed to the left and the right.
    """

    leave: str
    stand: float
    target: float
    ball: str
    chance: float
    room: tuple[float, float]
    _job: Job = field(repr=False)
    _line: Line = field(repr=False)

    def svg(self, size: str = "id1", *, back: bool = False) -> str:
        """Return a side of the card as SVG, in a format by name or millimetres such as 60x90.

        Raises:
            UsageError: there is no such format.
        """
        return self._job.card_svg(self._line, format_of(size), back=back)

    def _repr_svg_(self) -> str:
        return self.svg()


class BowlerChart(Mapping[str, Card]):
    """A bowler's cards by leave, in the chart's order; ``strike`` is the full rack.

    A notebook shows it as a table.
    """

    def __init__(self, job: Job) -> None:
        """Take the chart of a print job."""
        self._job = job

    @cached_property
    def _cards(self) -> dict[str, Card]:
        return {_name(line.leave): _card(self._job, line) for line in self._job.chart.lines}

    def __getitem__(self, leave: str) -> Card:
        return self._cards[leave]

    def __iter__(self) -> Iterator[str]:
        return iter(self._cards)

    def __len__(self) -> int:
        return len(self._cards)

    def __repr__(self) -> str:
        return f"<chart of {self._job.chart.bowler.name}: {', '.join(self)}>"

    def _repr_html_(self) -> str:
        told = table_of(self._job.chart, self._job.words)
        table = Element("table")
        SubElement(table, "caption").text = self._job.chart.bowler.name
        rows = [
            (row.leave, row.stand, row.target, row.ball, row.chance, row.room) for row in told.rows
        ]
        for tag, texts in (("th", (*told.headings, told.room_heading)), *(("td", r) for r in rows)):
            line = SubElement(table, "tr")
            for text in texts:
                SubElement(line, tag).text = text
        return ElementTree.tostring(table, encoding="unicode", method="html")

    @property
    def unanswered(self) -> tuple[str, ...]:
        """The leaves that were asked for and have no line."""
        return tuple(map(_name, self._job.chart.unanswered))

    def record(self) -> dict[str, Any]:
        """Return all there is to say as plain values, as ``cardgen chart --json`` prints it."""
        return record_of(self._job.chart, self._job.words, self._job.answers.strike)


def chart(
    profile: LoadedProfile, leaves: Iterable[str] | None = None, *, words: str = "en"
) -> BowlerChart:
    """Return the chart of ``leaves`` such as ``3-10`` or ``strike``, or else of the usual ones.

    Raises:
        UsageError: a leave is none, or there are no words in that language.
    """
    asked = None if leaves is None else [_leave(text) for text in leaves]
    return BowlerChart(job_of(profile, load_words(words), asked))


def make(
    profile: LoadedProfile,
    product: str = "pocket",
    *,
    size: str | None = None,
    paper: str = "a4",
    words: str = "en",
    template: str | None = None,
    mono: bool = False,
    date: str = "",
) -> tuple[Document, ...]:
    """Return a product's documents, mostly one; each has ``pdf()``, ``svg()`` and ``png(dpi)``.

    ``product``, ``size``, ``paper``, ``words`` and ``template`` are what ``cardgen make`` calls
    them.

    Raises:
        UsageError: there is no such product, format, paper or language.
        InputError: the template has mistakes.
        CardgenError: there is nothing to make it of, or it would not come out right.
    """
    for name, known in ((product, PAPER_PRODUCTS), (paper, PAPERS)):
        if name not in known:
            raise UsageError(f"there is no {name!r}; there are {', '.join(known)}")
    said = load_words(words)
    use_fonts(said.fonts)
    look = None if template is None else open_template(template, said.language).template
    order = Order(Layout(PAPERS[paper]), size, date=date).like(look)
    check_order(order, [product])
    job = job_of(profile, said, mono=mono, template=look)
    return tuple(documents_of(job, product, order))


def _leave(text: str) -> Leave:
    try:
        return FULL_RACK if text == "strike" else Leave.parse(text)
    except ValueError as error:
        raise UsageError(str(error)) from error


def _name(leave: Leave) -> str:
    return "strike" if leave == FULL_RACK else str(leave)


def _card(job: Job, line: Line) -> Card:
    return Card(
        leave=_name(line.leave),
        stand=line.stand,
        target=line.target,
        ball=line.ball,
        chance=told_chance(line.odds.make, line.leave),
        room=(line.odds.room_left, line.odds.room_right),
        _job=job,
        _line=line,
    )
