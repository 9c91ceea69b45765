"""A clinic that is killed, run twice at once, or shared out to other machines: the same bytes."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cardgen.cli import main

Roster = Callable[..., Path]
TEXT = "name,hand,stand.ball_gap_boards,group\n" + "".join(
    f"Student {n},{('right', 'left')[n % 2]},{4 + n % 3},G{n % 2}\n" for n in range(30)
)
"""Thirty students, six bowlers, two stacks."""


def started(path: Path, out: Path, cache: Path, *args: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [
            *(sys.executable, "-m", "cardgen", "clinic", str(path), "--with", "none"),
            *("--out", str(out), "--jobs", "2", *args),
        ],
        env={**os.environ, "CARDGEN_CACHE": str(cache)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def finished(process: subprocess.Popen[bytes]) -> int:
    _, err = process.communicate(timeout=300)
    assert process.returncode == 0, err.decode()
    return process.returncode


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the print job that nothing has disturbed."""
    folder = tmp_path_factory.mktemp("whole")
    path = folder / "saturday.csv"
    path.write_text(TEXT)
    finished(started(path, folder / "out", folder / "cache"))
    return (folder / "out" / "saturday-pocket.pdf").read_bytes()


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_a_run_that_is_killed_goes_on_where_it_was(
    roster: Roster, tmp_path: Path, whole: bytes
) -> None:
    path, out, cache = roster(TEXT), tmp_path / "out", tmp_path / "cache"
    killed = started(path, out, cache)
    deadline = time.monotonic() + 120
    while len(kept := list(cache.rglob("*.chart"))) < 2 and time.monotonic() < deadline:
        time.sleep(0.02)
    os.killpg(killed.pid, signal.SIGKILL)
    killed.communicate()
    assert kept
    assert not list(out.rglob("*.pdf"))
    times = {file: file.stat().st_mtime_ns for file in kept}
    finished(started(path, out, cache))
    assert (out / "saturday-pocket.pdf").read_bytes() == whole
    assert {file: file.stat().st_mtime_ns for file in kept} == times  # not worked out again


def test_two_runs_at_once_into_one_folder(roster: Roster, tmp_path: Path, whole: bytes) -> None:
    path, out, cache = roster(TEXT), tmp_path / "out", tmp_path / "cache"
    both = [started(path, out, cache) for _ in range(2)]
    for process in both:
        finished(process)
    assert [file.name for file in out.iterdir()] == ["saturday-pocket.pdf"]
    assert (out / "saturday-pocket.pdf").read_bytes() == whole
    assert not [file for file in cache.rglob("*") if file.suffix == ".part"]


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Yield a scheduler of Dask's own with two workers, processes of this machine."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as started_cluster:
        yield started_cluster


@pytest.mark.filterwarnings("ignore")  # of Dask's own, which differ from version to version
def test_a_cluster_gives_the_same_bytes(
    roster: Roster, tmp_path: Path, whole: bytes, cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "cache"))
    out = tmp_path / "out"
    with pytest.raises(SystemExit) as ended:
        main(
            [
                *("clinic", str(roster(TEXT)), "--with", "none", "--out", str(out)),
                *("--cluster", cluster.scheduler_address),
            ]
        )
    assert ended.value.code == 0
    assert (out / "saturday-pocket.pdf").read_bytes() == whole
    assert len(list((tmp_path / "cache").rglob("*.chart"))) == 6
