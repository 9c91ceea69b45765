"""A form filled in becomes a log; what a field says wrong is told by the field's name."""

from pathlib import Path

import pytest

from cardgen.errors import InputError
from cardgen.formsource import Form
from cardgen.lane.rack import Leave
from cardgen.shotlog import reading
from cardgen.shotlog.reading import read_log
from cardgen.shotlog.shot import Result, Shot
from cardgen.shotlog.writing import cells_of


def fill(monkeypatch: pytest.MonkeyPatch, values: dict[str, str]) -> Path:
    monkeypatch.setattr(reading, "read_form", lambda path: Form(str(path), values))
    return Path("log.pdf")


def test_rows_come_in_the_order_of_their_numbers_and_blank_ones_are_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shots = (
        Shot(Leave.of(3, 10), 31.0, 20.0, note="=wide"),
        Shot(Leave.of(10), 34.0, 20.0, result=Result.LEFT, off_boards=2.5, note="'so"),
    )
    rows = zip((10, 2), reversed(shots), strict=True)
    filled = {
        f"shot.{number}.{column}": text
        for number, shot in rows
        for column, text in cells_of(shot).items()
    }
    other = {"name": "Ilse", "shot.3.note": " ", "shot.4.weather": "fair", "shot.x.leave": "7"}
    log = read_log(fill(monkeypatch, filled | other))
    assert (log.shots, log.bad, log.source) == (shots, (), "log.pdf")


def test_a_mistake_is_told_by_the_fields_name(monkeypatch: pytest.MonkeyPatch) -> None:
    values = {"shot.2.leave": "10", "shot.2.stand_board": "40", "shot.12.note": "rain"}
    log = read_log(fill(monkeypatch, values))
    board = "must be a board from 1 to 39 in steps of 0.5"
    assert log.shots == ()
    assert list(map(str, log.bad)) == [
        f"log.pdf: shot.2.stand_board: {board} (got '40')",
        f"log.pdf: shot.2.target_board: {board} (got nothing)",
        "log.pdf: shot.12.leave: must be pins such as 3 10, or strike for the full rack "
        "(got nothing)",
        f"log.pdf: shot.12.stand_board: {board} (got nothing)",
        f"log.pdf: shot.12.target_board: {board} (got nothing)",
    ]


def test_a_form_without_shots_is_no_log(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match=r"^log\.pdf: there are no shots in this file$"):
        read_log(fill(monkeypatch, {"name": "Ilse"}))
