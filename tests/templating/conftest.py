"""Fixtures: the logo that ships with the example of a centre, and the demo bowlers' charts."""

from pathlib import Path

import pytest

from cardgen.cards.words import load_words
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.resources import data_folder


@pytest.fixture
def shipped_logo() -> Path:
    """The file of the example's logo."""
    return data_folder("templates") / "centres" / "harbour-lights.svg"


@pytest.fixture(scope="session")
def demos() -> dict[str, Job]:
    """The print jobs of the demo bowlers, right-handed and left-handed."""
    words = load_words("en")
    return {
        name: job_of(open_profile(find_profile(name)).loaded, words)
        for name in ("ilse-marchetti", "wren-skobernik")
    }
