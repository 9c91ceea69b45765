"""Build the pin-action atlas: ``python -m cardgen.physics.build_atlas``.

May be stopped at any time and started again: what is done is not done twice.
"""

import argparse
from pathlib import Path

from cardgen.atomicfile import write_whole
from cardgen.lane.rack import Leave
from cardgen.physics.build_atlas.draws import representative
from cardgen.physics.build_atlas.jobs import KINDS, BuildError, build
from cardgen.physics.build_atlas.pack import pack


def main(arguments: list[str] | None = None) -> None:
    """Read the command line and build."""
    parser = argparse.ArgumentParser(prog="python -m cardgen.physics.build_atlas")
    parser.add_argument("--chunks", type=Path, required=True, help="folder of the chunks")
    parser.add_argument("--jobs", type=int, default=1, help="processes at a time")
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--only", nargs="+", default=[], help="leaves, such as 3-10")
    parser.add_argument("--pack", type=Path, help="then write the atlas, all chunks, to this file")
    options = parser.parse_args(arguments)
    if options.jobs < 1:
        parser.error(f"--jobs: at least 1 (got {options.jobs})")
    try:
        only = {representative(Leave.parse(text)) for text in options.only}
    except ValueError as error:
        parser.error(f"--only: {error}")
    try:
        build(options.chunks, options.kinds, only, options.jobs)
        if options.pack is not None:
            write_whole(options.pack, pack(options.chunks).to_bytes(), force=True)
    except BuildError as error:
        parser.error(str(error))


if __name__ == "__main__":
    main()
