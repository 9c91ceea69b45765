"""Fixtures for aiming: answers of leaves made up by hand, lines that arrive at a wanted place."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import ArrayLike

from cardgen.delivery.release import Release
from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.deck import Response
from cardgen.physics.grid import ANGLES, PLACES
from cardgen.profile.bowler import Bowler
from cardgen.targeting.lines import LineSet, lines_of


def _make_response(
    leave: Leave, chance: ArrayLike, count: ArrayLike | None = None, touched: ArrayLike = 0
) -> Response:
    shape = (ANGLES, PLACES)
    cells = np.broadcast_to(np.asarray(chance, np.float64), shape).copy()
    return Response(
        leave,
        chance=cells,
        count=len(leave) * cells
        if count is None
        else np.broadcast_to(np.asarray(count, np.float64), shape).copy(),
        smooth=cells,
        touched=np.broadcast_to(np.asarray(touched, np.uint8), (*shape, 10)),
        estimate=False,
        doubt=0.0,
    )


def _stand_for(bowler: Bowler, target: float, row_m: float, x_m: float) -> float:
    stands: FloatArray = np.arange(-5, 50.01, 0.01)
    arrive = lines_of(bowler, bowler.balls[0], stands, target).path([row_m]).x_m[:, 0]
    return float(stands[np.abs(arrive - x_m).argmin()])


def _drawn_releases(lines: LineSet, spread: Spread, count: int, seed: int) -> Release:
    errors = np.random.default_rng(seed).standard_normal((count, 4))
    laydown, launch, speed, rev = (errors * spread.deviations(lines.ball.rev_radps)).T
    ball = lines.ball
    return Release.of(
        lines.laydown_x_m[0] + laydown,
        lines.launch_rad[0] + launch,
        ball.speed_mps + speed,
        ball.rev_radps + rev,
        ball.rotation_rad,
        ball.tilt_rad,
    )


@pytest.fixture(scope="session")
def drawn_releases() -> Callable[..., Release]:
    """Draw releases of the one line of (lines, spread, count, seed), each with its own errors."""
    return _drawn_releases


@pytest.fixture(scope="session")
def make_response() -> Callable[..., Response]:
    """A factory of answers: (leave, chance, count, touched), broadcast over angles and places.

    Without a count, all pins fall or none do.
    """
    return _make_response


@pytest.fixture(scope="session")
def stand_for() -> Callable[..., float]:
    """Find the stand, to a hundredth of a board, whose spare ball over a target arrives somewhere.

    Called with (bowler, target, row_m, x_m).
    """
    return _stand_for
