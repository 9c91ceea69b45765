"""What full-rack runs say: how often each leave remains after a ball at the pocket."""

from collections import defaultdict
from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.lane.rack import PIN_NUMBERS, Leave
from cardgen.physics.build_atlas.chunks import Chunk
from cardgen.physics.build_atlas.draws import CELL_M, representative
from cardgen.units import INCH_M

POCKET_M = 2.5 * BOARD_M
"""The right pocket, board 17.5 (the governing body's optimum)."""
POCKET_SD_M = 2.30 * INCH_M
"""Spread of good bowlers at the pins: with it a 10 pin is made as often as a published count of
televised finals says (derived)."""
OFTEN = 2 / 2000
"""A leave more frequent than this gets its own simulation."""


def leave_of_bits(bits: int) -> Leave | None:
    """Return the leave whose pin p stands if bit p - 1 is set; None after a strike."""
    pins = [p for p in PIN_NUMBERS if bits >> (p - 1) & 1]
    return Leave.of(*pins) if pins else None


def pocket_weight(places: ArrayLike) -> FloatArray:
    """Return weights of place cells (n,), by number, for balls aimed at the right pocket."""
    middle = (np.asarray(places, dtype=np.float64) + 0.5) * CELL_M
    return np.exp(-(((middle - POCKET_M) / POCKET_SD_M) ** 2) / 2)


def leave_shares(slices: Iterable[Chunk], angles: Iterable[int]) -> dict[Leave | None, float]:
    """Return the share of first balls that leave each leave (None: strike), adding up to 1.

    Only slices of the given angle cells count, alike.
    """
    wanted = set(angles)
    shares: defaultdict[Leave | None, float] = defaultdict(float)
    for chunk in slices:
        if chunk.recipe["angle"] not in wanted:
            continue
        weight = pocket_weight(chunk.arrays["places"])
        for row, w in zip(chunk.arrays["left"], weight, strict=True):
            for bits in row:
                shares[leave_of_bits(int(bits))] += float(w)
    total = sum(shares.values())
    return {leave: share / total for leave, share in shares.items()}


def frequent(shares: dict[Leave | None, float], fewest_pins: int) -> list[Leave]:
    """Return the classes of leaves of ``fewest_pins`` or more that remain often, commonest first.

    A class is a leave and its mirror image, named by the one that is simulated.
    """
    classes: defaultdict[Leave, float] = defaultdict(float)
    for leave, share in shares.items():
        if leave is not None and len(leave) >= fewest_pins:
            classes[representative(leave)] += share
    often = [leave for leave, share in classes.items() if share > OFTEN]
    return sorted(often, key=lambda leave: (-classes[leave], leave))
