"""The pin deck as rigid bodies: deck, gutters, side partitions, cushion, pit, pins and ball.

The model is written once for a leave and a ball; what a run draws (restitution, friction) is set
in place. x to the right of the lane's middle, y down-lane from the foul line, z up from the deck.
"""

from dataclasses import dataclass

import mujoco
import numpy as np

from cardgen.delivery.ball import Ball
from cardgen.lane.geometry import EDGE_M, GUTTER_M, HEAD_PIN_M, LANE_END_M, FloatArray
from cardgen.lane.rack import Leave, pin_x_m, pin_y_m
from cardgen.physics.build_atlas.contactlaw import Spring
from cardgen.physics.build_atlas.pinmodel import BASE_RADIUS_M, PIN_MASS_KG, PinBody, pin_body
from cardgen.units import INCH_M, STANDARD_GRAVITY_MPS2

DECK_END_M = LANE_END_M + 2 * INCH_M
"""Lane end and a tail plank of 2 in (from memory)."""
CUSHION_M = DECK_END_M + 30 * INCH_M
"""Tail plank to rear cushion, about 30 in (from memory)."""
PARTITION_M = EDGE_M + GUTTER_M
"""Middle of the lane to a side partition: they stand beyond the gutters."""
GUTTER_DEPTH_M = 3.5 * INCH_M
"""Depth of the flat gutters beside the deck (from memory)."""
PIT_DEPTH_M = 3.75 * INCH_M
"""Deck to the floor of the pit (from memory)."""
UP_LANE_M = HEAD_PIN_M - 2.5
"""Where the modelled piece of lane begins."""
WALL_HEIGHT_M = 1.0
"""Height of partitions and cushion; no pin of these runs flies over them."""

HARD_S, HARD_STEP_S = 1.0e-3, 1.0e-4
"""Contact duration and step of the first, fast part of a run."""
SOFT_S, SOFT_STEP_S = 4.0e-3, 4.0e-4
"""The same when only slow pins are left, and the duration of contacts with the surroundings."""
CRAWL_S, CRAWL_STEP_S = 10.0e-3, 1.0e-3
"""The same when what still moves lies on the deck or in a gutter and rolls."""
_SLIP_PER_CONTACT = 2.0  # slip lost in a contact's duration at most, as a rate; see the tests
_IMPEDANCE, _NO_DEPTH_M = 0.99, 1e-7
# A hanging curtain that takes nearly all of a pin's speed. In the solver's standard format, time
# constant [s] and damping ratio: direct damping that strong would throw bodies back. Its impedance
# is low, so that it gives way when something harder pushes a pin into it; as an almost rigid
# constraint it would answer with energy from nowhere.
_CUSHION_SOLREF = (0.02, 2.0)
_CUSHION_IMPEDANCE = 0.1
_TWIST_M, _ROLLING_M = 1e-3, 1e-3  # resistance of a lying pin to twisting and rolling (assumed)

# Collision classes: the plane pins stand on, whatever else is fixed, pins, and the ball to pins.
_DECK, _GROUND, _PIN, _BALL = 1, 2, 4, 8


@dataclass(frozen=True)
class Surfaces:
    """What nobody publishes of a deck, and each run therefore draws: e restitution, mu friction."""

    ball_pin_e: float
    pin_pin_e: float
    partition_e: float
    ball_pin_mu: float
    pin_pin_mu: float
    deck_mu: float
    lane_mu: float


def _box(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> str:
    middle = " ".join(f"{(a + b) / 2:.6f}" for a, b in zip(low, high, strict=True))
    half = " ".join(f"{(b - a) / 2:.6f}" for a, b in zip(low, high, strict=True))
    return (
        f'<geom name="{name}" type="box" pos="{middle}" size="{half}" '
        f'contype="{_GROUND}" conaffinity="0" priority="1" condim="6"/>'
    )


def _surroundings() -> str:
    thick, floor = 0.3, -0.6
    back = CUSHION_M + thick
    wall = PARTITION_M + thick
    parts = [
        _box("deck", (-EDGE_M, UP_LANE_M, floor), (EDGE_M, DECK_END_M, 0.0)),
        _box("cushion", (-wall, CUSHION_M, floor), (wall, back, WALL_HEIGHT_M)),
        _box("pit", (-PARTITION_M, DECK_END_M, floor), (PARTITION_M, back, -PIT_DEPTH_M)),
    ]
    for side, sign in (("left", -1), ("right", 1)):
        inner, outer = sorted((sign * EDGE_M, sign * PARTITION_M))
        parts.append(
            _box(f"{side}_gutter", (inner, UP_LANE_M, floor), (outer, DECK_END_M, -GUTTER_DEPTH_M))
        )
        inner, outer = sorted((sign * PARTITION_M, sign * wall))
        parts.append(
            _box(f"{side}_partition", (inner, UP_LANE_M, floor), (outer, back, WALL_HEIGHT_M))
        )
    parts.append(
        '<geom name="base_plane" type="plane" condim="3" size="0 0 1" priority="1" '
        f'contype="{_DECK}" conaffinity="0"/>'
    )
    return "\n".join(parts)


def _pin(number: int, pin: PinBody) -> str:
    # Turned by 90 degrees, a pin shows a mirror image of the deck its own mirror image: the solver
    # tries points of the base's rim that lie symmetrically about the body's x axis.
    spheres = "\n".join(
        f'<geom name="pin{number}_{k}" type="sphere" pos="0 0 {h - pin.cg_m:.9f}" size="{r:.9f}" '
        f'contype="{_PIN}" conaffinity="{_GROUND | _PIN | _BALL}"/>'
        for k, (h, r) in enumerate(zip(pin.sphere_height_m, pin.sphere_radius_m, strict=True))
    )
    half = 0.25 * INCH_M
    return f"""
<body name="pin{number}" pos="{pin_x_m(number):.9f} {pin_y_m(number):.9f} {pin.cg_m:.9f}"
      euler="0 0 90" sleep="init">
<freejoint/>
<inertial pos="0 0 0" mass="{PIN_MASS_KG:.9f}" diaginertia="{pin.transverse_inertia_kgm2:.12f}
 {pin.transverse_inertia_kgm2:.12f} {pin.axial_inertia_kgm2:.12f}"/>
{spheres}
<geom name="base{number}" type="cylinder" pos="0 0 {half - pin.cg_m:.9f}"
      size="{BASE_RADIUS_M:.9f} {half:.9f}" contype="0" conaffinity="{_DECK}"/>
</body>"""


def mjcf(leave: Leave, ball: Ball) -> str:
    """Return the model of ``leave`` and ``ball`` as MJCF, surfaces not yet set."""
    pin = pin_body()
    inertia = ball.kappa * ball.mass_kg * ball.radius_m**2
    impedance = f"{_IMPEDANCE} {_IMPEDANCE} 0.001 0.5 1"
    return f"""
<mujoco model="pin deck">
<compiler autolimits="true" boundmass="0" boundinertia="0"/>
<option timestep="{HARD_STEP_S}" gravity="0 0 {-STANDARD_GRAVITY_MPS2}" integrator="Euler"
        cone="elliptic" impratio="30" solver="Newton" iterations="30" tolerance="1e-8">
<flag sleep="enable" diagexact="enable" autoreset="disable"/>
</option>
<default>
<geom condim="3" solimp="{impedance}"/>
</default>
<worldbody>
{_surroundings()}
<body name="ball" pos="0 {UP_LANE_M + 0.5} {ball.radius_m:.9f}" sleep="never">
<freejoint/>
<inertial pos="0 0 0" mass="{ball.mass_kg:.9f}" diaginertia="{inertia:.12f} {inertia:.12f}
 {inertia:.12f}"/>
<geom name="ball" type="sphere" size="{ball.radius_m:.9f}" contype="0" conaffinity="{_GROUND}"
      priority="2"/>
<geom name="striker" type="sphere" size="{ball.radius_m:.9f}" contype="{_BALL}" conaffinity="0"
      priority="3"/>
</body>
{"".join(_pin(p, pin) for p in leave.pins)}
</worldbody>
</mujoco>"""


class RackWorld:
    """One leave and one ball, ready to be run again and again with other surfaces.

    ``spots_m`` (pins, 2) are the pins' places on a perfect rack.
    """

    def __init__(self, leave: Leave, ball: Ball) -> None:
        self.leave = leave
        self.ball = ball
        self.pin = pin_body()
        # A run that breaks is found by its numbers; the solver need not write a file about it.
        mujoco.set_mju_user_warning(lambda _text: None)
        self.model = mujoco.MjModel.from_xml_string(mjcf(leave, ball))
        self.data = mujoco.MjData(self.model)
        self.spots_m = np.array([(pin_x_m(p), pin_y_m(p)) for p in leave.pins])
        model = self.model
        self.base_geoms = np.array([model.geom(f"base{p}").id for p in leave.pins])
        self._ball_geom = model.geom("ball").id
        self._fixed_geoms = model.geom_bodyid == 0
        self._cushion = model.geom("cushion").id
        self._striker = model.geom("striker").id
        self._pin_geoms = model.geom_contype == _PIN
        self._surfaces: Surfaces | None = None
        self._step_scale = 1.0

    def reset(self, surfaces: Surfaces, spots_m: FloatArray, step_scale: float = 1.0) -> None:
        """Stand the pins on ``spots_m`` (pins, 2), asleep, and make ready for the fast part.

        ``step_scale`` shrinks every time step, for a run that has to be done again.
        """
        model = self.model
        self._surfaces = surfaces
        self._step_scale = step_scale
        around = Spring.of(surfaces.partition_e, SOFT_S).solref
        model.geom_solref[self._fixed_geoms] = around
        model.geom_solref[self._ball_geom] = around
        model.geom_solref[self._cushion] = _CUSHION_SOLREF
        model.geom_solimp[self._cushion, :2] = _CUSHION_IMPEDANCE
        model.geom_friction[self._fixed_geoms] = (surfaces.deck_mu, _TWIST_M, _ROLLING_M)
        model.geom_friction[self._ball_geom, 0] = surfaces.lane_mu  # its condim is 3: it rolls on
        model.geom_friction[self._striker, 0] = surfaces.ball_pin_mu
        model.geom_friction[self._pin_geoms, 0] = surfaces.pin_pin_mu
        model.geom_conaffinity[self.base_geoms] = _DECK
        self.qpos0[7:].reshape(-1, 7)[:, :2] = spots_m
        self._set_contacts(HARD_S, HARD_STEP_S)
        mujoco.mj_resetData(model, self.data)

    def soften(self) -> None:
        """Make ready for the slow part of a run: longer contacts and steps."""
        self._set_contacts(SOFT_S, SOFT_STEP_S)

    def crawl(self) -> None:
        """Make ready for the last part, in which pins lie and roll: longer ones still."""
        self._set_contacts(CRAWL_S, CRAWL_STEP_S)

    def _set_contacts(self, duration_s: float, step_s: float) -> None:
        surfaces = self._surfaces
        if surfaces is None:
            raise RuntimeError("reset the world before use")
        model = self.model
        for geoms, restitution in (
            (self._striker, surfaces.ball_pin_e),
            (self._pin_geoms, surfaces.pin_pin_e),
        ):
            spring = Spring.of(restitution, duration_s)
            model.geom_solref[geoms] = spring.solref
            # The solver divides damping by the impedance of deep contact, but acts on slip with
            # that of no depth: so friction is as brisk as it should be, whatever the damping.
            deep = spring.damping_ps * duration_s / _SLIP_PER_CONTACT
            model.geom_solimp[geoms, :3] = (_IMPEDANCE, deep, _NO_DEPTH_M)
        self.set_step(step_s)

    def set_step(self, step_s: float) -> None:
        """Set the time step [s], shrunk if this run is being done again."""
        self.model.opt.timestep = step_s * self._step_scale

    @property
    def qpos0(self) -> FloatArray:
        """The placement the next reset starts from: seven numbers for the ball, then each pin."""
        qpos0: FloatArray = self.model.qpos0
        return qpos0
