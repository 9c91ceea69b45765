"""Finished cards and pages on paper, scheme by scheme."""

from dataclasses import replace

import pytest

from cardgen.cards.words import Words, load_words
from cardgen.drawing.scene import Disc, Scene, Text
from cardgen.errors import UsageError
from cardgen.layouts import TAB_MM, Layout, booklet_document, card_documents, settings_of
from cardgen.printers import Offset
from cardgen.sheets.papers import A4, LETTER
from cardgen.sheets.stock import find_stock

WORDS = load_words("en")


def page(name: str, width_mm: float = 53.98, height_mm: float = 85.6) -> Scene:
    return Scene(width_mm, height_mm, (Text(10, 20, name, 8, name=name),), title=name, safe_mm=2.5)


def cards(count: int, **size: float) -> tuple[list[Scene], list[Scene]]:
    return (
        [page(f"front {n}", **size) for n in range(count)],
        [page(f"back {n}", **size) for n in range(count)],
    )


def texts(scene: Scene) -> dict[str, tuple[float, float]]:
    return {
        item.text: place.point(item.x_mm, item.y_mm)
        for item, place in scene.walk()
        if isinstance(item, Text)
    }


def test_cards_come_two_sided_with_their_settings_in_words() -> None:
    (document,) = card_documents(*cards(12), Layout(), "Job", WORDS)
    assert document.duplex == "long-edge"
    assert len(document.scenes) == 4
    assert any("flip on the long edge" in text for text in texts(document.scenes[0]))
    (short,) = card_documents(*cards(3), Layout(flip="short-edge"), "Job", WORDS)
    assert short.duplex == "short-edge"
    assert any("flip on the short edge" in text for text in texts(short.scenes[0]))


def test_by_hand_makes_two_documents() -> None:
    fronts, backs = card_documents(*cards(12), Layout(scheme="by-hand"), "Job", WORDS)
    assert (fronts.ending, backs.ending) == ("-fronts", "-backs")
    assert len(fronts.scenes) == len(backs.scenes) == 2
    assert {"front 0", "front 9"} <= texts(fronts.scenes[0]).keys()
    assert {"back 0", "back 9"} <= texts(backs.scenes[0]).keys()
    assert fronts.duplex is backs.duplex is None


def test_fold_over_prints_on_one_side() -> None:
    (document,) = card_documents(*cards(2), Layout(scheme="fold-over"), "Job", WORDS)
    assert document.duplex is None
    assert {"front 0", "back 0", "front 1", "back 1"} <= texts(document.scenes[0]).keys()


def test_stock_begins_where_it_is_told() -> None:
    stock = find_stock("a4-10-business")
    size = {"width_mm": 54.0, "height_mm": 85.0}
    layout = Layout(scheme="stock", stock=stock, start_at=10)
    (document,) = card_documents(*cards(2, **size), layout, "Job", WORDS)
    assert len(document.scenes) == 4  # the last place of one sheet, the first of another
    with pytest.raises(UsageError, match="need the stock's name"):
        card_documents(*cards(2, **size), replace(layout, stock=None), "Job", WORDS)


def test_single_cards_are_pages_of_their_own() -> None:
    (document,) = card_documents(*cards(2), Layout(scheme="single"), "Job", WORDS)
    assert [(s.width_mm, s.height_mm) for s in document.scenes] == [(53.98, 85.6)] * 4


@pytest.mark.parametrize("turn", ["side", "top"])
def test_a_ring_takes_a_strip_at_the_edge_that_hangs(turn: str) -> None:
    layout = Layout(scheme="single", ring=True, turn=turn)  # type: ignore[arg-type]  # a literal
    (document,) = card_documents(*cards(1), layout, "Job", WORDS)
    front, back = document.scenes
    assert front.height_mm == back.height_mm == pytest.approx(85.6 + TAB_MM)
    assert texts(front)["front 0"] == (10, 20 + TAB_MM)
    # Turned over its head a card hangs from the foot of its back.
    assert texts(back)["back 0"] == (10, 20 + (TAB_MM if turn == "side" else 0))
    holes = [
        place.point(item.x_mm, item.y_mm)
        for scene in document.scenes
        for item, place in scene.walk()
        if isinstance(item, Disc)
    ]
    x, y = TAB_MM / 2, TAB_MM / 2
    mirrored = (53.98 - x, y) if turn == "side" else (x, 85.6 + TAB_MM - y)
    assert holes == [pytest.approx((x, y)), pytest.approx(mirrored)]


def test_the_printers_offset_moves_backs_only() -> None:
    plain, moved = (
        card_documents(*cards(1), Layout(offset=offset), "Job", WORDS)[0].scenes
        for offset in (Offset(), Offset(0.5, -0.25))
    )
    assert texts(plain[0]) == texts(moved[0])
    before, after = texts(plain[1])["back 0"], texts(moved[1])["back 0"]
    assert after == pytest.approx((before[0] + 0.5, before[1] + 0.25))


def test_pages_are_bound_as_told() -> None:
    pages = [page(f"page {n}", 74.0, 105.0) for n in range(1, 9)]
    (plain, fold, saddle) = (
        booklet_document(pages, binding, A4, Offset(), "Job", WORDS)
        for binding in ("pages", "fold", "saddle")
    )
    assert len(plain.scenes) == 8
    assert (len(fold.scenes), fold.duplex) == (1, None)
    assert {f"page {n}" for n in range(1, 9)} <= texts(fold.scenes[0]).keys()
    assert (len(saddle.scenes), saddle.duplex) == (4, "short-edge")
    assert {"page 8", "page 1"} <= texts(saddle.scenes[0]).keys()
    with pytest.raises(UsageError):
        booklet_document([*pages, *pages], "fold", A4, Offset(), "Job", WORDS)
    with pytest.raises(UsageError):
        booklet_document(pages, "fold", LETTER, Offset(), "Job", WORDS)


@pytest.mark.parametrize(
    ("layout", "said"),
    [
        (Layout(), "long edge"),
        (Layout(flip="short-edge"), "short edge"),
        (Layout(scheme="by-hand"), "lay them back in"),
        (Layout(scheme="fold-over"), "fold, and glue"),
        (Layout(scheme="single"), "on one side"),
    ],
)
def test_each_scheme_has_its_settings(layout: Layout, said: str) -> None:
    (setting,) = settings_of(layout, WORDS)
    assert said in setting


def test_words_are_those_of_the_language() -> None:
    marked = Words(WORDS.source, {**WORDS.texts, "sheet.slit": "<slit>"}, WORDS.lists)
    pages = [page(f"page {n}", 74.0, 105.0) for n in range(1, 9)]
    fold = booklet_document(pages, "fold", A4, Offset(), "Job", marked)
    assert "<slit>" in texts(fold.scenes[0])
