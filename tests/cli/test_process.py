"""What only a process of its own can show: its start, its imports, its console."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def python(*args: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, *args],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        check=False,
        timeout=60,
    )


def test_the_package_runs_as_a_module(tmp_path: Path) -> None:
    ran = python("-m", "cardgen", "chart", "ilse-marchetti", "10", cwd=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert "10 pin" in ran.stdout.decode()
    bad = python("-m", "cardgen", "chart", "nobody", cwd=tmp_path)
    assert (bad.returncode, bad.stdout) == (2, b"")
    assert b"Traceback" not in bad.stderr


def test_a_console_that_cannot_show_a_character_goes_on(tmp_path: Path) -> None:
    made = python(
        *("-m", "cardgen", "make", "wren-skobernik", "--as", "booklet"),
        cwd=tmp_path,
        PYTHONIOENCODING="iso8859-1",
    )
    assert (made.returncode, made.stderr) == (0, b"")
    assert b"Wren-\\u0160kobernik-booklet.pdf" in made.stdout
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["Wren-Škobernik-booklet.pdf"]


def test_a_console_of_ascii_alone_goes_on(tmp_path: Path) -> None:
    # click takes ASCII for a console set up wrong and writes UTF-8 to it.
    ran = python(
        *("-m", "cardgen", "chart", "wren-skobernik"), cwd=tmp_path, PYTHONIOENCODING="ascii"
    )
    assert (ran.returncode, ran.stderr) == (0, b"")
    rows = ran.stdout.decode().partition("\n\n")[0].splitlines()[1:]
    assert len(rows) >= 30
    assert sum(row.split("  ")[0].endswith(" pin") for row in rows) == 10


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from cardgen.cli import main\n"
        "try:\n    main(['--help'])\n"
        "except SystemExit as end:\n    assert end.code == 0\n"
        "loaded = {name.partition('.')[0] for name in sys.modules}\n"
        "print(sorted(loaded & {'numpy', 'scipy', 'pydantic', 'reportlab', 'yaml', 'fontTools',\n"
        "                       'svgwrite'}), file=sys.stderr)\n"
    )
    ran = python("-c", code, cwd=tmp_path)
    assert ran.returncode == 0
    assert ran.stderr.decode().strip() == "[]"
    assert b"make" in ran.stdout


def test_a_reader_that_goes_away_is_no_crash(tmp_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "cardgen", "schema"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert b"Traceback" not in process.stderr.read()
