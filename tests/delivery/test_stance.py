"""From the stance to the laydown, at both extremes of the walk."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.delivery.stance import StandHabits


def laydown(habits: StandHabits, stand_m: float, target_m: float, target_y_m: float) -> float:
    at = habits.laydown_x_m(np.array([stand_m]), np.array([target_m]), np.array([target_y_m]))
    return float(at[0])


def test_walking_straight_ahead_lays_down_a_gap_beside_the_stand() -> None:
    habits = StandHabits(distance_m=4, gap_m=0.13, walk=0, drift_m=0.02)
    for target in (-0.5, 0, 0.5):
        assert laydown(habits, -0.3, target, 4.5) == pytest.approx(-0.3 + 0.13 + 0.02)


@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.floats(3.5, 5), st.floats(2, 5))
def test_walking_along_the_line_puts_stand_laydown_and_target_on_one_line(
    stand: float, target: float, target_y: float, distance: float
) -> None:
    habits = StandHabits(distance_m=distance, gap_m=0.13, walk=1)
    at = laydown(habits, stand, target, target_y)
    # The ball is carried beside the foot: where it starts, it is a gap from the stand.
    before = (at - (stand + 0.13)) / distance
    after = (target - at) / target_y
    assert before == pytest.approx(after, abs=1e-12)


@given(st.floats(0, 1), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_a_walk_between_goes_that_share_of_the_slope(
    walk: float, stand: float, target: float
) -> None:
    habits = StandHabits(distance_m=4, gap_m=0.1, walk=walk, drift_m=-0.03)
    at = laydown(habits, stand, target, 4.5)
    moved = at - (stand + 0.1 - 0.03)
    assert moved == pytest.approx(walk * 4 * (target - at) / 4.5, abs=1e-12)


def test_the_slide_foot_is_a_gap_away_from_the_ball_side_of_the_ball() -> None:
    habits = StandHabits(distance_m=4, gap_m=0.13, walk=1)
    assert habits.slide_x_m(np.array([0.2]))[0] == pytest.approx(0.07)
