"""Every target holds for its seeds, for what once broke it, and for a short run of the fuzzer."""

from pathlib import Path

import pytest

from tests.fuzz.run import Limits, run
from tests.fuzz.targets import TARGETS

FOUND = sorted((Path(__file__).parent / "found").iterdir())
RUNS = 200
"""So many inputs, not so many seconds: as many on a busy machine, and the same ones each time."""
LIMITS = Limits(seconds=300, runs=RUNS, an_input_s=60)
LEAST_COVERED = 10
"""Without instrumentation the fuzzer counts two places or so."""


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
    fuzzed = run(name, LIMITS, tmp_path, seed=1)
    assert fuzzed.held, fuzzed.said[-6000:]
    assert fuzzed.runs >= RUNS > len(TARGETS[name].seeds())
    assert fuzzed.covered[0] >= LEAST_COVERED, fuzzed.said[-6000:]
    assert fuzzed.covered[1] >= fuzzed.covered[0]
    assert not list(tmp_path.glob("broke-*"))


def test_what_breaks_a_target_is_told_and_kept(tmp_path: Path) -> None:
    pytest.importorskip("atheris", reason="the fuzzer is not installed")
    fuzzed = run("any-input", LIMITS, tmp_path, seed=1)
    assert not fuzzed.held
    assert "AssertionError" in fuzzed.said
    (kept,) = tmp_path.glob("broke-any-input-crash-*")
    assert kept.read_bytes() != b"seed"
