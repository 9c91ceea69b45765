"""A column that fills from the top: text and other items set one under the other."""

from collections.abc import Iterable, Sequence

from cardgen.drawing.fonts import cap_height_mm, width_mm, wrap
from cardgen.drawing.scene import Align, Item, Line, Polyline, Stroke, Text, Weight
from cardgen.drawing.theme import INK, MIST
from cardgen.units import POINT_MM


class Column:
    """The pen of one column; ``y_mm`` is where the next thing's top will be."""

    def __init__(
        self, x_mm: float, y_mm: float, column_width_mm: float, *, leading: float = 1.3
    ) -> None:
        """Start at the top left corner of a column."""
        self.x_mm = x_mm
        self.y_mm = y_mm
        self.width_mm = column_width_mm
        self.leading = leading
        self.items: list[Item] = []

    def space(self, mm: float) -> None:
        """Leave ``mm`` free."""
        self.y_mm += mm

    def add(self, item: Item) -> None:
        """Place an item that has its own coordinates; the pen stays."""
        self.items.append(item)

    def rule(self, stroke: Stroke) -> None:
        """Draw a line across the column."""
        self.add(Line(self.x_mm, self.y_mm, self.x_mm + self.width_mm, self.y_mm, stroke))

    def text(
        self,
        text: str,
        size_pt: float,
        weight: Weight = Weight.REGULAR,
        *,
        colour: str = INK,
        name: str = "",
        indent_mm: float = 0.0,
    ) -> None:
        """Set ``text`` in as many lines as it needs, the first line's capitals at the pen."""
        line_mm = self.leading * size_pt * POINT_MM
        rise_mm = cap_height_mm(size_pt, weight)
        for line in wrap(text, self.width_mm - indent_mm, size_pt, weight):
            self.add(
                Text(
                    self.x_mm + indent_mm,
                    self.y_mm + rise_mm,
                    line,
                    size_pt,
                    weight,
                    colour,
                    name=name,
                )
            )
            self.y_mm += line_mm

    def height_of(self, text: str, size_pt: float, weight: Weight = Weight.REGULAR) -> float:
        """Return the height that :meth:`text` would take."""
        return len(wrap(text, self.width_mm, size_pt, weight)) * self.leading * size_pt * POINT_MM

    def row(
        self,
        cells: list[tuple[float, str, Align, Weight]],
        size_pt: float,
        *,
        colour: str = INK,
    ) -> None:
        """Set one line of cells, each (x from the column's left, text, align, weight)."""
        for x_mm, text, align, weight in cells:
            rise_mm = cap_height_mm(size_pt, weight)
            self.add(
                Text(self.x_mm + x_mm, self.y_mm + rise_mm, text, size_pt, weight, colour, align)
            )
        self.y_mm += self.leading * size_pt * POINT_MM

    def pair(
        self, text: str, end: str, size_pt: float, end_weight: Weight = Weight.REGULAR
    ) -> None:
        """Set ``text`` and, at the end of its line or else of those that follow it, ``end``."""
        apart_mm = width_mm("  ", size_pt)
        both = width_mm(text, size_pt) + apart_mm + width_mm(end, size_pt, end_weight)
        lines = wrap(end, self.width_mm, size_pt, end_weight)
        if both <= self.width_mm:
            cells = [(0.0, text, Align.START, Weight.REGULAR)]
            self.row([*cells, (self.width_mm, end, Align.END, end_weight)], size_pt)
            return
        self.text(text, size_pt)
        for line in lines:
            self.row([(self.width_mm, line, Align.END, end_weight)], size_pt)

    def pairs(
        self, pairs: Sequence[tuple[str, str]], size_pt: float, end_weight: Weight = Weight.REGULAR
    ) -> None:
        """Set pairs alike: each on a line or, if that is too short for one, each end below."""
        apart_mm = width_mm("  ", size_pt)
        room = self.width_mm - apart_mm
        if all(width_mm(a, size_pt) + width_mm(b, size_pt, end_weight) <= room for a, b in pairs):
            for text, end in pairs:
                self.pair(text, end, size_pt, end_weight)
            return
        for text, end in pairs:
            self.text(text, size_pt)
            self.text(end, size_pt, end_weight, indent_mm=2 * apart_mm)

    def striped(
        self,
        rows: Iterable[list[tuple[float, str, Align, Weight]]],
        row_mm: float,
        size_pt: float,
        *,
        beyond_mm: float = 0.0,
    ) -> None:
        """Set rows of cells ``row_mm`` apart, every other one on a tint.

        The tint reaches ``beyond_mm`` out of the column on each side.
        """
        left, right = self.x_mm - beyond_mm, self.x_mm + self.width_mm + beyond_mm
        for index, cells in enumerate(rows):
            top, bottom = self.y_mm, self.y_mm + row_mm
            if index % 2 == 0:
                corners = ((left, top), (right, top), (right, bottom), (left, bottom))
                self.add(Polyline(corners, fill=MIST, closed=True))
            self.y_mm = top + (row_mm - cap_height_mm(size_pt)) / 2
            self.row(cells, size_pt)
            self.y_mm = bottom


def fits(text: str, room_mm: float, size_pt: float, weight: Weight = Weight.REGULAR) -> bool:
    """Tell whether ``text`` goes on one line of ``room_mm``."""
    return width_mm(text, size_pt, weight) <= room_mm
