"""What a card says about a line, for either hand."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.card import Card, board_text, card_of, in_hundred, side_word, speed_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import Hand, x_board
from cardgen.lane.rack import Leave
from cardgen.press import Job
from cardgen.profile.bowler import Bowler
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.lines import lines_of
from cardgen.units import MPH_MPS

MakeBowler = Callable[..., Bowler]
OPPOSITE = {"left": "right", "right": "left"}


@pytest.mark.parametrize(
    ("board", "text"), [(1, "1"), (20, "20"), (20.0, "20"), (34.5, "34½"), (1.5, "1½"), (39, "39")]
)
def test_boards_are_written_as_print_writes_them(board: float, text: str) -> None:
    assert board_text(board) == text


@given(st.integers(2, 78))
def test_a_board_reads_back(halves: int) -> None:
    assert float(board_text(halves / 2).replace("½", ".5")) == halves / 2


@given(st.floats(0, 1))
def test_no_spare_is_sure_and_none_is_hopeless(chance: float) -> None:
    said = in_hundred(chance)
    assert (said == "<1") == (chance < 0.005)
    count = int(said.removeprefix("<"))
    assert 1 <= count <= 99
    if 0.015 < chance < 0.985:
        assert abs(count - 100 * chance) <= 0.5 + 1e-9


def test_the_ends_of_a_chance() -> None:
    assert [in_hundred(c) for c in (0.0, 1e-9, 0.004, 0.5, 0.996, 1.0)] == [
        *("<1", "<1", "<1", "50", "99", "99")
    ]


@pytest.mark.parametrize(("mph", "text"), [(17, "17"), (17.5, "17.5"), (16.04, "16"), (9.96, "10")])
def test_speeds_have_a_tenth_only_where_there_is_one(mph: float, text: str) -> None:
    assert speed_text(mph * MPH_MPS) == text


@pytest.mark.parametrize(
    ("hand", "ball_side", "word"),
    [
        (Hand.RIGHT, True, "right"),
        (Hand.RIGHT, False, "left"),
        (Hand.LEFT, True, "left"),
        (Hand.LEFT, False, "right"),
    ],
)
def test_the_ball_side_is_the_hands_side(
    words: Words, hand: Hand, ball_side: bool, word: str
) -> None:
    assert side_word(words, hand, ball_side=ball_side) == word


def cards(job: Job) -> list[Card]:
    return [card_of(line, job.chart, job.words) for line in job.chart.lines]


@pytest.mark.parametrize(
    ("demo", "ball_side"), [("ilse-marchetti", "right"), ("wren-skobernik", "left")]
)
def test_feet_away_from_the_ball_side_send_the_ball_to_it(
    demos: dict[str, Job], demo: str, ball_side: str
) -> None:
    # With the target kept the line turns about it: feet left, ball right (common practice, no
    # source).
    for card in cards(demos[demo]):
        (said,) = card.feet.lines
        assert said.startswith(f"Feet 1 board {OPPOSITE[ball_side]}, same target. ")
        assert said.endswith(f" boards farther {ball_side}.")
        assert card.count == f"Boards from {ball_side}"


@pytest.mark.parametrize("hand", Hand)
def test_the_feet_do_what_the_card_says(hand: Hand, make_bowler: MakeBowler, words: Words) -> None:
    # Throw the line from one board farther and see where on the real lane the ball comes to.
    bowler = make_bowler(hand=hand)
    chart = chart_for(bowler)
    for line in chart.lines:
        card = card_of(line, chart, words)
        row = bowler.inside(line.leave).front_row_m
        x = [
            hand.mirror
            * float(
                lines_of(chart.bowler, chart.bowler.ball(line.ball), stand, line.target)
                .path([row])
                .x_m[0, 0]
            )
            for stand in (line.stand, line.stand + 1)
        ]
        went = "right" if x[1] > x[0] else "left"
        moved = "left" if hand is Hand.RIGHT else "right"  # a higher board is away from the ball
        said = re.fullmatch(
            r"Feet 1 board (\w+), same target\. The ball comes in ([\d.]+) boards farther (\w+)\.",
            card.feet.lines[0],
        )
        assert said is not None
        assert (said[1], said[3]) == (moved, went)
        boards = abs(x[1] - x[0]) / (41.5 / 39 * 0.0254)
        assert float(said[2]) == pytest.approx(boards, abs=0.06)


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_feet_follow_the_miss(demos: dict[str, Job], demo: str) -> None:
    # "Follow the miss": missed left, move left (common practice, no source). The target, where the
    # feet have no boards left to go to, moves against it.
    for card in cards(demos[demo]):
        assert [r.miss.split()[0] for r in card.remedies] == ["Left", "Right"]
        for remedy in card.remedies:
            side = remedy.miss.split()[0].lower()
            what, boards, where = remedy.move.split()
            assert (what, where) in {("feet", side), ("target", OPPOSITE[side])}
            assert 1 <= int(boards) <= 8


@pytest.mark.parametrize("hand", Hand)
def test_no_remedy_sends_the_feet_off_the_bowlers_boards(
    hand: Hand, make_bowler: MakeBowler, words: Words
) -> None:
    bowler = replace(make_bowler(hand=hand), stand_boards=(15, 27))
    chart = chart_for(bowler)
    kinds = set()
    for line in chart.lines:
        assert line.odds is not None
        near, far = line.odds.window_boards
        card = card_of(line, chart, words)
        ends = (far, near) if hand is Hand.RIGHT else (near, far)
        for remedy, end in zip(card.remedies, ends, strict=True):
            what, boards, side = remedy.move.split()
            kinds.add(what)
            away = (side == "left") == (hand is Hand.RIGHT)  # towards higher boards
            by = float(boards) if away else -float(boards)
            stand = line.stand + (by if what == "feet" else 0)
            target = line.target + (by if what == "target" else 0)
            assert 15 <= stand <= 27
            # A close miss thrown with the move comes in nearer to the aim than it did.
            row = bowler.inside(line.leave).front_row_m
            moved = lines_of(chart.bowler, chart.bowler.ball(line.ball), stand, target)
            arrive = float(x_board(moved.path([row]).x_m[0, 0]))
            assert abs(arrive - line.arrive + end - line.arrive) < abs(end - line.arrive)
    assert kinds == {"feet", "target"}


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_only_the_corner_pins_have_a_gutter_beside_them(demos: dict[str, Job], demo: str) -> None:
    for line, card in zip(demos[demo].chart.lines, cards(demos[demo]), strict=True):
        gutters = [remedy.miss for remedy in card.remedies if "gutter" in remedy.miss]
        expected = {7: ["Left gutter"], 10: ["Right gutter"]}
        assert gutters == expected.get(line.leave.pins[0], [])


def test_the_remedy_brings_the_last_miss_back(make_bowler: MakeBowler, words: Words) -> None:
    bowler = make_bowler()
    chart = chart_for(bowler)
    for line in chart.lines:
        card = card_of(line, chart, words)
        assert line.odds is not None
        near, far = line.odds.window_boards
        for remedy, end in zip(card.remedies, (far, near), strict=True):
            what, moved, _ = remedy.move.split()
            boards = int(moved)
            effect = line.foot_effect_boards if what == "feet" else line.target_effect_boards
            needed = abs(end - line.arrive) / abs(effect)
            assert abs(boards - needed) <= 0.5 or (boards == 1 and needed < 1)


def test_a_left_handers_card_is_the_right_handers_in_a_mirror(
    make_bowler: MakeBowler, words: Words
) -> None:
    right = make_bowler(hand=Hand.RIGHT, rotation_deg=20.0)
    left = replace(right, hand=Hand.LEFT)
    charts = chart_for(right, [Leave.of(10)]), chart_for(left, [Leave.of(7)])
    one, other = (card_of(chart.lines[0], chart, words) for chart in charts)
    assert (one.stand, one.target, one.chance, one.manner) == (
        *(other.stand, other.target, other.chance, other.manner),
    )
    assert one.room is not None
    assert other.room is not None
    assert (one.room.left, one.room.right) == (other.room.right, other.room.left)
    assert one.feet.lines[0] != other.feet.lines[0]
    swapped = re.sub(r"left|right", lambda side: OPPOSITE[side[0]], other.feet.lines[0])
    assert one.feet.lines[0] == swapped
    assert [r.move.split()[1] for r in one.remedies] == [
        r.move.split()[1] for r in reversed(other.remedies)
    ]


def test_a_card_names_the_call_the_ball_and_the_manner(demos: dict[str, Job]) -> None:
    ten = cards(demos["ilse-marchetti"])[9]
    assert (ten.name, ten.kind) == ("10 pin", "single pin")
    assert (ten.stand.label, ten.stand.figure) == ("STAND", "34")
    assert (ten.target.label, ten.target.figure) == ("TARGET", "20")
    assert ten.summary == "stand 34 · target 20"
    assert ten.ball == "Spare ball"
    assert ten.manner.replace("\u00a0", " ") == "Flat release, 17 mph"
    assert ten.own == "Your own line"
    assert ten.arrow == "4th arrow"
    assert ten.why.lines == ("Your own line, printed as you gave it.",)
    assert ten.owner == "Right hand, Ilse Marchetti"
    assert cards(demos["ilse-marchetti"])[0].own == ""


def test_a_turned_release_is_called_a_hook(job_from: Callable[..., Job]) -> None:
    job = job_from("bowler: Demo\nhand: right\nballs: {spare: {rotation_deg: 45}}\n")
    said = {card.manner.split(",")[0] for card in cards(job) if card.ball == "Spare ball"}
    assert said == {"Hook release"}


KNOWN = """\
bowler: Demo
hand: {hand}
known_lines:
  - {{leave: "3-10", stand: 31, target: 20.5}}
  - {{leave: "10", stand: 33, target: 20, ball: strike}}
"""


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_line_for_several_pins_claims_no_chance(hand: str, job_from: Callable[..., Job]) -> None:
    job = job_from(KNOWN.format(hand=hand))
    line = next(line for line in job.chart.lines if len(line.leave) > 1)
    card = card_of(line, job.chart, job.words)
    assert (card.name, card.kind) == ("3-10", "baby split")
    assert card.stand.figure == "31"
    assert card.target.figure == "20½"
    assert card.chance.lines == ("Not computed for this leave.",)
    assert card.room is None
    assert card.remedies == ()
    assert card.own == "Your own line"


@pytest.mark.parametrize(
    ("hand", "target", "said"),
    [
        ("right", 20, "4th arrow"),
        ("right", 10, "2nd arrow"),
        ("left", 10, "2nd arrow"),
        ("right", 21, "1 left of 4th arrow"),
        ("left", 21, "1 right of 4th arrow"),
        ("right", 18.5, "1½ right of 4th arrow"),
        ("right", 38, "3 left of 7th arrow"),
    ],
)
def test_a_target_is_told_by_the_arrows_too(
    hand: str, target: float, said: str, job_from: Callable[..., Job]
) -> None:
    # Arrows count from the ball side like boards, on 5, 10 ... 35 (common practice, no source).
    known = f"known_lines: [{{leave: '5', stand: 25, target: {target}}}]"
    job = job_from(f"bowler: Demo\nhand: {hand}\n{known}\n")
    assert cards(job)[4].arrow == said


def test_a_line_that_misses_says_so_and_gives_no_moves(job_from: Callable[..., Job]) -> None:
    """Its window is empty, and moves reckoned from that once sent both misses the same way."""
    job = job_from(
        "bowler: Demo\nhand: right\nknown_lines: [{leave: '10', stand: 34, target: 2}]\n"
    )
    card = cards(job)[9]
    assert card.chance.lines == ("<1 in 100",)
    assert (card.room, card.remedies) == (None, ())
    assert any("it misses" in said for said in card.why.lines)
    # Nor does such a slip draw the other lines to its target.
    assert {line.target for line in job.chart.lines[:9]} <= {19.0, 20.0, 21.0}


def test_the_runner_up_is_told_with_its_ball_where_that_is_another(
    demos: dict[str, Job], words: Words
) -> None:
    chart: Chart = demos["ilse-marchetti"].chart
    line = chart.lines[0]
    assert line.runner_up is not None
    second: Any = line.runner_up
    same = card_of(replace(line, runner_up=replace(second, ball="spare")), chart, words)
    other = card_of(replace(line, runner_up=replace(second, ball="strike")), chart, words)
    none = card_of(replace(line, runner_up=None), chart, words)
    assert "Spare ball" not in same.why.lines[1]
    assert other.why.lines[1].startswith("Next best: Strike ball, ")
    assert len(none.why.lines) == 1
