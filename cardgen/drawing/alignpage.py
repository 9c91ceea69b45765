"""The test page that tells how far a printer lays the back of a sheet off its front.

A vernier at the middle of each edge: 1.0 mm divisions on the front, 0.9 mm on the back. A back
that lies n tenths of a millimetre off brings its line n, and no other, to the end of a line of the
front. Everything on the back is placed as seen from the front and then turned over with the sheet,
numbers too: through the paper they read the right way round.
"""

from cardgen.cards.words import Words
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import cap_height_mm, shortened
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
from cardgen.drawing.theme import GREY, INK, RULE, TICK
from cardgen.printers import Flip, Offset
from cardgen.units import POINT_MM

FRONT_DIVISION_MM = 1.0
BACK_DIVISION_MM = 0.9
TENTHS = 5
"""Divisions of the vernier to each side of its 0: half a millimetre, which whole ones carry on."""
WHOLE_MM = 5
"""Millimetres numbered to each side of the front's 0."""
_FRONT_LINES = WHOLE_MM + TENTHS  # a vernier that is so far off still meets lines all along

SAFE_MM = 5.0
_AXIS_MM = 17.0  # from the edge to where the lines of front and back meet
_MEET_MM = 0.6  # by which each line passes the axis, so that a back off across still meets them
_REACH_MM = (4.0, 6.2)  # of even and odd lines: their numbers take turns in two rows
_NUMBER_GAP_MM = 0.45
_WORD_AT_MM = _FRONT_LINES + 1.6
_ZERO = Stroke(INK, 0.8 * POINT_MM)

_SIDE_MM = 30.0  # clear of the scales at the sides
_TITLE_AT_MM = 29.5
_TITLE_PT, _BODY_PT, _LABEL_PT, _NUMBER_PT = 16.0, 10.0, 8.0, 6.5
_LEADING = 1.3
_CROSS_MM = 8.0
_RINGS_MM = (5.0, 2.5)  # front and back
_NAME_MM = 50.0
_RULER_MM = 100
_RULER_FOOT_MM = 35.0  # from the sheet's foot
_ARROW: tuple[Point, ...] = (
    (0.0, -6.0),
    (5.0, 0.0),
    (2.0, 0.0),
    (2.0, 6.0),
    (-2.0, 6.0),
    (-2.0, 0.0),
    (-5.0, 0.0),
)
_ARROW_IN = 0.6  # the back's arrow, in parts of the front's


def align_scenes(
    words: Words,
    width_mm: float,
    height_mm: float,
    flip: Flip,
    *,
    offset: Offset | None = None,
    printer: str = "",
) -> tuple[Scene, Scene]:
    """Return front and back of the test page on an upright paper of that size.

    The back is moved to make up for the ``offset`` kept of a ``printer``, if any.
    """
    offset = offset or Offset()
    front = (
        *_instructions(words, width_mm, flip, printer),
        *_ruler(words, width_mm, height_mm),
        *(Group(_scale(edge, words), edge, place) for edge, place in _places(width_mm, height_mm)),
        *_cross(width_mm, height_mm, _RINGS_MM[0], "front cross"),
        Polyline(_arrow(width_mm, 1.0), TICK, closed=True, name="front arrow"),
    )
    seen = (
        *(Group(_vernier(edge), edge, place) for edge, place in _places(width_mm, height_mm)),
        *_cross(width_mm, height_mm, _RINGS_MM[1], "back cross"),
        Polyline(_arrow(width_mm, _ARROW_IN), fill=INK, closed=True, name="back arrow"),
    )
    over = turned_over(width_mm, height_mm, flip)
    moved = Transform.move(*offset.shift_mm(flip))
    back = (
        Group(seen, "seen from the front", over.then(moved)),
        Group((_note(words, width_mm, height_mm, over),), "note", moved),
    )
    return (
        Scene(width_mm, height_mm, front, words("align.front"), safe_mm=SAFE_MM),
        Scene(width_mm, height_mm, back, words("align.back"), safe_mm=SAFE_MM),
    )


def turned_over(width_mm: float, height_mm: float, flip: Flip) -> Transform:
    """Return the map from a place seen from the front of an upright sheet to the back's own page.

    It is its own inverse.
    """
    if flip == "long-edge":
        return Transform(a=-1.0, e=width_mm)
    return Transform(d=-1.0, f=height_mm)


def _places(width_mm: float, height_mm: float) -> tuple[tuple[str, Transform], ...]:
    """Return each scale's edge and the map from its own axis, along x, into the sheet.

    Those at the sides are turned so that up is forwards along them.
    """
    upwards = Transform.quarter_turns(3)
    return (
        ("top", Transform.move(width_mm / 2, _AXIS_MM)),
        ("foot", Transform.move(width_mm / 2, height_mm - _AXIS_MM)),
        ("left", upwards.then(Transform.move(_AXIS_MM, height_mm / 2))),
        ("right", upwards.then(Transform.move(width_mm - _AXIS_MM, height_mm / 2))),
    )


def _scale(edge: str, words: Words) -> tuple[Item, ...]:
    """Return the front's half of a scale: above its axis, numbered in whole millimetres."""
    items: list[Item] = []
    for mark in range(-_FRONT_LINES, _FRONT_LINES + 1):
        x = mark * FRONT_DIVISION_MM
        numbered = abs(mark) <= WHOLE_MM
        reach = _REACH_MM[mark % 2] if numbered else 0.6 * _REACH_MM[0]
        stroke = TICK if mark else _ZERO
        items.append(Line(x, -reach, x, _MEET_MM, stroke, f"{edge} mark {mark}"))
        if numbered:
            items.append(_number(x, -reach - _NUMBER_GAP_MM, mark))
    less, more = ("down", "up") if edge in ("left", "right") else ("left", "right")
    y = -1.0
    items.append(Text(-_WORD_AT_MM, y, words(f"align.{less}"), _LABEL_PT, align=Align.END))
    items.append(Text(_WORD_AT_MM, y, words(f"align.{more}"), _LABEL_PT))
    return tuple(items)


def _vernier(edge: str) -> tuple[Item, ...]:
    """Return the back's half, as seen from the front: below the axis, numbered in tenths."""
    items: list[Item] = []
    for tenth in range(-TENTHS, TENTHS + 1):
        x = tenth * BACK_DIVISION_MM
        reach = _REACH_MM[tenth % 2]
        stroke = TICK if tenth else _ZERO
        items.append(Line(x, -_MEET_MM, x, reach, stroke, f"{edge} vernier {tenth}"))
        base = reach + _NUMBER_GAP_MM + cap_height_mm(_NUMBER_PT, _weight(tenth))
        items.append(_number(x, base, tenth))
    return tuple(items)


def _number(x_mm: float, y_mm: float, number: int) -> Text:
    """Return a line's number without its sign, for which there is no room."""
    return Text(
        x_mm, y_mm, str(abs(number)), _NUMBER_PT, _weight(number), INK, Align.MIDDLE, "number"
    )


def _weight(number: int) -> Weight:
    return Weight.REGULAR if number else Weight.BOLD


def _cross(width_mm: float, height_mm: float, ring_mm: float, name: str) -> tuple[Item, ...]:
    x, y, arm = width_mm / 2, height_mm / 2, ring_mm + _CROSS_MM - _RINGS_MM[0]
    return (
        Line(x - arm, y, x + arm, y, TICK, name),
        Line(x, y - arm, x, y + arm, TICK, name),
        Disc(x, y, ring_mm, TICK, name=name),
    )


def _arrow(width_mm: float, size: float) -> tuple[Point, ...]:
    middle = width_mm - _SIDE_MM - 6.0, _TITLE_AT_MM + 6.0
    return tuple((middle[0] + size * x, middle[1] + size * y) for x, y in _ARROW)


def _instructions(words: Words, width_mm: float, flip: Flip, printer: str) -> tuple[Item, ...]:
    """Return the title and the steps, from below the top scale to above the middle cross."""
    inner = width_mm - 2 * _SIDE_MM
    head = Column(_SIDE_MM, _TITLE_AT_MM, inner - 38.0, leading=_LEADING)
    head.text(words("align.title"), _TITLE_PT, Weight.BOLD, name="title")
    setting = words(f"align.setting_{flip}")
    head.text(f"{words('align.front')} · {setting}", _LABEL_PT, colour=GREY)
    beside = Text(
        width_mm - _SIDE_MM - 13.0,
        _TITLE_AT_MM + 6.0 + cap_height_mm(_LABEL_PT) / 2,
        words("align.top"),
        _LABEL_PT,
        align=Align.END,
    )
    steps = Column(_SIDE_MM, _TITLE_AT_MM + 14.0, inner, leading=_LEADING)
    steps.rule(RULE)
    steps.space(2.6)
    if printer:
        name = shortened(printer, _NAME_MM, _BODY_PT, Weight.BOLD)
        steps.text(words("align.moved", printer=name), _BODY_PT, Weight.BOLD)
        steps.space(1.2)
    for number, step in enumerate(words.all("align.steps", setting=setting), start=1):
        steps.add(
            Text(
                _SIDE_MM,
                steps.y_mm + cap_height_mm(_BODY_PT, Weight.BOLD),
                str(number),
                _BODY_PT,
                Weight.BOLD,
            )
        )
        steps.text(step, _BODY_PT, indent_mm=5.0)
        steps.space(0.8)
    steps.space(-0.8)
    steps.text(words("align.command"), _BODY_PT, Weight.BOLD, indent_mm=5.0)
    return (*head.items, beside, *steps.items)


def _ruler(words: Words, width_mm: float, height_mm: float) -> tuple[Item, ...]:
    """Return rulers across and up from one corner, and between them lines to write on."""
    left, foot = (width_mm - _RULER_MM) / 2, height_mm - _RULER_FOOT_MM
    items: list[Item] = [
        Line(left, foot, left + _RULER_MM, foot, TICK, "ruler across"),
        Line(left, foot, left, foot - _RULER_MM, TICK, "ruler up"),
    ]
    rise = cap_height_mm(_LABEL_PT)
    for mm in range(1, _RULER_MM + 1):
        long = 4.0 if mm % 10 == 0 else 2.6 if mm % 5 == 0 else 1.6
        x, y = left + mm, foot - mm
        items.append(Line(x, foot, x, foot - long, TICK, f"ruler across {mm}"))
        items.append(Line(left, y, left + long, y, TICK, f"ruler up {mm}"))
        if mm % 10 == 0:
            across = Text(x, foot - long - 0.8, str(mm), _LABEL_PT, align=Align.MIDDLE)
            up = Text(left + long + 0.8, y + rise / 2, str(mm), _LABEL_PT)
            items += [across, up]
    items.append(Text(left - 0.8, foot + 0.8 + rise, "0", _LABEL_PT, align=Align.END))
    inner = Column(left + 20.0, height_mm / 2 + 26.0, 80.0, leading=_LEADING)
    inner.text(words("align.ruler"), _BODY_PT, Weight.BOLD)
    inner.space(8.0)
    items += inner.items
    readings = words.all("align.readings")
    for start in range(0, len(readings), 3):
        for place, reading in enumerate(readings[start : start + 3]):
            x = inner.x_mm + 28.0 * place
            items.append(Line(x, inner.y_mm, x + 24.0, inner.y_mm, TICK, "answer"))
            base = inner.y_mm + 1.2 + rise
            items.append(Text(x, base, reading, _LABEL_PT, colour=GREY))
        inner.space(16.0)
    return tuple(items)


def _note(words: Words, width_mm: float, height_mm: float, over: Transform) -> Text:
    """Return the line for whoever looks at the back, where the front is empty."""
    _, y = over.point(0.0, height_mm - _RULER_FOOT_MM + 4.0)
    return Text(
        width_mm / 2,
        y + cap_height_mm(_LABEL_PT) / 2,
        words("align.note"),
        _LABEL_PT,
        colour=GREY,
        align=Align.MIDDLE,
        name="note",
    )
