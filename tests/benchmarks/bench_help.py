"""How long ``cardgen --help`` takes beside starting Python and importing click alone.

Run it: ``python tests/benchmarks/bench_help.py``. Both start processes, turn by turn, so that only
their ratio counts.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
_ROUNDS = 11
_OURS = (sys.executable, "-m", "cardgen", "--help")
_BARE = (sys.executable, "-c", "import click")


def _seconds(command: tuple[str, ...]) -> float:
    start = time.perf_counter()
    subprocess.run(command, cwd=_ROOT, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def measure() -> list[tuple[str, float, str]]:
    """Return one row: (name, ratio of the medians, what was timed, with the milliseconds)."""
    for command in (_OURS, _BARE):
        _seconds(command)  # the first run may compile
    pairs = [(_seconds(_OURS), _seconds(_BARE)) for _ in range(_ROUNDS)]
    ours, bare = (statistics.median(side) for side in zip(*pairs, strict=True))
    text = f"--help {ours * 1e3:.0f} ms / python importing click {bare * 1e3:.0f} ms"
    return [("help", ours / bare, text)]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
