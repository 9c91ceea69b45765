"""The jobs of the builder: which files to make, in which order, by how many processes.

Every run's random numbers depend on its own cell alone, so neither the order of the jobs nor their
number changes a byte; what is on disk is whole, and is not done twice.
"""

import multiprocessing
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tqdm import tqdm

from cardgen.lane.rack import ALL_LEAVES, Leave
from cardgen.physics.build_atlas.chunks import Chunk, recipe
from cardgen.physics.build_atlas.draws import representative
from cardgen.physics.build_atlas.rackfall import OFTEN_ANYWHERE, even_weight, frequent, runs_shares
from cardgen.physics.build_atlas.simulate import (
    RACK_ANGLES,
    rack_slices,
    simulate_leave,
    simulate_rack,
)

KINDS = ("rack", "single", "pair", "frequent", "triple", "estimate")
_BIG_FROM = 4
_SIZES = {"single": 1, "pair": 2, "triple": 3}


class BuildError(Exception):
    """The build cannot go on; the message says why and what would help."""


@dataclass(frozen=True)
class Job:
    """One file to make: of a leave, or of a slice (ball, angle, round) of full-rack runs."""

    kind: str
    leave: Leave | None = None
    slice: tuple[int, int, int] | None = None

    @property
    def name(self) -> str:
        """File name of the chunk."""
        if self.slice is not None:
            ball, angle, round_ = self.slice
            return f"rack_ball{ball}_angle{angle}_round{round_}.npz"
        return f"{'planar' if self.kind == 'estimate' else 'leave'}_{self.leave}.npz"


def do_job(job: Job, folder: Path) -> None:
    """Make the file of ``job`` in ``folder``."""
    if job.slice is not None:
        chunk = simulate_rack(*job.slice)
    elif job.leave is not None:
        chunk = simulate_leave(job.leave, planar=job.kind == "estimate")
    else:
        raise ValueError("a job is of a leave or of a slice")
    chunk.write(folder / job.name)


def _do_packed(packed: tuple[Job, Path]) -> None:
    do_job(*packed)


def _classes() -> list[Leave]:
    return [leave for leave in ALL_LEAVES if representative(leave) == leave]


def rack_chunks(folder: Path) -> list[Chunk]:
    """Return the full-rack runs of ``folder``.

    Raises:
        BuildError: some are not there.
    """
    paths = [folder / Job("rack", slice=each).name for each in rack_slices()]
    missing = [path.name for path in paths if not path.exists()]
    if missing:
        raise BuildError(
            f"{folder}: full-rack runs are needed to tell which leaves are frequent, and "
            f"{missing[0]} is not there; build with --kinds rack first"
        )
    return [Chunk.read(path) for path in paths]


def jobs_of(kind: str, folder: Path, only: set[Leave]) -> Iterator[Job]:
    """Yield the jobs of ``kind`` in order; ``only``, if not empty, keeps those leaves' classes.

    Raises:
        BuildError: the frequent leaves are asked for before the full-rack runs are there.
    """
    if kind == "rack":
        for each in rack_slices():
            yield Job(kind, slice=each)
        return
    if kind == "frequent" and not only:
        racks = rack_chunks(folder)
        leaves = frequent(runs_shares(racks, RACK_ANGLES), _BIG_FROM)
        anywhere = runs_shares(racks, RACK_ANGLES, even_weight)
        more = frequent(anywhere, _BIG_FROM, OFTEN_ANYWHERE)
        leaves += [leave for leave in more if leave not in leaves]
    elif kind == "frequent":
        leaves = [leave for leave in _classes() if len(leave) >= _BIG_FROM]
    elif kind == "estimate":
        leaves = _classes()
    else:
        leaves = [leave for leave in _classes() if len(leave) == _SIZES[kind]]
    for leave in leaves:
        if not only or leave in only:
            yield Job(kind, leave)


def build(folder: Path, kinds: list[str], only: set[Leave], processes: int) -> None:
    """Make what is missing of ``kinds`` in ``folder``, with so many ``processes``.

    Raises:
        BuildError: ``folder`` holds what other code made, or lacks what a kind needs.
    """
    folder.mkdir(parents=True, exist_ok=True)
    # Spawned workers share nothing with us, so one that is killed leaves nothing behind.
    context = multiprocessing.get_context("spawn")
    with context.Pool(processes) as pool:
        for kind in kinds:
            jobs = list(jobs_of(kind, folder, only))
            todo = [(job, folder) for job in jobs if not _is_done(folder / job.name)]
            done = len(jobs) - len(todo)
            with tqdm(total=len(jobs), initial=done, desc=kind, unit="file") as bar:
                for _ in pool.imap_unordered(_do_packed, todo):
                    bar.update()


def _is_done(path: Path) -> bool:
    """Tell whether a chunk is there; refuse one that other code or other ranges made."""
    if not path.exists():
        return False
    made, now = Chunk.read(path).recipe, recipe("")
    for key in sorted(now.keys() - {"model"}):
        if made.get(key) != now[key]:
            raise BuildError(
                f"{path}: was built with another {key} ({made.get(key)}, now {now[key]}); "
                "build into another folder, or remove the old chunks"
            )
    return True
