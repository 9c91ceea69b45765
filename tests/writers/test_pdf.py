import io
import math
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
from fontTools.ttLib import TTFont
from pypdf.generic import DictionaryObject

from cardgen import __version__
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
from cardgen.errors import InputError
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

INK = Stroke("#111111", 0.35)
INFO = DocumentInfo("Spares for Ana — „ťažké“", "Pocket cards", language="sk", duplex="long-edge")
CARD = Scene(
    53.98,
    85.60,
    (
        Line(5, 5, 40, 5, INK, name="foul line"),
        Text(5, 12, "Stand on 22.5 → roll over 10", 8),
        Text(48, 20, "Šťastné ½", 10, Weight.BOLD, align=Align.END),
    ),
    title="10-pin — Ľavá",
)
SHEET = Scene(210, 297, (CARD.items[1],), title="", trim=Clip(3, 4, 200, 280))


def read(*scenes: Scene, info: DocumentInfo = INFO) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf_bytes(scenes, info)), strict=True)


def fonts_of(reader: pypdf.PdfReader) -> Iterator[DictionaryObject]:
    for page in reader.pages:
        resources: Any = page["/Resources"]
        yield from (font.get_object() for font in resources.get("/Font", {}).values())


def objects(*items: Item) -> list[tuple[int, tuple[float, float, float, float]]]:
    """Return PDFium's objects on a 100 x 100 mm page: type, and box in mm with y down."""
    with pdfium.PdfDocument(pdf_bytes([Scene(100, 100, items)], INFO)) as document:
        found = []
        for thing in document[0].get_objects():
            left, bottom, right, top = (v * POINT_MM for v in thing.get_bounds())
            found.append((thing.type, (left, 100 - top, right, 100 - bottom)))
    return found


def test_each_page_has_its_own_size_and_boxes() -> None:
    # ISO 32000-1, 14.11.2 (page boundaries) and 8.3.2.3 (72 points to the inch)
    card, sheet = read(CARD, SHEET).pages
    assert [float(v) * 25.4 / 72 for v in card.mediabox] == pytest.approx(
        [0, 0, 53.98, 85.60], abs=4e-4
    )
    assert list(card.trimbox) == list(card.bleedbox) == list(card.mediabox)
    # A4, ISO 216
    assert [float(v) * 25.4 / 72 for v in sheet.mediabox] == pytest.approx(
        [0, 0, 210, 297], abs=4e-4
    )
    assert list(sheet.bleedbox) == list(sheet.mediabox)
    trim = [float(v) * 25.4 / 72 for v in sheet.trimbox]
    assert trim == pytest.approx([3, 297 - 284, 203, 297 - 4], abs=4e-4)


def test_document_says_what_it_is() -> None:
    reader = read(CARD)
    assert reader.pdf_header == "%PDF-1.7"
    meta = reader.metadata
    assert meta is not None
    assert meta.title == INFO.title
    assert meta.subject == INFO.subject
    assert meta.producer == meta.creator == f"cardgen {__version__}"
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "sk"  # ISO 32000-1, 14.9.2
    # ISO 32000-1, 12.2, table 150
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/ViewerPreferences"]["/Duplex"] == "/DuplexFlipLongEdge"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_duplex_is_left_alone_unless_asked() -> None:
    root: Any = read(CARD, info=replace(INFO, duplex=None)).trailer["/Root"]
    assert "/Duplex" not in root["/ViewerPreferences"]


def test_titled_scenes_make_the_outline() -> None:
    reader = read(CARD, SHEET, replace(CARD, title="Ďalšia"))
    entries: Any = reader.outline
    assert [entry.title for entry in entries] == ["10-pin — Ľavá", "Ďalšia"]
    assert [reader.get_destination_page_number(entry) for entry in entries] == [0, 2]
    assert read(SHEET).outline == []


def test_every_font_is_embedded_as_a_subset() -> None:
    reader = read(CARD, SHEET)
    names = set()
    for font in fonts_of(reader):
        descriptor: Any = font["/FontDescriptor"]
        assert "/FontFile2" in descriptor  # ISO 32000-1, 9.9: an embedded TrueType program
        names.add(str(font["/BaseFont"]))
        with TTFont(io.BytesIO(descriptor["/FontFile2"].get_data())) as program:
            assert program["maxp"].numGlyphs < 25
    # ISO 32000-1, 9.6.4: six capitals and a plus tag a subset
    assert names == {"/AAAAAA+FiraSansCondensed-Regular", "/AAAAAA+FiraSansCondensed-Bold"}
    assert b"Helvetica" not in pdf_bytes([CARD], INFO)
    assert list(fonts_of(read(Scene(50, 50, (Line(1, 1, 9, 9, INK),))))) == []


def test_text_can_be_read_back() -> None:
    text = read(CARD).pages[0].extract_text()
    assert "Stand on 22.5 → roll over 10" in text
    assert "Šťastné ½" in text


def test_markup_and_brackets_are_text() -> None:
    words = r"<b>(x\) & ((y) \101 <img src='file:///etc/passwd'/>"
    scene = Scene(200, 50, (Text(5, 12, words, 8),), title=words)
    reader = read(scene, info=DocumentInfo(words, words, words))
    assert reader.pages[0].extract_text().strip() == words
    assert reader.metadata is not None
    assert reader.metadata.title == words
    assert [getattr(entry, "title", None) for entry in reader.outline] == [words]


def test_more_than_256_characters() -> None:
    words = "".join(map(chr, [*range(0xC0, 0x17F), *range(0x391, 0x3A1), *range(0x410, 0x44F)]))
    assert words in read(Scene(1000, 50, (Text(5, 12, words, 8),))).pages[0].extract_text()


def test_lines_lie_where_the_scene_says() -> None:
    kind, box = objects(Line(10, 20, 60, 20, INK))[0]
    assert kind == pdfium_c.FPDF_PAGEOBJ_PATH
    assert (box[0] + box[2]) / 2 == pytest.approx(35, abs=0.01)
    assert (box[1] + box[3]) / 2 == pytest.approx(20, abs=0.01)


def test_shapes_lie_where_the_scene_says() -> None:
    items = (
        Disc(50, 40, 10, None, "#1b3a75"),
        Polyline(((10, 10), (30, 10), (30, 25)), None, "#1b3a75", closed=True),
        Curve((60, 60), (((60, 70), (80, 70), (80, 60)),), None, "#1b3a75", closed=True),
    )
    boxes = [box for _, box in objects(*items)]
    assert boxes[0] == pytest.approx((40, 30, 60, 50), abs=0.02)
    assert boxes[1] == pytest.approx((10, 10, 30, 25), abs=0.02)
    assert boxes[2][:3] == pytest.approx((60, 60, 80), abs=0.02)
    # a cubic's middle is 3/4 of its handles' height (Bernstein basis); PDFium may say the handles'
    assert 67.48 <= boxes[2][3] <= 70.02


@pytest.mark.parametrize("align", Align)
def test_text_hangs_on_the_right_end_of_its_x(align: Align) -> None:
    kind, box = objects(Text(50, 40, "HHH", 12, align=align))[0]
    assert kind == pdfium_c.FPDF_PAGEOBJ_TEXT
    at = {Align.START: box[0], Align.MIDDLE: (box[0] + box[2]) / 2, Align.END: box[2]}[align]
    assert at == pytest.approx(50, abs=0.5)  # half a side bearing
    assert box[3] == pytest.approx(40, abs=0.1)  # H stands on the baseline


def test_turned_group_and_clip() -> None:
    turn = Transform.quarter_turns(1).then(Transform.move(50, 30))
    line = Line(0, 0, 20, 0, INK)
    _, box = objects(Group((line,), transform=turn))[0]
    assert (box[0] + box[2]) / 2 == pytest.approx(50, abs=0.01)  # now upright
    assert (box[1] + box[3]) / 2 == pytest.approx(40, abs=0.01)
    assert box[3] - box[1] == pytest.approx(20, abs=0.8)  # PDFium adds the stroke's width
    clipped = Scene(
        100, 100, (Group((Disc(50, 50, 40, None, "#000000"),), clip=Clip(40, 45, 5, 5)),)
    )
    with pdfium.PdfDocument(pdf_bytes([clipped], INFO)) as document:
        image = document[0].render(scale=72 / 25.4).to_numpy()
    dark = (image[:, :, 0] < 128).nonzero()
    bounds = [a / 8.03 for a in (dark[1].min(), dark[0].min(), dark[1].max(), dark[0].max())]
    assert bounds == pytest.approx([40, 45, 45, 50], abs=0.3)


def test_state_set_inside_a_group_ends_with_it() -> None:
    red = Stroke("#ff0000", 3.0, (1.0, 2.0), round_ends=True)
    outside = Line(10, 10, 30, 10, INK)
    inside = Group((Line(0, 0, 1, 1, red),), transform=Transform.move(50, 50))
    page = pdf_bytes([Scene(100, 100, (outside, inside, outside))], INFO)
    content = pypdf.PdfReader(io.BytesIO(page)).pages[0].get_contents()
    assert content is not None
    after = content.get_data().rpartition(b"Q")[2]
    assert b"RG" not in after  # colour, width and dash are those from before the group
    assert content.get_data().count(b"[] 0 d") == 0


def test_same_input_same_bytes_whatever_came_before() -> None:
    first = pdf_bytes([CARD, SHEET], INFO)
    pdf_bytes([Scene(90, 90, (Text(5, 9, "žžž other glyphs", 9),))], INFO)
    assert pdf_bytes([CARD, SHEET], INFO) == first
    assert pdf_bytes((CARD, SHEET), INFO) == first


def test_same_bytes_in_any_process(tmp_path: Path) -> None:
    script = tmp_path / "write.py"
    script.write_text(
        "import sys, hashlib\n"
        "from cardgen.drawing.scene import *\n"
        "from cardgen.writers.document import DocumentInfo\n"
        "from cardgen.writers.pdf import pdf_bytes\n"
        "texts = tuple(Text(5, 9 + i, 'Šípka → %d' % i, 8, w) for i, w in enumerate(Weight))\n"
        "page = Scene(54, 86, (*texts, Disc(9, 50, 3.3, None, '#1b3a75')), title='Ľavá')\n"
        "data = pdf_bytes([page, page], DocumentInfo('Č', duplex='long-edge'))\n"
        "print(hashlib.sha256(data).hexdigest())\n"
    )
    root = Path(__file__).resolve().parents[2]
    digests = set()
    for number, (zone, locale) in enumerate(
        [("UTC", "C"), ("Asia/Tokyo", "C.UTF-8"), ("America/St_Johns", "de_DE.UTF-8")]
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        setting = {"PYTHONHASHSEED": str(number * 7), "TZ": zone, "LC_ALL": locale}
        done = subprocess.run(
            [sys.executable, str(script)],
            env={**os.environ, **setting, "PYTHONPATH": str(root)},
            cwd=folder,
            capture_output=True,
            text=True,
            check=True,
        )
        digests.add(done.stdout.strip())
    (digest,) = digests
    assert len(digest) == 64


def test_nothing_of_this_machine_is_in_the_file() -> None:
    data = pdf_bytes([CARD], INFO)
    for word in (str(Path.home()), str(Path.cwd()), "site-packages"):
        assert word.encode() not in data


def test_other_users_of_reportlab_keep_their_settings() -> None:
    from reportlab import rl_config

    before = rl_config.useA85
    pdf_bytes([CARD], INFO)
    assert rl_config.useA85 == before
    with pytest.raises(ValueError, match="finite"):
        pdf_bytes([Scene(10, 10, (Line(0, 0, math.nan, 1, INK),))], INFO)
    assert rl_config.useA85 == before


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_but_a_finite_one_reaches_paper(bad: float) -> None:
    lines = (Stroke("#111111", bad), Stroke("#111111", 1, (bad, 1)))
    turn = Transform(a=bad)
    items: tuple[Item, ...] = (
        Line(bad, 0, 1, 1, INK),
        Polyline(((0, 0), (1, bad)), INK),
        Curve((0, 0), (((0, 1), (bad, 0), (1, 1)),), INK),
        Disc(1, 1, bad, INK),
        Text(bad, 1, "x", 8),
        Text(1, 1, "x", bad),
        Group((Line(0, 0, 1, 1, INK),), transform=turn),
        Group((Line(0, 0, 1, 1, INK),), clip=Clip(0, 0, bad, 1)),
        *(Line(0, 0, 1, 1, stroke) for stroke in lines),
    )
    for item in items:
        with pytest.raises(ValueError, match="finite"):
            pdf_bytes([Scene(10, 10, (item,))], INFO)
    with pytest.raises(ValueError, match="finite"):
        pdf_bytes([Scene(10, bad, ())], INFO)


def test_wrong_colours_missing_glyphs_and_no_pages_are_refused() -> None:
    with pytest.raises(ValueError, match="#rrggbb"):
        pdf_bytes([Scene(9, 9, (Disc(1, 1, 1, None, "red"),))], INFO)
    with pytest.raises(InputError, match="BLACK STAR"):
        pdf_bytes([Scene(9, 9, (Text(1, 1, "★", 8),))], INFO)
    with pytest.raises(ValueError, match="at least one page"):
        pdf_bytes([], INFO)


def test_what_has_no_ink_or_no_extent_is_left_out() -> None:
    nothing = (
        Text(1, 1, "", 8),
        Polyline(()),
        Polyline(((0, 0), (1, 1))),
        Curve((0, 0), ()),
        Disc(1, 1, 1),
    )
    assert objects(*nothing) == []
