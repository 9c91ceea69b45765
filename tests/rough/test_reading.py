"""What a file may be that is asked to be read: huge, a pipe, or changed at that moment."""

import errno
import os
import sys
import threading
import time
import tracemalloc
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

import pytest

from cardgen.errors import CardgenError, InputError
from cardgen.formsource import read_form
from cardgen.profile.loader import find_profile, load_lane, load_profile
from cardgen.roster.reading import read_roster
from cardgen.shotlog.reading import read_log
from cardgen.templating.loading import open_template
from cardgen.templating.logo import LogoError
from cardgen.templating.outlines import read_svg
from cardgen.yamlsource import MAX_PROBLEMS, parse_yaml

HEAD = "bowler: Ana\nhand: right\n"
READERS: dict[str, Callable[[Path], object]] = {
    "profile.yaml": load_profile,
    "lane.yaml": load_lane,
    "template.yaml": open_template,
    "log.yaml": read_log,
    "log.csv": read_log,
    "log.pdf": read_form,
    "roster.csv": read_roster,
    "roster.yaml": read_roster,
    "roster.xlsx": read_roster,
}


def said(call: Callable[[], object]) -> str:
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.exit_code == 2
    return str(caught.value)


def seconds(call: Callable[[], object], error: type[Exception] = CardgenError) -> float:
    """Return how long a call takes, the best of three."""

    def once() -> float:
        start = time.perf_counter()
        with suppress(error):
            call()
        return time.perf_counter() - start

    return min(once() for _ in range(3))


# Much too much


@pytest.mark.parametrize("name", sorted(READERS))
def test_a_file_of_80_mb_is_refused_and_no_more_of_it_read_than_a_file_may_have(
    tmp_path: Path, name: str
) -> None:
    path = tmp_path / name
    with path.open("wb") as file:
        file.write(b"%PDF-1.4\n" if name.endswith("pdf") else b"#\n")
        file.truncate(80 << 20)  # nothing but a hole
    tracemalloc.start()
    try:
        text = said(lambda: READERS[name](path))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert text.startswith(f"{path}: the file is larger than ")
    assert peak < 44 << 20  # twice the 20 MB that a form may have, and some room


def test_as_yaml_32_mb_of_known_lines_are_refused_by_their_size(tmp_path: Path) -> None:
    path = tmp_path / "profile.yaml"
    line = '  - {leave: "10", stand: 34, target: 20}\n'
    path.write_text(HEAD + "known_lines:\n" + line * ((32 << 20) // len(line)))
    text = said(lambda: load_profile(path))
    assert text == f"{path}: the file is larger than 1024 KiB, which no hand-written one is"


def known_lines(count: int) -> str:
    return HEAD + "known_lines:\n" + '- {leave: "10", stand: 34, target: 20}\n' * count


def test_10_000_known_lines_meet_the_limit_in_a_sentence_and_take_their_share_of_time(
    tmp_path: Path,
) -> None:
    path = tmp_path / "profile.yaml"

    path.write_text(known_lines(250))
    few = seconds(lambda: load_profile(path))
    path.write_text(known_lines(10_000))
    start = time.perf_counter()
    text = said(lambda: load_profile(path))
    assert time.perf_counter() - start < 4 * 40 * few  # forty times as many lines
    assert ": known_lines: must be a list of at most 200 mappings" in text


MISTAKES = {
    "tags": "[" + "!a 1," * 1000 + "]",
    "numbers": "[" + ".inf," * 1000 + "]",
    "keys": "{" + "a: 1," * 1000 + "}",
    "comments": "- a #b\n" * 1000,
}


@pytest.mark.parametrize("text", MISTAKES.values(), ids=MISTAKES)
def test_of_very_many_mistakes_the_first_hundred_are_told_and_that_there_are_more(
    text: str,
) -> None:
    with pytest.raises(InputError) as caught:
        parse_yaml(text, "f.yaml")
    told, *mistakes = caught.value.problems
    assert str(told) == f"f.yaml: there are more mistakes than these {MAX_PROBLEMS}"
    assert len(mistakes) == MAX_PROBLEMS
    assert all(problem.line for problem in mistakes)


@pytest.mark.parametrize(
    "unit",
    ["a{n}: 1,", "b{n}: {{}},"],
)
def test_mistakes_of_one_long_line_take_no_longer_than_those_of_many_short_ones(
    tmp_path: Path, unit: str
) -> None:
    path = tmp_path / "profile.yaml"
    entries = [unit.format(n=n) for n in range(1500)]

    def load(between: str) -> Callable[[], object]:
        long = '{x: "' + "a" * 400_000 + '",'
        path.write_text(between.join([long, *entries]) + "}")
        return lambda: load_profile(path)

    many, one = seconds(load("\n")), seconds(load(" " * 50))
    assert one < 2.5 * many


def test_of_very_many_mistakes_of_meaning_a_hundred_are_told_and_how_many_more_there_are(
    tmp_path: Path,
) -> None:
    path = tmp_path / "profile.yaml"

    def load(count: int) -> Callable[[], object]:
        path.write_text(HEAD + "".join(f"a{n}: 1\n" for n in range(count)))
        return lambda: load_profile(path)

    few = seconds(load(400))
    many = load(6400)
    start = time.perf_counter()
    text = said(many)
    assert time.perf_counter() - start < 3 * 16 * few  # sixteen times as many of them
    assert text.count("there is no such field") == 100
    assert "there are 6,300 mistakes more; mend these first" in text


def test_a_length_of_very_many_digits_is_told_at_once() -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" {}><path d="{}"/></svg>'
    path = svg.format('viewBox="0 0 9 9"', "M0 0" + "h1" * 10_000)
    plain = seconds(lambda: read_svg(path.encode()))
    for width in ("1" * 20_000 + "x", "1" + " " * 20_000 + "x", "1." + "0" * 20_000 + "em"):
        data = svg.format(f'width="{width}" height="9"', "M0 0").encode()
        with pytest.raises(LogoError, match="is no length here"):
            read_svg(data)
        # What goes back over the digits again and again takes hundreds of times as long.
        assert seconds(partial(read_svg, data), LogoError) < plain


# Pipes


@pytest.mark.skipif(sys.platform == "win32", reason="pipes are no files there")
@pytest.mark.parametrize("name", sorted(READERS))
def test_a_pipe_is_not_waited_on(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    os.mkfifo(path)
    text = said(lambda: READERS[name](path))
    assert text.startswith(f"{path}: ")
    # Whoever asks for a template may mean a shipped one, but never the pipe itself.
    assert "this is a pipe or a device" in text or "there is no such template" in text
    assert "did you mean" not in text


@pytest.mark.skipif(sys.platform == "win32", reason="pipes are no files there")
def test_a_pipe_is_no_profile(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "ana.yaml")
    text = said(lambda: find_profile(str(tmp_path / "ana.yaml")))
    assert "there is no such profile" in text
    assert "did you mean" not in text


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there are no devices here")
@pytest.mark.parametrize("name", sorted(READERS))
def test_a_device_that_never_ends_is_not_read_to_its_end(tmp_path: Path, name: str) -> None:
    (tmp_path / name).symlink_to("/dev/zero")
    assert str(tmp_path / name) in said(lambda: READERS[name](tmp_path / name))


# Folders, and what the system does not give


@pytest.mark.parametrize("name", sorted(READERS))
def test_a_folder_is_told(tmp_path: Path, name: str) -> None:
    (tmp_path / name).mkdir()
    assert said(lambda: READERS[name](tmp_path / name)) == (
        f"{tmp_path / name}: this is a folder, not a file"
    )


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="no file fails like this here")
@pytest.mark.parametrize("name", sorted(READERS))
def test_a_disk_that_fails_is_told(tmp_path: Path, name: str) -> None:
    # Linux: it can be opened, and nobody can read at its beginning (proc_pid_mem, from memory).
    (tmp_path / name).symlink_to("/proc/self/mem")
    assert said(lambda: READERS[name](tmp_path / name)) == (
        f"{tmp_path / name}: this file cannot be read: {os.strerror(errno.EIO)}"
    )


@pytest.mark.parametrize("name", sorted(READERS))
def test_a_file_that_may_not_be_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    (tmp_path / name).write_bytes(b"")
    monkeypatch.setattr(Path, "open", refuse)  # root may read anything, so it is played
    assert said(lambda: READERS[name](tmp_path / name)) == (
        f"{tmp_path / name}: this file may not be read: its permissions forbid it"
    )


# A file that changes while it is read


HANDS = {"Ana": "right", "Bo": "left"}


@pytest.mark.parametrize("whole", [True, False], ids=["replaced", "written over"])
def test_a_profile_that_changes_while_it_is_read_is_one_of_the_two_or_a_mistake(
    tmp_path: Path, whole: bool
) -> None:
    path, beside = tmp_path / "profile.yaml", tmp_path / "beside.yaml"
    # What begins as the one and ends as the other would have a hand that is not the bowler's.
    texts = {
        name: f"bowler: {name}\n" + f"# {name * 9}\n" * 400 + f"hand: {hand}\n"
        for name, hand in HANDS.items()
    }
    path.write_text(texts["Ana"])
    stop = threading.Event()

    def change() -> None:
        while not stop.is_set():
            for text in texts.values():
                if whole:
                    beside.write_text(text)
                    beside.replace(path)
                else:
                    path.write_text(text)

    thread = threading.Thread(target=change)
    thread.start()
    seen = set()
    try:
        for _ in range(150):
            try:
                profile = load_profile(path).profile
                assert HANDS[profile.bowler] == profile.hand.value
                seen.add(profile.bowler)
            except InputError as error:
                seen |= {"mistake" if p.source == str(path) else p.source for p in error.problems}
    finally:
        stop.set()
        thread.join()
    assert seen <= {"Ana", "Bo"} if whole else seen <= {"Ana", "Bo", "mistake"}
    assert seen
    if whole:
        assert len(seen) == 2  # or it was never replaced


def test_a_table_that_shrinks_while_it_is_read_is_read_or_told(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    rows = [f"Student {n},left,{'é' * 50}" for n in range(2000)]
    path.write_text("\n".join(["name,hand,notes", *rows]))
    stop = threading.Event()

    def cut() -> None:
        size = path.stat().st_size
        while not stop.is_set() and size > 100:
            size -= 977
            with suppress(OSError):
                os.truncate(path, size)

    thread = threading.Thread(target=cut)
    thread.start()
    try:
        for _ in range(10):
            with suppress(InputError):
                assert read_roster(path).students
    finally:
        stop.set()
        thread.join()
