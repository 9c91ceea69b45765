"""Finished cards and pages on paper, scheme by scheme."""

import io
from dataclasses import replace

import pypdf
import pytest

from cardgen.cards.words import Words, load_words
from cardgen.drawing.scene import Clip, Disc, Group, Polyline, Scene, Text
from cardgen.drawing.theme import ID_1, format_of
from cardgen.errors import UsageError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.layouts import (
    TAB_MM,
    Layout,
    Scheme,
    booklet_document,
    card_documents,
    cut_format,
    settings_of,
)
from cardgen.press import job_of, open_profile
from cardgen.printers import Offset
from cardgen.profile.loader import find_profile
from cardgen.sheets.extent import extent_of
from cardgen.sheets.papers import A4, LETTER
from cardgen.sheets.stock import find_stock
from cardgen.templating.loading import open_template
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

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
    # Two spreads of two A7 pages each are on one A4 sheet, to be cut apart.
    assert (len(saddle.scenes), saddle.duplex) == (2, "short-edge")
    assert {"page 8", "page 1", "page 6", "page 3"} <= texts(saddle.scenes[0]).keys()
    assert any("cut the pile through" in text for text in texts(saddle.scenes[0]))
    assert saddle.settings[0] == WORDS("sheet.short_edge")
    one = booklet_document(pages[:4], "saddle", A4, Offset(), "Job", WORDS)
    assert one.settings == (WORDS("sheet.short_edge"),)
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


def footers(scene: Scene) -> list[str]:
    return [item.text for item, _ in scene.walk() if isinstance(item, Text) and item.name]


@pytest.mark.parametrize(
    ("language", "cut", "finished"),
    [
        ("en", "48 × 79.6\u00a0mm", "54 × 85.6\u00a0mm"),
        ("de", "48 × 79,6\u00a0mm", "54 × 85,6\u00a0mm"),
    ],
)
def test_what_is_laminated_says_what_to_cut_and_what_comes_of_it(
    language: str, cut: str, finished: str
) -> None:
    # ISO/IEC 7810: ID-1 is 85.60 x 53.98 mm; 3 mm of film a side: common practice, no source.
    words, layout = load_words(language), Layout(film_mm=3.0)
    fmt = cut_format(ID_1, layout)
    assert (fmt.width_mm, fmt.height_mm) == pytest.approx((47.98, 79.60))
    size = {"width_mm": fmt.width_mm, "height_mm": fmt.height_mm}
    (document,) = card_documents(*cards(3, **size), layout, "Job", words)
    assert any(cut in said and finished in said for said in document.settings)
    assert any(cut in said and finished in said for said in footers(document.scenes[0]))
    assert words("making.laminator") in document.settings
    # A strip for a ring is part of the finished piece.
    (ringed,) = card_documents(*cards(3, **size), replace(layout, ring=True), "Job", WORDS)
    assert any("48 × 93.6" in said and "54 × 99.6" in said for said in ringed.settings)


def test_film_that_leaves_no_card_is_refused_in_one_sentence() -> None:
    with pytest.raises(UsageError, match=r"'id1': film of 6 mm a side leaves 41.98 x 73.6 mm"):
        cut_format(ID_1, Layout(film_mm=6.0))
    assert cut_format(ID_1, Layout()) is ID_1
    large = cut_format(format_of("a6", large_print=True), Layout(film_mm=3.0))
    assert large.large_print
    assert large.body_pt > cut_format(format_of("a6"), Layout(film_mm=3.0)).body_pt


def test_a_size_of_ones_own_is_told_in_the_readers_decimals() -> None:
    size = {"width_mm": 60.5, "height_mm": 90.0}
    for language, said in (("en", "60.5 × 90\u00a0mm"), ("fr", "60,5 × 90\u00a0mm")):
        (document,) = card_documents(*cards(3, **size), Layout(), "Job", load_words(language))
        assert any(said in footer for footer in footers(document.scenes[0]))


@pytest.mark.parametrize("scheme", ["two-sided", "by-hand", "fold-over", "single"])
def test_a_bleed_shows_what_lies_beyond_the_trim(scheme: Scheme) -> None:
    ground = Polyline(((-3, -3), (57, -3), (57, 89), (-3, 89)), fill="#E3EFF6", closed=True)
    fronts, backs = ([replace(one, items=(ground, *one.items)) for one in c] for c in cards(2))
    layout = Layout(scheme=scheme, bleed_mm=3.0)
    scene = card_documents(fronts, backs, layout, "Job", WORDS)[0].scenes[0]
    windows = [group.clip for group in scene.items if isinstance(group, Group) and group.clip]
    assert windows[0].width_mm * windows[0].height_mm >= 56.98 * 91.6 - 1e-6
    if scheme == "single":
        assert scene.trim == Clip(3.0, 3.0, 53.98, 85.6)
        assert scene.title == "front 0"


def test_pages_with_a_bleed_have_their_trim_and_keep_their_titles() -> None:
    pages = [page(f"page {n}", 74.0, 105.0) for n in range(1, 4)]
    made = booklet_document(pages, "pages", A4, Offset(), "Job", WORDS, bleed_mm=3.0)
    assert [(s.title, s.width_mm, s.trim) for s in made.scenes] == [
        (f"page {n}", 80.0, Clip(3.0, 3.0, 74.0, 105.0)) for n in (1, 2, 3)
    ]
    data = pdf_bytes(made.scenes, DocumentInfo("Job"))
    (first, *_) = pypdf.PdfReader(io.BytesIO(data)).pages
    boxes = (first.mediabox, first.bleedbox, first.trimbox)
    assert [float(box.width) * POINT_MM for box in boxes] == pytest.approx([80, 80, 74], abs=0.01)
    assert float(first.trimbox.left) * POINT_MM == pytest.approx(3.0, abs=0.01)


def test_a_pile_to_cut_and_a_slit_come_with_their_cautions() -> None:
    (pile,) = card_documents(*cards(23), Layout(order="cut-stack"), "Job", WORDS)
    assert any("guarded cutter" in said for said in pile.settings)
    assert any("guarded cutter" in said for said in footers(pile.scenes[0]))
    pages = [page(f"page {n}", 74.0, 105.0) for n in range(1, 9)]
    fold = booklet_document(pages, "fold", A4, Offset(), "Job", WORDS)
    assert any("knife" in said for said in fold.settings)
    (plain,) = card_documents(*cards(23), Layout(), "Job", WORDS)
    assert not any("cutter" in said for said in plain.settings)


@pytest.mark.parametrize("copies", [1, 2])
def test_a_cut_stack_of_copies_follows_the_rule(copies: int) -> None:
    # common practice, no source: sheet s of S, position k holds card k S + s, both from 0
    layout = Layout(order="cut-stack", copies=copies)
    (document,) = card_documents(*cards(23), layout, "Job", WORDS)
    count, sheets = 23 * copies, -(-23 * copies // 10)
    assert len(document.scenes) == 2 * sheets
    for s, front in enumerate(document.scenes[::2]):
        held = [
            item.text
            for item, _ in front.walk()
            if isinstance(item, Text) and item.text.startswith("front ")
        ]
        wanted = [k * sheets + s for k in range(10) if k * sheets + s < count]
        assert held == [f"front {number % 23}" for number in wanted]


@pytest.mark.parametrize("design", ["plain", "friendly"])
def test_no_shipped_design_has_ink_at_the_trim_so_a_bleed_of_it_is_white(design: str) -> None:
    loaded = open_profile(find_profile("ilse-marchetti")).loaded
    job = job_of(
        loaded, WORDS, [Leave.of(10), FULL_RACK], template=open_template(design, "en").template
    )
    for size in ("id1", "a7-landscape"):
        (document,) = job.cards(format_of(size), Layout(scheme="single", bleed_mm=3.0))
        for scene in document.scenes:
            box, trim = extent_of(scene.items), scene.trim
            assert box is not None
            assert trim is not None
            assert box.x_mm >= trim.x_mm + 1.0
            assert box.y_mm >= trim.y_mm + 1.0
            assert box.x_mm + box.width_mm <= trim.x_mm + trim.width_mm - 1.0
            assert box.y_mm + box.height_mm <= trim.y_mm + trim.height_mm - 1.0
