"""Tasks done by several processes, or by several machines; results come in the tasks' order."""

import os
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from typing import Any, TypeVar

from cardgen.errors import CardgenError, UsageError

T = TypeVar("T")
R = TypeVar("R")

_AHEAD = 2
"""So many tasks a worker are taken up before the first result is asked for, and another whenever
one is done: enough that nobody waits. While one task takes as long as many others, their results
wait for it in memory."""


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
            with _deaf_children():
                results = pool(delayed(work)(task) for task in tasks)
            yield from _closed(results)


def _closed(results: Any) -> Iterator[Any]:
    """Yield what joblib yields, and have it say nothing of work that nobody wants any more."""
    try:
        for result in results:  # noqa: UP028  # whoever stops would stop joblib first
            yield result
    except BrokenProcessPool as error:
        raise CardgenError(
            "a worker process ended too soon, perhaps for want of memory; run it again: what is "
            "finished is kept. It takes less memory with clinic --jobs 1, or with fewer profiles "
            "at a time"
        ) from error
    finally:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            results.close()


@contextmanager
def _deaf_children() -> Iterator[None]:
    """Within, processes are started that do not hear a Ctrl-C in the terminal.

    Whoever has started them ends them; they would each print what they were at. Here a Ctrl-C waits
    for the end of this, as a rule; one that comes while joblib unblocks it for itself is lost.
    """
    if sys.platform == "win32" or threading.current_thread() is not threading.main_thread():
        yield
        return
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    heard = signal.signal(signal.SIGINT, signal.SIG_IGN)  # a new process ignores what this one does
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, heard)
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)


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
        client: Any = Client(cluster, timeout="10s")  # type: ignore[no-untyped-call]  # Dask has no types
    except (OSError, ValueError, TimeoutError) as error:
        raise UsageError(
            f"no Dask scheduler answers at {cluster}: {error or type(error).__name__}"
        ) from error
    with client, parallel_config(backend="dask"):
        yield max(1, sum(client.nthreads().values()))
