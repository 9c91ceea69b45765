"""From a profile to finished documents: the one place where all the layers meet."""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from cardgen.cards.booklet import booklet_of, cards_of
from cardgen.cards.card import board_text, card_of
from cardgen.cards.words import Words
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.theme import A7, Format
from cardgen.errors import InputError, Problem
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.bowler import bowler_of
from cardgen.profile.loader import LoadedProfile, find_profile, load_lane, load_profile
from cardgen.profile.schema import LaneSpec
from cardgen.sheets.imposition import impose
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.papers import Size
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.line import Line
from cardgen.targeting.strike import Strike, strike_of
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text
from cardgen.yamlsource import load_yaml


@dataclass(frozen=True, eq=False)
class Job:
    """A loaded profile with its chart, ready to print in some words."""

    loaded: LoadedProfile
    chart: Chart
    words: Words

    def _info(self, title: str, *, two_sided: bool = False) -> DocumentInfo:
        return DocumentInfo(
            title=title,
            subject=self.words("document.subject"),
            language=self.words.language,
            duplex="long-edge" if two_sided else None,
        )

    def strike(self) -> Strike | None:
        """Return what there is to say of the chart's strike line; None if it has none."""
        racks = [line for line in self.chart.lines if line.leave == FULL_RACK and line.reaches]
        return strike_of(self.chart, racks[0]) if racks else None

    def booklet_pdf(self, *, date: str = "") -> bytes:
        """Return the booklet, its A7 pages in reading order; ``date`` goes on its cover."""
        sketch = card_of(self.chart.lines[0], self.chart, self.words).sketch
        booklet = booklet_of(
            self.loaded,
            self.chart,
            self.words,
            stretch=lane_frame(sketch, A7, A7.inner_height_mm).stretch,
            strike=self.strike(),
            date=date,
        )
        return pdf_bytes(booklet_scenes(booklet, A7), self._info(booklet.title))

    def cards_pdf(self, fmt: Format, paper: Size) -> bytes:
        """Return the cards of size ``fmt`` on sheets of ``paper``, every front with its back."""
        deck = cards_of(self.chart, self.words)
        sheets = impose(
            [*(face_scene(card, fmt) for card in deck.cards), *page_scenes(deck.key, fmt)],
            [*(back_scene(card, fmt) for card in deck.cards), *page_scenes(deck.care, fmt)],
            paper,
            SheetWords(
                job=deck.title,
                sheet=self.words("sheet.sheet"),
                front=self.words("sheet.front"),
                back=self.words("sheet.back"),
                setting=self.words("sheet.setting"),
            ),
        )
        return pdf_bytes(sheets, self._info(deck.title, two_sided=True))

    def card_svg(self, line: Line, fmt: Format, *, back: bool = False) -> str:
        """Return one side of one card."""
        card = card_of(line, self.chart, self.words)
        title = self.words("document.card", leave=card.name, bowler=self.chart.bowler.name)
        scene = back_scene(card, fmt) if back else face_scene(card, fmt)
        return svg_text(scene, self._info(title))


def unanswered_of(chart: Chart) -> tuple[str, ...]:
    """Return a sentence for each leave that was asked for and has no line."""
    return tuple(
        f"{leave}: no line; no stand and target within stand.boards bring a ball to it"
        for leave in chart.unanswered
    )


def doubts_of(chart: Chart) -> tuple[str, ...]:
    """Return a sentence for each line of the bowler's own that the model cannot follow."""
    return tuple(
        f"{line.leave}: your line from {board_text(line.stand)} over {board_text(line.target)} "
        "misses by the numbers of this profile; check its stand, target and ball"
        for line in chart.lines
        if not line.reaches
    )


@dataclass(frozen=True)
class Opened:
    """A profile that can be printed, and what its bowler should know about it."""

    loaded: LoadedProfile
    warnings: tuple[Problem, ...] = ()


def open_profile(path: Path) -> Opened:
    """Return the profile at ``path``, its name cut down to what the card font can print.

    Raises:
        InputError: the file has mistakes, or nothing of the bowler's name can be printed.
    """
    loaded = load_profile(path)
    name = unicodedata.normalize("NFC", loaded.profile.bowler)
    missing = missing_glyphs(name)
    if not missing:
        return Opened(_renamed(loaded, name))
    kept = " ".join("".join(c for c in name if c not in missing).split())
    named = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, 'no name')}" for c in missing)
    document = load_yaml(path)
    if not kept:
        message = f"the card font can print nothing of this name ({named})"
        hint = "write it with Latin, Greek or Cyrillic letters"
        raise InputError([document.problem(("bowler",), message, hint)])
    warning = document.problem(("bowler",), f"printed as {kept!r}: no card can show {named}")
    return Opened(_renamed(loaded, kept), (warning,))


def _renamed(loaded: LoadedProfile, name: str) -> LoadedProfile:
    return replace(loaded, profile=loaded.profile.model_copy(update={"bowler": name}))


def check_file(name: str) -> tuple[Problem, ...]:
    """Return the warnings of a profile; a file that says nothing but a lane's fields has none.

    Raises:
        InputError: the file has mistakes, all of them listed.
    """
    path = find_profile(name)
    value = load_yaml(path).value
    if isinstance(value, dict) and value and set(value) <= set(LaneSpec.model_fields):
        load_lane(path)
        return ()
    return open_profile(path).warnings


def job_of(loaded: LoadedProfile, words: Words, leaves: Iterable[Leave] | None = None) -> Job:
    """Return the print job of a profile: its chart of ``leaves``, or of all it can answer."""
    return Job(loaded, chart_for(bowler_of(loaded), leaves), words)
