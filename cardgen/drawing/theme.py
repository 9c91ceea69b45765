"""Inks and line weights: the look, in one place; and the formats that cards and pages come in.

Contrast on white (WCAG 2.2 relative luminance): ink 18.9, navy 11.0, vermilion 5.5, sky 3.2. Sky is
never text. Colour only repeats what shape, dash or a label says already.
"""

import math
import re
from dataclasses import dataclass

import numpy as np

from cardgen.drawing.scene import Stroke
from cardgen.errors import UsageError
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
LARGE_PRINT = 1.5
"""How many times larger what is read is set in large print."""


@dataclass(frozen=True)
class Format:
    """A finished card or page, and the sizes of its type in points.

    ``margin_mm`` is the white frame around what is laid out; nothing at all stands within
    ``safe_mm`` of the trim. ``mark`` is how large the marks of a drawing are and how heavy its
    lines, in parts of those of a pocket card.
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
    mark: float = 1.0
    large_print: bool = False

    @property
    def inner_width_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * self.margin_mm

    @property
    def inner_height_mm(self) -> float:
        """Height between the margins."""
        return self.height_mm - 2 * self.margin_mm

    @property
    def lying(self) -> bool:
        """Whether it is no higher than wide: the call's figures then stand side by side."""
        return self.width_mm >= self.height_mm

    @property
    def body_scale(self) -> float:
        """How large what is read is, in parts of a pocket page's: rows and boxes grow with it."""
        return max(1.0, self.body_pt / _POCKET_BODY_PT)

    @property
    def is_page(self) -> bool:
        """Whether a booklet may have pages of this format."""
        return not self.lying and self.width_mm >= _PAGE_MM[0] and self.height_mm >= _PAGE_MM[1]

    @property
    def takes_large_print(self) -> bool:
        """Whether there is room for large print: on A6 and what is larger."""
        sides = sorted((self.width_mm, self.height_mm))
        return sides[0] >= _LARGE_FROM_MM[0] and sides[1] >= _LARGE_FROM_MM[1]


_POCKET_BODY_PT = 8.5
_PAGE_MM = (69.0, 100.0)  # an eighth of Letter is 69.85 mm wide
_LARGE_FROM_MM = (105.0, 148.0)  # A6
_SHORT_MM, _LONG_MM = (50.0, 210.0), (70.0, 297.0)
_INSERT_MM = (44.0, 66.0)  # the least that a card is set on: film around it takes no cutting
_SIZE = re.compile(r"(\d+(?:\.\d+)?)[x×](\d+(?:\.\d+)?)", re.IGNORECASE)
_WIDEST_EM = 1.91  # a half board's figure in bold: 30½
_FIGURE_ROOM = 0.977  # of its column that the widest figure takes
_HIGHEST = (0.175, 0.30)  # of the height that a figure takes, upright and lying
_LINES = (9, 7)  # of body type that go with the figures, upright and lying
_SLACK_MM = 1e-6
_LOW_MM = 60.0  # high, below which the marks of a lane are smaller, for they come close
_LYING_LANE = 0.42  # of its height that a lane beside the call is wide
_SIDES_MM = (50.0, 53.98, 74.0, 105.0, 148.0, 210.0)
_STEPS = {
    "margin": (3.8, 4.0, 6.0, 7.0, 9.0, 12.0),
    "safe": (2.5, 2.5, 3.0, 4.0, 5.0, 6.0),
    "lane": (20.0, 22.0, 29.0, 40.0, 54.0, 76.0),
    "gap": (2.7, 3.0, 4.0, 5.5, 8.0, 11.0),
    "title": (11.5, 12.0, 15.0, 19.0, 26.0, 34.0),
    "head": (9.5, 9.5, 12.0, 14.0, 19.0, 24.0),
    "body": (7.5, 7.5, 8.5, 9.5, 12.0, 14.0),
    "label": (7.5, 7.5, 7.5, 8.5, 10.5, 12.0),
    "tick": (6.0, 6.0, 6.0, 6.5, 8.0, 10.0),
    "leading": (1.25, 1.25, 1.3, 1.3, 1.3, 1.3),
    "mark": (1.0, 1.0, 1.0, 1.25, 1.6, 2.2),
}
"""What formats of these shorter sides have, tried on paper; those between have what is between."""


def _laid_out(name: str, width_mm: float, height_mm: float, *, large: bool = False) -> Format:
    """Return a format whose type suits its size and whose figures are as large as goes."""
    side = min(width_mm, height_mm)

    def step(what: str) -> float:
        return float(np.interp(side, _SIDES_MM, _STEPS[what]))

    def type_pt(what: str, larger: float = 1.0) -> float:
        return math.floor(2 * step(what) + 0.5) / 2 * larger

    # Headings are large as it is.
    read, heading = (LARGE_PRINT, 1.25) if large else (1.0, 1.0)
    # A large page number stands in the margin below.
    margin = step("margin") + (1.0 if large else 0.0)
    gap, leading = step("gap"), step("leading")
    title, body = type_pt("title", heading), type_pt("body", read)
    inner_width, inner_height = width_mm - 2 * margin, height_mm - 2 * margin
    lying = width_mm >= height_mm
    lane = min(step("lane"), _LYING_LANE * inner_height if lying else math.inf)
    lane *= 0.9 if large else 1.0
    room = inner_width - lane - gap
    column = (room - gap) / 2 if lying else room
    text = title * POINT_MM * leading + _LINES[lying] * leading * body * POINT_MM
    left = inner_height - text
    figure_mm = min(
        _FIGURE_ROOM * column / _WIDEST_EM,
        _HIGHEST[lying] * inner_height * (1.12 if large else 1.0),
        left if lying else left / 2,
    )
    return Format(
        name=name,
        width_mm=width_mm,
        height_mm=height_mm,
        margin_mm=margin,
        safe_mm=step("safe"),
        lane_width_mm=lane,
        gap_mm=gap,
        figure_pt=math.floor(2 * figure_mm / POINT_MM) / 2,
        title_pt=title,
        head_pt=type_pt("head", heading),
        body_pt=body,
        label_pt=type_pt("label", read),
        tick_pt=type_pt("tick", read),
        leading=leading,
        mark=step("mark") * (1.2 if large else min(1.0, inner_height / _LOW_MM)),
        large_print=large,
    )


_SIZES_MM = {
    "a5": (148.0, 210.0),  # ISO 216
    "a6": (105.0, 148.0),
    "a7": (74.0, 105.0),
    "a8": (52.0, 74.0),
    "business-eu": (55.0, 85.0),  # common practice, no source
    "business-us": (50.8, 88.9),  # 2 x 3 1/2 in, common practice, no source
    "id1": (53.98, 85.60),  # ISO/IEC 7810
    "index": (76.2, 127.0),  # 3 x 5 in, common practice, no source
    "mini-letter": (69.85, 107.95),  # an eighth of Letter, 2 3/4 x 4 1/4 in (derived)
    "poker": (63.5, 88.9),  # 2 1/2 x 3 1/2 in, common practice, no source
}
_ALSO_LYING = ("a6", "a7", "business-eu", "business-us", "id1", "index")
FORMATS = {name: _laid_out(name, *size) for name, size in _SIZES_MM.items()} | {
    f"{name}-landscape": _laid_out(f"{name}-landscape", *reversed(_SIZES_MM[name]))
    for name in _ALSO_LYING
}
"""The formats that have a name."""
A7, ID_1 = FORMATS["a7"], FORMATS["id1"]


def format_of(size: str, *, large_print: bool = False) -> Format:
    """Return the format of a name, or of a size such as ``60x90``: millimetres, width by height.

    Raises UsageError for any other name, for a size that no card has, and for large print on a
    format without room for it.
    """
    if size in FORMATS:
        known = FORMATS[size]
        width, height = known.width_mm, known.height_mm
    elif found := _SIZE.fullmatch(size.strip()):
        width, height = map(float, found.groups())
        short, long = sorted((width, height))
        if not (_SHORT_MM[0] <= short <= _SHORT_MM[1] and _LONG_MM[0] <= long <= _LONG_MM[1]):
            raise UsageError(
                f"size {size!r}: a card's shorter side is {_SHORT_MM[0]:g} to {_SHORT_MM[1]:g} mm, "
                f"its longer one {_LONG_MM[0]:g} to {_LONG_MM[1]:g} mm"
            )
        known = _laid_out(f"{width:g}x{height:g}", width, height)
    else:
        raise UsageError(
            f"size {size!r}: there is no such format; take one of {', '.join(sorted(FORMATS))}, "
            "or millimetres such as 60x90"
        )
    if not large_print:
        return known
    if not known.takes_large_print:
        raise UsageError(f"size {size!r}: large print needs A6 or larger, 105 x 148 mm")
    return _laid_out(known.name, width, height, large=True)


def insert_of(finished: Format, edge_mm: float) -> Format:
    """Return the format of paper to seal in film, ``edge_mm`` of it around: laid out anew, smaller.

    Raises UsageError if no card goes on it.
    """
    width, height = finished.width_mm - 2 * edge_mm, finished.height_mm - 2 * edge_mm
    short, long = sorted((width, height))
    if short < _INSERT_MM[0] - _SLACK_MM or long < _INSERT_MM[1] - _SLACK_MM:
        raise UsageError(
            f"size {finished.name!r}: film of {edge_mm:g} mm a side leaves {width:.4g} x "
            f"{height:.4g} mm of paper, and a card needs {_INSERT_MM[0]:g} x {_INSERT_MM[1]:g} mm; "
            "take a larger size or a narrower film"
        )
    return _laid_out(finished.name, width, height, large=finished.large_print)
