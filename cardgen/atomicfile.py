"""Files that appear whole or not at all, and that never bury someone else's work.

Also the marks by which we know a file of our own again: the PDF's Producer, the SVG's desc, the
page's generator, the PNG's Software.
"""

import contextlib
import os
import re
import secrets
import stat
import tempfile
from pathlib import Path
from typing import BinaryIO

from cardgen._version import __version__
from cardgen.errors import CardgenError, OutputError, UsageError

MAKER = f"cardgen {__version__}"
SVG_DESC = f"Made by {MAKER}."

_PDF_PRODUCER = re.compile(rb"/Producer\s*\(cardgen [0-9]")
_SVG_MADE_BY = re.compile(rb"<desc>Made by cardgen [0-9]")
_PAGE_GENERATOR = re.compile(rb'<meta name="generator" content="cardgen [0-9]')
_PNG_SOFTWARE = re.compile(rb"tEXtSoftware\x00cardgen [0-9]")  # PNG, third edition, 11.3.3.3
_HEAD_BYTES = _INFO_BYTES = 65536
_TAIL_BYTES = 2048


def write_whole(path: Path, data: bytes, *, force: bool = False) -> None:
    """Write ``data`` to ``path``, creating its folder: after any failure the old file still stands.

    Raises UsageError if ``path`` is a folder or a device, and unless ``force`` if it is a file that
    cardgen did not make or a symbolic link (which ``force`` replaces; what it points to is left
    alone), and if no file can have this name. Raises OutputError if the file cannot be written.
    """
    refuse_to_bury(path, force=force)
    part, done = "", False
    mark = f".cardgen-{secrets.token_hex(6)}-"  # told apart from what another run is writing
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(prefix=mark, suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(part).chmod(_mode(path))  # mkstemp made it private
        _replace(path, Path(part))
        done = True
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {_reason(path, error)}") from error
    finally:
        # Runs on KeyboardInterrupt too: no half-written file stays behind, not even where it comes
        # before we have been told the file's name.
        if not done:
            with contextlib.suppress(OSError):
                for left in {*path.parent.glob(f"{mark}*"), *([Path(part)] if part else ())}:
                    left.unlink(missing_ok=True)


def _replace(path: Path, part: Path) -> None:
    try:
        part.replace(path)
    except PermissionError as error:
        raise OutputError(
            f"{path}: cannot be replaced ({error.strerror}); if it is open in a viewer, "
            "close it in the viewer and try again"
        ) from error


def is_ours(path: Path) -> bool:
    """Tell whether ``path`` is a PDF, SVG, PNG or page of ours; one that cannot be read is not."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
            if head.startswith(b"%PDF-"):
                return _PDF_PRODUCER.search(_pdf_info(file)) is not None
            if head.startswith(b"<!doctype html>"):
                return _PAGE_GENERATOR.search(head) is not None
            if head.startswith(b"\x89PNG\r\n\x1a\n"):
                return _PNG_SOFTWARE.search(head) is not None
            is_svg = head.startswith((b"<?xml", b"<svg")) and b"<svg" in head
            return is_svg and _SVG_MADE_BY.search(head) is not None
    except (OSError, ValueError, IndexError):  # a table that is not where the file says
        return False


def _pdf_info(file: BinaryIO) -> bytes:
    """Return the start of a PDF's information dictionary, found as ISO 32000-1, 7.5.4-5 says."""
    size = file.seek(0, os.SEEK_END)
    file.seek(max(0, size - _TAIL_BYTES))
    tail = file.read(_TAIL_BYTES)
    info = re.search(rb"/Info\s+(\d+)\s+0\s+R", tail)
    start = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*$", tail)
    if info is None or start is None:
        return b""
    file.seek(int(start[1]))
    section = re.match(rb"xref\s+0 \d+\s*?\r?\n", file.read(64))
    if section is None:
        return b""
    file.seek(int(start[1]) + section.end() + 20 * int(info[1]))  # entries are 20 bytes each
    file.seek(int(file.read(20).split()[0]))
    return file.read(_INFO_BYTES).partition(b"endobj")[0]


def refuse_to_bury(path: Path, *, force: bool = False) -> None:
    """Raise UsageError if writing ``path`` would bury what is not ours, as ``write_whole`` does.

    For a command that writes several files: it asks about all before it writes the first.
    """
    try:
        mode = os.lstat(path).st_mode
    except OSError:
        return  # nothing there, or nowhere to look: writing will tell
    except ValueError as error:
        raise _nameless(path, error) from None
    if stat.S_ISDIR(mode):
        raise UsageError(f"{path}: is a folder; name a file to write")
    if stat.S_ISLNK(mode):
        if path.is_dir():
            raise UsageError(f"{path}: is a link to a folder; name a file to write")
        if not force:
            raise UsageError(
                f"{path}: is a link to another file; use --force to put a file in the link's place"
            )
        return
    if not stat.S_ISREG(mode):
        raise UsageError(f"{path}: is not an ordinary file; name another")
    if not force and not is_ours(path):
        raise UsageError(
            f"{path}: is there already and cardgen did not make it; "
            "use --force to overwrite it, or name another file"
        )


def _nameless(path: Path, error: ValueError) -> CardgenError:
    """Return the error of a path that no file can have, or none under this locale."""
    if isinstance(error, UnicodeEncodeError):
        name = str(path).encode(errors="backslashreplace").decode()
        sign = ascii(error.object[error.start])
        return OutputError(
            f"{name}: names of files cannot have {sign} in this locale ({error.encoding}); "
            "set PYTHONUTF8=1, or choose another name"
        )
    return UsageError(f"{str(path)!r}: no file can have this name")


def _reason(path: Path, error: OSError) -> str:
    """Return why ``path`` could not be written: the system's word, or what is in the way."""
    for folder in path.parents:
        if folder.is_symlink() and not folder.exists():
            return f"{folder} is a link that leads nowhere"
        if folder.exists() and not folder.is_dir():
            return f"{folder} is not a folder"
    return error.strerror or str(error)


def _mode(path: Path) -> int:
    """Return the permissions of the file that stands there, or those of a new one."""
    try:
        return stat.S_IMODE(path.lstat().st_mode) if path.is_file() else 0o666 & ~_umask()
    except OSError:
        return 0o666 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
