"""Cards to put on sheets, and a sheet of paper that can be turned over.

The paper is told apart from the code under test: it knows only what happens to real paper.
"""

from collections.abc import Callable

import pytest

from cardgen.drawing.scene import Disc, Point, Scene, Text
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import Plan, Sheet, Slot

Deck = Callable[..., list[Scene]]
OnPaper = Callable[[Plan, str, Sheet, Slot, Size, Point], Point]


@pytest.fixture(scope="session")
def words() -> SheetWords:
    """What the margins of test sheets say."""
    return SheetWords(
        job="Ana, spares",
        sheet="Sheet",
        front="front",
        back="back",
        setting="Print at actual size (100 %) · flip on long edge",
        slit="cut here only",
    )


@pytest.fixture(scope="session")
def deck() -> Deck:
    """Return a function that makes ``count`` cards of one size, numbered from 1."""

    def made(count: int, size: Size, word: str = "front") -> list[Scene]:
        return [
            Scene(
                size.width_mm,
                size.height_mm,
                (Text(5, 10, f"{word} {number}", 8), Disc(3, 4, 1, None, "#000000")),
            )
            for number in range(1, count + 1)
        ]

    return made


@pytest.fixture(scope="session")
def on_paper() -> OnPaper:
    """Return a function that tells where a point of a page is, seen through the paper's front."""

    def at(plan: Plan, flip: str, sheet: Sheet, slot: Slot, page: Size, point: Point) -> Point:
        x, y = slot.transform(page.width_mm, page.height_mm).point(*point)
        if not sheet.is_back:
            return x, y
        width, height = plan.paper.width_mm, plan.paper.height_mm
        edge_is_upright = (height >= width) if flip == "long-edge" else (height < width)
        # Turned over about an upright edge, left and right change places; else top and foot.
        return (width - x, y) if edge_is_upright else (x, height - y)

    return at
