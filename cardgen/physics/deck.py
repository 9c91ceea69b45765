"""What the pins do: the chance that a ball arriving somewhere takes down a whole leave."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from cardgen.delivery.ball import STANDARD_RADIUS_M
from cardgen.lane.geometry import EDGE_M, BoolArray, FloatArray, IndexArray
from cardgen.lane.rack import (
    PIN_CONTACT_RADIUS_M,
    PIN_NUMBERS,
    Leave,
    mirrored_pin,
    pin_x_m,
    pin_y_m,
)
from cardgen.physics.atlas import FACTORS, Atlas, shipped_atlas
from cardgen.physics.grid import (
    ANGLES_RAD,
    CELL_M,
    PLACE_EDGES_M,
    PLACES,
    PLACES_M,
    angle_weights,
)

REACH_M = STANDARD_RADIUS_M + PIN_CONTACT_RADIUS_M
"""Between the axes of ball and pin at contact: 6.66 in for a ball of 8.55 in (derived)."""
LEAST_CHANCE, MOST_CHANCE = 0.005, 0.97
"""Of leaves of several pins: what a few simulated balls of each kind cannot tell apart from never
and always (an assumption)."""
_MIRRORED = [mirrored_pin(pin) - 1 for pin in PIN_NUMBERS]
_NOWHERE_M = 10.0  # stands for the place of a ball that never comes to the pins
_ALONE = np.bitwise_count(np.arange(1, 1 << len(FACTORS))) == 1  # contrasts of one factor
_SMOOTH = np.array([1, 4, 6, 4, 1]) / 16  # half a board's deviation: a few runs are a rough cell


@dataclass(frozen=True)
class Touch:
    """Where a ball first touches a leave.

    ``pin`` is touched when the ball's middle is at ``y_m``; ``aside_m`` is how far right of the
    pin's middle the ball's middle passes it, square to its way.
    """

    pin: int
    y_m: float
    aside_m: float


def first_touch(leave: Leave, x_m: float, angle_rad: float) -> Touch | None:
    """Return the first touch of a ball rolling straight at ``angle_rad``; None if it misses all.

    ``x_m`` is its place at the row of the front pin.
    """
    row = leave.front_row_m
    along_x, along_y = -np.sin(angle_rad), np.cos(angle_rad)
    touches = []
    for pin in leave:
        to_x, to_y = pin_x_m(pin) - x_m, pin_y_m(pin) - row
        ahead = to_x * along_x + to_y * along_y
        aside = to_x * along_y - to_y * along_x
        if abs(aside) < REACH_M:
            way = ahead - np.sqrt(REACH_M**2 - aside**2)
            touches.append((float(way), pin, -float(aside)))
    if not touches:
        return None
    way, pin, aside = min(touches)
    return Touch(pin, row + way * float(along_y), aside)


@dataclass(frozen=True, eq=False)
class Response:
    """A leave's answer to balls of one mass.

    ``chance`` (angles, places): of all pins falling, the mean over each cell of the grid; a ball
    that leaves the lane before it touches a pin is in it. ``count``, of that shape: pins felled.
    ``smooth``: the chance again, told from the neighbouring cells too, for single arrivals.
    ``estimate``: not simulated in three dimensions. ``doubt``: standard deviation of a well aimed
    ball's chance over what nobody knows of a deck (restitutions, frictions).
    """

    leave: Leave
    chance: FloatArray
    count: FloatArray
    smooth: FloatArray
    touched: NDArray[np.uint8]
    estimate: bool
    doubt: float

    def at(self, x_m: FloatArray, angle_rad: FloatArray) -> FloatArray:
        """Return the chance (n,) of arrivals at ``x_m`` and ``angle_rad`` (n,)."""
        below, turned = angle_weights(angle_rad)
        low = below.astype(np.intp)
        cell, along, inside = _cells_at(x_m)
        near = self.smooth[low, cell] * (1 - along) + self.smooth[low, cell + 1] * along
        low += 1
        far = self.smooth[low, cell] * (1 - along) + self.smooth[low, cell + 1] * along
        return np.where(inside, near * (1 - turned) + far * turned, 0.0)

    def window(self, x_m: FloatArray, angle_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the ends (n,) of the stretch about ``x_m`` (n,) that is good enough.

        Good enough is half as good as the best place at that angle; of one pin that is half sure.
        Where ``x_m`` itself is not, both ends are ``x_m``.
        """
        return windows(self._rows(angle_rad), x_m)

    def how_touched(self, x_m: float, angle_rad: float) -> dict[int, int]:
        """Return how each pin is first touched when all fall, by pin; see :class:`Atlas`."""
        place = int(np.clip((x_m - PLACE_EDGES_M[0]) / CELL_M, 0, PLACES - 1))
        angle = int(np.abs(ANGLES_RAD - angle_rad).argmin())
        return {pin: int(self.touched[angle, place, pin - 1]) for pin in self.leave}

    def _rows(self, angle_rad: FloatArray) -> FloatArray:
        return rows_at(self.smooth[np.newaxis], np.zeros(len(angle_rad), np.intp), angle_rad)


def rows_at(maps: FloatArray, which: IndexArray, angle_rad: FloatArray) -> FloatArray:
    """Return rows (n, places) of maps (k, angles, places): of ``which`` (n,) at an angle (n,)."""
    below, share = angle_weights(np.where(np.isfinite(angle_rad), angle_rad, 0.0))
    low = below.astype(np.intp)
    rows: FloatArray = (
        maps[which, low] * (1 - share)[:, None] + maps[which, low + 1] * share[:, None]
    )
    return rows


def windows(rows: FloatArray, x_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the ends (n,) of the good stretches of ``rows`` (n, places) about ``x_m`` (n,).

    Good is half as good as the best place of the row; where ``x_m`` is not, both ends are ``x_m``,
    and so they are of a ball that never comes to the pins, whose place is not finite.
    """
    ends, x_m = x_m, np.where(np.isfinite(x_m), x_m, _NOWHERE_M)
    enough = rows.max(axis=1) / 2
    good = (rows >= enough[:, None]) & (rows > 0)
    here = np.clip(((x_m - PLACE_EDGES_M[0]) / CELL_M).astype(np.intp), 0, PLACES - 1)
    # An arrival in a cell that is not good may be past the crossing: ask the side on which it lies.
    line = np.arange(len(here))
    inside = _between_cells(rows, x_m) >= enough
    beside = np.clip(here + np.where(x_m < PLACES_M[here], -1, 1), 0, PLACES - 1)
    here = np.where(~good[line, here] & good[line, beside], beside, here)
    cells = np.arange(PLACES)
    bad_before = np.where(good | (cells >= here[:, None]), -1, cells).max(axis=1)
    bad_after = np.where(good | (cells <= here[:, None]), PLACES, cells).min(axis=1)
    left = _crossing_m(rows, enough, bad_before, bad_before + 1)
    right = _crossing_m(rows, enough, bad_after, bad_after - 1)
    inside &= good[line, here]
    return np.where(inside, left, ends), np.where(inside, right, ends)


def _between_cells(rows: FloatArray, x_m: FloatArray) -> FloatArray:
    """Return the values (n,) of ``rows`` (n, places) at ``x_m`` (n,), nought off the grid."""
    cell, share, inside = _cells_at(x_m)
    line = np.arange(len(cell))
    return np.where(inside, rows[line, cell] * (1 - share) + rows[line, cell + 1] * share, 0.0)


def _cells_at(x_m: FloatArray) -> tuple[IndexArray, FloatArray, BoolArray]:
    """Return of each place (n,) the cell below, the share of the next, and if it is on the grid."""
    place = np.clip((x_m - PLACES_M[0]) / CELL_M, 0.0, PLACES - 1.0)
    cell = np.minimum(place.astype(np.intp), PLACES - 2)
    return cell, place - cell, np.abs(x_m) <= PLACE_EDGES_M[-1]


def _crossing_m(
    rows: FloatArray, enough: FloatArray, bad: IndexArray, good: IndexArray
) -> FloatArray:
    """Return where [m] the chance of each row passes ``enough`` between two neighbouring cells.

    A bad cell beyond the grid's end stands for the end itself.
    """
    line = np.arange(len(rows))
    outside = (bad < 0) | (bad >= PLACES)
    low = rows[line, np.clip(bad, 0, PLACES - 1)]
    high = rows[line, np.clip(good, 0, PLACES - 1)]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(outside, 0.5, (high - enough) / (high - low))
    good_m = PLACES_M[np.clip(good, 0, PLACES - 1)]
    return np.asarray(good_m + share * (bad - good) * CELL_M)


class PinDeck:
    """Answers for every leave: single pins by geometry, the rest from an atlas."""

    def __init__(self, atlas: Atlas) -> None:
        self._atlas = atlas

    @property
    def atlas(self) -> Atlas:
        """What the answers come from."""
        return self._atlas

    def responses(self, leaves: Sequence[Leave], mass_kg: float) -> list[Response]:
        """Return the answers of ``leaves`` to a ball of ``mass_kg``.

        Lighter and heavier balls than those of the atlas count as its lightest and heaviest.
        """
        mirrored = np.array([leave not in self._atlas.number_of for leave in leaves], np.bool_)
        stored = [
            leave.mirrored if flip else leave for leave, flip in zip(leaves, mirrored, strict=True)
        ]
        number = np.array([self._atlas.number_of[leave] for leave in stored], np.intp)
        draws = self._atlas.draws[number].astype(np.float64)[:, None, None]
        chance = self._of_ball(self._atlas.made, number, mass_kg) / draws
        count = self._of_ball(self._atlas.felled, number, mass_kg) / draws
        touched = self._atlas.touched[number]
        chance[mirrored] = chance[mirrored, ::-1, ::-1]
        count[mirrored] = count[mirrored, ::-1, ::-1]
        touched[mirrored] = touched[mirrored, ::-1, ::-1][..., _MIRRORED]
        # A leave that is its own mirror image says the same from both sides.
        own = np.array([leave == leave.mirrored for leave in leaves], np.bool_)
        for cells in (chance, count):
            cells[own] = (cells[own] + cells[own, ::-1, ::-1]) / 2
        for k, leave in enumerate(leaves):
            if len(leave) == 1:
                chance[k] = count[k] = single_pin_chance(leave.pins[0])
        smooth = _smoothed(chance)
        return [
            Response(
                leave,
                chance[k],
                count[k],
                chance[k] if len(leave) == 1 else smooth[k],
                touched[k],
                estimate=len(leave) > 1 and not bool(self._atlas.solid[number[k]]),
                doubt=0.0 if len(leave) == 1 else doubt_of(self._atlas.contrasts[number[k]]),
            )
            for k, leave in enumerate(leaves)
        ]

    def response(self, leave: Leave, mass_kg: float) -> Response:
        """Return the answer of one leave; see :meth:`responses`."""
        return self.responses([leave], mass_kg)[0]

    def _of_ball(
        self, cells: NDArray[np.unsignedinteger], number: IndexArray, mass_kg: float
    ) -> FloatArray:
        """Return ``cells`` (leaves, balls, angles, places) of a ball between the atlas's two."""
        share = self._atlas.heavy_share(mass_kg)
        return np.asarray(cells[number, 0] * (1 - share) + cells[number, 1] * share)


@cache
def shipped_deck() -> PinDeck:
    """Return the deck of the atlas that comes with the program."""
    return PinDeck(shipped_atlas())


def doubt_of(contrasts: FloatArray) -> float:
    """Return the standard deviation of a chance over unknown factors, each uniform in its range.

    ``contrasts`` (15,): see :class:`Atlas`. A factor's is half of what its whole range changes, and
    a uniform number deviates by its width over sqrt(12). Each also has sampling noise; those of
    several factors together have hardly anything else, so what they say is taken off.
    """
    square = contrasts.astype(np.float64) ** 2
    noise = square[~_ALONE].mean()
    return float(np.sqrt(max(square[_ALONE].sum() - _ALONE.sum() * noise, 0.0) / 3))


def single_pin_window_m(pin: int, angle_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the left and right ends of the window of one pin, of ``angle_rad``'s shape.

    The ball rolls along a straight line here, so it touches the pin if that line passes within
    reach of it: reach / cos(angle) to each side along the pin's row. Beside the gutter it must
    also still be on the lane when it touches, and it touches before it comes to the row.
    """
    spot = pin_x_m(pin)
    reach = REACH_M / np.cos(angle_rad)
    slope = -np.tan(angle_rad)  # dx/dy
    left, right = spot - reach, spot + reach
    for side, gutter in ((-1, -EDGE_M), (1, EDGE_M)):
        aside = abs(gutter - spot)
        if aside >= REACH_M:
            continue
        limit = gutter + slope * np.sqrt(REACH_M**2 - aside**2)
        if side < 0:
            left = np.maximum(left, limit)
        else:
            right = np.minimum(right, limit)
    return left, right


def single_pin_chance(pin: int) -> FloatArray:
    """Return the share (angles, places) of each cell from which a ball touches ``pin``."""
    left, right = (end[:, None] for end in single_pin_window_m(pin, ANGLES_RAD))
    covered = np.minimum(right, PLACE_EDGES_M[1:]) - np.maximum(left, PLACE_EDGES_M[:-1])
    return np.clip(covered / CELL_M, 0.0, 1.0)


def _smoothed(chance: FloatArray) -> FloatArray:
    """Return ``chance`` (n, angles, places), each cell the weighed mean of its neighbours."""
    half = len(_SMOOTH) // 2
    padded = np.pad(chance, ((0, 0), (0, 0), (half, half)))
    return np.asarray(sum(weight * padded[..., k : k + PLACES] for k, weight in enumerate(_SMOOTH)))
