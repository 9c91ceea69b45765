"""How long ``cardgen --help`` takes beside starting Python and importing click alone."""

import subprocess
import sys
import time
from pathlib import Path

from tests.benchmarks.clock import Row, least_s

_ROOT = Path(__file__).resolve().parents[2]
_ROUNDS = 11


def _run(*words: str) -> None:
    subprocess.run([sys.executable, *words], cwd=_ROOT, stdout=subprocess.DEVNULL, check=True)


def measure() -> list[Row]:
    """Return one row."""
    ours_s, bare_s = least_s(
        lambda: _run("-m", "cardgen", "--help"),
        lambda: _run("-c", "import click"),
        rounds=_ROUNDS,
        clock=time.perf_counter,  # of other processes this one's clock knows nothing
    )
    what = f"--help {ours_s * 1e3:.0f} ms, python importing click {bare_s * 1e3:.0f} ms"
    return [Row("help", ours_s / bare_s, 2.2, what)]
