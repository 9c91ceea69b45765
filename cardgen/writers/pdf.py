"""Scenes to PDF: the only module that knows reportlab.

Pages are drawn in points with y down, as in a scene; the page's own first matrix turns that over.
Text stays text and every font in the file is embedded as the subset that the file uses.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from cardgen.atomicfile import MAKER
from cardgen.drawing import fonts
from cardgen.drawing.scene import (
    Align,
    Curve,
    Disc,
    Group,
    Item,
    Line,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo

_PT = 1 / POINT_MM  # points to a millimetre
_DIGITS = 3  # a thousandth of a point is 0.35 micrometres
_NON_ZERO = 1  # reportlab's code of the non-zero winding rule (ISO 32000-1, 8.5.3.3.2)
_DUPLEX = {"long-edge": "DuplexFlipLongEdge", "short-edge": "DuplexFlipShortEdge"}
_IDENTITY = Transform()


def pdf_bytes(scenes: Sequence[Scene], info: DocumentInfo) -> bytes:
    """Return a PDF 1.7 of one page per scene; the same scenes and info give the same bytes.

    Raises ValueError for no scene at all, a number that is not finite and a colour that is not
    ``#rrggbb``; InputError for a character that the card font cannot print.
    """
    if not scenes:
        raise ValueError("a document needs at least one page")
    with _settings():
        canvas = _canvas(info)
        for number, scene in enumerate(scenes, start=1):
            _set_boxes(canvas, scene)
            if scene.title:
                canvas.bookmarkPage(f"page-{number}", fit="Fit")
                canvas.addOutlineEntry(scene.title, f"page-{number}")
            _Pen(canvas).draw(scene.items)
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
    return round(length_mm * _PT, _DIGITS)


@lru_cache(maxsize=64)
def _rgb(colour: str) -> tuple[float, float, float]:
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"a colour is written #rrggbb, not {colour!r}")
    red, green, blue = bytes.fromhex(colour[1:])
    return red / 255, green / 255, blue / 255


@dataclass
class _State:
    """What the page's graphics state holds, so that only changes are written."""

    stroke: Stroke | None = None
    fill: str = "#000000"
    weight: Weight | None = None
    size_pt: float = 0.0


class _Pen:
    """Draws items onto the canvas' current page."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._now = _State()

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
                case Group():
                    self._group(item)

    def _line(self, item: Line) -> None:
        x1, y1, x2, y2 = item.x1_mm, item.y1_mm, item.x2_mm, item.y2_mm
        _check(x1 + y1 + x2 + y2, item)
        self._ink(item.stroke)
        self._canvas.line(
            round(x1 * _PT, _DIGITS),
            round(y1 * _PT, _DIGITS),
            round(x2 * _PT, _DIGITS),
            round(y2 * _PT, _DIGITS),
        )

    def _polyline(self, item: Polyline) -> None:
        if not item.points_mm:
            return
        _check(sum(map(sum, item.points_mm)), item)
        path = self._canvas.beginPath()
        step = path.moveTo
        for x, y in item.points_mm:
            step(round(x * _PT, _DIGITS), round(y * _PT, _DIGITS))
            step = path.lineTo
        self._paint(path, item)

    def _curve(self, item: Curve) -> None:
        x, y = item.start_mm
        _check(x + y + sum(sum(map(sum, piece)) for piece in item.pieces_mm), item)
        path = self._canvas.beginPath()
        path.moveTo(round(x * _PT, _DIGITS), round(y * _PT, _DIGITS))
        for (x1, y1), (x2, y2), (x3, y3) in item.pieces_mm:
            path.curveTo(
                round(x1 * _PT, _DIGITS),
                round(y1 * _PT, _DIGITS),
                round(x2 * _PT, _DIGITS),
                round(y2 * _PT, _DIGITS),
                round(x3 * _PT, _DIGITS),
                round(y3 * _PT, _DIGITS),
            )
        self._paint(path, item)

    def _paint(self, path: PDFPathObject, item: Polyline | Curve) -> None:
        if item.stroke is None and item.fill is None:
            return
        if item.closed:
            path.close()
        stroke, fill = self._set(item.stroke, item.fill)
        self._canvas.drawPath(path, stroke=stroke, fill=fill, fillMode=_NON_ZERO)

    def _disc(self, item: Disc) -> None:
        if item.stroke is None and item.fill is None:
            return
        stroke, fill = self._set(item.stroke, item.fill)
        self._canvas.circle(
            _pt(item.x_mm), _pt(item.y_mm), _pt(item.radius_mm), stroke=stroke, fill=fill
        )

    def _text(self, item: Text) -> None:
        if not item.text:
            return
        width = fonts.width_mm(item.text, item.size_pt, item.weight)  # refuses what has no glyph
        x, y = item.x_mm, item.y_mm
        if item.align is Align.MIDDLE:
            x -= width / 2
        elif item.align is Align.END:
            x -= width
        _check(x + y + width, item)
        self._fill(item.colour)
        now = self._now
        if now.weight is not item.weight or now.size_pt != item.size_pt:
            now.weight, now.size_pt = item.weight, item.size_pt
            self._canvas.setFont(_font_name(item.weight), round(item.size_pt, _DIGITS))
        self._canvas.drawString(round(x * _PT, _DIGITS), round(y * _PT, _DIGITS), item.text)

    def _group(self, group: Group) -> None:
        if group.transform == _IDENTITY and group.clip is None:
            self.draw(group.items)
            return
        canvas, before = self._canvas, self._now
        canvas.saveState()
        self._now = replace(before)
        turn = group.transform
        _check(turn.a + turn.b + turn.c + turn.d, group)
        canvas.transform(turn.a, turn.b, turn.c, turn.d, _pt(turn.e), _pt(turn.f))
        if (clip := group.clip) is not None:
            path = canvas.beginPath()
            path.rect(_pt(clip.x_mm), _pt(clip.y_mm), _pt(clip.width_mm), _pt(clip.height_mm))
            canvas.clipPath(path, stroke=0, fill=0, fillMode=_NON_ZERO)
        self.draw(group.items)
        canvas.restoreState()
        self._now = before

    def _set(self, stroke: Stroke | None, fill: str | None) -> tuple[int, int]:
        if stroke is not None:
            self._ink(stroke)
        if fill is not None:
            self._fill(fill)
        return int(stroke is not None), int(fill is not None)

    def _fill(self, colour: str) -> None:
        if self._now.fill != colour:
            self._now.fill = colour
            self._canvas.setFillColor(_rgb(colour))

    def _ink(self, stroke: Stroke) -> None:
        now = self._now
        if stroke is now.stroke:
            return
        old, now.stroke = now.stroke, stroke
        if old is None or stroke.colour != old.colour:
            self._canvas.setStrokeColor(_rgb(stroke.colour))
        if old is None or stroke.width_mm != old.width_mm:
            self._canvas.setLineWidth(_pt(stroke.width_mm))
        if stroke.dash_mm != (() if old is None else old.dash_mm):
            self._canvas.setDash([_pt(dash) for dash in stroke.dash_mm])
        if stroke.round_ends != (old is not None and old.round_ends):
            self._canvas.setLineCap(int(stroke.round_ends))
            self._canvas.setLineJoin(int(stroke.round_ends))


def _check(total: float, item: Item) -> None:
    """Refuse an item with a number that is not finite: such a number survives any sum."""
    if not isfinite(total):
        raise ValueError(f"every number on paper must be finite: {item!r}")
