"""Pages as pictures of pixels: their size, what they say, and what is refused."""

import builtins
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngImageFile

from cardgen.atomicfile import MAKER
from cardgen.drawing.scene import Field, Polyline, Scene, Text
from cardgen.drawing.theme import ID_1
from cardgen.errors import CardgenError, UsageError
from cardgen.layouts import Layout
from cardgen.press import Job
from cardgen.sheets.papers import A4
from cardgen.writers.document import DocumentInfo
from cardgen.writers.png import MOST_PIXELS, png_pages

INFO = DocumentInfo("Škola <10>", language="sk")
BLACK = Polyline(((0, 0), (12.7, 0), (12.7, 25.4), (0, 25.4)), fill="#000000", closed=True)
SCENE = Scene(25.4, 25.4, (BLACK,), title="10 pin", description="Postav sa na 34 ½.")


def opened(data: bytes) -> PngImageFile:
    image = Image.open(BytesIO(data))
    assert isinstance(image, PngImageFile)
    image.load()
    return image


@pytest.mark.parametrize("dpi", [72, 150, 300])
def test_an_inch_has_as_many_pixels_as_asked(dpi: int) -> None:
    (png,) = png_pages([SCENE], INFO, dpi)
    image = opened(png)
    assert image.size == (dpi, dpi)
    # PNG, third edition, 11.3.5.3: pHYs counts pixels to the metre
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)
    shades = np.asarray(image.convert("L"))
    assert (shades[:, : dpi // 2 - 1] == 0).all()
    assert (shades[:, dpi // 2 + 1 :] == 255).all()


def test_it_says_what_it_is_and_has_no_date() -> None:
    (png,) = png_pages([SCENE], INFO, 72)
    said = opened(png).text
    assert said == {
        "Software": MAKER,
        "Title": "10 pin · Škola <10>",
        "Description": "Postav sa na 34 ½.",
    }
    assert getattr(said["Title"], "lang", None) == "sk"
    assert b"tIME" not in png


def test_the_same_pages_give_the_same_bytes(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    first, again = (job.card_side(job.chart.lines[1], ID_1).png(150) for _ in range(2))
    assert first == again
    svg, svg_again = (job.cards(ID_1, Layout(A4))[0].svg() for _ in range(2))
    assert svg == svg_again


def test_every_page_of_a_document_is_a_picture(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    document = job.practice_sheets(A4)
    pictures = [opened(png) for png in document.png(50)]
    assert len(pictures) == len(document.scenes) == len(document.svg()) == 2
    for picture, scene in zip(pictures, document.scenes, strict=True):
        wide, high = (mm / 25.4 * 50 for mm in (scene.width_mm, scene.height_mm))
        assert picture.size == pytest.approx((wide, high), abs=1)


def test_black_and_grey_stay_so_also_in_fields() -> None:
    items = (Text(5, 20, "Stand", 9), Field(5, 30, 30, 8, "stand", "Stand", "34"))
    (blank,) = png_pages([Scene(50, 50, items[:1])], INFO, 150)
    (png,) = png_pages([Scene(50, 50, items)], INFO, 150)
    shades = np.asarray(opened(png).convert("RGB")).astype(int)
    assert (np.ptp(shades, axis=2) == 0).all()
    filled_in = shades != np.asarray(opened(blank).convert("RGB"))
    assert filled_in.sum() > 200  # what stands in the field is drawn


def test_a_picture_of_too_many_pixels_is_refused_before_anything_is_drawn() -> None:
    with pytest.raises(UsageError) as caught:
        png_pages([Scene(297, 420, (BLACK,))], INFO, 1200)
    assert str(caught.value) == (
        "a page of 297 x 420 mm at 1200 dpi has 278 million pixels, and 100 million is the most: "
        "ask for 719 dpi or less"
    )
    assert 297 * 420 / 25.4**2 * 719**2 <= MOST_PIXELS < 297 * 420 / 25.4**2 * 720**2
    for dpi in (0.5, 0.0, -300.0, float("nan")):
        with pytest.raises(UsageError, match="has no pixels: ask for more dots an inch"):
            png_pages([SCENE], INFO, dpi)


def test_a_missing_extra_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *args: Any, **kwargs: Any) -> Any:
        if name == "pypdfium2":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(CardgenError) as caught:
        png_pages([SCENE], INFO, 72)
    assert str(caught.value) == "PNG needs pypdfium2: pip install 'cardgen[png]'"
    assert caught.value.exit_code == 1
