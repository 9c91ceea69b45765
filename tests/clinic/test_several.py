"""Several bowlers: what comes of each, whoever works it out, and what is known before."""

from collections.abc import Callable
from pathlib import Path

import pytest

from cardgen.clinic.several import File, Wish, endings_known, made_of_each
from cardgen.clinic.workers import Workers
from cardgen.errors import InputError
from cardgen.layouts import Layout
from cardgen.press import open_profile
from cardgen.products import Order
from cardgen.profile.loader import LoadedProfile

Profiles = Callable[..., list[LoadedProfile]]
GOOD = "bowler: Ana\nhand: right\n"
FAR = (
    "bowler: Far\nhand: right\n"
    "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n"
    "known_lines: [{leave: 1-2-3-4-5-6-7-8-9-10, stand: 34, target: 20, ball: strike}]\n"
)
"""No spare has a line; the strike line is his own."""


@pytest.fixture
def profiles(tmp_path: Path) -> Profiles:
    """Return a function that loads profiles from their texts."""

    def loaded(*texts: str) -> list[LoadedProfile]:
        made = []
        for number, text in enumerate(texts):
            path = tmp_path / f"{number}.yaml"
            path.write_text(text)
            made.append(open_profile(path).loaded)
        return made

    return loaded


def told(made: object) -> list[object]:
    """Return what came of a bowler but for the times."""
    notes = getattr(made, "notes")  # noqa: B009
    return [note for note in notes if note.kind != "step"]


def test_processes_give_what_one_alone_gives(profiles: Profiles) -> None:
    bowlers = profiles(GOOD, FAR, GOOD.replace("right", "left"))
    wish = Wish(("pocket", "cards", "page"), Order())
    alone = list(made_of_each(bowlers, wish, Workers(1)))
    shared = list(made_of_each(bowlers, wish, Workers(2)))
    assert [one.files for one in shared] == [one.files for one in alone]
    assert [one.settings for one in shared] == [one.settings for one in alone]
    assert [told(one) for one in shared] == [told(one) for one in alone]
    assert [one.whole for one in alone] == [True, False, True]
    assert [len(one.files) for one in alone] == [3, 2, 3]


def test_a_product_that_cannot_be_made_is_told_of_its_profile(profiles: Profiles) -> None:
    (made,) = made_of_each(profiles(FAR), Wish(("pocket", "booklet"), Order()))
    missing = [note.text for note in made.notes if note.kind == "missing"]
    assert missing[-1].endswith("0.yaml: pocket: Far: no line comes to any spare")
    assert [file.ending for file in made.files] == ["-booklet.pdf"]
    assert not made.whole


def test_of_no_wish_the_usual_is_made_or_a_booklet_and_said(profiles: Profiles) -> None:
    usual, instead = made_of_each(profiles(GOOD, FAR), Wish((), Order()))
    assert [file.ending for file in usual.files] == ["-pocket.pdf"]
    assert [file.ending for file in instead.files] == ["-booklet.pdf"]
    assert "so a booklet is made instead" in "".join(note.text for note in instead.notes)


def test_what_nobody_s_profile_can_help_stops_all(profiles: Profiles) -> None:
    with pytest.raises(InputError, match=r"U\+1F3B3"):
        list(made_of_each(profiles(GOOD), Wish(("pocket",), Order(date="25 🎳"))))


@pytest.mark.parametrize(
    "wish",
    [
        Wish((), Order()),
        Wish(("booklet", "handout", "page"), Order()),
        Wish(("cards", "practice"), Order(Layout(scheme="by-hand"))),
        Wish(("cards", "page"), Order(Layout(scheme="single"))),
    ],
)
def test_what_files_end_in_is_known_before_they_are_made(profiles: Profiles, wish: Wish) -> None:
    (made,) = made_of_each(profiles(GOOD), wish)
    assert [file.ending for file in made.files] == endings_known(wish)


def test_of_pages_no_names_are_known(profiles: Profiles) -> None:
    wish = Wish(("lessons", "page"), Order(), file_type="svg")
    assert endings_known(wish) == ["-page.html"]
    (made,) = made_of_each(profiles(GOOD), wish)
    assert all(isinstance(file, File) and file.data for file in made.files)
    assert len(made.files) > 2
