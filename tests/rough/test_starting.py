"""A Ctrl-C while the program is still being loaded: it ends, and nobody sees a traceback."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from cardgen.__main__ import main

ROOT = Path(__file__).resolve().parents[2]
INTERRUPTED = (130, -signal.SIGINT)

_AT_AN_IMPORT = """\
import os, runpy, signal, sys

at, seen, begun = int(sys.argv[1]), 0, False

def watch(event, args):
    global seen, begun
    if event == "import":
        begun = begun or args[0] == "cardgen.cli"
        seen += begun
        if begun and seen == at:
            os.kill(os.getpid(), signal.SIGINT)

sys.addaudithook(watch)
sys.argv = ["cardgen", *sys.argv[2:]]
runpy.run_module("cardgen", run_name="__main__", alter_sys=True)
"""
"""Runs the program, and sends it a Ctrl-C at one of the imports that its own code begins."""


def started(*args: object, **changes: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *map(str, args)],
        env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", **changes},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


posix = pytest.mark.skipif(sys.platform == "win32", reason="no process sends itself a Ctrl-C there")


@posix
@pytest.mark.parametrize("at", [1, 2, 5, 15, 30, 45])
def test_ctrl_c_while_help_is_loaded(at: int) -> None:
    ran = started("-c", _AT_AN_IMPORT, at, "--help")
    assert ran.returncode in INTERRUPTED
    assert ran.stdout == ""
    assert ran.stderr.strip() in ("", "Stopped.")


@posix
@pytest.mark.parametrize("at", [100, 150, 300, 450, 600, 800])
def test_ctrl_c_while_a_command_is_loaded(at: int) -> None:
    ran = started("-c", _AT_AN_IMPORT, at, "chart", "ilse-marchetti", "10")
    assert ran.returncode in INTERRUPTED
    assert ran.stdout == ""
    assert ran.stderr.strip() == "Stopped."


@posix
@pytest.mark.parametrize(
    "command", [("-m", "cardgen"), ("-c", "from cardgen.__main__ import main; main()")]
)
def test_without_a_ctrl_c_it_runs(command: tuple[str, ...]) -> None:
    ran = started(*command, "--version")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("cardgen")


@posix
def test_a_job_in_the_background_goes_on() -> None:
    # POSIX, Shell Command Language, 2.11: a shell without job control has such a job ignore SIGINT.
    code = (
        "import os, signal\n"
        "signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
        "from cardgen.cli import speaking\n"
        "told = speaking.show\n"
        "def stopped(*args, **words):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    told(*args, **words)\n"
        "speaking.show = stopped\n"
        "import sys\n"
        "sys.argv = ['cardgen', 'schema']\n"
        "from cardgen.__main__ import main\n"
        "main()\n"
    )
    ran = started("-c", code)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("{")


def test_another_program_s_way_to_be_stopped_is_left_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def theirs(*_: object) -> None:
        pass

    monkeypatch.setattr(sys, "argv", ["cardgen", "--version"])
    before = signal.signal(signal.SIGINT, theirs)
    try:
        with pytest.raises(SystemExit):
            main()
        assert signal.getsignal(signal.SIGINT) is not signal.SIG_DFL
    finally:
        signal.signal(signal.SIGINT, before)


@posix
def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    code = (
        "import os, sys\n"
        "os.mkdir('gone'); os.chdir('gone'); os.rmdir('../gone')\n"
        "sys.argv = ['cardgen', *sys.argv[1:]]\n"
        "from cardgen.__main__ import main\n"
        "main()\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, "chart", "ilse-marchetti", "10"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    said = "the folder in which you run this is gone; change to another one, and run it again\n"
    assert (ran.returncode, ran.stdout, ran.stderr) == (2, "", said)
