import io
from collections import Counter
from dataclasses import replace

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.drawing import fonts, theme
from cardgen.drawing.scene import Clip, Disc, Group, Line, Scene, Text, Weight
from cardgen.drawing.theme import FORMATS
from cardgen.errors import UsageError
from cardgen.sheets.imposition import (
    PRINTER_MARGIN_MM,
    Grid,
    best_grid,
    impose,
    lay_out,
    slot_transform,
)
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.papers import A4, LETTER, PAPERS, Size
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

WORDS = SheetWords(
    job="Ana, spares",
    sheet="Sheet",
    front="front",
    back="back",
    setting="Print at actual size (100 %) · flip on long edge",
)
CARD_SIZES = st.builds(
    Size, st.just("card"), st.floats(25, 195).map(lambda v: round(v, 2)), st.floats(25, 195)
)
ID_1, A7 = (Size(fmt.name, fmt.width_mm, fmt.height_mm) for fmt in (theme.ID_1, theme.A7))
SIZES = [(ID_1, A4), (A7, A4), (ID_1, LETTER), (A7, LETTER)]


def card(number: int, size: Size = ID_1, word: str = "front") -> Scene:
    return Scene(
        size.width_mm,
        size.height_mm,
        (Text(5, 10, f"{word} {number}", 8), Disc(3, 4, 1, None, "#000000")),
    )


def cards(count: int, size: Size = ID_1, word: str = "front") -> list[Scene]:
    return [card(number, size, word) for number in range(1, count + 1)]


def words_on(sheet: Scene) -> list[str]:
    return [item.text for item, _ in sheet.walk() if isinstance(item, Text)]


def test_sizes_are_the_standards() -> None:
    # ISO 216: A0 is 841 x 1189 mm, each size half the one before, rounded down
    width, height = 841, 1189
    sizes = {}
    for step in range(8):
        sizes[step] = (width, height)
        width, height = height // 2, width
    assert (A4.width_mm, A4.height_mm) == sizes[4]
    assert (A7.width_mm, A7.height_mm) == sizes[7]
    # ISO/IEC 7810, 5: ID-1 is 85.60 x 53.98 mm
    assert (ID_1.height_mm, ID_1.width_mm) == (85.60, 53.98)
    # ANSI/ASME Y14.1, size A: 8.5 x 11 inches
    assert (LETTER.width_mm, LETTER.height_mm) == pytest.approx((215.9, 279.4))
    assert set(PAPERS) == {"a4", "letter"}
    assert set(FORMATS) == {"id1", "a7"}


# by hand: 210 - 10 = 200 = 2 x 85.60 + ..., 297 - 10 = 287 = 5 x 53.98 + ...
@pytest.mark.parametrize(
    ("size", "paper", "columns", "rows", "turns"),
    [
        (ID_1, A4, 2, 5, 1),
        (A7, A4, 2, 2, 0),
        (ID_1, LETTER, 3, 3, 0),
        (A7, LETTER, 2, 2, 0),
        (Size("exact", 50, 71.75), A4, 4, 4, 0),
    ],
)
def test_as_many_cards_as_fit(size: Size, paper: Size, columns: int, rows: int, turns: int) -> None:
    grid = best_grid(size, paper)
    assert (grid.columns, grid.rows, grid.quarter_turns) == (columns, rows, turns)


def test_a_card_too_large_is_a_usage_error() -> None:
    with pytest.raises(UsageError, match="does not fit A4"):
        best_grid(Size("poster", 201, 288), A4)


@given(size=CARD_SIZES, paper=st.sampled_from([A4, LETTER]))
def test_the_grid_is_centred_inside_the_margin(size: Size, paper: Size) -> None:
    grid = best_grid(size, paper)
    assert grid.left_mm >= PRINTER_MARGIN_MM - 1e-6
    assert grid.top_mm >= PRINTER_MARGIN_MM - 1e-6
    assert grid.x_cuts_mm[0] + grid.x_cuts_mm[-1] == pytest.approx(paper.width_mm)
    assert grid.y_cuts_mm[0] + grid.y_cuts_mm[-1] == pytest.approx(paper.height_mm)
    one_more = max((grid.columns + 1) * grid.rows, grid.columns * (grid.rows + 1))
    too_wide = (grid.columns + 1) * grid.cell_width_mm > paper.width_mm - 2 * PRINTER_MARGIN_MM
    too_high = (grid.rows + 1) * grid.cell_height_mm > paper.height_mm - 2 * PRINTER_MARGIN_MM
    assert one_more > grid.capacity
    assert too_wide
    assert too_high


@given(
    size=CARD_SIZES,
    paper=st.sampled_from([A4, LETTER]),
    count=st.integers(1, 60),
    at=st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_each_back_lies_behind_its_front_and_turns_like_a_page(
    size: Size, paper: Size, count: int, at: tuple[float, float]
) -> None:
    """Fold the back sheet over its long edge onto the front, and hold both against the light.

    A point (u, v) of a card's back must come to lie on the point (width - u, v) of its front: that
    is what turning a page does, whichever way the card lies on the sheet.
    """
    grid = best_grid(size, paper)
    sheets = lay_out(count, grid, paper, two_sided=True)
    assert [sheet.is_back for sheet in sheets] == [False, True] * (len(sheets) // 2)
    u, v = at[0] * size.width_mm, at[1] * size.height_mm
    seen = []
    for front, back in zip(sheets[::2], sheets[1::2], strict=True):
        assert front.number == back.number
        behind = {slot.page: slot for slot in back.slots}
        assert set(behind) == {slot.page for slot in front.slots}
        for slot in front.slots:
            back_map = slot_transform(behind[slot.page], size.width_mm, size.height_mm)
            front_map = slot_transform(slot, size.width_mm, size.height_mm)
            x, y = back_map.point(u, v)
            folded = (paper.width_mm - x, y)
            assert folded == pytest.approx(front_map.point(size.width_mm - u, v), abs=1e-9)
            seen.append(slot.page)
    assert seen == list(range(count))


@given(size=CARD_SIZES, count=st.integers(1, 40))
def test_cards_fill_their_cells_and_never_overlap(size: Size, count: int) -> None:
    grid = best_grid(size, A4)
    for sheet in lay_out(count, grid, A4, two_sided=True):
        corners = Counter((round(slot.x_mm, 6), round(slot.y_mm, 6)) for slot in sheet.slots)
        assert max(corners.values()) == 1
        for slot in sheet.slots:
            place = slot_transform(slot, size.width_mm, size.height_mm)
            ends = [place.point(0, 0), place.point(size.width_mm, size.height_mm)]
            assert min(x for x, _ in ends) == pytest.approx(slot.x_mm)
            assert min(y for _, y in ends) == pytest.approx(slot.y_mm)
            assert max(x for x, _ in ends) == pytest.approx(slot.x_mm + grid.cell_width_mm)
            assert max(y for _, y in ends) == pytest.approx(slot.y_mm + grid.cell_height_mm)
            column = (slot.x_mm - grid.left_mm) / grid.cell_width_mm
            assert column == pytest.approx(round(column), abs=1e-6)


def test_a_part_filled_sheet_keeps_the_grid() -> None:
    grid = best_grid(ID_1, A4)
    full, last = lay_out(13, grid, A4, two_sided=False)
    assert [slot.page for slot in last.slots] == [10, 11, 12]
    for slot, same in zip(full.slots[:3], last.slots, strict=True):
        assert (slot.x_mm, slot.y_mm) == (same.x_mm, same.y_mm)
    alone = lay_out(1, grid, A4, two_sided=True)[1].slots[0]
    assert alone.x_mm == pytest.approx(grid.left_mm + grid.cell_width_mm)  # right, behind the left


@pytest.mark.parametrize(("size", "paper"), SIZES)
def test_marks_and_words_stay_off_cards_and_inside_the_margin(size: Size, paper: Size) -> None:
    grid = best_grid(size, paper)
    sheets = impose(cards(11, size), cards(11, size, "back"), paper, WORDS)
    for sheet in sheets:
        assert (sheet.width_mm, sheet.height_mm) == (paper.width_mm, paper.height_mm)
        marks = [item for item in sheet.items if isinstance(item, Line)]
        assert len(marks) == 2 * (grid.columns + 1 + grid.rows + 1)
        for mark in marks:
            for x, y in ((mark.x1_mm, mark.y1_mm), (mark.x2_mm, mark.y2_mm)):
                assert off_grid(x, y, grid) >= 0.5
                assert PRINTER_MARGIN_MM <= x <= paper.width_mm - PRINTER_MARGIN_MM
                assert PRINTER_MARGIN_MM <= y <= paper.height_mm - PRINTER_MARGIN_MM
        left, top, right, bottom = footer_box(sheet)
        for x, y in ((left, top), (right, bottom), (left, bottom), (right, top)):
            assert off_grid(x, y, grid) >= 0.5
            assert PRINTER_MARGIN_MM - 1e-6 <= x <= paper.width_mm - PRINTER_MARGIN_MM + 1e-6
            assert PRINTER_MARGIN_MM - 1e-6 <= y <= paper.height_mm - PRINTER_MARGIN_MM + 1e-6
        for mark in marks:
            assert not (
                left <= max(mark.x1_mm, mark.x2_mm)
                and min(mark.x1_mm, mark.x2_mm) <= right
                and top <= max(mark.y1_mm, mark.y2_mm)
                and min(mark.y1_mm, mark.y2_mm) <= bottom
            )


def off_grid(x: float, y: float, grid: Grid) -> float:
    """Return how far a point is from the cards, negative among them."""
    across = max(grid.x_cuts_mm[0] - x, x - grid.x_cuts_mm[-1])
    down = max(grid.y_cuts_mm[0] - y, y - grid.y_cuts_mm[-1])
    return max(across, down)


def footer_box(sheet: Scene) -> tuple[float, float, float, float]:
    (found,) = ((item, place) for item, place in sheet.walk() if item.name == "footer")
    item, place = found
    assert isinstance(item, Text)
    half = fonts.width_mm(item.text, item.size_pt) / 2
    cap = fonts.cap_height_mm(item.size_pt)
    sizes = fonts.metrics(Weight.REGULAR)
    below = cap / sizes.cap_height_em * sizes.descent_em
    ends = [place.point(-half, -cap), place.point(half, below)]
    xs, ys = [x for x, _ in ends], [y for _, y in ends]
    return min(xs), min(ys), max(xs), max(ys)


def test_footer_goes_up_the_side_when_the_foot_is_full() -> None:
    size = Size("tall", 80, 287)
    (sheet,) = impose(cards(2, size), [], A4, WORDS)
    left, top, right, bottom = footer_box(sheet)
    assert right - left < 4
    assert bottom - top > 50
    assert right < best_grid(size, A4).left_mm


def test_no_room_for_words_or_marks() -> None:
    size = Size("full", 200, 287)
    (sheet,) = impose(cards(1, size), [], A4, WORDS)
    assert [item for item in sheet.items if isinstance(item, Line)] == []
    assert words_on(sheet) == ["front 1"]


def test_a_long_job_name_is_cut_and_the_setting_kept() -> None:
    (sheet,) = impose(cards(1), [], A4, replace(WORDS, job="Ana and everyone else " * 20))
    footer = words_on(sheet)[-1]
    assert footer.startswith("Ana and everyone else")
    assert footer.endswith(f"… · Sheet 1/1 · {WORDS.setting}")
    assert fonts.width_mm(footer, 6) <= A4.width_mm - 2 * PRINTER_MARGIN_MM


def test_titles_and_words_name_sheet_and_side() -> None:
    sheets = impose(cards(11), cards(11, word="back"), A4, WORDS)
    assert [sheet.title for sheet in sheets] == [
        "Sheet 1/2 · front", "Sheet 1/2 · back", "Sheet 2/2 · front", "Sheet 2/2 · back",
    ]  # fmt: skip
    assert words_on(sheets[1])[-1] == f"Ana, spares · Sheet 1/2 · back · {WORDS.setting}"
    (single,) = impose(cards(3), [], A4, WORDS)
    assert single.title == "Sheet 1/1"


def test_the_printed_sheets_hold_every_card_once() -> None:
    sheets = impose(cards(23), cards(23, word="back"), LETTER, WORDS)
    pages = pypdf.PdfReader(io.BytesIO(pdf_bytes(sheets, DocumentInfo("Sheets")))).pages
    assert len(pages) == 6
    lines = [page.extract_text().splitlines() for page in pages]
    for word, sides in (("front", lines[::2]), ("back", lines[1::2])):
        printed = [line.strip() for side in sides for line in side if line.startswith(f"{word} ")]
        assert sorted(printed) == sorted(f"{word} {number}" for number in range(1, 24))


def test_a_bleed_is_clipped_at_the_trim() -> None:
    trim = Clip(3, 3, ID_1.width_mm, ID_1.height_mm)
    wide = Scene(
        ID_1.width_mm + 6, ID_1.height_mm + 6, (Disc(3, 3, 1, None, "#000000"),), trim=trim
    )
    (sheet,) = impose([wide], [], A4, WORDS)
    group = sheet.items[0]
    assert isinstance(group, Group)
    assert group.clip == trim
    grid = best_grid(ID_1, A4)
    # turned clockwise, the card's top left corner is its cell's top right
    corner = group.transform.point(3, 3)
    assert corner == pytest.approx((grid.left_mm + grid.cell_width_mm, grid.top_mm))


def test_what_cannot_be_put_on_one_sheet() -> None:
    assert impose([], [], A4, WORDS) == ()
    with pytest.raises(ValueError, match="as many backs"):
        impose(cards(2), cards(1), A4, WORDS)
    with pytest.raises(ValueError, match="one size"):
        impose([card(1, ID_1), card(2, A7)], [], A4, WORDS)
