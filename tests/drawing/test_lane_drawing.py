"""The drawing of the lane measured on paper, with nothing of the code that drew it.

The scales come from the drawing itself: the lane's edges, the foul line and the marks in feet. Lane
41 1/2 in wide with 39 boards, pin spots 12 in apart, ball 8.5 to 8.595 in (USBC equipment
specifications; the half-way 8.55 in is what a drawing may take).
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from itertools import pairwise

import numpy as np
import pytest

from cardgen.cards.card import card_of
from cardgen.cards.words import Words
from cardgen.drawing.card import face_scene
from cardgen.drawing.guide import guide_scenes
from cardgen.drawing.scene import (
    Align,
    Disc,
    Group,
    Item,
    Line,
    Point,
    Polyline,
    Scene,
    Text,
    Transform,
)
from cardgen.drawing.theme import FORMATS, Format
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import FULL_RACK, Leave, mirrored_pin
from cardgen.press import Job
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.line import Line as ChartLine

MakeBowler = Callable[..., Bowler]
DEMOS = ("ilse-marchetti", "wren-skobernik")
SOME = ("id1", "a7", "id1-landscape", "a6")
"""Formats that differ most, for what takes a chart of its own."""
CLOSE_MM = 0.05
ARROWS_FT = {5: 12.5, 10: 13.5, 15: 14.5, 20: 15.5, 25: 14.5, 30: 13.5, 35: 12.5}
CONTACT_IN = 6.66
"""Ball to pin axis where they touch: 8.55 / 2 + 2.38 in (derived; 2.38 in is the pin's radius at
the ball's height, from the outline of a pin in the USBC specifications, from memory)."""
ROWS = ((1,), (2, 3), (4, 5, 6), (7, 8, 9, 10))


@dataclass(frozen=True)
class Ruler:
    """Where boards and feet lie on a page, read off the drawing."""

    named: dict[str, list[tuple[Item, Transform]]]
    left: float
    right: float
    foul_y: float
    mm_per_ft: float
    counts_from_right: bool

    @classmethod
    def of(cls, scene: Scene, hand: Hand) -> "Ruler":
        named: dict[str, list[tuple[Item, Transform]]] = {}
        for item, to_page in scene.walk():
            named.setdefault(getattr(item, "name", ""), []).append((item, to_page))
        edges = [t.point(i.x1_mm, i.y1_mm)[0] for i, t in named["lane-edge"]]  # type: ignore[union-attr]  # lines by name
        foul, to_page = named["foul-line"][0]
        foul_y = to_page.point(foul.x1_mm, foul.y1_mm)[1]  # type: ignore[union-attr]  # a line by name
        marks = {
            feet: named[f"mark-{feet}"][0][1].point(0, named[f"mark-{feet}"][0][0].y1_mm)[1]  # type: ignore[union-attr]  # lines by name
            for feet in (15, 30, 45)
        }
        per_ft = (foul_y - marks[45]) / 45
        assert foul_y - marks[15] == pytest.approx(15 * per_ft, abs=1e-9)
        assert foul_y - marks[30] == pytest.approx(30 * per_ft, abs=1e-9)
        return cls(named, min(edges), max(edges), foul_y, per_ft, hand is Hand.RIGHT)

    @property
    def mm_per_in(self) -> float:
        return (self.right - self.left) / 41.5

    def board_x(self, board: float) -> float:
        """Return the middle of a board: 39 boards fill the lane from edge to edge."""
        in_boards = (board - 0.5) / 39 * (self.right - self.left)
        return self.right - in_boards if self.counts_from_right else self.left + in_boards

    def lane_y(self, feet: float) -> float:
        return self.foul_y - feet * self.mm_per_ft

    def disc(self, name: str) -> Point:
        ((item, to_page),) = self.named[name]
        assert isinstance(item, Disc)
        return to_page.point(item.x_mm, item.y_mm)

    def discs(self, name: str) -> list[Point]:
        return [t.point(i.x_mm, i.y_mm) for i, t in self.named.get(name, []) if isinstance(i, Disc)]

    def path(self) -> list[Point]:
        """Return the path before the pins' panel, skid, hook and roll put together."""
        parts = ("path", "path-skid", "path-hook", "path-roll")
        found = [point for name in parts if name in self.named for point in self.points(name)]
        return list(dict.fromkeys(found))  # a part begins where the one before it ends

    def points(self, name: str) -> list[Point]:
        ((item, to_page),) = self.named[name]
        assert isinstance(item, Polyline)
        return [to_page.point(*point) for point in item.points_mm]


def arrow_ft(board: float) -> float:
    """Return how far the chevron of the house lane is on a board: straight between its arrows."""
    steps = sorted(ARROWS_FT)
    low = max(steps[0], min(steps[-2], 5 * math.floor(board / 5)))
    share = (board - low) / 5
    return ARROWS_FT[low] * (1 - share) + ARROWS_FT[low + 5] * share


def to_segment(point: Point, start: Point, end: Point) -> float:
    """Return the distance from a point to a piece of a line."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / (dx * dx + dy * dy)
    along = min(max(along, 0.0), 1.0)
    return math.dist(point, (start[0] + along * dx, start[1] + along * dy))


@dataclass(frozen=True)
class Drawn:
    """A line of a chart, and its front measured."""

    job: Job
    line: ChartLine
    ruler: Ruler


@pytest.fixture(params=[f"{name}/{fmt}" for name in DEMOS for fmt in FORMATS])
def drawn(request: pytest.FixtureRequest, demos: dict[str, Job]) -> list[Drawn]:
    """Every line of a demo bowler's chart, in one format."""
    name, fmt = request.param.split("/")
    job = demos[name]
    fronts = [
        (line, face_scene(card_of(line, job.chart, job.words), FORMATS[fmt]))
        for line in job.chart.lines
    ]
    found = [Drawn(job, line, Ruler.of(front, job.chart.bowler.hand)) for line, front in fronts]
    assert all(one.line.reaches for one in found)
    assert {len(one.line.leave) > 1 for one in found} == {True, False}
    return found


def test_the_target_points_to_its_board_on_the_chevron(drawn: list[Drawn]) -> None:
    for one in drawn:
        ruler, target = one.ruler, one.line.target
        tip = min(ruler.points("target"), key=lambda p: p[1])
        expected = (ruler.board_x(target), ruler.lane_y(arrow_ft(target)))
        assert math.dist(tip, expected) < CLOSE_MM, one.line.leave
        # All seven arrows stand where they do on a lane; bowlers count them. The target is its
        # arrow, or between arrows a shape that no arrow has.
        assert len(ruler.points("target")) == (3 if target in ARROWS_FT else 4)
        for board, feet in ARROWS_FT.items():
            if board != target:
                arrow = min(ruler.points(f"arrow-{board}"), key=lambda p: p[1])
                assert math.dist(arrow, (ruler.board_x(board), ruler.lane_y(feet))) < CLOSE_MM


def test_the_path_goes_over_the_target(drawn: list[Drawn]) -> None:
    for one in drawn:
        tip = min(one.ruler.points("target"), key=lambda p: p[1])
        path = one.ruler.path()
        off = min(to_segment(tip, a, b) for a, b in pairwise(path))
        assert off < CLOSE_MM, one.line.leave


def test_the_targets_number_is_on_the_side_that_the_path_leaves_free(drawn: list[Drawn]) -> None:
    for one in drawn:
        tip = min(one.ruler.points("target"), key=lambda p: p[1])
        ways, places = zip(*sorted((y, x) for x, y in one.ruler.path()), strict=True)
        beyond = np.interp(np.linspace(tip[1] - 8, tip[1] - 2, 13), ways, places)
        ((number, to_page),) = one.ruler.named["target-label"]
        assert isinstance(number, Text)
        side = to_page.point(number.x_mm, number.y_mm)[0] - tip[0]
        aside = beyond.mean() - tip[0]
        if abs(aside) > 0.2:
            assert side * aside < 0, one.line.leave
        assert (number.align is Align.START) == (side > 0)


def test_the_stand_is_on_its_board_at_its_distance(drawn: list[Drawn]) -> None:
    for one in drawn:
        job, ruler = one.job, one.ruler
        x, y = ruler.disc("stand")
        assert x == pytest.approx(ruler.board_x(one.line.stand), abs=CLOSE_MM)
        # The approach has a scale of its own, read off a row of dots.
        rows = sorted({round(dot[1], 6) for dot in ruler.discs("approach-dot")})
        feet = job.loaded.lane.approach_dots_ft
        assert len(rows) == len(feet)
        for row, distance in zip(rows, feet, strict=True):
            per_ft = (row - ruler.foul_y) / distance
            back = (y - ruler.foul_y) / per_ft
            # The fit may move the distance off the profile's; the chart's bowler has what is drawn.
            assert back == pytest.approx(job.chart.bowler.habits.distance_m / 0.3048, abs=0.01)


def test_the_ball_is_set_down_on_the_foul_line(drawn: list[Drawn]) -> None:
    for one in drawn:
        x, y = one.ruler.disc("laydown")
        assert y == pytest.approx(one.ruler.foul_y, abs=CLOSE_MM)
        assert x == pytest.approx(one.ruler.board_x(one.line.laydown), abs=CLOSE_MM)
        assert math.dist(one.ruler.path()[0], (x, y)) < CLOSE_MM


def test_the_ball_touches_the_first_pin_at_true_scale(drawn: list[Drawn]) -> None:
    for one in drawn:
        ruler, ball = one.ruler, one.ruler.disc("ball")
        apart = min(math.dist(ball, pin) for pin in ruler.discs("standing-pin"))
        assert apart / ruler.mm_per_in == pytest.approx(CONTACT_IN, abs=0.01), one.line.leave
        assert math.dist(ball, ruler.points("path-at-pins")[-1]) < CLOSE_MM
        ((drawn_ball, _),) = ruler.named["ball"]
        assert isinstance(drawn_ball, Disc)
        assert 8.5 <= 2 * drawn_ball.radius_mm / ruler.mm_per_in <= 8.595


PIN_NAMES = ("standing-pin", "imagined-pin", "fallen-pin")


def spots(ruler: Ruler) -> dict[int, Point]:
    """Return where the spots are by number: a triangle of 36 in, the head pin nearest.

    Numbers run from the left in each row, for either hand.
    """
    middle = (ruler.left + ruler.right) / 2
    pins = [place for name in PIN_NAMES for place in ruler.discs(name)]
    head_y = max(y for _, y in pins)
    return {
        number: (
            middle + (2 * place - row) * 6 * ruler.mm_per_in,
            head_y - row * 12 * math.sqrt(3) / 2 * ruler.mm_per_in,
        )
        for row, pins in enumerate(ROWS)
        for place, number in enumerate(pins)
    }


def test_standing_pins_are_solid_and_fallen_ones_open(drawn: list[Drawn]) -> None:
    for one in drawn:
        ruler, leave = one.ruler, one.line.leave
        standing, fallen = ruler.named["standing-pin"], ruler.named.get("fallen-pin", [])
        assert len(standing) == len(leave)
        assert all(isinstance(i, Disc) and i.fill is not None for i, _ in standing)
        assert len(fallen) == 10 - len(leave) - (one.line.imagine is not None)
        assert all(isinstance(i, Disc) and i.fill is None and i.stroke for i, _ in fallen)
        places = [place for name in PIN_NAMES for place in ruler.discs(name)]
        number_at = spots(ruler)
        for spot in number_at.values():
            assert min(math.dist(spot, place) for place in places) < CLOSE_MM
        for pin in leave:
            near = min(math.dist(number_at[pin], place) for place in ruler.discs("standing-pin"))
            assert near < CLOSE_MM, leave


@pytest.mark.parametrize("fmt", FORMATS)
@pytest.mark.parametrize("name", DEMOS)
def test_the_pin_to_imagine_is_pale_where_it_stood(
    name: str, fmt: str, demos: dict[str, Job]
) -> None:
    job = demos[name]
    line = next(line for line in job.chart.lines if len(line.leave) > 1)
    for spot in sorted(set(range(1, 11)) - set(line.leave)):
        card = card_of(replace(line, imagine=spot), job.chart, job.words)
        ruler = Ruler.of(face_scene(card, FORMATS[fmt]), job.chart.bowler.hand)
        assert math.dist(ruler.disc("imagined-pin"), spots(ruler)[spot]) < CLOSE_MM
        ((pale, _),) = ruler.named["imagined-pin"]
        (solid, _), (fallen, _) = ruler.named["standing-pin"][0], ruler.named["fallen-pin"][0]
        assert isinstance(pale, Disc)
        assert isinstance(solid, Disc)
        assert isinstance(fallen, Disc)
        # As large as a standing pin and lighter, with an edge, so that grey paper tells the three.
        assert fallen.radius_mm < pale.radius_mm == solid.radius_mm
        assert pale.stroke is not None
        assert pale.fill not in (None, solid.fill)
    card = card_of(replace(line, imagine=None), job.chart, job.words)
    scene = face_scene(card, FORMATS[fmt])
    assert "imagined-pin" not in Ruler.of(scene, job.chart.bowler.hand).named


def test_only_a_line_that_names_a_pin_to_imagine_has_a_pale_one(drawn: list[Drawn]) -> None:
    for one in drawn:
        assert ("imagined-pin" in one.ruler.named) == (one.line.imagine is not None)
        if one.line.imagine is not None:
            ring = one.ruler.disc("imagined-pin")
            assert math.dist(ring, spots(one.ruler)[one.line.imagine]) < CLOSE_MM


@pytest.mark.parametrize("hand", Hand)
def test_a_line_that_loses_the_ball_is_drawn_to_the_gutter(
    hand: Hand, job_from: Callable[[str], Job]
) -> None:
    job = job_from(
        f"bowler: Demo\nhand: {hand.value}\n"
        'known_lines: [{leave: "5", stand: 1, target: 39}, {leave: "1", stand: 39, target: 12}]\n'
    )
    for line in (line for line in job.chart.lines if line.known):
        assert not line.reaches
        for fmt in FORMATS.values():
            ruler = Ruler.of(face_scene(card_of(line, job.chart, job.words), fmt), hand)
            x, y = ruler.disc("ball")
            assert min(abs(x - ruler.left), abs(x - ruler.right)) < CLOSE_MM
            assert y < ruler.foul_y
            assert all(
                ruler.left - CLOSE_MM < px < ruler.right + CLOSE_MM
                for px, _ in ruler.points("path")
            )


def test_a_ball_set_down_off_the_lane_is_not_drawn(job_from: Callable[[str], Job]) -> None:
    job = job_from(
        "bowler: Demo\nhand: right\n"
        "stand: {ball_gap_boards: 15, drift_boards: 10, walk: 0}\n"
        'known_lines: [{leave: "5", stand: 1, target: 20}]\n'
    )
    line = next(line for line in job.chart.lines if line.known)
    assert line.laydown < 0
    for fmt in FORMATS.values():
        ruler = Ruler.of(face_scene(card_of(line, job.chart, job.words), fmt), Hand.RIGHT)
        assert not {"path", "path-at-pins", "laydown", "ball", "walk", "slide"} & set(ruler.named)
        assert ruler.disc("stand")


def test_the_slide_stays_behind_the_foul_line(drawn: list[Drawn]) -> None:
    for one in drawn:
        ((slide, to_page),) = one.ruler.named["slide"]
        assert isinstance(slide, Disc)
        assert to_page.point(slide.x_mm, slide.y_mm)[1] - slide.radius_mm > one.ruler.foul_y


def test_a_known_line_for_several_pins_is_drawn_to_its_first_touch(
    job_from: Callable[[str], Job],
) -> None:
    job = job_from(
        "bowler: Demo\nhand: right\n"
        'known_lines: [{leave: "3-10", stand: 31, target: 20},'
        ' {leave: "1-2-10", stand: 24, target: 20}]\n'
    )
    own = [line for line in job.chart.lines if line.known]
    assert len(own) == 2
    for line in own:
        for fmt in FORMATS.values():
            ruler = Ruler.of(face_scene(card_of(line, job.chart, job.words), fmt), Hand.RIGHT)
            pins = ruler.discs("standing-pin")
            assert len(pins) == len(line.leave)
            nearest = min(math.dist(ruler.disc("ball"), pin) for pin in pins)
            assert nearest / ruler.mm_per_in == pytest.approx(CONTACT_IN, abs=0.01)


def _mirror_point(point: Point) -> Point:
    return (-point[0], point[1])


def _as_seen(item: Item, *, mirrored: bool) -> object:
    """Return an item as a value in which the order of a shape's corners plays no part."""
    mirror = _mirror_point if mirrored else (lambda point: point)
    if isinstance(item, Line):
        ends = mirror((item.x1_mm, item.y1_mm)), mirror((item.x2_mm, item.y2_mm))
        return ("line", tuple(sorted(ends)), item.stroke, item.name)
    if isinstance(item, Polyline):
        points = tuple(mirror(point) for point in item.points_mm)
        shape = tuple(sorted(points)) if item.closed else points
        return ("shape", shape, item.stroke, item.fill, item.closed, item.name)
    if isinstance(item, Disc):
        return (
            "disc",
            mirror((item.x_mm, item.y_mm)),
            item.radius_mm,
            item.stroke,
            item.fill,
            item.name,
        )
    assert isinstance(item, Text)
    turned = {Align.START: Align.END, Align.END: Align.START, Align.MIDDLE: Align.MIDDLE}
    align = turned[item.align] if mirrored else item.align
    plain = {f.name: getattr(item, f.name) for f in fields(item) if f.name not in ("x_mm", "align")}
    return ("text", mirror((item.x_mm, item.y_mm)), align, tuple(sorted(plain.items(), key=str)))


def lane_of(chart: Chart, words: Words, fmt: Format, imagine: int | None) -> Group:
    line = chart.lines[0]
    spot = line.imagine if imagine is None else imagine
    card = card_of(replace(line, imagine=spot), chart, words)
    return next(
        item
        for item in face_scene(card, fmt).items
        if isinstance(item, Group) and item.name == "lane"
    )


@pytest.mark.parametrize(
    ("pins", "imagine"),
    [
        *(((pin,), None) for pin in range(1, 11)),
        *(((3, 10), None), ((2, 4, 5, 8), None), ((1, 2, 10), None), ((5, 7), 9), ((8, 10), 2)),
    ],
    ids=str,
)
def test_a_left_handers_lane_is_the_mirror_image_to_the_bit(
    pins: tuple[int, ...], imagine: int | None, make_bowler: MakeBowler, words: Words
) -> None:
    leave = Leave.of(*pins)
    mirrored = None if imagine is None else mirrored_pin(imagine)
    right = make_bowler(hand=Hand.RIGHT, rotation_deg=30.0, half_boards=True)
    left = replace(right, hand=Hand.LEFT)
    charts = [
        (chart_for(bowler, [shot]), spot)
        for bowler, shot, spot in ((right, leave, imagine), (left, leave.mirrored, mirrored))
    ]
    for fmt in FORMATS.values():
        lanes = [lane_of(chart, words, fmt, spot) for chart, spot in charts]
        one = Counter(_as_seen(item, mirrored=True) for item in flat(lanes[0]))
        other = Counter(_as_seen(item, mirrored=False) for item in flat(lanes[1]))
        assert one == other, fmt.name
        assert one != Counter(_as_seen(item, mirrored=False) for item in flat(lanes[0]))
        assert lanes[0].transform == lanes[1].transform


def flat(group: Group) -> Iterator[Item]:
    """Yield what a group and those in it draw; an inner one is placed where its outer one is."""
    for item in group.items:
        if isinstance(item, Group):
            assert item.transform == Transform()
            yield from flat(item)
        else:
            yield item


def test_what_all_cards_of_a_bowler_show_alike_is_one_form(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for fmt in FORMATS.values():
            cards = [card_of(line, job.chart, job.words) for line in job.chart.lines]
            lanes = [face_scene(card, fmt).items[0] for card in cards]
            forms = Counter(
                item
                for lane in lanes
                if isinstance(lane, Group)
                for item in lane.items
                if isinstance(item, Group) and item.form == "lane"
            )
            assert forms.total() == len(cards)
            # Only on a narrow lane a target's number may take the place of a mark's label.
            assert len(forms) == 1 or fmt.lane_width_mm < 36, fmt.name
            assert len(forms) <= 3


def test_the_guide_points_at_what_it_explains(
    demos: dict[str, Job], booklet: Callable[[Job], object]
) -> None:
    for job in demos.values():
        guide = booklet(job).pages[2]  # type: ignore[attr-defined]  # a booklet
        (scene,) = guide_scenes(guide, FORMATS["a7"])
        ruler = Ruler.of(scene, job.chart.bowler.hand)
        leaders = [
            [t.point(i.x1_mm, i.y1_mm), t.point(i.x2_mm, i.y2_mm)]
            for i, t in ruler.named["leader"]
            if isinstance(i, Line)
        ]
        assert len(leaders) == len(guide.keys) == 6
        stand, laydown = ruler.disc("stand"), ruler.disc("laydown")
        assert math.dist(leaders[0][0], stand) < 2.0
        assert math.dist(leaders[2][0], laydown) < 2.0
        target = ruler.points("target")
        assert min(x for x, _ in target) <= leaders[3][0][0] <= max(x for x, _ in target)
        path = ruler.path()
        near = min(to_segment(leaders[4][0], a, b) for a, b in pairwise(path))
        assert near < CLOSE_MM
        assert min(math.dist(leaders[5][0], p) for p in ruler.discs("fallen-pin")) < CLOSE_MM


# --- Oil, and what a hooking ball does


HOOKING = "balls: {spare: {cover: reactive, rev_rpm: 350, rotation_deg: 60}}\n"


def ruler_of(job: Job, leave: Leave, fmt: str = "a7") -> tuple[ChartLine, Ruler]:
    line = next(line for line in job.chart.lines if line.leave == leave)
    scene = face_scene(card_of(line, job.chart, job.words), FORMATS[fmt])
    return line, Ruler.of(scene, job.chart.bowler.hand)


@pytest.mark.parametrize("fmt", SOME)
@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("oil_ft", [35, 41.5, 45])
def test_the_tint_reaches_as_far_as_the_oil(
    hand: Hand, oil_ft: float, fmt: str, job_from: Callable[[str], Job]
) -> None:
    job = job_from(f"bowler: Demo\nhand: {hand.value}\nlane: {{oil_ft: {oil_ft}, games: 9}}\n")
    _, ruler = ruler_of(job, Leave.of(5), fmt)
    tint = ruler.points("oil")
    xs, ys = [x for x, _ in tint], [y for _, y in tint]
    assert min(xs) == pytest.approx(ruler.left, abs=CLOSE_MM)
    assert max(xs) == pytest.approx(ruler.right, abs=CLOSE_MM)
    assert max(ys) == pytest.approx(ruler.foul_y, abs=CLOSE_MM)
    # The last two feet of a taper hold hardly any oil, and the tint may leave them out.
    end = ruler.lane_y(oil_ft)
    assert end - CLOSE_MM <= min(ys) <= end + 2.1 * ruler.mm_per_ft
    # More oil in the middle, and not so far.
    inner = ruler.points("oil-much")
    assert ruler.left < min(x for x, _ in inner) < max(x for x, _ in inner) < ruler.right
    assert min(y for _, y in inner) > min(ys)
    # Its end is told beside it, in feet, in the gutter on the ball's side.
    name, feet = (item for item, _ in ruler.named["oil-label"])
    assert isinstance(name, Text)
    assert isinstance(feet, Text)
    assert (name.text, feet.text) == ("oil", f"{oil_ft:g}'")
    side = 1 if hand is Hand.RIGHT else -1
    label_x = ruler.named["oil-label"][0][1].point(name.x_mm, 0)[0]
    assert side * (label_x - (ruler.right if hand is Hand.RIGHT else ruler.left)) > 0
    ((tick, to_page),) = ruler.named["oil-end"]
    assert isinstance(tick, Line)
    assert to_page.point(tick.x1_mm, tick.y1_mm)[1] == pytest.approx(end, abs=CLOSE_MM)


def test_a_lane_without_oil_has_no_tint_and_no_label(job_from: Callable[[str], Job]) -> None:
    job = job_from("bowler: Demo\nhand: right\nlane: {oil_ft: 0}\n")
    _, ruler = ruler_of(job, Leave.of(5))
    assert not {"oil", "oil-much", "oil-label", "oil-end"} & set(ruler.named)


def test_oil_on_one_side_is_drawn_on_that_side(job_from: Callable[[str], Job]) -> None:
    sheet = "lane: {games: 0, load_sheet: {forward: [{boards: [2, 12], passes: 2, to_ft: 20}]}}\n"
    for hand in Hand:
        job = job_from(f"bowler: Demo\nhand: {hand.value}\n{sheet}")
        _, ruler = ruler_of(job, Leave.of(5))
        oiled = [x for x, y in ruler.points("oil") if y < ruler.foul_y - 1]
        # Load sheets count from the right for everybody.
        assert min(oiled) > (ruler.left + ruler.right) / 2


@pytest.mark.parametrize("hand", list(Hand))
def test_a_hooking_path_shows_skid_hook_and_roll_one_after_the_other(
    hand: Hand, job_from: Callable[[str], Job]
) -> None:
    job = job_from(f"bowler: Demo\nhand: {hand.value}\n{HOOKING}")
    line, ruler = ruler_of(job, Leave.of(5))
    trace = line.trace
    assert trace.hooks is not None
    assert trace.rolls is not None
    skid, hook, roll = (ruler.points(f"path-{part}") for part in ("skid", "hook", "roll"))
    assert skid[0][1] == pytest.approx(ruler.foul_y, abs=CLOSE_MM)
    for before, after, spot in ((skid, hook, trace.hooks), (hook, roll, trace.rolls)):
        assert math.dist(before[-1], after[0]) < CLOSE_MM
        assert after[0][1] == pytest.approx(ruler.lane_y(spot.y_m / 0.3048), abs=CLOSE_MM)
    assert "path" not in ruler.named


def test_a_ball_that_rolls_before_the_oil_ends_is_drawn_without_a_hook(
    job_from: Callable[[str], Job],
) -> None:
    slow = "{weight_lb: 9, cover: plastic, speed_mph: 12, rev_rpm: 100}"
    job = job_from(f"bowler: Demo\nhand: right\nspread: new\nballs: {{strike: {slow}}}\n")
    line, ruler = ruler_of(job, FULL_RACK)
    assert line.trace.hooks is None
    assert line.trace.rolls is not None
    skid, roll = (ruler.points(f"path-{part}") for part in ("skid", "roll"))
    assert math.dist(skid[-1], roll[0]) < CLOSE_MM
    assert roll[0][1] == pytest.approx(ruler.lane_y(line.trace.rolls.y_m / 0.3048), abs=CLOSE_MM)
    assert not {"path", "path-hook"} & set(ruler.named)


def test_a_flat_ball_has_one_plain_path(job_from: Callable[[str], Job]) -> None:
    _, ruler = ruler_of(job_from("bowler: Demo\nhand: right\n"), Leave.of(10))
    assert "path" in ruler.named
    assert not {"path-skid", "path-hook", "path-roll", "breakpoint"} & set(ruler.named)


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("fmt", FORMATS)
def test_the_breakpoint_is_barred_on_the_path_and_numbered(
    hand: Hand, fmt: str, job_from: Callable[[str], Job]
) -> None:
    job = job_from(f"bowler: Demo\nhand: {hand.value}\n")
    line, ruler = ruler_of(job, FULL_RACK, fmt)
    spot = line.trace.breakpoint
    assert spot is not None
    ((bar, to_page),) = ruler.named["breakpoint"]
    assert isinstance(bar, Line)
    ends = [to_page.point(bar.x1_mm, bar.y1_mm), to_page.point(bar.x2_mm, bar.y2_mm)]
    middle = ((ends[0][0] + ends[1][0]) / 2, ends[0][1])
    assert min(to_segment(middle, a, b) for a, b in pairwise(ruler.path())) < CLOSE_MM
    # It is the path's outermost point, towards the ball's side.
    outermost = (max if hand is Hand.RIGHT else min)(x for x, _ in ruler.path())
    assert middle[0] == pytest.approx(outermost, abs=CLOSE_MM)
    ((number, _),) = ruler.named["breakpoint-label"]
    assert isinstance(number, Text)
    board = float(number.text)
    assert middle[0] == pytest.approx(ruler.board_x(board), abs=0.51 * ruler.mm_per_in * 1.07)
