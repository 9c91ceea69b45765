"""Fields of a form lie where the scene says, are called as it says, and print nothing else."""

import io
import subprocess
import sys
from dataclasses import replace
from typing import Any

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray

from cardgen.drawing.scene import Clip, Field, Group, Item, Scene, Text, Transform
from cardgen.errors import InputError
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Form")
LEAVE = Field(20, 30, 40, 8, "shot.1.leave", "Leave: pins", "3-10 „Ľ“ ½")
BALL = Field(70, 30, 20, 8, "shot.1.ball", "Ball", "spare", ("", "spare", "strike"))
BLANK = Field(20, 50, 40, 8, "shot.2.leave", "Leave: pins", size_pt=9.5)
TICK = Field(70, 50, 5, 5, "tick", "Tick", "yes", box=True)
NO_TICK = replace(TICK, x_mm=80, name="other", value="")


def read(*items: Item, height_mm: float = 100) -> pypdf.PdfReader:
    data = pdf_bytes([Scene(100, height_mm, items)], INFO)
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def widgets(reader: pypdf.PdfReader, page: int = 0) -> list[Any]:
    return [annotation.get_object() for annotation in reader.pages[page]["/Annots"]]  # type: ignore[attr-defined]


def terminal(reader: pypdf.PdfReader) -> dict[str, Any]:
    return {name: f for name, f in (reader.get_fields() or {}).items() if "/FT" in f}


def ink(*items: Item) -> NDArray[np.bool_]:
    """Return where PDFium prints anything on a page of 100 x 100 mm, 4 pixels to the mm."""
    with pdfium.PdfDocument(pdf_bytes([Scene(100, 100, items)], INFO)) as document:
        document.init_forms()
        page = document[0]
        image = page.render(scale=4 * 25.4 / 72, draw_annots=True).to_numpy()
    return np.asarray(image[:, :, :3].min(axis=2) < 128)


def box(dark: NDArray[np.bool_]) -> tuple[float, float, float, float]:
    rows, columns = dark.nonzero()
    return columns.min() / 4, rows.min() / 4, (columns.max() + 1) / 4, (rows.max() + 1) / 4


def test_names_values_and_kinds_are_those_of_the_scene() -> None:
    # ISO 32000-1, 12.7.3.2: a field's full name has its ancestors' names, joined by dots
    fields = terminal(read(LEAVE, BALL, BLANK, TICK, NO_TICK))
    assert list(fields) == ["shot.1.leave", "shot.1.ball", "shot.2.leave", "tick", "other"]
    assert [field["/FT"] for field in fields.values()] == ["/Tx", "/Ch", "/Tx", "/Btn", "/Btn"]
    values = [field["/V"] for field in fields.values()]
    assert values == ["3-10 „Ľ“ ½", "spare", "", "/Yes", "/Off"]
    assert fields["shot.1.ball"]["/Opt"] == ["", "spare", "strike"]


def test_no_partial_name_has_a_dot() -> None:
    # ISO 32000-1, 12.7.3.2: "a period ... shall not" be in a partial name
    assert all("." not in field["/T"] for field in (read(LEAVE, BALL).get_fields() or {}).values())


def test_fields_have_tips_print_and_have_no_border() -> None:
    for widget, item in zip(widgets(read(LEAVE, BALL, TICK)), (LEAVE, BALL, TICK), strict=True):
        assert widget["/TU"] == item.tip  # table 220: what a screen reader says
        assert widget["/F"] == 4  # table 165, bit 3: printed
        assert not {"/BS", "/Border", "/MK"} & set(widget)


def test_a_field_lies_where_the_scene_says() -> None:
    inner = Group((BLANK,), transform=Transform.move(3, 4))
    moved = Group((inner,), transform=Transform.move(10, -7), clip=Clip(0, 0, 1, 1))
    for widget, (x, y) in zip(widgets(read(LEAVE, moved)), ((20, 30), (33, 47)), strict=True):
        rect = [float(v) * POINT_MM for v in widget["/Rect"]]
        assert rect == pytest.approx([x, 100 - y - 8, x + 40, 100 - y], abs=1e-3)


def test_each_page_has_its_own_fields() -> None:
    scenes = [Scene(100, 100, (LEAVE,)), Scene(50, 200, (BLANK,)), Scene(9, 9, ())]
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(scenes, INFO)), strict=True)
    assert [[w["/T"] for w in widgets(reader, page)] for page in (0, 1)] == [["leave"], ["leave"]]
    assert "/Annots" not in reader.pages[2]
    assert float(widgets(reader, 1)[0]["/Rect"][1]) * POINT_MM == pytest.approx(142, abs=1e-3)


@pytest.mark.parametrize("height_mm", [6, 8, 20])
def test_what_stands_in_a_field_is_in_its_middle(height_mm: float) -> None:
    left, top, right, bottom = box(ink(Field(20, 30, 40, height_mm, "a", "A", "HHH")))
    assert left == pytest.approx(21.2, abs=0.5)
    assert right < 60
    assert (top + bottom) / 2 == pytest.approx(30 + height_mm / 2, abs=0.3)


def test_a_tick_fills_its_box_and_an_empty_box_prints_nothing() -> None:
    left, top, right, bottom = box(ink(TICK))
    assert 70 <= left < 71.5
    assert 50 <= top < 51.7
    assert 73.5 < right <= 75
    assert 53.3 < bottom <= 55
    assert not ink(NO_TICK).any()
    assert not ink(BLANK).any()


def test_a_text_too_long_for_its_field_is_cut_but_its_value_is_not() -> None:
    long = replace(LEAVE, value="pulled it, then moved two boards left and rolled it slower")
    left, _, right, _ = box(ink(long))
    assert left >= 20
    assert right <= 60
    assert terminal(read(long))["shot.1.leave"]["/V"] == long.value
    assert "pulled it" in svg_text(Scene(100, 100, (long,)), INFO)
    assert "…" in svg_text(Scene(100, 100, (long,)), INFO)


def test_what_stands_in_a_field_is_set_in_the_embedded_card_font() -> None:
    face: Any = widgets(read(LEAVE))[0]["/AP"]["/N"]
    fonts = [font.get_object() for font in face["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    with pytest.raises(InputError, match="BLACK STAR"):
        read(replace(LEAVE, value="★"))


def test_type_in_a_field_has_the_size_of_the_scene() -> None:
    # ISO 32000-1, 12.7.3.3: the default appearance, with which a viewer sets what is typed
    sizes = [widget["/DA"].split()[1] for widget in widgets(read(LEAVE, BLANK))]
    assert sizes == ["10", "9.5"]


def test_a_page_without_fields_names_no_other_font_and_no_form() -> None:
    data = pdf_bytes([Scene(50, 50, (Text(5, 9, "Leave", 9),))], INFO)
    assert b"Helvetica" not in data
    assert b"AcroForm" not in data
    assert b"AcroForm" in pdf_bytes([Scene(100, 100, (LEAVE,))], INFO)


def test_same_fields_same_bytes() -> None:
    scene = Scene(100, 100, (LEAVE, BALL, BLANK, TICK, NO_TICK))
    first = pdf_bytes([scene], INFO)
    pdf_bytes([Scene(90, 90, (replace(LEAVE, value="žžž"),))], INFO)
    assert pdf_bytes([scene], INFO) == first


def test_same_bytes_in_another_process() -> None:
    script = (
        "import sys\n"
        "sys.path.insert(0, '.')\n"
        "from cardgen.drawing.scene import Field, Scene\n"
        "from cardgen.writers.document import DocumentInfo\n"
        "from cardgen.writers.pdf import pdf_bytes\n"
        "fields = tuple(Field(1, 9 * i, 9, 8, f'a.{i}.b', 'T', 'Š') for i in range(9))\n"
        "sys.stdout.buffer.write(pdf_bytes([Scene(90, 99, fields)], DocumentInfo('F')))\n"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed, "TZ": zone},
            capture_output=True,
            check=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }
    assert len(runs) == 1
    assert runs.pop().startswith(b"%PDF")


@pytest.mark.parametrize("name", ["", ".", "a.", ".a", "a..b"])
def test_a_field_without_a_name_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="needs a name"):
        read(replace(LEAVE, name=name))


@pytest.mark.parametrize("names", [("a", "a"), ("a.b", "a"), ("a", "a.b"), ("a", "a.b.c")])
def test_two_fields_of_one_name_are_refused(names: tuple[str, str]) -> None:
    with pytest.raises(ValueError, match="two fields called"):
        read(*(replace(BLANK, name=name) for name in names))


def test_a_turned_field_an_unknown_option_and_no_number_are_refused() -> None:
    turned = Group((LEAVE,), transform=Transform.quarter_turns(1))
    with pytest.raises(ValueError, match="neither turned nor scaled"):
        read(turned)
    with pytest.raises(ValueError, match="not among the options"):
        read(replace(BALL, value="house"))
    with pytest.raises(ValueError, match="finite"):
        read(replace(LEAVE, x_mm=float("nan")))


def test_a_drawing_shows_what_stands_in_a_field_and_no_edge_as_paper_does() -> None:
    drawn = svg_text(Scene(100, 100, (LEAVE, BALL, BLANK, TICK)), INFO)
    assert "<rect" not in drawn
    assert 'class="shot-2-leave"' not in drawn
    assert "3-10 „Ľ“ ½" in drawn
    assert 'class="shot-1-leave"' in drawn
    assert drawn.count("<polyline") == 1
    assert "@font-face" in drawn
    assert "@font-face" not in svg_text(Scene(100, 100, (BLANK,)), INFO)
