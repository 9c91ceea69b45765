"""Whatever a file holds, it has a value or a located problem, never another exception."""

import json
import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from cardgen.errors import InputError, Problem
from cardgen.profile.loader import load_profile
from cardgen.resources import data_folder
from cardgen.yamlsource import EXCERPT_COLUMNS, Value, parse_yaml

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
ESCAPES = (
    *("\\x41", "\\ud83d", "\\ud83d\\ude00", "\\U0010FFFF", "\\UFFFFFFFF", "\\0", "\\e", "\\L"),
    *("\\\n", "\\q", "\\x4", "\\", "a", " ", "\n", "\t", "'", "é", ": ", " #"),
)
# By themselves pieces hardly ever make a quote that ends, or a line that a text may begin with.
QUOTED = st.lists(st.sampled_from(ESCAPES), max_size=4).map(lambda parts: f'"{"".join(parts)}"')
HEADS = (
    *("", "", "", "\ufeff", "# a\n", "%YAML 1.2\n---\n", "%YAML 2.0\n---\n", "%YAML x\n---\n"),
    *(f"%YAML 1.{'9' * 5000}\n---\n", "%TAG ! tag:x,2000:\n---\n", "--- "),
)
YAMLISH = st.builds(
    lambda head, pieces: head + "".join(pieces),
    st.sampled_from(HEADS),
    st.lists(st.sampled_from(PIECES) | QUOTED, max_size=40),
)
ENTRIES = st.recursive(
    st.sampled_from(
        ("x", "7", "010", "1e999", "~", "*a", "&a x", "!x y", "@", "'", " #b", "Lane #7")
    )
    | QUOTED,
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]")
        | st.lists(st.tuples(st.sampled_from(("a", "b", "'a'", "? a", "[a]", "&a a")), inner)).map(
            lambda pairs: f"{{{', '.join(f'{key}: {value}' for key, value in pairs)}}}"
        )
    ),
    max_leaves=12,
)
"""Lists and mappings that are mostly well-formed, of values that mostly are not allowed."""

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


def assert_plain(value: Value) -> None:
    """Check that a value is what a document may mean: finite, and text that can be written."""
    json.dumps(value, allow_nan=False, ensure_ascii=False).encode()


def found_in(data: str | bytes) -> "Value | tuple[Problem, ...]":
    """Return the value of ``data``, or its problems."""
    try:
        value = parse_yaml(data, "f.yaml").value
    except InputError as error:
        return error.problems
    assert_plain(value)
    return value


def assert_value_or_located(data: str | bytes) -> None:
    text = data.decode(errors="replace") if isinstance(data, bytes) else data
    found = found_in(data)
    assert found != ()
    if isinstance(found, tuple):
        assert_inside(found, text)
    if isinstance(data, str) and not re.search("[\ud800-\udfff]", data):
        assert found_in(data.encode()) == found  # a file has what its text has


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
@example('"\\ud83d"')
@example('"\\UFFFFFFFF"')
@example("? &a [*a]\n: *a")
@example("\n\n\n[")
def test_any_text_of_yaml_pieces(text: str) -> None:
    assert_value_or_located(text)


@settings(max_examples=300)
@given(ENTRIES)
def test_any_lists_and_mappings(text: str) -> None:
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
