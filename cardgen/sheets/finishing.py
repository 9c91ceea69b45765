"""What is done to cards after cutting, as far as it changes what is printed: punch, laminate."""

from dataclasses import dataclass, replace
from math import hypot

from cardgen.drawing.scene import Disc, Group, Item, Line, Scene, Stroke
from cardgen.errors import UsageError
from cardgen.sheets.extent import extent_of
from cardgen.sheets.imposition import trim_of
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import Mirror, Turn

_MARK = Stroke("#5A6068", 0.1)
POUCH_EDGE_MM = 3.0
"""Film that is sealed around an insert; common practice, no source, is 2 to 3 mm a side."""


@dataclass(frozen=True)
class Hole:
    """A hole for a ring at the top left of a card's front (common practice, no source).

    Its middle is ``from_edges_mm`` from both edges. Nothing to be read stands within the disc
    ``keep_out_mm`` across, so that a punch a little off cuts through nothing.
    """

    diameter_mm: float = 5.0
    from_edges_mm: float = 9.0
    keep_out_mm: float = 14.0

    def middle_mm(
        self, width_mm: float, height_mm: float, *, is_back: bool = False, turn: Turn = "side"
    ) -> tuple[float, float]:
        """Return where the middle is on a side of a card of that size, from its top left corner.

        Turned over like a page, the back has it at the top right; over the head, at the foot.
        """
        at = (self.from_edges_mm, self.from_edges_mm)
        if not is_back:
            return at
        upright = turn == "side"
        return Mirror(upright, (width_mm if upright else height_mm) / 2).point(*at)


def with_hole(scene: Scene, hole: Hole, *, is_back: bool = False, turn: Turn = "side") -> Scene:
    """Return one side of a card with a mark to punch its hole by."""
    trim, half = trim_of(scene), hole.diameter_mm / 2
    x, y = hole.middle_mm(trim.width_mm, trim.height_mm, is_back=is_back, turn=turn)
    x, y = x + trim.x_mm, y + trim.y_mm
    marks = (
        Disc(x, y, half, _MARK, name="hole mark"),
        Line(x - half / 2, y, x + half / 2, y, _MARK, name="hole mark"),
        Line(x, y - half / 2, x, y + half / 2, _MARK, name="hole mark"),
    )
    return replace(scene, items=(*scene.items, Group(marks, name="hole")))


def in_keep_out(
    scene: Scene, hole: Hole, *, is_back: bool = False, turn: Turn = "side"
) -> tuple[Item, ...]:
    """Return the items whose extent reaches into the keep-out of a hole, but for its own mark."""
    trim = trim_of(scene)
    x, y = hole.middle_mm(trim.width_mm, trim.height_mm, is_back=is_back, turn=turn)
    x, y = x + trim.x_mm, y + trim.y_mm
    found = []
    for item, place in scene.walk():
        box = extent_of((Group((item,), transform=place),))
        if box is None or item.name == "hole mark":
            continue
        dx = max(box.x_mm - x, x - box.x_mm - box.width_mm, 0.0)
        dy = max(box.y_mm - y, y - box.y_mm - box.height_mm, 0.0)
        if hypot(dx, dy) < hole.keep_out_mm / 2:
            found.append(item)
    return tuple(found)


def laminated_insert(finished: Size, edge_mm: float = POUCH_EDGE_MM) -> Size:
    """Return the size to cut paper to, so that sealed in film it has the ``finished`` size.

    Raises UsageError if no paper is left.
    """
    width, height = finished.width_mm - 2 * edge_mm, finished.height_mm - 2 * edge_mm
    if min(width, height) <= 0:
        raise UsageError(f"{finished.text} leave no paper within {edge_mm:g} mm of film a side")
    return Size(f"{finished.name} insert", width, height)
