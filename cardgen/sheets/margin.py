"""What a sheet carries outside its cards: cut marks and one line of words."""

from collections.abc import Iterable
from dataclasses import dataclass

from cardgen.drawing import fonts
from cardgen.drawing.scene import Align, Group, Line, Stroke, Text, Transform, Weight
from cardgen.sheets.papers import Size

_MARK = Stroke("#111111", 0.1)
_MARK_GAP_MM = 1.0  # a mark never touches a card, so a cut a little off leaves no ink on it
_MARK_LENGTH_MM = 2.5
_FOOTER_PT = 6.0
_FOOTER_GAP_MM = 0.5


@dataclass(frozen=True)
class SheetWords:
    """What a sheet says in its margin, in the reader's language.

    ``job`` names what is printed, ``sheet`` is the word before "2/3", ``front`` and ``back`` name
    the sides, ``setting`` tells how to print.
    """

    job: str
    sheet: str
    front: str
    back: str
    setting: str


@dataclass(frozen=True)
class Window:
    """A sheet, what its printer leaves white, and where the cuts through its cards run.

    The cuts are those of a grid in the middle of the sheet, in rising order.
    """

    paper: Size
    margin_mm: float
    x_cuts_mm: tuple[float, ...]
    y_cuts_mm: tuple[float, ...]


def cut_marks(window: Window) -> tuple[Line, ...]:
    """Return short lines outside the grid at the ends of every cut; none where there is no room."""
    marks: list[Line] = []
    left, right = window.x_cuts_mm[0], window.x_cuts_mm[-1]
    top, bottom = window.y_cuts_mm[0], window.y_cuts_mm[-1]
    if (length := _mark_length(top, window.margin_mm)) > 0:
        for x in window.x_cuts_mm:
            for y, away in ((top, -1), (bottom, 1)):
                near = y + away * _MARK_GAP_MM
                marks.append(Line(x, near, x, near + away * length, _MARK, name="cut mark"))
    if (length := _mark_length(left, window.margin_mm)) > 0:
        for y in window.y_cuts_mm:
            for x, away in ((left, -1), (right, 1)):
                near = x + away * _MARK_GAP_MM
                marks.append(Line(near, y, near + away * length, y, _MARK, name="cut mark"))
    return tuple(marks)


def _mark_length(outside_mm: float, margin_mm: float) -> float:
    return min(_MARK_LENGTH_MM, outside_mm - margin_mm - _MARK_GAP_MM)


def footer(window: Window, words: SheetWords, labels: list[str]) -> tuple[Group, ...]:
    """Return the job, ``labels`` and the setting in one line, where there is room for it.

    That is below the grid, or else up its left side, or else nowhere.
    """
    metrics = fonts.metrics(Weight.REGULAR)
    above_mm = fonts.cap_height_mm(_FOOTER_PT)
    below_mm = above_mm * metrics.descent_em / metrics.cap_height_em
    paper, margin = window.paper, window.margin_mm
    marked_mm = _MARK_GAP_MM + _MARK_LENGTH_MM + _FOOTER_GAP_MM
    needed_mm = margin + below_mm + above_mm + marked_mm
    if window.y_cuts_mm[0] >= needed_mm:
        text = _shortened(words, labels, paper.width_mm - 2 * margin)
        return _line(text, (paper.width_mm / 2, paper.height_mm - margin - below_mm), 0)
    if window.x_cuts_mm[0] >= needed_mm:
        text = _shortened(words, labels, paper.height_mm - 2 * margin)
        return _line(text, (margin + above_mm, paper.height_mm / 2), 3)
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
