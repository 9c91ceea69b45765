"""Designs on cards: what they show, in which order, and that nothing is lost or hidden."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from cardgen.cards.booklet import cards_of
from cardgen.cards.card import Card
from cardgen.drawing import theme
from cardgen.drawing.accent import in_colours
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.scene import Curve, Group, Polyline, Scene, Text
from cardgen.drawing.shapes import PIN_WIDTH, round_box, smiling_pin
from cardgen.drawing.theme import FORMATS
from cardgen.preflight import preflight
from cardgen.press import Job
from cardgen.sheets.extent import extent_of
from cardgen.templating.loading import load_template
from cardgen.templating.schema import FACE_PANELS
from cardgen.templating.template import PLAIN, Colours, Design

FRIENDLY = load_template("friendly").design
TURNED = replace(
    PLAIN,
    name="turned",
    face=("leave", "kind", "ball", "own", "call", "arrow", "imagine", "count", "cheer", "lane"),
    weight="medium",
    cheer="Take your time. You know this one.",
)
LARGE = replace(PLAIN, name="large", figures="large", corners="round", pattern="blocks")
DESIGNS = (PLAIN, FRIENDLY, TURNED, LARGE)
ALL_DESIGNS = pytest.mark.parametrize("design", DESIGNS, ids=[design.name for design in DESIGNS])


def texts(scene: Scene) -> list[Text]:
    return [item for item, _ in scene.walk() if isinstance(item, Text)]


def said(scene: Scene) -> str:
    return " ".join(text.text for text in texts(scene))


def tops(scene: Scene) -> dict[str, float]:
    return {text.text: text.y_mm for text in reversed(texts(scene))}


def figures(scene: Scene) -> dict[str, float]:
    return {t.text: t.size_pt for t in texts(scene) if t.name.startswith("figure-")}


@pytest.fixture(scope="session")
def decks(demos: dict[str, Job]) -> list[Sequence[Card]]:
    """The cards of a right-hander, and of a left-hander with half boards."""
    return [cards_of(job.chart, job.words).cards for job in demos.values()]


@ALL_DESIGNS
@pytest.mark.parametrize("fmt", sorted(FORMATS))
def test_no_design_breaks_a_rule_on_any_format(
    decks: list[Sequence[Card]], fmt: str, design: Design
) -> None:
    scenes = [
        in_colours(side(card, FORMATS[fmt], design), design.colours)
        for deck in decks
        for card in deck[::3]
        for side in (face_scene, back_scene)
    ]
    assert [str(found) for found in preflight(scenes, kind="card")] == []


@ALL_DESIGNS
@pytest.mark.parametrize("fmt", ["a7", "id1", "id1-landscape", "a8"])
def test_every_face_says_what_to_do_and_what_it_rests_on(
    decks: list[Sequence[Card]], fmt: str, design: Design
) -> None:
    for deck in decks:
        for card in deck:
            scene = face_scene(card, FORMATS[fmt], design)
            shown = "".join(said(scene).split())
            wanted = (card.name, card.ball, card.manner, card.imagine, card.own or card.defaults)
            assert all("".join(text.split()) in shown for text in wanted)
            assert set(figures(scene)) == {card.stand.figure, card.target.figure}
            assert any(isinstance(i, Group) and i.name == "lane" for i in scene.items)


@ALL_DESIGNS
@pytest.mark.parametrize("fmt", ["a7", "id1", "id1-landscape", "a8"])
def test_every_back_says_how_sure_it_is_and_cautions(
    decks: list[Sequence[Card]], fmt: str, design: Design
) -> None:
    for deck in decks:
        for card in deck:
            scene = back_scene(card, FORMATS[fmt], design)
            shown = "".join(said(scene).split())
            kept = [line for note in card.notes if note.kept for line in note.lines]
            for line in (*card.chance.lines, *kept, card.caution):
                assert "".join(line.split()) in shown


def test_the_plain_design_is_what_is_drawn_without_one(decks: list[Sequence[Card]]) -> None:
    for fmt in FORMATS.values():
        for card in decks[1][::5]:
            assert face_scene(card, fmt) == face_scene(card, fmt, PLAIN)
            assert back_scene(card, fmt) == back_scene(card, fmt, PLAIN)
            assert in_colours(face_scene(card, fmt), PLAIN.colours) == face_scene(card, fmt)


def test_the_shipped_plain_template_changes_nothing(decks: list[Sequence[Card]]) -> None:
    design = load_template("plain").design
    card = decks[0][1]
    assert face_scene(card, FORMATS["a7"], design) == face_scene(card, FORMATS["a7"])


@pytest.mark.parametrize(
    ("fmt", "times"),
    [("id1", 1.1), ("a7", 1.2), ("a6", 1.2), ("a8", 1.1), ("id1-landscape", 1.0)],
)
def test_friendly_figures_are_larger_than_plain_ones(
    decks: list[Sequence[Card]], fmt: str, times: float
) -> None:
    for card in decks[0]:  # no half boards
        plain, friendly = (figures(face_scene(card, FORMATS[fmt], d)) for d in (PLAIN, FRIENDLY))
        assert min(friendly.values()) > times * max(plain.values())


def test_friendly_cards_carry_fewer_numbers(decks: list[Sequence[Card]]) -> None:
    for card in decks[0]:
        counts = [
            sum(c.isdigit() for c in said(back_scene(card, FORMATS["a7"], design)))
            for design in (FRIENDLY, PLAIN)
        ]
        assert counts[0] <= counts[1]


def test_panels_stand_in_the_order_asked_for(decks: list[Sequence[Card]]) -> None:
    card = decks[1][3]
    scene = face_scene(card, FORMATS["a7"], TURNED)
    at = tops(scene)
    high = [text.y_mm for text in texts(scene) if text.name.startswith("figure-")]
    order = [at[card.name], at[card.kind], at[card.ball], *high, at[card.arrow], at[card.count]]
    assert order == sorted(order)
    assert any(text.startswith("Take your") for text in at)


def test_a_lane_that_does_not_come_first_stands_at_the_right(decks: list[Sequence[Card]]) -> None:
    for design, right in ((PLAIN, False), (TURNED, True)):
        scene = face_scene(decks[0][1], FORMATS["a7"], design)
        lane = next(i for i in scene.items if isinstance(i, Group) and i.name == "lane")
        title = next(text for text in texts(scene) if text.name == "title")
        assert (lane.transform.e > title.x_mm) == right


@pytest.mark.parametrize("panel", ["kind", "arrow", "count"])
def test_a_panel_that_is_left_out_does_not_show(decks: list[Sequence[Card]], panel: str) -> None:
    card = decks[0][4]
    without = replace(PLAIN, face=tuple(name for name in FACE_PANELS if name != panel))
    gone = {"kind": card.kind, "arrow": card.arrow, "count": card.count}[panel]
    assert gone in said(face_scene(card, FORMATS["a7"]))
    assert gone not in said(face_scene(card, FORMATS["a7"], without))


def test_backs_without_room_and_with_few_notes_are_shorter(decks: list[Sequence[Card]]) -> None:
    card = next(card for card in decks[0] if card.room and len(card.notes) > 3)
    fmt = FORMATS["a5"]
    less = replace(PLAIN, back=("chance", "notes"), notes=2)
    full, short = said(back_scene(card, fmt)), said(back_scene(card, fmt, less))
    assert card.room_heading in full
    assert card.room_heading not in short
    shown = [note for note in card.notes if note.heading in short]
    assert len(shown) == 2
    assert {note.heading for note in card.notes if note.kept} <= {note.heading for note in shown}


def test_sections_of_a_back_stand_in_the_order_asked_for(decks: list[Sequence[Card]]) -> None:
    card = next(card for card in decks[0] if card.room and card.remedies)
    turned = replace(PLAIN, back=("miss", "room", "chance", "notes"))
    at = tops(back_scene(card, FORMATS["a7"], turned))
    assert at[card.remedy_heading] < at[card.room_heading] < at[card.chance.heading]


# --- colours and shapes --------------------------------------------------------------------------


def test_a_designs_colours_take_the_place_of_the_themes(decks: list[Sequence[Card]]) -> None:
    colours = Colours("#101010", "#202020", "#303030", "#FEFEFE")
    scene = in_colours(face_scene(decks[0][1], FORMATS["a7"], FRIENDLY), colours)
    inks: set[str | None] = set()
    for item, _ in scene.walk():
        inks |= {getattr(item, "fill", None), getattr(item, "colour", None)}
        inks.add(getattr(getattr(item, "stroke", None), "colour", None))
    assert {"#101010", "#202020", "#FEFEFE"} <= inks
    assert not inks & {theme.NAVY, theme.VERMILION, theme.MIST}


def test_a_round_box_fills_its_frame_and_cuts_its_corners() -> None:
    made = round_box(10, 20, 30, 12, 4, fill="#000000")
    points = [made.start_mm, *(piece[2] for piece in made.pieces_mm)]
    assert (min(x for x, _ in points), max(x for x, _ in points)) == (10, 40)
    assert (min(y for _, y in points), max(y for _, y in points)) == (20, 32)
    assert not {(10, 20), (40, 20), (40, 32), (10, 32)} & set(points)
    assert round_box(0, 0, 4, 10, 99).start_mm == (2, 0)


def test_a_smiling_pin_stands_in_its_frame() -> None:
    extent = extent_of([smiling_pin(20, 5, 10)])
    assert extent is not None
    assert extent.height_mm == pytest.approx(10, abs=0.6)
    assert extent.x_mm + extent.width_mm / 2 == pytest.approx(20)
    assert extent.width_mm == pytest.approx(PIN_WIDTH * 10, abs=0.6)


def test_blocks_have_the_corners_asked_for(decks: list[Sequence[Card]]) -> None:
    for design, kind in ((replace(LARGE, corners="square"), Polyline), (LARGE, Curve)):
        scene = face_scene(decks[0][1], FORMATS["a7"], design)
        blocks = [i for i, _ in scene.walk() if getattr(i, "name", "") == "block"]
        assert [type(block) for block in blocks] == [kind, kind]
