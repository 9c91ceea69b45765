"""The pages of a booklet, the table, the assumptions, and the record for scripts."""

import json
from collections.abc import Callable

import pytest

from cardgen.cards.assumptions import Assumption, Assumptions
from cardgen.cards.booklet import (
    Advice,
    Back,
    Booklet,
    Cover,
    Face,
    Guide,
    Tally,
    booklet_of,
    cards_of,
)
from cardgen.cards.table import Table, record_of, table_of
from cardgen.press import Job

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
    *("make", "room_left", "room_right", "imagine", "source"),
]


def booklet(job: Job, date: str = "") -> Booklet:
    return booklet_of(job.loaded, job.chart, job.words, stretch=8.0, date=date)


def rows(job: Job) -> dict[str, Assumption]:
    page = next(page for page in booklet(job).pages if isinstance(page, Assumptions))
    return {row.label: row for _, section in page.sections for row in section}


def test_a_booklet_goes_from_the_cover_to_the_cautions(demos: dict[str, Job]) -> None:
    for job in demos.values():
        pages = booklet(job).pages
        order = [Cover, Guide, Advice, *[Face, Back] * 10, Table, Assumptions, Tally, Advice]
        assert [type(page) for page in pages] == order
        faces = [page.card.leave.pins for page in pages if isinstance(page, Face)]
        backs = [page.card.leave.pins for page in pages if isinstance(page, Back)]
        assert faces == backs == [(pin,) for pin in range(1, 11)]


def test_own_leaves_come_after_the_single_pins(job_from: JobFrom) -> None:
    deck = cards_of(job_from(LEAST + KNOWN).chart, job_from(LEAST + KNOWN).words)
    assert [str(card.leave) for card in deck.cards] == [*map(str, range(1, 11)), "3-10"]
    assert deck.title == "Spare cards for Demo"


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
        "Spare ball: plastic, 14 lb, 17 mph",
        "Lane: house",
    )


def test_the_cover_of_a_left_hander_with_a_lane_of_her_own(demos: dict[str, Job]) -> None:
    cover = booklet(demos["wren-skobernik"]).pages[0]
    assert isinstance(cover, Cover)
    assert cover.facts == (
        "Left hand, two-handed",
        "Boards count from the left",
        "Spare ball: urethane, 13 lb, 17.5 mph",
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
        assert "8 times too wide" in advice.paragraphs[3]


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
    assert len(found) == 19


def test_a_profile_that_states_everything_rests_on_itself(job_from: JobFrom) -> None:
    found = rows(job_from(EVERYTHING + 'known_lines: [{leave: "10", stand: 34, target: 21}]\n'))
    fitted = {"Start behind foul line", "Slide foot to ball", "Walk along the line"}
    assert {label for label, row in found.items() if row.origin == "fitted"} == fitted
    assert {row.origin for label, row in found.items() if label not in fitted} == {"yours"}
    assert not any(row.is_default for row in found.values())
    assert found["Target looked at by choice"].value == "board 21"


def test_what_is_stated_is_yours_one_by_one(job_from: JobFrom) -> None:
    found = rows(
        job_from(LEAST + "stand: {walk: 0.8}\nlane: {oil_ft: 38}\nspread: {angle_deg: 0.4}\n")
    )
    assert {label for label, row in found.items() if row.origin == "yours"} == {
        *("Walk along the line", "Oil on the lane", "Spread of direction")
    }
    assert found["Walk along the line"].value == "80 %"
    assert found["Oil on the lane"].value == "38 ft"


def test_the_fit_is_told_where_there_is_one(demos: dict[str, Job]) -> None:
    for name, fits in (("ilse-marchetti", True), ("wren-skobernik", False)):
        page = next(p for p in booklet(demos[name]).pages if isinstance(p, Assumptions))
        assert any("your own lines (used: 1)" in note for note in page.notes) is fits
        assert any("single pin counts as made" in note for note in page.notes)


CHANCE_NOTE = "In 100: spares made of a hundred tries. –: not computed."


def test_the_table_has_a_row_for_each_line(job_from: JobFrom) -> None:
    job = job_from(LEAST + KNOWN)
    table = table_of(job.chart, job.words)
    assert [row.leave for row in table.rows][-2:] == ["10 pin", "3-10"]
    split, ten = table.rows[-1], table.rows[9]
    assert (split.stand, split.target, split.ball) == ("31", "20½", "spare")
    assert (split.chance, split.room, split.own) == ("–", "–", True)
    assert (ten.stand, ten.target, ten.own) == ("34", "21", True)
    assert 1 <= int(ten.chance) <= 99
    assert not any(row.own for row in table.rows[:9])
    assert table.notes == ("Boards count from the right.", "• your own line", CHANCE_NOTE)


def test_the_table_marks_own_lines_only_where_there_are_some(demos: dict[str, Job]) -> None:
    job = demos["wren-skobernik"]
    assert table_of(job.chart, job.words).notes == (
        "Boards count from the left.",
        CHANCE_NOTE,
    )


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_record_for_scripts_has_its_agreed_form(hand: str, job_from: JobFrom) -> None:
    job = job_from(f"bowler: Demo\nhand: {hand}\n{KNOWN}")
    record = json.loads(json.dumps(record_of(job.chart, job.words)))
    assert list(record) == ["bowler", "hand", "lines"]
    assert (record["bowler"], record["hand"]) == ("Demo", hand)
    assert [line["leave"] for line in record["lines"]] == [*([n] for n in range(1, 11)), [3, 10]]
    for line in record["lines"]:
        assert list(line) == LINE_KEYS
        for key in ("name", "kind", "ball", "source"):
            assert type(line[key]) is str
        for key in ("laydown", "arrive", "entry_deg"):
            assert type(line[key]) is float
        for key in ("stand", "target"):
            assert type(line[key]) in (int, float)
            assert type(line[key]) is int or line[key] % 1 == 0.5
        assert line["imagine"] is None or 1 <= line["imagine"] <= 10
        computed = [line[key] for key in ("make", "room_left", "room_right")]
        if len(line["leave"]) == 1:
            assert all(type(value) is float for value in computed)
            assert 0 <= line["make"] <= 1
        else:
            assert computed == [None, None, None]
    *singles, split = record["lines"]
    assert {line["source"] for line in singles[:9]} == {"computed"}
    assert (singles[9]["source"], singles[9]["stand"], singles[9]["target"]) == ("known", 34, 21)
    assert (split["name"], split["kind"], split["source"]) == ("baby split", "split", "known")
    assert (split["stand"], split["target"]) == (31, 20.5)


def test_the_records_entry_angle_is_positive_away_from_the_ball_side(
    demos: dict[str, Job],
) -> None:
    # The ball that crosses the lane to the far corner goes away from the ball side.
    for name, far, near in (("ilse-marchetti", 7, 10), ("wren-skobernik", 10, 7)):
        job = demos[name]
        lines = {
            tuple(line["leave"]): line
            for line in record_of(job.chart, job.words)["lines"]  # type: ignore[attr-defined]  # so
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
