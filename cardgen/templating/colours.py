"""Contrast of two colours, and the colour nearest to a wanted one that has enough of it."""

from collections.abc import Iterable
from functools import lru_cache

_STEPS = 255


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two ``#rrggbb`` (WCAG 2.2, definition of contrast ratio)."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@lru_cache(maxsize=256)
def luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb`` (WCAG 2.2, definition, from sRGB)."""
    linear = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in (byte / 255 for byte in bytes.fromhex(colour[1:]))
    )
    return sum(part * share for part, share in zip(linear, (0.2126, 0.7152, 0.0722), strict=True))


def darkened(colour: str, grounds: Iterable[str], ratio: float) -> str:
    """Return the lightest shade of a colour that stands out from all light grounds, or black."""
    wanted = tuple(grounds)
    channels = bytes.fromhex(colour[1:])
    for step in range(_STEPS, 0, -1):
        shade = "#" + bytes(channel * step // _STEPS for channel in channels).hex().upper()
        if all(contrast(shade, ground) >= ratio for ground in wanted):
            return shade
    return "#000000"


def lightened(colour: str, inks: Iterable[str], ratio: float) -> str:
    """Return the darkest tint of a colour from which all dark inks stand out, or white."""
    wanted = tuple(inks)
    channels = bytes.fromhex(colour[1:])
    for step in range(_STEPS, 0, -1):
        tint = bytes(255 - (255 - channel) * step // _STEPS for channel in channels)
        text = "#" + tint.hex().upper()
        if all(contrast(text, ink) >= ratio for ink in wanted):
            return text
    return "#FFFFFF"
