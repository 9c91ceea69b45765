"""Every benchmark in this folder as one table of ratios: ``python tests/benchmarks/run.py``.

Each ``bench_*.py`` runs in a process of its own, one after the other, so that what one has loaded
or warmed up helps no other. Times differ from machine to machine; ratios within one run do less.
"""

import json
import subprocess
import sys
from pathlib import Path

_FOLDER = Path(__file__).resolve().parent
_ROOT = _FOLDER.parents[1]
_CALL = "import json, runpy, sys; print(json.dumps(runpy.run_path(sys.argv[1])['measure']()))"
Row = tuple[str, float, str]


def rows_of(path: Path) -> list[Row]:
    """Return what the ``measure()`` of one benchmark answers: (name, ratio, what it is) rows."""
    done = subprocess.run(
        [sys.executable, "-c", _CALL, str(path)],
        cwd=_ROOT,
        stdout=subprocess.PIPE,
        check=True,
        text=True,
    )
    return [(name, ratio, what) for name, ratio, what in json.loads(done.stdout)]


def table_of(rows: list[Row]) -> str:
    """Return rows as lines of plain columns under a heading."""
    width = max(len("benchmark"), *(len(name) for name, _, _ in rows))
    lines = [f"{'benchmark':{width}}   ratio  what"]
    lines += [f"{name:{width}}  {ratio:6.2f}  {what}" for name, ratio, what in rows]
    return "\n".join(lines)


def main() -> None:
    """Measure all and print the table."""
    rows = [row for path in sorted(_FOLDER.glob("bench_*.py")) for row in rows_of(path)]
    sys.stdout.write(table_of(rows) + "\n")


if __name__ == "__main__":
    main()
