"""Work shared out: results in order, tasks taken up only a little ahead, and a worker that dies."""

import os
import signal
import sys
import time
from collections.abc import Iterator

import pytest

from cardgen.clinic.workers import Workers
from cardgen.errors import CardgenError, UsageError


def doubled(number: int) -> int:
    return 2 * number


def died(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def rested(number: int) -> int:
    time.sleep(0.02)
    return number


def warm(jobs: int) -> Workers:
    """Return workers that are there: one that starts late lets the other run ahead of it."""
    workers = Workers(jobs)
    assert list(workers.results(rested, range(20), 20)) == list(range(20))
    return workers


@pytest.mark.parametrize("jobs", [1, 2])
def test_results_come_in_order_and_tasks_are_taken_as_they_are_needed(jobs: int) -> None:
    taken: list[int] = []

    def tasks() -> Iterator[int]:
        for number in range(200):
            taken.append(number)
            yield number

    results = warm(jobs).results(rested, tasks(), 200)
    assert next(results) == 0
    assert len(taken) < 100  # another worker would have to do them while the first task rests
    assert list(results) == list(range(1, 200))


@pytest.mark.parametrize("jobs", [1, 2])
def test_who_wants_no_more_results_is_told_nothing(jobs: int) -> None:
    results = warm(jobs).results(rested, iter(range(50)), 50)
    assert next(results) == 0
    results.close()  # type: ignore[attr-defined]  # it is a generator
    assert next(warm(jobs).results(rested, iter([7, 8]), 2)) == 7  # and the workers go on


def test_no_tasks_are_no_results() -> None:
    assert list(Workers(2).results(doubled, [], 0)) == []


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
@pytest.mark.filterwarnings("ignore")  # joblib says that its pool has broken
def test_a_process_that_dies_is_told_in_a_sentence() -> None:
    with pytest.raises(CardgenError, match="a worker process ended too soon"):
        list(Workers(2).results(died, range(8), 8))


def test_an_address_that_nobody_answers_at_is_told() -> None:
    with pytest.raises(UsageError, match="no Dask scheduler answers at nonsense"):
        list(Workers(None, "nonsense").results(doubled, [1], 1))
