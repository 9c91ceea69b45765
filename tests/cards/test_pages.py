"""The pages of a booklet, the table, the assumptions, and the record for scripts."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from cardgen.cards.assumptions import Assumption, Assumptions
from cardgen.cards.booklet import (
    Advice,
    Back,
    Booklet,
    Cover,
    Face,
    Guide,
    Opener,
    Page,
    Tally,
    booklet_of,
    cards_of,
)
from cardgen.cards.card import card_of
from cardgen.cards.strike import FeetTable, Moves
from cardgen.cards.table import Row, Table, record_of, table_of
from cardgen.cards.words import load_words
from cardgen.lane.rack import FULL_RACK, SINGLE_PINS, Leave, LeaveKind
from cardgen.press import Job, job_of
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import Chart
from cardgen.targeting.line import Alternative, Line, Play
from cardgen.targeting.sections import in_sections

JobFrom = Callable[..., Job]
LEAST = "bowler: Demo\nhand: right\n"
EVERYTHING = """\
bowler: Demo
hand: right
style: one-handed
stand:
  distance_ft: 13
  ball_gap_boards: 6
  walk: 0.9
  drift_boards: 1
  boards: [2, 38]
  half_boards: false
spread: {angle_deg: 0.4, laydown_boards: 0.5, speed_mph: 0.4, rev_percent: 8}
balls:
  spare:
    {cover: plastic, weight_lb: 14, speed_mph: 17, rev_rpm: 130, rotation_deg: 6, tilt_deg: 11}
  strike:
    {cover: reactive, weight_lb: 15, speed_mph: 16, rev_rpm: 300, rotation_deg: 45, tilt_deg: 13}
lane:
  oil_ft: 41
  oil_ml: 24
  ratio: 9
  outer_boards: 6
  taper_ft: 7
  games: 4
  slope_in: 0.02
  doubt: {oil_percent: 10, friction_percent: 15, games: 1}
  friction: {oil: 0.05, plastic: 0.13, reactive: 0.21}
  arrows_ft: [12.5, 13.5, 14.5, 15.5, 14.5, 13.5, 12.5]
"""
KNOWN = """\
known_lines:
  - {leave: "10", stand: 34, target: 21}
  - {leave: "3-10", stand: 31, target: 20.5}
"""
LINE_KEYS = [
    *("leave", "name", "kind", "ball", "stand", "target", "laydown", "arrive", "entry_deg"),
    *("make", "doubt", "estimate", "count", "room_left", "room_right", "reaches", "hit", "others"),
    *("imagine", "play", "other", "other_ball", "breakpoint", "hooks", "rolls", "source"),
]


def booklet(job: Job, date: str = "") -> Booklet:
    return booklet_of(
        job.loaded, job.chart, job.words, stretch=8.0, strike=job.answers.strike, date=date
    )


def rows(job: Job) -> dict[str, Assumption]:
    page = next(page for page in booklet(job).pages if isinstance(page, Assumptions))
    return {row.label: row for _, section in page.sections for row in section}


SECTIONS = [
    *("Single pins", "Sleepers", "Clusters", "Splits worth a try", "Washouts", "Take the count"),
]
OF_KIND = {
    LeaveKind.SINGLE: "Single pins",
    LeaveKind.SLEEPER: "Sleepers",
    LeaveKind.OTHER: "Clusters",
    LeaveKind.SPLIT: "Splits worth a try",
    LeaveKind.WASHOUT: "Washouts",
}


def section(line: Line) -> str:
    if line.leave == FULL_RACK:
        return "strike"
    return "Take the count" if line.play is Play.COUNT else OF_KIND[line.leave.kind]


def openers(pages: tuple[Page, ...]) -> list[Opener]:
    return [page for page in pages if isinstance(page, Opener)]


def of_all_sections(job: Job) -> Chart:
    """Return a chart with a line of every section, two of some, whatever the deck thinks likely."""
    asked = ("2-8", "3-10", "1-2-10", "1-2-4", "10", "4-6-7-10", "7", "1-3-7", "2-7", "7-10")
    chart = job_of(job.loaded, job.words, [Leave.parse(leave) for leave in asked]).chart
    assert chart.unanswered == ()
    for_count = {Leave.of(4, 6, 7, 10), Leave.of(7, 10)}
    lines = [
        replace(line, play=Play.COUNT if line.leave in for_count else Play.ALL)
        for line in chart.lines
    ]
    return replace(chart, lines=tuple(in_sections(lines, chart.bowler, chart.first_ball)))


def test_a_booklet_goes_from_the_cover_to_the_cautions(demos: dict[str, Job]) -> None:
    for job in demos.values():
        lines = job.chart.lines
        pages = booklet(job).pages
        order: list[type[object]] = [Cover, Guide, Advice, Face, Back, Moves, FeetTable]
        for title in SECTIONS:
            count = sum(section(line) == title for line in lines)
            order += [Opener, *[Face, Back] * count] if count else []
        order += [Table, Assumptions, Tally, Advice]
        assert [type(page) for page in pages] == order
        faces = [page.card.leave for page in pages if isinstance(page, Face)]
        backs = [page.card.leave for page in pages if isinstance(page, Back)]
        assert faces == backs == [line.leave for line in lines]
        assert faces[0] == FULL_RACK
        assert set(faces[1:11]) == set(SINGLE_PINS)
        assert len(faces) == len(set(faces)) >= 31


def test_every_section_is_opened_once_before_its_cards(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for chart in (job.chart, of_all_sections(job)):
            pages = booklet_of(job.loaded, chart, job.words, stretch=8.0).pages
            found = openers(pages)
            titles = [opener.title for opener in found]
            assert titles == [t for t in SECTIONS if t in titles]
            assert all(opener.intro for opener in found)
            listed = [name for opener in found for name, _, _ in opener.rows]
            deck = cards_of(chart, job.words)
            # Every spare in one opener, in the order of the cards, and only its own section's.
            spares = [line for line in chart.lines if line.leave != FULL_RACK]
            assert listed == [card.name for card in deck.cards if card.leave != FULL_RACK]
            sections = dict(zip(listed, map(section, spares), strict=True))
            for opener in found:
                assert {sections[name] for name, _, _ in opener.rows} == {opener.title}
                place = pages.index(opener)
                after = pages[place + 1 : place + 1 + 2 * len(opener.rows)]
                faces = [page.card.name for page in after if isinstance(page, Face)]
                assert faces == [name for name, _, _ in opener.rows]
        assert titles == SECTIONS


def test_an_opener_has_the_call_and_what_to_expect(demos: dict[str, Job]) -> None:
    for job in demos.values():
        chart = of_all_sections(job)
        pages = booklet_of(job.loaded, chart, job.words, stretch=8.0).pages
        rows = {name: rest for opener in openers(pages) for name, *rest in opener.rows}
        for line, card in zip(chart.lines, cards_of(chart, job.words).cards, strict=True):
            call, expected = (text.replace("\u00a0", " ") for text in rows[card.name])
            assert call == f"{card.stand.figure} over {card.target.figure}"
            if line.play is Play.COUNT:
                assert expected == f"{line.odds.count:.1f} pins"
            assert expected == card.chance.lines[0].replace("\u00a0", " ")


def test_own_leaves_come_in_their_sections_after_the_single_pins(job_from: JobFrom) -> None:
    job = job_from(LEAST + KNOWN)
    deck = cards_of(job.chart, job.words)
    leaves = [card.leave for card in deck.cards]
    assert set(leaves[1:11]) == set(SINGLE_PINS)
    assert leaves.count(Leave.of(3, 10)) == 1
    assert 31 <= len(leaves) <= 32
    assert {card.leave for card in deck.cards if card.own} == {Leave.of(10), Leave.of(3, 10)}
    assert deck.title == "Spare cards for Demo"


def balls_used(job: Job, **facts: str) -> list[str]:
    """Return those of the ``facts``, one a ball, whose ball some line is thrown with."""
    used = {line.ball for line in job.chart.lines}
    return [fact for ball, fact in facts.items() if ball in used]


def test_the_cover_names_the_balls_that_the_lines_are_thrown_with(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    for balls in (["spare"], ["strike"], ["spare", "strike"]):
        lines = tuple(
            replace(line, ball=ball) for line, ball in zip(job.chart.lines, balls, strict=False)
        )
        cover = booklet(with_chart(job, replace(job.chart, lines=lines))).pages[0]
        assert isinstance(cover, Cover)
        named = [fact.partition(" ball:")[0].lower() for fact in cover.facts if " ball:" in fact]
        assert named == balls


def test_the_cover_has_a_date_only_when_asked(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    plain, dated = booklet(job).pages[0], booklet(job, "25 November 2026").pages[0]
    assert isinstance(plain, Cover)
    assert isinstance(dated, Cover)
    assert plain.date == ""
    assert dated.date == "Made 25 November 2026"
    assert plain.bowler == "Ilse Marchetti"
    assert plain.facts == (
        "Right hand, one-handed",
        "Boards count from the right",
        *balls_used(
            job,
            spare="Spare ball: plastic, 14 lb, 17 mph",
            strike="Strike ball: reactive, 14 lb, 16 mph",
        ),
        "Lane: house",
    )


def test_the_cover_of_a_left_hander_with_a_lane_of_her_own(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    cover = booklet(job).pages[0]
    assert isinstance(cover, Cover)
    assert cover.facts == (
        "Left hand, two-handed",
        "Boards count from the left",
        *balls_used(
            job,
            spare="Spare ball: urethane, 13 lb, 17.5 mph",
            strike="Strike ball: reactive, 13 lb, 17.5 mph",
        ),
        "Lane: your own",
    )


def test_the_cautions_defer_to_those_who_know(demos: dict[str, Job]) -> None:
    last = booklet(demos["ilse-marchetti"]).pages[-1]
    assert isinstance(last, Advice)
    assert last.points
    text = " ".join(last.paragraphs).replace("’", "'")
    for said in (
        "foul line",
        "medical professional",
        "certified coach",
        "centre's rules",
        "Children need light ones",
        "Warm up",
        "shoes",
    ):
        assert said in text


def test_the_guide_explains_the_corner_pin_on_the_ball_side(demos: dict[str, Job]) -> None:
    for name, pin in (("ilse-marchetti", 10), ("wren-skobernik", 7)):
        guide = booklet(demos[name]).pages[1]
        assert isinstance(guide, Guide)
        assert guide.sketch.line.leave.pins == (pin,)
        advice = booklet(demos[name]).pages[2]
        assert isinstance(advice, Advice)
        side = demos[name].chart.bowler.hand.value
        assert f"Count boards from the {side} edge" in advice.paragraphs[0]
        assert "8 times too wide" in advice.paragraphs[2]
        assert "The tint is oil" in advice.paragraphs[3]


def test_the_guide_explains_a_ball_that_comes_to_its_pin(job_from: JobFrom) -> None:
    job = job_from(LEAST + "known_lines: [{leave: '10', stand: 34, target: 2}]\n")
    guide = booklet(job).pages[1]
    assert isinstance(guide, Guide)
    assert guide.sketch.line.reaches


def test_every_back_has_a_caution_and_an_owner(demos: dict[str, Job]) -> None:
    for job in demos.values():
        for card in cards_of(job.chart, job.words).cards:
            assert "foul line" in card.caution
            assert job.chart.bowler.name in card.owner


def test_a_profile_of_name_and_hand_rests_on_defaults(job_from: JobFrom) -> None:
    found = rows(job_from(LEAST))
    assert {row.origin for row in found.values()} == {"default"}
    assert all(row.is_default for row in found.values())
    assert len(found) == 25


def test_a_profile_that_states_everything_rests_on_itself(job_from: JobFrom) -> None:
    found = rows(job_from(EVERYTHING + 'known_lines: [{leave: "10", stand: 34, target: 21}]\n'))
    # A spare's line tells of the stand, the aim and, a little, the spare ball's turn.
    fitted = {
        *("Start behind foul line", "Slide foot to ball", "Walk along the line"),
        *("Drift to the ball side", "Ball side of the target by", "Spare ball, rotation"),
    }
    assert {label for label, row in found.items() if row.origin == "fitted"} == fitted
    assert found["The lane may be off by"].value == "10 % oil, 15 % friction, 1 games"
    favourite = found.pop("Favourite target")
    assert (favourite.value, favourite.origin) == ("board 21", "your lines")
    assert {row.origin for label, row in found.items() if label not in fitted} == {"yours"}
    assert not any(row.is_default for row in found.values())


def test_what_is_stated_is_yours_one_by_one(job_from: JobFrom) -> None:
    found = rows(
        job_from(LEAST + "stand: {walk: 0.8}\nlane: {oil_ft: 38}\nspread: {angle_deg: 0.4}\n")
    )
    assert {label for label, row in found.items() if row.origin == "yours"} == {
        *("Walk along the line", "Spread of direction")
    }
    # How far the oil reaches is said, how much there is not.
    assert {label for label, row in found.items() if row.origin == "partly yours"} == {
        "Oil on the lane"
    }
    assert found["Walk along the line"].value == "80 %"
    assert found["Oil on the lane"].value == "38 ft, 25 ml"


def test_the_fit_is_told_where_there_is_one(demos: dict[str, Job]) -> None:
    for name, fits in (("ilse-marchetti", True), ("wren-skobernik", False)):
        page = next(p for p in booklet(demos[name]).pages if isinstance(p, Assumptions))
        assert any("your own lines (used: 1)" in note for note in page.notes) is fits
        assert any("single pin counts as made" in note for note in page.notes)


def notes_of(job: Job) -> list[str]:
    page = next(page for page in booklet(job).pages if isinstance(page, Assumptions))
    return list(page.notes)


def with_chart(job: Job, chart: Chart) -> Job:
    return Job(job.loaded, Answers(chart), job.words)


@pytest.mark.parametrize(("worst", "said"), [(0.031, 6), (0.1, 20), (0.0, 1)])
def test_it_is_told_how_far_simulated_chances_may_be_trusted(
    worst: float, said: int, demos: dict[str, Job]
) -> None:
    # Two standard deviations of the chance that is known worst, and never nought.
    for job in demos.values():
        lines = [
            replace(line, odds=replace(line.odds, doubt=worst * len(line.leave) / 4))
            for line in of_all_sections(job).lines
        ]
        assert max(len(line.leave) for line in lines) == 4
        notes = notes_of(with_chart(job, replace(job.chart, lines=tuple(lines))))
        (note,) = (n for n in notes if "Several pins were simulated" in n)
        assert f" {said} in 100 higher or lower" in note
        assert len(notes) == len(set(notes))


@pytest.mark.parametrize("estimate", [True, False])
def test_rough_chances_are_explained_where_there_are_some(
    estimate: bool, demos: dict[str, Job]
) -> None:
    job = demos["ilse-marchetti"]
    lines = [
        replace(line, odds=replace(line.odds, estimate=estimate and str(line.leave) == "1-2-4"))
        for line in of_all_sections(job).lines
    ]
    notes = notes_of(with_chart(job, replace(job.chart, lines=tuple(lines))))
    assert any("Chances said to be rough" in n for n in notes) is estimate


@pytest.mark.parametrize(("pounds", "told"), [(8, True), (10.9, True), (11, False), (15, False)])
def test_a_ball_lighter_than_any_simulated_is_told(
    pounds: float, told: bool, job_from: JobFrom
) -> None:
    notes = notes_of(
        job_from(
            LEAST + f"balls: {{spare: {{weight_lb: {pounds}}}, strike: {{weight_lb: {pounds}}}}}\n"
        )
    )
    light = [note for note in notes if "as for a ball of 11 lb" in note]
    assert len(light) == told


@pytest.mark.parametrize(("lane", "told"), [("house", "Hausölung"), ("dry", "trocken")])
def test_a_shipped_lane_has_its_name_in_the_words_of_the_cover(
    lane: str, told: str, job_from: JobFrom
) -> None:
    job = job_from(LEAST + f"lane: {lane}\n", load_words("de"))
    cover = booklet(job).pages[0]
    assert isinstance(cover, Cover)
    assert f"Bahn: {told}" in cover.facts


def test_single_pins_alone_need_no_word_on_simulation(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    singles = tuple(line for line in job.chart.lines if len(line.leave) == 1)
    lanes, pins = notes_of(with_chart(job, replace(job.chart, lines=singles)))
    assert lanes.startswith("Chances of spares are averages over lanes")
    assert [pins] == ["A single pin counts as made when the ball touches it before the gutter."]


def test_the_first_ball_that_orders_the_leaves_is_told(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    first: Any = job.chart.first_ball
    told = replace(first, stand=34.5, target=9.0, strikes=0.314, pins=8.96)
    notes = notes_of(with_chart(job, replace(job.chart, first_ball=told)))
    (note,) = (n for n in notes if "first balls" in n)
    for said in ("31 strikes in 100", "9.0 pins on the average", "from 34½ over 9", "simulation"):
        assert said in note
    unknown = notes_of(with_chart(job, replace(job.chart, first_ball=None)))
    assert not [n for n in unknown if "first balls" in n]


CHANCE_NOTES = (
    "In 100: spares made of a hundred tries.",
    "~: about, as these pins were simulated.",
)
ROUGH_NOTE = "*: a rough estimate."


def rough(job: Job) -> tuple[str, ...]:
    return (ROUGH_NOTE,) if any(line.odds.estimate for line in job.chart.lines) else ()


def test_the_table_has_a_row_for_each_line(job_from: JobFrom) -> None:
    job = job_from(LEAST + KNOWN)
    table = table_of(job.chart, job.words)
    assert [row.leave for row in table.rows] == [
        c.name for c in cards_of(job.chart, job.words).cards
    ]
    rows = {row.leave: row for row in table.rows}
    split, ten = rows["3-10"], rows["10 pin"]
    assert (split.stand, split.target, split.ball) == ("31", "20½", "spare")
    assert re.fullmatch(r"(~\d+|<1)\*?", split.chance)
    assert split.own
    assert (ten.stand, ten.target, ten.own) == ("34", "21", True)
    assert 1 <= int(ten.chance) <= 99
    assert {row.leave for row in table.rows if row.own} == {"10 pin", "3-10"}
    assert table.notes == (
        *("Boards count from the right.", "• your own line", *CHANCE_NOTES),
        *rough(job),
    )


def test_the_table_marks_own_lines_only_where_there_are_some(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    assert table_of(job.chart, job.words).notes == (
        "Boards count from the left.",
        *CHANCE_NOTES,
        *rough(job),
    )


def test_the_table_gives_room_to_miss_or_the_pins_to_take(demos: dict[str, Job]) -> None:
    job = demos["ilse-marchetti"]
    chart = of_all_sections(job)

    def row_of(line: Line) -> Row:
        (row,) = table_of(replace(chart, lines=(line,)), job.words).rows
        return row

    for line in chart.lines:
        room = row_of(line).room.replace("\u00a0", " ")
        left, right = f"{line.odds.room_left:.1f}", f"{line.odds.room_right:.1f}"
        if line.play is Play.COUNT:
            assert room == f"take {line.odds.count:.1f} pins"
        elif line.odds.window_boards[0] < line.odds.window_boards[1]:
            assert room == f"{left} left, {right} right"
        nowhere = replace(line.odds, window_boards=(line.arrive, line.arrive))
        assert row_of(replace(line, play=Play.ALL, odds=nowhere)).room == "–"
        # Nor is there room that print would call 0.0 to both sides.
        hardly = replace(line.odds, room_left=0.04, room_right=0.03)
        told = replace(line, play=Play.ALL, odds=hardly)
        assert row_of(told).room == "–"
        assert card_of(told, chart, job.words).room is None


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_record_for_scripts_has_its_agreed_form(hand: str, job_from: JobFrom) -> None:
    job = job_from(f"bowler: Demo\nhand: {hand}\n{KNOWN}")
    record = json.loads(json.dumps(record_of(job.chart, job.words)))
    assert list(record) == ["bowler", "hand", "lines", "strike", "unanswered"]
    assert record["strike"] is None  # not asked for
    assert (record["bowler"], record["hand"]) == ("Demo", hand)
    assert [line["leave"] for line in record["lines"]] == [
        list(line.leave) for line in job.chart.lines
    ]
    assert record["unanswered"] == []
    for line in record["lines"]:
        check_line(line)
    lines = {tuple(line["leave"]): line for line in record["lines"]}
    own = {leave for leave, line in lines.items() if line["source"] == "known"}
    assert own == {(10,), (3, 10)}
    assert {line["source"] for line in record["lines"]} == {"known", "computed"}
    # Nearly every spare has a line with the other ball too; a strike line has none.
    assert sum(line["other_ball"] is not None for line in record["lines"]) >= 20
    assert lines[FULL_RACK.pins]["other_ball"] is None
    ten, split = lines[10,], lines[3, 10]
    assert (ten["stand"], ten["target"]) == (34, 21)
    assert (split["name"], split["kind"]) == ("baby split", "split")
    assert (split["stand"], split["target"]) == (31, 20.5)


def check_line(line: dict[str, Any]) -> None:
    """Assert that a line of the record has the types and ranges that scripts may rely on."""
    assert list(line) == LINE_KEYS
    pins = line["leave"]
    for key in ("name", "kind", "ball", "source"):
        assert type(line[key]) is str
    for key in ("laydown", "arrive", "entry_deg", "make", "doubt", "count"):
        assert type(line[key]) is float
    for key in ("room_left", "room_right"):
        assert type(line[key]) is float
        assert line[key] >= 0
    for key in ("estimate", "reaches"):
        assert type(line[key]) is bool
    check_call(line)
    assert 0 <= line["make"] <= 1
    assert 0 <= line["count"] <= len(pins)
    if len(pins) > 1:
        # No finer than thousandths, and neither never nor always.
        assert line["make"] == round(line["make"], 3)
        assert 0 < line["make"] < 1
    else:
        assert (line["estimate"], line["doubt"]) == (False, 0.0)
    assert line["imagine"] is None or line["imagine"] in set(range(1, 11)) - set(pins)
    assert line["play"] in {"all", "count"}
    if line["hit"] is None:
        assert line["others"] == {}
    else:
        assert list(line["hit"]) == ["pin", "side", "part"]
        assert line["hit"]["pin"] in pins
        assert line["hit"]["side"] in {"left", "right"}
        assert line["hit"]["part"] in {"full", "half", "thin"}
        assert {int(pin) for pin in line["others"]} <= set(pins) - {line["hit"]["pin"]}
        assert set(line["others"].values()) <= {"ball", "pin", "rebound"}
    if line["other"] is not None:
        assert list(line["other"]) == ["ball", "stand", "target", "make", "count"]
        check_call(line["other"])
    if line["other_ball"] is not None:
        keys = ["ball", "stand", "target", "make", "count", "price", "price_drier"]
        assert list(line["other_ball"]) == keys
        assert line["other_ball"]["ball"] != line["ball"]
        check_call(line["other_ball"])
        told = line["other_ball"]
        # Three numbers, each rounded to its last place.
        last = 1e-4 if len(pins) == 1 else 1e-3
        assert told["price"] == pytest.approx(line["make"] - told["make"], abs=1.6 * last)
    for spot in (line["breakpoint"], line["hooks"], line["rolls"]):
        if spot is not None:
            assert list(spot) == ["board", "feet"]
            assert 0 < spot["feet"] < 63


def check_call(line: dict[str, Any]) -> None:
    for key in ("stand", "target"):
        assert type(line[key]) in (int, float)
        assert type(line[key]) is int or line[key] % 1 == 0.5


def test_the_record_tells_the_other_play(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    other = Alternative("strike", 25.5, 20.0, 0.04321, 1.756)
    chart = of_all_sections(job)
    lines = tuple(replace(line, other=other) for line in chart.lines if len(line.leave) > 1)
    record: Any = json.loads(json.dumps(record_of(replace(chart, lines=lines), job.words)))
    for line in record["lines"]:
        check_line(line)
        told = line["other"]
        assert [told[key] for key in ("ball", "stand", "target")] == ["strike", 25.5, 20]
        assert (told["make"], told["count"]) == (0.043, 1.76)
    plays = {tuple(line["leave"]): line["play"] for line in record["lines"]}
    assert {leave for leave, play in plays.items() if play == "count"} == {(4, 6, 7, 10), (7, 10)}


def test_the_record_lists_what_has_no_line(job_from: JobFrom) -> None:
    job = job_from(
        "bowler: Far\nhand: right\n"
        "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n"
    )
    chart = job_of(job.loaded, job.words, [Leave.of(7), Leave.of(3, 10)]).chart
    record = record_of(chart, job.words)
    assert record["lines"] == []
    assert record["unanswered"] == [[7], [3, 10]]


def test_the_records_entry_angle_is_positive_away_from_the_ball_side(
    demos: dict[str, Job],
) -> None:
    # The ball that crosses the lane to the far corner goes away from the ball side.
    for name, far, near in (("ilse-marchetti", 7, 10), ("wren-skobernik", 10, 7)):
        job = demos[name]
        lines = {
            tuple(line["leave"]): line
            for line in record_of(job.chart, job.words)["lines"]  # type: ignore[attr-defined]  # a list
        }
        assert lines[far,]["entry_deg"] > lines[near,]["entry_deg"]
        # Boards rise away from the ball side, so the far corner has the higher one.
        assert lines[far,]["arrive"] > 30 > 10 > lines[near,]["arrive"]


def test_a_card_set_comes_with_its_key_and_the_cautions(demos: dict[str, Job]) -> None:
    for name, side in (("ilse-marchetti", "right"), ("wren-skobernik", "left")):
        job = demos[name]
        deck = cards_of(job.chart, job.words)
        assert len(deck.cards) == len(job.chart.lines)
        assert any(f"Boards count from the {side}" in point for point in deck.key.paragraphs)
        care = " ".join(deck.care.paragraphs)
        for said in ("foul line", "medical professional", "centre’s rules", "certified coach"):
            assert said in care


def test_the_oil_is_told_by_its_shape_or_by_the_load_sheet(job_from: JobFrom) -> None:
    shaped = rows(job_from(LEAST))
    assert shaped["Oil on the lane"].value == "40 ft, 25 ml"
    assert shaped["Oil ratio, middle to outside"].value == "10 to 1"
    assert shaped["The lane may be off by"].value == "25 % oil, 25 % friction, 2 games"
    assert not [label for label in shaped if "Slope" in label]
    sheet = "{microlitres: 40, forward: [{boards: [2, 38], passes: 3, to_ft: 20}]}"
    laid = rows(job_from(LEAST + f"lane: {{oil_ft: 36, slope_in: 0.02, load_sheet: {sheet}}}\n"))
    # 37 boards, three passes of 40 microlitres each.
    assert laid["Oil on the lane"].value == "36 ft, 4.44 ml"
    assert laid["Oil on the lane"].origin == "yours"
    assert laid["Slope, right edge lower by"].value == "0.02 in"
    assert not {
        "Oil ratio, middle to outside",
        "Boards of outside oil",
        "Oil thins out over",
    } & set(laid)
