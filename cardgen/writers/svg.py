"""A scene to SVG: the only module that knows svgwrite.

One unit of the drawing is one millimetre. Text stays text, with the subset of the card font that
it uses carried inside the file, so that it looks alike wherever it is opened. Who cannot see the
drawing is told its title and its description.
"""

import base64
import re
import zlib
from collections.abc import Sequence
from math import isfinite
from typing import TypeAlias

import svgwrite
from svgwrite.base import BaseElement, Desc, Title
from svgwrite.container import Style

from cardgen.atomicfile import SVG_DESC
from cardgen.drawing import fonts
from cardgen.drawing.fallback import Fallback
from cardgen.drawing.fields import face
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
    Point,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.told import description_of
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo, page_title

_DIGITS = 4  # a tenth of a micrometre
_MITRE_LIMIT = 10  # as in PDF (ISO 32000-1, table 52); SVG would take 4
_ANCHORS = {Align.START: None, Align.MIDDLE: "middle", Align.END: "end"}
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_NOT_IN_A_FAMILY = re.compile(r"[^\w .-]+")
_NOT_IN_A_CLASS = re.compile(r"[^a-z0-9]+")
# Everything that XML 1.0, production 2 (Char) leaves out.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def svg_text(scene: Scene, info: DocumentInfo) -> str:
    """Return ``scene`` as an SVG 1.1 document; the same scene and info give the same text.

    Raises ValueError for a number that is not finite and a colour that is not ``#rrggbb``;
    InputError for a character that no font can print.
    """
    width, height = _number(scene.width_mm), _number(scene.height_mm)
    drawing = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    drawing.attribs["xml:lang"] = _xml(info.language)
    drawing.attribs["style"] = "background:#fff"  # paper, also where a viewer's page is dark
    drawing.attribs["stroke-miterlimit"] = _MITRE_LIMIT
    used = _used(scene)
    # A viewer takes each character from the first family that has it.
    families = dict.fromkeys([_family(None), *(_family(font) for font, _ in used)])
    drawing.attribs["font-family"] = ", ".join([*(f"'{name}'" for name in families), "sans-serif"])
    _say(drawing, page_title(scene, info), description_of(scene), info.subject)
    if style := _style(used):
        drawing.defs.add(Style(style, debug=False))
    _Pen(drawing).draw(scene.items, drawing)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{drawing.tostring()}\n'


def _say(drawing: svgwrite.Drawing, title: str, description: str, subject: str) -> None:
    """Say what the drawing is and what it shows, and in a ``desc`` of its own who made it.

    The first ``desc`` is the one that is read out (SVG 2, 5.8; SVG 1.1 allows any number). A page
    may hold many drawings, so the ids are made of what they stand for.
    """
    title, description = _xml(title), _xml(description)
    told = {"title": Title(title), "desc": Desc(description)} if description else {}
    told = told or {"title": Title(title)}
    mark = f"{zlib.crc32(f'{title}|{description}'.encode()):08x}"
    for number, (name, element) in enumerate(told.items()):
        element.xml.set("id", f"{name}-{mark}")
        drawing.elements.insert(number, element)
    drawing.elements.insert(len(told), Desc(_xml(f"{SVG_DESC} {subject}".strip())))
    drawing.attribs["role"] = "img"
    drawing.attribs["aria-labelledby"] = " ".join(f"{name}-{mark}" for name in told)


_Used: TypeAlias = dict[tuple[Fallback | None, Weight], set[str]]
"""Characters by the font that sets them, None the card font, and by weight."""


def _used(scene: Scene) -> _Used:
    """Return what the scene's texts use, the card font first."""
    used: _Used = {}
    for item, _ in scene.walk():
        shown = face(item) if isinstance(item, Field) else item
        if isinstance(shown, Text):
            for run in fonts.runs(shown.text, shown.weight):
                used.setdefault((run.fallback, shown.weight), set()).update(_shown(run.text))
    weights = list(Weight)

    def order(key: tuple[Fallback | None, Weight]) -> tuple[str, int]:
        return ("" if key[0] is None else _family(key[0]), weights.index(key[1]))

    return {key: used[key] for key in sorted(used, key=order)}


def _family(font: Fallback | None) -> str:
    name = fonts.FAMILY if font is None else font.family
    return _NOT_IN_A_FAMILY.sub("", name) or "fallback"


def _style(used: _Used) -> str:
    """Return the @font-face rules for what is used, and the type's behaviour."""
    if not used:
        return ""
    faces = [
        f"@font-face{{font-family:'{_family(font)}';font-weight:{fonts.CSS_WEIGHTS[weight]};"
        f"src:url(data:font/ttf;base64,{_base64(font, weight, characters)})format('truetype')}}"
        for (font, weight), characters in used.items()
    ]
    return "".join([*faces, "text{font-kerning:none;font-variant-ligatures:none}"])


def _base64(font: Fallback | None, weight: Weight, characters: set[str]) -> str:
    text = "".join(characters)
    data = fonts.subset_ttf(weight, text) if font is None else font.subset(text)
    return base64.b64encode(data).decode("ascii")


class _Pen:
    """Adds items to elements of one drawing."""

    def __init__(self, drawing: svgwrite.Drawing) -> None:
        self._drawing = drawing
        self._clips: set[str] = set()

    def draw(self, items: Sequence[Item], into: BaseElement) -> None:
        for item in items:
            match item:
                case Line():
                    element = self._line(item)
                case Polyline():
                    element = self._polyline(item)
                case Curve():
                    element = self._curve(item)
                case Disc():
                    element = self._disc(item)
                case Image():
                    element = self._image(item)
                case Text():
                    element = self._text(item)
                case Field():
                    element = self._field(item)
                case Group():
                    element = self._group(item)
            if element is not None:
                if item.name:
                    element.attribs["class"] = class_name(item.name)
                into.add(element)

    def _line(self, item: Line) -> BaseElement:
        start, end = _pair((item.x1_mm, item.y1_mm)), _pair((item.x2_mm, item.y2_mm))
        return self._drawing.line(start, end, **_paint(item.stroke, None))

    def _polyline(self, item: Polyline) -> BaseElement | None:
        if not item.points_mm or (item.stroke is None and item.fill is None):
            return None
        make = self._drawing.polygon if item.closed else self._drawing.polyline
        return make([_pair(point) for point in item.points_mm], **_paint(item.stroke, item.fill))

    def _curve(self, item: Curve) -> BaseElement | None:
        if item.stroke is None and item.fill is None:
            return None
        steps = []
        for start, pieces in item.contours_mm:
            steps.append(f"M{_joined(start)}")
            steps += [f"C{' '.join(map(_joined, piece))}" for piece in pieces]
            steps += ["Z"] if item.closed else []
        paint = _paint(item.stroke, item.fill)
        if item.even_odd:
            paint["fill_rule"] = "evenodd"
        return self._drawing.path("".join(steps), **paint)

    def _disc(self, item: Disc) -> BaseElement | None:
        if item.stroke is None and item.fill is None:
            return None
        centre, radius = _pair((item.x_mm, item.y_mm)), _number(item.radius_mm)
        return self._drawing.circle(centre, radius, **_paint(item.stroke, item.fill))

    def _image(self, item: Image) -> BaseElement:
        data = f"data:image/png;base64,{base64.b64encode(item.png).decode('ascii')}"
        size = (item.width_mm, item.height_mm)
        element = self._drawing.image(data, _pair((item.x_mm, item.y_mm)), _pair(size))
        element.attribs["preserveAspectRatio"] = "none"  # the box is the picture's, as in the PDF
        if item.alt:
            element.attribs["role"] = "img"
            element.set_desc(title=_xml(item.alt))
        return element

    def _text(self, item: Text) -> BaseElement | None:
        if not item.text:
            return None
        fonts.width_mm(item.text, item.size_pt, item.weight)  # refuses what has no glyph
        runs = fonts.runs(item.text, item.weight)
        whole = _shown(item.text) if all(run.fallback is None for run in runs) else ""
        element = self._drawing.text(
            whole, insert=_pair((item.x_mm, item.y_mm)), fill=_colour(item.colour)
        )
        # Not every viewer looks through all families for a letter that the first one lacks.
        for run in () if whole else runs:
            part = self._drawing.tspan(_shown(run.text))
            if run.fallback is not None:
                part.attribs["font-family"] = f"'{_family(run.fallback)}'"
            element.add(part)
        element.attribs["font-size"] = _number(item.size_pt * POINT_MM)
        element.attribs["font-weight"] = fonts.CSS_WEIGHTS[item.weight]
        element.attribs["text-anchor"] = _ANCHORS[item.align]
        element.attribs["xml:space"] = "preserve"  # the PDF shows every space, too
        return element

    def _field(self, item: Field) -> BaseElement | None:
        """A drawing cannot be filled in: show what stands in the field, as paper does."""
        shown = face(item)
        if shown is None:
            return None
        element = self._drawing.g()
        self.draw((shown,), element)
        return element

    def _group(self, item: Group) -> BaseElement:
        element = self._drawing.g()
        if item.transform != Transform():
            turn = item.transform
            numbers = map(_number, (turn.a, turn.b, turn.c, turn.d, turn.e, turn.f))
            element.attribs["transform"] = f"matrix({' '.join(numbers)})"
        if item.clip is not None:
            element.attribs["clip-path"] = f"url(#{self._clip(item.clip)})"
        self.draw(item.items, element)
        return element

    def _clip(self, clip: Clip) -> str:
        x, y, width, height = map(_number, (clip.x_mm, clip.y_mm, clip.width_mm, clip.height_mm))
        # Named for what it is, so that drawings put into one page cannot take each other's clips.
        name = f"clip-{x}-{y}-{width}-{height}"
        if name not in self._clips:
            self._clips.add(name)
            path = self._drawing.clipPath(id=name)
            path.add(self._drawing.rect((x, y), (width, height)))
            self._drawing.defs.add(path)
        return name


def class_name(name: str) -> str:
    """Return an item's name as one CSS class: lower-case letters, digits and single dashes."""
    dashed = _NOT_IN_A_CLASS.sub("-", name.lower()).strip("-")
    return dashed if dashed[:1].isalpha() else f"item-{dashed}".rstrip("-")


def _paint(stroke: Stroke | None, fill: str | None) -> dict[str, str]:
    paint = {"fill": "none" if fill is None else _colour(fill)}
    if stroke is not None:
        paint["stroke"] = _colour(stroke.colour)
        paint["stroke_width"] = _number(stroke.width_mm)
        if stroke.dash_mm:
            paint["stroke_dasharray"] = " ".join(map(_number, stroke.dash_mm))
        if stroke.round_ends:
            paint["stroke_linecap"] = paint["stroke_linejoin"] = "round"
    return paint


def _number(value: float) -> str:
    if not isfinite(value):
        raise ValueError(f"every number on paper must be finite, not {value}")
    text = f"{value:.{_DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _pair(point: Point) -> tuple[str, str]:
    return _number(point[0]), _number(point[1])


def _joined(point: Point) -> str:
    return ",".join(_pair(point))


def _colour(colour: str) -> str:
    if not _COLOUR.fullmatch(colour):
        raise ValueError(f"a colour is written #rrggbb, not {colour!r}")
    return colour


def _shown(text: str) -> str:
    return text.replace("\u00a0", " ")  # as wide as a space, as in the PDF


def _xml(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)
