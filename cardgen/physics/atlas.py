"""The atlas of pin action: what simulated balls did to leaves, as one compressed file.

It holds half of the symmetric rack: of a leave and its mirror image the one that comes first. How
it was made stands in its recipe; ``python -m cardgen.physics.build_atlas`` makes it anew.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import PIN_NUMBERS, Leave
from cardgen.physics.archive import npz_bytes, read_npz

NAME = "pin_action.npz"
FACTORS = ("pin_pin_e", "ball_pin_e", "ball_pin_mu", "pin_pin_mu")
"""What the chance of a leave is told apart by: restitutions and frictions.

The sixteen draws of a cell go through all combinations of their lower and upper halves: draw d has
the upper half of the first where bit 3 of d is set, of the last where bit 0 is.
"""


def leave_bits(leave: Leave) -> int:
    """Return ``leave`` as a number with bit p - 1 set for pin p."""
    return sum(1 << (pin - 1) for pin in leave)


def leave_of_bits(bits: int) -> Leave | None:
    """Return the leave of a number with bit p - 1 set for pin p; None if no pin stands."""
    pins = [pin for pin in PIN_NUMBERS if bits >> (pin - 1) & 1]
    return Leave.of(*pins) if pins else None


@dataclass(frozen=True, eq=False)
class Atlas:
    """What is known of n leaves, and of full racks; see :mod:`grid` for angles and places.

    ``pins`` (n,): the leaves as bits. ``solid`` (n,): simulated in 3-D, not estimated.
    ``ball_kg`` (balls,): the masses of the balls, rising. ``made`` (n, balls, angles, places): runs
    of ``draws`` (n,) that took all pins; ``felled``: pins felled by all of them. ``touched`` (n,
    angles, places, 10): how most runs that took all first touched each pin: 0 not told, 1 by the
    ball, 2 by a pin, 3 by one off a partition. ``contrasts`` (n, 15): how much more often a well
    aimed ball made it in the draws d for which d & (k + 1) has an odd number of set bits; so at 7,
    3, 1 and 0 the upper against the lower half of a factor. ``stood`` (balls, angles from nought
    up, places, draws): the pins that full-rack runs left, as bits, at the cells ``rack_places``.
    """

    pins: NDArray[np.uint16]
    solid: NDArray[np.bool_]
    ball_kg: FloatArray
    draws: NDArray[np.uint8]
    made: NDArray[np.uint8]
    felled: NDArray[np.uint16]
    touched: NDArray[np.uint8]
    contrasts: NDArray[np.float32]
    stood: NDArray[np.uint16]
    rack_places: NDArray[np.int16]
    recipe: Mapping[str, Any]

    @cached_property
    def number_of(self) -> Mapping[Leave, int]:
        """The leaves' numbers in the arrays."""
        found = ((leave_of_bits(int(bits)), k) for k, bits in enumerate(self.pins))
        return {leave: k for leave, k in found if leave is not None}

    def heavy_share(self, mass_kg: float) -> float:
        """Return how far, from 0 to 1, a ball of ``mass_kg`` is from the lightest to the heaviest.

        Lighter and heavier balls than those count as one of them.
        """
        light, heavy = self.ball_kg
        return float(np.clip((mass_kg - light) / (heavy - light), 0.0, 1.0))

    def to_bytes(self) -> bytes:
        """Return the file's content; the same atlas gives the same bytes."""
        names = [field.name for field in fields(self) if field.name != "recipe"]
        return npz_bytes({name: getattr(self, name) for name in names}, self.recipe)

    @classmethod
    def from_bytes(cls, data: bytes) -> "Atlas":
        """Return the atlas that :meth:`to_bytes` wrote."""
        arrays, recipe = read_npz(data)
        return cls(**arrays, recipe=recipe)


@cache
def shipped_atlas() -> Atlas:
    """Return the atlas that comes with the program."""
    return Atlas.from_bytes(files("cardgen.physics").joinpath(NAME).read_bytes())
