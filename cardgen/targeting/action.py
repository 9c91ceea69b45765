"""What happens at the pins when a line is thrown well, and which spot marks the aim."""

from cardgen.lane.geometry import BOARD_M, Hand
from cardgen.lane.rack import PIN_NUMBERS, ROW_M, Leave, mirrored_pin, pin_x_m, pin_y_m
from cardgen.physics.deck import REACH_M, Response, Touch, first_touch
from cardgen.targeting.line import Action, Hit, How

_FULL, _THIN = 0.25, 0.6  # of the reach: up to here full, from here on thin (assumptions)
_MARKS_BOARDS = 0.5
"""A standing pin this near to the ball's way marks the aim."""
_SPOT_BOARDS = 1.0  # a spot farther off helps nobody (an assumption)
_HOW = {1: How.BALL, 2: How.PIN, 3: How.REBOUND}


def action_of(touch: Touch, response: Response, x_m: float, angle_rad: float, hand: Hand) -> Action:
    """Return what happens after ``touch`` when all the pins fall, as the bowler sees it.

    ``response`` is the leave's, ``x_m`` and ``angle_rad`` the arrival, all in the inside frame.
    """
    share = abs(touch.aside_m) / REACH_M
    hit = Hit.FULL if share < _FULL else Hit.HALF if share < _THIN else Hit.THIN
    others = [
        (_seen(pin, hand), _HOW[how])
        for pin, how in response.how_touched(x_m, angle_rad).items()
        if pin != touch.pin and how
    ]
    side = 1 if touch.aside_m > 0 else -1
    return Action(_seen(touch.pin, hand), hit, side * hand.mirror, tuple(sorted(others)))


def imagined_pin(leave: Leave, x_m: float, angle_rad: float, hand: Hand) -> int | None:
    """Return the pin whose spot the ball rolls over, if no standing pin marks its way.

    The ball comes to ``x_m`` at the front pin's row and rolls straight on at ``angle_rad`` until
    its first touch; a thin hit does not turn it much for another row. None for a single pin, where
    a standing pin's middle is within half a board of the way, and where no spot is near it that is
    not hidden straight behind a standing pin. The pin is as the bowler sees it.
    """
    touch = first_touch(leave, x_m, angle_rad)
    if len(leave) == 1 or touch is None:
        return None

    def off_boards(pin: int) -> float:
        x = x_m - (pin_y_m(pin) - leave.front_row_m) * angle_rad  # flat angles: tan is the angle
        return abs(x - pin_x_m(pin)) / BOARD_M

    if min(off_boards(pin) for pin in leave) <= _MARKS_BOARDS:
        return None
    thin = abs(touch.aside_m) >= _THIN * REACH_M
    last_m = pin_y_m(touch.pin) + (1.5 if thin else 0.5) * ROW_M
    in_sight = [
        pin
        for pin in PIN_NUMBERS
        if pin not in leave and pin_y_m(pin) < last_m and not _hidden(pin, leave)
    ]
    nearest = min(in_sight, key=off_boards, default=None)
    if nearest is None or off_boards(nearest) > _SPOT_BOARDS:
        return None
    return _seen(nearest, hand)


def _hidden(pin: int, leave: Leave) -> bool:
    """Tell whether a standing pin is straight ahead of the spot of ``pin``."""
    return any(pin_x_m(other) == pin_x_m(pin) and pin_y_m(other) < pin_y_m(pin) for other in leave)


def _seen(pin: int, hand: Hand) -> int:
    return pin if hand is Hand.RIGHT else mirrored_pin(pin)
