"""What the cells of one row say, and the sentence for each thing that they cannot say."""

import datetime

import pytest

from cardgen.errors import Problem
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.shotlog.columns import COLUMNS, MAX_NOTE, REQUIRED, shot_of
from cardgen.shotlog.shot import Result, Shot, front_pins

LINE = {"leave": "3 10", "stand_board": "31", "target_board": "20"}
THE_LINE = Shot(Leave.parse("3-10"), 31.0, 20.0)
DATED = "has a spreadsheet made a date of the pins? write them with a space: 3 10"


def problem(column: str, message: str, hint: str | None) -> Problem:
    return Problem("log", None, None, column, message, hint=hint)


def shot(**cells: str) -> Shot:
    read = shot_of(LINE | cells, problem)
    assert isinstance(read, Shot), read
    return read


def problems(**cells: str) -> list[tuple[str, str, str | None]]:
    read = shot_of(LINE | cells, problem)
    assert isinstance(read, list)
    return [(found.where, found.message, found.hint) for found in read]


def test_the_required_columns_are_columns_and_suffice() -> None:
    assert set(REQUIRED) < set(COLUMNS)
    assert set(LINE) == set(REQUIRED)
    assert shot() == THE_LINE
    assert shot(**dict.fromkeys(set(COLUMNS) - set(REQUIRED), " ")) == THE_LINE


def test_every_column_tells_something_of_the_shot() -> None:
    cells = {
        "date": "2026-11-25",
        "ball": "strike",
        "result": "left",
        "arrows_board": "19.75",
        "pins_board": "-0.6",
        "speed_mph": "16,8",
        "note": "a note",
    }
    told = shot(**cells)
    assert told == Shot(
        leave=Leave.of(3, 10),
        stand=31.0,
        target=20.0,
        ball="strike",
        date=datetime.date(2026, 11, 25),
        arrows=19.75,
        arrive=-0.6,
        result=Result.LEFT,
        speed_mph=16.8,
        note="a note",
    )
    assert shot(leave="10", result="right", off_boards="2.5").off_boards == 2.5


@pytest.mark.parametrize("text", ["3 10", "3-10", " 3 - 10 ", "10 3", "3–10", "3\u00a010", "03 10"])
def test_pins_may_be_written_with_dashes_or_spaces(text: str) -> None:
    assert shot(leave=text) == THE_LINE


def test_the_full_rack_has_a_word() -> None:
    assert shot(leave="Strike").leave == FULL_RACK
    assert shot(leave="1 2 3 4 5 6 7 8 9 10").leave == FULL_RACK


@pytest.mark.parametrize(
    "text",
    [
        *("03-Oct", "3-Oct", "Oct 10", "3. Okt", "03. Okt", "3 Oct 2026", "Oct-10", "10/3"),
        *("2026-10-03", "2026-10-03 00:00:00", "3.10.", "03.10.2026", "10/3/2026", "3-10-2026"),
        *("3-10-26", "3. März"),
    ],
)
def test_pins_that_a_spreadsheet_made_a_date_of_are_explained(text: str) -> None:
    ((where, message, hint),) = problems(leave=text)
    assert where == "leave"
    assert hint == DATED
    assert text in message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "must be pins such as 3 10, or strike for the full rack (got nothing)"),
        ("x", "must be pins such as 3 10, or strike for the full rack (got 'x')"),
        ("-3", "must be pins such as 3 10, or strike for the full rack (got '-3')"),
        ("3,10", "must be pins such as 3 10, or strike for the full rack (got '3,10')"),
        ("٣ 10", "must be pins such as 3 10, or strike for the full rack (got '٣ 10')"),
        ("3 11", "pins are numbered 1 to 10 (got 3-11)"),
        ("0", "pins are numbered 1 to 10 (got 0)"),
        ("3 10 3", "a pin is named twice (got '3-10-3')"),
    ],
)
def test_what_is_no_leave_is_told(text: str, message: str) -> None:
    assert problems(leave=text) == [("leave", message, None)]


BOARD = "must be a board from 1 to 39 in steps of 0.5"
SEEN = "must be a board from 1 to 39 in steps of 0.25"
AT_PINS = "must be a board from -1 to 41"
OFF = "must be a number of boards from 0 to 40"
SPEED = "must be a speed from 8 to 30 mph"


@pytest.mark.parametrize(
    ("column", "text", "message"),
    [
        ("stand_board", "40", f"{BOARD} (got '40')"),
        ("stand_board", "", f"{BOARD} (got nothing)"),
        ("stand_board", "20.25", f"{BOARD} (got '20.25')"),
        ("stand_board", "1e999", f"{BOARD} (got '1e999')"),
        ("target_board", "0.5", f"{BOARD} (got '0.5')"),
        ("target_board", "nan", f"{BOARD} (got 'nan')"),
        ("target_board", "inf", f"{BOARD} (got 'inf')"),
        ("target_board", "1_0", f"{BOARD} (got '1_0')"),
        ("target_board", "1.234,5", f"{BOARD} (got '1.234,5')"),
        ("target_board", "٢٠", f"{BOARD} (got '٢٠')"),
        ("arrows_board", "20.1", f"{SEEN} (got '20.1')"),
        ("pins_board", "41.1", f"{AT_PINS} (got '41.1')"),
        ("pins_board", "-1,5", f"{AT_PINS} (got '-1,5')"),
        ("speed_mph", "7.9", f"{SPEED} (got '7.9')"),
        ("speed_mph", "26,5,1", f"{SPEED} (got '26,5,1')"),
        ("ball", "spar", "must be spare or strike (got 'spar')"),
        ("result", "x", "must be hit, miss, left or right (got 'x')"),
        ("date", "2026-02-30", "there is no such day (got '2026-02-30')"),
        ("date", "0000-01-01", "there is no such day (got '0000-01-01')"),
        ("date", "10000-01-01", "must be a date such as 2026-11-25 (got '10000-01-01')"),
        ("date", "20261125", "must be a date such as 2026-11-25 (got '20261125')"),
        ("date", "2026-W48-3", "must be a date such as 2026-11-25 (got '2026-W48-3')"),
        ("note", "a\x00b", "must be printable characters (it has U+0000)"),
        ("note", "n" * (MAX_NOTE + 1), "must be at most 300 characters (got 301)"),
    ],
)
def test_what_is_wrong_and_what_would_be_right_is_told(
    column: str, text: str, message: str
) -> None:
    ((where, said, _),) = problems(**{column: text})
    assert (where, said) == (column, message)


@pytest.mark.parametrize(
    ("column", "text", "hint"),
    [
        ("date", "25.11.2026", "write year-month-day (ISO 8601): 2026-11-25"),
        ("date", "2026/1/9", "write year-month-day (ISO 8601): 2026-01-09"),
        ("date", "2026-11-25 00:00:00", "write year-month-day (ISO 8601): 2026-11-25"),
        ("date", "31.11.2026", "write year-month-day (ISO 8601)"),
        ("date", "11/25/26", "write year-month-day (ISO 8601)"),
        ("result", "lft", "did you mean 'left'?"),
        ("ball", "Spares", "did you mean 'spare'?"),
        ("speed_mph", "16,5 mph", "write the number alone: 16,5"),
        ("stand_board", "34th", "write the number alone: 34"),
    ],
)
def test_a_hint_says_what_to_write(column: str, text: str, hint: str) -> None:
    ((where, _, said),) = problems(**{column: text})
    assert (where, said) == (column, hint)


def test_the_ends_of_each_range_are_in_it() -> None:
    for column, low, high in (
        ("stand_board", 1, 39),
        ("target_board", 1, 39),
        ("arrows_board", 1, 39),
        ("pins_board", -1, 41),
        ("speed_mph", 8, 30),
    ):
        for end in (low, high):
            assert shot(**{column: f"{end}"})
    for off in ("0", "40"):
        assert shot(leave="10", result="left", off_boards=off).off_boards == float(off)


def test_boards_off_the_front_pin_need_a_side_and_one_front_pin() -> None:
    needs = "needs the side as result: left or right"
    hit = "must be blank where the result is hit"
    two = "this leave has two front pins; write pins_board instead"
    for cells, messages in (
        ({"leave": "10", "result": "hit"}, [hit]),
        ({"leave": "10", "result": "miss"}, [needs]),
        ({"leave": "10"}, [needs]),
        ({"leave": "7 10", "result": "left"}, [two]),
        ({"leave": "4 5 6 10", "result": "left"}, [two.replace("two", "three")]),
        ({"leave": "7 8 9 10", "result": "left"}, [two.replace("two", "four")]),
        ({"leave": "7 10", "result": "miss"}, [needs, two]),
    ):
        assert [said for _, said, _ in problems(off_boards="2", **cells)] == messages
    assert problems(leave="10", result="left", off_boards="41") == [
        ("off_boards", f"{OFF} (got '41')", None)
    ]
    # A side that is misspelt is not missing as well.
    assert [where for where, _, _ in problems(result="lefft", off_boards="2")] == ["result"]


def test_every_mistake_of_a_row_is_told_in_the_order_of_the_columns() -> None:
    cells = {
        column: "?" for column in COLUMNS if column != "note"
    }  # a question mark is a fine note
    told = [where for where, _, _ in problems(**cells)]
    assert told == [column for column in COLUMNS if column != "note"]


def test_a_note_becomes_one_line() -> None:
    assert shot(note=" a\r\n b\tc\u2028d ").note == "a b c d"
    assert shot(note="a  b").note == "a  b"


def test_front_pins_are_those_of_the_nearest_row() -> None:
    counts = {"1-2-3": 1, "2-3": 2, "4-6-7-10": 2, "7-8-9-10": 4, "5-7": 1, "4-5-6": 3}
    assert {leave: front_pins(Leave.parse(leave)) for leave in counts} == counts
