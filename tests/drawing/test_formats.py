"""Every format: its size, its type, and that cards and pages come out whole in it."""

from collections.abc import Callable, Iterator
from itertools import pairwise

import pytest

from cardgen.cards.booklet import Booklet, CardSet, cards_of
from cardgen.cards.card import Card, card_of
from cardgen.cards.words import load_words
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.fonts import width_mm
from cardgen.drawing.laneframe import DECK_FROM_M, lane_frame
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.scene import Scene, Text, Weight
from cardgen.drawing.theme import FORMATS, Format, format_of
from cardgen.errors import UsageError
from cardgen.preflight import preflight
from cardgen.press import Job
from cardgen.sheets import papers
from cardgen.units import FOOT_M, POINT_MM

MakeBooklet = Callable[[Job], Booklet]
DEMOS = ("ilse-marchetti", "wren-skobernik")
LARGE = ("a5", "a6", "a6-landscape")
ODD = ("50x70", "70x70", "70x50", "50x297", "297x50", "210x297", "297x210", "210x210", "85x90")
"""The corners of what is let through, and what is nearly square."""
ALL = (*FORMATS, *(f"{name} large" for name in LARGE), *ODD)
PAGES = ("a5", "a6", "a7", "mini-letter", "a6 large", "a5 large", "69x100", "210x297")


def named(name: str) -> Format:
    size, _, large = name.partition(" ")
    return format_of(size, large_print=bool(large))


def texts_of(scene: Scene) -> list[Text]:
    return [item for item, _ in scene.walk() if isinstance(item, Text) and item.text]


def figures_of(scene: Scene) -> list[Text]:
    return [text for text in texts_of(scene) if text.name.startswith("figure-")]


def scenes_of(deck: CardSet, fmt: Format) -> Iterator[Scene]:
    for card in deck.cards:
        yield face_scene(card, fmt)
        yield back_scene(card, fmt)
    yield from page_scenes(deck.key, fmt)
    yield from page_scenes(deck.care, fmt)


# --- Sizes


def test_formats_have_the_sizes_of_their_names() -> None:
    # ISO 216 for A5 to A8, ISO/IEC 7810 for ID-1; the others are common practice, no source:
    # 2 x 3 1/2, 3 x 5, 2 1/2 x 3 1/2 and 2 3/4 x 4 1/4 in
    inch = 25.4
    sizes = {
        "a5": (148, 210),
        "a6": (105, 148),
        "a7": (74, 105),
        "a8": (52, 74),
        "id1": (53.98, 85.60),
        "business-eu": (55, 85),
        "business-us": (2 * inch, 3.5 * inch),
        "index": (3 * inch, 5 * inch),
        "poker": (2.5 * inch, 3.5 * inch),
        "mini-letter": (2.75 * inch, 4.25 * inch),
    }
    for name, size in sizes.items():
        fmt = FORMATS[name]
        assert (fmt.width_mm, fmt.height_mm) == pytest.approx(size), name
        if (lying := FORMATS.get(f"{name}-landscape")) is not None:
            assert (lying.height_mm, lying.width_mm) == (fmt.width_mm, fmt.height_mm)
            assert lying.lying
        assert not fmt.lying
    assert set(FORMATS) - set(sizes) == {
        f"{name}-landscape" for name in ("a6", "a7", "business-eu", "business-us", "id1", "index")
    }


def test_formats_agree_with_the_sizes_that_cards_are_cut_to() -> None:
    same = {
        "a6": papers.A6,
        "a7": papers.A7,
        "a8": papers.A8,
        "id1": papers.ID_1,
        "business-us": papers.US_BUSINESS,
        "business-eu": papers.EU_BUSINESS,
        "poker": papers.POKER,
        "index": papers.INDEX_3X5,
        "a5": papers.A5,
    }
    for name, size in same.items():
        fmt = FORMATS[name]
        assert (fmt.width_mm, fmt.height_mm) == pytest.approx((size.width_mm, size.height_mm))
    # Eight of them, lying in two columns, are a sheet of Letter.
    mini = FORMATS["mini-letter"]
    assert 4 * mini.width_mm == pytest.approx(papers.LETTER.height_mm)
    assert 2 * mini.height_mm == pytest.approx(papers.LETTER.width_mm)


def test_a_size_of_ones_own_is_millimetres_width_first() -> None:
    fmt = format_of("60x90")
    assert (fmt.name, fmt.width_mm, fmt.height_mm, fmt.lying) == ("60x90", 60, 90, False)
    lying = format_of("90.5X60")
    assert (lying.width_mm, lying.height_mm, lying.lying) == (90.5, 60, True)
    # What has a name is the same by its size.
    a6 = format_of("105x148")
    assert {**vars(a6), "name": "a6"} == vars(FORMATS["a6"])


@pytest.mark.parametrize(
    "size", ["49x90", "90x49", "60x69", "211x220", "60x298", "0x0", "1e9x90", "999999x999999"]
)
def test_sizes_that_no_card_has_are_refused_in_a_sentence(size: str) -> None:
    with pytest.raises(UsageError) as refused:
        format_of(size)
    assert repr(size) in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("size", ["", "big", "A7 ", "60", "60x", "x90", "60 by 90", "-60x90"])
def test_other_words_are_answered_with_the_formats_there_are(size: str) -> None:
    with pytest.raises(UsageError) as refused:
        format_of(size)
    assert "id1-landscape" in str(refused.value)
    assert "60x90" in str(refused.value)


# --- Type


@pytest.mark.parametrize("name", ALL)
def test_type_keeps_its_tiers(name: str) -> None:
    # The tiers are those of test_layout; body of 7.5 pt is what reads fluently at 40 cm.
    fmt = named(name)
    assert fmt.figure_pt >= 10
    assert min(fmt.body_pt, fmt.label_pt, fmt.head_pt, fmt.title_pt) >= 7.5
    assert fmt.tick_pt >= 6
    assert fmt.figure_pt > fmt.title_pt or name in ODD
    assert fmt.title_pt > fmt.head_pt > fmt.body_pt >= fmt.label_pt >= fmt.tick_pt


def test_larger_formats_have_no_smaller_type() -> None:
    upright = sorted((f for f in FORMATS.values() if not f.lying), key=lambda f: f.width_mm)
    for small, large in pairwise(upright):
        for what in ("body_pt", "label_pt", "tick_pt", "title_pt", "head_pt"):
            assert getattr(small, what) <= getattr(large, what), (small.name, large.name)


@pytest.mark.parametrize("name", ALL)
def test_the_widest_figure_goes_on_one_line(name: str) -> None:
    fmt = named(name)
    column = fmt.inner_width_mm - fmt.lane_width_mm - fmt.gap_mm
    if fmt.lying:
        column = (column - fmt.gap_mm) / 2
    widest = max(width_mm(f"{n}½", fmt.figure_pt, Weight.BOLD) for n in range(1, 40))
    assert widest <= column


@pytest.mark.parametrize("name", sorted(set(FORMATS) - {"a8"}))
def test_figures_are_as_large_as_the_room_gives(name: str) -> None:
    """Of their column or of the height, they take what they can."""
    fmt = FORMATS[name]
    column = fmt.inner_width_mm - fmt.lane_width_mm - fmt.gap_mm
    column = (column - fmt.gap_mm) / 2 if fmt.lying else column
    widest = max(width_mm(f"{n}½", fmt.figure_pt, Weight.BOLD) for n in range(1, 40))
    figure = fmt.figure_pt * POINT_MM
    assert widest > 0.94 * column or figure > 0.17 * fmt.inner_height_mm


@pytest.mark.parametrize("name", LARGE)
def test_large_print_is_half_as_large_again(name: str) -> None:
    plain, large = FORMATS[name], named(f"{name} large")
    for what in ("body_pt", "label_pt", "tick_pt"):
        assert getattr(large, what) == 1.5 * getattr(plain, what)
    assert min(large.body_pt, large.label_pt) >= 12
    assert large.figure_pt > plain.figure_pt
    assert (large.width_mm, large.height_mm) == (plain.width_mm, plain.height_mm)


@pytest.mark.parametrize("name", LARGE)
def test_all_that_is_read_in_large_print_is_large(name: str, demos: dict[str, Job]) -> None:
    fmt = named(f"{name} large")
    for job in demos.values():
        for scene in scenes_of(cards_of(job.chart, job.words), fmt):
            sizes = {text.size_pt for text in texts_of(scene)}
            assert min(sizes) >= 9.0
            assert {s for s in sizes if s < 12} <= {fmt.tick_pt}


@pytest.mark.parametrize("size", ["id1", "a7", "a7-landscape", "index", "104x148", "105x147"])
def test_large_print_is_refused_where_there_is_no_room(size: str) -> None:
    with pytest.raises(UsageError, match="large print needs A6 or larger"):
        format_of(size, large_print=True)


# --- Cards


@pytest.mark.parametrize("name", ALL)
def test_cards_pass_preflight_in_every_format(name: str, demos: dict[str, Job]) -> None:
    fmt = named(name)
    for job in demos.values():
        scenes = list(scenes_of(cards_of(job.chart, job.words), fmt))
        assert [str(f) for f in preflight(scenes, kind="card") if f.severity == "refuse"] == []
        for scene in scenes:
            assert (scene.width_mm, scene.height_mm) == (fmt.width_mm, fmt.height_mm)


def test_preflight_would_notice(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    card = cards_of(job.chart, job.words).cards[0]
    scene = face_scene(card, FORMATS["id1"])
    narrow = Scene(40.0, 60.0, scene.items, safe_mm=scene.safe_mm)
    assert {f.rule for f in preflight([narrow], kind="card")} >= {"safe-area"}


@pytest.mark.parametrize("name", ALL)
def test_a_front_has_the_call_and_what_to_throw_in_any_format(
    name: str, demos: dict[str, Job]
) -> None:
    fmt = named(name)
    for job in demos.values():
        for card in cards_of(job.chart, job.words).cards:
            scene = face_scene(card, fmt)
            stand, target = figures_of(scene)
            assert (stand.text, target.text) == (card.stand.figure, card.target.figure)
            assert stand.size_pt == target.size_pt == fmt.figure_pt
            said = " ".join(text.text for text in texts_of(scene))
            for what in (card.ball, card.manner, card.own, card.defaults, card.imagine):
                assert what in said, card.name
            # Side by side on a card that lies, else one under the other.
            assert (stand.y_mm == target.y_mm) == fmt.lying
            assert (stand.x_mm < target.x_mm) == fmt.lying


@pytest.mark.parametrize("name", ALL)
def test_a_back_keeps_the_chance_the_doubt_and_the_caution(
    name: str, demos: dict[str, Job]
) -> None:
    fmt = named(name)
    for job in demos.values():
        for card in cards_of(job.chart, job.words).cards:
            said = " ".join(text.text for text in texts_of(back_scene(card, fmt)))
            for line in card.chance.lines:
                assert line in said, card.name
            kept = [note for note in card.notes if note.kept]
            assert kept or len(card.leave) == 10
            for note in kept:
                assert note.heading in said
                assert all(line in said for line in note.lines), card.name
            assert card.caution in said


def test_only_the_doubt_is_kept_and_a_line_that_misses(demos: dict[str, Job]) -> None:
    sure, why = load_words("en")("back.sure"), load_words("en")("back.why")
    for job in demos.values():
        for line in job.chart.lines:
            card = card_of(line, job.chart, job.words)
            kept = {note.heading for note in card.notes if note.kept}
            assert kept <= {sure, why}
            assert (why in kept) == (not line.reaches)


def said_of(card: Card, fmt: Format) -> int:
    texts = {text.text for text in texts_of(back_scene(card, fmt))}
    return sum(note.heading in texts for note in card.notes) + bool(card.remedy_heading in texts)


def test_a_small_card_carries_less_and_a_large_one_nearly_all(demos: dict[str, Job]) -> None:
    for job in demos.values():
        cards = cards_of(job.chart, job.words).cards
        counts = {
            name: sum(said_of(card, named(name)) for card in cards)
            for name in ("a8", "id1", "a7", "a6", "a6 large", "a5")
        }
        assert counts["a8"] < counts["id1"] < counts["a7"] < counts["a6"]
        assert counts["a6 large"] < counts["a6"]
        most = sum(len(card.notes) + bool(card.remedies) for card in cards)
        assert counts["a6"] >= 0.75 * most
        assert counts["a6"] <= counts["a5"]
        assert counts["a5"] >= 0.9 * most


@pytest.mark.parametrize("name", [name for name, fmt in FORMATS.items() if fmt.lying])
def test_a_back_that_lies_has_two_columns_that_do_not_meet(
    name: str, demos: dict[str, Job]
) -> None:
    fmt = FORMATS[name]
    middle = fmt.width_mm / 2
    for job in demos.values():
        for card in cards_of(job.chart, job.words).cards:
            headings = {card.chance.heading, card.room_heading, card.remedy_heading}
            headings |= {note.heading for note in card.notes}
            at = {t.x_mm for t in texts_of(back_scene(card, fmt)) if t.text in headings}
            left, right = sorted(at)
            assert left == fmt.margin_mm
            assert right > middle


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_the_key_and_the_cautions_are_one_card(name: str, demos: dict[str, Job]) -> None:
    for job in demos.values():
        deck = cards_of(job.chart, job.words)
        assert len(page_scenes(deck.key, FORMATS[name])) == 1
        assert len(page_scenes(deck.care, FORMATS[name])) == 1


@pytest.mark.parametrize("name", ["50x70", "70x50"])
def test_a_key_too_long_for_one_side_fills_two_alike(name: str, demos: dict[str, Job]) -> None:
    deck = cards_of(demos["ilse-marchetti"].chart, demos["ilse-marchetti"].words)
    first, second = page_scenes(deck.key, named(name))
    said = [" ".join(text.text for text in texts_of(scene)) for scene in (first, second)]
    counts = [sum(point in page for point in deck.key.paragraphs) for page in said]
    assert sum(counts) == len(deck.key.paragraphs)
    assert abs(counts[0] - counts[1]) <= 1


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_the_lane_has_its_height_and_says_how_long_it_is(name: str, demos: dict[str, Job]) -> None:
    """However short it is drawn: 15, 30 and 45 ft stand where they are."""
    fmt = FORMATS[name]
    for job in demos.values():
        card = cards_of(job.chart, job.words).cards[-1]
        frame = lane_frame(card.sketch, fmt, fmt.inner_height_mm)
        along = frame.y(0) - frame.y(DECK_FROM_M - 1e-9)
        assert along > 0.3 * fmt.inner_height_mm
        marks = {text for _, text in card.sketch.marks}
        shown = {text.text for text in texts_of(face_scene(card, fmt)) if text.text in marks}
        assert len(shown) >= 2
        assert frame.y(15 * FOOT_M) - frame.y(30 * FOOT_M) == pytest.approx(
            frame.y(30 * FOOT_M) - frame.y(45 * FOOT_M)
        )


# --- Pages


@pytest.mark.parametrize("name", PAGES)
def test_booklets_pass_preflight_on_every_page_format(
    name: str, demos: dict[str, Job], booklet: MakeBooklet
) -> None:
    fmt = named(name)
    assert fmt.is_page
    for job in demos.values():
        scenes = booklet_scenes(booklet(job), fmt)
        found = preflight(scenes, kind="booklet")
        assert [str(finding) for finding in found if finding.severity == "refuse"] == []
        smallest = min(text.size_pt for scene in scenes for text in texts_of(scene))
        assert smallest >= min(fmt.tick_pt, fmt.label_pt)


def test_only_upright_formats_of_some_size_are_pages() -> None:
    pages = {name for name, fmt in FORMATS.items() if fmt.is_page}
    assert pages == {"a5", "a6", "a7", "index", "mini-letter"}
