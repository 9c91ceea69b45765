"""A centre's name, logo, contact and lanes, at the foot of pages that have room for them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cardgen.drawing.column import Column, fits
from cardgen.drawing.fonts import cap_height_mm, shortened, width_mm, wrap
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Group,
    Image,
    Item,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import GREY, RULE, Format
from cardgen.drawing.titled import finished, titled
from cardgen.templating.logo import Logo, Pixels, Shape
from cardgen.templating.template import Centre
from cardgen.units import INCH_M, POINT_MM

_LOGO_MM, _LEAST_LOGO_MM = 13.0, 7.0
_LOGOS_MM = (_LOGO_MM, 9.0, _LEAST_LOGO_MM, 0.0)
"""How high a logo may be on a page, the first first for which there is room."""
_LOGO_SHARE = 0.4  # of the width, at most
_GOOD_DPI = 200.0
_ABOVE_MM = 2.4
_CLEAR_MM = 1.0  # of a page's number
_FOOT_LEADING = 1.28
_FOOTER_LINES = 2
_FOOT_LOGO_SHARE = 0.25  # of the width, at most
_FOOT_ROW_MM = 1.6  # between a centre and its last line
_FOOT_APART_MM = 6.0  # between a name and a contact beside it
_DESCENT_EM = 0.27  # below the baseline of a page's last line


def logo_size_mm(logo: Logo, width_mm: float, height_mm: float) -> tuple[float, float]:
    """Return the largest size in its own proportions that a logo has in a box.

    One of few pixels stays as small as it must be to look sharp, if that is not too small.
    """
    scale = min(width_mm / logo.width, height_mm / logo.height)
    if isinstance(logo, Pixels):
        sharp = INCH_M * 1000 / _GOOD_DPI
        least = _LEAST_LOGO_MM / max(logo.width, logo.height)
        scale = min(scale, max(sharp, least))
    return logo.width * scale, logo.height * scale


def logo_item(logo: Logo, x_mm: float, y_mm: float, width_mm: float, alt: str) -> Item:
    """Return a logo with its top left corner at a place, so wide and in its own proportions."""
    scale = width_mm / logo.width
    if isinstance(logo, Pixels):
        return Image(x_mm, y_mm, width_mm, logo.height * scale, logo.png, "logo", alt)
    items = [item for shape in logo.shapes for item in _inked(shape)]
    place = Transform(a=scale, d=scale).then(Transform.move(x_mm, y_mm))
    # What an artist left beside the drawing's frame must not show.
    frame = Clip(0.0, 0.0, logo.width, logo.height)
    return Group(tuple(items), "logo", place, frame, form="logo")


def _inked(shape: Shape) -> list[Curve]:
    """Return a shape's fill and its strokes; contours that are open are stroked as they are."""
    stroke = None if shape.stroke is None else Stroke(shape.stroke, shape.stroke_width)
    contours = [(contour.start, contour.pieces) for contour in shape.contours]
    closed = all(contour.closed for contour in shape.contours)
    first, more = contours[0], tuple(contours[1:])
    if closed or stroke is None:
        return [
            Curve(
                *first,
                stroke=stroke,
                fill=shape.fill,
                closed=True,
                name="logo",
                more_mm=more,
                even_odd=shape.even_odd,
            )
        ]
    filled = Curve(
        *first, fill=shape.fill, closed=True, name="logo", more_mm=more, even_odd=shape.even_odd
    )
    lines = [
        Curve(contour.start, contour.pieces, stroke, closed=contour.closed, name="logo")
        for contour in shape.contours
    ]
    return [*([filled] if shape.fill else []), *lines]


@dataclass(frozen=True)
class Placed:
    """A centre's block at the foot of a page, and where it begins."""

    items: tuple[Item, ...]
    top_mm: float


def at_foot(
    centre: Centre, fmt: Format, *, facts: bool, logo_mm: float = _LOGO_MM
) -> Placed | None:
    """Return a centre's logo and name under a rule at the foot of a page; None if it has none.

    With ``facts`` its contact and its lanes stand under its name. ``logo_mm`` is how high the logo
    may be on a pocket card; 0 leaves it out.
    """
    made = _sign(centre, fmt, facts=facts, logo_mm=logo_mm)
    if made is None:
        return None
    block, height = made
    top = fmt.height_mm - fmt.margin_mm - _CLEAR_MM - height
    rule = Column(fmt.margin_mm, top - _ABOVE_MM, fmt.inner_width_mm)
    rule.rule(RULE)
    placed = replace(block, transform=Transform.move(fmt.margin_mm, top))
    return Placed((*rule.items, placed), rule.y_mm)


def _sign(
    centre: Centre, fmt: Format, *, facts: bool, logo_mm: float
) -> tuple[Group, float] | None:
    """Return the block with its top left corner at the origin, and its height."""
    logo = centre.logo if logo_mm > 0 else None
    lines = [line for line in (centre.contact, *centre.lanes) if line] if facts else []
    if logo is None and not centre.name and not lines:
        return None
    wide, high, indent = 0.0, 0.0, 0.0
    if logo is not None:
        mark = max(1.0, fmt.mark)
        wide, high = logo_size_mm(logo, _LOGO_SHARE * fmt.inner_width_mm, logo_mm * mark)
        indent = wide + 2.0 * mark
    room = fmt.inner_width_mm - indent
    # What would break beside the logo goes below it.
    below = not all(fits(line, room, fmt.label_pt) for line in lines)
    beside = Column(indent, 0.0, room, leading=fmt.leading)
    if centre.name:
        beside.text(centre.name, fmt.body_pt + 1.0, Weight.BOLD, name="centre")
    if not below:
        _set_lines(beside, lines, fmt)
    text_mm = max((item.y_mm for item in beside.items if isinstance(item, Text)), default=0.0)
    height = max(high, text_mm)
    items: list[Item] = []
    if logo is not None:
        items.append(logo_item(logo, 0.0, (height - high) / 2, wide, centre.name))
    drop = Transform.move(0.0, (height - text_mm) / 2)
    items.append(Group(tuple(beside.items), "centre-lines", drop))
    if below:
        under = Column(0.0, height + _ABOVE_MM, fmt.inner_width_mm, leading=fmt.leading)
        _set_lines(under, lines, fmt)
        items += under.items
        height = max(item.y_mm for item in under.items if isinstance(item, Text))
    return Group(tuple(items), "centre"), height


def _set_lines(column: Column, lines: Sequence[str], fmt: Format) -> None:
    for line in lines:
        column.text(line, fmt.label_pt)


@dataclass(frozen=True)
class SheetFoot:
    """The foot of a handout: its ends across and down, its type, and how high a logo may be."""

    left_mm: float
    right_mm: float
    bottom_mm: float
    name_pt: float
    label_pt: float
    logo_mm: float

    @property
    def width_mm(self) -> float:
        """Between its ends."""
        return self.right_mm - self.left_mm

    def line_mm(self, size_pt: float) -> float:
        """Return the height of a line of type."""
        return _FOOT_LEADING * size_pt * POINT_MM


def along_foot(centre: Centre, foot: SheetFoot) -> Placed | None:
    """Return a centre in a line along the foot of a handout, under a rule; None if it has none.

    Logo and name are at the left, the contact at the right, or below the name where both are too
    long for one line; the centre's own footer is the last line, or two.
    """
    items: list[Item] = []
    bottom = foot.bottom_mm
    said = list(wrap(centre.footer, foot.width_mm, foot.label_pt)) if centre.footer else []
    if len(said) > _FOOTER_LINES:
        rest = " ".join(said[_FOOTER_LINES - 1 :])
        said = [*said[: _FOOTER_LINES - 1], shortened(rest, foot.width_mm, foot.label_pt)]
    for line in reversed(said):
        base = bottom - _DESCENT_EM * foot.label_pt * POINT_MM
        items.append(
            Text(foot.left_mm, base, line, foot.label_pt, colour=GREY, name="centre-footer")
        )
        bottom -= foot.line_mm(foot.label_pt)
    if centre.logo is not None or centre.name or centre.contact:
        row, high = _foot_row(centre, foot)
        bottom -= high + (_FOOT_ROW_MM if said else 0.0)
        items.append(replace(row, transform=Transform.move(foot.left_mm, bottom)))
    if not items:
        return None
    rule = Column(foot.left_mm, bottom - _ABOVE_MM, foot.width_mm)
    rule.rule(RULE)
    return Placed((*rule.items, *items), rule.y_mm)


def _foot_row(centre: Centre, foot: SheetFoot) -> tuple[Group, float]:
    """Return logo, name and contact with their top left corner at the origin, and their height."""
    items: list[Item] = []
    wide, high = 0.0, 0.0
    if centre.logo is not None:
        wide, high = logo_size_mm(centre.logo, _FOOT_LOGO_SHARE * foot.width_mm, foot.logo_mm)
    indent = wide + 0.25 * foot.logo_mm if wide else 0.0
    room = foot.width_mm - indent
    size, weight = (foot.name_pt, Weight.BOLD) if centre.name else (foot.label_pt, Weight.REGULAR)
    name_mm = width_mm(centre.name, size, weight) if centre.name else 0.0
    contact_mm = width_mm(centre.contact, foot.label_pt) if centre.contact else 0.0
    is_row = name_mm + _FOOT_APART_MM + contact_mm <= room
    cap = cap_height_mm(size, weight)
    below = bool(centre.name and centre.contact) and not is_row
    text_mm = cap + (foot.line_mm(foot.label_pt) if below else 0.0)
    height = max(high, text_mm + _DESCENT_EM * size * POINT_MM)
    base = (height - text_mm) / 2 + cap
    if centre.logo is not None:
        items.append(logo_item(centre.logo, 0.0, (height - high) / 2, wide, centre.name))
    if centre.name:
        name = shortened(centre.name, room, size, weight)
        items.append(Text(indent, base, name, size, weight, name="centre"))
    if centre.contact:
        contact = shortened(centre.contact, room, foot.label_pt)
        at, y, align = (foot.width_mm, base, Align.END)
        if below:
            at, y, align = indent, base + foot.line_mm(foot.label_pt), Align.START
        items.append(Text(at, y, contact, foot.label_pt, colour=GREY, align=align, name="contact"))
    return Group(tuple(items), "centre"), height


def signed(scenes: Sequence[Scene], centre: Centre, fmt: Format, *, facts: bool) -> list[Scene]:
    """Return pages with a centre's block at the foot of the last, as large as there is room for.

    Its contact and lanes get a page of their own rather than none, a name and a logo do not.
    """
    if not scenes:
        return []
    *before, last = scenes
    ends = _ends_mm(last) + _ABOVE_MM
    for logo_mm in _LOGOS_MM:
        placed = at_foot(centre, fmt, facts=facts, logo_mm=logo_mm)
        if placed is not None and ends <= placed.top_mm:
            return [*before, replace(last, items=(*last.items, *placed.items))]
    if not facts or not (centre.contact or centre.lanes):
        return list(scenes)
    return [*scenes, _own_page(centre, fmt)]


def _own_page(centre: Centre, fmt: Format) -> Scene:
    """Return a page with a centre's name as its title, and what there is to say of it."""
    page = (
        titled(centre.name, fmt)
        if centre.name
        else Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    )
    page.space(1.0)
    lines = [line for line in (centre.contact, *centre.lanes) if line]
    said_mm = sum(page.height_of(line, fmt.body_pt) + 1.0 for line in lines)
    room_mm = fmt.height_mm - fmt.margin_mm - page.y_mm - said_mm - 2 * _ABOVE_MM
    if centre.logo is not None and room_mm >= _LEAST_LOGO_MM:
        most_mm = min(2 * _LOGO_MM * max(1.0, fmt.mark), room_mm)
        wide, high = logo_size_mm(centre.logo, fmt.inner_width_mm, most_mm)
        page.add(logo_item(centre.logo, page.x_mm, page.y_mm, wide, centre.name))
        page.space(high + 2 * _ABOVE_MM)
    for line in lines:
        page.text(line, fmt.body_pt)
        page.space(1.0)
    return finished(page, fmt, "")


def _ends_mm(scene: Scene) -> float:
    """Return where a page's text ends, descenders and all."""
    return max(
        (
            place.point(item.x_mm, item.y_mm)[1] + _DESCENT_EM * item.size_pt * POINT_MM
            for item, place in scene.walk()
            if isinstance(item, Text) and item.name != "folio"
        ),
        default=0.0,
    )
