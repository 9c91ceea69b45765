"""What a person before a terminal sees: widths, emphasis, next steps, and how loud it is."""

import json
import os
import re
import sys
from collections.abc import Callable
from io import BytesIO, StringIO, TextIOWrapper
from pathlib import Path
from typing import Any

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.table import table_of
from cardgen.cards.words import load_words
from cardgen.cli import chart as chart_command
from cardgen.cli import speaking
from cardgen.cli.speaking import progressing, say, stage, typed, with_voice
from cardgen.cli.tables import aligned, width_of, wrapped
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.resources import data_folder

Run = Callable[..., Any]
Profile = Callable[[str, str], str]
LOG = str(data_folder("profiles") / "shots" / "ilse-marchetti.csv")
LANGUAGES = ("de", "en", "es", "fr", "ja", "ko")


# Columns


@pytest.mark.parametrize(
    ("text", "columns"),
    [
        ("10 pin", 6),
        ("±2.4", 4),
        ("スペア", 6),  # East Asian wide (Unicode Standard Annex 11)
        ("ｽﾍﾟｱ", 4),  # and halfwidth
        ("e\u0301", 1),  # a mark on the letter before it
        ("가", 2),
        ("a\u200bb", 2),  # a place to break has no width
    ],
)
def test_a_wide_character_takes_two_columns_and_a_mark_none(text: str, columns: int) -> None:
    assert width_of(text) == columns


def test_text_wraps_where_its_language_breaks_and_no_word_is_cut() -> None:
    assert wrapped("In 100: spares made", 10) == ["In 100:", "spares", "made"]
    assert wrapped("1-2-4-5-6-7-8-9-10", 6) == ["1-2-4-5-6-7-8-9-10"]
    assert wrapped("7番ピン、4-7、4番ピン", 14) == ["7番ピン、4-7、", "4番ピン"]
    assert wrapped("as it is", None) == ["as it is"]


ROWS = [["Leave", "Stand", "Room"], ["1-2-4-5", "34½", "0.5 left"], ["7", "6", "take 2"]]


@pytest.mark.parametrize(
    ("columns", "lines"),
    [
        (
            "80",
            ["Leave    Stand  Room", "1-2-4-5    34½  0.5 left", "7            6  take 2"],
        ),
        ("22", ["Leave   Stand Room", "1-2-4-5   34½ 0.5 left", "7           6 take 2"]),
        ("21", ["Leave    Stand", "1-2-4-5    34½", "7            6"]),
        ("4", ["Leave   Stand", "1-2-4-5   34½", "7           6"]),  # nothing is ever cut
    ],
)
def test_gaps_close_up_before_a_column_is_left_out(
    columns: str, lines: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert list(aligned(ROWS, right=(1,), spare=(2,))) == lines


def test_a_long_text_wraps_in_its_own_column(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "24")
    rows = [["34", "10 pin, 6-10, 3-6-10, 3-10"], ["6", "7 pin"]]
    assert list(aligned(rows, right=(0,), wrap=(1,))) == [
        "34  10 pin, 6-10,",
        "    3-6-10, 3-10",
        " 6  7 pin",
    ]


def test_of_two_long_texts_the_last_has_the_room_that_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    rows = [["aaa bbb ccc ddd eee", "fff ggg hhh iii jjj"]]
    assert list(aligned(rows, wrap=(0, 1))) == [
        "aaa bbb ccc   fff ggg hhh iii",
        "ddd eee       jjj",
    ]


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [("utf-8", "±•"), ("cp437", "±\\u2022"), ("ascii", "±•"), ("us-ascii", "±•")],
)
def test_columns_are_as_wide_as_what_the_console_shows(
    encoding: str, shown: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Where Python knows of nothing but ASCII, click writes UTF-8.
    monkeypatch.setattr("sys.stdout", TextIOWrapper(BytesIO(), encoding=encoding))
    assert list(aligned([["±•", "1"], ["a", "2"]])) == [
        f"{shown}  1",
        f"{'a'.ljust(len(shown))}  2",
    ]


cells = st.text(st.sampled_from("ab1½番ピン、-"), min_size=1, max_size=12)
tables = st.integers(1, 5).flatmap(
    lambda n: st.lists(st.lists(cells, min_size=n, max_size=n), min_size=1, max_size=4)
)


@given(tables, st.integers(1, 90), st.data())
def test_every_cell_is_whole_and_lines_fit_or_nothing_is_left_to_give(
    rows: list[list[str]], room: int, data: st.DataObject
) -> None:
    every = range(len(rows[0]))
    spare = data.draw(st.lists(st.sampled_from(every), unique=True, max_size=len(every) - 1))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", str(room))
        lines = list(aligned(rows, spare=spare))
    assert len(lines) == len(rows)
    for row, line in zip(rows, lines, strict=True):
        assert line.split()[0] in row
        assert all(row[index] in line for index in every if index not in spare)
    if max(map(width_of, lines)) > room:
        assert all(len(line.split()) == len(every) - len(spare) for line in lines)


@pytest.fixture(scope="module")
def job() -> Job:
    """The demo whose numbers are longest: a left-hander whose boards have halves."""
    loaded = open_profile(find_profile("wren-skobernik")).loaded
    return job_of(loaded, load_words("en"))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("columns", [40, 60, 80, 200])
def test_a_chart_fits_the_terminal_and_keeps_where_to_stand_and_look(
    language: str, columns: int, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    table = table_of(job.chart, load_words(language))
    lines = chart_command._aligned(table)
    assert max(map(width_of, lines)) <= columns
    for row, line in zip(table.rows, lines[1:], strict=False):
        assert line.startswith(row.leave)
        told = line.removeprefix(row.leave).split()
        assert [row.stand, row.target, row.ball] == [each for each in told if each != "•"][:3]
    shown = table.rows[0].room in lines[1]
    assert shown or columns < 80
    assert shown or columns != 200


def test_fewer_practice_and_fit_fit_forty_columns(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    for args in (("fewer",), ("practice",), ("fit",)):
        told = run(*args, "ilse-marchetti")
        assert told.code == 0
        assert max(map(width_of, told.out.splitlines())) <= 40, args


def test_without_a_terminal_nothing_is_left_out(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    told = run("fewer", "ilse-marchetti")
    assert re.split(" {2,}", told.out.splitlines()[0]) == ["Stand", "Target", "Ball", "Leave"]
    assert max(map(len, told.out.splitlines())) > 80
    assert "\x1b" not in told.out


# Next steps


@pytest.fixture
def seated(monkeypatch: pytest.MonkeyPatch) -> None:
    """Someone sits before a terminal."""
    monkeypatch.setattr(speaking, "_is_terminal", lambda _: True)


STEPS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("chart", "ilse-marchetti", "10"), "As cards: cardgen make ilse-marchetti"),
    (
        ("fewer", "ilse-marchetti"),
        "On a sheet that folds to a booklet: cardgen make ilse-marchetti --as pocket",
    ),
    (
        ("practice", "ilse-marchetti"),
        "As a sheet with a log to fill in: cardgen make ilse-marchetti --as practice",
    ),
    (
        ("fit", "ilse-marchetti"),
        "This bowler is a demo. For a profile of your own: cardgen new",
    ),
    (("log", "--to", "shots.csv"), "With shots in it: cardgen fit PROFILE shots.csv"),
    (("form", "in.pdf"), "Once it is filled in: cardgen new NEW.yaml --form in.pdf"),
    (
        ("make", "ilse-marchetti"),
        "To fold: crease it to eighths, slit the solid line, fold it along the slit and push the "
        "ends together; page 1 is outside.",
    ),
    (("check", "ilse-marchetti", "wren-skobernik"), "No mistakes."),
    (
        ("completion", "zsh"),
        'Add this line to ~/.zshrc, after compinit: eval "$(cardgen completion zsh)"',
    ),
)


@pytest.mark.parametrize(("args", "step"), STEPS)
@pytest.mark.usefixtures("seated")
def test_the_last_line_says_what_may_come_next(args: tuple[str, ...], step: str, run: Run) -> None:
    assert run(*args).err.splitlines()[-1].split("\r")[-1] == step
    assert step not in run(*args, "--quiet").err


@pytest.mark.parametrize("args", [step[0] for step in STEPS if step[0][0] != "make"])
def test_nobody_at_a_terminal_is_told_nothing(args: tuple[str, ...], run: Run) -> None:
    assert run(*args).err == ""


@pytest.mark.usefixtures("seated")
def test_a_printer_kept_is_named_where_it_is_used(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "kept"))
    said = run("align", "front desk", "--right", "0.4", "--up", "0")
    assert said.err.splitlines()[-1] == (
        "Cards that make up for it: "
        + typed("make", "PROFILE", "--as", "cards", "--printer")
        + " 'front desk'"
    )


@pytest.mark.parametrize(
    ("called", "found", "told"),
    [
        ("cardgen", None, "cardgen"),
        ("bin/cardgen", None, "bin/cardgen"),
        ("bin/cardgen", "bin", "cardgen"),
        ("bin/cardgen", "other", "bin/cardgen"),
        ("my bin/cardgen", None, "'my bin/cardgen'"),
        ("somewhere/__main__.py", None, "cardgen"),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="shells quote otherwise there")
def test_a_next_step_calls_the_program_as_this_person_can(
    called: str, found: str | None, told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("bin", "other"):
        program = Path(folder, "cardgen")
        program.parent.mkdir()
        program.touch(mode=0o755)
    monkeypatch.setenv("PATH", "" if found is None else str(tmp_path / found))
    monkeypatch.setattr("sys.argv", [called, "new"])
    assert typed("make", "a b.yaml") == f"{told} make 'a b.yaml'"


@pytest.mark.usefixtures("seated")
def test_a_clinic_tells_what_the_copy_shop_needs(run: Run, tmp_path: Path) -> None:
    roster = tmp_path / "club.csv"
    roster.write_text("name,hand\nAna,right\n")
    said = run("clinic", str(roster), "--with", "none", "--jobs", "1", "--no-cache")
    path = Path("out", "club-pocket.pdf")
    assert said.err.splitlines()[-1] == f"For the copy shop: {path}"
    assert "Print at actual size (100 %), on one side.\n" in said.err


@pytest.mark.usefixtures("seated")
def test_a_script_is_given_no_advice(run: Run) -> None:
    told = run("chart", "ilse-marchetti", "10", "--json").err
    assert re.fullmatch("Working out the chart …\r +\r", told)  # nothing of it is left


@pytest.mark.parametrize("away", ["stdout", "stderr"])
def test_advice_is_for_who_sees_results_and_messages(
    away: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(speaking, "_is_terminal", lambda stream: stream is not getattr(sys, away))
    speaking.advise("Next: this")
    assert capsys.readouterr().err == ""


# Loud and quiet


def test_quiet_leaves_results_and_errors(run: Run, profile: Profile) -> None:
    emoji = profile("emoji.yaml", "bowler: Zoë 🎳\nhand: left\n")
    assert "printed as 'Zoë'" in run("check", emoji).err
    for args in (("-q", "check", emoji), ("check", emoji, "-q"), ("check", "--quiet", emoji)):
        checked = run(*args)
        assert (checked.code, checked.out, checked.err) == (0, "emoji.yaml: no mistakes\n", "")
    bad = profile("bad.yaml", "bowler: A\nhand: up\n")
    assert "bad.yaml:2:7: hand: " in run("-q", "check", bad).err
    log = profile("log.csv", "leave,stand_board,target_board,pins_board\n10,34,20,5\n11,34,20,5\n")
    left = run("-q", "log", log, "--to", "good.csv", "--skip-bad")
    assert (left.code, left.out) == (1, "good.csv\n")
    assert left.err.startswith("left out: log.csv:3:1: leave: ")


def test_verbose_tells_what_was_read_and_how_long_each_step_took(run: Run) -> None:
    for args in (("-v", "chart"), ("chart", "-v")):
        told = run(*args, "ilse-marchetti", "10")
        assert told.code == 0
        read, lane, chart, whole = told.err.splitlines()
        assert re.fullmatch(r"read .*ilse-marchetti\.yaml: \d+\.\d\d s", read)
        assert lane == "with the lane house"
        assert re.fullmatch(r"chart: \d+\.\d\d s", chart)
        assert re.fullmatch(r"in all: \d+\.\d\d s", whole)


@pytest.mark.usefixtures("seated")
@pytest.mark.parametrize("loud", ["-q", "-v"])
def test_only_one_who_is_told_the_usual_sees_what_is_being_done(loud: str, run: Run) -> None:
    assert "…" in run("check", "ilse-marchetti").err
    assert "…" not in run("check", "ilse-marchetti", loud).err


def test_quiet_and_verbose_at_once_are_refused(run: Run) -> None:
    for args in (("-q", "-v", "schema"), ("-q", "schema", "-v")):
        refused = run(*args)
        assert (refused.code, refused.out) == (2, "")
        assert refused.err.endswith("Error: give either --quiet or --verbose, not both\n")


def test_questions_are_asked_however_quiet_it_is(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", StringIO())
    asked = run("-q", "new", "a.yaml")
    assert "This makes the profile of a bowler." in asked.err


# How far it is


def told(items: int, *args: str, capsys: pytest.CaptureFixture[str]) -> str:
    @click.command()
    def counted() -> None:
        for item in progressing(range(items), "Profiles"):
            say(f"number {item}")

    with_voice(counted).main(list(args), standalone_mode=False)
    return capsys.readouterr().err


@pytest.mark.usefixtures("seated")
def test_many_profiles_have_a_bar_and_messages_stand_on_lines_of_their_own(
    capsys: pytest.CaptureFixture[str],
) -> None:
    few, many = (told(items, capsys=capsys) for items in (3, 4))
    assert re.sub("[^\r\n]+\r +\r", "", few) == "number 0\nnumber 1\nnumber 2\n"
    assert few.startswith("Profiles …\r")
    assert "Profiles" in many
    assert all(re.search(rf"\r +\rnumber {item}\n", many) for item in range(4))
    assert told(4, "-q", capsys=capsys) == ""


def test_no_bar_goes_into_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert told(4, capsys=capsys) == "number 0\nnumber 1\nnumber 2\nnumber 3\n"


@pytest.mark.usefixtures("seated")
def test_a_line_stands_while_one_waits_and_is_taken_away(
    capsys: pytest.CaptureFixture[str],
) -> None:
    @click.command()
    def waits() -> None:
        with stage("fit", "Fitting to 24 shots"):
            say("a word in between")

    waits.main([], standalone_mode=False)
    line = "Fitting to 24 shots …"
    assert capsys.readouterr().err == f"{line}\r{' ' * len(line)}\ra word in between\n"


# For scripts


@pytest.mark.parametrize(
    ("args", "keys"),
    [
        (("fewer",), {"lines", "kept", "exact"}),
        (("practice",), {"unsure_boards", "next", "practice"}),
        (
            ("fit",),
            {"bowler", "shots", "lines", "settled", "wild", "values", "spread", "changed"},
        ),
        (("check",), {"checked", "problems"}),
    ],
)
def test_json_has_the_keys_that_help_names(args: tuple[str, ...], keys: set[str], run: Run) -> None:
    told = run(*args, "ilse-marchetti", "--json")
    assert told.code == 0
    assert set(json.loads(told.out)) == keys
    help_words = set(re.findall(r"\w+", run(*args, "--help").out.partition("--json prints")[2]))
    assert keys - {"shots", "bowler"} <= help_words


def test_check_lists_problems_for_scripts_and_says_so_by_its_code(
    run: Run, profile: Profile
) -> None:
    bad = profile("bad.yaml", "bowler: Al\nhand: rihgt\n")
    emoji = profile("emoji.yaml", "bowler: Zoë 🎳\nhand: left\n")
    checked = run("check", bad, emoji, "ilse-marchetti", "--json")
    assert (checked.code, checked.err) == (2, "")
    record = json.loads(checked.out)
    assert record["checked"] == [bad, emoji, "ilse-marchetti"]
    error, warning = record["problems"]
    assert set(error) == {"file", "line", "column", "where", "message", "hint", "kind"}
    assert (error["file"], error["line"], error["column"]) == ("bad.yaml", 2, 7)
    assert (error["where"], error["kind"]) == ("hand", "error")
    assert error["message"] == "must be right or left (got 'rihgt')"
    assert error["hint"] == "did you mean 'right'?"
    assert (warning["file"], warning["kind"]) == ("emoji.yaml", "warning")


def test_printers_are_listed_for_scripts(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "kept"))
    assert json.loads(run("align", "--json").out) == {"printers": {}}
    kept = run("align", "office", "--right", "0.4", "--up", "-0.2", "--json")
    assert json.loads(kept.out) == {"printers": {"office": {"right_mm": 0.4, "up_mm": -0.2}}}
    assert "leave --page out" in run("align", "--page", "--json", "--out", "a.pdf").err
    straight = run("align", "office", "--right", "-0.0", "--up", "0", "--json").out
    assert json.loads(straight) == {"printers": {"office": {"right_mm": 0.0, "up_mm": 0.0}}}
    assert "-0" not in straight
