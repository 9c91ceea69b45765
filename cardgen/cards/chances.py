"""Chances in words, no finer than they are known."""

import math

from cardgen.cards.words import Words
from cardgen.lane.rack import Leave

_PARTS = (
    *((19, 20), (9, 10), (4, 5), (3, 4), (2, 3), (3, 5), (1, 2), (2, 5), (1, 3), (1, 4)),
    *((1, 5), (1, 6), (1, 8), (1, 10), (1, 15), (1, 20), (1, 30), (1, 50), (1, 100), (1, 200)),
)


def in_hundred(chance: float) -> str:
    """Return a chance as so many in 100, never 0 or 100: no spare is sure, none is hopeless."""
    hundredths = round(100 * chance)
    return "<1" if hundredths < 1 else f"{min(hundredths, 99)}"


def about(chance: float) -> tuple[int, int]:
    """Return the plain part, so many of so many, whose odds are nearest to those of ``chance``."""

    def logit(share: float) -> float:
        return math.log(share / (1 - share))

    share = min(max(chance, 1e-3), 1 - 1e-3)
    return min(_PARTS, key=lambda part: abs(logit(part[0] / part[1]) - logit(share)))


def chance_text(chance: float, leave: Leave, words: Words, *, estimate: bool = False) -> str:
    """Return the chance of ``leave``: of one pin in 100, of several as a plain part of a whole.

    What several pins do rests on things that nobody knows of a deck, so a finer number would lie.
    An ``estimate`` says so.
    """
    if len(leave) == 1:
        return words("back.chance_text", count=in_hundred(chance))
    times, tries = about(chance)
    key = "back.chance_rough" if estimate else "back.chance_about"
    return words(key, times=times, tries=tries)


def pins_text(pins: float, words: Words, *, estimate: bool = False) -> str:
    """Return how many pins to expect; an ``estimate`` says so."""
    return words("back.pins_rough" if estimate else "back.pins", pins=words.number(pins, 1))


def chance_figure(chance: float, leave: Leave, mark: str = "") -> str:
    """Return the chance in 100 for a table: of several pins as told in words, and marked so.

    Never 0 or 100. ``mark`` comes after it where it is an estimate.
    """
    if len(leave) == 1:
        return in_hundred(chance)
    times, tries = about(chance)
    figure = in_hundred(times / tries)
    return f"{figure}{mark}" if figure.startswith("<") else f"~{figure}{mark}"
