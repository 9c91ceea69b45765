"""What shots and known lines say, set against what a bowler's numbers lead to expect."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import BOARD_M, EDGE_M, FloatArray, IndexArray, board_x_m
from cardgen.lane.rack import Leave, pin_x_m, pin_y_m
from cardgen.physics.deck import PinDeck, Response, rows_at, windows
from cardgen.physics.grid import PLACES_M
from cardgen.profile.belief import UNKNOWNS, at
from cardgen.profile.bowler import Bowler
from cardgen.shotlog.shot import Result, Shot
from cardgen.targeting.likelihood import (
    GUTTER_LEFT,
    GUTTER_RIGHT,
    HIT,
    LEFT,
    MISS,
    RIGHT,
    SEEN,
    STRAYS,
    UNTOLD,
    Expected,
    Sightings,
)
from cardgen.targeting.lines import LineSet, lines_of
from cardgen.targeting.unknowns import moved_by_unknowns
from cardgen.units import MPH_MPS

_SIDES = {Result.LEFT: -1, Result.RIGHT: 1}
_CODES = {Result.HIT: HIT, Result.MISS: MISS, Result.LEFT: LEFT, Result.RIGHT: RIGHT}
_ERRORS = ("launch_rad", "x_m", "speed_mps")  # of a release, as STRAYS has them
_NOTHING = -1e9  # no place and no speed
_ARROWS, _ARRIVE, _SPEED = range(len(SEEN))


@dataclass(frozen=True, order=True)
class Throw:
    """A line thrown at a leave; the leave is in the inside frame."""

    ball: str
    stand: float
    target: float
    leave: Leave


@dataclass(frozen=True, eq=False)
class Evidence:
    """Shots as the engine sees them: the throws, what was seen, and which sighting each shot is."""

    throws: tuple[Throw, ...]
    sightings: Sightings
    of_shot: IndexArray


def evidence_of(bowler: Bowler, shots: Sequence[Shot]) -> Evidence:
    """Return what ``shots`` say; those of which the same was seen are counted together."""
    threw = [Throw(s.ball, s.stand, s.target, bowler.inside(s.leave)) for s in shots]
    throws = sorted(set(threw))
    rows = np.array(
        [
            [throws.index(throw), *_seen(bowler, shot, throw), _outcome(bowler, shot, throw)]
            for shot, throw in zip(shots, threw, strict=True)
        ]
    ).reshape(len(shots), 2 + len(SEEN))
    # Nothing seen is alike too, though no two values that are no numbers are equal.
    alike, of_shot, times = np.unique(
        np.nan_to_num(rows, nan=_NOTHING), axis=0, return_inverse=True, return_counts=True
    )
    sightings = Sightings(
        alike[:, 0].astype(np.intp),
        np.where(alike[:, 1:-1] == _NOTHING, np.nan, alike[:, 1:-1]),
        alike[:, -1].astype(np.intp),
        times.astype(np.float64),
    )
    return Evidence(tuple(throws), sightings, of_shot.ravel())


def _seen(bowler: Bowler, shot: Shot, throw: Throw) -> list[float]:
    seen = [np.nan] * len(SEEN)
    if shot.arrows is not None:
        seen[_ARROWS] = float(board_x_m(shot.arrows))
    arrive_m = _arrive_m(bowler, shot, throw)
    if arrive_m is not None and abs(arrive_m) < EDGE_M:
        seen[_ARRIVE] = arrive_m
    if shot.speed_mph is not None:
        seen[_SPEED] = shot.speed_mph * MPH_MPS
    return seen


def _arrive_m(bowler: Bowler, shot: Shot, throw: Throw) -> float | None:
    """Return where a shot was seen at the pins, beyond the edge if it was in the gutter."""
    if shot.arrive is not None:
        return float(board_x_m(shot.arrive))
    if shot.off_boards is None or shot.result is None:
        return None
    side = _SIDES[shot.result] * bowler.hand.mirror
    (front,) = (pin for pin in throw.leave if pin_y_m(pin) == throw.leave.front_row_m)
    return pin_x_m(front) + side * shot.off_boards * BOARD_M


def _outcome(bowler: Bowler, shot: Shot, throw: Throw) -> int:
    """Return the code of what came of a shot, unless where it arrived tells that already."""
    arrive_m = _arrive_m(bowler, shot, throw)
    if arrive_m is not None and abs(arrive_m) >= EDGE_M:
        return GUTTER_RIGHT if arrive_m > 0 else GUTTER_LEFT
    if shot.result is None or arrive_m is not None:
        return UNTOLD
    code = _CODES[shot.result]
    if bowler.hand.mirror < 0:  # left and right are the bowler's
        code = {LEFT: RIGHT, RIGHT: LEFT}.get(code, code)
    return code


def answers_to(
    bowler: Bowler, deck: PinDeck, throws: Sequence[Throw]
) -> dict[tuple[str, Leave], Response]:
    """Return what the leaves of ``throws`` answer to the balls thrown, by ball and leave."""
    return {
        (ball.name, response.leave): response
        for ball in bowler.balls
        for response in deck.responses(
            sorted({throw.leave for throw in throws if throw.ball == ball.name}), ball.ball.mass_kg
        )
    }


def expected_of(
    bowler: Bowler,
    throws: Sequence[Throw],
    answers: Mapping[tuple[str, Leave], Response],
    spread: Spread,
) -> Expected:
    """Return what ``throws`` of ``bowler`` lead to expect; unknowns count from what he is.

    ``answers`` are the responses by ball and leave; slopes are mean ones over ``spread``.
    """
    count, known = len(throws), len(UNKNOWNS)
    expected = Expected(
        np.zeros((count, len(SEEN))),
        np.zeros((count, len(SEEN), known)),
        np.zeros((count, len(SEEN), len(STRAYS))),
        np.zeros((count, PLACES_M.size)),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count),
    )
    for ball in bowler.balls:
        which = np.array([i for i, throw in enumerate(throws) if throw.ball == ball.name], np.intp)
        if not which.size:
            continue
        mine = [throws[i] for i in which]
        lines = lines_of(bowler, ball, [t.stand for t in mine], [t.target for t in mine])
        rows = np.array([[throw.leave.front_row_m] for throw in mine])
        path = lines.path(rows)
        slopes = _slopes(lines, rows, spread)
        by = {name: slopes[..., k] for k, name in enumerate(_ERRORS)}
        expected.seen[which] = np.column_stack(
            [lines.target_x_m, path.x_m[:, 0], np.full(which.size, ball.speed_mps)]
        )
        speed = at(f"{ball.name}_speed")
        expected.by_unknown[which, _ARROWS, at("aim")] = bowler.scale[at("aim")]
        expected.by_unknown[which, _ARRIVE] = moved_by_unknowns(lines, rows, by)[:, 0, 0]
        expected.by_unknown[which, _SPEED, speed] = bowler.scale[speed]
        expected.by_stray[which, _ARROWS, 0] = 1 / lines.launch_by_target
        expected.by_stray[which, _ARROWS, 1] = 1.0
        expected.by_stray[which, _ARRIVE] = slopes[:, 0, 0]
        expected.by_stray[which, _SPEED, 2] = 1.0
        rev_radps = spread.rev_fraction * ball.rev_radps
        by_rev = lines.slope_by(rows, ["rev_radps"], [rev_radps])[:, 0, 0, 0]
        expected.rest_m2[which] = (by_rev * rev_radps) ** 2
        for i, throw, angle in zip(which, mine, path.angle_rad[:, 0], strict=True):
            answer = answers[ball.name, throw.leave]
            chance, smooth = (
                rows_at(cells[None], np.zeros(1, np.intp), np.array([angle]))
                for cells in (answer.chance, answer.smooth)
            )
            left, right = windows(smooth, PLACES_M[smooth.argmax(axis=1)])
            expected.angle_rad[i] = angle
            expected.chance[i] = chance[0]
            expected.split_m[i] = (left[0] + right[0]) / 2
    return expected


def _slopes(lines: LineSet, rows_m: FloatArray, spread: Spread) -> FloatArray:
    """Return what launch, laydown and speed move at a row of each line's own, (n, 1, 2, 3)."""
    sizes = (spread.launch_rad, spread.laydown_m, spread.speed_mps)
    return lines.slope_by(rows_m, _ERRORS, sizes)
