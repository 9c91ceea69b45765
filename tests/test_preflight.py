"""Preflight: each rule finds what breaks it, and what we print breaks none."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from io import BytesIO
from itertools import combinations
from typing import Any

import pypdf
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from cardgen import press
from cardgen.cards.words import load_words
from cardgen.drawing import fonts, theme
from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Field,
    Group,
    Item,
    Line,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.drawing.theme import A7, ID_1
from cardgen.layouts import Layout
from cardgen.preflight import (
    Finding,
    Kind,
    PreflightError,
    contrast,
    luminance,
    passed,
    preflight,
)
from cardgen.profile.loader import find_profile
from cardgen.sheets.papers import A4, LETTER
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

DEMOS = ("ilse-marchetti", "wren-skobernik")
BLACK = Stroke("#000000", 0.3)


def page(*items: Item, safe_mm: float = 3.0, trim: Clip | None = None) -> Scene:
    return Scene(74, 105, items, safe_mm=safe_mm, trim=trim)


def rules(*items: Item, kind: Kind = "card", **of_page: Any) -> list[tuple[str, str]]:
    return [(f.rule, f.severity) for f in preflight([page(*items, **of_page)], kind=kind)]


def square(x: float, y: float, side: float, fill: str) -> Polyline:
    return Polyline(
        ((x, y), (x + side, y), (x + side, y + side), (x, y + side)), fill=fill, closed=True
    )


TEXT = Text(20, 50, "Stand 28", 8.0)


# --- contrast ---------------------------------------------------------------------------------


def test_contrast_is_that_of_the_guidelines() -> None:
    # WCAG 2.2, definition of contrast ratio: "Contrast ratios can range from 1 to 21".
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1
    # Understanding WCAG 2.2, 1.4.3 (from memory): the lightest grey that passes on white is
    # #767676 at 4.54, and #777777 at 4.47 does not, however one would like to round it.
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)
    assert 4.47 <= contrast("#FFFFFF", "#777777") < 4.5
    # WCAG 2.2, definition of relative luminance: 0 for darkest black and 1 for lightest white.
    assert luminance("#000000") == 0
    assert luminance("#ffffff") == pytest.approx(1)
    # The same: the share of each primary at its full strength.
    shares = {"#FF0000": 0.2126, "#00FF00": 0.7152, "#0000FF": 0.0722}
    assert {c: luminance(c) for c in shares} == pytest.approx(shares)


@pytest.mark.parametrize(
    ("colour", "ground", "found"),
    [
        ("#767676", None, False),
        ("#777777", None, True),
        ("#FFFFFF", "#767676", False),
        ("#FFFFFF", "#777777", True),
        ("#FFFFFF", None, True),
        ("#000000", "#757575", False),  # 4.6, and black passes on anything lighter
        ("#000000", "#707070", True),
    ],
)
def test_text_needs_its_contrast_on_what_is_under_it(
    colour: str, ground: str | None, found: bool
) -> None:
    under = () if ground is None else (square(10, 30, 40, ground),)
    text = replace(TEXT, colour=colour)
    assert rules(*under, text) == ([("contrast", "refuse")] if found else [])


def test_of_shapes_on_each_other_the_topmost_under_the_text_counts() -> None:
    white = replace(TEXT, colour="#FFFFFF")
    dark, light = square(10, 30, 40, "#000000"), square(12, 32, 30, "#FFFFFF")
    assert rules(dark, white) == []
    assert rules(dark, light, white) == [("contrast", "refuse")]
    assert rules(light, dark, white) == []
    # What is drawn after the text is not under it, and what lies elsewhere neither.
    assert rules(white, dark) == [("contrast", "refuse")]
    assert rules(square(60, 30, 8, "#000000"), white) == [("contrast", "refuse")]


def test_discs_curves_and_turned_shapes_are_under_text_where_they_are_inked() -> None:
    white = replace(TEXT, colour="#FFFFFF", text="28", align=Align.MIDDLE, x_mm=30)
    bad = [("contrast", "refuse")]
    assert rules(Disc(30, 49, 5, fill="#000000"), white) == []
    assert rules(Disc(36, 49, 5, fill="#000000"), white) == bad
    # A disc's corner has no ink: 45 degrees off, 1.2 radii away.
    assert rules(Disc(34.2, 53.2, 5, fill="#000000"), white) == bad
    k = 5.5  # a round blob of four Beziers, of radius 10
    blob = Curve(
        (40, 49),
        (
            ((40, 49 + k), (30 + k, 59), (30, 59)),
            ((30 - k, 59), (20, 49 + k), (20, 49)),
            ((20, 49 - k), (30 - k, 39), (30, 39)),
            ((30 + k, 39), (40, 49 - k), (40, 49)),
        ),
        fill="#000000",
        closed=True,
    )
    assert rules(blob, white) == []
    assert rules(Group((blob,), transform=Transform.move(8.5, 8.5)), white) == bad
    turned = Group((square(44, -35, 10, "#000000"),), transform=Transform.quarter_turns(1))
    assert rules(turned, white) == []  # (x, y) goes to (-y, x): from 25 to 35 and 44 to 54
    assert rules(square(44, -35, 10, "#000000"), white) == bad


def test_a_ground_counts_only_where_its_clip_shows_it() -> None:
    white = replace(TEXT, colour="#FFFFFF", text="28")
    ground = square(10, 30, 40, "#000000")
    assert rules(Group((ground,), clip=Clip(10, 30, 30, 30)), white) == []
    assert rules(Group((ground,), clip=Clip(10, 30, 5, 30)), white) == [("contrast", "refuse")]


def test_a_drawing_is_warned_of_that_does_not_stand_out() -> None:
    line = Line(20, 50, 40, 50, Stroke("#949494", 0.3))  # 3.03 on white
    assert rules(line) == []
    pale = Line(20, 50, 40, 50, Stroke("#959595", 0.3))  # 2.98
    assert rules(pale) == [("contrast", "warn")]
    black = Line(20, 50, 40, 50, BLACK)
    assert rules(square(10, 40, 40, "#333333"), black) == [("contrast", "warn")]
    assert rules(square(10, 40, 12, "#333333"), black) == []  # a dark corner under a tenth of it
    ring = Disc(30, 50, 5, BLACK)
    assert rules(square(10, 40, 40, "#333333"), ring) == [("contrast", "warn")]
    assert rules(replace(ring, fill="#333333")) == []  # its own ground is not under it
    zigzag = Polyline(((20, 50), (25, 55), (30, 50), (35, 55)), BLACK)
    assert rules(square(10, 40, 40, "#333333"), zigzag) == [("contrast", "warn")]


def test_the_ratio_in_a_message_is_not_rounded_up() -> None:
    (found,) = preflight([page(replace(TEXT, colour="#777777"))], kind="card")
    assert found.message == ("“Stand 28” in #777777 on #FFFFFF has a contrast of 4.47, below 4.5")
    assert str(found) == f"page 1: contrast: {found.message}"


# --- places -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("x", "y", "align", "fine"),
    [
        (3.0, 50, Align.START, True),
        (2.9, 50, Align.START, False),
        (71.0, 50, Align.END, True),
        (71.1, 50, Align.END, False),
        (60.9, 50, Align.START, True),
        (61.1, 50, Align.START, False),
        (8.1, 50, Align.MIDDLE, True),
        (7.9, 50, Align.MIDDLE, False),
        (20, 5.2, Align.START, True),
        (20, 4.9, Align.START, False),
        (20, 101.9, Align.START, True),
        (20, 102.1, Align.START, False),
    ],
)
def test_text_stays_inside_the_safe_area(x: float, y: float, align: Align, fine: bool) -> None:
    text = Text(x, y, "Stand 28", 8.0, align=align)
    assert fonts.width_mm(text.text, 8.0) == pytest.approx(10.02, abs=0.01)
    assert rules(text) == ([] if fine else [("safe-area", "refuse")])


def test_what_hangs_below_the_line_counts_where_there_is_such() -> None:
    low = Text(20, 101.7, "Stand", 8.0)
    assert rules(low) == []
    assert rules(replace(low, text="light")) == [("safe-area", "refuse")]  # the g


def test_the_safe_area_lies_inside_the_trim() -> None:
    trim = Clip(3, 3, 68, 99)
    assert rules(Text(6.0, 50, "x", 8), trim=trim) == []
    assert rules(Text(5.9, 50, "x", 8), trim=trim) == [("safe-area", "refuse")]


def test_turned_and_moved_text_is_looked_at_where_it_stands() -> None:
    upright = Text(0, 0, "Stand 28", 8.0)
    for turns, at in ((1, (10, 94)), (3, (10, 4))):  # runs off the foot, off the top
        place = Transform.quarter_turns(turns).then(Transform.move(*at))
        assert rules(Group((upright,), transform=place)) == [("safe-area", "refuse")]
        place = Transform.quarter_turns(turns).then(Transform.move(10, 50))
        assert rules(Group((upright,), transform=place)) == []
    mirrored = Transform(a=-1.0, e=10.0, f=50.0)
    assert rules(Group((upright,), transform=mirrored)) == [("safe-area", "refuse")]


def test_a_form_keeps_its_fields_inside_and_nothing_else_has_any() -> None:
    field = Field(20, 50, 20, 8, "bowler", "Name")
    assert rules(field, kind="form") == []
    assert rules(field) == [("font-embedding", "refuse")]
    assert rules(replace(field, x_mm=60), kind="form") == [("safe-area", "refuse")]


def test_a_drawing_in_the_margin_is_warned_of_and_a_ground_that_bleeds_is_not() -> None:
    assert rules(Line(2, 50, 40, 50, BLACK, "path")) == [("safe-area", "warn")]
    assert rules(Line(-1, 50, 75, 50, BLACK)) == []
    assert rules(square(-1, -1, 60, "#E3EFF6")) == []
    assert rules(square(1, 40, 20, "#E3EFF6")) == [("safe-area", "warn")]
    assert rules(Line(2, 50, 2.5, 50, BLACK, "cut mark"), kind="sheet") == []


def test_what_leaves_no_ink_is_not_there() -> None:
    nothing = (
        Text(0, 0, " ", 5),
        Polyline((), BLACK),
        Polyline(((1, 1), (2, 2))),
        Disc(1, 1, 1),
        Curve((1, 1), (((1, 1), (2, 2), (2, 3)),)),
    )
    assert rules(*nothing) == []


def test_text_that_a_clip_cuts_is_refused_and_text_that_it_hides_is_not_there() -> None:
    clip = Clip(20, 40, 20, 20)
    assert rules(Group((replace(TEXT, x_mm=22),), clip=clip)) == []
    assert rules(Group((replace(TEXT, x_mm=36),), clip=clip)) == [("safe-area", "refuse")]
    assert rules(Group((replace(TEXT, x_mm=70),), clip=clip)) == []
    inner = Group((replace(TEXT, x_mm=36),), clip=Clip(30, 40, 40, 20))
    assert rules(Group((inner,), clip=clip)) == [("safe-area", "refuse")]


# --- texts on each other ----------------------------------------------------------------------


def test_texts_on_each_other_are_refused_by_name() -> None:
    (found,) = preflight(
        [page(), page(TEXT, replace(TEXT, text="Target 20", y_mm=51))], kind="booklet"
    )
    message = "“Target 20” lies on “Stand 28”"
    assert found == Finding("overlap", "refuse", 2, message)


def test_neighbours_are_not_on_each_other() -> None:
    line = 1.25 * 8 * POINT_MM
    below, beside = replace(TEXT, y_mm=50 + line), replace(TEXT, x_mm=30.1)
    assert rules(TEXT, below, beside) == []
    # Figures have no descenders, so that something may stand close below them.
    figure = Text(20, 40, "28", 42, Weight.BOLD)
    assert rules(figure, Text(20, 42.2, "over", 8)) == []
    assert rules(replace(figure, text="2g"), Text(20, 42.2, "over", 8)) == [("overlap", "refuse")]


def test_what_stands_aslant_is_only_warned_of() -> None:
    aslant = Transform(a=0.8, b=0.6, c=-0.6, d=0.8, e=20, f=45)
    assert rules(TEXT, Group((Text(0, 0, "on the way", 8),), transform=aslant)) == [
        ("overlap", "warn")
    ]


@given(
    st.lists(
        st.tuples(
            st.floats(20, 40),
            st.floats(20, 80),
            st.sampled_from(["28", "left", "–", "Target"]),
            st.integers(0, 3),
        ),
        max_size=14,
    )
)
def test_every_pair_of_texts_on_each_other_is_found(
    placed: list[tuple[float, float, str, int]],
) -> None:
    items = [
        Group(
            (Text(0, 0, f"{word}{number}", 8),),  # no two alike: a sentence is said once
            transform=Transform.quarter_turns(turns).then(Transform.move(x, y)),
        )
        for number, (x, y, word, turns) in enumerate(placed)
    ]
    found = [f for f in preflight([page(*items)], kind="card") if f.rule == "overlap"]
    boxes = [ink_box(*item) for item in page(*items).walk()]
    pairs = sum(
        min(a[2], b[2]) - max(a[0], b[0]) > 1e-3 and min(a[3], b[3]) - max(a[1], b[1]) > 1e-3
        for a, b in combinations(boxes, 2)
    )
    assert len(found) == pairs


@cache
def glyph_em(character: str) -> tuple[float, float]:
    """Return the lowest and the highest ink of a character, drawn outline by outline."""
    with TTFont(fonts.font_path(Weight.REGULAR)) as font:
        pen = BoundsPen(glyphs := font.getGlyphSet())
        glyphs[font.getBestCmap()[ord(character)]].draw(pen)
        assert pen.bounds is not None
        return pen.bounds[1] / font["head"].unitsPerEm, pen.bounds[3] / font["head"].unitsPerEm


def ink_box(item: Item, to_page: Transform) -> tuple[float, float, float, float]:
    assert isinstance(item, Text)
    em = item.size_pt * POINT_MM
    low = min(glyph_em(c)[0] for c in item.text) * em
    high = max(glyph_em(c)[1] for c in item.text) * em
    width = fonts.width_mm(item.text, item.size_pt)
    ends = [to_page.point(x, y) for x in (0, width) for y in (-high, -low)]
    xs, ys = [x for x, _ in ends], [y for _, y in ends]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("text", ["Ångström", "Ř", "ẳ", "Ș", "Ψυχή", "Щука", "(j)", "„Ĝ”", "½"])
def test_marks_above_and_below_letters_are_part_of_the_box(text: str) -> None:
    # Set so that its outlines, drawn one by one, end exactly at the safe area, then a hair beyond.
    em = 20 * POINT_MM
    low, high = min(glyph_em(c)[0] for c in text) * em, max(glyph_em(c)[1] for c in text) * em
    for y, fine in (
        (3 + high, True),
        (2.99 + high, False),
        (102 + low, True),
        (102.01 + low, False),
    ):
        assert rules(Text(20, y, text, 20)) == ([] if fine else [("safe-area", "refuse")]), y


# --- type -------------------------------------------------------------------------------------


def test_type_keeps_its_tier() -> None:
    assert rules(Text(20, 50, "15", 6.0)) == []
    assert rules(Text(20, 50, "15", 5.9)) == [("minimum-type", "refuse")]
    sentence = Text(20, 50, "two boards to the left", 7.5)
    assert rules(sentence) == []
    assert rules(replace(sentence, size_pt=7.4)) == [("minimum-type", "warn")]
    assert rules(replace(sentence, size_pt=6, name="footer")) == []
    figure = Text(20, 50, "28", 10, Weight.BOLD, name="figure-STAND")
    assert rules(figure) == []
    assert rules(replace(figure, size_pt=9)) == [("minimum-type", "refuse")]


def test_type_that_a_transform_shrinks_is_as_small_as_it_prints() -> None:
    half = Transform(a=0.7, d=0.7)
    assert rules(Group((Text(20, 50, "15", 8.0),), transform=half)) == [("minimum-type", "refuse")]
    assert rules(Group((Text(20, 50, "15", 8.6),), transform=half)) == []
    turned = half.then(Transform.quarter_turns(1)).then(Transform.move(60, 20))
    assert rules(Group((Text(20, 10, "15", 8.0),), transform=turned)) == [
        ("minimum-type", "refuse")
    ]


# --- the document -----------------------------------------------------------------------------


def test_no_page_is_refused_and_pages_of_several_sizes_are_warned_of() -> None:
    assert [str(f) for f in preflight([], kind="booklet")] == [
        "page-count: there is no page to print"
    ]
    pages = [page(), replace(page(), width_mm=85.0)]
    assert [str(f) for f in preflight(pages, kind="booklet")] == [
        "page-size: all pages of a booklet should be of one size, not 74 x 105, 85 x 105 mm"
    ]


def test_sheets_may_lie_either_way_and_pages_of_a_booklet_may_not() -> None:
    pages = [page(), Scene(105, 74, ())]
    assert preflight(pages, kind="sheet") == preflight(pages, kind="form") == ()
    assert [f.rule for f in preflight(pages, kind="booklet")] == ["page-size"]


def test_what_is_refused_stops_the_job_and_names_every_page() -> None:
    pages = [page(TEXT), page(replace(TEXT, x_mm=1)), page(TEXT, TEXT)]
    with pytest.raises(PreflightError) as caught:
        passed(pages, kind="booklet")
    assert caught.value.exit_code == 1
    assert str(caught.value).splitlines() == [
        "page 2: safe-area: “Stand 28” reaches 2.0 mm out of the safe area, "
        "which ends 3 mm from the edge",
        "page 3: overlap: “Stand 28” lies on “Stand 28”",
    ]
    warned = [page(TEXT, Line(2, 20, 40, 20, BLACK))]
    assert [f.severity for f in passed(warned, kind="booklet")] == ["warn"]


# --- what we print ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Printed:
    """A document as it went to the writer, and what came out."""

    scenes: list[Scene]
    data: bytes


@pytest.fixture(scope="module")
def printed() -> dict[str, Printed]:
    """Everything the press makes for both demo bowlers, caught on its way into the writer."""
    found: dict[str, Printed] = {}
    write = pdf_bytes
    with pytest.MonkeyPatch.context() as patch:

        def caught(scenes: Sequence[Scene], info: DocumentInfo) -> bytes:
            data = write(scenes, info)
            found[name] = Printed(list(scenes), data)
            return data

        patch.setattr(press, "pdf_bytes", caught)
        for demo in DEMOS:
            job = press.job_of(press.open_profile(find_profile(demo)).loaded, load_words("en"))
            name = f"{demo} booklet"
            job.booklet(date="25 November 2026").pdf()
            for fmt in (ID_1, A7):
                for paper in (A4, LETTER):
                    name = f"{demo} {fmt.name} {paper.name}"
                    job.cards(fmt, Layout(paper))[0].pdf()
    return found


MADE = [
    f"{d} {k}" for d in DEMOS for k in ("booklet", "id1 A4", "id1 Letter", "a7 A4", "a7 Letter")
]


@pytest.mark.parametrize("name", MADE)
def test_what_we_print_has_no_finding_at_all(name: str, printed: dict[str, Printed]) -> None:
    kind: Kind = "booklet" if name.endswith("booklet") else "sheet"
    assert preflight(printed[name].scenes, kind=kind) == ()


@pytest.mark.parametrize("name", MADE)
def test_the_file_is_as_preflight_takes_it_to_be(name: str, printed: dict[str, Printed]) -> None:
    # ISO 32000-1, 9.8 (a font's file in its descriptor) and 14.11.2 (page boundaries).
    made = printed[name]
    document = pypdf.PdfReader(BytesIO(made.data), strict=True)
    assert len(document.pages) == len(made.scenes)
    fonts_seen = 0
    for sheet, scene in zip(document.pages, made.scenes, strict=True):
        trim = scene.trim or Clip(0, 0, scene.width_mm, scene.height_mm)
        boxes = {
            "media": (sheet.mediabox, scene.width_mm, scene.height_mm),
            "trim": (sheet.trimbox, trim.width_mm, trim.height_mm),
        }
        for box, width, height in boxes.values():
            assert float(box.width) * POINT_MM == pytest.approx(width, abs=0.001)
            assert float(box.height) * POINT_MM == pytest.approx(height, abs=0.001)
        for font in _fonts(sheet["/Resources"]):
            fonts_seen += 1
            assert "/FontFile2" in font["/FontDescriptor"].get_object()
    assert fonts_seen


def _fonts(resources: Any) -> list[Any]:
    """Return the fonts of a page and of the forms it shows."""
    resources = resources.get_object()
    found = [
        f.get_object()
        for f in resources.get("/Font", pypdf.generic.DictionaryObject()).get_object().values()
    ]
    for shown in resources.get("/XObject", pypdf.generic.DictionaryObject()).get_object().values():
        if "/Resources" in (form := shown.get_object()):
            found += _fonts(form["/Resources"])
    return found


@pytest.mark.parametrize(
    ("spoilt", "rule"),
    [
        (lambda t: replace(t, y_mm=t.y_mm + 0.6), "overlap"),
        (lambda t: replace(t, x_mm=1.0, align=Align.START), "safe-area"),
        (lambda t: replace(t, size_pt=5.5, y_mm=t.y_mm), "minimum-type"),
        (lambda t: replace(t, colour=theme.SKY), "contrast"),
    ],
)
def test_a_page_of_ours_that_is_spoilt_is_refused(
    spoilt: Callable[[Text], Text], rule: str, printed: dict[str, Printed]
) -> None:
    scenes = printed["ilse-marchetti booklet"].scenes
    number, scene = next(
        (n, s)
        for n, s in enumerate(scenes)
        if any(getattr(i, "name", "") == "title" for i in s.items)
    )
    title = next(i for i in scene.items if isinstance(i, Text) and i.name == "title")
    bad = replace(scene, items=(*scene.items, spoilt(title)))
    found = preflight([*scenes[:number], bad, *scenes[number + 1 :]], kind="booklet")
    assert (rule, "refuse", number + 1) in [(f.rule, f.severity, f.page) for f in found]
