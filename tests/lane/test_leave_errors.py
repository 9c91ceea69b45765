"""What a leave refuses, and in what words."""

import pytest

from cardgen.lane.rack import Leave


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "a leave is pin numbers joined by dashes, such as 3-10 (got '')"),
        ("3,10", "a leave is pin numbers joined by dashes, such as 3-10 (got '3,10')"),
        ("3--10", "a leave is pin numbers joined by dashes, such as 3-10 (got '3--10')"),
        ("-3", "a leave is pin numbers joined by dashes, such as 3-10 (got '-3')"),
        ("3-100", "a leave is pin numbers joined by dashes, such as 3-10 (got '3-100')"),
        ("³", "a leave is pin numbers joined by dashes, such as 3-10 (got '³')"),
        ("٣", "a leave is pin numbers joined by dashes, such as 3-10 (got '٣')"),
        ("3-11", "pins are numbered 1 to 10 (got 3-11)"),
        ("0", "pins are numbered 1 to 10 (got 0)"),
        ("3-10-3", "a pin is named twice (got '3-10-3')"),
    ],
)
def test_what_is_no_leave_is_told_apart(text: str, message: str) -> None:
    with pytest.raises(ValueError) as error:  # noqa: PT011  # the whole message is compared
        Leave.parse(text)
    assert str(error.value) == message


@pytest.mark.parametrize(
    ("pins", "message"),
    [
        ((), "at least one pin"),
        ((10, 3), r"lowest first \(got 10-3\)"),
        ((3, 3), r"once each, lowest first \(got 3-3\)"),
        ((11,), r"numbered 1 to 10 \(got 11\)"),
    ],
)
def test_pins_that_are_no_leave(pins: tuple[int, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Leave(pins)


def test_a_leave_is_a_value() -> None:
    leave = Leave.of(10, 3)
    assert leave == Leave.parse("3-10")
    assert hash(leave) == hash(Leave((3, 10)))
    assert list(leave) == [3, 10]
    assert len(leave) == 2
    assert 3 in leave
    assert 4 not in leave
    assert sorted([Leave.parse("10"), Leave.parse("2-8"), Leave.parse("2")])[0] == Leave.of(2)
