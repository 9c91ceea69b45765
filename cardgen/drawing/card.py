"""A card's two sides as scenes.

A small card carries less, never smaller type: what goes first, and what never goes, is fixed here.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from cardgen.cards.card import Call, Card, Note, RoomGauge
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.gauge import gauge_height_mm, gauge_view
from cardgen.drawing.lane import lane_view
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.scene import Align, Scene, Text, Weight, moved
from cardgen.drawing.stacked import box, stacked_face
from cardgen.drawing.theme import GREY, INK, NAVY, RULE, Format
from cardgen.templating.schema import FACE_PANELS, BackPanel
from cardgen.templating.template import PLAIN, Design
from cardgen.units import POINT_MM

_FIGURES_AT, _BALL_AT = (0.21, 0.43), 0.70  # of an upright front's height
_LYING_FIGURES_AT, _LYING_BALL_BELOW = 0.25, 0.05
_LESS = ((), ("kind",), ("kind", "count"), ("kind", "count", "arrow"))
"""What a front does without, where there is no room: ever more, the call and the ball never."""
_GAP = 0.026  # of a back's height between its sections
_LYING_GAP = 0.022  # of its width
_APART_MM = 2.0  # between two texts of a line
_BLOCK_PAD_MM = 1.8
_LARGER_GAUGE = 1.4


def face_scene(card: Card, fmt: Format, design: Design = PLAIN) -> Scene:
    """Return the front: the lane in one column, the call beside it."""
    if not _is_usual(design):
        return replace(stacked_face(card, fmt, design), description=card.spoken.face)
    frame = lane_frame(card.sketch, fmt, fmt.inner_height_mm)
    lane = moved(lane_view(card.sketch, frame, fmt), fmt.margin_mm, fmt.margin_mm)
    laid_out = _lying if fmt.lying else _upright
    left_out = frozenset(FACE_PANELS) - frozenset(design.face)
    call, limit_mm = laid_out(card, fmt, left_out, True)
    for less in _LESS:
        if call.y_mm <= limit_mm:
            break
        call, limit_mm = laid_out(card, fmt, left_out.union(less), False)
    return Scene(
        fmt.width_mm,
        fmt.height_mm,
        (lane, *call.items),
        card.name,
        safe_mm=fmt.safe_mm,
        description=card.spoken.face,
    )


def _is_usual(design: Design) -> bool:
    """Tell whether a front has its panels in their usual places, if perhaps not all of them."""
    usual = tuple(panel for panel in FACE_PANELS if panel in design.face)
    looks = (design.pattern, design.figures, design.weight)
    return design.face == usual and looks == (PLAIN.pattern, PLAIN.figures, PLAIN.weight)


def _upright(card: Card, fmt: Format, less: frozenset[str], spread: bool) -> tuple[Column, float]:
    """Return the call as a column, and how far down its end may be.

    All stands in its usual places, or where it is not ``spread`` close together.
    """
    left = fmt.margin_mm + fmt.lane_width_mm + fmt.gap_mm
    call = Column(left, fmt.margin_mm, fmt.width_mm - fmt.margin_mm - left, leading=fmt.leading)

    def go_to(share: float) -> None:
        at = fmt.margin_mm + share * fmt.inner_height_mm if spread else 0.0
        call.y_mm = max(call.y_mm + 0.5, at)

    call.text(card.name, fmt.title_pt, Weight.BOLD, name="title")
    if "kind" not in less:
        call.text(card.kind, fmt.label_pt, colour=GREY)
    go_to(_FIGURES_AT[0])
    _figure(call, card.stand, fmt)
    go_to(_FIGURES_AT[1])
    _figure(call, card.target, fmt)
    _beside_target(call, card, fmt, less)
    call.space(0.9)
    go_to(_BALL_AT)
    _ball(call, card, fmt)
    return call, _count(call, card, fmt, less)


def _lying(card: Card, fmt: Format, less: frozenset[str], spread: bool) -> tuple[Column, float]:
    """Return the call with its figures side by side, and how far down its end may be."""
    left = fmt.margin_mm + fmt.lane_width_mm + fmt.gap_mm
    call = Column(left, fmt.margin_mm, fmt.width_mm - fmt.margin_mm - left, leading=fmt.leading)
    half = (call.width_mm - fmt.gap_mm) / 2
    kind = "" if "kind" in less else card.kind
    if _beside(call, card.name, fmt.title_pt, kind, fmt.label_pt, colour=GREY):
        kind = ""
    if kind:
        call.text(kind, fmt.label_pt, colour=GREY)

    usual = fmt.margin_mm + _LYING_FIGURES_AT * fmt.inner_height_mm
    top = max(call.y_mm + 0.5, usual if spread else 0.0)
    cells = [Column(x, top, half, leading=fmt.leading) for x in (left, left + half + fmt.gap_mm)]
    for cell, figure in zip(cells, (card.stand, card.target), strict=True):
        _figure(cell, figure, fmt)
        cell.space(_LYING_BALL_BELOW * fmt.inner_height_mm if spread else 0.5)
    _ball(cells[0], card, fmt)
    _beside_target(cells[1], card, fmt, less)
    for cell in cells:
        call.items += cell.items
    call.y_mm = max(cell.y_mm for cell in cells)
    return call, _count(call, card, fmt, less)


def _figure(column: Column, call: Call, fmt: Format) -> None:
    column.text(call.label, fmt.label_pt, Weight.MEDIUM, colour=NAVY)
    # A half rises above its figures.
    column.space(max(0.4, 0.025 * fmt.figure_pt * POINT_MM))
    column.text(call.figure, fmt.figure_pt, Weight.BOLD, name=f"figure-{call.label}")
    # Figures have nothing below their baseline: what follows moves up by half of what was left.
    column.space(-0.3 * fmt.figure_pt * POINT_MM)


def _beside_target(call: Column, card: Card, fmt: Format, less: frozenset[str]) -> None:
    if "arrow" not in less:
        call.text(card.arrow, fmt.label_pt, colour=GREY)
    if card.imagine:
        call.space(0.8)
        call.text(card.imagine, fmt.body_pt, Weight.MEDIUM, colour=NAVY)


def _ball(call: Column, card: Card, fmt: Format) -> None:
    call.text(card.ball, fmt.body_pt, Weight.BOLD)
    call.text(card.manner, fmt.body_pt)
    if card.own:
        call.space(1.2)
        call.text(card.own, fmt.body_pt, Weight.MEDIUM, colour=NAVY)
    elif card.defaults:
        call.space(1.2)
        call.text(card.defaults, fmt.label_pt, colour=GREY)


def _count(call: Column, card: Card, fmt: Format, less: frozenset[str]) -> float:
    """Set from where boards count at the foot, and return how far down the rest may end.

    What never changes stands in line with the end of the approach.
    """
    line_mm = call.height_of("x", fmt.label_pt)
    bottom = fmt.height_mm - fmt.margin_mm
    if "count" in less:
        return bottom + 0.2 * line_mm
    ends = call.y_mm
    call.y_mm = bottom - call.height_of(card.count, fmt.label_pt) + line_mm
    call.y_mm -= cap_height_mm(fmt.label_pt)
    limit_mm = call.y_mm
    call.text(card.count, fmt.label_pt, colour=GREY)
    call.y_mm = ends
    return limit_mm


@dataclass(frozen=True)
class _Section:
    """A part of a back: how it is set from the top of a column, and whether it may go.

    ``told`` says it to who cannot see it.
    """

    set_in: Callable[[Column], None]
    told: str
    kept: bool = False

    def height_mm(self, width_mm: float, fmt: Format) -> float:
        column = Column(0.0, 0.0, width_mm, leading=fmt.leading)
        self.set_in(column)
        return column.y_mm


def back_scene(card: Card, fmt: Format, design: Design = PLAIN) -> Scene:
    """Return the back: chance, room, what to move after a miss, and as many notes as fit.

    A card that lies has them in two columns. The chance and the notes that are to be kept are on
    any card; the rest goes from the end.
    """
    page = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    _heading(page, card, fmt)
    bottom = _foot(page, card, fmt)
    room = bottom - page.y_mm
    columns = _columns(page, fmt)
    gap = _LYING_GAP * fmt.inner_width_mm if fmt.lying else _GAP * fmt.inner_height_mm
    sections = _sections(card, fmt, design)
    heights = [section.height_mm(columns[0].width_mm, fmt) for section in sections]

    def parts(chosen: Sequence[int]) -> list[Sequence[int]]:
        """Return what goes into each column, so that the higher is as low as can be."""
        if len(columns) == 1:
            return [chosen]
        cuts = range(1, len(chosen) + 1)
        return min(
            ([chosen[:cut], chosen[cut:]] for cut in cuts), key=lambda two: max(map(height, two))
        )

    def height(part: Sequence[int]) -> float:
        return sum(heights[index] + gap for index in part) - gap

    chosen = [index for index, section in enumerate(sections) if section.kept]
    for index in (index for index, section in enumerate(sections) if not section.kept):
        more = sorted((*chosen, index))
        if max(map(height, parts(more))) > room:
            break
        chosen = more
    for column, part in zip(columns, parts(chosen), strict=True):
        for index in part:
            sections[index].set_in(column)
            column.space(gap)
        page.items += column.items
    told = (card.spoken.head, *(sections[index].told for index in chosen), card.spoken.foot)
    return Scene(
        fmt.width_mm,
        fmt.height_mm,
        tuple(page.items),
        safe_mm=fmt.safe_mm,
        description=" ".join(told),
    )


def _columns(page: Column, fmt: Format) -> list[Column]:
    count = 2 if fmt.lying else 1
    between = 1.4 * fmt.gap_mm
    width = (page.width_mm - (count - 1) * between) / count
    return [
        Column(page.x_mm + number * (width + between), page.y_mm, width, leading=fmt.leading)
        for number in range(count)
    ]


def _sections(card: Card, fmt: Format, design: Design) -> list[_Section]:
    """Return a back's parts in the order in which they are read, which is that of their worth."""
    spoken = card.spoken
    told = dict(zip(card.notes, spoken.notes, strict=True))
    parts: dict[BackPanel, list[_Section]] = {
        "chance": [
            _Section(
                lambda column: _chance(column, card.chance, fmt, design), spoken.chance, kept=True
            )
        ],
        "room": []
        if card.room is None
        else [
            _Section(partial(_room, card=card, room=card.room, fmt=fmt, design=design), spoken.room)
        ],
        "miss": [_Section(lambda column: _remedies(column, card, fmt), spoken.miss)]
        if card.remedies
        else [],
        "notes": [
            _Section(partial(_note, note=note, fmt=fmt), told[note], note.kept)
            for note in _chosen(card.notes, design.notes)
        ],
    }
    return [section for panel in design.back for section in parts[panel]]


def _chosen(notes: Sequence[Note], most: int) -> list[Note]:
    """Return at most so many notes, the most useful first, but all that are to be kept."""
    spare = max(0, most - sum(note.kept for note in notes))
    others = [note for note in notes if not note.kept][:spare]
    return [note for note in notes if note.kept or note in others]


def _heading(page: Column, card: Card, fmt: Format) -> None:
    """Set the leave's name, with the call beside it or, where there is no room, below."""
    if not _beside(page, card.name, fmt.head_pt, card.summary, fmt.body_pt):
        page.text(card.summary, fmt.body_pt)
    page.space(0.2)
    page.rule(RULE)
    page.space(2.2 * fmt.body_scale)


def _beside(
    page: Column, title: str, title_pt: float, text: str, text_pt: float, colour: str = INK
) -> bool:
    """Set a title and, if it goes on the same line, a text at its end; tell whether it does."""
    top = page.y_mm
    page.text(title, title_pt, Weight.BOLD, name="title")
    room = page.width_mm - width_mm(title, title_pt, Weight.BOLD) - _APART_MM
    if width_mm(text, text_pt) > room:
        return False
    base = top + cap_height_mm(title_pt, Weight.BOLD)
    end = page.x_mm + page.width_mm
    page.add(Text(end, base, text, text_pt, colour=colour, align=Align.END))
    return True


def _foot(page: Column, card: Card, fmt: Format) -> float:
    """Set the caution and whose card it is; return where what stands above must end."""
    foot = fmt.height_mm - fmt.margin_mm
    line_mm = fmt.leading * fmt.label_pt * POINT_MM
    owner = shortened(card.owner, page.width_mm, fmt.label_pt)
    cautions = wrap(card.caution, page.width_mm, fmt.label_pt)
    together = width_mm(card.caution, fmt.label_pt) + 2 * _APART_MM + width_mm(owner, fmt.label_pt)
    if fmt.lying and together <= page.width_mm:
        end = page.x_mm + page.width_mm
        page.add(Text(end, foot, owner, fmt.label_pt, colour=GREY, align=Align.END, name="owner"))
        rows = 1
    else:
        page.add(Text(page.x_mm, foot, owner, fmt.label_pt, colour=GREY, name="owner"))
        rows = 1 + len(cautions)
    for number, line in enumerate(cautions):
        base = foot - (rows - 1 - number) * line_mm
        page.add(Text(page.x_mm, base, line, fmt.label_pt, colour=GREY, name="caution"))
    return foot - (rows + 0.3) * line_mm


def _head(page: Column, text: str, fmt: Format) -> None:
    page.text(text, fmt.label_pt, Weight.MEDIUM, colour=NAVY)


def _chance(page: Column, chance: Note, fmt: Format, design: Design) -> None:
    if design.pattern != "blocks":
        _chance_lines(page, chance, fmt, fmt.head_pt)
        return
    pad = _BLOCK_PAD_MM * max(1.0, fmt.mark)
    top = page.y_mm
    inner = Column(page.x_mm + pad, top + pad, page.width_mm - 2 * pad, leading=fmt.leading)
    _chance_lines(inner, chance, fmt, fmt.title_pt)
    last_mm = max(item.y_mm for item in inner.items if isinstance(item, Text))
    height = last_mm + pad - top
    page.add(box(page.x_mm, top, page.width_mm, height, fmt, design))
    page.items += inner.items
    page.y_mm = top + height


def _chance_lines(page: Column, chance: Note, fmt: Format, size_pt: float) -> None:
    _head(page, chance.heading, fmt)
    page.space(0.5)
    page.text(chance.lines[0], size_pt, Weight.BOLD)
    for line in chance.lines[1:]:
        page.text(line, fmt.body_pt)
    page.space(-0.5)


def _room(page: Column, card: Card, room: RoomGauge, fmt: Format, design: Design) -> None:
    _head(page, card.room_heading, fmt)
    if design.pattern == "blocks":
        drawn = replace(fmt, mark=_LARGER_GAUGE * max(1.0, fmt.mark))
    else:
        drawn = fmt
    mirror = card.sketch.bowler.hand.mirror
    gauge = gauge_view(room, mirror, page.width_mm, drawn, rounded=design.corners == "round")
    page.space(0.4)
    page.add(moved(gauge, page.x_mm, page.y_mm))
    page.space(gauge_height_mm(drawn) + 2.0)
    page.pair(room.left_text, room.right_text, fmt.body_pt)


def _remedies(page: Column, card: Card, fmt: Format) -> None:
    _head(page, card.remedy_heading, fmt)
    moves = [(remedy.miss, remedy.move) for remedy in card.remedies]
    page.pairs(moves, fmt.body_pt, Weight.BOLD)


def _note(page: Column, note: Note, fmt: Format) -> None:
    _head(page, note.heading, fmt)
    for line in note.lines:
        page.text(line, fmt.body_pt)
