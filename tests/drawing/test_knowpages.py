"""The pages of what is known of the bowler: nothing crowded, clipped or lost between pages."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import pytest

from cardgen.cards.assumptions import Assumptions
from cardgen.cards.booklet import Booklet
from cardgen.cards.changes import ChangesPage
from cardgen.cards.drill import DrillPage, DrillRow, drill_page
from cardgen.cards.fewlines import FewPage, FewRow, few_page
from cardgen.drawing.fonts import cap_height_mm, metrics, width_mm
from cardgen.drawing.knowpages import practice_scene
from cardgen.drawing.pages import page_scenes
from cardgen.drawing.scene import Align, Field, Line, Polyline, Scene, Text, Weight
from cardgen.drawing.theme import A7, GREY
from cardgen.press import Job
from cardgen.sheets.papers import A4, LETTER, Size
from cardgen.units import POINT_MM

MakeBooklet = Callable[[Job], Booklet]
Box = tuple[float, float, float, float]
PAPERS = pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
LONG = "1-2-3-4-5-6-7-8-9-10"


def texts(scene: Scene) -> list[Text]:
    return [item for item, _ in scene.walk() if isinstance(item, Text) and item.text]


def said(scene: Scene) -> list[str]:
    return [text.text for text in texts(scene)]


def box(text: Text) -> Box:
    wide = width_mm(text.text, text.size_pt, text.weight)
    left = text.x_mm - {Align.START: 0, Align.MIDDLE: wide / 2, Align.END: wide}[text.align]
    # Figures stand on the baseline, letters reach below it.
    low = 0.0 if text.name.startswith("few-") else min(metrics(text.weight).descent_em, 0.22)
    low *= text.size_pt * POINT_MM
    high = cap_height_mm(text.size_pt, text.weight)
    return left, text.y_mm - high, left + wide, text.y_mm + low


def squares(scene: Scene) -> list[Box]:
    found = [i for i, _ in scene.walk() if isinstance(i, Polyline) and i.name == "box"]
    return [(*i.points_mm[0], *i.points_mm[2]) for i in found]


def meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] - 1e-6 and b[0] < a[2] - 1e-6 and a[1] < b[3] - 1e-6 and b[1] < a[3] - 1e-6


def check(scene: Scene) -> None:
    """Assert that texts and boxes stay on the page and off each other."""
    boxes = [(text.text, box(text)) for text in texts(scene)]
    boxes += [("box", square) for square in squares(scene)]
    assert [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if meet(x, y)] == []
    safe = scene.safe_mm - 1e-6
    for name, (left, top, right, bottom) in boxes:
        assert left >= safe, name
        assert top >= safe, name
        assert right <= scene.width_mm - safe, name
        assert bottom <= scene.height_mm - safe, name


def few(rows: int, leaves: int = 3) -> FewPage:
    names = ["\u00a0".join((str(n), "pin")) for n in range(1, 10)] * 4
    row = FewRow("34½", "20½", "Strike ball", ", ".join(names[:leaves]), "10\u00a0pin")
    return FewPage(
        "The lines to remember",
        "One line serves several leaves. " * 3,
        ("STAND", "TARGET"),
        (row,) * rows,
        ("Of what all lines together make, " * 3, "The cards after this."),
    )


def test_the_demo_bowlers_lines_are_one_page_with_all_their_leaves(
    demos: dict[str, Job], fitted: dict[str, Job]
) -> None:
    for job in (*demos.values(), *fitted.values()):
        lines = job.answers.few
        assert lines is not None
        page = few_page(lines, job.chart, job.words)
        (scene,) = page_scenes(page, A7)
        check(scene)
        assert scene.title == "The lines to remember"
        figures = [text for text in texts(scene) if text.name in ("few-stand", "few-target")]
        assert [text.text for text in figures] == [
            figure for row in page.rows for figure in (row.stand, row.target)
        ]
        assert all(text.weight is Weight.BOLD for text in figures)
        rest = [text.size_pt for text in texts(scene) if text not in figures]
        assert min(text.size_pt for text in figures) >= 1.5 * max(rest)


@pytest.mark.parametrize("rows", range(1, 9))
@pytest.mark.parametrize("leaves", [1, 9, 36])
def test_any_number_of_lines_goes_on_as_many_pages_as_it_needs(rows: int, leaves: int) -> None:
    page = few(rows, leaves)
    scenes = page_scenes(page, A7)
    assert [bool(scene.title) for scene in scenes] == [True] + [False] * (len(scenes) - 1)
    for scene in scenes:
        check(scene)
    shown = [text for scene in scenes for text in texts(scene)]
    assert sum(text.name == "few-stand" for text in shown) == rows
    assert any("The cards after this." in text.text for text in shown)


def test_leaves_are_summed_up_only_where_that_saves_a_page() -> None:
    def first_leaves(page: FewPage) -> str:
        (scene,) = page_scenes(page, A7)
        texts = said(scene)
        return texts[texts.index("Strike ball") + 1]

    assert first_leaves(few(2, 9)).startswith("1\u00a0pin, 2\u00a0pin")
    assert first_leaves(few(5, 20)) == "10\u00a0pin"
    # Where even that takes two pages, all are told.
    (first, *more) = page_scenes(few(8, 9), A7)
    assert more
    assert any(text.startswith("1\u00a0pin, 2\u00a0pin") for text in said(first))


def changes(*names: str) -> ChangesPage:
    rows = tuple((n, "Strike ball, 34½ over 20½", "→ Strike ball, 35½ over 21½") for n in names)
    return ChangesPage("Lines that changed", "Only these are others. " * 4, rows)


@pytest.mark.parametrize("count", [1, 7, 8, 9, 40])
def test_changes_go_on_to_as_many_pages_as_they_need(count: int) -> None:
    page = changes(*(f"{n} pin" for n in range(count)))
    scenes = page_scenes(page, A7)
    for scene in scenes:
        check(scene)
    shown = [text for scene in scenes for text in texts(scene)]
    olds = [text for text in shown if text.text == page.rows[0][1]]
    news = [text for text in shown if text.text == page.rows[0][2]]
    assert len(olds) == len(news) == count
    assert {(text.colour, text.weight) for text in olds} == {(GREY, Weight.REGULAR)}
    assert {text.weight for text in news} == {Weight.BOLD}
    assert all(new.y_mm > old.y_mm for old, new in zip(olds, news, strict=True))
    assert [scene.title for scene in scenes] == [page.title] + [""] * (len(scenes) - 1)


def test_a_leave_too_long_for_its_line_stands_above_its_change() -> None:
    (scene,) = page_scenes(changes(LONG, "10 pin"), A7)
    check(scene)
    place = {text.text: text.y_mm for text in texts(scene)}
    olds = [text.y_mm for text in texts(scene) if text.text.endswith("over 20½")]
    assert place[LONG] < olds[0] - 2
    assert place["10 pin"] == pytest.approx(olds[1], abs=0.1)


def with_long_leaves(page: DrillPage) -> DrillPage:
    rows = tuple(DrillRow(LONG, "34½", "20½", "strike", row.boxes) for row in page.rows)
    return replace(page, rows=rows)


def drill(job: Job) -> DrillPage:
    return drill_page(job.answers.drill, job.answers.practice, job.words)


def test_the_drill_and_the_plan_are_one_page_with_three_boxes_a_line(
    demos: dict[str, Job], fitted: dict[str, Job]
) -> None:
    for job in (*demos.values(), *fitted.values()):
        page = drill(job)
        (scene,) = page_scenes(page, A7)
        check(scene)
        found = squares(scene)
        assert len(found) == 3 * len(page.rows)
        for left, top, right, bottom in found:
            assert right - left == pytest.approx(bottom - top)
            assert right - left >= 3  # a pen's tick
        assert {"Throw next", "What practice wins", page.caution} <= set(said(scene))


def test_a_drill_with_more_to_say_goes_on_to_another_page(demos: dict[str, Job]) -> None:
    page = with_long_leaves(drill(demos["ilse-marchetti"]))
    scenes = page_scenes(page, A7)
    for scene in scenes:
        check(scene)
        assert page.caution in said(scene)
    assert [text for scene in scenes for text in said(scene)].count(LONG) == 3
    for part in (replace(page, plan=()), replace(page, rows=(), sure="")):
        (scene,) = page_scenes(part, A7)
        check(scene)


@PAPERS
def test_the_practice_sheet_has_a_field_in_every_box(paper: Size, demos: dict[str, Job]) -> None:
    for job in demos.values():
        for page in (drill(job), with_long_leaves(drill(job))):
            cautions = job.words("forms.cautions")
            scene = practice_scene(page, "Notes", cautions, paper.width_mm, paper.height_mm)
            assert (scene.width_mm, scene.height_mm) == (paper.width_mm, paper.height_mm)
            check(scene)
            fields = [item for item, _ in scene.walk() if isinstance(item, Field)]
            assert [field.name for field in fields] == [
                f"drill.{i}.{throw}" for i in (1, 2, 3) for throw in (1, 2, 3)
            ]
            assert all(field.box and field.tip and not field.value for field in fields)
            corners = [(f.x_mm, f.y_mm, f.x_mm + f.width_mm, f.y_mm + f.height_mm) for f in fields]
            for corner, square in zip(corners, squares(scene), strict=True):
                assert corner == pytest.approx(square)
            told = " ".join(text.text for text in texts(scene) if text.name == "cautions")
            assert "medical professional" in told or "medical" in told
            # Lines to write on, clear of the cautions below them.
            lowest = max(i.y1_mm for i in scene.items if isinstance(i, Line))
            assert lowest < min(box(t)[1] for t in texts(scene) if t.name == "cautions")


def test_a_face_says_from_defaults_where_a_line_of_ones_own_would(
    job_from: Callable[[str], Job], booklet: MakeBooklet
) -> None:
    job = job_from("bowler: Demo\nhand: left\n")
    for page in booklet(job).pages:
        if type(page).__name__ == "Face":
            (scene,) = page_scenes(page, A7)
            (mark,) = (text for text in texts(scene) if text.text == "From defaults")
            assert mark.colour == GREY
            manner = [text.y_mm for text in texts(scene) if "mph" in text.text]
            assert mark.y_mm > max(manner)


def test_what_a_fitted_chart_rests_on_stays_on_its_pages(
    fitted: dict[str, Job], booklet: MakeBooklet
) -> None:
    for job in fitted.values():
        (page,) = (page for page in booklet(job).pages if isinstance(page, Assumptions))
        scenes = page_scenes(page, A7)
        for scene in scenes:
            check(scene)
        shown = [text for scene in scenes for text in said(scene)]
        rows = [row for _, section in page.sections for row in section]
        assert all(row.label in shown and row.value in shown for row in rows)
