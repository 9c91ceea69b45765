"""A YAML document as plain values, with the place in the text of each of them.

Scalars follow the core schema of YAML 1.2.2 (section 10.3.2), narrowed to what cannot be misread:
``true``, ``false``, ``null`` and ``~`` only in lower case, whole numbers only without leading
zeros, neither octal nor hexadecimal, no infinity and no NaN. So ``010``, ``0x1F``, ``yes``,
``12:30``, ``1_000`` and a date are text, and whoever wants a number there can say so. Tags,
keys that are no plain text, and a second document are refused.
"""

import errno
import json
import math
import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple, Protocol, TypeAlias

import yaml

from cardgen.errors import InputError, Problem

Value: TypeAlias = "bool | int | float | str | list[Value] | dict[str, Value] | None"
_Pair: TypeAlias = "tuple[yaml.Node, yaml.Node]"
Where: TypeAlias = Sequence[str | int]
"""The way to a value: keys of mappings, and indices (from 0) of sequences."""

MAX_BYTES = 1 << 20
MAX_DEPTH = 40
MAX_VALUES = 200_000
"""Values in a document, aliases written out; a few lines of nested aliases can mean billions."""
MAX_DIGITS = 300
"""A whole number of more digits has no finite double."""
MAX_PROBLEMS = 100
"""Of the text itself; whoever has made so many reads no further."""
NO_FILE = "this is a pipe or a device, not a file"
EXCERPT_COLUMNS = 100
"""A longer line is cut; what lies beyond is located by line and column alone."""

# YAML 1.2.2, production [1] c-printable.
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_BREAK = re.compile("\r\n|\r|\n")  # YAML 1.2.2, production [28] b-break
_WHOLE = re.compile(r"[-+]?(0|[1-9][0-9]*)")
_DECIMAL = re.compile(r"[-+]?(\.[0-9]+|(0|[1-9][0-9]*)(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
_TABBED = re.compile(r"^ *\t|\t$")
_CUT_OFF = re.compile(r"[ \t]+(?=#[^\s#])")


def shown(value: object, limit: int = 40) -> str:
    """Return ``value`` as a message may quote it: on one line, short, safe for a terminal."""
    match value:
        case None:
            return "nothing"
        case bool():
            return str(value).lower()
        case str():
            return repr(value if len(value) <= limit else value[: limit - 1] + "…")
        case dict():
            return "a mapping"
        case list() | tuple():
            return "a list"
        case int() if abs(value) >= 10**limit:
            return "a very large number"
    return str(value)


def dotted(where: Where) -> str:
    """Return ``where`` as people read it, items of a list counted from 1: ``known_lines.2.leave``.

    A key that would be misread (a dot in it, or a character that does not print) comes in quotes.
    """
    return ".".join(
        str(step + 1)
        if isinstance(step, int)
        else step
        if step.replace("-", "_").isidentifier() and len(step) <= 40
        else shown(step)
        for step in where
    )


def printable(text: str) -> str:
    """Return ``text`` safe for a terminal: what does not print is replaced, one for one."""
    if text.isprintable():
        return text
    return "".join(
        " " if c == "\t" else c if c.isprintable() or unicodedata.category(c) == "Zs" else "\ufffd"
        for c in text
    )


def _excerpt(text: str, start: int, end: int, at: int) -> tuple[str | None, int]:
    """Return the part about character ``at`` of the line from ``start`` to ``end`` of ``text``.

    And the columns before that character: characters of a terminal's two columns count as two
    (Unicode TR11), combining ones as none.
    """
    first = start if at - start < EXCERPT_COLUMNS else at - EXCERPT_COLUMNS // 2
    last = min(first + EXCERPT_COLUMNS, end)
    before, after = text[first : min(at, end)], text[at:last]
    head = "…" if first > start else ""
    tail = "…" if last < end else ""
    shown_before = head + printable(before)
    excerpt = shown_before + printable(after) + tail
    caret = sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in shown_before
    )
    return excerpt or None, caret


class _Text:
    """A text and its lines, counted as editors do."""

    def __init__(self, text: str, source: str) -> None:
        self.text = text
        self.source = printable(source)
        self._starts = [0, *(found.end() for found in _BREAK.finditer(text))]
        self._end = len(text.rstrip())
        self._line_ends: dict[int, int] = {}

    def problem(self, index: int, where: Where, message: str, hint: str | None = None) -> Problem:
        """Return a problem at character ``index``, at most just behind the last one in sight."""
        index = min(index, self._end)
        row = bisect_right(self._starts, index) - 1
        start = self._starts[row]
        column = index - start + 1
        excerpt, caret = _excerpt(self.text, start, self._line_end(row), index)
        where_text = dotted(where)
        return Problem(self.source, row + 1, column, where_text, message, excerpt, caret, hint)

    def line(self, index: int) -> int:
        """Return the number, from 1, of the line that character ``index`` stands on."""
        return bisect_right(self._starts, index)

    def _line_end(self, row: int) -> int:
        """Return where the line ``row`` ends, without the space behind it.

        A line is looked at once: a long one may have thousands of problems.
        """
        if row not in self._line_ends:
            following = self._starts[row + 1 : row + 2]
            line = self.text[self._starts[row] : following[0] if following else None]
            self._line_ends[row] = self._starts[row] + len(line.rstrip())
        return self._line_ends[row]


class Located(Protocol):
    """A value, and where each of its parts stands, as a ``Document`` has them."""

    @property
    def value(self) -> Value:
        """What is said."""

    def problem(
        self, where: Where, message: str, hint: str | None = None, at_key: bool = False
    ) -> Problem:
        """Return a problem of the value at ``where``, or of its key."""

    def line(self, where: Where) -> int:
        """Return the number of the line, from 1, where the value at ``where`` begins."""


@dataclass(frozen=True)
class Document:
    """What a YAML text says, and where it says it. Its values are shared: do not change them."""

    value: Value
    _text: _Text = field(repr=False)
    _root: yaml.Node = field(repr=False)
    _pairs: "dict[int, dict[str, _Pair]]" = field(default_factory=dict, repr=False, compare=False)

    @property
    def source(self) -> str:
        """The name of the file, as problems print it."""
        return self._text.source

    def problem(
        self, where: Where, message: str, hint: str | None = None, at_key: bool = False
    ) -> Problem:
        """Return a problem of the value at ``where``, or of its key.

        A ``where`` that the text does not have is located at the innermost value around it.
        """
        return self._text.problem(self._find(where, at_key).start_mark.index, where, message, hint)

    def line(self, where: Where) -> int:
        """Return the number of the line, from 1, where the value at ``where`` begins."""
        return self._text.line(self._find(where, False).start_mark.index)

    def _find(self, where: Where, at_key: bool) -> yaml.Node:
        node = found = self._root
        for step in where:
            if isinstance(node, yaml.SequenceNode) and isinstance(step, int):
                if not 0 <= step < len(node.value):
                    return node
                found = node = node.value[step]
            elif isinstance(node, yaml.MappingNode):
                pair = self._pairs_of(node).get(str(step))
                if pair is None:
                    return node
                found, node = pair
            else:
                return node
        return found if at_key else node

    def _pairs_of(self, node: yaml.MappingNode) -> "dict[str, _Pair]":
        """Return the pairs of a mapping by key, gathered once: each of them may have a problem."""
        if id(node) not in self._pairs:
            self._pairs[id(node)] = {pair[0].value: pair for pair in node.value}
        return self._pairs[id(node)]


def load_yaml(path: Path) -> Document:
    """Return what the YAML file at ``path`` says.

    Raises:
        InputError: there is no such file, it cannot be read, or :func:`parse_yaml` refuses it.
    """
    return parse_yaml(read_yaml(path), str(path))


def read_yaml(path: Path) -> bytes:
    """Return the bytes of the YAML file at ``path``, no more of it than is refused as too large.

    Raises:
        InputError: there is no such file, or it cannot be read.
    """
    try:
        if path.is_fifo():  # it would be waited on for ever
            raise InputError([Problem(printable(str(path)), None, None, "", NO_FILE)])
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise InputError([_unread(path, error)]) from None


def _unread(path: Path, error: OSError | ValueError) -> Problem:
    code = error.errno if isinstance(error, OSError) else None
    message = {
        errno.ENOENT: "there is no such file",
        errno.ENOTDIR: "there is no such file",
        errno.EISDIR: "this is a folder, not a file",
        errno.EACCES: "this file may not be read: its permissions forbid it",
        errno.ENAMETOOLONG: "this name is too long for a file",
        None: "no file can have this name",
    }.get(code)
    if message is None:
        message = f"this file cannot be read: {getattr(error, 'strerror', None) or error}"
    return Problem(printable(str(path)), None, None, "", message)


def parse_yaml(data: str | bytes, source: str) -> Document:
    """Return what the YAML text ``data`` says; bytes are read as UTF-8. ``source`` names it.

    Raises:
        InputError: ``data`` is not one well-formed document within the limits of this module.
    """
    text = _Text(_decoded(data, source), source)
    if found := _UNPRINTABLE.search(text.text):
        message = f"the character U+{ord(found[0]):04X} cannot stand in a YAML text"
        raise InputError(
            [text.problem(found.start(), (), message, "is this a text file, saved as UTF-8?")]
        )
    loader = _Loader(text.text)
    try:
        root = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        raise InputError([_syntax_problem(text, error)]) from None
    except (ValueError, OverflowError):  # an escape or a version number out of all range
        raise InputError(
            [text.problem(loader.get_mark().index, (), "this number is far too large")]
        ) from None
    finally:
        loader.dispose()
    if root is None:
        raise InputError([text.problem(0, (), "the file is empty, or has nothing but comments")])
    values = _Values(text, loader.tagged)
    value = values.read(root, ()).value
    if values.problems:
        raise InputError(values.problems)
    return Document(value, text, root)


def _decoded(data: str | bytes, source: str) -> str:
    if len(data) > MAX_BYTES:
        message = f"the file is larger than {MAX_BYTES >> 10} KiB, which no hand-written one is"
        raise InputError([Problem(printable(source), None, None, "", message)])
    if isinstance(data, str):
        return data.removeprefix("\ufeff")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # Where the byte-order mark was taken off, the error counts from behind it.
        text = _Text(error.object.decode(errors="replace"), source)
        index = len(error.object[: error.start].decode())
        message = f"the byte 0x{error.object[error.start]:02X} here is not UTF-8"
        hint = "save the file as UTF-8 in your editor"
        raise InputError([text.problem(index, (), message, hint)]) from None


class _Refused(yaml.MarkedYAMLError):
    """A limit of ours passed while the nodes are composed; its texts are our own."""


class _Loader(yaml.SafeLoader):
    """Composes nodes; never constructs anything."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.tagged: dict[int, str] = {}
        self._depth = 0
        self._nodes = 0

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        event = self.peek_event()  # type: ignore[no-untyped-call]  # the stubs leave it bare
        self._nodes += 1
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise _Refused(None, None, f"more than {MAX_DEPTH} levels deep", event.start_mark)
        if self._nodes > 2 * MAX_VALUES:
            raise _Refused(None, None, f"more than {MAX_VALUES:,} values", event.start_mark)
        node = super().compose_node(parent, index)
        self._depth -= 1
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.tagged[id(node)] = tag
        return node

    def resolve(self, kind: type[yaml.Node], value: str, implicit: tuple[bool, bool]) -> str:
        if kind is not yaml.ScalarNode:
            return "collection"
        if not implicit[0]:
            return "text"
        if value in ("", "~", "null"):
            return "null"
        if value in ("true", "false"):
            return "truth"
        if _WHOLE.fullmatch(value):
            return "whole"
        if _DECIMAL.fullmatch(value):
            return "decimal"
        return "not finite" if _NOT_FINITE.fullmatch(value) else "text"


@dataclass(frozen=True)
class _Read:
    """The value of a node, how many values that is, and how many levels."""

    value: Value
    size: int = 1
    height: int = 1


class _Values:
    """Turns nodes into values, each node once however many aliases name it."""

    def __init__(self, text: _Text, tagged: dict[int, str]) -> None:
        self.problems: list[Problem] = []
        self._text = text
        self._tagged = tagged
        self._done: dict[int, _Read] = {}
        self._open: set[int] = set()

    def read(self, node: yaml.Node, where: tuple[str | int, ...]) -> _Read:
        if id(node) in self._done:
            return self._done[id(node)]
        if id(node) in self._open:
            self._refuse(node, where, "this value contains itself")
            return _Read(None)
        if id(node) in self._tagged:
            tag = shown(self._tagged[id(node)].replace("tag:yaml.org,2002:", "!!"))
            self._refuse(node, where, f"tags are not used here (got {tag})", "take the tag off")
        self._open.add(id(node))
        if isinstance(node, yaml.ScalarNode):
            read = _Read(self._scalar(node, where))
        else:
            read = self._collection(node, where)
        self._open.remove(id(node))
        self._done[id(node)] = read
        return read

    def _collection(self, node: yaml.Node, where: tuple[str | int, ...]) -> _Read:
        size = height = 1
        listed: list[Value] = []
        mapped: dict[str, Value] = {}
        for key, child in self._children(node, where):
            read = self.read(child, (*where, key))
            if size + read.size > MAX_VALUES:
                message = f"more than {MAX_VALUES:,} values, aliases written out"
                self._refuse(child, (*where, key), message)
                raise InputError(self.problems)  # or each further alias would say so again
            if len(where) + 1 + read.height > MAX_DEPTH:
                message = f"more than {MAX_DEPTH} levels deep, aliases written out"
                self._refuse(child, (*where, key), message)
                read = _Read(None)
            size += read.size
            height = max(height, read.height + 1)
            if isinstance(key, str):
                mapped[key] = read.value
            else:
                listed.append(read.value)
        value: Value = mapped if isinstance(node, yaml.MappingNode) else listed
        return _Read(value, size, height)

    def _children(
        self, node: yaml.Node, where: tuple[str | int, ...]
    ) -> Iterator[tuple[str | int, yaml.Node]]:
        if isinstance(node, yaml.SequenceNode):
            yield from enumerate(node.value)
            return
        first: dict[str, yaml.Node] = {}
        for key, child in node.value:
            if not isinstance(key, yaml.ScalarNode):
                message = "a key must be plain text, not a list or a mapping"
                hint = "put text that begins with { or [ in quotes"
                self._refuse(key, where, message, hint)
                continue
            self.read(key, where)  # for the problems of the key itself
            if key.value in first:
                line = self._text.line(first[key.value].start_mark.index)
                message = f"this key is already given in line {line}"
                self._refuse(key, (*where, key.value), message, "keep one of the two")
                continue
            first[key.value] = key
            yield key.value, child

    def _scalar(self, node: yaml.ScalarNode, where: tuple[str | int, ...]) -> Value:
        text: str = node.value
        match node.tag:
            case "truth":
                return text == "true"
            case "whole" if len(text) <= MAX_DIGITS:
                return int(text)
            case "decimal" if math.isfinite(number := float(text)):
                return number
            case "whole" | "decimal" | "not finite":
                self._refuse(node, where, f"must be a finite number (got {shown(text)[1:-1]})")
                return None
        if not node.style and (cut := _CUT_OFF.match(self._text.text, node.end_mark.index)):
            message = "text after # is a comment, so it is not part of this value"
            hint = "put the whole value in quotes, or put a space after # for a comment"
            self._refuse(cut.end(), where, message, hint)
        if any("\ud800" <= c <= "\udfff" for c in text):
            self._refuse(node, where, "an escape here names half a character (a surrogate)")
            return None
        return None if node.tag == "null" else text

    def _refuse(
        self, at: yaml.Node | int, where: Where, message: str, hint: str | None = None
    ) -> None:
        if len(self.problems) == MAX_PROBLEMS:
            told = f"there are more mistakes than these {MAX_PROBLEMS}"
            raise InputError([*self.problems, Problem(self._text.source, None, None, "", told)])
        index = at if isinstance(at, int) else at.start_mark.index
        self.problems.append(self._text.problem(index, where, message, hint))


class _Saying(NamedTuple):
    """What the parser says, and what we say instead."""

    parser: str
    message: str
    hint: str | None = None
    at_start: bool = False
    """Where it began tells more than where the parser gave up."""


_SAYINGS = (
    _Saying(
        "while scanning a quoted scalar: found unexpected",
        "the quote opened here is never closed",
        "end the text with the mark that it begins with",
        at_start=True,
    ),
    _Saying("'\\t' that cannot start any token", "a tab stands where only spaces can"),
    _Saying(
        "cannot start any token",
        "no value can begin with this character",
        "put text that begins with it in quotes",
    ),
    _Saying(
        "mapping values are not allowed",
        "a colon stands where no key can be",
        "put text that contains ': ' in quotes, and check the indentation",
    ),
    _Saying("could not find expected ':'", "this key has no ': ' after it", at_start=True),
    _Saying("expected ',' or ']'", "the [ opened here has no ], or a comma is missing", None, True),
    _Saying("expected ',' or '}'", "the { opened here has no }, or a comma is missing", None, True),
    _Saying(
        "expected <block end>",
        "this does not fit in with the lines above it",
        "begin the keys of one mapping exactly under each other",
    ),
    _Saying(
        "sequence entries are not allowed", "a list cannot begin here", "use a line of its own"
    ),
    _Saying(
        "undefined alias",
        "no anchor of this name stands above",
        "put text that begins with * in quotes",
    ),
    _Saying("duplicate anchor", "this anchor is already used above"),
    _Saying("found another document", "a second document begins here", "one file holds only one"),
    _Saying("<document start>", "the document has ended above, yet this follows"),
    _Saying("incompatible YAML document", "the YAML version must be 1.2", "take the line out"),
    _Saying("unknown escape character", "no escape is written like this", "write \\\\ for a \\"),
    _Saying("expected the node content", "a value is missing here"),
)


def _syntax_problem(text: _Text, error: yaml.MarkedYAMLError) -> Problem:
    mark = error.problem_mark or error.context_mark
    if isinstance(error, _Refused):
        return text.problem(mark.index if mark else 0, (), f"the document has {error.problem}")
    said = f"{error.context}: {error.problem}"
    other = _Saying("", f"this is not YAML: {printable(said)}")
    saying = next((saying for saying in _SAYINGS if saying.parser in said), other)
    if saying.at_start:
        mark = error.context_mark or mark
    index = mark.index if mark else 0
    tabbed = _TABBED.search(text.text[:index].rpartition("\n")[2] + text.text[index : index + 1])
    hint = "there is a tab in this line: use spaces" if tabbed else saying.hint
    return text.problem(index, (), saying.message, hint)


def yaml_text(text: str) -> str:
    """Return a text in double quotes; what does not print is escaped (YAML 1.2.2, 5.7)."""
    return "".join(
        c if c == " " or c.isprintable() else f"\\U{ord(c):08X}"
        for c in json.dumps(text, ensure_ascii=False)
    )
