"""A conversation makes a profile that a bowler would have written, or ends and leaves nothing."""

import io
import os
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
from cardgen.profile.loader import LoadedProfile, load_profile
from cardgen.profile.schema import Profile
from tests.cli.conftest import Result

Run = Callable[..., Result]
Answer = Callable[..., Result]
Files = Callable[[], list[str]]

ROOT = Path(__file__).resolve().parents[2]
SECTIONS = {"schema", "stand", "balls", "balls.spare", "balls.strike", "known_lines"}
# Name, hand, style, steadiness; distance, gap, way, start; two balls, cover, weight, cover, weight,
# speed, speed, measured; lane; two lines; no other leave; yes.
ENTER = 21
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
    assert said.err.endswith("Next: cardgen make ana.yaml\n")
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
    assert "Style         one-handed (default)\n" in said.err
    assert "Walk          straight\n" in said.err
    assert "Line          10 pin: 34 over 20, spare ball\n" in said.err


def test_a_left_hander_with_two_hands_and_one_ball(answer: Answer) -> None:
    said = answer(LEFT_HANDER, "jo.yaml")
    assert said.code == 0
    made = load_profile(Path("jo.yaml"))
    profile = made.profile
    assert (profile.hand.value, profile.style, profile.spread) == ("left", "two-handed", "new")
    # One ball for everything: both are it.
    for ball in (profile.balls.spare, profile.balls.strike):
        assert (ball.cover, ball.weight_lb) == ("urethane", 9)
    assert (profile.balls.spare.speed_mph, profile.balls.strike.speed_mph) == (13, 16)
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
    told = (
        "boards count from your left: board 1 is beside the left gutter, board 39 beside the right"
    )
    assert told in flat(said.err)
    assert "your right one" in flat(answer(["Jo", "left", "", "", "?"], "x.yaml").err)
    assert "boards [3 if not known]" in said.err  # the gap of two hands
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
        (4, "20", "This must be a number from 6 to 16 (got 20)."),
        (4, "13 lb", "This must be a number from 6 to 16 (got '13 lb')."),
        (4, "far", "This must be a number from 6 to 16 (got 'far')."),
        (5, "-9", "This must be a number from -5 to 15 (got -9)."),
        (7, "40", "A board must be a number from 1 to 39 in steps of 0.5 (got 40)."),
        (10, "3", "This must be a number from 6 to 16 (got 3)."),
        (15, "maybe", "Answer yes or no."),
        (17, "20.3", "A board must be a number from 1 to 39 in steps of 0.5 (got 20.3)."),
        (19, "11", "Pins are numbered 1 to 10 (got 11)."),
        (19, "the rest", "A leave is pin numbers joined by dashes, such as 3-10 (got 'the-rest')."),
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
        ["b", "Ana", "left", "b", "right", "", "", "9", "back", "12", *[""] * 16], "a.yaml"
    )
    assert said.code == 0
    assert "This is the first question." in said.err
    profile = load_profile(Path("a.yaml")).profile
    assert (profile.bowler, profile.hand.value) == ("Ana", "right")
    assert profile.stand.distance_ft == 12
    # What was said before is not said once more.
    assert said.err.count("1 of 5") == 1
    assert said.err.count("Which hand bowls?") == 2


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


@pytest.mark.parametrize("before", [0, 1, 9, ENTER - 1])
def test_answers_that_end_leave_nothing(answer: Answer, files: Files, before: int) -> None:
    said = answer([""] * before, "a.yaml")
    assert (said.code, said.out) == (1, "")
    ended = "the answers ended before the questions did; nothing was written"
    assert said.err.splitlines()[-1] == ended
    assert files() == []


@pytest.mark.parametrize("before", [0, 1, 9, ENTER - 1])
def test_ctrl_c_leaves_nothing(answer: Answer, files: Files, before: int) -> None:
    said = answer([""] * before, "a.yaml", then=Interrupted)
    assert (said.code, said.out) == (130, "")
    assert said.err.splitlines()[-1] == "Stopped."
    assert files() == []


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
    assert said.err.endswith("Next: cardgen make a.yaml\n")


def test_the_next_command_can_be_copied(answer: Answer) -> None:
    said = answer([""] * ENTER, "a b.yaml")
    quote = '"' if os.name == "nt" else "'"
    assert said.err.endswith(f"Next: cardgen make {quote}a b.yaml{quote}\n")


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


def test_asking_begins_with_what_the_form_says(answer: Answer, form: str) -> None:
    answer([], "wren.yaml", "--form", form)
    said = answer([""] * 30, "asked.yaml", "--form", form, "--ask")
    assert said.code == 0
    asked, made = load_profile(Path("asked.yaml")), load_profile(Path("wren.yaml"))
    assert asked.profile == made.profile
    assert asked.given == made.given
    # Others can be put in their place, or taken away.
    answers = ["", "r", "-", "", "12", "", "", "-", "", "", "-"]
    assert answer([*answers, *[""] * 30], "other.yaml", "--form", form, "--ask").code == 0
    other = load_profile(Path("other.yaml"))
    assert other.profile.hand.value == "right"
    assert other.profile.stand.distance_ft == 12
    assert made.given - other.given == {"style", "stand.drift_boards", "balls.spare.weight_lb"}


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
        [sys.executable, "-m", "cardgen", "new", "a.yaml"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"},
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        preexec_fn=_with_terminal,
    ) as process:
        os.close(theirs)
        said = _read_until(ours, b"]: ")
        os.write(ours, b"Ana\n")
        said += _read_until(ours, b"]: ")
        os.write(ours, b"\x03")
        said += _read_until(ours, b"Stopped.")
        assert process.wait(timeout=60) == 130
    os.close(ours)
    assert b"Which hand bowls?" in said
    assert b"Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def _with_terminal() -> None:
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def _read_until(terminal: int, end: bytes) -> bytes:
    said = b""
    while end not in said:
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


@given(st.lists(ANSWERS, max_size=60), st.booleans())
@example(["A", "left", *[""] * 40], True)
@example(["\x00", "\ud800", "\ufeff", *[""] * 40], False)
@settings(max_examples=60)
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
            load_profile(path)
        else:
            assert list(Path(name).iterdir()) == []
            assert err.getvalue().splitlines()[-1].endswith("nothing was written")
