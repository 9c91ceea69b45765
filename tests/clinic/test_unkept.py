"""A cache that takes nothing: each bowler's chart is worked out once in a run all the same."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cardgen.clinic import pieces
from cardgen.targeting.chart import Chart, chart_for

ALONE = ("--with", "none", "--jobs", "1")


def test_a_cache_that_takes_nothing_costs_no_chart_twice(
    clinic: Callable[..., Any],
    roster: Callable[..., Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    counted = []

    def chart(*args: Any) -> Chart:
        counted.append(args)
        return chart_for(*args)

    monkeypatch.setattr(pieces, "chart_for", chart)
    path = roster("name,hand\nAna Bell,right\nBen Cole,right\n")
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "kept"))
    kept = clinic(path, *ALONE, folder="one")
    assert len(counted) == 1
    (tmp_path / "taken").write_bytes(b"theirs")
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "taken"))
    unkept = clinic(path, *ALONE, folder="two")
    assert len(counted) == 2
    assert (unkept.code, unkept.err) == (kept.code, kept.err) == (0, kept.err)
    assert unkept.data("saturday-pocket.pdf") == kept.data("saturday-pocket.pdf")
