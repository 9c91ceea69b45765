"""Scenes to PDF: the only module that knows reportlab.

Pages are drawn in points with y down, as in a scene; the page's own first matrix turns that over.
Text stays text and every font in the file is embedded as the subset that the file uses. A page to
fill in also names Helvetica, which every viewer has: what will be typed is not known here, so no
subset could hold it.
"""

import os
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import sha256
from io import BytesIO
from math import isfinite
from typing import Any

from cardgen.atomicfile import MAKER
from cardgen.drawing import fonts
from cardgen.drawing.fallback import Fallback
from cardgen.drawing.fields import face
from cardgen.drawing.scene import (
    Align,
    Curve,
    Disc,
    Field,
    Group,
    Image,
    Item,
    Line,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import INK
from cardgen.sheets.extent import extent_of
from cardgen.writers import operators
from cardgen.writers.asshipped import as_shipped
from cardgen.writers.document import DocumentInfo
from cardgen.writers.operators import DIGITS, PT, number, rgb

with as_shipped():
    from reportlab import rl_config
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.acroform import fieldFlagValues, makeFlags
    from reportlab.pdfbase.pdfdoc import (
        BasicFonts,
        PDFArray,
        PDFDictionary,
        PDFName,
        PDFObjectReference,
        PDFStream,
        PDFStreamFilterZCompress,
        PDFString,
    )
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject

_LEADING = 1.2  # nothing is set by it, since each text has a place of its own
_DUPLEX = {"long-edge": "DuplexFlipLongEdge", "short-edge": "DuplexFlipShortEdge"}
_IDENTITY = Transform()
_AROUND_MM = 1.0  # of a picture: viewers soften what lies on its box's edge
_NOT_IN_A_NAME = re.compile(r"[^A-Za-z0-9]+")


def pdf_bytes(scenes: Sequence[Scene], info: DocumentInfo) -> bytes:
    """Return a PDF 1.7 of one page per scene; the same scenes and info give the same bytes.

    Raises ValueError for no scene at all, a number that is not finite, a colour that is not
    ``#rrggbb``, two fields of one name and a field that is turned, scaled or in a group with a
    ``form``; InputError for a character that no font can print.
    """
    if not scenes:
        raise ValueError("a document needs at least one page")
    with _settings():
        canvas = _canvas(info)
        faces = _Faces(scenes)
        shared = _Shared(canvas, _Form(canvas, faces), faces)
        for number, scene in enumerate(scenes, start=1):
            _set_boxes(canvas, scene)
            if scene.title:
                canvas.bookmarkPage(f"page-{number}", fit="Fit")
                canvas.addOutlineEntry(scene.title, f"page-{number}")
            _Pen(shared, scene.height_mm).draw(scene.items)
            canvas.showPage()
        data = canvas.getpdfdata()  # type: ignore[no-untyped-call]  # the stubs leave it bare
    return bytes(data)


@contextmanager
def _settings() -> Iterator[None]:
    """Set what reportlab keeps global, and put it back.

    Without ASCII-85 a file is a fifth smaller. SOURCE_DATE_EPOCH would give the file another date
    on another machine, and one that is no number would stop the work.
    """
    before, epoch = rl_config.useA85, os.environ.pop("SOURCE_DATE_EPOCH", None)
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before
        if epoch is not None:
            os.environ["SOURCE_DATE_EPOCH"] = epoch


@lru_cache(maxsize=len(Weight))
def _font_name(weight: Weight) -> str:
    """Register the font of ``weight`` with reportlab once a process and return its name there."""
    name = f"cardgen-{weight.value}"
    pdfmetrics.registerFont(TTFont(name, str(fonts.font_path(weight)), asciiReadable=False))
    return name


class _Faces:
    """The fonts of one document: the card font, and the others cut down to what they are used for.

    reportlab could cut them down itself, but not those whose outlines it cannot embed.
    """

    def __init__(self, scenes: Sequence[Scene]) -> None:
        self._used: dict[Fallback, set[str]] = defaultdict(set)
        self._seen: set[int] = set()
        for scene in scenes:
            self._look_at(scene.items)
        self._names = {font: _fallback_name(font, "".join(c)) for font, c in self._used.items()}

    def _look_at(self, items: Sequence[Item]) -> None:
        for item in items:
            if isinstance(item, Group):
                if id(item.items) not in self._seen:  # most pages share much of what they show
                    self._seen.add(id(item.items))
                    self._look_at(item.items)
                continue
            shown = face(item) if isinstance(item, Field) else item
            if isinstance(shown, Text):
                for run in fonts.runs(shown.text, shown.weight):
                    if run.fallback is not None:
                        self._used[run.fallback].update(run.text)

    def name(self, run: fonts.Run, weight: Weight) -> str:
        """Return what reportlab calls the font of ``run``."""
        return _font_name(weight) if run.fallback is None else self._names[run.fallback]


def _fallback_name(font: Fallback, characters: str) -> str:
    data = font.subset(characters)
    name = f"cardgen-{sha256(data).hexdigest()[:12]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        made = TTFont(name, BytesIO(data), asciiReadable=False)
        # By the names inside them reportlab would take two subsets of a font for one.
        made.face.name += name.removeprefix("cardgen").encode("ascii")
        pdfmetrics.registerFont(made)
    return name


def _canvas(info: DocumentInfo) -> Canvas:
    canvas = Canvas(
        "",
        bottomup=0,
        invariant=1,
        pageCompression=1,
        pdfVersion=(1, 7),
        # The default would put Helvetica into the file, and not embed it.
        initialFontName=_font_name(Weight.REGULAR),  # type: ignore[arg-type]  # stubs: float
        lang=info.language,
    )
    canvas.setTitle(info.title)
    canvas.setSubject(info.subject)
    canvas.setAuthor(info.author)
    canvas.setCreator(MAKER)
    canvas.setProducer(MAKER)
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setViewerPreference("PrintScaling", "None")
    if info.duplex is not None:
        canvas.setViewerPreference("Duplex", _DUPLEX[info.duplex])
    return canvas


def _set_boxes(canvas: Canvas, scene: Scene) -> None:
    """Set the page's size and its Bleed- and TrimBox (ISO 32000-1, 14.11.2: y up, in points)."""
    width, height = _pt(scene.width_mm), _pt(scene.height_mm)
    page = (0, 0, width, height)
    canvas.setPageSize((width, height))
    canvas.setBleedBox(page)
    if (trim := scene.trim) is None:
        canvas.setTrimBox(page)
    else:
        bottom_mm = scene.height_mm - trim.y_mm - trim.height_mm
        canvas.setTrimBox(
            (
                _pt(trim.x_mm),
                _pt(bottom_mm),
                _pt(trim.x_mm + trim.width_mm),
                _pt(bottom_mm + trim.height_mm),
            )
        )


def _pt(length_mm: float) -> float:
    if not isfinite(length_mm):
        raise ValueError(f"a length on paper must be a finite number, not {length_mm}")
    return round(length_mm * PT, DIGITS)


@lru_cache(maxsize=4096)
def _circle(x_pt: float, y_pt: float, radius_pt: float) -> str:
    """Return the path of a circle, which most pages of a deck have in the same places."""
    code: list[str] = []
    PDFPathObject(code=code).ellipse(x_pt - radius_pt, y_pt - radius_pt, *2 * (2 * radius_pt,))
    return "\n".join(code)


@dataclass
class _State:
    """What the page's graphics state holds, so that only changes are written."""

    stroke: Stroke | None = None
    fill: str = "#000000"


class _Pen:
    """Draws items onto the canvas' current page."""

    def __init__(self, shared: "_Shared", height_mm: float | None) -> None:
        """Draw on a page of that height, or on none in particular."""
        self._shared = shared
        canvas: Any = shared.canvas  # what the stubs leave out
        self._canvas = canvas
        self._put: Callable[[str], None] = canvas._code.append
        self._now = _State()
        self._height_mm = height_mm
        self._to_page = _IDENTITY

    def draw(self, items: Sequence[Item]) -> None:
        for item in items:
            match item:
                case Line():
                    self._line(item)
                case Text():
                    self._text(item)
                case Polyline():
                    self._polyline(item)
                case Curve():
                    self._curve(item)
                case Disc():
                    self._disc(item)
                case Image():
                    self._image(item)
                case Field():
                    self._field(item)
                case Group():
                    self._group(item)

    def _line(self, item: Line) -> None:
        self._ink(item.stroke)
        self._put(operators.line(item))

    def _polyline(self, item: Polyline) -> None:
        if item.points_mm and (item.stroke or item.fill):
            path = operators.polyline(item)
            self._paint(path, item.stroke, item.fill)

    def _curve(self, item: Curve) -> None:
        if item.stroke or item.fill:
            path = operators.curve(item)
            self._paint(path, item.stroke, item.fill, even_odd=item.even_odd)

    def _disc(self, item: Disc) -> None:
        if item.stroke or item.fill:  # by either rule, for a circle is filled alike
            path = _circle(_pt(item.x_mm), _pt(item.y_mm), _pt(item.radius_mm))
            self._paint(path, item.stroke, item.fill, even_odd=True)

    def _paint(
        self, path: str, stroke: Stroke | None, fill: str | None, *, even_odd: bool = False
    ) -> None:
        if stroke is not None:
            self._ink(stroke)
        if fill is not None:
            self._fill(fill)
        self._put(path)
        self._put(
            operators.paint(stroke=stroke is not None, fill=fill is not None, even_odd=even_odd)
        )

    def _image(self, item: Image) -> None:
        """Place a picture; the document keeps one of several that are alike."""
        x, y, width, height = item.x_mm, item.y_mm, item.width_mm, item.height_mm
        _check(x + y + width + height, item)
        canvas = self._canvas
        canvas.saveState()
        # A picture's own rows run down, the page's points too, and reportlab expects them upwards.
        canvas.translate(_pt(x), _pt(y + height))
        canvas.scale(1, -1)
        reader = ImageReader(BytesIO(item.png))
        canvas.drawImage(reader, 0, 0, _pt(width), _pt(height), mask="auto")
        canvas.restoreState()

    def _text(self, item: Text) -> None:
        if not item.text:
            return
        x, y = item.x_mm, item.y_mm
        if item.align is not Align.START:
            width = fonts.width_mm(item.text, item.size_pt, item.weight)
            x -= width / 2 if item.align is Align.MIDDLE else width
        self._fill(item.colour)
        shown = self._shared.shown(item.text, item.weight, item.size_pt)
        self._put(f"BT 1 0 0 -1 {operators.points(x)} {operators.points(y)} Tm {shown} ET")

    def _field(self, item: Field) -> None:
        """Put a field on the page: its box is in the page's own points, y up, whatever is set."""
        to_page = self._to_page
        if self._height_mm is None:
            raise ValueError(f"a field is on one page, so no picture can hold it: {item!r}")
        if (to_page.a, to_page.b, to_page.c, to_page.d) != (1.0, 0.0, 0.0, 1.0):
            raise ValueError(f"a field can be neither turned nor scaled: {item!r}")
        x, y = to_page.point(item.x_mm, item.y_mm)
        bottom = self._height_mm - y - item.height_mm
        _check(x + bottom + item.width_mm + item.height_mm + item.size_pt, item)
        self._shared.form.add(item, (x, bottom))

    def _items(self, group: Group) -> None:
        """Draw what a group holds, or refer to where it was drawn before."""
        if not group.form:
            self.draw(group.items)
        elif name := self._shared.picture(group):
            self._canvas.doForm(name)

    def picture(self, items: Sequence[Item]) -> None:
        """Draw items for use on any page: nothing of the graphics state is as they expect."""
        self._put(operators.dash(()))
        self._put("0 J")
        self._put("0 j")
        self._now = _State(fill="")
        self.draw(items)

    def _group(self, group: Group) -> None:
        if group.transform == _IDENTITY and group.clip is None:
            self._items(group)
            return
        before, to_page = self._now, self._to_page
        self._put("q")
        self._now = replace(before)
        self._to_page = group.transform.then(to_page)
        self._put(operators.placed(group.transform))
        if group.clip is not None:
            self._put(operators.clipped(group.clip))
        self._items(group)
        self._put("Q")
        self._now, self._to_page = before, to_page

    def _fill(self, colour: str) -> None:
        if self._now.fill != colour:
            self._now.fill = colour
            self._put(f"{operators.ink(colour)} rg")

    def _ink(self, stroke: Stroke) -> None:
        now = self._now
        if stroke is now.stroke:
            return
        old, now.stroke = now.stroke, stroke
        if old is None or stroke.colour != old.colour:
            self._put(f"{operators.ink(stroke.colour)} RG")
        if old is None or stroke.width_mm != old.width_mm:
            self._put(f"{operators.points(stroke.width_mm)} w")
        if stroke.dash_mm != (() if old is None else old.dash_mm):
            self._put(operators.dash(stroke.dash_mm))
        if stroke.round_ends != (old is not None and old.round_ends):
            ends = int(stroke.round_ends)
            self._put(f"{ends} J")
            self._put(f"{ends} j")


class _Shared:
    """What the pages of one document share: the form to fill in, and pictures that are drawn once.

    Such a picture is a form XObject (ISO 32000-1, 8.10), which has nothing to do with forms.
    """

    def __init__(self, canvas: Canvas, form: "_Form", faces: _Faces) -> None:
        self.canvas = canvas
        self.form = form
        self.faces = faces
        self._shown: dict[tuple[str, Weight, float], str] = {}
        self._by_items: dict[tuple[Item, ...], str] = {}
        # Comparing hundreds of items is slow, and most groups share one tuple. It is kept with its
        # name, or another could come to have the same id.
        self._by_id: dict[int, tuple[tuple[Item, ...], str]] = {}

    def picture(self, group: Group) -> str:
        """Return the name of the picture of a group's items, drawn on first use; empty if blank."""
        items = group.items
        if (known := self._by_id.get(id(items))) is not None:
            return known[1]
        if (name := self._by_items.get(items)) is None:
            name = self._by_items[items] = self._drawn(group, len(self._by_items) + 1)
        self._by_id[id(items)] = (items, name)
        return name

    def shown(self, text: str, weight: Weight, size_pt: float) -> str:
        """Return the operators that show a text, font by font and subset by subset."""
        key = (text, weight, size_pt)
        if (known := self._shown.get(key)) is None:
            known = self._shown[key] = " ".join(self._newly_shown(*key))
        return known

    def _newly_shown(self, text: str, weight: Weight, size_pt: float) -> Iterator[str]:
        canvas: Any = self.canvas  # what the stubs leave out
        size = round(size_pt, DIGITS)
        set_in = f"{number(size)} Tf {number(_LEADING * size)} TL"
        runs = fonts.runs(text, weight)
        for run in runs:
            font: Any = pdfmetrics.getFont(self.faces.name(run, weight))
            for subset, codes in font.splitString(run.text, canvas._doc):
                name = font.getSubsetInternalName(subset, canvas._doc)
                yield f"{name} {set_in} ({canvas._escape(codes)}) Tj"
        if len(runs) == 1:
            yield "T*"

    def _drawn(self, group: Group, order: int) -> str:
        box = extent_of(group.items)
        if box is None:
            return ""
        canvas: Any = self.canvas  # what the stubs leave out
        name = f"{_NOT_IN_A_NAME.sub('-', group.form)}-{order}"
        if not canvas._code:
            canvas._code.append("")  # reportlab sets aside a page only if something is on it
        canvas.beginForm(
            name,
            _pt(box.x_mm - _AROUND_MM),
            _pt(box.y_mm - _AROUND_MM),
            _pt(box.x_mm + box.width_mm + _AROUND_MM),
            _pt(box.y_mm + box.height_mm + _AROUND_MM),
        )
        _Pen(self, None).picture(group.items)
        # reportlab would turn the picture over as it does a page, but it is drawn on such a page.
        preamble, canvas._preamble = canvas._preamble, ""
        canvas.endForm()
        canvas._preamble = preamble
        return name


class _Form:
    """The form of one document (ISO 32000-1, 12.7): its fields, and the widgets that show them.

    reportlab has fields of its own, but sets their text at the top of the box and only in the
    standard fonts' few letters, and puts dots into names. So what stands in a field is drawn here,
    in the fonts of the cards; a viewer draws it anew, in Helvetica, once somebody types there.
    """

    def __init__(self, canvas: Canvas, faces: _Faces) -> None:
        self._canvas = canvas
        self._fonts = faces
        self._nodes: dict[tuple[str, ...], PDFDictionary] = {}
        self._kids: dict[tuple[str, ...], PDFArray] = {}
        self._ends: set[tuple[str, ...]] = set()
        self._faces: dict[tuple[float, float, str], object] = {}  # most are empty and alike

    def add(self, field: Field, corner_mm: tuple[float, float]) -> None:
        """Add a field whose bottom left corner is at ``corner_mm`` on the current page, y up."""
        path = tuple(field.name.split("."))
        if not all(path):
            raise ValueError(f"a field needs a name, and each step of it one: {field.name!r}")
        if path in self._nodes or any(path[:n] in self._ends for n in range(1, len(path))):
            raise ValueError(f"there are two fields called {field.name!r}, or within each other")
        x, y = _pt(corner_mm[0]), _pt(corner_mm[1])
        width, height = _pt(field.width_mm), _pt(field.height_mm)
        node = PDFDictionary(
            {
                "Type": PDFName("Annot"),
                "Subtype": PDFName("Widget"),
                "P": self._document.thisPageRef(),
                "Rect": PDFArray([x, y, round(x + width, DIGITS), round(y + height, DIGITS)]),
                "F": makeFlags("print"),
                "TU": PDFString(field.tip),
            }
        )
        for key, value in (self._box(field) if field.box else self._text(field)).items():
            node[key] = value
        # Before anything refers to it, for it gets its name in the document here.
        self._canvas._addAnnotation(node)  # type: ignore[attr-defined]  # private, so no stub
        self._ends.add(path)
        self._hang(path, node)

    @property
    def _document(self) -> Any:
        """Reportlab's document, which its stubs leave out."""
        return self._canvas._doc  # type: ignore[attr-defined]  # private, so no stub

    def _hang(self, path: tuple[str, ...], node: PDFDictionary) -> None:
        """Hang a node under its parent, making those there are not: a dot is a step in the tree."""
        self._nodes[path] = node
        node["T"] = PDFString(path[-1])
        reference = self._document.Reference(node)
        if len(path) == 1:
            self._canvas.acroForm.fields.append(reference)
            return
        parent = path[:-1]
        if parent not in self._nodes:
            self._kids[parent] = PDFArray([])
            self._hang(parent, PDFDictionary({"Kids": self._kids[parent]}))
        self._kids[parent].sequence.append(reference)
        node["Parent"] = self._document.Reference(self._nodes[parent])

    def _text(self, field: Field) -> dict[str, object]:
        """Return what makes a field one to write in, or one to choose in (12.7.4.3 and 4)."""
        if field.options and field.value not in ("", *field.options):
            raise ValueError(f"{field.value!r} is not among the options of {field.name!r}")
        _, font = self._canvas.acroForm.makeFont("Helvetica")
        keys: dict[str, object] = {
            "FT": PDFName("Ch" if field.options else "Tx"),
            "Ff": makeFlags("combo" if field.options else "doNotSpellCheck", fieldFlagValues),
            "V": PDFString(field.value),
            "DV": PDFString(field.value),
            "DA": PDFString(f"/{font} {_short(field.size_pt)} Tf {_ink(INK)} rg"),
            "AP": PDFDictionary({"N": self._face(field)}),
        }
        if field.options:
            keys["Opt"] = PDFArray([PDFString(option) for option in field.options])
        return keys

    def _box(self, field: Field) -> dict[str, object]:
        """Return what makes a field a box to tick (12.7.4.2.3)."""
        state = PDFName("Yes" if field.value else "Off")
        faces = {
            "Yes": self._face(replace(field, value="Yes")),
            "Off": self._face(replace(field, value="")),
        }
        return {
            "FT": PDFName("Btn"),
            "V": state,
            "AS": state,
            "AP": PDFDictionary({"N": PDFDictionary(faces)}),
        }

    def _face(self, field: Field) -> object:
        """Return the picture of a field (12.5.5), in points from its bottom left corner, y up."""
        width, height = _pt(field.width_mm), _pt(field.height_mm)
        ink: list[str] = []
        match face(replace(field, x_mm=0.0, y_mm=0.0)):
            case Polyline() as line if line.stroke is not None:
                at = " ".join(
                    f"{_short(x * PT)} {_short(height - y * PT)} {'l' if number else 'm'}"
                    for number, (x, y) in enumerate(line.points_mm)
                )
                width_pt = _short(line.stroke.width_mm * PT)
                ink = [f"{_ink(line.stroke.colour)} RG {width_pt} w 1 J 1 j {at} S"]
            case Text() as text:
                ink = [f"{_ink(text.colour)} rg 1 0 0 1"]
                ink += [f"{_short(text.x_mm * PT)} {_short(height - text.y_mm * PT)} Tm"]
                ink += self._shown(text)
                ink = ["BT", *ink, "ET"]
        # A viewer that draws the text anew does so between these marks (12.7.3.3).
        content = "\n".join(ink if field.box else ["/Tx BMC q", *ink, "Q EMC"])
        if found := self._faces.get((width, height, content)):
            return found
        stream = PDFStream(
            PDFDictionary(
                {
                    "Type": PDFName("XObject"),
                    "Subtype": PDFName("Form"),
                    "BBox": PDFArray([0, 0, width, height]),
                    "Resources": PDFDictionary({"Font": PDFObjectReference(BasicFonts)}),
                }
            ),
            content,
            filters=[PDFStreamFilterZCompress()],
        )
        made: object = self._document.Reference(stream)
        self._faces[width, height, content] = made
        return made

    def _shown(self, text: Text) -> Iterator[str]:
        """Yield the operators that show a text, font by font and subset by subset."""
        for run in fonts.runs(text.text, text.weight):
            font: Any = pdfmetrics.getFont(self._fonts.name(run, text.weight))  # the stubs miss it
            for subset, codes in font.splitString(run.text, self._document):
                name = font.getSubsetInternalName(subset, self._document)
                yield f"{name} {_short(text.size_pt)} Tf <{codes.hex()}> Tj"


def _short(number: float) -> str:
    return f"{number:.{DIGITS}f}".rstrip("0").rstrip(".")


def _ink(colour: str) -> str:
    return " ".join(map(_short, rgb(colour)))


def _check(total: float, item: Item) -> None:
    """Refuse an item with a number that is not finite: such a number survives any sum."""
    if not isfinite(total):
        raise ValueError(f"every number on paper must be finite: {item!r}")
