"""What is looked at before a page is printed: each rule by name, and what breaks it in a sentence.

Only scenes are looked at. The writers add nothing to them, embed every font they set, give each
page its scene's size, and refuse what has no glyph; that is tested where they are, and reading
a finished file again would cost more than making it. The one thing set in a font that is not
embedded is what somebody types into a form, so fields are refused where there is no form.
"""

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from itertools import pairwise
from struct import unpack_from
from typing import Literal, TypeAlias

from cardgen.drawing.fonts import fallback_ink_em, font_path, metrics, width_mm
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Field,
    Group,
    Image,
    Item,
    Line,
    Pieces,
    Point,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.errors import CardgenError
from cardgen.templating.colours import contrast as contrast
from cardgen.templating.colours import luminance as luminance
from cardgen.units import INCH_M, POINT_MM

Kind: TypeAlias = Literal["card", "booklet", "sheet", "handout", "form"]
Severity: TypeAlias = Literal["refuse", "warn"]

SMALLEST_PT = 6.0
"""Marks that are looked up; common practice in print, no source."""
BODY_PT = 7.5
"""Legge & Bigelow (2011), J. Vision 11(5):8: an x-height of 1.4 mm reads fluently at 40 cm."""
CALL_PT = 10.0
"""The figures of the call, to be read at arm's length; derived from the same."""
TEXT_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (AA)."""
GRAPHIC_CONTRAST = 3.0
"""WCAG 2.2, success criterion 1.4.11 (AA)."""
IMAGE_DPI, LEAST_DPI = 200.0, 100.0
"""Pixels to an inch that a picture should have, and must have; common practice, no source."""
_EITHER_WAY = frozenset({"sheet", "handout", "form"})  # kinds that a reader may turn
_PAPER = "#FFFFFF"
_SLACK_MM = 1e-3  # below any printer's dot
_SLACK_PT = 1e-6
_SLACK_DPI = 1e-6
_MM_M = 1e-3
_ASLANT = 1e-9  # a quarter turn by sine and cosine is not exact
_PIECES = 8  # of a drawn line, asked what they lie on
_SENTENCE = 3  # words, from which on a text is read and not looked up
_MARGINAL = frozenset({"footer", "folio", "slit word"})  # small type that is not a page's own text
_MARKS = frozenset({"cut mark", "fold mark", "slit", "hole mark"})


@dataclass(frozen=True)
class Finding:
    """A rule that a page breaks; ``page`` counts from 1, 0 is the whole document."""

    rule: str
    severity: Severity
    page: int
    message: str

    def __str__(self) -> str:
        """Return ``page 3: safe-area: what is wrong``."""
        place = f"page {self.page}: " if self.page else ""
        return f"{place}{self.rule}: {self.message}"


class PreflightError(CardgenError):
    """Pages that would not come out right; nothing is printed."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        """Keep the findings, each a line of the message."""
        self.findings = tuple(findings)
        super().__init__("\n".join(map(str, self.findings)))


def passed(
    scenes: Sequence[Scene], *, kind: Kind, forgiven: Collection[str] = ()
) -> tuple[Finding, ...]:
    """Return what ``preflight`` finds; raise PreflightError if it refuses anything.

    Rules that are ``forgiven`` refuse nothing: what breaks them is told all the same.
    """
    findings = preflight(scenes, kind=kind)
    refused = [f for f in findings if f.severity == "refuse" and f.rule not in forgiven]
    if refused:
        raise PreflightError(refused)
    return findings


def preflight(scenes: Sequence[Scene], *, kind: Kind) -> tuple[Finding, ...]:
    """Return what is wrong with the pages of a document, page by page.

    Cards are looked at before they are imposed, for a sheet knows nothing of their safe area.
    """
    findings = list(_of_document(scenes, kind))
    views: dict[_Bounds, _View] = {}
    for number, scene in enumerate(scenes, start=1):
        bounds = _bounds_of(scene)
        view = views.setdefault(bounds, _View(bounds, kind))
        page = _Page(view.shown(scene.items, Transform(), None))
        for rule, severity, message in dict.fromkeys(page.findings()):
            findings.append(Finding(rule, severity, number, message))
    return tuple(findings)


_Said: TypeAlias = tuple[str, Severity, str]
_Rect: TypeAlias = tuple[float, float, float, float]
"""Left, top, right, bottom on the page."""


def _of_document(scenes: Sequence[Scene], kind: Kind) -> Iterator[Finding]:
    if not scenes:
        yield Finding("page-count", "refuse", 0, "there is no page to print")
    sizes = {(round(s.width_mm, 2), round(s.height_mm, 2)) for s in scenes}
    if kind in _EITHER_WAY:
        sizes = {(min(size), max(size)) for size in sizes}
    if len(sizes) > 1:
        listed = ", ".join(f"{width:g} x {height:g}" for width, height in sorted(sizes))
        message = f"all pages of a {kind} should be of one size, not {listed} mm"
        yield Finding("page-size", "warn", 0, message)


@dataclass(frozen=True)
class _Bounds:
    """What is left of a page once it is cut, and where on that everything to be read stays."""

    trim: _Rect
    safe: _Rect
    safe_mm: float


def _bounds_of(scene: Scene) -> _Bounds:
    trim = scene.trim or Clip(0.0, 0.0, scene.width_mm, scene.height_mm)
    left, top = trim.x_mm, trim.y_mm
    right, bottom = left + trim.width_mm, top + trim.height_mm
    safe = scene.safe_mm
    return _Bounds(
        (left, top, right, bottom),
        (left + safe, top + safe, right - safe, bottom - safe),
        safe,
    )


@dataclass(frozen=True, eq=False)
class _Shown:
    """An item where it shows on a page, within a ``clip``, and what is wrong with it by itself.

    ``box`` is the extent of a text's ink, of a shape without its stroke's width. What stands
    ``aslant`` has more of it than is inked.
    """

    item: Line | Polyline | Curve | Disc | Text | Image | Field
    to_page: Transform
    clip: _Rect | None
    box: _Rect
    said: tuple[_Said, ...] = ()
    aslant: bool = False

    @cached_property
    def contours(self) -> list[list[Point]]:
        """The outlines of a polygon or a curve on the page."""
        if not isinstance(self.item, Polyline | Curve):
            return []
        place = self.to_page
        return [[place.point(*point) for point in contour] for contour in _contours(self.item)]

    def covers(self, x: float, y: float) -> bool:
        """Tell whether a filled shape shows at a point of the page."""
        if not _inside(self.box, x, y):
            return False
        item = self.item
        if isinstance(item, Disc):
            cx, cy = self.to_page.point(item.x_mm, item.y_mm)
            radius = item.radius_mm * _scale(self.to_page)
            return (x - cx) ** 2 + (y - cy) ** 2 <= radius**2
        windings = [_winding(contour, x, y) for contour in self.contours]
        if isinstance(item, Curve) and item.even_odd:
            return sum(windings) % 2 == 1
        return sum(windings) != 0


class _View:
    """Looks at the items of pages with the same bounds, each by itself.

    What many pages show alike, in the same place, is looked at once.
    """

    def __init__(self, bounds: _Bounds, kind: Kind) -> None:
        self._bounds = bounds
        self._kind = kind
        # The scenes outlive this, so no other items can come to have the same id.
        self._forms: dict[tuple[int, Transform, _Rect | None], list[_Shown]] = {}

    def shown(self, items: Sequence[Item], outer: Transform, clip: _Rect | None) -> list[_Shown]:
        """Return every item that shows, in the order of drawing, with its place and its clip."""
        found: list[_Shown] = []
        for item in items:
            if isinstance(item, Group):
                found += self._of_group(item, outer, clip)
            elif (one := self._one(item, outer, clip)) is not None:
                found.append(one)
        return found

    def _of_group(self, group: Group, outer: Transform, clip: _Rect | None) -> list[_Shown]:
        to_page = group.transform.then(outer)
        if (own := group.clip) is not None:
            ends = (own.x_mm + own.width_mm, own.y_mm + own.height_mm)
            box = _corners(to_page, own.x_mm, own.y_mm, *ends)
            clip = box if clip is None else _common(clip, box)
        if not group.form:
            return self.shown(group.items, to_page, clip)
        key = (id(group.items), to_page, clip)
        if key not in self._forms:
            self._forms[key] = self.shown(group.items, to_page, clip)
        return self._forms[key]

    def _one(
        self,
        item: Line | Polyline | Curve | Disc | Text | Image | Field,
        to_page: Transform,
        clip: _Rect | None,
    ) -> _Shown | None:
        """Return an item where it shows; None if it leaves nothing on the page."""
        if isinstance(item, Text):
            if not item.text.strip():
                return None
            box = _text_box(item, to_page)
            if clip is not None and not _meet(clip, box):
                return None
            said = (*_type(item, to_page), *self._placed_well(item.text, box, clip))
            return _Shown(item, to_page, clip, box, said, aslant=_is_aslant(to_page))
        if isinstance(item, Field):
            ends = (item.x_mm + item.width_mm, item.y_mm + item.height_mm)
            box = _corners(to_page, item.x_mm, item.y_mm, *ends)
            said = (*self._embedded(item), *self._placed_well(item.name, box, clip))
            return _Shown(item, to_page, clip, box, said)
        if isinstance(item, Image):
            box = _extent(item, to_page)
            if clip is not None and not _meet(clip, box):
                return None
            name = item.name or "a picture"
            said = (*_resolution(item, to_page), *self._drawn_in_margin(name, box, clip))
            return _Shown(item, to_page, clip, box, said)
        if not _is_inked(item):
            return None
        box = _extent(item, to_page)
        name = item.name or type(item).__name__
        said = () if item.name in _MARKS else tuple(self._drawn_in_margin(name, box, clip))
        return _Shown(item, to_page, clip, box, said)

    def _embedded(self, item: Field) -> Iterator[_Said]:
        if self._kind != "form":
            message = f"the field {item.name!r} would name a font that is not embedded"
            yield "font-embedding", "refuse", message

    def _placed_well(self, text: str, box: _Rect, clip: _Rect | None) -> Iterator[_Said]:
        beyond = _beyond(self._bounds.safe, box)
        if beyond > _SLACK_MM:
            message = f"{_quoted(text)} reaches {beyond:.1f} mm out of the safe area, which"
            ends = f"ends {self._bounds.safe_mm:g} mm from the edge"
            yield "safe-area", "refuse", f"{message} {ends}"
        if clip is not None:
            cut = _beyond(clip, box)
            if cut > _SLACK_MM:
                message = f"{_quoted(text)} is cut off by {cut:.1f} mm at the edge of its frame"
                yield "safe-area", "refuse", message

    def _drawn_in_margin(self, name: str, extent: _Rect, clip: _Rect | None) -> Iterator[_Said]:
        """Warn of a drawing in the margin, unless it runs out over the trim as a ground does."""
        if _beyond(self._bounds.safe, extent) <= _SLACK_MM:
            return
        shown = extent if clip is None else _common(extent, clip)
        if shown[0] > shown[2] or shown[1] > shown[3]:
            return
        beyond = _beyond(self._bounds.safe, shown)
        if beyond > _SLACK_MM and _beyond(self._bounds.trim, shown) < -_SLACK_MM:
            message = f"{name!r} is drawn {beyond:.1f} mm out of the safe area, which ends"
            yield "safe-area", "warn", f"{message} {self._bounds.safe_mm:g} mm from the edge"


def _type(item: Text, to_page: Transform) -> Iterator[_Said]:
    size = item.size_pt * _scale(to_page)
    if size < SMALLEST_PT - _SLACK_PT:
        message = f"{_quoted(item.text)} is set in {size:.3g} pt, below {SMALLEST_PT:g} pt"
        yield "minimum-type", "refuse", message
    elif item.name.startswith("figure-") and size < CALL_PT - _SLACK_PT:
        message = f"the figure {_quoted(item.text)} is set in {size:.3g} pt, below {CALL_PT:g}"
        yield "minimum-type", "refuse", f"{message} pt"
    elif size < BODY_PT - _SLACK_PT and _is_read(item):
        message = f"{_quoted(item.text)} is set in {size:.3g} pt, and what is read should have"
        yield "minimum-type", "warn", f"{message} {BODY_PT:g} pt"


def _resolution(item: Image, to_page: Transform) -> Iterator[_Said]:
    wide, high = item.pixels
    inches = _scale(to_page) * _MM_M / INCH_M
    dpi = min(wide / (item.width_mm * inches), high / (item.height_mm * inches))
    if dpi < IMAGE_DPI - _SLACK_DPI:
        refused = dpi < LEAST_DPI - _SLACK_DPI
        name = repr(item.name) if item.name else "a picture"
        wanted = f"must have {LEAST_DPI:g}" if refused else f"should have {IMAGE_DPI:g}"
        message = f"{name} of {wide} x {high} pixels prints with {math.floor(dpi)} to an inch"
        yield "image-resolution", "refuse" if refused else "warn", f"{message}, and {wanted}"


class _Page:
    """One page, with what lies on what."""

    def __init__(self, shown: Sequence[_Shown]) -> None:
        self._shown = shown
        self._fills: dict[_Rect | None, list[tuple[int, _Shown, str]]] = {}
        self._filled: dict[str, list[_Shown]] = {}
        self._poor_grounds: dict[tuple[str, float], _Poor] = {}

    def findings(self) -> Iterator[_Said]:
        """Yield what is wrong with the page: rule, severity, sentence."""
        texts: list[tuple[int, _Shown, Text]] = []
        strokes: list[tuple[int, _Shown, Stroke]] = []
        pictures: list[tuple[_Shown, Image]] = []
        for order, one in enumerate(self._shown):
            yield from one.said
            match one.item:
                case Text() as text:
                    texts.append((order, one, text))
                case Image() as picture:
                    pictures.append((one, picture))
                case Line() as line:
                    strokes.append((order, one, line.stroke))
                case Polyline() | Curve() | Disc() as shape:
                    if shape.stroke is not None:
                        strokes.append((order, one, shape.stroke))
                    if shape.fill is not None:
                        self._fills.setdefault(one.clip, []).append((order, one, shape.fill))
                        self._filled.setdefault(shape.fill, []).append(one)
        yield from _overlaps([(one, text) for _, one, text in texts])
        yield from _covered(pictures, [(one, text) for _, one, text in texts])
        for order, one, text in texts:
            yield from self._text_contrast(order, one, text)
        yield from self._graphic_contrast(strokes)

    def _text_contrast(self, order: int, one: _Shown, text: Text) -> Iterator[_Said]:
        poor = self._poor(text.colour, TEXT_CONTRAST)
        left, top, right, bottom = one.box
        under = self._under((left + right) / 2, (top + bottom) / 2, order, poor)
        if under is not None:
            ratio = contrast(text.colour, under)
            message = f"{_quoted(text.text)} in {text.colour} on {under} has a contrast of"
            yield "contrast", "refuse", f"{message} {_ratio(ratio)}, below {TEXT_CONTRAST:g}"

    def _graphic_contrast(self, strokes: Sequence[tuple[int, _Shown, Stroke]]) -> Iterator[_Said]:
        """Warn of strokes that lie for the most part on what they do not stand out from."""
        told = set()
        for order, one, stroke in strokes:
            poor = self._poor(stroke.colour, GRAPHIC_CONTRAST)
            if not poor.may_meet(one.box):
                continue
            item = one.item
            points = [one.to_page.point(*point) for point in _along(item)]
            unders = [self._under(x, y, order, poor) for x, y in points]
            lost = [under for under in unders if under is not None]
            if 2 * len(lost) <= len(points):
                continue
            under = lost[len(lost) // 2]
            name = getattr(item, "name", "")
            if (name, stroke.colour, under) in told:
                continue
            told.add((name, stroke.colour, under))
            what = repr(name) if name else f"a {type(item).__name__.lower()}"
            ratio = _ratio(contrast(stroke.colour, under))
            message = f"{what} in {stroke.colour} on {under} has a contrast of {ratio}, below"
            yield "contrast", "warn", f"{message} {GRAPHIC_CONTRAST:g}"

    def _under(self, x: float, y: float, order: int, poor: "_Poor") -> str | None:
        """Return the colour under a point at the time of drawing, if it is a poor ground."""
        if not poor.may_meet((x, y, x, y)):
            return None
        last, under = -1, _PAPER
        for clip, fills in self._fills.items():
            if clip is None or _inside(clip, x, y):
                for drawn, shape, colour in reversed(fills):
                    if drawn <= last:
                        break
                    if drawn < order and shape.covers(x, y):
                        last, under = drawn, colour
                        break
        return under if under in poor.grounds else None

    def _poor(self, colour: str, wanted: float) -> "_Poor":
        """Return where on this page ``colour`` has too little contrast."""
        key = (colour, wanted)
        if key not in self._poor_grounds:
            found = (_PAPER, *self._filled)
            grounds = frozenset(g for g in found if _contrast(colour, g) < wanted)
            boxes = [
                one.box if one.clip is None else _common(one.box, one.clip)
                for ground in grounds
                for one in self._filled.get(ground, ())
            ]
            self._poor_grounds[key] = _Poor(grounds, boxes, _PAPER in grounds)
        return self._poor_grounds[key]


@dataclass(frozen=True)
class _Poor:
    """Grounds that a colour does not stand out from, and the extents of what they fill.

    Most colours stand out from nearly all that a page is filled with, so these are asked first.
    """

    grounds: frozenset[str]
    boxes: list[_Rect]
    paper: bool

    def may_meet(self, box: _Rect) -> bool:
        """Tell whether some of the grounds may lie under a rectangle of the page."""
        if self.paper:
            return True
        left, top, right, bottom = box
        for other_left, other_top, other_right, other_bottom in self.boxes:
            if (
                left <= other_right
                and right >= other_left
                and top <= other_bottom
                and bottom >= other_top
            ):
                return True
        return False


_contrast = lru_cache(maxsize=1024)(contrast)  # pages have few colours


def _is_inked(item: Line | Polyline | Curve | Disc) -> bool:
    """Tell whether a shape leaves anything on the page."""
    if isinstance(item, Polyline) and not item.points_mm:
        return False
    return item.stroke is not None or (not isinstance(item, Line) and item.fill is not None)


def _is_read(item: Text) -> bool:
    """Tell whether a text is one to read: not a mark, and nothing in a sheet's margin."""
    words = [word for word in item.text.split() if any(c.isalpha() for c in word)]
    return len(words) >= _SENTENCE and item.name not in _MARGINAL


def _ratio(ratio: float) -> str:
    """Return a ratio cut, not rounded, to two places: 4.499 is not 4.5."""
    return f"{math.floor(ratio * 100) / 100:g}"


def _common(one: _Rect, other: _Rect) -> _Rect:
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def _text_box(item: Text, to_page: Transform) -> _Rect:
    """Return a text's extent: its advances across, its ink up and down."""
    width = width_mm(item.text, item.size_pt, item.weight)
    left = item.x_mm
    if item.align is Align.MIDDLE:
        left -= width / 2
    elif item.align is Align.END:
        left -= width
    rise_em, drop_em = _ink_em(item.text, item.weight)
    em = item.size_pt * POINT_MM
    top, bottom = item.y_mm - rise_em * em, item.y_mm + drop_em * em
    return _corners(to_page, left, top, left + width, bottom)


def _is_aslant(to_page: Transform) -> bool:
    return max(abs(to_page.a * to_page.b), abs(to_page.c * to_page.d)) > _ASLANT


@lru_cache(maxsize=8192)
def _ink_em(text: str, weight: Weight) -> tuple[float, float]:
    """Return how far the ink of a text rises above and drops below its baseline."""
    outlines, font = _outlines_em(weight), metrics(weight)
    whole = (font.ascent_em, font.descent_em)
    inks = [outlines.get(c) or fallback_ink_em(c, weight) or whole for c in text if not c.isspace()]
    return max(rise for rise, _ in inks), max(drop for _, drop in inks)


@cache
def _outlines_em(weight: Weight) -> dict[str, tuple[float, float]]:
    """Return for each character how far it rises and drops (OpenType: the heads in glyf).

    A font without such a table gives nothing, and its texts are taken to be as high as can be.
    """
    from fontTools.ttLib import TTFont

    with TTFont(font_path(weight), lazy=True) as font:
        if "glyf" not in font:
            return {}
        em, data, places = font["head"].unitsPerEm, font.getTableData("glyf"), font["loca"]
        found = {}
        for code, name in font.getBestCmap().items():
            start, end = places[(glyph := font.getGlyphID(name))], places[glyph + 1]
            if start < end:
                _, _, low, _, high = unpack_from(">5h", data, start)
                found[chr(code)] = (high / em, -low / em)
        return found


def _overlaps(texts: Sequence[tuple[_Shown, Text]]) -> Iterator[_Said]:
    """Yield each two texts that lie on each other, looking only at those that may."""
    waiting: list[tuple[int, _Rect]] = []
    for order, (one, _) in sorted(enumerate(texts), key=lambda each: each[1][0].box[1]):
        top, left, right = one.box[1] + _SLACK_MM, one.box[0] + _SLACK_MM, one.box[2] - _SLACK_MM
        waiting = [(other, box) for other, box in waiting if box[3] > top]
        for other, box in waiting:
            if box[2] > left and box[0] < right:
                (first, under), (second, over) = (texts[k] for k in sorted((order, other)))
                message = f"{_quoted(over.text)} lies on {_quoted(under.text)}"
                aslant = first.aslant or second.aslant
                yield "overlap", "warn" if aslant else "refuse", message
        waiting.append((order, one.box))


def _covered(
    pictures: Sequence[tuple[_Shown, Image]], texts: Sequence[tuple[_Shown, Text]]
) -> Iterator[_Said]:
    """Yield each text that a picture touches: nothing is known of the colours there."""
    for shown, picture in pictures:
        left, top, right, bottom = shown.box
        for one, text in texts:
            across = min(right, one.box[2]) - max(left, one.box[0])
            along = min(bottom, one.box[3]) - max(top, one.box[1])
            if across > _SLACK_MM and along > _SLACK_MM:
                name = repr(picture.name) if picture.name else "a picture"
                yield "overlap", "refuse", f"{name} and {_quoted(text.text)} lie on each other"


def _quoted(text: str) -> str:
    return f"“{text if len(text) <= 40 else text[:39].rstrip() + '…'}”"


def _scale(to_page: Transform) -> float:
    a, b, c, d = to_page.a, to_page.b, to_page.c, to_page.d
    return math.sqrt(abs(a * d - b * c))


def _corners(to_page: Transform, left: float, top: float, right: float, bottom: float) -> _Rect:
    """Return the extent on the page of a rectangle."""
    a, b, c, d, e, f = to_page.a, to_page.b, to_page.c, to_page.d, to_page.e, to_page.f
    if b == c == 0.0:
        x1, x2, y1, y2 = a * left + e, a * right + e, d * top + f, d * bottom + f
        return (min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))
    xs = [a * x + c * y + e for x in (left, right) for y in (top, bottom)]
    ys = [b * x + d * y + f for x in (left, right) for y in (top, bottom)]
    return (min(xs), min(ys), max(xs), max(ys))


def _extent(item: Line | Polyline | Curve | Disc | Image, to_page: Transform) -> _Rect:
    """Return the extent on the page of a shape, without its stroke's width."""
    if isinstance(item, Line):
        ends = (item.x1_mm, item.y1_mm, item.x2_mm, item.y2_mm)
    elif isinstance(item, Disc):
        x, y, r = item.x_mm, item.y_mm, item.radius_mm
        ends = (x - r, y - r, x + r, y + r)
    elif isinstance(item, Image):
        x, y = item.x_mm, item.y_mm
        ends = (x, y, x + item.width_mm, y + item.height_mm)
    else:
        contours = _contours(item)
        xs, ys = zip(*(point for contour in contours for point in contour), strict=True)
        ends = (min(xs), min(ys), max(xs), max(ys))
    return _corners(to_page, *ends)


def _contours(item: Polyline | Curve) -> tuple[tuple[Point, ...], ...]:
    return (item.points_mm,) if isinstance(item, Polyline) else _flattened(item)


@lru_cache(maxsize=2048)
def _flattened(curve: Curve, steps: int = 12) -> tuple[tuple[Point, ...], ...]:
    """Return points along each contour, close enough to tell inside from outside."""
    return tuple(tuple(_points_along(*contour, steps)) for contour in curve.contours_mm)


def _points_along(start: Point, pieces: Pieces, steps: int) -> Iterator[Point]:
    yield start
    x0, y0 = start
    for (x1, y1), (x2, y2), (x3, y3) in pieces:
        for step in range(1, steps + 1):
            t = step / steps
            s = 1 - t
            k0, k1, k2, k3 = s**3, 3 * s * s * t, 3 * s * t * t, t**3
            yield (k0 * x0 + k1 * x1 + k2 * x2 + k3 * x3, k0 * y0 + k1 * y1 + k2 * y2 + k3 * y3)
        x0, y0 = x3, y3


def _along(item: Item) -> list[Point]:
    """Return some points along a shape's stroke, in its own coordinates."""
    match item:
        case Disc():
            x, y, r = item.x_mm, item.y_mm, item.radius_mm
            return [(x - r, y), (x, y - r), (x + r, y), (x, y + r)]
        case Line():
            contours: Sequence[Sequence[Point]] = (
                ((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)),
            )
        case Polyline() | Curve():
            contours = _contours(item)
        case _:
            return []
    pieces = [piece for contour in contours for piece in pairwise(contour)]
    pieces = pieces[:: max(1, len(pieces) // _PIECES)]
    return [
        (x1 + share * (x2 - x1), y1 + share * (y2 - y1))
        for (x1, y1), (x2, y2) in pieces
        for share in (0.25, 0.75)
    ]


def _inside(box: _Rect, x: float, y: float) -> bool:
    return box[0] <= x <= box[2] and box[1] <= y <= box[3]


def _meet(one: _Rect, other: _Rect) -> bool:
    return one[0] <= other[2] and one[2] >= other[0] and one[1] <= other[3] and one[3] >= other[1]


def _beyond(frame: _Rect, box: _Rect) -> float:
    """Return by how much a box reaches out of a frame at the worst side, below 0 if it does not."""
    return max(frame[0] - box[0], frame[1] - box[1], box[2] - frame[2], box[3] - frame[3])


def _winding(polygon: list[Point], x: float, y: float) -> int:
    """Return how often a polygon winds around a point (ISO 32000-1, 8.5.3.3.2)."""
    winding = 0
    x1, y1 = polygon[-1]
    for x2, y2 in polygon:
        if (y1 <= y) != (y2 <= y):
            side = (x2 - x1) * (y - y1) - (x - x1) * (y2 - y1)
            if (y2 > y1) == (side > 0):
                winding += 1 if y2 > y1 else -1
        x1, y1 = x2, y2
    return winding
