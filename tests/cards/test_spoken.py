"""What a card says to who hears it: all that its two sides print, in sentences of the language."""

import re
from dataclasses import replace

import pytest

from cardgen.cards.card import Card, card_of
from cardgen.cards.pocket import pocket_of
from cardgen.cards.spoken import spoken_of
from cardgen.cards.words import load_words
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.scene import Scene, Text
from cardgen.drawing.theme import FORMATS, ID_1
from cardgen.press import Job
from cardgen.templating.loading import load_template

LANGUAGES = ("en", "de", "es", "fr", "ja", "ko")
STOP = re.compile(r"[.!?…。！？]$")


def cards(job: Job) -> list[Card]:
    return [card_of(line, job.chart, job.words) for line in job.chart.lines]


def words_in(text: str) -> set[str]:
    return set(re.findall(r"[\w½.,-]+", text.lower().replace("\u00a0", " ")))


def test_a_face_tells_the_call_first(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    card = next(card for card in cards(job) if card.name == "10 pin")
    assert card.spoken.face.startswith(
        "10 pin, single pin. Stand on board 34, look at board 20, 4th arrow. Spare ball, Flat "
        "release, 17\u00a0mph. Your own line. Chance: "
    )
    line = card.sketch.line
    assert f"set down on board {line.laydown:.0f}, rolls over board 20" in card.spoken.face
    assert f"comes in on board {line.arrive:.0f}. Oil reaches 40\u00a0ft." in card.spoken.face


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_all_that_a_face_prints_is_said(demo: str, demos: dict[str, Job]) -> None:
    for card in cards(demos[demo]):
        printed = (card.name, card.kind, card.stand.figure, card.target.figure, card.arrow)
        for text in (*printed, card.ball, card.manner, card.own, card.imagine, card.count):
            assert text in card.spoken.face
        assert card.chance.lines[0].lower() in card.spoken.face.lower()


@pytest.mark.parametrize("fmt", [ID_1, FORMATS["a6"], FORMATS["id1-landscape"]])
@pytest.mark.parametrize("design", ["plain", "friendly"])
def test_a_back_says_what_is_printed_on_it_and_no_more(
    fmt: object, design: str, demos: dict[str, Job]
) -> None:
    assert isinstance(fmt, type(ID_1))
    look = load_template(design).design
    for card in cards(demos["ilse-marchetti"])[::4]:
        scene = back_scene(card, fmt, look)
        shown = " ".join(item.text for item, _ in scene.walk() if isinstance(item, Text))
        said = scene.description
        assert card.caution in said
        for note, told in zip(card.notes, card.spoken.notes, strict=True):
            assert (told in said) == (words_in(" ".join(note.lines)) <= words_in(shown))
        assert (card.spoken.room in said) == ("room" in look.back or card.room is None)


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_said_in_sentences_of_the_language(language: str, demos: dict[str, Job]) -> None:
    job = replace(demos["wren-skobernik"], words=load_words(language))
    for card in cards(job):
        spoken = card.spoken
        parts = (spoken.face, spoken.head, spoken.chance, spoken.room, spoken.miss, *spoken.notes)
        for part in (*parts, spoken.foot):
            assert not part or STOP.search(part)
            assert "{" not in part
            assert not re.search(r"[.。][.。]|  |[?？][:：]", part), part
        if language != "en":
            assert "board" not in spoken.face


def test_a_line_that_does_not_come_to_its_pin_promises_no_arrival(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    card = cards(job)[1]
    lost = replace(card, sketch=replace(card.sketch, line=replace(card.sketch.line, reaches=False)))
    said = spoken_of(lost, job.words).face
    assert "comes in" not in said
    assert "Oil reaches" in said


def test_a_face_in_the_pocket_says_which_leaves_its_line_serves(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    assert job.answers.pocket is not None
    few, lines = job.answers.pocket
    for face in pocket_of(job.loaded, job.chart, few, lines, job.words).faces:
        assert f"{face.card.name}, {face.card.kind}" in face.card.spoken.face


def test_both_sides_of_a_scene_carry_the_description(demos: dict[str, Job]) -> None:
    card = cards(demos["ilse-marchetti"])[3]
    for design in (load_template("plain").design, load_template("friendly").design):
        assert face_scene(card, ID_1, design).description == card.spoken.face
        assert back_scene(card, ID_1, design).description.startswith(card.spoken.head)
    assert Scene(9, 9, ()).description == ""
