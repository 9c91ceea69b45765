"""A bowler's own numbers, fitted to the lines he trusts and to shots he has thrown."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import PinDeck, Response
from cardgen.physics.grid import PLACES, PLACES_M
from cardgen.profile.belief import LANE, UNKNOWNS, Belief
from cardgen.profile.bowler import Bowler, KnownLine
from cardgen.profile.fitted import REACH
from cardgen.shotlog.shot import Shot
from cardgen.targeting.evidence import Evidence, Throw, answers_to, evidence_of, expected_of
from cardgen.targeting.laplace import Posterior, laplace
from cardgen.targeting.likelihood import ShotLikelihood
from cardgen.targeting.lines import lines_of

SPREAD_LOG_SD = np.array([0.35, 0.5, 0.35])
"""How far launch, laydown and speed may stray more or less than the profile says, as logarithms
(assumptions; the levels of the accuracy test are a quarter to a half apart)."""
OF_THE_DAY = 0.5
"""So much of the variance of what is not known of a lane is that day's alone (an assumption)."""
_MOSTLY_MADE = 0.5
_UNBELIEVED = 4.0
"""Over two half windows off (an assumption): a gap wrong by 5 boards is 3 for a corner pin."""
_ROUNDS = 15
_WHOLE_STEPS = 4
_SETTLED = 0.02  # deviations: nobody could tell


@dataclass(frozen=True, eq=False)
class Fit:
    """What lines and shots say of a bowler.

    ``thrown`` is what is believed of the bowler, and of the lanes as they were when he threw;
    ``belief`` is the same for another day, whose lane is never quite those. Both count from the
    numbers of the profile. ``spread`` is what shots are expected to
    stray, ``spread_log_sd`` (3,) how sure that is of launch, laydown and speed. ``believed`` are
    the known lines used, and those that cannot be checked: no place is good enough for their leaves
    to tell where they ought to arrive. ``wild`` are the shots whose readings say nothing. One that
    has not ``settled`` is of shots that contradict each other, and not to be relied on.
    """

    belief: Belief
    thrown: Belief
    spread: Spread
    spread_log_sd: FloatArray
    believed: tuple[KnownLine, ...] = ()
    wild: tuple[int, ...] = ()
    settled: bool = True

    @property
    def lines_used(self) -> int:
        """How many known lines it rests on."""
        return self.belief.lines


def fit_bowler(bowler: Bowler, deck: PinDeck, shots: Sequence[Shot] = ()) -> Fit:
    """Return what the bowler's known lines and ``shots`` say of him and his lane.

    The profile's numbers are normal priors. A trusted line is taken to arrive anywhere in a window
    of its leave with equal chance, so about the window's middle with its uniform deviation. Lines
    for leaves that are made less than half the time at best are left out, and so are lines that by
    the profile's numbers come in farther off than any stance explains: a slip of the pen must not
    bend the whole chart.
    """
    trusted, believed = _trusted(bowler, deck)
    evidence = evidence_of(bowler, shots)
    answers = answers_to(bowler, deck, evidence.throws)
    point = np.zeros(len(UNKNOWNS) + (len(SPREAD_LOG_SD) if shots else 0))
    found, sane, moved = Posterior(point, np.eye(point.size), 0.0), np.ones(0), 0.0
    for round_ in range(_ROUNDS if trusted or shots else 0):
        problem = _Problem(bowler, point, trusted, evidence, answers)
        found = laplace(problem.objective, point)
        moved = float(np.abs(found.mean - point).max())
        sane = problem.sane(found.mean)
        if moved < _SETTLED:
            break
        # Where the model bends, whole steps may lead to and fro.
        point = found.mean if round_ < _WHOLE_STEPS else (point + found.mean) / 2
    fit = _fit_of(bowler, found, shots, sane[evidence.of_shot], believed, len(trusted))
    return replace(fit, settled=moved < _SETTLED)


def remembered(bowler: Bowler, deck: PinDeck) -> Fit:
    """Return the last fit that the bowler's profile tells of, else one to his known lines alone."""
    last = bowler.learned
    if last is None:
        return fit_bowler(bowler, deck)
    _, believed = _trusted(bowler.believing(last.belief), deck)
    return Fit(last.belief, last.belief, last.spread, SPREAD_LOG_SD, believed)


def believing(bowler: Bowler, fit: Fit) -> Bowler:
    """Return the bowler as ``fit`` has him."""
    return replace(bowler.believing(fit.belief), spread=fit.spread)


def _fit_of(
    bowler: Bowler,
    found: Posterior,
    shots: Sequence[Shot],
    sane: FloatArray,
    believed: tuple[KnownLine, ...],
    lines: int,
) -> Fit:
    known = len(UNKNOWNS)
    mean = _within_reach(bowler, bowler.unsure @ found.mean[:known])
    covariance = bowler.unsure @ found.covariance[:known, :known] @ bowler.unsure.T
    thrown = Belief(mean, covariance, len(shots), lines)
    # Undated shots are of one day. Lines that a bowler trusts have served on many.
    days = float(len({shot.date for shot in shots})) if shots else math.inf
    belief = for_another_day(bowler, thrown, days)
    if not shots:
        return Fit(belief, thrown, bowler.spread, SPREAD_LOG_SD, believed)
    variance = np.diagonal(found.covariance)[known:]
    # Not sure how far shots stray, they stray more than the likeliest value has it: the mean square
    # over a log-normal.
    more = np.exp(found.mean[known:] + variance)
    launch, laydown, speed = (_spread_of(bowler) * more).tolist()
    spread = replace(bowler.spread, launch_rad=launch, laydown_m=laydown, speed_mps=speed)
    wild = tuple(np.flatnonzero(sane < 0.5).tolist())
    return Fit(belief, thrown, spread, np.sqrt(variance), believed, wild)


def for_another_day(bowler: Bowler, thrown: Belief, days: float) -> Belief:
    """Return what is believed for a day whose lane differs from those of so many ``days``.

    Of what is not known of a lane, the part ``OF_THE_DAY`` is drawn anew each day, and the rest is
    the house's. The mean over some days tells the house's part as far as the days' parts cancel;
    where nothing was learned, all of the doubt stays.
    """
    house = 1 - OF_THE_DAY
    kept = house / (house + OF_THE_DAY / days)
    lane = np.array([name in LANE for name in UNKNOWNS])
    share = np.where(lane, kept, 1.0)
    first, now = (bowler.unsure**2).sum(axis=1), np.diagonal(thrown.covariance)
    anew = first - kept * house * (first - now) - kept**2 * now
    covariance = thrown.covariance * np.outer(share, share)
    return replace(
        thrown, mean=thrown.mean * share, covariance=covariance + np.diag(np.where(lane, anew, 0.0))
    )


def _within_reach(bowler: Bowler, mean: FloatArray) -> FloatArray:
    """Return ``mean`` with numbers that a body can have and the engine can follow."""
    scale = np.where(bowler.scale > 0, bowler.scale, np.inf)
    least, most = ((end - bowler.said) / scale for end in REACH.T)
    return np.where(bowler.scale > 0, np.clip(mean, least, most), mean)


def _trusted(
    bowler: Bowler, deck: PinDeck
) -> tuple[dict[KnownLine, Response], tuple[KnownLine, ...]]:
    """Return the known lines to fit to with their leaves' responses, and those to believe."""
    answers = {
        line: deck.response(bowler.inside(line.leave), bowler.ball(line.ball).ball.mass_kg)
        for line in bowler.known_lines
    }
    checked = {line: r for line, r in answers.items() if r.smooth.max() >= _MOSTLY_MADE}
    trusted = {}
    for line, response in checked.items():
        arrives = _arrival(bowler, line, response.leave)
        if abs(_miss(response, *arrives)[0]) < _UNBELIEVED:
            trusted[line] = response
    return trusted, tuple(line for line in answers if line in trusted or line not in checked)


def _arrival(bowler: Bowler, line: KnownLine, leave: Leave) -> tuple[float, float]:
    path = lines_of(bowler, bowler.ball(line.ball), line.stand, line.target).path(
        [leave.front_row_m]
    )
    return float(path.x_m[0, 0]), float(path.angle_rad[0, 0])


def _miss(response: Response, x_m: float, angle_rad: float) -> tuple[float, float]:
    """Return how far an arrival is from its window's middle, in deviations, and what one is [m].

    Of a leave that is made from several sides, the window is the one it misses least. Infinite for
    a ball that never comes to the pins.
    """
    if not math.isfinite(x_m):
        return math.inf, 1.0
    left, right = response.window(PLACES_M, np.full(PLACES, angle_rad))
    good = right > left
    if not good.any():
        return math.inf, 1.0
    middle, deviation = (left + right)[good] / 2, (right - left)[good] / 2 / math.sqrt(3)
    misses = (x_m - middle) / deviation
    nearest = int(np.abs(misses).argmin())
    return float(misses[nearest]), float(deviation[nearest])


class _Problem:
    """The negative log posterior about a point, the model linear there in the unknowns.

    A point (k,) or (k + 3,) has what the unknowns are made of, independent and of deviation one
    before the first shot (see ``Bowler.unsure``), and, if there are shots, by how much the
    logarithms of the spread are more than the profile's.
    """

    def __init__(
        self,
        bowler: Bowler,
        point: FloatArray,
        trusted: Mapping[KnownLine, Response],
        evidence: Evidence,
        answers: Mapping[tuple[str, Leave], Response],
    ) -> None:
        known = len(UNKNOWNS)
        self._root, self._more = bowler.unsure, point.size - known
        mean = self._root @ point[:known]
        moved = bowler.believing(Belief(mean, np.eye(known)))
        spread = bowler.spread
        self._log_spread = np.log(_spread_of(bowler))
        self._misses, self._by_unknown = _line_misses(moved, trusted)
        self._misses = self._misses - self._by_unknown @ mean
        self._shots: ShotLikelihood | None = None
        if self._more:
            here = expected_of(moved, evidence.throws, answers, spread)
            seen = here.seen - here.by_unknown @ mean
            self._shots = ShotLikelihood(replace(here, seen=seen), evidence.sightings)

    def objective(self, point: FloatArray) -> tuple[float, FloatArray]:
        known = len(UNKNOWNS)
        made_of, more = point[:known], point[known:]
        unknowns = self._root @ made_of
        misses = self._misses + self._by_unknown @ unknowns
        value = (made_of @ made_of + misses @ misses) / 2
        by_unknown, by_spread = misses @ self._by_unknown, np.zeros(more.size)
        if self._shots is not None:
            log_spread = self._log_spread + more
            value += ((more / SPREAD_LOG_SD) ** 2).sum() / 2
            likely, by = self._shots.value(unknowns, log_spread)
            value -= likely
            by_unknown -= by[:known]
            by_spread = more / SPREAD_LOG_SD**2 - by[known:]
        return float(value), np.concatenate([made_of + by_unknown @ self._root, by_spread])

    def sane(self, point: FloatArray) -> FloatArray:
        """Return how sure (sightings,) it is that a shot was not a wild one."""
        if self._shots is None:
            return np.ones(0)
        known = len(UNKNOWNS)
        return self._shots.sane(self._root @ point[:known], self._log_spread + point[known:])


_LEAST_SPREAD = np.array([1e-4, 1e-3, 1e-2])  # a profile may say that nothing strays


def _spread_of(bowler: Bowler) -> FloatArray:
    """Return how far launch, laydown and speed stray by the profile, (3,), never nought."""
    said = bowler.spread
    strays = np.array([said.launch_rad, said.laydown_m, said.speed_mps])
    return np.asarray(np.maximum(strays, _LEAST_SPREAD), np.float64)


def _line_misses(
    bowler: Bowler, trusted: Mapping[KnownLine, Response]
) -> tuple[FloatArray, FloatArray]:
    """Return how far trusted lines arrive from where they should, (n,), and by unknown (n, k)."""
    misses, slopes = np.zeros(len(trusted)), np.zeros((len(trusted), len(UNKNOWNS)))
    throws = [
        Throw(line.ball, line.stand, line.target, response.leave)
        for line, response in trusted.items()
    ]
    answers = {(t.ball, t.leave): r for t, r in zip(throws, trusted.values(), strict=True)}
    if not throws:
        return misses, slopes
    expected = expected_of(bowler, throws, answers, bowler.spread)
    for i, (throw, angle) in enumerate(zip(throws, expected.angle_rad, strict=True)):
        response = answers[throw.ball, throw.leave]
        misses[i], deviation_m = _miss(response, expected.seen[i, 1], float(angle))
        slopes[i] = expected.by_unknown[i, 1] / deviation_m
    return misses, slopes
