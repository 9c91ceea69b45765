"""From chunks to the shipped file, and the shipped file against the builder itself."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.physics.atlas import Atlas, leave_of_bits, shipped_atlas
from cardgen.physics.build_atlas import draws
from cardgen.physics.build_atlas import pack as packing
from cardgen.physics.build_atlas.chunks import Chunk, recipe
from cardgen.physics.build_atlas.draws import BALLS, DRAWS, Cell, cell_draws
from cardgen.physics.build_atlas.jobs import BuildError, Job
from cardgen.physics.build_atlas.pack import pack
from cardgen.physics.build_atlas.pinfall import run
from cardgen.physics.build_atlas.rackworld import RackWorld
from cardgen.physics.build_atlas.simulate import RACK_PLACES, rack_slices
from cardgen.physics.build_atlas.touches import BY_BALL, BY_PIN, BY_REBOUND
from cardgen.physics.grid import ANGLES, HALF_ANGLES, HALF_PLACES, PLACES

ALL = (1 << DRAWS) - 1
TEN_PIN = 1 << 9


def write_leave(folder: Path, leave: Leave, spares: np.ndarray, *, planar: bool = False) -> None:
    """Write a chunk whose ``spares`` (angles from nought up, places) are alike for both balls."""
    angles = np.arange(0 if leave == leave.mirrored else -HALF_ANGLES, HALF_ANGLES + 1)
    places = np.arange(-spares.shape[1] // 2, spares.shape[1] // 2)
    both = np.broadcast_to(spares, (len(BALLS), *spares.shape)).astype(np.uint16)
    made = np.bitwise_count(both)[..., None]
    pins = np.ones(len(leave), np.uint8)
    by_ball = np.zeros((*both.shape, len(leave)), np.uint8)
    by_ball[..., 0] = made[..., 0]
    arrays: dict[str, NDArray[Any]] = {
        "spares": both,
        "felled": made * pins,
        "by_ball": by_ball,
        "by_rebound": np.zeros_like(by_ball),
        "angles": angles.astype(np.int16),
        "places": places.astype(np.int16),
        "redone": np.array(0, np.int32),
    }
    kind = "estimate" if planar else "pair"
    model = "planar" if planar else "3-D"
    Chunk(arrays, recipe(model, leave=str(leave))).write(folder / Job(kind, leave).name)


@pytest.fixture
def packed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Atlas:
    """An atlas of three leaves: one in 3-D, one estimated, and the full rack."""
    pair, triple = Leave.of(7, 10), Leave.of(2, 4, 5)
    monkeypatch.setattr(packing, "ALL_LEAVES", (pair, triple, FULL_RACK))
    right = np.zeros((4, 8))
    right[1, 6] = ALL  # steep balls from the right, and by the mirror from the left
    right[0, 5] = 0b11
    write_leave(tmp_path, pair, right)
    some = np.zeros((ANGLES, 8))
    some[HALF_ANGLES, 4] = 0b1111
    write_leave(tmp_path, triple, some, planar=True)
    write_leave(tmp_path, FULL_RACK, np.zeros((4, 8)), planar=True)
    for ball, angle, round_ in rack_slices():
        left = np.full((len(RACK_PLACES), DRAWS), TEN_PIN, np.uint16)
        left[RACK_PLACES.index(5), : 4 * (round_ + 1)] = 0
        Chunk(
            {"left": left, "places": np.array(RACK_PLACES, np.int16)},
            recipe("3-D", rack=True, ball=ball, angle=angle, round=round_),
        ).write(tmp_path / Job("rack", slice=(ball, angle, round_)).name)
    return pack(tmp_path)


def test_half_of_a_symmetric_leave_is_mirrored(packed: Atlas) -> None:
    made = packed.made[packed.number_of[Leave.of(7, 10)], 0]
    assert made[HALF_ANGLES + 1, HALF_PLACES + 2] == DRAWS
    assert made[HALF_ANGLES - 1, HALF_PLACES - 3] == DRAWS
    assert made[HALF_ANGLES, HALF_PLACES + 1] == 2
    assert made.sum() == 2 * DRAWS + 2


def test_touches_are_mirrored_with_their_pins(packed: Atlas) -> None:
    touched = packed.touched[packed.number_of[Leave.of(7, 10)]]
    # The ball takes the first pin of the leave, the 7; in the mirror that is the 10.
    right, left = (
        touched[HALF_ANGLES + 1, HALF_PLACES + 2],
        touched[HALF_ANGLES - 1, HALF_PLACES - 3],
    )
    assert (right[6], right[9]) == (BY_BALL, BY_PIN)
    assert (left[6], left[9]) == (BY_PIN, BY_BALL)
    assert BY_REBOUND not in touched
    assert touched[..., [0, 1, 2, 3, 4, 5, 7, 8]].sum() == 0


def test_leaves_without_3_d_runs_are_estimates(packed: Atlas) -> None:
    solid = dict(zip(packed.number_of, packed.solid.tolist(), strict=True))
    assert solid == {Leave.of(7, 10): True, Leave.of(2, 4, 5): False, FULL_RACK: True}
    assert packed.made[packed.number_of[Leave.of(2, 4, 5)]].sum() == 2 * 4
    assert packed.recipe.keys() == {"3-D", "planar"}


def test_full_racks_come_from_their_own_runs(packed: Atlas) -> None:
    number = packed.number_of[FULL_RACK]
    made = packed.made[number, 1]
    assert packed.draws[number] == 2 * DRAWS
    assert made[HALF_ANGLES + 2, HALF_PLACES + 5] == 12
    assert made[HALF_ANGLES - 2, HALF_PLACES - 6] == 12
    assert packed.felled[number, 1, HALF_ANGLES + 2, HALF_PLACES + 5] == 12 * 10 + 20 * 9
    assert packed.stood.shape == (2, 4, len(RACK_PLACES), 2 * DRAWS)


def test_contrasts_tell_the_halves_of_a_factor_apart(packed: Atlas) -> None:
    # Draws 0 to 3 made it: all in the lower half of the first two factors, by turns in the others'.
    contrasts = packed.contrasts[packed.number_of[Leave.of(2, 4, 5)]]
    first, second, third, fourth = contrasts[[7, 3, 1, 0]]
    assert first == second < 0
    assert abs(third) < 1e-6
    assert abs(fourth) < 1e-6


def test_chunks_of_different_recipes_are_refused(
    packed: Atlas, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert packed.recipe
    monkeypatch.setattr(draws, "SPOT_SD_M", 2 * draws.SPOT_SD_M)
    write_leave(tmp_path, Leave.of(7, 10), np.zeros((4, 8)))
    with pytest.raises(BuildError, match="were not all made by the same recipe"):
        pack(tmp_path)


def test_a_folder_without_runs_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BuildError, match="there are no runs of 1, not even an estimate"):
        pack(tmp_path)


@pytest.fixture(scope="module")
def sampled() -> list[tuple[Leave, int, int, int, int]]:
    """Random cells of the shipped atlas: leave, ball, angle, place, and what it says."""
    atlas, rng = shipped_atlas(), np.random.default_rng(20)
    small = np.bitwise_count(atlas.pins) <= 4
    decided = (atlas.made > 0) & (atlas.made < atlas.draws[:, None, None, None])
    wanted = (
        decided & (small & atlas.solid & (np.bitwise_count(atlas.pins) > 1))[:, None, None, None]
    )
    cells = rng.choice(np.argwhere(wanted), 30, replace=False)
    found = []
    for number, ball, angle, place in cells:
        leave = leave_of_bits(int(atlas.pins[number]))
        assert leave is not None
        if leave == leave.mirrored and angle < HALF_ANGLES:
            angle, place = ANGLES - 1 - angle, PLACES - 1 - place
        made = int(atlas.made[number, ball, angle, place])
        found.append((leave, int(ball), int(angle) - HALF_ANGLES, int(place) - HALF_PLACES, made))
    return found


def _made(leave: Leave, cell: Cell) -> int:
    world = RackWorld(leave, BALLS[cell.ball])
    return sum(
        bool(run(world, d.arrival, d.surfaces, d.spots_m).fell.all())
        for d in cell_draws(leave, cell)
    )


def test_the_builder_makes_the_shipped_cells_again(
    sampled: list[tuple[Leave, int, int, int, int]],
) -> None:
    """Pins are chaotic, so another machine's rounding may turn a run or two, but no more."""
    apart = sum(
        abs(_made(leave, Cell(ball, angle, place)) - made)
        for leave, ball, angle, place, made in sampled
    )
    assert apart <= 0.03 * len(sampled) * DRAWS


def test_other_draws_say_the_same_within_their_sampling_error(
    sampled: list[tuple[Leave, int, int, int, int]],
) -> None:
    again = np.array(
        [_made(v, Cell(ball, angle, place, 1)) for v, ball, angle, place, _ in sampled]
    )
    shipped = np.array([made for *_, made in sampled])
    share = (again + shipped) / (2 * DRAWS)
    error = np.sqrt((2 * DRAWS * share * (1 - share)).sum())
    # Cells were picked for being undecided, which draws what they say towards the middle a little.
    assert abs(again.sum() - shipped.sum()) < 4 * error
