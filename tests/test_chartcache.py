"""Kept answers: they print the same pages, and whatever is damaged or of another bowler is none."""

import os
import pickle
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cardgen import chartcache
from cardgen.chartcache import ChartCache, cache_folder, key_of, packed, program_key, unpacked
from cardgen.press import Job
from cardgen.profile.bowler import Bowler
from cardgen.targeting.answers import Answers


@pytest.fixture(scope="module")
def job(demos: dict[str, Job]) -> Job:
    return demos["ilse-marchetti"]


@pytest.fixture(scope="module")
def kept(job: Job) -> bytes:
    return packed(job.answers.worked_out())


def bowler_of(job: Job) -> Bowler:
    return job.chart.bowler


def test_kept_answers_print_the_same_pages(job: Job, kept: bytes, tmp_path: Path) -> None:
    cache = ChartCache(tmp_path)
    assert cache.get("ab12") is None
    assert cache.put("ab12", kept)
    assert "ab12" in cache
    found = ChartCache(tmp_path).get("ab12")
    assert found is not None
    again = replace(job, answers=found)
    assert again.booklet().pdf() == job.booklet().pdf()
    assert again.pocket().pdf() == job.pocket().pdf()


def test_answers_are_anybody_s_who_differs_in_his_name_alone(job: Job, kept: bytes) -> None:
    found = unpacked(kept)
    assert found is not None
    other = found.of("Somebody Else")
    assert other.chart.bowler.name == "Somebody Else"
    assert other.few is found.few  # not worked out again
    assert key_of(replace(bowler_of(job), name="Somebody Else")) == key_of(bowler_of(job))


@pytest.mark.parametrize(
    "change",
    [
        lambda b: {"step": b.step / 2},
        lambda b: {"aim_m": b.aim_m + 1e-12},
        lambda b: {"measured": not b.measured},
        lambda b: {"unsure": b.unsure + np.eye(len(b.unsure)) * 1e-9},
        lambda b: {"known_lines": b.known_lines[1:]},
        lambda b: {"balls": b.balls[::-1]},
        lambda b: {"habits": replace(b.habits, drift_m=b.habits.drift_m + 1e-9)},
        lambda b: {"style": b.style + " "},
    ],
)
def test_whatever_else_changes_is_another_key(
    job: Job, change: Callable[[Bowler], dict[str, Any]]
) -> None:
    bowler = bowler_of(job)
    assert bowler.known_lines
    assert key_of(replace(bowler, **change(bowler))) != key_of(bowler)


def test_a_key_is_the_same_in_another_process() -> None:
    code = (
        "from cardgen.chartcache import key_of, program_key\n"
        "from cardgen.press import bowler_of, open_profile\n"
        "from cardgen.profile.loader import find_profile\n"
        "print(key_of(bowler_of(open_profile(find_profile('wren-skobernik')).loaded)))\n"
        "print(program_key())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1


def test_what_is_torn_or_changed_is_none(kept: bytes, tmp_path: Path) -> None:
    cache = ChartCache(tmp_path)
    cache.put("ab12", kept)
    (file,) = tmp_path.rglob("*.chart")
    whole = file.read_bytes()
    for damaged in (b"", whole[:20], whole[:-1], whole + b"x", bytes([whole[0] ^ 1]) + whole[1:]):
        file.write_bytes(damaged)
        assert cache.get("ab12") is None
    at = len(whole) // 2
    file.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
    assert cache.get("ab12") is None


class _Trap:
    def __reduce__(self) -> tuple[Any, ...]:
        return (os.system, ("touch trapped",))


@pytest.mark.parametrize("what", [_Trap(), {"a": _Trap()}, 7, np.zeros(3), print, Path("x")])
def test_nothing_but_answers_comes_out_of_a_file(
    what: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert unpacked(pickle.dumps(what)) is None
    assert not list(tmp_path.iterdir())


def test_a_class_of_the_program_that_is_no_value_is_not_made() -> None:
    # ChartCache itself would take a folder from the file.
    assert unpacked(pickle.dumps(ChartCache(Path("x")))) is None


def test_another_version_reads_nothing_of_this_one(
    kept: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ChartCache(tmp_path).put("ab12", kept)
    monkeypatch.setattr(chartcache, "program_key", lambda: "0" * 64)
    assert ChartCache(tmp_path).get("ab12") is None


def test_folders_that_nobody_uses_go(
    kept: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def use(version: str, unused_days: float) -> ChartCache:
        monkeypatch.setattr(chartcache, "program_key", lambda: version * 64)
        cache = ChartCache(tmp_path)
        cache.put("ab12", kept)
        then = time.time() - unused_days * 86400
        os.utime(tmp_path / "charts" / (version * 16), (then, then))
        return cache

    recent, old = use("1", 29), use("2", 31)
    current = use("3", 400)
    current.tidy()
    assert "ab12" in current
    assert "ab12" in recent
    assert "ab12" not in old


def test_where_nothing_can_be_kept_a_run_keeps_for_itself(
    kept: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    (tmp_path / "charts").write_text("in the way")
    cache = ChartCache(tmp_path)
    cache.tidy()
    assert cache.get("ab12") is None
    assert cache.put("ab12", kept)
    assert "ab12" in cache
    assert cache.packed("ab12") == kept
    assert "ab12" not in ChartCache(tmp_path)  # another run has its own
    del cache
    assert not list(scratch.iterdir())


def test_where_there_is_no_room_at_all_nothing_is_kept_and_nothing_fails(
    kept: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "charts").write_text("in the way")
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "charts"))
    cache = ChartCache(tmp_path)
    assert not cache.put("ab12", kept)
    assert cache.get("ab12") is None


def test_the_folder_is_the_user_s_cache_or_the_one_that_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path))
    assert cache_folder() == tmp_path
    monkeypatch.delenv("CARDGEN_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    if sys.platform == "linux":
        assert cache_folder() == tmp_path / "home" / "cardgen"


def test_the_program_s_key_knows_the_code_that_answers_come_from() -> None:
    assert len(program_key()) == 64
    assert Answers.__module__.split(".")[1] in chartcache._DEPENDS_ON
