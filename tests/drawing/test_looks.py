"""Looks that were found wanting on paper: each test holds one of them."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TypeVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.card import card_of
from cardgen.cards.drill import DrillPage, DrillRow
from cardgen.cards.strike import FeetTable
from cardgen.cards.words import load_words
from cardgen.drawing import fonts
from cardgen.drawing.card import face_scene
from cardgen.drawing.column import Column
from cardgen.drawing.knowpages import drill_scenes
from cardgen.drawing.scene import Align, Curve, Group, Item, Line, Text, Transform, Weight
from cardgen.drawing.strikepages import feet_scenes
from cardgen.drawing.theme import A7, FORMATS, Format, format_of
from cardgen.press import Job
from cardgen.templating.loading import load_template
from cardgen.units import POINT_MM

T = TypeVar("T", Line, Text, Curve)
WORDS = st.lists(st.text("abcdefgh", min_size=1, max_size=9), min_size=3, max_size=14)


@pytest.mark.parametrize(
    ("text", "room", "lines"),
    [
        (
            "the right stand is within 1.4 boards.",
            "the right stand is within 1.4",
            ("the right stand is within", "1.4 boards."),
        ),
        ("Stay behind the line. Hurts? Stop.", "Stay behind the line. Hurts?", None),
    ],
)
def test_a_last_line_is_no_leftover(text: str, room: str, lines: tuple[str, ...] | None) -> None:
    found = fonts.wrap(text, fonts.width_mm(room, 8), 8)
    assert found == (lines or ("Stay behind the line.", "Hurts? Stop."))


def test_a_last_line_stays_short_after_a_comma_and_where_the_one_before_would_be_shorter() -> None:
    assert fonts.wrap("Hook release, 16", fonts.width_mm("Hook release,", 8), 8)[-1] == "16"
    room = fonts.width_mm("6-10, 3-10, 6-7-10, 7-10,", 8)
    assert fonts.wrap("6-10, 3-10, 6-7-10, 7-10, 8-10", room, 8)[-1] == "7-10, 8-10"
    room = fonts.width_mm("1 left of the", 8)
    assert fonts.wrap("The whole rack", room, 8) == ("The whole", "rack")


@given(words=WORDS, width=st.floats(8, 40))
def test_a_text_takes_as_many_lines_as_a_greedy_one(words: list[str], width: float) -> None:
    lines, size = [""], 8.0
    if max(fonts.width_mm(word, size) for word in words) > width:
        return
    for word in words:
        longer = f"{lines[-1]} {word}".strip()
        if fonts.width_mm(longer, size, Weight.REGULAR) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    found = fonts.wrap(" ".join(words), width, size)
    assert len(found) == len(lines)
    assert list(found[:-2]) == lines[:-2]
    assert " ".join(found) == " ".join(words)


def _found(items: Sequence[Item], kind: type[T], name: str = "") -> list[tuple[T, Transform]]:
    """Return the items of a kind and a name with where their groups put them."""
    found: list[tuple[T, Transform]] = []

    def look(items: Sequence[Item], place: Transform) -> None:
        for item in items:
            if isinstance(item, Group):
                look(item.items, item.transform.then(place))
            elif isinstance(item, kind) and name in ("", item.name):
                found.append((item, place))

    look(items, Transform())
    return found


def _ends_mm(text: Text, place: Transform) -> tuple[float, float]:
    """Return where a text begins and ends."""
    wide = fonts.width_mm(text.text, text.size_pt, text.weight)
    left = text.x_mm - {Align.START: 0.0, Align.MIDDLE: wide / 2, Align.END: wide}[text.align]
    return place.point(left, 0)[0], place.point(left + wide, 0)[0]


@pytest.mark.parametrize("fmt", FORMATS.values(), ids=lambda fmt: fmt.name)
@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
@pytest.mark.parametrize("design", ["plain", "friendly"])
def test_the_name_of_the_oil_stays_off_the_lane_and_clear_of_the_trim(
    demos: dict[str, Job], demo: str, fmt: Format, design: str
) -> None:
    job = replace(demos[demo], words=load_words("fr"))
    card = card_of(job.chart.lines[0], job.chart, job.words)
    scene = face_scene(card, fmt, load_template(design, "fr").design)
    edges = [at.point(i.x1_mm, 0)[0] for i, at in _found(scene.items, Line, "lane-edge")]
    labels = _found(scene.items, Text, "oil-label")
    assert [text.text for text, _ in labels][:1] == ["huile"]
    for text, place in labels:
        left, right = _ends_mm(text, place)
        # On the narrowest lanes the word is wider than gutter and margin together.
        assert left >= max(edges) - 0.3 or right <= min(edges) + 0.3
        assert scene.safe_mm - 0.01 <= left <= right <= scene.width_mm - scene.safe_mm + 0.01


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_a_fraction_stays_inside_its_block(demos: dict[str, Job], demo: str) -> None:
    job = demos[demo]
    design = load_template("friendly").design
    card = card_of(job.chart.lines[0], job.chart, job.words)
    for fmt in FORMATS.values():
        scene = face_scene(card, fmt, design)
        blocks = [block for block, _ in _found(scene.items, Curve, "block")]
        figures = [
            figure
            for call in (card.stand, card.target)
            for figure, _ in _found(scene.items, Text, f"figure-{call.label}")
        ]
        for block, figure in zip(blocks, figures, strict=True):
            # The stroke of a half drops by a tenth of its size (measured on the font).
            drop_mm = 0.1 * figure.size_pt * POINT_MM
            assert max(y for piece in block.pieces_mm for _, y in piece) >= figure.y_mm + drop_mm


def test_pairs_are_set_alike() -> None:
    pairs = [("Left of the pin, far out", "feet 2 to the left"), ("Gutter", "feet 3")]
    wide, narrow = Column(0, 0, 60), Column(0, 0, 34)
    wide.pairs(pairs, 8, Weight.BOLD)
    narrow.pairs(pairs, 8, Weight.BOLD)
    beside, below = ([text for text, _ in _found(c.items, Text)] for c in (wide, narrow))
    assert [text.align for text in beside] == [Align.START, Align.END] * 2
    assert [text.text for text in below] == [text for pair in pairs for text in pair]
    assert {text.align for text in below} == {Align.START}
    assert len({text.x_mm for text in below if text.weight is Weight.BOLD}) == 1


def test_the_columns_of_the_feet_table_stand_apart() -> None:
    rows = (("Bolo 10", "6½ izquierda", "50", "49", "42"), ("Bolo 6", "quieto", "38", "–", "–"))
    table = FeetTable("Spares", "", ("Bolos", "Pies", "De 100", "3-6-9", "2-4-6"), rows, ())
    (scene,) = feet_scenes(table, A7)
    cells = [
        (round(text.y_mm, 3), _ends_mm(text, place))
        for text, place in _found(scene.items, Text)
        if text.text in {cell for row in rows for cell in row}
    ]
    for (y, (_, end)), (other_y, (begin, _)) in pairwise(sorted(cells)):
        if y == other_y:
            assert begin - end > 2


def test_figures_of_a_drill_stand_apart() -> None:
    row = DrillRow("7 pin", "37", "19½", "Spare", ("",))
    page = DrillPage("Next", "", ("Pins", "Stand", "To", "Ball"), (row,), "", "", (), (), "", "")
    (scene,) = drill_scenes(page, A7)
    ends = {text.text: _ends_mm(text, place) for text, place in _found(scene.items, Text)}
    assert ends["19½"][0] - ends["37"][1] > 1.9


@pytest.mark.parametrize("language", ["fr", "de"])
def test_large_print_has_room_for_long_words(demos: dict[str, Job], language: str) -> None:
    fmt = format_of("a6", large_print=True)
    for demo in demos.values():
        job = replace(demo, words=load_words(language))
        assert not job.booklet(fmt).findings
