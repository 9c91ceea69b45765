"""The few lines to remember: of all that could be thrown, the K that keep the most of the spares.

Each leave gets the best of the K lines, so what a set of lines keeps never grows faster by one more
line than a smaller set does: it is submodular, the problem that of placing K plants.

- Greedy, a line at a time, keeps at least 1 - 1/e of the most that K lines can (Nemhauser, Wolsey &
  Fisher, Mathematical Programming 14, 265-294, 1978). Exchanges of a line improve on it.
- A price for each leave bounds what any K lines keep, tells which lines cannot be among better ones
  and leads to good sets (Cornuéjols, Fisher & Nemhauser, Management Science 23, 789-810, 1977; the
  steps are those of Held, Wolfe & Crowder, Mathematical Programming 6, 62-88, 1974; both from
  memory).
- Of the lines that are left an integer program picks the best K. Its rows are the distinct levels
  of each leave (Elloumi, Journal of Combinatorial Optimization 19, 69-83, 2010; from memory).

Nothing here knows what a line or a leave is. Chances are taken to a billionth, and so are gains as
shares of the weights, so that ties break alike on every machine: to the smaller index.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cardgen.lane.geometry import FloatArray, IndexArray

_DECIMALS = 9  # far above rounding noise, far below what a bowler can feel
_TOLD_APART = 10.0**-_DECIMALS
_EARNED_DECIMALS = 12  # the sum of many must still be right to a billionth
_GREEDY_SHARE = 1 - math.exp(-1)  # Nemhauser, Wolsey & Fisher 1978
# The search for prices. All are assumptions, checked numerically on charts of 900 to 2,000 lines.
_STEPS = 250
_FIRST_STEP = 1.5  # as a share of the way to where the bound would be met
_LOOK_EVERY = 10  # steps from one look at what the prices have shown to the next
_PATIENCE = 12  # steps without a better bound before they are halved
_SHORTEST_STEP = 0.01
_SMALL = 6_000  # lines times leaves: 0.1 s, if near lines are alike (checked numerically)
# Chances without any order take the solver far longer. No lane has them: these are a last resort,
# since what stops a solver should not depend on the machine.
_LONGEST_S = 2.0
_LONGEST_IF_ASKED_S = 30.0
# The solver stops at a gap of 1e-6 whatever the size of the numbers: so they are made large.
_SCALE = 1e4


@dataclass(frozen=True, eq=False)
class Cover:
    """A few lines and what they keep.

    ``lines``: rows of ``make``, in the order in which they add most, none that adds nothing.
    ``serves`` (leaves,): for each leave, the position in ``lines`` of the one to throw at it.
    ``kept``: sum of weight times chance over the leaves. ``bound``: no set of so many lines keeps
    more; ``exact``: nor more than these do, to a billionth of the weights (to a millionth, the
    solver's own tolerance, where it had to be asked).
    """

    lines: tuple[int, ...]
    serves: IndexArray
    kept: float
    bound: float
    exact: bool


def cover(make: ArrayLike, weights: ArrayLike, count: int, *, exact: bool | None = None) -> Cover:
    """Return the ``count`` lines that keep the most; fewer where more would add nothing.

    ``make`` (lines, leaves): the chance that a line makes a leave. ``weights`` (leaves,): how often
    each is left, on any scale; a leave of weight nought decides nothing but is served too. With
    ``exact`` False greedy and exchanges do, and the bound is a loose one. With None prices tighten
    it, and the integer program is solved if few lines are left by then; with True in any case.
    Where the solver gives up, after some seconds, the best lines found stand, with their bound.

    Raises ValueError for arrays that do not match or are empty, chances outside 0 to 1, negative
    weights and a ``count`` below 1.
    """
    task = _task(make, weights, count)
    few = min(count, len(task.make))
    sketch = _sketches(task.worth, few)[-1]
    if exact is not False:
        sketch = _proved(task.worth, few, sketch, at_any_size=exact is True)
    return _told(task, sketch)


def curve(
    make: ArrayLike, weights: ArrayLike, most: int, *, exact: bool | None = False
) -> list[Cover]:
    """Return the covers by 1, 2, ... ``most`` lines; what they keep never falls.

    Quick unless asked to be ``exact``, which means what it does to :func:`cover`. The last ones are
    the same where another line would add nothing. Raises as :func:`cover` does.
    """
    task = _task(make, weights, most)
    sketches = _sketches(task.worth, min(most, len(task.make)))
    if exact is not False:
        sketches = _all_proved(task.worth, sketches, at_any_size=exact is True)
    covers = [_told(task, sketch) for sketch in sketches]
    return covers + covers[-1:] * (most - len(covers))


def whole(make: ArrayLike, weights: ArrayLike) -> float:
    """Return what all lines together keep: each leave by the line that makes it best.

    Raises as :func:`cover` does.
    """
    task = _task(make, weights, 1)
    return _sum(task.make.max(axis=0), task.weights)


class _Task(NamedTuple):
    """What was asked: ``worth`` (lines, leaves that count) is chance times share of the weights."""

    make: FloatArray
    weights: FloatArray
    worth: FloatArray


class _Sketch(NamedTuple):
    """Some lines, rows of the worth, and a bound on what any so many are worth."""

    lines: IndexArray
    bound: float


def _task(make: ArrayLike, weights: ArrayLike, count: int) -> _Task:
    given, often = np.asarray(make, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    chance: FloatArray = given.round(_DECIMALS)
    if chance.ndim != 2 or not chance.size:
        raise ValueError(f"make must be lines by leaves, at least one each, not {chance.shape}")
    if often.shape != chance.shape[1:]:
        raise ValueError(f"weights must be one a leave, {chance.shape[1:]}, not {often.shape}")
    if not ((chance >= 0) & (chance <= 1)).all():
        raise ValueError("make must be chances, from 0 to 1")
    if not ((often >= 0) & np.isfinite(often)).all():
        raise ValueError("weights must be finite and not negative")
    if count < 1:
        raise ValueError(f"there must be at least one line, not {count}")
    counts = often > 0
    return _Task(chance, often, chance[:, counts] * (often[counts] / often.sum()))


def _sum(chance: FloatArray, weights: FloatArray) -> float:
    return float((weights * chance).sum())


def _told(task: _Task, sketch: _Sketch) -> Cover:
    """Return what a bowler is told: the lines in order, which serves what, in his own weights."""
    lines = np.sort(sketch.lines)
    lines = lines[_greedy(task.worth[lines], lines.size).lines]
    for line in lines.tolist():  # the others may have come to do all that an early one did
        others = lines[lines != line]
        if others.size and np.array_equal(_better(task.worth, others, lines), others):
            lines = others
    make = task.make[lines]
    kept, total = _sum(make.max(axis=0), task.weights), float(task.weights.sum())
    bound = min(sketch.bound * total, _sum(task.make.max(axis=0), task.weights))
    exact = bound <= kept + _TOLD_APART * total
    serves: IndexArray = make.argmax(axis=0)
    return Cover(tuple(lines.tolist()), serves, kept, kept if exact else bound, exact)


def _worth_of(worth: FloatArray, lines: IndexArray) -> float:
    return float(worth[lines].max(axis=0, initial=0.0).sum())


def _better(worth: FloatArray, one: IndexArray, other: IndexArray) -> IndexArray:
    """Return the lines that are worth more; of equals ``one``."""
    gain = _worth_of(worth, other) - _worth_of(worth, one)
    return other if round(gain, _DECIMALS) > 0 else one


def _gains(worth: FloatArray, covered: FloatArray) -> FloatArray:
    """Return what each line (n,) adds to leaves that are already worth ``covered`` (m,)."""
    gains: FloatArray = np.maximum(worth - covered, 0.0).sum(axis=1)
    return gains


class _Greedy(NamedTuple):
    """The lines in greedy order, and a bound (steps,) for as many lines as there are steps."""

    lines: IndexArray
    bounds: FloatArray


def _greedy(worth: FloatArray, steps: int) -> _Greedy:
    """Return up to ``steps`` lines, each the one that adds most; none but the first adds nothing.

    To any set, K lines add no more than the K greatest gains: a bound at every step.
    """
    covered = np.zeros(worth.shape[1])
    lines: list[int] = []
    bounds = np.full(steps, np.inf)
    while True:
        gains = _gains(worth, covered)
        here = covered.sum() + np.cumsum(np.sort(gains)[::-1][:steps])
        as_many = slice(max(len(lines) - 1, 0), None)  # as are chosen, or more
        bounds[as_many] = np.minimum(bounds[as_many], here[as_many])
        line = int(np.round(gains, _DECIMALS).argmax())
        nothing = round(float(gains[line]), _DECIMALS) == 0
        if len(lines) == steps or (nothing and lines):
            break
        lines.append(line)
        covered = np.maximum(covered, worth[line])
        bounds[len(lines) - 1] = min(bounds[len(lines) - 1], covered.sum() / _GREEDY_SHARE)
    return _Greedy(np.array(lines, dtype=np.intp), bounds)


def _sketches(worth: FloatArray, most: int) -> list[_Sketch]:
    """Return the lines that greedy and exchanges find, for 1 to ``most`` of them."""
    greedy = _greedy(worth, most)
    sketches: list[_Sketch] = []
    lines: IndexArray = np.array([], dtype=np.intp)
    for k in range(1, most + 1):
        first = greedy.lines[:k]
        longer = _lengthened(worth, lines)
        if k > 1 and longer.size == lines.size:  # nothing adds anything any more
            sketches.append(_Sketch(lines, _worth_of(worth, lines)))
            continue
        same = np.array_equal(np.sort(first), np.sort(longer))
        lines = _exchanged(worth, first)
        if not same:
            lines = _better(worth, lines, _exchanged(worth, longer))
        sketches.append(_Sketch(lines, float(greedy.bounds[k - 1])))
    return sketches


def _lengthened(worth: FloatArray, lines: IndexArray) -> IndexArray:
    """Return ``lines`` and the one that adds most to them, if any adds anything."""
    gains = np.round(_gains(worth, worth[lines].max(axis=0, initial=0.0)), _DECIMALS)
    line = int(gains.argmax())
    return np.append(lines, line) if gains[line] > 0 or not lines.size else lines


def _exchanged(worth: FloatArray, lines: IndexArray) -> IndexArray:
    """Return ``lines`` after the best exchange of one for another, and so on while it gains."""
    lines = lines.copy()
    leaves = np.arange(worth.shape[1])
    while True:
        chosen = worth[lines]
        server = chosen.argmax(axis=0)
        best = chosen.max(axis=0)
        chosen[server, leaves] = 0.0
        second = chosen.max(axis=0)
        # Taking a server away leaves the second best, or what the newcomer makes if that is more.
        lost = best - np.clip(worth, second, best)
        gains = _gains(worth, best)[:, None] - lost @ (server[:, None] == np.arange(lines.size))
        gains = np.round(gains, _DECIMALS)
        newcomer, place = divmod(int(gains.argmax()), lines.size)
        if gains[newcomer, place] <= 0:
            return lines
        lines[place] = newcomer


def _all_proved(worth: FloatArray, sketches: list[_Sketch], *, at_any_size: bool) -> list[_Sketch]:
    """Prove sketches by 1, 2, ... lines in turn, none worse than the one before."""
    proved: list[_Sketch] = []
    for count, (lines, bound) in enumerate(sketches, start=1):
        if proved:
            longer = _lengthened(worth, proved[-1].lines)
            if longer.size == proved[-1].lines.size:  # nothing adds anything any more
                proved.append(proved[-1])
                continue
            lines = _better(worth, lines, _exchanged(worth, longer))
        proved.append(_proved(worth, count, _Sketch(lines, bound), at_any_size=at_any_size))
    return proved


def _proved(worth: FloatArray, count: int, sketch: _Sketch, *, at_any_size: bool) -> _Sketch:
    """Return ``count`` lines at least as good as the sketch's, with a tighter bound."""
    sketch, left = _priced(worth, count, sketch)
    if left.size:
        # Whatever another line beats everywhere is not needed.
        left = left[_undominated(worth[left])]
        if at_any_size or left.size * worth.shape[1] <= _SMALL:
            longest_s = _LONGEST_IF_ASKED_S if at_any_size else _LONGEST_S
            picked = _solved(worth[left], count, longest_s)
            if picked is not None:
                lines = _better(worth, sketch.lines, left[picked])
                return _Sketch(lines, _worth_of(worth, lines))
    return sketch


def _priced(worth: FloatArray, count: int, sketch: _Sketch) -> tuple[_Sketch, IndexArray]:
    """Search for the prices of the leaves that bound best what ``count`` lines are worth.

    A line that sells all it can above ``price`` earns the rest: no set is worth more than the
    prices and what its lines earn, so none more than the prices and the greatest earnings. Returns
    the best lines met on the way with the bound, and the lines (some of the worth's rows, rising)
    of any set that is worth more; none where the bound is met.
    """
    lines, bound = sketch
    kept = _worth_of(worth, lines)
    left: IndexArray = np.arange(len(worth))
    price = worth[lines].max(axis=0, initial=0.0)
    least, length, waited, looked = np.inf, _FIRST_STEP, 0, set[tuple[int, ...]]()
    promising, promised = left[:0], -np.inf
    for step in range(_STEPS):
        if not left.size or bound <= kept + _TOLD_APART:
            break
        there = worth[left]
        earned = np.round(_gains(there, price), _EARNED_DECIMALS)
        top = np.argsort(-earned, kind="stable")[:count]
        here = float(price.sum() + earned[top].sum())
        waited = 0 if here < least - _TOLD_APART else waited + 1
        least = min(least, here)
        bound = min(bound, least)
        if waited == _PATIENCE:
            length, waited = length / 2, 0
        found = _worth_of(there, top)
        if round(found - promised, _DECIMALS) > 0:
            promising, promised = left[top], found
        over = (there[top] > price).sum(axis=0) - 1
        done = length < _SHORTEST_STEP or not over.any()
        if step % _LOOK_EVERY == 0 or done:
            known = tuple(np.sort(promising).tolist())
            if known not in looked:
                looked.add(known)
                lines = _better(worth, lines, left[_exchanged(there, left.searchsorted(known))])
                kept = _worth_of(worth, lines)
            promised = -np.inf
            # A set with this line is worth no more than the bound with it for the least of the top.
            left = left[here - earned[top].min() + earned > kept + _TOLD_APART]
        if done:
            break
        price = np.maximum(price + length * (here - kept) / (over**2).sum() * over, 0.0)
    if not left.size or bound <= kept + _TOLD_APART:
        return _Sketch(lines, kept), left[:0]
    return _Sketch(lines, bound), left


def _undominated(worth: FloatArray) -> IndexArray:
    """Return the rows, rising, that no other equals or exceeds everywhere; of equals the first."""
    kept: list[int] = []
    for row in np.argsort(-np.round(worth.sum(axis=1), _DECIMALS), kind="stable").tolist():
        if not (worth[kept] >= worth[row]).all(axis=1).any():
            kept.append(row)
    return np.sort(np.array(kept, dtype=np.intp))


def _solved(worth: FloatArray, count: int, longest_s: float) -> IndexArray | None:
    """Return the ``count`` rows or fewer that are worth most together; None if the solver gave up.

    A variable a line, whether it is chosen, and one for each level of each leave but the lowest:
    whether the leave is served at that level or above. It is only if it is served above, or some
    line of just that level is chosen.
    """
    # Imported here: it costs more than a whole quick curve.
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    lines = len(worth)
    rows, columns, values, steps = [], [], [], []
    rung = 0
    for leave in worth.T:
        levels, level = np.unique(leave, return_inverse=True)
        rungs = rung + np.arange(levels.size - 1)
        at = np.flatnonzero(level)
        rows += [rungs, rungs[:-1], rung + level[at] - 1]
        columns += [lines + rungs, lines + rungs[1:], at]
        values += [np.ones(rungs.size), -np.ones(rungs[1:].size), -np.ones(at.size)]
        steps.append(np.diff(levels))
        rung += rungs.size
    rows.append(np.full(lines, rung))
    columns.append(np.arange(lines))
    values.append(np.ones(lines))
    entries = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
    table = csr_array(entries, shape=(rung + 1, lines + rung))
    most = np.append(np.zeros(rung), float(count))
    solved = milp(
        -_SCALE * np.concatenate([np.zeros(lines), *steps]),
        integrality=np.append(np.ones(lines), np.zeros(rung)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(table, -np.inf, most),
        options={"mip_rel_gap": 0.0, "time_limit": longest_s},
    )
    if solved.status != 0:
        return None
    return np.flatnonzero(solved.x[:lines] > 0.5)
