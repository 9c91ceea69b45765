"""The oil on the lane: a quiet tint, deeper where there is more, and its end in feet."""

from itertools import groupby

import numpy as np

from cardgen.cards.card import Sketch
from cardgen.drawing.fonts import cap_height_mm, width_mm
from cardgen.drawing.laneframe import DECK_FROM_M, LaneFrame
from cardgen.drawing.scene import Align, Item, Line, Point, Polyline, Text, Weight
from cardgen.drawing.theme import INK, OIL_MUCH, OIL_SOME, TICK, Format
from cardgen.lane.film import FilmMap
from cardgen.lane.geometry import BOARD_M, EDGE_M, GUTTER_M, FloatArray, board_x_m

_SOME, _MUCH = 0.02, 0.5  # of the thickest film: from here on there is oil, and much of it
_LABEL_APART_MM = 0.5
_EDGE_APART_MM = 0.3  # from the lane's edge, which has a line
_SHEET_EDGE_MM = 5.0  # a page may be folded from a whole sheet, which no printer fills
_INSIDE_MM = 0.2  # out of the gutter's middle: the tick is at its inner side


def oil_tints(sketch: Sketch, frame: LaneFrame) -> list[Item]:
    """Return the tints, which lie under all else; none for a lane without oil."""
    lane = sketch.bowler.lane
    end_m = lane.fresh.oil_m
    if end_m == 0:
        return []
    tints = ((_SOME, OIL_SOME, "oil"), (_MUCH, OIL_MUCH, "oil-much"))
    return [
        Polyline(
            _outline(frame, _ends_m(lane.film, share, end_m)), fill=fill, closed=True, name=name
        )
        for share, fill, name in tints
    ]


def oil_label(sketch: Sketch, frame: LaneFrame, fmt: Format) -> list[Item]:
    """Return a tick where the oil ends, its name above and the feet below.

    It stands in the ball side's gutter; the marks in feet stand in the other one.
    """
    end_m = sketch.bowler.lane.fresh.oil_m
    if end_m == 0:
        return []
    y, edge = _end_y(frame, end_m), frame.x(EDGE_M)
    name, feet = sketch.oil
    # What is wider than the gutter goes out of it, and not over the lane's edge, unless it came too
    # near the card's own.
    gutter_mm = GUTTER_M * frame.across
    half = max(width_mm(text, fmt.tick_pt) for text in sketch.oil) / 2
    safe_mm = max(fmt.safe_mm, _SHEET_EDGE_MM) if fmt.is_page else fmt.safe_mm
    beyond = min(fmt.margin_mm - safe_mm, fmt.gap_mm / 2)
    apart = min(half + _EDGE_APART_MM, gutter_mm + beyond - half)
    x = edge + frame.mirror * max(gutter_mm / 2 + _INSIDE_MM, apart)
    high = cap_height_mm(fmt.tick_pt)
    return [
        Line(edge, y, frame.x(EDGE_M + 1.5 * BOARD_M), y, TICK, "oil-end"),
        _text(x, y - _LABEL_APART_MM, name, fmt),
        _text(x, y + _LABEL_APART_MM + high, feet, fmt),
    ]


def _ends_m(film: FilmMap, share: float, end_m: float) -> FloatArray:
    """Return how far (39,) each board has more than a ``share`` of the thickest film.

    Oil that balls have carried past ``end_m`` is not shown.
    """
    # A film that hides the lane altogether is endlessly thick: then all there is, is as thick.
    most = film.film_m.max()
    thick = film.film_m >= (share * most if np.isfinite(most) else most)
    last = len(thick) - np.argmax(thick[::-1], axis=0)
    ends = np.where(thick.any(axis=0), film.y_edges_m[last], 0.0)
    return np.minimum(ends, end_m)


def _outline(frame: LaneFrame, ends_m: FloatArray) -> tuple[Point, ...]:
    """Return the outline of all between the foul line and ``ends_m`` (39,), board by board."""
    oiled = np.flatnonzero(ends_m)
    first, last = int(oiled[0]), int(oiled[-1])
    foul, board = frame.y(0), first + 0.5
    corners: list[Point] = [(frame.x(float(board_x_m(board))), foul)]
    for end_m, run in groupby(ends_m[first : last + 1].tolist()):
        after = board + len(list(run))
        y = _end_y(frame, end_m)
        corners += [(frame.x(float(board_x_m(edge))), y) for edge in (board, after)]
        board = after
    return (*corners, (frame.x(float(board_x_m(board))), foul))


def _end_y(frame: LaneFrame, end_m: float) -> float:
    return frame.y(end_m) if end_m < DECK_FROM_M else frame.lane_top_mm


def _text(x_mm: float, y_mm: float, text: str, fmt: Format) -> Text:
    return Text(x_mm, y_mm, text, fmt.tick_pt, Weight.REGULAR, INK, Align.MIDDLE, "oil-label")
