"""What lines and shots tell of a bowler: against formulas, counts and simulated bowlers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from scipy.special import ndtr, ndtri
from scipy.stats import t as student

from cardgen.delivery.release import Release
from cardgen.delivery.spread import PRESETS, Spread
from cardgen.lane.condition import LaneDoubt, OiledLane
from cardgen.lane.geometry import BOARD_M, BoolArray, FloatArray, Hand, x_board
from cardgen.lane.rack import SINGLE_PINS, Leave
from cardgen.physics.deck import shipped_deck, single_pin_window_m
from cardgen.physics.path import ball_path
from cardgen.profile.belief import LANE, UNKNOWNS, Belief, at
from cardgen.profile.bowler import Bowler
from cardgen.profile.schema import BallName
from cardgen.shotlog.shot import Result, Shot
from cardgen.targeting import fit as fitting
from cardgen.targeting import likelihood
from cardgen.targeting.aim import believable
from cardgen.targeting.chart import chart_for
from cardgen.targeting.conversion import Arrivals
from cardgen.targeting.fit import OF_THE_DAY, SPREAD_LOG_SD, Fit, fit_bowler
from cardgen.targeting.laplace import Objective, Posterior, laplace
from cardgen.targeting.likelihood import READ_SD
from cardgen.targeting.lines import lines_of
from cardgen.units import DEGREE_RAD, INCH_M, MPH_MPS

MakeBowler = Callable[..., Bowler]
DECK = shipped_deck()
EIGHT_IN_TEN = float(ndtri(0.9))
TEN = Leave.parse("10")


# --- Helpers: bowlers made up from what the program believes before the first shot


@dataclass(frozen=True)
class Called:
    """A line as it is called."""

    ball: BallName
    leave: str
    stand: float
    target: float


SPARES = (
    Called("spare", "10", 35, 20),
    Called("spare", "7", 6, 20),
    Called("spare", "6", 30, 20),
)
STRIKE = Called("strike", "1-2-3-4-5-6-7-8-9-10", 25, 12)
NEW = (
    Called("spare", "4", 15, 19),
    Called("spare", "3", 26, 21),
    Called("spare", "8", 17, 18),
    Called("strike", "1-2-3-4-5-6-7-8-9-10", 28, 14),
)


@pytest.fixture(scope="module")
def unsure(make_bowler: MakeBowler) -> Bowler:
    """Nothing but default numbers, on a lane whose friction may be a quarter more or less."""
    lane: OiledLane = replace(make_bowler().lane, doubt=LaneDoubt(friction=0.25))
    return make_bowler(lane=lane, unsure=True)


@dataclass(frozen=True, eq=False)
class Drawn:
    """A bowler drawn from the prior, as he is today and on another day's lane.

    ``unknowns`` (k,) are today's, ``logs`` (3,) the logarithms of how many times more than said
    launch, laydown and speed stray.
    """

    today: Bowler
    another_day: Bowler
    unknowns: FloatArray
    logs: FloatArray


def drawn(bowler: Bowler, rng: np.random.Generator) -> Drawn:
    house, day, other_day = rng.standard_normal((3, len(UNKNOWNS)))
    of_lane = np.array([name in LANE for name in UNKNOWNS])
    of_house = np.sqrt(1 - OF_THE_DAY) * house
    today, another = (
        np.where(of_lane, of_house + np.sqrt(OF_THE_DAY) * part, house) for part in (day, other_day)
    )
    logs = rng.standard_normal(3) * SPREAD_LOG_SD
    said, more = bowler.spread, np.exp(logs).tolist()
    spread = Spread(
        laydown_m=said.laydown_m * more[1],
        launch_rad=said.launch_rad * more[0],
        speed_mps=said.speed_mps * more[2],
        rev_fraction=said.rev_fraction,
    )
    believed = (bowler.believing(Belief(z, np.eye(len(UNKNOWNS)))) for z in (today, another))
    now, then = (replace(each, spread=spread) for each in believed)
    return Drawn(now, then, today, logs)


def thrown(
    bowler: Bowler, lines: Sequence[Called], each: int, rng: np.random.Generator
) -> list[Shot]:
    """Return shots that stray by the bowler's spread, written down as exactly as people read."""
    shots = []
    for line in lines:
        ball, leave = bowler.ball(line.ball), Leave.parse(line.leave)
        meant = lines_of(bowler, ball, line.stand, line.target)
        strays = rng.standard_normal((each, 4)) * bowler.spread.deviations(ball.rev_radps)
        release = Release.of(
            meant.laydown_x_m[0] + strays[:, 0],
            meant.launch_rad[0] + strays[:, 1],
            ball.speed_mps + strays[:, 2],
            ball.rev_radps + strays[:, 3],
            ball.rotation_rad,
            ball.tilt_rad,
        )
        planes = [float(meant.target_y_m[0]), bowler.inside(leave).front_row_m]
        path = ball_path(ball.ball, release, ball.friction, planes)
        seen = np.column_stack([path.x_m, release.speed_mps])
        for arrows, arrive, speed in seen + rng.standard_normal((each, 3)) * READ_SD:
            shots.append(
                Shot(
                    leave,
                    line.stand,
                    line.target,
                    line.ball,
                    arrows=float(x_board(arrows)),
                    arrive=float(x_board(arrive)),
                    speed_mph=float(speed / MPH_MPS),
                )
            )
    return shots


def arrivals_of(bowler: Bowler, lines: Sequence[Called]) -> tuple[FloatArray, FloatArray]:
    """Return where the mean shots arrive and how unsure that is (n,), in boards."""
    boards, unsure_boards = np.zeros(len(lines)), np.zeros(len(lines))
    for ball in bowler.balls:
        mine = [i for i, line in enumerate(lines) if line.ball == ball.name]
        if not mine:
            continue
        leaves = [bowler.inside(Leave.parse(lines[i].leave)) for i in mine]
        called = ([lines[i].stand for i in mine], [lines[i].target for i in mine])
        rows = sorted({leave.front_row_m for leave in leaves})
        arrivals = Arrivals(lines_of(bowler, ball, *called), bowler.spread, rows)
        row, which = np.array([arrivals.row(leave) for leave in leaves]), np.arange(len(mine))
        boards[mine] = x_board(arrivals.x_m[which, row])
        unsure_boards[mine] = arrivals.unsure_m(row, which) / BOARD_M
    return boards, unsure_boards


# --- The model that has an answer on paper


def test_the_linear_model_agrees_with_its_worked_example() -> None:
    # The normal-inverse-gamma linear model (a textbook's conjugate prior; the example is derived,
    # checked numerically): y = X theta + noise of unknown variance, theta ~ N(theta0, variance /
    # A0), variance ~ inverse gamma(a0, b0).
    z = np.array([-1, -0.5, 0, 0.5, 1])
    y, x = np.array([1.9, 1.1, 0.6, -0.4, -0.9]), np.column_stack([np.ones(5), z])
    precision, centre, a, b = np.diag([0.25, 1.0]), np.zeros(2), 3.0, 2.0
    after = precision + x.T @ x
    theta = np.linalg.solve(after, precision @ centre + x.T @ y)
    a_after = a + len(y) / 2
    b_after = b + (y @ y + centre @ precision @ centre - theta @ after @ theta) / 2
    assert theta == pytest.approx([0.4381, -1.0143], abs=5e-5)
    assert (a_after, b_after) == (5.5, pytest.approx(2.7708, abs=5e-5))

    def objective(point: FloatArray) -> tuple[float, FloatArray]:
        off, moved = x @ point - y, point - centre
        value = (off @ off + moved @ precision @ moved) / 2
        return float(value), x.T @ off + precision @ moved

    found = laplace(objective, np.array([3.0, 3.0]))
    assert found.mean == pytest.approx([0.4381, -1.0143], abs=5e-5)
    assert found.mean == pytest.approx(theta, abs=1e-6)
    assert found.covariance == pytest.approx(np.linalg.inv(after), rel=1e-6, abs=1e-9)
    assert b + found.least == pytest.approx(b_after, abs=1e-9)
    # The next value at z = .25: Student's t with 2 a_n degrees of freedom.
    where = np.array([1, 0.25])
    mean = where @ found.mean
    scale = np.sqrt((b + found.least) / a_after * (1 + where @ found.covariance @ where))
    assert mean == pytest.approx(0.1845, abs=5e-5)
    assert scale == pytest.approx(0.7802, abs=5e-5)
    # Half of its 80 % interval, by any table: t of 11 degrees of freedom is 1.363.
    assert student(2 * a_after).ppf(0.9) * scale == pytest.approx(1.363 * 0.7802, abs=1e-3)


# --- Bowlers whose numbers are known, since they are made up


@dataclass(frozen=True)
class Checked:
    """What of 500 bowlers lay within the 80 % intervals: (bowlers, told about) each."""

    unknowns: FloatArray
    spread: FloatArray
    arrivals: FloatArray
    another_day: FloatArray


@pytest.fixture(scope="module")
def checked(unsure: Bowler) -> Checked:
    rng = np.random.default_rng(7)
    inside: tuple[list[BoolArray], ...] = ([], [], [], [])
    for _ in range(500):
        truth = drawn(unsure, rng)
        fit = fit_bowler(unsure, DECK, thrown(truth.today, (*SPARES, STRIKE), 3, rng))
        belief = fit.thrown
        inside[0].append(np.abs(truth.unknowns - belief.mean) < EIGHT_IN_TEN * belief.sd)
        more = log_spread_of(fit, unsure)
        inside[1].append(np.abs(truth.logs - more) < EIGHT_IN_TEN * fit.spread_log_sd)
        for k, bowler, there in ((2, truth.today, belief), (3, truth.another_day, fit.belief)):
            told, unsure_boards = arrivals_of(unsure.believing(there), NEW)
            true, _ = arrivals_of(bowler, NEW)
            inside[k].append(np.abs(true - told) < EIGHT_IN_TEN * unsure_boards)
    unknowns, spread, arrivals, another = (np.array(each, np.float64) for each in inside)
    return Checked(unknowns[:, unsure.scale > 0], spread, arrivals, another)


def log_spread_of(fit: Fit, bowler: Bowler) -> FloatArray:
    """Return the likeliest logarithms (3,) of how many times more shots stray than was said.

    The spread of a fit is a mean square, above the likeliest one (derived: of a log-normal). What
    is said not to stray at all stays so.
    """
    told, said = fit.spread, bowler.spread
    more = [
        told.launch_rad / (said.launch_rad or 1.0),
        told.laydown_m / (said.laydown_m or 1.0),
        told.speed_mps / (said.speed_mps or 1.0),
    ]
    return np.asarray(np.log(np.where(np.array(more) > 0, more, 1.0)) - fit.spread_log_sd**2)


def test_8_in_10_unknowns_lie_in_their_80_percent_intervals(
    checked: Checked, unsure: Bowler
) -> None:
    assert 0.74 <= checked.unknowns.mean() <= 0.86
    names = [name for name, size in zip(UNKNOWNS, unsure.scale, strict=True) if size]
    for name, share in zip(names, checked.unknowns.mean(axis=0), strict=True):
        assert 0.70 <= share <= 0.90, name


def test_8_in_10_spreads_lie_in_their_80_percent_intervals(checked: Checked) -> None:
    assert 0.70 <= checked.spread.mean() <= 0.90


@pytest.mark.parametrize("when", ["arrivals", "another_day"])
def test_8_in_10_arrivals_of_lines_never_thrown_lie_in_their_80_percent_intervals(
    checked: Checked, when: str
) -> None:
    # On the lane where the shots were thrown, and on another day's.
    inside = getattr(checked, when)
    assert 0.74 <= inside.mean() <= 0.86
    for line, share in zip(NEW, inside.mean(axis=0), strict=True):
        assert 0.70 <= share <= 0.90, line


def test_errors_fall_with_the_root_of_the_number_of_shots(unsure: Bowler) -> None:
    # Four times the shots, half the error (derived); the prior takes part of it over few shots.
    lines = (*SPARES, Called("spare", "4", 15, 19))
    rng = np.random.default_rng(5)
    errors = {"arrivals": np.zeros((32, 3)), "aim": np.zeros((32, 3))}
    for bowler in range(32):
        truth = drawn(unsure, rng)
        steady = replace(truth.today, spread=unsure.spread)
        true, _ = arrivals_of(steady, lines)
        for k, shots in enumerate((8, 32, 128)):
            fit = fit_bowler(unsure, DECK, thrown(steady, lines, shots // len(lines), rng))
            told, _ = arrivals_of(unsure.believing(fit.thrown), lines)
            errors["arrivals"][bowler, k] = np.sqrt(((told - true) ** 2).mean())
            errors["aim"][bowler, k] = (fit.thrown.mean - truth.unknowns)[at("aim")]
    for name, error in errors.items():
        few, some, many = np.sqrt((error**2).mean(axis=0))
        assert 0.35 <= some / few <= 0.75, name
        assert 0.35 <= many / some <= 0.75, name


# A league bowler's shots stray 5.3 boards at the pins: 15 are under three deviations, 25 are not.
# To the other side such a shot would be in the gutter, which says no board.
@pytest.mark.parametrize(("level", "off_boards"), [("strong", 20), ("league", 25)])
def test_a_wild_shot_pulls_nothing_along(unsure: Bowler, level: str, off_boards: float) -> None:
    bowler = replace(unsure, spread=PRESETS[level])
    rng = np.random.default_rng(9)
    true, _ = arrivals_of(bowler, SPARES[2:])
    for _ in range(12):
        shots = thrown(bowler, (*SPARES, STRIKE), 3, rng)
        wild = replace(shots[8], arrive=float(true[0]) + off_boards)
        without = fit_bowler(bowler, DECK, [*shots[:8], *shots[9:]])
        fit = fit_bowler(bowler, DECK, [*shots[:8], wild, *shots[9:]])
        moved = np.abs(fit.thrown.mean - without.thrown.mean) / without.thrown.sd
        assert moved.max() <= 1 / 3, UNKNOWNS[int(moved.argmax())]
        assert 8 in fit.wild


def test_a_left_handers_log_in_the_mirror_says_the_same(make_bowler: MakeBowler) -> None:
    other = {Result.LEFT: Result.RIGHT, Result.RIGHT: Result.LEFT}
    right, left = (make_bowler(hand=hand, unsure=True) for hand in (Hand.RIGHT, Hand.LEFT))
    rng = np.random.default_rng(4)
    shots = thrown(drawn(right, rng).today, (*SPARES, STRIKE), 3, rng)
    shots += [
        Shot(Leave.parse("10"), 35, 20, result=Result.HIT),
        Shot(Leave.parse("10"), 35, 20, result=Result.LEFT),
        Shot(Leave.parse("6-10"), 33, 20, result=Result.RIGHT, arrows=19.5),
        Shot(Leave.parse("7"), 6, 20, result=Result.RIGHT, off_boards=9),
        Shot(Leave.parse("4"), 15, 19, result=Result.MISS, speed_mph=16.5),
    ]
    mirrored = [
        replace(
            shot,
            leave=shot.leave.mirrored,
            result=None if shot.result is None else other.get(shot.result, shot.result),
        )
        for shot in shots
    ]
    one, two = fit_bowler(right, DECK, shots), fit_bowler(left, DECK, mirrored)
    assert one.thrown.mean == pytest.approx(two.thrown.mean, abs=1e-6)
    assert one.thrown.covariance == pytest.approx(two.thrown.covariance, abs=1e-6)
    assert log_spread_of(one, right) == pytest.approx(log_spread_of(two, left), abs=1e-6)
    assert one.wild == two.wild
    assert np.abs(one.thrown.mean).max() > 0.3  # or there were nothing to compare


def test_slopes_of_a_fit_are_those_of_central_differences(
    unsure: Bowler, monkeypatch: pytest.MonkeyPatch
) -> None:
    solved: list[tuple[Objective, FloatArray]] = []

    def listen(objective: Objective, start: FloatArray) -> Posterior:
        solved.append((objective, start))
        return laplace(objective, start)

    monkeypatch.setattr(fitting, "laplace", listen)
    rng = np.random.default_rng(2)
    shots = thrown(drawn(unsure, rng).today, (*SPARES, STRIKE), 3, rng)
    for k, result in enumerate((Result.HIT, Result.MISS, Result.LEFT, Result.RIGHT)):
        shots[k] = replace(shots[k], arrive=None, result=result)
        shots[k + 4] = replace(shots[k + 4], arrive=None, arrows=None, result=result)
    root: FloatArray = np.asarray(np.linalg.cholesky(np.eye(len(UNKNOWNS)) * 0.7 + 0.3), np.float64)
    fit_bowler(replace(unsure, unsure=root), DECK, shots)
    assert len(solved) >= 2
    for objective, start in (solved[0], solved[-1]):
        point, step = start + 0.1 * rng.standard_normal(start.size), 1e-5
        differences = [
            (objective(point + way)[0] - objective(point - way)[0]) / (2 * step)
            for way in step * np.eye(point.size)
        ]
        assert objective(point)[1] == pytest.approx(np.array(differences), rel=1e-6, abs=1e-6)


# --- Spread from hits and misses


def certain(make_bowler: MakeBowler, launch_rad: float) -> Bowler:
    """A bowler with a straight ball who only strays in launch, all else known for certain."""
    bowler = make_bowler(rotation_deg=0, unsure=True, spread=Spread(0.0, launch_rad, 0.0, 0.0))
    return replace(bowler, scale=np.zeros(len(UNKNOWNS)))


def stand_at_the_middle(bowler: Bowler, pin: int) -> tuple[float, float]:
    """Return the stand that sends the mean shot at the window's middle, and half the window [m]."""
    row = Leave.of(pin).front_row_m
    stands = np.linspace(1, 39, 3801)
    path = lines_of(bowler, bowler.balls[0], stands, 20).path([row])
    left, right = single_pin_window_m(pin, path.angle_rad[:, 0])
    best = int(np.abs(path.x_m[:, 0] - (left + right) / 2).argmin())
    return float(stands[best]), float(right[best] - left[best]) / 2


def arrival_sd_m(bowler: Bowler, spread: Spread, stand: float) -> float:
    """Return how far arrivals at the 10 pin's row stray on the line over 20."""
    sizes = (spread.launch_rad, spread.laydown_m, spread.speed_mps)
    lines = lines_of(bowler, bowler.balls[0], stand, 20)
    slopes = lines.slope_by([TEN.front_row_m], ["launch_rad", "x_m", "speed_mps"], sizes)
    return float(np.linalg.norm(slopes[0, 0, 0] * np.array(sizes)))


def counted(stand: float, hits: int, count: int) -> list[Shot]:
    """Return so many shots at the 10 pin over 20: all that is known is what came of them."""
    results = [Result.HIT] * hits + [Result.MISS] * (count - hits)
    return [Shot(TEN, stand, 20, result=result) for result in results]


def likeliest_spread(fit: Fit, bowler: Bowler) -> Spread:
    launch = bowler.spread.launch_rad * np.exp(log_spread_of(fit, bowler)[0])
    return replace(bowler.spread, launch_rad=float(launch))


@pytest.mark.parametrize("hits", [220, 280, 340, 380])
def test_hits_and_misses_tell_the_spread(
    make_bowler: MakeBowler, monkeypatch: pytest.MonkeyPatch, hits: int
) -> None:
    # Derived: a window of half width w, aimed at in the middle, is met by a share p of normal
    # arrivals of deviation w / Phi^-1((1 + p) / 2). No shot is wild here: see below.
    monkeypatch.setattr(likelihood, "WILD", 1e-12)
    count = 400
    bowler = certain(make_bowler, 0.44 * DEGREE_RAD)
    stand, half_m = stand_at_the_middle(bowler, 10)
    fit = fit_bowler(bowler, DECK, counted(stand, hits, count))
    said_m = arrival_sd_m(bowler, bowler.spread, stand)
    told_m = arrival_sd_m(bowler, likeliest_spread(fit, bowler), stand)
    plain_m = half_m / ndtri((1 + hits / count) / 2)

    def unlikely(more: float) -> float:
        met = 2 * ndtr(half_m / (said_m * np.exp(more))) - 1
        seen = hits * np.log(met) + (count - hits) * np.log1p(-met)
        return float((more / SPREAD_LOG_SD[0]) ** 2 / 2 - seen)

    # The prior pulls from the plain formula towards what was said, as far as this.
    best = minimize_scalar(unlikely, bounds=(-2, 2), method="bounded").x
    assert told_m == pytest.approx(said_m * np.exp(best), rel=0.01)
    assert min(said_m, plain_m) * 0.99 <= told_m <= max(said_m, plain_m) * 1.01
    assert told_m == pytest.approx(plain_m, rel=0.04)


@pytest.mark.parametrize("hits", [220, 280, 340, 380])
def test_wild_shots_hardly_touch_what_hits_and_misses_tell(
    make_bowler: MakeBowler, hits: int
) -> None:
    # One shot in fifty may be wild, and some of the misses are those: a little less spread.
    count = 400
    bowler = certain(make_bowler, 0.44 * DEGREE_RAD)
    stand, half_m = stand_at_the_middle(bowler, 10)
    fit = fit_bowler(bowler, DECK, counted(stand, hits, count))
    told_m = arrival_sd_m(bowler, likeliest_spread(fit, bowler), stand)
    assert told_m == pytest.approx(half_m / ndtri((1 + hits / count) / 2), rel=0.08)


@pytest.mark.parametrize("said_deg", [0.15, 0.22, 0.33])
def test_televised_counts_give_the_spread_of_finalists(
    make_bowler: MakeBowler, monkeypatch: pytest.MonkeyPatch, said_deg: float
) -> None:
    # Televised finals 2005-10: 10 pin made 95.9 % of 710 (a sports network's count, relayed), 681
    # of them. Derived, checked numerically: a normal arrival of deviation 2.30 in at the pins,
    # aimed at the middle of the window with the gutter as an edge, is made as often.
    monkeypatch.setattr(fitting, "SPREAD_LOG_SD", np.full(3, 1.0))  # hardly a prior
    bowler = certain(make_bowler, said_deg * DEGREE_RAD)
    stand, half_m = stand_at_the_middle(bowler, 10)
    assert 2 * ndtr(half_m / (2.30 * INCH_M)) - 1 == pytest.approx(0.959, abs=0.01)
    fit = fit_bowler(bowler, DECK, counted(stand, 681, 710))
    assert 2.1 <= arrival_sd_m(bowler, fit.spread, stand) / INCH_M <= 2.5


# --- A few lines that a bowler trusts


def test_three_lines_of_unlike_pins_settle_every_stand_to_a_board_and_a_half(
    make_bowler: MakeBowler,
) -> None:
    # Common practice, no source: lines of a right-hander with a straight spare ball for the
    # corner pins. The third is his for the 3 pin, by the habits that explain those two (derived: a
    # gap of 5 boards, 13 ft, a walk along the line: 28 is a board off the pin's middle).
    known = (("10", 35.0, 20.0), ("7", 19.0, 23.0), ("3", 28.0, 20.0))
    chart = chart_for(make_bowler(unsure=True, rotation_deg=0, known=known), SINGLE_PINS)
    assert chart.fit.lines_used == 3
    unsure = {str(line.leave): line.odds.unsure_boards for line in chart.lines}
    assert len(unsure) == 10
    assert max(unsure.values()) <= 1.5, unsure
    # Without them nobody would know by twice as much.
    before = chart_for(make_bowler(unsure=True, rotation_deg=0), SINGLE_PINS)
    for line in before.lines:
        assert line.odds.unsure_boards > 1.8 * unsure[str(line.leave)]


def half_sure(ratio: float) -> float:
    """Return the share of a window within which a shot is half sure, by half window over doubt."""
    if ratio <= ndtri(0.75):
        return 0.0

    def sure(share: float) -> float:
        return float(ndtr(ratio * (1 - share)) - ndtr(-ratio * (1 + share)) - 0.5)

    return float(brentq(sure, 0.0, 1.0)) if sure(1.0) < 0 else 1.0


@pytest.mark.parametrize("ratio", [0.3, 0.6, 0.68, 0.7, 0.8, 1.0, 1.5, 2.0, 3.0, 10.0])
def test_a_window_is_drawn_in_to_where_a_shot_is_half_sure(ratio: float) -> None:
    # Derived: at so many deviations from both ends the arrival lies between them half the time.
    left, right, unsure_m = np.array([-0.1, 0.2]), np.array([0.2, 0.5]), np.full(2, 0.15 / ratio)
    near, far = believable((left, right), unsure_m)
    kept_m = 0.15 * half_sure(ratio)
    assert near == pytest.approx([0.05 - kept_m, 0.35 - kept_m], abs=1e-5)
    assert far == pytest.approx([0.05 + kept_m, 0.35 + kept_m], abs=1e-5)


def test_no_doubt_keeps_a_window_and_more_doubt_narrows_it() -> None:
    doubts = np.linspace(0, 0.3, 61)
    ends = (np.full(61, -0.1), np.full(61, 0.1))
    near, far = believable(ends, doubts)
    assert (near[0], far[0]) == (pytest.approx(-0.1), pytest.approx(0.1))
    width = far - near
    assert (np.diff(width) <= 1e-9).all()
    # Half a window of .6745 deviations: the quartile, where even the middle is only half sure.
    shut = 0.1 / ndtri(0.75)
    assert ndtri(0.75) == pytest.approx(0.6745, abs=5e-5)
    assert width[doubts > shut] == pytest.approx(0, abs=1e-6)
    assert width[doubts < 0.99 * shut].min() > 0.01


def test_doubt_costs_chances_and_room(make_bowler: MakeBowler) -> None:
    sure, unsure = (
        {line.leave: line for line in chart_for(make_bowler(unsure=told), SINGLE_PINS).lines}
        for told in (False, True)
    )
    assert sure.keys() == unsure.keys()
    for leave, line in sure.items():
        doubted = unsure[leave]
        assert line.odds.unsure_boards == pytest.approx(0, abs=1e-9)
        assert 1 < doubted.odds.unsure_boards < 4
        assert doubted.odds.make < line.odds.make
        widths = [abs(np.subtract(*each.odds.window_boards)) for each in (doubted, line)]
        assert widths[0] < widths[1]
        rooms = [each.odds.room_left + each.odds.room_right for each in (doubted, line)]
        assert rooms[0] < rooms[1]


def test_shots_bring_chances_back(unsure: Bowler) -> None:
    # What is known better is made more often, where it is worth anything to know it.
    leaves = [Leave.parse(line.leave) for line in SPARES]
    truth = unsure  # the bowler is just what he says, and does not know
    rng = np.random.default_rng(1)
    fit = fit_bowler(unsure, DECK, thrown(truth, SPARES, 40, rng))
    knows = unsure.believing(fit.thrown)
    for leave, line in zip(leaves, SPARES, strict=True):
        _, before = arrivals_of(unsure, [line])
        _, after = arrivals_of(knows, [line])
        assert after[0] < before[0] / 2, leave
