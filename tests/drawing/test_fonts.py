import io
import subprocess
import sys
import unicodedata
from collections.abc import Iterator
from itertools import pairwise

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from cardgen.drawing import fonts
from cardgen.drawing.fallback import VARIABLE
from cardgen.drawing.scene import Weight
from cardgen.errors import InputError
from cardgen.units import POINT_MM

PRINTABLE = st.text(st.sampled_from("abcdefgh ijklmnop ABC 0123456789 äőř →½\u00a0\n"), max_size=80)


@pytest.fixture
def no_fallback(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No fonts but the card font, whatever the machine has."""
    monkeypatch.setenv(VARIABLE, "")
    fonts.use_fonts(())
    yield
    monkeypatch.undo()
    fonts.use_fonts(())


@pytest.mark.parametrize("weight", Weight)
def test_the_files_are_the_weights_they_are_called(weight: Weight) -> None:
    # OpenType specification, OS/2: usWeightClass 400 regular, 500 medium, 700 bold
    with TTFont(fonts.font_path(weight)) as font:
        assert font["OS/2"].usWeightClass == fonts.CSS_WEIGHTS[weight]
        assert font["name"].getBestFamilyName() == fonts.FAMILY


@pytest.mark.parametrize("weight", Weight)
@pytest.mark.parametrize("text", ["Stand on 22.5, roll over 10", "AV. Tä", "¼ → Đorđević"])
def test_width_agrees_with_a_font_engine(weight: Weight, text: str) -> None:
    # FreeType (through Pillow) at 1000 px to the em, unhinted widths are font units
    engine = ImageFont.truetype(
        str(fonts.font_path(weight)), 1000, layout_engine=ImageFont.Layout.BASIC
    )
    units = sum(engine.getlength(character) for character in text)
    assert fonts.width_mm(text, 10, weight) == pytest.approx(units / 1000 * 10 * POINT_MM, rel=1e-9)


def test_width_grows_with_size_and_adds_up() -> None:
    assert fonts.width_mm("", 8) == 0
    assert fonts.width_mm("arrow", 16) == pytest.approx(2 * fonts.width_mm("arrow", 8))
    # no kerning: "AV" is as wide as its letters
    assert fonts.width_mm("AV", 9) == pytest.approx(fonts.width_mm("A", 9) + fonts.width_mm("V", 9))


def test_heights_are_those_of_the_outlines() -> None:
    # OpenType, OS/2: sxHeight and sCapHeight approximate the heights of x and H
    for weight in Weight:
        with TTFont(fonts.font_path(weight)) as font:
            glyphs, names = font["glyf"], font.getBestCmap()
            em_mm = 10 * POINT_MM / font["head"].unitsPerEm
            small, capital = glyphs[names[ord("x")]].yMax, glyphs[names[ord("H")]].yMax
        assert fonts.x_height_mm(10, weight) == pytest.approx(small * em_mm, abs=0.01)
        assert fonts.cap_height_mm(10, weight) == pytest.approx(capital * em_mm, abs=0.01)


def test_body_type_can_be_read_at_arms_length() -> None:
    # Legge & Bigelow (2011), Does print size matter for reading?, J. Vision 11(5):8: fluent reading
    # needs an x-height of 0.2 degrees, 1.4 mm at 40 cm
    assert fonts.x_height_mm(7.6) >= 1.4


def test_names_of_half_of_europe_print() -> None:
    for weight in Weight:
        assert (
            fonts.missing_glyphs("Đorđević Żółć Øåß Ñandú Γιώργος Юлия ½ ± × ≤ → ↑ “ ” –", weight)
            == []
        )


@pytest.mark.usefixtures("no_fallback")
def test_what_cannot_print_is_named_once_in_order() -> None:
    assert fonts.missing_glyphs("a●漢●\u202e") == ["●", "漢", "\u202e"]
    assert fonts.missing_glyphs("q\u0301") == ["\u0301"]  # no composed letter exists for it


def test_width_names_the_characters_it_cannot_set() -> None:
    with pytest.raises(InputError) as caught:
        fonts.width_mm("Pin ● seven\u200b", 8)
    message = str(caught.value)
    assert message.startswith("the card font cannot print ● (U+25CF BLACK CIRCLE)")
    assert "(U+200B ZERO WIDTH SPACE)" in message
    assert "\u200b" not in message


@pytest.mark.usefixtures("no_fallback")
def test_width_refuses_what_has_no_glyph() -> None:
    with pytest.raises(InputError) as caught:
        fonts.width_mm("漢字", 8)
    message = str(caught.value)
    assert "漢 (U+6F22 CJK UNIFIED IDEOGRAPH-6F22), 字 (U+5B57" in message
    assert "in “漢字”, and no font for it is found here" in message
    assert message.endswith("or name the file of one in CARDGEN_FONTS")
    assert caught.value.exit_code == 2


@pytest.mark.usefixtures("no_fallback")
def test_of_many_characters_that_cannot_print_the_first_are_named_and_the_rest_counted() -> None:
    with pytest.raises(InputError, match=r"か \(U\+304B [^)]*\) and 4 more in"):
        fonts.width_mm("あいうえおはひかきくけこ", 8)


def test_wrap_by_hand() -> None:
    room = fonts.width_mm("Roll it over", 8)
    assert fonts.wrap("Roll it over the third arrow", room, 8) == (
        "Roll it over",
        "the third",
        "arrow",
    )
    assert fonts.wrap("Roll it over the third arrow", room - 0.001, 8)[0] == "Roll it"


def test_wrap_keeps_line_ends_and_no_break_spaces() -> None:
    assert fonts.wrap("one\n\ntwo", 50, 8) == ("one", "", "two")
    room = fonts.width_mm("board 10 m", 8)
    assert fonts.wrap("board 10\u00a0mph", room, 8) == ("board", "10\u00a0mph")
    assert fonts.wrap("", 50, 8) == ()


def test_wrap_breaks_a_word_wider_than_the_line() -> None:
    lines = fonts.wrap("a Donaudampfschiff", fonts.width_mm("Donaud", 8), 8)
    assert lines[0] == "a"
    assert "".join(lines[1:]) == "Donaudampfschiff"
    assert fonts.wrap("abc", 0.01, 8) == ("a", "b", "c")


def test_wrap_breaks_a_long_word_after_a_hyphen_if_it_has_one() -> None:
    room = fonts.width_mm("1-2-4-7-8-1", 8)
    assert fonts.wrap("1-2-4-7-8-10", room, 8) == ("1-2-4-7-8-", "10")
    assert fonts.wrap("1-2-4-7-8-10", fonts.width_mm("1-2-4-7-8-10", 8), 8) == ("1-2-4-7-8-10",)
    assert fonts.wrap("a-b", 0.01, 8) == ("a", "-", "b")


@given(text=PRINTABLE, width=st.floats(1, 60), size=st.sampled_from([6.0, 8.0, 12.0]))
def test_wrap_loses_nothing_fits_and_is_greedy(text: str, width: float, size: float) -> None:
    lines = fonts.wrap(text, width, size)
    kept = [c for c in unicodedata.normalize("NFC", text) if c not in " \n"]
    assert [c for line in lines for c in line if c != " "] == kept
    for line in lines:
        assert len(line) <= 1 or fonts.width_mm(line, size) <= width + 1e-6
    if "\n" not in text:
        # Words of the last line but one may have gone to the last.
        for line, following in pairwise(lines[:-1] if len(lines) > 2 else []):
            if following is lines[-2]:
                break
            word = following.split(" ")[0]
            assert fonts.width_mm(f"{line} {word}", size) > width or not text.count(" ")


@pytest.mark.parametrize("weight", Weight)
def test_subset_holds_just_what_was_asked(weight: Weight) -> None:
    data = fonts.subset_ttf(weight, "fi→10")
    assert data == fonts.subset_ttf(weight, "01→fiif")
    with TTFont(io.BytesIO(data)) as font:
        assert sorted(map(chr, font.getBestCmap())) == sorted("fi→10")
        assert font["maxp"].numGlyphs <= 8  # with .notdef and the parts that glyphs share
        assert "GSUB" not in font
        assert "GPOS" not in font
        assert font["name"].getBestFamilyName() == fonts.FAMILY
    assert len(data) < 6000


def test_importing_fonts_does_not_import_font_tools() -> None:
    code = "import sys, cardgen.drawing.fonts; print('fontTools' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
