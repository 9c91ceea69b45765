"""A fit written into a profile: the rest of the file stays as its writer left it."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.errors import InputError, UsageError
from cardgen.lane.rack import Leave
from cardgen.profile.belief import UNKNOWNS, Belief
from cardgen.profile.bowler import KnownLine, bowler_of
from cardgen.profile.fitted import Learned, basis_of, section_lines, state_of
from cardgen.profile.loader import load_profile
from cardgen.profile.writing import with_section
from cardgen.resources import data_folder

LEAST = "bowler: Demo # mine\nhand: right\n"
SECTION = ["fitted:", "  shots: 3", "  values: {gap: [5, 1]}"]
OTHER = ["fitted:", "  shots: 4"]


def written(tmp_path: Path, text: str, section: list[str] = SECTION) -> str:
    path = tmp_path / "p.yaml"
    path.write_bytes(text.encode())
    data = with_section(path, section)
    assert path.read_bytes() == text.encode()  # nothing is written here
    return data.decode()


def test_a_first_section_comes_at_the_end(tmp_path: Path) -> None:
    assert written(tmp_path, LEAST) == LEAST + "\n" + "\n".join(SECTION) + "\n"
    assert written(tmp_path, LEAST + "\n\n") == LEAST + "\n" + "\n".join(SECTION) + "\n"
    assert written(tmp_path, LEAST.rstrip()) == LEAST + "\n" + "\n".join(SECTION) + "\n"


def test_an_old_section_is_replaced_where_it_stands(tmp_path: Path) -> None:
    old = "bowler: Demo\nfitted:\n  shots: 1\n\n  lines: 0\n\n# what I hold\nhand: left\n"
    new = written(tmp_path, old, OTHER)
    assert new == "bowler: Demo\nfitted:\n  shots: 4\n\n# what I hold\nhand: left\n"
    assert written(tmp_path, new, OTHER) == new


def test_line_ends_and_a_byte_order_mark_stay(tmp_path: Path) -> None:
    text = "\ufeff" + LEAST.replace("\n", "\r\n")
    new = written(tmp_path, text)
    assert new.startswith(text)
    assert new.count("\r\n") == new.count("\n")


@pytest.mark.parametrize(
    "text",
    ["{bowler: Demo, hand: right}\n", LEAST + "...\n", '"fitted": {}\n' + LEAST],
)
def test_a_profile_that_cannot_take_a_section_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError, match="no section can be added"):
        written(tmp_path, text)


def test_demo_profiles_are_not_written_to() -> None:
    with pytest.raises(UsageError, match="fit a copy of it"):
        with_section(data_folder("profiles") / "ilse-marchetti.yaml", SECTION)


COMMENTS = st.sampled_from(["", "# a note", "   # indented", "# fitted: no", " "])
FIELDS = [
    "hand: right",
    "style: two-handed   # both",
    "stand:\n  walk: 0.5\n  # inner",
    "spread: new",
]


@given(st.permutations(FIELDS), st.lists(COMMENTS, min_size=5, max_size=5), st.booleans())
def test_every_line_but_the_section_is_kept(
    tmp_path_factory: pytest.TempPathFactory, fields: list[str], notes: list[str], between: bool
) -> None:
    parts = [
        f"{note}\n{field}\n" for note, field in zip(notes, ["bowler: Demo", *fields], strict=True)
    ]
    if between:
        parts.insert(2, "fitted:\n  shots: 1\n")
    path = tmp_path_factory.mktemp("w") / "p.yaml"
    path.write_text("".join(parts))
    new = with_section(path, OTHER).decode()
    kept = [line for line in new.splitlines() if line.strip() and line not in OTHER]
    before = [
        line
        for line in path.read_text().splitlines()
        if line.strip() and line not in ("fitted:", "  shots: 1")
    ]
    assert kept == before


def test_a_fit_comes_back_from_the_profile_it_was_written_into(tmp_path: Path) -> None:
    path = tmp_path / "p.yaml"
    path.write_text(LEAST)
    loaded = load_profile(path)
    bowler = bowler_of(loaded)
    rng = np.random.default_rng(5)
    root = rng.normal(size=(len(UNKNOWNS), len(UNKNOWNS))) / 5
    belief = Belief(rng.normal(size=len(UNKNOWNS)) / 2, root @ root.T, 17, 2)
    learned = Learned(belief, bowler.spread)
    state = state_of(learned, bowler.said, bowler.scale)
    before = [KnownLine(Leave.parse("3-10"), 30.5, 20.0, "strike")]
    path.write_bytes(with_section(path, list(section_lines(state, basis_of(loaded), before))))
    again = load_profile(path)
    assert again.profile.fitted is not None
    assert again.profile.fitted.basis == basis_of(again) == basis_of(loaded)
    assert bowler_of(again).printed == tuple(before)
    found = bowler_of(again).learned
    assert found is not None
    assert (found.belief.shots, found.belief.lines) == (17, 2)
    assert found.belief.mean == pytest.approx(belief.mean, abs=2e-3)
    assert found.belief.covariance == pytest.approx(belief.covariance, abs=2e-3)
    assert found.spread.launch_rad == pytest.approx(bowler.spread.launch_rad, rel=1e-3)


@pytest.mark.parametrize("edit", [("right", "left"), ("right\n", "right\nspread: new\n")])
def test_a_profile_edited_after_the_fit_shows(tmp_path: Path, edit: tuple[str, str]) -> None:
    path, other = tmp_path / "p.yaml", tmp_path / "q.yaml"
    path.write_text(LEAST)
    other.write_text(LEAST.replace(*edit))
    assert basis_of(load_profile(path)) != basis_of(load_profile(other))
    other.write_text(LEAST.replace("Demo", "Other") + "# a comment\n")
    assert basis_of(load_profile(path)) == basis_of(load_profile(other))
