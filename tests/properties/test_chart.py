"""What holds for every chart, whoever bowls."""

from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cardgen.delivery.release import Release
from cardgen.delivery.spread import PRESETS, Spread
from cardgen.lane.geometry import (
    ARROW_BOARDS,
    BOARD_M,
    EDGE_M,
    FloatArray,
    Hand,
    IndexArray,
    x_board,
)
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave, mirrored_pin, pin_x_m, pin_y_m
from cardgen.physics.deck import REACH_M, Response, shipped_deck
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.aim import PLATEAU, SIMULATED_PLATEAU, Reason, Room, room_between
from cardgen.targeting.candidates import STEEPEST_RAD
from cardgen.targeting.chart import COMMON, Chart, chart_for
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.line import Line, Play
from cardgen.targeting.lines import lines_of
from cardgen.targeting.sections import Section, section_of

MakeBowler = Callable[..., Bowler]
DECK = shipped_deck()
EQUAL = PLATEAU  # chances this close count as equal
HALF_A_UNIT = 0.5e-4  # chances are compared to four decimals

# Bowlers of all sorts, as the factory's arguments.
BOWLERS: list[dict[str, object]] = [
    {},
    {"rotation_deg": 0, "spread": "elite"},
    {"rotation_deg": 15, "spread": "new", "walk": 0.5, "gap_boards": 7},
    {"known": [("10", 35, 20), ("6", 33, 20), ("3-10", 24, 15)], "half_boards": True},
    {"known": [("1", 20, 12), ("3-6-10", 24, 14)], "known_ball": "strike", "spread": "strong"},
    {"stand_boards": (14, 27), "drift_boards": -1.5, "walk": 0},
]


@pytest.fixture(params=BOWLERS, ids=[", ".join(kw) or "plain" for kw in BOWLERS])
def bowler(request: pytest.FixtureRequest, make_bowler: MakeBowler) -> Bowler:
    return make_bowler(**request.param)


def left_handed(bowler: Bowler) -> Bowler:
    """The same bowler in a mirror, who counts boards from the other side."""
    known = tuple(replace(line, leave=line.leave.mirrored) for line in bowler.known_lines)
    return replace(bowler, hand=Hand.LEFT, known_lines=known)


def assert_mirrored(right: Line, left: Line) -> None:
    """Every number is the same to the bit, save that pins and sides change sides."""
    assert left.leave == right.leave.mirrored
    for field in fields(Line):
        ours, theirs = getattr(left, field.name), getattr(right, field.name)
        if field.name == "trace":
            for part in vars(ours):
                assert np.array_equal(vars(ours)[part], vars(theirs)[part])
        elif field.name == "odds":
            assert replace(
                ours, room_left=ours.room_right, room_right=ours.room_left
            ) == theirs  # fmt: skip
        elif field.name == "action" and ours is not None:
            others = tuple(sorted((mirrored_pin(pin), how) for pin, how in ours.others))
            first = mirrored_pin(ours.first)
            assert replace(ours, first=first, side=-ours.side, others=others) == theirs
        elif field.name == "imagine" and ours is not None:
            assert mirrored_pin(ours) == theirs
        elif field.name != "leave":
            assert ours == theirs, field.name


def test_a_left_handers_chart_is_the_mirror_image_to_the_bit(bowler: Bowler) -> None:
    right, left = chart_for(bowler).lines, chart_for(left_handed(bowler)).lines
    assert [line.leave for line in left] == [line.leave.mirrored for line in right]
    for ours, theirs in zip(right, left, strict=True):
        assert_mirrored(ours, theirs)
    assert any(line.odds.room_left != line.odds.room_right for line in left)
    assert any(line.action and line.action.others for line in left)
    assert any(line.imagine not in (None, 1, 5) for line in left)


def test_room_on_the_left_is_room_on_the_left_for_either_hand(make_bowler: MakeBowler) -> None:
    # The gutter is a hand's breadth right of the 10 pin and left of the 7 pin; a line kept inside
    # the pin leaves more room where the lane's edge does not take it.
    for hand in Hand:
        for line in chart_for(make_bowler(hand=hand, rotation_deg=0), SINGLE_PINS).lines:
            by_feel = _room_by_search(make_bowler(hand=hand, rotation_deg=0), line)
            assert (line.odds.room_left, line.odds.room_right) == pytest.approx(by_feel, abs=0.05)


def _room_by_search(bowler: Bowler, line: Line) -> tuple[float, float]:
    """Return how far the target may be missed to the bowler's left and right.

    Tried out from the same laydown in hundredths of a board.
    """
    leave = bowler.inside(line.leave)
    pin = leave.pins[0]
    thrown = lines_of(bowler, bowler.ball(line.ball), line.stand, line.target)
    tries = np.arange(0, 6, 0.01)
    room = []
    for way in (1, -1):  # towards higher boards first: left for a right-hander
        boards = line.target + way * tries
        target_x = (20 - boards) * (thrown.target_x_m[0] / (20 - line.target)
                                    if line.target != 20 else 41.5 * 0.0254 / 39)  # fmt: skip
        launch = thrown.launch_rad[0] + (
            np.arctan2(thrown.laydown_x_m - target_x, thrown.target_y_m)
            - np.arctan2(thrown.laydown_x_m - thrown.target_x_m, thrown.target_y_m)
        )
        laydown = np.full(len(tries), thrown.laydown_x_m[0])
        makes = falls(bowler.ball(line.ball), thrown.ball.release(laydown, launch), pin)
        room.append(float(tries[makes.argmin()]))
    return (room[0], room[1]) if bowler.hand is Hand.RIGHT else (room[1], room[0])


def falls(ball: BallChoice, release: Release, pin: int) -> FloatArray:
    """Return whether each ball touches ``pin`` before its middle has left the lane.

    Followed along the real path foot by foot, then straight on into the rack; nothing of the
    engine's windows is used.
    """
    row = pin_y_m(pin)
    y = np.append(np.arange(0, row, 0.15), row)
    path = ball_path(ball.ball, release, ball.friction, y)
    angle = path.angle_rad[:, -1]
    aside = (path.x_m[:, -1] - pin_x_m(pin)) * np.cos(angle)
    touches = np.abs(aside) < REACH_M
    # Back along the way from the place nearest to the pin.
    nearest_y = row - (path.x_m[:, -1] - pin_x_m(pin)) * np.cos(angle) * -np.sin(angle)
    before = np.sqrt(np.maximum(REACH_M**2 - aside**2, 0)) * np.cos(angle)
    touch_y = nearest_y - before
    touch_x = path.x_m[:, -1] - np.tan(angle) * (touch_y - row)
    lost = (np.abs(path.x_m) > EDGE_M) & (y <= touch_y[:, None])
    made: FloatArray = touches & ~lost.any(axis=1) & (np.abs(touch_x) <= EDGE_M)
    return made


def test_the_same_bowler_gets_the_same_chart(bowler: Bowler) -> None:
    def everything(chart: Chart) -> str:
        with np.printoptions(precision=17, threshold=10_000):
            return repr((chart.fit, chart.lines, chart.unanswered))

    assert everything(chart_for(bowler)) == everything(chart_for(bowler))


def test_lines_come_in_the_order_asked_for_and_do_not_depend_on_it(make_bowler: MakeBowler) -> None:
    bowler = make_bowler()
    asked = [Leave.parse(text) for text in ("7", "1", "3-10", "10")]
    chart = chart_for(bowler, asked)
    assert [str(line.leave) for line in chart.lines] == ["7", "1", "3-10", "10"]
    assert chart.unanswered == ()
    again = {line.leave: line for line in chart_for(bowler, asked[::-1]).lines}
    for line in chart.lines:
        assert (line.stand, line.target) == (again[line.leave].stand, again[line.leave].target)


def test_leaves_no_ball_comes_to_are_named(make_bowler: MakeBowler) -> None:
    # Feet by the ball-side gutter and a wide gap: nowhere to set the ball down, but for the line
    # that the bowler says he has.
    asked = [Leave.parse(text) for text in ("7", "1", "3-10", "10")]
    nowhere = make_bowler(stand_boards=(1, 1), gap_boards=15, known=[("1", 30, 22)])
    chart = chart_for(nowhere, asked)
    assert [str(line.leave) for line in chart.lines] == ["1"]
    assert [str(leave) for leave in chart.unanswered] == ["7", "3-10", "10"]
    assert chart.first_ball is None


def test_a_chart_nobody_chose_leaves_for_has_the_singles_the_likeliest_and_the_bowlers_own(
    bowler: Bowler,
) -> None:
    chart = chart_for(bowler)
    assert chart.first_ball is not None
    shares = chart.first_ball.shares
    several = {line.leave for line in chart.lines if len(line.leave) > 1} - {FULL_RACK}
    own = {line.leave for line in bowler.known_lines}
    assert {line.leave for line in chart.lines} - several == {*SINGLE_PINS, FULL_RACK}
    assert chart.lines[0].leave == FULL_RACK
    assert own <= set(SINGLE_PINS) | several
    least = min(shares[leave] for leave in several - own)
    passed_by = [share for leave, share in shares.items() if len(leave) > 1 and share > least]
    assert COMMON <= len(several) <= COMMON + len(own)
    assert len(passed_by) < COMMON
    # By sections, and in each the likeliest first.
    places = [list(Section).index(section_of(line)) for line in chart.lines]
    assert places == sorted(places)
    for section in Section:
        there = [shares.get(ln.leave, 0) for ln in chart.lines if section_of(ln) is section]
        assert np.all(np.diff(there) <= 1e-6)


def test_lines_keep_to_the_boards_that_the_bowler_asks_for(bowler: Bowler) -> None:
    first, last = bowler.stand_boards
    for line in chart_for(bowler).lines:
        assert 1 <= line.target <= 39
        if not line.known:
            assert first <= line.stand <= last
            assert (line.stand / bowler.step, line.target / bowler.step) == (
                line.stand // bowler.step,
                line.target // bowler.step,
            )


def test_half_boards_find_lines_between_the_boards(make_bowler: MakeBowler) -> None:
    lines = chart_for(make_bowler(half_boards=True)).lines
    assert any(line.stand % 1 == 0.5 or line.target % 1 == 0.5 for line in lines)


def test_the_bowlers_own_lines_are_printed_untouched(bowler: Bowler) -> None:
    lines = {line.leave: line for line in chart_for(bowler).lines}
    for known in bowler.known_lines:
        line = lines[known.leave]
        assert (line.stand, line.target, line.ball) == (known.stand, known.target, known.ball)
        assert line.known
        assert line.runner_up is None
        assert 0 <= line.odds.make <= 1
        assert len(known.leave) * line.odds.make <= line.odds.count + 1e-9
    assert sum(line.known for line in lines.values()) == len(bowler.known_lines)


def test_arrivals_are_those_of_the_mean_shot(bowler: Bowler) -> None:
    chart = chart_for(bowler)
    for line in chart.lines:
        leave = bowler.inside(line.leave)
        thrown = lines_of(chart.bowler, bowler.ball(line.ball), line.stand, line.target)
        at_target = x_board(thrown.path(thrown.target_y_m[:, None]).x_m)
        assert at_target == pytest.approx(line.target, abs=1e-6)
        arrives = thrown.path([leave.front_row_m])
        assert line.arrive == pytest.approx(x_board(arrives.x_m[0, 0]))
        assert line.entry_rad == pytest.approx(arrives.angle_rad[0, 0])
        if not line.known:
            low, high = line.odds.window_boards
            if len(leave) == 1:
                assert low < line.arrive < high
            else:  # where the mean shot does less than half of the best, both ends are its place,
                # which was marched there over other planes: the same but for rounding
                assert low - 1e-9 <= line.arrive <= high + 1e-9


# --- Chances


def answer(leave: Leave, ball: BallChoice) -> Response:
    return DECK.response(leave, ball.ball.mass_kg)


def simulated(bowler: Bowler, ball: BallChoice, leave: Leave, line: tuple[float, float]) -> float:
    """Return the share of 20,000 thrown balls that make a single pin."""
    rng = np.random.default_rng(20_260_101)
    shots = rng.standard_normal((4, 20_000))
    thrown = lines_of(bowler, ball, *line)
    spread = bowler.spread
    release = Release.of(
        thrown.laydown_x_m + spread.laydown_m * shots[0],
        thrown.launch_rad + spread.launch_rad * shots[1],
        ball.speed_mps + spread.speed_mps * shots[2],
        ball.rev_radps * (1 + spread.rev_fraction * shots[3]),
        ball.rotation_rad,
        ball.tilt_rad,
    )
    return float(falls(ball, release, leave.pins[0]).mean())


@pytest.mark.parametrize(
    ("ball", "leave", "line", "near_gutter"),
    [
        ("spare", "10", (35, 20), False),
        ("spare", "7", (16, 20), False),
        ("spare", "5", (26, 20), False),
        ("spare", "1", (30, 23), False),
        ("strike", "4", (24, 15), False),
        ("spare", "10", (9.5, 4), True),
        ("spare", "10", (7, 3), True),
        ("strike", "4", (9, 3), True),
        ("spare", "7", (42, 37.5), True),
    ],
)
@pytest.mark.parametrize("level", ["elite", "league"])
def test_chances_are_those_of_balls_thrown(
    make_bowler: MakeBowler,
    level: str,
    ball: str,
    leave: str,
    line: tuple[float, float],
    near_gutter: bool,
) -> None:
    bowler, pins = make_bowler(spread=level), Leave.parse(leave)
    choice = bowler.ball(ball)
    thrown = lines_of(bowler, choice, *line)
    arrivals = Arrivals(thrown, bowler.spread, (pins.front_row_m,))
    make = float(arrivals.conversion(answer(pins, choice), np.array([0]))[0])
    standard_error = np.sqrt(make * (1 - make) / 20_000)
    sim = simulated(bowler, choice, pins, line)
    closest = EDGE_M - np.abs(arrivals.x_m[0, :-1]).max()
    assert bool(closest < 4 * BOARD_M) is near_gutter
    assert abs(make - sim) < 4 * standard_error


def test_the_gutter_takes_balls_that_would_have_made_the_pin(make_bowler: MakeBowler) -> None:
    # A hook ball sent along the gutter and one sent over the second arrow arrive alike, at the
    # middle of the 4 pin, but half a board of miss sends the first one into the gutter.
    bowler, leave = make_bowler(), Leave.parse("4")
    chances = []
    for target in (1.0, 10.0):
        lines = lines_of(bowler, bowler.ball("strike"), np.arange(1, 39.5, 0.05), target)
        arrivals = Arrivals(lines, bowler.spread, (leave.front_row_m,))
        nearest = np.abs(arrivals.x_m[:, -1] - pin_x_m(4)).argmin()
        response = answer(leave, bowler.ball("strike"))
        chances.append(float(arrivals.conversion(response, np.array([nearest]))[0]))
    assert chances[0] < chances[1] - 0.02


@pytest.mark.parametrize(
    ("leave", "stand", "target"), [("10", 6.5, 1.5), ("9", 7.5, 2), ("5", 30, 22)]
)
def test_either_gutter_takes_its_share(
    make_bowler: MakeBowler, leave: str, stand: float, target: float
) -> None:
    # A ball without side knows no left or right: the line in a mirror has the same chance.
    bowler = make_bowler(rotation_deg=0, walk=0)
    gap = 5
    chances = []
    for pins, feet, aim in (
        (Leave.parse(leave), stand, target),
        (Leave.parse(leave).mirrored, 40 - (stand - gap) + gap, 40 - target),
    ):
        lines = lines_of(bowler, bowler.balls[0], feet, aim)
        arrivals = Arrivals(lines, bowler.spread, (pins.front_row_m,))
        response = answer(pins, bowler.balls[0])
        chances.append(float(arrivals.conversion(response, np.array([0]))[0]))
    assert chances[0] > 0.05
    assert chances[1] == pytest.approx(chances[0], abs=1e-9)


def room_of(arrivals: Arrivals, response: Response, which: IndexArray) -> Room:
    row = arrivals.row(response.leave)
    ends = response.window(arrivals.x_m[which, row], arrivals.angle_rad[which, row])
    return room_between(arrivals, np.full(len(which), row), which, ends)


@settings(max_examples=40)
@given(
    st.sampled_from(sorted(PRESETS)),
    st.floats(0.3, 0.95),
    st.sampled_from(SINGLE_PINS),
    st.integers(0, 9),
    st.sampled_from([0, 1]),
)
def test_a_line_that_makes_makes_oftener_with_less_spread(
    make_bowler: MakeBowler, level: str, share: float, leave: Leave, first: int, ball: int
) -> None:
    bowler = make_bowler()
    wide = PRESETS[level]
    tight = Spread(*(share * value for value in vars(wide).values()))
    stands, targets = np.mgrid[first + 1.0 : 40.0 : 10.0, 3.0:37.0].reshape(2, -1)
    which = np.arange(targets.size)
    lines = lines_of(bowler, bowler.balls[ball], stands, targets)
    response = answer(leave, bowler.balls[ball])
    chances = []
    for spread in (wide, tight):
        arrivals = Arrivals(lines, spread, (leave.front_row_m,))
        chances.append(arrivals.conversion(response, which))
    room = room_of(arrivals, response, which)
    # Room knows no gutter: where most balls end there, it is no line that makes.
    makes = (room.left > 0) & (room.right > 0) & (chances[0] > 0.3)
    assert np.any(makes)  # there is a way to each pin
    assert np.all(chances[1][makes] > chances[0][makes])


def test_every_leave_is_made_oftener_at_every_better_level(make_bowler: MakeBowler) -> None:
    levels = ("new", "league", "strong", "elite")
    makes = np.array(
        [
            [line.odds.make for line in chart_for(make_bowler(spread=level), SINGLE_PINS).lines]
            for level in levels
        ]
    )
    assert makes.shape == (4, 10)
    assert np.all(np.diff(makes, axis=0) > 0)


# --- Choices


def brute_force(bowler: Bowler, leave: Leave) -> float:
    """Return the best chance of all lines of all balls, each asked about on its own."""
    first, last = bowler.stand_boards
    best = 0.0
    for ball in bowler.balls:
        response = answer(leave, ball)
        for stand in range(first, last + 1):
            for target in range(1, 40):
                lines = lines_of(bowler, ball, stand, target)
                if abs(lines.launch_rad[0]) < STEEPEST_RAD and abs(lines.laydown_x_m[0]) < EDGE_M:
                    arrivals = Arrivals(lines, bowler.spread, (leave.front_row_m,))
                    made = arrivals.conversion(response, np.array([0]))
                    best = max(best, float(made[0]))
    return best


@pytest.mark.parametrize("leave", ["3", "7", "10"])
@pytest.mark.parametrize("stand_boards", [(12, 14), (33, 35)])
def test_the_chosen_line_is_as_good_as_the_best_there_is(
    make_bowler: MakeBowler, leave: str, stand_boards: tuple[int, int]
) -> None:
    bowler = make_bowler(stand_boards=stand_boards)
    (line,) = chart_for(bowler, [Leave.parse(leave)]).lines
    best = brute_force(bowler, Leave.parse(leave))
    assert best - EQUAL - 2 * HALF_A_UNIT <= line.odds.make <= best + HALF_A_UNIT


def imbalance(bowler: Bowler, leave: Leave, ball: str, stand: float, target: float) -> float:
    lines = lines_of(bowler, bowler.ball(ball), stand, target)
    arrivals = Arrivals(lines, bowler.spread, (leave.front_row_m,))
    room = room_of(arrivals, answer(leave, bowler.ball(ball)), np.array([0]))
    left, right = float(room.left[0]), float(room.right[0])
    # With less room to one side than cards tell, a shot is on the brink.
    return abs(left - right) if min(left, right) >= 0.1 else np.inf


def assert_reason_holds(chart: Chart, line: Line, used: set[tuple[float, float]]) -> None:
    """Check the reason, and that no stronger preference speaks for the runner-up."""
    second = line.runner_up
    if line.play is Play.COUNT:
        assert line.reason is Reason.COUNT
    if line.reason is Reason.COUNT and line.other is not None:
        assert line.odds.count > line.other.count
        assert line.odds.make < line.other.make
    if line.reason in (Reason.OWN, Reason.ONLY, Reason.COUNT, Reason.STRIKE):
        assert second is None
        return
    assert second is not None
    # Of several pins the simulation tells chances less finely.
    equal = EQUAL if len(line.leave) == 1 else SIMULATED_PLATEAU
    assert abs(line.odds.make - second.make) <= equal + 2 * HALF_A_UNIT
    bowler, leave = chart.bowler, chart.bowler.inside(line.leave)
    targets = [known.target for known in chart.fit.believed]
    favourite = max(set(targets) or {20.0}, key=lambda t: (targets.count(t), -abs(t - 20), -t))
    bag = [ball.name for ball in bowler.balls]
    lines = [(line.ball, line.stand, line.target), (second.ball, second.stand, second.target)]
    away = [abs(target - favourite) for _, _, target in lines]
    uneven = [imbalance(bowler, leave, *each) for each in lines]
    target_first, middle_first = {Reason.FAVOURITE_TARGET}, {Reason.CENTRED}
    if len(leave) == 1:
        ease = [(off, np.floor(boards / 0.5)) for off, boards in zip(away, uneven, strict=True)]
        order = [{Reason.SPARE_BALL}, target_first, middle_first]
    else:
        # The middle counts against the target, and either may be named as what decided.
        ease = [
            (round(max(boards - 0.5, 0) + 0.15 * off, 2), off)
            for off, boards in zip(away, uneven, strict=True)
        ]
        order = [{Reason.SPARE_BALL}, middle_first | target_first, target_first]
    order += [{Reason.REUSED}, {Reason.ARROW}]
    scores = [
        (bag.index(ball), *easy, (stand, target) not in used, target not in ARROW_BOARDS)
        for (ball, stand, target), easy in zip(lines, ease, strict=True)
    ]
    for reasons, mine, theirs in zip(order, *scores, strict=True):
        if mine != theirs:
            assert mine < theirs
            assert line.reason in reasons
            return
    assert line.reason is Reason.CHANCE
    assert line.odds.make >= second.make - 2 * HALF_A_UNIT


def test_reasons_hold(bowler: Bowler) -> None:
    chart = chart_for(bowler)
    assert set(chart.fit.believed) <= set(bowler.known_lines)
    used = {(known.stand, known.target) for known in chart.fit.believed}
    for line in sorted(chart.lines, key=lambda line: bowler.inside(line.leave)):
        assert_reason_holds(chart, line, used)
        used.add((line.stand, line.target))


def test_a_line_of_the_bowlers_own_is_reused(make_bowler: MakeBowler) -> None:
    # For the 2 pin, 21 over 20 and 22 over 20 are as good as each other.
    two = Leave.parse("2")
    (alone,) = chart_for(make_bowler(rotation_deg=0), [two]).lines
    assert (alone.stand, alone.target) == (21, 20)
    own = make_bowler(rotation_deg=0, known=[("8", 22, 20)], habits_given=True)
    (line,) = chart_for(own, [two]).lines
    assert (line.stand, line.target, line.reason) == (22, 20, Reason.REUSED)


@settings(max_examples=15)
@given(
    st.integers(-20, 60),
    st.sampled_from(sorted(PRESETS)),
    st.floats(0, 1),
    st.integers(-2, 9),
    st.integers(8, 16),
    st.sampled_from(list(Hand)),
)
def test_charts_of_all_sorts_of_bowlers_are_sound(
    make_bowler: MakeBowler,
    rotation_deg: int,
    level: str,
    walk: float,
    gap_boards: int,
    distance_ft: int,
    hand: Hand,
) -> None:
    bowler = make_bowler(
        hand=hand,
        rotation_deg=rotation_deg,
        spread=level,
        walk=walk,
        gap_boards=gap_boards,
        distance_ft=distance_ft,
    )
    chart = chart_for(bowler, SINGLE_PINS)
    assert [line.leave for line in chart.lines] == list(SINGLE_PINS)
    assert chart.unanswered == ()
    for line in chart.lines:
        assert 0 < line.odds.make < 1
        assert line.odds.room_left > 0
        assert line.odds.room_right > 0
        assert np.all(np.abs(line.trace.x_m) < EDGE_M)
        assert line.foot_effect_boards < 0
    test_reasons_hold(bowler)
    test_arrivals_are_those_of_the_mean_shot(bowler)
    for line in chart_for(bowler).lines:
        assert line.reaches
        assert line.action is not None
        assert line.action.first in line.leave
        assert {pin for pin, _ in line.action.others} <= set(line.leave) - {line.action.first}
        assert line.imagine is None or line.imagine not in line.leave
        assert 0 < line.odds.make < 1
        assert len(line.leave) * line.odds.make <= line.odds.count + len(line.leave) * EQUAL
        assert np.all(np.abs(line.trace.x_m) <= EDGE_M)
