"""What handouts say: their numbers are the chart's, and they add up."""

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from cardgen.cards.card import board_text
from cardgen.cards.handout import (
    feet_effect,
    few_lesson,
    leave_page,
    miss_lesson,
    poster_of,
    straight_lesson,
    worksheet_page,
)
from cardgen.cards.words import Words
from cardgen.delivery.stance import StandHabits
from cardgen.errors import UsageError
from cardgen.lane.geometry import BOARD_M
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave, mirrored_pin
from cardgen.press import Job, job_of
from cardgen.targeting.line import Line
from cardgen.units import FOOT_M

DEMOS = ("ilse-marchetti", "wren-skobernik")
SUM = re.compile(r"(−?[\d.]*½?)\u00a0([−+])\u00a0(\d+\.\d)\u00a0=\u00a0(−?\d+\.\d)")
LEAN = re.compile(
    r"leans ([\d.]+) boards a foot .* follows (\d+) % of that for ([\d.]+) ft: ([\d.]+)"
)


def value(text: str) -> float:
    """Return a board as print writes it as a number."""
    text = text.replace("−", "-")
    return float(text[:-1] or "0") + 0.5 if text.endswith("½") else float(text)


def sums(step: str) -> list[tuple[float, float, float]]:
    return [
        (value(first), value(more) * (1 if sign == "+" else -1), value(total))
        for first, sign, more, total in SUM.findall(step)
    ]


def chart_lines(jobs: dict[str, Job]) -> list[tuple[Job, Line]]:
    return [(job, line) for job in jobs.values() for line in job.chart.lines]


@pytest.fixture(scope="module")
def everybody(demos: dict[str, Job], fitted: dict[str, Job]) -> list[tuple[Job, Line]]:
    return chart_lines(demos) + chart_lines(fitted)


def pages(everybody: list[tuple[Job, Line]]) -> list[tuple[Job, Line, tuple[str, ...]]]:
    return [(job, x, leave_page(x, job.chart, job.words).steps) for job, x in everybody]


# --- one leave --------------------------------------------------------------------------------


def test_a_leave_is_worked_out_in_five_steps_whose_sums_add_up(
    everybody: list[tuple[Job, Line]],
) -> None:
    for _, line, steps in pages(everybody):
        assert len(steps) == 5
        written = [s for step in steps for s in sums(step)]
        straight = "straight up the boards" in steps[2]
        assert len(written) >= (2 if straight else 4), line.leave
        assert not any(more == 0 for *_, more, _ in written), (line.leave, steps)
        for first, more, total in written:
            assert first + more == pytest.approx(total, abs=1e-9), (line.leave, steps)


def test_the_steps_lead_from_the_stand_to_where_the_chart_says_the_ball_comes_in(
    everybody: list[tuple[Job, Line]],
) -> None:
    for job, line, steps in pages(everybody):
        chain = [s for step in steps for s in sums(step)]
        assert chain[0][0] == line.stand
        # Each sum begins where the last one ended.
        for (*_, before), (after, *_) in pairwise(chain):
            assert before == after
        totals = [total for *_, total in chain]
        assert round(line.laydown, 1) in totals
        assert round(line.target - job.chart.bowler.aim_m / BOARD_M, 1) in totals
        if "hardly curves" not in steps[3]:
            assert totals[-1] == round(line.arrive, 1)
        assert f"{abs(line.foot_effect_boards):.1f} boards" in steps[4]
        assert f"{abs(line.target_effect_boards):.1f} boards" in steps[4]


def test_a_walk_goes_along_the_line_as_far_as_its_lean_and_length_say(
    everybody: list[tuple[Job, Line]],
) -> None:
    # Derived: boards a foot, times feet, times the share; each printed number is rounded.
    told = 0
    for _, line, steps in pages(everybody):
        if (found := LEAN.search(steps[1])) is None:
            continue
        lean, share, feet, boards = map(float, found.groups())
        assert lean * feet * share / 100 == pytest.approx(boards, abs=0.26), (line.leave, steps)
        told += 1
    assert told > 20


def test_the_line_goes_on_at_the_pins_as_it_leans_to_the_arrows(
    everybody: list[tuple[Job, Line]],
) -> None:
    # Derived: similar triangles, with the distances that stand beside them on the page.
    for _, line, steps in pages(everybody):
        feet = float(re.findall(r"([\d.]+)\sft on", steps[2])[0])
        beyond = float(re.findall(r"^([\d.]+) ft farther", steps[3])[0])
        assert feet + beyond == pytest.approx(line.leave.front_row_m / FOOT_M, abs=0.11)
        across = 0.0 if "straight up the boards" in steps[2] else sums(steps[2])[-1][1]
        leaned = 0.0 if "a straight ball is still on" in steps[3] else sums(steps[3])[0][1]
        assert leaned == pytest.approx(across * beyond / feet, abs=0.3), (line.leave, steps)


def test_a_shot_up_the_boards_is_told_without_noughts(everybody: list[tuple[Job, Line]]) -> None:
    # Ilse's 20.0 at the foul line, over 20.0 at the arrows.
    told = [steps for *_, steps in pages(everybody) if "straight up the boards" in steps[2]]
    assert told
    for steps in told:
        (laid, crossed) = re.findall(r"(?:From|over) ([\d.]+)", steps[2])
        assert laid == crossed
        assert f"still on {crossed}" in steps[3] or "it has leaned 0.1 more" in steps[3]


def test_a_left_handers_page_is_the_mirror_image(
    job_from: Callable[[str], Job], words: Words
) -> None:
    text = (
        "bowler: Demo\nhand: {}\nstand: {{drift_boards: 1.2}}\n"
        # Games wear the oil more on one side, for most bowlers are right-handed.
        "lane: {{games: 0, doubt: {{games: 0}}}}\nknown_lines:\n"
        '  - {{leave: "{}", stand: 34, target: 20}}\n  - {{leave: "{}", stand: 21, target: 18}}\n'
    )
    right, left = job_from(text.format("right", 10, 8)), job_from(text.format("left", 7, 9))
    lines = {line.leave: line for line in left.chart.lines}
    swap = {"left": "right", "right": "left"}
    for leave in (Leave.of(10), Leave.of(8)):
        line = next(line for line in right.chart.lines if line.leave == leave)
        turned = tuple(
            re.sub(r"\b(left|right)\b", lambda found: swap[found.group()], step)
            for step in leave_page(line, right.chart, words).steps
        )
        assert leave_page(lines[leave.mirrored], left.chart, words).steps == turned


def test_a_bowler_who_drifts_or_aims_aside_is_told_so(
    demos: dict[str, Job], fitted: dict[str, Job], words: Words
) -> None:
    wren = demos["wren-skobernik"].chart
    assert "drift 1.5 boards left" in leave_page(wren.lines[1], wren, words).steps[0]
    ilse = demos["ilse-marchetti"].chart
    assert "drift" not in leave_page(ilse.lines[1], ilse, words).steps[0]
    for job in fitted.values():
        aim = round(job.chart.bowler.aim_m / BOARD_M, 1)
        said = "You look at the target" in leave_page(job.chart.lines[1], job.chart, words).steps[2]
        assert said == (abs(aim) >= 0.1)


def test_the_page_says_what_the_card_says_and_the_feet_only_once(
    demos: dict[str, Job], words: Words
) -> None:
    for job, line in chart_lines(demos):
        page = leave_page(line, job.chart, words)
        assert page.card.stand.figure == board_text(line.stand)
        assert page.card.target.figure == board_text(line.target)
        assert words("back.feet") not in {note.heading for note in page.notes}
        assert len(page.notes) == len(page.card.notes) - 1
        assert "medical professional" in page.cautions


# --- the worksheet ----------------------------------------------------------------------------


def test_a_board_of_the_feet_is_three_at_the_pins_for_a_bowler_who_walks_straight() -> None:
    # The arrows' middle is 15 ft from the foul line and the head pin 60 ft (USBC): 60/15 - 1 = 3,
    # the ratio behind moving the feet by the board for every three of a miss (common practice, no
    # source).
    straight = StandHabits(13 * FOOT_M, 5 * BOARD_M, walk=0.0)
    assert feet_effect(straight, 15 * FOOT_M, 60 * FOOT_M) == pytest.approx(3.0)
    # Derived: a walk along the line takes back D/T of each board of the laydown.
    along = replace(straight, walk=1.0)
    assert feet_effect(along, 15 * FOOT_M, 60 * FOOT_M) == pytest.approx(3 / (1 + 13 / 15))


def test_the_effect_of_the_feet_is_that_of_the_engine_for_a_straight_ball(
    demos: dict[str, Job],
) -> None:
    chart = demos["ilse-marchetti"].chart
    for line in chart.lines:
        if line.ball != "spare":
            continue
        effect = feet_effect(chart.bowler.habits, line.trace.target_y_m, line.leave.front_row_m)
        assert effect == pytest.approx(abs(line.foot_effect_boards), rel=0.12)


def test_a_worksheet_tells_both_walks_unless_it_knows_the_bowlers(
    demos: dict[str, Job], words: Words
) -> None:
    bowler = demos["ilse-marchetti"].chart.bowler
    anybody = worksheet_page(Leave.of(10), bowler, words, walks=False)
    own = worksheet_page(Leave.of(10), bowler, words, walks=True)
    assert len(anybody.steps) == len(own.steps) == 5
    assert "if you walk straight ahead" in anybody.steps[3]
    assert "For you" in own.steps[3]
    habits, middle = bowler.habits, bowler.sights.arrows_m[3]
    effect = feet_effect(habits, middle, Leave.of(10).front_row_m)
    assert f"is {effect:.1f} boards" in own.steps[3]


def test_the_search_begins_in_the_middle_of_what_touches_the_pin_on_the_lane(
    demos: dict[str, Job], words: Words
) -> None:
    bowler = demos["ilse-marchetti"].chart.bowler

    def second(leave: Leave, arrive: float | None = None) -> str:
        return worksheet_page(leave, bowler, words, walks=True, arrive=arrive).steps[1]

    # Derived: the 10 pin's middle is 18 in from the lane's, so from 11.3 in on a ball touches it
    # (8.5 in of ball, 4.77 of pin), and at 20.75 in is the gutter: midway are 16 in, 15 boards.
    assert "15 boards right" in second(Leave.of(10))
    assert "15 boards left" in second(Leave.of(7))
    assert "Stay where you are" in second(Leave.of(5))
    assert "Begin at the 3 pin" in second(Leave.of(3, 10))
    assert "9 boards right" in second(Leave.of(3, 10), arrive=10.75)


def test_a_worksheets_lane_shows_its_leave_and_no_line(demos: dict[str, Job], words: Words) -> None:
    bowler = demos["wren-skobernik"].chart.bowler
    sheet = worksheet_page(Leave.of(3, 10), bowler, words, walks=True)
    assert sheet.sketch.line.leave == Leave.of(3, 10)
    assert sheet.sketch.line.stand < -39


# --- lessons ----------------------------------------------------------------------------------


def test_the_lesson_on_few_lines_shows_the_first_of_the_few(
    demos: dict[str, Job], fitted: dict[str, Job], words: Words
) -> None:
    for job in (*demos.values(), *fitted.values()):
        few = job.answers.few
        assert few is not None
        lesson = few_lesson(job.chart, few, words)
        serving = [line for line in few.lines if line.serves][:4]
        assert [(way.stand, way.target) for way in lesson.ways] == [
            (line.stand, line.target) for line in serving
        ]
        assert [row.letter for row in lesson.rows] == [way.letter for way in lesson.ways]
        for line, row in zip(serving, lesson.rows, strict=True):
            assert board_text(line.stand) in row.heading
            shown = set(lesson.sketch.line.leave)
            assert set(line.serves[0].leave) <= shown


def test_the_lesson_on_misses_moves_the_feet_to_the_side_of_the_miss(
    demos: dict[str, Job], words: Words
) -> None:
    for job in demos.values():
        lesson = miss_lesson(job.chart, words)
        left, line, right = lesson.rows
        assert left.heading.startswith("feet 3 left")
        assert "farther right" in left.text
        assert right.heading.startswith("feet 3 right")
        assert "farther left" in right.text
        assert line.text.startswith("Your line for the")
        ways = {way.letter: way for way in lesson.ways}
        middle = ways[line.letter]
        chosen = next(x for x in job.chart.lines if x.leave == lesson.sketch.line.leave)
        assert middle.arrive == pytest.approx(chosen.arrive, abs=1e-6)
        for row in (left, right):
            way = ways[row.letter]
            assert abs(way.stand - middle.stand) == 3
            assert way.target == middle.target
            moved = abs(way.arrive - middle.arrive)
            assert f"{moved:.1f} boards" in row.text
            # A board of the feet, three times: nearly, for a hook bends it.
            assert moved == pytest.approx(3 * abs(chosen.foot_effect_boards), rel=0.3)


def test_the_spare_ball_strays_less_on_a_drier_lane_than_the_strike_ball(
    demos: dict[str, Job], words: Words
) -> None:
    for job in demos.values():
        lesson = straight_lesson(job.chart, words)
        off = {}
        for letter in ("A", "B"):
            dry, wet = sorted(
                (way for way in lesson.ways if way.letter == letter), key=lambda way: not way.thin
            )
            assert dry.thin
            assert not wet.thin
            assert (dry.stand, dry.target) == (wet.stand, wet.target)
            off[letter] = abs(dry.arrive - wet.arrive)
            row = next(row for row in lesson.rows if row.letter == letter)
            assert f"comes in {off[letter]:.1f} boards" in row.text
        assert 2 * off["A"] < off["B"]
        chosen = next(x for x in job.chart.lines if x.leave == lesson.sketch.line.leave)
        assert f"{round(100 * chosen.odds.make)} in 100" in lesson.rows[0].text


def test_a_chart_without_what_a_lesson_needs_is_refused(
    demos: dict[str, Job], words: Words
) -> None:
    only = job_of(demos["ilse-marchetti"].loaded, words, [FULL_RACK])
    for lesson in (
        lambda: few_lesson(only.chart, only.answers.few, words),
        lambda: miss_lesson(only.chart, words),
        lambda: straight_lesson(only.chart, words),
        lambda: poster_of(only.chart, words),
    ):
        with pytest.raises(UsageError, match="there is no"):
            lesson()


# --- the poster -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", DEMOS)
def test_the_poster_has_the_pins_as_they_stand_with_the_charts_figures(
    name: str, demos: dict[str, Job], words: Words
) -> None:
    chart = demos[name].chart
    poster = poster_of(chart, words)
    shown = [lane.sketch.line.leave.pins[0] for lane in poster.lanes]
    assert shown == [7, 4, 2, 8, 1, 5, 3, 9, 6, 10]
    assert [mirrored_pin(pin) for pin in shown[::-1]] == [7, 4, 8, 2, 5, 1, 9, 3, 6, 10]
    lines = {line.leave: line for line in chart.lines}
    for lane in poster.lanes:
        line = lines[lane.sketch.line.leave]
        assert lane.figures == (board_text(line.stand), board_text(line.target))
        assert lane.rest == (line.ball, f"{round(100 * line.odds.make)}")


def test_a_poster_of_some_pins_shows_those(demos: dict[str, Job], words: Words) -> None:
    job = job_of(demos["ilse-marchetti"].loaded, words, [*SINGLE_PINS[6:8], Leave.of(3, 10)])
    assert [lane.name for lane in poster_of(job.chart, words).lanes] == ["7 pin", "8 pin"]
