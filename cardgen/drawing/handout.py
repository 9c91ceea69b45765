"""Handouts as scenes: one leave, one worksheet or one lesson a page, with a lane as high as it.

A page is what a bound sheet has room for beside its holes, so its own margins are narrow at the
left.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cardgen.cards.card import Call, Note, Sketch
from cardgen.cards.handout import LeavePage, Lesson, LessonRow, Way, Worksheet
from cardgen.delivery.ball import STANDARD_RADIUS_M
from cardgen.drawing.branding import SheetFoot, along_foot
from cardgen.drawing.cautions import cautions_at_foot
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.gauge import gauge_height_mm, gauge_view
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import DECK_FROM_M, LaneFrame, lane_frame
from cardgen.drawing.scene import (
    Align,
    Disc,
    Group,
    Item,
    Line,
    Point,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import (
    A7,
    BALL,
    EDGE,
    FOOT,
    GREY,
    HAIRLINE,
    INK,
    NAVY,
    RULE,
    VERMILION,
    WALK,
    WHITE,
    Format,
)
from cardgen.lane.geometry import ARROW_BOARDS, board_x_m
from cardgen.templating.template import Centre
from cardgen.units import POINT_MM

LANE_SCALE = 1.75
"""How many times larger than on a pocket card the marks and the type of a lane are."""
LANE_MM = 62.0
_FMT = replace(A7, lane_width_mm=LANE_MM / LANE_SCALE)
_ROOM_FMT = replace(A7, tick_pt=9.0)  # of the room gauge, which is set at its own size
_LOGO_MM = 9.0
_ABOVE_CENTRE_MM = 2.2
_BLANK = Stroke(GREY, 0.5 * POINT_MM)
_PARAGRAPH_MM = 3.0
_APART_MM = 6.0  # two figures beside each other, at least
_NOTES_MM, _LEAST_NOTES_MM = 9.0, 27.0  # from line to line, for a hand; and less is left empty
_FIGURES_APART = 0.5  # of the column: where the second of two figures begins
_ROUND_MM = 3.1  # the ring about a step's number
_STEP_INDENT_MM = 2 * _ROUND_MM + 2.2
_MOST_TRIES = 7
_TRY_MM = (9.0, 13.0)  # a try's row, at least and at most
_BOX_HEIGHT_MM, _CIRCLE_MM, _LARGE_CIRCLE_MM = 21.0, 2.6, 3.2
_NOWHERE = frozenset({"stand", "target", "stand-label", "target-label"})
_OIL = frozenset({"oil", "oil-much", "oil-end", "oil-label"})

# In the drawing's own millimetres, before it is scaled.
_WAY = Stroke(VERMILION, 1.3 * POINT_MM, round_ends=True)
_THIN_WAY = Stroke(VERMILION, 0.9 * POINT_MM, dash_mm=(1.4, 0.9))
_LEADER = Stroke(GREY, 0.4 * POINT_MM)
_STAND_MM = 0.8
_LETTER_MM, _LETTER_PT = 1.6, 6.5
_LETTERS_APART_MM = 2 * _LETTER_MM + 0.4
_LETTER_ROWS = 2
_DOT_CLEAR_MM = 1.4
_SLIDE_MM = 0.6


@dataclass(frozen=True)
class HandoutFormat:
    """A page of a handout: its margins, and its type in points.

    ``centre`` is what stands at the foot of every page, below ``bottom_mm``.
    """

    width_mm: float
    height_mm: float
    left_mm: float = 5.0
    right_mm: float = 7.0
    top_mm: float = 6.0
    bottom_mm: float = 5.0
    gap_mm: float = 9.0
    title_pt: float = 28.0
    figure_pt: float = 76.0
    head_pt: float = 13.0
    body_pt: float = 11.5
    label_pt: float = 10.5
    foot_pt: float = 9.0
    leading: float = 1.28
    centre: tuple[Item, ...] = ()

    @property
    def inner_width_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - self.left_mm - self.right_mm

    @property
    def tighter(self) -> "HandoutFormat":
        """The same page with room for more."""
        return replace(self, figure_pt=60.0, body_pt=11.0, leading=1.2)

    def signed(self, centre: Centre) -> "HandoutFormat":
        """Return the same page with a centre along its foot, and less room above that."""
        foot = SheetFoot(
            self.left_mm,
            self.width_mm - self.right_mm,
            self.height_mm - self.bottom_mm,
            self.body_pt,
            self.foot_pt,
            _LOGO_MM,
        )
        placed = along_foot(centre, foot)
        if placed is None:
            return self
        bottom_mm = self.height_mm - placed.top_mm + _ABOVE_CENTRE_MM
        return replace(self, bottom_mm=bottom_mm, centre=placed.items)

    def line_mm(self, size_pt: float) -> float:
        """Return the height of a line of type."""
        return self.leading * size_pt * POINT_MM


@dataclass(frozen=True)
class _Page:
    """What a page has before it is filled: its items, and the column beside the lane."""

    items: list[Item]
    column: Column
    fmt: HandoutFormat
    top_mm: float
    foot_mm: float

    @property
    def lane_height_mm(self) -> float:
        return self.foot_mm - self.top_mm

    def lane(self, group: Group) -> None:
        """Put a lane's drawing, larger than it is on a card, at the left."""
        place = Transform(LANE_SCALE, 0.0, 0.0, LANE_SCALE, self.fmt.left_mm, self.top_mm)
        self.items.append(Group((group,), "big-lane", place))

    def finished(self, title: str) -> Scene:
        fmt = self.fmt
        items = (*self.items, *self.column.items, *fmt.centre)
        return Scene(fmt.width_mm, fmt.height_mm, items, title=title)


def handout_cautions(cautions: str, fmt: HandoutFormat) -> tuple[Text, ...]:
    """Return the cautions, their descenders above the bottom margin."""
    last_mm = fmt.height_mm - fmt.bottom_mm - 0.25 * fmt.foot_pt * POINT_MM
    line_mm = fmt.line_mm(fmt.foot_pt)
    return cautions_at_foot(
        cautions, fmt.left_mm, last_mm, fmt.inner_width_mm, fmt.foot_pt, line_mm
    )


def _begun(title: str, beside: str, owner: str, cautions: str, fmt: HandoutFormat) -> _Page:
    """Return a page with its title, a rule and the cautions at its foot."""
    head = Column(fmt.left_mm, fmt.top_mm, fmt.inner_width_mm, leading=fmt.leading)
    base = fmt.top_mm + cap_height_mm(fmt.title_pt, Weight.BOLD)
    head.text(title, fmt.title_pt, Weight.BOLD, name="title")
    right = fmt.width_mm - fmt.right_mm
    used = fmt.left_mm + width_mm(title, fmt.title_pt, Weight.BOLD)
    if beside:
        head.add(Text(used + 5.0, base, beside, fmt.head_pt, colour=GREY))
        used += 5.0 + width_mm(beside, fmt.head_pt)
    if owner:
        name = shortened(owner, max(right - used - 6.0, 20.0), fmt.label_pt)
        head.add(Text(right, base, name, fmt.label_pt, colour=GREY, align=Align.END, name="owner"))
    head.space(-1.0)
    head.rule(RULE)
    foot = handout_cautions(cautions, fmt)
    rule_mm = foot[0].y_mm - cap_height_mm(fmt.foot_pt, Weight.MEDIUM) - 1.9
    head.items += foot
    head.add(Line(fmt.left_mm, rule_mm, right, rule_mm, RULE))
    top, left = head.y_mm + 4.4, fmt.left_mm + LANE_MM + fmt.gap_mm
    column = Column(left, top, right - left, leading=fmt.leading)
    return _Page(head.items, column, fmt, top, rule_mm - 3.0)


# --- a leave ----------------------------------------------------------------------------------


def leave_scene(page: LeavePage, fmt: HandoutFormat) -> Scene:
    """Return the page of one leave: its lane, its call, how its numbers follow, its chance.

    Where that is more than the page holds, its figures are smaller and its lines closer.
    """
    scene, fits = _leave(page, fmt)
    return scene if fits else _leave(page, fmt.tighter)[0]


def _leave(page: LeavePage, fmt: HandoutFormat) -> tuple[Scene, bool]:
    card = page.card
    begun = _begun(card.name, card.kind, card.owner, page.cautions, fmt)
    frame = lane_frame(card.sketch, _FMT, begun.lane_height_mm / LANE_SCALE)
    begun.lane(lane_view(card.sketch, frame, _FMT))
    column = begun.column
    _figures(column, (card.stand, card.target), fmt)
    column.text(f"{card.arrow} · {card.count}", fmt.label_pt, colour=GREY)
    if card.imagine:
        column.text(card.imagine, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    column.space(1.5)
    column.text(f"{card.ball} · {card.manner}", fmt.body_pt, Weight.BOLD)
    for line in filter(None, (card.own, "" if card.own else card.defaults)):
        column.text(line, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    column.space(4.0)
    _head(column, page.steps_heading, fmt)
    _steps(column, page.steps, fmt)
    column.space(2.0)
    _chance(column, page, fmt)
    for note in _with_room(page.notes, begun, fmt):
        _note(column, note, fmt)
    fits = column.y_mm <= begun.foot_mm + _PARAGRAPH_MM
    return begun.finished(card.name), fits


def _figures(column: Column, calls: Sequence[Call], fmt: HandoutFormat) -> None:
    """Set two figures beside each other, their labels above; halves make both smaller."""
    top = column.y_mm
    room = _FIGURES_APART * column.width_mm - _APART_MM
    size = min(
        fmt.figure_pt,
        *(room / width_mm(call.figure, 1.0, Weight.BOLD) for call in calls),
    )
    base = top + fmt.line_mm(fmt.label_pt) + 1.0 + cap_height_mm(size, Weight.BOLD)
    for number, call in enumerate(calls):
        x = column.x_mm + number * _FIGURES_APART * column.width_mm
        y = top + cap_height_mm(fmt.label_pt, Weight.MEDIUM)
        column.add(Text(x, y, call.label, fmt.label_pt, Weight.MEDIUM, NAVY))
        name = f"figure-{call.label}"
        column.add(Text(x, base, call.figure, size, Weight.BOLD, name=name))
    column.y_mm = base + 3.2


def _head(column: Column, text: str, fmt: HandoutFormat) -> None:
    column.text(text, fmt.head_pt, Weight.BOLD, colour=NAVY)
    column.space(0.8)


def _steps(column: Column, steps: Sequence[str], fmt: HandoutFormat) -> None:
    """Set steps under each other, each with its number in a ring."""
    for number, step in enumerate(steps, start=1):
        middle = column.y_mm + cap_height_mm(fmt.body_pt) / 2
        _ring(column, column.x_mm + _ROUND_MM, middle, str(number), fmt)
        column.text(step, fmt.body_pt, indent_mm=_STEP_INDENT_MM, name=f"step-{number}")
        column.space(2.0)


def _ring(column: Column, x_mm: float, y_mm: float, text: str, fmt: HandoutFormat) -> None:
    size = fmt.body_pt
    column.add(Disc(x_mm, y_mm, _ROUND_MM, Stroke(NAVY, EDGE.width_mm), fill=WHITE, name="number"))
    base = y_mm + cap_height_mm(size, Weight.BOLD) / 2
    column.add(Text(x_mm, base, text, size, Weight.BOLD, NAVY, Align.MIDDLE))


def _chance(column: Column, page: LeavePage, fmt: HandoutFormat) -> None:
    """Set the chance at the left and the room, where there is any to tell, at the right."""
    card, top = page.card, column.y_mm
    half = _FIGURES_APART * column.width_mm
    left = Column(column.x_mm, top, half - 4.0, leading=fmt.leading)
    _head(left, card.chance.heading, fmt)
    left.text(card.chance.lines[0], 1.25 * fmt.head_pt, Weight.BOLD)
    for line in card.chance.lines[1:]:
        left.text(line, fmt.body_pt)
    right = Column(column.x_mm + half, top, column.width_mm - half, leading=fmt.leading)
    if (room := card.room) is not None:
        _head(right, card.room_heading, fmt)
        right.space(0.6)
        gauge = gauge_view(room, card.sketch.bowler.hand.mirror, right.width_mm, _ROOM_FMT)
        right.add(replace(gauge, transform=Transform.move(right.x_mm, right.y_mm)))
        right.space(gauge_height_mm(_ROOM_FMT) + 2.2)
        right.row(
            [
                (0.0, room.left_text, Align.START, Weight.REGULAR),
                (right.width_mm, room.right_text, Align.END, Weight.REGULAR),
            ],
            fmt.body_pt,
        )
    for part in (left, right):
        for item in part.items:
            column.add(item)
    column.y_mm = max(left.y_mm, right.y_mm) + 3.0
    if card.remedies:
        _head(column, card.remedy_heading, fmt)
        for remedy in card.remedies:
            column.row(
                [
                    (0.0, remedy.miss, Align.START, Weight.REGULAR),
                    (half, remedy.move, Align.START, Weight.BOLD),
                ],
                fmt.body_pt,
            )
        column.space(3.0)


def _with_room(notes: Sequence[Note], begun: _Page, fmt: HandoutFormat) -> list[Note]:
    """Return the notes that the page has room for, and those that are kept in any case."""
    column = begun.column
    room = begun.foot_mm - column.y_mm
    room -= sum(_note_mm(column, note, fmt) + _PARAGRAPH_MM for note in notes if note.kept)
    shown = []
    full = False
    for note in notes:
        high = _note_mm(column, note, fmt) + _PARAGRAPH_MM
        full = full or (not note.kept and high > room + _PARAGRAPH_MM)
        if note.kept or not full:
            shown.append(note)
            room -= 0.0 if note.kept else high
    return shown


def _note_mm(column: Column, note: Note, fmt: HandoutFormat) -> float:
    texts = sum(column.height_of(line, fmt.body_pt) for line in note.lines)
    return column.height_of(note.heading, fmt.head_pt, Weight.BOLD) + 0.8 + texts


def _note(column: Column, note: Note, fmt: HandoutFormat) -> None:
    _head(column, note.heading, fmt)
    for line in note.lines:
        column.text(line, fmt.body_pt)
    column.space(_PARAGRAPH_MM)


# --- the worksheet ----------------------------------------------------------------------------


def worksheet_scene(sheet: Worksheet, fmt: HandoutFormat) -> Scene:
    """Return the page on which a line is found, with blanks for a pen."""
    begun = _begun(sheet.title, sheet.kind, sheet.count, sheet.cautions, fmt)
    frame = lane_frame(sheet.sketch, _FMT, begun.lane_height_mm / LANE_SCALE)
    begun.lane(bare_lane(sheet.sketch, frame, _FMT, oil=False))
    column = begun.column
    _head(column, sheet.steps_heading, fmt)
    _steps(column, sheet.steps, fmt)
    column.space(3.0)
    result_mm = _result_mm(fmt)
    _tries(column, sheet, begun.foot_mm - result_mm - 5.0, fmt)
    column.y_mm = begun.foot_mm - result_mm
    _result(column, sheet, fmt)
    return begun.finished(sheet.title)


def _tries(column: Column, sheet: Worksheet, bottom_mm: float, fmt: HandoutFormat) -> None:
    """Set the table of tries, each with a box for every throw."""
    stops = (0.0, 0.10, 0.27, 0.43)
    heads = [wrap(text, 0.57 * column.width_mm, fmt.label_pt) for text in sheet.headings]
    for at, lines in zip(stops, heads, strict=True):
        for line, text in enumerate(lines):
            y = column.y_mm + cap_height_mm(fmt.label_pt) + line * fmt.line_mm(fmt.label_pt)
            x = column.x_mm + at * column.width_mm
            column.add(Text(x, y, text, fmt.label_pt, Weight.MEDIUM, NAVY))
    column.space(max(map(len, heads)) * fmt.line_mm(fmt.label_pt) + 0.6)
    room = bottom_mm - column.y_mm
    rows = max(1, min(_MOST_TRIES, int(room / _TRY_MM[0])))
    row_mm = min(_TRY_MM[1], room / rows)
    left, width = column.x_mm, column.width_mm
    for number in range(1, rows + 1):
        base = column.y_mm + (row_mm + cap_height_mm(fmt.body_pt)) / 2
        column.add(Text(left, base, str(number), fmt.body_pt, colour=GREY))
        under = column.y_mm + row_mm - 1.2
        for from_, to in ((0.10, 0.24), (0.27, 0.40)):
            column.add(Line(left + from_ * width, under, left + to * width, under, _BLANK, "blank"))
        step = (0.57 * width + 2.0) / sheet.throws
        for throw in range(sheet.throws):
            x = left + 0.43 * width + throw * step
            column.add(_box(x, column.y_mm + 0.8, step - 2.0, row_mm - 2.0))
        column.space(row_mm)


def _result_mm(fmt: HandoutFormat) -> float:
    """Return the height of :func:`_result`."""
    return fmt.line_mm(fmt.label_pt) + 0.6 + _BOX_HEIGHT_MM + 5.0 + 2 * _CIRCLE_MM


def _result(column: Column, sheet: Worksheet, fmt: HandoutFormat) -> None:
    """Set the boxes for the line that was found, and a circle for each try of it."""
    labels = (*sheet.call, sheet.ball)
    shares = (0.0, 0.34, 0.68, 1.02)
    top = column.y_mm
    for label, from_, to in zip(labels, shares, shares[1:], strict=False):
        x, wide = column.x_mm + from_ * column.width_mm, (to - from_ - 0.02) * column.width_mm
        y = top + cap_height_mm(fmt.label_pt, Weight.MEDIUM)
        column.add(Text(x, y, label, fmt.label_pt, Weight.MEDIUM, NAVY))
        column.add(_box(x, top + fmt.line_mm(fmt.label_pt) + 0.6, wide, _BOX_HEIGHT_MM))
    y = top + fmt.line_mm(fmt.label_pt) + 0.6 + _BOX_HEIGHT_MM + 5.0 + _CIRCLE_MM
    base = y + cap_height_mm(fmt.body_pt) / 2
    column.add(Text(column.x_mm, base, sheet.made, fmt.body_pt, Weight.MEDIUM))
    _circles(column, y, sheet.tries, _CIRCLE_MM)


def _box(x: float, y: float, wide: float, high: float) -> Polyline:
    corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    return Polyline(corners, _BLANK, closed=True, name="blank")


# --- lessons ----------------------------------------------------------------------------------


def lesson_scene(lesson: Lesson, fmt: HandoutFormat) -> Scene:
    """Return the page of a lesson: its lines on one lane, what each does, what to learn.

    Where that is more than the page holds, its lines are closer.
    """
    scene, fits = _lesson(lesson, fmt)
    return scene if fits else _lesson(lesson, fmt.tighter)[0]


def _lesson(lesson: Lesson, fmt: HandoutFormat) -> tuple[Scene, bool]:
    begun = _begun(lesson.title, "", "", lesson.cautions, fmt)
    frame = lane_frame(lesson.sketch, _FMT, begun.lane_height_mm / LANE_SCALE)
    begun.lane(ways_view(lesson.sketch, lesson.ways, frame, _FMT))
    column = begun.column
    column.text(lesson.lead, fmt.head_pt)
    column.space(5.0)
    for row in lesson.rows:
        _lesson_row(column, row, fmt)
    column.space(3.0)
    column.rule(RULE)
    column.space(4.5)
    for point in lesson.points:
        middle = column.y_mm + cap_height_mm(fmt.body_pt) / 2
        column.add(Disc(column.x_mm + 1.0, middle, 0.9, fill=NAVY))
        column.text(point, fmt.body_pt, indent_mm=4.0)
        column.space(2.5)
    _task(column, lesson, fmt)
    fits = column.y_mm <= begun.foot_mm + _PARAGRAPH_MM
    if begun.foot_mm - column.y_mm > _LEAST_NOTES_MM:
        _notes(column, lesson.notes, begun.foot_mm, fmt)
    return begun.finished(lesson.title), fits


def _task(column: Column, lesson: Lesson, fmt: HandoutFormat) -> None:
    """Set what to do on the lane, with a row of circles for each line."""
    column.space(2.0)
    column.rule(RULE)
    column.space(4.5)
    _head(column, lesson.task_heading, fmt)
    column.text(lesson.task, fmt.body_pt)
    column.space(3.0)
    for row in lesson.rows:
        middle = column.y_mm + _ROUND_MM
        _letter(column, row.letter, middle, fmt)
        _circles(column, middle, lesson.tries, _LARGE_CIRCLE_MM)
        column.space(2 * _ROUND_MM + 3.4)


def _notes(column: Column, heading: str, foot_mm: float, fmt: HandoutFormat) -> None:
    """Set lines to write on down to the foot."""
    column.space(2.0)
    _head(column, heading, fmt)
    column.space(_NOTES_MM - 3.0)
    while column.y_mm <= foot_mm:
        column.rule(HAIRLINE)
        column.space(_NOTES_MM)


def _circles(column: Column, y_mm: float, tries: int, radius_mm: float) -> None:
    """Set a circle for each try at the right of the column, in two fives."""
    right, pitch = column.x_mm + column.width_mm - radius_mm, 2.4 * radius_mm
    for number in range(tries):
        x = right - (tries - 1 - number) * pitch - (0.6 * radius_mm if number < tries // 2 else 0)
        column.add(Disc(x, y_mm, radius_mm, _BLANK, name="tally"))


def _letter(column: Column, letter: str, y_mm: float, fmt: HandoutFormat) -> None:
    x = column.x_mm + _ROUND_MM
    base = y_mm + cap_height_mm(fmt.body_pt, Weight.BOLD) / 2
    column.add(Disc(x, y_mm, _ROUND_MM, fill=NAVY, name="letter"))
    column.add(Text(x, base, letter, fmt.body_pt, Weight.BOLD, WHITE, Align.MIDDLE))


def _lesson_row(column: Column, row: LessonRow, fmt: HandoutFormat) -> None:
    size = 1.2 * fmt.head_pt
    _letter(column, row.letter, column.y_mm + cap_height_mm(size, Weight.BOLD) / 2, fmt)
    column.text(row.heading, size, Weight.BOLD, indent_mm=_STEP_INDENT_MM)
    column.text(row.text, fmt.body_pt, indent_mm=_STEP_INDENT_MM)
    column.space(3.5)


def bare_lane(sketch: Sketch, frame: LaneFrame, fmt: Format, *, oil: bool) -> Group:
    """Return a lane without a line, for a ``sketch`` whose line is nowhere, or without ``oil``."""
    left_out = _NOWHERE if oil else _NOWHERE | _OIL
    return _without(lane_view(sketch, frame, fmt), lambda item: item.name in left_out)


def _without(group: Group, is_left_out: Callable[[Item], bool]) -> Group:
    kept = tuple(
        _without(item, is_left_out) if isinstance(item, Group) else item
        for item in group.items
        if not is_left_out(item)
    )
    return replace(group, items=kept, form="" if kept != group.items else group.form)


def ways_view(sketch: Sketch, ways: Sequence[Way], frame: LaneFrame, fmt: Format) -> Group:
    """Return a lane with several lines, each with its letter where it begins and on its way."""
    # The letters of the stands have their own rows, below all dots of the approach.
    frame = replace(frame, height_mm=frame.height_mm - _LETTER_ROWS * _LETTERS_APART_MM)
    whole = [way for way in ways if not way.thin]
    stands = [_stand(way, sketch, frame) for way in whole]
    letters = _letters(whole, stands, frame)
    leaders = [item for item in letters if isinstance(item, Line)]
    lane = _without(
        bare_lane(sketch, frame, fmt, oil=True),
        lambda item: (
            isinstance(item, Disc)
            and item.name == "approach-dot"
            and (
                any(math.dist((item.x_mm, item.y_mm), stand) < _DOT_CLEAR_MM for stand in stands)
                or any(_passes(leader, item) for leader in leaders)
            )
        ),
    )
    items = [item for way in ways for item in _path(way, frame)]
    for way, stand in zip(whole, stands, strict=True):
        items += _walk(way, stand, sketch, frame)
    items += [_target(target, sketch, frame) for target in sorted({way.target for way in whole})]
    items += [item for way in whole for item in _ball(way, frame)]
    items += _tags(whole, frame)
    items += letters
    return replace(lane, items=(*lane.items, *items))


def _path(way: Way, frame: LaneFrame) -> list[Item]:
    """The path through both panels, broken for a thin one."""
    stroke, name = (_THIN_WAY, "thin-way") if way.thin else (_WAY, "way")
    x_m, y_m = way.trace.x_m, way.trace.y_m
    items: list[Item] = [Polyline(tuple(_up_lane(way, frame)), stroke, name=name)]
    if y_m[-1] > DECK_FROM_M:
        there = y_m > DECK_FROM_M
        cut = frame.x(float(np.interp(DECK_FROM_M, y_m, x_m))), frame.deck_mm
        rest = zip(x_m[there].tolist(), y_m[there].tolist(), strict=True)
        at_pins = (cut, *((frame.x(x), frame.y(y)) for x, y in rest))
        items.append(Polyline(at_pins, stroke, name=f"{name}-at-pins"))
    return items


def _up_lane(way: Way, frame: LaneFrame) -> list[Point]:
    """Return the path before the pins' panel; its end is the lane's own panel's."""
    x_m, y_m = way.trace.x_m, way.trace.y_m
    before = y_m < DECK_FROM_M
    places = zip(x_m[before].tolist(), y_m[before].tolist(), strict=True)
    points = [(frame.x(x), frame.y(y)) for x, y in places]
    if y_m[-1] > DECK_FROM_M:
        cut = float(np.interp(DECK_FROM_M, y_m, x_m))
        points.append((frame.x(cut), frame.lane_top_mm))
    return points


def _stand(way: Way, sketch: Sketch, frame: LaneFrame) -> Point:
    return frame.x(float(board_x_m(way.stand))), frame.y(-sketch.bowler.habits.distance_m)


def _walk(way: Way, stand: Point, sketch: Sketch, frame: LaneFrame) -> list[Item]:
    laydown = np.asarray(float(board_x_m(way.laydown)))
    slide = frame.x(float(sketch.bowler.habits.slide_x_m(laydown)))
    end = frame.y(0) + _SLIDE_MM + 0.5
    return [
        Line(*stand, slide, end, WALK, "walk"),
        Disc(slide, end, _SLIDE_MM, FOOT, fill=WHITE, name="slide"),
        Disc(*stand, _STAND_MM, fill=NAVY, name="stand"),
    ]


def _target(board: float, sketch: Sketch, frame: LaneFrame) -> Item:
    """A target: its arrow, solid; between arrows a lozenge, as on a card."""
    x = frame.x(float(board_x_m(board)))
    y = frame.y(float(sketch.bowler.sights.target_y_m(board)))
    if board in ARROW_BOARDS:
        corners: tuple[Point, ...] = ((x - 0.7, y + 2.8), (x, y), (x + 0.7, y + 2.8))
    else:
        corners = ((x - 0.65, y + 1.2), (x, y), (x + 0.65, y + 1.2), (x, y + 2.4))
    return Polyline(corners, fill=NAVY, closed=True, name="target")


def _ball(way: Way, frame: LaneFrame) -> list[Item]:
    """The ball where it first touches a pin, or passes it; none that is lost on its way."""
    x_m, y_m = float(way.trace.x_m[-1]), float(way.trace.y_m[-1])
    if y_m < DECK_FROM_M:
        return []
    radius = STANDARD_RADIUS_M * frame.across
    return [Disc(frame.x(x_m), frame.y(y_m), radius, BALL, name="ball")]


def _tags(ways: Sequence[Way], frame: LaneFrame) -> list[Item]:
    """The letters on the paths, each where its path is farthest from the others and their tags."""
    levels = np.linspace(frame.lane_top_mm + 2 * _LETTER_MM, frame.y(0) - 3 * _LETTER_MM, 40)
    across = []
    for way in ways:
        points = np.array(_up_lane(way, frame))
        across.append(np.interp(levels, points[::-1, 1], points[::-1, 0]))
    placed: list[Point] = []
    items: list[Item] = []
    for number, way in enumerate(ways):
        rest = [x for other, x in enumerate(across) if other != number]
        apart = np.min([np.abs(across[number] - x) for x in rest], axis=0) if rest else levels
        room = np.minimum(apart, _LETTERS_APART_MM)
        for x, y in placed:
            near = np.hypot(across[number] - x, levels - y) < _LETTERS_APART_MM
            room = np.where(near, -1.0, room)
        best = int(room.argmax())  # the farthest from the foul line of those as good
        at = float(across[number][best]), float(levels[best])
        placed.append(at)
        items.append(Disc(*at, _LETTER_MM, BALL, fill=WHITE, name="tag"))
        items.append(_letter_text(way, *at, INK))
    return items


def _letters(ways: Sequence[Way], stands: Sequence[Point], frame: LaneFrame) -> list[Item]:
    """The letters of the stands, in rows below the approach so that none lies on another."""
    ends = [float("-inf")] * _LETTER_ROWS
    leaders: list[Item] = []
    items: list[Item] = []
    for way, (x, y) in sorted(zip(ways, stands, strict=True), key=lambda placed: placed[1]):
        free = [row for row, end in enumerate(ends) if x - end >= _LETTERS_APART_MM]
        row = free[0] if free else ends.index(min(ends))
        ends[row] = aside = max(x, ends[row] + _LETTERS_APART_MM)
        at = frame.height_mm + _LETTER_MM + row * _LETTERS_APART_MM
        leaders.append(Line(x, y + _STAND_MM, aside, at - _LETTER_MM, _LEADER, "leader"))
        items.append(Disc(aside, at, _LETTER_MM, fill=NAVY, name="letter"))
        items.append(_letter_text(way, aside, at, WHITE))
    return [*leaders, *items]


def _passes(line: Line, dot: Disc) -> bool:
    """Tell whether a line that is no point comes to a dot."""
    dx, dy = line.x2_mm - line.x1_mm, line.y2_mm - line.y1_mm
    x, y = dot.x_mm - line.x1_mm, dot.y_mm - line.y1_mm
    along = min(1.0, max(0.0, (x * dx + y * dy) / (dx**2 + dy**2)))
    return math.hypot(x - along * dx, y - along * dy) < dot.radius_mm + line.stroke.width_mm


def _letter_text(way: Way, x_mm: float, y_mm: float, colour: str) -> Text:
    base = y_mm + cap_height_mm(_LETTER_PT, Weight.BOLD) / 2
    return Text(x_mm, base, way.letter, _LETTER_PT, Weight.BOLD, colour, Align.MIDDLE, "letter")
