"""Whatever leaves the printer tells how not to get hurt, in every language it is printed in."""

import html
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import get_args

import pypdfium2 as pdfium
import pytest

from cardgen.cards.words import Words, load_words
from cardgen.cli import main
from cardgen.clinic.classwork import CLASS_PAGES
from cardgen.clinic.pieces import Product
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.theme import FORMATS, ID_1
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.press import Job, intake_pdf, job_of, log_pdf, open_profile
from cardgen.products import PAGE, PAPER_PRODUCTS, PRODUCTS, Order, documents_of, page_of
from cardgen.profile.loader import find_profile
from cardgen.sheets.papers import A4, LETTER, Size

README = Path(__file__).resolve().parents[2] / "README.md"
TOPICS = {
    # Common practice, no source: what a centre's staff and a coach tell whoever bowls, and whom a
    # printed table defers to. The words of each language are from memory.
    "en": {
        "foul line and oil": ("foul line", "oiled"),
        "shoes": ("bowling shoes", "dry"),
        "pain": ("stop", "wrist", "elbow", "back", "knee", "hurts"),
        "juniors": ("children", "light", "staff", "adult"),
        "warm-up": ("warm up",),
        "centre's rules": ("centre(['’]s)? rules",),
        "coach": ("certified coach",),
        "medical": ("ask a medical professional",),
    },
    "es": {
        "foul line and oil": ("línea de foul", "aceite"),
        "shoes": ("zapatos de bolos", "sec[oa]s"),
        "pain": ("para", "muñeca", "codo", "espalda", "rodilla", "duele"),
        "juniors": ("niños", "ligera", "personal", "adulto"),
        "warm-up": ("calienta",),
        "centre's rules": ("normas del centro",),
        "coach": ("entrenador titulado",),
        "medical": ("pregunta a un profesional médico",),
    },
    "de": {
        "foul line and oil": ("foullinie", "geölt"),
        "shoes": ("bowlingschuhe", "trocken"),
        "pain": ("hör auf", "handgelenk", "ellbogen", "rücken", "knie", "schmerzt"),
        "juniors": ("kinder", "leichte", "personal", "erwachsenen"),
        "warm-up": ("wärm dich auf",),
        "centre's rules": ("regeln des centers",),
        "coach": ("geprüfter trainer",),
        "medical": ("ärztlichen rat",),
    },
    "fr": {
        "foul line and oil": ("ligne de faute", "huilée"),
        "shoes": ("chaussures de bowling", "sèches"),
        "pain": ("arrêtez", "poignet", "coude", "dos", "genou", "mal|douleur"),
        "juniors": ("enfants", "légère", "personnel", "adulte"),
        "warm-up": ("échauffez-vous",),
        "centre's rules": ("règles du centre",),
        "coach": ("entraîneur diplômé",),
        "medical": ("consultez un professionnel de santé",),
    },
    "ja": {
        "foul line and oil": ("ファウルライン", "油"),
        "shoes": ("ボウリングシューズ", "乾"),
        "pain": ("やめ", "手首", "ひじ", "腰", "ひざ", "痛"),
        "juniors": ("子供", "軽い", "係員", "大人"),
        "warm-up": ("準備運動",),
        "centre's rules": ("センターの規則",),
        "coach": ("公認コーチ",),
        "medical": ("医療の専門家に相談",),
    },
    "ko": {
        "foul line and oil": ("파울라인", "오일"),
        "shoes": ("볼링화", "마른|마르게"),
        "pain": ("멈추", "손목", "팔꿈치", "허리", "무릎", "아프면"),
        "juniors": ("어린이", "가벼운", "직원", "어른"),
        "warm-up": ("준비 운동",),
        "centre's rules": ("볼링장의? 규칙",),
        "coach": ("공인 코치",),
        "medical": ("의료 전문가와 상의",),
    },
}
"""What must be said, by language: patterns that all stand there, in small letters."""
BACKS = {
    "en": ("foul line", "hurts"),
    "es": ("línea de foul", "duele"),
    "de": ("foullinie", "schmerz"),
    "fr": ("ligne", "mal"),
    "ja": ("ファウルライン", "痛"),
    "ko": ("파울라인", "아프"),
}
"""What there is room for on the back of a card: the two that end a night soonest."""
LOOSE = {"handout", "worksheet", "lessons", "poster", "practice"}
"""Products each page of which may go its own way; of the others one sheet tells it."""
LEAVES = ("10", "7", "5", "3-10")
ROSTER = "name,hand,copies\nAna Bell,right,1\nBen Cole,left,2\n"
COPIES = 3

words_of = cache(load_words)
languages = pytest.mark.parametrize("language", sorted(TOPICS))


def silent_on(text: str, language: str) -> set[str]:
    """Return the topics that a text does not tell of; lines and letters may be broken anyhow."""
    there = "".join(text.lower().split())
    return {
        topic
        for topic, patterns in TOPICS[language].items()
        if not all(re.search(pattern.replace(" ", ""), there) for pattern in patterns)
    }


def texts(pdf: bytes) -> Iterator[str]:
    """Yield the text of each page as a reader of PDF finds it."""
    with pdfium.PdfDocument(pdf) as document:
        for page in document:
            yield page.get_textpage().get_text_bounded()


def telling(pdf: bytes, language: str) -> list[bool]:
    """Return for each page whether it tells of all topics."""
    return [not silent_on(text, language) for text in texts(pdf)]


def needs_font(language: str) -> None:
    if language in ("ja", "ko") and missing_glyphs("스페어スペア板"):
        pytest.skip("this machine has no font for Japanese and Korean")


@cache
def job_in(language: str) -> Job:
    """Return a small job: what is said does not depend on how many leaves there are."""
    loaded = open_profile(find_profile("ilse-marchetti")).loaded
    return job_of(loaded, words_of(language), [Leave.parse(leave) for leave in LEAVES])


# --- what is looked for ---------------------------------------------------------------------------


def test_every_language_has_its_words() -> None:
    folder = Path(words_of("en").source).parent
    assert {path.stem for path in folder.glob("*.yaml")} == set(TOPICS)
    for language, topics in TOPICS.items():
        assert set(topics) == set(TOPICS["en"]), language


@languages
def test_a_text_without_a_topic_is_found_out(language: str) -> None:
    words = words_of(language)
    assert silent_on("", language) == set(TOPICS[language])
    whole = words("forms.cautions")
    assert silent_on(whole, language) == set()
    for topic, patterns in TOPICS[language].items():
        for pattern in patterns:
            closed = pattern.replace(" ", r"\s*")
            assert topic in silent_on(re.sub(closed, "", whole.lower()), language)


# --- the products ---------------------------------------------------------------------------------


@languages
@pytest.mark.parametrize("product", PRODUCTS)
def test_a_product_tells_of_all_topics(product: str, language: str) -> None:
    needs_font(language)
    job = job_in(language)
    for paper in (A4, LETTER):
        order = Order(Layout(paper))
        if product == PAGE:
            page = html.unescape(page_of(job, order).decode())
            aside = re.sub("<[^>]+>", " ", page[page.index("<aside") :])
            assert silent_on(aside, language) == set()
            continue
        # Fronts and backs may be documents of their own.
        told = [telling(each.pdf(), language) for each in documents_of(job, product, order)]
        assert any(map(any, told))
        if product in LOOSE:
            assert all(map(all, told))


@languages
@pytest.mark.parametrize("size", sorted(FORMATS))
def test_cards_of_all_sizes_come_with_one_that_tells(size: str, language: str) -> None:
    needs_font(language)
    (document,) = documents_of(job_in(language), "cards", Order(Layout(A4), size=size))
    assert silent_on(" ".join(texts(document.pdf())), language) == set()


@languages
@pytest.mark.parametrize("size", ["a7", "a6", "a5"])
@pytest.mark.parametrize("large_print", [False, True], ids=["usual", "large"])
def test_a_booklet_of_any_size_ends_with_them(
    size: str, language: str, *, large_print: bool
) -> None:
    needs_font(language)
    if large_print and size == "a7":
        pytest.skip("too small for large print")
    order = Order(size=size, large_print=large_print)
    (document,) = documents_of(job_in(language), "booklet", order)
    last = list(texts(document.pdf()))[-2:]  # large type may need two pages
    assert silent_on(" ".join(last), language) == set()


def test_no_product_is_left_out() -> None:
    assert set(PAPER_PRODUCTS) >= LOOSE | set(get_args(Product))


@languages
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_the_sheets_to_fill_in_tell_of_all_topics(language: str, paper: Size) -> None:
    needs_font(language)
    words = words_of(language)
    for pdf in (log_pdf(words, paper), intake_pdf(words, paper)):
        assert all(telling(pdf, language))


@languages
def test_the_back_of_each_card_tells_of_the_foul_line_and_of_pain(language: str) -> None:
    needs_font(language)
    job = job_in(language)
    for line in job.chart.lines:
        (back,) = texts(job.card_side(line, ID_1, back=True).pdf())
        said = "".join(back.lower().split())
        assert all(pattern.replace(" ", "") in said for pattern in BACKS[language])


# --- a class --------------------------------------------------------------------------------------

Clinic = Callable[..., Path]


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Clinic:
    """Return a function that prints a small class in a language, once, into a folder."""
    kept = tmp_path_factory.mktemp("answers")

    @cache
    def ran(language: str, product: str) -> Path:
        folder = tmp_path_factory.mktemp("clinic")
        roster = folder / "class.csv"
        roster.write_text(ROSTER, encoding="utf-8")
        asked = ["--as", product, "--words", language, "--jobs", "1", "--out", str(folder)]
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("CARDGEN_CACHE", str(kept))
            with pytest.raises(SystemExit) as ended:
                main(["clinic", str(roster), *asked])
        assert ended.value.code == 0
        return folder

    return ran


@pytest.mark.parametrize("product", get_args(Product))
def test_every_student_is_handed_them(product: str, clinic: Clinic) -> None:
    job = clinic("en", product) / f"class-{product}.pdf"
    assert sum(telling(job.read_bytes(), "en")) >= COPIES


@languages
@pytest.mark.parametrize("page", CLASS_PAGES)
def test_every_page_for_the_class_tells_of_all_topics(
    page: str, language: str, clinic: Clinic
) -> None:
    needs_font(language)
    path = clinic(language, "pocket") / f"class-{page}.pdf"
    assert all(telling(path.read_bytes(), language))


# --- the README -----------------------------------------------------------------------------------


def test_the_readme_tells_of_all_topics() -> None:
    text = README.read_text(encoding="utf-8")
    section = re.search(r"^## Take care\n(.*?)^## ", text, re.DOTALL | re.MULTILINE)
    assert section is not None
    assert silent_on(section.group(1), "en") == set()


# --- how it is said -------------------------------------------------------------------------------


def long_texts(words: Words) -> Iterator[str]:
    yield from words.all("cautions.points")
    yield from words.all("key_card.care")
    yield words("forms.cautions")


@languages
def test_no_weight_is_given_as_a_rule(language: str) -> None:
    # Which weight suits a child is for who fits the ball to say: rules of thumb are disputed.
    assert not [
        text for text in long_texts(words_of(language)) if re.search(r"\d+ *(lb|kg|%)", text)
    ]
