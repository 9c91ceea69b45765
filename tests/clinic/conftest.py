"""A small class, and answers that are worked out once for all tests of clinics."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from cardgen.cli import main

ROSTER = """\
name,hand,style,group,copies
Ana Bell,right,,Reds,1
Ben Cole,left,,Blues,2
Cai Dow,right,two-handed,Reds,1
Dee Eng,right,,Blues,1
"""
"""Three bowlers under four names."""


@pytest.fixture(scope="session")
def answers_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where answers are kept for the whole run of the tests."""
    return tmp_path_factory.mktemp("answers")


@pytest.fixture(autouse=True)
def _kept_answers(answers_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(answers_folder))


@pytest.fixture
def roster(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes a roster and returns its path."""

    def written(text: str = ROSTER, name: str = "saturday.csv") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return written


@dataclass(frozen=True)
class Result:
    """What the command answered, and the folder it wrote into."""

    code: object
    out: str
    err: str
    folder: Path

    @property
    def names(self) -> list[str]:
        """Every file that is there, hidden ones too."""
        return sorted(
            path.relative_to(self.folder).as_posix()
            for path in self.folder.rglob("*")
            if path.is_file()
        )

    def data(self, name: str) -> bytes:
        """Return a file's bytes."""
        return (self.folder / name).read_bytes()


@pytest.fixture
def clinic(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Result]:
    """Return a function that runs ``cardgen clinic`` into a folder, ``out`` unless it is named."""

    def ran(*args: object, folder: str = "out") -> Result:
        capsys.readouterr()
        out = tmp_path / folder
        with pytest.raises(SystemExit) as ended:
            main(["clinic", *map(str, args), "--out", str(out)])
        said = capsys.readouterr()
        return Result(ended.value.code, said.out, said.err, out)

    return ran
