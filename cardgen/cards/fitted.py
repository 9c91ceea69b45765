"""What a fit found, said in boards and in words."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cardgen.cards.card import board_text, leave_label, side_word
from cardgen.cards.words import Words
from cardgen.lane.geometry import BOARD_M
from cardgen.lane.rack import SINGLE_PINS
from cardgen.profile.belief import Belief
from cardgen.profile.bowler import Bowler
from cardgen.profile.fitted import values_of
from cardgen.shotlog.shot import Shot
from cardgen.targeting.chart import Chart
from cardgen.targeting.fit import Fit
from cardgen.targeting.hook import hook_of
from cardgen.units import DEGREE_RAD, MPH_MPS

_VALUE_WORDS = {
    "gap_boards": "fit.gap",
    "distance_ft": "fit.distance",
    "walk": "fit.walk",
    "drift_boards": "fit.drift",
    "aim_boards": "fit.aim",
    "spare_rotation_deg": "fit.spare_rotation",
    "strike_rotation_deg": "fit.strike_rotation",
    "spare_speed_mph": "fit.spare_speed",
    "strike_speed_mph": "fit.strike_speed",
    "film_log": "fit.film",
    "friction_log": "fit.friction",
    "more_games": "fit.games",
}
_SPREAD_WORDS = (
    ("fit.spread_launch", "launch_rad", DEGREE_RAD),
    ("fit.spread_laydown", "laydown_m", BOARD_M),
    ("fit.spread_speed", "speed_mps", MPH_MPS),
)
_DAY = 4  # shots whose boards were seen: of fewer no spread is told


@dataclass(frozen=True)
class FittedRow:
    """A number before and after, each with its deviation, and what it is told in."""

    label: str
    before: str
    after: str
    unit: str


@dataclass(frozen=True)
class FitReport:
    """What a fit found: numbers, how sure the stands are, and what to know about it."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[FittedRow, ...]
    sure_heading: tuple[str, ...]
    sure: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]


def fit_report(
    bowler: Bowler, fit: Fit, old: Chart, new: Chart, shots: Sequence[Shot], words: Words
) -> FitReport:
    """Return what ``fit`` found of ``bowler``, who is still as his profile has him.

    ``old`` and ``new`` are his charts before and after.
    """
    rows = [*_value_rows(bowler, fit, words), *_hook_rows(bowler, old, new, words)]
    if shots:
        rows += _spread_rows(bowler, fit, words)
    notes = list(_notes(bowler, fit, shots, words))
    return FitReport(
        title=words(
            "fit.title", bowler=bowler.name, shots=fit.belief.shots, lines=fit.belief.lines
        ),
        headings=words.all("fit.headings"),
        rows=tuple(rows),
        sure_heading=words.all("fit.sure_headings"),
        sure=tuple(_sure_rows(old, new, words)),
        notes=tuple(notes),
    )


def believed_before(bowler: Bowler) -> Belief:
    """Return what was believed of ``bowler`` before a fit: by the last one, else by his profile."""
    if bowler.learned is not None:
        return bowler.learned.belief
    return Belief(np.zeros(bowler.scale.size), bowler.unsure @ bowler.unsure.T)


def _value_rows(bowler: Bowler, fit: Fit, words: Words) -> Iterator[FittedRow]:
    before = values_of(believed_before(bowler), bowler.said, bowler.scale)
    after = values_of(fit.belief, bowler.said, bowler.scale)
    for name, (value, sd) in before.items():
        label, unit = words.all(_VALUE_WORDS[name])
        was, now = (_told(name, *pair, words) for pair in ((value, sd), after[name]))
        yield FittedRow(label, was, now, unit)


def _told(name: str, value: float, sd: float, words: Words) -> str:
    if name.endswith("_log"):  # as percent more
        return _pair(words, 100 * float(np.expm1(value)), 100 * float(np.exp(value)) * sd, 0)
    return _pair(words, value, sd, 2 if name == "walk" else 0 if name.endswith("_deg") else 1)


def _pair(words: Words, value: float, sd: float, decimals: int) -> str:
    return f"{words.number(value, decimals)} ± {words.number(sd, decimals)}"


def _hook_rows(bowler: Bowler, old: Chart, new: Chart, words: Words) -> Iterator[FittedRow]:
    """Yield the hook of each ball on the first line that the old chart has for it."""
    for ball in bowler.balls:
        line = next((line for line in old.lines if line.ball == ball.name), None)
        if line is None:
            continue
        was, now = (
            hook_of(chart.bowler, ball.name, line.stand, line.target) for chart in (old, new)
        )
        label, unit = words.all("fit.hook", ball=words(f"balls.{ball.name}"))
        yield FittedRow(
            label,
            _pair(words, was.boards, was.unsure_boards, 1),
            _pair(words, now.boards, now.unsure_boards, 1),
            unit,
        )


def _spread_rows(bowler: Bowler, fit: Fit, words: Words) -> Iterator[FittedRow]:
    said = bowler.spread if bowler.learned is None else bowler.learned.spread
    found = fit.spread
    for k, (key, name, unit_si) in enumerate(_SPREAD_WORDS):
        label, unit = words.all(key)
        value = getattr(found, name) / unit_si
        after = _pair(words, value, value * float(fit.spread_log_sd[k]), 2)
        yield FittedRow(label, words.number(getattr(said, name) / unit_si, 2), after, unit)


def _sure_rows(old: Chart, new: Chart, words: Words) -> Iterator[tuple[str, str, str]]:
    before = {line.leave: line.odds.arrive_unsure_boards for line in old.lines if line.reaches}
    for line in new.lines:
        if line.leave in SINGLE_PINS and line.reaches and line.leave in before:
            yield (
                leave_label(line.leave, words),
                f"±{words.number(before[line.leave], 1)}",
                f"±{words.number(line.odds.arrive_unsure_boards, 1)}",
            )


def _notes(bowler: Bowler, fit: Fit, shots: Sequence[Shot], words: Words) -> Iterator[str]:
    if not fit.settled:
        yield words("fit.unsettled")
    if fit.wild:
        yield words("fit.wild", shots="; ".join(_named(shots[i], words) for i in fit.wild))
    strayed = [line for line in bowler.known_lines if line not in fit.believed]
    for line in strayed:
        yield words(
            "fit.unbelieved",
            leave=leave_label(line.leave, words),
            stand=board_text(line.stand),
            target=board_text(line.target),
        )
    sane = [shot for i, shot in enumerate(shots) if i not in fit.wild]
    yield from _days(bowler, sane, words)
    yield words("fit.together")


def _named(shot: Shot, words: Words) -> str:
    """Return a shot as its writer finds it again."""
    call = words("table.call", stand=board_text(shot.stand), target=board_text(shot.target))
    told = [str(shot.date) if shot.date else "", leave_label(shot.leave, words), call, shot.note]
    return " ".join(part for part in told if part)


def _days(bowler: Bowler, shots: Sequence[Shot], words: Words) -> Iterator[str]:
    """Yield how each day's shots strayed at the arrows: form differs between days."""
    days: dict[str, list[float]] = defaultdict(list)
    for shot in shots:
        if shot.date is not None and shot.arrows is not None:
            days[str(shot.date)].append(shot.arrows - shot.target)
    for day, off in sorted(days.items()):
        if len(off) < _DAY:
            continue
        mean, sd = float(np.mean(off)), float(np.std(off, ddof=1))
        side = side_word(words, bowler.hand, ball_side=mean < 0)
        yield words(
            "fit.day",
            day=day,
            count=len(off),
            off=words.number(abs(mean), 1),
            side=side,
            sd=words.number(sd, 1),
        )
