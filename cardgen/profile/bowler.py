"""The bowler as the engine sees him: SI units, right-handed, nothing left to look up."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.delivery.release import Release
from cardgen.delivery.spread import PRESETS, Spread
from cardgen.delivery.stance import StandHabits
from cardgen.lane.condition import OiledLane
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import BOARD_M, FloatArray, Hand, Sights
from cardgen.lane.rack import Leave
from cardgen.profile import schema
from cardgen.profile.belief import UNKNOWNS, Belief
from cardgen.profile.fitted import Learned, learned_of
from cardgen.profile.lane import oiled_lane
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import BallName, BallSpec, Style
from cardgen.profile.styles import STYLES, usual_turn
from cardgen.units import DEGREE_RAD, FOOT_M, INCH_M, MPH_MPS, POUND_KG, RPM_RADPS

COVER_RG_IN = {"plastic": 2.72, "urethane": 2.60, "reactive": 2.50}
"""Radius of gyration of a ball of 14 lb and more when the profile does not say (an assumption
within USBC's 2.46 to 2.80)."""
_RG_IN_PER_LB, _HIGHEST_RG_IN = 0.04, 2.75
"""A lighter ball has less of a heavy core, so more of its mass lies outside (an assumption)."""


_SURE = {
    "gap": (0.5 * BOARD_M, 1.5 * BOARD_M),
    "distance": (0.25 * FOOT_M, 1.0 * FOOT_M),
    "walk": (0.1, 0.2),
    "drift": (0.25 * BOARD_M, 0.5 * BOARD_M),
    "aim": (0.3 * BOARD_M, 0.3 * BOARD_M),
    "spare_rotation": (3 * DEGREE_RAD, 6 * DEGREE_RAD),
    "strike_rotation": (5 * DEGREE_RAD, 10 * DEGREE_RAD),
    "spare_speed": (0.3 * MPH_MPS, 1.0 * MPH_MPS),
    "strike_speed": (0.3 * MPH_MPS, 1.0 * MPH_MPS),
}
"""How far each may be from what the bowler says, and from a default: standard deviations. They are
assumptions: a number the bowler wrote was looked at or measured, a default is anybody's."""


_MEASURED = frozenset({"stand.ball_gap_boards"})


@dataclass(frozen=True, eq=False)
class FrictionDoubt:
    """Two lanes between which something unknown of the lane changes by ``deviations`` of it."""

    name: str
    less: FrictionGrid
    more: FrictionGrid
    deviations: float


@dataclass(frozen=True, eq=False)
class BallChoice:
    """One ball in the bag, thrown this bowler's way, on this lane.

    ``doubts``: what else the friction may be, one for each thing unknown of the lane.
    """

    name: str
    ball: Ball
    speed_mps: float
    rev_radps: float
    rotation_rad: float
    tilt_rad: float
    cover: str
    friction: FrictionGrid
    doubts: tuple[FrictionDoubt, ...] = ()

    def release(self, x_m: FloatArray, launch_rad: FloatArray) -> Release:
        """Return this bowler's releases of this ball from laydowns and launch angles (n,)."""
        return Release.of(
            x_m, launch_rad, self.speed_mps, self.rev_radps, self.rotation_rad, self.tilt_rad
        )

    def on(self, lane: OiledLane) -> "BallChoice":
        """Return the same ball, thrown the same way, on ``lane``."""
        return replace(
            self,
            friction=lane.friction(self.cover),
            doubts=tuple(
                FrictionDoubt(
                    name, less.friction(self.cover), more.friction(self.cover), deviations
                )
                for name, less, more, deviations in lane.doubts()
            ),
        )


@dataclass(frozen=True)
class KnownLine:
    """A line the bowler already trusts; the leave is as the bowler sees it."""

    leave: Leave
    stand: float
    target: float
    ball: str


@dataclass(frozen=True, eq=False)
class Bowler:
    """Everything the targeting engine asks about a bowler, his balls and the lane.

    ``aim_m`` is how far from the board looked at the ball crosses it, towards the ball side.
    ``step`` is 1 where lines come in whole boards, 0.5 where the profile asks for halves.
    ``measured``: he has stated a number of his own that tells where his balls go.
    ``learned`` is what a fit found, counted from the numbers here, ``printed`` the lines of the
    chart before it.
    ``scale`` (k,) has the standard deviations of the unknowns before the first shot, in SI units;
    ``unsure`` (k, k) is a root of what is believed of them now, in those.
    """

    name: str
    hand: Hand
    style: str
    habits: StandHabits
    stand_boards: tuple[int, int]
    step: float
    spread: Spread
    balls: tuple[BallChoice, ...]
    lane: OiledLane
    sights: Sights
    known_lines: tuple[KnownLine, ...]
    scale: FloatArray
    aim_m: float = 0.0
    measured: bool = False
    learned: Learned | None = None
    printed: tuple[KnownLine, ...] = ()
    unsure: FloatArray = field(default_factory=lambda: Belief.before().factor)

    def inside(self, leave: Leave) -> Leave:
        """Return ``leave`` in the inside frame: mirrored for a left-hander."""
        return leave if self.hand is Hand.RIGHT else leave.mirrored

    def ball(self, name: str) -> BallChoice:
        """Return the ball called ``name``; KeyError if the bag has none."""
        return {ball.name: ball for ball in self.balls}[name]

    @property
    def said(self) -> FloatArray:
        """What is said here of the unknowns, (k,), in SI units."""
        habits, balls = self.habits, self.balls
        return np.array(
            [
                *(habits.gap_m, habits.distance_m, habits.walk, habits.drift_m, self.aim_m),
                *(ball.rotation_rad for ball in balls),
                *(ball.speed_mps for ball in balls),
                *(0.0, 0.0, 0.0),
            ]
        )

    def believing(self, belief: Belief) -> "Bowler":
        """Return the bowler as ``belief`` has him; its mean counts from what he is here."""
        by = dict(zip(UNKNOWNS, (belief.mean * self.scale).tolist(), strict=True))
        lane = self.lane.changed(
            film=math.expm1(by["film"]), friction=math.expm1(by["friction"]), games=by["games"]
        )
        return replace(
            self,
            habits=StandHabits(
                distance_m=self.habits.distance_m + by["distance"],
                gap_m=self.habits.gap_m + by["gap"],
                walk=self.habits.walk + by["walk"],
                drift_m=self.habits.drift_m + by["drift"],
            ),
            aim_m=self.aim_m + by["aim"],
            lane=lane,
            balls=tuple(
                replace(
                    ball,
                    rotation_rad=ball.rotation_rad + by[f"{ball.name}_rotation"],
                    speed_mps=ball.speed_mps + by[f"{ball.name}_speed"],
                ).on(lane)
                for ball in self.balls
            ),
            unsure=belief.factor,
        )

    def on(self, lane: OiledLane) -> "Bowler":
        """Return the same bowler on another lane; it is in the inside frame."""
        return replace(self, lane=lane, balls=tuple(ball.on(lane) for ball in self.balls))


def bowler_of(loaded: LoadedProfile) -> Bowler:
    """Return the engine's bowler for a loaded profile."""
    profile = loaded.profile
    stand, style = profile.stand, STYLES[profile.style]
    gap = style.ball_gap_boards if stand.ball_gap_boards is None else stand.ball_gap_boards
    given = loaded.given
    lane = oiled_lane(loaded.lane).seen_by(profile.hand)
    bowler = Bowler(
        name=profile.bowler,
        hand=profile.hand,
        style=profile.style,
        habits=StandHabits(
            distance_m=stand.distance_ft * FOOT_M,
            gap_m=gap * BOARD_M,
            walk=stand.walk,
            drift_m=stand.drift_boards * BOARD_M,
        ),
        stand_boards=(stand.boards[0], stand.boards[1]),
        step=0.5 if stand.half_boards else 1.0,
        spread=(
            PRESETS[profile.spread]
            if isinstance(profile.spread, str)
            else Spread.of(**profile.spread.model_dump())
        ),
        balls=(
            _ball_choice("spare", profile.balls.spare, profile.style, lane),
            _ball_choice("strike", profile.balls.strike, profile.style, lane),
        ),
        lane=lane,
        sights=Sights(
            arrows_m=tuple(d * FOOT_M for d in loaded.lane.arrows_ft),
            approach_dots_m=tuple(d * FOOT_M for d in loaded.lane.approach_dots_ft),
        ),
        known_lines=_lines_of(profile.known_lines),
        scale=scale_of(
            {
                "gap": "stand.ball_gap_boards" in given,
                "distance": "stand.distance_ft" in given,
                "walk": "stand.walk" in given,
                "drift": "stand.drift_boards" in given,
                **{
                    f"{ball}_{name}": f"balls.{ball}.{told}" in given
                    for ball in ("spare", "strike")
                    for name, told in (("rotation", "rotation_deg"), ("speed", "speed_mph"))
                },
            },
            lane,
        ),
        measured=bool(given & _MEASURED),
    )
    fitted = profile.fitted
    if fitted is None:
        return bowler
    return replace(
        bowler,
        learned=learned_of(fitted, bowler.said, bowler.scale, bowler.spread),
        printed=_lines_of(fitted.before),
    )


def _lines_of(lines: Sequence[schema.KnownLine]) -> tuple[KnownLine, ...]:
    return tuple(KnownLine(Leave.parse(x.leave), x.stand, x.target, x.ball) for x in lines)


def scale_of(given: Mapping[str, bool], lane: OiledLane) -> FloatArray:
    """Return the standard deviations (k,) of the unknowns before the first shot.

    ``given`` tells of each, by name, whether the bowler stated it; what it leaves out is not.
    """
    doubt = lane.doubt
    of_lane = {"film": doubt.film, "friction": doubt.friction, "games": doubt.games}
    return np.array(
        [
            of_lane[name] if name in of_lane else _SURE[name][not given.get(name, False)]
            for name in UNKNOWNS
        ]
    )


def _ball_choice(name: BallName, spec: BallSpec, style: Style, lane: OiledLane) -> BallChoice:
    turn = usual_turn(style, name, spec.speed_mph)
    rg_in = _usual_rg_in(spec) if spec.rg_in is None else spec.rg_in
    rev_rpm = turn.rev_rpm if spec.rev_rpm is None else spec.rev_rpm
    rotation_deg = turn.rotation_deg if spec.rotation_deg is None else spec.rotation_deg
    tilt_deg = turn.tilt_deg if spec.tilt_deg is None else spec.tilt_deg
    return BallChoice(
        name=name,
        ball=Ball(STANDARD_RADIUS_M, rg_in * INCH_M, spec.weight_lb * POUND_KG),
        speed_mps=spec.speed_mph * MPH_MPS,
        rev_radps=rev_rpm * RPM_RADPS,
        rotation_rad=rotation_deg * DEGREE_RAD,
        tilt_rad=tilt_deg * DEGREE_RAD,
        cover=spec.cover,
        friction=lane.friction(spec.cover),
    ).on(lane)


def _usual_rg_in(spec: BallSpec) -> float:
    lighter_lb = max(14.0 - spec.weight_lb, 0.0)
    return min(COVER_RG_IN[spec.cover] + _RG_IN_PER_LB * lighter_lb, _HIGHEST_RG_IN)
