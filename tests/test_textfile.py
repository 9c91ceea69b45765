"""Texts that programs write are read line by line as they are as a whole."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError
from cardgen.textfile import MAX_LINE, check_file, read_text, text_lines

BIG = 1 << 20


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.sampled_from(["a", "é", "𝄞", "\n", "\r", "\r\n", "\u2028", "\0", ",", '"'])),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.sampled_from([0, *range(4090, 4097), *range(8182, 8193)]),
)
def test_lines_are_those_of_the_whole_text(
    tmp_path: Path, pieces: list[str], encoding: str, before: int
) -> None:
    # What stands before brings the pieces to where a decoder's chunk of 8 KiB ends.
    written = "x" * before + "".join(pieces)
    path = tmp_path / "a.csv"
    path.write_bytes(written.encode(encoding))
    text = read_text(path, BIG, "list")
    lines = list(text_lines(path, BIG, "list"))
    assert "".join(lines) == text == written
    assert lines == re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+", text)


def test_a_line_is_given_before_the_rest_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"one\n" * 10_000 + b"\xff")
    lines: Iterator[str] = text_lines(path, BIG, "list")
    assert next(lines) == "one\n"
    with pytest.raises(InputError, match=r"a\.csv:10001:1: the byte 0xFF here is not UTF-8"):
        list(lines)


@pytest.mark.parametrize("content", [b"a\r\xc3\xa9\n\xe9", b"\xef\xbb\xbfa\r\xc3\xa9\n\xe9"])
def test_what_is_no_utf_8_is_located(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    for read in (read_text, lambda *args: list(text_lines(*args))):
        with pytest.raises(InputError, match=r"a\.csv:3:1: the byte 0xE9 here is not UTF-8"):
            read(path, BIG, "list")


def test_half_a_utf_16_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes("ab".encode("utf-16")[:-1])
    for read in (read_text, lambda *args: list(text_lines(*args))):
        with pytest.raises(InputError, match="begins as UTF-16 does, but is not"):
            read(path, BIG, "list")


def test_a_file_too_large_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"a" * 2049)
    for read in (read_text, lambda *args: list(text_lines(*args))):
        with pytest.raises(InputError, match="larger than 2 KiB, which no list is"):
            read(path, 2048, "list")


def test_a_file_that_grows_too_large_while_it_is_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"one\n" * 10)
    lines = text_lines(path, 20_000, "list")
    assert next(lines) == "one\n"
    with path.open("ab") as file:
        file.write(b"one\n" * 10_000)
    with pytest.raises(InputError, match="larger than 19 KiB, which no list is"):
        list(lines)


def test_a_line_that_never_ends_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"a\n" + b"a" * (MAX_LINE - 1))
    assert [len(line) for line in text_lines(path, 2 * BIG, "list")] == [2, MAX_LINE - 1]
    path.write_bytes(b"a\n" + b"a" * MAX_LINE)
    with pytest.raises(InputError, match="a line has more than 1,048,576 characters"):
        list(text_lines(path, 2 * BIG, "list"))


def test_what_is_no_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="this is a folder, not a file"):
        check_file(tmp_path)
    with pytest.raises(InputError, match="there is no such file"):
        check_file(tmp_path / "none")
    (tmp_path / "file").touch()
    check_file(tmp_path / "file")
