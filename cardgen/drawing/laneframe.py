"""The scales of a drawing of the lane.

A lane is 60 ft long and 3 1/2 ft wide, so no card can show it to scale: across it is drawn wider
than along. The pins have a panel of their own, cut off by a gap, where both scales are one, so that
ball and pins meet as they really do. x = 0 is the lane's middle; a left-hander's is mirrored by one
sign.
"""

from dataclasses import dataclass
from functools import cached_property

from cardgen.cards.card import Sketch
from cardgen.drawing.fonts import cap_height_mm
from cardgen.drawing.theme import Format
from cardgen.lane.geometry import EDGE_M, GUTTER_M, HEAD_PIN_M, LANE_END_M
from cardgen.units import FOOT_M

DECK_FROM_M = HEAD_PIN_M - 0.35
"""Where the pins' panel begins: room for a ball that touches the head pin."""
TICK_MM = 0.9
_APPROACH_TAIL_M = 1.5 * FOOT_M
_PIT_MM = 1.2


@dataclass(frozen=True)
class LaneFrame:
    """The scales of a drawing of the lane: its size on paper and how far back its approach goes.

    ``mark`` is how large its marks are, in parts of those of a pocket card.
    """

    width_mm: float
    height_mm: float
    mirror: int
    approach_m: float
    gap_mm: float
    mark: float = 1.0

    @cached_property
    def across(self) -> float:
        """Millimetres for a metre across, and in the pins' panel also along."""
        return self.width_mm / (2 * (EDGE_M + GUTTER_M))

    @cached_property
    def deck_mm(self) -> float:
        """Height of the pins' panel, pit included."""
        return (LANE_END_M - DECK_FROM_M) * self.across + _PIT_MM

    @cached_property
    def lane_top_mm(self) -> float:
        """Where the lane's own panel begins, below the gap."""
        return self.deck_mm + self.gap_mm

    @cached_property
    def along(self) -> float:
        """Millimetres for a metre along the lane before the pins, and along the approach."""
        return (self.height_mm - self.lane_top_mm) / (DECK_FROM_M + self.approach_m)

    @property
    def stretch(self) -> float:
        """How many times too wide the lane is for its length."""
        return self.across / self.along

    def x(self, x_m: float) -> float:
        """Return where x [m] of the inside frame lies, from the lane's middle."""
        return self.mirror * (x_m * self.across)

    def y(self, y_m: float) -> float:
        """Return where y [m] lies, from the drawing's top."""
        if y_m >= DECK_FROM_M:
            return (LANE_END_M - y_m) * self.across + _PIT_MM
        return self.height_mm - (y_m + self.approach_m) * self.along


def lane_frame(sketch: Sketch, fmt: Format, height_mm: float) -> LaneFrame:
    """Return the frame of the lane for a format; the approach shows the stand and the dot rows."""
    bowler = sketch.bowler
    farthest = max((bowler.habits.distance_m, *bowler.sights.approach_dots_m))
    gap = (2 * TICK_MM + 0.8) * fmt.mark + cap_height_mm(fmt.tick_pt)
    return LaneFrame(
        fmt.lane_width_mm,
        height_mm,
        bowler.hand.mirror,
        farthest + _APPROACH_TAIL_M,
        gap,
        fmt.mark,
    )
