from collections.abc import Callable

import pytest

from cardgen.drawing.scene import Line, Point
from cardgen.errors import UsageError
from cardgen.sheets.binding import binding_room, bound, holes_for
from cardgen.sheets.papers import A4, LETTER, Size
from cardgen.sheets.slots import LONG_EDGE, SHORT_EDGE, Duplex

OnPaper = Callable[..., Point]


def middles(marks: tuple[object, ...]) -> list[Point]:
    lines = [mark for mark in marks if isinstance(mark, Line)]
    return sorted({((m.x1_mm + m.x2_mm) / 2, (m.y1_mm + m.y2_mm) / 2) for m in lines})


def test_holes_are_where_binders_have_them() -> None:
    # ISO 838 (from memory): 80 mm apart, symmetrical, 12 mm from the edge
    (a4,) = bound(1, binding_room(A4), A4).sheets
    assert middles(a4.marks) == [(12, 297 / 2 - 40), (12, 297 / 2 + 40)]
    # common practice, no source: three holes 4.25 in apart, half an inch in
    (letter,) = bound(1, binding_room(LETTER), LETTER).sheets
    found = middles(letter.marks)
    assert [x for x, _ in found] == pytest.approx([12.7] * 3)
    assert [y for _, y in found] == pytest.approx([139.7 - 107.95, 139.7, 139.7 + 107.95])
    assert holes_for(LETTER.turned).count == 3


@pytest.mark.parametrize("duplex", [LONG_EDGE, SHORT_EDGE], ids=str)
@pytest.mark.parametrize("paper", [A4, LETTER])
def test_the_wide_margin_is_at_the_holes_on_both_sides(
    paper: Size, duplex: Duplex, on_paper: OnPaper
) -> None:
    page = binding_room(paper)
    plan = bound(5, page, paper, two_sided=True, duplex=duplex)
    assert [slot.page for sheet in plan.sheets for slot in sheet.slots] == [0, 1, 2, 3, 4]
    assert [sheet.is_back for sheet in plan.sheets] == [False, True] * 3
    for sheet in plan.sheets:
        for slot in sheet.slots:
            ends = [
                on_paper(plan, duplex.flip, sheet, slot, page, end)
                for end in ((0.0, 0.0), (page.width_mm, page.height_mm))
            ]
            # Seen through the front, both sides leave 20 mm at the left and 5 mm at the right.
            assert min(x for x, _ in ends) == pytest.approx(20)
            assert max(x for x, _ in ends) == pytest.approx(paper.width_mm - 5)
            assert ends[0][1] < ends[1][1], "the reader would see it on its head"
    front, back = plan.sheets[:2]
    width, height = paper.width_mm, paper.height_mm
    through = sorted(
        (width - x, y) if duplex is LONG_EDGE else (x, height - y) for x, y in middles(back.marks)
    )
    for (x, y), (u, v) in zip(middles(front.marks), through, strict=True):
        assert (x, y) == pytest.approx((u, v))


def test_one_sided_pages_are_all_bound_at_the_left() -> None:
    plan = bound(3, binding_room(A4), A4)
    assert [sheet.number for sheet in plan.sheets] == [1, 2, 3]
    assert {slot.x_mm for sheet in plan.sheets for slot in sheet.slots} == {20}


def test_a_page_that_reaches_into_the_holes_is_refused() -> None:
    with pytest.raises(UsageError, match=r"beside a binding margin of 20 mm; .* 185 x 287 mm"):
        bound(1, A4, A4)


def test_four_holes_are_two_more_and_without_holes_the_page_is_in_the_middle() -> None:
    # ISO 838 (from memory): the two in the middle stay, two more stand 80 mm from them
    (four,) = bound(1, binding_room(A4), A4, holes="four").sheets
    assert middles(four.marks) == [(12, y) for y in (28.5, 108.5, 188.5, 268.5)]
    (none,) = bound(1, binding_room(A4), A4, holes="none").sheets
    assert none.marks == ()
    (slot,) = none.slots
    assert slot.x_mm == pytest.approx((210 - slot.width_mm) / 2)
