"""Every product opens, without a word, in readers that other people wrote."""

import io
import logging
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pypdf
import pypdfium2 as pdfium
import pytest

from cardgen.cards.words import Words
from cardgen.drawing.alignpage import align_scenes
from cardgen.drawing.theme import FORMATS, ID_1
from cardgen.handouts import leave_handout, lessons, poster, worksheet
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.press import Document, Job, intake_pdf, log_pdf
from cardgen.sheets.papers import A3, A4, LETTER
from cardgen.sheets.stock import find_stock
from cardgen.templating.loading import load_template
from cardgen.writers.document import DocumentInfo

POPPLER = ("pdftoppm", "pdfinfo", "pdffonts")
LEAVE = Leave.parse("3-10")
XLINK = "{http://www.w3.org/1999/xlink}href"


def sheets(job: Job) -> Iterator[tuple[str, Document]]:
    """Yield the cards of a job in each way that they come on to paper."""
    stock = find_stock("a4-10-business")
    for name, fmt, layout in (
        ("two-sided", ID_1, Layout(A4)),
        ("by-hand", ID_1, Layout(LETTER, "by-hand")),
        ("fold-over", ID_1, Layout(A4, "fold-over")),
        ("single", ID_1, Layout(A4, "single")),
        ("cut-stack", ID_1, Layout(A4, order="cut-stack", copies=2)),
        ("ring", ID_1, Layout(A4, ring=True)),
        ("stock", FORMATS["business-eu"], Layout(stock.paper, "stock", stock, start_at=3)),
    ):
        for number, document in enumerate(job.cards(fmt, layout)):
            yield f"cards {name} {number}", document


def pages(job: Job) -> Iterator[tuple[str, Document]]:
    """Yield everything else that is made of a profile."""
    yield "booklet", job.booklet()
    yield "saddle", job.booklet(binding="saddle")
    yield "pocket", job.pocket()
    yield "practice", job.practice_sheets(A4)


def bound(job: Job) -> Iterator[tuple[str, Document]]:
    """Yield the handouts as documents."""
    for name, made in (
        ("handout", leave_handout(job, LEAVE, A4)),
        ("worksheet", worksheet(job, Leave.of(10), LETTER)),
        ("lessons", lessons(job, A4)),
        ("poster", poster(job, A3)),
    ):
        yield name, Document("", made.scenes, made.info)


@pytest.fixture(scope="module")
def documents(demos: dict[str, Job], words: Words) -> dict[str, Document]:
    """Every kind of document; each bowler, design and ink with some of them."""
    right, left = demos["ilse-marchetti"], demos["wren-skobernik"]
    made = dict((*pages(right), *bound(right), *sheets(left)))
    made["left booklet"], made["left pocket"] = left.booklet(), left.pocket()
    friendly = replace(left, template=load_template("friendly"), mono=True)
    (made["friendly cards"],) = friendly.cards(ID_1, Layout(A4))
    made["friendly pocket"] = friendly.pocket()
    scenes = align_scenes(words, A4.width_mm, A4.height_mm, "long-edge")
    made["align"] = Document("", tuple(scenes), DocumentInfo("Test page", language="en"))
    return made


@pytest.fixture(scope="module")
def pdfs(
    documents: dict[str, Document],
    demos: dict[str, Job],
    words: Words,
    tmp_path_factory: pytest.TempPathFactory,
) -> dict[str, Path]:
    """Each document's PDF, and those of the forms, as files."""
    folder: Path = tmp_path_factory.mktemp("products")
    made = {name: document.pdf() for name, document in documents.items()}
    made["log"] = log_pdf(words, A4)
    made["intake"] = intake_pdf(words, A4)
    made["intake answered"] = intake_pdf(words, LETTER, demos["wren-skobernik"].loaded)
    paths = {}
    for name, data in made.items():
        paths[name] = folder / f"{name.replace(' ', '-')}.pdf"
        paths[name].write_bytes(data)
    return paths


def quiet(*command: str | Path) -> str:
    """Run a reader and return what it tells; it must have nothing to complain about."""
    run = subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, check=False, timeout=60
    )
    assert (run.returncode, run.stderr) == (0, ""), command
    return run.stdout


def needs(*binaries: str) -> None:
    missing = [name for name in binaries if shutil.which(name) is None]
    if missing:
        pytest.skip(f"not installed here: {', '.join(missing)}")


def test_nothing_is_left_out(pdfs: Mapping[str, Path]) -> None:
    assert len(pdfs) > 22
    for path in pdfs.values():
        assert path.stat().st_size > 2000


def test_poppler_draws_every_page(pdfs: Mapping[str, Path], tmp_path: Path) -> None:
    needs(*POPPLER)
    for name, path in pdfs.items():
        quiet("pdftoppm", "-r", "20", "-gray", path, tmp_path / "page")
        rows = (row.partition(":") for row in quiet("pdfinfo", path).splitlines())
        told = {key.strip(): value.strip() for key, _, value in rows}
        drawn = sorted(tmp_path.glob("page*.pgm"))
        assert len(drawn) == int(told["Pages"]) > 0, name
        assert all(len(set(page.read_bytes()[20:])) > 5 for page in drawn), name
        assert told["Title"], name
        assert told["Producer"].startswith("cardgen "), name
        assert told["Encrypted"] == "no", name
        assert told["JavaScript"] == "no", name
        for page in drawn:
            page.unlink()


def test_every_font_is_embedded(pdfs: Mapping[str, Path]) -> None:
    needs(*POPPLER)
    for name, path in pdfs.items():
        heads, rule, *rows = quiet("pdffonts", path).splitlines()
        columns = [slice(*match.span()) for match in re.finditer(r"-+", rule)]
        at = {heads[column].strip(): column for column in columns}
        assert rows, name
        for row in rows:
            assert row[at["emb"]].strip() == "yes", (name, row)
            assert row[at["sub"]].strip() == "yes", (name, row)
            assert row[at["uni"]].strip() == "yes", (name, row)


def test_qpdf_finds_nothing_wrong(pdfs: Mapping[str, Path]) -> None:
    needs("qpdf")
    for path in pdfs.values():
        assert "No syntax or stream encoding errors found" in quiet("qpdf", "--check", path)


def test_pypdf_reads_every_page_strictly(
    pdfs: Mapping[str, Path], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, logger="pypdf")
    for name, path in pdfs.items():
        reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()), strict=True)
        for page in reader.pages:
            content = page.get_contents()
            assert content is not None, name
            assert content.operations, name
    assert caplog.records == []


def test_pdfium_opens_every_page(pdfs: Mapping[str, Path]) -> None:
    for name, path in pdfs.items():
        with pdfium.PdfDocument(path) as document:
            document.init_forms()
            for number in range(len(document)):
                picture = document[number].render(scale=0.25).to_numpy()
                assert picture.min() < picture.max(), name


def svgs(documents: Mapping[str, Document]) -> Iterator[tuple[str, str]]:
    """Yield one page of each kind of document, and two of the booklet: a face and its back."""
    for name, document in documents.items():
        if name.startswith("left"):
            continue
        kept = document.scenes[:1] if "booklet" not in name else document.scenes[5:7]
        for number, svg in enumerate(replace(document, scenes=kept).svg()):
            yield f"{name} {number}", svg


def test_every_drawing_is_xml_that_needs_nothing_from_elsewhere(
    documents: Mapping[str, Document],
) -> None:
    titles = set()
    for name, svg in svgs(documents):
        root = ET.fromstring(svg)
        ids = [element.get("id") for element in root.iter() if element.get("id")]
        assert len(ids) == len(set(ids)), name
        title, description = root.get("aria-labelledby", "").split()
        said = {element.get("id"): element.text or "" for element in root[:2]}
        assert said[title], name
        assert len(said[description]) > 40, name
        titles.add(said[title])
        for element in root.iter():
            assert element.tag.partition("}")[2] not in ("script", "foreignObject", "a"), name
            for key, value in element.attrib.items():
                if key in ("href", XLINK):
                    assert value.startswith(("#", "data:image/png;base64,")), name
                assert not key.startswith("on"), name
                assert_local(value)
            assert_local(element.text or "")
    assert len(titles) > 12


def assert_local(text: str) -> None:
    """No style or paint points outside the file."""
    assert "@import" not in text
    for target in re.findall(r"url\(\s*['\"]?([^)]{0,40})", text):
        assert target.startswith(("#", "data:font/ttf;base64,"))


@pytest.mark.parametrize(
    "broken",
    [
        lambda data: data.replace(b"endstream", b"endstrean", 1),
        lambda data: data[: len(data) // 2],
        lambda data: data.replace(b"/FontFile2", b"/FontFile9"),
    ],
    ids=["stream without an end", "half a file", "font not embedded"],
)
def test_readers_would_notice(
    broken: Callable[[bytes], bytes], pdfs: Mapping[str, Path], tmp_path: Path
) -> None:
    needs(*POPPLER, "qpdf")
    path = tmp_path / "broken.pdf"
    path.write_bytes(broken(pdfs["pocket"].read_bytes()))
    one = {"broken": path}
    noticed = 0
    for check in (test_qpdf_finds_nothing_wrong, test_every_font_is_embedded):
        try:
            check(one)
        except AssertionError:
            noticed += 1
    assert noticed
