"""The PDF library is taken as it was shipped: no settings of the user's change what is printed."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cardgen.writers.asshipped import as_shipped

ROOT = Path(__file__).resolve().parents[2]
_PRINTS = (
    "import sys\n"
    "from cardgen.drawing.scene import Scene, Text\n"
    "from cardgen.writers.document import DocumentInfo\n"
    "from cardgen.writers.pdf import pdf_bytes\n"
    "scene = Scene(50, 80, (Text(5, 9, 'Stand 34', 12),) * 40)\n"
    "sys.stdout.buffer.write(pdf_bytes([scene], DocumentInfo('Ana')))\n"
)
SETTINGS = (
    "pageCompression = 0\npdfComments = 1\npdfMultiLine = 1\ncanvas_basefontname = 'Courier'\n"
)


def printed(folder: Path, **variables: str) -> bytes:
    """Return a page as a process of its own prints it, which stands in ``folder``."""
    ran = subprocess.run(
        [sys.executable, "-c", _PRINTS],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), **variables},
        capture_output=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr.decode()
    return ran.stdout


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the page where nobody has set anything."""
    folder = tmp_path_factory.mktemp("plain")
    return printed(folder, HOME=str(folder))


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="there are no devices here")
def test_a_home_that_is_no_folder_stops_nothing(plain: bytes, tmp_path: Path) -> None:
    assert printed(tmp_path, HOME="/dev/null") == plain


def test_files_in_the_home_are_neither_read_nor_run(plain: bytes, tmp_path: Path) -> None:
    (tmp_path / ".reportlab_settings").write_text(SETTINGS)
    (tmp_path / ".reportlab_mods").write_text("raise SystemExit(9)\n")
    assert printed(tmp_path, HOME=str(tmp_path)) == plain


def test_modules_beside_are_neither_read_nor_run(plain: bytes, tmp_path: Path) -> None:
    (tmp_path / "reportlab_settings.py").write_text(SETTINGS)
    (tmp_path / "reportlab_mods.py").write_text("raise SystemExit(9)\n")
    path = os.pathsep.join([str(tmp_path), str(ROOT)])
    assert printed(tmp_path, HOME=str(tmp_path), PYTHONPATH=path) == plain


@pytest.mark.parametrize(
    "setting",
    [
        *("RL_pageCompression=0", "RL_invariant=0", "RL_useA85=1", "RL_pdfMultiLine=1"),
        *("RL_pdfComments=1", "RL_ttfAsciiReadable=0", "RL_canvas_basefontname=Courier"),
        *("RL_defaultPageSize=nonsense", "RL_encryptionStrength=none"),
    ],
)
def test_variables_change_nothing(plain: bytes, tmp_path: Path, setting: str) -> None:
    name, _, value = setting.partition("=")
    assert printed(tmp_path, HOME=str(tmp_path), **{name: value}) == plain


def test_what_was_there_is_there_afterwards(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RL_verbose", "1")
    before, modules = dict(os.environ), set(sys.modules)
    with as_shipped():
        assert "RL_verbose" not in os.environ
        assert set(sys.modules) > modules
    assert dict(os.environ) == before
    assert set(sys.modules) == modules
