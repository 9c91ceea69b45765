"""Chances in words: never sure, never hopeless, no finer than they are known."""

import json
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.booklet import Opener, booklet_of
from cardgen.cards.card import card_of, leave_label
from cardgen.cards.chances import about, chance_figure, chance_text, in_hundred
from cardgen.cards.table import record_of, table_of
from cardgen.cards.words import Words
from cardgen.lane.rack import Leave
from cardgen.press import Job
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Play

ONE, SEVERAL = Leave.of(10), Leave.of(3, 10)
CHANCES = st.floats(0, 1)


@given(CHANCES)
def test_no_spare_is_sure_and_none_is_hopeless(chance: float) -> None:
    said = in_hundred(chance)
    assert (said == "<1") == (chance <= 0.005)  # halves go to the even number
    count = int(said.removeprefix("<"))
    assert 1 <= count <= 99
    if 0.015 < chance < 0.985:
        assert abs(count - 100 * chance) <= 0.5 + 1e-9


def test_the_ends_of_a_chance() -> None:
    assert [in_hundred(c) for c in (0.0, 1e-9, 0.004, 0.5, 0.996, 1.0)] == [
        *("<1", "<1", "<1", "50", "99", "99")
    ]


def log_odds(share: float) -> float:
    return math.log(share / (1 - share))


@given(CHANCES)
def test_a_plain_part_is_neither_sure_nor_hopeless(chance: float) -> None:
    times, tries = about(chance)
    assert 0 < times < tries
    assert math.gcd(times, tries) == 1


@given(CHANCES, CHANCES)
def test_a_better_chance_is_never_said_to_be_worse(one: float, other: float) -> None:
    low, high = sorted((one, other))
    parts = [times / tries for times, tries in (about(low), about(high))]
    assert parts == sorted(parts)


@given(st.floats(0.004, 0.96))
def test_a_plain_part_is_near_in_odds(chance: float) -> None:
    # Parts that follow each other are at most a factor 2.25 apart in odds (4 to 1 and 9 to 1), so
    # the nearest is within its root, 1.5.
    times, tries = about(chance)
    assert abs(log_odds(times / tries) - log_odds(chance)) <= math.log(1.5) + 1e-9


@pytest.mark.parametrize(
    ("chance", "part"),
    [
        *((0.0, (1, 200)), (0.005, (1, 200)), (0.01, (1, 100)), (0.05, (1, 20)), (0.1, (1, 10))),
        *((0.26, (1, 4)), (0.35, (1, 3)), (0.5, (1, 2)), (0.6, (3, 5)), (2 / 3, (2, 3))),
        *((0.76, (3, 4)), (0.9, (9, 10)), (0.97, (19, 20)), (1.0, (19, 20))),
        # The odds decide, not the difference: half-way between 99 to 1 and 49 to 1 is 0.0142, not
        # 0.015, and between 9 to 1 and 19 to 1 it is 0.929, not 0.925 (worked by hand).
        *((0.0139, (1, 100)), (0.0145, (1, 50)), (0.927, (9, 10)), (0.930, (19, 20))),
    ],
)
def test_the_part_said_has_the_nearest_odds(chance: float, part: tuple[int, int]) -> None:
    assert about(chance) == part


def test_one_pin_is_told_in_a_hundred_and_several_as_a_part(words: Words) -> None:
    def said(chance: float, leave: Leave, *, estimate: bool = False) -> str:
        return chance_text(chance, leave, words, estimate=estimate).replace("\u00a0", " ")

    assert said(0.58, ONE) == "58 in 100"
    assert said(0.58, ONE, estimate=True) == "58 in 100"  # one pin is geometry
    assert said(0.66, SEVERAL) == "about 2 in 3"
    assert said(0.66, SEVERAL, estimate=True) == "roughly 2 in 3"


@given(CHANCES)
def test_a_figure_is_neither_sure_nor_hopeless(chance: float) -> None:
    times, tries = about(chance)
    figure = chance_figure(chance, SEVERAL, "*")
    if (times, tries) == (1, 200):
        assert figure == "<1*"
        return
    found = re.fullmatch(r"~(\d+)\*", figure)
    assert found is not None
    # The same as in words, so that no two pages tell a leave apart.
    assert int(found[1]) == pytest.approx(100 * times / tries, abs=0.5)
    assert 1 <= int(found[1]) <= 95


def test_figures_of_a_table() -> None:
    assert chance_figure(0.583, ONE) == "58"
    assert chance_figure(0.583, ONE, "*") == "58"
    assert [chance_figure(c, SEVERAL) for c in (0.0, 0.02, 0.03, 0.64, 0.66, 1.0)] == [
        *("<1", "~2", "~3", "~67", "~67", "~95")
    ]
    assert chance_figure(0.64, SEVERAL, "*") == "~67*"


def marked(chart: Chart, *, estimate: bool) -> Chart:
    """Return a chart of which all leaves of several pins are estimates, or none is."""
    return replace(
        chart,
        lines=tuple(
            line
            if len(line.leave) == 1
            else replace(line, play=Play.ALL, odds=replace(line.odds, estimate=estimate))
            for line in chart.lines
        ),
    )


@pytest.mark.parametrize("estimate", [True, False])
@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_an_estimate_says_so_wherever_its_chance_is_printed(
    demo: str, estimate: bool, demos: dict[str, Job]
) -> None:
    job = demos[demo]
    chart = marked(job.chart, estimate=estimate)
    word, other = ("roughly", "about") if estimate else ("about", "roughly")
    several = {line.leave for line in chart.lines if len(line.leave) > 1}
    assert len(several) >= 21

    for line in chart.lines:
        card = card_of(line, chart, job.words)
        chances = [*card.chance.lines, *(t for n in card.notes for t in n.lines if " in " in t)]
        printed = " ".join(chances)
        if line.leave in several:
            assert card.chance.lines[0].startswith(f"{word} ")
            assert not re.search(rf"\b{other} \d", printed)
        else:
            assert not re.search(r"roughly|about \d", printed)

    booklet = booklet_of(job.loaded, chart, job.words, stretch=8.0)
    rows = [row for page in booklet.pages if isinstance(page, Opener) for row in page.rows]
    # The strike line has no opener; its chance is told like those of several pins all the same.
    names = {leave_label(leave, job.words) for leave in several}
    assert names - {name for name, _, _ in rows} == {"Full rack"}
    for name, _, chance in rows:
        assert chance.startswith(f"{word} ") == (name in names)

    table = table_of(chart, job.words)
    for row in table.rows:
        assert row.chance.endswith("*") == (estimate and row.leave in names)
        assert row.chance.startswith(("~", "<1")) == (row.leave in names)
    assert ("*: a rough estimate." in table.notes) == estimate

    record = json.loads(json.dumps(record_of(chart, job.words)))
    for entry in record["lines"]:
        assert entry["estimate"] is (estimate and len(entry["leave"]) > 1)
