"""What the writers are held against: bare libraries that draw the very same things.

A call for each item and each change of the inks, and nothing shared or thought ahead.
"""

from collections.abc import Sequence

import svgwrite
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from cardgen.drawing.fonts import width_mm
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
)
from cardgen.units import POINT_MM
from cardgen.writers import pdf
from cardgen.writers.document import DocumentInfo
from cardgen.writers.operators import rgb


def bare_pdf(scenes: Sequence[Scene], info: DocumentInfo) -> bytes:
    """Return the PDF that reportlab makes of ``scenes``, called item by item."""
    with pdf._settings():
        canvas = pdf._canvas(info)
        for number, scene in enumerate(scenes, start=1):
            pdf._set_boxes(canvas, scene)
            canvas.bookmarkPage(f"page-{number}", fit="Fit")
            canvas.addOutlineEntry(scene.title, f"page-{number}")
            _Bare(canvas).draw(scene.items)
            canvas.showPage()
        return bytes(canvas.getpdfdata())  # type: ignore[no-untyped-call]  # the stubs leave it bare


class _Bare:
    """Draws items with a call to reportlab for each, and one for each change of the inks."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._stroke: Stroke | None = None
        self._fill = ""
        self._font: tuple[str, float] = ("", 0.0)

    def draw(self, items: Sequence[Item]) -> None:
        for item in items:
            match item:
                case Group():
                    self._group(item)
                case Text():
                    self._text(item)
                case Line():
                    self._inks(item.stroke, None)
                    ends = (item.x1_mm, item.y1_mm, item.x2_mm, item.y2_mm)
                    self._canvas.line(*map(_pt, ends))
                case Disc():
                    inked = self._inks(item.stroke, item.fill)
                    place = map(_pt, (item.x_mm, item.y_mm, item.radius_mm))
                    self._canvas.circle(*place, **inked)
                case Polyline():
                    path = self._canvas.beginPath()
                    path.moveTo(*map(_pt, item.points_mm[0]))
                    for point in item.points_mm[1:]:
                        path.lineTo(*map(_pt, point))
                    if item.closed:
                        path.close()
                    self._path(path, item)
                case Curve():
                    path = self._canvas.beginPath()
                    path.moveTo(*map(_pt, item.start_mm))
                    for piece in item.pieces_mm:
                        path.curveTo(*(_pt(part) for point in piece for part in point))
                    self._path(path, item)

    def _path(self, path: PDFPathObject, item: Polyline | Curve) -> None:
        self._canvas.drawPath(path, **self._inks(item.stroke, item.fill), fillMode=1)

    def _group(self, group: Group) -> None:
        canvas, turn = self._canvas, group.transform
        before = (self._stroke, self._fill, self._font)
        canvas.saveState()
        canvas.transform(turn.a, turn.b, turn.c, turn.d, _pt(turn.e), _pt(turn.f))
        if (clip := group.clip) is not None:
            path = canvas.beginPath()
            path.rect(*map(_pt, (clip.x_mm, clip.y_mm, clip.width_mm, clip.height_mm)))
            canvas.clipPath(path, stroke=0, fill=0, fillMode=1)
        self.draw(group.items)
        canvas.restoreState()
        self._stroke, self._fill, self._font = before

    def _text(self, item: Text) -> None:
        self._inks(None, item.colour)
        width = width_mm(item.text, item.size_pt, item.weight)
        left = {Align.START: 0.0, Align.MIDDLE: width / 2, Align.END: width}[item.align]
        if (font := (pdf._font_name(item.weight), item.size_pt)) != self._font:
            self._font = font
            self._canvas.setFont(*font)
        self._canvas.drawString(_pt(item.x_mm - left), _pt(item.y_mm), item.text)

    def _inks(self, stroke: Stroke | None, fill: str | None) -> dict[str, int]:
        canvas, old = self._canvas, self._stroke
        if stroke is not None and stroke is not old:
            self._stroke = stroke
            if old is None or stroke.colour != old.colour:
                canvas.setStrokeColor(rgb(stroke.colour))
            if old is None or stroke.width_mm != old.width_mm:
                canvas.setLineWidth(_pt(stroke.width_mm))
            if stroke.dash_mm != (() if old is None else old.dash_mm):
                canvas.setDash([_pt(dash) for dash in stroke.dash_mm])
            if stroke.round_ends != (old is not None and old.round_ends):
                canvas.setLineCap(int(stroke.round_ends))
                canvas.setLineJoin(int(stroke.round_ends))
        if fill is not None and fill != self._fill:
            self._fill = fill
            canvas.setFillColor(rgb(fill))
        return {"stroke": int(stroke is not None), "fill": int(fill is not None)}


def _pt(length_mm: float) -> float:
    return round(length_mm / POINT_MM, 3)


def bare_svg(scenes: Sequence[Scene]) -> str:
    """Return the drawings that svgwrite makes of ``scenes``, called item by item, without type."""
    return "".join(_bare_drawing(scene).tostring() for scene in scenes)


def _bare_drawing(scene: Scene) -> svgwrite.Drawing:
    drawing = svgwrite.Drawing(size=(scene.width_mm, scene.height_mm), debug=False)

    def inks(stroke: Stroke | None, fill: str | None) -> dict[str, object]:
        paint: dict[str, object] = {"fill": fill or "none"}
        if stroke is not None:
            dashes = " ".join(map(str, stroke.dash_mm)) or "none"
            paint |= {"stroke": stroke.colour, "stroke_width": stroke.width_mm}
            paint |= {"stroke_dasharray": dashes}
        return paint

    def add(items: Sequence[Item], into: svgwrite.base.BaseElement) -> None:
        for item in items:
            match item:
                case Group():
                    turn = item.transform
                    group = drawing.g()
                    group.matrix(turn.a, turn.b, turn.c, turn.d, turn.e, turn.f)
                    add(item.items, group)
                    into.add(group)
                case Text():
                    place, size = (item.x_mm, item.y_mm), item.size_pt * POINT_MM
                    into.add(drawing.text(item.text, place, fill=item.colour, font_size=size))
                case Line():
                    start, end = (item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)
                    into.add(drawing.line(start, end, **inks(item.stroke, None)))
                case Disc():
                    paint = inks(item.stroke, item.fill)
                    into.add(drawing.circle((item.x_mm, item.y_mm), item.radius_mm, **paint))
                case Polyline():
                    make = drawing.polygon if item.closed else drawing.polyline
                    into.add(make(item.points_mm, **inks(item.stroke, item.fill)))
                case Curve():
                    steps: list[object] = []
                    for begin, pieces in item.contours_mm:
                        steps += ["M", *begin]
                        for piece in pieces:
                            steps += ["C", *(part for point in piece for part in point)]
                    into.add(drawing.path(steps, **inks(item.stroke, item.fill)))

    add(scene.items, drawing)
    return drawing
