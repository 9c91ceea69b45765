"""What can happen while a file is written: the old one stands, or the new one is whole."""

import errno
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from cardgen.atomicfile import SVG_DESC, is_ours, refuse_to_bury, write_whole
from cardgen.errors import OutputError, UsageError

OLD = f"<svg><desc>{SVG_DESC}</desc></svg>".encode()
NEW = OLD.replace(b"<svg>", b"<svg><title>new</title>")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture
def target(tmp_path: Path) -> Path:
    """A file of ours, alone in its folder."""
    path = tmp_path / "folder" / "card.svg"
    write_whole(path, OLD)
    return path


# A disk that is full, or gone


def failing(code: int) -> Callable[..., Any]:
    def fail(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return fail


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS])
@pytest.mark.parametrize("step", ["open", "fsync", "chmod", "replace"])
def test_whatever_step_fails_the_old_file_stands(
    target: Path, monkeypatch: pytest.MonkeyPatch, step: str, code: int
) -> None:
    monkeypatch.setattr(os, step, failing(code))
    with pytest.raises(OutputError, match=os.strerror(code)) as caught:
        write_whole(target, NEW)
    monkeypatch.undo()
    assert caught.value.exit_code == 3
    assert str(caught.value).startswith(f"{target}: cannot be ")
    assert target.read_bytes() == OLD
    assert names(target.parent) == ["card.svg"]


def test_a_folder_that_cannot_be_made_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "mkdir", failing(errno.ENOSPC))
    with pytest.raises(OutputError, match=os.strerror(errno.ENOSPC)):
        write_whole(tmp_path / "new" / "card.svg", NEW)
    assert names(tmp_path) == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB, where this user may have one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = shutil.which("mount")
    mounted = (
        mount is not None
        and not subprocess.run(
            [mount, "-t", "tmpfs", "-o", "size=64k", "none", str(folder)],
            capture_output=True,
            check=False,
        ).returncode
    )
    if not mounted:
        pytest.skip("no disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_that_fills_up_while_writing_keeps_the_old_file(small_disk: Path) -> None:
    target = small_disk / "card.svg"
    write_whole(target, OLD)
    with pytest.raises(OutputError, match=os.strerror(errno.ENOSPC)):
        write_whole(target, NEW * 2000)
    assert target.read_bytes() == OLD
    assert names(small_disk) == ["card.svg"]
    write_whole(target, NEW)  # there is room again
    assert target.read_bytes() == NEW


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such limits")
def test_a_file_longer_than_the_system_lets_it_be_is_told(target: Path) -> None:
    code = (
        "import resource, sys\nfrom pathlib import Path\n"
        "from cardgen.atomicfile import write_whole\nfrom cardgen.errors import OutputError\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "try:\n    write_whole(Path(sys.argv[1]), b' ' * 100_000)\n"
        "except OutputError as error:\n    print(error)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, str(target)], capture_output=True, text=True, check=True
    )
    assert ran.stdout == f"{target}: cannot be written: {os.strerror(errno.EFBIG)}\n"
    assert target.read_bytes() == OLD
    assert names(target.parent) == ["card.svg"]


def test_a_folder_that_goes_while_writing_is_told(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(_: int) -> None:
        shutil.rmtree(target.parent)

    monkeypatch.setattr(os, "fsync", gone)
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write_whole(target, NEW)
    assert caught.value.exit_code == 3
    assert not target.parent.exists()


def test_a_folder_that_becomes_a_file_while_writing_is_told(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def changed(_: int) -> None:
        shutil.rmtree(target.parent)
        target.parent.write_bytes(b"theirs")

    monkeypatch.setattr(os, "fsync", changed)
    with pytest.raises(OutputError, match="folder is not a folder"):
        write_whole(target, NEW)
    assert target.parent.read_bytes() == b"theirs"


# Ctrl-C


def interrupted_at(count: int, call: Callable[[], None]) -> bool:
    """Call, with a Ctrl-C before the ``count``-th line that writing runs; tell whether it came."""
    lines = 0
    watched = {write_whole.__code__.co_filename, tempfile.__file__}

    def trace(frame: FrameType, event: str, _: object) -> Any:
        nonlocal lines
        if frame.f_code.co_filename not in watched:
            return None
        if event in ("line", "return"):
            lines += 1
            if lines == count:
                sys.settrace(None)
                raise KeyboardInterrupt
        return trace

    previous = sys.gettrace()
    sys.settrace(trace)
    try:
        call()
    except KeyboardInterrupt:
        return True
    finally:
        sys.settrace(previous)
    return False


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # a file left open
def test_ctrl_c_before_any_line_leaves_one_whole_file_and_nothing_else(target: Path) -> None:
    count = 0
    found = set()
    came = True
    while came:
        count += 1
        write_whole(target, OLD)
        came = interrupted_at(count, lambda: write_whole(target, NEW))
        found.add(target.read_bytes())
        assert names(target.parent) == ["card.svg"], count
    assert count > 60
    assert found == {OLD, NEW}


# Folders and files that are links or something else


@pytest.mark.parametrize(
    ("folder", "said"),
    [
        ("nowhere", "nowhere is a link that leads nowhere"),
        ("ring", "ring is a link that leads nowhere"),
        ("ring/deep/er", "ring is a link that leads nowhere"),
        ("file", "file is not a folder"),
        ("file/deep/er", "file is not a folder"),
        ("to-file", "to-file is not a folder"),
        ("pipe", "pipe is not a folder"),
    ],
)
def test_a_folder_that_is_none_is_told_by_its_name(tmp_path: Path, folder: str, said: str) -> None:
    (tmp_path / "nowhere").symlink_to("gone")
    (tmp_path / "ring").symlink_to("ring")
    (tmp_path / "file").write_bytes(b"theirs")
    (tmp_path / "to-file").symlink_to("file")
    os.mkfifo(tmp_path / "pipe")
    before = names(tmp_path)
    with pytest.raises(OutputError, match=said) as caught:
        write_whole(tmp_path / folder / "card.svg", NEW, force=True)
    assert caught.value.exit_code == 3
    assert names(tmp_path) == before
    assert (tmp_path / "file").read_bytes() == b"theirs"


def test_a_link_to_a_folder_is_written_into(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to("real", target_is_directory=True)
    write_whole(tmp_path / "out" / "card.svg", NEW)
    assert (tmp_path / "real" / "card.svg").read_bytes() == NEW
    assert (tmp_path / "out").is_symlink()


@pytest.mark.parametrize("to", ["/dev/null", "gone", "link.svg", "folder"])
def test_a_link_in_the_files_place_is_refused(tmp_path: Path, to: str) -> None:
    (tmp_path / "folder").mkdir()
    link = tmp_path / "link.svg"
    link.symlink_to(to)
    with pytest.raises(UsageError, match="is a link to"):
        write_whole(link, NEW)
    assert link.is_symlink()


def test_a_link_to_a_folder_is_not_replaced_with_force_either(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    link = tmp_path / "link.svg"
    link.symlink_to("folder", target_is_directory=True)
    with pytest.raises(UsageError, match="is a link to a folder"):
        write_whole(link, NEW, force=True)
    assert link.is_symlink()
    assert names(tmp_path / "folder") == []


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="there are no devices here")
@pytest.mark.parametrize("force", [False, True])
def test_a_device_is_never_written_to(force: bool) -> None:
    with pytest.raises(UsageError, match="not an ordinary file"):
        write_whole(Path("/dev/null"), NEW, force=force)


# Names


@pytest.mark.skipif(sys.platform == "win32", reason="names are counted otherwise there")
def test_a_name_of_as_many_bytes_as_there_may_be_is_written(tmp_path: Path) -> None:
    name = "é" * 125 + "x.svg"
    assert len(name.encode()) == 255
    write_whole(tmp_path / name, NEW)
    assert names(tmp_path) == [name]
    with pytest.raises(OutputError, match=os.strerror(errno.ENAMETOOLONG)):
        write_whole(tmp_path / ("x" + name), NEW)
    assert names(tmp_path) == [name]


def test_a_name_with_a_nul_is_no_name(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no file can have this name") as caught:
        refuse_to_bury(tmp_path / "a\0b")
    assert "\0" not in str(caught.value)


def test_a_name_that_the_locale_does_not_have_is_told(tmp_path: Path) -> None:
    # A lone surrogate is in no encoding, as Š is not in ASCII.
    with pytest.raises(OutputError, match="set PYTHONUTF8=1, or choose another name") as caught:
        write_whole(tmp_path / "a\ud83d.svg", NEW)
    assert str(caught.value).encode()
    assert caught.value.exit_code == 3


@pytest.mark.skipif(sys.platform == "win32", reason="a newline is in no name there")
def test_a_name_of_several_lines_is_a_name(tmp_path: Path) -> None:
    write_whole(tmp_path / "a\nb" / "c\nd.svg", NEW)
    assert names(tmp_path / "a\nb") == ["c\nd.svg"]


# Files that may be ours


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.4\nxref\n0 1\n/Info 900 0 R\nstartxref\n9\n%%EOF\n",
        b"%PDF-1.4\nxref\n0 1\n/Info 9" + b"0" * 40 + b" 0 R\nstartxref\n9\n%%EOF\n",
        b"%PDF-1.4\n/Info 1 0 R\nstartxref\n9" + b"0" * 40 + b"\n%%EOF\n",
        b"%PDF-1.4\nxref\n0 1\n-5 -5 -5 -5 -5 -5\n/Info 0 0 R\nstartxref\n9\n%%EOF\n",
    ],
)
def test_a_damaged_file_of_others_is_not_ours(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "theirs.pdf"
    path.write_bytes(data)
    assert not is_ours(path)
    with pytest.raises(UsageError, match="--force"):
        write_whole(path, NEW)
    assert path.read_bytes() == data
