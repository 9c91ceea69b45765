"""The few lines that keep the most, set against every set of so many lines there is."""

from itertools import combinations, pairwise
from math import e
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from cardgen.lane.geometry import FloatArray
from cardgen.targeting import covering
from cardgen.targeting.covering import Cover, cover, curve, whole

A_BILLIONTH = 1e-9
GREEDY_SHARE = 1 - 1 / e  # Nemhauser, Wolsey & Fisher, Mathematical Programming 14, 1978


def best_of_all(make: FloatArray, weights: FloatArray, count: int) -> float:
    """Return the most that any ``count`` lines keep, by trying them all."""
    few = min(count, len(make))
    sets = combinations(range(len(make)), few)
    return max(float(weights @ make[list(lines)].max(axis=0)) for lines in sets)


def greedy_alone(make: FloatArray, weights: FloatArray, count: int) -> float:
    """Return what lines keep that are taken one by one, each the best at its time."""
    covered = np.zeros(make.shape[1])
    for _ in range(count):
        kept = np.maximum(make, covered) @ weights
        covered = np.maximum(covered, make[kept.argmax()])
    return float(covered @ weights)


def kept_by(found: Cover, make: FloatArray, weights: FloatArray) -> float:
    """Return what the lines of a cover keep if each leave gets the one that serves it."""
    thrown = np.array(found.lines)[found.serves]
    return float(weights @ make[thrown, np.arange(len(weights))])


def a_lane_of(lines: int, leaves: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return invented chances that fall off with the distance of line and leave in a plane."""
    rng = np.random.default_rng(seed)
    line, leave = rng.random((lines, 1, 2)), rng.random((leaves, 2))
    make: FloatArray = 0.95 * np.exp(-(((line - leave) / 0.25) ** 2).sum(axis=2))
    return make, rng.random(leaves)


shapes = st.tuples(st.integers(1, 7), st.integers(1, 6))
# In twentieths: many ties, and many lines as good as others.
coarse = st.integers(0, 20).map(lambda n: n / 20)
fine = st.floats(0, 1).map(lambda x: round(x, 9))
matrices = shapes.flatmap(
    lambda shape: st.one_of(
        arrays(np.float64, shape, elements=coarse), arrays(np.float64, shape, elements=fine)
    )
)
counts = st.integers(1, 4)


@st.composite
def cases(draw: st.DrawFn) -> tuple[FloatArray, FloatArray, int]:
    make = draw(matrices)
    weights = draw(
        arrays(np.float64, make.shape[1], elements=st.sampled_from([0.0, 0.5, 1.0, 2.5, 7.0]))
    )
    return make, weights, draw(counts)


def slack(weights: FloatArray) -> float:
    """Return how far a sum may be off: a few billionths of what there is to keep."""
    return 10 * A_BILLIONTH * float(weights.sum()) + 1e-12


@given(cases())
def test_the_exact_cover_keeps_what_the_best_of_all_sets_does(
    case: tuple[FloatArray, FloatArray, int],
) -> None:
    make, weights, count = case
    for exact in (True, None):
        found = cover(make, weights, count, exact=exact)
        assert found.exact
        assert found.bound == found.kept
        assert found.kept == pytest.approx(best_of_all(*case), abs=slack(weights))


@given(cases())
def test_a_quick_cover_keeps_its_share_and_its_bound_holds(
    case: tuple[FloatArray, FloatArray, int],
) -> None:
    _, weights, _ = case
    found, best = cover(*case, exact=False), best_of_all(*case)
    assert GREEDY_SHARE * best - slack(weights) <= found.kept <= best + slack(weights)
    assert found.bound >= best - slack(weights)
    assert found.kept >= greedy_alone(*case) - slack(weights)
    if found.exact:
        assert found.kept == pytest.approx(best, abs=slack(weights))


@given(cases(), st.sampled_from([False, None, True]))
def test_every_leave_gets_its_best_line_of_those_chosen(
    case: tuple[FloatArray, FloatArray, int], exact: bool | None
) -> None:
    make, weights, count = case
    found = cover(make, weights, count, exact=exact)
    assert 1 <= len(found.lines) <= count
    assert len(set(found.lines)) == len(found.lines)
    best = make[list(found.lines)].max(axis=0)
    assert make[np.array(found.lines)[found.serves], np.arange(len(weights))] == pytest.approx(best)
    assert found.kept == pytest.approx(kept_by(found, make, weights))


@given(cases(), st.sampled_from([False, None, True]))
def test_no_line_is_told_that_the_others_make_needless(
    case: tuple[FloatArray, FloatArray, int], exact: bool | None
) -> None:
    make, weights, count = case
    found = cover(make, weights, count, exact=exact)
    for line in found.lines:
        others = [other for other in found.lines if other != line]
        if others:
            assert float(weights @ make[others].max(axis=0)) < found.kept


@given(cases(), st.sampled_from([False, None, True]))
def test_more_lines_never_keep_less_and_all_of_them_keep_the_whole(
    case: tuple[FloatArray, FloatArray, int], exact: bool | None
) -> None:
    make, weights, _ = case
    covers = curve(make, weights, len(make) + 2, exact=exact)
    assert len(covers) == len(make) + 2
    for fewer, more in pairwise(covers):
        assert more.kept >= fewer.kept
        assert len(more.lines) <= len(fewer.lines) + 1
    assert covers[-1].kept == pytest.approx(whole(make, weights), abs=slack(weights))
    assert covers[-1].exact
    for count, found in enumerate(covers, start=1):
        alone = cover(make, weights, count, exact=exact)
        assert alone.kept == pytest.approx(found.kept, abs=slack(weights))


@given(cases(), st.randoms(use_true_random=False))
def test_the_order_of_the_lines_changes_nothing_that_is_kept(
    case: tuple[FloatArray, FloatArray, int], shuffler: Random
) -> None:
    make, weights, count = case
    order = list(range(len(make)))
    shuffler.shuffle(order)
    found, turned = (cover(rows, weights, count, exact=True) for rows in (make, make[order]))
    assert turned.kept == pytest.approx(found.kept, abs=slack(weights))


def test_a_worked_case_comes_out_as_by_hand() -> None:
    # Derived by hand. Four leaves left 40, 30, 20 and 10 times, four lines:
    #           A     B     C     D     alone
    #   line 0  .9    .1    .5    0     36 + 3 + 10     = 49
    #   line 1  .2    .8    .1    .3     8 + 24 + 2 + 3 = 37
    #   line 2  .6    .7    0     .1    24 + 21 + 1     = 46
    #   line 3  0     0     .9    .8    18 + 8          = 26
    # Two lines, the sums of the column maxima:
    #   0 and 1: 36 + 24 + 10 + 3 = 73    1 and 2: 24 + 24 + 2 + 3  = 53
    #   0 and 2: 36 + 21 + 10 + 1 = 68    1 and 3:  8 + 24 + 18 + 8 = 58
    #   0 and 3: 36 + 3 + 18 + 8  = 65    2 and 3: 24 + 21 + 18 + 8 = 71
    # Three lines, 0, 1 and 3: 36 + 24 + 18 + 8 = 86, which is the whole; line 2 adds nothing to
    # them. After 0 (49), 1 adds 24 and then 3 adds 13.
    make = np.array(
        [[0.9, 0.1, 0.5, 0], [0.2, 0.8, 0.1, 0.3], [0.6, 0.7, 0, 0.1], [0, 0, 0.9, 0.8]]
    )
    weights = np.array([40.0, 30.0, 20.0, 10.0])
    one, two, three, four = curve(make, weights, 4, exact=True)
    assert (one.lines, two.lines, three.lines, four.lines) == ((0,), (0, 1), (0, 1, 3), (0, 1, 3))
    assert [found.kept for found in (one, two, three, four)] == pytest.approx([49, 73, 86, 86])
    assert whole(make, weights) == pytest.approx(86)
    assert two.serves.tolist() == [0, 1, 0, 1]
    assert three.serves.tolist() == [0, 1, 2, 2]


# Derived by hand: line 0 makes every leave six times in ten, 2.4 in all, and 1 and 2 make two each
# always, 2 each. Greedy starts with 0 and ends at 3.2; 1 and 2 keep 4.
GREEDY_TRAP = np.array([[0.6, 0.6, 0.6, 0.6], [1, 1, 0, 0], [0, 0, 1, 1]])


@pytest.mark.parametrize("exact", [False, None, True])
def test_a_good_line_for_all_gives_way_to_two_that_are_better_together(exact: bool | None) -> None:
    weights = np.ones(4)
    assert greedy_alone(GREEDY_TRAP, weights, 2) == pytest.approx(3.2)
    found = cover(GREEDY_TRAP, weights, 2, exact=exact)
    assert found.lines == (1, 2)
    assert found.kept == pytest.approx(4)
    assert [one.lines for one in curve(GREEDY_TRAP, weights, 2, exact=exact)] == [(0,), (1, 2)]


def trap_without_a_way_out() -> tuple[FloatArray, FloatArray]:
    """Return a case in which no exchange of one line improves on greedy, though three at once do.

    Derived by hand: twelve leaves of like weight in a table of three rows by four columns, and a
    line for each. A column's makes .99 of its three and .45 of all others, a row's .9 of its four
    and nothing else. By columns (c) and rows (r):

    - one line: c 2.97 + 9 * .45 = 7.02, r 3.6
    - two: cc 5.94 + 6 * .45 = 8.64, cr 2.97 + 3 * .9 + 6 * .45 = 8.37, rr 7.2
    - three: ccc 8.91 + 3 * .45 = 10.26, ccr 5.94 + 2 * .9 + 4 * .45 = 9.54,
      crr 2.97 + 6 * .9 + 3 * .45 = 9.72, rrr 12 * .9 = 10.8
    """
    leaves = np.arange(12)
    columns = [np.where(leaves % 4 == column, 0.99, 0.45) for column in range(4)]
    rows = [np.where(leaves // 4 == row, 0.9, 0.0) for row in range(3)]
    return np.array([*columns, *rows]), np.ones(12)


def test_where_exchanges_end_too_early_the_prices_or_the_program_find_more() -> None:
    make, weights = trap_without_a_way_out()
    quick, exact = cover(make, weights, 3, exact=False), cover(make, weights, 3)
    assert (quick.lines, exact.lines) == ((0, 1, 2), (4, 5, 6))
    assert [quick.kept, exact.kept] == pytest.approx([10.26, 10.8])
    assert quick.bound >= exact.kept
    assert (quick.exact, exact.exact) == (False, True)


def test_lines_that_are_alike_are_taken_once_and_the_first_of_them() -> None:
    make = np.array([[0.9, 0.0], [0.9, 0.0], [0.0, 0.4], [0.9, 0.0], [0.0, 0.4]])
    for exact in (False, None, True):
        found = cover(make, np.array([1.0, 1.0]), 4, exact=exact)
        assert found.lines == (0, 2)
        assert found.kept == pytest.approx(1.3)


def test_a_line_that_another_beats_everywhere_is_never_taken() -> None:
    make, weights = a_lane_of(40, 8, seed=3)
    worse = np.vstack([0.9 * make, make])
    for found in curve(worse, weights, 6, exact=None):
        assert min(found.lines) >= 40


def test_what_differs_by_less_than_a_billionth_is_a_tie_and_goes_to_the_first() -> None:
    make = np.array([[0.5, 0.5], [0.5 + 2e-10, 0.5], [0.5, 0.5 + 3e-10]])
    assert cover(make, np.ones(2), 1).lines == (0,)
    assert cover(make[::-1], np.ones(2), 3).lines == (0,)


def test_the_line_that_adds_most_comes_first_and_serves_where_lines_are_equal() -> None:
    make = np.array([[0.0, 0.8, 0.5], [0.9, 0.0, 0.5]])
    found = cover(make, np.array([5.0, 1.0, 1.0]), 2)
    assert found.lines == (1, 0)
    assert found.serves.tolist() == [0, 1, 0]


def test_a_leave_of_weight_nought_is_served_but_decides_nothing() -> None:
    make = np.array([[0.5, 1.0, 0.2], [0.6, 0.0, 0.1], [0.1, 0.0, 0.9]])
    weights = np.array([1.0, 0.0, 1.0])
    found = cover(make, weights, 2)
    assert found.lines == (2, 1)
    assert found.serves.tolist() == [1, 0, 0]
    assert cover(make, weights, 3).lines == (2, 1)


@pytest.mark.parametrize("exact", [False, None, True])
@pytest.mark.parametrize("weights", [np.zeros(2), np.ones(2)])
def test_where_no_line_keeps_anything_there_is_one_all_the_same(
    exact: bool | None, weights: FloatArray
) -> None:
    found = cover(np.zeros((3, 2)), weights, 2, exact=exact)
    assert (found.lines, found.kept, found.bound, found.exact) == ((0,), 0.0, 0.0, True)
    assert found.serves.tolist() == [0, 0]


def test_the_scale_of_the_weights_changes_only_the_scale_of_what_is_kept() -> None:
    make, weights = a_lane_of(60, 12, seed=4)
    for factor in (1e-7, 1e6):
        for plain, scaled in zip(
            curve(make, weights, 5, exact=None),
            curve(make, factor * weights, 5, exact=None),
            strict=True,
        ):
            assert scaled.lines == plain.lines
            assert scaled.kept == pytest.approx(factor * plain.kept)


@pytest.mark.parametrize("seed", range(4))
def test_no_set_of_many_lines_keeps_more(seed: int) -> None:
    make, weights = a_lane_of(60, 12, seed)
    for count, found in enumerate(curve(make, weights, 3, exact=None), start=1):
        assert found.exact
        assert found.kept == pytest.approx(best_of_all(make, weights, count), abs=slack(weights))


@pytest.mark.parametrize("seed", range(4))
def test_the_program_alone_finds_what_the_prices_do(seed: int) -> None:
    make, weights = a_lane_of(40, 10, seed)
    for count in (2, 4, 6):
        picked = covering._solved(make * weights, count, 30.0)
        assert picked is not None
        assert picked.size <= count
        kept = float(weights @ make[picked].max(axis=0))
        assert kept == pytest.approx(cover(make, weights, count).kept, rel=1e-7)


@pytest.mark.parametrize("seed", range(3))
def test_prices_leave_every_line_that_a_better_set_may_need(seed: int) -> None:
    make, weights = np.random.default_rng(seed).random((12, 6)), np.ones(6)
    best = best_of_all(make, weights, 3)
    poor = covering._Sketch(np.array([0, 1, 2]), np.inf)  # far from the best to start with
    found, left = covering._priced(make * weights, 3, poor)
    assert found.bound >= best - slack(weights)
    kept = float(weights @ make[found.lines].max(axis=0))
    if kept < best - slack(weights):
        assert best_of_all(make[left], weights, 3) == pytest.approx(best)


def hard() -> tuple[FloatArray, FloatArray]:
    """Return chances without any order, where prices leave a gap."""
    return np.random.default_rng(5).random((40, 20)), np.ones(20)


def test_where_the_solver_gives_up_the_best_found_stands_with_its_bound(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    make, weights = hard()
    best = cover(make, weights, 3, exact=True)
    assert best.exact
    monkeypatch.setattr(covering, "_LONGEST_IF_ASKED_S", 0.0)
    found = cover(make, weights, 3, exact=True)
    assert not found.exact
    assert cover(make, weights, 3, exact=False).kept <= found.kept <= best.kept < found.bound
    assert found.bound < cover(make, weights, 3, exact=False).bound


def test_what_is_too_large_is_left_to_prices_unless_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    make, weights = hard()
    monkeypatch.setattr(covering, "_SMALL", 10)
    assert not cover(make, weights, 3).exact
    assert cover(make, weights, 3, exact=True).exact


@pytest.mark.parametrize(
    ("make", "weights", "count", "words"),
    [
        (np.ones(3), np.ones(3), 1, "lines by leaves"),
        (np.ones((0, 3)), np.ones(3), 1, "at least one each"),
        (np.ones((3, 0)), np.ones(0), 1, "at least one each"),
        (np.ones((3, 2)), np.ones(3), 1, "one a leave"),
        (np.ones((3, 2)), np.ones((1, 2)), 1, "one a leave"),
        (np.full((3, 2), 1.1), np.ones(2), 1, "from 0 to 1"),
        (np.full((3, 2), np.nan), np.ones(2), 1, "from 0 to 1"),
        (np.ones((3, 2)), np.array([1, -1]), 1, "not negative"),
        (np.ones((3, 2)), np.array([1, np.inf]), 1, "finite"),
        (np.ones((3, 2)), np.ones(2), 0, "at least one line, not 0"),
    ],
)
def test_what_cannot_be_covered_is_refused(
    make: FloatArray, weights: FloatArray, count: int, words: str
) -> None:
    for call in (cover, curve):
        with pytest.raises(ValueError, match=words):
            call(make, weights, count)
