import pytest

from cardgen.drawing.scene import Clip, Disc, Group, Line, Scene, Stroke, Text, Transform
from cardgen.errors import UsageError
from cardgen.sheets.finishing import Hole, in_keep_out, laminated_insert, with_hole
from cardgen.sheets.papers import ID_1, Size
from cardgen.sheets.slots import Turn

BLANK = Scene(53.98, 85.60, ())
BLEEDING = Scene(59.98, 91.60, (), trim=Clip(3, 3, 53.98, 85.60))


def middle(scene: Scene) -> tuple[float, float]:
    (disc,) = (item for item, _ in scene.walk() if isinstance(item, Disc))
    return disc.x_mm, disc.y_mm


@pytest.mark.parametrize("scene", [BLANK, BLEEDING])
@pytest.mark.parametrize("turn", ["side", "top"])
def test_one_punch_meets_the_marks_of_both_sides(scene: Scene, turn: Turn) -> None:
    # common practice, no source: 5 mm across, 9 mm from both edges
    hole, edge = Hole(), 0.0 if scene.trim is None else 3.0
    x, y = middle(with_hole(scene, hole))
    assert (x, y) == (9 + edge, 9 + edge)
    u, v = middle(with_hole(scene, hole, is_back=True, turn=turn))
    turned_over = (scene.width_mm - u, v) if turn == "side" else (u, scene.height_mm - v)
    assert turned_over == pytest.approx((x, y))


def test_what_reaches_into_the_keep_out_is_named() -> None:
    ink, hole = Stroke("#111111", 0.2), Hole()
    # The keep-out reaches 7 mm from (9, 9): along the level line y = 9, to x = 16.
    clear = Line(16.3, 9, 30, 9, ink, name="clear")
    caught = Line(15.7, 9, 30, 9, ink, name="caught")
    corner = Disc(15.5, 15.5, 1.0, None, "#000000", name="clear")  # its box is 7.8 mm away
    moved = Group((Text(0, 0, "Stand", 8, name="caught"),), transform=Transform.move(10, 10))
    scene = Scene(53.98, 85.60, (clear, caught, corner, moved))
    assert [item.name for item in in_keep_out(with_hole(scene, hole), hole)] == ["caught", "caught"]
    assert [item.name for item in in_keep_out(scene, hole, is_back=True)] == []


def test_an_insert_leaves_room_for_the_sealed_edge() -> None:
    # ISO/IEC 7810: a finished ID-1 card is 85.60 x 53.98 mm; common practice, no source: film
    # takes 2.5 to 3 mm a side, so the paper is at most 80 x 48 mm
    insert = laminated_insert(ID_1)
    assert insert.height_mm <= 80
    assert insert.width_mm <= 48
    assert (insert.width_mm, insert.height_mm) == pytest.approx((47.98, 79.60))
    thin = laminated_insert(ID_1, 2.5)
    assert (thin.width_mm, thin.height_mm) == pytest.approx((48.98, 80.60))
    with pytest.raises(UsageError, match="leave no paper"):
        laminated_insert(Size("stamp", 6, 20))
