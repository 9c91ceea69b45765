"""Fixtures for what cards say: the demo bowlers' charts, and charts of profiles of a test."""

from collections.abc import Callable

import pytest

from cardgen.cards.words import Words, load_words
from cardgen.fitting import fitting_of
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.profile.writing import with_section
from cardgen.shotlog.reading import read_log

LOGS = {"ilse-marchetti": "ilse-marchetti.csv", "wren-skobernik": "wren-skobernik.yaml"}


@pytest.fixture(scope="session")
def words() -> Words:
    return load_words("en")


@pytest.fixture(scope="session")
def demos(words: Words) -> dict[str, Job]:
    """The print jobs of the demo bowlers, right-handed and left-handed."""
    names = ("ilse-marchetti", "wren-skobernik")
    return {name: job_of(open_profile(find_profile(name)).loaded, words) for name in names}


@pytest.fixture(scope="session")
def job_from(words: Words, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Job]:
    """Return a function from the text of a profile, and other words, to its print job."""
    folder = tmp_path_factory.mktemp("profiles")

    def made(text: str, other: Words | None = None) -> Job:
        path = folder / f"{len(list(folder.iterdir()))}.yaml"
        path.write_text(text, encoding="utf-8")
        return job_of(open_profile(path).loaded, other or words)

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
