"""Work shared out: results in order, tasks taken up only a little ahead, and a worker that dies."""

import os
import signal
import sys
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


@pytest.mark.parametrize("jobs", [1, 2])
def test_results_come_in_order_and_tasks_are_taken_as_they_are_needed(jobs: int) -> None:
    taken: list[int] = []

    def tasks() -> Iterator[int]:
        for number in range(200):
            taken.append(number)
            yield number

    results = Workers(jobs).results(doubled, tasks(), 200)
    assert next(results) == 0
    assert len(taken) < 50
    assert list(results) == [2 * number for number in range(1, 200)]


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
