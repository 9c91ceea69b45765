import errno
import os
import stat
import tempfile
from pathlib import Path

import pytest

from cardgen.atomicfile import MAKER, SVG_DESC, is_ours, write_whole
from cardgen.drawing.scene import Scene, Text
from cardgen.errors import OutputError, UsageError
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.svg import svg_text

OURS = f"<svg><title>t</title><desc>{SVG_DESC}</desc></svg>".encode()
PAGE = Scene(54, 86, (Text(5, 10, "Stand on 20", 8),))


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_writes_and_makes_the_folder(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "er" / "card.svg"
    write_whole(target, OURS)
    assert target.read_bytes() == OURS
    assert names(target.parent) == ["card.svg"]


def test_permissions_follow_the_umask(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        write_whole(tmp_path / "card.svg", OURS)
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "card.svg").stat().st_mode) == 0o640


@pytest.mark.parametrize("pages", [1, 40])
def test_knows_its_own_pdf(tmp_path: Path, pages: int) -> None:
    target = tmp_path / "cards.pdf"
    write_whole(target, pdf_bytes([PAGE] * pages, DocumentInfo("Cards", subject="x" * 900)))
    assert is_ours(target)
    write_whole(target, pdf_bytes([PAGE], DocumentInfo("Other")))
    assert is_ours(target)


def test_knows_its_own_svg(tmp_path: Path) -> None:
    target = tmp_path / "card.svg"
    write_whole(target, svg_text(PAGE, DocumentInfo("A title long " * 100)).encode())
    assert is_ours(target)


def test_is_not_fooled_by_words_in_someone_elses_file(tmp_path: Path) -> None:
    told = f"/Producer ({MAKER}) {SVG_DESC}"
    for name, data in {
        "a.svg": f"<svg><title>{told}</title></svg>".encode(),
        "b.pdf": f"%PDF-1.4\n{told}\nstartxref\n0\n%%EOF".encode(),
        "c.txt": f"<desc>{SVG_DESC}</desc>".encode(),
        "d.pdf": b"%PDF-1.4 /Info 1 0 R startxref\n99999999\n%%EOF",
        "e.pdf": b"",
    }.items():
        (tmp_path / name).write_bytes(data)
        assert not is_ours(tmp_path / name), name
    other = pdf_bytes([PAGE], DocumentInfo("x")).replace(
        b"/Producer (cardgen", b"/Producer (someone"
    )
    (tmp_path / "f.pdf").write_bytes(other)
    assert not is_ours(tmp_path / "f.pdf")


@pytest.mark.parametrize("theirs", [b"my thesis", b"", b"%PDF-1.7\nno cards"])
def test_someone_elses_file_needs_force(tmp_path: Path, theirs: bytes) -> None:
    target = tmp_path / "thesis.pdf"
    target.write_bytes(theirs)
    with pytest.raises(UsageError, match="--force") as caught:
        write_whole(target, OURS)
    assert caught.value.exit_code == 2
    assert target.read_bytes() == theirs
    write_whole(target, OURS, force=True)
    assert target.read_bytes() == OURS
    assert names(tmp_path) == ["thesis.pdf"]


@pytest.mark.parametrize("force", [False, True])
def test_a_folder_or_a_device_is_refused(tmp_path: Path, force: bool) -> None:
    with pytest.raises(UsageError, match="is a folder"):
        write_whole(tmp_path, OURS, force=force)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(UsageError, match="not an ordinary file"):
        write_whole(pipe, OURS, force=force)


def test_a_link_is_never_written_through(tmp_path: Path) -> None:
    real, link = tmp_path / "real.svg", tmp_path / "link.svg"
    real.write_bytes(OURS)
    link.symlink_to(real)
    with pytest.raises(UsageError, match="is a link"):
        write_whole(link, b"new")
    write_whole(link, b"new", force=True)
    assert not link.is_symlink()
    assert link.read_bytes() == b"new"
    assert real.read_bytes() == OURS


def test_a_parent_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write_whole(tmp_path / "file" / "card.svg", OURS)
    assert caught.value.exit_code == 3


def fail(code: int) -> OSError:
    return OSError(code, os.strerror(code))


@pytest.mark.parametrize("code", [errno.EROFS, errno.EACCES])
def test_a_read_only_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    def refuse(*_: object, **__: object) -> tuple[int, str]:
        raise fail(code)

    monkeypatch.setattr(tempfile, "mkstemp", refuse)  # root may write anywhere, so it is played
    with pytest.raises(OutputError, match=os.strerror(code)):
        write_whole(tmp_path / "card.svg", OURS)
    assert names(tmp_path) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "card.svg"
    write_whole(target, OURS)

    def full(**_: object) -> tuple[int, str]:
        part = tmp_path / ".cardgen-x.part"
        part.touch()
        return os.open("/dev/full", os.O_WRONLY), str(part)

    monkeypatch.setattr(tempfile, "mkstemp", full)
    with pytest.raises(OutputError, match=os.strerror(errno.ENOSPC)):
        write_whole(target, OURS + b" " * 100_000)
    assert target.read_bytes() == OURS
    assert names(tmp_path) == ["card.svg"]


def test_a_locked_file_says_close_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "card.svg"
    write_whole(target, OURS)

    def locked(*_: object) -> None:
        raise fail(errno.EACCES)

    monkeypatch.setattr(os, "replace", locked)
    with pytest.raises(OutputError, match="close it in the viewer"):
        write_whole(target, b"new")
    assert target.read_bytes() == OURS
    assert names(tmp_path) == ["card.svg"]


@pytest.mark.parametrize("step", ["fsync", "chmod", "replace"])
def test_an_interrupt_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    target = tmp_path / "card.svg"
    write_whole(target, OURS)

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, step, interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_whole(target, b"new")
    assert target.read_bytes() == OURS
    assert names(tmp_path) == ["card.svg"]
