"""Answers are read as people write them, and what cannot be is refused in a sentence."""

import pytest

from cardgen.cli.answers import (
    BOARDS,
    MPH,
    UnusableError,
    one_of,
    read_leave,
    read_quantity,
    read_target,
    yes_or_no,
)

COVERS = ("plastic", "urethane", "reactive")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        (".5", 0.5),
        ("5.", 5),
        ("5,5", 5.5),
        ("5½", 5.5),
        ("5 1/2", 5.5),
        ("½", 0.5),
        ("5 boards", 5),
    ],
)
def test_a_number_is_read_as_people_write_it(text: str, number: float) -> None:
    assert read_quantity("stand.drift_boards", BOARDS, text) == number
    for minus in "-−":
        assert read_quantity("stand.drift_boards", BOARDS, f"{minus}{text}") == -number


@pytest.mark.parametrize("text", [".", "-", "", "five", "5 mph mph", "5 ft"])
def test_what_is_no_number_is_refused_with_the_unit_that_is_wanted(text: str) -> None:
    with pytest.raises(UnusableError, match=r"in mph .*; or with its unit, such as 26 km/h\.$"):
        read_quantity("balls.spare.speed_mph", MPH, text)


@pytest.mark.parametrize("text", ["2", "u", "Urethane", "urethane ball"])
def test_a_choice_is_made_by_number_by_beginning_or_with_a_word_behind_it(text: str) -> None:
    assert one_of(COVERS)(text) == "urethane"


@pytest.mark.parametrize("text", ["0", "4", "x", "", "urethanes"])
def test_a_choice_that_is_none_names_all_there_are(text: str) -> None:
    with pytest.raises(UnusableError, match="Answer 1 to 3, or plastic, urethane or reactive"):
        one_of(COVERS)(text)


@pytest.mark.parametrize("text", ["middle arrow", "the centre arrow", "Center arrow", "4th arrow"])
def test_the_middle_arrow_is_on_board_20(text: str) -> None:
    assert read_target(text) == 20  # common practice, no source


def test_a_leave_may_be_told_in_words() -> None:
    assert str(read_leave((), "the three and ten split")) == "3-10"
    assert read_leave((), "No") is None
    with pytest.raises(UnusableError, match="has its line already"):
        read_leave(("3-10",), "10 3")


def test_yes_and_no_are_told_by_their_first_letters() -> None:
    assert [yes_or_no(text) for text in ("y", "YES", "n", "No")] == [True, True, False, False]
    with pytest.raises(UnusableError, match="Answer yes or no"):
        yes_or_no("maybe")
