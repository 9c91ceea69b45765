"""How benchmarks measure: sides run turn by turn in one process, and only their ratio counts."""

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """What a benchmark found: how often longer ours takes than the bare thing.

    ``most`` is what the ratio may be at most before something has become slower, about twice what
    it was when it was set, since ratios differ from machine to machine too. ``what`` says what was
    timed, with what it took here.
    """

    name: str
    ratio: float
    most: float
    what: str

    @property
    def holds(self) -> bool:
        """Whether the ratio is within its bound."""
        return self.ratio <= self.most


def least_s(
    *works: Callable[[], object],
    rounds: int,
    clock: Callable[[], float] = time.process_time,
) -> list[float]:
    """Return the shortest time [s] of each of ``works``, over ``rounds`` turns.

    The shortest, since what else a machine does only ever adds. A first turn, which may load and
    compile, is not counted.
    """

    def seconds(work: Callable[[], object]) -> float:
        start = clock()
        work()
        return clock() - start

    turns = [[seconds(work) for work in works] for _ in range(rounds + 1)]
    return [min(times) for times in zip(*turns[1:], strict=True)]
