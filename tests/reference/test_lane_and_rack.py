"""Lane, rack and leaves against the equipment specifications, the playing rules and geometry."""

from itertools import combinations
from math import comb

import numpy as np
import pytest
from scipy.sparse.csgraph import connected_components

from cardgen.lane import geometry as lane
from cardgen.lane.geometry import Hand, Sights, board_x_m, x_board
from cardgen.lane.rack import (
    ALL_LEAVES,
    PIN_NUMBERS,
    ROW_M,
    SINGLE_PINS,
    SPACING_M,
    Leave,
    LeaveKind,
    mirrored_pin,
    pin_x_m,
    pin_y_m,
)
from cardgen.units import FOOT_M, INCH_M, MPH_MPS, POUND_KG

# USBC equipment specifications, as relayed by trade pages; lane dimensions also in the WTBA rules
# of 2006. Inches.
LANE_IN = {
    "foul line to head-pin spot": (lane.HEAD_PIN_M, 720.0),
    "foul line to lane end": (lane.LANE_END_M, 754.1875),
    "lane width": (lane.WIDTH_M, 41.5),
    "gutter": (lane.GUTTER_M, 9.25),
    "shortest approach": (lane.APPROACH_M, 15 * 12.0),
    "pin spacing": (SPACING_M, 12.0),
}


@pytest.mark.parametrize(("ours_m", "inches"), LANE_IN.values(), ids=LANE_IN.keys())
def test_dimensions_of_the_equipment_specifications(ours_m: float, inches: float) -> None:
    assert ours_m / INCH_M == pytest.approx(inches, abs=1e-9)


def test_units_are_the_exact_ones_of_the_yard_and_pound_agreement() -> None:
    # NIST SP 811 (2008), appendix B.8: foot 3.048 E-01 m, mile per hour 4.4704 E-01 m/s, pound
    # 4.535 923 7 E-01 kg, all exact. The head pin at 60 ft is 18.288 m.
    assert pytest.approx((0.3048, 0.44704, 0.45359237), rel=1e-15) == (FOOT_M, MPH_MPS, POUND_KG)
    assert pytest.approx(18.288) == lane.HEAD_PIN_M


def test_lane_and_gutters_fit_between_60_and_60_25_inches() -> None:
    # USBC equipment specifications: lane and both gutters together.
    assert 60 <= (lane.WIDTH_M + 2 * lane.GUTTER_M) / INCH_M <= 60.25


def test_39_boards_of_1_0641_inches_with_the_20th_at_the_centre() -> None:
    # Count: USBC; the pitch is derived, 41.5 / 39.
    assert lane.BOARDS == 39
    assert pytest.approx(1.0641, abs=5e-5) == lane.BOARD_M / INCH_M
    assert board_x_m(20) == 0
    outer = np.abs(board_x_m([1, 39])) + lane.BOARD_M / 2
    assert outer == pytest.approx(lane.EDGE_M)


@pytest.mark.parametrize("hand", list(Hand))
def test_boards_count_from_the_side_of_the_hand(hand: Hand) -> None:
    # Common practice, no source: a right-hander's board 1 is the rightmost, a left-hander's the
    # leftmost.
    first = float(board_x_m(1, hand))
    assert first / INCH_M == pytest.approx(
        {"right": 1, "left": -1}[hand.value] * 20.21795, abs=1e-5
    )


@pytest.mark.parametrize("hand", list(Hand))
def test_boards_and_metres_are_inverse(hand: Hand) -> None:
    boards = np.linspace(-3, 43, 185)
    assert x_board(board_x_m(boards, hand), hand) == pytest.approx(boards, abs=1e-12)


def test_the_hands_mirror_each_other() -> None:
    boards = np.arange(1, 40)
    assert np.array_equal(board_x_m(boards, Hand.RIGHT), -board_x_m(boards, Hand.LEFT))
    assert x_board(board_x_m(boards), Hand.LEFT) == pytest.approx(40 - boards)


def test_marks_on_the_lane() -> None:
    # USBC equipment specifications: seven arrows every five boards, ten dots 6 to 8 ft down.
    assert lane.ARROW_BOARDS == (5, 10, 15, 20, 25, 30, 35)
    assert lane.LANE_DOT_BOARDS == (3, 5, 8, 11, 14, 26, 29, 32, 35, 37)
    assert 6 <= lane.LANE_DOTS_M / FOOT_M <= 8
    for marks in (lane.ARROW_BOARDS, lane.LANE_DOT_BOARDS):
        assert sorted(40 - board for board in marks) == list(marks)


def test_default_arrows_keep_to_their_band_with_the_centre_one_farthest() -> None:
    # USBC: band of 12 to 16 ft, centre arrow farthest.
    arrows_ft = np.array(Sights().arrows_m) / FOOT_M
    assert arrows_ft.min() >= 12
    assert arrows_ft.max() <= 16
    assert arrows_ft.argmax() == 3


@pytest.mark.parametrize(
    ("board", "feet"),
    # Read off the default chevron 12.5 13.5 14.5 15.5 14.5 13.5 12.5 ft by hand.
    [(20, 15.5), (5, 12.5), (35, 12.5), (12, 13.9), (28, 13.9), (22.5, 15), (1, 11.7), (39, 11.7)],
)
def test_targets_lie_on_the_chevron(board: float, feet: float) -> None:
    assert float(Sights().target_y_m(board)) / FOOT_M == pytest.approx(feet)


def test_a_lopsided_chevron_keeps_its_sides() -> None:
    sights = Sights(arrows_m=tuple(d * FOOT_M for d in (12, 13, 14, 16, 15, 14.5, 13)))
    boards = [1, 5, 17.5, 30, 35, 39]
    feet = [11.2, 12, 15, 14.5, 13, 11.8]
    assert sights.target_y_m(boards) / FOOT_M == pytest.approx(feet)


# Right-hander's boards of the pins, derived from 12 in spacing and the pitch of the boards.
PIN_BOARDS = {
    1: 20, 2: 25.639, 3: 14.361, 4: 31.277, 5: 20, 6: 8.723, 7: 36.916, 8: 25.639, 9: 14.361,
    10: 3.084,
}  # fmt: skip


@pytest.mark.parametrize(("pin", "board"), PIN_BOARDS.items())
def test_pins_stand_on_their_boards(pin: int, board: float) -> None:
    assert float(x_board(pin_x_m(pin))) == pytest.approx(board, abs=5e-4)
    assert float(x_board(pin_x_m(pin), Hand.LEFT)) == pytest.approx(40 - board, abs=5e-4)


def test_every_pin_is_12_inches_from_its_neighbours() -> None:
    # USBC: 12 in between the spots, in an equilateral triangle.
    places = np.array([[pin_x_m(p), pin_y_m(p)] for p in PIN_NUMBERS]) / INCH_M
    away = np.linalg.norm(places[:, None] - places, axis=-1)[np.triu_indices(10, 1)]
    assert away.min() == pytest.approx(12)
    assert np.count_nonzero(np.isclose(away, 12)) == 18


def test_rows_are_10_392_inches_apart_not_12() -> None:
    # Derived, 12 sin 60 deg; many pages say 12.
    rows = sorted({pin_y_m(p) / INCH_M for p in PIN_NUMBERS})
    assert np.diff(rows) == pytest.approx([10.392] * 3, abs=5e-4)
    assert rows[0] == pytest.approx(720)
    assert pytest.approx(10.392, abs=5e-4) == ROW_M / INCH_M


@pytest.mark.parametrize("pin", [7, 10])
def test_corner_pins_stand_2_75_inches_from_the_edge(pin: int) -> None:
    # Equipment specifications relayed: 2 1/2 to 3 in from the centre of the spot to the edge.
    assert (lane.EDGE_M - abs(pin_x_m(pin))) / INCH_M == pytest.approx(2.75)


def test_no_pin_but_those_of_the_middle_stands_on_an_arrows_board() -> None:
    # Columns of pins are 5.64 boards apart, arrows 5.
    off_centre = [p for p in PIN_NUMBERS if p not in (1, 5)]
    boards = x_board([pin_x_m(p) for p in off_centre])
    nearest = np.abs(boards[:, None] - np.array(lane.ARROW_BOARDS)).min(axis=1)
    assert nearest.min() > 0.6


def test_numbers_run_from_the_front_and_from_the_left() -> None:
    by_place = sorted(PIN_NUMBERS, key=lambda p: (round(pin_y_m(p), 6), pin_x_m(p)))
    assert tuple(by_place) == PIN_NUMBERS


# USBC rule 2h: the head pin is down and a pin is down between standing pins (7-9, 3-10) or
# immediately ahead of them (5-6). 7-9, 3-10 and 5-6 are its own examples.
@pytest.mark.parametrize(
    "leave",
    ["7-9", "3-10", "5-6", "2-3", "7-10", "5-7", "2-9", "4-5", "7-8", "8-9", "9-10", "4-5-8",
     "4-6-7-10", "4-6", "2-7", "8-10", "5-10", "4-7-10", "6-7-10", "4-6-7-8-10"],
)  # fmt: skip
def test_splits(leave: str) -> None:
    assert Leave.parse(leave).kind is LeaveKind.SPLIT


@pytest.mark.parametrize(
    "leave",
    ["2-8", "3-9", "2-4-5-8", "3-6-10", "4-7", "6-10", "2-4", "2-5", "3-5-6", "2-4-5", "5-8-9"],
)
def test_no_splits(leave: str) -> None:
    assert Leave.parse(leave).kind is not LeaveKind.SPLIT


def test_no_leave_with_the_head_pin_is_a_split() -> None:
    # USBC rule 2h asks for the head pin to be down.
    assert not [leave for leave in ALL_LEAVES if 1 in leave and leave.kind is LeaveKind.SPLIT]


@pytest.mark.parametrize(
    ("leave", "kind"),
    [
        # Trade use, no source.
        ("1-2-10", LeaveKind.WASHOUT),
        ("1-2-4-10", LeaveKind.WASHOUT),
        ("1-3-7", LeaveKind.WASHOUT),
        ("1-2-8", LeaveKind.OTHER),
        ("1-2-4-7", LeaveKind.OTHER),
        ("1-5", LeaveKind.SLEEPER),
        ("2-8", LeaveKind.SLEEPER),
        ("3-9", LeaveKind.SLEEPER),
        ("3-6-9-10", LeaveKind.OTHER),
        ("10", LeaveKind.SINGLE),
    ],
)
def test_kinds_by_trade_use(leave: str, kind: LeaveKind) -> None:
    assert Leave.parse(leave).kind is kind


def test_splits_agree_with_the_rule_worked_out_from_coordinates() -> None:
    # Rule 2h by geometry alone: standing pins 12 in apart in neighbouring rows, or one behind the
    # other two rows back, hold together; or two stand side by side and the spot ahead is empty.
    place = {p: np.array([pin_x_m(p), pin_y_m(p)]) / INCH_M for p in PIN_NUMBERS}
    ahead = {
        (a, b): next(
            p for p in PIN_NUMBERS
            if np.allclose(place[p], (place[a] + place[b]) / 2 - [0, 6 * 3**0.5])
        )
        for a, b in combinations(PIN_NUMBERS, 2)
        if np.allclose(np.abs(place[a] - place[b]), [12, 0])
    }  # fmt: skip

    def held(a: int, b: int) -> bool:
        across, along = np.abs(place[a] - place[b])
        return bool(along > 1 and (np.hypot(across, along) < 12.01 or (across < 1 and along < 21)))

    def is_split(leave: Leave) -> bool:
        if 1 in leave or len(leave) == 1:
            return False
        groups, _ = connected_components(np.array([[held(a, b) for b in leave] for a in leave]))
        return bool(groups > 1) or any(
            a in leave and b in leave and front not in leave for (a, b), front in ahead.items()
        )

    wrong = [str(v) for v in ALL_LEAVES if is_split(v) is not (v.kind is LeaveKind.SPLIT)]
    assert wrong == []


def test_there_are_1023_leaves_and_every_one_is_there_once() -> None:
    # 2^10 - 1; by size, the binomial coefficients.
    assert len(ALL_LEAVES) == len(set(ALL_LEAVES)) == 1023
    sizes = [sum(len(leave) == n for leave in ALL_LEAVES) for n in range(1, 11)]
    assert sizes == [comb(10, n) for n in range(1, 11)]
    assert [str(leave) for leave in SINGLE_PINS] == [str(p) for p in PIN_NUMBERS]


def test_every_leave_survives_being_written_and_read() -> None:
    assert [Leave.parse(str(leave)) for leave in ALL_LEAVES] == list(ALL_LEAVES)
    assert Leave.parse(" 3 - 10 ") == Leave.parse("10-3") == Leave((3, 10))


def test_every_leave_mirrored_twice_is_itself_and_once_the_same_kind() -> None:
    for leave in ALL_LEAVES:
        assert leave.mirrored.mirrored == leave
        assert leave.mirrored.kind is leave.kind
        assert leave.mirrored.front_row_m == leave.front_row_m


def test_the_mirror_turns_places_over() -> None:
    for pin in PIN_NUMBERS:
        other = mirrored_pin(pin)
        assert (pin_x_m(other), pin_y_m(other)) == (-pin_x_m(pin), pin_y_m(pin))
    assert str(Leave.parse("2-4-5-8").mirrored) == "3-5-6-9"


def test_the_front_row_is_that_of_the_pin_nearest_the_bowler() -> None:
    rows = {"1-7": 0, "2-10": 1, "6-7": 2, "7-10": 3}
    for leave, row in rows.items():
        expected = 720 + 10.3923 * row
        assert Leave.parse(leave).front_row_m / INCH_M == pytest.approx(expected, abs=1e-3)
