"""Finished handouts: bytes that readers open, with room at the holes."""

import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pypdf
import pytest

from cardgen.cards.words import load_words
from cardgen.drawing.scene import Disc, Group, Line, Polyline, Text
from cardgen.errors import UsageError
from cardgen.handouts import (
    A2,
    LESSONS,
    POSTERS,
    Handout,
    leave_handout,
    leave_handouts,
    lesson,
    lessons,
    poster,
    worksheet,
)
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.preflight import passed, preflight
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.sheets.binding import HoleName
from cardgen.sheets.papers import A3, A4, LETTER, Size
from cardgen.templating.loading import open_template
from cardgen.templating.template import Centre, Template
from cardgen.units import POINT_MM

DEMOS = ("ilse-marchetti", "wren-skobernik")
WORDS = load_words("en")


EXAMPLE = open_template("example", "en").template
LONG = Centre(
    name="The Bowling Centre at the Far End of the Long Harbour Road, 2",
    logo=EXAMPLE.centre.logo,
    contact="555 0134 · lanes@harbourlights-at-the-far-end.example · every day from ten",
    footer="W" * 50 + " " + "W" * 49,
)
BRANDS = {
    "example": EXAMPLE.centre,
    "long": LONG,
    "name": Centre(name="Harbour Lights Lanes"),
    "contact": Centre(contact="555 0134"),
    "footer": Centre(footer="Open play every day."),
}


@cache
def job(name: str) -> Job:
    return job_of(open_profile(find_profile(name)).loaded, WORDS)


def branded(name: str, centre: Centre) -> Job:
    return replace(job(name), template=Template(centre=centre))


def everything(name: str, paper: Size) -> dict[str, Handout]:
    return {
        "leaves": leave_handouts(job(name), paper),
        "worksheet": worksheet(job(name), Leave.of(10), paper),
        "blank worksheet": worksheet(WORDS, Leave.of(10), paper),
        "lessons": lessons(job(name), paper),
    }


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("name", DEMOS)
def test_every_handout_passes_preflight_and_opens_at_its_papers_size(
    name: str, paper: Size
) -> None:
    for handout in everything(name, paper).values():
        assert passed(handout.scenes, kind="handout") == ()
        document = pypdf.PdfReader(io.BytesIO(handout.pdf()), strict=True)
        assert document.metadata is not None
        assert document.metadata.title == handout.title
        assert len(document.pages) == len(handout.scenes)
        for page in document.pages:
            assert float(page.mediabox.width) * POINT_MM == pytest.approx(paper.width_mm, abs=0.01)
            assert float(page.mediabox.height) * POINT_MM == pytest.approx(
                paper.height_mm, abs=0.01
            )


@pytest.mark.parametrize("name", DEMOS)
def test_twenty_millimetres_at_the_left_are_for_the_holes(name: str) -> None:
    # 20 mm: common practice, no source. ISO 838's holes (from memory) end 15 mm from the edge.
    for handout in everything(name, A4).values():
        for scene in handout.scenes:
            for item, place in scene.walk():
                xs: list[float] = []
                match item:
                    case Line() if item.name != "hole mark":
                        ends = ((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm))
                        xs = [place.point(*end)[0] for end in ends]
                    case Polyline():
                        xs = [place.point(*point)[0] for point in item.points_mm]
                    case Disc():
                        xs = [place.point(item.x_mm - item.radius_mm, item.y_mm)[0]]
                    case Text():
                        xs = [place.point(item.x_mm, item.y_mm)[0]]
                assert all(x >= 20.0 for x in xs), item


def test_a_handout_has_a_page_for_each_line_of_the_chart_in_its_order() -> None:
    handout = leave_handouts(job("ilse-marchetti"), A4)
    assert len(handout.scenes) == len(job("ilse-marchetti").chart.lines)
    assert handout.scenes[0].title == "Full rack"
    assert handout.scenes[1].title == "10 pin"
    one = leave_handout(job("ilse-marchetti"), Leave.of(10), A4)
    drawn, same = (scene.items[0] for scene in (one.scenes[0], handout.scenes[1]))
    assert isinstance(drawn, Group)
    assert isinstance(same, Group)
    assert drawn.items == same.items
    assert "10 pin" in one.title


def test_the_same_job_gives_the_same_bytes() -> None:
    again = job_of(open_profile(find_profile("wren-skobernik")).loaded, WORDS)
    same, other = (
        [made.pdf() for made in (lessons(x, A4), leave_handout(x, Leave.of(7), A4), poster(x, A3))]
        for x in (job("wren-skobernik"), again)
    )
    assert same == other


def test_a_worksheet_for_anybody_counts_boards_from_that_hand() -> None:
    sheets = [worksheet(WORDS, Leave.of(10), A4, hand=hand) for hand in Hand]
    said = [
        {item.text for item, _ in sheet.scenes[0].walk() if isinstance(item, Text)}
        for sheet in sheets
    ]
    assert "Boards from right" in said[0]
    assert "Boards from left" in said[1]


def test_lessons_come_one_by_one_or_all_together() -> None:
    together = lessons(job("ilse-marchetti"), A4)
    assert [scene.title for scene in together.scenes] == [
        lesson(job("ilse-marchetti"), name, A4).title for name in LESSONS
    ]
    only = job_of(job("ilse-marchetti").loaded, WORDS, [Leave.of(10), Leave.of(5)])
    assert len(lessons(only, A4).scenes) == 3


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("size", POSTERS.values(), ids=POSTERS)
def test_a_poster_is_one_page_on_its_side_as_pdf_and_svg(name: str, size: Size) -> None:
    made = poster(job(name), size)
    assert passed(made.scenes, kind="handout") == ()
    document = pypdf.PdfReader(io.BytesIO(made.pdf()), strict=True)
    (page,) = document.pages
    assert float(page.mediabox.width) * POINT_MM == pytest.approx(size.height_mm, abs=0.01)
    (svg,) = made.svg()
    root = ET.fromstring(svg)
    assert root.get("width") == f"{size.height_mm:g}mm"
    shown = {element.text for element in root.iter() if element.tag.endswith("}text")}
    assert {"STAND", "TARGET", "10 pin", made.scenes[0].title.split(",")[0]} <= shown


def test_a2_is_that_of_iso_216() -> None:
    # ISO 216: each size is the larger one cut in half, so A2 is two A3.
    assert (A2.width_mm, A2.height_mm) == (A3.height_mm, 2 * A3.width_mm)


def test_what_cannot_be_made_is_refused_in_one_sentence() -> None:
    with pytest.raises(UsageError, match="2-7: the chart has no line for it"):
        leave_handout(job("ilse-marchetti"), Leave.of(2, 7), A4)
    with pytest.raises(UsageError, match="A3 or larger"):
        poster(job("ilse-marchetti"), A4)
    strike = job_of(job("ilse-marchetti").loaded, WORDS, [FULL_RACK])
    with pytest.raises(UsageError, match="there is no lesson"):
        lessons(strike, A4)
    with pytest.raises(UsageError, match="there is no poster"):
        poster(strike, A3)
    assert preflight(leave_handouts(strike, A4).scenes, kind="handout") == ()


def lines_of(handout: Handout, page: int = 0) -> list[tuple[float, str]]:
    """Return the texts of a page from its top, each with how far down it stands."""
    return sorted(
        (place.point(item.x_mm, item.y_mm)[1], item.text)
        for item, place in handout.scenes[page].walk()
        if isinstance(item, Text)
    )


@pytest.mark.parametrize("name", BRANDS)
def test_a_centre_stands_at_the_foot_of_every_handout_and_crowds_nothing(name: str) -> None:
    centre, paper = BRANDS[name], LETTER if name == "long" else A4
    whose = branded("ilse-marchetti", centre)
    made = [
        leave_handouts(whose, paper)
        if name == "long"
        else leave_handout(whose, Leave.of(7), paper),
        worksheet(whose, Leave.of(10), paper),
        lessons(whose, paper),
        poster(whose, A3),
    ]
    for handout in made:
        assert passed(handout.scenes, kind="handout") == ()
        for page in range(len(handout.scenes)):
            said = [text for _, text in lines_of(handout, page)]
            cautions = max(n for n, text in enumerate(said) if "certified coach" in text)
            below = " ".join(said[cautions + 1 :])
            for text in (centre.name, centre.contact):
                assert text in below
            assert centre.footer[:20] in below
            if centre.footer:
                assert said[-1] == centre.footer or said[-1] in centre.footer


def test_a_footer_takes_two_lines_at_most() -> None:
    handout = lessons(branded("ilse-marchetti", LONG), A4)
    footers = [
        item.text
        for item, _ in handout.scenes[0].walk()
        if isinstance(item, Text) and item.name == "centre-footer"
    ]
    assert len(footers) == 2
    endless = Centre(footer=" ".join(["harbour"] * 60))
    handout = lessons(branded("ilse-marchetti", endless), A4)
    lines = [text for _, text in lines_of(handout) if "harbour harbour" in text]
    assert len(lines) == 2
    assert lines[-1].endswith("…")


def test_a_handout_without_a_centre_keeps_all_its_room() -> None:
    plain = leave_handout(job("ilse-marchetti"), Leave.of(10), A4)
    signed = leave_handout(branded("ilse-marchetti", EXAMPLE.centre), Leave.of(10), A4)
    last = [lines_of(handout)[-1] for handout in (plain, signed)]
    assert "certified coach" in last[0][1]
    assert last[1][1] == EXAMPLE.centre.footer
    anybody = worksheet(WORDS, Leave.of(10), A4)
    assert "certified coach" in lines_of(anybody)[-1][1]


@pytest.mark.parametrize(
    ("holes", "paper", "middles"),
    [
        # ISO 838 (from memory): 80 mm apart, 12 mm in; four holes are 80-80-80
        ("two", A4, [108.5, 188.5]),
        ("four", A4, [28.5, 108.5, 188.5, 268.5]),
        ("two", LETTER, [99.7, 179.7]),
        # common practice, no source: three holes 4 1/4 in apart
        ("three", LETTER, [31.75, 139.7, 247.65]),
        ("none", A4, []),
    ],
)
def test_holes_are_those_that_are_asked_for(
    holes: HoleName, paper: Size, middles: list[float]
) -> None:
    handout = worksheet(WORDS, Leave.of(10), paper, holes)
    marks = [
        item
        for item, _ in handout.scenes[0].walk()
        if isinstance(item, Line) and item.name == "hole mark"
    ]
    found = sorted({mark.y1_mm for mark in marks if mark.y1_mm == mark.y2_mm})
    assert found == pytest.approx(middles)
    if holes == "four":
        assert [b - a for a, b in pairwise(found)] == pytest.approx([80.0] * 3)
    xs = [
        place.point(0.0, 0.0)[0] for item, place in handout.scenes[0].walk() if item.name == "title"
    ]
    # Without holes the page is in the middle of the paper: (210 - 185) / 2 = 12.5 mm.
    assert xs == pytest.approx([12.5 if holes == "none" else 20.0])
