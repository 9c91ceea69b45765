from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.drawing.scene import Clip, Line, Point, Text
from cardgen.errors import UsageError
from cardgen.sheets.folding import creep_mm, eight_pages, saddle
from cardgen.sheets.papers import A3, A4, A5, A6, A7, HALF_LETTER, LETTER, Size
from cardgen.sheets.slots import LONG_EDGE, PRINTER_MARGIN_MM, SHORT_EDGE, Duplex, Edges, Plan, Slot

OnPaper = Callable[..., Point]
WHITE = Edges(5.0, 4.3, 5.0, 2.6)  # less than the pages of the demo leave free
BOOKLETS = [(A5, A4), (A6, A4), (A6, A5), (A4, A3), (HALF_LETTER, LETTER), (A7, LETTER), (A7, A4)]
LETTER_EIGHTH = Size("eighth", LETTER.height_mm / 4, LETTER.width_mm / 2)


def numbers(plan: Plan) -> list[list[int]]:
    """Return the pages, from 1, of each side from left to right."""
    return [
        [slot.page + 1 for slot in sorted(sheet.slots, key=lambda slot: slot.x_mm)]
        for sheet in plan.sheets
    ]


def test_page_orders_of_stitched_booklets() -> None:
    # common practice, no source: eight pages are 8|1, 2|7, 6|3, 4|5
    assert numbers(saddle(8, A5, A4)) == [[8, 1], [2, 7], [6, 3], [4, 5]]
    assert numbers(saddle(4, A5, A4)) == [[4, 1], [2, 3]]
    # The last three of twelve are blank: front [N - 2s | 2s + 1], back [2s + 2 | N - 2s - 1].
    assert numbers(saddle(9, A5, A4)) == [[1], [2], [3], [4, 9], [8, 5], [6, 7]]


def cut_places(plan: Plan) -> list[Clip]:
    """Return the pieces that a sheet is cut into, row by row, by its marks and its edges alone."""
    marks = [m for m in plan.sheets[0].marks if isinstance(m, Line) and m.name == "cut mark"]
    area = plan.sheets[0].area
    xs = {round(m.x1_mm, 6) for m in marks if m.x1_mm == m.x2_mm}
    ys = {round(m.y1_mm, 6) for m in marks if m.y1_mm == m.y2_mm}
    xs |= {round(area.x_mm, 6), round(area.x_mm + area.width_mm, 6)}
    ys |= {round(area.y_mm, 6), round(area.y_mm + area.height_mm, 6)}
    return [
        Clip(left, top, right - left, foot - top)
        for top, foot in pairwise(sorted(ys))
        for left, right in pairwise(sorted(xs))
    ]


def held_in(place: Clip, points: list[Point]) -> bool:
    return all(
        place.x_mm - 1 < x < place.x_mm + place.width_mm + 1
        and place.y_mm - 1 < y < place.y_mm + place.height_mm + 1
        for x, y in points
    )


@pytest.mark.parametrize("duplex", [SHORT_EDGE, LONG_EDGE], ids=str)
@pytest.mark.parametrize(("page", "paper"), BOOKLETS)
@given(pages=st.integers(1, 64))
def test_printed_turned_cut_folded_and_nested_the_pages_read_in_order(
    page: Size, paper: Size, duplex: Duplex, pages: int, on_paper: OnPaper
) -> None:
    """The pile is cut through, the stacks laid on each other along the rows, the first on top."""
    plan = saddle(pages, page, paper, white=WHITE, duplex=duplex)
    leaves: list[list[int]] = []
    inside_out: list[list[int]] = []
    sides = list(zip(plan.sheets[::2], plan.sheets[1::2], strict=True))
    for place in cut_places(plan):
        spine = place.x_mm + place.width_mm / 2
        for front, back in sides:
            # Each half of a piece is a leaf; of the right one the reader sees the front first.
            halves: dict[str, list[int]] = {"right": [], "left": []}
            on_head = set()
            for sheet in (front, back):
                for slot in sheet.slots:
                    head, foot = (
                        on_paper(plan, duplex.flip, sheet, slot, page, (page.width_mm / 2, v))
                        for v in (0.0, page.height_mm)
                    )
                    if not held_in(place, [head, foot]):
                        continue
                    assert head[0] == pytest.approx(foot[0])
                    on_head.add(head[1] > foot[1])
                    # Whoever stacks pieces lays them the right way up.
                    is_right = (head[0] > spine) != (head[1] > foot[1])
                    halves["right" if is_right else "left"].append(slot.page)
            if not on_head:
                continue
            assert len(on_head) == 1, "both sides of a piece are the same way up"
            leaves.append(halves["right"])
            inside_out.append(halves["left"][::-1])
    read = [page for leaf in [*leaves, *reversed(inside_out)] for page in leaf]
    assert read == list(range(pages))


@given(pages=st.integers(1, 64), thickness=st.floats(0, 0.3))
def test_what_sticks_out_of_the_nested_sheets_is_what_their_pages_moved(
    pages: int, thickness: float
) -> None:
    """Sheet s lies on s others, so its fold is that much further in; its pages must make up."""
    for page, paper in ((A5, A4), (A6, A4), (A7, A4)):
        plan = saddle(pages, page, paper, white=WHITE, thickness_mm=thickness)
        places = cut_places(plan)
        for sheet in plan.sheets:
            for slot in sheet.slots:
                inner = min(slot.page, 4 * -(-pages // 4) - 1 - slot.page) // 2
                place = slot.transform(page.width_mm, page.height_mm)
                middle = place.point(page.width_mm / 2, page.height_mm / 2)
                (held,) = (p for p in places if held_in(p, [middle]))
                spine = held.x_mm + held.width_mm / 2
                assert abs(middle[0] - spine) + inner * thickness == pytest.approx(
                    page.width_mm / 2
                )
                # It shows nothing across the fold all the same.
                window = slot.window
                assert window.x_mm >= spine - 1e-9 or window.x_mm + window.width_mm <= spine + 1e-9


@pytest.mark.parametrize(
    ("page", "paper", "pages", "spreads", "sheets", "turned"),
    [
        # by hand: four A7 spreads of 148 x 105 mm are 296 x 210 mm; an A4 is 297 x 210 mm
        (A7, A4, 64, 4, 4, True),
        (A7, A4, 12, 4, 1, True),
        (A7, A4, 8, 2, 1, False),
        (A7, A4, 4, 1, 1, False),
        # by hand: two A6 spreads of 210 x 148 mm are 210 x 296 mm
        (A6, A4, 64, 2, 8, True),
        # by hand: two A7 spreads are 148 x 210 mm and leave 34 mm at the sides of a letter
        (A7, LETTER, 64, 2, 8, False),
        (Size("eighth", 69.85, 107.95), LETTER, 64, 4, 4, True),
        (A5, A4, 64, 1, 16, False),
    ],
)
def test_as_many_spreads_are_on_a_sheet_as_save_paper(
    page: Size, paper: Size, pages: int, spreads: int, sheets: int, turned: bool
) -> None:
    plan = saddle(pages, page, paper, white=WHITE)
    assert plan.count == sheets
    assert len(cut_places(plan)) == spreads
    assert {2 if turned else 0, 0} == {
        s.quarter_turns for side in plan.fronts.sheets for s in side.slots
    }


def test_spreads_that_fill_the_paper_have_their_feet_inside() -> None:
    # Most printers leave a sixth of an inch white (common practice, no source): heads may be there.
    plan = saddle(64, A7, A4, white=WHITE)
    assert plan.margin_mm == pytest.approx(4.2)
    for sheet in plan.sheets:
        for slot in sheet.slots:
            place = slot.transform(A7.width_mm, A7.height_mm)
            (_, head), (_, foot) = place.point(37, 0), place.point(37, 105)
            assert abs(foot - 105) < abs(head - 105)
    # Pages with ink nearer to their edges stay inside what a printer prints.
    near = saddle(64, A7, A4, white=Edges(5.0, 4.0, 5.0, 2.6))
    assert len(cut_places(near)) == 2
    for sheet in near.sheets:
        assert sheet.area.y_mm >= PRINTER_MARGIN_MM
        assert sheet.area.x_mm >= PRINTER_MARGIN_MM


def test_spreads_with_a_bleed_stand_twice_that_apart() -> None:
    plan = saddle(64, A7, A4, bleed_mm=3, white=WHITE)
    assert plan.count == 8
    tops = sorted({slot.y_mm for slot in plan.sheets[0].slots})
    assert tops[1] - tops[0] == pytest.approx(105 + 6)
    for slot in plan.sheets[0].slots:
        assert (slot.bleed.left_mm, slot.bleed.right_mm) in ((3, 0), (0, 3))


def test_creep_of_sixteen_pages_of_common_paper() -> None:
    # common practice, no source: 80 g/m2 paper is 0.1 mm thick; four sheets, three below the last
    assert creep_mm(16) == pytest.approx((0.0, 0.1, 0.2, 0.3))
    assert creep_mm(13) == creep_mm(16)


def test_pages_fill_the_paper_or_lie_in_its_middle() -> None:
    # ISO 216: two A5 are an A4; ANSI/ASME Y14.1: two half letters a letter
    for page, paper in ((A5, A4), (HALF_LETTER, LETTER)):
        plan = saddle(4, page, paper)
        assert plan.paper == paper.landscape
        assert plan.sheets[0].slots[0].x_mm == pytest.approx(
            (paper.height_mm - 2 * page.width_mm) / 2
        )
    plan = saddle(4, A6, A4, bleed_mm=3)
    area = plan.sheets[0].area
    assert (area.x_mm, area.y_mm) == ((297 - 210) / 2 - 3, (210 - 148) / 2 - 3)
    with pytest.raises(UsageError, match=r"two pages of 148 x 210 mm .* do not fit Letter"):
        saddle(4, A5, LETTER)


def test_a_fold_is_marked_outside_or_else_inside_the_booklet() -> None:
    for page, outside in ((A6, True), (A5, False)):
        front, back = saddle(4, page, A4).sheets
        on_front = [mark for mark in front.marks if mark.name == "fold mark"]
        on_back = [mark for mark in back.marks if mark.name == "fold mark"]
        assert len(on_back) == 2
        assert len(on_front) == (2 if outside else 0)
        for mark in on_back:
            assert isinstance(mark, Line)
            assert mark.x1_mm == mark.x2_mm == 297 / 2
            assert mark.stroke.dash_mm
            assert min(mark.y1_mm, mark.y2_mm) >= PRINTER_MARGIN_MM
            assert max(mark.y1_mm, mark.y2_mm) <= 210 - PRINTER_MARGIN_MM


def edge(slot: Slot, page: Size, side: str) -> tuple[Point, Point]:
    """Return the ends of an edge of a page on the sheet, as the reader goes along it."""
    w, h = page.width_mm, page.height_mm
    ends = {
        "left": ((0.0, 0.0), (0.0, h)),
        "right": ((w, 0.0), (w, h)),
        "top": ((0.0, 0.0), (w, 0.0)),
    }[side]
    place = slot.transform(w, h)
    (x1, y1), (x2, y2) = (place.point(*end) for end in ends)
    return (round(x1, 6), round(y1, 6)), (round(x2, 6), round(y2, 6))


def cut(line: Line, along: tuple[Point, Point]) -> bool:
    """Whether a level line covers an edge."""
    (x1, y1), (x2, y2) = along
    level = abs(y1 - line.y1_mm) < 1e-6 and abs(y2 - line.y1_mm) < 1e-6
    return level and line.x1_mm - 1e-6 <= min(x1, x2) and max(x1, x2) <= line.x2_mm + 1e-6


@pytest.mark.parametrize(
    ("page", "paper"), [(Size("eighth", 74.25, 105), A4), (LETTER_EIGHTH, LETTER)]
)
def test_slit_and_folded_one_sheet_is_a_booklet(page: Size, paper: Size) -> None:
    """Follow the paper from page to page: what must hang together does, and no cut goes through it.

    Facing pages (2-3, 4-5, 6-7, and 8-1 outside) meet in the spine, the same way up. The two
    sides of a leaf hang together by their heads (1-2, 5-6) or their fore edges (3-4, 7-8), and the
    slit, and nothing else, parts the heads of 3 and 8 and those of 4 and 7.
    """
    (sheet,) = eight_pages(8, page, paper).sheets
    at = {slot.page + 1: slot for slot in sheet.slots}
    (slit,) = (mark for mark in sheet.marks if mark.name == "slit")
    assert isinstance(slit, Line)
    for left, right in ((2, 3), (4, 5), (6, 7), (8, 1)):
        assert edge(at[left], page, "right") == edge(at[right], page, "left")
        assert not cut(slit, edge(at[left], page, "right"))
    for recto, verso in ((3, 4), (7, 8)):
        assert edge(at[recto], page, "right") == edge(at[verso], page, "left")
    for recto, verso in ((1, 2), (5, 6)):
        start, end = edge(at[recto], page, "top")
        assert edge(at[verso], page, "top") == (end, start)
        assert not cut(slit, (start, end))
    for one, other in ((3, 8), (4, 7)):
        start, end = edge(at[one], page, "top")
        assert edge(at[other], page, "top") == (end, start)
        assert cut(slit, (start, end))
    assert slit.x2_mm - slit.x1_mm == pytest.approx(2 * page.width_mm)


def test_the_rows_of_one_sheet_of_eight_pages() -> None:
    # common practice, no source: 5 4 3 2 on their heads above 6 7 8 1
    plan = eight_pages(8, A7, A4)
    assert plan.paper == A4.landscape
    rows: dict[float, list[Slot]] = {}
    for slot in plan.sheets[0].slots:
        rows.setdefault(slot.y_mm, []).append(slot)
    (_, above), (_, below) = sorted(rows.items())
    assert [slot.page + 1 for slot in sorted(above, key=lambda s: s.x_mm)] == [5, 4, 3, 2]
    assert [slot.page + 1 for slot in sorted(below, key=lambda s: s.x_mm)] == [6, 7, 8, 1]
    assert {slot.quarter_turns for slot in above} == {2}
    assert {slot.quarter_turns for slot in below} == {0}


def test_an_a7_page_is_in_the_middle_of_its_eighth_of_a4_and_unscaled() -> None:
    # by hand: 297 / 4 = 74.25; (74.25 - 74) / 2 = 0.125
    for slot in eight_pages(8, A7, A4).sheets[0].slots:
        assert slot.window == Clip(slot.x_mm, slot.y_mm, 74.25, 105)
        place = slot.transform(A7.width_mm, A7.height_mm)
        ends = [place.point(0, 0), place.point(74, 105)]
        assert min(x for x, _ in ends) - slot.x_mm == pytest.approx(0.125)
        assert abs(ends[1][0] - ends[0][0]) == pytest.approx(74)
        assert abs(ends[1][1] - ends[0][1]) == pytest.approx(105)


def test_what_does_not_go_on_one_sheet_says_what_would() -> None:
    # by hand: 11 in / 4 = 2.75 in = 69.85 mm; 8.5 in / 2 = 4.25 in = 107.95 mm
    said = r"74 x 105 mm .* eighth of Letter; .* 69.85 x 107.95 mm \(2.75 x 4.25 in\)"
    with pytest.raises(UsageError, match=said):
        eight_pages(8, A7, LETTER)
    with pytest.raises(UsageError, match="has eight pages, not 9"):
        eight_pages(9, A7, A4)
    assert sorted(slot.page for slot in eight_pages(6, A7, A4).sheets[0].slots) == [*range(6)]


def test_folds_are_broken_lines_the_slit_is_whole_and_neither_leaves_the_printable_area() -> None:
    plan = eight_pages(8, A7, A4, slit="cut here only")
    (sheet,) = plan.sheets
    lines = [mark for mark in sheet.marks if isinstance(mark, Line)]
    assert {(mark.name, bool(mark.stroke.dash_mm)) for mark in lines} == {
        ("fold mark", True),
        ("slit", False),
    }
    for mark in lines:
        assert min(mark.x1_mm, mark.y1_mm) >= PRINTER_MARGIN_MM
        assert max(mark.x2_mm, mark.x1_mm) <= 297 - PRINTER_MARGIN_MM
        assert max(mark.y2_mm, mark.y1_mm) <= 210 - PRINTER_MARGIN_MM
    upright = sorted({mark.x1_mm for mark in lines if mark.x1_mm == mark.x2_mm})
    assert upright == [74.25, 148.5, 222.75]
    level = sorted((m.x1_mm, m.x2_mm) for m in lines if m.y1_mm == m.y2_mm)
    assert all(end == start for (_, end), (start, _) in pairwise(level))
    (word,) = (mark for mark in sheet.marks if isinstance(mark, Text))
    assert word.text == "cut here only"
    # Within what an A7 page keeps free at its edges, 3 mm.
    assert 105 - 3 < word.y_mm < 105
    assert not any(isinstance(mark, Text) for mark in eight_pages(8, A7, A4).sheets[0].marks)
