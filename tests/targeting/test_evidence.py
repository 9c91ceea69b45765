"""What a log says, as the fit sees it: places inside, outcomes by code, slopes of what is seen."""

from collections.abc import Callable

import numpy as np
import pytest

from cardgen.lane.geometry import BOARD_M, FloatArray, Hand, board_x_m
from cardgen.lane.rack import Leave, pin_x_m
from cardgen.physics.deck import Response, shipped_deck, single_pin_window_m
from cardgen.physics.grid import PLACES_M
from cardgen.physics.path import ball_path
from cardgen.profile.bowler import Bowler
from cardgen.shotlog.shot import Result, Shot
from cardgen.targeting.evidence import Throw, evidence_of, expected_of
from cardgen.targeting.likelihood import HIT, LEFT, MISS, RIGHT, UNTOLD
from cardgen.targeting.lines import lines_of
from cardgen.units import MPH_MPS

MakeBowler = Callable[..., Bowler]
TEN, SEVEN = Leave.parse("10"), Leave.parse("7")
DECK = shipped_deck()


def seen_of(bowler: Bowler, shot: Shot) -> tuple[list[float], int]:
    """Return what was seen of one shot [m, m, m/s] and the code of what came of it."""
    sightings = evidence_of(bowler, [shot]).sightings
    return sightings.seen[0].tolist(), int(sightings.outcome[0])


# --- A shot, as it is written down


@pytest.mark.parametrize("hand", list(Hand))
def test_boards_are_places_in_the_inside_frame_for_both_hands(
    make_bowler: MakeBowler, hand: Hand
) -> None:
    shot = Shot(TEN, 35, 20, arrows=19.25, arrive=4, speed_mph=17)
    seen, outcome = seen_of(make_bowler(hand=hand), shot)
    assert seen == pytest.approx([board_x_m(19.25), board_x_m(4), 17 * MPH_MPS])
    assert seen[1] > 0  # low boards are on the ball side, which is the right inside
    assert outcome == UNTOLD


def test_what_was_not_seen_is_no_number(make_bowler: MakeBowler) -> None:
    seen, outcome = seen_of(make_bowler(), Shot(TEN, 35, 20))
    assert np.isnan(seen).all()
    assert outcome == UNTOLD


@pytest.mark.parametrize(
    ("result", "code"),
    [(Result.HIT, HIT), (Result.MISS, MISS), (Result.LEFT, LEFT), (Result.RIGHT, RIGHT)],
)
def test_outcomes_have_their_codes(make_bowler: MakeBowler, result: Result, code: int) -> None:
    assert seen_of(make_bowler(), Shot(TEN, 35, 20, result=result))[1] == code
    # A left-hander's left is the inside frame's right.
    mirrored = {LEFT: RIGHT, RIGHT: LEFT}.get(code, code)
    left_hander = make_bowler(hand=Hand.LEFT)
    assert seen_of(left_hander, Shot(SEVEN, 35, 20, result=result))[1] == mirrored


def test_where_it_arrived_tells_more_than_what_came_of_it(make_bowler: MakeBowler) -> None:
    bowler = make_bowler()
    assert seen_of(bowler, Shot(TEN, 35, 20, result=Result.HIT, arrive=3))[1] == UNTOLD
    off = Shot(TEN, 35, 20, result=Result.LEFT, off_boards=8)
    assert seen_of(bowler, off)[1] == UNTOLD
    arrows = Shot(TEN, 35, 20, result=Result.HIT, arrows=20)
    assert seen_of(bowler, arrows)[1] == HIT


@pytest.mark.parametrize(("result", "side"), [(Result.LEFT, -1), (Result.RIGHT, 1)])
def test_boards_off_a_pin_are_a_place(make_bowler: MakeBowler, result: Result, side: int) -> None:
    shot = Shot(Leave.parse("6"), 30, 20, result=result, off_boards=7.5)
    seen, _ = seen_of(make_bowler(), shot)
    assert seen[1] == pytest.approx(pin_x_m(6) + side * 7.5 * BOARD_M)
    # A left-hander's 4 pin is where a right-hander's 6 pin is, and left is right.
    other = Shot(Leave.parse("4"), 30, 20, result=result, off_boards=7.5)
    seen, _ = seen_of(make_bowler(hand=Hand.LEFT), other)
    assert seen[1] == pytest.approx(pin_x_m(6) - side * 7.5 * BOARD_M)


def test_boards_off_count_from_the_front_pin(make_bowler: MakeBowler) -> None:
    shot = Shot(Leave.parse("3-10"), 30, 20, result=Result.RIGHT, off_boards=7)
    assert seen_of(make_bowler(), shot)[0][1] == pytest.approx(pin_x_m(3) + 7 * BOARD_M)


# --- Shots that say the same


def test_shots_of_which_the_same_was_seen_are_counted_together(make_bowler: MakeBowler) -> None:
    hit, miss = (Shot(TEN, 35, 20, result=result) for result in (Result.HIT, Result.MISS))
    told = Shot(TEN, 35, 20, arrows=20, arrive=4)
    elsewhere = Shot(TEN, 34, 20, result=Result.HIT)
    shots = [hit, miss, hit, told, hit, elsewhere, told]
    evidence = evidence_of(make_bowler(), shots)
    sightings, of_shot = evidence.sightings, evidence.of_shot
    assert sorted(sightings.times.tolist()) == [1, 1, 2, 3]
    assert of_shot[0] == of_shot[2] == of_shot[4]
    assert of_shot[3] == of_shot[6]
    assert len(set(of_shot.tolist())) == 4
    assert sightings.times[of_shot].tolist() == [3, 1, 3, 2, 3, 1, 2]
    for shot, where in zip(shots, of_shot.tolist(), strict=True):
        throw = evidence.throws[sightings.line[where]]
        assert (throw.stand, throw.target, throw.leave) == (shot.stand, shot.target, shot.leave)
        assert np.isnan(sightings.seen[where]).tolist()[:2] == [shot.arrows is None] * 2


def test_dates_and_notes_make_no_difference(make_bowler: MakeBowler) -> None:
    shots = [Shot(TEN, 35, 20, result=Result.HIT, note=note) for note in ("", "tired")]
    assert evidence_of(make_bowler(), shots).sightings.times.tolist() == [2]


def test_an_empty_log_says_nothing(make_bowler: MakeBowler) -> None:
    evidence = evidence_of(make_bowler(), [])
    assert (evidence.throws, evidence.sightings.seen.shape) == ((), (0, 3))


def test_throws_do_not_depend_on_the_order_of_the_log(make_bowler: MakeBowler) -> None:
    rng = np.random.default_rng(1)
    shots = [
        Shot(leave, stand, 20, arrive=float(board))
        for leave, stand, board in zip(
            [TEN, SEVEN] * 4, rng.integers(5, 35, 8), rng.integers(1, 39, 8), strict=True
        )
    ]
    one, other = (evidence_of(make_bowler(), log) for log in (shots, shots[::-1]))
    assert one.throws == other.throws
    assert one.sightings.seen.tobytes() == other.sightings.seen.tobytes()
    assert one.of_shot.tolist() == other.of_shot.tolist()[::-1]


# --- What lines lead to expect

THROWS = (
    Throw("spare", 35.0, 20.0, TEN),
    Throw("spare", 6.0, 20.0, SEVEN),
    Throw("strike", 25.0, 12.0, Leave.parse("1-2-3-4-5-6-7-8-9-10")),
    Throw("strike", 22.0, 10.0, Leave.parse("5")),
)


def answers_of(bowler: Bowler) -> dict[tuple[str, Leave], Response]:
    return {
        (throw.ball, throw.leave): DECK.response(throw.leave, bowler.ball(throw.ball).ball.mass_kg)
        for throw in THROWS
    }


def test_lines_are_expected_where_they_go(make_bowler: MakeBowler) -> None:
    bowler = make_bowler()
    expected = expected_of(bowler, THROWS, answers_of(bowler), bowler.spread)
    for i, throw in enumerate(THROWS):
        ball = bowler.ball(throw.ball)
        lines = lines_of(bowler, ball, throw.stand, throw.target)
        path = lines.path([throw.leave.front_row_m])
        told = [board_x_m(throw.target), path.x_m[0, 0], ball.speed_mps]
        assert expected.seen[i] == pytest.approx(told)
        assert expected.angle_rad[i] == pytest.approx(path.angle_rad[0, 0])


def test_strays_move_what_is_seen_as_the_path_says(make_bowler: MakeBowler) -> None:
    # Where nothing bends the path, mean slopes over the spread are those of small steps.
    bowler = make_bowler(rotation_deg=0)
    straight = THROWS[:2]
    expected = expected_of(bowler, straight, answers_of(bowler), bowler.spread)
    for i, throw in enumerate(straight):
        ball = bowler.ball(throw.ball)
        lines = lines_of(bowler, ball, throw.stand, throw.target)
        planes = [float(lines.target_y_m[0]), throw.leave.front_row_m]

        def seen(launch: float, laydown: float, speed: float) -> FloatArray:
            x, turn = lines.laydown_x_m + laydown, lines.launch_rad + launch  # noqa: B023
            release = ball.release(x, turn)  # noqa: B023
            path = ball_path(ball.ball, release, ball.friction, planes)  # noqa: B023
            return np.array([*path.x_m[0], ball.speed_mps + speed])  # noqa: B023

        step = 1e-5
        for k, way in enumerate(step * np.eye(3)):
            slope = (seen(*way.tolist()) - seen(*(-way).tolist())) / (2 * step)
            wanted = slope if k < 2 else np.array([0, expected.by_stray[i, 1, 2], 1])
            assert expected.by_stray[i, :, k] == pytest.approx(wanted, rel=2e-3, abs=2e-3)


def test_a_miss_is_left_or_right_of_the_middle_of_the_window(make_bowler: MakeBowler) -> None:
    bowler = make_bowler()
    expected = expected_of(bowler, THROWS, answers_of(bowler), bowler.spread)
    for i, pin in ((0, 10), (1, 7), (3, 5)):
        left, right = single_pin_window_m(pin, expected.angle_rad[i : i + 1])
        middle, half = (left[0] + right[0]) / 2, (right[0] - left[0]) / 2
        assert expected.split_m[i] == pytest.approx(middle, abs=0.1 * BOARD_M)
        off = np.abs(PLACES_M - middle)
        inside, outside = off < half - 0.02, off > half + 0.02
        assert expected.chance[i, inside] == pytest.approx(1, abs=1e-9)
        assert expected.chance[i, outside] == pytest.approx(0, abs=1e-9)


def test_only_the_eyes_move_the_board_crossed_and_only_its_own_ball_the_speed(
    make_bowler: MakeBowler,
) -> None:
    bowler = make_bowler(unsure=True)
    expected = expected_of(bowler, THROWS, answers_of(bowler), bowler.spread)
    by_arrows, by_speed = expected.by_unknown[:, 0], expected.by_unknown[:, 2]
    assert [np.flatnonzero(row).tolist() for row in by_arrows] == [[4]] * 4
    assert [np.flatnonzero(row).tolist() for row in by_speed] == [[7], [7], [8], [8]]
