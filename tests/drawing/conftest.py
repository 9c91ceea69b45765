"""Fixtures for drawings: the demo bowlers' charts, and charts of profiles written in a test."""

from collections.abc import Callable

import pytest

from cardgen.cards.booklet import Booklet, booklet_of
from cardgen.cards.card import card_of
from cardgen.cards.words import Words, load_words
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.theme import A7
from cardgen.fitting import fitting_of
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.profile.writing import with_section
from cardgen.shotlog.reading import read_log

LOGS = {"ilse-marchetti": "ilse-marchetti.csv", "wren-skobernik": "wren-skobernik.yaml"}
DEMOS = ("ilse-marchetti", "wren-skobernik")


@pytest.fixture(scope="session")
def words() -> Words:
    return load_words("en")


@pytest.fixture(scope="session")
def demos(words: Words) -> dict[str, Job]:
    """The print jobs of the demo bowlers, right-handed and left-handed."""
    return {name: job_of(open_profile(find_profile(name)).loaded, words) for name in DEMOS}


@pytest.fixture(scope="session")
def booklet() -> Callable[[Job], Booklet]:
    """Return the booklet of a job, as the press puts it together."""

    def made(job: Job, date: str = "") -> Booklet:
        sketch = card_of(job.chart.lines[0], job.chart, job.words).sketch
        stretch = lane_frame(sketch, A7, A7.inner_height_mm).stretch
        return booklet_of(
            job.loaded,
            job.chart,
            job.words,
            stretch=stretch,
            few=job.few(),
            changes=job.changes(),
            drill=job.drill(),
            practice=job.practice(),
            date=date,
        )

    return made


@pytest.fixture(scope="session")
def job_from(words: Words, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Job]:
    """Return a function from the text of a profile to its print job."""
    folder = tmp_path_factory.mktemp("profiles")

    def made(text: str) -> Job:
        path = folder / f"{len(list(folder.iterdir()))}.yaml"
        path.write_text(text, encoding="utf-8")
        return job_of(open_profile(path).loaded, words)

    return made


@pytest.fixture(scope="session")
def fitted(words: Words, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Job]:
    """The print jobs of the demo bowlers once their logs of shots have been fitted."""
    folder = tmp_path_factory.mktemp("fitted")
    jobs = {}
    for name, log in LOGS.items():
        source = find_profile(name)
        path = folder / f"{name}.yaml"
        path.write_bytes(source.read_bytes())
        shots = read_log(source.parent / "shots" / log).shots
        fitting = fitting_of(open_profile(path).loaded, shots, words)
        assert fitting is not None
        path.write_bytes(with_section(path, fitting.section()))
        jobs[name] = job_of(open_profile(path).loaded, words)
    return jobs
