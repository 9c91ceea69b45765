"""YAML as plain values: what each scalar means, what is refused, and where a problem is shown."""

import json
import re
from pathlib import Path

import pytest
import yaml
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cardgen import yamlsource
from cardgen.errors import InputError, Problem
from cardgen.yamlsource import (
    EXCERPT_COLUMNS,
    MAX_BYTES,
    MAX_DEPTH,
    MAX_VALUES,
    Value,
    dotted,
    load_yaml,
    parse_yaml,
    shown,
)


def value_of(text: str | bytes) -> Value:
    return parse_yaml(text, "f.yaml").value


def problems_of(text: str | bytes) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        parse_yaml(text, "f.yaml")
    return caught.value.problems


def only_problem_of(text: str | bytes) -> Problem:
    (problem,) = problems_of(text)
    return problem


# The rows that agree are YAML 1.2.2, section 10.3.2 (tag resolution of the core schema) and its
# example 10.9 (quoted from memory); the same section makes numbers or truths of the rows that
# depart, which the module's docstring lists.
AGREEING = {
    "null": None,
    "~": None,
    "": None,
    "true": True,
    "false": False,
    "0": 0,
    "-19": -19,
    "+7": 7,
    "0.": 0.0,
    "-0.0": -0.0,
    ".5": 0.5,
    "+12e03": 12000.0,
    "-2E+05": -200000.0,
    "1e3": 1000.0,
    "yes": "yes",
    "no": "no",
    "NO": "NO",
    "on": "on",
    "Off": "Off",
    "y": "y",
    "12:30": "12:30",
    "1:30:00.5": "1:30:00.5",
    "2001-12-14": "2001-12-14",
    "2001-12-14t21:59:43.10-05:00": "2001-12-14t21:59:43.10-05:00",
    "1_000": "1_000",
    "0b11": "0b11",
    "<<": "<<",
    "=": "=",
    "3-10": "3-10",
    '"7"': "7",
    "'true'": "true",
    "1e": "1e",
    ".": ".",
    "+": "+",
}
DEPARTING = ("Null", "NULL", "True", "TRUE", "False", "FALSE", "010", "-07", "00", "0o7", "0x3A")


@pytest.mark.parametrize("text", AGREEING)
def test_a_scalar_is_what_the_core_schema_says(text: str) -> None:
    value = value_of(f"a: {text}\n")
    assert isinstance(value, dict)
    assert value["a"] == AGREEING[text]
    assert type(value["a"]) is type(AGREEING[text])


@pytest.mark.parametrize("text", DEPARTING)
def test_what_can_be_misread_stays_text(text: str) -> None:
    assert value_of(f"a: {text}\n") == {"a": text}


def test_the_plain_loader_of_the_library_misreads_them() -> None:
    # Why there is a resolver of our own: PyYAML follows YAML 1.1.
    text = "[010, 12:30, yes, 2001-12-14, 1_000, 1e3]"
    misread = yaml.safe_load(text)
    assert misread[:3] == [8, 750, True]
    assert value_of(text) == ["010", "12:30", "yes", "2001-12-14", "1_000", 1000.0]


# JSON writes bare what ends a line in YAML 1.1 alone, and what does not print is refused.
WRITABLE = st.characters(
    codec="utf-8",
    exclude_categories=["Zl", "Zp"],
    exclude_characters=[*map(chr, range(0x7F, 0xA0)), "\ufeff", "\ufffe", "\uffff"],
)


def plain_values(characters: st.SearchStrategy[str]) -> st.SearchStrategy[Value]:
    """Return values of all kinds, their keys and texts of these characters."""
    texts = st.text(characters, max_size=20) | st.sampled_from(
        [
            "~",
            "null",
            "true",
            "010",
            "1e3",
            ".nan",
            "<<",
            "=",
            "- a",
            "a: b",
            "a #b",
            "? a",
            "",
            " ",
        ]
    )
    return st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(10**15), 10**15)
        | st.integers(-(10**298), 10**298)
        | st.floats(allow_nan=False, allow_infinity=False)
        | texts,
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(st.text("abc #:'é", max_size=5) | texts, inner, max_size=4)
        ),
        max_leaves=20,
    )


@settings(max_examples=150)
@given(plain_values(WRITABLE))
def test_json_means_the_same(value: Value) -> None:
    # JSON is a subset of YAML 1.2 (section 1.2 of YAML 1.2.2); the writer is the standard library.
    assert value_of(json.dumps(value, ensure_ascii=False)) == value


@settings(max_examples=150)
@given(plain_values(st.characters(codec="utf-8")), st.booleans())
def test_what_the_library_writes_comes_back(value: Value, flow: bool) -> None:
    written = yaml.safe_dump(value, allow_unicode=True, default_flow_style=flow)
    # To YAML 1.1 a number without a point or a sign of its exponent is text, and needs no quotes.
    assume(not re.search(r"(?<![\w.'\"+-])[-+]?[0-9]*\.?[0-9]*[eE][0-9]+(?![\w'\"])", written))
    assert value_of(written) == value


def test_keys_are_text_as_written() -> None:
    assert value_of("7: a\nnull: b\ntrue: c\n'x y': d\n") == {
        "7": "a",
        "null": "b",
        "true": "c",
        "x y": "d",
    }


def test_anchors_and_aliases_share_a_value() -> None:
    assert value_of("a: &x [1]\nb: *x\n") == {"a": [1], "b": [1]}


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert value_of(b"\xef\xbb\xbfa: 1\n") == {"a": 1}
    assert value_of("\ufeffa: 1\n") == {"a": 1}


# text, line, column, path, part of the message
REFUSED: dict[str, tuple[str | bytes, int, int, str, str]] = {
    "empty": (b"", 1, 1, "", "empty"),
    "only comments": ("# a\n# b\n", 1, 1, "", "nothing but comments"),
    "not UTF-8": (b"a: 1\nb: \xe4\n", 2, 4, "", "0xE4 here is not UTF-8"),
    "not UTF-8 behind a byte-order mark": (b"\xef\xbb\xbf\xe4\n", 1, 1, "", "0xE4"),
    "UTF-16": (b"\xff\xfea\0:\0 \x001\0", 1, 1, "", "not UTF-8"),
    "NUL": ("a: 1\nb: \0\n", 2, 4, "", "U+0000 cannot stand"),
    "escape character": ("a: \x1b[31m\n", 1, 4, "", "U+001B cannot stand"),
    "lone surrogate": ("a: \ud800\n", 1, 4, "", "U+D800 cannot stand"),
    "escaped surrogate": ('a: "\\ud800"\n', 1, 4, "a", "surrogate"),
    "escape out of range": ('a: "\\UFFFFFFFF"\n', 1, 7, "", "far too large"),
    "unknown escape": ('a: "\\q"\n', 1, 6, "", "no escape"),
    "version out of range": ("%YAML 1." + "9" * 5000 + "\n---\na\n", 1, 9, "", "far too large"),
    "YAML 2": ("%YAML 2.0\n---\na: 1\n", 1, 1, "", "must be 1.2"),
    "two documents": ("a: 1\n---\nb: 2\n", 2, 1, "", "a second document begins here"),
    "duplicate key": ("a: 1\nb: 2\n'a': 3\n", 3, 1, "a", "already given in line 1"),
    "list as key": ("? [a]\n: 1\n", 1, 3, "", "a key must be plain text"),
    "mapping as key": ("{{a: 1}: 2}\n", 1, 2, "", "a key must be plain text"),
    "core tag": ("a: !!str 7\n", 1, 4, "a", "tags are not used here (got '!!str')"),
    "tag of a language": ("a: !!python/name:os.system x\n", 1, 4, "a", "tags are not used here"),
    "own tag": ("a:\n  - !mine {b: 1}\n", 2, 5, "a.1", "got '!mine'"),
    "tag on a key": ("!!str a: 1\n", 1, 1, "", "tags are not used here"),
    "self reference": ("a: &x\n  - *x\n", 1, 4, "a.1", "contains itself"),
    "unknown alias": ("a: *x\n", 1, 4, "", "no anchor of this name"),
    "anchor twice": ("a: &x 1\nb: &x 2\n", 2, 4, "", "anchor is already used"),
    "NaN": ("a: .nan\n", 1, 4, "a", "must be a finite number (got .nan)"),
    "infinity": ("a: [-.inf]\n", 1, 5, "a.1", "must be a finite number (got -.inf)"),
    "too large a number": ("a: 1e999\n", 1, 4, "a", "must be a finite number (got 1e999)"),
    "too many digits": ("a: " + "9" * 5000, 1, 4, "a", "must be a finite number"),
    "tab as indentation": ("a:\n\tb: 1\n", 2, 1, "", "a tab stands where only spaces can"),
    "tab behind a colon": ("a:\t1\n", 1, 3, "", "a tab stands where only spaces can"),
    "unclosed quote": ("a: 1\nb: 'c\nd: 2\n", 2, 4, "", "quote opened here is never closed"),
    "unclosed list": ("a: [1, 2\nb: 3\n", 1, 4, "", "the [ opened here"),
    "unclosed mapping": ("a: {b: 1\nc: 3\n", 1, 4, "", "the { opened here"),
    "two colons": ("a: b: c\n", 1, 5, "", "a colon stands where no key can be"),
    "no colon": ("a: 1\nb\nc: 2\n", 2, 1, "", "no ': ' after it"),
    "ragged indentation": ("a:\n    b: 1\n  c: 2\n", 3, 3, "", "does not fit in"),
    "list behind a key": ("a: - b\n", 1, 4, "", "a list cannot begin here"),
    "reserved character": ("a: @b\n", 1, 4, "", "no value can begin with this"),
    "something after the end": ("[a]\n]\n", 2, 1, "", "the document has ended above"),
    "bad block header": ("a: |9x\n", 1, 6, "", "this is not YAML"),
    "cut off text": ("bowler: Lane #7\n", 1, 14, "bowler", "text after # is a comment"),
    "all cut off": ("bowler: #7\n", 1, 9, "bowler", "text after # is a comment"),
    "cut off in a list": ("a:\n  - x  #1\n", 2, 8, "a.1", "text after # is a comment"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_its_place(name: str) -> None:
    text, line, column, where, message = REFUSED[name]
    problem = only_problem_of(text)
    assert message in problem.message
    assert (problem.line, problem.column, problem.where) == (line, column, where)
    assert problem.source == "f.yaml"


def test_hints_say_what_would_be_right() -> None:
    assert "spaces" in (only_problem_of("a:\n\tb: 1\n").hint or "")
    assert "quotes" in (only_problem_of("a: Lane #7\n").hint or "")
    assert "UTF-8" in (only_problem_of(b"\xff").hint or "")
    assert "take the tag off" in (only_problem_of("!!str a").hint or "")


def test_all_problems_at_once_in_order() -> None:
    found = problems_of("a: .nan\nb: !!int 3\na: 2\nc: Lane #7\nd: {e: 1, e: 2}\n[f]: 1\n")
    assert [problem.line for problem in found] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: x # y\n", "x"),
        ("a: x # 7\n", "x"),
        ("a: x ## y\n", "x"),
        ("a: x #\n", "x"),
        ("a: x#7\n", "x#7"),
        ("a: 'x #7'\n", "x #7"),
        ("a: 'x' #7\n", "x"),
        ("a: 7 #x\n", 7),
        ("a: true #x\n", True),
        ("a: |\n  x #7\n", "x #7\n"),
    ],
)
def test_these_comments_cut_nothing_off(text: str, value: Value) -> None:
    assert value_of(text) == {"a": value}


def test_depth_is_limited() -> None:
    assert value_of("[" * MAX_DEPTH + "]" * MAX_DEPTH)
    problem = only_problem_of("[" * (MAX_DEPTH + 1))
    assert problem.message == "the document has more than 40 levels deep"
    assert problem.column == MAX_DEPTH + 1
    for opening in ("[", "{a: ", "- ", "? ", "[a,"):
        assert "levels deep" in only_problem_of(opening * 5000).message


def test_depth_through_aliases_is_limited() -> None:
    lines = ["a0: &a0 [x]", *(f"a{i}: &a{i} [*a{i - 1}]" for i in range(1, 100))]
    assert "levels deep, aliases written out" in problems_of("\n".join(lines))[0].message


def test_an_alias_bomb_is_not_lit() -> None:
    # Written out these are 9**10 values; each value is looked at once.
    nine = "[{0},{0},{0},{0},{0},{0},{0},{0},{0}]"
    lines = ["a0: &a0 " + nine.format("x")]
    lines += [f"a{i}: &a{i} {nine.format(f'*a{i - 1}')}" for i in range(1, 10)]
    problem = only_problem_of("\n".join(lines))
    assert "more than 200,000 values, aliases written out" in problem.message
    assert problem.line == 5  # a5 has 9**6 values of a4, on whose line it is shown


def test_aliases_within_the_limit_are_written_out() -> None:
    text = "a: &a [" + "x," * 1000 + "]\nb: [" + "*a," * (MAX_VALUES // 1001 - 5) + "]\n"
    assert isinstance(value_of(text), dict)
    assert "values" in only_problem_of(text.replace("b: [", "b: [*a,*a,*a,*a,*a,")).message


def test_more_values_than_any_document_has_are_not_even_gathered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(yamlsource, "MAX_VALUES", 1000)
    problem = only_problem_of("-\n" * 5000)
    assert problem.message == "the document has more than 1,000 values"
    assert problem.line == 2000  # keys count as well, so there may be twice as many


def test_size_is_limited() -> None:
    assert value_of("#" * (MAX_BYTES - 2) + "\na") == "a"
    problem = only_problem_of(b"#" * (MAX_BYTES + 1))
    assert (problem.line, problem.message[:32]) == (None, "the file is larger than 1024 KiB")


# Files.


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_text("a: é\n", encoding="utf-8")
    document = load_yaml(path)
    assert document.value == {"a": "é"}
    assert document.source == str(path)


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("none.yaml", "there is no such file"),
        ("file/none.yaml", "there is no such file"),
        ("folder", "this is a folder, not a file"),
        ("n" * 5000, "this name is too long for a file"),
        ("n\0l", "no file can have this name"),
    ],
)
def test_what_is_no_file(tmp_path: Path, name: str, message: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").touch()
    with pytest.raises(InputError) as caught:
        load_yaml(tmp_path / name)
    assert [problem.message for problem in caught.value.problems] == [message]


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Who runs as root may read all, so the refusal is staged.
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match="its permissions forbid it"):
        load_yaml(tmp_path / "f.yaml")


def test_a_failing_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "open", fail)
    with pytest.raises(InputError, match="cannot be read: Input/output error"):
        load_yaml(tmp_path / "f.yaml")


# Places.


def test_problems_are_located_by_path() -> None:
    document = parse_yaml("a: 1\nb:\n  - c: {d: 2}\n    e: 3\n", "f.yaml")

    def place(*where: str | int, at_key: bool = False) -> tuple[int | None, int | None, str]:
        problem = document.problem(where, "is wrong", at_key=at_key)
        return problem.line, problem.column, problem.where

    assert place("a") == (1, 4, "a")
    assert place("a", at_key=True) == (1, 1, "a")
    assert place("b", 0, "c", "d") == (3, 12, "b.1.c.d")
    assert place("b", 0, "e", at_key=True) == (4, 5, "b.1.e")
    assert place("b", 0, "missing") == (3, 5, "b.1.missing")
    assert place("b", 7) == (3, 3, "b.8")
    assert place("a", "deeper") == (1, 4, "a.deeper")
    assert place() == (1, 1, "")
    assert document.line(("b", 0, "e")) == 4


def caret(problem: Problem) -> str | None:
    """Return the character of the excerpt that the printed caret stands under."""
    assert problem.excerpt is not None
    assert problem.column is not None
    *_, above, marker = str(problem).splitlines()
    assert above == "    " + problem.excerpt
    return above[marker.index("^") : marker.index("^") + 1]


def test_an_excerpt_with_tabs_keeps_the_caret_aligned() -> None:
    document = parse_yaml("a: ['\t \t', bad]\n", "f.yaml")
    problem = document.problem(("a", 1), "is wrong")
    assert "\t" not in str(problem)
    assert caret(problem) == "b"


def test_an_excerpt_of_a_long_line_is_short() -> None:
    document = parse_yaml("a: 1 # " + "x" * 5000 + "\n", "f.yaml")
    problem = document.problem(("a",), "is wrong")
    assert caret(problem) == "1"
    assert len(problem.excerpt or "") == EXCERPT_COLUMNS + len("…")


def test_a_problem_far_right_shows_its_part_of_the_line() -> None:
    document = parse_yaml("a: {" + " " * 5000 + "b: 1}\n", "f.yaml")
    problem = document.problem(("a", "b"), "is wrong")
    assert problem.column == 5008
    assert caret(problem) == "1"
    assert (problem.excerpt or "").startswith("…")
    assert len(problem.excerpt or "") <= EXCERPT_COLUMNS + len("……")


def test_the_caret_counts_wide_and_combining_characters_as_a_terminal_does() -> None:
    """Unicode TR11: wide characters take two columns; a combining mark takes none."""
    document = parse_yaml("a: ['レーン', bad]\nb: ['e\u0301', bad]\n", "f.yaml")
    assert document.problem(("a", 1), "is wrong").caret == len("a: ['レーン', ") + 3
    assert document.problem(("b", 1), "is wrong").caret == len("b: ['e', ")


def test_nothing_that_moves_a_cursor_is_printed() -> None:
    raw = "\x1b\x07\u202e\u200b\u2028"
    texts = [f"a: @{c}b\n" for c in raw] + ['"a\\e\\a\\u202e.b": 1\n"a\\e\\a\\u202e.b": 2\n']
    for text in texts:
        printed = str(InputError(problems_of(text)))
        assert printed.replace("\n", "").replace("\ufffd", "").isprintable()


def test_lines_are_counted_as_editors_do() -> None:
    document = parse_yaml("a: 1\r\nb: 2\rc: 3\nd: 4\n", "f.yaml")
    assert [document.line((key,)) for key in "abcd"] == [1, 2, 3, 4]


def test_the_end_of_the_file_is_in_its_last_line() -> None:
    problem = only_problem_of("a: {b: [\n\n\n")
    assert (problem.line, problem.column) in {(1, 8), (1, 9)}


# Words for values and places.


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "nothing"),
        (True, "true"),
        (14, "14"),
        (0.5, "0.5"),
        ("x", "'x'"),
        ("\x1b[0m", "'\\x1b[0m'"),
        ("x" * 50, "'" + "x" * 39 + "…'"),
        (10**200, "a very large number"),
        ([1], "a list"),
        ({}, "a mapping"),
    ],
)
def test_values_are_shown_short_and_safe(value: object, text: str) -> None:
    assert shown(value) == text


def test_paths_count_from_one_and_quote_odd_keys() -> None:
    assert dotted(("known_lines", 0, "leave")) == "known_lines.1.leave"
    assert dotted(("a.b", "c-d", "")) == "'a.b'.c-d.''"
