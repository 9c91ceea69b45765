"""Pictures of pixels and shapes of several contours, in both writers and before them."""

import re
from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image as Pillow

from cardgen.drawing.scene import (
    Clip,
    Curve,
    Disc,
    Group,
    Image,
    Item,
    Point,
    Scene,
    Text,
    Transform,
)
from cardgen.preflight import preflight
from cardgen.sheets.extent import extent_of
from cardgen.units import INCH_M
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Pictures")
DPI = 144
RED, GREEN, BLUE, YELLOW = (220, 20, 20), (20, 160, 40), (30, 60, 200), (240, 210, 0)
Picture = NDArray[np.uint8]


def png(image: Pillow.Image) -> bytes:
    written = BytesIO()
    image.save(written, "PNG")
    return written.getvalue()


def quarters(side: int = 200) -> bytes:
    """Return a picture whose four corners differ, so that no turn and no mirror goes unseen."""
    image = Pillow.new("RGB", (2, 2))
    for place, colour in zip(((0, 0), (1, 0), (0, 1), (1, 1)), CORNERS, strict=True):
        image.putpixel(place, colour)
    return png(image.resize((side, side), Pillow.Resampling.NEAREST))


CORNERS = (RED, GREEN, BLUE, YELLOW)
PICTURE = Image(10, 15, 20, 10, quarters(), "logo", "Four fields")


def through_pdf(*items: Item) -> Picture:
    with pdfium.PdfDocument(pdf_bytes([Scene(50.8, 50.8, items)], INFO)) as document:
        image: Any = document[0].render(scale=DPI / 72).to_pil().convert("RGB")
        return np.asarray(image)


def through_svg(*items: Item) -> Picture:
    text = svg_text(Scene(50.8, 50.8, items), INFO)
    data: Any = resvg_py.svg_to_bytes(svg_string=text, dpi=DPI, width=288, height=288)
    image = Pillow.open(BytesIO(bytes(data))).convert("RGBA")
    paper = Pillow.new("RGBA", image.size, "white")
    return np.asarray(Pillow.alpha_composite(paper, image).convert("RGB"))


def colour_at(picture: Picture, x_mm: float, y_mm: float) -> tuple[int, ...]:
    scale = picture.shape[0] / 50.8
    return tuple(int(v) for v in picture[round(y_mm * scale), round(x_mm * scale)])


THROUGH = pytest.mark.parametrize("through", [through_pdf, through_svg])


@THROUGH
def test_a_picture_stands_upright_in_its_box(through: Any) -> None:
    picture = through(PICTURE)
    middles = ((15, 17.5), (25, 17.5), (15, 22.5), (25, 22.5))
    for place, colour in zip(middles, CORNERS, strict=True):
        assert np.allclose(colour_at(picture, *place), colour, atol=6)
    for outside in ((9.5, 20), (30.5, 20), (20, 14.5), (20, 25.5)):
        assert colour_at(picture, *outside) == (255, 255, 255)


@THROUGH
def test_a_picture_turns_and_is_cut_with_its_group(through: Any) -> None:
    turn = Transform.quarter_turns(1).then(Transform.move(40, 0))
    picture = through(Group((PICTURE,), transform=turn, clip=Clip(10, 15, 10, 10)))
    # (x, y) goes to (40 - y, x); of the picture only the left half shows.
    assert np.allclose(colour_at(picture, 40 - 17.5, 15), RED, atol=6)
    assert np.allclose(colour_at(picture, 40 - 22.5, 15), BLUE, atol=6)
    assert colour_at(picture, 40 - 17.5, 25) == (255, 255, 255)


@THROUGH
def test_what_can_be_seen_through_shows_the_ground(through: Any) -> None:
    image = Pillow.new("RGBA", (200, 200), (*BLUE, 0))
    image.paste((*BLUE, 255), (100, 0, 200, 200))
    ground = Disc(25, 25, 20, fill="#F0D200")
    picture = through(ground, Image(15, 15, 20, 20, png(image)))
    assert np.allclose(colour_at(picture, 20, 25), (240, 210, 0), atol=6)
    assert np.allclose(colour_at(picture, 30, 25), BLUE, atol=6)


@THROUGH
def test_a_picture_in_a_form_that_pages_share_is_upright_too(through: Any) -> None:
    picture = through(Group((PICTURE,), form="logo"))
    assert np.allclose(colour_at(picture, 15, 17.5), RED, atol=6)
    assert np.allclose(colour_at(picture, 25, 22.5), YELLOW, atol=6)


def test_alike_pictures_are_kept_once_and_the_bytes_are_the_same() -> None:
    page = Scene(50.8, 50.8, (PICTURE, replace(PICTURE, x_mm=12)))
    data = pdf_bytes([page, page], INFO)
    assert data == pdf_bytes([page, page], INFO)
    assert data.count(b"/Subtype /Image") == 1
    pages = pypdf.PdfReader(BytesIO(data), strict=True).pages
    assert all(len(page["/Resources"]["/XObject"]) == 1 for page in pages)  # type: ignore[index]


def test_text_after_a_picture_keeps_its_colour_and_its_font() -> None:
    one = Text(5, 6, "Stand 28", 12, colour="#B5450F")
    other = replace(one, y_mm=12)
    with_picture, without = through_pdf(one, PICTURE, other), through_pdf(one, other)
    assert np.array_equal(with_picture[:80], without[:80])


def test_a_drawing_tells_what_a_picture_shows() -> None:
    text = svg_text(Scene(50.8, 50.8, (replace(PICTURE, alt="A & B"),)), INFO)
    assert re.search(r'<image[^>]*role="img"[^>]*><title>A &amp; B</title></image>', text)
    assert 'xlink:href="data:image/png;base64,' in text
    assert "http://x" not in text


def test_what_is_no_png_has_no_pixels() -> None:
    assert PICTURE.pixels == (200, 200)
    for data in (b"", b"GIF89a" * 10, PICTURE.png[:20]):
        with pytest.raises(ValueError, match="PNG"):
            _ = replace(PICTURE, png=data).pixels


@pytest.mark.parametrize("bad", [{"x_mm": float("nan")}, {"width_mm": float("inf")}])
def test_a_picture_without_a_place_is_refused(bad: dict[str, float]) -> None:
    page = Scene(50.8, 50.8, (replace(PICTURE, **bad),))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="finite"):
        pdf_bytes([page], INFO)
    with pytest.raises(ValueError, match="finite"):
        svg_text(page, INFO)


# --- contours ------------------------------------------------------------------------------------


def ring(side: float, corner: Point, *, backwards: bool = False) -> tuple[Point, Any]:
    """Return a square contour of cubic pieces."""
    x, y = corner
    ends = [(x + side, y), (x + side, y + side), (x, y + side), (x, y)]
    ends = [(x, y + side), (x + side, y + side), (x + side, y), (x, y)] if backwards else ends
    at, pieces = corner, []
    for end in ends:
        pieces.append((at, end, end))
        at = end
    return corner, tuple(pieces)


OUTER = ring(30, (10, 10))


def frame(inner: tuple[Point, Any], *, even_odd: bool = False) -> Curve:
    return Curve(*OUTER, fill="#1E3CC8", closed=True, more_mm=(inner,), even_odd=even_odd)


@THROUGH
@pytest.mark.parametrize(
    ("backwards", "even_odd", "hole"),
    [(False, False, False), (True, False, True), (False, True, True), (True, True, True)],
)
def test_an_inner_contour_is_a_hole_by_its_rule(
    through: Any, backwards: bool, even_odd: bool, hole: bool
) -> None:
    picture = through(frame(ring(10, (20, 20), backwards=backwards), even_odd=even_odd))
    assert np.allclose(colour_at(picture, 13, 25), BLUE, atol=6)
    assert np.allclose(colour_at(picture, 25, 25), (255,) * 3 if hole else BLUE, atol=6)


# --- before they are printed ---------------------------------------------------------------------


def rules(*items: Item, safe_mm: float = 3.0) -> Sequence[tuple[str, str]]:
    page = Scene(74, 105, items, safe_mm=safe_mm)
    return [(found.rule, found.severity) for found in preflight([page], kind="card")]


def sized(dpi: float) -> Image:
    """Return a picture of 200 pixels a side with so many to an inch."""
    side = 200 / dpi * INCH_M * 1000
    return Image(5, 5, side, side, quarters())


def test_a_picture_needs_a_hundred_pixels_to_an_inch_and_should_have_two_hundred() -> None:
    assert rules(sized(200)) == []
    assert rules(sized(199)) == [("image-resolution", "warn")]
    assert rules(sized(100)) == [("image-resolution", "warn")]
    assert rules(sized(99)) == [("image-resolution", "refuse")]


def test_the_coarser_way_counts_and_so_does_the_groups_scale() -> None:
    fine = sized(300)
    assert rules(replace(fine, height_mm=2 * fine.height_mm)) == [("image-resolution", "warn")]
    large = Group((sized(200),), transform=Transform(a=2.1, d=2.1))
    assert rules(large) == [("image-resolution", "refuse")]


def test_a_text_on_a_picture_is_refused() -> None:
    picture = sized(250)
    beside = 5 + picture.width_mm + 0.2
    assert rules(picture, Text(beside, 12, "Stand 28", 9)) == []
    assert rules(picture, Text(beside - 1, 12, "Stand 28", 9)) == [("overlap", "refuse")]


def test_a_picture_in_the_margin_is_warned_of() -> None:
    assert rules(replace(sized(250), x_mm=2.0)) == [("safe-area", "warn")]


def test_what_shows_in_the_hole_of_a_shape_stands_on_paper() -> None:
    inner = ring(10, (20, 20))
    word = Text(21, 26, "A 1", 9, colour="#1E3CC8")
    assert rules(frame(inner, even_odd=True), word) == []
    assert ("contrast", "refuse") in rules(frame(inner), word)


def test_the_extent_holds_every_contour_and_picture() -> None:
    away = Curve(*ring(5, (10, 10)), fill="#000000", more_mm=(ring(5, (30, 40)),))
    assert extent_of([away]) == Clip(10, 10, 25, 35)
    assert extent_of([PICTURE]) == Clip(10, 15, 20, 10)


def test_a_rendered_picture_has_no_seam(tmp_path: Path) -> None:
    solid = replace(PICTURE, png=png(Pillow.new("RGB", (64, 64), RED)))
    (tmp_path / "page.pdf").write_bytes(pdf_bytes([Scene(50.8, 50.8, (solid,))], INFO))
    inner = through_pdf(solid)[90:138, 62:166]
    assert np.allclose(inner, RED, atol=6)
