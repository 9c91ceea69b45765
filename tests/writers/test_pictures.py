"""What many pages show alike is drawn once: groups with a ``form``."""

import io
from dataclasses import replace
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest

from cardgen.drawing.scene import (
    Clip,
    Disc,
    Field,
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
from cardgen.sheets.imposition import impose
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.papers import A4
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Cards")
DASHED = Stroke("#B5450F", 0.6, (1.0, 0.8), round_ends=True)
SOLID = Stroke("#111111", 0.2)


def lane(boards: int = 39) -> tuple[Item, ...]:
    """Return a ground that is a new object each time, and the same every time."""
    lines = (Line(5 + i / 2, 5, 5 + i / 2, 60, SOLID) for i in range(boards + 1))
    return (
        Polyline(((5, 5), (25, 5), (25, 60), (5, 60)), fill="#E3EFF6", closed=True),
        *lines,
        Text(5, 64, "1 5 10", 6, Weight.MEDIUM),
    )


def card(number: int, form: str, boards: int = 39) -> Scene:
    path = Line(6, 60, 20, 6 + number % 7, DASHED)
    return Scene(
        53.98,
        85.60,
        (
            path,
            Group(lane(boards), "lane", Transform.move(2, 3), Clip(0, 0, 40, 70), form),
            path,
            Text(30, 20, f"call {number}", 12, Weight.BOLD),
        ),
    )


def sheets(count: int, form: str) -> tuple[Scene, ...]:
    words = SheetWords("job", "sheet", "front", "back", "actual size")
    return impose([card(number, form) for number in range(count)], [], A4, words)


def pictures(data: bytes) -> list[list[str]]:
    """Return the names of the pictures that each page uses."""
    pages = pypdf.PdfReader(io.BytesIO(data), strict=True).pages
    found = []
    for page in pages:
        resources: Any = page["/Resources"]
        found.append(sorted(resources.get("/XObject", {})))
    return found


def pixels(data: bytes) -> list[bytes]:
    with pdfium.PdfDocument(data) as document:
        return [page.render(scale=2).to_numpy().tobytes() for page in document]


def test_a_page_looks_the_same_with_and_without_pictures() -> None:
    once, inline = (pdf_bytes(sheets(13, form), INFO) for form in ("lane", ""))
    assert pictures(once) == [["/FormXob.lane-1"]] * 2
    assert pictures(inline) == [[], []]
    assert pixels(once) == pixels(inline)


def test_a_picture_does_not_take_over_what_was_drawn_before_it() -> None:
    # The dashed, round-ended path just before must not make the lane's lines dashed or round.
    # Nor must the disc before make the picture's black one red.
    items = (Line(5, 20, 90, 20, Stroke("#B5450F", 2.0)), Disc(70, 40, 3, None, "#000000"))
    picture = Group(items, form="line")
    before = (
        Disc(80, 40, 3, None, "#FF0000"),
        Line(5, 10, 90, 10, replace(DASHED, width_mm=2.0)),
    )
    after = Text(5, 40, "after", 12, colour="#B5450F")
    alone, among = (
        pdf_bytes([Scene(100, 50, (*before, group, after))], INFO)
        for group in (replace(picture, form=""), picture)
    )
    assert pixels(alone) == pixels(among)


def test_what_is_alike_is_kept_once_and_what_is_not_is_not() -> None:
    scenes = [card(1, "lane"), card(2, "lane"), card(3, "lane", boards=20), card(4, "a b/c")]
    data = pdf_bytes(scenes, INFO)
    assert pictures(data) == [
        ["/FormXob.lane-1"], ["/FormXob.lane-1"], ["/FormXob.lane-2"], ["/FormXob.lane-1"],
    ]  # fmt: skip
    only = pdf_bytes([card(4, "a b/c")], INFO)
    assert pictures(only) == [["/FormXob.a-b-c-1"]]
    assert data == pdf_bytes(scenes, INFO)


def test_pictures_within_pictures_and_empty_ones() -> None:
    def drawn(*forms: str) -> list[bytes]:
        inner = Group((Disc(10, 10, 3, None, "#111111"),), form=forms[0])
        twice = (inner, Group((inner,), transform=Transform.move(20, 0)))
        outer = Group(twice, form=forms[1])
        below = Group((outer,), transform=Transform.move(0, 30))
        return pixels(pdf_bytes([Scene(60, 60, (outer, below, Group((), form="none")))], INFO))

    assert drawn("inner", "outer") == drawn("", "")


def test_every_font_of_a_picture_is_embedded() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes([card(1, "lane")], INFO)), strict=True)
    resources: Any = reader.pages[0]["/Resources"]
    (picture,) = resources["/XObject"].values()
    for where in (resources, picture["/Resources"]):
        named = [font.get_object() for font in where["/Font"].values()]
        assert named
        for font in named:
            assert "FiraSansCondensed" in font["/BaseFont"]
            assert "/FontFile2" in font["/FontDescriptor"]
    assert "1 5 10" in reader.pages[0].extract_text()


def test_a_picture_shows_all_of_its_items() -> None:
    # ISO 32000-1, 8.10.2: what is outside a form's BBox does not show
    wide = Group((Line(-3, 20, 30, 20, Stroke("#111111", 4.0)),), form="wide")
    text = Group((Text(20, 40, "Ågjpq", 20),), form="text")
    items = (Group((wide, text), transform=Transform.move(10, 0)),)
    bare = (
        Group((replace(wide, form=""), replace(text, form="")), transform=Transform.move(10, 0)),
    )
    drawn, plain = (pixels(pdf_bytes([Scene(60, 60, x)], INFO)) for x in (items, bare))
    assert drawn == plain


def test_the_ground_of_a_thousand_cards_is_written_once() -> None:
    once = pdf_bytes(sheets(1000, "lane"), INFO)
    assert len(once) <= 1_000_000
    assert pictures(once) == [["/FormXob.lane-1"]] * 100
    some = pdf_bytes(sheets(50, ""), INFO)
    assert len(once) / 1000 < len(some) / 50 / 2


def test_a_field_belongs_to_one_page() -> None:
    field = Field(5, 5, 20, 6, "name", "your name")
    with pytest.raises(ValueError, match="a field is on one page"):
        pdf_bytes([Scene(60, 60, (Group((field,), form="form"),))], INFO)
    # and a picture drawn first on a page takes no field off it
    scene = Scene(60, 60, (field, Group((Disc(30, 30, 3, SOLID),), form="disc")))
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes([scene], INFO)), strict=True)
    assert set(reader.get_fields() or {}) == {"name"}
    assert len(reader.pages[0].get("/Annots", [])) == 1


def test_a_drawing_shows_a_picture_in_its_place() -> None:
    drawing, plain = (svg_text(card(1, form), INFO) for form in ("lane", ""))
    assert drawing == plain
