"""What the pages of a clinic say: figures are the charts', sums add up, reasons hold."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.cards.clinic import (
    CHART_PUPILS,
    Call,
    CoachRow,
    Pupil,
    WallRow,
    coach_row,
    coach_sheet,
    group_slip,
    pupil_slip,
    wall_charts,
    wall_row,
)
from cardgen.cards.ways import OneWay, ways_of
from cardgen.cards.words import Words, load_words
from cardgen.errors import UsageError
from cardgen.lane.geometry import CENTRE_BOARD
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave
from cardgen.press import Job

LANGUAGES = ("en", "es", "de", "fr", "ja", "ko")
PLAIN = "bowler: Demo\nhand: right\nstand: {distance_ft: 13, ball_gap_boards: 5}\n"
TEN, SEVEN = Leave.of(10), Leave.of(7)


words_of = cache(load_words)


def pupil_of(job: Job, name: str = "", group: str = "") -> Pupil:
    answers = job.answers
    name = name or job.chart.bowler.name
    return Pupil(name, group, job.chart, answers.few, answers.drill, answers.practice)


@pytest.fixture(scope="module")
def pupils(demos: dict[str, Job]) -> list[Pupil]:
    """The demo bowlers as students."""
    return [pupil_of(job, group="Juniors") for job in demos.values()]


@pytest.fixture(scope="module")
def pair(job_from: Callable[..., Job]) -> Callable[..., list[Pupil]]:
    """Return a function from the texts of profiles to students N0, N1 and so on."""
    made = cache(job_from)
    return lambda *texts: [pupil_of(made(text), f"N{k}") for k, text in enumerate(texts)]


# --- slips ------------------------------------------------------------------------------------


def test_a_slip_counts_what_follows_it(words: Words) -> None:
    slip = group_slip(
        "Juniors", "Autumn", students=12, sheets=14, copies=2, number=3, count=7, words=words
    )
    assert (slip.name, slip.title, slip.place) == ("Juniors", "Autumn", "3 of 7")
    assert slip.facts == (("Students", "12"), ("Sheets", "14"), ("Copies of each", "2"))
    own = pupil_slip(
        "Ana B.", "Juniors", "Autumn", sheets=4, copies=2, number=1, count=1, words=words
    )
    assert (own.name, own.beside) == ("Ana B.", "Juniors")
    assert own.facts == (("Sheets", "4"), ("Copies of each", "2"))


def test_a_slip_of_no_group_has_the_title_for_a_name(words: Words) -> None:
    slip = group_slip("", "Autumn", students=1, sheets=1, copies=1, number=1, count=1, words=words)
    assert (slip.name, slip.title) == ("Autumn", "")


@pytest.mark.parametrize("number", [0, 3])
def test_a_slip_is_one_of_its_count(number: int, words: Words) -> None:
    with pytest.raises(ValueError, match="of 2"):
        pupil_slip("A", "", "", sheets=1, copies=1, number=number, count=2, words=words)


# --- the coach's sheet --------------------------------------------------------------------------


def plain(board: float) -> str:
    return f"{board:g}".replace(".5", "½")


def test_the_coachs_calls_are_the_charts(pupils: list[Pupil], words: Words) -> None:
    for pupil in pupils:
        row = coach_row(pupil, words)
        lines = {line.leave: line for line in pupil.chart.lines}
        for call, leave in zip(row.calls, (FULL_RACK, TEN, SEVEN), strict=True):
            line = lines[leave]
            assert call.figures == f"{plain(line.stand)}/{plain(line.target)}"
            assert call.strike == (line.ball == "strike")
        assert pupil.drill is not None
        assert [call.figures for call in row.drill] == [
            f"{plain(throw.line.stand)}/{plain(throw.line.target)}" for throw in pupil.drill.throws
        ]
        most = max(pupil.practice, key=lambda each: each.wins)
        assert row.practise == (
            words.leave_title(most.line.leave)
            if len(most.line.leave) == 1
            else str(most.line.leave),
            f"+{most.wins:.1f}",
        )


def test_leaves_that_are_not_named_are_counted(pupils: list[Pupil], words: Words) -> None:
    for pupil in pupils:
        assert pupil.few is not None
        for call, line in zip(coach_row(pupil, words).few, pupil.few.lines, strict=False):
            for text in call.leaves:
                named, _, more = text.partition(" +")
                assert len(named.split(", ")) + int(more or 0) == len(line.serves)
            assert [len(text) for text in call.leaves] == sorted(map(len, call.leaves))[::-1]


def test_far_corners_are_shot_across_the_lane(pupils: list[Pupil], words: Words) -> None:
    # Common practice, no source: a straight ball at a corner pin starts on the other half of the
    # lane, the 10 pin from the left and the 7 pin from the right. Ilse bowls right-handed.
    ten, seven = (call.figures for call in coach_row(pupils[0], words).calls[1:])
    assert float(ten.split("/")[0]) > CENTRE_BOARD > float(seven.split("/")[0])


def test_a_student_without_lines_has_dashes(pupils: list[Pupil], words: Words) -> None:
    chart = replace(pupils[0].chart, lines=())
    row = coach_row(replace(pupils[0], chart=chart, few=None, drill=None, practice=()), words)
    assert [call.figures for call in row.calls] == ["–"] * 3
    assert (row.few, row.drill, row.practise) == ((), (), ("–",))


def test_groups_stand_together_in_the_order_of_the_roster(
    pupils: list[Pupil], words: Words
) -> None:
    one = coach_row(pupils[0], words)
    order = ("B", "A", "", "B", "A", "C")
    rows = [replace(one, name=f"{k}", group=group) for k, group in enumerate(order)]
    sheet = coach_sheet(rows, "Autumn", words)
    assert [(row.group, row.name) for row in sheet.rows] == [
        *(("B", "0"), ("B", "3"), ("A", "1"), ("A", "4"), ("", "2"), ("C", "5")),
    ]
    assert sheet.continued == {group: f"{group}, continued" for group in "BAC"}
    assert len(sheet.headings) == 8
    with pytest.raises(UsageError, match="there are no students"):
        coach_sheet([], "Autumn", words)


# --- the wall chart -----------------------------------------------------------------------------


def test_a_wall_chart_has_each_pin_below_its_own_place(pupils: list[Pupil], words: Words) -> None:
    rows = [wall_row(pupil, words) for pupil in pupils]
    (chart,) = wall_charts(rows, "Juniors", words)
    assert chart.pins == (7, 4, 2, 8, 1, 5, 3, 9, 6, 10)
    assert chart.names[0] == "7 pin"
    for pupil, row in zip(pupils, chart.rows, strict=True):
        lines = {line.leave: line for line in pupil.chart.lines}
        for leave in SINGLE_PINS:
            line = lines[leave]
            call = row.calls[leave.pins[0] - 1]
            assert call.figures == f"{plain(line.stand)}/{plain(line.target)}"
    assert (chart.folio, chart.cautions) == ("", words("forms.cautions"))


@given(st.integers(1, 200))
def test_charts_are_few_alike_and_hold_everybody_once(count: int) -> None:
    words = words_of("en")
    rows = [WallRow(f"{k}", "", (Call("1/2"),) * 10) for k in range(count)]
    charts = wall_charts(rows, "", words)
    held = [len(chart.rows) for chart in charts]
    assert list(chain.from_iterable(chart.rows for chart in charts)) == rows
    assert max(held) <= CHART_PUPILS
    assert max(held) - min(held) <= 1
    assert len(charts) == -(-count // CHART_PUPILS)


def test_a_chart_of_no_lines_is_refused(words: Words) -> None:
    with pytest.raises(UsageError, match="no student has a line for a single pin"):
        wall_charts([WallRow("A", "", (Call("–"),) * 10)], "", words)


# --- the same leave side by side ----------------------------------------------------------------


def number(text: str) -> float:
    return float(text.replace("\u00a0", "").replace("−", "-").replace("–", "-").lstrip("+"))


def flat(text: str) -> str:
    return text.replace("\u00a0", " ")


def feet_of(way: OneWay) -> float:
    """Return what a way's reasons add up to, positive to the left."""
    found = re.findall(r"→ feet ([\d.]+) (left|right)", " ".join(way.reasons))
    return sum(float(boards) * (1 if side == "left" else -1) for boards, side in found)


def all_ways(pupils: Sequence[Pupil], words: Words) -> list[OneWay]:
    both = set.intersection(*({line.leave for line in p.chart.lines} for p in pupils))
    leaves = both & {FULL_RACK, *SINGLE_PINS, Leave.of(3, 10), Leave.of(2, 7)}
    return [way for leave in sorted(leaves) for way in ways_of(pupils, leave, "", words).ways]


def test_the_parts_of_a_stand_add_up_to_it(pupils: list[Pupil], words: Words) -> None:
    for way in all_ways(pupils, words):
        *parts, (_, stand) = way.sum
        assert sum(number(text) for _, text in parts) == pytest.approx(number(stand), abs=1e-6)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_reasons_add_up_to_where_the_feet_are(
    hand: str, pair: Callable[..., list[Pupil]], words: Words
) -> None:
    first = PLAIN.replace("right", hand)
    other = (
        f"bowler: B\nhand: {hand}\nstyle: two-handed\n"
        "stand: {distance_ft: 12, ball_gap_boards: 3, drift_boards: 2, walk: 0.4}\n"
        "balls: {spare: {cover: urethane, speed_mph: 15, rev_rpm: 300, rotation_deg: 30}}\n"
    )
    shown = 0
    for way in all_ways(pair(first, other), words):
        told = re.match(r"([\d.]+) boards farther (left|right) than [AB]", way.against)
        apart = 0.0 if told is None else float(told[1]) * (1 if told[2] == "left" else -1)
        # Four parts at most, of each of which less than three tenths may go without saying.
        assert feet_of(way) == pytest.approx(apart, abs=4 * 0.25)
        shown += told is not None
    assert shown > 12


def test_a_drift_alone_moves_the_feet_by_itself(
    pair: Callable[..., list[Pupil]], words: Words
) -> None:
    a, b = pair(PLAIN, PLAIN.replace("ball_gap_boards: 5", "ball_gap_boards: 5, drift_boards: 2"))
    two = ways_of([a, b], TEN, "", words)
    assert two.oil == "The oil is the same for all."
    drifts = [r for r in two.ways[1].reasons if r.startswith("Drifts")]
    assert drifts == ["Drifts 2.0 boards more to the right.\n→ feet 2.0 left"]
    assert "Drifts 2.0 boards more to the left.\n→ feet 2.0 right" in two.ways[0].reasons
    assert not [r for r in chain(*(way.reasons for way in two.ways)) if "from the foot" in r]


def test_drift_and_gap_are_told_on_the_left_handers_own_sides(
    pair: Callable[..., list[Pupil]], words: Words
) -> None:
    left = PLAIN.replace("right", "left")
    further = left.replace("ball_gap_boards: 5", "ball_gap_boards: 7, drift_boards: 2")
    way = ways_of(pair(left, further), SEVEN, "", words).ways[1]
    assert "Drifts 2.0 boards more to the left.\n→ feet 2.0 right" in way.reasons
    assert "The ball hangs 2.0 boards farther from the foot.\n→ feet 2.0 right" in way.reasons


def test_alike_students_have_no_reasons(pair: Callable[..., list[Pupil]], words: Words) -> None:
    for way, other in zip(ways_of(pair(PLAIN, PLAIN), TEN, "", words).ways, "BA", strict=True):
        assert way.against == f"On the same board as {other}"
        assert way.reasons == (f"The same numbers as {other}.",)


def test_another_hand_is_told_by_the_mirrored_pin(
    pair: Callable[..., list[Pupil]], words: Words
) -> None:
    mixed = pair(PLAIN, PLAIN.replace("right", "left"))
    a, b = ways_of(mixed, TEN, "", words).ways
    assert a.against == "The other hand than B"
    assert b.reasons == (
        "Counts boards from the left, so the same number is another place on the lane.",
        "For this hand it is what the 7 pin is for A.",
    )
    middle = ways_of(mixed, Leave.of(5), "", words).ways[1]
    assert not [text for text in middle.reasons if "5 pin" in text]


def test_students_are_set_against_one_of_their_own_hand(
    pair: Callable[..., list[Pupil]], words: Words
) -> None:
    left = PLAIN.replace("right", "left")
    four = pair(PLAIN, left, PLAIN, left)
    seen = [way.against[-1] for way in ways_of(four, TEN, "", words).ways]
    assert seen == ["C", "D", "A", "B"]


def test_a_hook_is_laid_to_what_makes_it(pair: Callable[..., list[Pupil]], words: Words) -> None:
    # Mechanics: a slower ball is longer on the lane and curves more, and so does one that is turned
    # faster or more to the side; so a faster ball that hooks more does not do so for its speed.
    turn = "rev_rpm: 120, rotation_deg: 20"
    slow = PLAIN + f"balls: {{spare: {{cover: urethane, speed_mph: 14, {turn}}}}}\n"
    fast = PLAIN + f"balls: {{spare: {{cover: urethane, speed_mph: 17, {turn}}}}}\n"
    a, b = ways_of(pair(slow, fast), TEN, "", words).ways
    (more,) = [text for text in a.reasons if "hooks" in text and "more:" in text and "mph" in text]
    assert "14 mph (B: 17 mph)" in flat(more)
    assert [text for text in b.reasons if "17 mph (A: 14 mph)" in flat(text)]
    turned = PLAIN + (
        "balls: {spare: {cover: urethane, speed_mph: 17, rev_rpm: 350, rotation_deg: 45}}\n"
    )
    _, wild = ways_of(pair(slow, turned), TEN, "", words).ways
    (more,) = [text for text in wild.reasons if text.startswith("The ball hooks")]
    # Whichever ball she throws at it, it is turned more and thrown faster.
    assert "rpm (A: 120 rpm)" in flat(more)
    assert "rotation (A: 20° rotation)" in flat(more)
    assert "mph" not in more


def test_lanes_that_differ_are_said_to(pair: Callable[..., list[Pupil]], words: Words) -> None:
    two = ways_of(pair(PLAIN, PLAIN + "lane: {oil_ft: 36}\n"), TEN, "", words)
    assert two.oil == "Not all of these lanes are oiled alike."
    both = ways_of(pair(PLAIN, PLAIN.replace("right", "left")), TEN, "", words)
    assert both.oil == "The oil is the same for all."  # one lane, seen by either hand
    # A line of his own tells of the lane, but it is the same lane.
    own = PLAIN + 'known_lines:\n  - {leave: "10", stand: 36, target: 20}\n'
    three = pair(PLAIN, own, own.replace("right", "left").replace('"10"', '"7"'))
    films = {pupil.chart.bowler.lane.fresh.film_m.sum() for pupil in three}
    assert len(films) > 1
    assert ways_of(three, TEN, "", words).oil == "The oil is the same for all."


def test_a_page_of_ways_says_what_it_lacks(pupils: list[Pupil], words: Words) -> None:
    a, b = pupils
    with pytest.raises(UsageError, match="10: two to 4 students go side by side, not 1"):
        ways_of([a], TEN, "", words)
    with pytest.raises(UsageError, match="not 5"):
        ways_of([a, b, a, b, a], TEN, "", words)
    bare = replace(b, chart=replace(b.chart, lines=()))
    with pytest.raises(UsageError, match="10: the chart of student B has no line for it"):
        ways_of([a, bare], TEN, "", words)


def test_the_coachs_sheet_says_what_to_do_where_a_student_has_no_line(
    pupils: list[Pupil], words: Words
) -> None:
    rows = [coach_row(pupil, words) for pupil in pupils]
    missing = words("gaps.coach_line")
    assert missing.startswith("–: no line")
    assert missing not in coach_sheet(rows, "", words).keys
    without = replace(pupils[0].chart, lines=pupils[0].chart.lines[1:])
    lacking = coach_row(replace(pupils[0], chart=without), words)
    assert lacking.calls[0].figures == "–"
    assert missing in coach_sheet([*rows, lacking], "", words).keys


def test_the_wall_chart_says_what_a_dash_means_where_there_is_one(
    pupils: list[Pupil], words: Words
) -> None:
    rows = [wall_row(pupil, words) for pupil in pupils]
    missing = words("gaps.coach_line")
    (full,) = wall_charts(rows, "", words)
    assert missing not in full.note
    lacking = replace(rows[0], calls=(Call("–"), *rows[0].calls[1:]))
    (gapped,) = wall_charts([*rows, lacking], "", words)
    assert gapped.note.endswith(missing)


# --- languages ----------------------------------------------------------------------------------


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_all_its_sentences(
    language: str, pupils: list[Pupil], pair: Callable[..., list[Pupil]]
) -> None:
    words = words_of(language)
    three = [*pupils, *pair(PLAIN)]
    rows: list[CoachRow] = [coach_row(pupil, words) for pupil in three]
    sheet = coach_sheet(rows, "", words)
    texts = [*sheet.headings, *sheet.keys, sheet.private]
    for leave in (TEN, SEVEN, Leave.of(5)):
        page = ways_of(three, leave, "", words)
        texts += [page.title, page.lead, page.oil]
        texts += chain.from_iterable((way.against, *way.reasons) for way in page.ways)
    assert not [text for text in texts if re.search(r"[{}]", text) or not text.strip()]
    if language in ("es", "de", "fr"):
        assert not [text for text in texts if re.search(r"\d\.\d", text)]
