"""A logo's file: one in the template's own folder, of a size that a logo has."""

import stat
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from cardgen.templating.logo import Logo, LogoError
from cardgen.templating.outlines import MAX_BYTES as MAX_SVG_BYTES
from cardgen.templating.outlines import read_svg
from cardgen.templating.pixels import read_png
from cardgen.yamlsource import printable

MAX_PNG_BYTES = 2_000_000
_BESIDE = "put the file into the template's own folder and write its name"


@dataclass(frozen=True)
class ReadLogo:
    """A logo, and sentences on what of it will not print."""

    logo: Logo
    warnings: tuple[str, ...] = ()


def read_logo(name: str, folder: Path) -> ReadLogo:
    """Return the logo in the file ``name`` of ``folder``; nothing outside of it is opened.

    Raises LogoError for a name that leads out of the folder, links followed, for what is neither
    SVG nor PNG, and for a file that is too large or cannot be used.
    """
    ending = PurePosixPath(name).suffix.lower()
    if ending not in (".svg", ".png"):
        raise LogoError("is neither .svg nor .png", "save the logo as one of the two")
    most = MAX_SVG_BYTES if ending == ".svg" else MAX_PNG_BYTES
    data = _bytes(_confined(name, folder), most)
    if ending == ".png":
        return ReadLogo(read_png(data))
    read = read_svg(data)
    return ReadLogo(read.outlines, read.warnings)


def _confined(name: str, folder: Path) -> Path:
    """Return where ``name`` is, which must be in ``folder`` when all links are followed."""
    for kind in (PurePosixPath(name), PureWindowsPath(name)):
        if kind.anchor or ".." in kind.parts:
            raise LogoError("leads out of the template's folder", _BESIDE)
    try:
        home = folder.resolve(strict=True)
        path = (home / name).resolve(strict=True)
    except (OSError, ValueError, RuntimeError):  # there is none, or no file can be called so
        raise LogoError("is not there", _BESIDE) from None
    if not path.is_relative_to(home):
        raise LogoError("leads out of the template's folder", _BESIDE)
    return path


def _bytes(path: Path, most: int) -> bytes:
    try:
        # A pipe would be waited on for ever.
        if not stat.S_ISREG(path.stat().st_mode):
            raise LogoError("is not a file", _BESIDE)
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        reason = printable(error.strerror or type(error).__name__)
        raise LogoError(f"cannot be read: {reason}") from None
    if len(data) > most:
        limit = f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1000} kB"
        raise LogoError(f"is larger than {limit}", "simplify it, or save it smaller")
    return data
