"""``cardgen make``: what it writes, where, and above all what it does not."""

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any, get_args

import pypdf
import pytest

from cardgen.profile.schema import Style

Run = Callable[..., Any]
Profile = Callable[[str, str], str]
Files = Callable[[], list[str]]
GOOD = "bowler: Good Bowler\nhand: right\n"
BAD = "bowler: Bad Bowler\nhand: middle\nstand:\n  walk: 3\n"
STYLES = {
    "one-handed": "one-handed",
    "two-handed": "two-handed",
    "no-thumb": "without the thumb",
}
SETTING = "Print at actual size (100 %), two-sided, flip on the long edge.\n"
FOLDED = (
    "Print at actual size (100 %), on one side.\n"
    "Slit with a knife on a mat, with no finger before the blade.\n"
)


def test_one_sheet_to_fold_goes_into_out(run: Run, profile: Profile, files: Files) -> None:
    name = profile("me.yaml", GOOD)
    made = run("make", name)
    assert (made.code, made.err) == (0, FOLDED)
    assert made.out == str(Path("out", "Good-Bowler-pocket.pdf")) + "\n"
    assert files() == ["me.yaml", "out/Good-Bowler-pocket.pdf"]


def test_cards_and_booklet_of_several_bowlers(run: Run, files: Files) -> None:
    made = run(
        *("make", "ilse-marchetti", "wren-skobernik.yaml", "--as", "cards", "--as", "booklet"),
        *("--as", "cards", "--paper", "letter", "--size", "a7", "--out", "a/b"),
    )
    assert made.code == 0
    assert made.out.splitlines() == [
        str(Path("a", "b", name))
        for name in (
            "Ilse-Marchetti-cards.pdf",
            "Ilse-Marchetti-booklet.pdf",
            "Wren-Škobernik-cards.pdf",
            "Wren-Škobernik-booklet.pdf",
        )
    ]
    assert made.err == SETTING + "Cut to 74 × 105\u00a0mm.\n"
    assert len(files()) == 4


def test_two_bowlers_of_one_name_get_two_files(run: Run, profile: Profile, files: Files) -> None:
    names = [profile("a.yaml", GOOD), profile("b.yaml", GOOD.replace("Good", "GOOD"))]
    made = run("make", *names)
    assert made.code == 0
    assert files()[2:] == ["out/GOOD-Bowler-2-pocket.pdf", "out/Good-Bowler-pocket.pdf"]


def test_one_bad_profile_and_nothing_is_written(run: Run, profile: Profile, files: Files) -> None:
    names = [profile("good.yaml", GOOD), profile("bad.yaml", BAD), profile("b2.yaml", "hand: left")]
    made = run("make", *names, "no-such")
    assert (made.code, made.out) == (2, "")
    for place in ("bad.yaml:2:7: hand: ", "bad.yaml:4:9: stand.walk: ", "b2.yaml:1:1: bowler: "):
        assert place in made.err
    assert "no-such: there is no such profile" in made.err
    assert "Traceback" not in made.err
    assert files() == ["b2.yaml", "bad.yaml", "good.yaml"]


def test_its_own_files_are_made_anew(run: Run, profile: Profile, tmp_path: Path) -> None:
    name = profile("me.yaml", GOOD)
    run("make", name)
    first = (tmp_path / "out/Good-Bowler-pocket.pdf").read_bytes()
    profile("me.yaml", GOOD + "stand: {distance_ft: 12}\n")
    made = run("make", name)
    assert made.code == 0
    assert (tmp_path / "out/Good-Bowler-pocket.pdf").read_bytes() != first


def test_a_foreign_file_stops_all_of_them(run: Run, tmp_path: Path, files: Files) -> None:
    foreign = tmp_path / "out/Wren-Škobernik-pocket.pdf"
    foreign.parent.mkdir()
    foreign.write_bytes(b"%PDF-1.4 somebody's thesis")
    made = run("make", "ilse-marchetti", "wren-skobernik")
    assert (made.code, made.out) == (2, "")
    assert "Wren-Škobernik-pocket.pdf: is there already and cardgen did not make it" in made.err
    assert "--force" in made.err
    assert foreign.read_bytes() == b"%PDF-1.4 somebody's thesis"
    assert files() == ["out/Wren-Škobernik-pocket.pdf"]
    forced = run("make", "ilse-marchetti", "wren-skobernik", "--force")
    assert forced.code == 0
    assert foreign.read_bytes().startswith(b"%PDF-1.7")
    assert len(files()) == 2


@pytest.mark.parametrize(
    ("out", "code", "said"),
    [("taken", 2, "taken"), ("taken/deeper", 3, "cannot be written")],
)
def test_a_folder_that_cannot_be(
    out: str, code: int, said: str, run: Run, tmp_path: Path, files: Files
) -> None:
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    made = run("make", "ilse-marchetti", "--out", out)
    assert (made.code, made.out) == (code, "")
    assert said in made.err
    assert "Traceback" not in made.err
    assert files() == ["taken"]


def test_a_folder_in_the_place_of_a_file(run: Run, tmp_path: Path, files: Files) -> None:
    (tmp_path / "out/Ilse-Marchetti-pocket.pdf").mkdir(parents=True)
    made = run("make", "wren-skobernik", "ilse-marchetti")
    assert (made.code, made.out) == (2, "")
    assert "is a folder; name a file to write" in made.err
    assert files() == []


@pytest.mark.parametrize(
    ("bowler", "stem"),
    [
        ("../../escaped", "escaped"),
        ("/etc/passwd", "etc-passwd"),
        ("..", "card"),
        ("C:\\Users\\x", "C-Users-x"),
        ("CON", "_CON"),
        ("nul.txt", "_nul.txt"),
        ("-rf *", "rf"),
        ("W" * 60, "W" * 60),
        ("Đurđa Ω Жук", "Đurđa-Ω-Жук"),
    ],
)
def test_no_name_leaves_the_folder(
    bowler: str, stem: str, run: Run, profile: Profile, files: Files
) -> None:
    name = profile("me.yaml", f"bowler: '{bowler}'\nhand: left\n")
    made = run("make", name, "--out", "here")
    assert made.code == 0
    assert files() == [f"here/{stem}-pocket.pdf", "me.yaml"]


def test_what_a_card_cannot_print_is_left_out_and_said(
    run: Run, profile: Profile, files: Files
) -> None:
    name = profile("me.yaml", 'hand: right\nbowler: "Zoë 🎳 Doe"\n')
    made = run("make", name)
    assert made.code == 0
    assert made.err.startswith(
        "me.yaml:2:9: bowler: printed as 'Zoë Doe': no card can show U+1F3B3 BOWLING"
    )
    assert files() == ["me.yaml", "out/Zoë-Doe-pocket.pdf"]


def test_a_name_of_nothing_printable_is_an_error(run: Run, profile: Profile, files: Files) -> None:
    name = profile("me.yaml", "hand: right\nbowler: 🎳🎳\n")
    made = run("make", name)
    assert (made.code, made.out) == (2, "")
    assert made.err.startswith("me.yaml:2:9: bowler: ")
    assert "U+1F3B3 BOWLING" in made.err
    assert files() == ["me.yaml"]


def test_a_name_cannot_turn_the_writing_around(run: Run, profile: Profile, files: Files) -> None:
    # Unicode TR36, bidirectional text spoofing: after U+202E text reads backwards
    name = profile("me.yaml", "hand: right\nbowler: Ada \u202efdp.evil\n")
    made = run("make", name)
    assert made.code == 0
    assert "U+202E RIGHT-TO-LEFT OVERRIDE" in made.err
    assert "\u202e" not in made.err + made.out
    assert files() == ["me.yaml", "out/Ada-fdp.evil-pocket.pdf"]


def test_a_doubtful_line_of_ones_own_is_made_and_said(run: Run, profile: Profile) -> None:
    name = profile("me.yaml", GOOD + 'known_lines: [{leave: "7", stand: 39, target: 39}]\n')
    made = run("make", name)
    assert made.code == 0
    assert made.err.startswith(
        "me.yaml: 7: your line from 39 over 39 misses by the numbers of this profile"
    )


@pytest.mark.parametrize(
    "args",
    [
        ("--as", "posters"),
        ("--paper", "a3"),
        ("--as", "cards", "--size", "big"),
        ("--words", "xx"),
        ("--nonsense",),
    ],
)
def test_options_that_do_not_exist(args: tuple[str, ...], run: Run, files: Files) -> None:
    made = run("make", "ilse-marchetti", *args)
    assert (made.code, made.out) == (2, "")
    assert args[-1] in made.err
    assert files() == []


def trims(path: Path) -> set[tuple[float, float]]:
    """Return the sizes of a document's pages in millimetres."""
    pages = pypdf.PdfReader(path).pages
    return {
        (
            round(float(p.mediabox.width) * 25.4 / 72, 2),
            round(float(p.mediabox.height) * 25.4 / 72, 2),
        )
        for p in pages
    }


def test_a_booklet_has_the_pages_that_are_asked_for(run: Run, tmp_path: Path) -> None:
    for args, size in (
        ((), (74, 105)),
        (("--size", "a6"), (105, 148)),
        (("--size", "mini-letter"), (69.85, 107.95)),
        (("--size", "a5", "--large-print"), (148, 210)),
        (("--large-print",), (105, 148)),
        (("--size", "80x120", "--mono"), (80, 120)),
    ):
        assert run("make", "ilse-marchetti", "--as", "booklet", *args).code == 0
        (found,) = trims(tmp_path / "out/Ilse-Marchetti-booklet.pdf")
        assert found == pytest.approx(size, abs=0.01), args


@pytest.mark.parametrize("size", ["id1", "a7-landscape", "a8", "60x200"])
def test_a_booklet_of_small_or_lying_pages_is_refused(size: str, run: Run, files: Files) -> None:
    made = run("make", "ilse-marchetti", "--as", "cards", "--as", "booklet", "--size", size)
    assert (made.code, made.out) == (2, "")
    assert f"{size!r}: a booklet has pages of a5, a6, a7, index, mini-letter" in made.err
    assert files() == []


def test_large_print_says_where_it_has_no_room(run: Run, files: Files) -> None:
    made = run("make", "ilse-marchetti", "--as", "cards", "--size", "a7", "--large-print")
    assert (made.code, made.out) == (2, "")
    assert made.err == "size 'a7': large print needs A6 or larger, 105 x 148 mm\n"
    assert files() == []


def test_cards_of_a_size_of_ones_own(run: Run, tmp_path: Path, files: Files) -> None:
    made = run("make", "wren-skobernik", "--as", "cards", "--size", "60x90", "--mono")
    assert (made.code, made.err) == (0, SETTING + "Cut to 60 × 90\u00a0mm.\n")
    (found,) = trims(tmp_path / "out/Wren-Škobernik-cards.pdf")
    assert sorted(found) == pytest.approx((210, 297), abs=0.01)
    refused = run("make", "wren-skobernik", "--as", "cards", "--size", "20x90")
    assert (refused.code, len(refused.err.splitlines())) == (2, 1)
    assert files() == ["out/Wren-Škobernik-cards.pdf"]


def test_mono_has_no_colour_in_any_product(run: Run, tmp_path: Path) -> None:
    products = ("booklet", "cards", "practice")
    asked = [word for product in products for word in ("--as", product)]
    assert run("make", "ilse-marchetti", *asked, "--mono").code == 0
    for product in products:
        pages: list[Any] = list(
            pypdf.PdfReader(tmp_path / f"out/Ilse-Marchetti-{product}.pdf").pages
        )
        streams = [page.get_contents().get_data() for page in pages]
        streams += [
            form.get_object().get_data()
            for page in pages
            for form in page["/Resources"].get("/XObject", {}).values()
        ]
        found = set(re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", b"\n".join(streams)))
        assert found, product
        assert all(red == green == blue for red, green, blue in found), product


def test_a_date_that_cannot_be_printed(run: Run, files: Files) -> None:
    made = run("make", "ilse-marchetti", "--date", "25 🎳 2026")
    assert (made.code, made.out) == (2, "")
    assert made.err.startswith("--date: the card font cannot print 🎳 (U+1F3B3 BOWLING)")
    assert files() == []


def test_make_needs_a_profile(run: Run) -> None:
    made = run("make")
    assert made.code == 2
    assert "PROFILE" in made.err


@pytest.mark.parametrize("style", get_args(Style))
def test_every_style_can_be_printed(style: str, run: Run, profile: Profile, tmp_path: Path) -> None:
    made = run("make", profile("me.yaml", GOOD + f"style: {style}\n"), "--as", "booklet")
    assert (made.code, made.err) == (0, "")
    data = (tmp_path / "out/Good-Bowler-booklet.pdf").read_bytes()
    cover = pypdf.PdfReader(BytesIO(data)).pages[0].extract_text()
    assert f"Right hand, {STYLES[style]}" in cover.splitlines()


def test_make_prints_a_strike_line_though_no_ball_comes_to_a_pin(
    run: Run, profile: Profile, files: Files
) -> None:
    far = "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n"
    own = "known_lines: [{leave: 1-2-3-4-5-6-7-8-9-10, stand: 34, target: 20, ball: strike}]\n"
    made = run("make", profile("far.yaml", GOOD + far + own))
    assert "Traceback" not in made.err
    assert "your line from 34 over 20 misses" in made.err
    assert "far.yaml: 10: no line; " in made.err
    assert "no line comes to any spare, so a booklet is made" in made.err
    assert files() == ["far.yaml", "out/Good-Bowler-booklet.pdf"]
    asked = run("make", "far.yaml", "--as", "pocket", "--out", "two")
    assert (asked.code, asked.out) == (1, "")
    assert "no line comes to any spare" in asked.err


def test_make_says_when_no_line_comes_to_a_leave(run: Run, profile: Profile) -> None:
    name = profile(
        "far.yaml",
        "bowler: Far\nhand: right\n"
        "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n",
    )
    made = run("make", name, "--as", "booklet", "--as", "cards")
    assert (made.code, made.out) == (1, "")
    assert len(made.err.splitlines()) == 10
    assert made.err.startswith("far.yaml: 1: no line; no stand and target within stand.boards")


def test_a_lane_without_approach_dots_is_drawn(run: Run, profile: Profile) -> None:
    name = profile("bare.yaml", "bowler: Bare\nhand: right\nlane: {approach_dots_ft: []}\n")
    assert run("make", name).code == 0


@pytest.mark.parametrize(
    ("options", "names", "pages", "said"),
    [
        (("pocket",), ["pocket"], [1], ""),
        (("pocket", "--paper", "letter"), ["pocket"], [1], ""),
        (
            ("cards", "--layout", "by-hand"),
            ["cards-fronts", "cards-backs"],
            [4, 4],
            "lay them back",
        ),
        (("cards", "--layout", "fold-over"), ["cards"], [7], "fold, and glue"),
        (("cards", "--layout", "single"), ["cards"], [64], "on one side"),
        (("cards", "--flip", "short", "--ring"), ["cards"], [8], "short edge"),
        (
            ("cards", "--stock", "a4-10-business", "--size", "business-eu"),
            ["cards"],
            [8],
            "long edge",
        ),
        (("lessons",), ["lessons"], [3], ""),
        (("worksheet",), ["worksheet"], [10], ""),
        (("handout", "--mono"), ["handout"], [31], ""),
        (("poster", "--poster-size", "a2"), ["poster"], [1], ""),
        (("cards", "--template", "friendly"), ["cards"], [8], "long edge"),
    ],
)
def test_every_product_and_layout_is_made(
    options: tuple[str, ...],
    names: list[str],
    pages: list[int],
    said: str,
    run: Run,
    tmp_path: Path,
) -> None:
    made = run("make", "ilse-marchetti", "--as", *options)
    assert made.code == 0
    paths = made.out.splitlines()
    assert [Path(path).stem for path in paths] == [f"Ilse-Marchetti-{name}" for name in names]
    assert [len(pypdf.PdfReader(tmp_path / path).pages) for path in paths] == pages
    assert said in made.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--start-at", "3"), "give --stock as well"),
        (("--stock", "nope"), "there is no stock called 'nope'"),
        (("--stock", "a4-10-business", "--layout", "single"), "leave --layout out"),
        (("--layout", "single", "--copies", "2"), "leave --copies out"),
        (("--layout", "fold-over", "--order", "cut-stack"), "cut in a pile"),
        (("--printer", "nobody"), "nobody"),
        (("--template", "freindly"), "friendly"),
        (("--film", "2"), "give --laminate as well"),
        (("--laminate", "--film", "9"), "'id1': film of 9 mm a side leaves 35.98 x 67.6 mm"),
        (("--laminate", "--size", "a8", "--film", "5"), "take a larger size or a narrower film"),
        (("--laminate", "--film", "0.5"), "0.5 is not in the range 1<=x<=10"),
        (("--bleed", "6"), "6.0 is not in the range 0<=x<=5"),
        (("--bleed", "3", "--stock", "a4-10-business"), "leave --bleed out"),
        (("--stock-file", "own.yaml"), "name one with --stock as well"),
        (("--stock-file", "own.yaml", "--stock", "mine"), "own.yaml"),
        (("--holes", "two"), "--holes needs --as handout or --as worksheet or --as lessons"),
        (("--binding", "saddle"), "--binding needs --as booklet"),
    ],
)
def test_what_does_not_go_together_is_said_and_nothing_made(
    options: tuple[str, ...],
    said: str,
    run: Run,
    files: Callable[[], list[str]],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "settings"))
    made = run("make", "ilse-marchetti", "--as", "cards", *options)
    assert (made.code, made.out) == (2, "")
    assert said in made.err
    assert files() == []


@pytest.mark.parametrize(
    ("option", "needed"),
    [
        (("--size", "a6"), "--size needs --as cards or --as booklet or --as page"),
        (("--large-print",), "--large-print needs --as cards or --as booklet or --as page"),
        (("--laminate",), "--laminate needs --as cards"),
        (("--ring",), "--ring needs --as cards"),
        (("--as", "poster", "--copies", "2"), "--copies needs --as cards"),
        (("--as", "cards", "--poster-size", "a2"), "--poster-size needs --as poster"),
        (("--as", "lessons", "--date", "May"), "--date needs --as pocket or --as booklet"),
        (
            ("--as", "page", "--file-type", "svg"),
            "--as page is one HTML file; leave --file-type out",
        ),
        (("--bleed", "3"), "--bleed needs --as cards or --as booklet"),
    ],
)
def test_an_option_that_one_sheet_to_fold_does_not_heed_is_refused(
    option: tuple[str, ...], needed: str, run: Run, files: Files
) -> None:
    made = run("make", "ilse-marchetti", *option)
    assert (made.code, made.out, made.err) == (2, "", needed + "\n")
    assert files() == []


def test_a_laminated_card_has_its_size_with_its_film(run: Run, tmp_path: Path) -> None:
    # ISO/IEC 7810: ID-1 is 53.98 x 85.60 mm; by hand: 53.98 - 2 x 2.5 = 48.98
    made = run(
        *("make", "ilse-marchetti", "--as", "cards", "--laminate", "--film", "2.5"),
        *("--layout", "single"),
    )
    assert made.code == 0
    (found,) = trims(tmp_path / "out/Ilse-Marchetti-cards.pdf")
    assert found == pytest.approx((48.98, 80.6), abs=0.01)
    assert (
        "Cut to 49 × 80.6\u00a0mm and round the corners; laminated, they are 54 × 85.6" in made.err
    )
    assert "A laminator is hot" in made.err
    sheet = run("make", "ilse-marchetti", "--as", "cards", "--laminate", "--words", "de")
    assert sheet.code == 0
    page = pypdf.PdfReader(tmp_path / "out/Ilse-Marchetti-cards.pdf").pages[0]
    said = " ".join(page.extract_text().split())
    assert "auf 48 × 79,6 mm schneiden" in said


def test_a_bleed_is_cut_off(run: Run, tmp_path: Path) -> None:
    assert (
        run(
            *("make", "ilse-marchetti", "--as", "cards", "--as", "booklet", "--bleed", "3"),
            *("--layout", "single", "--template", "friendly"),
        ).code
        == 0
    )
    for name, size in (("cards", (53.98, 85.6)), ("booklet", (74, 105))):
        path = tmp_path / f"out/Ilse-Marchetti-{name}.pdf"
        for page in pypdf.PdfReader(path).pages:
            trim, bleed = page.trimbox, page.bleedbox
            got = [float(side) * 25.4 / 72 for side in (trim.width, trim.height)]
            assert got == pytest.approx(size, abs=0.01)
            out = [float(side) * 25.4 / 72 for side in (bleed.width, bleed.height)]
            assert out == pytest.approx((size[0] + 6, size[1] + 6), abs=0.01)


def test_stock_of_ones_own(run: Run, profile: Profile) -> None:
    own = (
        "stocks:\n  - {name: mine, paper: a4, columns: 1, rows: 2, width_mm: 74, height_mm: 105,\n"
        "     left_mm: 60, top_mm: 40}\n"
    )
    profile("own.yaml", own)
    asked = ("make", "ilse-marchetti", "--as", "cards", "--size", "a7", "--stock", "mine")
    made = run(*asked, "--stock-file", "own.yaml")
    assert (made.code, made.err) == (0, SETTING)
    profile("own.yaml", own.replace("rows: 2", "rows: none"))
    refused = run(*asked, "--stock-file", "own.yaml", "--out", "two")
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.startswith("own.yaml:2:")


def test_a_stitched_booklet_tells_how_it_is_cut(run: Run, tmp_path: Path) -> None:
    made = run("make", "ilse-marchetti", "--as", "booklet", "--binding", "saddle")
    assert made.code == 0
    assert "Cut the pile through" in made.err
    assert "guarded cutter" in made.err
    pages = len(pypdf.PdfReader(tmp_path / "out/Ilse-Marchetti-booklet.pdf").pages)
    alone = run("make", "ilse-marchetti", "--as", "booklet", "--out", "two")
    single = len(pypdf.PdfReader(tmp_path / "two/Ilse-Marchetti-booklet.pdf").pages)
    assert alone.code == 0
    # Two pages a side of a spread, four spreads a side of an A4 sheet.
    assert pages == 2 * -(-single // 16)


def test_handouts_have_the_holes_that_are_asked_for(run: Run, tmp_path: Path) -> None:
    streams = []
    for holes in ("two", "four", "none"):
        made = run("make", "ilse-marchetti", "--as", "worksheet", "--holes", holes)
        assert (made.code, made.err) == (0, "")
        page: Any = pypdf.PdfReader(tmp_path / "out/Ilse-Marchetti-worksheet.pdf").pages[0]
        streams.append(page.get_contents().get_data())
    assert len(set(streams)) == 3


def test_a_page_for_a_phone_is_one_file(run: Run, files: Files, tmp_path: Path) -> None:
    made = run("make", "ilse-marchetti", "--as", "page")
    assert (made.code, made.err) == (0, "")
    assert files() == ["out/Ilse-Marchetti-page.html"]
    again = run("make", "ilse-marchetti", "--as", "page", "--size", "a7")
    assert again.code == 0  # known as ours, and made anew
    assert (tmp_path / "out" / "Ilse-Marchetti-page.html").read_bytes().startswith(b"<!doctype")


@pytest.mark.parametrize("file_type", ["svg", "png"])
def test_every_page_may_be_a_file_of_its_own(run: Run, files: Files, file_type: str) -> None:
    args = ("--file-type", file_type, "--dpi", "40")
    made = run("make", "ilse-marchetti", "--as", "pocket", "--as", "lessons", *args)
    assert made.code == 0
    assert files() == [
        *(f"out/Ilse-Marchetti-lessons-{number}.{file_type}" for number in (1, 2, 3)),
        f"out/Ilse-Marchetti-pocket.{file_type}",
    ]
    assert run("make", "ilse-marchetti", *args).code == 0  # known as ours, and made anew


def test_numbers_of_pages_have_as_many_figures(run: Run, files: Files) -> None:
    run("make", "ilse-marchetti", "--as", "worksheet", "--file-type", "svg")
    assert files()[0] == "out/Ilse-Marchetti-worksheet-01.svg"
    assert files()[-1] == "out/Ilse-Marchetti-worksheet-10.svg"


def test_a_template_may_say_how_large_its_cards_are(
    run: Run, profile: Profile, tmp_path: Path
) -> None:
    template = profile("t.yaml", "design: {like: friendly, size: 60x90}\n")
    args = ("make", "ilse-marchetti", "--as", "cards", "--layout", "single", "--template", template)

    def card_mm() -> tuple[float, float]:
        reader = pypdf.PdfReader(tmp_path / "out" / "Ilse-Marchetti-cards.pdf")
        box = reader.pages[0].trimbox
        return float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72

    assert run(*args).code == 0
    assert card_mm() == pytest.approx((60, 90), abs=0.01)
    assert run(*args, "--size", "poker").code == 0
    assert card_mm() == pytest.approx((63.5, 88.9), abs=0.01)


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ("leaflet", "size 'leaflet': there is no such format"),
        ("5x5", "size '5x5': a card's shorter side is"),
        ("[1, 2]", "t.yaml:1:16: design.size: must be"),
        ("'../x'", "t.yaml:1:16: design.size: must be a format by name, or millimetres such as"),
    ],
)
def test_a_size_that_no_card_has_is_told(
    run: Run, profile: Profile, files: Files, size: str, said: str
) -> None:
    template = profile("t.yaml", f"design: {{size: {size}}}\n")
    made = run("make", "ilse-marchetti", "--as", "cards", "--template", template)
    assert made.code == 2
    assert said in made.err
    assert files() == ["t.yaml"]
