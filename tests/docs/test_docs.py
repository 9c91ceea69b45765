"""What the documents say is so: commands run as told, options, links, fields and files exist."""

import _thread
import doctest
import io
import re
import runpy
import shlex
import shutil
import threading
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
import pypdf
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

import cardgen
import cardgen.api
from cardgen import press
from cardgen.chartcache import key_of
from cardgen.cli import cli, main
from cardgen.drawing.theme import FORMATS
from cardgen.lane.rack import Leave
from cardgen.profile.bowler import Bowler
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import Chart, chart_for
from cardgen.yamlsource import parse_yaml

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "cardgen" / "docs"
GUIDES = (ROOT / "README.md", *sorted(DOCS.glob("*.md")), ROOT / "templates" / "README.md")
"""For users: commands in them are run."""
DOCUMENTS = (*GUIDES, ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md")

_BLOCK = re.compile(r"^```(\w*)(?: +([^\n]*))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_SPAN = re.compile(r"`([^`\n]+(?:\n[^`\n]+)?)`")
_LINK = re.compile(r"\]\(([^)\s]+)\)")
_EXITS = re.compile(r"#\s*exits (\d)\s*$")
_SET_UP = ("python3 -m venv ", ".venv/bin/pip ", "source ", "pip ", "git ")
_PROGRAM = ("cardgen", ".venv/bin/cardgen")


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, what else its first line says, and its text."""

    language: str
    info: str
    text: str

    @property
    def lines(self) -> list[str]:
        """The commands of a shell block, one a line."""
        joined = self.text.replace("\\\n", " ")
        return [line.strip() for line in joined.splitlines() if line.strip()]


def blocks_of(path: Path) -> list[Block]:
    return [Block(*found) for found in _BLOCK.findall(path.read_text(encoding="utf-8"))]


def prose_of(path: Path) -> str:
    return _BLOCK.sub("", path.read_text(encoding="utf-8"))


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def calls_of(path: Path) -> Iterator[list[str]]:
    """Yield the words of every call of the program: in blocks, and in the text."""
    for block in blocks_of(path):
        if block.language == "sh":
            yield from (shlex.split(line, comments=True) for line in block.lines)
    for span in _SPAN.findall(prose_of(path)):
        if span.startswith("cardgen "):
            yield span.split()


def command_called(name: str) -> click.Command | None:
    assert isinstance(cli, click.Group)
    return cli.get_command(click.Context(cli), name)


def commands() -> list[str]:
    assert isinstance(cli, click.Group)
    return cli.list_commands(click.Context(cli))


def options_of(command: click.Command) -> set[str]:
    given = {option for each in command.params for option in (*each.opts, *each.secondary_opts)}
    return given | {"-h", "--help"}


# --- Commands do what is told


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache of charts for all documents: what one has worked out, none does again."""
    folder: Path = tmp_path_factory.mktemp("cache")
    return folder


@pytest.fixture(scope="module")
def charts() -> dict[object, Chart]:
    """Charts by what they are of, for all documents."""
    return {}


@pytest.fixture
def once(charts: dict[object, Chart], monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a bowler's chart, and what follows from it, worked out once and no more."""
    answers: dict[int, Answers] = {}

    def chart(bowler: Bowler, leaves: Iterable[Leave] | None = None) -> Chart:
        asked = None if leaves is None else tuple(leaves)
        key = (bowler.name, key_of(bowler), asked)
        if key not in charts:
            charts[key] = chart_for(bowler, asked)
        return charts[key]

    monkeypatch.setattr(press, "chart_for", chart)
    monkeypatch.setattr(press, "Answers", lambda c: answers.setdefault(id(c), Answers(c)))


@pytest.mark.parametrize("path", GUIDES, ids=name_of)
@pytest.mark.usefixtures("once")
def test_every_command_of_a_guide_exits_as_told(
    path: Path,
    kept: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(kept))
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    for folder in ("profiles", "templates"):
        shutil.copytree(ROOT / folder, tmp_path / folder)
    for block in blocks_of(path):
        if block.language == "sh":
            for line in block.lines:
                if line.startswith(_SET_UP) or not (words := shlex.split(line, comments=True)):
                    continue
                told = _EXITS.search(line)
                prepare(words, monkeypatch)
                code = done(words, capsys)
                assert code == int(told[1] if told else 0), (line, capsys.readouterr().err)
        elif block.info:
            Path(block.info).write_text(block.text, encoding="utf-8")


def prepare(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Do what a person does beside typing this command: answer, fill in, look, own a font."""
    monkeypatch.setattr("sys.stdin", io.StringIO("\n" * 99))  # whoever is asked goes on by Enter
    for word in words:
        if word.endswith(".ttf"):
            make_font(Path(word), words[words.index("--words") + 1])
    if words[:2] == ["cardgen", "new"] and "--form" in words:
        fill_in(Path(words[words.index("--form") + 1]))
    monkeypatch.setattr(click, "launch", look)


def make_font(path: Path, language: str) -> None:
    """Make a font that has every character of a language's words, each an empty box."""
    pen = TTGlyphPen(None)
    for place in ((0, 0), (0, 700), (500, 700)):
        (pen.lineTo if place != (0, 0) else pen.moveTo)(place)
    pen.closePath()
    letters = sorted(set((ROOT / f"templates/words/{language}.yaml").read_text(encoding="utf-8")))
    font = FontBuilder(1000)
    font.setupGlyphOrder([".notdef", "box"])
    font.setupCharacterMap({ord(letter): "box" for letter in letters if letter.isprintable()})
    font.setupGlyf({".notdef": pen.glyph(), "box": pen.glyph()})
    font.setupHorizontalMetrics({".notdef": (600, 0), "box": (600, 0)})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": path.stem, "styleName": "Regular"})
    font.setupOS2(sTypoAscender=800, sTypoDescender=-200)
    font.setupPost()
    font.save(path)


def fill_in(form: Path) -> None:
    """Answer what an intake form must have answered."""
    filled = pypdf.PdfWriter(clone_from=form)
    filled.update_page_form_field_values(None, {"bowler": "Pip Larkwell", "hand": "right"})
    filled.write(form)


def look(address: str) -> int:
    """Look at the page of a preview as a browser does, and then press Ctrl-C."""

    def looked() -> None:
        try:
            with urllib.request.urlopen(address, timeout=60) as page:
                PAGES.append(page.read().decode())
        finally:
            _thread.interrupt_main()

    threading.Thread(target=looked).start()
    return 0


PAGES: list[str] = []
"""What was looked at."""


def done(words: list[str], capsys: pytest.CaptureFixture[str]) -> object:
    """Do one command of a guide in the working folder, and return its exit code."""
    program, *arguments = words
    if program == "cp":
        source, target = arguments
        shutil.copy(source, target)
        return 0
    assert program in _PROGRAM, f"guides call cardgen and cp, not {program}"
    into = None
    if ">" in arguments:
        at = arguments.index(">")
        arguments, (into,) = arguments[:at], arguments[at + 1 :]
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    if into is not None:
        Path(into).write_text(capsys.readouterr().out, encoding="utf-8")
    if arguments[0] == "preview":
        assert "<svg" in PAGES.pop()
    return ended.value.code


@pytest.mark.parametrize("path", DOCUMENTS, ids=name_of)
def test_every_command_and_option_in_a_document_exists(path: Path) -> None:
    for words in calls_of(path):
        if not words or words[0] not in _PROGRAM or len(words) < 2 or words[1].isupper():
            continue
        command = command_called(words[1])
        assert command is not None, words
        for word in words[2:]:
            if word.startswith("--"):
                assert word.partition("=")[0] in options_of(command), words
    known = set().union(*(options_of(c) for name in commands() if (c := command_called(name))))
    for span in _SPAN.findall(prose_of(path)):
        if span.startswith("--"):
            assert span.split()[0].partition("=")[0] in {*known, "--version"}, span


def test_every_command_has_a_place_in_the_guides() -> None:
    told = {words[1] for path in GUIDES for words in calls_of(path) if len(words) > 1}
    assert set(commands()) <= told


def test_the_readme_names_every_command() -> None:
    told = {words[1] for words in calls_of(ROOT / "README.md") if len(words) > 1}
    assert set(commands()) <= told


def test_the_readme_has_two_commands_that_set_it_up() -> None:
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("python3 -m venv ") for line in lines) == 2


# --- What is shown is so


@pytest.mark.parametrize("path", GUIDES, ids=name_of)
def test_a_piece_of_a_profile_that_is_shown_is_one(path: Path) -> None:
    for block in blocks_of(path):
        if block.language == "yaml" and not block.info:
            said = parse_yaml(block.text, name_of(path)).value
            assert isinstance(said, dict)
            cardgen.load_profile({"bowler": "Anybody", "hand": "right", **said})


def test_the_profile_reference_is_what_the_schema_says() -> None:
    made = runpy.run_path(str(Path(__file__).with_name("profile_reference.py")))
    again = "run python tests/docs/profile_reference.py"
    assert (DOCS / "profile.md").read_text(encoding="utf-8") == made["reference"](), again


def test_the_python_guide_answers_as_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    failed, tried = doctest.testfile(str(DOCS / "python.md"), module_relative=False)
    assert tried
    assert not failed


@pytest.mark.parametrize("module", [cardgen, cardgen.api], ids=lambda module: module.__name__)
def test_the_examples_in_docstrings_answer_as_they_say(module: Any) -> None:
    failed, tried = doctest.testmod(module)
    assert tried
    assert not failed


# --- Everything that is linked is there


def slugs_of(path: Path) -> set[str]:
    """Return the anchors of a document's headings, as forges make them."""
    headings = re.findall(r"^#+ +(.*)$", prose_of(path), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("path", DOCUMENTS, ids=name_of)
def test_every_link_leads_somewhere(path: Path) -> None:
    for target in _LINK.findall(prose_of(path)):
        if re.match(r"[a-z]+:", target):
            continue
        file, _, anchor = target.partition("#")
        linked = path if not file else path.parent / file
        assert linked.exists(), target
        if anchor:
            assert anchor in slugs_of(linked), target


def test_every_guide_is_linked_from_the_readme() -> None:
    linked = {
        (ROOT / target.partition("#")[0]).resolve()
        for target in _LINK.findall(prose_of(ROOT / "README.md"))
    }
    assert {path.resolve() for path in GUIDES[1:]} <= linked


def test_the_gallery_shows_every_product_and_format() -> None:
    gallery = (DOCS / "gallery.md").read_text(encoding="utf-8")
    make = command_called("make")
    assert make is not None
    (products,) = (each.type for each in make.params if each.name == "products")
    assert isinstance(products, click.Choice)
    for product in products.choices:
        assert f"--as {product}" in gallery
    for fmt in FORMATS:
        assert f"`{fmt}`" in gallery
    assert {f"gallery/{path.name}" for path in (DOCS / "gallery").iterdir()} <= set(
        _LINK.findall(gallery)
    )


# --- The harness itself


def test_a_command_that_ends_otherwise_than_told_is_noticed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert done(["cardgen", "check", "missing.yaml"], capsys) == 2
    assert done(["cardgen", "chart", "nobody"], capsys) == 2
    assert done(["cardgen", "schema", ">", "schema.json"], capsys) == 0
    assert (tmp_path / "schema.json").read_text(encoding="utf-8").startswith("{")


@pytest.fixture
def document(tmp_path: Path) -> Callable[[str], Path]:
    """Return a function that writes a document."""

    def written(text: str) -> Path:
        path = tmp_path / "document.md"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_blocks_and_calls_are_found(document: Callable[[str], Path]) -> None:
    path = document(
        "See `cardgen chart ana.yaml --json` and `--mono`.\n\n```sh\ncardgen preview x \\\n"
        "  --no-open  # a comment\n```\n\n```yaml ana.yaml\nhand: left\n```\n"
    )
    assert [(block.language, block.info) for block in blocks_of(path)] == [
        ("sh", ""),
        ("yaml", "ana.yaml"),
    ]
    assert list(calls_of(path)) == [
        ["cardgen", "preview", "x", "--no-open"],
        ["cardgen", "chart", "ana.yaml", "--json"],
    ]
