"""How long a student of a clinic takes beside a single run, and one of many beside one of few."""

import tempfile
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
from tests.benchmarks.clock import Row, least_s

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


def measure() -> list[Row]:
    """Return a row for a student beside a single run, and one for many students beside few."""
    words = load_words("en")
    few, many = clinic_of(_FEW), clinic_of(_MANY)
    with tempfile.TemporaryDirectory() as folder:
        store = ChartCache(Path(folder))
        single, for_few, for_many = least_s(
            lambda: job_of(open_profile(find_profile(_DEMO)).loaded, words).pocket().pdf(),
            lambda: run(few, store),
            lambda: run(many, store),
            rounds=1,
        )
    for_few, for_many = for_few / _FEW, for_many / _MANY
    beside = f"a student with a known chart {for_few * 1e3:.0f} ms, a run {single * 1e3:.0f} ms"
    return [
        Row("clinic", for_few / single, 0.08, beside),
        Row("clinic-growth", for_many / for_few, 1.5, f"a student of {_MANY} / of {_FEW}"),
    ]
