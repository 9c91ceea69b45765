"""Whatever a file holds, it has a value or a located problem, never another exception."""

import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError, Problem
from cardgen.profile.loader import load_profile
from cardgen.resources import data_folder
from cardgen.yamlsource import EXCERPT_COLUMNS, parse_yaml

PIECES = (
    *("a: ", "b: ", "- ", "? ", ": ", "\n", "\n  ", "\n    ", "\t", " ", "#", " #", "# ", "|", ">"),
    *("[", "]", "{", "}", ",", "&a ", "*a", "&b ", "*b", "!!str ", "!x ", "!<y> ", "%YAML 1.2\n"),
    *("%TAG ! tag:x,2000:\n", "---\n", "...\n", '"', "'", '\\"', "\\x41", "\\ud83d", "\\UFFFFFFFF"),
    *("<<: ", "~", "null", "true", "yes", "010", "1e999", ".nan", "12:30", "2001-12-14", "1_0"),
    *(
        "0x1F",
        "9" * 400,
        "\r",
        "\r\n",
        "\x85",
        "\u2028",
        "\ufeff",
        "\u202e",
        "\x00",
        "é",
        "𝄞",
        "@",
        "`",
    ),
)
YAMLISH = st.lists(st.sampled_from(PIECES), max_size=40).map("".join)

KEYS = sorted(
    set(re.findall(r"\w+(?=:)", (data_folder("profiles") / "ilse-marchetti.yaml").read_text()))
)
SCALARS = (
    *(
        "right",
        "left",
        "new",
        "league",
        "plastic",
        "reactive",
        "spare",
        "house",
        "10",
        "3-10",
        "7.5",
    ),
    *(
        "-1",
        "1e300",
        "9" * 299,
        "true",
        "null",
        "''",
        '"\\e"',
        '"14"',
        "010",
        "x.yaml",
        "/",
        "[1, 39]",
    ),
    *(
        "{}",
        "[]",
        "[[]]",
        "{angle_deg: 1}",
        "{leave: 10, stand: 3, target: 4}",
        "house.yaml/x",
        '"\\0"',
    ),
    *("lane.yaml", '"\\0.yaml"', "..", "x" * 300 + ".yaml"),
)
ENTRY = st.tuples(st.sampled_from(KEYS), st.sampled_from(SCALARS))


def _profile_text(sections: list[tuple[str, list[tuple[str, str]], bool]]) -> str:
    lines = []
    for key, entries, listed in sections:
        lines.append(f"{key}:")
        lines += [f"  {'- ' * listed}{inner}: {scalar}" for inner, scalar in entries]
    return "\n".join(lines)


PROFILES = st.lists(
    st.tuples(st.sampled_from(KEYS), st.lists(ENTRY, max_size=4), st.booleans()), max_size=8
).map(_profile_text) | st.lists(ENTRY, max_size=10).map(
    lambda entries: "".join(f"{key}: {scalar}\n" for key, scalar in entries)
)


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """Return a demo profile with a few pieces taken out or put in."""
    name = draw(st.sampled_from(["ilse-marchetti", "wren-skobernik"]))
    text = (data_folder("profiles") / f"{name}.yaml").read_text(encoding="utf-8")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        width = draw(st.integers(0, 12))
        piece = draw(st.sampled_from((*PIECES, *SCALARS, "")))
        text = text[:at] + piece + text[at + width :]
    return text


def assert_inside(problems: Iterable[Problem], text: str) -> None:
    """Check that each problem lies inside ``text`` and can be printed."""
    lines = re.split("\r\n|\r|\n", text.removeprefix("\ufeff"))
    for problem in problems:
        assert problem.line is not None
        assert problem.column is not None
        assert 1 <= problem.line <= len(lines)
        line = lines[problem.line - 1]
        assert 1 <= problem.column <= len(line) + 1
        for part in (problem.where, problem.message, problem.excerpt or "", problem.hint or ""):
            assert part.replace("\ufffd", "").replace("\xa0", "").isprintable()
        if problem.excerpt is not None:
            assert len(problem.excerpt) <= EXCERPT_COLUMNS + len("……")
            assert problem.caret <= 2 * EXCERPT_COLUMNS


def problems_in(data: str | bytes) -> tuple[Problem, ...] | None:
    """Return the problems of ``data``, None where it has a value."""
    try:
        parse_yaml(data, "f.yaml")
    except InputError as error:
        return error.problems
    return None


def assert_value_or_located(data: str | bytes) -> None:
    text = data.decode(errors="replace") if isinstance(data, bytes) else data
    problems = problems_in(data)
    assert problems != ()
    assert_inside(problems or (), text)


@given(st.binary(max_size=200))
@example(b"\xef\xbb\xbf\xef\xbb\xbf\xff")
@example(b"\xed\xa0\x80")
def test_any_bytes(data: bytes) -> None:
    assert_value_or_located(data)


@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    assert_value_or_located(text)


@settings(max_examples=500)
@given(YAMLISH)
@example("a: &a\n  b: *a\n  b: *a")
@example("? &a [*a]\n: *a")
@example("\n\n\n[")
def test_any_text_of_yaml_pieces(text: str) -> None:
    assert_value_or_located(text)


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(damaged() | PROFILES)
@example("bowler: x\nhand: right\nknown_lines: [{leave: true}, {leave: true}, {leave: [1]}]")
@example("bowler: x\nhand: right\nlane: [x.yaml]")
@example("bowler: x\nhand: right\nknown_lines: {leave: 10}\nbowler.x: 1")
def test_any_profile(tmp_path: Path, text: str) -> None:
    path = tmp_path / "f.yaml"
    path.write_bytes(text.encode())
    try:
        loaded = load_profile(path)
    except InputError as caught:
        error = caught
    else:
        assert loaded.profile.bowler
        return
    assert error.problems
    own = [problem for problem in error.problems if problem.source == str(path)]
    assert_inside(own, text)
    # Nothing of the validation library's own wording reaches the bowler.
    assert not re.search(r"[Ii]nput should|[Vv]alid (dict|tuple|string)|pydantic", str(error))


@pytest.mark.parametrize(
    "piece", ["[", "{a: ", "- ", "? ", "'", '"', "&a ", "!", "a\n", "#", "\n", "a: |\n "]
)
def test_long_repetitions(piece: str) -> None:
    assert_value_or_located(piece * 20_000)
