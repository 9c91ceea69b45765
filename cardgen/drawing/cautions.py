"""The cautions at the foot of a page: set upwards from its last line, kept in reading order."""

from cardgen.drawing.fonts import wrap
from cardgen.drawing.scene import Text, Weight


def cautions_at_foot(
    cautions: str, x_mm: float, base_mm: float, width_mm: float, size_pt: float, line_mm: float
) -> tuple[Text, ...]:
    """Return the cautions as lines of type, the first first.

    ``base_mm`` is the baseline of the last line, ``line_mm`` from one baseline to the next.
    """
    lines = wrap(cautions, width_mm, size_pt, Weight.MEDIUM)
    first_mm = base_mm - (len(lines) - 1) * line_mm
    return tuple(
        Text(x_mm, first_mm + n * line_mm, line, size_pt, Weight.MEDIUM, name="cautions")
        for n, line in enumerate(lines)
    )
