"""Pages of a clinic as drawn: nothing clipped, nothing small, nobody left out."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import atan, degrees, hypot
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.clinic import (
    Call,
    CoachRow,
    Pupil,
    Slip,
    coach_row,
    coach_sheet,
    group_slip,
    pupil_slip,
    wall_charts,
    wall_row,
)
from cardgen.cards.ways import ways_of
from cardgen.cards.words import Words, load_words
from cardgen.drawing.clinic import name_lines, slip_scene
from cardgen.drawing.coachsheet import coach_pages
from cardgen.drawing.fonts import cap_height_mm, missing_glyphs, width_mm
from cardgen.drawing.handout import HandoutFormat
from cardgen.drawing.ink import in_mono
from cardgen.drawing.scene import Item, Line, Polyline, Scene, Text, Transform, Weight
from cardgen.drawing.theme import FORMATS as CARD_FORMATS
from cardgen.drawing.theme import format_of
from cardgen.drawing.wallchart import wall_scene
from cardgen.drawing.ways import ways_scene
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.preflight import preflight
from cardgen.press import Job

LANGUAGES = ("en", "es", "de", "fr", "ja", "ko")
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
A3 = (297.0, 420.0)  # ISO 216
FORMATS = {"A4": HandoutFormat(185.0, 287.0), "Letter": HandoutFormat(190.9, 269.4)}
NAMES = (
    "Bo",
    "Maximiliana-Theodora van Hohenlohe-Bartsch",
    "Κωνσταντίνος Παπαχαραλαμπόπουλος-Δημητρίου",
    "Wolfeschlegelsteinhausenbergerdorffmaier",
    "Mr. O’Brien–Škobernik, jr.",
)
EAST_ASIAN = ("山田 花子", "김하늘")
words_of = cache(load_words)


@pytest.fixture(scope="module")
def pupils(demos: dict[str, Job]) -> list[Pupil]:
    """The demo bowlers under long names and short ones."""
    found = []
    for number, name in enumerate(NAMES):
        job = list(demos.values())[number % 2]
        answers = job.answers
        found.append(Pupil(name, "", job.chart, answers.few, answers.drill, answers.practice))
    return found


def named(scene: Scene, name: str) -> list[tuple[Item, Transform]]:
    return [(item, place) for item, place in scene.walk() if getattr(item, "name", "") == name]


def texts(scene: Scene) -> Iterator[tuple[Text, float]]:
    """Yield every text with its size on the page, in points."""
    for item, place in scene.walk():
        if isinstance(item, Text):
            yield item, item.size_pt * hypot(place.a, place.b)


def told(scene: Scene, name: str) -> list[str]:
    return [item.text for item, _ in named(scene, name) if isinstance(item, Text)]


def needs_font(language: str) -> None:
    if language in ("ja", "ko") and missing_glyphs("スペア스페어板"):
        pytest.skip("this machine has no font for Japanese and Korean")


def everything(pupils: Sequence[Pupil], words: Words, paper: str) -> Iterator[Scene]:
    """Yield a page of each kind, and more of those that may be full."""
    size = PAPERS[paper]
    for name in NAMES:
        yield slip_scene(
            pupil_slip(
                *(name, "A group with a long name", "Autumn"),
                sheets=1200,
                copies=500,
                number=7,
                count=1234,
                words=words,
            ),
            *size,
        )
    rows = [coach_row(replace(pupil, group="A group with a long name"), words) for pupil in pupils]
    yield from coach_pages(coach_sheet(rows * 3, "Autumn", words), *size)
    walls = [wall_row(pupil, words) for pupil in pupils]
    yield from (wall_scene(c, *size) for c in wall_charts(walls * 3, "Juniors", words))
    for count in (2, 3, 4):
        for leave in (Leave.of(10), Leave.of(7), FULL_RACK):
            yield ways_scene(ways_of(pupils[:count], leave, "Autumn", words), FORMATS[paper])


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", PAPERS)
def test_no_page_breaks_a_rule_of_print(paper: str, language: str, pupils: list[Pupil]) -> None:
    needs_font(language)
    for scene in everything(pupils, words_of(language), paper):
        for inked in (scene, in_mono(scene)):
            assert [str(each) for each in preflight([inked], kind="handout")] == []


def test_what_is_read_has_seven_and_a_half_points(pupils: list[Pupil], words: Words) -> None:
    for scene in everything(pupils, words, "A4"):
        for text, size in texts(scene):
            if text.name:  # a lane's own ticks have none
                assert size >= 7.5 - 1e-6, text


# --- slips ------------------------------------------------------------------------------------


def slips(count: int, words: Words) -> list[Slip]:
    return [
        group_slip(
            *(f"Group {number}", "Autumn"),
            students=12,
            sheets=12,
            copies=1,
            number=number,
            count=count,
            words=words,
        )
        for number in range(1, count + 1)
    ]


def tab_of(scene: Scene) -> tuple[float, float]:
    ((tab, _),) = named(scene, "tab")
    assert isinstance(tab, Polyline)
    assert max(x for x, _ in tab.points_mm) > scene.width_mm  # printed to the very edge
    return min(y for _, y in tab.points_mm), max(y for _, y in tab.points_mm)


@pytest.mark.parametrize("count", [1, 2, 12, 30])
def test_tabs_step_down_the_edge_and_begin_again(count: int, words: Words) -> None:
    tabs = [tab_of(slip_scene(slip, *PAPERS["A4"])) for slip in slips(count, words)]
    places = min(count, 12)
    for (top, bottom), (next_top, _) in pairwise(tabs[:places]):
        assert next_top >= top + 15.0
        assert bottom <= 297.0
    assert tabs == [tabs[number % places] for number in range(count)]


def test_a_slip_shows_its_name_larger_than_all_else(words: Words) -> None:
    scene = slip_scene(slips(3, words)[1], *PAPERS["Letter"])
    sizes = {text.text: size for text, size in texts(scene)}
    assert max(sizes, key=lambda text: sizes[text]) == "Group 2"
    assert told(scene, "place") == ["2 of 3"]
    assert told(scene, "tab-number") == ["2"]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", [*CARD_FORMATS, "50x70", "70x50"])
def test_a_slip_of_a_cards_size_can_be_read(size: str, language: str) -> None:
    needs_font(language)
    words, fmt = words_of(language), format_of(size)
    counted: dict[str, Any] = {"sheets": 31, "copies": 2, "number": 17, "count": 118}
    for name in NAMES:
        slips = (
            pupil_slip(name, "Thursday juniors", "Autumn clinic", words=words, **counted),
            group_slip(name, "Autumn clinic", students=12, words=words, **counted),
        )
        for slip in slips:
            scene = slip_scene(slip, fmt.width_mm, fmt.height_mm)
            assert not preflight([scene], kind="handout"), (size, name)
            assert {*told(scene, "title"), *told(scene, "group")} & {slip.beside or slip.title}
            sizes = {text.name: size for text, size in texts(scene)}
            if "figure-fact" not in sizes:
                assert sizes["name"] == max(sizes.values())
            assert min(sizes.values()) >= 7.5


@pytest.mark.parametrize("size", ["id1", "a7", "a7-landscape"])
def test_a_slip_of_a_cards_size_has_the_whole_name_and_its_count(size: str, words: Words) -> None:
    fmt = CARD_FORMATS[size]
    slip = pupil_slip(
        "Ana Bell", "Juniors", "Autumn", sheets=3, copies=1, number=2, count=9, words=words
    )
    scene = slip_scene(slip, fmt.width_mm, fmt.height_mm)
    assert " ".join(told(scene, "name")) == "Ana Bell"
    assert told(scene, "place") == ["2 of 9"]
    assert not told(scene, "figure-fact")


@pytest.mark.parametrize("paper", PAPERS)
def test_a_slip_of_a_sheets_size_has_its_figures(paper: str, words: Words) -> None:
    scene = slip_scene(slips(3, words)[1], *PAPERS[paper])
    assert told(scene, "figure-fact") == ["12", "12", "1"]


# --- the coach's sheet --------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [1, 13, 200])
def test_everybody_is_on_the_coachs_sheet_once_under_his_group(
    count: int, paper: str, pupils: list[Pupil], words: Words
) -> None:
    some = [coach_row(pupil, words) for pupil in pupils]
    rows = [
        replace(some[k % 5], name=f"S{k}", group="" if k % 3 == 2 else f"Group {k % 3}")
        for k in range(count)
    ]
    sheet = coach_sheet(rows, "Autumn", words)
    scenes = list(coach_pages(sheet, *PAPERS[paper]))
    assert [name for scene in scenes for name in told(scene, "student")] == [
        row.name for row in sheet.rows
    ]
    group_of = {row.name: row.group for row in rows}
    for number, scene in enumerate(scenes, start=1):
        assert scene.width_mm > scene.height_mm
        assert told(scene, "folio") == [f"{number}/{len(scenes)}"]
        assert " ".join(told(scene, "private")) == sheet.private
        assert len(told(scene, "heading")) >= 8
        # Read down the page: a heading, then at least one student of that group.
        order = [
            (item.name, item.text)
            for item, _ in scene.walk()
            if isinstance(item, Text) and item.name in ("group", "student")
        ]
        assert order[-1][0] == "student"
        for (kind, text), (after, name) in pairwise(order):
            if kind == "group":
                assert (after, text.removesuffix(", continued")) == ("student", group_of[name])
        if group_of[order[0][1] if order[0][0] == "student" else order[1][1]]:
            assert order[0][0] == "group"
    headings = [text for scene in scenes for text in told(scene, "group")]
    assert sum(not text.endswith(", continued") for text in headings) == len(
        {row.group for row in rows if row.group}
    )


def test_a_class_of_twelve_has_one_page(pupils: list[Pupil], words: Words) -> None:
    row = replace(coach_row(pupils[0], words), group="Juniors")
    assert len(list(coach_pages(coach_sheet([row] * 12, "", words), *PAPERS["A4"]))) == 1


def test_the_strike_balls_mark_stands_where_it_is_thrown(pupils: list[Pupil], words: Words) -> None:
    def marks(row: CoachRow) -> int:
        (scene,) = coach_pages(coach_sheet([row], "", words), *PAPERS["A4"])
        return len(named(scene, "strike-mark"))

    row = replace(coach_row(pupils[0], words), few=(), drill=())
    spares = replace(row, calls=(Call("1/2"), Call("1/2"), Call("1/2")))
    assert marks(spares) == 2  # in the key, and before the strike ball itself
    assert marks(replace(spares, calls=(Call("1/2", strike=True), *spares.calls[1:]))) == 3


# --- the wall chart -----------------------------------------------------------------------------


def minutes_of_arc(size_pt: float, away_m: float) -> float:
    return degrees(atan(cap_height_mm(size_pt, Weight.BOLD) / 1000 / away_m)) * 60


def test_a_wall_chart_is_read_from_where_its_group_stands(
    pupils: list[Pupil], words: Words
) -> None:
    rows = [wall_row(pupil, words) for pupil in pupils]
    (chart,) = wall_charts((rows * 3)[:12], "Juniors", words)
    scene = wall_scene(chart, *A3)
    figures = [(text, size) for text, size in texts(scene) if text.name.startswith("figure-")]
    assert len(figures) == 12 * 10 * 2
    # ISO 9241-303 (from memory): characters are legible from 16 minutes of arc on. From 2 m figures
    # without halves are twice the 5 minutes that a normal eye resolves (ISO 8596, from memory).
    for _, size in figures:
        assert minutes_of_arc(size, 1.0) >= 16.0
    assert minutes_of_arc(max(size for _, size in figures), 1.35) >= 16.0
    assert minutes_of_arc(max(size for _, size in figures), 2.0) >= 10.0


@pytest.mark.parametrize("size", [PAPERS["A4"], PAPERS["Letter"], A3])
def test_a_wall_chart_fills_its_sheet(
    size: tuple[float, float], pupils: list[Pupil], words: Words
) -> None:
    (chart,) = wall_charts([wall_row(pupil, words) for pupil in pupils] * 2, "", words)
    scene = wall_scene(chart, *size)
    assert (scene.width_mm, scene.height_mm) == (max(size), min(size))
    places = [
        place.point(item.x_mm, item.y_mm)[1]
        for item, place in scene.walk()
        if isinstance(item, Text)
    ]
    assert min(places) < 0.1 * scene.height_mm
    assert max(places) > 0.93 * scene.height_mm


def test_each_chart_tells_which_it_is(pupils: list[Pupil], words: Words) -> None:
    rows = [wall_row(pupil, words) for pupil in pupils] * 6
    scenes = [wall_scene(chart, *A3) for chart in wall_charts(rows, "Juniors", words)]
    assert [told(scene, "folio") for scene in scenes] == [["1/3"], ["2/3"], ["3/3"]]
    for scene in scenes:
        assert " ".join(told(scene, "cautions")) == words("forms.cautions")
        assert len(named(scene, "standing-pin")) == 10


# --- the same leave side by side ----------------------------------------------------------------


@pytest.mark.parametrize("count", [2, 3, 4])
def test_lanes_stand_beside_each_other_on_one_level(
    count: int, pupils: list[Pupil], words: Words
) -> None:
    page = ways_of(pupils[:count], Leave.of(10), "Autumn", words)
    scene = ways_scene(page, FORMATS["A4"])
    fouls = [
        place.point(item.x1_mm, item.y1_mm)[1]
        for item, place in named(scene, "foul-line")
        if isinstance(item, Line)
    ]
    assert len(fouls) == count
    assert max(fouls) - min(fouls) < 1e-6
    for mark in ("stand", "target"):
        assert len(named(scene, mark)) == count
    figures = [size for text, size in texts(scene) if text.name.startswith("figure-")]
    assert len(figures) == 2 * count
    assert len(set(figures)) == 1
    assert figures[0] >= 27.0
    assert told(scene, "letter") == list("ABCD"[:count])
    lowest = min(item.y_mm for item, _ in named(scene, "cautions") if isinstance(item, Text))
    for text, _ in texts(scene):
        if text.name in ("reason", "sum", "against"):
            assert text.y_mm < lowest - 4.0


# --- names --------------------------------------------------------------------------------------

CHOICES = ((20.0, 1), (16.0, 2), (12.0, 2))


@given(
    st.text("abcdefgh -ØΩЖé", min_size=1, max_size=40).filter(lambda text: text.strip(" -")),
    st.floats(20.0, 90.0),
)
def test_a_name_goes_in_or_is_cut_short(name: str, room: float) -> None:
    size, lines = name_lines(name, room, CHOICES)
    assert len(lines) <= dict(CHOICES)[size]
    assert all(width_mm(line, size, Weight.BOLD) <= room + 1e-6 for line in lines)
    whole = "".join(lines).replace(" ", "")
    asked = name.replace(" ", "")
    assert whole == asked or (whole.endswith("…") and asked.startswith(whole[:-1]))


@pytest.mark.parametrize("name", EAST_ASIAN)
def test_east_asian_names_are_set_large(name: str) -> None:
    if missing_glyphs(name):
        pytest.skip("this machine has no font for Japanese and Korean")
    assert name_lines(name, 60.0, CHOICES) == (20.0, (name,))
