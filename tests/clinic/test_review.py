"""What a clinic must not do in silence, or say aloud: wishes, names, letters, full disks."""

import errno
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pytest

from cardgen.chartcache import ChartCache
from cardgen.clinic import pieces
from cardgen.clinic.seats import printed
from cardgen.press import Job
from cardgen.roster.reading import is_roster

Clinic = Callable[..., Any]
Roster = Callable[..., Path]
ALONE = ("--with", "none", "--jobs", "1")
ONE = "name,hand,group\nAna Bell,right,\n"


def texts(data: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(BytesIO(data), strict=True).pages]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--ring",), "--ring needs --as cards"),
        (("--copies", "2"), "--copies needs --as cards"),
        (("--stock", "a4-10-business"), "--stock needs --as cards"),
        (("--layout", "single"), "--layout needs --as cards"),
        (("--order", "cut-stack"), "--order needs --as cards"),
        (("--flip", "short"), "--flip needs --as cards"),
        (("--laminate",), "--laminate needs --as cards"),
        (("--bleed", "3"), "--bleed needs --as cards or --as booklet"),
        (("--as", "cards", "--date", "May"), "--date needs --as pocket or --as booklet"),
        (("--as", "cards", "--stock", "a4-10-business", "--start-at", "3"), "--start-at"),
        (("--with", "none", "--with", "coach"), "--with none leaves all pages out"),
        (("--with", "coach", "--leave", "7"), "--leave is that of worksheet and ways"),
        (("--with", "coach", "--of", "Ana Bell"), "--of names students of ways"),
        (("--of", "Ana Bell"), "--of: name two to 4 students"),
        (("--of", "Ana Bell", "--of", "Ana Bell"), "each of them once"),
        (("--named",), "--named is for the files of --each"),
        (("--jobs", "2", "--cluster", "tcp://127.0.0.1:9"), "give one of them"),
    ],
)
def test_a_wish_that_nothing_heeds_is_told(
    clinic: Clinic, roster: Roster, args: tuple[str, ...], said: str
) -> None:
    made = clinic(roster(), *args)
    assert made.code == 2
    assert said in made.err
    assert made.names == []


def test_cards_that_fit_no_sheet_are_told_once_and_not_by_row(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(roster(), *ALONE, "--as", "cards", "--size", "210x297", "--ring")
    assert made.code == 2
    assert made.err.count("does not fit A4") == 1
    assert made.names == []


def test_a_name_in_the_wrong_cell_is_told_only_to_who_asks(clinic: Clinic, roster: Roster) -> None:
    path = roster("name,hand,copies\nright,Ana Bell,\nAna Bell,right,Ana Bell\nBo,right,0\n")
    made = clinic(path, *ALONE)
    assert f"{path}:2:7: hand: must be right or left\n" in made.err
    assert "(got 0)" in made.err
    assert "ana bell" not in made.err.casefold()
    assert "ana bell" in clinic(path, *ALONE, "-v").err.casefold()


def test_a_student_without_lines_is_told_by_row_and_without_his_name(
    clinic: Clinic, roster: Roster, monkeypatch: pytest.MonkeyPatch
) -> None:
    made_job = pieces.job_of_seat

    def without_spares(*args: Any) -> Job:
        job = made_job(*args)
        job.answers.__dict__["pocket"] = None
        return job

    monkeypatch.setattr(pieces, "job_of_seat", without_spares)
    path = roster(ONE)
    made = clinic(path, *ALONE)
    assert made.code == 1
    assert made.err == f"{path}:2: no line comes to any spare\n"
    assert made.names == []


@pytest.mark.parametrize("product", ["pocket", "booklet", "cards"])
def test_a_chart_of_no_line_at_all_makes_nothing(
    clinic: Clinic, roster: Roster, monkeypatch: pytest.MonkeyPatch, product: str
) -> None:
    chart = vars(Job)["chart"].fget

    def bare(job: Job) -> Any:
        return replace(chart(job), lines=())

    monkeypatch.setattr(Job, "chart", property(bare))
    made = clinic(roster(ONE), *ALONE, "--as", product)
    assert made.code == 1
    assert "no line comes to any leave" in made.err
    assert made.names == []


def test_letters_that_no_font_has_spoil_neither_slips_nor_title(
    clinic: Clinic, roster: Roster
) -> None:
    text = (
        "name,hand,group\nAna \U0001f3b3 Bell,right,\U0001f3b3 Reds\n\U0001f3b3,right,\U0001f3b3\n"
    )
    path = roster(text, "club \U0001f3b3.csv")
    made = clinic(path, "--jobs", "1")
    assert made.code == 1  # two students who shoot alike go on no page side by side
    assert f"{path}:2: the fonts lack letters" in made.err
    assert f"{path}:3: the fonts lack letters" in made.err
    pages = texts(made.data("club-pocket.pdf"))
    assert "Reds" in pages[0]
    assert "Ana Bell" in pages[1]


def test_names_are_composed() -> None:
    assert printed("Jose\u0301  Bell") == "Jos\u00e9 Bell"
    assert printed("\U0001f3b3") == "–"


def test_a_booklet_s_print_job_tells_the_printer_how_to_flip(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(roster(ONE), *ALONE, "--as", "booklet")
    root: Any = pypdf.PdfReader(BytesIO(made.data("saturday-booklet.pdf"))).trailer["/Root"]
    assert root["/ViewerPreferences"]["/Duplex"] == "/DuplexFlipShortEdge"


def test_slips_of_pages_that_are_printed_on_one_side_have_no_back(
    clinic: Clinic, roster: Roster
) -> None:
    args = (*ALONE, "--as", "cards", "--layout", "single")
    bare = texts(clinic(roster(ONE), *args, "--slips", "none").data("saturday-cards.pdf"))
    with_slip = texts(clinic(roster(ONE), *args, folder="slips").data("saturday-cards.pdf"))
    assert len(with_slip) == len(bare) + 1
    assert f"{len(bare)}" in with_slip[0]


def test_ways_take_students_whom_a_line_brings_there(clinic: Clinic, roster: Roster) -> None:
    text = (
        "name,hand,style,stand.boards\n"
        "Nobody,left,,1 2\n"  # who differs most, and stands where no ball comes to the 10
        "Ana Bell,right,,\n"
        "Cai Dow,right,two-handed,\n"
    )
    made = clinic(roster(text), "--with", "ways", "--jobs", "1", "--leave", "10")
    assert "ways: " not in made.err
    (page,) = texts(made.data("saturday-ways.pdf"))
    assert "Ana Bell" in page
    assert "Cai Dow" in page


def test_a_full_disk_is_told_in_a_sentence(
    clinic: Clinic, roster: Roster, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    made = clinic(roster(ONE), *ALONE)
    assert made.code == 3
    assert "cannot be written: No space left on device" in made.err
    assert made.names == []


def test_a_torn_chart_is_worked_out_once_and_kept_anew(
    clinic: Clinic, roster: Roster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "cache"))
    whole = clinic(roster(ONE), *ALONE).data("saturday-pocket.pdf")
    (file,) = (tmp_path / "cache").rglob("*.chart")
    kept = file.read_bytes()
    file.write_bytes(kept[:-1])
    assert clinic(roster(ONE), *ALONE).data("saturday-pocket.pdf") == whole
    assert file.read_bytes() == kept


def test_a_machine_with_another_program_is_told_and_keeps_nothing(
    clinic: Clinic, roster: Roster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(pieces, "program_key", lambda: "another")
    made = clinic(roster(ONE), *ALONE)
    assert made.code == 1
    assert "has another cardgen, Python or numpy" in made.err
    assert not list((tmp_path / "cache").rglob("*.chart"))


def test_a_folder_in_a_chart_s_place_costs_nothing(tmp_path: Path) -> None:
    cache = ChartCache(tmp_path)
    assert cache.put("ab12", b"x")
    (file,) = tmp_path.rglob("*.chart")
    file.unlink()
    file.mkdir()
    assert cache.put("ab12", b"y")
    assert cache.packed("ab12") == b"y"
    assert "ab12" not in ChartCache(tmp_path)  # kept for this run, and not where the folder is


def test_a_roster_is_known_below_blank_lines(roster: Roster) -> None:
    assert is_roster(roster(f"\n , \n{ONE}"))


def test_slips_of_a_cards_size_have_the_name_the_group_and_their_place(
    clinic: Clinic, roster: Roster
) -> None:
    made = clinic(
        roster(), *ALONE, "--as", "cards", "--size", "id1", "--layout", "single", "--each"
    )
    assert made.code == 0
    slips = [page for page in texts(made.data("saturday-cards.pdf")) if "1 of " in page]
    (first,) = [page for page in slips if "1 of 4" in page]
    assert "Ana" in first
    assert "Reds" in first


def test_a_row_with_the_ball_of_another_is_told_and_still_made(
    clinic: Clinic, roster: Roster
) -> None:
    path = roster(
        "name,hand,spread,balls.spare.weight_lb,balls.strike.weight_lb,balls.strike.rev_rpm,"
        "balls.spare.speed_mph\nAna Bell,right,new,8,14,,\nBen Cole,right,new,8,,300,11\n"
    )
    made = clinic(path, "--jobs", "1", "--with", "coach")  # and needs no -v
    assert made.code == 0
    assert f"{path}:2: balls.strike: weighs 14 lb, and the other ball 8 lb; check" in made.err
    assert f"{path}:3: balls.strike: hooks " in made.err
    (sheet,) = texts(made.data("saturday-coach.pdf"))
    assert "–: no line comes there" in " ".join(sheet.split())
