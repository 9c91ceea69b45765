"""Runs the command line in this process, in a folder of its own."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from cardgen.cli import main


@dataclass(frozen=True)
class Result:
    """What a command answered: its exit code, its results, its messages."""

    code: object
    out: str
    err: str


@pytest.fixture
def run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Result]:
    """Return a function that runs ``cardgen`` with arguments, standing in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def ran(*args: str) -> Result:
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main(list(args))
        said = capsys.readouterr()
        return Result(ended.value.code, said.out, said.err)

    return ran


@pytest.fixture
def profile(tmp_path: Path) -> Callable[..., str]:
    """Return a function that writes a profile and returns its name, seen from the folder."""

    def written(name: str, text: str) -> str:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return name

    return written


@pytest.fixture
def files(tmp_path: Path) -> Callable[[], list[str]]:
    """Return a function that lists every file below the folder, hidden ones too."""
    return lambda: sorted(
        path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file()
    )
