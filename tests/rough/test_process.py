"""What surrounds the program: its streams, its folders, its locale, its clock, a Ctrl-C."""

import ast
import itertools
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import cardgen
from cardgen.atomicfile import is_ours
from cardgen.drawing.theme import A7
from cardgen.press import Job
from cardgen.sheets.papers import A4

ROOT = Path(__file__).resolve().parents[2]
CHART = ("chart", "ilse-marchetti", "10")
POCKET = ("make", "ilse-marchetti", "--as", "pocket")
PRINTED = "Ilse-Marchetti-pocket.pdf"
INTERRUPTED = 130


def environment(**changes: str | None) -> dict[str, str]:
    """Return the variables of a process; None takes one away."""
    wanted = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", **changes}
    return {name: value for name, value in wanted.items() if value is not None}


def shell(
    command: str, folder: Path, *args: str, **changes: str | None
) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in ``folder``; ``$0`` is Python, ``$@`` the arguments."""
    return subprocess.run(
        ["/bin/sh", "-c", command, sys.executable, "-m", "cardgen", *args],
        cwd=folder,
        env=environment(**changes),
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
        timeout=120,
    )


posix = pytest.mark.skipif(not Path("/bin/sh").exists(), reason="there is no shell here")


# Streams


@posix
@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_streams_stop_nothing(tmp_path: Path, closed: str) -> None:
    ran = shell(f'"$0" "$@" {closed}', tmp_path, *POCKET)
    assert ran.returncode == 0, ran.stderr
    assert is_ours(tmp_path / "out" / PRINTED)


@posix
@pytest.mark.parametrize("closed", ["2>&-", ">&- 2>&-", "2>/dev/full"])
def test_a_mistake_has_its_exit_code_though_nobody_can_read_of_it(
    tmp_path: Path, closed: str
) -> None:
    ran = shell(f'"$0" "$@" {closed}', tmp_path, "chart", "nobody")
    assert (ran.returncode, ran.stdout, ran.stderr) == (2, "", "")


@posix
def test_a_reader_that_takes_one_line_is_no_crash(tmp_path: Path) -> None:
    ran = shell('"$0" "$@" | head -n 1', tmp_path, "chart", "ilse-marchetti")
    assert ran.stdout.startswith("Leave")
    assert ran.stdout.count("\n") == 1
    assert ran.stderr == ""


@posix
@pytest.mark.parametrize("args", [("schema",), POCKET], ids=" ".join)
def test_a_reader_that_has_gone_is_no_crash(tmp_path: Path, args: tuple[str, ...]) -> None:
    # A line may be written before its reader goes; here there is none from the first on.
    ran = shell('"$0" "$@" | true', tmp_path, *args)
    assert (ran.stdout, ran.stderr) == ("", "")
    assert all(is_ours(path) for path in (tmp_path / "out").rglob("*.pdf"))


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("args", [CHART, ("schema",), POCKET], ids=" ".join)
def test_standard_output_on_a_full_disk_is_told(tmp_path: Path, args: tuple[str, ...]) -> None:
    ran = shell('"$0" "$@" >/dev/full', tmp_path, *args)
    assert ran.returncode == 3
    assert "Traceback" not in ran.stderr
    assert "cannot be written: No space left on device\n" in ran.stderr
    assert all(is_ours(path) for path in (tmp_path / "out").rglob("*.pdf"))


# Folders and variables


@posix
@pytest.mark.parametrize("home", [None, "/dev/null"])
def test_without_a_home_it_prints(tmp_path: Path, home: str | None) -> None:
    ran = shell(
        '"$0" "$@"',
        tmp_path,
        *POCKET,
        HOME=home,
        XDG_CACHE_HOME=None,
        CARDGEN_CACHE=None,
        USER=None,
        LOGNAME=None,
    )
    assert (ran.returncode, ran.stdout) == (0, f"out/{PRINTED}\n"), ran.stderr


@posix
def test_a_cache_and_settings_where_nothing_can_be_kept_cost_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"theirs")
    nowhere, away = str(tmp_path / "file" / "cache"), str(tmp_path / "away" / "home")
    ran = shell(
        '"$0" "$@"',
        tmp_path,
        *POCKET,
        CARDGEN_CACHE=None,
        HOME=away,
        XDG_CACHE_HOME=nowhere,
        XDG_CONFIG_HOME=nowhere,
    )
    assert (ran.returncode, ran.stdout) == (0, f"out/{PRINTED}\n"), ran.stderr
    assert (tmp_path / "file").read_bytes() == b"theirs"


@posix
def test_a_folder_to_write_into_that_is_a_broken_link_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").symlink_to("gone")
    ran = shell('"$0" "$@"', tmp_path, *POCKET)
    said = f"out/{PRINTED}: cannot be written: out is a link that leads nowhere\n"
    assert (ran.returncode, ran.stdout, ran.stderr) == (3, "", said)


ASCII: dict[str, str | None] = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
"""Names of files and the console in ASCII alone."""


@posix
def test_a_name_of_a_file_that_ascii_does_not_have_is_told(tmp_path: Path) -> None:
    ran = shell('"$0" "$@"', tmp_path, "make", "wren-skobernik", "--as", "pocket", **ASCII)
    assert (ran.returncode, ran.stdout) == (3, "")
    assert "set PYTHONUTF8=1, or choose another name" in ran.stderr
    assert ran.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
    ran = shell(
        '"$0" "$@"',
        tmp_path,
        *("make", "wren-skobernik", "--as", "pocket"),
        **{**ASCII, "PYTHONUTF8": "1"},
    )
    assert ran.returncode == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["Wren-Škobernik-pocket.pdf"]


@posix
def test_a_profile_is_read_as_utf_8_whatever_the_locale(tmp_path: Path) -> None:
    (tmp_path / "ü.yaml").write_text("bowler: Ünal\nhand: rigth\n", encoding="utf-8")
    ran = shell('"$0" "$@"', tmp_path, "check", "ü.yaml", **ASCII)
    assert ran.returncode == 2
    assert ":2:7: hand: must be right or left (got 'rigth')" in ran.stderr
    assert "Traceback" not in ran.stderr


@posix
@pytest.mark.parametrize("argument", ["a\nb", "\x1b[31mred", "x" * 255, "x" * 5000, " ", ""])
def test_an_argument_of_any_signs_is_told_in_a_sentence(tmp_path: Path, argument: str) -> None:
    ran = shell('"$0" "$@"', tmp_path, "check", argument)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "Traceback" not in ran.stderr
    assert "\x1b" not in ran.stderr
    assert len(ran.stderr.splitlines()) <= 2  # a sentence and its hint


# Many at once


@posix
def test_of_200_profiles_the_bad_ones_are_all_told_and_nothing_is_written(tmp_path: Path) -> None:
    names = []
    for number in range(200):
        names.append(f"{number}.yaml")
        hand = "rigth" if number % 50 == 7 else "right"
        (tmp_path / names[-1]).write_text(f"bowler: Student {number}\nhand: {hand}\n")
    ran = shell('"$0" "$@"', tmp_path, "make", *names)
    assert (ran.returncode, ran.stdout) == (2, "")
    told = re.findall(r"^[0-9]+\.yaml:[0-9:]+(?=: hand)", ran.stderr, re.MULTILINE)
    assert told == ["107.yaml:2:7", "157.yaml:2:7", "57.yaml:2:7", "7.yaml:2:7"]
    assert not (tmp_path / "out").exists()
    good = [name for name in names if int(name.partition(".")[0]) % 50 != 7]
    ran = shell('"$0" "$@"', tmp_path, "check", *good)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout == "".join(f"{name}: fine\n" for name in good)


# The clock


def printed(job: Job) -> list[bytes]:
    made = [job.pocket(A7, paper=A4), job.practice_sheets(A4)]
    return [document.pdf() for document in made] + [
        page.encode() for document in made for page in document.svg()
    ]


def test_no_byte_depends_on_the_clock(
    demos: dict[str, Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = demos["ilse-marchetti"]
    before = printed(job)
    times = itertools.cycle([0.0, 4e9, -1e9, 1.7e9, 2.0**31])
    local, universal = time.localtime, time.gmtime
    for name, jumping in {
        "time": lambda: next(times),
        "time_ns": lambda: int(next(times) * 1e9),
        "localtime": lambda at=None: local(next(times) if at is None else at),
        "gmtime": lambda at=None: universal(next(times) if at is None else at),
    }.items():
        monkeypatch.setattr(time, name, jumping)
    monkeypatch.setenv("TZ", "Pacific/Kiritimati")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "4000000000")
    assert printed(job) == before


CLOCKS = {"time", "time_ns", "now", "utcnow", "today", "localtime", "gmtime", "strftime", "ctime"}


def asks_a_clock(node: ast.AST) -> bool:
    """Tell whether a node calls what tells the time, or imports it by itself."""
    if isinstance(node, ast.ImportFrom):
        return node.module == "time" and bool({name.name for name in node.names} & CLOCKS)
    if not isinstance(node, ast.Attribute) or node.attr not in CLOCKS:
        return False
    of = node.value.attr if isinstance(node.value, ast.Attribute) else ast.unparse(node.value)
    return of in ("time", "datetime", "date")


@pytest.mark.parametrize(
    ("code", "asks"),
    [
        *((f"import time; time.{name}()", True) for name in ("time", "time_ns", "localtime")),
        ("import datetime; datetime.datetime.now()", True),
        ("from datetime import date; date.today()", True),
        ("from time import time as clock; clock()", True),
        ("from time import perf_counter, sleep; perf_counter()", False),
        ("now = order.date; today = words.now", False),
    ],
)
def test_what_asks_a_clock_is_seen(code: str, asks: bool) -> None:
    assert any(map(asks_a_clock, ast.walk(ast.parse(code)))) is asks


def test_the_program_asks_no_clock_but_where_it_keeps_charts() -> None:
    package = Path(cardgen.__file__).parent
    asking = set()
    for path in package.rglob("*.py"):
        if "build_atlas" in path.parts:
            continue
        if any(map(asks_a_clock, ast.walk(ast.parse(path.read_text(encoding="utf-8"))))):
            asking.add(path.name)
    assert asking == {"chartcache.py"}  # how long ago another version's folder was used


# Ctrl-C

_LATER = (
    "import os, signal, sys, threading\n"
    "from cardgen import cli\n"
    "from cardgen.__main__ import main\n"
    "def stop():\n    os.kill(os.getpid(), signal.SIGINT)\n"
    "timer = threading.Timer(float(sys.argv[1]), stop)\ntimer.daemon = True\ntimer.start()\n"
    "sys.argv = ['cardgen', *sys.argv[2:]]\n"
    "main()\n"
)


@pytest.fixture(scope="module")
def whole_run(tmp_path_factory: pytest.TempPathFactory) -> tuple[float, bytes]:
    """How long a run takes that nothing disturbs, and what it prints."""
    folder = tmp_path_factory.mktemp("whole")
    start = time.monotonic()
    interrupted(folder, 1000.0)
    return time.monotonic() - start, (folder / "out" / PRINTED).read_bytes()


def interrupted(folder: Path, after_s: float) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", _LATER, str(after_s), *POCKET],
        cwd=folder,
        env=environment(CARDGEN_CACHE=str(folder / "cache")),
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="no process sends itself a Ctrl-C there")
@pytest.mark.parametrize("share", [0.01, 0.3, 0.6, 0.9])
def test_ctrl_c_leaves_nothing_or_all(
    tmp_path: Path, whole_run: tuple[float, bytes], share: float
) -> None:
    took_s, data = whole_run
    ran = interrupted(tmp_path, share * took_s)
    assert ran.returncode in (0, INTERRUPTED, -signal.SIGINT)
    assert ran.stderr.endswith("Stopped.\n" if ran.returncode == INTERRUPTED else "")
    assert "Traceback" not in ran.stderr
    made = [path for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert [path.name for path in made] in ([], [PRINTED])
    assert all(path.read_bytes() == data for path in made)
    assert made or ran.returncode != 0
    assert not list((tmp_path).rglob("*.part"))
