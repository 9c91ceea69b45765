"""A log that is written is read again as it was."""

import csv
import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardgen.lane.rack import ALL_LEAVES, FULL_RACK, Leave
from cardgen.shotlog.columns import COLUMNS, MAX_NOTE, shot_of
from cardgen.shotlog.reading import read_log
from cardgen.shotlog.shot import Result, Shot, front_pins
from cardgen.shotlog.writing import cells_of, csv_of

SHARED_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])


def steps(step: float, low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low / step), round(high / step)).map(lambda n: n * step)


def notes() -> st.SearchStrategy[str]:
    """Return texts of one line, rich in what a table could stumble over."""
    plain = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"])
    tricky = st.sampled_from("\",;'=+-@ \u00a0\ufeff\u202e")
    return st.text(plain | tricky, max_size=MAX_NOTE).map(str.strip)


@st.composite
def shots(draw: st.DrawFn) -> Shot:
    leave = draw(st.sampled_from([*ALL_LEAVES, *[FULL_RACK] * 50]))
    result = draw(st.none() | st.sampled_from(Result))
    sided = result in (Result.LEFT, Result.RIGHT) and front_pins(leave) == 1
    return Shot(
        leave=leave,
        stand=draw(steps(0.5, 1, 39)),
        target=draw(steps(0.5, 1, 39)),
        ball=draw(st.sampled_from(["spare", "strike"])),
        date=draw(st.none() | st.dates()),
        arrows=draw(st.none() | steps(0.25, 1, 39)),
        arrive=draw(st.none() | st.floats(-1, 41)),
        result=result,
        off_boards=draw(st.none() | st.floats(0, 40)) if sided else None,
        speed_mph=draw(st.none() | st.floats(8, 30)),
        note=draw(notes()),
    )


@SHARED_FILE
@given(st.lists(shots(), min_size=1, max_size=8))
def test_what_is_written_is_read_again(tmp_path: Path, log: list[Shot]) -> None:
    path = tmp_path / "log.csv"
    path.write_text(csv_of(log), encoding="utf-8", newline="")
    read = read_log(path)
    assert read.bad == ()
    assert list(read.shots) == log


@given(shots())
def test_cells_say_the_shot_that_they_come_from(shot: Shot) -> None:
    def fail(column: str, message: str, hint: str | None) -> None:
        raise AssertionError((column, message, hint))

    cells = cells_of(shot)
    assert tuple(cells) == COLUMNS
    assert shot_of(cells, fail) == shot  # type: ignore[arg-type]  # it returns nothing


def test_a_log_is_written_like_this() -> None:
    log = [
        Shot(
            leave=Leave.of(3, 10),
            stand=31.5,
            target=20.0,
            date=datetime.date(2026, 11, 25),
            arrows=20.25,
            arrive=-0.5,
            result=Result.LEFT,
            off_boards=3.0,
            speed_mph=16.8,
            note='=so, "he" said',
        ),
        Shot(FULL_RACK, 25.0, 11.0, "strike"),
    ]
    assert csv_of(log) == (
        "date,ball,leave,stand_board,target_board,arrows_board,pins_board,result,off_boards,"
        "speed_mph,note\n"
        '2026-11-25,spare,3 10,31.5,20,20.25,-0.5,left,3,16.8,"\'=so, ""he"" said"\n'
        ",strike,strike,25,11,,,,,,\n"
    )


@pytest.mark.parametrize("mark", "=+-@")
def test_no_note_is_taken_for_a_formula(mark: str) -> None:
    text = csv_of([Shot(Leave.of(10), 34.0, 20.0, note=f"{mark}1")])
    assert text.endswith(f",'{mark}1\n")


@SHARED_FILE
@given(notes(), st.sampled_from(",;\t"))
def test_a_cell_is_located_behind_whatever_stands_before_it(
    tmp_path: Path, note: str, separator: str
) -> None:
    path = tmp_path / "log.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=separator)
        writer.writerow(["note", "stand_board", "leave", "target_board"])
        writer.writerow([note, 99, 10, 20])
    (problem,) = read_log(path).bad
    text = path.read_bytes().decode()
    assert problem.column is not None
    row = text.partition("\r\n")[2]
    assert row[problem.column - 1 :] == separator.join(["99", "10", "20\r\n"])
