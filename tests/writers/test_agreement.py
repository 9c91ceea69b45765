"""Both writers draw one scene; two unrelated renderers, PDFium and resvg, must show one picture."""

import base64
import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import uniform_filter

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
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Agreement")
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


def through_pdf(scene: Scene) -> Picture:
    with pdfium.PdfDocument(pdf_bytes([scene], INFO)) as document:
        image: Any = document[0].render(scale=DPI / 72).to_pil().convert("RGB")
        return np.asarray(image, dtype=np.float64)


def through_svg(scene: Scene, folder: Path) -> Picture:
    """Rasterise with the fonts that the file itself carries and with no other."""
    text = svg_text(scene, INFO)
    files = []
    for number, data in enumerate(re.findall(r"data:font/ttf;base64,([^)]+)\)", text)):
        path = folder / f"{number}.ttf"
        path.write_bytes(base64.b64decode(data))
        files.append(str(path))
    png = resvg_py.svg_to_bytes(
        svg_string=text, font_files=files, skip_system_fonts=True, dpi=DPI, background="#ffffff"
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
