"""What the card font lacks: fonts made here of a few squares, so that every machine can test it."""

import io
import os
import re
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Iterator
from itertools import accumulate
from pathlib import Path

import pypdfium2
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.TupleVariation import TupleVariation
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from cardgen.drawing import fallback, fonts
from cardgen.drawing.fallback import VARIABLE, Fallback, fallbacks
from cardgen.drawing.linebreak import phrases, pieces
from cardgen.drawing.scene import Field, Scene, Text, Weight
from cardgen.errors import InputError
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

INFO = DocumentInfo("Test", language="ja")
WIDE, NARROW = "漢字板目、。「」をまスペア", "핀ｱ"
NOT_FIRST, NOT_LAST = "、。」）ー々っャ！？", "「（『【"
KANJI = st.text("漢字板目枚、。「」（）ーっスペア ab10-½", max_size=40)


def build(path: Path, kind: str, characters: str = WIDE + NARROW, weight: int = 400) -> Path:
    """Write a font whose every glyph is a square of .7 em, 1 em wide, or .5 em for narrow ones."""
    names = {c: f"uni{ord(c):04X}" for c in characters}
    order = [".notdef", *names.values()]
    builder = FontBuilder(1000, isTTF=kind != "cff")
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({ord(c): name for c, name in names.items()})
    widths = {name: 500 if c in NARROW else 1000 for c, name in names.items()} | {".notdef": 500}

    def draw(pen: TTGlyphPen | T2CharStringPen, name: str) -> None:
        right = widths[name] - 100
        pen.moveTo((100, 0))
        if kind == "cff":  # a curve, so that something is to be converted
            pen.curveTo((100, 250), (100, 450), (100, 700))
        else:
            pen.lineTo((100, 700))
        pen.lineTo((right, 700))
        pen.lineTo((right, 0))
        pen.closePath()

    if kind == "cff":
        strings = {}
        for name in order:
            pen = T2CharStringPen(widths[name], None)
            draw(pen, name)
            strings[name] = pen.getCharString()
        builder.setupCFF("Squares", {"FullName": "Squares"}, strings, {})
    else:
        glyphs = {}
        for name in order:
            pen = TTGlyphPen(None)
            draw(pen, name)
            glyphs[name] = pen.glyph()
        builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics({name: (widths[name], 100) for name in order})
    builder.setupHorizontalHeader(ascent=880, descent=-120)
    builder.setupNameTable({"familyName": "Squares", "styleName": "Regular", "psName": "Squares"})
    builder.setupOS2(sTypoAscender=880, usWeightClass=weight)
    builder.setupPost()
    if kind == "variable":
        builder.setupFvar([("wght", 400, 400, 900, "Weight")], [])
        # Heavier is lower here, which shows at once: 300 units less at 900.
        lower = [(0, 0), (0, -300), (0, -300), (0, 0), *[(0, 0)] * 4]
        builder.setupGvar(
            {name: [TupleVariation({"wght": (0, 1, 1)}, lower)] for name in names.values()}
        )
    builder.save(path)
    return path


@pytest.fixture
def using(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., None]]:
    """A function that makes these font files all there is beside the card font."""

    def use(*paths: Path) -> None:
        monkeypatch.setenv(VARIABLE, os.pathsep.join(map(str, paths)))
        fonts.use_fonts(())

    use()
    yield use
    monkeypatch.undo()
    fonts.use_fonts(())


@pytest.fixture(params=["glyf", "cff", "variable"])
def squares(request: pytest.FixtureRequest, tmp_path: Path, using: Callable[..., None]) -> Path:
    path = build(tmp_path / f"{request.param}.otf", request.param)
    using(path)
    return path


def page(*texts: Text) -> Scene:
    return Scene(60, 30, texts)


def ink(data: bytes, left: float, top: float, right: float, bottom: float) -> float:
    """Return which share of a rectangle [mm] of the first page is dark."""
    document = pypdfium2.PdfDocument(data)
    document.init_forms()
    image = document[0].render(scale=4, grayscale=True).to_pil()
    scale = image.width / 60
    box = image.crop((int(left * scale), int(top * scale), int(right * scale), int(bottom * scale)))
    document.close()
    dark = sum(box.histogram()[:128])
    return float(dark / (box.width * box.height))


def test_a_text_is_set_in_runs_of_one_font_each(squares: Path) -> None:
    runs = fonts.runs("10漢字 mphア")
    assert [run.text for run in runs] == ["10", "漢字", " mph", "ア"]
    assert [run.fallback and run.fallback.path for run in runs] == [None, squares, None, squares]
    assert runs[1].width_em == pytest.approx(2.0)
    alone = fonts.width_mm("10", 9) + fonts.width_mm(" mph", 9)
    assert fonts.width_mm("10漢字 mphア", 9) == pytest.approx(alone + 3 * 9 * POINT_MM)


def test_a_plain_text_is_one_run_of_the_card_font() -> None:
    assert [run.fallback for run in fonts.runs("Stand on 22½ → ok")] == [None]


@pytest.mark.usefixtures("squares")
def test_a_subset_is_a_truetype_font_of_just_those_characters() -> None:
    font = fallbacks(Weight.REGULAR)[0]
    data = font.subset("板目")
    fallback._subset.cache_clear()
    assert font.subset("目板目") == data
    with TTFont(io.BytesIO(data)) as made:
        assert made.sfntVersion == "\x00\x01\x00\x00"
        assert not {"CFF ", "fvar", "gvar", "GSUB"} & set(made.keys())
        assert sorted(map(chr, made.getBestCmap())) == sorted("板目")
        glyph = made["glyf"][made.getBestCmap()[ord("板")]]
        assert (glyph.xMin, glyph.yMin, glyph.xMax, glyph.yMax) == (100, 0, 900, 700)
        assert made["hmtx"][made.getBestCmap()[ord("板")]] == (1000, 100)


@pytest.mark.usefixtures("squares")
def test_the_pdf_shows_and_says_each_character_where_it_is_measured() -> None:
    texts = (
        Text(5, 10, "10漢字 mph", 12),
        Text(5, 20, "板", 12, Weight.BOLD),
        Text(30, 20, "「", 12, Weight.MEDIUM),
    )
    data = pdf_bytes([page(*texts)], INFO)
    assert data == pdf_bytes([page(*texts)], INFO)
    reader = PdfReader(io.BytesIO(data), strict=True)
    assert "10漢字 mph" in reader.pages[0].extract_text()
    assert data.count(b"/FontDescriptor ") == data.count(b"/FontFile2 ") >= 2
    em = 12 * POINT_MM
    left = 5 + fonts.width_mm("10", 12)
    for number in range(2):
        x = left + number * em
        assert ink(data, x + 0.15 * em, 10 - 0.65 * em, x + 0.85 * em, 10 - 0.05 * em) > 0.97
        assert ink(data, x + 0.15 * em, 10 + 0.05 * em, x + 0.85 * em, 10 + 0.3 * em) < 0.03
    assert ink(data, 30 + 0.15 * em, 20 - 0.3 * em, 30 + 0.85 * em, 20 - 0.05 * em) > 0.97


def test_a_variable_font_has_each_weight(tmp_path: Path, using: Callable[..., None]) -> None:
    using(build(tmp_path / "v.ttf", "variable"))
    texts = (Text(5, 10, "漢", 12), Text(20, 10, "漢", 12, Weight.BOLD))
    data = pdf_bytes([page(*texts)], INFO)
    em = 12 * POINT_MM
    # At 700, three fifths of the way from 400 to 900, the square is 520 units high.
    for x, low, high in ((5.0, 0.62, 0.68), (20.0, 0.44, 0.50)):
        assert ink(data, x + 0.15 * em, 10 - high * em, x + 0.85 * em, 10 - low * em) > 0.95
    assert ink(data, 20 + 0.15 * em, 10 - 0.68 * em, 20 + 0.85 * em, 10 - 0.55 * em) < 0.05
    assert fonts.fallback_ink_em("漢", Weight.BOLD) == pytest.approx((0.52, 0.0))


def test_a_heavy_text_takes_a_heavy_font_where_there_is_one(
    tmp_path: Path, using: Callable[..., None]
) -> None:
    light = build(tmp_path / "light.ttf", "glyf")
    heavy = build(tmp_path / "heavy.ttf", "glyf", weight=700)
    using(light, heavy)
    chosen = {weight: fonts.runs("漢", weight)[0].fallback for weight in Weight}
    assert {w: font and font.path for w, font in chosen.items()} == {
        Weight.REGULAR: light,
        Weight.MEDIUM: light,
        Weight.BOLD: heavy,
    }
    # Of a plain font two weights are one, and the file has it once.
    assert chosen[Weight.REGULAR] == chosen[Weight.MEDIUM]


def test_each_character_comes_from_the_first_font_that_has_it(
    tmp_path: Path, using: Callable[..., None]
) -> None:
    first, second = build(tmp_path / "a.ttf", "glyf", "漢"), build(tmp_path / "b.ttf", "cff")
    using(first, second)
    runs = fonts.runs("漢字")
    assert [run.fallback and run.fallback.path for run in runs] == [first, second]
    fonts.use_fonts([second])  # before those of the environment
    assert [run.fallback and run.fallback.path for run in fonts.runs("漢字")] == [second]


def test_more_characters_than_a_pdf_font_holds_come_out(
    tmp_path: Path, using: Callable[..., None]
) -> None:
    many = "".join(chr(0x4E00 + n) for n in range(600))  # a PDF's simple font holds 256
    using(build(tmp_path / "many.otf", "cff", many))
    lines = [many[n : n + 20] for n in range(0, 600, 20)]
    scene = Scene(200, 200, tuple(Text(5, 6 + 6 * n, t, 10) for n, t in enumerate(lines)))
    text = PdfReader(io.BytesIO(pdf_bytes([scene], INFO))).pages[0].extract_text()
    assert set(many) <= set(text)


@pytest.mark.usefixtures("squares")
def test_what_stands_in_a_field_may_be_japanese() -> None:
    field = Field(5, 5, 40, 8, "note", "メモ", "板目 10")
    data = pdf_bytes([Scene(60, 30, (field,))], INFO)
    fields = PdfReader(io.BytesIO(data)).get_fields() or {}
    assert fields["note"]["/V"] == "板目 10"
    em, base = 10 * POINT_MM, 5 + (8 + fonts.cap_height_mm(10)) / 2
    assert ink(data, 6 + 0.15 * em, base - 0.6 * em, 6 + 0.85 * em, base - 0.1 * em) > 0.95


@pytest.mark.usefixtures("squares")
def test_an_svg_carries_the_glyphs_it_uses() -> None:
    svg = svg_text(page(Text(5, 10, "10漢字", 12)), INFO)
    assert "font-family=\"'Fira Sans Condensed', 'Squares', sans-serif\"" in svg
    faces = re.findall(r"@font-face\{font-family:'([^']+)'", svg)
    assert faces == ["Fira Sans Condensed", "Squares"]
    assert svg == svg_text(page(Text(5, 10, "10漢字", 12)), INFO)


def test_a_systems_font_is_asked_for_east_asian_characters_only(tmp_path: Path) -> None:
    path = build(tmp_path / "s.ttf", "glyf", "漢●")
    of_system, of_user = (Fallback(path, Weight.REGULAR, is_given=given) for given in (False, True))
    assert [of_system.has(c) for c in "漢●字"] == [True, False, False]
    assert [of_user.has(c) for c in "漢●字"] == [True, True, False]


def test_a_systems_fonts_are_found_by_name_however_it_is_composed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, using: Callable[..., None]
) -> None:
    folder = tmp_path / "fonts" / "deep"
    folder.mkdir(parents=True)
    name = unicodedata.normalize("NFD", "ヒラギノ角ゴシック W3.ttc")
    for file in ("malgun.ttf", name, "Arial.ttf"):
        build(folder / file, "glyf")
    monkeypatch.setattr(fallback, "_folders", lambda: iter((tmp_path / "no", tmp_path / "fonts")))
    monkeypatch.delenv(VARIABLE)
    fonts.use_fonts(())
    assert [font.path for font in fallbacks(Weight.REGULAR)] == [
        folder / name,
        folder / "malgun.ttf",
    ]
    assert fonts.width_mm("漢", 8) > 0
    using()  # named, and empty: none at all
    assert fallbacks(Weight.REGULAR) == ()


@pytest.mark.parametrize("content", [None, b"", b"no font at all", b"\x00\x01\x00\x00broken"])
def test_a_file_that_is_no_font_is_said_with_its_name(
    content: bytes | None, tmp_path: Path, using: Callable[..., None]
) -> None:
    path = tmp_path / "bad.ttf"
    if content is not None:
        path.write_bytes(content)
    wrong = "there is no such font file" if content is None else "is not a font with outlines"
    with pytest.raises(InputError, match=f"bad.ttf: fonts: {wrong}") as caught:
        fonts.use_fonts([path])
    assert caught.value.exit_code == 2
    using(path)
    with pytest.raises(InputError, match=f"bad.ttf: {VARIABLE}: {wrong}"):
        fonts.width_mm("漢", 8)


def test_the_same_bytes_come_from_another_process(tmp_path: Path) -> None:
    path = build(tmp_path / "s.otf", "cff")
    code = (
        "import hashlib\n"
        "from cardgen.drawing.scene import Scene, Text\n"
        "from cardgen.writers.document import DocumentInfo\n"
        "from cardgen.writers.pdf import pdf_bytes\n"
        "data = pdf_bytes([Scene(60, 30, (Text(5, 10, '10漢字板目', 12),))], DocumentInfo('x'))\n"
        "print(hashlib.sha256(data).hexdigest())\n"
    )
    hashes = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {VARIABLE: str(path), "PYTHONHASHSEED": seed, "PYTHONUTF8": "1"},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(hashes) == 1


# --- breaking lines -----------------------------------------------------------------------------


def test_a_line_breaks_between_east_asian_characters_by_hand() -> None:
    assert pieces("左へ2枚、目標10枚目。") == ("左", "へ", "2枚、", "目", "標", "10枚", "目。")
    assert pieces("「板目」は（スペア）") == ("「板", "目」", "は", "（ス", "ペ", "ア）")
    assert pieces("ボールを") == ("ボー", "ル", "を")
    assert pieces("1½枚") == ("1½枚",)
    assert pieces("Stand") == ("Stand",)
    assert pieces("스페어볼") == ("스페어볼",)  # Korean breaks at its spaces
    assert pieces("あ\u00a0い") == ("あ\u00a0い",)
    assert pieces("") == ("",)


def test_a_japanese_phrase_ends_after_its_particle_by_hand() -> None:
    assert phrases("左へ2枚、目標10枚目。") == ("左へ", "2枚、", "目標10枚目。")
    assert phrases("痛んだらやめ、医療の専門家に相談する。") == (
        *("痛んだらやめ、", "医療の", "専門家に", "相談する。"),
    )
    assert phrases("ウォッシュアウト") == ("ウォッシュアウト",)
    assert phrases("乾いた「レーン」とご自分") == ("乾いた", "「レーン」", "とご自分")
    assert phrases("Stand") == ("Stand",)
    assert phrases("") == ("",)


@given(KANJI)
def test_pieces_make_up_the_word_and_keep_to_the_rules(word: str) -> None:
    parts = pieces(word)
    assert "".join(parts) == word
    assert not [part for part in parts[1:] if part[0] in NOT_FIRST]
    assert not [part for part in parts[:-1] if part[-1] in NOT_LAST or part[-1].isdigit()]
    ends = set(accumulate(map(len, parts)))
    assert ends.issuperset(accumulate(map(len, phrases(word))))


def test_japanese_wraps_without_spaces(tmp_path: Path, using: Callable[..., None]) -> None:
    using(build(tmp_path / "s.ttf", "glyf", "左へ枚動く。目標のまま"))
    em = 8 * POINT_MM
    lines = fonts.wrap("左へ2枚動く。目標のまま", 5 * em, 8)
    assert lines == ("左へ", "2枚動く。", "目標のまま")
    assert all(fonts.width_mm(line, 8) <= 5 * em for line in lines)
    # Where that would take a line more, lines break in phrases too.
    assert fonts.wrap("動動く動動く動く", 4 * em, 8) == ("動動く動", "動く動く")
    # A wide stop has its space in itself.
    assert fonts.wrap("動く。 動く", 9 * em, 8) == ("動く。動く",)
    # A full stop that would begin a line takes the character before it along.
    assert fonts.wrap("動動動動。", 4 * em, 8) == ("動動動", "動。")
    # Where not even a piece has room, it is broken all the same.
    assert fonts.wrap("く。", 0.5 * em, 8) == ("く", "。")


def test_korean_wraps_at_spaces(tmp_path: Path, using: Callable[..., None]) -> None:
    using(build(tmp_path / "s.ttf", "glyf", "파울라인을넘지마세요"))
    em = 8 * POINT_MM
    assert fonts.wrap("파울라인을 넘지 마세요", 6 * em, 8) == ("파울라인을", "넘지 마세요")


# --- with a real font, where the machine has one --------------------------------------------------


@pytest.mark.parametrize("text", ["立ち位置 22½・目標 10", "파울라인을 넘지 마세요"])
def test_a_systems_font_prints_japanese_and_korean(text: str) -> None:
    fonts.use_fonts(())
    if fonts.missing_glyphs(text):
        pytest.skip("this machine has no font for Japanese and Korean")
    for weight in Weight:
        data = pdf_bytes([page(Text(5, 10, text, 9, weight))], INFO)
        assert len(data) < 40_000
        assert text in PdfReader(io.BytesIO(data)).pages[0].extract_text()
        assert ink(data, 5, 7, 5 + fonts.width_mm(text, 9, weight), 10) > 0.08
