"""Tasks done by several processes, or by several machines; results come in the tasks' order."""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from typing import Any, TypeVar

from cardgen.errors import CardgenError, UsageError

T = TypeVar("T")
R = TypeVar("R")

_AHEAD = 2
"""So many tasks a worker are taken up before the first result is asked for: enough that nobody
waits, few enough that memory does not grow with the tasks."""


@dataclass(frozen=True)
class Workers:
    """Processes of this machine, or those of a Dask cluster at an address such as tcp://host:8786.

    ``jobs`` None is as many processes as the machine has cores.
    """

    jobs: int | None = None
    cluster: str | None = None

    def results(self, work: Callable[[T], R], tasks: Iterable[T], count: int) -> Iterator[R]:
        """Yield ``work`` of each of ``count`` tasks, in their order.

        Tasks are taken from ``tasks`` only a little ahead of the results. Raises UsageError if
        there is no cluster at the address, or no library to speak to one; CardgenError if a
        process ends before its work.
        """
        processes = min(self.jobs or os.cpu_count() or 1, count)
        if self.cluster is None and processes < 2:
            # Starting processes would take longer than this.
            yield from map(work, tasks)
            return
        from joblib import Parallel, delayed

        with _backend(self.cluster) as workers:
            wide = max(processes, workers)
            pool: Any = Parallel(
                n_jobs=-1 if self.cluster else processes,
                return_as="generator",
                pre_dispatch=_AHEAD * wide,
                batch_size=1,
            )
            try:
                yield from pool(delayed(work)(task) for task in tasks)
            except BrokenProcessPool as error:
                raise CardgenError(
                    "a worker process ended too soon, perhaps for want of memory; run it again, "
                    "with --jobs 1 if need be: charts that are worked out are kept"
                ) from error


@contextmanager
def _backend(cluster: str | None) -> Iterator[int]:
    """Have joblib send its tasks to ``cluster``, and yield how many workers that has."""
    if cluster is None:
        with nullcontext():
            yield 0
        return
    try:
        from distributed import Client
    except ImportError:
        raise UsageError("--cluster needs Dask: pip install 'cardgen[cluster]'") from None
    from joblib import parallel_config

    try:
        client: Any = Client(cluster, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise UsageError(
            f"no Dask scheduler answers at {cluster}: {error or type(error).__name__}"
        ) from error
    with client, parallel_config(backend="dask"):
        yield max(1, sum(client.nthreads().values()))
