"""How fast the PDF writer is beside bare reportlab drawing the very same things.

Run it: ``python tests/benchmarks/bench_pages.py``. Both sides draw in one process, turn by turn, so
that only their ratio counts and a slow machine slows both.
"""

import time
from collections.abc import Callable, Sequence

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from cardgen.drawing.fonts import width_mm
from cardgen.drawing.scene import (
    Align,
    Clip,
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
from cardgen.writers import pdf
from cardgen.writers.document import DocumentInfo
from cardgen.writers.operators import rgb

_PAGES = 60
_ROUNDS = 7
_INFO = DocumentInfo(title="Bench", subject="Pages for the clock")


def typical_scene(number: int) -> Scene:
    """Return a page like a card: 150 vector items and 40 texts, no two pages the same."""
    ink, thin = Stroke("#111111", 0.35), Stroke("#111111", 0.1)
    path = Stroke("#1b3a75", 0.5, (1.2, 0.8), round_ends=True)
    shift = (number % 37) * 0.173
    boards: list[Item] = [
        Line(5 + i * 1.123, 4, 5 + i * 1.123, 80 + shift, thin) for i in range(75)
    ]
    dots: list[Item] = [
        Disc(9.1 + 4.17 * i, 20.3 + shift, 0.61, None, "#111111") for i in range(25)
    ]
    ticks: list[Item] = [
        Polyline(
            ((5.2 + 1.7 * i, 60.1), (6.1 + 1.7 * i, 58.3 - shift), (7 + 1.7 * i, 60.1)),
            ink if i % 2 else None,
            "#b5450f",
            closed=True,
        )
        for i in range(30)
    ]
    curves: list[Item] = [
        Curve(
            (10 + i, 80),
            tuple(
                (
                    (10 + i + j + shift / 9, 70.7 - j * 6),
                    (11 + i + j, 66.2 - j * 6),
                    (12 + i + j, 63.3 - j * 6),
                )
                for j in range(6)
            ),
            path if i % 2 else ink,
        )
        for i in range(20)
    ]
    words = "Stand on board 22.5, roll over the third arrow"
    texts: list[Item] = [
        Text(
            5 + i % 3 * 20,
            6 + 1.9 * i + shift,
            f"{words[: 8 + i]} {number + i}",
            (6.5, 8.0, 10.0)[i % 3],
            (Weight.REGULAR, Weight.MEDIUM, Weight.BOLD)[i % 3],
            align=tuple(Align)[i % 3],
        )
        for i in range(40)
    ]
    body = Group(
        (*boards, *dots, *ticks, *curves), "lane", Transform.move(1, 1), Clip(0, 0, 90, 90)
    )
    return Scene(95.0, 95.0, (body, *texts), title=f"Card {number}")


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


def bare_pdf(scenes: Sequence[Scene]) -> bytes:
    """Return the PDF that reportlab makes of ``scenes``, called item by item."""
    with pdf._settings():
        canvas = pdf._canvas(_INFO)
        for number, scene in enumerate(scenes, start=1):
            pdf._set_boxes(canvas, scene)
            canvas.bookmarkPage(f"page-{number}", fit="Fit")
            canvas.addOutlineEntry(scene.title, f"page-{number}")
            _Bare(canvas).draw(scene.items)
            canvas.showPage()
        return bytes(canvas.getpdfdata())  # type: ignore[no-untyped-call]  # the stubs leave it bare


def _seconds(work: Callable[[], bytes]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio, what it is) rows; above 1 the writer is the faster one."""
    scenes = [typical_scene(number) for number in range(_PAGES)]

    def ours() -> bytes:
        return pdf.pdf_bytes(scenes, _INFO)

    def bare() -> bytes:
        return bare_pdf(scenes)

    if ours() != bare():
        raise AssertionError("both must draw the same file, or it is no yardstick")
    times = [(_seconds(ours), _seconds(bare)) for _ in range(_ROUNDS)]
    ratio = min(b for _, b in times) / min(a for a, _ in times)
    return [("pdf pages", ratio, "pages a second, ours / bare reportlab drawing the same")]


if __name__ == "__main__":
    for name, ratio, what in measure():
        print(f"{name}: {ratio:.2f} ({what})")  # noqa: T201 - a script's answer
