"""Inks, line weights and type sizes: the look, in one place.

Contrast on white (WCAG 2.2 relative luminance): ink 18.9, navy 11.0, vermilion 5.5, sky 3.2. Sky is
never text. Colour only repeats what shape, dash or a label says already.
"""

from dataclasses import dataclass

from cardgen.drawing.scene import Stroke
from cardgen.units import POINT_MM

INK = "#111111"
NAVY = "#1B3A75"
VERMILION = "#B5450F"
"""The path of the ball, and nothing else."""
SKY = "#4A98C9"
MIST = "#E3EFF6"
"""Sky thinned to a tint, for areas behind the drawing."""
OIL_SOME, OIL_MUCH = "#EDF4F9", "#D6E6F1"
"""Oil on the lane, and more of it: sky thinned until what is drawn on it keeps its contrast."""
GUTTER = "#CFD2D6"
"""Beside the lane; grey, so that it is not taken for oil."""
GREY = "#5A6068"
"""Text of the second rank; contrast 6.3."""
WHITE = "#FFFFFF"

HAIRLINE = Stroke(INK, 0.25 * POINT_MM)
EDGE = Stroke(INK, 0.5 * POINT_MM)
FOUL_LINE = Stroke(INK, 1.2 * POINT_MM)
TICK = Stroke(INK, 0.35 * POINT_MM)
OPEN_PIN = Stroke(GREY, 0.5 * POINT_MM)
IMAGINED_PIN = Stroke(NAVY, 0.7 * POINT_MM, dash_mm=(0.6, 0.45))
ARROW = Stroke(GREY, 0.5 * POINT_MM)
WALK = Stroke(NAVY, 0.8 * POINT_MM, dash_mm=(1.0, 0.8))
FOOT = Stroke(NAVY, 0.9 * POINT_MM)
PATH = Stroke(VERMILION, 1.5 * POINT_MM, round_ends=True)
SKID = Stroke(VERMILION, 1.5 * POINT_MM, dash_mm=(2.2, 0.8))
"""Where a hooking ball slides on oil: broken, as its hold on the lane is."""
HOOK = Stroke(VERMILION, 2.6 * POINT_MM, round_ends=True)
"""Where it slides on the dry lane and turns."""
BREAKPOINT = Stroke(INK, 0.7 * POINT_MM)
BALL = Stroke(VERMILION, 0.9 * POINT_MM)
RULE = Stroke(SKY, 0.5 * POINT_MM)

SMALLEST_TICK_PT = 6.0


@dataclass(frozen=True)
class Format:
    """A finished card or page, and the sizes of its type in points.

    ``margin_mm`` is the white frame around what is laid out; nothing at all stands within
    ``safe_mm`` of the trim.
    """

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float
    safe_mm: float
    lane_width_mm: float
    gap_mm: float
    figure_pt: float
    title_pt: float
    head_pt: float
    body_pt: float
    label_pt: float
    tick_pt: float = SMALLEST_TICK_PT
    leading: float = 1.3

    @property
    def inner_width_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * self.margin_mm

    @property
    def inner_height_mm(self) -> float:
        """Height between the margins."""
        return self.height_mm - 2 * self.margin_mm


A7 = Format(
    name="a7",
    width_mm=74,
    height_mm=105,
    margin_mm=6,
    safe_mm=3,
    lane_width_mm=29,
    gap_mm=4,
    figure_pt=42,
    title_pt=15,
    head_pt=12,
    body_pt=8.5,
    label_pt=7.5,
)
"""ISO 216."""
ID_1 = Format(
    name="id1",
    width_mm=53.98,
    height_mm=85.60,
    margin_mm=4,
    safe_mm=2.5,
    lane_width_mm=22,
    gap_mm=3,
    figure_pt=30,
    title_pt=12,
    head_pt=9.5,
    body_pt=7.5,
    label_pt=7.5,
    leading=1.25,
)
"""ISO/IEC 7810, held upright."""
FORMATS = {fmt.name: fmt for fmt in (A7, ID_1)}
