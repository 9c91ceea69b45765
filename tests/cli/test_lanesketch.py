"""A lane in characters shows what stands where, from the side of the bowler's hand."""

import pytest

from cardgen.cli.lanesketch import DRAWN, PLAIN, lane_sketch, strokes_for
from cardgen.lane.geometry import ARROW_BOARDS, Hand
from cardgen.lane.rack import ALL_LEAVES, FULL_RACK, Leave

TEN = Leave.of(10)


def rows(hand: Hand, leave: Leave, **more: float) -> list[str]:
    """Return what is between the edges of the lane, in columns of one board."""
    return [line[3:42].ljust(39) for line in lane_sketch(hand, leave, width=44, **more)]  # type: ignore[arg-type]  # width apart


def test_a_lane_looks_like_a_lane() -> None:
    assert "\n".join(lane_sketch(Hand.RIGHT, TEN, width=80, stand=34, target=20)) == (
        """\
  |  .          .           .          10 |  pins
  |        .          .          .        |
  |             .           .             |
  |                   .                   |
  |                                       |
  |                   T                   |  arrows
  |              ^         ^              |
  |         ^                   ^         |
  |    ^                             ^    |
  |=======================================|  foul line
       35   30   25   20   15   10   5       boards, from your right
        S                                    your slide foot at the start"""
    )


def test_a_narrow_one_has_a_column_for_two_boards() -> None:
    assert "\n".join(lane_sketch(Hand.LEFT, TEN, width=39, stand=6, target=12.5)) == (
        """\
  |  .    .     .    10 |
  |    .     .     .    |
  |       .     .       |
  |          .          |
  |                     |
  |          ^          |
  |        ^   ^        |
  |     ^T        ^     |
  |  ^               ^  |
  |=====================|
        10   20   30
      S"""
    )


@pytest.mark.parametrize("hand", Hand)
def test_arrows_and_numbers_stand_on_their_boards(hand: Hand) -> None:
    drawn = rows(hand, TEN)
    columns = {39 - board if hand is Hand.RIGHT else board - 1 for board in ARROW_BOARDS}
    assert {i for row in drawn for i, c in enumerate(row) if c == "^"} == columns
    for board in ARROW_BOARDS:
        column = 39 - board if hand is Hand.RIGHT else board - 1
        assert drawn[-1][column : column + 2].strip() == str(board)


@pytest.mark.parametrize("hand", Hand)
@pytest.mark.parametrize("board", [1, 2.5, 5, 12, 20, 33.5, 39])
def test_feet_and_target_stand_on_their_boards(hand: Hand, board: float) -> None:
    drawn = rows(hand, TEN, stand=board, target=board)
    at = 39 - board if hand is Hand.RIGHT else board - 1
    feet = drawn[-1].index("S")
    target = next(row.index("T") for row in drawn if "T" in row)
    assert feet == target
    assert abs(feet - at) <= 0.5


def test_a_left_handers_lane_is_a_right_handers_in_a_mirror() -> None:
    for leave in ALL_LEAVES[::37]:
        left = rows(Hand.LEFT, leave, stand=30, target=12)
        right = rows(Hand.RIGHT, leave.mirrored, stand=30, target=12)
        for mine, theirs in zip(left[4:10], right[4:10], strict=True):
            assert mine == theirs[::-1]
        assert left[-1] == right[-1][::-1]


def test_the_pins_that_stand_are_named_and_the_others_are_dots() -> None:
    for leave in (*ALL_LEAVES[:60], FULL_RACK):
        drawn = rows(Hand.RIGHT, leave)[:4]
        assert {int(word) for row in drawn for word in row.split() if word != "."} == set(leave)
        assert sum(row.count(".") for row in drawn) == 10 - len(leave)
    # The 7 pin is left and the 10 pin right for everybody (common practice, no source).
    for hand in Hand:
        back = rows(hand, FULL_RACK)[0].split()
        assert back == ["7", "8", "9", "10"]


@pytest.mark.parametrize(
    ("width", "lane", "named"), [(42, 21, False), (43, 39, False), (72, 39, False), (73, 39, True)]
)
def test_it_has_a_column_a_board_and_names_as_soon_as_there_is_room(
    width: int, lane: int, named: bool
) -> None:
    drawn = lane_sketch(Hand.RIGHT, TEN, width=width)
    assert drawn[0].rindex("|") - drawn[0].index("|") == lane + 1
    assert drawn[0].endswith("pins") == named


@pytest.mark.parametrize("hand", Hand)
@pytest.mark.parametrize("width", [25, 44])
def test_what_stands_at_the_edge_leaves_the_edges_where_they_are(hand: Hand, width: int) -> None:
    for board in (1, 39):
        drawn = lane_sketch(hand, FULL_RACK, width=width, stand=board, target=board)
        assert len({len(line) for line in drawn[:10]}) == 1


@pytest.mark.parametrize("width", range(0, 90, 3))
def test_it_never_is_wider_than_there_is_room(width: int) -> None:
    for hand in Hand:
        drawn = lane_sketch(hand, FULL_RACK, width=width, stand=1, target=39)
        assert all(len(line) <= width for line in drawn)
        assert bool(drawn) == (width >= 25)


@pytest.mark.parametrize(
    ("encoding", "environment", "drawn"),
    [
        ("utf-8", {}, True),
        ("UTF8", {"TERM": "xterm", "NO_COLOR": ""}, True),
        ("utf-16-le", {}, True),
        ("utf-8", {"NO_COLOR": "1"}, False),
        ("utf-8", {"TERM": "dumb"}, False),
        ("cp1252", {}, False),
        ("cp437", {}, False),
        ("cp932", {}, False),  # has the characters, in two columns each
        ("ascii", {}, False),
        (None, {}, False),
        ("no-such", {}, False),
    ],
)
def test_only_a_console_that_shows_finer_characters_gets_them(
    encoding: str | None, environment: dict[str, str], drawn: bool
) -> None:
    assert strokes_for(encoding, environment) is (DRAWN if drawn else PLAIN)
