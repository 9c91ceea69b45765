"""The words file and the code fit each other: nothing is missing, nothing is dead."""

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import pytest

import cardgen
from cardgen.cards import booklet, card, changes, drill, fewlines
from cardgen.cards.words import Words, load_words
from cardgen.drawing.alignpage import align_scenes
from cardgen.drawing.theme import ID_1
from cardgen.errors import InputError, UsageError
from cardgen.lane.rack import Leave, LeaveKind
from cardgen.layouts import Layout
from cardgen.press import Job, job_of, open_profile
from cardgen.printers import Flip
from cardgen.profile.loader import find_profile
from cardgen.profile.schema import Cover, Style
from cardgen.resources import data_folder, yaml_files
from cardgen.sheets.papers import A4
from cardgen.targeting.aim import Reason
from cardgen.targeting.feetmoves import HABITS
from cardgen.targeting.line import Hit, How
from cardgen.targeting.moves import Fault
from cardgen.targeting.sections import Section

PACKAGE = Path(cardgen.__file__).parent
FAMILIES = {
    "leaves": None,
    "kinds": {kind.value for kind in LeaveKind} | {"strike"},
    "covers": set(get_args(Cover)),
    "lanes": {path.stem for path in yaml_files(data_folder("templates") / "lanes")},
    "reasons": {reason.value for reason in Reason},
    # A strike line opens itself.
    "sections": {section.value for section in Section} - {"strike"},
    "section_intros": {section.value for section in Section} - {"strike"},
    "action": {hit.value for hit in Hit} | {f"by_{how.value}" for how in How} | {"pocket"},
}
"""Keys whose last part is a value of the program; which of them a chart meets depends on it."""

OWN_LINES = """\
bowler: Demo
hand: right
style: no-thumb
lane: house
balls: {spare: {cover: urethane, rotation_deg: 40}}
known_lines:
  - {leave: "3-10", stand: 31, target: 20}
  - {leave: "1-2-10", stand: 25, target: 20, ball: strike}
  - {leave: "2-8", stand: 21, target: 20}
  - {leave: "1-2-4", stand: 23, target: 20}
  - {leave: "4-7-8", stand: 20, target: 20}
"""
WILD = """\
bowler: Demo
hand: left
spread: {angle_deg: 0.05, laydown_boards: 0.1, speed_mph: 0.1, rev_percent: 1}
balls: {spare: {cover: reactive, rev_rpm: 500, rotation_deg: 80}}
lane: {slope_in: 0.02}
"""


class Recording(dict[str, str]):
    """A mapping that notes which keys were read."""

    def __init__(self, values: dict[str, str], read: set[str]) -> None:
        super().__init__(values)
        self._read = read

    def __getitem__(self, key: str) -> str:
        self._read.add(key)
        return super().__getitem__(key)

    def get(self, key: str, default: object = None) -> Any:
        if key in self:
            self._read.add(key)
        return super().get(key) if key in self else default


class RecordingLists(dict[str, tuple[str, ...]]):
    """The same for lists of texts."""

    def __init__(self, values: dict[str, tuple[str, ...]], read: set[str]) -> None:
        super().__init__(values)
        self._read = read

    def __getitem__(self, key: str) -> tuple[str, ...]:
        self._read.add(key)
        return super().__getitem__(key)


def print_everything(job: Job) -> None:
    job.booklet(date="25 November 2026").pdf()
    job.cards(ID_1, Layout(A4))[0].pdf()
    job.practice_sheets(A4).pdf()


@pytest.fixture(scope="module")
def read_keys(words: Words, job_from: Callable[..., Job], fitted: dict[str, Job]) -> set[str]:
    """The keys read while everything is printed for the demo bowlers and two of our own."""
    read: set[str] = set()
    recording = Words(
        words.source, Recording(dict(words.texts), read), RecordingLists(dict(words.lists), read)
    )
    for name in ("ilse-marchetti", "wren-skobernik"):
        print_everything(job_of(open_profile(find_profile(name)).loaded, recording))
    for text in (OWN_LINES, WILD):
        job = job_from(text, recording)
        print_everything(job)
    job.card_svg(job.chart.lines[0], ID_1)
    for flip in get_args(Flip):
        align_scenes(recording, A4.width_mm, A4.height_mm, flip)
    for job in fitted.values():
        print_everything(replace(job, words=recording))
    return read


def test_no_text_is_dead(words: Words, read_keys: set[str]) -> None:
    dead = set(words.texts) | set(words.lists)
    dead -= read_keys
    dead = {key for key in dead if key.partition(".")[0] not in FAMILIES}
    # Keys that only some charts need: written out in the code, and so not dead.
    dead -= set(literals())
    assert dead == set()


def test_texts_named_for_values_are_all_there_and_no_more(words: Words) -> None:
    for family, values in FAMILIES.items():
        there = {key.split(".", 1)[1] for key in words.texts if key.startswith(f"{family}.")}
        if values is None:
            continue
        assert there - values == ({"next", "next_ball"} if family == "reasons" else set())
        assert values <= there


def test_every_style_fault_and_habit_has_its_text(words: Words) -> None:
    needed = {f"cover.{style}" for style in get_args(Style)}
    needed |= {f"strike.faults.{fault.value}" for fault in Fault}
    needed |= {f"strike.habit_{boards}" for boards in HABITS}
    assert len(needed) >= 9
    assert needed - set(words.texts) == set()


def literals() -> Iterator[str]:
    """Yield each string of the package that is spelt like a key of words."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield node.value


def test_every_key_written_in_the_code_is_in_the_words(words: Words) -> None:
    keys = set(words.texts) | set(words.lists)
    sections = {key.partition(".")[0] for key in keys} - {"lane", "balls"}
    spelt = re.compile(rf"({'|'.join(sorted(sections))})\.[a-z_-]*[a-z]")
    written = {text for text in literals() if spelt.fullmatch(text)}
    assert len(written) > 50
    assert written - keys == set()


def test_leave_names_are_of_leaves(words: Words) -> None:
    names = [key.removeprefix("leaves.") for key in words.texts if key.startswith("leaves.")]
    leaves = [name for name in names if name != "other"]
    assert [str(Leave.parse(name)) for name in leaves] == leaves
    assert {str(n) for n in range(1, 11)} <= set(leaves)
    # A mirrored leave has the same name, but for those that name their pins or a single side.
    named_for_pins = {str(n) for n in range(1, 11)}
    for leave in set(leaves) - named_for_pins:
        mirrored = str(Leave.parse(leave).mirrored)
        assert words.texts.get(f"leaves.{mirrored}") == words.texts[f"leaves.{leave}"], leave


def test_a_leave_without_a_name_is_named_by_its_pins(words: Words) -> None:
    assert words.leave(Leave.of(4, 7, 9)) == "pins 4-7-9"
    assert words.leave_title(Leave.of(4, 7, 9)) == "Pins 4-7-9"
    assert words.leave(Leave.of(10)) == "10 pin"
    assert words.leave_title(Leave.of(1)) == "Head pin"


def test_a_missing_text_is_said_with_its_file_and_key() -> None:
    words = Words("shop.yaml", {"language": "en"}, {})
    with pytest.raises(InputError, match=r"^shop\.yaml: card\.stand: this text is missing$"):
        words("card.stand")
    with pytest.raises(InputError, match=r"^shop\.yaml: guide\.keys: this list of texts is miss"):
        words.all("guide.keys")


@pytest.mark.parametrize("text", ["{boards} over", "{", "}", "{0}", "{side.x}", "{side!x}"])
def test_braces_that_cannot_be_filled_are_said(text: str) -> None:
    words = Words("shop.yaml", {"a": text}, {"b": ("fine", text)})
    for use in (lambda: words("a", side="left"), lambda: words.all("b", side="left")):
        with pytest.raises(InputError) as caught:
            use()
        assert "cannot be filled in; it may use {side}" in str(caught.value)
        assert caught.value.exit_code == 2
    with pytest.raises(InputError, match="it may use no values"):
        words("a")


def test_braces_are_filled() -> None:
    words = Words("shop.yaml", {"a": "{n} over {n}, {{so}}"}, {"b": ("{n}", "-")})
    assert words("a", n=3) == "3 over 3, {so}"
    assert words.all("b", n="½") == ("½", "-")


@pytest.mark.parametrize("language", ["xx", "", "EN/", "en.yaml", "../../profiles/ilse-marchetti"])
def test_an_unknown_language_is_told_which_there_are(language: str) -> None:
    with pytest.raises(UsageError) as caught:
        load_words(language)
    listed = "de, en, es, fr, ja, ko"
    assert str(caught.value) == f"there are no words for {language!r}; there are {listed}"


def test_words_have_a_language_and_typographic_marks(words: Words) -> None:
    assert words.language == "en"
    texts = [*words.texts.values(), *(t for texts in words.lists.values() for t in texts)]
    assert not [t for t in texts if "..." in t or " - " in t or t != t.strip()]


def test_the_modules_that_print_have_no_words_of_their_own() -> None:
    # What a card says comes from the words file: the code joins, it does not speak.
    for module in (card, booklet, changes, drill, fewlines):
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        docs = {
            ast.get_docstring(node, clean=False)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        }
        spoken = [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and node.value not in docs
            and re.search(r"[a-z]{2,} [a-z]{2,}", node.value)
        ]
        variable_docs = [
            node.value.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        ]
        assert [text for text in spoken if text not in variable_docs] == []
