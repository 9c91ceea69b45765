"""Handouts and the poster as drawn: nothing clipped, nothing small, each hand its own mirror."""

from collections.abc import Callable, Iterator
from itertools import combinations
from math import dist, hypot

import pytest

from cardgen.cards.handout import (
    Lesson,
    few_lesson,
    leave_page,
    miss_lesson,
    poster_of,
    straight_lesson,
    worksheet_page,
)
from cardgen.cards.words import Words
from cardgen.drawing.fonts import width_mm
from cardgen.drawing.handout import (
    LANE_MM,
    HandoutFormat,
    leave_scene,
    lesson_scene,
    worksheet_scene,
)
from cardgen.drawing.poster import poster_scene
from cardgen.drawing.scene import Disc, Item, Polyline, Scene, Text, Transform
from cardgen.lane.geometry import EDGE_M, GUTTER_M
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.preflight import preflight
from cardgen.press import Job, job_of
from cardgen.units import POINT_MM

DEMOS = ("ilse-marchetti", "wren-skobernik")
FORMATS = {
    "A4": HandoutFormat(185.0, 287.0),
    "Letter": HandoutFormat(190.9, 269.4),
}


def named(scene: Scene, name: str) -> list[tuple[Item, Transform]]:
    return [(item, place) for item, place in scene.walk() if getattr(item, "name", "") == name]


def texts(scene: Scene) -> Iterator[tuple[Text, float]]:
    """Yield every text with its size on the page, in points."""
    for item, place in scene.walk():
        if isinstance(item, Text):
            yield item, item.size_pt * hypot(place.a, place.b)


def lessons_of(job: Job, words: Words) -> list[Lesson]:
    return [
        few_lesson(job.chart, job.answers.few, words),
        miss_lesson(job.chart, words),
        straight_lesson(job.chart, words),
    ]


def pages_of(job: Job, words: Words, fmt: HandoutFormat) -> list[Scene]:
    bowler = job.chart.bowler
    sheets = [
        worksheet_page(leave, bowler, words, walks=walks)
        for leave in (Leave.of(10), Leave.of(3, 10), Leave.of(5), FULL_RACK)
        for walks in (True, False)
    ]
    return [
        *(leave_scene(leave_page(line, job.chart, words), fmt) for line in job.chart.lines),
        *(worksheet_scene(sheet, fmt) for sheet in sheets),
        *(lesson_scene(lesson, fmt) for lesson in lessons_of(job, words)),
    ]


@pytest.mark.parametrize("paper", FORMATS)
@pytest.mark.parametrize("name", DEMOS)
def test_no_page_breaks_a_rule_of_print(
    name: str, paper: str, demos: dict[str, Job], fitted: dict[str, Job], words: Words
) -> None:
    for job in (demos[name], fitted[name]):
        scenes = pages_of(job, words, FORMATS[paper])
        assert preflight(scenes, kind="handout") == ()
        for scene in scenes:
            assert (scene.width_mm, scene.height_mm) == (
                FORMATS[paper].width_mm,
                FORMATS[paper].height_mm,
            )


@pytest.mark.parametrize("name", DEMOS)
def test_what_is_read_is_set_in_eleven_points_at_least(
    name: str, demos: dict[str, Job], words: Words
) -> None:
    for scene in pages_of(demos[name], words, FORMATS["Letter"]):
        for text, size in texts(scene):
            if text.name.startswith("step-"):
                assert size >= 11.0
            if text.name.startswith("figure-"):
                assert size >= 55.0


@pytest.mark.parametrize("paper", FORMATS)
def test_everything_stands_above_the_cautions(
    paper: str, demos: dict[str, Job], words: Words
) -> None:
    for job in demos.values():
        for scene in pages_of(job, words, FORMATS[paper]):
            top = min(item.y_mm for item, _ in named(scene, "cautions") if isinstance(item, Text))
            top -= 9.5 * POINT_MM
            for item, place in scene.walk():
                if isinstance(item, Text) and item.name != "cautions":
                    assert place.point(item.x_mm, item.y_mm)[1] < top


def test_more_than_a_page_holds_is_set_closer(demos: dict[str, Job], words: Words) -> None:
    job = demos["wren-skobernik"]
    page = leave_page(job.chart.lines[1], job.chart, words)
    fmt = HandoutFormat(190.9, 210.0)
    size = {text.name: pt for text, pt in texts(leave_scene(page, fmt))}
    assert size["step-1"] == fmt.tighter.body_pt < fmt.body_pt


def test_a_left_handers_page_mirrors_the_lane(job_from: Callable[[str], Job], words: Words) -> None:
    text = (
        "bowler: Demo\nhand: {}\nlane: {{games: 0, doubt: {{games: 0}}}}\n"
        'known_lines:\n  - {{leave: "{}", stand: 34, target: 20}}\n'
    )
    seen = []
    for hand, pin in (("right", 10), ("left", 7)):
        job = job_from(text.format(hand, pin))
        line = next(line for line in job.chart.lines if line.leave == Leave.of(pin))
        scene = leave_scene(leave_page(line, job.chart, words), FORMATS["A4"])
        ((stand, place),) = named(scene, "stand")
        middle = place.point(0.0, 0.0)[0]  # a lane's own origin is at its middle
        assert isinstance(stand, Disc)
        marks = [place.point(stand.x_mm, stand.y_mm)]
        for name in ("path", "path-at-pins", "target"):
            ((item, place),) = named(scene, name)
            assert isinstance(item, Polyline)
            marks += [place.point(*point) for point in item.points_mm]
        seen.append([(x - middle, y) for x, y in marks])
    right, left = seen
    assert len(right) == len(left) > 10
    mirrored = sorted((-x, y) for x, y in right)
    for one, other in zip(mirrored, sorted(left), strict=True):
        assert one == pytest.approx(other, abs=1e-6)


@pytest.mark.parametrize("name", DEMOS)
def test_a_worksheets_lane_has_arrows_and_pins_but_no_line_and_no_oil(
    name: str, demos: dict[str, Job], words: Words
) -> None:
    bowler = demos[name].chart.bowler
    sheet = worksheet_page(Leave.of(3, 10), bowler, words, walks=True)
    scene = worksheet_scene(sheet, FORMATS["A4"])
    names = [getattr(item, "name", "") for item, _ in scene.walk()]
    for line in ("stand", "target", "path", "ball", "walk", "laydown", "stand-label", "oil"):
        assert line not in names
    assert names.count("standing-pin") == 2
    assert sum(name.startswith("arrow-") for name in names) == 7
    assert names.count("tally") == 10
    boxes = [item for item, _ in named(scene, "blank") if isinstance(item, Polyline)]
    assert len(boxes) >= 3 + 3 * 5  # the line that was found, and five tries of three throws


@pytest.mark.parametrize("name", DEMOS)
def test_each_line_of_a_lesson_has_its_letter_where_it_begins_and_on_its_way(
    name: str, demos: dict[str, Job], fitted: dict[str, Job], words: Words
) -> None:
    for job in (demos[name], fitted[name]):
        for lesson in lessons_of(job, words):
            scene = lesson_scene(lesson, FORMATS["A4"])
            whole = [way for way in lesson.ways if not way.thin]
            for mark, count in (("tag", 1), ("letter", 3)):  # by the stand, in text, at its task
                discs = [
                    (place.point(item.x_mm, item.y_mm), item.radius_mm * hypot(place.a, place.b))
                    for item, place in named(scene, mark)
                    if isinstance(item, Disc)
                ]
                assert len(discs) == count * len(whole)
                for (one, radius), (other, _) in combinations(discs, 2):
                    assert dist(one, other) >= 2 * radius - 1e-6
            assert len(named(scene, "way")) == len(whole)
            assert len(named(scene, "thin-way")) == len(lesson.ways) - len(whole)
            assert len(named(scene, "tally")) == 10 * len(lesson.rows)


@pytest.mark.parametrize("name", DEMOS)
def test_a_way_ends_where_the_engine_says_the_ball_comes_in(
    name: str, demos: dict[str, Job], words: Words
) -> None:
    chart = demos[name].chart
    lesson = miss_lesson(chart, words)
    scene = lesson_scene(lesson, FORMATS["A4"])
    ends = []
    for way, (item, place) in zip(lesson.ways, named(scene, "way-at-pins"), strict=True):
        assert isinstance(item, Polyline)
        across = place.point(*item.points_mm[-1])[0] - place.point(0.0, 0.0)[0]
        metres = float(way.trace.x_m[-1]) * chart.bowler.hand.mirror
        assert across == pytest.approx(metres * LANE_MM / (2 * (EDGE_M + GUTTER_M)), abs=1e-6)
        ends.append(across)
    # Feet to the left, which comes first, send the ball to the right.
    assert ends[0] > ends[1] > ends[2]


# --- the poster -------------------------------------------------------------------------------

SHEETS = {"A3": (420.0, 297.0), "A2": (594.0, 420.0)}  # ISO 216


@pytest.mark.parametrize("size", SHEETS)
@pytest.mark.parametrize("name", DEMOS)
def test_a_posters_figures_are_read_from_afar_and_nothing_touches(
    name: str, size: str, demos: dict[str, Job], words: Words
) -> None:
    scene = poster_scene(poster_of(demos[name].chart, words), *SHEETS[size])
    assert preflight([scene], kind="handout") == ()
    calls = [(text, pt) for text, pt in texts(scene) if text.name == "figure-call"]
    assert len(calls) == 20
    for text, pt in calls:
        assert pt >= 40.0
        assert width_mm(text.text, text.size_pt, text.weight) < 36.0
    assert max(pt for text, pt in texts(scene) if text.name == "cautions") >= 12.0


def test_a2_is_a3_made_larger(demos: dict[str, Job], words: Words) -> None:
    poster = poster_of(demos["wren-skobernik"].chart, words)
    small, large = (
        [
            place.point(item.x_mm, item.y_mm)
            for item, place in scene.walk()
            if isinstance(item, Text)
        ]
        for scene in (poster_scene(poster, *size) for size in SHEETS.values())
    )
    for (x, y), (wide, high) in zip(small, large, strict=True):
        assert wide == pytest.approx(2**0.5 * x, abs=0.2)
        assert high == pytest.approx(2**0.5 * y, abs=0.2)


def test_a_poster_of_few_pins_stands_in_the_middle(demos: dict[str, Job], words: Words) -> None:
    job = job_of(demos["ilse-marchetti"].loaded, words, [Leave.of(7), Leave.of(10)])
    scene = poster_scene(poster_of(job.chart, words), *SHEETS["A3"])
    assert preflight([scene], kind="handout") == ()
    names = [item for item, _ in named(scene, "pin-name") if isinstance(item, Text)]
    assert [item.text for item in names] == ["7 pin", "10 pin"]
    middle = (names[0].x_mm + names[1].x_mm) / 2
    assert middle == pytest.approx((12 + 23 + 408) / 2, abs=0.1)
