"""The likelihood of shots against scipy's normal distributions, sums and central differences."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.physics.grid import PLACE_EDGES_M, PLACES_M
from cardgen.targeting import likelihood
from cardgen.targeting.likelihood import (
    HIT,
    LEFT,
    MISS,
    READ_SD,
    RIGHT,
    UNTOLD,
    WILD,
    Expected,
    ShotLikelihood,
    Sightings,
)
from cardgen.units import DEGREE_RAD, MPH_MPS

# Three lines as a chart has them; invented.
SPREAD: FloatArray = np.array([0.44 * DEGREE_RAD, 0.7 * BOARD_M, 0.5 * MPH_MPS])
LOG_SPREAD: FloatArray = np.log(SPREAD)
RNG = np.random.default_rng(11)
BY_STRAY: FloatArray = np.array(
    [
        [[-4.7, 1.0, 0.0], [-18.9, 1.0, 0.02], [0.0, 0.0, 1.0]],
        [[-4.4, 1.0, 0.0], [-18.6, 0.9, 0.11], [0.0, 0.0, 1.0]],
        [[-4.1, 1.0, 0.0], [-18.3, 1.1, 0.20], [0.0, 0.0, 1.0]],
    ]
)
EXPECTED = Expected(
    seen=np.array([[0.05, 0.30, 7.6], [-0.1, -0.20, 7.5], [0.2, 0.48, 7.2]]),
    by_unknown=RNG.normal(size=(3, 3, 4)) * np.array([0.02, 0.05, 0.3])[:, None],
    by_stray=BY_STRAY,
    chance=np.stack(
        [
            np.where(np.abs(PLACES_M - 0.3) < 0.17, 1.0, 0.0),
            np.exp(-((PLACES_M / 0.3) ** 2)),
            RNG.random(PLACES_M.size),
        ]
    ),
    split_m=np.array([0.3, 0.0, 0.41]),
    angle_rad=np.zeros(3),
    rest_m2=np.array([0.0, 1e-3, 4e-3]),
)
AWAY: FloatArray = np.array([0.04, -0.15, 0.3])
"""How far a shot came from what was expected: an inch and a half, six inches, less than 1 mph."""
SEEN = list(product((True, False), (True, False), (True, False)))
KINDS = [(outcome, *seen) for outcome in (HIT, MISS, LEFT, RIGHT, UNTOLD) for seen in SEEN]
"""Every outcome, with and without a board at the arrows, at the pins, and a speed."""


def sightings(
    kinds: Sequence[tuple[int, bool, bool, bool]], line: int = 0, away: FloatArray = AWAY
) -> Sightings:
    seen = np.array([np.where(kind[1:], EXPECTED.seen[line] + away, np.nan) for kind in kinds])
    return Sightings(
        np.full(len(kinds), line, np.intp),
        seen,
        np.array([kind[0] for kind in kinds], np.intp),
        np.ones(len(kinds)),
    )


def log_of(
    shots: Sightings, unknowns: FloatArray | None = None, log_spread: FloatArray = LOG_SPREAD
) -> float:
    point = np.zeros(4) if unknowns is None else unknowns
    return ShotLikelihood(EXPECTED, shots).value(point, log_spread)[0]


def chance_of(
    outcome: int, seen: tuple[bool, bool, bool], line: int, away: FloatArray = AWAY
) -> float:
    """Return the chance of an outcome given what else was seen of a shot."""
    told = log_of(sightings([(outcome, *seen)], line, away))
    return float(np.exp(told - log_of(sightings([(UNTOLD, *seen)], line, away))))


# --- What was seen


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("seen", [seen for seen in SEEN if any(seen)])
@pytest.mark.parametrize("away", [0.2, 1.0, 8.0])
def test_what_was_seen_is_a_normal_of_what_was_expected_or_a_wild_one(
    line: int, seen: tuple[bool, bool, bool], away: float
) -> None:
    unknowns = np.array([0.5, -1.0, 0.3, 0.8])
    which = np.flatnonzero(seen)
    mean = (EXPECTED.seen[line] + EXPECTED.by_unknown[line] @ unknowns)[which]
    true = (BY_STRAY[line] * SPREAD**2) @ BY_STRAY[line].T
    true[1, 1] += EXPECTED.rest_m2[line]
    wide = np.array([5 * BOARD_M, 12 * BOARD_M, 3 * MPH_MPS])
    at = (EXPECTED.seen[line] + away * AWAY)[which]
    good, wild = (
        multivariate_normal(mean, (true + np.diag(blur))[np.ix_(which, which)]).pdf(at)
        for blur in (READ_SD**2, READ_SD**2 + wide**2)
    )
    # What was not seen may have been anything within a kilometre; constants are left out.
    constant = which.size * np.log(2 * np.pi) / 2 - (3 - which.size) * np.log(1e3)
    shot = sightings([(UNTOLD, *seen)], line, away * AWAY)
    log = np.log((1 - WILD) * good + WILD * wild) + constant
    assert log_of(shot, unknowns) == pytest.approx(log, abs=2e-6)
    sane = ShotLikelihood(EXPECTED, shot).sane(unknowns, LOG_SPREAD)
    odds = (1 - WILD) * good / ((1 - WILD) * good + WILD * wild)
    assert sane == pytest.approx([odds], abs=1e-6)


def test_a_shot_of_which_nothing_was_seen_says_nothing() -> None:
    nothing = ShotLikelihood(EXPECTED, sightings([(UNTOLD, False, False, False)]))
    _, slope = nothing.value(np.array([1.0, 2, 3, 4]), LOG_SPREAD)
    assert np.abs(slope).max() < 1e-6
    assert nothing.sane(np.zeros(4), LOG_SPREAD) == pytest.approx([1 - WILD], abs=1e-6)


def test_shots_are_independent_and_count_as_often_as_they_came() -> None:
    unknowns = np.array([0.5, -1.0, 0.3, 0.8])
    several = sightings(KINDS, 1)
    times = np.arange(1.0, len(KINDS) + 1)
    counted = log_of(replace(several, times=times), unknowns)
    each = [log_of(sightings([kind], 1), unknowns) for kind in KINDS]
    assert counted == pytest.approx(times @ each, rel=1e-12)


def test_a_shot_far_off_is_a_wild_one_and_pulls_less() -> None:
    turned = BY_STRAY[0, :, 0] * SPREAD[0]  # by a deviation of the launch
    shots = [sightings([(UNTOLD, True, True, True)], 0, n * turned) for n in (2.0, 4.0, 8.0)]
    models = [ShotLikelihood(EXPECTED, shot) for shot in shots]
    sure = [model.sane(np.zeros(4), LOG_SPREAD)[0] for model in models]
    assert sure[0] > 0.95
    assert sure[1] < sure[0]
    assert sure[2] < 0.01
    # Twice as far off, a normal shot would pull twice as hard.
    pulls = [np.linalg.norm(m.value(np.zeros(4), LOG_SPREAD)[1][:4]) for m in models]
    assert pulls[2] < 1.5 * pulls[0]


# --- What came of it


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("seen", SEEN)
@pytest.mark.parametrize("away", [0.3, -1.5])
def test_the_chance_of_an_outcome_is_that_of_arrivals_given_what_was_seen(
    monkeypatch: pytest.MonkeyPatch, line: int, seen: tuple[bool, bool, bool], away: float
) -> None:
    # Derived: arrival and readings are jointly normal, so the arrival given the readings is too.
    monkeypatch.setattr(likelihood, "WILD", 1e-14)
    true = (BY_STRAY[line] * SPREAD**2) @ BY_STRAY[line].T
    true[1, 1] += EXPECTED.rest_m2[line]
    which = np.flatnonzero(seen)
    read = (true + np.diag(READ_SD**2))[np.ix_(which, which)]
    pull = np.linalg.solve(read, true[which, 1])
    mean = EXPECTED.seen[line, 1] + pull @ (away * AWAY)[which]
    sd = np.sqrt(true[1, 1] - pull @ true[which, 1])
    arrives = norm(mean, sd)
    cells, edges = np.diff(arrives.cdf(PLACE_EDGES_M)), PLACE_EDGES_M[[0, -1]]
    missed = cells * (1 - EXPECTED.chance[line])
    on_left = PLACES_M - EXPECTED.split_m[line] < 0
    wanted = {
        HIT: (cells * EXPECTED.chance[line]).sum(),
        LEFT: (missed * on_left).sum() + arrives.cdf(edges[0]),
        RIGHT: (missed * ~on_left).sum() + arrives.sf(edges[1]),
    }
    wanted[MISS] = wanted[LEFT] + wanted[RIGHT]
    for outcome, chance in wanted.items():
        told = chance_of(outcome, seen, line, away * AWAY)
        assert told == pytest.approx(chance, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("seen", SEEN)
def test_before_the_wild_share_outcomes_sum_up(
    monkeypatch: pytest.MonkeyPatch, line: int, seen: tuple[bool, bool, bool]
) -> None:
    monkeypatch.setattr(likelihood, "WILD", 1e-14)
    hit, miss, left, right = (chance_of(code, seen, line) for code in (HIT, MISS, LEFT, RIGHT))
    assert hit + left + right == pytest.approx(1, abs=1e-9)
    assert left + right == pytest.approx(miss, abs=1e-9)


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("seen", SEEN)
def test_outcomes_sum_up_with_the_wild_share_too(line: int, seen: tuple[bool, bool, bool]) -> None:
    # A wild shot hits or misses, and misses to the left or to the right, like any other.
    hit, miss, left, right = (chance_of(code, seen, line) for code in (HIT, MISS, LEFT, RIGHT))
    assert hit + miss == pytest.approx(1, abs=1e-9)
    assert left + right == pytest.approx(miss, abs=1e-9)


@pytest.mark.parametrize("outcome", [HIT, MISS, LEFT, RIGHT])
def test_no_outcome_is_ever_impossible(outcome: int) -> None:
    # A slip, or a slip of the pen: the first line hits for certain from here, and never from there.
    for away in (0.0, -0.5, 0.5):
        moved = replace(EXPECTED, seen=EXPECTED.seen + np.array([0, away, 0]))
        shot = sightings([(outcome, False, False, False)])
        log, _ = ShotLikelihood(moved, shot).value(np.zeros(4), LOG_SPREAD - 4)
        assert log - 3 * np.log(1e-3) >= np.log(WILD / 10)


# --- Slopes


@pytest.mark.parametrize("line", range(3))
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("away", [0.5, 2.0])
def test_slopes_are_those_of_central_differences(
    line: int, kind: tuple[int, bool, bool, bool], away: float
) -> None:
    unknowns = np.array([0.3, -0.4, 0.2, 0.1])
    point = np.concatenate([unknowns, LOG_SPREAD + np.array([0.2, -0.3, 0.1])])
    model = ShotLikelihood(EXPECTED, sightings([kind], line, away * AWAY))
    step = 1e-5

    def value(at: FloatArray) -> float:
        return model.value(at[:4], at[4:])[0]

    differences = [
        (value(point + way) - value(point - way)) / (2 * step) for way in step * np.eye(7)
    ]
    slope = model.value(point[:4], point[4:])[1]
    assert slope == pytest.approx(np.array(differences), rel=1e-6, abs=1e-6)
