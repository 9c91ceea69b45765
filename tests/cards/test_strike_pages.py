"""What cards and pages say of the strike line, the other ball, and a path that hooks."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from cardgen.cards.assumptions import Assumptions
from cardgen.cards.booklet import booklet_of
from cardgen.cards.card import Card, card_of
from cardgen.cards.strike import FeetTable, Moves, feet_page, moves_page
from cardgen.cards.table import record_of
from cardgen.cards.words import Words
from cardgen.lane.geometry import Hand
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.press import Job, job_of
from cardgen.targeting.feetmoves import FeetMove, HabitMove
from cardgen.targeting.line import Alternative, Line, OtherBall
from cardgen.targeting.moves import Fault, Move, Shift, Step
from cardgen.targeting.strike import Strike, strike_of

JobFrom = Callable[..., Job]
LEAST = "bowler: Demo\nhand: right\n"
LEFT_HANDED = "bowler: Demo\nhand: left\n"


def strike_line(job: Job) -> Line:
    return next(line for line in job.chart.lines if line.leave == FULL_RACK)


def strike_in(job: Job) -> Strike:
    found = job.answers.strike
    assert found is not None
    return found


def card_for(job: Job, leave: Leave, **changed: object) -> Card:
    line = next(line for line in job.chart.lines if line.leave == leave)
    return card_of(replace(line, **changed), job.chart, job.words)  # type: ignore[arg-type]  # fields by name


def note(card: Card, heading: str) -> str:
    return " ".join(next(n.lines for n in card.notes if n.heading == heading))


@pytest.fixture(scope="module")
def strike(demos: dict[str, Job]) -> Strike:
    """Made-up findings about the demo bowler's strike line."""
    return Strike(
        line=replace(strike_line(demos["ilse-marchetti"]), stand=28.0, target=12.5),
        crossed=0.357,
        crossed_strikes=0.244,
        moves=(
            Move(Fault.LIGHT, Step(-1, 0), 0.3, Step(-1, -1), -2.24),
            Move(Fault.HIGH, Step(2.5, 1), -0.1, Step(1, 0), 0.49),
            Move(Fault.NOSE, Step(4, 2), 0.6, Step(2, 1), 1.26),
            Move(Fault.LATER, Step(0, 0), 0.2, Step(2, 1), -1.2),
        ),
        shifts=(
            Shift(Step(1, 0), -0.88),
            Shift(Step(1, 1), 0.24),
            Shift(Step(2, 1), -0.61),
        ),
        feet=(
            FeetMove(2, -5.0, 0.71, (HabitMove(-3, 0.70, False), HabitMove(-2, 0.55, True))),
            FeetMove(7, None, 0.02, (HabitMove(-9, None, True), HabitMove(-6, 0.01, False))),
            FeetMove(3, 2.5, 0.72, (HabitMove(3, 0.73, False), HabitMove(2, 0.72, False))),
            FeetMove(6, 0.0, 0.47, (HabitMove(6, 0.40, False), HabitMove(4, 0.44, False))),
        ),
    )


def test_the_page_of_moves_tells_each_fault_its_move_and_the_rules(
    strike: Strike, words: Words
) -> None:
    page = moves_page(strike, Hand.RIGHT, words)
    assert [(row.fault, row.move, row.rule) for row in page.rows] == [
        (
            "2 boards light",
            "feet 1 right",
            "Rule: feet 1, target 1 right. Leaves it 2.2 boards light.",
        ),
        ("1½ boards high", "feet 2½, target 1 left", "Rule: feet 1 left. Back in the pocket."),
        (
            "2½ high, through the nose",
            "feet 4, target 2 left",
            "Rule: feet 2, target 1 left. Leaves it 1.3 boards high.",
        ),
        ("Three games later", "stay", "Rule: feet 2, target 1 left. Leaves it 1.2 boards light."),
    ]
    assert page.shifts == (
        ("feet 1 left", "0.9 boards right"),
        ("feet 1, target 1 left", "0.2 boards left"),
        ("feet 2, target 1 left", "0.6 boards right"),
    )
    assert "From 28 over 12½." in page.intro
    assert "36 in 100 shots cross to the other side" in page.notes[-1]
    assert "About 1 in 4 of those strike" in page.notes[-1]
    assert "common practice" in page.notes[0]
    fewer = moves_page(replace(strike, moves=strike.moves[3:]), Hand.RIGHT, words)
    assert len(page.notes) == len(fewer.notes) - 1
    assert fewer.notes[0] == "No lane near yours explains the misses left out here."


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (0.74, "Rule: feet 1 left. "),
        (-0.74, "Rule: feet 1 left. "),
        (0.8, "Leaves it 0.8 boards high. Rule: feet 1 left. "),
        (-1.26, "Leaves it 1.3 boards light. Rule: feet 1 left. "),
    ],
)
def test_a_move_that_does_not_reach_the_pocket_says_so(
    off: float, said: str, strike: Strike, words: Words
) -> None:
    for rule_off, after in ((0.2, "Back in the pocket."), (1.5, "Leaves it 1.5 boards high.")):
        move = Move(Fault.HIGH, Step(1, 0), off, Step(1, 0), rule_off)
        (row,) = moves_page(replace(strike, moves=(move,)), Hand.RIGHT, words).rows
        assert row.rule == said + after


def test_a_rule_is_not_said_to_fall_short_of_the_same_move(job_from: JobFrom) -> None:
    # A bowler with four boards to stand on can hardly do more than the rules of thumb.
    same = 0
    for hand in Hand:
        job = job_from(f"bowler: Demo\nhand: {hand.value}\nstand: {{boards: [24, 27]}}\n")
        strike = strike_in(job)
        page = moves_page(strike, hand, job.words)
        for move, row in zip(strike.moves, page.rows, strict=True):
            if move.step != move.rule:
                continue
            same += 1
            own, _, rule = row.rule.rpartition("Rule: ")
            result = rule.partition(". ")[2]
            assert own.strip() == ("" if result == "Back in the pocket." else result)
    assert same >= 2


def test_every_text_of_the_pages_is_printed(
    strike: Strike, words: Words, job_from: JobFrom
) -> None:
    marked = {
        key: f"{text} <{key}>" for key, text in words.texts.items() if key.startswith("strike.")
    }
    assert len(marked) > 25
    spelt = Words(words.source, {**words.texts, **marked}, words.lists)
    job = job_from(LEAST, spelt)
    printed = [
        moves_page(strike, Hand.RIGHT, spelt),
        moves_page(replace(strike, moves=strike.moves[1:]), Hand.RIGHT, spelt),
        feet_page(strike, Hand.RIGHT, spelt),
        card_for(job, FULL_RACK).chance,
    ]
    assert set(re.findall(r"<(strike\.[\w.]+)>", repr(printed))) == set(marked)


def test_a_left_handers_pages_have_left_and_right_changed_over(
    strike: Strike, words: Words
) -> None:
    def changed_over(text: str) -> str:
        return re.sub("left|right", lambda m: {"left": "right", "right": "left"}[m[0]], text)

    right, left = (moves_page(strike, hand, words) for hand in (Hand.RIGHT, Hand.LEFT))
    assert [row.move for row in left.rows] == [changed_over(row.move) for row in right.rows]
    assert [row.rule for row in left.rows] == [changed_over(row.rule) for row in right.rows]
    assert left.shifts == tuple((changed_over(a), changed_over(b)) for a, b in right.shifts)
    ours, theirs = (feet_page(strike, hand, words) for hand in (Hand.RIGHT, Hand.LEFT))
    assert [row[1] for row in theirs.rows] == [changed_over(row[1]) for row in ours.rows]


def test_the_page_of_feet_has_own_moves_habits_and_warnings(strike: Strike, words: Words) -> None:
    page = feet_page(strike, Hand.RIGHT, words)
    assert page.headings == ("Leave", "Feet", "In 100", "3-6-9", "2-4-6")
    assert page.rows == (
        ("2 pin", "5 right", "71", "70", "55 !"),
        ("7 pin", "–", "–", "–", "1"),
        ("3 pin", "2½ left", "72", "73", "72"),
        ("6 pin", "stay", "47", "40", "44"),
    )
    said = " ".join(page.notes)
    for text in ("common habit", "!: the habit makes 10 in 100 fewer", "–: off the boards"):
        assert text in said
    assert page.intro == "The strike ball, target 12½ kept; move your feet from 28."
    spare = replace(strike, line=replace(strike.line, ball="spare"))
    assert feet_page(spare, Hand.RIGHT, words).intro.startswith("The spare ball, ")


def test_signs_are_explained_only_where_they_stand(strike: Strike, words: Words) -> None:
    fine = replace(strike, feet=strike.feet[2:])
    said = " ".join(feet_page(fine, Hand.RIGHT, words).notes)
    assert "!:" not in said
    assert "–:" not in said


def test_the_strike_card_tells_strikes_and_has_its_moves_elsewhere(demos: dict[str, Job]) -> None:
    for job in demos.values():
        card = card_for(job, FULL_RACK)
        assert (card.name, card.kind) == ("Full rack", "strike line")
        assert card.chance.heading == "Strikes"
        assert card.chance.lines[0].startswith("about ")
        assert card.remedies == ()
        assert card.ball == "Strike ball"
        assert "strike near the pocket" in note(card, "Why this line")
        third = 3 if job.chart.bowler.hand is Hand.RIGHT else 2
        assert note(card, "At the pins") == f"In the pocket, between the 1 and the {third}."
        headings = [n.heading for n in card.notes]
        assert "Which ball" not in headings
        assert headings.index("At the pins") < headings.index("On its way")


def test_a_strike_line_of_the_bowlers_own_is_printed_as_such(job_from: JobFrom) -> None:
    own = "known_lines: [{leave: 1-2-3-4-5-6-7-8-9-10, stand: 27, target: 11, ball: strike}]\n"
    job = job_from(LEAST + own)
    card = card_for(job, FULL_RACK)
    assert (card.stand.figure, card.target.figure, card.own) == ("27", "11", "Your own line")
    assert note(card, "Why this line") == "Your own line, printed as you gave it."
    strike = strike_in(job)
    assert (strike.line.stand, strike.line.target) == (27, 11)
    # All that rests on the strike line rests on this one: its pages, and the order of the leaves.
    pages = booklet_of(job.loaded, job.chart, job.words, stretch=8.0, strike=strike).pages
    moves = next(page for page in pages if isinstance(page, Moves))
    feet = next(page for page in pages if isinstance(page, FeetTable))
    rests = next(page for page in pages if isinstance(page, Assumptions))
    assert moves.intro.startswith("From 27 over 11. ")
    assert feet.intro.endswith("target 11 kept; move your feet from 27.")
    assert any("with the strike ball from 27 over 11," in text for text in rests.notes)
    record = json.loads(json.dumps(record_of(job.chart, job.words, strike)))
    assert record["lines"][0]["source"] == "known"
    assert (record["strike"]["stand"], record["strike"]["target"]) == (27, 11)


def test_an_own_strike_line_that_misses_has_a_card_and_no_pages(job_from: JobFrom) -> None:
    own = "known_lines: [{leave: 1-2-3-4-5-6-7-8-9-10, stand: 10, target: 30, ball: strike}]\n"
    job = job_from(LEAST + own)
    assert job.answers.strike is None
    card = card_for(job, FULL_RACK)
    assert (card.stand.figure, card.target.figure, card.own) == ("10", "30", "Your own line")
    assert "it misses" in note(card, "Why this line")
    assert "At the pins" not in {n.heading for n in card.notes}


def test_a_booklet_of_a_strike_line_alone_has_no_tally_of_spares(demos: dict[str, Job]) -> None:
    for demo in demos.values():
        job = job_of(demo.loaded, demo.words, [FULL_RACK])
        strike = strike_in(job)
        pages = booklet_of(job.loaded, job.chart, job.words, stretch=8.0, strike=strike).pages
        kinds = [type(page).__name__ for page in pages]
        assert kinds == [
            *("Cover", "Guide", "Advice", "Face", "Back", "Moves", "FeetTable"),
            *("Table", "Assumptions", "Advice"),
        ]
        assert len(job.booklet().pdf()) > 10_000


PRICES = [
    (0.26, 0.4, "26 fewer in 100, on a drier lane 40 fewer in 100."),
    (-0.034, 0.004, "3 more in 100, on a drier lane as many."),
    (0.0, -0.2, "as many, on a drier lane 20 more in 100."),
]


@pytest.mark.parametrize(("price", "drier", "said"), PRICES)
def test_each_card_tells_what_the_other_ball_costs(
    price: float, drier: float, said: str, demos: dict[str, Job]
) -> None:
    other = OtherBall(Alternative("strike", 31.5, 12.0, 0.5, 0.5), price, drier)
    card = card_for(demos["ilse-marchetti"], Leave.of(6), other_ball=other)
    assert note(card, "Which ball") == f"Strike ball: stand 31½, target 12; {said}"


def test_a_ball_without_a_line_is_said_to_have_none(demos: dict[str, Job]) -> None:
    card = card_for(demos["ilse-marchetti"], Leave.of(6), other_ball=None)
    assert note(card, "Which ball") == "Strike ball: no line comes to it."


def test_a_hooking_path_is_told_and_a_flat_one_is_not(job_from: JobFrom) -> None:
    job = job_from(LEAST)
    line = strike_line(job)
    said = note(card_for(job, FULL_RACK), "On its way")
    out, hooks, rolls = line.trace.breakpoint, line.trace.hooks, line.trace.rolls
    assert out is not None
    assert hooks is not None
    assert rolls is not None
    skid, hook = f"{hooks.y_m / 0.3048:.0f}", f"{rolls.y_m / 0.3048:.0f}"
    assert said.startswith(f"Skids to {skid} ft, hooks to {hook} ft, then rolls. Farthest out: b")
    assert said.endswith(f", at {out.y_m / 0.3048:.0f} ft.")
    late = card_for(job, FULL_RACK, trace=replace(line.trace, rolls=None, breakpoint=None))
    assert note(late, "On its way") == f"Skids to {skid} ft, then hooks."
    flat = card_for(job, Leave.of(10))
    assert "On its way" not in {n.heading for n in flat.notes}


def test_the_strike_cards_pages_come_first_each_a_page(demos: dict[str, Job]) -> None:
    for job in demos.values():
        pages = booklet_of(
            job.loaded, job.chart, job.words, stretch=8.0, strike=job.answers.strike
        ).pages
        assert isinstance(pages[5], Moves)
        assert isinstance(pages[6], FeetTable)
        without = booklet_of(job.loaded, job.chart, job.words, stretch=8.0).pages
        assert not [page for page in without if isinstance(page, Moves | FeetTable)]


def test_a_chart_without_the_full_rack_has_no_strike_pages(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    assert job_of(job.loaded, job.words, [Leave.of(10)]).answers.strike is None


def test_the_record_tells_the_strike_line(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    strike = strike_of(job.chart, strike_line(job))
    told: Any = json.loads(json.dumps(record_of(job.chart, job.words, strike)))["strike"]
    assert list(told) == [
        *("stand", "target", "strikes", "crossed", "crossed_strikes"),
        *("moves", "shifts", "spares_by_feet"),
    ]
    assert (told["stand"], told["target"]) == (strike.line.stand, strike.line.target)
    assert [move["fault"] for move in told["moves"]] == [m.fault.value for m in strike.moves]
    assert told["strikes"] == pytest.approx(strike.line.odds.make, abs=5e-4)
    assert told["crossed"] == pytest.approx(strike.crossed, abs=5e-4)
    assert told["crossed_strikes"] == pytest.approx(strike.crossed_strikes, abs=5e-4)
    for said, move in zip(told["moves"], strike.moves, strict=True):
        assert list(said) == ["fault", "feet", "target", "off_boards", "rule"]
        assert (said["feet"], said["target"]) == (move.step.feet, move.step.target)
        assert said["off_boards"] == pytest.approx(move.off_boards, abs=0.005)
        assert (said["rule"]["feet"], said["rule"]["target"]) == (move.rule.feet, move.rule.target)
        assert said["rule"]["off_boards"] == pytest.approx(move.rule_off_boards, abs=0.005)
    for said, shift in zip(told["shifts"], strike.shifts, strict=True):
        assert (said["feet"], said["target"]) == (shift.step.feet, shift.step.target)
        assert said["boards"] == pytest.approx(shift.boards, abs=0.005)
    assert [pin["pin"] for pin in told["spares_by_feet"]] == [3, 6, 10, 2, 4, 7]
    for said, feet in zip(told["spares_by_feet"], strike.feet, strict=True):
        assert (said["pin"], said["feet"]) == (feet.pin, feet.feet)
        assert said["make"] == pytest.approx(feet.make, abs=5e-5)
        assert [(h["feet"], h["misses"]) for h in said["habits"]] == [
            (habit.feet, habit.misses) for habit in feet.habits
        ]
        for told_habit, habit in zip(said["habits"], feet.habits, strict=True):
            assert (told_habit["make"] is None) == (habit.make is None)
            assert habit.make is None or told_habit["make"] == pytest.approx(habit.make, abs=5e-5)


def test_moves_of_the_record_are_away_from_the_ball_side_and_those_of_the_page_are_sides(
    strike: Strike, demos: dict[str, Job]
) -> None:
    job = demos["ilse-marchetti"]
    told: Any = json.loads(json.dumps(record_of(job.chart, job.words, strike)))["strike"]
    assert [(m["feet"], m["target"]) for m in told["moves"]] == [(-1, 0), (2.5, 1), (4, 2), (0, 0)]
    assert [pin["feet"] for pin in told["spares_by_feet"]] == [-5, None, 2.5, 0]
    assert told["spares_by_feet"][1]["habits"] == [
        {"feet": -9, "make": None, "misses": True},
        {"feet": -6, "make": 0.01, "misses": False},
    ]


def test_one_leave_can_be_set_side_by_side_for_three_bowlers(job_from: JobFrom) -> None:
    # A coach shows a class why each stands elsewhere: cards of one leave from as many charts.
    leave = Leave.of(10)
    texts = (LEAST, LEFT_HANDED + "style: two-handed\n", LEAST + "style: no-thumb\n")
    sketches = []
    for text in texts:
        job = job_from(text)
        chart = job_of(job.loaded, job.words, [leave]).chart
        card = card_of(chart.lines[0], chart, job.words)
        assert card.name == "10 pin"
        sketches.append(card.sketch)
    calls = [(s.bowler.hand, s.line.stand, s.line.target) for s in sketches]
    assert len(set(calls)) == 3
    assert [s.bowler.hand for s in sketches] == [Hand.RIGHT, Hand.LEFT, Hand.RIGHT]
    assert [s.bowler.style for s in sketches] == ["one-handed", "two-handed", "no-thumb"]
    # Far from the ball for a left-hander, whose boards count from the other edge.
    assert [s.line.arrive > 20 for s in sketches] == [False, True, False]
    assert len({tuple(s.line.trace.x_m) for s in sketches}) == 3
    # Without the thumb a ball turns more than with it (common practice, no source).
    one, _, other = (s.bowler.ball("spare").rev_radps for s in sketches)
    assert one < other
    # One lane for all of them.
    assert len({s.oil for s in sketches}) == 1
