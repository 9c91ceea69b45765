"""The pictures of the gallery, made by the program: ``python tests/docs/gallery.py [FOLDER]``.

Cards are SVG as the program draws them; sheets are small PNGs of its PDF, in few colours. Run it
when a change alters what is printed, and look at what it made.
"""

import os
import shutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
from PIL import Image, ImageDraw

from cardgen.cli import main
from cardgen.drawing.theme import FORMATS

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "cardgen" / "docs" / "gallery"
DEMO = "ilse-marchetti"
LEFT = "wren-skobernik"

CARDS: dict[str, tuple[str, ...]] = {
    "card-front.svg": (DEMO, "10"),
    "card-back.svg": (DEMO, "10", "--back"),
    "card-strike.svg": (DEMO, "strike"),
    "card-left-handed.svg": (LEFT, "3-10"),
    "card-friendly.svg": (DEMO, "10", "--template", "friendly"),
}
"""What ``cardgen draw`` is asked for, by the picture's name."""

_CLINIC = ("clinic", "profiles/clinics/saturday.csv", "--as", "cards")
SHEETS: dict[str, tuple[tuple[str, ...], str, Sequence[int]]] = {
    "mono.png": (
        ("make", DEMO, "--as", "booklet", "--mono"),
        "-booklet.pdf",
        [5, 6],
    ),
    "pocket.png": (("make", DEMO), "-pocket.pdf", [0]),
    "cards.png": (("make", DEMO, "--as", "cards"), "-cards.pdf", [0, 1]),
    "fold-over.png": (
        ("make", DEMO, "--as", "cards", "--layout", "fold-over"),
        "-cards.pdf",
        [0],
    ),
    "ring.png": (("make", DEMO, "--as", "cards", "--ring"), "-cards.pdf", [0]),
    "booklet.png": (("make", DEMO, "--as", "booklet"), "-booklet.pdf", range(8)),
    "saddle.png": (
        ("make", DEMO, "--as", "booklet", "--binding", "saddle"),
        "-booklet.pdf",
        [0],
    ),
    "large-print.png": (
        ("make", DEMO, "--as", "booklet", "--large-print"),
        "-booklet.pdf",
        [7, 8],
    ),
    "practice.png": (("make", DEMO, "--as", "practice"), "-practice.pdf", [0]),
    "handout.png": (("make", DEMO, "--as", "handout"), "-handout.pdf", [1]),
    "worksheet.png": (("make", DEMO, "--as", "worksheet"), "-worksheet.pdf", [9]),
    "lessons.png": (("make", DEMO, "--as", "lessons"), "-lessons.pdf", [0, 1]),
    "poster.png": (("make", DEMO, "--as", "poster"), "-poster.pdf", [0]),
    "clinic-slip.png": (_CLINIC, "saturday-cards.pdf", [0]),
    "clinic-coach.png": (_CLINIC, "saturday-coach.pdf", [0]),
    "clinic-wall.png": (_CLINIC, "saturday-wall.pdf", [0]),
    "clinic-ways.png": (_CLINIC, "saturday-ways.pdf", [0]),
    "form.png": (("form", "out/form.pdf"), "form.pdf", [0]),
    "log.png": (("log", "--to", "out/log.pdf"), "log.pdf", [0]),
    "align.png": (("align", "--page", "--out", "out/align.pdf"), "align.pdf", [0]),
}
"""A call of the program, the end of the name of what it makes, and the pages to show."""

_WIDTH_PX = 460
_FORMATS_DPI = 48
_GAP_PX = 12
_COLOURS = 28
_PAPER = "#9a9a9a"


def call(*words: str) -> None:
    """Run the program in the working folder."""
    try:
        main(list(words))
    except SystemExit as ended:
        if ended.code not in (0, 1):
            raise RuntimeError(" ".join(words)) from ended


def make(folder: Path) -> None:
    """Make every picture in ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, words in CARDS.items():
        call("draw", *words, "--svg", str(folder / name), "--force")
    with TemporaryDirectory() as temporary, _standing_in(Path(temporary)):
        shutil.copytree(ROOT / "profiles", "profiles")
        done: set[tuple[str, ...]] = set()
        for name, (words, ending, pages) in SHEETS.items():
            if words not in done:
                shutil.rmtree("out", ignore_errors=True)
                Path("out").mkdir()
                call(*words)
                done.add(words)
            (path,) = (p for p in Path("out").iterdir() if p.name.endswith(ending))
            _save(_side_by_side(_pages(path, pages)), folder / name)
        _save(_formats(), folder / "formats.png")
        _phone(folder / "page.png")


@contextmanager
def _standing_in(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def _pages(path: Path, pages: Sequence[int]) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(path)
    found = [document[page] for page in pages]
    columns = min(len(found), 4)
    width_pt = sum(page.get_width() for page in found[:columns])
    scale = max(_WIDTH_PX * (1 if columns < 2 else 1.5), 160 * columns) / width_pt
    return [page.render(scale=scale).to_pil().convert("RGB") for page in found]


def _side_by_side(pictures: Sequence[Image.Image], columns: int = 4) -> Image.Image:
    """Return pictures in rows, on grey."""
    rows = [pictures[at : at + columns] for at in range(0, len(pictures), columns)]
    width = max(sum(p.width + _GAP_PX for p in row) for row in rows) + _GAP_PX
    heights = [max(p.height for p in row) + _GAP_PX for row in rows]
    whole = Image.new("RGB", (width, sum(heights) + _GAP_PX), _PAPER)
    y = _GAP_PX
    for row, height in zip(rows, heights, strict=True):
        x = _GAP_PX
        for picture in row:
            whole.paste(picture, (x, y))
            x += picture.width + _GAP_PX
        y += height
    return whole


def _phone(path: Path) -> None:
    """Show the page for a phone, upright and with a card turned over, in a browser."""
    from playwright.sync_api import sync_playwright

    call("make", DEMO, "--as", "page")
    (page_file,) = Path("out").glob("*.html")
    shown = []
    browser = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))))
    with sync_playwright() as started:
        running = started.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        page = running.new_page(viewport={"width": 360, "height": 640}, reduced_motion="reduce")
        page.goto(page_file.resolve().as_uri())
        shown.append(page.screenshot())
        page.keyboard.press("ArrowRight")
        shown.append(page.screenshot())
        page.keyboard.press("Enter")
        shown.append(page.screenshot())
        running.close()
    _save(_side_by_side([Image.open(BytesIO(data)).convert("RGB") for data in shown]), path)


def _formats() -> Image.Image:
    """Return the same card in every format, to one scale, with the formats' names."""
    drawn = []
    for name in sorted(FORMATS, key=lambda n: FORMATS[n].height_mm):
        call(
            "draw",
            DEMO,
            "10",
            "--size",
            name,
            "--png",
            "out/f.png",
            "--dpi",
            str(_FORMATS_DPI),
            "--force",
        )
        picture = Image.open(BytesIO(Path("out/f.png").read_bytes())).convert("RGB")
        told = Image.new("RGB", (max(picture.width, 120), picture.height + 14), _PAPER)
        told.paste(picture, (0, 14))
        ImageDraw.Draw(told).text((0, 0), name, fill="black")
        drawn.append(told)
    return _side_by_side(drawn, 5)


def _save(picture: Image.Image, path: Path) -> None:
    """Save in few colours: a gallery is small."""
    few = picture.quantize(_COLOURS, kmeans=4, dither=Image.Dither.NONE)
    few.save(path, optimize=True)


if __name__ == "__main__":
    make(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else FOLDER)
