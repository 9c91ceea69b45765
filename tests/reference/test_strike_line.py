"""Strike lines on the house lane against what trackers see and what the trade goes by."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from cardgen.delivery.ball import Ball
from cardgen.lane.condition import Grip, OiledLane
from cardgen.lane.film import FilmMap
from cardgen.lane.geometry import BOARD_M, HEAD_PIN_M, board_x_m, x_board
from cardgen.lane.rack import FULL_RACK, pin_x_m, pin_y_m
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.chart import chart_for
from cardgen.targeting.line import Line
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.units import DEGREE_RAD, FOOT_M, INCH_M, MPH_MPS, POUND_KG, RPM_RADPS

MakeBowler = Callable[..., Bowler]
# Rev rate [rpm], axis rotation [degrees] and speed [mph] of three styles of delivery, from a
# governing body's tracking (relayed).
TRACKED = [(220, 80, 19), (325, 70, 18), (520, 60, 19)]


def throwing(bowler: Bowler, rpm: float, rotation_deg: float, mph: float) -> Bowler:
    """Return the bowler with a strike ball delivered so; its RG and tilt are assumed."""
    strike = bowler.ball("strike")
    ball = replace(
        strike,
        ball=Ball(strike.ball.radius_m, 2.50 * INCH_M, 15 * POUND_KG),
        speed_mps=mph * MPH_MPS,
        rev_radps=rpm * RPM_RADPS,
        rotation_rad=rotation_deg * DEGREE_RAD,
        tilt_rad=12 * DEGREE_RAD,
    )
    return replace(bowler, balls=(bowler.ball("spare"), ball))


def strike_line(bowler: Bowler) -> Line:
    (line,) = chart_for(bowler, [FULL_RACK]).lines
    return line


def thrown(bowler: Bowler, line: Line) -> LineSet:
    return lines_of(bowler, bowler.ball(line.ball), line.stand, line.target)


def house(oil_ft: float = 40.0) -> OiledLane:
    return oiled_lane(LaneSpec(oil_ft=oil_ft))


def rolling_loss_mps(ball: BallChoice) -> float:
    """Return what a ball has lost of its speed down-lane once it rolls, whatever the friction."""
    rim = ball.ball.radius_m * ball.rev_radps * np.cos(ball.tilt_rad)
    return float(ball.ball.roll_fraction * (ball.speed_mps - rim * np.cos(ball.rotation_rad)))


@pytest.mark.parametrize(("rpm", "rotation_deg", "mph"), TRACKED)
def test_tracked_deliveries_come_to_the_pocket_as_trackers_see_them(
    make_bowler: MakeBowler, rpm: float, rotation_deg: float, mph: float
) -> None:
    bowler = throwing(make_bowler(lane=house(), spread="strong"), rpm, rotation_deg, mph)
    line = strike_line(bowler)
    path = thrown(bowler, line).path([HEAD_PIN_M])
    assert 3 <= line.entry_rad / DEGREE_RAD <= 7
    assert 2.0 <= path.t_s[0, 0] <= 2.8
    # Relayed: 2 to 2.5 mph lost on the lane, it is not said between where and where. The house
    # lane's friction is chosen with this in view.
    lost = mph - path.speed_mps[0, 0] / MPH_MPS
    assert 2 <= lost <= 3.5
    if np.isfinite(path.roll_y_m[0]):
        launch = float(thrown(bowler, line).launch_rad[0])
        along = bowler.ball("strike").speed_mps - (
            path.vy_mps[0, 0] * np.cos(launch) - path.vx_mps[0, 0] * np.sin(launch)
        )
        assert along == pytest.approx(rolling_loss_mps(bowler.ball("strike")), abs=1e-9)


def exit_board(make_bowler: MakeBowler, oil_ft: float) -> float:
    """Return the board at which the strike line of a steady hooking bowler leaves the oil."""
    bowler = throwing(make_bowler(lane=house(oil_ft), spread="strong"), 325, 70, 18)
    path = thrown(bowler, strike_line(bowler)).path([oil_ft * FOOT_M])
    return float(x_board(path.x_m[0, 0]))


@pytest.mark.parametrize("oil_ft", [36, 38, 40, 42])
def test_the_ball_leaves_the_oil_about_where_the_rule_of_31_has_it(
    make_bowler: MakeBowler, oil_ft: float
) -> None:
    # Exit board = length of the oil - 31: common practice, no source.
    assert exit_board(make_bowler, oil_ft) == pytest.approx(oil_ft - 31, abs=4)


@pytest.mark.parametrize("oil_ft", [34, 44, 46])
def test_on_very_short_and_on_long_oil_our_lines_may_part_with_the_rule(
    make_bowler: MakeBowler, oil_ft: float
) -> None:
    # The rule moves a board with each foot of oil; ours hardly move: they leave short oil farther
    # in, and long oil farther out. So much is told in the README.
    off = exit_board(make_bowler, oil_ft) - (oil_ft - 31)
    assert 3 < off * (1 if oil_ft < 40 else -1) < 7


POCKET = 17.5
COLUMNS = {2: 1, 4: 2, 7: 3}


def laydown_moves(bowler: Bowler, ball: BallChoice, target: float) -> dict[int, float]:
    """Return how far the laydown moves from the pocket to each pin, over one target, in boards."""
    stands = np.arange(-20, 70, 0.05)
    lines = lines_of(bowler, ball, stands, target)

    def laydown(board: float, row_m: float) -> float:
        arrive = x_board(lines.path([row_m]).x_m[:, 0])
        return float(x_board(lines.laydown_x_m[np.abs(arrive - board).argmin()]))

    pocket = laydown(POCKET, HEAD_PIN_M)
    return {pin: pocket - laydown(float(x_board(pin_x_m(pin))), pin_y_m(pin)) for pin in COLUMNS}


def test_for_a_straight_ball_the_feet_move_2_7_4_4_and_6_1_boards(make_bowler: MakeBowler) -> None:
    # From the pocket to the middles of the 2, 4 and 7 pin over a target 15 ft out (derived); the
    # habits say 3, 6 and 9, or 2, 4 and 6 (common practice, no source).
    sights = replace(make_bowler().sights, arrows_m=(15 * FOOT_M,) * 7)
    bowler = make_bowler(rotation_deg=0, walk=0.0, sights=sights)
    moves = laydown_moves(bowler, bowler.ball("spare"), 12)
    assert [moves[pin] for pin in COLUMNS] == pytest.approx([2.7, 4.4, 6.1], abs=0.1)


@pytest.mark.parametrize(("rpm", "rotation_deg", "mph"), [(280, 50, 16), *TRACKED[:2]])
def test_for_hook_balls_the_habits_lie_about_what_the_lane_asks_for(
    make_bowler: MakeBowler, rpm: float, rotation_deg: float, mph: float
) -> None:
    # 2 to 3 boards a column on house lanes: common practice, no source. It is not said whether at
    # the start or at the foul line. For who walks straight ahead we find 1.5 to 2.5 on the average
    # of six pins, for who walks along the line, and so moves more at the start, 3 to 4.5; and for
    # who follows the line a little less than half, as the habit has it.
    per_column = []
    for walk in (0.0, 0.4, 1.0):
        bowler = throwing(
            make_bowler(lane=house(), spread="strong", walk=walk), rpm, rotation_deg, mph
        )
        line = strike_line(bowler)
        stands = np.arange(-20, 70, 0.05)
        lines = lines_of(bowler, bowler.ball("strike"), stands, line.target)
        moves = []
        for pin, column in {**COLUMNS, 3: 1, 6: 2, 10: 3}.items():
            arrive = x_board(lines.path([pin_y_m(pin)]).x_m[:, 0])
            stand = stands[np.abs(arrive - float(x_board(pin_x_m(pin)))).argmin()]
            moves.append(abs(stand - line.stand) / column)
        per_column.append(float(np.mean(moves)))
    straight_ahead, between, along = per_column
    assert 1.4 < straight_ahead < 2.6
    assert 2 < between < 3
    assert 2.9 < along < 4.6


def test_the_pocket_is_where_the_standard_has_it() -> None:
    # Board 17.5 of the bowler's count at the head pin (the governing body's optimum) is 2.66 in
    # from its middle (derived).
    assert float(board_x_m(POCKET)) == pytest.approx(2.5 * BOARD_M)
    assert float(board_x_m(POCKET)) / INCH_M == pytest.approx(2.66, abs=0.005)


def test_a_ball_that_never_rolls_before_the_pins_loses_less(make_bowler: MakeBowler) -> None:
    # On oil all the way the same delivery loses only what friction takes in the time.
    lane = OiledLane(
        FilmMap.flooded(70 * FOOT_M), {c: Grip(0.02, 0.2) for c in ("plastic", "reactive")}, 1e-7
    )
    bowler = throwing(make_bowler(lane=lane, spread="strong"), 220, 80, 19)
    path = lines_of(bowler, bowler.ball("strike"), 20, 15).path([HEAD_PIN_M])
    assert np.isnan(path.roll_y_m[0])
    lost_mps = 19 * MPH_MPS - path.speed_mps[0, 0]
    assert lost_mps < rolling_loss_mps(bowler.ball("strike"))
