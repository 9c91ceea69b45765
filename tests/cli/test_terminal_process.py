"""What only a terminal, a console or a pipe of its own can show."""

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import BinaryIO

import pytest

from cardgen.cli.tables import width_of

ROOT = Path(__file__).resolve().parents[2]
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="there are no such terminals there")
CHART = ("-m", "cardgen", "chart", "ilse-marchetti", "10", "3-10")


def environment(**more: str) -> dict[str, str]:
    inherited = {
        name: value
        for name, value in os.environ.items()
        if name not in ("COLUMNS", "LINES", "NO_COLOR", "PYTHONWARNINGS")
    }
    return {**inherited, "PYTHONPATH": str(ROOT), "TERM": "xterm", **more}


def on_terminal(*args: str, columns: int, cwd: Path, **more: str) -> str:
    """Return what a terminal of so many columns shows in the end."""
    return re.sub(r"[^\r\n]*\r *\r", "", told_terminal(*args, columns=columns, cwd=cwd, **more))


def told_terminal(*args: str, columns: int, cwd: Path, **more: str) -> str:
    """Return all that a terminal of so many columns is told, also what is taken away again."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    with subprocess.Popen(
        [sys.executable, *args],
        cwd=cwd,
        env=environment(**more),
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
    ) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 4096)
            except OSError:  # how a terminal ends
                break
            if not part:
                break
            shown += part
        process.wait(timeout=60)
    os.close(ours)
    return shown.decode().replace("\r\n", "\n")


@POSIX
def test_a_terminal_gets_bold_where_to_stand_and_look_and_a_next_step(tmp_path: Path) -> None:
    shown = on_terminal(*CHART, columns=80, cwd=tmp_path)
    lines = shown.splitlines()
    assert lines[0].startswith("\x1b[1mLeave\x1b[0m")
    assert "\x1b[1m34\x1b[0m" in lines[1]
    assert set(re.findall(r"\x1b\[(\d*)m", shown)) == {"0", "1"}  # no colour
    bare = re.sub(r"\x1b\[\d*m", "", shown).splitlines()
    head, *rows = bare[:3]
    assert all(row[head.index("Ball") :].startswith(("spare", "strike")) for row in rows)
    assert bare[-1] == "As cards: cardgen make ilse-marchetti"


@POSIX
def test_what_is_being_done_stands_until_it_is_done(tmp_path: Path) -> None:
    told = told_terminal(*CHART, columns=80, cwd=tmp_path)
    assert re.match("Working out the chart …\r +\r\x1b", told)
    quiet = told_terminal(*CHART, "-q", columns=80, cwd=tmp_path)
    assert "Working" not in quiet


@POSIX
@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_no_emphasis_where_none_is_wanted(more: dict[str, str], tmp_path: Path) -> None:
    shown = on_terminal(*CHART, columns=40, cwd=tmp_path, **more)
    assert "\x1b" not in shown
    assert shown.splitlines()[1].split()[:3] == ["10", "pin", "•"]
    assert "Room" not in shown
    assert max(map(width_of, shown.splitlines()[:3])) <= 40


@pytest.mark.parametrize("encoding", ["cp1252", "cp437"])
def test_an_old_console_has_its_columns_in_line(encoding: str, tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, *CHART],
        cwd=tmp_path,
        env=environment(PYTHONIOENCODING=encoding),
        capture_output=True,
        check=True,
        timeout=60,
    )
    assert ran.stderr == b""
    head, *rows = ran.stdout.decode(encoding).splitlines()[:3]
    at = head.index("Ball")
    assert [re.match(r"  (spare|strike)\b", row[at - 2 :]) is not None for row in rows] == [
        True
    ] * 2
    assert ("\\u2022" in rows[0]) == (encoding == "cp437")


def written_to(stream: BinaryIO, folder: Path, *args: str) -> subprocess.CompletedProcess[bytes]:
    """Run Python with ``args`` in ``folder``, its standard output going to ``stream``."""
    return subprocess.run(
        [sys.executable, *args],
        cwd=folder,
        env=environment(),
        stdout=stream,
        stderr=subprocess.PIPE,
        check=False,
        timeout=60,
    )


@POSIX
def test_a_full_disk_behind_a_redirection_is_said_in_a_sentence(tmp_path: Path) -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("there is no such device here")
    with full.open("wb") as stream:
        ran = written_to(stream, tmp_path, "-m", "cardgen", "schema")
    assert ran.returncode == 3
    assert ran.stderr == b"standard output: cannot be written: No space left on device\n"


@POSIX
@pytest.mark.parametrize("args", [CHART, ("-m", "cardgen", "completion", "bash")])
def test_a_reader_that_went_away_is_no_matter(args: tuple[str, ...], tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as stream:
        ran = written_to(stream, tmp_path, *args)
    assert (ran.returncode, ran.stderr) == (1, b"")


def test_warnings_and_logs_of_libraries_stay_theirs(tmp_path: Path) -> None:
    code = (
        "import logging, sys, warnings\n"
        "import cardgen.cli.schema as schema\n"
        "from cardgen.cli import main\n"
        "def noisy():\n"
        "    warnings.warn('old', DeprecationWarning)\n"
        "    warnings.warn('odd')\n"
        "    logging.getLogger('library').warning('loud')\n"
        "    return {}\n"
        "schema.profile_json_schema = noisy\n"
        "sys.argv = ['cardgen', 'schema']\n"
        "main()\n"
    )
    for options, heard in (((), b""), (("-W", "default"), b"UserWarning: odd")):
        ran = subprocess.run(
            [sys.executable, *options, "-c", code],
            cwd=tmp_path,
            env=environment(),
            capture_output=True,
            check=True,
            timeout=60,
        )
        assert ran.stdout.strip() == b"{}"
        assert heard in ran.stderr
        assert heard or not ran.stderr
        assert b"loud" not in ran.stderr
