"""Offsets of printers: kept and found again, and a damaged file told and left alone."""

import os
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cardgen import printers
from cardgen.errors import InputError, UsageError
from cardgen.printers import Flip, Offset, keep, load_printers, offset_of, printers_file


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep away from the user's own settings."""
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "settings"))
    return tmp_path / "settings"


def written(text: str | bytes) -> Path:
    path = printers_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_without_the_variable_the_folder_is_the_users(monkeypatch: pytest.MonkeyPatch) -> None:
    # XDG Base Directory Specification 0.8 on Linux; elsewhere the system's own place.
    monkeypatch.setenv("XDG_CONFIG_HOME", "/somewhere/settings")
    monkeypatch.delenv("CARDGEN_CONFIG")
    path = printers_file()
    assert path.name == "printers.toml"
    assert path.parent.name == "cardgen"
    if os.uname().sysname == "Linux":
        assert path == Path("/somewhere/settings/cardgen/printers.toml")


def test_no_file_is_no_printers(folder: Path) -> None:
    assert load_printers() == {}
    assert not folder.exists()


def test_what_is_kept_is_found_again_whatever_the_capitals() -> None:
    assert keep("Office  laser ", Offset(0.3, -0.2)) == "Office laser"
    keep("copy shop", Offset(-1, 10))
    assert load_printers() == {"Office laser": Offset(0.3, -0.2), "copy shop": Offset(-1, 10)}
    assert offset_of("OFFICE LASER") == Offset(0.3, -0.2)
    assert keep("office LASER", Offset(0, 0)) == "Office laser"
    assert load_printers() == {"Office laser": Offset(), "copy shop": Offset(-1, 10)}


NAMES = st.text(st.characters(), max_size=60) | st.lists(
    st.sampled_from(
        ['"', "\\", "]", "[", "#", "'", "=", ".", " ", "a", "é", "e\u0301", "\u0301", "レ"]
    ),
    max_size=12,
).map("".join)


@settings(max_examples=200)
@given(NAMES, st.floats(-10, 10), st.floats(-10, 10))
def test_any_name_that_prints_and_any_offset_survive(name: str, dx: float, dy: float) -> None:
    printers_file().unlink(missing_ok=True)
    wanted = " ".join(unicodedata.normalize("NFC", name).split())
    if not wanted or len(wanted) > 60 or not wanted.isprintable():
        with pytest.raises(UsageError, match=r"^a printer"):
            keep(name, Offset(dx, dy))
        assert not printers_file().exists()
        return
    keep("another", Offset())
    kept = keep(name, Offset(dx, dy))
    found = offset_of(kept)
    assert offset_of(name) == found
    if kept != "another":
        assert list(load_printers()) == ["another", wanted]
        assert offset_of("another") == Offset()
    assert found.dx_mm == pytest.approx(dx, abs=0.006)
    assert found.dy_mm == pytest.approx(dy, abs=0.006)


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "a\x00b", "a\u202eb"])
def test_a_name_that_cannot_be_kept_is_refused(name: str) -> None:
    with pytest.raises(UsageError, match=r"^a printer"):
        keep(name, Offset())
    assert not printers_file().exists()


@pytest.mark.parametrize("value", [10.1, -11, float("nan"), float("inf")])
def test_an_offset_beyond_the_limit_is_refused(value: float) -> None:
    for offset in (Offset(value, 0), Offset(0, value)):
        with pytest.raises(UsageError, match=r"^an offset is a number from -10 to 10, not "):
            keep("office", offset)
    assert not printers_file().exists()


def test_an_unknown_printer_is_told_which_there_are() -> None:
    with pytest.raises(UsageError) as caught:
        offset_of("office")
    assert str(caught.value) == "no offset is kept of a printer called 'office', nor of any other"
    keep("Office", Offset())
    keep("copy shop", Offset())
    with pytest.raises(UsageError) as caught:
        offset_of("ofice")
    assert str(caught.value) == (
        "no offset is kept of a printer called 'ofice', only of 'Office', 'copy shop'; "
        "did you mean 'Office'?"
    )
    with pytest.raises(UsageError, match=r"only of 'Office', 'copy shop'$"):
        offset_of("zzz")


GOOD = '["a"]\ndx_mm = 1\ndy_mm = 2.5\n'
DAMAGED: dict[str, tuple[str, ...]] = {
    "syntax": (GOOD + '["b"\ndx_mm = 1\n', ":4:5: is no TOML that can be read: "),
    "cut off": (GOOD + 'x = "', ":4:", "is no TOML that can be read: "),
    "missing": ('["a"]\ndx_mm = 1\n', ":1: a.dy_mm: is missing; it is a number from -10 to 10"),
    "text": ('["a"]\ndx_mm = "1"\ndy_mm = 0\n', ":2: a.dx_mm: must be a number from -10 to 10"),
    "truth": (
        GOOD + '["b c"]\ndx_mm = 1\ndy_mm = true\n',
        ":6: b c.dy_mm: must be a number from -10 to 10",
    ),
    "far": (
        GOOD + "[b]\ndx_mm = 1\ndy_mm = 12\n",
        ":6: b.dy_mm: is 12 and must be a number from -10 to 10",
    ),
    "nan": (
        '["a"]\ndx_mm = nan\ndy_mm = 0\n',
        ":2: a.dx_mm: is nan and must be a number from -10 to 10",
    ),
    "extra": (GOOD + "tray = 2\n", ":4: a.tray: is nothing a printer has; it has dx_mm and dy_mm"),
    "no table": ("a = 3\n", ':1: a: a printer is a table, as ["office"], with dx_mm and dy_mm'),
    "twice": (
        GOOD + "[A]\ndx_mm = 1\ndy_mm = 2\n",
        ":4: A: this printer is there twice; keep one of them",
    ),
}


@pytest.mark.parametrize("case", DAMAGED)
def test_a_damaged_file_is_told_in_one_located_sentence_and_left_as_it_is(case: str) -> None:
    text, *said = DAMAGED[case]
    path = written(text)
    before = path.read_bytes()
    for use in (load_printers, lambda: keep("c", Offset()), lambda: offset_of("a")):
        with pytest.raises(InputError) as caught:
            use()
        message = str(caught.value)
        assert message.startswith(f"{path}{said[0]}")
        assert message.endswith(said[-1]) or said[-1].endswith(": ")
        assert "\n" not in message
        assert caught.value.exit_code == 2
    assert path.read_bytes() == before


def test_a_file_in_another_encoding_is_told() -> None:
    path = written(b'["a"]\n["b\xfcro"]\n')
    with pytest.raises(InputError) as caught:
        keep("c", Offset())
    assert str(caught.value) == f"{path}:2: is not UTF-8 text; save it as UTF-8"


def test_a_file_written_by_hand_may_be_spelt_otherwise() -> None:
    written("\ufeff# mine\r\n[office]\r\ndy_mm=+2 # down\r\ndx_mm = -1e-1\r\n")
    assert load_printers() == {"office": Offset(-0.1, 2)}
    written("a = {dx_mm = 1, dy_mm = 2}\n[b.c]\n")
    with pytest.raises(InputError, match=r":2: b\.dx_mm: is missing"):
        load_printers()


def test_a_folder_in_the_files_place_is_told() -> None:
    printers_file().mkdir(parents=True)
    with pytest.raises(InputError, match=r"printers\.toml: cannot be read: "):
        load_printers()


def test_a_file_in_the_folders_place_is_told_and_left(folder: Path) -> None:
    folder.write_text("in the way")
    with pytest.raises(InputError, match=r"printers\.toml: cannot be read: "):
        keep("office", Offset())
    assert folder.read_text() == "in the way"


def test_the_file_says_the_same_for_the_same_printers() -> None:
    keep('the "big" one\\', Offset(-0.0, 0.104))
    first = printers_file().read_bytes()
    keep('The "big" one\\', Offset(0, 0.1))
    assert printers_file().read_bytes() == first
    assert first.decode().endswith('["the \\"big\\" one\\\\"]\ndx_mm = 0\ndy_mm = 0.1\n')


@pytest.mark.skipif(os.name == "nt", reason="links need a privilege there")
def test_a_link_to_the_file_stays_a_link(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    printers_file().parent.mkdir(parents=True)
    printers_file().symlink_to(real)
    keep("office", Offset(1, 1))
    assert printers_file().is_symlink()
    assert "office" in real.read_text()


FLIPS: tuple[Flip, ...] = ("long-edge", "short-edge")


@pytest.mark.parametrize("lying", [False, True])
@pytest.mark.parametrize("flip", FLIPS)
def test_the_shift_brings_back_what_the_printer_moved(flip: Flip, lying: bool) -> None:
    """Follow a mark on the back through the printer on to the paper (derived)."""
    width, height = 210.0, 297.0  # the paper as it lies in the printer, upright
    offset = Offset(0.7, -1.2)
    page = (height, width) if lying else (width, height)
    mark = (50.0, 60.0)  # on the front, as the page is drawn
    # Turned over about an upright edge it stands mirrored left and right, else top and bottom.
    upright_edge = (flip == "long-edge") != lying
    behind = (page[0] - mark[0], mark[1]) if upright_edge else (mark[0], page[1] - mark[1])
    dx, dy = offset.shift_mm(flip, lying=lying)
    drawn = (behind[0] + dx, behind[1] + dy)
    through = (page[0] - drawn[0], drawn[1]) if upright_edge else (drawn[0], page[1] - drawn[1])

    def on_paper(x: float, y: float) -> tuple[float, float]:
        # Anticlockwise: what is right on the page is up on the paper.
        return (y, height - x) if lying else (x, y)

    x, y = on_paper(*through)
    assert (x + offset.dx_mm, y + offset.dy_mm) == pytest.approx(on_paper(*mark))


def test_no_offset_is_no_shift() -> None:
    for flip in FLIPS:
        for lying in (False, True):
            assert "-" not in f"{Offset().shift_mm(flip, lying=lying)}"


def test_the_limit_is_what_is_said() -> None:
    assert keep("a", Offset(printers.LIMIT_MM, -printers.LIMIT_MM)) == "a"
