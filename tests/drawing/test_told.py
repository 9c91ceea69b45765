"""A page without a description of its own is read out in the order of reading."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from cardgen.cards.booklet import Booklet
from cardgen.cards.words import load_words
from cardgen.drawing.column import Column
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.pages import booklet_scenes
from cardgen.drawing.scene import Field, Group, Image, Item, Scene, Text, Transform, Weight
from cardgen.drawing.theme import A7
from cardgen.drawing.told import description_of, title_of
from cardgen.handouts import leave_handout, poster, worksheet
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.press import Job
from cardgen.sheets.papers import A3, A4


def told(*items: Item) -> str:
    return description_of(Scene(100, 150, items))


def column(width_mm: float = 60.0) -> Column:
    return Column(5.0, 5.0, width_mm)


LONG = (
    "Look at the target until the ball has rolled over it. Then watch where it comes in, and log."
)


def test_its_own_description_comes_before_all_else() -> None:
    scene = Scene(9, 9, (Text(1, 5, "34", 8),), description="Stand on board 34.")
    assert description_of(scene) == "Stand on board 34."


@pytest.mark.parametrize("width_mm", [20.0, 33.0, 47.0, 60.0])
def test_lines_of_a_paragraph_run_on(width_mm: float) -> None:
    page = column(width_mm)
    page.text(LONG, 8.0)
    assert len(page.items) > 1
    assert told(*page.items) == LONG


def test_texts_that_follow_each_other_are_sentences() -> None:
    page = column()
    for fact in ("Right hand, one-handed", "Boards count from the right", "Lane: house"):
        page.text(fact, 8.0)
    page.text(LONG, 8.0)
    assert told(*page.items) == (
        f"Right hand, one-handed. Boards count from the right. Lane: house. {LONG}"
    )


def test_cells_of_a_row_have_commas() -> None:
    page = column()
    page.pair("10 pin", "34 over 20", 8.0, Weight.BOLD)
    page.pair("7 pin", "16 over 20", 8.0, Weight.BOLD)
    assert told(*page.items) == "10 pin, 34 over 20. 7 pin, 16 over 20"


def test_a_paragraph_set_from_its_foot_is_read_from_its_head_and_cautions_last() -> None:
    page = column(40.0)
    page.text(LONG, 8.0, name="cautions")
    assert len(page.items) > 2
    items = (*reversed(page.items), Text(5, 100, "Stand 34", 12))
    assert told(*items) == f"Stand 34. {LONG}"


def test_pictures_of_lanes_and_page_numbers_are_not_read() -> None:
    lane = Group((Text(1, 1, "40'", 6),), "lane", Transform.move(3, 4))
    folio = Text(50, 140, "12", 6, name="folio")
    assert told(lane, Text(5, 9, "Stand 34", 9), folio) == "Stand 34"


def test_what_stands_in_fields_and_what_pictures_show_is_read() -> None:
    logo = Image(1, 1, 5, 5, b"", alt="Two lanes")
    items = (logo, Field(5, 20, 9, 9, "a", "Stand", "34"), Field(5, 40, 9, 9, "b", "Target"))
    assert told(*items) == "Two lanes. Stand: 34"


def test_a_sheet_names_the_pages_on_it_in_their_order() -> None:
    def page(number: int, *lines: str) -> Group:
        titles = (Text(1, 5 + n, line, 9, name="title") for n, line in enumerate(lines))
        return Group((*titles, Text(1, 30, "34", 20)), f"page {number}")

    foot = Text(5, 145, "sheet 1/1", 6)
    assert told(page(2, "Head", "pin"), page(1, "10 pin"), page(3), foot) == (
        "1 10 pin, 2 Head pin, 3. sheet 1/1"
    )
    assert told(page(1, "10 pin"), foot) == "10 pin. 34. sheet 1/1"


def test_japanese_runs_on_without_spaces() -> None:
    if missing_glyphs("板目"):
        pytest.skip("this machine has no font for Japanese")
    text = "板目はボールの側、右の端から数えます。20枚目が中央です。"
    page = column(30.0)
    page.text(text, 8.0)
    page.text("立ち位置", 12.0)
    page.text("目標", 14.0)
    assert len(page.items) > 3
    assert told(*page.items) == f"{text} 立ち位置。 目標"


def test_a_page_is_called_by_the_outline_or_by_its_heading() -> None:
    heading = (Text(1, 5, "All", 9, name="title"), Text(1, 9, "lines", 9, name="title"))
    assert title_of(Scene(9, 9, heading, title="Chart")) == "Chart"
    assert title_of(Scene(9, 9, (Group(heading),))) == "All lines"
    assert title_of(Scene(9, 9, ())) == ""


def test_every_page_of_every_product_has_a_title_and_says_something(
    demos: dict[str, Job], booklet: Callable[[Job], Booklet]
) -> None:
    job = demos["wren-skobernik"]
    scenes = booklet_scenes(booklet(job), A7)
    scenes += [*job.pocket().scenes, *job.cards(A7, Layout(A4))[0].scenes]
    scenes += job.practice_sheets(A4).scenes
    for handout in (
        leave_handout(job, Leave.of(7), A4),
        worksheet(job, Leave.of(7), A4),
        poster(job, A3),
    ):
        scenes += handout.scenes
    for scene in scenes:
        assert title_of(scene)
        assert title_of(scene) in description_of(scene) or len(description_of(scene)) > 40


def test_the_cautions_of_a_handout_are_read_whole(demos: dict[str, Job]) -> None:
    for language in ("en", "de", "fr"):
        words = load_words(language)
        job = replace(demos["ilse-marchetti"], words=words)
        for page in (leave_handout(job, Leave.of(10), A4), poster(job, A3)):
            cautions = words("forms.cautions").replace("\u00a0", " ")  # as it is read out
            assert cautions in description_of(page.scenes[0])
