import math

import pytest

from cardgen.drawing import fonts
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Field,
    Group,
    Line,
    Polyline,
    Stroke,
    Text,
    Transform,
)
from cardgen.sheets.extent import extent_of

INK = Stroke("#111111", 0.5)


def corners(clip: Clip | None) -> tuple[float, float, float, float]:
    assert clip is not None
    return clip.x_mm, clip.y_mm, clip.x_mm + clip.width_mm, clip.y_mm + clip.height_mm


def test_nothing_takes_no_room() -> None:
    assert extent_of(()) is None
    assert extent_of((Group(()), Polyline(()))) is None


def test_ink_reaches_no_further_than_the_extent() -> None:
    assert corners(extent_of((Line(1, 2, 5, 2, INK),))) == (0.5, 1.5, 5.5, 2.5)
    assert corners(extent_of((Disc(5, 5, 2, INK),))) == (2.5, 2.5, 7.5, 7.5)
    assert corners(extent_of((Disc(5, 5, 2, None, "#111111"),))) == (3, 3, 7, 7)
    hill = Curve((0, 0), (((0, -9), (10, -9), (10, 0)),), fill="#111111")
    assert corners(extent_of((hill,))) == (0, -9, 10, 0)
    assert corners(extent_of((Field(1, 2, 3, 4, "name", "tip"),))) == (1, 2, 4, 6)


@pytest.mark.parametrize(("align", "before"), [("START", 0.0), ("MIDDLE", 0.5), ("END", 1.0)])
def test_a_text_is_as_wide_as_it_is_set(align: str, before: float) -> None:
    width = fonts.width_mm("Stand", 10)
    left, top, right, foot = corners(extent_of((Text(20, 30, "Stand", 10, align=Align[align]),)))
    assert (left, right) == pytest.approx((20 - before * width, 20 + (1 - before) * width))
    assert top < 30 - fonts.cap_height_mm(10)
    assert foot > 30


def test_groups_count_where_they_are_put() -> None:
    turn = Transform.quarter_turns(1).then(Transform.move(20, 10))
    inner = Group((Disc(5, 0, 1, None, "#111111"),), transform=turn)
    outer = Group((inner, Polyline(((0, 0), (1, 1)))), transform=Transform.move(0, 100))
    assert corners(extent_of((outer,))) == pytest.approx((0, 100, 21, 116))
    slant = math.sqrt(0.5)
    tilted = Group((Polyline(((0, 0), (2, 2))),), transform=Transform(slant, slant, -slant, slant))
    left, top, right, foot = corners(extent_of((tilted,)))
    assert left <= 0 <= right
    assert top <= 0
    assert foot >= 2 * math.sqrt(2) - 1e-9
