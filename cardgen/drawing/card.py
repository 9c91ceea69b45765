"""A card's two sides as scenes."""

from cardgen.cards.card import Call, Card, Note
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm
from cardgen.drawing.gauge import gauge_height_mm, gauge_view
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.scene import Align, Scene, Text, Weight, moved
from cardgen.drawing.theme import GREY, NAVY, RULE, Format
from cardgen.units import POINT_MM


def face_scene(card: Card, fmt: Format) -> Scene:
    """Return the front: the lane in one column, the call in the other."""
    frame = lane_frame(card.sketch, fmt, fmt.inner_height_mm)
    lane = moved(lane_view(card.sketch, frame, fmt), fmt.margin_mm, fmt.margin_mm)
    left = fmt.margin_mm + fmt.lane_width_mm + fmt.gap_mm
    call = Column(left, fmt.margin_mm, fmt.width_mm - fmt.margin_mm - left, leading=fmt.leading)
    call.text(card.name, fmt.title_pt, Weight.BOLD, name="title")
    call.text(card.kind, fmt.label_pt, colour=GREY)

    call.y_mm = fmt.margin_mm + 0.21 * fmt.inner_height_mm
    _figure(call, card.stand, fmt)
    call.y_mm = fmt.margin_mm + 0.43 * fmt.inner_height_mm
    _figure(call, card.target, fmt)
    call.text(card.arrow, fmt.label_pt, colour=GREY)
    if card.imagine:
        call.space(0.8)
        call.text(card.imagine, fmt.body_pt, Weight.MEDIUM, colour=NAVY)

    call.space(1.4)
    call.y_mm = max(call.y_mm, fmt.margin_mm + 0.70 * fmt.inner_height_mm)
    call.text(card.ball, fmt.body_pt, Weight.BOLD)
    call.text(card.manner, fmt.body_pt)
    if card.own:
        call.space(1.2)
        call.text(card.own, fmt.body_pt, Weight.MEDIUM, colour=NAVY)
    # What never changes stands at the foot, in line with the end of the approach.
    bottom = fmt.height_mm - fmt.margin_mm
    line_mm = call.height_of("x", fmt.label_pt)
    call.y_mm = bottom - call.height_of(card.count, fmt.label_pt) + line_mm
    call.y_mm -= cap_height_mm(fmt.label_pt)
    call.text(card.count, fmt.label_pt, colour=GREY)
    return Scene(fmt.width_mm, fmt.height_mm, (lane, *call.items), card.name, safe_mm=fmt.safe_mm)


def _figure(column: Column, call: Call, fmt: Format) -> None:
    column.text(call.label, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    column.space(0.4)
    column.text(call.figure, fmt.figure_pt, Weight.BOLD, name=f"figure-{call.label}")
    # Figures have nothing below their baseline: what follows moves up by half of what was left.
    column.space(-0.3 * fmt.figure_pt * POINT_MM)


def back_scene(card: Card, fmt: Format) -> Scene:
    """Return the back: chance, room, what to move after a miss, and as many notes as fit."""
    page = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    _heading(page, card, fmt)
    gap = 0.026 * fmt.inner_height_mm

    _head(page, card.chance.heading, fmt)
    page.space(0.5)
    page.text(card.chance.lines[0], fmt.head_pt, Weight.BOLD)
    for line in card.chance.lines[1:]:
        page.text(line, fmt.body_pt)
    page.space(gap - 0.5)
    if card.room is not None:
        _head(page, card.room_heading, fmt)
        mirror = card.sketch.bowler.hand.mirror
        gauge = gauge_view(card.room, mirror, page.width_mm, fmt)
        page.space(0.4)
        page.add(moved(gauge, page.x_mm, page.y_mm))
        page.space(gauge_height_mm(fmt) + 2.0)
        page.row(
            [
                (0.0, card.room.left_text, Align.START, Weight.REGULAR),
                (page.width_mm, card.room.right_text, Align.END, Weight.REGULAR),
            ],
            fmt.body_pt,
        )
        page.space(gap)
    if card.remedies:
        _head(page, card.remedy_heading, fmt)
        for remedy in card.remedies:
            page.row(
                [
                    (0.0, remedy.miss, Align.START, Weight.REGULAR),
                    (page.width_mm, remedy.move, Align.END, Weight.BOLD),
                ],
                fmt.body_pt,
            )
        page.space(gap)
    foot = fmt.height_mm - fmt.margin_mm
    line_mm = fmt.leading * fmt.label_pt * POINT_MM
    # A small card carries less, never smaller.
    for note in card.notes:
        if page.y_mm + _note_height_mm(page, note, fmt) > foot - 2 * line_mm:
            break
        _note(page, note, fmt)
        page.space(gap)
    owner = shortened(card.owner, page.width_mm, fmt.label_pt)
    page.add(Text(page.x_mm, foot - line_mm, card.caution, fmt.label_pt, colour=GREY))
    page.add(Text(page.x_mm, foot, owner, fmt.label_pt, colour=GREY, name="owner"))
    return Scene(fmt.width_mm, fmt.height_mm, tuple(page.items), safe_mm=fmt.safe_mm)


def _heading(page: Column, card: Card, fmt: Format) -> None:
    """Set the leave's name, with the call beside it or, where there is no room, below."""
    apart = 2.0
    together = (
        width_mm(card.name, fmt.head_pt, Weight.BOLD)
        + apart
        + width_mm(card.summary, fmt.body_pt, Weight.REGULAR)
    )
    top = page.y_mm
    page.text(card.name, fmt.head_pt, Weight.BOLD, name="title")
    if together <= page.width_mm:
        page.add(
            Text(
                page.x_mm + page.width_mm,
                top + cap_height_mm(fmt.head_pt, Weight.BOLD),
                card.summary,
                fmt.body_pt,
                align=Align.END,
            )
        )
    else:
        page.text(card.summary, fmt.body_pt)
    page.space(0.2)
    page.rule(RULE)
    page.space(2.2)


def _head(page: Column, text: str, fmt: Format) -> None:
    page.text(text, fmt.label_pt, Weight.MEDIUM, colour=NAVY)


def _note_height_mm(page: Column, note: Note, fmt: Format) -> float:
    texts = sum(page.height_of(line, fmt.body_pt) for line in note.lines)
    return page.height_of(note.heading, fmt.label_pt, Weight.MEDIUM) + texts


def _note(page: Column, note: Note, fmt: Format) -> None:
    _head(page, note.heading, fmt)
    for line in note.lines:
        page.text(line, fmt.body_pt)
