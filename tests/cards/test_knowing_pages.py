"""The pages and texts of what is known of the bowler."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from cardgen.cards.assumptions import Assumption, Assumptions
from cardgen.cards.booklet import Booklet, Cover, Guide, Page, Tally, booklet_of
from cardgen.cards.card import Card, board_text, card_of, leave_label
from cardgen.cards.changes import ChangesPage, change_rows, changes_page
from cardgen.cards.drill import DrillPage, drill_page, drill_rows, practice_rows, sure_text
from cardgen.cards.fewlines import FewPage, curve_text, few_page, few_rows
from cardgen.cards.words import Words
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave
from cardgen.press import Job, job_of
from cardgen.profile.belief import Belief, at
from cardgen.profile.bowler import KnownLine
from cardgen.targeting.answers import Answers
from cardgen.targeting.changes import Change
from cardgen.targeting.drill import DRILL_THROWS, Drill, DrillThrow
from cardgen.targeting.fewer import FewLine, FewLines, Served

JobFrom = Callable[..., Job]
LEAST = "bowler: Demo\nhand: right\n"


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def whole_booklet(job: Job) -> Booklet:
    return booklet_of(
        job.loaded,
        job.chart,
        job.words,
        stretch=8.0,
        strike=job.answers.strike,
        few=job.answers.few,
        changes=job.answers.changes,
        drill=job.answers.drill,
        practice=job.answers.practice,
    )


def kinds(pages: tuple[Page, ...]) -> list[type[object]]:
    return [type(page) for page in pages]


def few_of(kept: tuple[float, ...], exact: tuple[bool, ...] = (), lines: int = 1) -> FewLines:
    served = (Served(Leave.of(10), 0.6), Served(Leave.of(6, 10), 0.5))
    return FewLines(
        tuple(FewLine("spare", 34.5, 20.0 + n, served) for n in range(lines)),
        kept,
        exact or (True,) * len(kept),
    )


def test_the_lines_to_remember_come_after_the_cover_and_the_drill_before_the_tally(
    demos: dict[str, Job], fitted: dict[str, Job]
) -> None:
    for job in demos.values():
        found = kinds(whole_booklet(job).pages)
        assert found[:3] == [Cover, FewPage, Guide]
        assert ChangesPage not in found
        assert found[found.index(DrillPage) + 1] is Tally
        assert found.count(DrillPage) == 1
    for job in fitted.values():
        assert kinds(whole_booklet(job).pages)[:4] == [Cover, FewPage, ChangesPage, Guide]


def test_a_booklet_without_any_of_it_has_none_of_its_pages(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    found = kinds(booklet_of(job.loaded, job.chart, job.words, stretch=8.0).pages)
    assert not {FewPage, ChangesPage, DrillPage} & set(found)


def test_a_strike_line_alone_has_no_lines_to_remember_and_no_drill(
    demos: dict[str, Job],
) -> None:
    job = demos["ilse-marchetti"]
    alone = job_of(job.loaded, job.words, [FULL_RACK])
    assert alone.answers.few is None
    assert alone.answers.drill is None
    assert alone.answers.practice == ()
    assert not {FewPage, DrillPage} & set(kinds(whole_booklet(alone).pages))


def test_each_spare_is_served_by_one_of_the_lines_to_remember(demos: dict[str, Job]) -> None:
    for job in demos.values():
        few = job.answers.few
        assert few is not None
        rows = few_rows(few, job.words)
        assert len(rows) == len(few.lines) >= 3
        listed = [leave for row in rows for leave in row[3].split(", ")]
        # Leaves with a line of the bowler's own keep that.
        spares = [x.leave for x in job.chart.lines if x.leave != FULL_RACK and not x.known]
        assert sorted(listed) == sorted(leave_label(leave, job.words) for leave in spares)
        for row, line in zip(rows, few.lines, strict=True):
            assert row[:3] == (board_text(line.stand), board_text(line.target), line.ball)
        page = few_page(few, job.chart, job.words)
        assert [plain(row.leaves) for row in page.rows] == [row[3] for row in rows]
        assert page.headings == ("STAND", "TARGET")
        assert f"These {len(rows)} keep " in page.intro
        assert "One line serves several leaves." in page.intro
        assert page.notes[-1] == "The cards after this have each leave’s own best line."


def test_rare_leaves_may_be_summed_up_and_common_ones_never(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    few, first = job.answers.few, job.chart.first_ball
    assert few is not None
    assert first is not None
    page = few_page(few, job.chart, job.words)
    summed = 0
    for row, line in zip(page.rows, few.lines, strict=True):
        common = [s.leave for s in line.serves if first.shares.get(s.leave, 0.0) >= 0.01]
        assert common
        rest = len(line.serves) - len(common)
        names = ", ".join(leave_label(leave, job.words) for leave in common)
        if rest > 1:
            summed += 1
            assert plain(row.usual) == f"{names} and {rest} rarer ones"
        else:
            assert row.usual == row.leaves
    assert summed > 0


@pytest.mark.parametrize(
    ("kept", "exact", "said"),
    [
        ((0.78, 0.91, 0.962, 0.995, 0.999), (), "1 line keeps 78 in 100, 2: 91, 3: 96, 4: 99"),
        # The first that prints as 99 is the last.
        ((0.5, 0.9871, 0.992), (), "1 line keeps 50 in 100, 2: 99"),
        ((0.9999, 1.0), (), "1 line keeps 99 in 100"),
        ((1.0,), (), "1 line keeps 100 in 100"),
        ((0.7, 0.8), (), "1 line keeps 70 in 100, 2: 80"),
        (
            (0.7, 0.8, 0.9999),
            (True, False, False),
            "1 line keeps 70 in 100, 2: at least 80, 3: at least 99",
        ),
        ((0.7, 1.0), (True, True), "1 line keeps 70 in 100, 2: 100"),
    ],
)
def test_the_curve_ends_where_nothing_more_is_to_be_had(
    kept: tuple[float, ...], exact: tuple[bool, ...], said: str, words: Words
) -> None:
    told = plain(curve_text(few_of(kept, exact), words))
    assert told == f"Of what all lines together make, {said}."


def test_the_intro_tells_what_these_lines_keep(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    one = few_page(few_of((0.9999, 1.0)), job.chart, job.words)
    assert "This one keeps 99 in 100 of the spares" in one.intro
    two = few_page(few_of((0.7, 0.84), (True, False), lines=2), job.chart, job.words)
    assert "These 2 keep at least 84 in 100 of the spares" in two.intro


def test_changes_are_told_with_old_and_new_line(demos: dict[str, Job], words: Words) -> None:
    ten, five = demos["ilse-marchetti"].chart.lines[1:3]
    changes = (
        Change(
            ten.leave,
            KnownLine(ten.leave, 30.5, 18, "strike"),
            replace(ten, ball="spare", stand=34.0, target=20.0),
        ),
        Change(
            Leave.of(1, 3, 8, 10),
            KnownLine(Leave.of(1, 3, 8, 10), 25, 20, "spare"),
            replace(five, leave=Leave.of(1, 3, 8, 10), ball="spare", stand=25.0, target=20.5),
        ),
    )
    rows = change_rows(changes, words)
    assert rows == (
        ("10 pin", "Strike ball, 30½ over 18", "→ Spare ball, 34 over 20"),
        ("1-3-8-10", "Spare ball, 25 over 20", "→ Spare ball, 25 over 20½"),
    )
    page = changes_page(changes, words)
    assert page.rows == rows
    assert "since the last fit" in page.intro


def test_a_fit_tells_what_it_changed_and_a_profile_without_one_nothing(
    demos: dict[str, Job], fitted: dict[str, Job]
) -> None:
    assert all(job.answers.changes == () for job in demos.values())
    for name, job in fitted.items():
        before = {x.leave: (x.ball, x.stand, x.target) for x in demos[name].chart.lines}
        after = {x.leave: (x.ball, x.stand, x.target) for x in job.chart.lines}
        others = {leave for leave in before if leave in after and before[leave] != after[leave]}
        assert {change.leave for change in job.answers.changes} == others
        assert others
        assert job.answers.changes is job.answers.changes  # found once


def test_changes_are_of_the_leaves_that_were_asked_for(fitted: dict[str, Job]) -> None:
    job = fitted["wren-skobernik"]
    asked = job_of(job.loaded, job.words, [Leave.of(7), Leave.of(10)])
    assert {change.leave for change in asked.answers.changes} <= {Leave.of(7), Leave.of(10)}


def test_the_drill_tells_its_lines_and_what_they_win(demos: dict[str, Job]) -> None:
    for job in demos.values():
        drill = job.answers.drill
        assert drill is not None
        page = drill_page(drill, job.answers.practice, job.words)
        assert len(page.rows) == len(drill.throws) == 3
        for row, told, throw in zip(
            page.rows, drill_rows(drill, job.words), drill.throws, strict=True
        ):
            line = throw.line
            assert told == (row.leave, row.stand, row.target, row.ball)
            assert told[1:] == (board_text(line.stand), board_text(line.target), line.ball)
            assert len(row.boxes) == len(set(row.boxes)) == DRILL_THROWS
        assert f"{DRILL_THROWS} times" in page.intro
        assert "foul line" in page.caution


def test_how_sure_the_drill_makes_is_told_8_times_in_10(
    demos: dict[str, Job], words: Words
) -> None:
    # A normal error is within 1.28 standard deviations 8 times in 10 (any table of the normal
    # distribution: its 90th percentile is 1.2816).
    line = demos["ilse-marchetti"].chart.lines[1]
    drill = Drill(2.0, (DrillThrow(line, 1.5), DrillThrow(line, 1.0)))
    assert sure_text(drill, words) == (
        "8 times in 10 your ball arrives within ±2.6\u00a0boards of where the chart says. "
        "After these throws: within ±1.3."
    )


def test_the_plan_has_the_leaves_whose_practice_wins_most(demos: dict[str, Job]) -> None:
    for job in demos.values():
        practice = job.answers.practice
        rows = practice_rows(practice, job.words)
        assert len(rows) == 6
        assert [row[0] for row in rows] == [
            leave_label(each.line.leave, job.words) for each in practice[:6]
        ]
        for row, each in zip(rows, practice, strict=False):
            several = len(each.line.leave) > 1
            assert float(row[1]) == round(each.faced, 1)
            assert [cell.startswith("~") for cell in row[2:4]] == [several] * 2
            now, better = (int(cell.removeprefix("~")) for cell in row[2:4])
            assert now <= better
            assert now == round(100 * each.line.odds.make)
            assert float(row[4].removeprefix("+")) == round(each.wins, 1)
        few, many = (practice_rows(practice, job.words, count) for count in (2, 99))
        assert few == rows[:2]
        assert many[:6] == rows


def test_nothing_to_win_is_no_row_and_little_is_said_so(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    each = job.answers.practice[0]
    made = (replace(each, wins=0.02, faced=0.01, better=0.996), replace(each, wins=0.0))
    ((_, faced, _, better, wins),) = practice_rows(made, job.words)
    assert (faced, better, wins) == ("<0.1", "99", "<0.1")


def sure_note(card: Card) -> tuple[str, ...]:
    found = [note.lines for note in card.notes if note.heading == "How sure"]
    assert len(found) <= 1
    return found[0] if found else ()


def test_a_card_tells_how_sure_its_stand_is(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for line in job.chart.lines:
            card = card_of(line, job.chart, job.words)
            unsure = f"{line.odds.unsure_boards:.1f}"
            said = " ".join(sure_note(card))
            if line.leave == FULL_RACK:
                assert said == ""
            else:
                assert said.startswith(
                    f"8 times in 10 the right stand is within ±{unsure}\u00a0boards."
                )
            assert card.defaults == (
                "From defaults" if job.chart.from_defaults and not line.known else ""
            )


@pytest.mark.parametrize(
    ("unsure", "said"),
    [
        (0.01, "8 times in 10 the right stand is within ±0.1\u00a0boards."),
        (9.94, "8 times in 10 the right stand is within ±9.9\u00a0boards."),
        (9.96, "The right stand may well be 10 boards off or more."),
        (float("inf"), "The right stand may well be 10 boards off or more."),
    ],
)
def test_a_stand_that_nobody_knows_is_told_in_words(
    unsure: float, said: str, demos: dict[str, Job]
) -> None:
    job = demos["ilse-marchetti"]
    line = job.chart.lines[1]
    odds = replace(line.odds, unsure_boards=unsure)
    assert sure_note(card_of(replace(line, odds=odds), job.chart, job.words)) == (said,)
    missing = replace(line, odds=odds, reaches=False, action=None)
    assert sure_note(card_of(missing, job.chart, job.words)) == ()


def test_a_line_from_defaults_says_so(job_from: JobFrom) -> None:
    job = job_from(LEAST)
    assert job.chart.from_defaults
    for line in job.chart.lines:
        card = card_of(line, job.chart, job.words)
        assert (card.defaults, card.own) == ("From defaults", "")
        if line.leave != FULL_RACK:
            (said,) = sure_note(card)
            assert said.startswith("8 times in 10 the right stand is within ±")
            assert said.endswith("\u00a0boards. From defaults: throw it three times and log it.")


def test_a_line_of_ones_own_is_not_from_defaults(job_from: JobFrom) -> None:
    # No stance brings this one to its pin, so that all the other lines rest on defaults still.
    job = job_from(LEAST + "known_lines: [{leave: '10', stand: 34, target: 2}]\n")
    assert job.chart.from_defaults
    for line in job.chart.lines:
        card = card_of(line, job.chart, job.words)
        assert (card.own, card.defaults) == (
            ("Your own line", "") if line.known else ("", "From defaults")
        )
    measured = job_from(LEAST + "stand: {ball_gap_boards: 6}\n")
    assert not any(
        card_of(line, measured.chart, measured.words).defaults for line in measured.chart.lines
    )


def assumptions(job: Job) -> Assumptions:
    return next(page for page in whole_booklet(job).pages if isinstance(page, Assumptions))


def rows_of(job: Job) -> dict[str, Assumption]:
    return {row.label: row for _, section in assumptions(job).sections for row in section}


def test_a_fit_to_shots_is_told_number_by_number(fitted: dict[str, Job]) -> None:
    for job in fitted.values():
        found, bowler = rows_of(job), job.chart.bowler
        origins = {label for label, row in found.items() if row.origin == "fitted"}
        assert {
            *("Start behind foul line", "Slide foot to ball", "Walk along the line"),
            *("Drift to the ball side", "Ball side of the target by", "The lane seems to have"),
            *("Spread of direction", "Spread of laydown", "Spread of speed", "Spare ball, speed"),
        } <= origins
        assert found["Spread of rev rate"].origin != "fitted"
        covariance = bowler.unsure @ bowler.unsure.T
        sd_m = covariance[at("gap"), at("gap")] ** 0.5 * bowler.scale[at("gap")]
        board_m = 1.0645 / 39  # 41 1/2 in across 39 boards, as common rules of the game have it
        value, sd = found["Slide foot to ball"].value.removesuffix(" boards").split(" ± ")
        assert float(value) == pytest.approx(bowler.habits.gap_m / board_m, abs=0.15)
        assert float(sd) == pytest.approx(sd_m / board_m, abs=0.06)
        # What a fit tells of a ball stands apart from what the profile says of it.
        assert "mph" not in found["Spare ball"].value
        assert re.fullmatch(r"\d\d\.\d ± \d\.\d mph", found["Spare ball, speed"].value)


def test_the_lane_is_told_as_the_profile_has_it_whatever_a_fit_makes_of_it(
    fitted: dict[str, Job], demos: dict[str, Job]
) -> None:
    for name, job in fitted.items():
        now, before = rows_of(job), rows_of(demos[name])
        told = [label for label in before if label.startswith(("Oil", "Friction", "Games"))]
        assert len(told) >= 5
        for label in told:
            assert now[label] == before[label]


def test_what_the_fit_rests_on_is_told(
    fitted: dict[str, Job], demos: dict[str, Job], job_from: JobFrom
) -> None:
    with_line, without = (fitted[name] for name in ("ilse-marchetti", "wren-skobernik"))
    notes = assumptions(with_line).notes
    assert "on your shots (used: 24) and your own lines (used: 1)" in notes[0]
    assert notes[1].startswith("±: ")
    assert not [note for note in notes if "published accuracy test" in note]
    assert assumptions(without).notes[0].endswith("rests on your shots (used: 12).")
    assert "your own lines (used: 1)" in assumptions(demos["ilse-marchetti"]).notes[0]
    assert not [note for note in assumptions(job_from(LEAST)).notes if "fitted" in note]


def test_only_what_a_fit_moved_or_narrowed_is_fitted(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    found = rows_of(job)
    # One line for the 10 pin tells nothing of the strike ball, and next to nothing of a speed.
    assert not [label for label in found if label.startswith(("Strike ball, s", "Spare ball, s"))]
    assert found["Strike ball, turn"].origin != "fitted"
    assert "rotation" in found["Strike ball, turn"].value
    assert "The lane seems to have" not in found
    belief = job.chart.fit.belief
    untouched: Any = replace(job.chart.fit, belief=replace(Belief.before(), lines=belief.lines))
    told = rows_of(replace(job, answers=Answers(replace(job.chart, fit=untouched))))
    assert "fitted" not in {row.origin for row in told.values()}
    assert "±" not in "".join(row.value for row in told.values())


@pytest.mark.parametrize(
    ("film", "friction", "said"),
    [
        (0.5, -0.5, "13 % more oil, 12 % less friction"),
        (-0.001, 0.001, "0 % more oil, 0 % more friction"),
    ],
)
def test_the_lane_of_the_shots_is_told_in_percent(
    film: float, friction: float, said: str, fitted: dict[str, Job]
) -> None:
    job = fitted["ilse-marchetti"]
    # Half a deviation of a quarter: e to the eighth is 1.133, to minus the eighth 0.882.
    assert job.chart.bowler.scale[at("film")] == pytest.approx(0.25)
    mean = job.chart.fit.belief.mean.copy()
    mean[at("film")], mean[at("friction")] = film, friction
    fit: Any = replace(job.chart.fit, belief=replace(job.chart.fit.belief, mean=mean))
    told = rows_of(replace(job, answers=Answers(replace(job.chart, fit=fit))))
    assert told["The lane seems to have"].value == said


def test_no_nought_is_negative(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    bowler = job.chart.bowler
    habits = replace(bowler.habits, drift_m=-1e-6)
    chart = replace(job.chart, bowler=replace(bowler, habits=habits))
    assert rows_of(replace(job, answers=Answers(chart)))["Drift to the ball side"].value.startswith(
        "0.0 ± "
    )
    habits = replace(bowler.habits, drift_m=-0.03)
    chart = replace(job.chart, bowler=replace(bowler, habits=habits))
    assert rows_of(replace(job, answers=Answers(chart)))["Drift to the ball side"].value.startswith(
        "−1.1 ± "
    )


def test_a_chart_of_single_pins_has_all_of_it(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    singles = job_of(job.loaded, job.words, SINGLE_PINS)
    assert {FewPage, DrillPage} <= set(kinds(whole_booklet(singles).pages))
