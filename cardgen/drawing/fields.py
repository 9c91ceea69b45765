"""What stands in a form's field on paper: its text, or its tick."""

from cardgen.drawing.fonts import cap_height_mm, shortened
from cardgen.drawing.scene import Field, Polyline, Stroke, Text
from cardgen.drawing.theme import INK
from cardgen.units import POINT_MM

INDENT_MM = 1.0
"""From a field's edge to its text: viewers set about as much."""
_TICK = ((0.22, 0.52), (0.42, 0.74), (0.80, 0.26))  # in parts of the box's smaller side
_TICK_WIDTH = 0.11


def face(field: Field) -> Text | Polyline | None:
    """Return what a field shows of its value, in the field's own scene; None for an empty one.

    A value too long for its field is cut with an ellipsis, which the field's value is not. Raises
    InputError for a character that the card font cannot print.
    """
    if not field.value:
        return None
    if not field.box:
        room_mm = field.width_mm - 2 * INDENT_MM
        return Text(
            field.x_mm + INDENT_MM,
            field.y_mm + (field.height_mm + cap_height_mm(field.size_pt)) / 2,
            shortened(field.value, room_mm, field.size_pt),
            field.size_pt,
            colour=INK,
            name="field-value",
        )
    side = min(field.width_mm, field.height_mm)
    left = field.x_mm + (field.width_mm - side) / 2
    top = field.y_mm + (field.height_mm - side) / 2
    stroke = Stroke(INK, max(_TICK_WIDTH * side, POINT_MM), round_ends=True)
    return Polyline(tuple((left + x * side, top + y * side) for x, y in _TICK), stroke, name="tick")
