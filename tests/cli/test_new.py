"""A conversation makes a profile that a bowler would have written, or ends and leaves nothing."""

import contextlib
import io
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cardgen.cli import main
from cardgen.cli.interview import SPEED_HELP
from cardgen.cli.new import _flat
from cardgen.lane.rack import Leave
from cardgen.profile.bowler import bowler_of
from cardgen.profile.composing import composed
from cardgen.profile.loader import LoadedProfile, load_profile, read_profile
from cardgen.profile.schema import Profile
from cardgen.targeting.chart import chart_for
from cardgen.targeting.lines import lines_of
from cardgen.yamlsource import Value, parse_yaml
from tests.cli.conftest import Result

Run = Callable[..., Result]
Answer = Callable[..., Result]
Files = Callable[[], list[str]]

ROOT = Path(__file__).resolve().parents[2]
SECTIONS = {"schema", "stand", "balls", "balls.spare", "balls.strike", "known_lines"}
# Name, hand, style, steadiness; distance, gap, way, start; two balls, cover, weight, cover, weight,
# speed, speed, measured; lane; two lines; no other leave; yes.
ENTER = 21
PROMPT = re.compile(r"^  (\S.* \[.*\]): ", re.MULTILINE)
RIGHT_HANDER = (
    *("Ana Moreau", "right", "", "league"),
    *("12,5", "6 boards", "straight", "20", "18"),
    *("two", "plastic", "6 kg", "reactive", "14 lb", "", "26 km/h", "no"),
    *("long",),
    *("34", "20", "", "", ""),
    *("yes",),
)
LEFT_HANDER = (
    *("Jo Lindqvist", "l", "two-handed", "1"),
    *("", "", "", ""),
    *("one", "u", "9", "13", "", "y", "350", "60"),
    *("",),
    *("34½", "20", "strike", ""),
    *("3-10", "14", "17", "", ""),
    *("",),
)


# A process forked from one with threads may stand still before it is another, so it is that other
# which makes the terminal its own. It hears Ctrl-C even where these tests run in the background,
# where a shell has all ignore it.
ON_ITS_TERMINAL = """
import fcntl, signal, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
signal.signal(signal.SIGINT, signal.default_int_handler)
from cardgen.cli import main
main()
"""

CHANGES = (
    *[""] * (ENTER - 1),
    *("9", "one", "", "9", "", ""),  # one ball has other questions
    *("6", "6"),
    *("18", "3-10", "34", "20", "", ""),  # another line, and no more
    *("16", "34", "20", ""),
    "",
)


class Interrupted(io.StringIO):
    """Answers, and then Ctrl-C."""

    def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override]  # as StringIO's
        line = super().readline(-1 if size is None else size)
        if not line:
            raise KeyboardInterrupt
        return line


@pytest.fixture
def answer(run: Run, monkeypatch: pytest.MonkeyPatch) -> Answer:
    """Return a function that runs ``cardgen new`` with answers piped in."""
    monkeypatch.setenv("COLUMNS", "80")

    def answered(
        answers: Sequence[str], *args: str, then: type[io.StringIO] = io.StringIO
    ) -> Result:
        monkeypatch.setattr("sys.stdin", then("".join(f"{line}\n" for line in answers)))
        return run("new", *args)

    return answered


def stated(made: LoadedProfile) -> set[str]:
    return {name for name in made.given - SECTIONS if not name.startswith("known_lines.")}


def flat(said: str) -> str:
    return " ".join(said.split())


def test_a_right_hander_answers_and_has_a_profile(answer: Answer, run: Run) -> None:
    said = answer(RIGHT_HANDER, "ana.yaml")
    assert (said.code, said.out) == (0, "ana.yaml\n")
    assert said.err.endswith(
        "\nNext, a sheet of the main lines:\n  cardgen make ana.yaml\n"
        "or a booklet of all that come often:\n  cardgen make ana.yaml --as booklet\n"
    )
    made = load_profile(Path("ana.yaml"))
    profile = made.profile
    assert (profile.bowler, profile.hand.value) == ("Ana Moreau", "right")
    assert (profile.spread, profile.lane) == ("league", "long")
    assert profile.stand.model_dump(exclude={"boards", "half_boards"}) == {
        "distance_ft": 12.5,
        "ball_gap_boards": 6,
        "walk": 0,
        "drift_boards": 2,  # from board 20 to 18: two boards towards the ball side
    }
    # An exact pound is 0.45359237 kg and a mile 1609.344 m (international yard and pound, 1959).
    assert profile.balls.spare.weight_lb == 13.2
    assert profile.balls.strike.speed_mph == 16.2
    assert [line.model_dump() for line in profile.known_lines] == [
        {"leave": "10", "stand": 34, "target": 20, "ball": "spare"}
    ]
    assert stated(made) == {
        *("bowler", "hand", "spread", "lane"),
        *("stand.distance_ft", "stand.ball_gap_boards", "stand.walk", "stand.drift_boards"),
        *("balls.spare.cover", "balls.spare.weight_lb"),
        *("balls.strike.cover", "balls.strike.weight_lb", "balls.strike.speed_mph"),
    }
    assert run("check", "ana.yaml").out == "ana.yaml: fine\n"
    # The summary tells what is a default.
    told = [re.sub(" {2,}", "  ", line) for line in said.err.splitlines()]
    for row in (
        "3  Style  one-handed (default)",
        "5  Start  12.5 ft (3.8 m) behind the foul line",
        "7  Walk  straight ahead",
        "8  Drift  2 boards towards the ball side",
        "9  Balls  one for spares, one for strikes",
        "11  its weight  13.2 lb (6.0 kg)",
        "14  Spare speed  17.2 mph (28 km/h) (default)",
        "18  10 pin  stand on 34, look at 20, spare ball",
        "19  7 pin  no line",
    ):
        assert any(line.strip() == row for line in told), row


def test_a_left_hander_with_two_hands_and_one_ball(answer: Answer) -> None:
    said = answer(LEFT_HANDER, "jo.yaml")
    assert said.code == 0
    made = load_profile(Path("jo.yaml"))
    profile = made.profile
    assert (profile.hand.value, profile.style, profile.spread) == ("left", "two-handed", "new")
    # One ball for everything: both are it.
    for ball in (profile.balls.spare, profile.balls.strike):
        assert (ball.cover, ball.weight_lb) == ("urethane", 9)
    # The default of the speed that is not told follows the one that is.
    assert (profile.balls.spare.speed_mph, profile.balls.strike.speed_mph) == (13, 12)
    assert (profile.balls.strike.rev_rpm, profile.balls.strike.rotation_deg) == (350, 60)
    # The first corner that a left-hander is asked for is a right-hander's 10 pin in a mirror.
    assert [line.model_dump() for line in profile.known_lines] == [
        {"leave": "7", "stand": 34.5, "target": 20, "ball": "strike"},
        {"leave": "3-10", "stand": 14, "target": 17, "ball": "spare"},
    ]
    assert stated(made) == {
        *("bowler", "hand", "style", "spread"),
        *("balls.spare.cover", "balls.spare.weight_lb", "balls.spare.speed_mph"),
        *("balls.strike.cover", "balls.strike.weight_lb"),
        *("balls.strike.rev_rpm", "balls.strike.rotation_deg"),
    }
    told = "count from your left: board 1 is beside the left gutter, board 39 beside the right one"
    assert told in flat(said.err)
    assert "your right one" in flat(answer(["Jo", "left", "", "", "?"], "x.yaml").err)
    assert "boards [3 boards if not known]" in said.err  # the gap of two hands
    numbers = next(
        line for line in said.err.splitlines() if "from your left" in line and "35" in line
    )
    assert [int(word) for word in numbers.split() if word.isdigit()] == [5, 10, 15, 20, 25, 30, 35]


def test_enter_alone_is_enough(answer: Answer) -> None:
    said = answer([""] * ENTER, "ana-moreau.yaml")
    assert said.code == 0
    made = load_profile(Path("ana-moreau.yaml"))
    # The name comes from the file's, the hand is the usual one; the rest is not known.
    assert made.profile == Profile.model_validate({"bowler": "Ana Moreau", "hand": "right"})
    assert stated(made) == {"bowler", "hand"}
    assert said.err.count("[") == ENTER


def test_a_file_is_named_after_the_bowler(answer: Answer, files: Files) -> None:
    assert answer(["Åsa Ek/Öberg", *[""] * ENTER]).out == "Åsa-Ek-Öberg.yaml\n"
    assert answer(["Åsa Ek/Öberg", *[""] * ENTER]).out == "Åsa-Ek-Öberg-2.yaml\n"
    names = ["Åsa-Ek-Öberg.yaml", "x.txt", "\x07.yaml", "sub/asa"]
    said = answer(["A", *[""] * (ENTER - 2), *names, ""])
    assert said.out == f"{Path('sub/asa.yaml')}\n"
    assert "is there already" in said.err
    assert "Name a file that ends in .yaml or .yml." in said.err
    assert "Name a file with characters that can be printed." in said.err
    assert files() == ["sub/asa.yaml", "Åsa-Ek-Öberg-2.yaml", "Åsa-Ek-Öberg.yaml"]


@pytest.mark.parametrize(
    ("before", "wrong", "told"),
    [
        (0, "a\x07b", "This must be printable characters (it has U+0007)."),
        (0, "x" * 301, "This must be text of at most 300 characters (got 301 characters)."),
        (1, "both", "Answer 1 to 2, or right or left."),
        (2, "0000000012", "Answer 1 to 3, or one-handed, two-handed or no-thumb."),
        (2, "4", "Answer 1 to 3, or one-handed, two-handed or no-thumb."),
        (3, "0", "Answer 1 to 4, or new, league, strong or elite."),
        (
            4,
            "20",
            "This must be a number from 6 to 16, in ft (got '20'); or with its unit, such as 4 m.",
        ),
        (4, "13 lb", "This must be a number from 6 to 16, in ft (got '13 lb'); or with its unit"),
        (4, "34.5.6", "This must be a number from 6 to 16, in ft (got '34.5.6'); or with its"),
        (5, "-9", "This must be a number from -5 to 15, in boards (got '-9')."),
        (7, "40", "A board must be a number from 1 to 39 in steps of 0.5 (got 40)."),
        (10, "2 kg", "from 6 to 16, in lb (got '2 kg'); or with its unit, such as 6 kg."),
        (13, "5", "from 8 to 30, in mph (got '5'); or with its unit, such as 26 km/h."),
        (15, "maybe", "Answer yes or no."),
        (17, "20.3", "A board must be a number from 1 to 39 in steps of 0.5 (got 20.3)."),
        (19, "11", "Pins are numbered 1 to 10 (got 11)."),
        (
            19,
            "the rest",
            "Name the pins that stand by their numbers, such as 3-10 (got 'the rest').",
        ),
        (20, "99", "Answer yes, no, or the number of a row, 1 to 20."),
        (20, "perhaps", "Answer yes, no, or the number of a row, 1 to 20."),
        (7, "quit", "Press Ctrl-C to stop; nothing is written then."),
    ],
)
def test_an_answer_that_cannot_be_is_asked_for_again(
    answer: Answer, before: int, wrong: str, told: str
) -> None:
    said = answer([*[""] * before, wrong, *[""] * (ENTER - before)], "a.yaml")
    assert said.code == 0
    assert told in flat(said.err)
    assert said.err.count("[") == ENTER + 1
    assert stated(load_profile(Path("a.yaml"))) == {"bowler", "hand"}


def test_a_slide_too_far_from_the_start_is_asked_for_again(answer: Answer) -> None:
    said = answer([*[""] * 7, "30", "10", "31,5", *[""] * (ENTER - 8)], "a.yaml")
    drift = "The drift, from start to slide, must be a number from -10 to 10 (got 20)."
    assert drift in flat(said.err)
    assert load_profile(Path("a.yaml")).profile.stand.drift_boards == -1.5


def test_a_leave_has_one_line(answer: Answer) -> None:
    lines = ["34", "20", "", "", "10 pin", "3 10", "30", "20", "", "10-3", ""]
    said = answer([*[""] * 17, *lines, ""], "a.yaml")
    assert "The 10 pin has its line already; name another leave." in flat(said.err)
    assert "The 3-10 has its line already; name another leave." in flat(said.err)
    made = load_profile(Path("a.yaml")).profile
    assert [line.leave for line in made.known_lines] == ["10", "3-10"]


def test_a_line_without_its_target_is_none(answer: Answer) -> None:
    assert answer([*[""] * 17, "34", *[""] * (ENTER - 17)], "a.yaml").code == 0
    assert load_profile(Path("a.yaml")).profile.known_lines == ()


def test_every_question_explains_itself(answer: Answer) -> None:
    said = answer([line for _ in range(ENTER) for line in ("?", "")], "a.yaml")
    assert said.code == 0
    assert said.err.count("[") == 2 * ENTER
    # What explains is indented, so it is told from what is asked.
    asked = said.err.split("[")
    assert all(len(asked[2 * n + 1].partition("?\n")[2].split()) >= 4 for n in range(ENTER))


def test_an_answer_can_be_taken_back(answer: Answer) -> None:
    said = answer(
        ["b", "Ana", "left", "b", "right", "", "", "9", "back", "12", *[""] * 17], "a.yaml"
    )
    assert said.code == 0
    assert "This is the first question." in said.err
    profile = load_profile(Path("a.yaml")).profile
    assert (profile.bowler, profile.hand.value) == ("Ana", "right")
    assert profile.stand.distance_ft == 12
    # What was said before is not said once more.
    assert said.err.count("1 of 5") == 1
    assert said.err.count("With which hand do you bowl?") == 2
    assert "choice [left]: right\n" in said.err


def test_what_was_answered_after_it_is_not_lost_by_going_back(answer: Answer) -> None:
    said = answer(["Ana", "", "", "elite", "12", "b", "b", "b", "two", *[""] * 18], "a.yaml")
    assert said.code == 0
    profile = load_profile(Path("a.yaml")).profile
    assert (profile.style, profile.spread, profile.stand.distance_ft) == ("two-handed", "elite", 12)
    assert "choice [elite]: \n" in said.err
    assert "feet, or m [12]: \n" in said.err
    # A default that has changed since counts.
    assert "boards [3 boards if not known]: \n" in said.err


def test_any_row_of_the_summary_can_be_changed(answer: Answer) -> None:
    said = answer(CHANGES, "a.yaml")
    assert said.code == 0
    assert said.err.count("Write it to a.yaml?") == 5
    profile = load_profile(Path("a.yaml")).profile
    assert profile.stand.ball_gap_boards == 6
    assert profile.balls.spare.weight_lb == profile.balls.strike.weight_lb == 9
    assert [line.leave for line in profile.known_lines] == ["10", "3-10"]
    # What was answered is not asked once more, and what it was about is not told once more.
    for once in ("How do you hold the ball?", "How steady are you?", "What is the oil like"):
        assert said.err.count(once) == 1


@pytest.mark.parametrize("answers", [[""] * (ENTER - 1), RIGHT_HANDER[:-1], LEFT_HANDER[:-1]])
def test_every_row_asks_its_own_question_and_comes_back(
    answer: Answer, monkeypatch: pytest.MonkeyPatch, answers: Sequence[str]
) -> None:
    monkeypatch.setattr("cardgen.cli.new._doubts", lambda *_: ())  # not what is at stake here
    answer([*answers, ""], "a.yaml")
    text = Path("a.yaml").read_text()
    rows = int(answer([*answers, "x"], "b.yaml").err.partition("of a row, 1 to ")[2].split(".")[0])
    assert rows >= 18
    for row in range(1, rows + 1):
        # Enter keeps what was answered: only what is of that row is asked, a line at most.
        said = answer([*answers, str(row), *[""] * 5], "a.yaml", "--force")
        assert said.code == 0, row
        assert Path("a.yaml").read_text() == text
        asked = PROMPT.findall(said.err)
        assert len(answers) + 3 <= len(asked) <= len(answers) + 5, row


@pytest.mark.parametrize("row", ["0", "99", "0000000051", "-1", "1.5"])
def test_a_row_that_is_not_there_is_asked_for_again(answer: Answer, row: str) -> None:
    said = answer([*[""] * (ENTER - 1), row, "no"], "a.yaml")
    assert "Answer yes, no, or the number of a row, 1 to " in said.err
    assert said.err.endswith("nothing was written\n")


def test_going_back_while_changing_changes_what_was_gone_back_to(answer: Answer) -> None:
    changes = ["4", "b", "two", ""]
    assert answer([*[""] * (ENTER - 1), *changes], "a.yaml").code == 0
    profile = load_profile(Path("a.yaml"))
    assert stated(profile) == {"bowler", "hand", "style"}


@pytest.mark.parametrize(
    "name",
    [
        *('Ana "Bo" Moreau', "D'Arcy", "Ana: #1", "- Ana", "{Ana}", "null", "yes please", "1234"),
        *("Ana 🎳", "José Ñandú", "陳", "A\\nB", "%s {x} $HOME", "x" * 300),
    ],
)
def test_a_name_comes_back_as_it_was_typed(answer: Answer, name: str) -> None:
    assert answer([name, *[""] * ENTER], "a.yaml").code == 0
    assert load_profile(Path("a.yaml")).profile.bowler == name


def test_what_is_not_known_after_all_can_be_taken_away(answer: Answer) -> None:
    assert answer([*RIGHT_HANDER[:-1], "18", "-", "5", "-", "1", "-", ""], "a.yaml").code == 0
    made = load_profile(Path("a.yaml"))
    assert made.profile.known_lines == ()
    assert "stand.distance_ft" not in made.given
    assert made.profile.bowler in ("Ana Moreau", "A")


def test_a_line_that_misses_is_told_before_it_is_written(answer: Answer) -> None:
    mistyped = [*[""] * 17, "34", "10", "", "", ""]
    said = answer([*mistyped, "18", "", "20", "", ""], "a.yaml")
    assert said.code == 0
    before, after = said.err.split("With which ball do you make the 10 pin?")[1:]
    assert "Row 18: your line from 34 over 10 misses" in flat(before)
    assert "misses" not in after
    assert load_profile(Path("a.yaml")).profile.known_lines[0].target == 20


@pytest.mark.parametrize(
    ("typed", "board"),
    [
        *(("2nd arrow", 10), ("second arrow", 10), ("the 3rd arrow", 15), ("arrow 7", 35)),
        *(("middle arrow", 20), ("18½", 18.5), ("18 1/2", 18.5), ("board 18", 18), ("18,5", 18.5)),
    ],
)
def test_a_target_is_told_as_coaches_tell_it(answer: Answer, typed: str, board: float) -> None:
    # Arrows count from the ball side, and the second is on board 10 (common practice, no source).
    assert answer([*[""] * 17, "25", typed, *[""] * 9], "a.yaml").code == 0
    assert load_profile(Path("a.yaml")).profile.known_lines[0].target == board


@pytest.mark.parametrize(
    ("typed", "leave"),
    [
        *(("ten pin", "10"), ("the 3-10", "3-10"), ("3 and 10", "3-10"), ("3/10", "3-10")),
        *(("2,8", "2-8"), ("seven ten split", "7-10"), ("10 3", "3-10")),
    ],
)
def test_a_leave_is_told_as_coaches_tell_it(answer: Answer, typed: str, leave: str) -> None:
    assert answer([*[""] * 19, typed, "25", "15", *[""] * 9], "a.yaml").code == 0
    assert load_profile(Path("a.yaml")).profile.known_lines[0].leave == leave


@pytest.mark.parametrize("no", ["", "no", "n", "none", "skip", "-"])
def test_no_other_leave_is_an_answer(answer: Answer, no: str) -> None:
    assert answer([*[""] * 19, no, ""], "a.yaml").code == 0


def test_a_ball_takes_the_time_that_the_help_on_speeds_tells() -> None:
    told = "2.5 seconds are about 18 mph, 3 are 15, 4 are 12"
    assert told in SPEED_HELP
    for mph, seconds in ((18, 2.5), (15, 3), (12, 4)):
        values: dict[str, Value] = {"bowler": "A", "hand": "right"}
        values |= {f"balls.{ball}.speed_mph": mph for ball in ("spare", "strike")}
        loaded = read_profile(parse_yaml(composed(values), ""), Path())
        bowler = bowler_of(loaded)
        for choice in bowler.balls:
            # The head pin stands 60 ft from the foul line (USBC). Derived, checked numerically.
            path = lines_of(bowler, choice, 20, 20).path([60 * 0.3048])
            assert path.t_s[0, 0] == pytest.approx(seconds, abs=0.2)


def test_back_leads_through_another_way_of_asking(answer: Answer) -> None:
    to_balls = [""] * 8
    one = ["one", "urethane", "b", "b", "two", "", "9", "", "12", "", "", ""]
    assert answer([*to_balls, *one, *[""] * 5], "a.yaml").code == 0
    balls = load_profile(Path("a.yaml")).profile.balls
    assert (balls.spare.cover, balls.strike.cover) == ("plastic", "reactive")
    assert (balls.spare.weight_lb, balls.strike.weight_lb) == (9, 12)


def test_the_last_question_leads_back_too(answer: Answer) -> None:
    said = answer([*[""] * (ENTER - 1), "b", "2-8", "20", "18", "", "", "y"], "a.yaml")
    assert said.code == 0
    assert [line.leave for line in load_profile(Path("a.yaml")).profile.known_lines] == ["2-8"]


def prompts(answers: Sequence[str], *args: str) -> int:
    """Return how often ``cardgen new`` asks whoever gives these answers."""
    err = io.StringIO()
    text = "".join(f"{line}\n" for line in answers)
    with (
        tempfile.TemporaryDirectory() as folder,
        contextlib.chdir(folder),
        redirect_stdout(io.StringIO()),
        redirect_stderr(err),
        patch("sys.stdin", io.StringIO(text)),
        pytest.raises(SystemExit),
    ):
        main(["new", *args])
    return len(PROMPT.findall(err.getvalue()))


WAYS = {
    "Enter": ([""] * ENTER, "a.yaml"),
    "a right-hander": (RIGHT_HANDER, "a.yaml"),
    "a left-hander": (LEFT_HANDER, "a.yaml"),
    "no file named": (["Ana", *[""] * ENTER], ""),
    "who changes rows at the end": (CHANGES, "a.yaml"),
}
STOPS = [
    pytest.param(answers, file, number, id=f"{way}-{number}")
    for way, (answers, file) in WAYS.items()
    for number in range(prompts(answers, *filter(None, [file])))
]


@pytest.mark.parametrize(("answers", "file", "before"), STOPS)
def test_ctrl_c_and_ctrl_d_leave_nothing_at_any_question(
    answer: Answer, files: Files, answers: Sequence[str], file: str, before: int
) -> None:
    args = [file] if file else []
    said = answer(answers[:before], *args)
    assert (said.code, said.out) == (1, "")
    ended = "the answers ended before the questions did; nothing was written"
    assert said.err.splitlines()[-1] == ended
    assert len(PROMPT.findall(said.err)) == before + 1
    said = answer(answers[:before], *args, then=Interrupted)
    assert (said.code, said.out) == (130, "")
    assert said.err.splitlines()[-1] == "Stopped."
    assert files() == []


@pytest.mark.parametrize("way", WAYS)
def test_every_question_refuses_nonsense_and_comes_again(answer: Answer, way: str) -> None:
    answers, file = WAYS[way]
    args = [file] if file else []
    plain = answer(answers, *args)
    assert plain.code in (0, 1)
    for made in Path().glob("*.yaml"):
        made.unlink()
    refused = answer([line for good in answers for line in ("\x07\x07", good)], *args)
    assert refused.code == plain.code
    asked = PROMPT.findall(plain.err)
    assert PROMPT.findall(refused.err) == [prompt for prompt in asked for _ in range(2)]
    replies = re.findall(r"]: \x07\x07\n((?:  \S.*\n)+?)(?=  .*\[.*\]: )", refused.err)
    assert len(replies) == len(asked)
    for reply in replies:
        assert re.fullmatch(r"(This|Answer|A|Name) .{5,}\.", flat(reply)), reply
    # It is as if nothing had been said.
    assert refused.out == plain.out


def test_no_writes_nothing(answer: Answer, files: Files) -> None:
    said = answer([*[""] * (ENTER - 1), "no"], "a.yaml")
    assert (said.code, said.out) == (1, "")
    assert said.err.splitlines()[-1] == "nothing was written"
    assert files() == []


def test_a_file_that_is_there_is_refused_before_the_first_question(answer: Answer) -> None:
    Path("a.yaml").write_text("mine\n")
    said = answer([""] * ENTER, "a.yaml")
    assert said.code == 2
    assert said.err.startswith("a.yaml: is there already")
    assert said.err.count("\n") == 1
    assert Path("a.yaml").read_text() == "mine\n"
    assert answer([""] * ENTER, "a.yaml", "--force").code == 0
    assert load_profile(Path("a.yaml")).profile.bowler == "A"


def test_another_kind_of_file_is_refused(answer: Answer, files: Files) -> None:
    said = answer([""] * ENTER, "a.txt")
    assert (said.code, said.err) == (2, "a.txt: name a file that ends in .yaml or .yml\n")
    assert files() == []


def test_answers_are_not_lost_to_a_file_that_cannot_be_written(answer: Answer) -> None:
    Path("note").write_text("no folder\n")
    said = answer([*[""] * ENTER, "a.yaml"], "note/a.yaml")
    assert (said.code, said.out) == (0, "a.yaml\n")
    assert "cannot be written" in said.err
    for given_up in ([""], []):
        said = answer([*[""] * ENTER, *given_up], "note/a.yaml")
        assert (said.code, said.out) == (3, "")


def test_a_name_that_no_card_can_show_is_told_and_written(answer: Answer) -> None:
    said = answer(["Ana ☃", *[""] * ENTER], "a.yaml")
    assert said.code == 0
    assert "printed as 'Ana'" in said.err
    assert "  cardgen make a.yaml\n" in said.err


def test_the_next_command_can_be_copied(answer: Answer) -> None:
    said = answer([""] * ENTER, "a b.yaml")
    quote = '"' if os.name == "nt" else "'"
    assert f"  cardgen make {quote}a b.yaml{quote}\n" in said.err


# --- From a form


@pytest.fixture
def form(run: Run) -> str:
    assert run("form", "in.pdf", "--profile", "wren-skobernik").code == 0
    return "in.pdf"


def test_a_form_alone_asks_nothing(answer: Answer, form: str) -> None:
    said = answer([], "wren.yaml", "--form", form)
    assert (said.code, said.out, said.err) == (0, "wren.yaml\n", "")
    assert answer([], "--form", form).err == (
        "name the profile to write, such as ana.yaml, or give --ask as well\n"
    )


def test_a_form_makes_a_profile_that_teaches(answer: Answer, form: str) -> None:
    assert answer([], "wren.yaml", "--form", form).code == 0
    text = Path("wren.yaml").read_text()
    # What the form left blank stands in it as a line that is off, with its default.
    assert "  # boards: [1, 39]" in text
    assert "switched off" in text


def test_only_what_the_form_leaves_open_is_asked(answer: Answer, form: str) -> None:
    answer([], "wren.yaml", "--form", form)
    said = answer([""] * 30, "asked.yaml", "--form", form, "--ask")
    assert said.code == 0
    asked, made = load_profile(Path("asked.yaml")), load_profile(Path("wren.yaml"))
    assert asked.profile == made.profile
    assert asked.given == made.given
    assert {"bowler", "hand", "style"} <= made.given
    for question in ("name?", "With which hand", "How do you hold"):
        assert question not in said.err
    assert "Write it to asked.yaml?" in said.err
    assert "some twenty questions" not in said.err
    assert len(PROMPT.findall(said.err)) < ENTER / 2


def filled(run: Run, values: dict[str, str]) -> str:
    """Return the name of an intake form with ``values`` typed into it."""
    pypdf = pytest.importorskip("pypdf")
    assert run("form", "blank.pdf", "--force").code == 0
    writer = pypdf.PdfWriter(clone_from="blank.pdf")
    for page in writer.pages:
        writer.update_page_form_field_values(page, values)
    writer.write("in.pdf")
    return "in.pdf"


@pytest.mark.parametrize("missing", ["bowler", "hand", "stand.distance_ft", "lane"])
def test_whatever_the_form_lacks_is_asked(answer: Answer, run: Run, missing: str) -> None:
    values = {"bowler": "Pip", "hand": "left", "stand.distance_ft": "11", "lane": "short"}
    form = filled(run, {name: value for name, value in values.items() if name != missing})
    needed = missing in ("bowler", "hand")
    told = answer([], "a.yaml", "--form", form)
    assert told.code == (2 if needed else 0)
    assert (f"{missing}: is missing" in told.err) == needed
    said = answer([""] * ENTER, "b.yaml", "--form", form, "--ask")
    assert said.code == 0
    assert len(PROMPT.findall(said.err)) == ENTER - len(values) + 1
    made = load_profile(Path("b.yaml"))
    assert stated(made) == {"bowler", "hand"} | (values.keys() - {missing})


def test_a_form_with_mistakes_is_refused_before_the_first_question(
    answer: Answer, run: Run, files: Files
) -> None:
    form = filled(run, {"bowler": "Pip", "stand.distance_ft": "99"})
    said = answer([""] * ENTER, "a.yaml", "--form", form, "--ask")
    assert said.code == 2
    assert "stand.distance_ft: must be a number from 6 to 16 (got 99)" in said.err
    assert not PROMPT.search(said.err)
    assert "a.yaml" not in files()


def test_a_form_with_next_to_nothing_in_it_leaves_the_rest_to_ask(answer: Answer, run: Run) -> None:
    values = {"bowler": "Pip Larkwell", "hand": "left", "stand.distance_ft": "10,5"}
    filled(run, values)
    said = answer([""] * ENTER, "pip.yaml", "--form", "in.pdf", "--ask")
    assert said.code == 0
    # All questions but the three that the form answers.
    assert len(PROMPT.findall(said.err)) == ENTER - 3
    assert "count from your left" in flat(said.err)
    made = load_profile(Path("pip.yaml"))
    assert stated(made) == {"bowler", "hand", "stand.distance_ft"}
    assert made.profile.stand.distance_ft == 10.5


def test_what_a_form_says_can_be_changed_at_the_end(answer: Answer, form: str) -> None:
    answer([], "wren.yaml", "--form", form)
    asked = len(PROMPT.findall(answer([""] * 9, "a.yaml", "--form", form, "--ask").err))
    # Boards count from the other side now, so lines are asked for once more.
    ends = ["2", "r", "", "", "3", "-", "5", "12", ""]
    said = answer([*[""] * (asked - 1), *ends], "b.yaml", "--form", form, "--ask")
    assert said.code == 0
    made, other = load_profile(Path("wren.yaml")), load_profile(Path("b.yaml"))
    assert other.profile.hand.value == "right"
    assert other.profile.stand.distance_ft == 12
    assert made.given - other.given == {"style"}


def test_asking_needs_a_form(answer: Answer, files: Files) -> None:
    said = answer([], "a.yaml", "--ask")
    assert said.code == 2
    assert "--ask goes with --form" in said.err
    assert files() == []


def test_lines_of_the_form_are_kept(answer: Answer, run: Run) -> None:
    lines = "".join(f"  - {{leave: '{x}', stand: 30.5, target: 19}}\n" for x in ("3-10", "10"))
    text = f"bowler: Ana\nhand: right\nstand: {{walk: 0.25}}\nknown_lines:\n{lines}"
    Path("old.yaml").write_text(text)
    run("form", "in.pdf", "--profile", "old.yaml")
    assert answer([""] * 40, "a.yaml", "--form", "in.pdf", "--ask").code == 0
    made, old = (load_profile(Path(name)).profile for name in ("a.yaml", "old.yaml"))
    assert (made.known_lines, made.stand) == (old.known_lines, old.stand)


# --- Consoles


def python(*args: str, cwd: Path, said: bytes, **environment: str) -> tuple[int, str, str]:
    ran = subprocess.run(
        [sys.executable, "-m", "cardgen", *args],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        input=said,
        capture_output=True,
        check=False,
        timeout=60,
    )
    encoding = environment.get("PYTHONIOENCODING", "utf-8").partition(":")[0]
    return ran.returncode, ran.stdout.decode(encoding), ran.stderr.decode(encoding)


@pytest.mark.parametrize("encoding", ["cp1252", "cp850", "utf-8"])
def test_a_name_comes_in_as_the_console_writes_it(tmp_path: Path, encoding: str) -> None:
    said = ("Jörg Ñúñez\r\n" + "\r\n" * ENTER).encode(encoding)
    code, out, err = python("new", cwd=tmp_path, said=said, PYTHONIOENCODING=encoding)
    assert (code, out.split()) == (0, ["Jörg-Ñúñez.yaml"])
    assert load_profile(tmp_path / "Jörg-Ñúñez.yaml").profile.bowler == "Jörg Ñúñez"
    # A console of one country's characters has the lane in plain ones.
    assert ("▲" in err) == (encoding == "utf-8")
    assert err.isascii() or encoding == "utf-8" or "ö" in err
    assert "\\u" not in err


def test_characters_that_cannot_be_read_are_no_crash(tmp_path: Path) -> None:
    said = b"J\xf6rg\n" + b"\n" * ENTER
    for encoding in ("utf-8", "utf-8:surrogateescape"):
        code, _, err = python(
            "new", "--force", "a.yaml", cwd=tmp_path, said=said, PYTHONIOENCODING=encoding
        )
        assert code in (0, 1)  # what follows in a pipe may be lost with it
        assert "Traceback" not in err
        assert "could not be read" in err


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_a_terminal_that_asks_for_plainness_gets_it(
    answer: Answer, monkeypatch: pytest.MonkeyPatch, environment: dict[str, str]
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert not answer([""] * ENTER, "a.yaml").err.isascii()
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert answer([""] * ENTER, "b.yaml").err.isascii()


@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_a_terminal_has_room_for_every_line(
    answer: Answer, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    lines = [line for n in range(17) for line in ("?", "")] + ["34", "20", "", "34.5", "20"]
    said = answer([*lines, *[""] * 10], "a.yaml")
    assert said.code == 0
    longest = max(said.err.splitlines(), key=len)
    assert len(longest) < width, longest
    assert all(len(line) <= 88 for line in said.err.splitlines())


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a matter of POSIX")
def test_on_a_terminal_ctrl_c_stops_it(tmp_path: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", ON_ITS_TERMINAL, "new", "a.yaml"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"},
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
    ) as process:
        os.close(theirs)
        try:
            said = _read_until(ours, b"]: ")
            os.write(ours, b"Ana\n")
            said += _read_until(ours, b"]: ")
            # Python misses one between the end of its prompt and its wait for a line; a person
            # is slower than that, and presses again.
            for _ in range(10):
                os.write(ours, b"\x03")
                said += _read_until(ours, b"Stopped.", wait_s=2)
                if b"Stopped." in said:
                    break
            assert process.wait(timeout=60) == 130
        finally:
            process.kill()  # or a failure waits for one that waits for an answer
    os.close(ours)
    assert b"With which hand do you bowl?" in said
    assert b"Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def _read_until(terminal: int, end: bytes, wait_s: float | None = None) -> bytes:
    """Return what a terminal shows up to ``end``, or until nothing comes for ``wait_s``."""
    import select

    said = b""
    while end not in said:
        ready, _, _ = select.select([terminal], [], [], wait_s or 60)
        if not ready and wait_s is not None:
            break
        assert ready, f"waited for {end!r} after {said!r}"
        said += os.read(terminal, 4096)
    return said


# --- Whatever is answered

ANSWERS = st.one_of(
    st.sampled_from(
        [
            *("", "", "", "?", "b", "back", "-", "y", "no", "1", "2", "3", "left", "right", "one"),
            *("13", "12,5", "-2", "20", "34½", "39", "8 kg", "25 km/h", "10", "7", "3-10", "2 8"),
            *("1-2-3-4-5-6-7-8-9-10", "straight", "plastic", "elite", "dry", "league", "x", "½"),
        ]
    ),
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\n\r"), max_size=12),
)


def composed_again(path: Path) -> str:
    """Return the profile that says what the one at ``path`` says."""
    return composed(dict(_flat(parse_yaml(path.read_text(encoding="utf-8"), "").value)))


@given(st.lists(ANSWERS, max_size=60), st.booleans())
@example(["A", "left", *[""] * 40], True)
@example(["\x00", "\ud800", "\ufeff", *[""] * 40], False)
@settings(max_examples=30)
def test_whatever_is_answered_it_ends_in_a_profile_or_in_nothing(
    answers: list[str], to_the_end: bool
) -> None:
    lines = answers + [""] * 80 * to_the_end
    stdin = io.StringIO("".join(f"{line}\n" for line in lines), newline="\n")
    out, err = io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory() as name, redirect_stdout(out), redirect_stderr(err):
        path = Path(name) / "a.yaml"
        with patch("sys.stdin", stdin), pytest.raises(SystemExit) as ended:
            main(["new", str(path)])
        assert ended.value.code in (0, 1)
        if ended.value.code == 0:
            assert out.getvalue() == f"{path}\n"
            made = load_profile(path)
            chart = chart_for(bowler_of(made), [Leave.of(10)])
            assert len(chart.lines) + len(chart.unanswered) == 1
            # Nothing that was answered is lost on the way, and nothing is made up.
            assert composed_again(path) == path.read_text(encoding="utf-8")
        else:
            assert list(Path(name).iterdir()) == []
            assert err.getvalue().splitlines()[-1].endswith("nothing was written")
