import io
from collections.abc import Callable
from dataclasses import replace
from itertools import chain
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest

from cardgen.drawing import fonts
from cardgen.drawing.scene import Clip, Disc, Group, Line, Polyline, Scene, Text, Weight
from cardgen.sheets.binding import binding_room, bound
from cardgen.sheets.folding import eight_pages, saddle
from cardgen.sheets.grids import best_grid
from cardgen.sheets.imposition import both_sides, impose, imposed, page_size
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.nup import fold_over, n_up, on_stock, one_each
from cardgen.sheets.papers import A4, A5, A6, A7, EU_BUSINESS, ID_1, LETTER, POKER, Size
from cardgen.sheets.slots import PRINTER_MARGIN_MM, Duplex, Edges, Plan
from cardgen.sheets.stock import find_stock
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

Deck = Callable[..., list[Scene]]
SIZES = [(ID_1, A4), (A7, A4), (ID_1, LETTER), (A7, LETTER)]
PLANS = {
    "n-up": (ID_1, n_up(13, ID_1, A4, two_sided=True)),
    "n-up bleed": (POKER, n_up(13, POKER, LETTER, two_sided=True, bleed_mm=3)),
    "stock": (EU_BUSINESS, on_stock(7, EU_BUSINESS, find_stock("a4-10-business"), two_sided=True)),
    "fold-over": (ID_1, fold_over(7, ID_1, A4)),
    "booklet": (A6, saddle(11, A6, A4, bleed_mm=3)),
    "full booklet": (A5, saddle(11, A5, A4)),
    "booklets to cut": (A7, saddle(23, A7, A4, white=Edges(5.0, 4.3, 5.0, 2.6))),
    "two to cut": (A7, saddle(23, A7, LETTER)),
    "one sheet": (A7, eight_pages(7, A7, A4, slit="cut here only")),
    "handout": (binding_room(A4), bound(3, binding_room(A4), A4, two_sided=True)),
    "one each": (ID_1, one_each(3, ID_1, two_sided=True, bleed_mm=3)),
}


def words_on(sheet: Scene) -> list[str]:
    return [item.text for item, _ in sheet.walk() if isinstance(item, Text)]


def lies_in(inner: Clip, outer: Clip) -> bool:
    return (
        outer.x_mm - 1e-6 <= inner.x_mm
        and outer.y_mm - 1e-6 <= inner.y_mm
        and inner.x_mm + inner.width_mm <= outer.x_mm + outer.width_mm + 1e-6
        and inner.y_mm + inner.height_mm <= outer.y_mm + outer.height_mm + 1e-6
    )


def footer_box(sheet: Scene) -> tuple[float, float, float, float] | None:
    found = [(item, place) for item, place in sheet.walk() if item.name == "footer"]
    if not found:
        return None
    ((item, place),) = found
    assert isinstance(item, Text)
    half = fonts.width_mm(item.text, item.size_pt) / 2
    cap = fonts.cap_height_mm(item.size_pt)
    sizes = fonts.metrics(Weight.REGULAR)
    below = cap / sizes.cap_height_em * sizes.descent_em
    ends = [place.point(-half, -cap), place.point(half, below)]
    xs, ys = [x for x, _ in ends], [y for _, y in ends]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("scheme", PLANS)
def test_every_scheme_shows_each_page_whole_once_in_its_place(
    scheme: str, deck: Deck, words: SheetWords
) -> None:
    size, plan = PLANS[scheme]
    wanted = [slot.page for sheet in plan.sheets for slot in sheet.slots]
    pages = deck(max(wanted) + 1, size, "page")
    sheets = imposed(pages, plan, words)
    assert len(sheets) == len(plan.sheets)
    shown = [text for sheet in sheets for text in words_on(sheet) if text.startswith("page ")]
    assert shown == [f"page {page + 1}" for page in wanted]
    assert sorted(wanted) == list(range(len(pages)))
    for scene, sheet in zip(sheets, plan.sheets, strict=True):
        groups = [item for item in scene.items if isinstance(item, Group) and item.clip]
        for group, slot in zip(groups, sheet.slots, strict=True):
            assert group.clip is not None
            assert lies_in(slot.window, sheet.area)
            # The clip, which is in the page's own coordinates, is the slot's window on the sheet.
            ends = [
                group.transform.point(group.clip.x_mm, group.clip.y_mm),
                group.transform.point(
                    group.clip.x_mm + group.clip.width_mm, group.clip.y_mm + group.clip.height_mm
                ),
            ]
            window = slot.window
            assert min(x for x, _ in ends) == pytest.approx(window.x_mm, abs=1e-8)
            assert min(y for _, y in ends) == pytest.approx(window.y_mm, abs=1e-8)
            assert max(x for x, _ in ends) == pytest.approx(window.x_mm + window.width_mm)
            assert max(y for _, y in ends) == pytest.approx(window.y_mm + window.height_mm)


@pytest.mark.parametrize("scheme", PLANS)
def test_words_stay_off_pages_and_marks_and_inside_the_printable_area(
    scheme: str, deck: Deck, words: SheetWords
) -> None:
    size, plan = PLANS[scheme]
    pages = deck(1 + max(s.page for sheet in plan.sheets for s in sheet.slots), size)
    for scene, sheet in zip(imposed(pages, plan, words), plan.sheets, strict=True):
        box = footer_box(scene)
        if box is None:
            assert scheme in {"stock", "full booklet", "booklets to cut", "one sheet", "one each"}
            continue
        left, top, right, foot = box
        area, margin = sheet.area, plan.margin_mm
        assert margin - 1e-6 <= left < right <= plan.paper.width_mm - margin + 1e-6
        assert margin - 1e-6 <= top < foot <= plan.paper.height_mm - margin + 1e-6
        clear_mm = max(
            top - area.y_mm - area.height_mm,
            area.x_mm - right,
            left - area.x_mm - area.width_mm,
        )
        assert clear_mm >= 0.5 - 1e-6
        for mark in sheet.marks:
            assert isinstance(mark, Line)
            assert not (
                left <= max(mark.x1_mm, mark.x2_mm)
                and min(mark.x1_mm, mark.x2_mm) <= right
                and top <= max(mark.y1_mm, mark.y2_mm)
                and min(mark.y1_mm, mark.y2_mm) <= foot
            )


def test_footer_goes_up_the_side_when_the_foot_is_full(deck: Deck, words: SheetWords) -> None:
    size = Size("tall", 80, 287)
    (sheet,) = impose(deck(2, size), [], A4, words)
    box = footer_box(sheet)
    assert box is not None
    left, top, right, bottom = box
    assert right - left < 4
    assert bottom - top > 50
    assert right < best_grid(size, A4).left_mm


NOTES = ("cut to size", "round the corners", "keep fingers clear of the blade, always " * 3)


def places_of(sheet: Scene, text: str) -> list[tuple[float, float]]:
    return [
        place.point(item.x_mm, item.y_mm)
        for item, place in sheet.walk()
        if isinstance(item, Text) and item.name == "footer" and text in item.text
    ]


@pytest.mark.parametrize("scheme", PLANS)
def test_notes_stand_below_the_footer_or_up_a_side_and_off_all_pages(
    scheme: str, deck: Deck, words: SheetWords
) -> None:
    size, plan = PLANS[scheme]
    pages = deck(1 + max(s.page for sheet in plan.sheets for s in sheet.slots), size)
    noted = replace(words, notes=NOTES)
    for scene, sheet in zip(imposed(pages, plan, noted), plan.sheets, strict=True):
        area, margin = sheet.area, plan.margin_mm
        texts = [
            (item.text, place.point(item.x_mm, item.y_mm), place)
            for item, place in scene.walk()
            if isinstance(item, Text) and item.name == "footer"
        ]
        for text, (x, y), place in texts:
            half = fonts.width_mm(text, 6) / 2
            along, across = (x, plan.paper.width_mm) if not place.b else (y, plan.paper.height_mm)
            assert margin - 1e-6 <= along - half
            assert along + half <= across - margin + 1e-6
            clear = max(
                y - area.y_mm - area.height_mm, area.x_mm - x, x - area.x_mm - area.width_mm
            )
            assert clear > 0.5
        ends = [point for _, point, _ in texts]
        assert len(set(ends)) == len(ends)


def test_a_note_shares_the_only_line_there_is(deck: Deck, words: SheetWords) -> None:
    # by hand: ten ID-1 leave 13.55 mm at the foot, room for one line; twelve inserts much more
    (one,) = impose(deck(10, ID_1), [], A4, replace(words, notes=NOTES))
    (together,) = places_of(one, "cut to size")
    assert together == places_of(one, words.job)[0]
    insert = Size("insert", 47.98, 79.6)
    (several,) = impose(deck(12, insert), [], A4, replace(words, notes=NOTES))
    (below,) = places_of(several, "round the corners")
    (head,) = places_of(several, words.job)
    assert below[0] == head[0]
    assert below[1] > head[1]


def test_without_words_the_margins_are_empty(deck: Deck) -> None:
    plan = n_up(3, ID_1, A4, two_sided=True)
    front, back = imposed(both_sides(deck(3, ID_1), deck(3, ID_1, "back")), plan)
    assert words_on(front) == ["front 1", "front 2", "front 3"]
    assert front.title == back.title == ""
    assert {item.name for item in back.items if isinstance(item, Line)} == {"cut mark"}


def test_booklets_two_to_a_sheet_are_cards_of_their_own_sheets(deck: Deck) -> None:
    """Cut an A4 in two A5, each a sheet of a booklet of A6: schemes can follow each other."""
    small = imposed(deck(8, A6, "page"), saddle(8, A6, A5))
    large = impose_two_up(small)
    assert len(large) == 2
    assert [words_on(side) for side in large] == [
        ["page 8", "page 1", "page 6", "page 3"],
        ["page 7", "page 2", "page 5", "page 4"],
    ]
    # Each back is behind its front: page 2 behind 1, across the middle of the upright sheet.
    at = {
        item.text: place.point(0, 0)
        for side in large
        for item, place in side.walk()
        if isinstance(item, Text)
    }
    assert at["page 1"] == pytest.approx((105, 0.5))
    assert at["page 2"] == pytest.approx((0, 0.5))
    # The inner sheet's pages are moved to the spine by the thickness of the outer one.
    assert at["page 3"] == pytest.approx((104.9, 148.5))
    assert at["page 4"] == pytest.approx((0.1, 148.5))


def impose_two_up(small: tuple[Scene, ...]) -> tuple[Scene, ...]:
    plan = n_up(len(small) // 2, page_size(small), A4, two_sided=True, margin_mm=0)
    return imposed(both_sides(small[::2], small[1::2]), plan)


def test_no_room_for_words_or_marks(deck: Deck, words: SheetWords) -> None:
    (sheet,) = impose(deck(1, Size("full", 200, 287)), [], A4, words)
    assert [item for item in sheet.items if isinstance(item, Line)] == []
    assert words_on(sheet) == ["front 1"]


def test_a_long_job_name_is_cut_and_the_setting_kept(deck: Deck, words: SheetWords) -> None:
    long = replace(words, job="Ana and everyone else " * 20)
    (sheet,) = impose(deck(1, ID_1), [], A4, long)
    footer = words_on(sheet)[-1]
    assert footer.startswith("Ana and everyone else")
    assert footer.endswith(f"… · Sheet 1/1 · {words.setting}")
    assert fonts.width_mm(footer, 6) <= A4.width_mm - 2 * PRINTER_MARGIN_MM


def test_copies_are_written_once_and_look_as_if_they_were_not(
    deck: Deck, words: SheetWords
) -> None:
    few, many = (
        pdf_bytes(impose(deck(2, ID_1), [], A4, words, copies=copies), DocumentInfo("Copies"))
        for copies in (5, 50)
    )
    reader = pypdf.PdfReader(io.BytesIO(many), strict=True)
    assert len(reader.pages) == 10
    for page in reader.pages:
        resources: Any = page["/Resources"]
        assert set(resources["/XObject"]) == {"/FormXob.page-1", "/FormXob.page-2"}
    apart = [*deck(2, ID_1)] * 5
    inline = pdf_bytes(impose(apart, [], A4, words), DocumentInfo("Copies"))
    with pdfium.PdfDocument(few) as once, pdfium.PdfDocument(inline) as plain:
        shown, wanted = (d[0].render(scale=2).to_numpy() for d in (once, plain))
    assert (shown == wanted).all()
    assert fronts_on(few) == ["front 1"] * 5 + ["front 2"] * 5


def fronts_on(data: bytes) -> list[str]:
    text = pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    return sorted(line for line in text.splitlines() if line.startswith("front "))


def test_titles_and_words_name_sheet_and_side(deck: Deck, words: SheetWords) -> None:
    sheets = impose(deck(11, ID_1), deck(11, ID_1, "back"), A4, words)
    assert [sheet.title for sheet in sheets] == [
        "Sheet 1/2 · front", "Sheet 1/2 · back", "Sheet 2/2 · front", "Sheet 2/2 · back",
    ]  # fmt: skip
    assert words_on(sheets[1])[-1] == f"Ana, spares · Sheet 1/2 · back · {words.setting}"
    (single,) = impose(deck(3, ID_1), [], A4, words)
    assert single.title == "Sheet 1/1"


def test_backs_printed_apart_keep_their_side_and_number(deck: Deck, words: SheetWords) -> None:
    plan = n_up(11, ID_1, A4, two_sided=True)
    pages = both_sides(deck(11, ID_1), deck(11, ID_1, "back"))
    backs = imposed(pages, plan.backs(reverse=True), words)
    assert [sheet.title for sheet in backs] == ["Sheet 2/2 · back", "Sheet 1/2 · back"]
    fronts = imposed(pages, plan.fronts, words)
    assert [sheet.title for sheet in fronts] == ["Sheet 1/2 · front", "Sheet 2/2 · front"]


def test_the_printed_sheets_hold_every_card_once(deck: Deck, words: SheetWords) -> None:
    sheets = impose(deck(23, ID_1), deck(23, ID_1, "back"), LETTER, words)
    pages = pypdf.PdfReader(io.BytesIO(pdf_bytes(sheets, DocumentInfo("Sheets")))).pages
    assert len(pages) == 6
    lines = [page.extract_text().splitlines() for page in pages]
    for word, sides in (("front", lines[::2]), ("back", lines[1::2])):
        printed = [line.strip() for side in sides for line in side if line.startswith(f"{word} ")]
        assert sorted(printed) == sorted(f"{word} {number}" for number in range(1, 24))


def bleeding(size: Size, bleed_mm: float) -> Scene:
    """Return a card whose ground reaches to the end of its bleed."""
    width, height = size.width_mm + 2 * bleed_mm, size.height_mm + 2 * bleed_mm
    ground = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    return Scene(
        width,
        height,
        (Polyline(ground, fill="#4A98C9", closed=True),),
        trim=Clip(bleed_mm, bleed_mm, size.width_mm, size.height_mm),
    )


def test_a_bleed_is_cut_at_the_trim_where_cards_butt_and_kept_where_they_do_not(
    words: SheetWords,
) -> None:
    card = bleeding(ID_1, 3)
    assert page_size([card]) == Size("page", ID_1.width_mm, ID_1.height_mm)
    for bleed, clip in ((0.0, card.trim), (3.0, Clip(0, 0, card.width_mm, card.height_mm))):
        (sheet,) = impose([card], [], A4, words, bleed_mm=bleed)
        group = sheet.items[0]
        assert isinstance(group, Group)
        assert group.clip == clip
        grid = best_grid(ID_1, A4, PRINTER_MARGIN_MM, bleed)
        # Turned clockwise, a card's top left corner is its cell's top right.
        turned = grid.cell_width_mm if grid.quarter_turns else 0.0
        corner = group.transform.point(3, 3)
        assert corner == pytest.approx((grid.left_mm + turned, grid.top_mm))


def ink_boxes(data: bytes, page: int) -> list[tuple[float, float, float, float]]:
    """Return the box of each path on a page, seen, in mm from its top left corner, by PDFium."""
    boxes = []
    with pdfium.PdfDocument(data) as document:
        sheet = document[page]
        height = sheet.get_height() * POINT_MM
        for thing in sheet.get_objects(max_depth=1):
            left, bottom, right, top = (v * POINT_MM for v in thing.get_bounds())
            boxes.append((left, height - top, right, height - bottom))
    return boxes


def test_discs_in_the_finished_pdf_meet_through_the_paper(words: SheetWords) -> None:
    """Read a two-sided sheet back: through the paper each back's disc is on its front's."""
    front = Scene(53.98, 85.60, (Disc(10, 20, 2, None, "#000000"),))
    back = Scene(53.98, 85.60, (Disc(53.98 - 10, 20, 2, None, "#000000"),))
    sheets = impose([front] * 7, [back] * 7, A4, words)
    data = pdf_bytes(sheets, DocumentInfo("Sheets", duplex="long-edge"))
    discs = []
    for page in (0, 1):
        boxes = ink_boxes(data, page)
        round_ones = [
            b for b in boxes if abs(b[2] - b[0] - 4) < 0.05 and abs(b[3] - b[1] - 4) < 0.05
        ]
        discs.append([((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in round_ones])
    fronts, backs = discs
    assert len(fronts) == len(backs) == 7
    through = [(A4.width_mm - x, y) for x, y in backs]
    # A thousandth of a point, in mm, is what the writer rounds to.
    for (x, y), (u, v) in zip(sorted(fronts), sorted(through), strict=True):
        assert (x, y) == pytest.approx((u, v), abs=0.01)


def test_the_finished_booklet_sheet_has_its_pages_where_the_fold_wants_them(
    words: SheetWords,
) -> None:
    """Read one sheet of eight pages back: the disc at each page's head is by the middle line."""
    page = Scene(74, 105, (Disc(10, 8, 2, None, "#000000"),))
    (sheet,) = imposed([page] * 8, eight_pages(8, A7, A4), words)
    data = pdf_bytes([sheet], DocumentInfo("Booklet"))
    boxes = [b for b in ink_boxes(data, 0) if abs(b[2] - b[0] - 4) < 0.05 > abs(b[3] - b[1] - 4)]
    found = sorted(((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in boxes)
    # by hand: below, 0.125 + 10 from each eighth's left, 8 below the middle; above, the same
    # from its right and above the middle
    below = [(column * 74.25 + 10.125, 113.0) for column in range(4)]
    above = [((column + 1) * 74.25 - 10.125, 97.0) for column in range(4)]
    for (x, y), (u, v) in zip(found, sorted(below + above), strict=True):
        assert (x, y) == pytest.approx((u, v), abs=0.01)


def test_a_page_of_one_card_has_trim_and_bleed_boxes(words: SheetWords) -> None:
    # ISO 32000-1, 14.11.2: the trim box is the finished page, the bleed box what is clipped to
    plan = one_each(2, ID_1, bleed_mm=3)
    sheets = imposed([bleeding(ID_1, 3)] * 2, plan, words)
    for page in pypdf.PdfReader(io.BytesIO(pdf_bytes(sheets, DocumentInfo("Cards")))).pages:
        in_mm = [float(v) * POINT_MM for v in chain(page.trimbox, page.bleedbox)]
        assert in_mm == pytest.approx([3, 3, 56.98, 88.60, 0, 0, 59.98, 91.60], abs=1e-3)


def test_an_offset_moves_the_cards_on_backs(deck: Deck, words: SheetWords) -> None:
    fronts, backs = deck(2, ID_1), deck(2, ID_1, "back")
    plain = impose(fronts, backs, A4, words)
    moved = impose(fronts, backs, A4, words, duplex=Duplex(dx_mm=0.5, dy_mm=1.5))
    assert moved[0] == plain[0]
    for old, new in zip(plain[1].items[:2], moved[1].items[:2], strict=True):
        assert isinstance(old, Group)
        assert isinstance(new, Group)
        shift = (new.transform.e - old.transform.e, new.transform.f - old.transform.f)
        assert shift == pytest.approx((0.5, 1.5))
        assert old.clip == new.clip


def test_what_cannot_be_put_on_one_sheet(deck: Deck, words: SheetWords) -> None:
    assert impose([], [], A4, words) == ()
    with pytest.raises(ValueError, match="as many backs"):
        impose(deck(2, ID_1), deck(1, ID_1), A4, words)
    with pytest.raises(ValueError, match="one size"):
        impose([*deck(1, ID_1), *deck(1, A7)], [], A4, words)
    with pytest.raises(ValueError, match="one size"):
        imposed([], Plan(A4, ()), words)
