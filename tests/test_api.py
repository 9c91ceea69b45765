"""The public API: what it answers is what the command line prints."""

import doctest
import inspect
import pickle
from pathlib import Path
from xml.etree import ElementTree

import pytest

import cardgen
from cardgen import api
from cardgen.errors import InputError, UsageError
from cardgen.products import PAPER_PRODUCTS


@pytest.mark.parametrize("module", [cardgen, api])
def test_the_examples_in_the_texts_hold(module: object) -> None:
    tried = doctest.testmod(module)  # type: ignore[arg-type]
    assert tried.attempted > 0
    assert tried.failed == 0


def test_every_public_name_is_there_and_no_other() -> None:
    for name in cardgen.__all__:
        assert getattr(cardgen, name) is not None
    assert set(cardgen.__all__) == {*api.__all__, "__version__"}
    with pytest.raises(AttributeError, match="no attribute 'anything'"):
        getattr(cardgen, "anything")  # noqa: B009 - mypy knows that there is none


def test_a_profile_is_the_same_by_name_by_path_and_as_values(tmp_path: Path) -> None:
    values = {"bowler": "Ana Bell", "hand": "left", "stand": {"ball_gap_boards": 4.5}}
    path = tmp_path / "ana.yaml"
    path.write_text("bowler: Ana Bell\nhand: left\nstand: {ball_gap_boards: 4.5}\n")
    by_values, by_path = api.load_profile(values), api.load_profile(path)
    assert by_values.profile == by_path.profile
    assert by_values.given == by_path.given
    assert api.load_profile("ilse-marchetti").profile.bowler == "Ilse Marchetti"


def test_the_room_of_a_card_is_told_from_left_to_right_as_in_the_table() -> None:
    shown = api.chart(api.load_profile("ilse-marchetti"), ["10", "9"])
    for card, row in zip(shown.values(), shown.record()["lines"], strict=True):
        assert card.room == pytest.approx((row["room_left"], row["room_right"]), abs=0.01)
    assert all(card.room[0] != card.room[1] for card in shown.values())


def test_mistakes_in_values_are_located_as_in_a_file() -> None:
    with pytest.raises(InputError, match="hand: must be right or left"):
        api.load_profile({"bowler": "Ana Bell", "hand": "middle"})


def test_a_card_says_what_the_chart_does_and_shows_itself() -> None:
    bowler = api.load_profile("ilse-marchetti")
    lines = api.chart(bowler, ["10", "strike"])
    assert list(lines) == ["10", "strike"]
    card = lines["10"]
    record = lines.record()
    (line,) = (each for each in record["lines"] if each["leave"] == [10])
    assert (card.stand, card.target, card.ball) == (line["stand"], line["target"], line["ball"])
    svg = card._repr_svg_()
    assert ElementTree.fromstring(svg).tag.endswith("svg")
    assert svg != card.svg(back=True)
    assert "Job(" not in repr(card)


def test_names_and_what_they_take_stay() -> None:
    """A release may add to these; taking one away breaks somebody's program."""
    taken = {
        name: list(inspect.signature(getattr(api, name)).parameters)
        for name in ("load_profile", "chart", "make")
    }
    assert taken == {
        "load_profile": ["source"],
        "chart": ["profile", "leaves", "words"],
        "make": ["profile", "product", "size", "paper", "words", "template", "mono", "date"],
    }
    offered = {
        api.Card: {"leave", "stand", "target", "ball", "chance", "room", "svg"},
        api.BowlerChart: {"unanswered", "record", "keys", "values", "items", "get"},
        api.Document: {"pdf", "svg", "png"},
        api.InputError: {"problems"},
    }
    for kind, names in offered.items():
        assert names <= {*dir(kind), *inspect.signature(kind).parameters}


def test_a_notebook_shows_a_chart_as_a_table_and_no_name_as_markup() -> None:
    bowler = api.load_profile({"bowler": "Ana <b>Bell</b>", "hand": "left"})
    lines = api.chart(bowler, ["7", "10"])
    table = ElementTree.fromstring(lines._repr_html_())
    heads, *rows = ([cell.text for cell in row] for row in table.iter("tr"))
    assert [row[0] for row in rows] == ["7 pin", "10 pin"]
    assert {len(row) for row in rows} == {len(heads)}
    assert float(rows[0][1] or "") == lines["7"].stand
    assert table.findtext("caption") == "Ana <b>Bell</b>"


def test_what_has_no_line_is_told() -> None:
    narrow = {"bowler": "Ana Bell", "hand": "right", "stand": {"boards": [1, 2]}}
    lines = api.chart(api.load_profile(narrow), ["7", "10"])
    assert list(lines) == ["7"]
    assert lines.unanswered == ("10",)


@pytest.mark.parametrize("product", PAPER_PRODUCTS)
def test_every_product_can_be_made(product: str) -> None:
    (document,) = api.make(api.load_profile("wren-skobernik"), product)
    assert document.pdf().startswith(b"%PDF-1.7")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"product": "leaflet"}, "there is no 'leaflet'; there are pocket, booklet"),
        ({"paper": "a9"}, "there is no 'a9'"),
        ({"words": "xx"}, "there are no words for 'xx'"),
        ({"product": "cards", "size": "1x1"}, "1x1"),
    ],
)
def test_what_cannot_be_made_is_told(wrong: dict[str, str], said: str) -> None:
    bowler = api.load_profile("wren-skobernik")
    with pytest.raises(UsageError, match=said):
        api.make(bowler, **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("leave", ["11", "x", ""])
def test_no_leave_is_told(leave: str) -> None:
    with pytest.raises(UsageError):
        api.chart(api.load_profile("ilse-marchetti"), [leave])


def test_mistakes_travel_between_processes() -> None:
    with pytest.raises(InputError) as told:
        api.load_profile({"bowler": "Ana Bell", "hand": "middle"})
    again = pickle.loads(pickle.dumps(told.value))
    assert again.problems == told.value.problems
    assert str(again) == str(told.value)
