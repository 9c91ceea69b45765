"""Finished files, read back by two libraries that had no part in writing them."""

import base64
import math
import os
import re
import subprocess
import sys
from collections import Counter
from ctypes import byref, c_float, c_int, c_uint
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import uniform_filter

from cardgen.cards.card import board_text, card_of
from cardgen.cards.words import load_words
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.theme import A7, FORMATS, ID_1
from cardgen.lane.rack import Leave
from cardgen.layouts import Layout
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.sheets.papers import A4, LETTER, PAPERS
from cardgen.targeting.line import Line
from cardgen.targeting.sections import Section, section_of
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

ROOT = Path(__file__).resolve().parents[2]
SIZES = ("id1", "a7")  # the other formats are laid out by the same rules, tested where they are
DEMOS = {"ilse-marchetti": "Ilse Marchetti", "wren-skobernik": "Wren Škobernik"}
MM_PT = 72 / 25.4  # ISO 32000-1, 8.3.2.3: a point is 1/72 inch
CLOSE_MM = 0.05
ARROWS_FT = {5: 12.5, 10: 13.5, 15: 14.5, 20: 15.5, 25: 14.5, 30: 13.5, 35: 12.5}
NAVY = (0x1B, 0x3A, 0x75)


@pytest.fixture(scope="module")
def jobs() -> dict[str, Job]:
    words = load_words("en")
    return {name: job_of(open_profile(find_profile(name)).loaded, words) for name in DEMOS}


@pytest.fixture(scope="module")
def booklets(jobs: dict[str, Job]) -> dict[str, bytes]:
    return {name: job.booklet().pdf() for name, job in jobs.items()}


@pytest.fixture(scope="module")
def sheets(jobs: dict[str, Job]) -> dict[tuple[str, str, str], bytes]:
    return {
        (name, size, paper): job.cards(FORMATS[size], Layout(PAPERS[paper]))[0].pdf()
        for name, job in jobs.items()
        for size in SIZES
        for paper in PAPERS
    }


def sizes_mm(data: bytes) -> set[tuple[float, float]]:
    pages = pypdf.PdfReader(BytesIO(data)).pages
    return {
        (round(float(p.mediabox.width) / MM_PT, 2), round(float(p.mediabox.height) / MM_PT, 2))
        for p in pages
    }


def test_a_booklet_has_a7_pages(booklets: dict[str, bytes]) -> None:
    # ISO 216: A7 is 74 mm x 105 mm
    for data in booklets.values():
        assert sizes_mm(data) == {(74.0, 105.0)}


def test_a_booklet_has_two_pages_for_each_card(
    jobs: dict[str, Job], booklets: dict[str, bytes]
) -> None:
    for name, job in jobs.items():
        texts = [p.extract_text() for p in pypdf.PdfReader(BytesIO(booklets[name])).pages]
        fronts = [n for n, text in enumerate(texts) if "Boards from " in text and "STAND" in text]
        backs = [n for n, text in enumerate(texts) if f"hand, {job.chart.bowler.name}" in text]
        assert len(fronts) == len(job.chart.lines)
        assert backs == [n + 1 for n in fronts]
        # Pages count from one, and even ones lie on the left.
        assert {(n + 1) % 2 for n in fronts} == {0}
        assert all("Stay behind the foul line. Stop" in texts[n] for n in backs)
        # The strike line comes first, and nothing opens it; a page for notes lies before it.
        assert fronts[0] == 5


def test_sheets_have_the_size_of_their_paper(
    jobs: dict[str, Job], sheets: dict[tuple[str, str, str], bytes]
) -> None:
    # ISO 216: A4 is 210 mm x 297 mm; ANSI/ASME Y14.1: size A is 8.5 in x 11 in
    for (name, size, paper), data in sheets.items():
        assert sizes_mm(data) == {(210.0, 297.0) if paper == "a4" else (215.9, 279.4)}
        # ID-1 goes on A4 two by five lying, on Letter three by three upright; A7 two by two.
        capacity = {("id1", "a4"): 10, ("id1", "letter"): 9}.get((size, paper), 4)
        cards_and_key = len(jobs[name].chart.lines) + 1
        leaves_of_paper = math.ceil(cards_and_key / capacity)
        assert len(pypdf.PdfReader(BytesIO(data)).pages) == 2 * leaves_of_paper


def test_every_font_is_embedded(
    booklets: dict[str, bytes], sheets: dict[tuple[str, str, str], bytes]
) -> None:
    for data in (*booklets.values(), *sheets.values()):
        for page in pypdf.PdfReader(BytesIO(data)).pages:
            fonts: Any = page["/Resources"]["/Font"]  # type: ignore[index]  # a page has them
            assert len(fonts) > 0
            for reference in fonts.values():
                font = reference.get_object()
                assert font["/Subtype"] == "/TrueType"
                assert "FiraSansCondensed" in font["/BaseFont"]
                program = font["/FontDescriptor"]["/FontFile2"].get_data()
                assert program[:4] == b"\x00\x01\x00\x00"  # OpenType: a TrueType font begins so


SECTIONS = {
    "singles": "Single pins",
    "sleepers": "Sleepers",
    "clusters": "Clusters",
    "splits": "Splits worth a try",
    "washouts": "Washouts",
    "count": "Take the count",
}


def outline(data: bytes) -> list[tuple[str, int]]:
    """Return a file's outline: each title and the page, from nought, that it leads to."""
    reader = pypdf.PdfReader(BytesIO(data))
    entries: Any = reader.outline
    numbers = [reader.get_destination_page_number(entry) for entry in entries]
    assert all(number is not None for number in numbers)
    return [(e.title, int(n)) for e, n in zip(entries, numbers, strict=True) if n is not None]


def pages_of_cards(job: Job, data: bytes) -> list[tuple[Line, int]]:
    """Return each line and the page of its front."""
    pages = dict(outline(data))
    cards = [(line, card_of(line, job.chart, job.words)) for line in job.chart.lines]
    return [(line, pages[card.name]) for line, card in cards]


def test_the_outline_leads_to_every_part(jobs: dict[str, Job], booklets: dict[str, bytes]) -> None:
    for name, job in jobs.items():
        entries = outline(booklets[name])
        expected = []
        strike = ["When it misses the pocket", "Spares by the feet"]
        for section, lines in groupby(job.chart.lines, section_of):
            names = [card_of(line, job.chart, job.words).name for line in lines]
            if section is Section.STRIKE:
                expected += [*names, *strike]
            else:
                expected += [SECTIONS[section.value], *names]
        before = [
            *("Spare lines", "The lines to remember"),
            *("How to read a card", "Before you use it"),
        ]
        after = ["All lines", "What this rests on", "Throw next", "Practice tally", "Take care"]
        assert [title for title, _ in entries] == [*before, *expected, *after]
        assert [number for _, number in entries[:4]] == [0, 1, 2, 3]
        texts = [p.extract_text() for p in pypdf.PdfReader(BytesIO(booklets[name])).pages]
        for (title, number), (_, following) in pairwise(entries):
            # A long leave is broken after a dash.
            assert title in texts[number].replace("-\n", "-").splitlines()
            if title in expected:
                # Fronts are left-hand pages: one for notes may come before.
                pages = 1 + number % 2 if title in SECTIONS.values() else 2
                if title in strike:
                    pages = 1
                assert following == number + pages
        assert entries[-1][1] == len(texts) - 1


@pytest.mark.parametrize("name", DEMOS)
def test_a_file_says_what_it_is_and_not_when(
    name: str, booklets: dict[str, bytes], sheets: dict[tuple[str, str, str], bytes]
) -> None:
    for title, data in (
        (f"Spare lines for {DEMOS[name]}", booklets[name]),
        (f"Spare cards for {DEMOS[name]}", sheets[name, "id1", "a4"]),
    ):
        reader = pypdf.PdfReader(BytesIO(data))
        said: Any = reader.metadata
        assert said.title == title
        assert said.subject == "Where to stand and where to look for each leave"
        assert said.producer.startswith("cardgen ")
        assert said.creation_date.year == 2000  # one date for all, so that the bytes stay
        assert reader.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]  # a catalogue
    text = pypdf.PdfReader(BytesIO(booklets[name])).pages[0].extract_text()
    assert "Made" not in text
    assert not re.search(r"\b20\d\d\b", text)


def test_a_date_is_printed_when_asked(jobs: dict[str, Job]) -> None:
    data = jobs["ilse-marchetti"].booklet(date="25 November 2026").pdf()
    first, *rest = pypdf.PdfReader(BytesIO(data)).pages
    assert "Made 25 November 2026" in first.extract_text()
    assert not any("2026" in page.extract_text() for page in rest)


@pytest.mark.parametrize("name", DEMOS)
def test_a_card_page_says_the_call(
    name: str, jobs: dict[str, Job], booklets: dict[str, bytes]
) -> None:
    with pdfium.PdfDocument(booklets[name]) as document:
        for line, page in pages_of_cards(jobs[name], booklets[name]):
            face, back = (
                document[page + side].get_textpage().get_text_range().splitlines()
                for side in (0, 1)
            )
            stand, target = board_text(line.stand), board_text(line.target)
            assert face[face.index("STAND") + 1] == stand
            assert face[face.index("TARGET") + 1] == target
            assert any(
                f"stand {stand} · target {target}" in text.replace("\u00a0", " ") for text in back
            )


@dataclass(frozen=True)
class Outline:
    """A path of a page: its corners from the page's lower left corner [mm], stroke [pt], fill."""

    points: tuple[tuple[float, float], ...]
    width_pt: float
    fill: tuple[int, ...] | None


def paths_of(page: Any) -> list[Outline]:
    """Return the page's paths of straight pieces, as PDFium reads them."""
    found = []
    for item in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH]):
        raw = item.raw
        matrix = item.get_matrix()
        points = []
        for index in range(pdfium_c.FPDFPath_CountSegments(raw)):
            x, y = c_float(), c_float()
            segment = pdfium_c.FPDFPath_GetPathSegment(raw, index)
            assert pdfium_c.FPDFPathSegment_GetPoint(segment, byref(x), byref(y))
            px, py = matrix.on_point(x.value, y.value)
            form = item.container  # what many pages show alike is drawn in a form of its own
            while form is not None:
                px, py = form.get_matrix().on_point(px, py)
                form = form.container
            points.append((px / MM_PT, py / MM_PT))
        width = c_float()
        pdfium_c.FPDFPageObj_GetStrokeWidth(raw, byref(width))
        fill_mode, strokes = c_int(), c_int()
        pdfium_c.FPDFPath_GetDrawMode(raw, byref(fill_mode), byref(strokes))
        rgba = [c_uint() for _ in range(4)]
        pdfium_c.FPDFPageObj_GetFillColor(raw, *map(byref, rgba))
        fill = tuple(v.value for v in rgba[:3]) if fill_mode.value else None
        found.append(Outline(tuple(points), width.value, fill))
    return found


@pytest.mark.parametrize("name", DEMOS)
def test_the_target_lies_on_its_board_in_the_file(
    name: str, jobs: dict[str, Job], booklets: dict[str, bytes]
) -> None:
    # Lane 41 1/2 in wide, 39 boards (USBC equipment specifications), measured on the page.
    with pdfium.PdfDocument(booklets[name]) as document:
        for line, page in pages_of_cards(jobs[name], booklets[name]):
            paths = paths_of(document[page])
            two = [p for p in paths if len(p.points) == 2]
            edges = [
                p.points[0][0]
                for p in two
                if p.points[0][0] == p.points[1][0]
                and abs(p.width_pt - 0.5) < 1e-3
                and abs(p.points[0][1] - p.points[1][1]) > 20
            ]
            left, right = min(edges), max(edges)
            (foul,) = (p.points[0][1] for p in two if abs(p.width_pt - 1.2) < 1e-3)
            level = [p for p in two if p.points[0][1] == p.points[1][1]]
            # The marks at 15, 30 and 45 ft come in pairs, one on each edge; the oil's end does not.
            pairs = Counter(
                round(p.points[0][1], 3) for p in level if abs(p.width_pt - 0.35) < 1e-3
            )
            marks = {height for height, count in pairs.items() if count > 1}
            assert len(marks) == 3
            per_ft = (max(marks) - foul) / 45
            (target,) = (
                p
                for p in paths
                if p.fill == NAVY
                and len({(round(x, 3), round(y, 3)) for x, y in p.points}) in (3, 4)
                and max(y for _, y in p.points) - min(y for _, y in p.points) > 2.5
            )
            x, y = max(target.points, key=lambda point: point[1])
            across = (line.target - 0.5) / 39 * (right - left)
            expected = right - across if name == "ilse-marchetti" else left + across
            assert x == pytest.approx(expected, abs=CLOSE_MM)
            low = min(5 * int(line.target // 5), 30)
            share = (line.target - low) / 5
            feet = ARROWS_FT[low] * (1 - share) + ARROWS_FT[low + 5] * share
            assert y - foul == pytest.approx(feet * per_ft, abs=CLOSE_MM)


DPI = 254  # ten pixels to the millimetre, so that an A7 page has whole pixels


@pytest.mark.parametrize("back", [False, True], ids=["front", "back"])
@pytest.mark.parametrize("leave", ["7", "5-7"])
@pytest.mark.parametrize("name", DEMOS)
def test_svg_and_pdf_show_the_same_card(
    name: str, leave: str, back: bool, jobs: dict[str, Job], tmp_path: Path
) -> None:
    job = job_of(jobs[name].loaded, jobs[name].words, [Leave.parse(leave)])
    (line,) = job.chart.lines
    svg = job.card_svg(line, A7, back=back)
    card = card_of(line, job.chart, job.words)
    scene = back_scene(card, A7) if back else face_scene(card, A7)
    one, other = through_svg(svg, tmp_path), through_pdf(pdf_bytes([scene], DocumentInfo("x")))
    assert differing_px(one, other) < 300
    # It would notice a line that is a millimetre aside.
    assert differing_px(np.roll(one, 10, axis=1), other) > 3000


def through_pdf(data: bytes) -> NDArray[np.float64]:
    with pdfium.PdfDocument(data) as document:
        width, height = document[0].get_size()
        # The page is a thousandth of a point off whole pixels, and would be stretched to the next.
        scale = min(round(width * DPI / 72) / width, round(height * DPI / 72) / height)
        image: Any = document[0].render(scale=scale * (1 - 1e-9)).to_pil().convert("RGB")
        return np.asarray(image, dtype=np.float64)


def through_svg(text: str, folder: Path) -> NDArray[np.float64]:
    """Rasterise with the fonts that the file itself carries and with no other."""
    files = []
    for number, data in enumerate(re.findall(r"data:font/ttf;base64,([^)]+)\)", text)):
        path = folder / f"{number}.ttf"
        path.write_bytes(base64.b64decode(data))
        files.append(str(path))
    png = resvg_py.svg_to_bytes(
        svg_string=text, font_files=files, skip_system_fonts=True, dpi=DPI, background="#ffffff"
    )
    with Image.open(BytesIO(bytes(png))) as image:
        return np.asarray(image.convert("RGB"), dtype=np.float64)


def differing_px(one: NDArray[np.float64], other: NDArray[np.float64]) -> int:
    """Return how many pixels differ after a blur that forgives the renderers' edges."""
    assert one.shape == other.shape
    blurred = [uniform_filter(picture, size=(7, 7, 1)) for picture in (one, other)]
    return int((np.abs(blurred[0] - blurred[1]).max(axis=2) > 25).sum())


def make(out: Path, cwd: Path, **environment: str) -> dict[str, bytes]:
    subprocess.run(
        [
            *(sys.executable, "-m", "cardgen", "make", *DEMOS),
            *("--as", "booklet", "--as", "cards", "--out", str(out)),
        ],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        check=True,
        capture_output=True,
    )
    return {path.name: path.read_bytes() for path in out.iterdir()}


def test_the_same_input_gives_the_same_bytes_anywhere(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    one = make(tmp_path / "a", ROOT, PYTHONHASHSEED="1", TZ="Pacific/Auckland", LC_ALL="C.UTF-8")
    other = make(
        tmp_path / "b",
        elsewhere,
        PYTHONHASHSEED="4242",
        TZ="America/St_Johns",
        LC_ALL="C",
        SOURCE_DATE_EPOCH="86400",
        COLUMNS="40",
    )
    assert sorted(one) == sorted(other)
    assert len(one) == 4
    assert [name for name in one if one[name] != other[name]] == []
    assert list(elsewhere.iterdir()) == []


def places_of(text: Any, name: str) -> list[tuple[int, int]]:
    """Return index and length of each place where ``name`` is not part of a longer leave."""
    search = text.search(name, match_case=True)
    whole = []
    for index, count in iter(search.get_next, None):
        end = index + count
        before = text.get_text_range(index - 1, 1) if index else ""
        after = text.get_text_range(end, 1) if end < text.count_chars() else ""
        if not re.match(r"[-\d]", before) and not re.match(r"[-\d]", after):
            whole.append((index, count))
    return whole


def titles(page: Any, names: list[str]) -> dict[str, tuple[float, float]]:
    """Return the middle of each card's name on a sheet, from the upper left corner [mm]."""
    text = page.get_textpage()
    found = {}
    for name in names:
        # A long leave is broken after a dash: look for as much of it as stands on a line.
        dashes = [n for n, character in enumerate(name) if character == "-"]
        starts = [name, *(name[: n + 1] for n in reversed(dashes))]
        places = next(filter(None, (places_of(text, start) for start in starts)))
        # A name may be part of a sentence: the heading has the largest type.
        index, count = max(
            places, key=lambda place: pdfium_c.FPDFText_GetFontSize(text.raw, place[0])
        )
        boxes = [text.get_charbox(i) for i in (index, index + count - 1)]
        x = (min(b[0] for b in boxes) + max(b[2] for b in boxes)) / 2
        y = (min(b[1] for b in boxes) + max(b[3] for b in boxes)) / 2
        found[name] = (x / MM_PT, page.get_height() / MM_PT - y / MM_PT)
    return found


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("paper", PAPERS)
def test_every_back_lies_behind_its_front(
    size: str,
    paper: str,
    jobs: dict[str, Job],
    sheets: dict[tuple[str, str, str], bytes],
) -> None:
    # Flipped on the long edge, the back is the front in a mirror about the sheet's middle.
    fmt, sheet = FORMATS[size], PAPERS[paper]
    job = jobs["ilse-marchetti"]
    names = [card_of(line, job.chart, job.words).name for line in job.chart.lines]
    wide, high = sorted((fmt.width_mm, fmt.height_mm))
    fits = {}
    for w, h in ((wide, high), (high, wide)):
        fits[w, h] = int((sheet.width_mm - 10) // w), int((sheet.height_mm - 10) // h)
    (w, h), (across, down) = max(fits.items(), key=lambda fit: fit[1][0] * fit[1][1])
    capacity = across * down
    left, top = (sheet.width_mm - across * w) / 2, (sheet.height_mm - down * h) / 2
    with pdfium.PdfDocument(sheets["ilse-marchetti", size, paper]) as document:
        for first in range(0, len(names), capacity):
            group = names[first : first + capacity]
            number = 2 * (first // capacity)
            front, back = titles(document[number], group), titles(document[number + 1], group)
            for index, name in enumerate(group):
                row, column = divmod(index, across)
                for (x, y), where in ((front[name], column), (back[name], across - 1 - column)):
                    assert (int((x - left) // w), int((y - top) // h)) == (where, row), name


def test_the_sizes_of_cards_and_papers() -> None:
    # ISO/IEC 7810: ID-1 is 85.60 mm x 53.98 mm
    assert (ID_1.width_mm, ID_1.height_mm) == (53.98, 85.60)
    assert (A7.width_mm, A7.height_mm) == (74, 105)
    assert (A4.width_mm, A4.height_mm) == (210, 297)
    assert (LETTER.width_mm, LETTER.height_mm) == pytest.approx((215.9, 279.4))


def test_sheets_ask_to_be_printed_at_their_size_and_flipped_on_the_long_edge(
    booklets: dict[str, bytes], sheets: dict[tuple[str, str, str], bytes]
) -> None:
    # ISO 32000-1, table 150: viewer preferences
    cards: Any = pypdf.PdfReader(BytesIO(sheets["ilse-marchetti", "id1", "a4"])).trailer["/Root"]
    booklet: Any = pypdf.PdfReader(BytesIO(booklets["ilse-marchetti"])).trailer["/Root"]
    assert cards["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert cards["/ViewerPreferences"]["/Duplex"] == "/DuplexFlipLongEdge"
    assert booklet["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert "/Duplex" not in booklet["/ViewerPreferences"]
