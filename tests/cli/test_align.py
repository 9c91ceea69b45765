"""``cardgen align``: the test page, what was read off it, and what is told when it is wrong."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pytest

from cardgen.printers import Offset, load_printers, printers_file
from cardgen.units import POINT_MM

Run = Callable[..., Any]
Files = Callable[[], list[str]]


@pytest.fixture(autouse=True)
def settings(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep away from the user's own settings."""
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path_factory.mktemp("settings") / "cardgen"))


def reader(path: Path) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(path.read_bytes()), strict=True)


# ISO 216 and ANSI/ASME Y14.1
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize(
    ("flip", "duplex"), [("long", "/DuplexFlipLongEdge"), ("short", "/DuplexFlipShortEdge")]
)
def test_the_test_page_is_two_pages_of_the_paper_with_every_font_embedded(
    paper: str, flip: str, duplex: str, run: Run, tmp_path: Path
) -> None:
    made = run("align", "--page", "--paper", paper, "--flip", flip, "--out", "test.pdf")
    assert (made.code, made.out) == (0, "test.pdf\n")
    assert "actual size (100 %)" in made.err
    document = reader(tmp_path / "test.pdf")
    assert len(document.pages) == 2
    for page in document.pages:
        for box in (page.mediabox, page.trimbox):
            size = (float(box.width) * POINT_MM, float(box.height) * POINT_MM)
            assert size == pytest.approx(SIZES[paper], abs=0.001)
        fonts = page["/Resources"]["/Font"].values()  # type: ignore[index]  # a dictionary
        for font in (f.get_object() for f in fonts):
            assert "/FontFile2" in font["/FontDescriptor"].get_object()
    # ISO 32000-1, table 150: the viewer preferences.
    preferences = document.trailer["/Root"]["/ViewerPreferences"]  # type: ignore[index]  # the same
    assert (preferences["/Duplex"], preferences["/PrintScaling"]) == (duplex, "/None")


def test_the_same_page_has_the_same_bytes(run: Run, tmp_path: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        assert run("align", "--page", "--out", name).code == 0
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    # A4 and the long edge unless told otherwise.
    run("align", "--page", "--paper", "a4", "--flip", "long", "--out", "three.pdf")
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "three.pdf").read_bytes()


def test_what_was_read_is_kept_and_listed(run: Run) -> None:
    empty = run("align")
    assert (empty.code, empty.out) == (0, "")
    assert "cardgen align --page --out FILE.pdf" in empty.err
    kept = run("align", "Office laser", "--right", "0.3", "--up", "-0.25")
    assert kept.code == 0
    assert kept.err == f"{printers_file()}: written\n"
    assert kept.out == "Printer       --right   --up\nOffice laser      0.3  -0.25\n"
    assert load_printers() == {"Office laser": Offset(0.3, 0.25)}
    run("align", "copy shop", "--right", "-1", "--up", "0")
    assert run("align").out.splitlines() == [
        "Printer       --right   --up",
        "Office laser      0.3  -0.25",
        "copy shop          -1      0",
    ]
    assert run("align", "copy SHOP").out.splitlines()[1].split() == ["copy", "SHOP", "-1", "0"]


def test_a_page_for_a_printer_is_moved_and_says_so(run: Run, tmp_path: Path) -> None:
    run("align", "office", "--right", "2", "--up", "1")
    assert run("align", "office", "--page", "--out", "moved.pdf").code == 0
    assert run("align", "--page", "--out", "plain.pdf").code == 0
    moved, plain = (reader(tmp_path / name).pages for name in ("moved.pdf", "plain.pdf"))
    assert "moved as kept for office" in moved[0].extract_text().replace("\n", " ")
    assert "moved as kept" not in plain[0].extract_text()

    def note(page: pypdf.PageObject) -> tuple[float, float]:
        at: list[tuple[float, float]] = []

        def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
            if text.startswith("back of the test page"):
                x, y = tm[4], tm[5]
                at.append((cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]))

        page.extract_text(visitor_text=visit)
        return at[0]

    (x1, y1), (x0, y0) = note(moved[1]), note(plain[1])
    # Seen from the front 2 right and 1 up: from the back, left, so right on its page, and down.
    assert ((x1 - x0) * POINT_MM, (y1 - y0) * POINT_MM) == pytest.approx((2, -1), abs=0.001)


WRONG = {
    "no file": (["--page"], "--page needs --out, the file to write the test page to"),
    "both": (
        ["office", "--page", "--out", "x.pdf", "--right", "1", "--up", "1"],
        "either write the test page with --page, or keep --right and --up",
    ),
    "one number": (
        ["office", "--right", "1"],
        "give both --right and --up, 0 for the one that is not off",
    ),
    "no printer": (
        ["--right", "1", "--up", "0"],
        "name the printer whose offset is to be kept, such as office",
    ),
    "no page": (["--out", "x.pdf"], "--out is for the test page; give --page as well"),
    "paper without a page": (
        ["office", "--right", "1", "--up", "0", "--paper", "a4"],
        "--paper is for the test page; give --page as well",
    ),
    "too far": (
        ["office", "--right", "10.5", "--up", "0"],
        "an offset is a number from -10 to 10, not 10.5 mm",
    ),
    "not a number": (
        ["office", "--right", "nan", "--up", "0"],
        "an offset is a number from -10 to 10, not nan mm",
    ),
    "unknown": (["office"], "no offset is kept of a printer called 'office', nor of any other"),
    "unknown for the page": (
        ["office", "--page", "--out", "x.pdf"],
        "no offset is kept of a printer called 'office', nor of any other",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_call_is_one_sentence_and_leaves_nothing(case: str, run: Run, files: Files) -> None:
    args, message = WRONG[case]
    told = run("align", *args)
    assert (told.code, told.out, told.err) == (2, "", f"{message}\n")
    assert files() == []
    assert not printers_file().exists()


def test_what_click_refuses(run: Run) -> None:
    for args in (
        ("office", "--right", "x", "--up", "0"),
        ("--page", "--paper", "a5", "--out", "x"),
        ("--page", "--flip", "both", "--out", "x"),
        ("a", "b"),
    ):
        told = run("align", *args)
        assert (told.code, told.out) == (2, "")


def test_a_damaged_file_of_printers_is_told_and_left(run: Run) -> None:
    run("align", "office", "--right", "1", "--up", "0")
    damaged = printers_file().read_bytes() + b'["b"]\ndx_mm = "far"\ndy_mm = 0\n'
    printers_file().write_bytes(damaged)
    for args in ((), ("office",), ("office", "--right", "2", "--up", "0")):
        told = run("align", *args)
        assert (told.code, told.out) == (2, "")
        assert told.err.startswith(f"{printers_file()}:")
        assert told.err.endswith(" b.dx_mm: must be a number from -10 to 10\n")
        assert len(told.err.splitlines()) == 1
    assert printers_file().read_bytes() == damaged


def test_a_file_that_is_not_ours_is_not_buried(run: Run, tmp_path: Path) -> None:
    (tmp_path / "test.pdf").write_text("mine")
    told = run("align", "--page", "--out", "test.pdf")
    assert (told.code, told.out) == (2, "")
    assert (tmp_path / "test.pdf").read_text() == "mine"
    assert run("align", "--page", "--out", "test.pdf", "--force").code == 0
    assert run("align", "--page", "--out", "test.pdf").code == 0


def test_a_full_disk_is_an_output_error_and_what_was_kept_stands(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("align", "office", "--right", "1", "--up", "0")
    before = printers_file().read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cardgen.atomicfile.tempfile.mkstemp", full)
    told = run("align", "office", "--right", "2", "--up", "0")
    message = f"{printers_file()}: cannot be written: No space left on device\n"
    assert (told.code, told.out, told.err) == (3, "", message)
    assert printers_file().read_bytes() == before


def test_help_explains_the_signs(run: Run) -> None:
    said = " ".join(run("align", "--help").out.split())
    assert "to the right of the front; to the left with a minus" in said
    assert "above the front; below it with a minus" in said
