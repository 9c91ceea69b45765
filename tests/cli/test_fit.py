"""The commands that learn from a bowler's shots, and those that tell what to do with it."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cardgen.profile.loader import load_profile
from cardgen.resources import data_folder

Run = Callable[..., Any]
SHOTS = data_folder("profiles") / "shots"
LOG = str(SHOTS / "ilse-marchetti.csv")
HEADER = "leave,stand_board,target_board,arrows_board,pins_board\n"


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    path: Path = tmp_path / "ilse.yaml"
    shutil.copy(data_folder("profiles") / "ilse-marchetti.yaml", path)
    return path


def test_a_fit_tells_before_and_after_and_writes_nothing(run: Run, profile: Path) -> None:
    before = profile.read_bytes()
    told = run("fit", str(profile), LOG)
    assert told.code == 0
    assert "from shots (24) and known lines (1)" in told.out
    assert re.search(
        r"^Slide foot to ball +5\.0 ± 0\.5 +[0-9.]+ ± 0\.[1-5] +boards$", told.out, re.M
    )
    assert "Taken as wild and left out: 2026-11-04 Full rack 25 over 11 pulled it." in told.out
    assert told.err == f"Put it into the profile: cardgen fit {profile} {LOG} --write\n"
    assert profile.read_bytes() == before


def test_a_written_fit_changes_nothing_else_and_is_the_same_the_next_time(
    run: Run, profile: Path
) -> None:
    text = profile.read_text()
    assert run("fit", str(profile), LOG, "--write").code == 0
    first = profile.read_text()
    assert first.startswith(text)
    # A fit begins with what the bowler says himself, so the same log tells the same again.
    again = run("fit", str(profile), LOG, "--write")
    assert "No line of the chart changes." in again.out
    assert profile.read_text() == first
    fitted = load_profile(profile).profile.fitted
    assert fitted is not None
    assert (fitted.shots, fitted.lines) == (24, 1)
    assert len(fitted.before) > 20


def test_a_fitted_chart_keeps_the_lines_that_are_as_good_and_lists_the_others(
    run: Run, profile: Path
) -> None:
    old = chart(run, profile)
    told = json.loads(run("fit", str(profile), LOG, "--write", "--json").out)
    new = chart(run, profile)
    changed = {tuple(each["leave"]): each for each in told["changed"]}
    assert 0 < len(changed) < len(new)
    for leave in old.keys() & new.keys():
        assert (old[leave] != new[leave]) == (leave in changed)
    for leave, each in changed.items():
        assert tuple(each["before"].values()) == old[leave]
        assert tuple(each["after"].values()) == new[leave]
    shown = run("make", str(profile), "--out", str(profile.parent / "out"))
    assert shown.code == 0


def chart(run: Run, profile: Path) -> dict[tuple[int, ...], tuple[str, float, float]]:
    record = json.loads(run("chart", str(profile), "--json").out)
    return {
        tuple(line["leave"]): (line["ball"], line["stand"], line["target"])
        for line in record["lines"]
    }


def test_more_shots_make_surer(run: Run, profile: Path, tmp_path: Path) -> None:
    few = tmp_path / "few.csv"
    few.write_text("".join(Path(LOG).read_text().splitlines(keepends=True)[:9]))
    sure = [
        json.loads(run("fit", str(profile), *logs, "--json").out)["values"]["aim_boards"]["after"][
            1
        ]
        for logs in ((), (str(few),), (LOG,))
    ]
    assert sure[0] > sure[1] > sure[2]


def test_bad_rows_stop_a_fit_unless_they_are_skipped(
    run: Run, profile: Path, tmp_path: Path
) -> None:
    log = tmp_path / "log.csv"
    log.write_text(HEADER + "10,34,20,20,5\n10,99,20,20,5\n11,34,20,20,5\n")
    stopped = run("fit", str(profile), str(log), "--write")
    assert (stopped.code, stopped.out) == (2, "")
    assert f"{log}:3:4: stand_board: " in stopped.err
    assert f"{log}:4:1: leave: " in stopped.err
    assert load_profile(profile).profile.fitted is None
    skipped = run("fit", str(profile), str(log), "--skip-bad")
    assert skipped.code == 1
    assert "from shots (1)" in skipped.out
    assert skipped.err.count("left out: ") == 2


def test_nothing_to_fit_to_is_said(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "p.yaml"
    path.write_text("bowler: Demo\nhand: right\n")
    said = run("fit", str(path))
    assert (said.code, said.out) == (2, "")
    assert "there is nothing to fit to" in said.err


def test_a_demo_is_refused_before_a_log_is_read(run: Run) -> None:
    said = run("fit", "ilse-marchetti", "not-there.csv", "--write")
    assert said.code == 2
    assert "this is a demo that others see too" in said.err
    assert "not-there" not in said.err


def test_a_log_named_twice_counts_once(run: Run) -> None:
    for logs, name in (((LOG,), "once.csv"), ((LOG, LOG), "twice.csv")):
        assert run("log", *logs, "--to", name).code == 0
    assert Path("once.csv").read_bytes() == Path("twice.csv").read_bytes()


def test_a_log_is_not_written_over_while_rows_of_it_are_left_out(run: Run, tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    text = "leave,stand_board,target_board\n10,34,20\n11,34,20\n"
    log.write_text(text)
    for path in (str(log), str(tmp_path / "." / "log.csv")):
        said = run("log", str(log), "--to", path, "--skip-bad", "--force")
        assert said.code == 2
        assert "the rows left out would be lost" in said.err
        assert log.read_text() == text


def test_a_demo_profile_is_not_written_to(run: Run) -> None:
    said = run("fit", "ilse-marchetti", LOG, "--write")
    assert said.code == 2
    assert "fit a copy of it" in said.err


def test_a_profile_changed_after_its_fit_warns(run: Run, profile: Path) -> None:
    run("fit", str(profile), LOG, "--write")
    assert run("check", str(profile)).err == ""
    profile.write_text(profile.read_text().replace("speed_mph: 17 ", "speed_mph: 18 "))
    assert "was fitted to other numbers" in run("check", str(profile)).err


def test_practice_tells_what_to_throw_and_what_it_wins(run: Run) -> None:
    told = run("practice", "ilse-marchetti")
    assert (told.code, told.err) == (0, "")
    record = json.loads(run("practice", "ilse-marchetti", "--json").out)
    assert len(record["next"]) == 3
    sure = [record["unsure_boards"], *(each["unsure_boards"] for each in record["next"])]
    assert sure == sorted(sure, reverse=True)
    wins = [each["wins"] for each in record["practice"]]
    assert wins == sorted(wins, reverse=True)
    assert all(each["steadier"] >= each["make"] - 0.01 for each in record["practice"])


def test_fewer_lines_serve_every_leave_once(run: Run) -> None:
    record = json.loads(run("fewer", "wren-skobernik", "--lines", "3", "--json").out)
    assert len(record["lines"]) == 3
    assert record["kept"] == sorted(record["kept"])
    served = [tuple(each["leave"]) for line in record["lines"] for each in line["serves"]]
    assert len(served) == len(set(served)) > 20
    told = run("fewer", "wren-skobernik")
    assert "1 line keeps" in told.out


def test_a_log_goes_through_a_sheet_and_back(run: Run, tmp_path: Path) -> None:
    sheet, back, same = (tmp_path / name for name in ("log.pdf", "back.csv", "same.csv"))
    assert run("log", LOG, "--to", str(sheet)).out == f"{sheet}\n"
    run("log", str(sheet), "--to", str(back))
    run("log", LOG, "--to", str(same))
    assert back.read_bytes() == same.read_bytes()
    assert back.read_text() == Path(LOG).read_text()
    assert "name a file that ends in" in run("log", "--to", "log.txt").err
    refused = run("log", str(sheet), "--to", str(profile_like(tmp_path)))
    assert refused.code == 2


def profile_like(folder: Path) -> Path:
    path = folder / "mine.csv"
    path.write_text("not ours\n")
    return path


def test_a_profile_goes_through_a_form_and_back(run: Run, tmp_path: Path) -> None:
    form, new, again = (tmp_path / name for name in ("in.pdf", "new.yaml", "again.pdf"))
    assert run("form", str(form), "--profile", "wren-skobernik").code == 0
    assert run("new", str(new), "--form", str(form)).out == f"{new}\n"
    assert run("check", str(new)).code == 0
    assert run("form", str(again), "--profile", str(new)).code == 0
    assert again.read_bytes() == form.read_bytes()
    assert run("new", str(new), "--form", str(form)).code == 2  # never over somebody's profile
    empty = tmp_path / "empty.pdf"
    assert run("form", str(empty), "--paper", "letter").code == 0
    said = run("new", str(tmp_path / "none.yaml"), "--form", str(empty))
    assert said.code == 2
    assert f"{empty}: bowler: " in said.err
    assert not (tmp_path / "none.yaml").exists()


def test_the_practice_sheet_is_a_form_that_a_fit_reads(
    run: Run, profile: Path, tmp_path: Path
) -> None:
    made = run("make", str(profile), "--as", "practice", "--out", str(tmp_path))
    assert made.out == f"{tmp_path / 'Ilse-Marchetti-practice.pdf'}\n"
    # Nothing is written on it but what is to be thrown: that says nothing yet.
    told = json.loads(run("fit", str(profile), made.out.strip(), "--json").out)
    assert told == json.loads(run("fit", str(profile), "--json").out)
    assert told["shots"] == 0


def test_a_log_is_checked_as_a_profile_is(run: Run, tmp_path: Path) -> None:
    checked = run("check", LOG, str(SHOTS / "wren-skobernik.yaml"))
    assert (checked.code, checked.err) == (0, "")
    assert checked.out.count(": fine") == 2
    log = tmp_path / "log.csv"
    log.write_text(HEADER + "10,99,20,20,5\n")
    bad = run("check", str(log))
    assert (bad.code, bad.out) == (2, "")
    assert f"{log}:2:4: stand_board: " in bad.err
