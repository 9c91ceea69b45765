"""Pocket-sized coaching cards for ten-pin bowling spare shooting, computed for one bowler.

For use from Python; the modules below are the program's own and may change:

>>> from cardgen import load_profile, chart
>>> lines = chart(load_profile("ilse-marchetti"), ["10", "3-10"])
>>> lines["10"].stand, lines["10"].target
(34.0, 20.0)
"""

from importlib import import_module
from typing import TYPE_CHECKING

from cardgen._version import __version__

if TYPE_CHECKING:
    from cardgen.api import (
        BowlerChart,
        Card,
        CardgenError,
        Document,
        InputError,
        LoadedProfile,
        UsageError,
        chart,
        load_profile,
        make,
    )

__all__ = [
    "BowlerChart",
    "Card",
    "CardgenError",
    "Document",
    "InputError",
    "LoadedProfile",
    "UsageError",
    "__version__",
    "chart",
    "load_profile",
    "make",
]


def __getattr__(name: str) -> object:
    """Import what is public when it is asked for: the command line starts faster without."""
    if name in __all__:
        return getattr(import_module("cardgen.api"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
