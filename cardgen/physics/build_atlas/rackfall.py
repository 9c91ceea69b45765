"""What full-rack runs say: how often each leave remains after a ball at the pocket."""

from collections import defaultdict
from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import BOARD_M, CENTRE_BOARD, FloatArray
from cardgen.lane.rack import Leave
from cardgen.physics.atlas import leave_of_bits
from cardgen.physics.build_atlas.chunks import Chunk
from cardgen.physics.build_atlas.draws import CELL_M, representative
from cardgen.physics.firstball import POCKET_BOARD
from cardgen.units import INCH_M

POCKET_M = (CENTRE_BOARD - POCKET_BOARD) * BOARD_M
"""The right pocket."""
POCKET_SD_M = 2.30 * INCH_M
"""Spread of good bowlers at the pins: with it a 10 pin is made as often as a published count of
televised finals says (derived)."""
OFTEN = 2 / 2000
"""A leave more frequent than this after balls at the pocket gets its own simulation."""
OFTEN_ANYWHERE = 0.02
"""So does one more frequent than this after balls anywhere about the head pin."""


def pocket_weight(places: ArrayLike) -> FloatArray:
    """Return weights of place cells (n,), by number, for balls aimed at the right pocket."""
    middle = (np.asarray(places, dtype=np.float64) + 0.5) * CELL_M
    return np.exp(-(((middle - POCKET_M) / POCKET_SD_M) ** 2) / 2)


def even_weight(places: ArrayLike) -> FloatArray:
    """Return weights of place cells (n,), by number, for balls that come anywhere."""
    return np.ones(len(np.asarray(places)))


def runs_shares(
    slices: Iterable[Chunk],
    angles: Iterable[int],
    weigh: Callable[[ArrayLike], FloatArray] = pocket_weight,
) -> dict[Leave | None, float]:
    """Return the share of first balls that leave each leave (None: strike), adding up to 1.

    Only slices of the given angle cells count, alike; ``weigh`` weighs the place cells.
    """
    wanted = set(angles)
    shares: defaultdict[Leave | None, float] = defaultdict(float)
    for chunk in slices:
        if chunk.recipe["angle"] not in wanted:
            continue
        weight = weigh(chunk.arrays["places"])
        for row, w in zip(chunk.arrays["left"], weight, strict=True):
            for bits in row:
                shares[leave_of_bits(int(bits))] += float(w)
    total = sum(shares.values())
    return {leave: share / total for leave, share in shares.items()}


def frequent(
    shares: dict[Leave | None, float], fewest_pins: int, often: float = OFTEN
) -> list[Leave]:
    """Return the classes of leaves of ``fewest_pins`` or more that remain often, commonest first.

    A class is a leave and its mirror image, named by the one that is simulated; ``often`` is the
    share it must exceed.
    """
    classes: defaultdict[Leave, float] = defaultdict(float)
    for leave, share in shares.items():
        if leave is not None and len(leave) >= fewest_pins:
            classes[representative(leave)] += share
    found = [leave for leave, share in classes.items() if share > often]
    return sorted(found, key=lambda leave: (-classes[leave], leave))
