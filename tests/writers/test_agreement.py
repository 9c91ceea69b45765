"""Both writers draw one scene; two unrelated renderers, PDFium and resvg, must show one picture."""

import base64
import ctypes
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import uniform_filter

from cardgen.cards.words import load_words
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
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
from cardgen.drawing.theme import ID_1
from cardgen.handouts import leave_handout, poster
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.press import Job
from cardgen.sheets.papers import A3, A4
from cardgen.templating.loading import load_template
from cardgen.units import INCH_M, POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Agreement")
INCH_MM = 1000 * INCH_M
DPI = 216
BLUR_PX = 7
DIFFERS = 25  # of 255, after the blur
ALLOWED_PX = 100

INK = Stroke("#111111", 0.35)
AIM = Stroke("#1b3a75", 0.7, (2.0, 1.0), round_ends=True)
LINE = Line(8, 70, 30, 8, AIM, name="aim")
WORDS = Text(25.4, 66, "AVAWA. fi fl: Ťahaj → 10", 9, Weight.BOLD, align=Align.MIDDLE)
REST: tuple[Item, ...] = (
    *(Line(5 + i, 4, 5 + i, 55, Stroke("#111111", 0.1)) for i in range(40)),
    Polyline(((36, 40), (44, 40), (40, 20)), INK, "#4a98c9", closed=True),
    Polyline(((5, 58), (9, 62), (9.5, 58), (20, 60)), Stroke("#b5450f", 1.0)),
    Curve((5, 40), (((10, 20), (20, 60), (30, 35)), ((35, 20), (40, 30), (46, 12))), INK),
    Disc(25, 15, 4, INK, "#ffffff"),
    Disc(40, 50, 2.5, None, "#b5450f"),
    Text(46, 72, "Größe  ½ Đ", 8, align=Align.END),
    Text(5, 74, "gjpqy on no-break\u00a010", 6, Weight.MEDIUM),
    Group(
        (Text(0, 0, "Left lane", 7), Disc(0, 0, 4, None, "#1b3a75")),
        transform=Transform.quarter_turns(3).then(Transform.move(47.5, 60)),
        clip=Clip(-2, -3, 14, 5),
    ),
)
SCENE = Scene(50.8, 76.2, (*REST, LINE, WORDS))  # 2 x 3 inches: whole pixels at any dpi
Picture = NDArray[np.float64]


def through_pdf(scene: Scene, dpi: int = DPI) -> Picture:
    with pdfium.PdfDocument(pdf_bytes([scene], INFO)) as document:
        document.init_forms()
        image: Any = document[0].render(scale=dpi / 72).to_pil().convert("RGB")
        return np.asarray(image, dtype=np.float64)


def through_svg(scene: Scene, folder: Path, dpi: int = DPI) -> Picture:
    """Rasterise with the fonts that the file itself carries and with no other."""
    text = svg_text(scene, INFO)
    files = []
    for number, data in enumerate(re.findall(r"data:font/ttf;base64,([^)]+)\)", text)):
        path = folder / f"{number}.ttf"
        path.write_bytes(base64.b64decode(data))
        files.append(str(path))
    png = resvg_py.svg_to_bytes(
        svg_string=text, font_files=files, skip_system_fonts=True, dpi=dpi, background="#ffffff"
    )
    with Image.open(BytesIO(bytes(png))) as image:
        return np.asarray(image.convert("RGB"), dtype=np.float64)


def differing_px(one: Picture, other: Picture) -> int:
    assert one.shape == other.shape
    blurred = [uniform_filter(picture, size=(BLUR_PX, BLUR_PX, 1)) for picture in (one, other)]
    return int((np.abs(blurred[0] - blurred[1]).max(axis=2) > DIFFERS).sum())


def test_both_writers_draw_the_same(tmp_path: Path) -> None:
    assert differing_px(through_pdf(SCENE), through_svg(SCENE, tmp_path)) < ALLOWED_PX


@pytest.mark.parametrize(
    "drifted",
    [
        (*REST, replace(LINE, x1_mm=LINE.x1_mm + POINT_MM, x2_mm=LINE.x2_mm + POINT_MM), WORDS),
        (*REST, LINE, replace(WORDS, y_mm=WORDS.y_mm + POINT_MM)),
        (*REST, LINE, replace(WORDS, weight=Weight.MEDIUM)),
        (*REST, replace(LINE, stroke=replace(AIM, dash_mm=())), WORDS),
        (*REST[:-1], LINE, WORDS),
    ],
    ids=["line a point aside", "text a point lower", "other weight", "no dash", "group left out"],
)
def test_the_comparison_would_notice(drifted: tuple[Item, ...], tmp_path: Path) -> None:
    other = replace(SCENE, items=drifted)
    assert differing_px(through_pdf(SCENE), through_svg(other, tmp_path)) > 2 * ALLOWED_PX


# --- what the program makes -----------------------------------------------------------------------


def in_whole_pixels(scene: Scene, dpi: int) -> Scene:
    """Return the page on paper that is a hair smaller than whole pixels: nothing gets stretched."""

    def whole(mm: float) -> float:
        return math.ceil(mm / INCH_MM * dpi) * INCH_MM / dpi - 1e-3

    return replace(scene, width_mm=whole(scene.width_mm), height_mm=whole(scene.height_mm))


def share_differing(
    scene: Scene, folder: Path, dpi: int = DPI, other: Scene | None = None
) -> float:
    """Return how much differs between the PDF and the SVG, as a share of what is allowed."""
    page, drawn = (in_whole_pixels(each, dpi) for each in (scene, other or scene))
    one, two = through_pdf(page, dpi), through_svg(drawn, folder, dpi)
    allowed = ALLOWED_PX * one.size / (SCENE.width_mm * SCENE.height_mm * 3 * (DPI / INCH_MM) ** 2)
    return differing_px(one, two) / allowed


@pytest.mark.parametrize("back", [False, True], ids=["face", "back"])
@pytest.mark.parametrize("design", ["plain", "friendly"])
def test_a_card_looks_the_same_in_both(
    design: str, back: bool, demos: dict[str, Job], tmp_path: Path
) -> None:
    job = replace(demos["ilse-marchetti"], template=load_template(design))
    for line in (job.chart.lines[0], job.chart.lines[12]):
        (scene,) = job.card_side(line, ID_1, back=back).scenes
        assert share_differing(scene, tmp_path) < 1


def test_a_wrong_figure_on_a_card_would_be_noticed(demos: dict[str, Job], tmp_path: Path) -> None:
    job = demos["wren-skobernik"]
    (scene,) = job.card_side(job.chart.lines[1], ID_1).scenes
    figures = [i for i in scene.items if isinstance(i, Text) and i.name.startswith("figure-")]
    assert len(figures) == 2
    wrong = replace(figures[0], text=figures[0].text[::-1])
    assert wrong != figures[0]
    items = tuple(wrong if item is figures[0] else item for item in scene.items)
    assert share_differing(scene, tmp_path, other=replace(scene, items=items)) > 2


@pytest.mark.parametrize("language", ["en", "de", "ja"])
def test_pages_look_the_same_in_both(language: str, demos: dict[str, Job], tmp_path: Path) -> None:
    if language == "ja" and missing_glyphs("立ち位置"):
        pytest.skip("this machine has no font for Japanese")
    job = replace(demos["ilse-marchetti"], words=load_words(language))
    pages = job.booklet().scenes
    for scene in (pages[0], pages[1], pages[3]):
        assert share_differing(scene, tmp_path) < 1
    if language == "ja":
        return
    (page,) = leave_handout(job, Leave.parse("3-10"), A4).scenes
    assert share_differing(page, tmp_path, 150) < 1


def test_large_and_filled_in_pages_look_the_same_in_both(
    demos: dict[str, Job], tmp_path: Path
) -> None:
    job = demos["wren-skobernik"]
    (scene,) = poster(job, A3).scenes
    assert share_differing(scene, tmp_path, 130) < 1
    assert share_differing(job.practice_sheets(A4).scenes[1], tmp_path, 150) < 1


# --- the finished PDF, measured -------------------------------------------------------------------

Segment: TypeAlias = tuple[float, float, float, float]
NEAR_PT = 0.05


def strokes_of(scene: Scene) -> list[Segment]:
    """Return every straight piece of line that the scene strokes, in points from the lower left."""
    found: list[Segment] = []
    ends: tuple[Point, ...]
    for item, place in scene.walk():
        match item:
            case Line():
                ends = ((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm))
            case Polyline() if item.stroke is not None:
                ends = item.points_mm + (item.points_mm[:1] if item.closed else ())
            case _:
                continue
        at = [place.point(*end) for end in ends]
        high = scene.height_mm
        points = [(x / POINT_MM, (high - y) / POINT_MM) for x, y in at]
        found += [(*one, *two) for one, two in pairwise(points)]
    return found


def strokes_in(pdf: bytes) -> list[Segment]:
    """Return every straight piece of line that a PDF's first page strokes, as PDFium has it."""
    found: list[Segment] = []
    with pdfium.PdfDocument(pdf) as document:
        for item in document[0].get_objects(max_depth=12):
            if item.type != pdfium_c.FPDF_PAGEOBJ_PATH or not is_stroked(item):
                continue
            matrix = item.get_matrix()
            outer = item.container
            while outer is not None:
                matrix = matrix.multiply(outer.get_matrix())
                outer = outer.container
            found += straight_pieces(item, matrix)
    return found


def is_stroked(path: Any) -> bool:
    fill, stroke = ctypes.c_int(), pdfium_c.FPDF_BOOL()
    assert pdfium_c.FPDFPath_GetDrawMode(path, fill, stroke)
    return bool(stroke.value)


def straight_pieces(path: Any, matrix: Any) -> Iterator[Segment]:
    start = last = (0.0, 0.0)
    for number in range(pdfium_c.FPDFPath_CountSegments(path)):
        segment = pdfium_c.FPDFPath_GetPathSegment(path, number)
        x, y = ctypes.c_float(), ctypes.c_float()
        assert pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
        point = matrix.on_point(x.value, y.value)
        kind = pdfium_c.FPDFPathSegment_GetType(segment)
        if kind == pdfium_c.FPDF_SEGMENT_MOVETO:
            start = point
        elif kind == pdfium_c.FPDF_SEGMENT_LINETO:
            yield (*last, *point)
        last = point
        if pdfium_c.FPDFPathSegment_GetClose(segment) and point != start:
            yield (*point, *start)


def strayed(wanted: Sequence[Segment], found: Sequence[Segment]) -> list[Segment]:
    """Return what is wanted and not found, and what is found and not wanted."""

    def missing(these: Picture, those: Picture) -> Picture:
        apart = np.abs(these[:, None, :] - those[None, :, :]).max(axis=2)
        turned = np.abs(these[:, None, [2, 3, 0, 1]] - those[None, :, :]).max(axis=2)
        far: Picture = these[np.minimum(apart, turned).min(axis=1) > NEAR_PT]
        return far

    one, two = (np.asarray(segments, dtype=np.float64) for segments in (wanted, found))
    return [tuple(row) for row in np.concatenate((missing(one, two), missing(two, one))).tolist()]


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_lines_of_the_finished_pdf_are_where_the_scene_has_them(
    demo: str, demos: dict[str, Job]
) -> None:
    job = demos[demo]
    card = job.card_side(job.chart.lines[1], ID_1)
    sheets = job.cards(ID_1, Layout(A4))[0]
    for document, least in ((card, 60), (sheets, 600)):
        wanted = strokes_of(document.scenes[0])
        assert len(wanted) > least
        assert strayed(wanted, strokes_in(document.pdf())) == []


def test_a_line_a_point_aside_would_be_noticed(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    card = job.card_side(job.chart.lines[1], ID_1)
    (scene,) = card.scenes
    (lane,) = (i for i in scene.items if isinstance(i, Group) and i.name == "lane")
    at, edge = next((n, i) for n, i in enumerate(lane.items) if isinstance(i, Line | Polyline))
    aside = Group((edge,), transform=Transform.move(POINT_MM, 0.0))
    moved_lane = replace(lane, items=(*lane.items[:at], aside, *lane.items[at + 1 :]))
    items = tuple(moved_lane if item is lane else item for item in scene.items)
    drifted = replace(card, scenes=(replace(scene, items=items),))
    assert strayed(strokes_of(scene), strokes_in(drifted.pdf())) != []
