"""What the pins do: the chance that a ball arriving somewhere takes down a whole leave."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from cardgen.delivery.ball import STANDARD_RADIUS_M
from cardgen.lane.geometry import EDGE_M, FloatArray
from cardgen.lane.rack import PIN_CONTACT_RADIUS_M, Leave, pin_x_m, pin_y_m


@dataclass(frozen=True, eq=False)
class Response:
    """Chance of the spare by place of arrival, a step function for each of n arrival angles.

    Between ``edges_m`` (n, k+1), the ball's middle at the row of the leave's front pin, the chance
    is ``chance`` (n, k); outside the edges it is nought.
    """

    edges_m: FloatArray
    chance: FloatArray

    def at(self, x_m: FloatArray) -> FloatArray:
        """Return the chance for arrivals (n, m) at ``x_m``."""
        inside = (x_m[:, :, np.newaxis] >= self.edges_m[:, np.newaxis, :-1]) & (
            x_m[:, :, np.newaxis] < self.edges_m[:, np.newaxis, 1:]
        )
        chance: FloatArray = np.einsum("nmk,nk->nm", inside, self.chance)
        return chance


REACH_M = STANDARD_RADIUS_M + PIN_CONTACT_RADIUS_M
"""Between the axes of ball and pin at contact: 6.66 in for a ball of 8.55 in (derived)."""


def first_touch_y_m(leave: Leave, x_m: float, angle_rad: float) -> float | None:
    """Return y [m] of the ball's middle when it first touches a pin of ``leave``.

    The ball rolls straight at ``angle_rad`` through ``x_m`` at the row of the front pin. None for a
    ball that passes every pin by.
    """
    row = leave.front_row_m
    along_x, along_y = -np.sin(angle_rad), np.cos(angle_rad)
    touches = []
    for pin in leave:
        to_x, to_y = pin_x_m(pin) - x_m, pin_y_m(pin) - row
        ahead = to_x * along_x + to_y * along_y
        aside = to_x * along_y - to_y * along_x
        if abs(aside) < REACH_M:
            touches.append(ahead - np.sqrt(REACH_M**2 - aside**2))
    return row + float(min(touches)) * float(along_y) if touches else None


class PinDeck(Protocol):
    """Answers for leaves; which ones, it says itself."""

    def knows(self, leave: Leave) -> bool:
        """Tell whether this deck has an answer for ``leave``."""

    def response(self, leave: Leave, angle_rad: FloatArray) -> Response:
        """Return the response of ``leave`` to balls arriving at ``angle_rad`` (n,).

        A ball whose middle leaves the lane before it touches a pin converts nothing; that edge is
        in the response.
        """


class SinglePinDeck:
    """The ten single pins, by geometry: the pin falls if the ball touches it."""

    def knows(self, leave: Leave) -> bool:
        """Tell whether ``leave`` is a single pin."""
        return len(leave) == 1

    def response(self, leave: Leave, angle_rad: FloatArray) -> Response:
        """Return the one window of a single pin; see :class:`PinDeck`.

        The ball rolls along a straight line here, so it touches the pin if that line passes within
        reach of it: reach / cos(angle) to each side along the pin's row. Beside the gutter it must
        also still be on the lane when it touches, and it touches before it comes to the row.
        """
        (pin,) = leave
        spot = pin_x_m(pin)
        reach = REACH_M / np.cos(angle_rad)
        slope = -np.tan(angle_rad)  # dx/dy
        left, right = spot - reach, spot + reach
        for side, gutter in ((-1, -EDGE_M), (1, EDGE_M)):
            aside = abs(gutter - spot)
            if aside >= REACH_M:
                continue
            before_row = np.sqrt(REACH_M**2 - aside**2)
            limit = gutter + slope * before_row
            if side < 0:
                left = np.maximum(left, limit)
            else:
                right = np.minimum(right, limit)
        return Response(np.stack([left, right], axis=1), np.ones((len(angle_rad), 1)))
