"""Where settings, fonts and kept answers may be: nowhere, a pipe, damaged."""

import os
import subprocess
import sys
import tracemalloc
from io import BytesIO
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from cardgen.drawing import fallback
from cardgen.drawing.fallback import Fallback, use_fonts
from cardgen.drawing.scene import Weight
from cardgen.errors import InputError
from cardgen.printers import load_printers
from tests.fuzz.targets import TARGETS

ROOT = Path(__file__).resolve().parents[2]

# A user whom the system does not know, as in many containers

_UNKNOWN = """\
import pwd, sys

def nobody(number):
    raise KeyError(number)

pwd.getpwuid = nobody
sys.argv = ["cardgen", *sys.argv[1:]]
from cardgen.__main__ import main
main()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="users have their folders otherwise there")
@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("make", "jp.yaml"), 0, ""),
        (("clinic", "r.csv", "--with", "none", "--jobs", "1"), 0, ""),
        (("align", "office", "--right", "1", "--up", "0"), 2, "set CARDGEN_CONFIG to a folder\n"),
    ],
)
def test_a_user_without_a_home_prints(
    tmp_path: Path, args: tuple[str, ...], code: int, said: str
) -> None:
    (tmp_path / "jp.yaml").write_text("bowler: 日本 Ana\nhand: right\n", encoding="utf-8")
    (tmp_path / "r.csv").write_text("name,hand\nAna,right\n")
    dropped = {"HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "CARDGEN_CACHE", "CARDGEN_CONFIG"}
    env = {name: value for name, value in os.environ.items() if name not in dropped}
    ran = subprocess.run(
        [sys.executable, "-c", _UNKNOWN, *args],
        cwd=tmp_path,
        env={**env, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
    )
    assert ran.returncode == code, ran.stderr
    assert ran.stderr.endswith(said)
    assert "Traceback" not in ran.stderr
    assert sorted(path.name for path in tmp_path.iterdir() if path.name != "out") == [
        *("jp.yaml", "r.csv"),
    ]


# Fonts


@pytest.fixture
def font(tmp_path: Path) -> Path:
    """A small font of its own."""
    path = tmp_path / "font.ttf"
    path.write_bytes(TARGETS["font"].seeds()[0])
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="pipes are no files there")
def test_a_pipe_and_a_device_are_no_fonts(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.ttf")
    (tmp_path / "zero.ttf").symlink_to("/dev/zero")
    for name in ("pipe.ttf", "zero.ttf"):
        with pytest.raises(InputError, match="there is no such font file"):
            use_fonts([tmp_path / name])


def test_a_font_larger_than_any_is_not_read_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "font.ttf"
    with path.open("wb") as file:
        file.truncate(10 << 30)  # nothing but a hole
    with pytest.raises(InputError, match="is not a font"):
        use_fonts([path])


@pytest.mark.parametrize("table", ["glyf", "head"])
def test_a_font_that_is_damaged_inside_is_told(font: Path, table: str) -> None:
    data = font.read_bytes()
    entry = TTFont(BytesIO(data)).reader.tables[table]
    font.write_bytes(
        data[: entry.offset] + b"\xff" * entry.length + data[entry.offset + entry.length :]
    )
    fallback._bytes.cache_clear()
    with pytest.raises(InputError, match="font"):
        use_everything(Fallback(font, Weight.REGULAR, is_given=True))


def use_everything(font: Fallback) -> None:
    assert font.has("A")
    assert font.advance_em("A") == pytest.approx(0.5)
    assert font.ink_em("A")[0] == pytest.approx(0.6, abs=0.1)
    assert font.subset("A")


def test_a_font_that_is_whole_is_used(font: Path) -> None:
    fallback._bytes.cache_clear()
    use_everything(Fallback(font, Weight.REGULAR, is_given=True))


# Printers


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the offsets of printers are kept."""
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path))
    return tmp_path / "printers.toml"


def test_settings_larger_than_any_are_not_read_to_their_end(settings: Path) -> None:
    with settings.open("wb") as file:
        file.truncate(10 << 30)  # nothing but a hole
    tracemalloc.start()
    try:
        with pytest.raises(InputError, match="is larger than 1024 KiB"):
            load_printers()
        assert tracemalloc.get_traced_memory()[1] < 4 << 20
    finally:
        tracemalloc.stop()


@pytest.mark.skipif(sys.platform == "win32", reason="pipes are no files there")
def test_a_pipe_and_a_device_hold_no_settings(settings: Path) -> None:
    os.mkfifo(settings)
    with pytest.raises(InputError, match="this is a pipe, not a file"):
        load_printers()
    settings.unlink()
    settings.symlink_to("/dev/zero")
    with pytest.raises(InputError, match="is larger than 1024 KiB"):
        load_printers()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 5000, "is no TOML that can be read"),
        ("a = " + "9" * 5000, "is no TOML that can be read"),
        ('["a\u202eb"]\nup = 1\n', r"'a\\u202eb'\.dx_mm: is missing"),
        ("[a]\ndx_mm = 1\ndy_mm = 1\nzz = 1\nyy = 1\nxx = 1\n", r"a\.zz: is nothing a printer has"),
    ],
)
def test_settings_made_to_do_harm_are_told(settings: Path, text: str, said: str) -> None:
    settings.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        load_printers()
