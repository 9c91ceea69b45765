"""Many profiles in one ``make``: all are read first, then each bowler's files stand when made."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cardgen.atomicfile import is_ours, write_whole
from cardgen.cli import main, make
from cardgen.clinic import several
from cardgen.errors import OutputError

ROOT = Path(__file__).resolve().parents[2]
GOOD = "bowler: Student {n}\nhand: right\n"
FAR = "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n"


@pytest.fixture
def ran(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[object, str, str]]:
    """Return a function that makes products of three students and returns code and messages."""
    monkeypatch.chdir(tmp_path)
    for n in (1, 2, 3):
        (tmp_path / f"{n}.yaml").write_text(GOOD.format(n=n))

    def make_them(*args: str) -> tuple[object, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["make", "1.yaml", "2.yaml", "3.yaml", *args])
        said = capsys.readouterr()
        return ended.value.code, said.out, said.err

    return make_them


def written(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "out").rglob("*") if path.is_file())


def test_one_that_cannot_be_made_is_told_and_the_others_stand(ran: Any, tmp_path: Path) -> None:
    (tmp_path / "2.yaml").write_text(GOOD.format(n=2) + FAR)
    code, out, err = ran("--as", "pocket")
    assert code == 1
    assert written(tmp_path) == ["Student-1-pocket.pdf", "Student-3-pocket.pdf"]
    assert len(out.splitlines()) == 2
    assert "2.yaml: 10: no line; " in err
    assert "Traceback" not in err


def test_a_file_of_somebody_s_is_told_before_anything_is_worked_out(
    ran: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "Student-3-cards-backs.pdf").write_bytes(b"theirs")
    monkeypatch.setattr(several, "job_of", None)  # whoever calls it fails
    code, out, err = ran("--as", "cards", "--layout", "by-hand")
    assert (code, out) == (2, "")
    assert "Student-3-cards-backs.pdf: is there already and cardgen did not make it" in err
    assert written(tmp_path) == ["Student-3-cards-backs.pdf"]


def test_a_file_of_somebody_s_among_pages_keeps_all_of_that_bowler_s(
    ran: Any, tmp_path: Path
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "Student-2-lessons-3.svg").write_bytes(b"theirs")
    code, out, err = ran("--as", "lessons", "--file-type", "svg")
    assert code == 2
    pages = [f"Student-1-lessons-{page}.svg" for page in (1, 2, 3)]
    assert written(tmp_path) == [*pages, "Student-2-lessons-3.svg"]
    assert [Path(line).name for line in out.splitlines()] == pages
    assert "Student-2-lessons-3.svg: is there already" in err


def test_a_disk_that_fills_up_keeps_what_is_written(
    ran: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, data: bytes, *, force: bool = False) -> None:
        if "Student-2" in path.name:
            raise OutputError(f"{path}: cannot be written: {os.strerror(28)}")
        write_whole(path, data, force=force)

    monkeypatch.setattr(make, "write_whole", full)
    code, out, err = ran()
    assert code == 3
    assert written(tmp_path) == ["Student-1-pocket.pdf"]
    assert len(out.splitlines()) == 1
    assert "Student-2-pocket.pdf: cannot be written" in err


@pytest.mark.skipif(sys.platform == "win32", reason="there are no process groups like these")
def test_ctrl_c_keeps_what_is_written_and_no_process_says_what_it_was_at(tmp_path: Path) -> None:
    names = [f"{n}.yaml" for n in range(40)]
    for n, name in enumerate(names):
        (tmp_path / name).write_text(GOOD.format(n=n))
    process = subprocess.Popen(
        [sys.executable, "-m", "cardgen", "make", *names],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    deadline = time.monotonic() + 240
    while not list(tmp_path.glob("out/*.pdf")) and time.monotonic() < deadline:
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does, to all of them
    out, err = process.communicate(timeout=240)
    assert process.returncode in (130, -signal.SIGINT)
    assert err.strip() == "Stopped."
    made = [path for path in (tmp_path / "out").iterdir() if path.is_file()]
    assert 0 < len(made) < len(names)
    assert all(is_ours(path) for path in made)
    assert {path.name for path in made} >= {Path(line).name for line in out.splitlines()}
