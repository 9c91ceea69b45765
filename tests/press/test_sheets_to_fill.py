"""The sheets to fill in as files: read back by a library that had no part in writing them."""

from io import BytesIO
from pathlib import Path

import pypdf
import pytest

from cardgen.cards.words import Words
from cardgen.formsource import read_form
from cardgen.press import Job, intake_pdf, job_of, log_pdf, open_profile
from cardgen.profile.intake import INTAKE, values_of
from cardgen.profile.loader import find_profile
from cardgen.sheets.papers import A4, LETTER, Size
from cardgen.shotlog.reading import read_log
from cardgen.targeting.drill import DRILL_THROWS

DEMOS = ("ilse-marchetti", "wren-skobernik")
PAPERS = pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)


@pytest.fixture(scope="module")
def jobs(words: Words) -> dict[str, Job]:
    return {name: job_of(open_profile(find_profile(name)).loaded, words) for name in DEMOS}


def sizes(data: bytes) -> list[tuple[int, int]]:
    """Return the width and height of each page in whole millimetres."""
    boxes = [page.mediabox for page in pypdf.PdfReader(BytesIO(data)).pages]
    return [(round(box.width * 25.4 / 72), round(box.height * 25.4 / 72)) for box in boxes]


@PAPERS
def test_a_practice_sheet_has_the_drill_and_a_log_begun_with_it(
    paper: Size, jobs: dict[str, Job], tmp_path: Path
) -> None:
    for name, job in jobs.items():
        data = job.practice_sheets(paper).pdf()
        upright = (round(paper.width_mm), round(paper.height_mm))
        assert sizes(data) == [upright, upright[::-1]]
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(data)
        drill = job.answers.drill
        assert drill is not None
        thrown = [
            (throw.line.leave, throw.line.stand, throw.line.target, throw.line.ball)
            for throw in drill.throws
            for _ in range(DRILL_THROWS)
        ]
        # What is written on it comes back as a log of shots.
        shots = read_log(path).shots
        assert [(shot.leave, shot.stand, shot.target, shot.ball) for shot in shots] == thrown
        fields = pypdf.PdfReader(BytesIO(data)).get_fields() or {}
        boxes = [name for name, field in fields.items() if field.get("/FT") == "/Btn"]
        assert sorted(boxes) == [f"drill.{i}.{n}" for i in (1, 2, 3) for n in (1, 2, 3)]
        assert "shot.20.note" in fields
        reader = pypdf.PdfReader(BytesIO(data))
        assert reader.metadata is not None
        assert reader.metadata.title == f"Practice sheet for {job.chart.bowler.name}"
        assert data == job.practice_sheets(paper).pdf()


def test_shots_stand_on_the_log_sheet_and_come_back(words: Words, tmp_path: Path) -> None:
    shots = read_log(find_profile(DEMOS[0]).parent / "shots" / f"{DEMOS[0]}.csv").shots
    path = tmp_path / "log.pdf"
    path.write_bytes(log_pdf(words, A4, shots))
    assert read_log(path).shots == shots
    assert len(sizes(path.read_bytes())) == 2  # twenty on a page
    assert sizes(log_pdf(words, LETTER)) == [(279, 216)]


def test_the_intake_form_is_blank_or_answered_as_a_profile_is(words: Words, tmp_path: Path) -> None:
    loaded = open_profile(find_profile(DEMOS[1])).loaded
    path = tmp_path / "intake.pdf"
    path.write_bytes(intake_pdf(words, A4, loaded))
    assert read_form(path).values == values_of(loaded.profile, loaded.given)
    titles = []
    for data in (path.read_bytes(), intake_pdf(words, A4, None)):
        reader = pypdf.PdfReader(BytesIO(data))
        assert reader.metadata is not None
        titles.append(reader.metadata.title)
        assert len(reader.get_fields() or {}) >= len(INTAKE)
    assert titles == ["Intake form of Wren Škobernik", "Bowler’s intake form"]
    blank = tmp_path / "blank.pdf"
    blank.write_bytes(intake_pdf(words, A4))
    assert dict(read_form(blank).values) == {}
