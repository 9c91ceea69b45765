"""Why no line comes to a leave, and which ball hooks farther than the lane is wide."""

from pathlib import Path

import pytest

from cardgen.lane.geometry import BOARDS
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.bowler import Bowler, bowler_of
from cardgen.profile.loader import read_profile
from cardgen.targeting.chart import chart_for
from cardgen.targeting.reach import hooks_too_far, overhook_boards
from cardgen.yamlsource import parse_yaml

WILD = "{cover: plastic, weight_lb: 8, speed_mph: 11, rev_rpm: 280, rotation_deg: 50}"
TEN, SEVEN = Leave.of(10), Leave.of(7)


def bowler(text: str, hand: str = "right") -> Bowler:
    document = parse_yaml(f"bowler: A\nhand: {hand}\nspread: new\n{text}", "a.yaml")
    return bowler_of(read_profile(document, Path()))


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_slow_ball_with_an_adults_turn_hooks_off_the_lane(hand: str) -> None:
    child = bowler(f"balls: {{spare: {{weight_lb: 8, speed_mph: 11}}, strike: {WILD}}}", hand)
    boards = overhook_boards(child, "strike")
    assert boards is not None
    assert boards > BOARDS
    assert overhook_boards(child, "spare") is None
    assert chart_for(child, [FULL_RACK]).unanswered == (FULL_RACK,)
    assert hooks_too_far(child, FULL_RACK) == ("strike",)


def test_nobody_is_told_of_a_hook_whose_feet_are_in_the_way() -> None:
    for stand in (
        "{boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}",
        "{boards: [1, 2]}",
    ):
        fenced = bowler(f"stand: {stand}\n")
        unanswered = chart_for(fenced, [FULL_RACK, TEN, SEVEN]).unanswered
        assert unanswered
        assert all(hooks_too_far(fenced, leave) == () for leave in unanswered)


def test_both_balls_are_named_where_both_hook_past_a_pin() -> None:
    wild = WILD.replace("plastic", "reactive").replace("280", "600")
    child = bowler(f"balls: {{spare: {wild}, strike: {wild}}}\n")
    (unanswered, *_) = chart_for(child, [TEN, FULL_RACK]).unanswered
    assert hooks_too_far(child, unanswered) == ("spare", "strike")


@pytest.mark.parametrize("style", ["one-handed", "two-handed", "no-thumb"])
def test_no_ball_of_the_defaults_hooks_off_the_lane(style: str) -> None:
    usual = bowler(f"style: {style}\n")
    assert all(overhook_boards(usual, ball.name) is None for ball in usual.balls)
