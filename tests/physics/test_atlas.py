"""The shipped file: whole, small, with its recipe; and what first balls leave, from its runs."""

from dataclasses import fields, replace
from importlib.resources import files

import numpy as np
import pytest

from cardgen.lane.rack import ALL_LEAVES, PIN_NUMBERS, Leave
from cardgen.physics.atlas import (
    NAME,
    Atlas,
    leave_bits,
    leave_of_bits,
    shipped_atlas,
)
from cardgen.physics.firstball import COUNTED, believed_shares, simulated_shares
from cardgen.physics.grid import ANGLES, HALF_ANGLES, HALF_PLACES, LIGHTEST_BALL_KG, PLACES


def test_the_file_is_small_and_its_bytes_come_back() -> None:
    data = files("cardgen.physics").joinpath(NAME).read_bytes()
    assert len(data) <= 4_000_000
    atlas = Atlas.from_bytes(data)
    # Not by the shipped bytes: the packing differs from one zlib to another.
    again = Atlas.from_bytes(atlas.to_bytes())
    assert atlas.to_bytes() == again.to_bytes()
    for field in fields(Atlas):
        before, after = getattr(atlas, field.name), getattr(again, field.name)
        assert before == after if field.name == "recipe" else np.array_equal(before, after)


def test_it_holds_one_of_every_leave_and_its_mirror_image() -> None:
    atlas = shipped_atlas()
    stored = set(atlas.number_of)
    assert len(stored) == (1023 + 63) // 2  # 63 leaves are their own mirror image
    assert all((leave in stored) or (leave.mirrored in stored) for leave in ALL_LEAVES)
    own = [k for leave, k in atlas.number_of.items() if leave == leave.mirrored]
    # Of those the runs of one side were made; the other side is their image.
    assert (atlas.made[own] == atlas.made[own][:, :, ::-1, ::-1]).mean() > 0.9


def test_its_recipe_tells_how_it_was_made() -> None:
    recipe = shipped_atlas().recipe
    for model in ("3-D", "planar"):
        made = recipe[model]
        assert made["seed"] > 0
        assert made["versions"].keys() == {"mujoco", "numba", "numpy"}
        assert made["ranges"]["ball_pin_e"] == [0.6, 0.8]
        assert len(made["code_sha256"]) == 64


def test_leaves_and_bits_are_each_others_inverse() -> None:
    assert all(leave_of_bits(leave_bits(leave)) == leave for leave in ALL_LEAVES)
    assert leave_of_bits(0) is None


def _atlas_of(stood: np.ndarray, places: list[int]) -> Atlas:
    return replace(
        shipped_atlas(), stood=stood.astype(np.uint16), rack_places=np.array(places, np.int16)
    )


def test_shares_follow_the_weights_and_the_mirror() -> None:
    ten, seven = leave_bits(Leave.of(10)), leave_bits(Leave.of(7))
    # Two balls, four angles, places 4 and 5 to the right, one run each.
    stood = np.zeros((2, 4, 2, 1))
    stood[:, 1, 1] = ten
    atlas = _atlas_of(stood, [4, 5])
    weights = np.zeros((ANGLES, PLACES))
    weights[HALF_ANGLES + 1, HALF_PLACES + 5] = 0.3  # the run that leaves the 10 pin
    weights[HALF_ANGLES - 1, HALF_PLACES - 6] = 0.2  # its mirror image
    weights[HALF_ANGLES, HALF_PLACES + 4] = 0.1  # a strike
    shares = simulated_shares(atlas, weights, 6.0)
    assert shares == pytest.approx({Leave.of(10): 0.5, Leave.of(7): 1 / 3, None: 1 / 6})
    assert leave_bits(Leave.of(7)) == seven


def test_heavier_balls_weigh_the_heavier_ball_s_runs() -> None:
    stood = np.zeros((2, 4, 1, 1))
    stood[1] = leave_bits(Leave.of(5))
    atlas = _atlas_of(stood, [0])
    weights = np.zeros((ANGLES, PLACES))
    weights[HALF_ANGLES, HALF_PLACES] = 1.0
    light, heavy = atlas.ball_kg
    for share in (0.0, 0.25, 1.0):
        shares = simulated_shares(atlas, weights, light + share * (heavy - light))
        assert shares.get(Leave.of(5), 0.0) == pytest.approx(share)


def test_the_lightest_ball_is_that_of_the_atlas() -> None:
    assert shipped_atlas().ball_kg[0] == pytest.approx(LIGHTEST_BALL_KG)


def test_a_ball_that_never_comes_to_the_rack_is_refused() -> None:
    with pytest.raises(ValueError, match="no ball arrives"):
        simulated_shares(shipped_atlas(), np.zeros((ANGLES, PLACES)), 6.0)


def test_counted_leaves_are_drawn_half_way_to_their_count() -> None:
    # Televised finals 2005-10, a sports network's count (relayed): of 2,781 leaves the 10 pin was
    # 25.5 %, the 7 pin 12.0 %, the 9 pin 3.2 %.
    assert {Leave.of(10): 0.255, Leave.of(7): 0.120, Leave.of(9): 0.032} == COUNTED
    shares = believed_shares(
        {None: 0.5, Leave.of(10): 0.05, Leave.of(4, 5): 0.3, Leave.of(5): 0.15}
    )
    assert sum(shares.values()) == pytest.approx(1)
    assert shares[Leave.of(10)] == pytest.approx((0.255 + 0.1) / 2)
    assert shares[Leave.of(7)] == pytest.approx(0.06)
    assert shares[Leave.of(4, 5)] == pytest.approx(2 * shares[Leave.of(5)])


def test_full_rack_runs_leave_every_kind_of_leave() -> None:
    atlas = shipped_atlas()
    assert atlas.stood.max() < 1 << len(PIN_NUMBERS)
    assert (atlas.stood == 0).mean() > 0.1
    assert len(np.unique(atlas.stood)) > 100
