"""Every benchmark in this folder as one table of ratios: ``python -m tests.benchmarks``.

``python -m tests.benchmarks chart pages`` runs those two. With ``--hold`` the exit code is 1 if a
ratio is beyond its bound in three runs out of three: a machine that is busy for a moment is no
slower program.

Each ``bench_*.py`` runs in a process of its own, one after the other, so that what one has loaded
or warmed up helps no other. Times differ from machine to machine; ratios within one run do less.
"""

import argparse
import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from functools import partial
from pathlib import Path

from tests.benchmarks.clock import Row

_ROOT = Path(__file__).resolve().parents[2]
NAMES = [path.stem.removeprefix("bench_") for path in sorted(Path(__file__).parent.glob("bench_*"))]
_TRIES = 3
_ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}


def measured(name: str) -> list[Row]:
    """Return what the ``measure()`` of one benchmark answers, run in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks", "--one", name],
        cwd=_ROOT,
        env={**os.environ, **_ONE_THREAD},
        stdout=subprocess.PIPE,
        check=True,
        text=True,
    )
    return [Row(**row) for row in json.loads(done.stdout)]


def held(first: Sequence[Row], again: Callable[[], Sequence[Row]]) -> list[Row]:
    """Return rows with the least ratio of up to three runs; one that holds is not run again."""
    rows = list(first)
    for _ in range(_TRIES - 1):
        if all(row.holds for row in rows):
            break
        rows = [min(pair, key=lambda row: row.ratio) for pair in zip(rows, again(), strict=True)]
    return rows


def table_of(rows: Sequence[Row]) -> str:
    """Return rows as lines of plain columns under a heading; ``!`` marks one beyond its bound."""
    width = max(len("benchmark"), *(len(row.name) for row in rows))
    lines = [f"{'benchmark':{width}}   ratio  at most  what"]
    lines += [
        f"{row.name:{width}}  {row.ratio:6.2f}  {row.most:6.2f}{'!'[row.holds :]:1}  {row.what}"
        for row in rows
    ]
    return "\n".join(lines)


def main() -> int:
    """Measure what is asked for and print the table; return 1 if it is to hold and does not."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(NAMES)}")
    parser.add_argument("--hold", action="store_true", help="fail where a ratio is too large")
    parser.add_argument("--one", choices=NAMES, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if unknown := set(asked.names) - set(NAMES):
        parser.error(f"there is no benchmark {min(unknown)}; there are {', '.join(NAMES)}")
    if asked.one:
        import importlib

        rows = importlib.import_module(f"tests.benchmarks.bench_{asked.one}").measure()
        sys.stdout.write(json.dumps([asdict(row) for row in rows]))
        return 0
    rows = []
    for name in asked.names or NAMES:
        found = measured(name)
        rows += held(found, partial(measured, name)) if asked.hold else found
    sys.stdout.write(table_of(rows) + "\n")
    return int(asked.hold and not all(row.holds for row in rows))


if __name__ == "__main__":
    sys.exit(main())
