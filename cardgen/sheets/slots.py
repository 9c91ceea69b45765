"""Where pages go: the plan of a whole print run, before anything is drawn.

A plan is a table: each side of each sheet lists slots, and a slot says which page goes there, where
on the paper and turned how. Every scheme makes such a plan; ``imposition`` carries any of them out.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from cardgen.drawing.scene import Clip, Item, Line, Transform
from cardgen.sheets.papers import Size

PRINTER_MARGIN_MM = 5.0  # what common printers leave white; common practice, no source

Turn: TypeAlias = Literal["side", "top"]
"""How a card is turned over: about its upright edge, as a page, or about its head, as on a ring."""


@dataclass(frozen=True)
class Edges:
    """Lengths at the four edges of a place, as the sheet lies before the reader."""

    left_mm: float = 0.0
    top_mm: float = 0.0
    right_mm: float = 0.0
    bottom_mm: float = 0.0

    @classmethod
    def all_round(cls, length_mm: float) -> "Edges":
        """Return the same length at each edge."""
        return cls(length_mm, length_mm, length_mm, length_mm)


@dataclass(frozen=True)
class Slot:
    """A place on the paper, its top left corner at (``x_mm``, ``y_mm``), for a page (from 0).

    The page's trim sits in the middle of the place, turned clockwise by ``quarter_turns`` x 90
    degrees, then moved by ``shift_mm`` to the right. It shows in the place and in the ``bleed``
    around it, and nowhere else.
    """

    page: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    quarter_turns: int = 0
    shift_mm: float = 0.0
    bleed: Edges = Edges()

    @property
    def window(self) -> Clip:
        """Where on the sheet the page shows."""
        bleed = self.bleed
        return Clip(
            self.x_mm - bleed.left_mm,
            self.y_mm - bleed.top_mm,
            self.width_mm + bleed.left_mm + bleed.right_mm,
            self.height_mm + bleed.top_mm + bleed.bottom_mm,
        )

    def transform(self, width_mm: float, height_mm: float) -> Transform:
        """Return the map from a page of that trim, its corner at the origin, on to the sheet."""
        turn = Transform.quarter_turns(self.quarter_turns)
        x, y = turn.point(width_mm, height_mm)
        left = self.x_mm + (self.width_mm - abs(x)) / 2 + self.shift_mm
        top = self.y_mm + (self.height_mm - abs(y)) / 2
        return turn.then(Transform.move(left - min(x, 0.0), top - min(y, 0.0)))

    def moved(self, dx_mm: float, dy_mm: float) -> "Slot":
        """Return the place somewhere else on the sheet."""
        return replace(self, x_mm=self.x_mm + dx_mm, y_mm=self.y_mm + dy_mm)


@dataclass(frozen=True)
class Mirror:
    """A line in which places change sides: at x = ``at_mm`` if ``upright``, else at y."""

    upright: bool
    at_mm: float

    def point(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return the mirror image of a point."""
        if self.upright:
            return 2 * self.at_mm - x_mm, y_mm
        return x_mm, 2 * self.at_mm - y_mm

    def clip(self, clip: Clip) -> Clip:
        """Return the mirror image of a rectangle."""
        if self.upright:
            return replace(clip, x_mm=2 * self.at_mm - clip.x_mm - clip.width_mm)
        return replace(clip, y_mm=2 * self.at_mm - clip.y_mm - clip.height_mm)

    def slot(self, slot: Slot, page: int, turn: Turn = "side") -> Slot:
        """Return the place that lies behind ``slot`` when paper is turned or folded at the mirror.

        A page there comes to lie behind the one in ``slot`` as its back, once both are cut out and
        turned over as ``turn`` tells. Behind a card that lies on its side, its head to the right,
        a back has its head to the left; about a level line, and about the card's own head, all
        that stands on its head once more.
        """
        half_turns = (not self.upright) + (turn == "top")
        edges = slot.bleed
        bleed = (
            replace(edges, left_mm=edges.right_mm, right_mm=edges.left_mm)
            if self.upright
            else replace(edges, top_mm=edges.bottom_mm, bottom_mm=edges.top_mm)
        )
        place = self.clip(Clip(slot.x_mm, slot.y_mm, slot.width_mm, slot.height_mm))
        return replace(
            slot,
            page=page,
            x_mm=place.x_mm,
            y_mm=place.y_mm,
            quarter_turns=(2 * half_turns - slot.quarter_turns) % 4,
            shift_mm=-slot.shift_mm if self.upright else slot.shift_mm,
            bleed=bleed,
        )


@dataclass(frozen=True)
class Duplex:
    """How the second side comes on to the paper.

    ``flip`` is the edge that the printer turns the paper about, ``turn`` how the reader turns a
    card over. All that is printed on backs moves by (``dx_mm``, ``dy_mm``), to the right and down
    as the back lies before the reader: what a printer needs whose second side is off by as much the
    other way.
    """

    flip: Literal["long-edge", "short-edge"] = "long-edge"
    turn: Turn = "side"
    dx_mm: float = 0.0
    dy_mm: float = 0.0

    def mirror(self, paper: Size) -> Mirror:
        """Return the line that the paper turns about, seen on its front."""
        upright = (self.flip == "long-edge") == (paper.height_mm >= paper.width_mm)
        return Mirror(upright, (paper.width_mm if upright else paper.height_mm) / 2)


LONG_EDGE, SHORT_EDGE = Duplex("long-edge"), Duplex("short-edge")


@dataclass(frozen=True)
class Cuts:
    """Where straight cuts run across a sheet, from left to right and from top to bottom."""

    x_mm: tuple[float, ...]
    y_mm: tuple[float, ...]


@dataclass(frozen=True)
class Sheet:
    """One side of one sheet of paper; ``number`` counts sheets of paper from 1.

    ``area`` is what its places and their bleed may take, filled or not; words go outside.
    """

    number: int
    is_back: bool
    slots: tuple[Slot, ...]
    area: Clip
    marks: tuple[Item, ...] = ()

    def moved(self, dx_mm: float, dy_mm: float) -> "Sheet":
        """Return the sheet with all that is on it in another place."""
        if not dx_mm and not dy_mm:
            return self
        return replace(
            self,
            slots=tuple(slot.moved(dx_mm, dy_mm) for slot in self.slots),
            area=replace(self.area, x_mm=self.area.x_mm + dx_mm, y_mm=self.area.y_mm + dy_mm),
            marks=tuple(_moved(mark, dx_mm, dy_mm) for mark in self.marks),
        )


def _moved(mark: Item, dx_mm: float, dy_mm: float) -> Item:
    if isinstance(mark, Line):
        return replace(
            mark,
            x1_mm=mark.x1_mm + dx_mm,
            y1_mm=mark.y1_mm + dy_mm,
            x2_mm=mark.x2_mm + dx_mm,
            y2_mm=mark.y2_mm + dy_mm,
        )
    raise TypeError(f"only lines mark the backs of sheets, not {mark!r}")


@dataclass(frozen=True)
class Plan:
    """Sides of sheets in the order in which they are printed.

    Nothing but pages is printed within ``margin_mm`` of the paper's edge. ``trim`` is the finished
    page where a sheet is a single one. Sides are named where sheets have two.
    """

    paper: Size
    sheets: tuple[Sheet, ...]
    margin_mm: float = PRINTER_MARGIN_MM
    trim: Clip | None = None
    is_two_sided: bool = False

    @property
    def count(self) -> int:
        """The number of sheets of paper."""
        return max((sheet.number for sheet in self.sheets), default=0)

    @property
    def fronts(self) -> "Plan":
        """The fronts alone: the first of two documents, where a printer cannot turn paper over."""
        return replace(self, sheets=tuple(sheet for sheet in self.sheets if not sheet.is_back))

    def backs(self, *, reverse: bool = False) -> "Plan":
        """Return the backs alone, for printing on the fronts by hand.

        ``reverse`` where the sheet that was printed last goes in first.
        """
        backs = [sheet for sheet in self.sheets if sheet.is_back]
        return replace(self, sheets=tuple(reversed(backs) if reverse else backs))


def with_back(
    front: Sheet,
    paper: Size,
    duplex: Duplex,
    back_of: Mapping[int, int],
    marks: tuple[Item, ...] = (),
) -> tuple[Sheet, Sheet]:
    """Return ``front`` and the side behind it.

    ``back_of`` tells which page goes behind which; behind one that it does not have is a blank.
    """
    mirror = duplex.mirror(paper)
    behind = tuple(
        mirror.slot(slot, back_of[slot.page], duplex.turn)
        for slot in front.slots
        if slot.page in back_of
    )
    back = Sheet(front.number, True, behind, mirror.clip(front.area), marks)
    return front, back.moved(duplex.dx_mm, duplex.dy_mm)
