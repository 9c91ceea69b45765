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


def test_a_booklet_goes_into_out(run: Run, profile: Profile, files: Files) -> None:
    name = profile("me.yaml", GOOD)
    made = run("make", name)
    assert (made.code, made.err) == (0, "")
    assert made.out == str(Path("out", "Good-Bowler-booklet.pdf")) + "\n"
    assert files() == ["me.yaml", "out/Good-Bowler-booklet.pdf"]


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
    assert made.err == SETTING
    assert len(files()) == 4


def test_two_bowlers_of_one_name_get_two_files(run: Run, profile: Profile, files: Files) -> None:
    names = [profile("a.yaml", GOOD), profile("b.yaml", GOOD.replace("Good", "GOOD"))]
    made = run("make", *names)
    assert made.code == 0
    assert files()[2:] == ["out/GOOD-Bowler-2-booklet.pdf", "out/Good-Bowler-booklet.pdf"]


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
    first = (tmp_path / "out/Good-Bowler-booklet.pdf").read_bytes()
    profile("me.yaml", GOOD + "stand: {distance_ft: 12}\n")
    made = run("make", name)
    assert made.code == 0
    assert (tmp_path / "out/Good-Bowler-booklet.pdf").read_bytes() != first


def test_a_foreign_file_stops_all_of_them(run: Run, tmp_path: Path, files: Files) -> None:
    foreign = tmp_path / "out/Wren-Škobernik-booklet.pdf"
    foreign.parent.mkdir()
    foreign.write_bytes(b"%PDF-1.4 somebody's thesis")
    made = run("make", "ilse-marchetti", "wren-skobernik")
    assert (made.code, made.out) == (2, "")
    assert "Wren-Škobernik-booklet.pdf: is there already and cardgen did not make it" in made.err
    assert "--force" in made.err
    assert foreign.read_bytes() == b"%PDF-1.4 somebody's thesis"
    assert files() == ["out/Wren-Škobernik-booklet.pdf"]
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
    (tmp_path / "out/Ilse-Marchetti-booklet.pdf").mkdir(parents=True)
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
    assert files() == [f"here/{stem}-booklet.pdf", "me.yaml"]


def test_what_a_card_cannot_print_is_left_out_and_said(
    run: Run, profile: Profile, files: Files
) -> None:
    name = profile("me.yaml", 'hand: right\nbowler: "Zoë 🎳 Doe"\n')
    made = run("make", name)
    assert made.code == 0
    assert made.err.startswith(
        "me.yaml:2:9: bowler: printed as 'Zoë Doe': no card can show U+1F3B3 BOWLING"
    )
    assert files() == ["me.yaml", "out/Zoë-Doe-booklet.pdf"]


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
    assert files() == ["me.yaml", "out/Ada-fdp.evil-booklet.pdf"]


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
        ("--size", "big"),
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
        assert run("make", "ilse-marchetti", *args).code == 0
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
    assert (made.code, made.err) == (0, SETTING)
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
    assert "U+1F3B3 BOWLING" in made.err
    assert files() == []


def test_make_needs_a_profile(run: Run) -> None:
    made = run("make")
    assert made.code == 2
    assert "PROFILE" in made.err


@pytest.mark.parametrize("style", get_args(Style))
def test_every_style_can_be_printed(style: str, run: Run, profile: Profile, tmp_path: Path) -> None:
    made = run("make", profile("me.yaml", GOOD + f"style: {style}\n"))
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
    assert files() == ["far.yaml", "out/Good-Bowler-booklet.pdf"]


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
