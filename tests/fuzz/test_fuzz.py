"""Every target holds for its seeds, for what once broke it, and for a short run of the fuzzer."""

from pathlib import Path

import pytest

from tests.fuzz.run import run
from tests.fuzz.targets import TARGETS

FOUND = sorted((Path(__file__).parent / "found").iterdir())
SECONDS = 2


@pytest.mark.parametrize("name", TARGETS)
def test_seeds_hold(name: str) -> None:
    seeds = TARGETS[name].seeds()
    assert seeds
    for data in seeds:
        TARGETS[name](data)


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.name)
def test_what_once_broke_a_target_holds(path: Path) -> None:
    targets = [name for name in TARGETS if path.name.startswith(f"{name}-")]
    assert len(targets) == 1
    TARGETS[targets[0]](path.read_bytes())


@pytest.mark.parametrize("name", TARGETS)
def test_a_short_run_finds_nothing(name: str, tmp_path: Path) -> None:
    pytest.importorskip("atheris", reason="the fuzzer is not installed")
    held, said = run(name, SECONDS, tmp_path, seed=1)
    assert held, said[-6000:]
