"""``cardgen clinic``: what is printed, in which order, for whom; and what one bad row spoils."""

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest

from cardgen.cards.words import load_words
from cardgen.clinic.classwork import CLASS_PAGES
from cardgen.errors import CardgenError
from cardgen.press import Job, job_of, open_profile

Clinic = Callable[..., Any]
Roster = Callable[..., Path]
NAMES = ("Ana Bell", "Cai Dow", "Ben Cole", "Dee Eng")
"""The small class, group by group."""
ALONE = ("--with", "none", "--jobs", "1")


def texts(data: bytes) -> list[str]:
    reader = pypdf.PdfReader(BytesIO(data), strict=True)
    return [page.extract_text() for page in reader.pages]


def pictures(data: bytes) -> list[bytes]:
    with pdfium.PdfDocument(data) as document:
        return [bytes(page.render(scale=1).to_numpy().tobytes()) for page in document]


def whose(page: str) -> str:
    """Return what tells a page from the others: the student it is of, or the group of a slip."""
    found = [name for name in NAMES if name in page]
    return found[0] if found else re.sub(r"\s+", " ", page)[:40]


def test_one_print_job_and_the_pages_of_the_class(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster(), "--jobs", "1")
    assert made.code == 0
    expected = ["saturday-pocket.pdf", *(f"saturday-{page}.pdf" for page in CLASS_PAGES)]
    assert made.names == sorted(expected)
    assert made.out.splitlines() == [str(made.folder / name) for name in expected]


def test_groups_stand_together_behind_their_slips_with_the_copies_asked_for(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(roster(), *ALONE)
    pages = texts(made.data("saturday-pocket.pdf"))
    order = [whose(page) for page in pages]
    assert "Reds" in pages[0]
    assert "Blues" in pages[3]
    assert order[1:3] + order[4:] == ["Ana Bell", "Cai Dow", "Ben Cole", "Ben Cole", "Dee Eng"]


@pytest.mark.parametrize(
    ("slips", "pages"),
    [("none", 5), ("group", 5 + 2), ("student", 5 + 4)],
)
def test_slips_are_counted(clinic: Clinic, roster: Roster, slips: str, pages: int) -> None:
    made = clinic(roster(), *ALONE, "--slips", slips)
    assert len(texts(made.data("saturday-pocket.pdf"))) == pages


def test_cards_have_two_sides_and_so_have_their_slips(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster("name,hand\nAna Bell,right\nBen Cole,left\n"), *ALONE, "--as", "cards")
    assert made.code == 0
    pages = texts(made.data("saturday-cards.pdf"))
    blank = [number for number, page in enumerate(pages) if not page.strip()]
    assert len(blank) == 2  # the backs of the slips
    assert all(number % 2 for number in blank)
    assert len(pages) % 4 == 0  # both students have as many sheets, each with two sides


def test_a_booklet_comes_on_sheets_to_stitch(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster("name,hand\nAna Bell,right\n"), *ALONE, "--as", "booklet")
    assert made.code == 0
    pages = texts(made.data("saturday-booklet.pdf"))
    assert len(pages) % 2 == 0
    assert not pages[1].strip()


@pytest.mark.parametrize("product", ["pocket", "cards"])
def test_a_student_s_pages_are_those_of_a_single_run(
    clinic: Clinic, roster: Roster, tmp_path: Path, product: str
) -> None:
    path = roster()
    made = clinic(path, *ALONE, "--each", "--named", "--as", product, "--slips", "none")
    assert made.code == 0
    together = pictures(made.data(f"saturday-{product}.pdf"))
    at = 0
    for name, rest in zip(
        NAMES,
        (
            "hand: right",
            "hand: right\nstyle: two-handed",
            "hand: left",
            "hand: right",
        ),
        strict=True,
    ):
        profile = tmp_path / "one.yaml"
        profile.write_text(f"bowler: {name}\n{rest}\n")
        job = job_of(open_profile(profile).loaded, load_words("en"))
        if product == "pocket":
            alone = job.pocket().pdf()
        else:
            from cardgen.drawing.theme import ID_1
            from cardgen.layouts import Layout

            (document,) = job.cards(ID_1, Layout())
            alone = document.pdf()
        assert made.data(f"saturday/{name.replace(' ', '-')}-{product}.pdf") == alone
        single = pictures(alone)
        for _ in range(2 if name == "Ben Cole" else 1):
            assert together[at : at + len(single)] == single
            at += len(single)
    assert at == len(together)


def test_a_bad_row_is_told_and_spoils_no_other(clinic: Clinic, roster: Roster) -> None:
    path = roster("name,hand\nAna Bell,right\nBen Cole,middle\nDee Eng,right\n")
    made = clinic(path, *ALONE)
    assert made.code == 1
    assert made.err.splitlines()[0] == (f"left out: {path}:3:10: hand: must be right or left")
    assert "Ben Cole" not in made.err
    assert "Ben Cole,middle" in clinic(path, *ALONE, "-v").err
    assert len(texts(made.data("saturday-pocket.pdf"))) == 3


def test_a_strict_run_makes_nothing_of_a_roster_with_a_bad_row(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(roster("name,hand\nAna Bell,right\nBen Cole,middle\n"), *ALONE, "--strict")
    assert made.code == 2
    assert made.names == []
    assert ":3:" in made.err


def test_a_leave_without_a_line_is_told_by_row(clinic: Clinic, roster: Roster) -> None:
    path = roster("name,hand,stand.boards\nAna Bell,right,\nBen Cole,right,1 2\n")
    made = clinic(path, *ALONE, "-v")
    assert made.code == 1
    assert f"{path}:3: some leaves have no line" in made.err
    assert f"{path}:3: 10: no line" in made.err
    assert f"{path}:2:" not in made.err
    assert len(texts(made.data("saturday-pocket.pdf"))) == 3


def test_a_student_whom_nothing_can_be_made_for_spoils_no_other(
    clinic: Clinic, roster: Roster, monkeypatch: pytest.MonkeyPatch
) -> None:
    pocket = Job.pocket

    def refused(job: Job, *args: Any, **kwargs: Any) -> Any:
        if job.chart.bowler.name == "Ben Cole":
            raise CardgenError("no line comes to any spare")
        return pocket(job, *args, **kwargs)

    monkeypatch.setattr(Job, "pocket", refused)
    path = roster()
    made = clinic(path, *ALONE, "--each")
    assert made.code == 1
    assert f"{path}:3: no line comes to any spare\n" in made.err
    assert len(texts(made.data("saturday-pocket.pdf"))) == 5
    assert len(made.names) == 1 + 3


def test_whatever_the_number_of_processes_the_bytes_are_the_same(
    clinic: Clinic, roster: Roster
) -> None:
    rows = "".join(f"Student {n},{('right', 'left')[n % 2]},G{n % 3}\n" for n in range(60))
    path = roster("name,hand,group\n" + rows)
    one = clinic(path, "--jobs", "1", "--with", "coach", folder="one")
    two = clinic(path, "--jobs", "2", "--with", "coach", folder="two")
    assert one.code == two.code == 0
    assert one.names == two.names == ["saturday-coach.pdf", "saturday-pocket.pdf"]
    for name in one.names:
        assert one.data(name) == two.data(name)


def test_kept_charts_change_no_byte(clinic: Clinic, roster: Roster) -> None:
    path = roster("name,hand\nAna Bell,right\n")
    kept = clinic(path, *ALONE, folder="kept")
    anew = clinic(path, *ALONE, "--no-cache", folder="anew")
    assert kept.data("saturday-pocket.pdf") == anew.data("saturday-pocket.pdf")


def test_no_cache_keeps_nothing(
    clinic: Clinic, roster: Roster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "cache"))
    made = clinic(roster("name,hand\nAna Bell,right\n"), *ALONE, "--no-cache")
    assert made.code == 0
    assert not (tmp_path / "cache").exists()


def test_names_are_in_no_message_and_in_no_document_s_properties(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(roster(), "--jobs", "1", "--each")
    assert made.code == 0
    assert len(made.names) == 4 + 1 + len(CLASS_PAGES)
    assert not [
        name for name in NAMES if name in made.out + made.err or name.replace(" ", "-") in made.out
    ]
    for name in made.names:
        reader = pypdf.PdfReader(BytesIO(made.data(name)), strict=True)
        said = repr(reader.metadata) + repr(reader.xmp_metadata) + repr(reader.outline)
        assert not [student for student in NAMES if student in said], name
    named = clinic(roster(), *ALONE, "--each", "--named", folder="named")
    reader = pypdf.PdfReader(BytesIO(named.data("saturday/Ana-Bell-pocket.pdf")))
    assert reader.metadata is not None
    assert "Ana Bell" in str(reader.metadata.title)


def test_initials_stand_for_names_everywhere(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster(), "--jobs", "1", "--each", "--initials", "-v")
    assert made.code == 0
    assert "saturday/A.B-pocket.pdf" in made.names
    for name in made.names:
        assert not [n for n in NAMES if n in name or n.replace(" ", "-") in name]
        pages = "".join(texts(made.data(name)))
        assert not [part for n in NAMES for part in n.split() if part in pages], name
    assert "A. B." in "".join(texts(made.data("saturday-coach.pdf")))


def test_students_of_one_name_have_a_file_each(clinic: Clinic, roster: Roster) -> None:
    text = "name,hand\nAna Bell,right\nana bell,left\nAna Bell,right\n"
    made = clinic(roster(text), *ALONE, "--each")
    assert len({name.casefold() for name in made.names}) == 1 + 3


def test_what_is_not_ours_is_not_overwritten(
    clinic: Clinic, roster: Roster, tmp_path: Path
) -> None:
    (tmp_path / "out").mkdir()
    theirs = tmp_path / "out" / "saturday-pocket.pdf"
    theirs.write_text("a letter")
    made = clinic(roster(), *ALONE)
    assert made.code == 2
    assert "--force" in made.err
    assert theirs.read_text() == "a letter"
    assert made.names == ["saturday-pocket.pdf"]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--of", "Nobody"), "no student is called 'Nobody'"),
        (("--as", "cards", "--layout", "by-hand"), "leave --layout by-hand out"),
        (("--leave", "11"), "LEAVE"),
        (("--cluster", "tcp://127.0.0.1:9"), "no Dask scheduler answers at tcp://127.0.0.1:9"),
    ],
)
def test_what_cannot_be_asked_is_told(
    clinic: Clinic, roster: Roster, args: tuple[str, ...], said: str
) -> None:
    made = clinic(roster(), *args)
    assert made.code == 2
    assert said in made.err
    assert made.names == []


def test_ways_show_who_is_named(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster(), "--with", "ways", "--of", "Dee Eng", "--of", "Ben Cole", "--jobs", "1")
    (page,) = texts(made.data("saturday-ways.pdf"))
    assert "Dee Eng" in page
    assert "Ben Cole" in page
    assert "Ana Bell" not in page


def test_ways_show_a_leave_that_is_in_nobody_s_chart(clinic: Clinic, roster: Roster) -> None:
    made = clinic(roster(), "--with", "ways", "--leave", "2-7", "--jobs", "1")
    assert made.code == 0
    (page,) = texts(made.data("saturday-ways.pdf"))
    assert page.count("Stand") >= 3
