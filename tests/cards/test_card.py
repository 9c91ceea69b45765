"""What a card says about a line, for either hand."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.card import Card, Remedy, board_text, card_of, side_word, speed_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import Hand, x_board
from cardgen.lane.rack import FULL_RACK, Leave, mirrored_pin
from cardgen.press import Job
from cardgen.profile.bowler import Bowler
from cardgen.targeting.aim import Reason
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.line import Action, Alternative, Hit, How, Play
from cardgen.targeting.lines import lines_of
from cardgen.units import MPH_MPS

MakeBowler = Callable[..., Bowler]
OPPOSITE = {"left": "right", "right": "left"}
SIDES = ["left", "right"]


@pytest.mark.parametrize(
    ("board", "text"), [(1, "1"), (20, "20"), (20.0, "20"), (34.5, "34½"), (1.5, "1½"), (39, "39")]
)
def test_boards_are_written_as_print_writes_them(board: float, text: str) -> None:
    assert board_text(board) == text


@given(st.integers(2, 78))
def test_a_board_reads_back(halves: int) -> None:
    assert float(board_text(halves / 2).replace("½", ".5")) == halves / 2


@pytest.mark.parametrize(("mph", "text"), [(17, "17"), (17.5, "17.5"), (16.04, "16"), (9.96, "10")])
def test_speeds_have_a_tenth_only_where_there_is_one(mph: float, text: str, words: Words) -> None:
    assert speed_text(mph * MPH_MPS, words) == text


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


def card_for(job: Job, *pins: int) -> Card:
    (line,) = (line for line in job.chart.lines if line.leave == Leave.of(*pins))
    return card_of(line, job.chart, job.words)


def note(card: Card, heading: str) -> tuple[str, ...]:
    """Return what a card says under one of its headings."""
    (found,) = (note for note in card.notes if note.heading == heading)
    return found.lines


def side_of(remedy: Remedy) -> str:
    """Return the side of a miss: "Left of the pin", "Left gutter" or "Too far left"."""
    (side,) = re.findall(r"left|right", remedy.miss.lower())
    return str(side)


@pytest.mark.parametrize(
    ("demo", "ball_side"), [("ilse-marchetti", "right"), ("wren-skobernik", "left")]
)
def test_feet_away_from_the_ball_side_send_the_ball_to_it(
    demos: dict[str, Job], demo: str, ball_side: str
) -> None:
    # With the target kept the line turns about it: feet left, ball right (common practice, no
    # source).
    for card in cards(demos[demo]):
        (said,) = note(card, "Feet")
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
            note(card, "Feet")[0],
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
        # Of a line that makes nowhere near its aim no miss can be told, nor mended in a window
        # narrower than what a board of the feet does.
        assert [side_of(r) for r in card.remedies] in ([], SIDES)
        assert card.remedies == () or card.room is not None
        for remedy in card.remedies:
            side = side_of(remedy)
            what, boards, where = remedy.move.split()
            assert (what, where) in {("feet", side), ("target", OPPOSITE[side])}
            assert 1 <= int(boards) <= 8


def remedies(card: Card, ends: tuple[float, float]) -> list[tuple[Remedy, float]]:
    """Return the remedies of a card, each with its end of the window; none where none would do."""
    near, far = card.sketch.line.odds.window_boards
    line = card.sketch.line
    effect = abs(line.foot_effect_boards)
    # Nobody moves more than 8 boards after a miss.
    too_fine = max(far - line.arrive, line.arrive - near) > 8 * effect
    too_coarse = far - near < effect
    # What to move when a strike ball misses has a page of its own.
    none = card.room is None or too_coarse or too_fine or card.leave == FULL_RACK
    assert len(card.remedies) == (0 if none else 2)
    return list(zip(card.remedies, ends, strict=True)) if card.remedies else []


@pytest.mark.parametrize("hand", Hand)
def test_no_remedy_sends_the_feet_off_the_bowlers_boards(
    hand: Hand, make_bowler: MakeBowler, words: Words
) -> None:
    bowler = replace(make_bowler(hand=hand), stand_boards=(15, 27))
    chart = chart_for(bowler)
    kinds = set()
    for line in chart.lines:
        near, far = line.odds.window_boards
        card = card_of(line, chart, words)
        ends = (far, near) if hand is Hand.RIGHT else (near, far)
        for remedy, end in remedies(card, ends):
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
            back, miss = arrive - line.arrive, end - line.arrive
            assert back * miss < 0
            # Beside a very narrow room even the smallest move takes more than that back.
            narrow = len(line.leave) > 1 and int(boards) == 1
            assert abs(back + miss) < abs(miss) or narrow
    assert kinds == {"feet", "target"}


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_only_the_corner_pins_have_a_gutter_beside_them(demos: dict[str, Job], demo: str) -> None:
    # No other pin is within reach of a ball that rolls along the lane's edge.
    expected = {7: "Left gutter", 10: "Right gutter"}
    for card in cards(demos[demo]):
        gutters = [remedy.miss for remedy in card.remedies if "gutter" in remedy.miss]
        corners = [expected[pin] for pin in (7, 10) if pin in card.leave]
        if len(card.leave) == 1:
            assert gutters == corners
        assert set(gutters) <= set(corners)


def test_the_remedy_brings_the_last_miss_back(make_bowler: MakeBowler, words: Words) -> None:
    bowler = make_bowler()
    chart = chart_for(bowler)
    for line in chart.lines:
        card = card_of(line, chart, words)
        near, far = line.odds.window_boards
        for remedy, end in remedies(card, (far, near)):
            what, moved, _ = remedy.move.split()
            boards = int(moved)
            effect = line.foot_effect_boards if what == "feet" else line.target_effect_boards
            needed = abs(end - line.arrive) / abs(effect)
            assert abs(boards - needed) <= 0.5 or (boards == 1 and needed < 1)


@pytest.mark.parametrize("pins", [(10,), (6, 10), (3, 10), (1, 2, 4, 7)])
def test_a_left_handers_card_is_the_right_handers_in_a_mirror(
    pins: tuple[int, ...], make_bowler: MakeBowler, words: Words
) -> None:
    right = make_bowler(hand=Hand.RIGHT, rotation_deg=20.0)
    left = replace(right, hand=Hand.LEFT)
    leave = Leave.of(*pins)
    charts = chart_for(right, [leave]), chart_for(left, [leave.mirrored])
    one, other = (card_of(chart.lines[0], chart, words) for chart in charts)
    assert (one.stand, one.target, one.chance, one.manner) == (
        *(other.stand, other.target, other.chance, other.manner),
    )
    if one.room is not None:
        assert other.room is not None
        assert (one.room.left, one.room.right) == (other.room.right, other.room.left)
    assert (one.room is None) == (other.room is None)
    assert note(one, "Feet") != note(other, "Feet")
    swapped = re.sub(r"left|right", lambda side: OPPOSITE[side[0]], note(other, "Feet")[0])
    assert note(one, "Feet")[0] == swapped
    assert [r.move.split()[1] for r in one.remedies] == [
        r.move.split()[1] for r in reversed(other.remedies)
    ]
    assert [note.heading for note in one.notes] == [note.heading for note in other.notes]
    actions = [line.action for chart in charts for line in chart.lines]
    if None not in actions:
        seen, mirrored = (action for action in actions if action is not None)
        assert (mirrored.first, mirrored.side) == (mirrored_pin(seen.first), -seen.side)
        assert mirrored.hit is seen.hit
        assert {(mirrored_pin(pin), how) for pin, how in seen.others} == set(mirrored.others)


def test_a_card_names_the_call_the_ball_and_the_manner(demos: dict[str, Job]) -> None:
    ten = card_for(demos["ilse-marchetti"], 10)
    assert (ten.name, ten.kind) == ("10 pin", "single pin")
    assert (ten.stand.label, ten.stand.figure) == ("STAND", "34")
    assert (ten.target.label, ten.target.figure) == ("TARGET", "20")
    assert ten.summary == "stand 34 · target 20"
    assert ten.ball == "Spare ball"
    assert ten.manner.replace("\u00a0", " ") == "Flat release, 17 mph"
    assert ten.own == "Your own line"
    assert ten.arrow == "4th arrow"
    assert note(ten, "Why this line") == ("Your own line, printed as you gave it.",)
    assert ten.owner == "Right hand, Ilse Marchetti"
    assert {card.own for card in cards(demos["ilse-marchetti"]) if card.leave != ten.leave} == {""}


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
def test_an_own_line_for_several_pins_is_kept_and_its_chance_is_no_finer_than_known(
    hand: str, job_from: Callable[..., Job]
) -> None:
    card = card_for(job_from(KNOWN.format(hand=hand)), 3, 10)
    assert (card.name, card.kind) == ("3-10", "baby split")
    assert card.stand.figure == "31"
    assert card.target.figure == "20½"
    (said,) = card.chance.lines
    assert re.fullmatch(r"(about|roughly) \d+ in \d+", said.replace("\u00a0", " "))
    assert card.own == "Your own line"
    assert note(card, "Why this line")[0] == "Your own line, printed as you gave it."


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
    assert card_for(job, 5).arrow == said


def test_a_line_that_misses_says_so_and_gives_no_moves(job_from: Callable[..., Job]) -> None:
    """Its window is empty, and moves reckoned from that once sent both misses the same way."""
    job = job_from(
        "bowler: Demo\nhand: right\nknown_lines: [{leave: '10', stand: 34, target: 2}]\n"
    )
    card = card_for(job, 10)
    assert card.chance.lines == ("<1 in 100",)
    assert (card.room, card.remedies) == (None, ())
    assert any("it misses" in said for said in note(card, "Why this line"))
    # Nor does such a slip draw the other lines to its target.
    singles = [line for line in job.chart.lines if len(line.leave) == 1 and not line.known]
    assert len(singles) == 9
    assert 2.0 not in {line.target for line in singles}


def test_the_runner_up_is_told_with_its_ball_where_that_is_another(
    demos: dict[str, Job], words: Words
) -> None:
    chart: Chart = demos["ilse-marchetti"].chart
    line = next(x for x in chart.lines if x.runner_up is not None and x.ball == "spare")
    second: Any = line.runner_up
    same = card_of(replace(line, runner_up=replace(second, ball="spare")), chart, words)
    other = card_of(replace(line, runner_up=replace(second, ball="strike")), chart, words)
    none = card_of(replace(line, runner_up=None), chart, words)
    why = "Why this line"
    assert "Spare ball" not in note(same, why)[1]
    assert note(other, why)[1].startswith("Next best: Strike ball, ")
    assert len(note(none, why)) == 1


ROUGHLY = re.compile(r"(about|roughly) \d+ in \d+")


def test_a_chance_of_several_pins_is_a_plain_part(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for line, card in zip(job.chart.lines, cards(job), strict=True):
            said = card.chance.lines[0].replace("\u00a0", " ")
            if len(line.leave) == 1:
                assert re.fullmatch(r"(<1|\d{1,2}) in 100", said)
            elif line.play is Play.ALL:
                found = ROUGHLY.fullmatch(said)
                assert found is not None
                assert (found[1] == "roughly") == line.odds.estimate


def test_the_pin_to_imagine_is_named_where_no_pin_marks_the_aim(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for line, card in zip(job.chart.lines, cards(job), strict=True):
            spot = line.imagine
            pin = "head pin" if spot == 1 else f"{spot} pin"
            assert card.imagine == ("" if spot is None else f"Imagine the {pin}")
            assert spot not in line.leave.pins
            if len(line.leave) == 1:
                assert spot is None


def with_action(job: Job, pins: tuple[int, ...], action: Action | None) -> Card:
    """Return the card of a leave whose pins act as given, whatever the deck thinks of it."""
    chart = chart_for(job.chart.bowler, [Leave.of(*pins)])
    line = replace(chart.lines[0], action=action, play=Play.ALL)
    return card_of(line, chart, job.words)


BALL, PIN, REBOUND = How.BALL, How.PIN, How.REBOUND


@pytest.mark.parametrize(
    ("pins", "action", "said"),
    [
        (
            (6, 10),
            Action(6, Hit.FULL, 1, ((10, BALL),)),
            ("Full on the 6.", "The ball takes the"),
        ),
        ((3, 10), Action(3, Hit.HALF, -1, ((10, BALL),)), ("The left half of the 3.", "The ball")),
        ((5, 7), Action(5, Hit.THIN, 1, ((7, PIN),)), ("Thin on the right of the 5.", "Pins take")),
        (
            (1, 2, 4, 10),
            Action(1, Hit.HALF, -1, ((2, BALL), (4, BALL), (10, REBOUND))),
            ("The left half of the 1.", "The ball takes the 2 and the 4.", "One off the side wall"),
        ),
        (
            (1, 3, 6, 7),
            Action(1, Hit.FULL, 1, ((3, PIN), (6, BALL), (7, PIN))),
            ("Full on the 1.", "The ball takes the 6.", "Pins take the 3 and the 7."),
        ),
    ],
)
def test_what_happens_at_the_pins_is_said_in_the_order_ball_pins_wall(
    pins: tuple[int, ...], action: Action, said: tuple[str, ...], demos: dict[str, Job]
) -> None:
    card = with_action(demos["ilse-marchetti"], pins, action)
    lines = note(card, "At the pins")
    assert len(lines) == len(said)
    for line, begins in zip(lines, said, strict=True):
        assert line.startswith(begins)


def test_every_pin_is_told_of_once_at_the_pins(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for line, card in zip(job.chart.lines, cards(job), strict=True):
            heading = "At the pins, roughly" if line.odds.estimate else "At the pins"
            lines = [n.lines for n in card.notes if n.heading == heading]
            if line.action is None or len(line.leave) == 1:
                assert lines == []
                continue
            (said,) = lines
            pins = [int(pin) for text in said for pin in re.findall(r"\d+", text)]
            if line.leave == FULL_RACK:
                assert pins == [1, 3 if job.chart.bowler.hand is Hand.RIGHT else 2]
                continue
            if line.play is Play.COUNT:
                assert pins == [line.action.first]
                continue
            assert len(pins) == len(set(pins))
            assert line.action.first == pins[0]
            assert sorted(pins) == sorted([line.action.first, *(p for p, _ in line.action.others)])
            assert set(pins) <= set(line.leave)


def test_a_ball_that_misses_all_pins_tells_of_none(demos: dict[str, Job]) -> None:
    card = with_action(demos["ilse-marchetti"], (3, 10), None)
    assert "At the pins" not in {n.heading for n in card.notes}


OTHER = Alternative("strike", 25.0, 20.0, 0.05, 1.76)


def taken(job: Job, **changes: Any) -> Card:
    """Return the card of a line that takes the count."""
    chart = chart_for(job.chart.bowler, [Leave.of(4, 6, 7, 10)])
    line = replace(chart.lines[0], play=Play.COUNT, other=OTHER, reason=Reason.COUNT)
    odds = replace(line.odds, make=0.005, count=1.94, estimate=False)
    return card_of(replace(line, ball="spare", odds=odds, **changes), chart, job.words)


def test_a_line_for_the_count_says_how_many_pins_and_no_room(demos: dict[str, Job]) -> None:
    for job in demos.values():
        card = taken(job)
        assert card.chance.heading == "Pins to expect"
        assert [text.replace("\u00a0", " ") for text in card.chance.lines] == [
            "1.9 pins",
            "All of them: about 1 in 200.",
        ]
        assert card.room is None
        assert card.remedies == ()
        assert card.kind == "big four"
        assert len(note(card, "At the pins")) == 1  # what to hit; the rest is not to be expected
        # The line for all of them comes first of what else there is to say: a frame may need it.
        assert card.notes[0].heading == "Need them all, as in the last frame?"
        assert card.notes[0].lines == (
            "Strike ball, stand 25, target 20: about 1 in 20, 1.8 pins to expect.",
        )
        assert note(card, "Why this line")[0] == "The best for your score on the average."


def test_the_other_line_is_told_without_its_ball_where_that_is_the_same(
    demos: dict[str, Job],
) -> None:
    card = taken(demos["ilse-marchetti"], other=replace(OTHER, ball="spare"))
    assert card.notes[0].lines[0].startswith("Stand 25, target 20: ")


def test_a_line_for_the_spare_may_tell_the_one_for_the_count(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    chart = chart_for(job.chart.bowler, [Leave.of(3, 10)])
    line = replace(chart.lines[0], play=Play.ALL, other=OTHER)
    card = card_of(line, chart, job.words)
    assert card.chance.heading == "Chance"
    assert card.notes[0].heading == "Only want the count?"
    assert "1.8 pins to expect" in card.notes[0].lines[0]
    without = card_of(replace(line, other=None), chart, job.words)
    assert {n.heading for n in card.notes} - {n.heading for n in without.notes} == {
        "Only want the count?"
    }


def test_the_most_useful_note_comes_first(demos: dict[str, Job]) -> None:
    order = [
        *("Need them all, as in the last frame?", "Only want the count?"),
        *("How sure", "At the pins", "Which ball", "On its way", "Feet", "Why this line"),
    ]
    for job in demos.values():
        for card in [*cards(job), taken(job)]:
            places = [order.index(n.heading.removesuffix(", roughly")) for n in card.notes]
            assert places == sorted(places)
            assert [n.heading for n in card.notes][-2:] == ["Feet", "Why this line"]
