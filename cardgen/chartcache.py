"""Answers kept from one run to the next, in the user's cache folder, each under what it is of.

A key is a digest of everything the answers depend on: the bowler in SI units but for his name, and
the program itself. So a changed profile, lane, atlas or program is another key, and nothing that is
kept can be out of date. A file that is torn, damaged or not ours is as good as none.
"""

import contextlib
import hashlib
import io
import os
import pickle
import shutil
import struct
import sys
import time
import weakref
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from importlib.metadata import version
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import numpy as np

from cardgen.atomicfile import write_whole
from cardgen.errors import OutputError, UsageError
from cardgen.profile.bowler import Bowler
from cardgen.targeting.answers import Answers

FOLDER_VARIABLE = "CARDGEN_CACHE"
UNUSED_DAYS = 30.0
"""What another version of the program has kept goes when nobody has used it for so long."""
_DEPENDS_ON = ("delivery", "lane", "physics", "profile", "targeting", "units")
_LIBRARIES = ("numpy", "scipy")
_DAY_S = 86400.0
_DIGEST = hashlib.sha256


def cache_folder() -> Path:
    """Return where answers are kept: in ``CARDGEN_CACHE``, else the user's cache folder."""
    if folder := os.environ.get(FOLDER_VARIABLE):
        return Path(folder)
    from platformdirs import user_cache_dir

    try:
        return Path(user_cache_dir("cardgen", appauthor=False))
    except RuntimeError:  # a user without a home, as in containers
        return Path(os.devnull) / "cardgen"  # where nothing can be kept


def key_of(bowler: Bowler) -> str:
    """Return the digest of all that a bowler's answers depend on; his name is not among it."""
    digest = _DIGEST()
    for field in fields(bowler):
        if field.name != "name":
            digest.update(field.name.encode())
            for piece in _pieces(getattr(bowler, field.name)):
                digest.update(piece)
    return digest.hexdigest()


class ChartCache:
    """Answers by key, a file each.

    Several programs may use one folder at a time: files appear whole, and whoever writes a key
    writes the same answers. Where the folder takes nothing, a temporary one keeps what is put, as
    long as this object is there: what is worked out in a run is not worked out again.
    """

    def __init__(self, folder: Path) -> None:
        """Use ``folder``, in which each version of the program has a folder of its own."""
        self._all = folder / "charts"
        self._folder = self._all / program_key()[:16]
        self._spare: Path | None = None

    def packed(self, key: str) -> bytes | None:
        """Return what is kept under ``key``, packed; None if that is nothing, or nothing whole."""
        found = _whole(self._folder, key)
        return found if found is not None or self._spare is None else _whole(self._spare, key)

    def get(self, key: str) -> Answers | None:
        """Return the answers that are kept under ``key``, as ``packed`` does."""
        body = self.packed(key)
        return None if body is None else unpacked(body)

    def put(self, key: str, body: bytes) -> bool:
        """Keep packed answers under ``key``; return whether that worked.

        A full disk costs time, no cards: who needs answers that were not kept works them out.
        """
        try:
            _keep(self._folder, key, body)
        except (OutputError, UsageError):  # no room, no right, or a folder in the file's place
            try:
                _keep(self._beside(), key, body)
            except (OSError, OutputError, UsageError):
                return False
        return True

    def _beside(self) -> Path:
        """Return the temporary folder; raise OSError if there can be none."""
        if self._spare is None:
            self._spare = Path(mkdtemp(prefix="cardgen-"))
            weakref.finalize(self, shutil.rmtree, self._spare, ignore_errors=True)
        return self._spare

    def __contains__(self, key: str) -> bool:
        # Whoever asks works out what is not there; a torn file would be worked out at each use.
        return self.packed(key) is not None

    def tidy(self) -> None:
        """Mark this version's folder as used, and remove those that nobody has used for long."""
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            os.utime(self._folder)
            for other in self._all.iterdir():
                age_s = time.time() - other.stat().st_mtime
                if other != self._folder and age_s > UNUSED_DAYS * _DAY_S:
                    shutil.rmtree(other, ignore_errors=True)


def _path(folder: Path, key: str) -> Path:
    return folder / key[:2] / f"{key}.chart"


def _keep(folder: Path, key: str, body: bytes) -> None:
    write_whole(_path(folder, key), _DIGEST(body).digest() + body, force=True)


def _whole(folder: Path, key: str) -> bytes | None:
    try:
        data = _path(folder, key).read_bytes()
    except OSError:
        return None
    size = _DIGEST().digest_size
    return data[size:] if _DIGEST(data[size:]).digest() == data[:size] else None


def packed(answers: Answers) -> bytes:
    """Return answers as bytes."""
    return pickle.dumps(answers, protocol=5)


def unpacked(body: bytes) -> Answers | None:
    """Return the answers in ``body``; None if that is not answers of this program.

    Nothing but the program's own values and numpy's arrays is ever made of what a file says.
    """
    try:
        found = _Unpickler(io.BytesIO(body)).load()
    except Exception:  # a damaged pickle may raise anything
        return None
    return found if isinstance(found, Answers) else None


class _Unpickler(pickle.Unpickler):
    """Makes nothing but values."""

    def find_class(self, module: str, name: str) -> Any:
        """Return a class of values, or a function that remakes an array."""
        if (module, name) in _REMAKERS:
            return super().find_class(module, name)
        if module.startswith("cardgen."):
            found = super().find_class(module, name)
            if isinstance(found, type) and (is_dataclass(found) or issubclass(found, Enum | tuple)):
                return found
        raise pickle.UnpicklingError(f"{module}.{name} is no value")


_REMAKERS = frozenset(
    {
        ("numpy", "dtype"),
        ("numpy", "ndarray"),
        ("numpy._core.multiarray", "_reconstruct"),
        ("numpy._core.multiarray", "scalar"),
        ("numpy._core.numeric", "_frombuffer"),
        ("numpy.core.multiarray", "_reconstruct"),
        ("numpy.core.multiarray", "scalar"),
        ("numpy.core.numeric", "_frombuffer"),
        ("builtins", "frozenset"),
        ("builtins", "set"),
        ("builtins", "slice"),
    }
)


@cache
def program_key() -> str:
    """Return a digest of the code and data that answers come from, and of what it runs on."""
    digest = _DIGEST(sys.version.encode())
    for library in _LIBRARIES:
        digest.update(f"{library} {version(library)}\n".encode())
    root = Path(__file__).parent
    for package in _DEPENDS_ON:
        for path in (root / f"{package}.py", *sorted((root / package).rglob("*"))):
            if (
                path.is_file()
                and path.suffix in (".py", ".npz")
                and "build_atlas" not in path.parts
            ):
                digest.update(path.relative_to(root).as_posix().encode() + b"\0")
                digest.update(_DIGEST(path.read_bytes()).digest())
    return digest.hexdigest()


def _pieces(value: object) -> Iterator[bytes]:
    """Yield a value as bytes, each kind with its sign and its length, so that no two agree."""
    if isinstance(value, np.ndarray):
        whole = np.ascontiguousarray(value)
        yield f"a{whole.dtype.str}{whole.shape}".encode()
        yield whole.tobytes()
    elif isinstance(value, Enum):
        yield f"e{type(value).__name__}.{value.name};".encode()
    elif is_dataclass(value) and not isinstance(value, type):
        yield f"d{type(value).__name__}(".encode()
        for field in fields(value):
            yield field.name.encode() + b"="
            yield from _pieces(getattr(value, field.name))
        yield b")"
    elif isinstance(value, tuple | list):
        yield f"t{len(value)}(".encode()
        for item in value:
            yield from _pieces(item)
    elif isinstance(value, dict):
        yield f"m{len(value)}(".encode()
        for key in sorted(value):
            yield from _pieces(key)
            yield from _pieces(value[key])
    elif isinstance(value, float | np.floating):
        yield b"f" + struct.pack("<d", value)
    elif isinstance(value, str | int | None):
        text = repr(value).encode()
        yield f"{type(value).__name__}{len(text)}:".encode() + text
    else:
        raise TypeError(f"a {type(value).__name__} is no part of a key")
