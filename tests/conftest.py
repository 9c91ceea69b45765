"""Fixtures for the whole suite: a bowler built as the engine sees him, without a profile file."""

import os
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import settings

from cardgen.cards.words import Words, load_words
from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.spread import PRESETS, Spread
from cardgen.delivery.stance import StandHabits
from cardgen.fitting import fitting_of
from cardgen.lane.condition import Grip, OiledLane
from cardgen.lane.film import FilmMap
from cardgen.lane.geometry import BOARD_M, Hand, Sights
from cardgen.lane.rack import Leave
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.belief import LANE, UNKNOWNS
from cardgen.profile.bowler import BallChoice, Bowler, KnownLine, scale_of
from cardgen.profile.loader import find_profile
from cardgen.profile.writing import with_section
from cardgen.shotlog.reading import read_log
from cardgen.units import DEGREE_RAD, FOOT_M, INCH_M, MPH_MPS, POUND_KG, RPM_RADPS

# No deadline: the first call of a test imports scipy. The same examples in every run, so that a red
# suite stays red until somebody mends it.
settings.register_profile("suite", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("suite")

for _variable in [name for name in os.environ if name.startswith("CARDGEN_")]:
    del os.environ[_variable]  # what its owner is used to is not what is tested

LOGS = {"ilse-marchetti": "ilse-marchetti.csv", "wren-skobernik": "wren-skobernik.yaml"}
"""The log of each demo bowler."""

ZONES = OiledLane(
    FilmMap.flooded(40 * FOOT_M),
    {"plastic": Grip(0.04, 0.12), "urethane": Grip(0.04, 0.16), "reactive": Grip(0.04, 0.20)},
    screen_m=0.3e-6,
)
"""Oil to 40 ft that hides the lane altogether, then none: known exactly."""


def _ball_choice(
    name: str,
    rg_in: float,
    mph: float,
    rpm: float,
    rotation_deg: float,
    tilt_deg: float,
    cover: str,
    lane: OiledLane,
) -> BallChoice:
    return BallChoice(
        name,
        Ball(STANDARD_RADIUS_M, rg_in * INCH_M, 14 * POUND_KG),
        mph * MPH_MPS,
        rpm * RPM_RADPS,
        rotation_deg * DEGREE_RAD,
        tilt_deg * DEGREE_RAD,
        cover,
        lane.friction(cover),
    ).on(lane)


def _make_bowler(
    *,
    hand: Hand = Hand.RIGHT,
    rotation_deg: float = 5.0,
    known: Sequence[tuple[str, float, float]] = (),
    known_ball: str = "spare",
    spread: str | Spread = "league",
    gap_boards: float = 5.0,
    distance_ft: float = 13.0,
    walk: float = 1.0,
    drift_boards: float = 0.0,
    habits_given: bool = False,
    unsure: bool = False,
    half_boards: bool = False,
    stand_boards: tuple[int, int] = (1, 39),
    sights: Sights | None = None,
    lane: OiledLane = ZONES,
) -> Bowler:
    seen = lane.seen_by(hand)
    return Bowler(
        name="Demo",
        hand=hand,
        style="one-handed",
        habits=StandHabits(
            distance_ft * FOOT_M, gap_boards * BOARD_M, walk, drift_boards * BOARD_M
        ),
        stand_boards=stand_boards,
        step=0.5 if half_boards else 1.0,
        spread=PRESETS[spread] if isinstance(spread, str) else spread,
        balls=(
            _ball_choice("spare", 2.72, 17, 120, rotation_deg, 10, "plastic", seen),
            _ball_choice("strike", 2.50, 16, 280, 50, 12, "reactive", seen),
        ),
        lane=seen,
        sights=Sights() if sights is None else sights,
        known_lines=tuple(
            KnownLine(Leave.parse(leave), stand, target, known_ball)
            for leave, stand, target in known
        ),
        scale=scale_of(dict.fromkeys(UNKNOWNS, habits_given), seen),
        unsure=np.eye(len(UNKNOWNS)) if unsure else np.diag([float(n in LANE) for n in UNKNOWNS]),
    )


@pytest.fixture(scope="session")
def make_bowler() -> Callable[..., Bowler]:
    """A factory of bowlers: plastic spare ball and reactive strike ball on oil to 40 ft.

    ``known`` holds (leave, stand, target); ``spread`` is a preset's name or a spread. Unless he is
    ``unsure``, only the lane may be other than it is said to be.
    """
    return _make_bowler


@pytest.fixture(scope="session")
def words() -> Words:
    """The English words."""
    return load_words("en")


@pytest.fixture(scope="session")
def demos(words: Words) -> dict[str, Job]:
    """The print jobs of the demo bowlers, right-handed and left-handed."""
    return {name: job_of(open_profile(find_profile(name)).loaded, words) for name in LOGS}


@pytest.fixture(scope="session")
def job_from(words: Words, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Job]:
    """Return a function from the text of a profile, and other words, to its print job."""
    folder = tmp_path_factory.mktemp("profiles")

    def made(text: str, other: Words | None = None) -> Job:
        path = folder / f"{len(list(folder.iterdir()))}.yaml"
        path.write_text(text, encoding="utf-8")
        return job_of(open_profile(path).loaded, other or words)

    return made


@pytest.fixture(scope="session")
def fitted(words: Words, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Job]:
    """The print jobs of the demo bowlers once their logs of shots have been fitted."""
    folder = tmp_path_factory.mktemp("fitted")
    jobs = {}
    for name, log in LOGS.items():
        source = find_profile(name)
        path = folder / f"{name}.yaml"
        path.write_bytes(source.read_bytes())
        shots = read_log(source.parent / "shots" / log).shots
        fitting = fitting_of(open_profile(path).loaded, shots, words)
        assert fitting is not None
        path.write_bytes(with_section(path, fitting.section()))
        jobs[name] = job_of(open_profile(path).loaded, words)
    return jobs
