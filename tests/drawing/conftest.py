"""Fixtures for drawings: a booklet as the press puts it together."""

from collections.abc import Callable

import pytest

from cardgen.cards.booklet import Booklet, booklet_of
from cardgen.cards.card import card_of
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.theme import A7
from cardgen.press import Job


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
            few=job.answers.few,
            changes=job.answers.changes,
            drill=job.answers.drill,
            practice=job.answers.practice,
            date=date,
        )

    return made
