"""What cards and pages say of the strike line, the other ball, and a path that hooks."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

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
from cardgen.targeting.strike import Strike

JobFrom = Callable[..., Job]
LEAST = "bowler: Demo\nhand: right\n"
LEFT_HANDED = "bowler: Demo\nhand: left\n"


def strike_line(job: Job) -> Line:
    return next(line for line in job.chart.lines if line.leave == FULL_RACK)


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
    assert fewer.notes[0] == "No lane near yours explains the misses left out here."


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
    assert "target 12½ kept" in page.intro


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
    found = job.strike()
    assert found is not None
    assert (found.line.stand, found.line.target) == (27, 11)


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
        pages = booklet_of(job.loaded, job.chart, job.words, stretch=8.0, strike=job.strike()).pages
        assert isinstance(pages[5], Moves)
        assert isinstance(pages[6], FeetTable)
        without = booklet_of(job.loaded, job.chart, job.words, stretch=8.0).pages
        assert not [page for page in without if isinstance(page, Moves | FeetTable)]


def test_a_chart_without_the_full_rack_has_no_strike_pages(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    assert job_of(job.loaded, job.words, [Leave.of(10)]).strike() is None


def test_the_record_tells_the_strike_line(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    strike = job.strike()
    assert strike is not None
    told = record_of(job.chart, job.words, strike)["strike"]
    assert isinstance(told, dict)
    assert list(told) == [
        *("stand", "target", "strikes", "crossed", "crossed_strikes"),
        *("moves", "shifts", "spares_by_feet"),
    ]
    assert (told["stand"], told["target"]) == (strike.line.stand, strike.line.target)
    assert [move["fault"] for move in told["moves"]] == [m.fault.value for m in strike.moves]
    for said, move in zip(told["moves"], strike.moves, strict=True):
        assert (said["feet"], said["target"]) == (move.step.feet, move.step.target)
        assert said["rule"]["off_boards"] == pytest.approx(move.rule_off_boards, abs=0.005)
    assert [pin["pin"] for pin in told["spares_by_feet"]] == [m.pin for m in strike.feet]


def test_one_leave_can_be_set_side_by_side_for_three_bowlers(job_from: JobFrom) -> None:
    # A coach shows a class why each stands elsewhere: cards of one leave from as many charts.
    leave = Leave.of(10)
    texts = (LEAST, LEFT_HANDED + "style: two-handed\n", LEAST + "style: no-thumb\nlane: dry\n")
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
    assert sketches[0].oil != sketches[2].oil
