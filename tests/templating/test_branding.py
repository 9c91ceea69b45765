"""A centre's branding: where it stands, that it keeps off everything else, and what goes first."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image as Pillow

from cardgen.cards.booklet import Cover, booklet_of, cards_of
from cardgen.cards.card import card_of
from cardgen.drawing.branding import at_foot, logo_item, logo_size_mm, signed
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.scene import Curve, Group, Image, Scene, Text
from cardgen.drawing.theme import A7, FORMATS, ID_1
from cardgen.preflight import preflight
from cardgen.press import Job
from cardgen.templating.loading import load_template
from cardgen.templating.logo import Pixels
from cardgen.templating.outlines import read_svg
from cardgen.templating.pixels import read_png
from cardgen.templating.template import Centre, Template
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

EXAMPLE = load_template("example")
CENTRE = EXAMPLE.centre
FRIENDLY = load_template("friendly").design


def picture(width: int, height: int) -> Pixels:
    written = BytesIO()
    Pillow.new("RGB", (width, height), "navy").save(written, "PNG")
    return read_png(written.getvalue())


def said(scene: Scene) -> str:
    return " ".join(item.text for item, _ in scene.walk() if isinstance(item, Text))


def logos(scene: Scene) -> int:
    return sum(isinstance(item, Curve | Image) and item.name == "logo" for item, _ in scene.walk())


def refusals(scenes: list[Scene]) -> list[str]:
    return [str(found) for found in preflight(scenes, kind="booklet")]


COVER = Cover("Spare lines", "Wren Škobernik", ("Right hand", "Lane: house"), "Made today")


@pytest.mark.parametrize("fmt", sorted(name for name, fmt in FORMATS.items() if fmt.is_page))
@pytest.mark.parametrize("design", [EXAMPLE.design, FRIENDLY], ids=["plain", "friendly"])
def test_a_cover_has_the_centre_at_its_foot(fmt: str, design: object) -> None:
    template = replace(EXAMPLE, design=design)  # type: ignore[arg-type]
    (cover,) = page_scenes(COVER, FORMATS[fmt], template)
    for text in (CENTRE.name, CENTRE.contact, *CENTRE.lanes):
        assert text in said(cover)
    assert logos(cover) > 3
    assert refusals([cover]) == []


def test_a_cover_without_a_centre_is_as_it_was() -> None:
    assert page_scenes(COVER, A7, Template()) == page_scenes(COVER, A7)


def test_a_long_cover_goes_without_its_arrows() -> None:
    long = replace(COVER, facts=tuple(f"Fact {n}" for n in range(9)))
    arrows = [
        sum(getattr(item, "name", "") == "cover-arrow" for item, _ in scene.walk())
        for cover in (COVER, long)
        for scene in page_scenes(cover, A7, EXAMPLE)
    ]
    assert arrows == [7, 0]
    assert refusals(page_scenes(long, A7, EXAMPLE)) == []


def test_the_key_card_has_the_name_and_the_cautions_have_the_facts(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    deck = cards_of(job.chart, job.words)
    key = signed(page_scenes(deck.key, A7), CENTRE, A7, facts=False)
    care = signed(page_scenes(deck.care, A7), CENTRE, A7, facts=True)
    assert (len(key), len(care)) == (1, 1)
    assert CENTRE.name in said(key[0])
    assert CENTRE.contact not in said(key[0])
    assert all(text in said(care[0]) for text in (CENTRE.name, CENTRE.contact, *CENTRE.lanes))
    assert refusals([*key, *care]) == []


@pytest.mark.parametrize("fmt", sorted(FORMATS))
def test_no_card_of_any_size_is_crowded_by_a_centre(demos: dict[str, Job], fmt: str) -> None:
    job = demos["wren-skobernik"]
    deck = cards_of(job.chart, job.words)
    form = FORMATS[fmt]
    key = signed(page_scenes(deck.key, form), CENTRE, form, facts=False)
    care = signed(page_scenes(deck.care, form), CENTRE, form, facts=True)
    assert refusals([*key, *care]) == []
    assert len(key) == len(page_scenes(deck.key, form))
    assert CENTRE.contact in said(care[-1])


def test_the_last_page_of_a_booklet_tells_of_the_centre(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    sketch = card_of(job.chart.lines[0], job.chart, job.words).sketch
    stretch = lane_frame(sketch, A7, A7.inner_height_mm).stretch
    booklet = booklet_of(job.loaded, job.chart, job.words, stretch=stretch)
    scenes, plain = booklet_scenes(booklet, A7, EXAMPLE), booklet_scenes(booklet, A7)
    assert CENTRE.contact in said(scenes[-1])
    assert scenes[1:-1] == plain[1 : len(scenes) - 1]
    assert [str(f) for f in preflight(scenes, kind="booklet") if f.severity == "refuse"] == []


def full_page() -> Scene:
    low = A7.height_mm - A7.margin_mm - 1.0
    lines = (Text(A7.margin_mm, low, "The last line", 8.5),)
    return Scene(A7.width_mm, A7.height_mm, lines, "Full", safe_mm=A7.safe_mm)


def test_facts_get_a_page_of_their_own_rather_than_none() -> None:
    first, second = signed([full_page()], CENTRE, A7, facts=True)
    assert first == full_page()
    assert CENTRE.contact in said(second)
    assert logos(second) > 3
    assert refusals([second]) == []


def test_a_name_and_a_logo_alone_get_no_page_of_their_own() -> None:
    assert signed([full_page()], CENTRE, A7, facts=False) == [full_page()]
    assert signed([full_page()], Centre(name="Ours"), A7, facts=True) == [full_page()]


def test_nothing_is_added_for_no_centre() -> None:
    assert signed([full_page()], Centre(), A7, facts=True) == [full_page()]
    assert signed([], CENTRE, A7, facts=True) == []
    assert at_foot(Centre(footer="Only a footer"), A7, facts=True) is None


@pytest.mark.parametrize(
    "centre",
    [
        Centre(name="Ours"),
        Centre(logo=CENTRE.logo),
        Centre(contact="555 0134"),
        Centre(lanes=("One", "Two", "Three")),
        replace(CENTRE, name="The Very Long Name of a Centre That Goes on for Sixty Letters"),
        replace(CENTRE, lanes=("Lanes 1 to 12 are oiled to forty feet every day at noon",) * 3),
        replace(CENTRE, logo=picture(900, 90)),
        replace(CENTRE, logo=picture(90, 900)),
    ],
)
@pytest.mark.parametrize("fmt", ["a7", "a5"])
def test_any_part_of_a_centre_will_do(centre: Centre, fmt: str) -> None:
    scenes = page_scenes(COVER, FORMATS[fmt], Template(centre=centre))
    assert refusals(scenes) == []


# --- logos ---------------------------------------------------------------------------------------


def test_a_logo_keeps_its_proportions() -> None:
    assert logo_size_mm(picture(400, 100), 20, 20) == (20, 5)
    assert logo_size_mm(picture(100, 400), 20, 20) == (5, 20)


def test_a_logo_of_few_pixels_stays_sharp_or_is_told_of() -> None:
    # 100 pixels at 200 to an inch (derived)
    assert logo_size_mm(picture(100, 100), 20, 20) == (12.7, 12.7)
    few = replace(CENTRE, logo=picture(30, 30))
    rules = {
        (f.rule, f.severity)
        for f in preflight(page_scenes(COVER, A7, Template(centre=few)), kind="booklet")
    }
    assert rules == {("image-resolution", "warn")}


def test_a_logo_of_pixels_says_whose_it_is() -> None:
    item = logo_item(picture(40, 20), 1, 2, 10, "Ours")
    assert isinstance(item, Image)
    assert (item.width_mm, item.height_mm, item.alt) == (10, 5, "Ours")


def test_what_an_artist_left_outside_the_frame_is_cut_off(shipped_logo: Path) -> None:
    item = logo_item(read_svg(shipped_logo.read_bytes()).outlines, 0, 0, 12, "Ours")
    assert isinstance(item, Group)
    assert item.clip is not None
    assert (item.clip.width_mm, item.clip.height_mm) == (120, 120)


def test_open_contours_are_stroked_open_and_filled_closed() -> None:
    svg = '<svg viewBox="0 0 9 9"><path fill="red" stroke="blue" d="M0 0h9v9 M1 1h2v2z"/></svg>'
    item = logo_item(read_svg(svg.encode()).outlines, 0, 0, 9, "")
    assert isinstance(item, Group)
    filled, *lines = item.items
    assert isinstance(filled, Curve)
    assert (filled.fill, filled.stroke, filled.closed) == ("#FF0000", None, True)
    assert [line.closed for line in lines if isinstance(line, Curve)] == [False, True]


def test_the_same_template_gives_the_same_bytes() -> None:
    scenes = page_scenes(
        COVER, ID_1, replace(EXAMPLE, centre=replace(CENTRE, logo=picture(300, 300)))
    )
    assert pdf_bytes(scenes, DocumentInfo("x")) == pdf_bytes(scenes, DocumentInfo("x"))
