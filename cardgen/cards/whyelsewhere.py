"""Why one bowler stands elsewhere than another for the same leave.

A stand is a sum: the board that the ball is set down on, what the foot is beside the ball, the
drift and the walk. So for two of one hand the differences of the parts, as printed, add up to that
of the stands; nothing is said that the numbers do not.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from cardgen.cards.card import leave_label, side_word, speed_text
from cardgen.cards.words import Words
from cardgen.lane.condition import OiledLane
from cardgen.lane.geometry import BOARD_M, Hand
from cardgen.profile.belief import UNKNOWNS
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Line
from cardgen.targeting.lines import lines_of
from cardgen.units import DEGREE_RAD, FOOT_M, RPM_RADPS

_TOLD = 0.3  # boards: who stands so little elsewhere would not know it
_HOOKS = 0.5  # boards of hook, from which on its reasons are told
_ALIKE = 1e-9  # what is put in and taken out again comes back so well


@dataclass(frozen=True)
class Parts:
    """What a stand is made of, in boards as printed: its parts add up to it, tenth by tenth.

    ``walk`` is what the walk adds to the stand, ``crossed`` the board at the arrows, ``arrive``
    that at the pins and ``curve`` how far the ball curves away from the ball side; ``ratio`` is the
    way to the arrows over the rest of it.
    """

    stand: float
    laydown: float
    gap: float
    drift: float
    walk: float
    crossed: float
    arrive: float
    curve: float
    ratio: float

    @property
    def lean(self) -> float:
        """How far beyond the arrows the ball would have leant towards the ball side, straight."""
        return self.crossed - self.arrive + self.curve


@dataclass(frozen=True, eq=False)
class Thrown:
    """A bowler's line taken apart; ``letter`` is what he is called, ``lane`` as his profile has it.

    The bowler's own lane may be what his shots tell of it.
    """

    letter: str
    bowler: Bowler
    lane: OiledLane
    line: Line
    parts: Parts

    @property
    def ball(self) -> BallChoice:
        """The ball that is thrown."""
        return self.bowler.ball(self.line.ball)


def thrown_of(letter: str, chart: Chart, line: Line) -> Thrown:
    """Return a line of ``chart`` taken apart; ``letter`` is what its bowler is called."""
    bowler = chart.bowler
    return Thrown(letter, bowler, _as_told(chart), line, _parts(line, bowler))


def _parts(line: Line, bowler: Bowler) -> Parts:
    habits = bowler.habits
    gap, drift = round(habits.gap_m / BOARD_M, 1), round(habits.drift_m / BOARD_M, 1)
    laydown, arrive = round(line.laydown, 1), round(line.arrive, 1)
    crossed = round(line.target - bowler.aim_m / BOARD_M, 1)
    to_target = line.trace.target_y_m / FOOT_M
    beyond = line.leave.front_row_m / FOOT_M - to_target
    curve = arrive - (crossed + (crossed - laydown) * beyond / to_target)
    walk = round(line.stand - laydown - gap - drift, 1)
    return Parts(
        line.stand, laydown, gap, drift, walk, crossed, arrive, round(curve, 1), to_target / beyond
    )


def against(own: Thrown, other: Thrown, words: Words) -> str:
    """Return how far from the other's board one of the same hand stands."""
    off = own.parts.stand - other.parts.stand
    if not off:
        return words("clinic.against_same", letter=other.letter)
    return words(
        "clinic.against",
        boards=words.number(abs(off), 1),
        side=side_word(words, own.bowler.hand, ball_side=off < 0),
        letter=other.letter,
    )


def reasons(own: Thrown, other: Thrown, words: Words) -> Iterator[str]:
    """Yield why one stands elsewhere than the other of the same hand, what moves him most first."""
    hand = own.bowler.hand
    one, two = own.parts, other.parts

    def values(boards: float, ball_side: bool) -> dict[str, str]:
        side = side_word(words, hand, ball_side=ball_side)
        return {"boards": words.number(abs(boards), 1), "side": side}

    gap, drift, walk = one.gap - two.gap, one.drift - two.drift, one.walk - two.walk
    hangs = words(
        "clinic.gap_more" if gap > 0 else "clinic.gap_less", boards=words.number(abs(gap), 1)
    )
    found = [
        (gap, hangs),
        (drift, words("clinic.drift", **values(drift, drift > 0))),
        # What the walk adds to the stand it takes back on the way.
        (walk, words("clinic.walk", **values(walk, walk > 0))),
        (one.laydown - two.laydown, _laid(one, two, hand, words)),
    ]
    # Parts of the same size stay in the order in which they come about.
    for by, text in sorted(found, key=lambda part: -round(abs(part[0]), 1)):
        if round(abs(by), 1) >= _TOLD:
            yield f"{text}\n→ {words('back.move_feet', **values(by, by < 0))}"
    yield from _hooks(own, other, words)


def _laid(one: Parts, two: Parts, hand: Hand, words: Words) -> str:
    """Return by how much the ball is set down elsewhere, and what that comes of.

    A laydown is the board crossed at the arrows, and more by ``ratio`` times what the ball would
    have leant beyond them if it were straight; the product is shared out by the means of both.
    """
    by = one.laydown - two.laydown
    ratio = (one.ratio + two.ratio) / 2
    lean = (one.lean + two.lean) / 2
    crossed, arrive = one.crossed - two.crossed, one.arrive - two.arrive
    causes = [
        (
            # The arrows of other boards are nearer or farther.
            (1 + ratio) * crossed + (one.ratio - two.ratio) * lean,
            crossed,
            words(
                "clinic.crosses",
                boards=words.number(abs(crossed), 1),
                side=side_word(words, hand, ball_side=crossed < 0),
            ),
        ),
        (
            ratio * (one.curve - two.curve),
            one.curve - two.curve,
            words("clinic.curves_more" if one.curve > two.curve else "clinic.curves_less"),
        ),
        (
            -ratio * arrive,
            -arrive,
            words(
                "clinic.arrives",
                boards=words.number(abs(arrive), 1),
                side=side_word(words, hand, ball_side=arrive < 0),
            ),
        ),
    ]
    # What works against it is no reason for it.
    towards = [(abs(part), text) for part, shift, text in causes if min(part * by, shift * by) > 0]
    least = min(_TOLD, max((part for part, _ in towards), default=0.0))
    why = [text for part, text in towards if part >= least]
    values = {
        "boards": words.number(abs(by), 1),
        "side": side_word(words, hand, ball_side=by < 0),
    }
    if not why:
        return words("clinic.laid_only", **values)
    return words("clinic.laid", **values, why=words.listed(why))


def _hooks(own: Thrown, other: Thrown, words: Words) -> Iterator[str]:
    """Yield by how much the ball hooks more or less, and what that comes of."""
    by = own.parts.curve - other.parts.curve
    if abs(by) < _HOOKS:
        return
    boards = words.number(abs(by), 1)
    why = tuple(_release(own, other, math.copysign(1.0, by), words))
    if not why:
        yield words("clinic.hooks_more" if by > 0 else "clinic.hooks_less", boards=boards)
        return
    yield words(
        "clinic.hooks_more_for" if by > 0 else "clinic.hooks_less_for",
        boards=boards,
        why=words.listed(why),
    )


def _release(own: Thrown, other: Thrown, sign: float, words: Words) -> Iterator[str]:
    """Yield what in ball, release and oil makes the hook differ, with the other's beside it.

    Of each the ball is thrown once more over the same line with what the other has: that has to
    take away some of the difference, or it is no reason for it.
    """
    one, two, lane = own.ball, other.ball, other.bowler.lane.seen_by(own.bowler.hand)
    with_ball = replace(one, ball=two.ball, cover=two.cover).on(own.bowler.lane)
    speeds, revs, turns = (
        [words(key, **{name: text}) for text in texts]
        for key, name, texts in (
            ("card.speed", "speed", [speed_text(x.speed_mps, words) for x in (one, two)]),
            (
                "clinic.rev",
                "rev",
                [words.number(x.rev_radps / RPM_RADPS, 0) for x in (one, two)],
            ),
            (
                "clinic.rotation",
                "degrees",
                [words.number(x.rotation_rad / DEGREE_RAD, 0) for x in (one, two)],
            ),
        )
    )
    covers = [words(f"covers.{x.cover}") for x in (one, two)]
    if one.name != two.name:  # the release that follows is that of another ball
        yield _than(words(f"balls.{one.name}"), words(f"balls.{two.name}"), other, words)
    changed = [
        (with_ball, covers),
        (replace(one, speed_mps=two.speed_mps), speeds),
        (replace(one, rev_radps=two.rev_radps), revs),
        (replace(one, rotation_rad=two.rotation_rad), turns),
    ]
    curve = _curve(own, one)
    for ball, (mine, theirs) in changed:
        if mine != theirs and sign * (curve - _curve(own, ball)) >= _TOLD:
            yield _than(mine, theirs, other, words)
    if sign * (curve - _curve(own, one.on(lane))) >= _TOLD:
        alike = lanes_alike(own.lane, other.lane)
        yield words("clinic.own_oil") if alike else words("clinic.other_oil")


def _than(mine: str, theirs: str, other: Thrown, words: Words) -> str:
    """Return a value with the other's beside it, to be broken between them alone."""
    mine, theirs = (text.replace(" ", "\u00a0") for text in (mine, theirs))
    return words("clinic.than", mine=mine, theirs=theirs, letter=other.letter)


def _curve(own: Thrown, ball: BallChoice) -> float:
    """Return how far ``ball`` curves on the same line, in boards away from the ball side."""
    thrown = lines_of(own.bowler, ball, own.line.stand, own.line.target)
    row_m = own.line.leave.front_row_m
    crossed, laydown = float(thrown.target_x_m[0]), float(thrown.laydown_x_m[0])
    straight = crossed + (crossed - laydown) * (row_m / float(thrown.target_y_m[0]) - 1)
    return (straight - float(thrown.path([row_m]).x_m[0, 0])) / BOARD_M


def reasons_of_hand(own: Thrown, other: Thrown, words: Words) -> Iterator[str]:
    """Yield what another hand does: boards cannot be set against each other."""
    hand, leave = own.bowler.hand, own.line.leave
    yield words("clinic.hand", side=side_word(words, hand, ball_side=True))
    if leave.mirrored != leave:
        yield words("clinic.mirror", leave=leave_label(leave.mirrored, words), letter=other.letter)
    yield from _hooks(own, other, words)


def _as_told(chart: Chart) -> OiledLane:
    """Return the lane as the profile has it, without what a fit believes of it."""
    bowler = chart.bowler
    found = dict(zip(UNKNOWNS, (chart.fit.belief.mean * bowler.scale).tolist(), strict=True))
    return bowler.lane.changed(
        film=math.expm1(-found["film"]),
        friction=math.expm1(-found["friction"]),
        games=-found["games"],
    )


def lanes_alike(one: OiledLane, two: OiledLane) -> bool:
    """Tell whether two lanes are oiled, worn and built alike, whichever hand they are seen by."""
    covers = one.grips.keys()
    return (
        math.isclose(one.games, two.games, abs_tol=_ALIKE)
        and one.slope == two.slope
        and one.screen_m == two.screen_m
        and covers == two.grips.keys()
        and all(
            math.isclose(was, now, rel_tol=_ALIKE)
            for cover in covers
            for was, now in zip(_mu(one, cover), _mu(two, cover), strict=True)
        )
        and np.array_equal(one.fresh.y_edges_m, two.fresh.y_edges_m)
        and np.allclose(one.fresh.film_m, two.fresh.film_m, rtol=_ALIKE, atol=0.0)
    )


def _mu(lane: OiledLane, cover: str) -> tuple[float, float]:
    return lane.grips[cover].oil, lane.grips[cover].dry
