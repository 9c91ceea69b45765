"""What a card says to who hears it instead of seeing it, part by part."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cardgen.cards.words import Words
from cardgen.units import FOOT_M

if TYPE_CHECKING:
    from cardgen.cards.card import Card

_ENDS = (".", "!", "?", "…", "。", "！", "？")


@dataclass(frozen=True)
class Spoken:
    """Sentences for a card's two sides.

    ``face`` is all of the front. A back begins with ``head`` and ends with ``foot``; between stand
    those of ``chance``, ``room``, ``miss`` and ``notes`` that are printed on it, each of the notes
    in its place.
    """

    face: str = ""
    head: str = ""
    chance: str = ""
    room: str = ""
    miss: str = ""
    notes: tuple[str, ...] = ()
    foot: str = ""


def spoken_of(card: "Card", words: Words) -> Spoken:
    """Return what ``card`` says; what it has been told to say before does not matter."""
    call = words(
        "spoken.call", stand=card.stand.figure, target=card.target.figure, arrow=card.arrow
    )
    chance = _headed(card.chance.heading, card.chance.lines, words)
    room = card.room
    return Spoken(
        face=_sentences(
            (
                words.listed(text for text in (card.name, card.kind) if text),
                call,
                card.imagine,
                words.listed((card.ball, card.manner)),
                card.own or card.defaults,
                chance,
                card.count,
                _picture(card, words),
            ),
            words,
        ),
        head=_sentences((words.listed((card.name, words("spoken.back"))), call), words),
        chance=chance,
        room=""
        if room is None
        else _headed(card.room_heading, (words.listed((room.left_text, room.right_text)),), words),
        miss=""
        if not card.remedies
        else _headed(
            card.remedy_heading,
            (words.listed((remedy.miss, remedy.move)) for remedy in card.remedies),
            words,
        ),
        notes=tuple(_headed(note.heading, note.lines, words) for note in card.notes),
        foot=_sentences((card.caution, card.owner), words),
    )


def _picture(card: "Card", words: Words) -> str:
    """Return what the drawing of the lane shows: the path's boards, if it comes to the pins."""
    line, bowler = card.sketch.line, card.sketch.bowler
    feet = words.number(float(f"{bowler.lane.fresh.oil_m / FOOT_M:.3g}"))
    if not line.reaches:
        return words("spoken.lane", feet=feet)
    return words(
        "spoken.path",
        laydown=words.number(line.laydown, 0),
        target=card.target.figure,
        arrive=words.number(line.arrive, 0),
        feet=feet,
    )


def _headed(heading: str, texts: Iterable[str], words: Words) -> str:
    """Return texts as sentences under a heading; one that asks is a sentence of its own."""
    said = _sentences(texts, words)
    if heading.endswith(_ENDS):
        return f"{heading} {said}"
    return words("spoken.headed", heading=heading, text=said)


def _sentences(texts: Iterable[str], words: Words) -> str:
    """Return texts as sentences that follow each other; empty ones are left out."""
    return " ".join(
        text if text.endswith(_ENDS) else words("spoken.sentence", text=text)
        for text in texts
        if text
    )
