"""What is told of profiles that are hardly right: balls far apart, wild hooks, lines that miss."""

from pathlib import Path

import pytest

from cardgen.cards.words import load_words
from cardgen.errors import Problem, UsageError
from cardgen.handouts import LessonName, lesson, lessons
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.press import Job, check_file, job_of, open_profile, unanswered_of
from cardgen.sheets.papers import A4

HEAD = "bowler: Demo\nhand: right\nspread: new\n"
WILD = "balls: {spare: {weight_lb: 8, speed_mph: 11}, strike: {rev_rpm: 280}}\n"


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    return tmp_path / "a.yaml"


def warned(profile: Path, text: str) -> tuple[Problem, ...]:
    profile.write_text(HEAD + text)
    warnings = open_profile(profile).warnings
    assert check_file(str(profile))[: len(warnings)] == warnings
    return warnings


@pytest.mark.parametrize(
    ("spare", "strike", "ball"),
    [(8, 14, "strike"), (14, 10, "spare"), (10, 14, "strike"), (6, 10, "strike")],
)
def test_a_child_with_an_adults_ball_is_told(
    spare: float, strike: float, ball: str, profile: Path
) -> None:
    text = f"balls:\n  spare: {{weight_lb: {spare}}}\n  strike: {{weight_lb: {strike}}}\n"
    (warning,) = warned(profile, text)
    assert (warning.where, warning.line) == (f"balls.{ball}", 5 if ball == "spare" else 6)
    assert warning.message.startswith(f"weighs {max(spare, strike)} lb, and the other")


@pytest.mark.parametrize(("spare", "strike"), [(14, 16), (10, 13), (11, 15), (12, 16)])
def test_balls_of_one_grown_bowler_are_not(spare: float, strike: float, profile: Path) -> None:
    text = f"balls: {{spare: {{weight_lb: {spare}}}, strike: {{weight_lb: {strike}}}}}\n"
    assert not warned(profile, text)


def test_one_light_ball_is_no_reason_for_a_warning(profile: Path) -> None:
    assert not warned(profile, "balls: {spare: {weight_lb: 6, speed_mph: 9}}\n")
    assert not warned(profile, "")


def wild(profile: Path, leaves: list[Leave] | None = None) -> Job:
    (warning,) = warned(profile, WILD)
    assert warning.where == "balls.strike"
    assert "no line brings it to the pins" in warning.message
    assert warning.hint == "check rev_rpm and speed_mph"
    return job_of(open_profile(profile).loaded, load_words("en"), leaves)


def test_a_ball_that_hooks_past_the_pins_is_told_and_named_as_the_reason(profile: Path) -> None:
    job = wild(profile, [FULL_RACK, Leave.of(10)])
    (told,) = unanswered_of(job.chart)
    assert told == (
        f"{FULL_RACK}: no line; the strike ball hooks too far to come to it from any board; "
        "check rev_rpm and speed_mph of balls.strike"
    )


def test_no_lesson_shows_a_ball_that_hooks_past_the_pins(profile: Path) -> None:
    job = wild(profile)
    name: LessonName = "straight"
    with pytest.raises(UsageError, match=r"no lesson on the spare ball: the strike ball hooks"):
        lesson(job, name, A4)
    titles = {scene.title for scene in lessons(job, A4).scenes}
    assert load_words("en")("handout.straight_title") not in titles
    assert titles


def test_a_stand_is_the_reason_where_other_boards_would_do(profile: Path) -> None:
    profile.write_text(HEAD + "stand: {boards: [1, 2]}\n")
    job = job_of(open_profile(profile).loaded, load_words("en"), [Leave.of(7), Leave.of(10)])
    assert unanswered_of(job.chart)
    for told in unanswered_of(job.chart):
        assert told.endswith("no stand and target within stand.boards bring a ball to it")


def test_a_check_tells_known_lines_that_miss(profile: Path) -> None:
    profile.write_text(
        HEAD + "known_lines:\n"
        '  - {leave: "10", stand: 34, target: 20}\n'
        '  - {leave: "7", stand: 34, target: 20}\n'
    )
    (warning,) = check_file(str(profile))
    assert (warning.where, warning.line) == ("known_lines.2", 6)
    assert warning.message == (
        "the line for 7 from 34 over 20 misses by the numbers of this profile"
    )
