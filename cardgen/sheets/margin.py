"""What a sheet carries outside its cards: marks to cut and fold by, and one line of words."""

from collections.abc import Iterable
from dataclasses import dataclass

from cardgen.drawing import fonts
from cardgen.drawing.scene import Align, Clip, Group, Line, Stroke, Text, Transform, Weight
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import Cuts, Plan, Sheet

_MARK = Stroke("#111111", 0.1)
_FOLD = Stroke("#5A6068", 0.15, dash_mm=(2.0, 1.5))
_SLIT = Stroke("#111111", 0.2)
_GREY = "#5A6068"
MARK_GAP_MM = 1.0  # a mark never touches a card, so a cut a little off leaves no ink on it
_MARK_LENGTH_MM = 2.5
_SHORTEST_MM = 0.5
_FOLD_TICK_MM = 4.0
_FOOTER_PT = 6.0
_FOOTER_GAP_MM = 0.5


@dataclass(frozen=True)
class SheetWords:
    """What a sheet says outside its pages, in the reader's language.

    ``job`` names what is printed, ``sheet`` is the word before "2/3", ``front`` and ``back`` name
    the sides, ``setting`` tells how to print; ``slit`` tells to cut along a line between folds.
    """

    job: str
    sheet: str
    front: str
    back: str
    setting: str
    slit: str = ""


def around(area: Clip, cuts: Cuts, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return short lines outside ``area`` at the ends of every cut; none where there is no room."""
    return (
        *_ticks(area, cuts.x_mm, paper, margin_mm, upright=True, stroke=_MARK, name="cut mark"),
        *_ticks(area, cuts.y_mm, paper, margin_mm, upright=False, stroke=_MARK, name="cut mark"),
    )


def fold_ticks(area: Clip, x_mm: float, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return broken lines outside ``area`` at the ends of an upright fold, where there is room."""
    return _ticks(area, (x_mm,), paper, margin_mm, upright=True, stroke=_FOLD, name="fold mark")


def fold_ends(x_mm: float, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return the two ends of an upright fold that runs from edge to edge of the paper."""
    foot = paper.height_mm - margin_mm
    return (
        fold_line(x_mm, margin_mm, x_mm, margin_mm + _FOLD_TICK_MM),
        fold_line(x_mm, foot - _FOLD_TICK_MM, x_mm, foot),
    )


def fold_line(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float) -> Line:
    """Return a fold drawn between two points."""
    return Line(x1_mm, y1_mm, x2_mm, y2_mm, _FOLD, name="fold mark")


def slit_line(x1_mm: float, x2_mm: float, y_mm: float) -> Line:
    """Return a level slit between two points."""
    return Line(x1_mm, y_mm, x2_mm, y_mm, _SLIT, name="slit")


def slit_word(word: str, x_mm: float, y_mm: float) -> tuple[Text, ...]:
    """Return a word that begins above the point of a slit."""
    if not word:
        return ()
    above = y_mm - _FOOTER_GAP_MM - _below_mm()
    return (Text(x_mm, above, word, _FOOTER_PT, colour=_GREY, name="slit word"),)


def _ticks(
    area: Clip,
    places_mm: Iterable[float],
    paper: Size,
    margin_mm: float,
    *,
    upright: bool,
    stroke: Stroke,
    name: str,
) -> tuple[Line, ...]:
    if upright:
        ends = (area.y_mm, area.y_mm + area.height_mm, paper.height_mm)
    else:
        ends = (area.x_mm, area.x_mm + area.width_mm, paper.width_mm)
    near, far, edge = ends
    spans = []
    for outside, at, away in ((near, near, -1), (edge - far, far, 1)):
        length = min(_MARK_LENGTH_MM, outside - margin_mm - MARK_GAP_MM)
        if length >= _SHORTEST_MM:
            spans.append((at + away * MARK_GAP_MM, at + away * (MARK_GAP_MM + length)))
    return tuple(
        Line(place, a, place, b, stroke, name=name)
        if upright
        else Line(a, place, b, place, stroke, name=name)
        for place in places_mm
        for a, b in spans
    )


def _below_mm() -> float:
    metrics = fonts.metrics(Weight.REGULAR)
    return fonts.cap_height_mm(_FOOTER_PT) * metrics.descent_em / metrics.cap_height_em


def footer(plan: Plan, sheet: Sheet, words: SheetWords, labels: list[str]) -> tuple[Group, ...]:
    """Return the job, ``labels`` and the setting in one line, where there is room for it.

    That is below the area of the sheet, or else up its left or its right side, or else nowhere.
    """
    below_mm, above_mm = _below_mm(), fonts.cap_height_mm(_FOOTER_PT)
    paper, margin, area = plan.paper, plan.margin_mm, sheet.area
    marked_mm = MARK_GAP_MM + _MARK_LENGTH_MM if sheet.marks else 0.0
    needed_mm = margin + below_mm + above_mm + marked_mm + _FOOTER_GAP_MM
    if paper.height_mm - area.y_mm - area.height_mm >= needed_mm:
        text = _shortened(words, labels, paper.width_mm - 2 * margin)
        return _line(text, (paper.width_mm / 2, paper.height_mm - margin - below_mm), 0)
    if area.x_mm >= needed_mm:
        text = _shortened(words, labels, paper.height_mm - 2 * margin)
        return _line(text, (margin + above_mm, paper.height_mm / 2), 3)
    if paper.width_mm - area.x_mm - area.width_mm >= needed_mm:
        text = _shortened(words, labels, paper.height_mm - 2 * margin)
        return _line(text, (paper.width_mm - margin - above_mm, paper.height_mm / 2), 1)
    return ()


def _line(text: str, middle_mm: tuple[float, float], turns: int) -> tuple[Group, ...]:
    if not text:
        return ()
    line = Text(0, 0, text, _FOOTER_PT, align=Align.MIDDLE, name="footer")
    turn = Transform.quarter_turns(turns).then(Transform.move(*middle_mm))
    return (Group((line,), name="margin", transform=turn),)


def _shortened(words: SheetWords, labels: list[str], room_mm: float) -> str:
    """Return the line, the job's name cut short if need be, then whole parts from the left."""
    rest = [*labels, words.setting]
    jobs = [words.job, *(f"{words.job[:n].rstrip()}…" for n in range(len(words.job) - 1, 0, -1))]
    lines = [line_of([job, *rest]) for job in jobs]
    lines += [line_of(rest[n:]) for n in range(len(rest))]
    return next((text for text in lines if fonts.width_mm(text, _FOOTER_PT) <= room_mm), "")


def line_of(parts: Iterable[str]) -> str:
    """Return the parts that say something in one line."""
    return " · ".join(part for part in parts if part)
