"""The other commands: results to standard output, messages to standard error, exit codes."""

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from cardgen.cards.table import record_of
from cardgen.cards.words import load_words
from cardgen.lane.rack import Leave
from cardgen.press import job_of, open_profile
from cardgen.profile.loader import find_profile

Run = Callable[..., Any]
Profile = Callable[[str, str], str]
Files = Callable[[], list[str]]


COMMANDS = (
    *("make", "clinic", "preview", "chart", "draw", "fit", "practice", "fewer", "log", "form"),
    *("new", "align", "check", "schema", "completion"),
)


def test_help_lists_exactly_the_commands(run: Run) -> None:
    helped = run("--help")
    assert (helped.code, helped.err) == (0, "")
    listed = helped.out.partition("Commands:")[2].partition("To begin with:")[0].splitlines()
    assert tuple(line.split()[0] for line in listed if line.strip()) == COMMANDS


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_that_begins_as_in_the_list(command: str, run: Run) -> None:
    helped = run(command, "--help")
    assert (helped.code, helped.err) == (0, "")
    listed = re.search(rf"^  {command} +(.*)$", run("--help").out, re.MULTILINE)
    assert listed is not None
    first_words = " ".join(listed[1].split()[:4])
    assert first_words.rstrip(".") in " ".join(helped.out.split())


def test_version_and_unknown_commands(run: Run) -> None:
    assert re.fullmatch(r"cardgen, version \d+\.\d+\.\d+\S*\n", run("--version").out)
    unknown = run("bowl")
    assert (unknown.code, unknown.out) == (2, "")
    assert "'bowl'" in unknown.err


NOTES = [
    "Boards count from the right.",
    "• your own line",
    "In 100: spares made of a hundred tries.",
    "~: about, as these pins were simulated.",
    "*: a rough estimate.",
]


def test_chart_is_a_table(run: Run) -> None:
    shown = run("chart", "ilse-marchetti")
    assert (shown.code, shown.err) == (0, "")
    head, *rows = shown.out.splitlines()
    assert re.split(" {2,}", head) == ["Leave", "Stand", "Target", "Ball", "In 100", "Room, boards"]
    end = rows.index("")
    lines, notes = rows[:end], rows[end + 1 :]
    chart = job_of(open_profile(find_profile("ilse-marchetti")).loaded, load_words("en")).chart
    assert len(lines) == len(chart.lines) >= 30
    cells = {row[0]: row for row in (re.split(" {2,}", line) for line in lines)}
    assert cells["10 pin •"][:4] == ["10 pin •", "34", "20", "spare"]
    assert {row[3] for row in cells.values()} <= {"spare", "strike"}
    at = head.index("Ball")
    assert all(re.match(r"  (spare|strike) ", line[at - 2 :]) for line in lines)
    rough = any("*" in row[4] for row in cells.values())
    assert notes == [note for note in NOTES if rough or not note.startswith("*")]


def test_chart_of_some_leaves_comes_in_the_order_asked(run: Run) -> None:
    shown = run("chart", "wren-skobernik", "10", "7", "10")
    assert shown.code == 0
    names = [line.split("  ")[0] for line in shown.out.splitlines()]
    assert names[1:3] == ["10 pin", "7 pin"]


RACK = "1-2-3-4-5-6-7-8-9-10"


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_strike_names_the_full_rack(demo: str, run: Run) -> None:
    shown = run("chart", demo, "strike", "10")
    assert (shown.code, shown.err) == (0, "")
    rows = [re.split(" {2,}", line) for line in shown.out.splitlines()[1:3]]
    assert [row[0].removesuffix(" •") for row in rows] == ["Full rack", "10 pin"]
    assert rows[0][3] == "strike"
    assert shown.out == run("chart", demo, RACK, "10", "Strike").out
    # A chart nobody chose the leaves of begins with the same line.
    first = re.split(" {2,}", run("chart", demo).out.splitlines()[1])
    assert first[:5] == rows[0][:5]
    drawn, back = (run("draw", demo, "strike", *more) for more in ((), ("--back",)))
    assert (drawn.code, drawn.err) == (0, "")
    assert drawn.out == run("draw", demo, RACK).out
    for svg in (drawn.out, back.out):
        texts = {"".join(text.itertext()) for text in ElementTree.fromstring(svg.encode()).iter()}
        assert "Full rack" in texts
    figures = {"".join(t.itertext()) for t in ElementTree.fromstring(drawn.out.encode()).iter()}
    assert {"strike line", rows[0][1], rows[0][2]} <= figures


def test_json_has_the_strike_line_where_the_chart_has_it(run: Run) -> None:
    asked = json.loads(run("chart", "wren-skobernik", "strike", "--json").out)
    assert [line["leave"] for line in asked["lines"]] == [list(range(1, 11))]
    for key in ("stand", "target"):
        assert asked["strike"][key] == asked["lines"][0][key]
    assert asked["strike"]["strikes"] == asked["lines"][0]["make"]
    assert json.loads(run("chart", "wren-skobernik", "10", "--json").out)["strike"] is None


FAR = (
    "bowler: Far\nhand: right\n"
    "stand: {boards: [1, 2], walk: 0, ball_gap_boards: 15, drift_boards: 10}\n"
)
"""A bowler whose slide ends so far on the ball side that no ball of his is set down on the lane."""
OWN = FAR + "known_lines: [{leave: '10', stand: 34, target: 20}]\n"


def test_chart_says_which_leave_it_cannot_answer(run: Run, profile: Profile) -> None:
    shown = run("chart", profile("own.yaml", OWN), "3-10", "10")
    assert shown.code == 1
    assert shown.err.endswith(
        "3-10: no line; no stand and target within stand.boards bring a ball to it\n"
    )
    assert "10 pin" in shown.out
    alone = run("chart", profile("far.yaml", FAR), "3-10")
    assert (alone.code, alone.out) == (1, "")


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_chart_answers_leaves_of_several_pins(demo: str, run: Run) -> None:
    asked = ("3-10", "1-2-4", "4-6-7-10", "2-8", "1-2-10")
    shown = run("chart", demo, *asked)
    assert (shown.code, shown.err) == (0, "")
    assert [line.split("  ")[0] for line in shown.out.splitlines()[1:6]] == list(asked)
    for line in shown.out.splitlines()[1:6]:
        assert re.search(r"  (~\d+|<1)\*?  ", line)


def test_chart_answers_a_leave_one_has_a_line_for(run: Run, profile: Profile) -> None:
    name = profile(
        "me.yaml",
        'bowler: Me\nhand: left\nknown_lines: [{leave: "2-7", stand: 31, target: 20.5}]\n',
    )
    shown = run("chart", name, "2-7")
    assert (shown.code, shown.err) == (0, "")
    assert re.split(" {2,}", shown.out.splitlines()[1])[:3] == ["2-7 •", "31", "20½"]


@pytest.mark.parametrize(
    "leave", ["11", "0", "3--10", "x", "3-3", "3,10", "", "1-2-3-4-5-6-7-8-99"]
)
@pytest.mark.parametrize("command", ["chart", "draw"])
def test_what_is_no_leave(command: str, leave: str, run: Run, files: Files) -> None:
    shown = run(command, "ilse-marchetti", leave)
    assert (shown.code, shown.out) == (2, "")
    assert shown.err.startswith("LEAVE: ")
    assert len(shown.err.splitlines()) == 1
    assert files() == []


@pytest.mark.parametrize("demo", ["ilse-marchetti", "wren-skobernik"])
def test_chart_as_json_is_the_record(demo: str, run: Run) -> None:
    shown = run("chart", demo, "--json")
    assert (shown.code, shown.err) == (0, "")
    words = load_words("en")
    job = job_of(open_profile(find_profile(demo)).loaded, words)
    assert json.loads(shown.out) == record_of(job.chart, words, job.answers.strike)
    assert shown.out == run("chart", demo, "--json").out


def test_json_of_nothing_is_still_json(run: Run, profile: Profile) -> None:
    shown = run("chart", profile("far.yaml", FAR), "3-10", "--json")
    assert shown.code == 1
    record = json.loads(shown.out)
    assert (record["lines"], record["unanswered"]) == ([], [[3, 10]])
    assert "3-10: no line" in shown.err


def test_draw_to_standard_output(run: Run, files: Files) -> None:
    drawn = run("draw", "ilse-marchetti", "10")
    assert (drawn.code, drawn.err) == (0, "")
    root = ElementTree.fromstring(drawn.out.encode())
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert (root.get("width"), root.get("height")) == ("53.98mm", "85.6mm")
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert title.text == "10 pin, a spare card for Ilse Marchetti"
    assert files() == []


def test_draw_to_a_file(run: Run, tmp_path: Path, files: Files) -> None:
    to_screen = run("draw", "wren-skobernik", "7", "--size", "a7", "--back").out
    drawn = run("draw", "wren-skobernik", "7", "--size", "a7", "--back", "--svg", "a/card.svg")
    assert (drawn.code, drawn.err) == (0, "")
    assert drawn.out == str(Path("a", "card.svg")) + "\n"
    assert (tmp_path / "a/card.svg").read_text(encoding="utf-8") == to_screen
    assert 'width="74mm"' in to_screen
    again = run("draw", "wren-skobernik", "10", "--svg", "a/card.svg")
    assert again.code == 0
    assert files() == ["a/card.svg"]


def test_draw_in_formats_by_name_or_size(run: Run) -> None:
    for args, size in (
        (("--size", "id1-landscape"), ("85.6mm", "53.98mm")),
        (("--size", "60x90"), ("60mm", "90mm")),
        (("--large-print",), ("105mm", "148mm")),
    ):
        root = ElementTree.fromstring(run("draw", "ilse-marchetti", "10", *args).out.encode())
        assert (root.get("width"), root.get("height")) == size
    refused = run("draw", "ilse-marchetti", "10", "--size", "poker", "--large-print")
    assert (refused.code, refused.out) == (2, "")
    assert "large print needs A6" in refused.err


def test_draw_in_mono_has_no_colour(run: Run) -> None:
    for back in ((), ("--back",)):
        svg = run("draw", "wren-skobernik", "7", "--mono", *back).out
        colours = set(re.findall(r"#[0-9A-Fa-f]{6}", svg))
        assert colours
        assert all(len(set(bytes.fromhex(colour[1:]))) == 1 for colour in colours)


def test_draw_does_not_bury_a_drawing_of_others(run: Run, tmp_path: Path) -> None:
    theirs = tmp_path / "card.svg"
    theirs.write_text("<svg xmlns='http://www.w3.org/2000/svg'/>", encoding="utf-8")
    drawn = run("draw", "ilse-marchetti", "10", "--svg", "card.svg")
    assert (drawn.code, drawn.out) == (2, "")
    assert theirs.read_text(encoding="utf-8").startswith("<svg xmlns=")
    assert run("draw", "ilse-marchetti", "10", "--svg", "card.svg", "--force").code == 0


def test_draw_says_what_it_cannot_draw(run: Run, profile: Profile, files: Files) -> None:
    drawn = run("draw", profile("far.yaml", FAR), "3-10", "--svg", "card.svg")
    assert (drawn.code, drawn.out) == (1, "")
    assert drawn.err.startswith("3-10: no line; ")
    assert files() == ["far.yaml"]


def test_draw_draws_a_leave_of_several_pins(run: Run) -> None:
    drawn = run("draw", "wren-skobernik", "10-3")
    assert (drawn.code, drawn.err) == (0, "")
    title = ElementTree.fromstring(drawn.out.encode()).find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert title.text == "3-10, a spare card for Wren Škobernik"


def test_draw_where_nothing_can_be_written(run: Run, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("", encoding="utf-8")
    drawn = run("draw", "ilse-marchetti", "10", "--svg", "taken/card.svg")
    assert (drawn.code, drawn.out) == (3, "")
    assert "taken/card.svg: cannot be written" in drawn.err.replace("\\", "/")


def test_check_finds_all_mistakes_at_once(run: Run, profile: Profile) -> None:
    bad = profile("bad.yaml", "bowler: ''\nhand: up\nstand: {walk: two}\nshoes: 44\n")
    worse = profile("worse.yaml", "oil_ft: 90\n")
    checked = run("check", "ilse-marchetti", bad, worse)
    assert (checked.code, checked.out) == (2, "")
    for place in (
        *("bad.yaml:1:9: bowler: ", "bad.yaml:2:7: hand: ", "bad.yaml:3:15: stand.walk: "),
        *("bad.yaml:4:1: shoes: ", "worse.yaml:1:9: oil_ft: "),
    ):
        assert place in checked.err


def test_check_of_what_is_fine(run: Run, profile: Profile) -> None:
    lane = profile("lane.yaml", "oil_ft: 38\n")
    emoji = profile("emoji.yaml", "bowler: Zoë 🎳\nhand: left\n")
    checked = run("check", "ilse-marchetti", lane, emoji)
    assert checked.code == 0
    assert checked.out == "ilse-marchetti: fine\nlane.yaml: fine\nemoji.yaml: no mistakes\n"
    assert checked.err.startswith("emoji.yaml:1:9: bowler: printed as 'Zoë'")


def test_check_makes_nothing(run: Run, files: Files) -> None:
    run("check", "wren-skobernik")
    assert files() == []


KEYWORDS = {
    *("$schema", "$defs", "$ref", "title", "description", "default", "type", "enum", "const"),
    *("properties", "required", "additionalProperties", "items", "prefixItems", "minItems"),
    *("maxItems", "minLength", "maxLength", "minimum", "maximum", "exclusiveMinimum"),
    *("exclusiveMaximum", "multipleOf", "anyOf", "oneOf", "allOf", "pattern", "examples"),
}
"""Keywords of JSON Schema 2020-12, Core and Validation, as far as a profile may need them."""
TYPES = {"null", "boolean", "object", "array", "number", "string", "integer"}


def parts(schema: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield a schema and every schema in it."""
    yield schema
    for key in ("$defs", "properties"):
        for inner in schema.get(key, {}).values():
            yield from parts(inner)
    for key in ("anyOf", "oneOf", "allOf", "prefixItems"):
        for inner in schema.get(key, []):
            yield from parts(inner)
    for key in ("items", "additionalProperties"):
        if isinstance(schema.get(key), dict):
            yield from parts(schema[key])


def test_the_schema_has_the_shape_of_2020_12(run: Run) -> None:
    shown = run("schema")
    assert (shown.code, shown.err) == (0, "")
    schema = json.loads(shown.out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["type"] == "object"
    assert sorted(schema["required"]) == ["bowler", "hand"]
    assert schema["additionalProperties"] is False
    assert {"schema", "bowler", "hand", "stand", "balls", "lane", "known_lines"} <= set(
        schema["properties"]
    )
    for part in parts(schema):
        assert set(part) <= KEYWORDS
        types = part.get("type", [])
        assert set([types] if isinstance(types, str) else types) <= TYPES
        if "$ref" in part:
            assert part["$ref"].removeprefix("#/$defs/") in schema["$defs"]
        for name in part.get("required", []):
            assert name in part["properties"]
    described = [p for p in schema["properties"].values() if p.get("description")]
    assert len(described) == len(schema["properties"])


def test_the_schema_is_stable(run: Run) -> None:
    assert run("schema").out == run("schema").out


def test_a_profile_that_is_not_there(run: Run) -> None:
    for args in (("chart", "ilsa-marchetti"), ("draw", "ilsa-marchetti", "10")):
        shown = run(*args)
        assert (shown.code, shown.out) == (2, "")
        assert "did you mean 'ilse-marchetti'?" in shown.err


def test_a_leave_reads_the_same_in_any_order(run: Run) -> None:
    assert str(Leave.parse("10-3")) == "3-10"
    assert run("chart", "ilse-marchetti", "10-3").out.splitlines()[1].startswith("3-10 ")


def test_a_command_that_there_is_not_is_told_with_the_nearest(run: Run) -> None:
    near, far = run("chrat", "x"), run("frobnicate")
    assert (near.code, far.code) == (2, 2)
    assert near.err.endswith("Error: there is no command 'chrat'; did you mean chart?\n")
    assert far.err.endswith("Error: there is no command 'frobnicate'\n")


def test_the_help_begins_with_what_to_type_first(run: Run) -> None:
    told = run("--help").out
    assert "To begin with:\n  cardgen make ilse-marchetti" in told


def test_what_is_wanted_each_time_may_stand_in_the_environment(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARDGEN_WORDS", "de")
    assert run("chart", "ilse-marchetti", "10").out.startswith("Pins ")
    assert run("chart", "ilse-marchetti", "10", "--words", "en").out.startswith("Leave ")
    monkeypatch.setenv("CARDGEN_PAPER", "a9")
    refused = run("form", "intake.pdf")
    assert refused.code == 2
    assert "CARDGEN_PAPER" in refused.err
