"""Documents put into one: the pages, in their order, and nothing else about them changes."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest

from cardgen.atomicfile import is_ours
from cardgen.drawing.scene import Line, Scene, Stroke, Text
from cardgen.writers.collation import Part, collated
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

INFO = DocumentInfo("Saturday", "Cards", language="de", duplex="long-edge")


def sheet(word: str) -> Scene:
    return Scene(80, 60, (Text(10, 30, word, 12.0), Line(5, 5, 75, 5, Stroke("#111111", 0.3))))


@pytest.fixture
def sources(tmp_path: Path) -> dict[str, Path]:
    made = {"a": ["eins", "zwei", "drei"], "b": ["vier", "fünf"]}
    paths = {}
    for name, words in made.items():
        paths[name] = tmp_path / f"{name}.pdf"
        paths[name].write_bytes(pdf_bytes([sheet(word) for word in words], INFO))
    return paths


def texts(data: bytes) -> list[str]:
    return [
        page.extract_text().strip() for page in pypdf.PdfReader(BytesIO(data), strict=True).pages
    ]


def picture(data: bytes, page: int) -> bytes:
    with pdfium.PdfDocument(data) as document:
        return bytes(document[page].render(scale=2).to_numpy().tobytes())


def test_pages_come_in_the_order_of_the_parts(sources: dict[str, Path]) -> None:
    parts = [Part("b", 1, 1), Part("a", 0, 2), Part("b", 0, 2), Part("a", 0, 2)]
    data = collated(sources, parts, INFO)
    assert texts(data) == ["fünf", "eins", "zwei", "vier", "fünf", "eins", "zwei"]


def test_a_page_looks_as_it_did(sources: dict[str, Path]) -> None:
    data = collated(sources, [Part("b", 0, 2)], INFO)
    for page in range(2):
        assert picture(data, page) == picture(sources["b"].read_bytes(), page)


def test_copies_are_kept_once(sources: dict[str, Path]) -> None:
    once = collated(sources, [Part("a", 0, 3)], INFO)
    many = collated(sources, [Part("a", 0, 3)] * 200, INFO)
    assert len(texts(many)) == 600
    assert (len(many) - len(once)) / 199 < len(once) / 4


def test_it_says_of_itself_what_it_is_told_and_prints_as_its_parts_did(
    sources: dict[str, Path], tmp_path: Path
) -> None:
    data = collated(sources, [Part("a", 0, 1, "Gruppe ü"), Part("b", 0, 2, "Other")], INFO)
    reader = pypdf.PdfReader(BytesIO(data), strict=True)
    said = reader.metadata
    assert said is not None
    assert (said.title, said.subject, said.author) == ("Saturday", "Cards", None)
    root: Any = reader.root_object
    assert root["/Lang"] == "de"
    wishes = root["/ViewerPreferences"]
    assert wishes["/PrintScaling"] == "/None"
    assert wishes["/Duplex"] == "/DuplexFlipLongEdge"
    entries: Any = reader.outline
    outline = [(entry.title, reader.get_destination_page_number(entry)) for entry in entries]
    assert outline == [("Gruppe ü", 0), ("Other", 1)]
    path = tmp_path / "made.pdf"
    path.write_bytes(data)
    assert is_ours(path)


def test_the_same_parts_give_the_same_bytes(sources: dict[str, Path]) -> None:
    parts = [Part("a", 0, 3, "All"), Part("b", 0, 2)]
    assert collated(sources, parts, INFO) == collated(sources, parts, INFO)


def test_nothing_is_no_document(sources: dict[str, Path]) -> None:
    with pytest.raises(ValueError, match="at least one page"):
        collated(sources, [Part("a", 0, 0)], INFO)
