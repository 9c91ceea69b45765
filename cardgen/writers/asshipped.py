"""A library taken as it was shipped, whatever the user or the machine has set for it.

reportlab, when it is imported, runs files of the user's home and modules that it finds anywhere on
Python's path, and reads the environment; a home that is no folder stops it. What they set could
change what we print, and the same input must give the same bytes.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

_SETTINGS = (
    "reportlab.local_rl_mods",
    "reportlab.local_rl_settings",
    "reportlab_mods",
    "reportlab_settings",
)
"""Modules that reportlab runs first; where it finds one, it does not look into the home."""
_VARIABLES = "RL_"
"""What the names of its variables begin with."""


@contextmanager
def as_shipped() -> Iterator[None]:
    """Within, reportlab is imported with its own settings alone.

    If a program that uses ours has imported it already, it stays as it is.
    """
    blank = {name: ModuleType(name) for name in _SETTINGS if name not in sys.modules}
    named = [name for name in os.environ if name.startswith(_VARIABLES)]
    variables = {name: os.environ.pop(name) for name in named}
    sys.modules.update(blank)
    try:
        yield
    finally:
        os.environ.update(variables)
        for name in blank:
            sys.modules.pop(name, None)
