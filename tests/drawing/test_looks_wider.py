"""Looks found wanting in other scripts, on sheets, covers and lessons; each test holds one."""

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from cardgen.cards.booklet import Advice, Cover
from cardgen.cards.words import load_words
from cardgen.drawing import fonts
from cardgen.drawing.branding import signed
from cardgen.drawing.pages import page_scenes
from cardgen.drawing.scene import Disc, Line, Scene, Text
from cardgen.drawing.theme import A7, FORMATS
from cardgen.handouts import lessons, worksheet
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.preflight import preflight
from cardgen.press import Job
from cardgen.sheets.papers import A4
from cardgen.templating.loading import load_template

JUNIOR = """\
bowler: Lumi Vaarala
hand: right
spread: new
stand: {distance_ft: 10}
balls:
  spare: {cover: plastic, weight_lb: 8, speed_mph: 11}
  strike: {cover: plastic, weight_lb: 8, speed_mph: 11}
"""


def texts(scene: Scene, name: str = "") -> list[Text]:
    return [x for x, _ in scene.walk() if isinstance(x, Text) and (not name or x.name == name)]


@pytest.fixture
def japanese() -> None:
    fonts.use_fonts(())
    if fonts.missing_glyphs("目標"):
        pytest.skip("this machine has no font for Japanese")


@pytest.mark.usefixtures("japanese")
def test_lines_at_a_sheets_side_stay_on_it_in_japanese(demos: dict[str, Job]) -> None:
    job = replace(demos["ilse-marchetti"], words=load_words("ja"))
    # Rings leave no room but at the side.
    (sheet,) = job.cards(FORMATS["business-eu-landscape"], Layout(ring=True, turn="top"))
    assert texts(sheet.scenes[0], "footer")
    assert preflight(sheet.scenes, kind="sheet") == ()


@pytest.mark.usefixtures("japanese")
@pytest.mark.parametrize("fmt", ["mini-letter", "a7"])
def test_no_heading_of_a_japanese_booklet_lies_on_another(fmt: str, demos: dict[str, Job]) -> None:
    job = replace(demos["wren-skobernik"], words=load_words("ja"))
    assert job.booklet(FORMATS[fmt]).findings == ()


@pytest.mark.usefixtures("japanese")
def test_headings_of_the_table_of_tries_stand_apart_in_japanese() -> None:
    (page,) = worksheet(load_words("ja"), Leave.of(10), A4, hand=Hand.RIGHT).scenes
    # They stand above the labels of the result, which say the same.
    stand, target = (
        min((t for t in texts(page) if t.text == said), key=lambda t: t.y_mm)
        for said in ("立ち位置", "目標")
    )
    end = stand.x_mm + fonts.width_mm(stand.text, stand.size_pt, stand.weight)
    assert target.x_mm - end > 1.0


@pytest.mark.parametrize(
    ("fmt", "film"), [("business-us-landscape", 3.0), ("business-eu-landscape", 5.0)]
)
def test_a_breakpoints_number_keeps_off_the_oils_name(
    fmt: str, film: float, demos: dict[str, Job]
) -> None:
    # In French the name is wider than the gutter of a card that is laminated.
    job = replace(demos["wren-skobernik"], words=load_words("fr"))
    (cards,) = job.cards(FORMATS[fmt], Layout(scheme="single", film_mm=film))
    assert cards.findings == ()


@pytest.mark.parametrize("fmt", sorted(FORMATS))
def test_a_centres_own_page_fits_any_card(fmt: str) -> None:
    centre = load_template("example").centre
    # So full a page has no room for the centre's lines.
    full = Advice("Take care", ("Stay behind the foul line.",) * 200)
    pages = page_scenes(full, FORMATS[fmt])
    made = signed(pages[:1], centre, FORMATS[fmt], facts=True)
    assert len(made) == 2
    assert [f for f in preflight(made, kind="card") if f.severity == "refuse"] == []
    assert all(any(line in t.text for t in texts(made[1])) for line in centre.lanes)


@pytest.mark.parametrize(
    "name",
    [
        "Maximiliana-Theodora von Hohenlohe-Waldenburg-Schillingsfürst",
        "Αλεξάνδρα Παπαδημητρίου-Κωνσταντοπούλου",
    ],
)
def test_a_long_name_is_set_smaller_on_a_cover_before_it_is_cut(name: str) -> None:
    (cover,) = page_scenes(Cover("Spare lines", name, (), ""), A7)
    lines = texts(cover, "title")
    assert "".join(line.text for line in lines).replace(" ", "") == name.replace(" ", "")
    assert min(line.size_pt for line in lines) >= A7.title_pt


def test_no_dot_of_the_approach_lies_under_a_letters_leader(
    job_from: Callable[..., Job],
) -> None:
    pages = lessons(job_from(JUNIOR), A4).scenes
    seen = 0
    for page in pages:
        placed = [(item, place) for item, place in page.walk()]
        leaders = [
            (place.point(x.x1_mm, x.y1_mm), place.point(x.x2_mm, x.y2_mm))
            for x, place in placed
            if isinstance(x, Line) and x.name == "leader"
        ]
        for dot, place in placed:
            if isinstance(dot, Disc) and dot.name == "approach-dot":
                at = place.point(dot.x_mm, dot.y_mm)
                for start, end in leaders:
                    seen += 1
                    around = math.dist(start, at) + math.dist(at, end)
                    assert around > math.dist(start, end) + 1e-3
    assert seen > 20
