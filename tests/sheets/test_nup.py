from collections.abc import Callable
from dataclasses import asdict
from itertools import chain, product
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.drawing.scene import Clip, Line, Point
from cardgen.errors import UsageError
from cardgen.sheets.grids import best_grid
from cardgen.sheets.nup import Order, fold_over, n_up, on_stock, one_each
from cardgen.sheets.papers import (
    A4,
    A6,
    A7,
    A8,
    EU_BUSINESS,
    ID_1,
    LETTER,
    POKER,
    US_BUSINESS,
    Size,
)
from cardgen.sheets.slots import PRINTER_MARGIN_MM, Duplex, Plan, Sheet, Turn
from cardgen.sheets.stock import find_stock, load_stocks

CARD_SIZES = st.builds(Size, st.just("card"), st.floats(25, 90), st.floats(25, 90))
PAPERS = st.sampled_from([A4, LETTER, A4.turned, LETTER.turned])
OnPaper = Callable[..., Point]
FLIPS: list[Literal["long-edge", "short-edge"]] = ["long-edge", "short-edge"]
TURNS: list[Turn] = ["side", "top"]
ORDERS: list[Order] = ["reading", "cut-stack"]
WIDE = Size("wide", 190, 100)  # on A4, with a bleed of 3 mm, 1 mm remains for marks
CASES = [Duplex(flip, turn) for flip in FLIPS for turn in TURNS]


def overlap(a: Clip, b: Clip) -> bool:
    return (
        min(a.x_mm + a.width_mm, b.x_mm + b.width_mm) - max(a.x_mm, b.x_mm) > 1e-6
        and min(a.y_mm + a.height_mm, b.y_mm + b.height_mm) - max(a.y_mm, b.y_mm) > 1e-6
    )


def assert_apart_and_inside(plan: Plan, margin_mm: float = PRINTER_MARGIN_MM) -> None:
    for sheet in plan.sheets:
        windows = [slot.window for slot in sheet.slots]
        for number, window in enumerate(windows):
            assert margin_mm - 1e-6 <= window.x_mm
            assert margin_mm - 1e-6 <= window.y_mm
            assert window.x_mm + window.width_mm <= plan.paper.width_mm - margin_mm + 1e-6
            assert window.y_mm + window.height_mm <= plan.paper.height_mm - margin_mm + 1e-6
            assert not any(overlap(window, other) for other in windows[:number])


def by_place(sheet: Sheet) -> dict[tuple[float, float], int]:
    return {(round(slot.y_mm, 6), round(slot.x_mm, 6)): slot.page for slot in sheet.slots}


# by hand: 210 - 10 = 200 = 2 x 85.60 + ..., 297 - 10 = 287 = 5 x 53.98 + ...
@pytest.mark.parametrize(
    ("size", "paper", "columns", "rows", "turns"),
    [
        (ID_1, A4, 2, 5, 1),
        (A7, A4, 2, 2, 0),
        (ID_1, LETTER, 3, 3, 0),
        (A7, LETTER, 2, 2, 0),
        (US_BUSINESS, LETTER, 4, 3, 0),
        (POKER, A4, 3, 3, 0),
        (A8, A4, 2, 5, 1),
        (A6, A4, 1, 2, 1),
        (Size("exact", 50, 71.75), A4, 4, 4, 0),
    ],
)
def test_as_many_cards_as_fit(size: Size, paper: Size, columns: int, rows: int, turns: int) -> None:
    grid = best_grid(size, paper)
    assert (grid.columns, grid.rows, grid.quarter_turns) == (columns, rows, turns)


def test_a_card_too_large_is_a_usage_error() -> None:
    with pytest.raises(UsageError, match=r"does not fit A4 with a margin of 5 mm$"):
        best_grid(Size("poster", 201, 288), A4)
    with pytest.raises(UsageError, match=r"201 x 288 mm .* does not fit A4"):
        fold_over(1, Size("poster", 201, 288), A4)
    with pytest.raises(UsageError, match="a bleed of 3 mm"):
        n_up(1, Size("poster", 198, 280), A4, bleed_mm=3)


@given(size=CARD_SIZES, paper=PAPERS, bleed=st.sampled_from([0.0, 2.0, 3.0]))
def test_the_grid_is_centred_and_holds_no_more(size: Size, paper: Size, bleed: float) -> None:
    grid = best_grid(size, paper, PRINTER_MARGIN_MM, bleed)
    area = grid.area(bleed)
    assert 2 * area.x_mm + area.width_mm == pytest.approx(paper.width_mm)
    assert 2 * area.y_mm + area.height_mm == pytest.approx(paper.height_mm)
    assert area.x_mm >= PRINTER_MARGIN_MM - 1e-6
    assert area.y_mm >= PRINTER_MARGIN_MM - 1e-6
    assert area.x_mm - grid.cell_width_mm - 2 * bleed < PRINTER_MARGIN_MM * 2 - area.x_mm
    assert area.y_mm - grid.cell_height_mm - 2 * bleed < PRINTER_MARGIN_MM * 2 - area.y_mm
    assert grid.capacity >= 1


@given(
    size=CARD_SIZES,
    paper=PAPERS,
    count=st.integers(1, 64),
    bleed=st.sampled_from([0.0, 3.0]),
    copies=st.integers(1, 3),
)
def test_cut_sheet_by_sheet_reading_order_is_the_order(
    size: Size, paper: Size, count: int, bleed: float, copies: int
) -> None:
    plan = n_up(count, size, paper, bleed_mm=bleed, copies=copies)
    assert_apart_and_inside(plan)
    read = [page for sheet in plan.sheets for _, page in sorted(by_place(sheet).items())]
    assert read == [*range(count)] * copies


@given(size=CARD_SIZES, paper=PAPERS, count=st.integers(1, 64), copies=st.integers(1, 3))
def test_cut_as_a_stack_the_stacks_follow_each_other(
    size: Size, paper: Size, count: int, copies: int
) -> None:
    plan = n_up(count, size, paper, order="cut-stack", copies=copies)
    assert_apart_and_inside(plan)
    sheets = [by_place(sheet) for sheet in plan.sheets]
    places = sorted(set(chain.from_iterable(sheets)))
    stacks = [[sheet[place] for sheet in sheets if place in sheet] for place in places]
    assert list(chain.from_iterable(stacks)) == [*range(count)] * copies


def test_cut_stack_of_23_cards_ten_up() -> None:
    # common practice, no source: sheet s of S, position k holds card k S + s + 1, counted from 0
    plan = n_up(23, ID_1, A4, order="cut-stack")
    held = [[slot.page + 1 for slot in sheet.slots] for sheet in plan.sheets]
    assert held == [
        [1, 4, 7, 10, 13, 16, 19, 22],
        [2, 5, 8, 11, 14, 17, 20, 23],
        [3, 6, 9, 12, 15, 18, 21],
    ]


@pytest.mark.parametrize("duplex", CASES, ids=str)
@given(
    size=CARD_SIZES,
    paper=PAPERS,
    count=st.integers(1, 40),
    order=st.sampled_from(ORDERS),
    at=st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_each_back_lies_behind_its_front_however_paper_and_card_are_turned(
    duplex: Duplex,
    size: Size,
    paper: Size,
    count: int,
    order: Order,
    at: tuple[float, float],
    on_paper: OnPaper,
) -> None:
    """Turn the printed sheet over and hold it against the light.

    Point (u, v) of a card's back must be behind (width - u, v) of its front, if the card is turned
    over like a page, and behind (u, height - v) if over its head.
    """
    plan = n_up(count, size, paper, two_sided=True, order=order, duplex=duplex)
    assert_apart_and_inside(plan)
    u, v = at[0] * size.width_mm, at[1] * size.height_mm
    mirrored = (size.width_mm - u, v) if duplex.turn == "side" else (u, size.height_mm - v)
    assert [sheet.is_back for sheet in plan.sheets] == [False, True] * plan.count
    seen = set()
    for front, back in zip(plan.sheets[::2], plan.sheets[1::2], strict=True):
        assert front.number == back.number
        behind = {slot.page - count: slot for slot in back.slots}
        assert set(behind) == {slot.page for slot in front.slots}
        for slot in front.slots:
            on_back = on_paper(plan, duplex.flip, back, behind[slot.page], size, (u, v))
            on_front = on_paper(plan, duplex.flip, front, slot, size, mirrored)
            assert on_back == pytest.approx(on_front, abs=1e-9)
            seen.add(slot.page)
    assert seen == set(range(count))


def test_the_table_of_the_four_flips() -> None:
    # common practice, no source: mirrored left to right when (flip is long) == (sheet is upright),
    # else top to foot and turned by 180 degrees
    for flip, paper in product(FLIPS, (A4, A4.turned)):
        plan = n_up(1, A7, paper, two_sided=True, duplex=Duplex(flip))
        (front,), (back,) = (sheet.slots for sheet in plan.sheets)
        left_to_right = (flip == "long-edge") == (paper is A4)
        assert (back.x_mm > front.x_mm) == left_to_right
        assert (back.y_mm > front.y_mm) != left_to_right
        turned = (back.quarter_turns + front.quarter_turns) % 4
        assert turned == (0 if left_to_right else 2)


def test_an_offset_moves_all_that_is_on_backs_and_nothing_on_fronts() -> None:
    plain = n_up(3, ID_1, A4, two_sided=True)
    moved = n_up(3, ID_1, A4, two_sided=True, duplex=Duplex(dx_mm=0.7, dy_mm=-0.4))
    assert moved.fronts == plain.fronts
    (before,), (after,) = plain.backs().sheets, moved.backs().sheets
    for old, new in zip(before.slots, after.slots, strict=True):
        assert (new.x_mm - old.x_mm, new.y_mm - old.y_mm) == pytest.approx((0.7, -0.4))
        assert new.quarter_turns == old.quarter_turns
    for old_mark, new_mark in zip(before.marks, after.marks, strict=True):
        assert isinstance(old_mark, Line)
        assert isinstance(new_mark, Line)
        assert new_mark.x2_mm - old_mark.x2_mm == pytest.approx(0.7)
        assert new_mark.y1_mm - old_mark.y1_mm == pytest.approx(-0.4)


def test_by_hand_fronts_and_backs_are_two_documents() -> None:
    plan = n_up(23, ID_1, A4, two_sided=True)
    assert [sheet.number for sheet in plan.fronts.sheets] == [1, 2, 3]
    assert [sheet.number for sheet in plan.backs().sheets] == [1, 2, 3]
    assert [sheet.number for sheet in plan.backs(reverse=True).sheets] == [3, 2, 1]
    assert not any(sheet.is_back for sheet in plan.fronts.sheets)
    assert all(sheet.is_back for sheet in plan.backs(reverse=True).sheets)
    # Printed, taken out and put back: the sheet on top, printed last, meets the first back.
    pile = list(plan.fronts.sheets)
    for back in plan.backs(reverse=True).sheets:
        front = pile.pop()
        assert {slot.page + 23 for slot in front.slots} == {slot.page for slot in back.slots}


def test_a_part_filled_sheet_keeps_the_grid_and_its_marks() -> None:
    full, last = n_up(13, ID_1, A4).sheets
    assert [slot.page for slot in last.slots] == [10, 11, 12]
    for slot, same in zip(full.slots[:3], last.slots, strict=True):
        assert (slot.x_mm, slot.y_mm) == (same.x_mm, same.y_mm)
    assert last.marks == full.marks
    front, back = n_up(1, ID_1, A4, two_sided=True).sheets
    assert back.slots[0].x_mm > front.slots[0].x_mm  # right, behind the left


@pytest.mark.parametrize("bleed", [0.0, 3.0])
@pytest.mark.parametrize(
    ("size", "paper"), [(ID_1, A4), (A7, LETTER), (POKER, A4.turned), (WIDE, A4)]
)
def test_cut_marks_point_at_every_trim_from_outside_the_bleed(
    size: Size, paper: Size, bleed: float
) -> None:
    plan = n_up(1, size, paper, bleed_mm=bleed, two_sided=True)
    grid = best_grid(size, paper, PRINTER_MARGIN_MM, bleed)
    for sheet in plan.sheets:
        marks = [mark for mark in sheet.marks if isinstance(mark, Line)]
        upright = {round(mark.x1_mm, 6) for mark in marks if mark.x1_mm == mark.x2_mm}
        level = {round(mark.y1_mm, 6) for mark in marks if mark.y1_mm == mark.y2_mm}
        assert upright == {round(x, 6) for x in grid.cuts.x_mm}
        assert level == {round(y, 6) for y in grid.cuts.y_mm}
        area = sheet.area
        for mark in marks:
            for x, y in ((mark.x1_mm, mark.y1_mm), (mark.x2_mm, mark.y2_mm)):
                across = max(area.x_mm - x, x - area.x_mm - area.width_mm)
                down = max(area.y_mm - y, y - area.y_mm - area.height_mm)
                assert max(across, down) >= 1 - 1e-6
                assert PRINTER_MARGIN_MM - 1e-6 <= x <= paper.width_mm - PRINTER_MARGIN_MM + 1e-6
                assert PRINTER_MARGIN_MM - 1e-6 <= y <= paper.height_mm - PRINTER_MARGIN_MM + 1e-6


@given(size=CARD_SIZES, count=st.integers(1, 30), turn=st.sampled_from(TURNS), paper=PAPERS)
def test_folded_over_each_back_lies_behind_its_front(
    size: Size, count: int, turn: Turn, paper: Size
) -> None:
    plan = fold_over(count, size, paper, turn=turn)
    assert not plan.is_two_sided
    assert_apart_and_inside(plan)
    read = []
    for sheet in plan.sheets:
        backs = {slot.page - count: slot for slot in sheet.slots if slot.page >= count}
        folds = [mark for mark in sheet.marks if mark.name == "fold mark"]
        fronts = [slot for slot in sheet.slots if slot.page < count]
        assert len(folds) == len(fronts) == len(backs)
        for front, fold in zip(fronts, folds, strict=True):
            read.append(front.page)
            assert isinstance(fold, Line)
            for u, v in ((0.0, 0.0), (size.width_mm, 0.0), (3.0, 7.0)):
                back = backs[front.page].transform(size.width_mm, size.height_mm)
                x, y = back.point(u, v)
                if fold.x1_mm == fold.x2_mm:
                    folded = (2 * fold.x1_mm - x, y)
                else:
                    assert fold.y1_mm == fold.y2_mm
                    folded = (x, 2 * fold.y1_mm - y)
                of_front = (size.width_mm - u, v) if turn == "side" else (u, size.height_mm - v)
                there = front.transform(size.width_mm, size.height_mm).point(*of_front)
                assert folded == pytest.approx(there, abs=1e-9)
    assert read == list(range(count))


@pytest.mark.parametrize(
    ("width", "height", "fold_edge"),
    [(30, 30, "left_mm"), (30, 90, "top_mm"), (30, 95, "right_mm"), (50, 65, "top_mm")],
)
def test_a_folded_pair_bleeds_outside_and_not_across_its_fold(
    width: float, height: float, fold_edge: str
) -> None:
    """The four ways a pair may lie: back left of the front, above (both turned or not), right."""
    plan = fold_over(5, Size("card", width, height), A4, bleed_mm=3)
    assert_apart_and_inside(plan)
    opposite = {"left_mm": "right_mm", "right_mm": "left_mm", "top_mm": "bottom_mm"}[fold_edge]
    for slot in plan.sheets[0].slots:
        bleed = asdict(slot.bleed)
        assert bleed.pop(fold_edge if slot.page < 5 else opposite) == 0
        assert set(bleed.values()) == {3}


def test_stock_by_name_and_by_measure() -> None:
    # by hand: 19.05 + 2 x 88.9 + 19.05 = 215.9; 12.7 + 5 x 50.8 + 12.7 = 279.4
    letter = find_stock("letter-10-business")
    area = letter.grid(US_BUSINESS).area()
    assert (area.width_mm, area.height_mm) == pytest.approx((215.9 - 38.1, 279.4 - 25.4))
    # by hand: 15 + 85 + 10 + 85 + 15 = 210; 13.5 + 5 x 54 + 13.5 = 297; 20 + 2 x 85 + 20 = 210
    for name, left in (("a4-10-business", 15), ("a4-10-butted", 20)):
        area = find_stock(name).grid(EU_BUSINESS).area()
        assert (area.x_mm, area.y_mm) == (left, 13.5)
        assert 2 * left + area.width_mm == 210
        assert 2 * 13.5 + area.height_mm == 297
    for stock in load_stocks().values():
        assert stock.columns * stock.rows == 10


@pytest.mark.parametrize("name", ["letter-10-business", "a4-10-business", "a4-10-butted"])
@pytest.mark.parametrize("duplex", CASES, ids=str)
def test_stock_has_no_marks_and_its_backs_lie_behind_its_fronts(
    name: str, duplex: Duplex, on_paper: OnPaper
) -> None:
    stock = find_stock(name)
    size = US_BUSINESS if name.startswith("letter") else ID_1
    plan = on_stock(13, size, stock, two_sided=True, start_at=4, duplex=duplex)
    assert_apart_and_inside(plan)
    assert plan.count == 2
    for front, back in zip(plan.sheets[::2], plan.sheets[1::2], strict=True):
        assert front.marks == back.marks == ()
        for slot, behind in zip(front.slots, back.slots, strict=True):
            of_front = (
                (size.width_mm - 3, 7.0) if duplex.turn == "side" else (3.0, size.height_mm - 7)
            )
            there = on_paper(plan, duplex.flip, front, slot, size, of_front)
            assert on_paper(plan, duplex.flip, back, behind, size, (3.0, 7.0)) == pytest.approx(
                there
            )


def test_a_used_sheet_of_stock_starts_at_its_first_free_place() -> None:
    stock = find_stock("a4-10-business")
    fresh = on_stock(10, ID_1, stock).sheets[0].slots
    used = on_stock(10, ID_1, stock, start_at=4).sheets
    assert [len(sheet.slots) for sheet in used] == [7, 3]
    places = [(slot.x_mm, slot.y_mm) for sheet in used for slot in sheet.slots]
    full = [(slot.x_mm, slot.y_mm) for slot in fresh]
    assert places == full[3:] + full[:3]
    for start in (0, 11):
        with pytest.raises(UsageError, match=f"places 1 to 10, not {start}"):
            on_stock(1, ID_1, stock, start_at=start)


def test_a_card_of_nearly_the_stocks_size_is_centred_and_another_refused() -> None:
    stock = find_stock("a4-10-business")  # 85 x 54, lying
    (slot,) = on_stock(1, ID_1, stock).sheets[0].slots
    place = slot.transform(ID_1.width_mm, ID_1.height_mm)
    middle = place.point(ID_1.width_mm / 2, ID_1.height_mm / 2)
    assert middle == pytest.approx((15 + 85 / 2, 13.5 + 54 / 2))
    assert slot.quarter_turns == 1
    assert (slot.window.width_mm, slot.window.height_mm) == (85, 54)
    with pytest.raises(UsageError, match=r"74 x 105 mm is not of the size of a4-10-business"):
        on_stock(1, A7, stock)


@pytest.mark.parametrize("bleed", [0.0, 3.0])
def test_one_card_a_page_has_its_trim_within_its_bleed(bleed: float) -> None:
    plan = one_each(2, ID_1, two_sided=True, bleed_mm=bleed)
    assert [slot.page for sheet in plan.sheets for slot in sheet.slots] == [0, 2, 1, 3]
    assert plan.paper.width_mm == ID_1.width_mm + 2 * bleed
    assert plan.trim == Clip(bleed, bleed, ID_1.width_mm, ID_1.height_mm)
    assert_apart_and_inside(plan, 0.0)
