"""The guard on ratios fails where something has become slower, and only there."""

import sys
from dataclasses import replace

import pytest

from tests.benchmarks import __main__ as benchmarks
from tests.benchmarks.clock import Row, least_s

ROW = Row("cards", 1.0, 1.5, "a hundred cards: 0.1 s")


def runs(*ratios: float) -> list[list[Row]]:
    return [[ROW, replace(ROW, name="other", ratio=ratio)] for ratio in ratios]


@pytest.mark.parametrize(
    ("ratios", "code", "count"),
    [((1.0,), 0, 1), ((1.6, 1.4), 0, 2), ((1.6, 1.7, 1.5), 0, 3), ((1.6, 1.7, 1.8), 1, 3)],
)
def test_holding_fails_where_a_ratio_is_too_large_three_times(
    ratios: tuple[float, ...],
    code: int,
    count: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    left = runs(*ratios)
    monkeypatch.setattr(benchmarks, "measured", lambda _: left.pop(0))
    monkeypatch.setattr(sys, "argv", ["benchmarks", "chart", "--hold"])
    assert benchmarks.main() == code
    assert len(ratios) - len(left) == count
    said = capsys.readouterr().out.splitlines()[-1]
    assert f"{min(ratios):.2f}" in said
    assert ("1.50!" in said) == bool(code)


def test_without_holding_large_ratios_are_only_marked(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(benchmarks, "measured", lambda _: runs(9.0)[0])
    monkeypatch.setattr(sys, "argv", ["benchmarks", "chart"])
    assert benchmarks.main() == 0
    assert "!" in capsys.readouterr().out


def test_a_slower_side_has_the_larger_time() -> None:
    def work(times: int) -> int:
        return sum(number * number for number in range(times))

    quick_s, slow_s = least_s(lambda: work(2_000), lambda: work(200_000), rounds=5)
    assert slow_s > 10 * quick_s > 0


def test_a_benchmark_answers_rows_from_a_process_of_its_own() -> None:
    (row,) = benchmarks.measured("deck")
    assert row.name == "deck"
    assert row.ratio > 0


def test_what_users_wait_for_is_measured() -> None:
    assert {"chart", "booklet", "cards", "clinic", "help", "preview"} <= set(benchmarks.NAMES)


def test_an_unknown_benchmark_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["benchmarks", "chrat"])
    with pytest.raises(SystemExit):
        benchmarks.main()
    assert "there is no benchmark chrat" in capsys.readouterr().err
