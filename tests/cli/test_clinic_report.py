"""What a clinic tells as it goes, and what it sums up at the end."""

from pathlib import Path

import pytest

from cardgen.cards.words import load_words
from cardgen.cli.clinic import _Report
from cardgen.clinic.run import Advice, File, Said


@pytest.fixture
def report(tmp_path: Path) -> _Report:
    return _Report(Path("club.csv"), tmp_path, "club-pocket", force=False)


def test_what_is_missing_of_one_student_is_not_made_up_for_by_the_next(
    report: _Report, capsys: pytest.CaptureFixture[str]
) -> None:
    report.take(Said(2, "the 7 pin has no line", failed=True))
    report.take(Said(3, "a default"))
    assert not report.whole
    assert capsys.readouterr().err == "club.csv:2: the 7 pin has no line\n"


def test_what_is_of_the_class_is_told_of_the_roster(
    report: _Report, capsys: pytest.CaptureFixture[str]
) -> None:
    report.take(Said(None, "no chart", failed=True))
    assert capsys.readouterr().err == "club.csv: no chart\n"


def test_files_of_students_are_written_and_only_those_of_the_class_listed(
    report: _Report, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("each/Ana.pdf", "club-pocket.pdf", "club-wall.pdf"):
        report.take(File(name, b"%PDF-1.7\n"))
        assert (tmp_path / name).read_bytes() == b"%PDF-1.7\n"
    listed = [Path(line).name for line in capsys.readouterr().out.splitlines()]
    assert listed == ["club-pocket.pdf", "club-wall.pdf"]
    assert report.whole


def test_the_end_tells_what_was_kept_back_and_how_to_print(
    report: _Report, capsys: pytest.CaptureFixture[str]
) -> None:
    report.take(Said(2, "a default"))
    report.take(Said(3, "a default"))
    report.take(Advice("print at actual size"))
    report.close(load_words("en"))
    assert capsys.readouterr().err == "2 more to know; -v tells.\nPrint at actual size.\n"
