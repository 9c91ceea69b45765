"""How much a student of a clinic costs beside a single run, and whether many cost as much as few.

Run it: ``python tests/benchmarks/bench_clinic.py``. All in one process and turn by turn, so that
only ratios count.
"""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from cardgen.cards.words import load_words
from cardgen.chartcache import ChartCache
from cardgen.clinic.job import Clinic
from cardgen.clinic.pieces import Look
from cardgen.clinic.run import Wanted, events
from cardgen.clinic.seats import Register
from cardgen.clinic.workers import Workers
from cardgen.lane.rack import Leave
from cardgen.press import job_of, open_profile
from cardgen.products import Order
from cardgen.profile.loader import find_profile
from cardgen.roster.student import Student

_FEW, _MANY = 25, 250
_DEMO = "ilse-marchetti"


def clinic_of(count: int) -> Clinic:
    """Return a clinic of students who all are the demo bowler."""
    loaded = open_profile(find_profile(_DEMO)).loaded
    register = Register()
    seats = [register.seat(Student(loaded, "", 1, row)) for row in range(count)]
    return Clinic("Bench", seats, Look("pocket", Order(), title="Bench"))


def run(clinic: Clinic, store: ChartCache) -> None:
    """Make the whole print job."""
    wanted = Wanted("bench", (), Leave.of(10), (), "none")
    for _ in events(clinic, wanted, store, Workers(jobs=1), lambda _: None):
        pass


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio, what it is) rows."""
    words = load_words("en")
    few, many = clinic_of(_FEW), clinic_of(_MANY)
    with tempfile.TemporaryDirectory() as folder:
        store = ChartCache(Path(folder))
        run(few, store)  # the one chart, and the fonts
        single = _seconds(
            lambda: job_of(open_profile(find_profile(_DEMO)).loaded, words).pocket().pdf()
        )
        for_few = _seconds(lambda: run(few, store)) / _FEW
        for_many = _seconds(lambda: run(many, store)) / _MANY
    return [
        ("clinic student", single / for_few, "students with a known chart in the time of one run"),
        ("clinic growth", for_many / for_few, f"a student of {_MANY} / of {_FEW}; 1 is flat"),
    ]


if __name__ == "__main__":
    for name, ratio, what in measure():
        print(f"{name}: {ratio:.2f} ({what})")  # noqa: T201 - a script's answer
