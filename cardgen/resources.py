"""Where the shipped data live: profiles and templates, in a wheel or in a clone."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def data_folder(kind: str) -> Path:
    """Return the folder of shipped ``templates`` or ``profiles``.

    A clone and an editable install use the folders at the top of the tree; a wheel carries copies
    inside the package.
    """
    inside = _PACKAGE / "_data" / kind
    return inside if inside.is_dir() else _PACKAGE.parent / kind


def shipped(kind: str, name: str) -> Path | None:
    """Return the shipped file ``kind``/``name``, or None if there is no such file."""
    path = data_folder(kind) / name
    return path if path.is_file() and path.resolve().is_relative_to(data_folder(kind)) else None
