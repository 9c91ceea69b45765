"""What each unknown moves, against lines thrown by bowlers who have a little more of it."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from cardgen.lane.condition import LaneDoubt, OiledLane
from cardgen.lane.geometry import BOARD_M, HEAD_PIN_M, FloatArray
from cardgen.profile.belief import LANE, UNKNOWNS, Belief, at
from cardgen.profile.bowler import Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.schema import LaneSpec
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.targeting.unknowns import moved_by_unknowns
from cardgen.units import DEGREE_RAD, FOOT_M

MakeBowler = Callable[..., Bowler]
CALLS = {"spare": ([35, 6, 26], [20, 20, 21]), "strike": ([25, 28, 31], [12, 14, 16])}
PLANES = [15 * FOOT_M, 45 * FOOT_M, HEAD_PIN_M]
SMALL = 0.02  # of the usual doubts: so little that nothing bends within it


def lane_of(make_bowler: MakeBowler, doubts: float, shaped: bool) -> OiledLane:
    """Return the usual house lane or one of two zones, and so much of the usual doubts."""
    if not shaped:
        return replace(make_bowler().lane, doubt=LaneDoubt(friction=0.25 * doubts))
    house = oiled_lane(LaneSpec()).changed(games=3.0)
    film, friction, games = (
        doubts * of for of in (house.doubt.film, house.doubt.friction, house.doubt.games)
    )
    return replace(house, doubt=LaneDoubt(film, friction, games))


def little_unsure(make_bowler: MakeBowler, walk: float, shaped: bool) -> Bowler:
    """A bowler all of whose numbers are uncertain, but hardly."""
    bowler = make_bowler(lane=lane_of(make_bowler, SMALL, shaped), unsure=True, walk=walk)
    of_lane = np.array([name in LANE for name in UNKNOWNS])
    return replace(bowler, scale=bowler.scale * np.where(of_lane, 1.0, SMALL))


def thrown(bowler: Bowler, ball: str) -> LineSet:
    return lines_of(bowler, bowler.ball(ball), *CALLS[ball])


def told(bowler: Bowler, ball: str) -> FloatArray:
    """Return what each unknown moves, (n, p, 2, k), by slopes as small as the doubts."""
    lines = thrown(bowler, ball)
    sizes = (1e-3, 1e-5, 1e-4)
    slopes = lines.slope_by(PLANES, ("x_m", "launch_rad", "speed_mps"), sizes)
    by = {"x_m": slopes[..., 0], "launch_rad": slopes[..., 1], "speed_mps": slopes[..., 2]}
    return moved_by_unknowns(lines, PLANES, by)


def differences(bowler: Bowler, ball: str, unknown: str) -> FloatArray:
    """Return (n, p, 2) half of what a deviation more moves against one less."""
    arrived = []
    for sign in (1, -1):
        mean = np.zeros(len(UNKNOWNS))
        mean[at(unknown)] = sign
        path = thrown(bowler.believing(Belief(mean, np.eye(len(UNKNOWNS)))), ball).path(PLANES)
        arrived.append(np.stack([path.x_m, path.angle_rad], axis=-1))
    return np.asarray((arrived[0] - arrived[1]) / 2)


@pytest.mark.parametrize("unknown", UNKNOWNS)
@pytest.mark.parametrize("walk", [0.0, 0.5, 1.0])
@pytest.mark.parametrize(("ball", "shaped"), [("spare", False), ("spare", True), ("strike", False)])
def test_each_unknown_moves_a_line_as_far_as_the_bowler_who_has_it(
    make_bowler: MakeBowler, ball: str, shaped: bool, walk: float, unknown: str
) -> None:
    bowler = little_unsure(make_bowler, walk, shaped)
    moved, wanted = told(bowler, ball)[..., at(unknown)], differences(bowler, ball, unknown)
    # Within two in a hundred, or a fiftieth of a board and a twentieth of a degree a whole doubt.
    least_m, least_rad = SMALL * 0.02 * BOARD_M, SMALL * 0.05 * DEGREE_RAD
    assert moved[..., 0] == pytest.approx(wanted[..., 0], rel=0.02, abs=least_m)
    assert moved[..., 1] == pytest.approx(wanted[..., 1], rel=0.02, abs=least_rad)


@pytest.mark.parametrize("ball", list(CALLS))
def test_unknowns_of_the_other_ball_move_nothing(make_bowler: MakeBowler, ball: str) -> None:
    other = "strike" if ball == "spare" else "spare"
    moved = told(little_unsure(make_bowler, 1.0, True), ball)
    assert not moved[..., [at(f"{other}_rotation"), at(f"{other}_speed")]].any()
    own = [k for k, name in enumerate(UNKNOWNS) if not name.startswith(other)]
    assert moved[:, -1, 0, own].any(axis=0).all()


def test_what_is_certain_moves_nothing(make_bowler: MakeBowler) -> None:
    bowler = replace(make_bowler(), scale=np.zeros(len(UNKNOWNS)))
    assert not told(bowler, "spare").any()
    assert not told(bowler, "strike").any()


def test_a_walk_straight_ahead_does_not_care_where_it_starts(make_bowler: MakeBowler) -> None:
    moved = told(little_unsure(make_bowler, 0.0, False), "spare")
    assert moved[..., at("distance")] == pytest.approx(0, abs=1e-12)


def test_gap_and_drift_cannot_be_told_apart(make_bowler: MakeBowler) -> None:
    # Both move the ball to the side at the line, so only their sum shows.
    bowler = little_unsure(make_bowler, 1.0, False)
    moved = told(bowler, "spare")
    per_unit = [moved[..., at(name)] / bowler.scale[at(name)] for name in ("gap", "drift")]
    assert per_unit[0] == pytest.approx(per_unit[1])


def test_a_ball_that_crosses_farther_right_comes_in_farther_right(make_bowler: MakeBowler) -> None:
    # Straight lines: by the distance to the pins over that to the target, 60 / 15.5 ft and so.
    bowler = little_unsure(make_bowler, 1.0, False)
    lines = thrown(make_bowler(rotation_deg=0), "spare")
    aim = told(bowler, "spare")[:, -1, 0, at("aim")] / bowler.scale[at("aim")]
    assert aim == pytest.approx(HEAD_PIN_M / lines.target_y_m, rel=0.03)


# --- With the doubts that profiles have


@pytest.mark.parametrize("unknown", UNKNOWNS)
@pytest.mark.parametrize("shaped", [False, True])
@pytest.mark.parametrize("ball", list(CALLS))
def test_whole_doubts_move_as_far_on_the_average_as_told(
    make_bowler: MakeBowler, ball: str, shaped: bool, unknown: str
) -> None:
    # Bowlers drawn from the doubt: the root mean square of what it moves. Paths bend within it.
    bowler = make_bowler(lane=lane_of(make_bowler, 1.0, shaped), unsure=True)
    alone = np.zeros((len(UNKNOWNS), len(UNKNOWNS)))
    alone[at(unknown), at(unknown)] = 1
    lines = thrown(replace(bowler, unsure=alone), ball)
    arrivals = Arrivals(lines, bowler.spread, [HEAD_PIN_M])
    last = np.full(3, arrivals.x_m.shape[1] - 1)
    # Gauss and Hermite's points: exact for what bends like a polynomial of the ninth degree.
    points, shares = np.polynomial.hermite_e.hermegauss(5)
    shares = shares / shares.sum()
    arrived = []
    for point in points:
        moved = bowler.believing(Belief(point * alone[at(unknown)], np.eye(len(UNKNOWNS))))
        arrived.append(thrown(moved, ball).path([HEAD_PIN_M]).x_m[:, 0])
    x_m = np.array(arrived)
    strays = np.sqrt(shares @ (x_m - shares @ x_m) ** 2)
    told_m = arrivals.unsure_m(last, np.arange(3))
    assert told_m == pytest.approx(strays, rel=0.3, abs=0.1 * BOARD_M)
