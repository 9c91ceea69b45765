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


YAML_SUFFIXES = (".yaml", ".yml")


def yaml_files(folder: Path) -> list[Path]:
    """Return the YAML files in ``folder``, in order; none of one that cannot be read."""
    try:
        return sorted(file for file in folder.iterdir() if file.suffix in YAML_SUFFIXES)
    except OSError:
        return []


def is_file(path: Path) -> bool:
    """Tell whether ``path`` is a file, also of a name that no file can have."""
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name too long, or with a NUL in it
        return False


def shipped(kind: str, name: str) -> Path | None:
    """Return the shipped file ``kind``/``name``, or None if there is no such file."""
    path = data_folder(kind) / name
    return path if path.is_file() and path.resolve().is_relative_to(data_folder(kind)) else None
