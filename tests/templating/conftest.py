"""Fixture: the logo that ships with the example of a centre."""

from pathlib import Path

import pytest

from cardgen.resources import data_folder


@pytest.fixture
def shipped_logo() -> Path:
    """The file of the example's logo."""
    return data_folder("templates") / "centres" / "harbour-lights.svg"
