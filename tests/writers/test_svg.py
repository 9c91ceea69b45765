import base64
import io
import math
import re
import unicodedata
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from cardgen.atomicfile import SVG_DESC, is_ours
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Group,
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
from cardgen.writers.svg import class_name, svg_text

NS = {"svg": "http://www.w3.org/2000/svg"}  # SVG 1.1, 1.3
INK = Stroke("#111111", 0.35)
INFO = DocumentInfo("Spares", "Pocket cards")


def parse(scene: Scene, info: DocumentInfo = INFO) -> ET.Element:
    return ET.fromstring(svg_text(scene, info))


def only(root: ET.Element, tag: str) -> ET.Element:
    (element,) = root.iterfind(f".//svg:{tag}", NS)
    return element


def test_one_unit_is_one_millimetre() -> None:
    # SVG 1.1, 7.2 and 7.7: width and height with units, viewBox in user units
    root = parse(Scene(53.98, 85.6, ()))
    assert root.get("width") == "53.98mm"
    assert root.get("height") == "85.6mm"
    assert root.get("viewBox") == "0 0 53.98 85.6"


def told(root: ET.Element) -> list[str]:
    """Return what a screen reader says for the drawing, by the ids that it is labelled with."""
    by_id = {element.get("id"): element for element in root.iter()}
    return [by_id[name].text or "" for name in root.get("aria-labelledby", "").split()]


def test_says_what_it_is_and_what_it_shows() -> None:
    # SVG 1.1, 5.4: title and desc; WAI-ARIA 1.2: role img, aria-labelledby
    scene = Scene(50, 50, (), title="10 pin", description="Stand on board 34 & look.")
    root = parse(scene, DocumentInfo("Ľavá <10>", "Pocket cards", language="sk"))
    assert root.get("role") == "img"
    assert root.get("{http://www.w3.org/XML/1998/namespace}lang") == "sk"
    assert [element.tag.partition("}")[2] for element in root[:3]] == ["title", "desc", "desc"]
    assert told(root) == ["10 pin · Ľavá <10>", "Stand on board 34 & look."]
    assert root[2].text == f"{SVG_DESC} Pocket cards"


def test_a_title_says_nothing_twice() -> None:
    for page, document, said in (
        ("10 pin", "", "10 pin"),
        ("", "Spares", "Spares"),
        ("Spares", "Spares", "Spares"),
        ("10 pin", "10 pin, a spare card", "10 pin, a spare card"),
    ):
        assert told(parse(Scene(50, 50, (), title=page), DocumentInfo(document))) == [said]


def test_a_page_without_a_description_is_read_out() -> None:
    scene = Scene(90, 50, (Text(5, 12, "Notes", 12, name="title"), Text(5, 30, "Stand 34", 8)))
    assert told(parse(scene)) == ["Notes · Spares", "Notes. Stand 34"]


def test_drawings_in_one_page_keep_their_own_names() -> None:
    texts = ("Stand on 34.", "Stand on 16.")
    ids = [parse(Scene(9, 9, (), description=text)).get("aria-labelledby") for text in texts]
    assert len(set(ids)) == 2
    assert ids[0] == parse(Scene(9, 9, (), description=texts[0])).get("aria-labelledby")


def test_it_is_known_again_as_a_file_of_our_own(tmp_path: Path) -> None:
    path = tmp_path / "card.svg"
    scene = Scene(9, 9, (), title="x", description="Stand on board 34. " * 500)
    path.write_text(svg_text(scene, INFO), encoding="utf-8")
    assert is_ours(path)


def test_each_run_of_letters_names_the_font_that_has_them() -> None:
    if missing_glyphs("板目"):
        pytest.skip("this machine has no font for Japanese")
    text = only(parse(Scene(90, 50, (Text(5, 12, "10番 ab", 8, Weight.BOLD),))), "text")
    assert "".join(text.itertext()) == "10番 ab"
    families = [part.get("font-family") for part in text]
    assert families[0] is None
    assert families[1]
    assert len(families) == 3


def test_text_stays_text() -> None:
    words = "Stand  on <20> & roll → 10 "
    text = only(
        parse(Scene(90, 50, (Text(5, 12, words, 8, Weight.BOLD, align=Align.END),))), "text"
    )
    assert text.text == words
    assert text.get("{http://www.w3.org/XML/1998/namespace}space") == "preserve"
    assert text.get("text-anchor") == "end"
    assert text.get("font-weight") == "700"
    assert float(text.get("font-size", "0")) == pytest.approx(8 * POINT_MM, abs=1e-4)


def test_carries_the_letters_it_uses_and_no_others() -> None:
    scene = Scene(90, 50, (Text(5, 12, "fig", 8), Group((Text(5, 20, "10", 8, Weight.BOLD),))))
    style = only(parse(scene), "style").text or ""
    faces = re.findall(r"font-weight:(\d+);src:url\(data:font/ttf;base64,([^)]+)\)", style)
    held = {}
    for weight, data in faces:
        with TTFont(io.BytesIO(base64.b64decode(data, validate=True))) as font:
            held[weight] = "".join(sorted(map(chr, font.getBestCmap())))
    assert held == {"400": "fgi", "700": "01"}
    assert "font-kerning:none" in style
    assert "<style" not in svg_text(Scene(9, 9, (Line(1, 1, 2, 2, INK),)), INFO)


def test_names_become_classes() -> None:
    scene = Scene(9, 9, (Group((Line(1, 1, 2, 2, INK, name="Aim line"),), name="7 pin"),))
    root = parse(scene)
    assert only(root, "g").get("class") == "item-7-pin"
    assert only(root, "line").get("class") == "aim-line"


@given(st.text(max_size=40))
def test_class_names_are_plain(name: str) -> None:
    # CSS 2.1, 4.1.3: an identifier starts with a letter here, and holds letters, digits, dashes
    assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", class_name(name))


def test_paint_matches_the_pdf_model() -> None:
    root = parse(
        Scene(
            50,
            50,
            (
                Polyline(((1, 1), (2, 2), (3, 1)), Stroke("#1b3a75", 0.5, (1.0, 0.5), True), None),
                Polyline(((1, 1), (2, 2), (3, 1)), None, "#b5450f", closed=True),
            ),
        )
    )
    # ISO 32000-1, table 52: the mitre limit starts at 10; SVG 1.1, 11.4: at 4
    assert root.get("stroke-miterlimit") == "10"
    line, area = only(root, "polyline"), only(root, "polygon")
    assert line.get("stroke-dasharray") == "1 0.5"
    assert line.get("stroke-linecap") == line.get("stroke-linejoin") == "round"
    assert line.get("fill") == "none"
    assert area.get("stroke") is None
    assert area.get("points") == "1,1 2,2 3,1"


def test_clip_and_transform() -> None:
    turn = Transform.quarter_turns(1).then(Transform.move(10, 20))
    root = parse(
        Scene(50, 50, (Group((Disc(1, 1, 1, INK),), transform=turn, clip=Clip(0, 0, 5, 6)),) * 2)
    )
    group = root.findall("svg:g", NS)[0]
    assert group.get("transform") == "matrix(0 1 -1 0 10 20)"  # SVG 1.1, 7.6
    assert group.get("clip-path") == f"url(#{only(root, 'clipPath').get('id')})"
    assert only(root, "rect").attrib == {"x": "0", "y": "0", "width": "5", "height": "6"}


def test_numbers_are_rounded() -> None:
    root = parse(Scene(50, 50, (Line(0.1 + 0.2, -1e-9, 1 / 3, 1e-7, INK),)))
    line = only(root, "line")
    assert [line.get(key) for key in ("x1", "y1", "x2", "y2")] == ["0.3", "0", "0.3333", "0"]


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_no_number_but_a_finite_one_reaches_paper(bad: float) -> None:
    for item in (
        Line(bad, 0, 1, 1, INK),
        Polyline(((0, 0), (1, bad)), INK),
        Curve((0, 0), (((0, 1), (bad, 0), (1, 1)),), INK),
        Disc(1, 1, bad, INK),
        Text(bad, 1, "x", 8),
        Text(1, 1, "x", bad),
        Line(0, 0, 1, 1, replace(INK, width_mm=bad)),
        Line(0, 0, 1, 1, replace(INK, dash_mm=(bad,))),
        Group((), transform=Transform(e=bad)),
        Group((), clip=Clip(0, 0, bad, 1)),
    ):
        with pytest.raises(ValueError, match="finite"):
            svg_text(Scene(10, 10, (item,)), INFO)


def test_wrong_colours_and_missing_glyphs_are_refused() -> None:
    with pytest.raises(ValueError, match="#rrggbb"):
        svg_text(Scene(9, 9, (Disc(1, 1, 1, None, 'red"/>'),)), INFO)
    with pytest.raises(InputError, match="BLACK STAR"):
        svg_text(Scene(9, 9, (Text(1, 1, "★", 8),)), INFO)


@given(st.text(st.characters(), max_size=60))
def test_any_title_gives_well_formed_xml(title: str) -> None:
    text = svg_text(Scene(9, 9, (), title=title), DocumentInfo(title, title, language=title))
    root = ET.fromstring(text.encode("utf-8"))
    if title and not any(unicodedata.category(c) in ("Cc", "Cs", "Cn") for c in title):
        assert told(root)[0] == title


def test_same_scene_same_text() -> None:
    scene = Scene(90, 50, (Text(5, 12, "Stand on 20 → 10", 8), Disc(1, 1, 1, INK)))
    assert svg_text(scene, INFO) == svg_text(scene, INFO)
