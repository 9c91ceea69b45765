"""The stages of a path: skid, hook and roll follow each other, and only where they are."""

import re
from itertools import product
from pathlib import Path

import pytest

from cardgen.cards.card import card_of
from cardgen.cards.words import load_words
from cardgen.press import job_of
from cardgen.profile.bowler import bowler_of
from cardgen.profile.loader import LoadedProfile, read_profile
from cardgen.targeting.chart import chart_for
from cardgen.yamlsource import parse_yaml


def loaded(cover: str, pounds: float, mph: float, rpm: float) -> LoadedProfile:
    ball = f"{{cover: {cover}, weight_lb: {pounds}, speed_mph: {mph}, rev_rpm: {rpm}}}"
    text = f"bowler: A\nhand: right\nspread: new\nballs: {{spare: {ball}, strike: {ball}}}\n"
    return read_profile(parse_yaml(text, "a.yaml"), Path())


@pytest.mark.parametrize(
    ("cover", "mph", "rpm"), [*product(("plastic", "reactive"), (9, 12, 17), (60, 150, 300))]
)
def test_a_ball_hooks_before_it_rolls(cover: str, mph: float, rpm: float) -> None:
    chart = chart_for(bowler_of(loaded(cover, 9, mph, rpm)))
    for line in chart.lines:
        hooks, rolls = line.trace.hooks, line.trace.rolls
        if hooks is not None and rolls is not None:
            assert hooks.y_m < rolls.y_m


def test_a_slow_ball_rolls_before_the_oil_ends_and_its_card_says_so() -> None:
    words = load_words("en")
    chart = job_of(loaded("plastic", 9, 12, 100), words).chart
    early = [x for x in chart.lines if x.trace.rolls is not None and x.trace.hooks is None]
    assert early
    for line in early:
        path = next(n for n in card_of(line, chart, words).notes if n.heading == words("back.path"))
        assert re.fullmatch(r"Skids to \d+\sft, then rolls\.", path.lines[0])
