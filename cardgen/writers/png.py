"""Pages to PNG, through the PDF: the only module that knows pypdfium2, which is an extra.

A picture says at how many dots an inch it was made, so that it prints at its size, and tells what
it shows. It has no date; the same pages give the same bytes.
"""

from collections.abc import Sequence
from io import BytesIO
from types import ModuleType
from typing import Any

from PIL import Image
from PIL.PngImagePlugin import PngInfo

from cardgen.atomicfile import MAKER
from cardgen.drawing.scene import Scene
from cardgen.drawing.told import description_of
from cardgen.errors import CardgenError, UsageError
from cardgen.units import INCH_M
from cardgen.writers.document import DocumentInfo, page_title
from cardgen.writers.pdf import pdf_bytes

MOST_PIXELS = 100_000_000
"""Of one page: more than A2 has at 300 dpi twice over, and 300 MB of memory."""
_INCH_MM = 1000 * INCH_M
_POINTS_IN_AN_INCH = 72  # ISO 32000-1, 8.3.2.3


def png_pages(scenes: Sequence[Scene], info: DocumentInfo, dpi: float) -> tuple[bytes, ...]:
    """Return each page as a PNG of ``dpi`` dots an inch.

    Raises UsageError for a page of too many pixels or none, CardgenError if pypdfium2 is not
    installed.
    """
    for scene in scenes:
        _refuse_too_large(scene, dpi)
    pdfium = _pdfium()
    with pdfium.PdfDocument(pdf_bytes(scenes, info)) as document:
        document.init_forms()
        return tuple(
            _png(_rendered(document, number, dpi), scene, info, dpi)
            for number, scene in enumerate(scenes)
        )


def _rendered(document: Any, number: int, dpi: float) -> Image.Image:
    """Return a page's picture; what stands in fields is made part of the page first.

    PDFium's own drawing of fields smooths type with colours.
    """
    page = document[number]
    if document.formenv is not None:
        page.flatten()
        page = document[number]
    picture: Image.Image = page.render(
        scale=dpi / _POINTS_IN_AN_INCH, may_draw_forms=False
    ).to_pil()
    return picture.convert("RGB")


def _refuse_too_large(scene: Scene, dpi: float) -> None:
    width_in, height_in = scene.width_mm / _INCH_MM, scene.height_mm / _INCH_MM
    size = f"a page of {scene.width_mm:g} x {scene.height_mm:g} mm at {dpi:g} dpi"
    if not min(width_in, height_in) * dpi >= 1:
        raise UsageError(f"{size} has no pixels: ask for more dots an inch, such as 300")
    pixels = width_in * height_in * dpi**2
    if pixels > MOST_PIXELS:
        most = int((MOST_PIXELS / (width_in * height_in)) ** 0.5)
        raise UsageError(
            f"{size} has {pixels / 1e6:.0f} million pixels, and {MOST_PIXELS / 1e6:.0f} million is "
            f"the most: ask for {most} dpi or less"
        )


def _pdfium() -> ModuleType:
    try:
        import pypdfium2
    except ImportError as error:
        raise CardgenError("PNG needs pypdfium2: pip install 'cardgen[png]'") from error
    module: ModuleType = pypdfium2
    return module


def _png(picture: Image.Image, scene: Scene, info: DocumentInfo, dpi: float) -> bytes:
    """Return a page's picture as PNG (third edition; keywords of 11.3.3.2)."""
    said = PngInfo()
    said.add_text("Software", MAKER)
    for keyword, text in (
        ("Title", page_title(scene, info)),
        ("Description", description_of(scene)),
    ):
        if text:
            said.add_itxt(keyword, text, lang=info.language)
    out = BytesIO()
    picture.save(out, "PNG", dpi=(dpi, dpi), pnginfo=said)
    return out.getvalue()
