"""Whatever a file holds, it is a log or a located problem, never another exception."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError
from cardgen.shotlog.columns import COLUMNS
from cardgen.shotlog.reading import Log, read_log

SHARED_FILE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
HEADER = "leave,stand_board,target_board,note,result,off_boards\n"
PIECES = (
    *(",", ";", "\t", "\n", "\r", "\r\n", '"', '""', "'", " ", "\x00", "\x85", "\u2028", "\ufeff"),
    *("10", "3 10", "3-10", "03-Oct", "strike", "34", "34,5", "20", "-1", "=1", "left", "hit", "x"),
    *("é", "𝄞", "\u202e", "9" * 400, "1e999", "nan", "2026-11-25", "n" * 400, "10,34,20\n"),
    *COLUMNS,
)
TABLE = st.lists(st.sampled_from(PIECES), max_size=40).map("".join)


def logged(path: Path, data: bytes) -> Log | None:
    path.write_bytes(data)
    try:
        log = read_log(path)
    except InputError:
        return None
    assert log.shots or log.bad
    for problem in log.bad:
        assert problem.source == str(path)
        assert problem.excerpt is None or problem.excerpt.isprintable()
    return log


@pytest.mark.parametrize("suffix", [".csv", ".yaml", ".pdf"])
def test_any_bytes_are_a_log_or_a_problem(tmp_path: Path, suffix: str) -> None:
    @given(st.binary(max_size=200))
    def check(data: bytes) -> None:
        logged(tmp_path / f"log{suffix}", data)

    check()


@SHARED_FILE
@given(TABLE, st.booleans(), st.sampled_from(["utf-8", "utf-16", "utf-16-be", "latin-1"]))
def test_any_table_is_a_log_or_a_problem(
    tmp_path: Path, table: str, headed: bool, encoding: str
) -> None:
    text = HEADER + table if headed else table
    logged(tmp_path / "log.csv", text.encode(encoding, errors="replace"))


@SHARED_FILE
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from([*COLUMNS, "x"]),
            st.sampled_from(["10", "3-10", "~", "true", "[1]", "{a: b}", "1e99", '"\\0"', "34.5"]),
        ).map(lambda row: "{" + ", ".join(f"{k}: {v}" for k, v in row.items()) + "}"),
        max_size=5,
    )
)
def test_any_yaml_is_a_log_or_a_problem(tmp_path: Path, rows: list[str]) -> None:
    logged(tmp_path / "log.yaml", ("shots:\n" + "".join(f"- {row}\n" for row in rows)).encode())


def test_long_cells_take_no_longer_than_their_length(tmp_path: Path) -> None:
    # What backtracks would take minutes here, not a moment.
    for text in (
        "9" * 100_000 + "!",
        "a" + " " * 100_000 + "b",
        "3 " * 50_000 + "!",
        "-" * 100_000,
    ):
        cells = ",".join(f'"{text}"' for _ in range(6))
        log = logged(tmp_path / "log.csv", (HEADER + cells).encode())
        assert log is not None
        assert log.bad
