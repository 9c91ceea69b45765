"""An SVG logo: its plain shapes as outlines; whatever reaches out of the file is refused.

What is read is a small part of SVG 1.1: groups and shapes with ``transform``, ``fill``,
``fill-rule``, ``stroke`` and ``stroke-width``, as attributes or in ``style``.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any
from xml.etree import ElementTree as ET

from fontTools.misc.transform import Identity, Transform
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from PIL import ImageColor

from cardgen.templating.logo import Contour, LogoError, Outlines, Point, Shape

MAX_BYTES = 500_000
MAX_DEPTH = 30
MAX_PIECES = 20_000
"""Lines and curves of a logo; a drawn one has hundreds, a traced photograph more than prints."""
MAX_LENGTH = 60
"""Characters of a length; the longest double has 24."""
_FAR = 1e6
_SVG = "http://www.w3.org/2000/svg"
_SILENT = frozenset({"title", "desc", "metadata", "defs"})  # nothing of them shows
_REFUSED = {
    "script": "a logo cannot run anything: take it out",
    "style": "write colours as attributes of the shapes: plain SVG with presentation attributes",
    "image": "use the picture itself as the logo, as PNG",
    "use": "export with its copies written out, as plain paths",
    "symbol": "export with its copies written out, as plain paths",
    "foreignObject": "export as plain paths",
    "text": "convert text to outlines",
    "a": "a logo on paper leads nowhere: take the link out",
    "animate": "a logo on paper stands still: take it out",
    "set": "a logo on paper stands still: take it out",
}
_PAINT_SERVERS = frozenset({"linearGradient", "radialGradient", "pattern", "filter", "mask"})
_GRADIENT = "fill it with one plain colour; gradients, patterns, masks and clips are not printed"
_PROPERTIES = ("transform", "fill", "fill-rule", "stroke", "stroke-width", "display", "visibility")
_FADING = ("opacity", "fill-opacity", "stroke-opacity")
_FULL, _NOTHING = ("1", "1.0", "100%"), ("0", "0.0", "0%")
_NO_INK = frozenset({"none", "transparent"})
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"({_NUMBER})\s*(px|pt|pc|mm|cm|in)?")
_PX = {None: 1.0, "px": 1.0, "pt": 4 / 3, "pc": 16.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0}
"""CSS Values and Units 3, 5.2: an inch is 96 px."""
_NUMBERS = re.compile(_NUMBER)
_PATH = re.compile(r"[MmZzLlHhVvCcSsQqTtAa0-9eE.,+\- ]*")
_ONE_TRANSFORM = re.compile(r"\s*,?\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}


@dataclass(frozen=True)
class SvgLogo:
    """A logo that was read, and sentences on what of it will not print."""

    outlines: Outlines
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class _Look:
    """What a shape takes from the groups around it."""

    place: Transform
    fill: str | None = "#000000"
    even_odd: bool = False
    stroke: str | None = None
    stroke_width: float = 1.0
    shown: bool = True


def read_svg(data: bytes) -> SvgLogo:
    """Return the shapes in the bytes of an SVG file.

    Raises LogoError for what is no SVG, for what shows nothing, and for whatever could reach out of
    the file, run, or not be printed as it looks.
    """
    reader = _Reader()
    root = _parsed(data)
    if _local(root) != "svg":
        raise LogoError(f"is not SVG: its outermost element is {_local(root)!r}")
    width, height, place = _frame(root)
    reader.walk(root, _Look(place), 1)
    if not reader.shapes:
        raise LogoError("shows nothing", "it needs a shape with a fill or a stroke")
    return SvgLogo(Outlines(width, height, tuple(reader.shapes)), tuple(reader.warnings))


class _Builder(ET.TreeBuilder):
    """Refuses what an attack needs before it is acted on; the base decides the arguments."""

    def doctype(self, name: str, pubid: str | None, system: str | None) -> None:  # noqa: ARG002  # the parser's
        raise LogoError("has a DOCTYPE", "delete everything from <!DOCTYPE to its >")

    def pi(self, target: str, text: str | None = None) -> Any:  # noqa: ARG002  # the parser's
        raise LogoError(f"has the instruction <?{target[:30]}", "delete it")


def _parsed(data: bytes) -> ET.Element:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise LogoError("is not text in UTF-8", "save it as plain SVG in UTF-8") from None
    # A builder is told of a DOCTYPE late, after what it declares has been read.
    if re.search(r"<!(DOCTYPE|ENTITY)", text, re.IGNORECASE):
        raise LogoError("has a DOCTYPE", "delete everything from <!DOCTYPE to its >")
    parser = ET.XMLParser(target=_Builder(insert_pis=True))
    try:
        parser.feed(text)
        return parser.close()
    except ET.ParseError as error:
        line, column = error.position
        raise LogoError(f"is not XML: line {line}, column {column + 1}") from None
    except ValueError as error:
        if isinstance(error, LogoError):
            raise
        raise LogoError("is not XML", "save it as plain SVG in UTF-8") from None


def _local(element: ET.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _is_foreign(element: ET.Element) -> bool:
    """Tell whether an element is an editor's own note, of another namespace."""
    tag = str(element.tag)
    return tag.startswith("{") and not tag.startswith(f"{{{_SVG}}}")


class _Reader:
    """Walks the elements and keeps the shapes."""

    def __init__(self) -> None:
        self.shapes: list[Shape] = []
        self.warnings: list[str] = []
        self._pieces = 0

    def walk(self, element: ET.Element, look: _Look, depth: int) -> None:
        """Keep the shapes of an element and of what is in it."""
        _refuse(element, depth)
        name = _local(element)
        silent = name in _SILENT or _is_foreign(element)
        if not silent and name not in ("svg", "g", *_PATHS):
            raise LogoError(f"has the element {name[:30]!r}", "export as plain paths")
        if name == "svg" and depth > 1:
            raise LogoError("has an svg in an svg", "export as plain paths")
        if not silent:
            own = self._own(element)
            look = _styled(look, own, name)
            if name in _PATHS and look.shown:
                self._shape(element, name, look)
        for child in element:
            if silent:
                _check_all(child, depth + 1)
            else:
                self.walk(child, look, depth + 1)

    def _own(self, element: ET.Element) -> Mapping[str, str]:
        """Return an element's properties: those of its style come before its attributes."""
        found = {
            key: element.attrib[key] for key in (*_PROPERTIES, *_FADING) if key in element.attrib
        }
        for declaration in element.get("style", "").split(";"):
            key, _, value = declaration.partition(":")
            if value and key.strip() != "transform":  # CSS writes it otherwise
                found[key.strip()] = value.strip()
        found = {key: value.replace("!important", "").strip() for key, value in found.items()}
        for key in _FADING:
            if found.get(key, "1") not in (*_FULL, *_NOTHING):
                self._warn(f"its {key} is left out: it prints at full strength")
        return found

    def _warn(self, message: str) -> None:
        if message not in self.warnings:
            self.warnings.append(message)

    def _shape(self, element: ET.Element, name: str, look: _Look) -> None:
        if look.fill is None and look.stroke is None:
            return
        d = _PATHS[name](element)
        place = look.place
        contours = tuple(_contours(d, place))
        self._pieces += sum(len(contour.pieces) for contour in contours)
        if self._pieces > MAX_PIECES:
            raise LogoError(f"has more than {MAX_PIECES} lines and curves", "simplify its paths")
        if not contours:
            return
        scale = math.sqrt(abs(place[0] * place[3] - place[1] * place[2]))
        width = look.stroke_width * scale
        stroke = look.stroke if width > 0 else None
        fill = None if name == "line" else look.fill
        if fill is None and stroke is None:
            return
        self.shapes.append(Shape(contours, fill, look.even_odd, stroke, width if stroke else 0.0))


def _check_all(element: ET.Element, depth: int) -> None:
    """Refuse what must not stand even where nothing of it shows."""
    _refuse(element, depth)
    for child in element:
        _check_all(child, depth + 1)


def _refuse(element: ET.Element, depth: int) -> None:
    """Refuse an element that could reach out, run, or hide something."""
    if depth > MAX_DEPTH:
        raise LogoError(
            f"has more than {MAX_DEPTH} elements in each other", "export as plain paths"
        )
    name = _local(element)
    if name in _REFUSED:
        raise LogoError(f"has the element {name!r}", _REFUSED[name])
    for key, value in element.attrib.items():
        attribute = key.rpartition("}")[2]
        if attribute.lower().startswith("on"):
            raise LogoError(f"has the attribute {attribute[:30]!r}", "a logo cannot run anything")
        if attribute.lower() in ("href", "src") and not (
            name in _PAINT_SERVERS and value.startswith("#")
        ):
            raise LogoError(f"has the attribute {attribute!r}", "a logo cannot refer to anything")
        if "url(" in value.lower().replace(" ", ""):
            raise LogoError(f"refers to something in {attribute[:30]!r}", _GRADIENT)


def _frame(root: ET.Element) -> tuple[float, float, Transform]:
    """Return the drawing's size and what brings its coordinates there, top left at the origin."""
    if "viewBox" in root.attrib:
        numbers = _numbers(root.attrib["viewBox"], "viewBox")
        if len(numbers) == 4 and 0 < numbers[2] <= _FAR and 0 < numbers[3] <= _FAR:
            left, top, width, height = numbers
            return width, height, Identity.translate(-left, -top)
        raise LogoError("has a viewBox that is not four numbers, the last two above 0")
    width, height = (
        _length(root, key) if key in root.attrib else 0.0 for key in ("width", "height")
    )
    if not (0 < width <= _FAR and 0 < height <= _FAR):
        raise LogoError("tells no size", "it needs a viewBox, or width and height")
    return width, height, Identity


def _styled(look: _Look, own: Mapping[str, str], name: str) -> _Look:
    place = look.place.transform(_transform(own["transform"])) if "transform" in own else look.place
    clear = {key for key in _FADING if own.get(key) in _NOTHING}
    return replace(
        look,
        place=place,
        fill=None if "fill-opacity" in clear else _colour(own.get("fill"), look.fill),
        stroke=None if "stroke-opacity" in clear else _colour(own.get("stroke"), look.stroke),
        even_odd=look.even_odd if "fill-rule" not in own else own["fill-rule"] == "evenodd",
        stroke_width=look.stroke_width
        if "stroke-width" not in own
        else _measure(own["stroke-width"], f"{name}'s stroke-width"),
        shown=look.shown
        and "opacity" not in clear
        and own.get("display") != "none"
        and own.get("visibility") != "hidden",
    )


def _colour(given: str | None, inherited: str | None) -> str | None:
    """Return a paint as ``#rrggbb``, None for no ink (SVG 1.1, 11.2)."""
    if given is None or given == "inherit":
        return inherited
    if given in _NO_INK:
        return None
    if given == "currentColor":
        return "#000000"
    try:
        red, green, blue, *alpha = ImageColor.getrgb(given[:40])
    except ValueError:
        message = f"has the colour {given[:30]!r}, which is none that prints"
        raise LogoError(message, "write it as #rrggbb") from None
    return None if alpha == [0] else f"#{red:02X}{green:02X}{blue:02X}"


def _length(element: ET.Element, key: str) -> float:
    """Return an attribute's length in the drawing's units; 0 where there is none."""
    given = element.get(key)
    return 0.0 if given is None else _measure(given, f"{_local(element)}'s {key}")


def _measure(given: str, what: str) -> float:
    given = given.strip()
    # What is matched is short: a regular expression goes back over a long one again and again.
    found = _LENGTH.fullmatch(given) if len(given) <= MAX_LENGTH else None
    value = float(found[1]) * _PX[found[2]] if found else math.inf
    if not abs(value) <= _FAR:
        raise LogoError(f"has a {what} of {given[:20]!r}, which is no length here")
    return value


def _numbers(text: str, what: str) -> list[float]:
    """Return the numbers of a list with commas or spaces, and nothing else, between them."""
    if _NUMBERS.sub("", text).strip(", \t\r\n"):
        raise LogoError(f"has a {what} with something in it that is no number")
    numbers = [float(number) for number in _NUMBERS.findall(text)]
    if not all(abs(number) <= _FAR for number in numbers):
        raise LogoError(f"has a {what} with a number out of all range")
    return numbers


def _transform(text: str) -> Transform:
    """Return what a transform attribute does (SVG 1.1, 7.6), the innermost last."""
    made, at = Identity, 0
    while at < len(text.rstrip()):
        found = _ONE_TRANSFORM.match(text, at)
        numbers = _numbers(found[2], "transform") if found else []
        if found is None or len(numbers) not in _COUNTS[found[1]]:
            raise LogoError(f"has a transform that cannot be read: {text[:40]!r}")
        made = made.transform(_one_transform(found[1], numbers))
        at = found.end()
    return made


def _one_transform(kind: str, numbers: list[float]) -> Transform:
    first, rest = numbers[0], numbers[1:]
    match kind:
        case "matrix":
            return Transform(*numbers)
        case "translate":
            return Identity.translate(first, rest[0] if rest else 0.0)
        case "scale":
            return Identity.scale(first, rest[0] if rest else first)
        case "rotate":
            x, y = rest or (0.0, 0.0)
            turn = Identity.translate(x, y).rotate(math.radians(first))
            return turn.translate(-x, -y)
        case "skewX":
            return Transform(1, 0, math.tan(math.radians(first)), 1, 0, 0)
    return Transform(1, math.tan(math.radians(first)), 0, 1, 0, 0)


def _contours(d: str, place: Transform) -> Iterator[Contour]:
    """Yield a path's contours, every piece a cubic, where ``place`` puts them."""
    clean = " ".join(d.split())
    if not _PATH.fullmatch(clean):
        raise LogoError("has a path with something in it that is no command and no number")
    pen = RecordingPen()
    try:
        parse_path(clean, pen)
    except (ValueError, IndexError, OverflowError, ZeroDivisionError) as error:
        raise LogoError(f"has a path that cannot be read ({type(error).__name__})") from None
    start: Point = (0.0, 0.0)
    at: Point = start
    pieces: list[tuple[Point, Point, Point]] = []
    for command, points in pen.value:
        _check_bounds(points)
        match command, points:
            case "moveTo", (start,):
                at, pieces = start, []
            case "lineTo", (end,):
                pieces.append((_between(at, end, 1 / 3), _between(at, end, 2 / 3), end))
                at = end
            case "curveTo", (one, two, end):
                pieces.append((one, two, end))
                at = end
            case "qCurveTo", (one, end):
                pieces.append((_between(at, one, 2 / 3), _between(end, one, 2 / 3), end))
                at = end
            case _ if pieces:
                placed = [tuple(place.transformPoints(piece)) for piece in pieces]
                begun = place.transformPoint(start)
                _check_bounds([begun, *(point for piece in placed for point in piece)])
                yield Contour(begun, tuple(placed), command == "closePath")


def _check_bounds(points: Iterable[Point]) -> None:
    if not all(abs(number) <= _FAR for point in points for number in point):
        raise LogoError("has a path that leaves all bounds")


def _between(one: Point, other: Point, share: float) -> Point:
    return (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))


def _rect_path(element: ET.Element) -> str:
    """Return a rectangle as a path, its corners rounded as SVG 1.1, 9.2 tells."""
    x, y, width, height = (_length(element, key) for key in ("x", "y", "width", "height"))
    if width <= 0 or height <= 0:
        return ""
    rx = _length(element, "rx" if "rx" in element.attrib else "ry")
    ry = _length(element, "ry" if "ry" in element.attrib else "rx")
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    if rx == 0 or ry == 0:
        return f"M {x} {y} h {width} v {height} h {-width} Z"
    corner = f"a {rx} {ry} 0 0 1"
    across, along = width - 2 * rx, height - 2 * ry
    return (
        f"M {x + rx} {y} h {across} {corner} {rx} {ry} v {along} {corner} {-rx} {ry} "
        f"h {-across} {corner} {-rx} {-ry} v {-along} {corner} {rx} {-ry} Z"
    )


def _circle_path(element: ET.Element) -> str:
    radius = _length(element, "r")
    return _round_path(element, radius, radius)


def _ellipse_path(element: ET.Element) -> str:
    return _round_path(element, _length(element, "rx"), _length(element, "ry"))


def _round_path(element: ET.Element, rx: float, ry: float) -> str:
    x, y = _length(element, "cx"), _length(element, "cy")
    if rx <= 0 or ry <= 0:
        return ""
    half = f"a {rx} {ry} 0 0 1"
    return f"M {x - rx} {y} {half} {2 * rx} 0 {half} {-2 * rx} 0 Z"


def _line_path(element: ET.Element) -> str:
    x1, y1, x2, y2 = (_length(element, key) for key in ("x1", "y1", "x2", "y2"))
    return f"M {x1} {y1} L {x2} {y2}"


def _polyline_path(element: ET.Element) -> str:
    numbers = _numbers(element.get("points", ""), "list of points")
    points = list(zip(numbers[::2], numbers[1::2], strict=False))
    if len(points) < 2:
        return ""
    return "M " + " L ".join(f"{x} {y}" for x, y in points)


def _polygon_path(element: ET.Element) -> str:
    open_path = _polyline_path(element)
    return f"{open_path} Z" if open_path else ""


def _own_path(element: ET.Element) -> str:
    return element.get("d", "")


_PATHS: Mapping[str, Callable[[ET.Element], str]] = {
    "path": _own_path,
    "rect": _rect_path,
    "circle": _circle_path,
    "ellipse": _ellipse_path,
    "line": _line_path,
    "polyline": _polyline_path,
    "polygon": _polygon_path,
}
