"""What is simulated: cells of place and angle, and the draws of everything else in each cell.

A cell's draws are a random stratified design, so that a cell says as much as so few runs can: every
quantity falls once into each of sixteen equal parts of its range, and the four that matter most
(two restitutions, two frictions) run through all combinations of their low and high halves.
"""

from dataclasses import asdict, dataclass

import numpy as np

from cardgen.delivery.ball import STANDARD_RADIUS_M, Ball
from cardgen.lane.geometry import EDGE_M, FloatArray, IndexArray
from cardgen.lane.rack import PIN_CONTACT_RADIUS_M, Leave, pin_x_m, pin_y_m
from cardgen.physics.build_atlas.pinfall import Arrival
from cardgen.physics.build_atlas.rackworld import Surfaces
from cardgen.units import DEGREE_RAD, INCH_M, MPH_MPS, POUND_KG

SEED = 20_240_607
DRAWS = 16
CELL_M = 0.5 * INCH_M
"""Width of a cell of place; cell k reaches from k to k + 1 times this, right of the middle."""
ANGLE_STEP_RAD = 2 * DEGREE_RAD
"""Width of a cell of angle; cell j is centred on j times this."""
ANGLE_CELLS = tuple(range(-3, 4))
SPOT_SD_M = 0.04 * INCH_M
"""How far a machine sets a pin off its spot, each way (assumed)."""
RG_M = 2.60 * INCH_M
"""Radius of gyration of both balls (an assumption within USBC's 2.46 to 2.80 in)."""
BALLS = tuple(Ball(STANDARD_RADIUS_M, RG_M, pounds * POUND_KG) for pounds in (11, 15))

RANGES: dict[str, tuple[float, float]] = {
    "pin_pin_e": (0.6, 0.8),
    "ball_pin_e": (0.6, 0.8),
    "ball_pin_mu": (0.05, 0.25),
    "pin_pin_mu": (0.1, 0.3),
    "partition_e": (0.3, 0.6),
    "deck_mu": (0.2, 0.5),
    "lane_mu": (0.1, 0.32),
    "speed_mps": (13 * MPH_MPS, 17 * MPH_MPS),
}
"""Nobody publishes these for a real deck, so each run draws them (assumed ranges; the lane's upper
friction is USBC's limit, 13 to 17 mph is common practice, no source)."""
HALVED = ("pin_pin_e", "ball_pin_e", "ball_pin_mu", "pin_pin_mu")
"""Draw d has the upper half of these where bits 3, 2, 1, 0 of d are set."""


@dataclass(frozen=True)
class Cell:
    """One cell of one leave: ball number, angle cell, place cell, and the round of draws."""

    ball: int
    angle: int
    place: int
    round: int = 0

    def generator(self, leave: Leave) -> np.random.Generator:
        """Return the cell's own random numbers, whatever ran before."""
        mask = sum(1 << (p - 1) for p in leave)
        entropy = (SEED, mask, self.ball, self.angle + 100, self.place + 1000, self.round)
        return np.random.Generator(np.random.PCG64(np.random.SeedSequence(entropy)))


@dataclass(frozen=True, eq=False)
class Draw:
    """One run's input; ``spots_m`` (pins, 2)."""

    arrival: Arrival
    surfaces: Surfaces
    spots_m: FloatArray

    def numbers(self) -> dict[str, float]:
        """Return all but the spots, by name, in SI units."""
        return asdict(self.arrival) | asdict(self.surfaces)


def _strata(rng: np.random.Generator, high: IndexArray | None) -> FloatArray:
    """Return sixteen numbers of 0 to 1, one in each sixteenth, those of ``high`` in the upper half.

    ``high`` (16,) holds 0 or 1, eight of each; None leaves the order to chance.
    """
    if high is None:
        part = rng.permutation(DRAWS)
    else:
        part = np.empty(DRAWS, np.intp)
        for half in (0, 1):
            part[high == half] = half * DRAWS // 2 + rng.permutation(DRAWS // 2)
    return np.asarray((part + rng.random(DRAWS)) / DRAWS, dtype=np.float64)


def cell_draws(leave: Leave, cell: Cell) -> list[Draw]:
    """Return the sixteen runs of ``cell``."""
    rng = cell.generator(leave)
    index = np.arange(DRAWS)
    values: dict[str, FloatArray] = {}
    for name, (low, high) in RANGES.items():
        half = (index >> (3 - HALVED.index(name))) & 1 if name in HALVED else None
        values[name] = low + (high - low) * _strata(rng, half)
    x = (cell.place + _strata(rng, None)) * CELL_M
    angle = (cell.angle - 0.5 + _strata(rng, None)) * ANGLE_STEP_RAD
    spots = np.array([(pin_x_m(p), pin_y_m(p)) for p in leave])
    spots = spots + rng.normal(0.0, SPOT_SD_M, (DRAWS, *spots.shape))
    speed = values.pop("speed_mps")
    return [
        Draw(
            Arrival(float(x[d]), float(angle[d]), float(speed[d])),
            Surfaces(**{name: float(column[d]) for name, column in values.items()}),
            spots[d],
        )
        for d in range(DRAWS)
    ]


def place_cells(leave: Leave) -> range:
    """Return the cells of place from which a ball can touch a pin of ``leave`` at some angle."""
    reach = STANDARD_RADIUS_M + PIN_CONTACT_RADIUS_M + 5 * SPOT_SD_M
    steepest = (max(ANGLE_CELLS) + 0.5) * ANGLE_STEP_RAD
    low, high = np.inf, -np.inf
    for pin in leave:
        behind = pin_y_m(pin) - leave.front_row_m
        aside = reach / np.cos(steepest) + np.tan(steepest) * behind
        low, high = min(low, pin_x_m(pin) - aside), max(high, pin_x_m(pin) + aside)
    # A ball may still be over the gutter at the front row by a steep angle's run to the first pin.
    edge = EDGE_M + np.tan(steepest) * reach
    low, high = max(low, -edge), min(high, edge)
    return range(int(np.floor(low / CELL_M)), int(np.ceil(high / CELL_M)))


def angle_cells(leave: Leave) -> tuple[int, ...]:
    """Return the angle cells to simulate: the left-moving half will do for a symmetric leave."""
    return tuple(a for a in ANGLE_CELLS if a >= 0) if leave.mirrored == leave else ANGLE_CELLS


def representative(leave: Leave) -> Leave:
    """Return the one of ``leave`` and its mirror image that is simulated."""
    return min(leave, leave.mirrored)
