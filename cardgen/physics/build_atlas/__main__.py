"""Build the pin-action atlas: ``python -m cardgen.physics.build_atlas``.

May be stopped at any time and started again: what is done is not done twice.
"""

import argparse
from pathlib import Path

from cardgen.lane.rack import Leave
from cardgen.physics.build_atlas.draws import representative
from cardgen.physics.build_atlas.jobs import KINDS, BuildError, build


def main(arguments: list[str] | None = None) -> None:
    """Read the command line and build."""
    parser = argparse.ArgumentParser(prog="python -m cardgen.physics.build_atlas")
    parser.add_argument("--chunks", type=Path, required=True, help="folder of the chunks")
    parser.add_argument("--jobs", type=int, default=1, help="processes at a time")
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--only", nargs="+", default=[], help="leaves, such as 3-10")
    options = parser.parse_args(arguments)
    if options.jobs < 1:
        parser.error(f"--jobs: at least 1 (got {options.jobs})")
    try:
        only = {representative(Leave.parse(text)) for text in options.only}
    except ValueError as error:
        parser.error(f"--only: {error}")
    try:
        build(options.chunks, options.kinds, only, options.jobs)
    except BuildError as error:
        parser.error(str(error))


if __name__ == "__main__":
    main()
