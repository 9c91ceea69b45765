"""What a sheet carries outside its cards: marks to cut and fold by, and a few words."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cardgen.drawing import fonts
from cardgen.drawing.scene import Align, Clip, Group, Line, Point, Stroke, Text, Transform, Weight
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import Cuts, Plan, Sheet
from cardgen.units import POINT_MM

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
_LEADING = 1.25


@dataclass(frozen=True)
class SheetWords:
    """What a sheet says outside its pages, in the reader's language.

    ``job`` names what is printed, ``sheet`` is the word before "2/3", ``front`` and ``back`` name
    the sides, ``setting`` tells how to print; ``slit`` tells to cut along a line between folds.
    ``notes`` tell what is to be done with the sheets then.
    """

    job: str
    sheet: str
    front: str
    back: str
    setting: str
    slit: str = ""
    notes: tuple[str, ...] = ()


def around(area: Clip, cuts: Cuts, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return short lines outside ``area`` at the ends of every cut; none where there is no room."""
    return (
        *_ticks(area, cuts.x_mm, paper, margin_mm, upright=True, stroke=_MARK, name="cut mark"),
        *_ticks(area, cuts.y_mm, paper, margin_mm, upright=False, stroke=_MARK, name="cut mark"),
    )


def fold_ticks(area: Clip, x_mm: float, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return broken lines outside ``area`` at the ends of an upright fold, where there is room."""
    return _ticks(area, (x_mm,), paper, margin_mm, upright=True, stroke=_FOLD, name="fold mark")


def cut_ends(cuts: Cuts, paper: Size, margin_mm: float) -> tuple[Line, ...]:
    """Return the two ends of every cut between pages that fill the paper: inside, on their edges.

    What remains of them is half of a line's width on the edge of a page.
    """
    inset = margin_mm + _FOLD_TICK_MM
    upright = tuple(
        Line(x, a, x, b, _MARK, name="cut mark")
        for x in cuts.x_mm[1:-1]
        for a, b in ((margin_mm, inset), (paper.height_mm - inset, paper.height_mm - margin_mm))
    )
    level = tuple(
        Line(a, y, b, y, _MARK, name="cut mark")
        for y in cuts.y_mm[1:-1]
        for a, b in ((margin_mm, inset), (paper.width_mm - inset, paper.width_mm - margin_mm))
    )
    return (*upright, *level)


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


@dataclass(frozen=True)
class _Room:
    """Where lines of words go: the first one's middle, the way to the next, and how it is turned.

    ``lines`` is how many there is room for.
    """

    lines: int
    length_mm: float
    middle_mm: Point
    step_mm: Point
    turns: int


def footer(plan: Plan, sheet: Sheet, words: SheetWords, labels: list[str]) -> tuple[Group, ...]:
    """Return the job, ``labels`` and the setting in one line, the notes in as many as they need.

    They are below the area of the sheet, or else up its left or its right side, or else nowhere:
    each where there is room.
    """
    first = True
    notes = list(words.notes)
    placed: list[Group] = []
    said = (words.job, *labels, words.setting, *words.notes)
    for room in _rooms(plan, sheet, max(map(_above_mm, said))):
        if not room.lines:
            continue
        lines: list[str] = []
        if first:
            head, first = _shortened(words, labels, room.length_mm), False
            # Notes have lines of their own, but for what a single line holds with the rest.
            (notes if room.lines == 1 else lines).insert(0, head)
        while notes and len(lines) < room.lines:
            if not (line := _next_line(notes, room.length_mm)):
                break
            lines.append(line)
        placed += _lines(lines, room)
    return tuple(placed)


def _above_mm(text: str) -> float:
    """Return how far a line rises above its baseline: more than capitals do in some scripts."""
    ink_em = (fonts.fallback_ink_em(character, Weight.REGULAR) for character in text)
    high_em = max((rise for rise, _ in filter(None, ink_em)), default=0.0)
    return max(fonts.cap_height_mm(_FOOTER_PT), high_em * _FOOTER_PT * POINT_MM)


def _rooms(plan: Plan, sheet: Sheet, above_mm: float) -> Iterator[_Room]:
    """Yield the room below the area of a sheet, at its left and at its right.

    Lines rise ``above_mm`` above their baselines.
    """
    below_mm, line_mm = _below_mm(), _line_mm()
    paper, margin, area = plan.paper, plan.margin_mm, sheet.area
    marked_mm = MARK_GAP_MM + _MARK_LENGTH_MM if sheet.marks else 0.0
    needed_mm = margin + below_mm + above_mm + marked_mm + _FOOTER_GAP_MM

    def lines(free_mm: float) -> int:
        return max(0, math.floor((free_mm - needed_mm) / line_mm + 1))

    wide, high = paper.width_mm - 2 * margin, paper.height_mm - 2 * margin
    foot = paper.height_mm - margin - below_mm
    count = lines(paper.height_mm - area.y_mm - area.height_mm)
    yield _Room(count, wide, (paper.width_mm / 2, foot), (0.0, line_mm), 0)
    left = (margin + above_mm, paper.height_mm / 2)
    yield _Room(lines(area.x_mm), high, left, (line_mm, 0.0), 3)
    right = (paper.width_mm - margin - above_mm, paper.height_mm / 2)
    count = lines(paper.width_mm - area.x_mm - area.width_mm)
    yield _Room(count, high, right, (-line_mm, 0.0), 1)


def _line_mm() -> float:
    return _LEADING * _FOOTER_PT * POINT_MM


def _next_line(notes: list[str], room_mm: float) -> str:
    """Take as many notes as one line holds, at least one if it fits."""
    taken = 0
    while taken < len(notes):
        if fonts.width_mm(line_of(notes[: taken + 1]), _FOOTER_PT) > room_mm:
            break
        taken += 1
    line = line_of(notes[:taken])
    del notes[:taken]
    return line


def _lines(lines: list[str], room: _Room) -> Iterator[Group]:
    """Yield lines one below the other, those at the foot upwards from the margin."""
    (x, y), (dx, dy) = room.middle_mm, room.step_mm
    before = len(lines) - 1 if room.turns == 0 else 0
    for number, text in enumerate(lines):
        if text:
            step = number - before
            line = Text(0, 0, text, _FOOTER_PT, align=Align.MIDDLE, name="footer")
            turn = Transform.quarter_turns(room.turns)
            place = turn.then(Transform.move(x + step * dx, y + step * dy))
            yield Group((line,), name="margin", transform=place)


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
