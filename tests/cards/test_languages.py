"""Every language says all that English says, in its own writing, and fits on the paper."""

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards import numbers
from cardgen.cards.booklet import Booklet, booklet_of, cards_of
from cardgen.cards.drill import drill_page
from cardgen.cards.forms import intake_sheet, log_sheet
from cardgen.cards.words import Plural, Words, load_words, read_words
from cardgen.drawing.alignpage import align_scenes
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.fonts import metrics, missing_glyphs
from cardgen.drawing.forms import intake_scene, log_scenes
from cardgen.drawing.knowpages import practice_scene
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.scene import Scene, Text, Weight
from cardgen.drawing.theme import A7, FORMATS, ID_1
from cardgen.errors import InputError
from cardgen.preflight import Kind, preflight
from cardgen.press import Job
from cardgen.sheets.papers import A4

LANGUAGES = ("es", "de", "fr", "ja", "ko")
LATIN = ("es", "de", "fr")
EAST_ASIAN = ("ja", "ko")
BRACES = re.compile(r"\{(\w+)\}")
SAME = {
    # Words of the trade that travel, words that are alike, and what files and programs call things.
    *("spare", "strike", "split", "washout", "baby split", "lily", "big four", "greek church"),
    *("strikes", "washouts", "notes", "date", "ball", "note", "chance", "stand", "drift", "name"),
    *("hit, miss, left, right", "mph", "cardgen align printer --right mm --up mm", "2026-11-25"),
}
"""Texts that may be the same as in English, in small letters."""


@cache
def words_of(language: str) -> Words:
    return load_words(language)


def every_text(words: Words) -> Iterator[tuple[str, str]]:
    """Yield each text with its key; of a list and of forms by number each one."""
    yield from words.texts.items()
    for key, texts in words.lists.items():
        yield from ((key, text) for text in texts)
    for key, plural in words.plurals.items():
        yield from ((key, form) for form in plural.forms.values())


def said(words: Words) -> Iterator[tuple[str, str]]:
    """Yield each text that is printed."""
    return ((key, text) for key, text in every_text(words) if key != "language")


def needs_font(language: str) -> None:
    if language in EAST_ASIAN and missing_glyphs("스페어スペア板"):
        pytest.skip("this machine has no font for Japanese and Korean")


# --- complete, and in the language ----------------------------------------------------------------


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_has_the_texts_of_english_and_no_more(language: str, words: Words) -> None:
    other = words_of(language)
    assert other.language == language
    there = set(other.texts) | set(other.lists) | set(other.plurals)
    assert there == set(words.texts) | set(words.lists) | set(words.plurals)
    assert {k: len(v) for k, v in other.lists.items()} == {
        k: len(v) for k, v in words.lists.items()
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_has_the_values_of_its_original(language: str, words: Words) -> None:
    other = words_of(language)
    for key, text in words.texts.items():
        plural = other.plurals.get(key)
        for form in plural.forms.values() if plural else [other.texts[key]]:
            assert set(BRACES.findall(form)) == set(BRACES.findall(text)), key
        if plural:
            assert plural.by in BRACES.findall(text), key
    for key, texts in words.lists.items():
        for form, text in zip(other.lists[key], texts, strict=True):
            assert set(BRACES.findall(form)) == set(BRACES.findall(text)), key


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_left_in_english(language: str, words: Words) -> None:
    other = words_of(language)
    english = {key: {text for k, text in every_text(words) if k == key} for key, _ in said(words)}
    left = {
        (key, text)
        for key, text in said(other)
        if text in english[key]
        and re.search(r"[a-z]{2}", re.sub(r"\{\w+\}|\b(mph|lb|ft|ml|rpm|in)\b", "", text).lower())
        and text.lower() not in SAME
    }
    assert left == set()


@pytest.mark.parametrize("language", EAST_ASIAN)
def test_japanese_and_korean_are_written_as_such(language: str) -> None:
    script = r"[\u3040-\u30ff\u4e00-\u9fff]" if language == "ja" else r"[\uac00-\ud7a3]"
    foreign = r"[\uac00-\ud7a3]" if language == "ja" else r"[\u3040-\u30ff\u4e00-\u9fff]"
    texts = [text for _, text in said(words_of(language))]
    assert not [text for text in texts if re.search(foreign, text)]
    spoken = [t for t in texts if re.search(r"[^\W\d_]{3}", re.sub(r"\{\w+\}", "", t))]
    assert sum(bool(re.search(script, text)) for text in spoken) > 0.95 * len(spoken)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_file_says_where_the_translation_comes_from(language: str) -> None:
    head = Path(words_of(language).source).read_text(encoding="utf-8").partition("\n\n")[0]
    assert "Translated from memory; corrections are one-line changes." in head
    assert all(line.startswith("#") for line in head.splitlines())


# --- typography -----------------------------------------------------------------------------------


@pytest.mark.parametrize("language", LATIN)
def test_the_card_font_has_every_character_in_every_weight(language: str) -> None:
    used = {c for _, text in said(words_of(language)) for c in text}
    for weight in Weight:
        assert used - set(metrics(weight).advances_em) == set()


@pytest.mark.parametrize("language", EAST_ASIAN)
def test_a_systems_font_has_every_other_character(language: str) -> None:
    needs_font(language)
    used = "".join(sorted({c for _, text in said(words_of(language)) for c in text}))
    assert missing_glyphs(used) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_marks_are_those_of_print(language: str) -> None:
    for key, text in said(words_of(language)):
        assert "..." not in text, key
        assert " - " not in text, key
        assert text == text.strip(" "), key
        assert "  " not in text, key
        assert not re.search(r"['\"]", text.replace("{feet}'", "")), key


def test_french_keeps_its_spaces_before_high_marks() -> None:
    # Imprimerie nationale, Lexique des règles typographiques (from memory): ; : ! ? « » are spaced,
    # here by a no-break space, for the card font has no narrow one.
    for key, text in said(words_of("fr")):
        if key == "strike.misses":  # a mark behind a number, no exclamation
            continue
        assert not re.search(r"[^\u00a0\s][:;!?»]|[ ][:;!?»]|«[^\u00a0]", text), (key, text)


def test_spanish_opens_what_it_closes() -> None:
    for key, text in said(words_of("es")):
        assert text.count("¿") == text.count("?"), key
        assert text.count("«") == text.count("»"), key


def test_german_quotes_open_below() -> None:
    for key, text in said(words_of("de")):
        assert text.count("„") == text.count("“"), key
        assert not re.search(r"[«»”]", text), key


def test_japanese_has_its_own_stops() -> None:
    kana = r"[\u3040-\u30ff\u4e00-\u9fff]"
    for key, text in said(words_of("ja")):
        assert not re.search(rf"{kana}[,.;!?]", text), (key, text)
        assert text.count("「") == text.count("」"), key
        assert text.count("（") == text.count("）"), key


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_value_and_its_unit_stay_on_one_line(language: str) -> None:
    for key, text in said(words_of(language)):
        assert not re.search(r"[}\d] (%|ft|mph|lb|mm|ml)\b", text), (key, text)


@pytest.mark.parametrize("language", LATIN)
def test_decimals_in_texts_have_the_comma(language: str) -> None:
    # But for a half as it is written into a log, which scripts read.
    written = {text for key, text in said(words_of(language)) if re.search(r"\d\.\d", text)}
    assert written == {words_of(language)("forms.log_intro")}


# --- numbers and their forms ----------------------------------------------------------------------


# Unicode CLDR, Language Plural Rules (chart of version 44), cardinal examples: from memory.
CLDR = {
    "en": {"one": ["1"], "other": ["0", "2", "16", "100", "1.0", "0.5", "1.5"]},
    "de": {"one": ["1"], "other": ["0", "2", "16", "1,0", "0,1", "1,5"]},
    "es": {"one": ["1", "1,0"], "many": ["1000000"], "other": ["0", "2", "16", "0,1", "1,5"]},
    "fr": {"one": ["0", "1", "0,0", "1,5", "1½", "½"], "many": ["1000000"], "other": ["2", "2,0"]},
    "ja": {"other": ["0", "1", "2", "1.5"]},
    "ko": {"other": ["0", "1", "2", "1.5"]},
    "pl": {"one": ["1"], "few": ["2", "3", "22"], "many": ["0", "5", "12"], "other": ["1,5"]},
    "cs": {"one": ["1"], "few": ["2", "4"], "many": ["1,5"], "other": ["0", "5"]},
}


@pytest.mark.parametrize("language", CLDR)
def test_plural_forms_are_those_of_cldr(language: str) -> None:
    for category, examples in CLDR[language].items():
        assert [numbers.category(number, language) for number in examples] == [category] * len(
            examples
        )
    assert set(numbers.categories(language)) == set(CLDR[language])
    assert numbers.categories(language)[-1] == "other"


def test_what_is_no_number_takes_the_common_form() -> None:
    assert numbers.category("<1", "fr") == "other"
    assert numbers.category("", "de") == "other"
    assert numbers.category("−1", "de") == "one"
    assert numbers.category(1, "de") == "one"


@pytest.mark.parametrize(
    ("language", "text"),
    [("en", "1.5"), ("de", "1,5"), ("es", "1,5"), ("fr", "1,5"), ("ja", "1.5"), ("ko", "1.5")],
)
def test_decimals_are_written_as_the_language_does(language: str, text: str) -> None:
    # Unicode CLDR, number symbols (from memory)
    assert numbers.written(1.5, language, 1) == numbers.written(1.5, language) == text
    assert words_of(language).number(1.5, 1) == text


def test_a_minus_is_a_minus_and_none_stands_before_nought() -> None:
    assert numbers.written(-1.25, "en", 2) == "−1.25"
    assert numbers.written(-0.04, "de", 1) == "0,0"
    assert numbers.written(14.0, "de") == "14"


@given(st.floats(-1e6, 1e6), st.integers(0, 3), st.sampled_from(["en", *LANGUAGES]))
def test_a_written_number_reads_back(value: float, decimals: int, language: str) -> None:
    text = numbers.written(value, language, decimals)
    back = Decimal(text.replace("−", "-").replace(",", "."))
    assert abs(float(back) - value) <= 0.5 * 10**-decimals + 1e-9
    assert text.replace("−", "-").replace(",", ".") in {
        f"{value:.{decimals}f}",
        f"{0.0:.{decimals}f}",
    }


def test_lists_have_the_commas_of_the_language() -> None:
    # Unicode CLDR, list patterns (from memory)
    assert words_of("en").listed(["a", "b", "c"]) == "a, b, c"
    assert words_of("ja").listed(["a", "b"]) == "a、b"
    assert words_of("ko").listed(["a"]) == "a"


def test_a_text_takes_the_form_of_its_number() -> None:
    french, german, spanish = map(words_of, ("fr", "de", "es"))
    assert french("back.pins", pins=french.number(1.3, 1)) == "1,3 quille"
    assert french("back.pins", pins=french.number(2.0, 1)) == "2,0 quilles"
    assert spanish("back.pins", pins=spanish.number(1.3, 1)) == "1,3 bolos"
    assert german("back.pins", pins=german.number(1.0, 1)) == "1,0 Pins"
    assert german("fit.day", day="", count=1, off="", side="", sd="").startswith(": 1 Wurf kreuzt")
    assert german("fit.day", day="", count=3, off="", side="", sd="").startswith(": 3 Würfe kreuz")


def test_the_value_that_chooses_must_be_there() -> None:
    words = Words(
        "shop.yaml", {"language": "de"}, {}, {"a": Plural("count", {"one": "1", "other": "{n}"})}
    )
    with pytest.raises(InputError, match=r"^shop.yaml: a: no value is called 'count'; there are n"):
        words("a", n=3)
    assert words("a", n=3, count=2) == "3"
    assert words("a", n=3, count=1) == "1"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("language: klingon\n", "words.yaml:1:11: language: 'klingon' is no language"),
        ("card: {}\n", "language: None is no language that is known"),
        (
            "language: de\na: {one: x, few: y, other: z}\n",
            "words.yaml:2:18: a.few: de has no such plural; it has one, other",
        ),
        ("language: de\na: 3\nb: {c: [x, {}]}\n", "b.c: words are texts or lists of texts"),
    ],
)
def test_a_words_file_with_mistakes_is_said_where(text: str, message: str, tmp_path: Path) -> None:
    path = tmp_path / "words.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_words(path)
    assert message in str(caught.value)
    assert caught.value.exit_code == 2


def test_other_is_a_plain_key_where_texts_are_not_forms(words: Words) -> None:
    assert words("kinds.other") == "cluster"
    assert "kinds" not in words_of("de").plurals


def test_fonts_of_a_words_file_stand_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "words.yaml"
    path.write_text("language: ja\nfonts: [mine.otf, /abs/other.ttf]\n", encoding="utf-8")
    assert read_words(path).fonts == (tmp_path / "mine.otf", Path("/abs/other.ttf"))
    assert words_of("ja").fonts == ()


# --- on paper -------------------------------------------------------------------------------------


def booklet_in(job: Job) -> Booklet:
    return booklet_of(
        job.loaded,
        job.chart,
        job.words,
        stretch=9,
        strike=job.answers.strike,
        few=job.answers.few,
        changes=job.answers.changes,
        drill=job.answers.drill,
        practice=job.answers.practice,
        date="2026-11-25",
    )


def documents_of(job: Job) -> Iterator[tuple[Kind, list[Scene]]]:
    """Yield what is printed for a bowler, with what it is to be looked at as."""
    words, size = job.words, (A4.width_mm, A4.height_mm)
    yield "booklet", booklet_scenes(booklet_in(job), A7)
    deck = cards_of(job.chart, words)
    for fmt in (ID_1, FORMATS["a8"], FORMATS["id1-landscape"]):
        scenes = [side(card, fmt) for card in deck.cards for side in (face_scene, back_scene)]
        yield "card", [*scenes, *page_scenes(deck.key, fmt), *page_scenes(deck.care, fmt)]
    page = drill_page(job.answers.drill, job.answers.practice, words)
    yield "form", [practice_scene(page, words("notes.title"), words("forms.cautions"), *size)]
    yield "form", log_scenes(log_sheet(words), *size)
    yield "form", [intake_scene(intake_sheet(words), *size)]
    yield "form", list(align_scenes(words, *size, "long-edge"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_page_breaks_a_rule_of_print(
    language: str, demos: dict[str, Job], fitted: dict[str, Job]
) -> None:
    needs_font(language)
    for job in (*demos.values(), *fitted.values()):
        for kind, scenes in documents_of(replace(job, words=words_of(language))):
            found = preflight(scenes, kind=kind)
            assert [str(each) for each in found if each.severity == "refuse"] == []


@pytest.mark.parametrize("language", LATIN)
def test_no_number_on_a_page_has_a_decimal_point(language: str, demos: dict[str, Job]) -> None:
    for job in demos.values():
        scenes = booklet_scenes(booklet_in(replace(job, words=words_of(language))), A7)
        shown = [
            item.text for scene in scenes for item, _ in scene.walk() if isinstance(item, Text)
        ]
        assert [text for text in shown if re.search(r"\d\.\d", text)] == []
        assert len([text for text in shown if re.search(r"\d,\d", text)]) > 50


def test_english_pages_have_decimal_points(demos: dict[str, Job]) -> None:
    scenes = booklet_scenes(booklet_in(demos["ilse-marchetti"]), A7)
    shown = [item.text for scene in scenes for item, _ in scene.walk() if isinstance(item, Text)]
    assert [text for text in shown if re.search(r"\d,\d", text)] == []
    assert len([text for text in shown if re.search(r"\d\.\d", text)]) > 50


def test_a_missing_font_is_said_in_one_sentence(
    demos: dict[str, Job], monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    from cardgen.drawing.fallback import VARIABLE
    from cardgen.drawing.fonts import use_fonts

    def restore() -> None:
        monkeypatch.undo()
        use_fonts(())

    request.addfinalizer(restore)
    monkeypatch.setenv(VARIABLE, "")
    use_fonts(())
    job = replace(demos["ilse-marchetti"], words=words_of("ja"))
    with pytest.raises(InputError) as caught:
        booklet_scenes(booklet_in(job), A7)
    assert len(caught.value.problems) == 1
    message = str(caught.value)
    assert "the card font cannot print ス (U+30B9 KATAKANA LETTER SU)" in message
    assert "CARDGEN_FONTS" in message
