"""Templates: what they say is taken over, and what is wrong with them is told with its place."""

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cardgen.errors import InputError
from cardgen.resources import data_folder
from cardgen.templating.colours import contrast
from cardgen.templating.loading import (
    GRAPHIC_CONTRAST,
    OIL,
    PAPER,
    TEXT_CONTRAST,
    design_names,
    load_template,
    open_template,
)
from cardgen.templating.logo import Outlines
from cardgen.templating.template import PLAIN, Centre, Template

SQUARE = '<svg viewBox="0 0 10 10"><rect width="10" height="10"{}/></svg>'


def written(folder: Path, text: str, name: str = "mine.yaml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def refused(path: str | Path) -> str:
    with pytest.raises(InputError) as caught:
        load_template(path)
    return str(caught.value)


def test_an_empty_template_is_the_plain_design_without_a_centre(tmp_path: Path) -> None:
    made = load_template(written(tmp_path, "schema: 1\n"))
    assert made == Template(replace(PLAIN, name="mine"), Centre())


def test_the_plain_file_says_what_the_program_does_without_one() -> None:
    assert load_template("plain") == Template(PLAIN, Centre())


def test_the_shipped_designs_are_plain_and_friendly() -> None:
    assert design_names() == ["friendly", "plain"]


@pytest.mark.parametrize("name", ["plain", "friendly"])
def test_a_shipped_design_reads_well(name: str) -> None:
    colours = load_template(name).design.colours
    assert min(contrast(colours.heading, on) for on in (PAPER, OIL, colours.tint)) >= TEXT_CONTRAST
    assert min(contrast(colours.path, on) for on in (PAPER, OIL)) >= GRAPHIC_CONTRAST
    assert contrast(colours.mark, PAPER) >= GRAPHIC_CONTRAST


def test_the_example_has_a_logo_and_warns_of_nothing() -> None:
    opened = open_template("example")
    assert opened.warnings == ()
    assert isinstance(opened.template.centre.logo, Outlines)
    assert len(opened.template.centre.lanes) == 2
    assert opened.template.design == PLAIN


def test_every_field_is_told_of_in_the_example() -> None:
    text = (data_folder("templates") / "centres" / "example.yaml").read_text(encoding="utf-8")
    commented = "\n".join(line.removeprefix("#").removeprefix(" ") for line in text.splitlines())
    for field in (*PLAIN.__dataclass_fields__, "heading", "path", "mark", "tint", "like"):
        assert field == "name" or f"{field}:" in commented
    for field in Centre.__dataclass_fields__:
        assert f"\n  {field}:" in text


def test_values_change_what_they_name_and_keep_the_rest(tmp_path: Path) -> None:
    path = written(tmp_path, 'design:\n  like: friendly\n  colours: {heading: "#123456"}\n')
    made, base = load_template(path).design, load_template("friendly").design
    assert made.colours.heading == "#123456"
    assert made.colours.path == base.colours.path
    assert (made.face, made.pattern, made.cheer) == (base.face, base.pattern, base.cheer)


@pytest.mark.parametrize(("language", "said"), [("de-CH", "Schau"), ("en", "Look"), ("it", "")])
def test_a_designs_line_comes_in_the_language_asked_for_or_not_at_all(
    language: str, said: str
) -> None:
    cheer = load_template("friendly", language).design.cheer
    assert cheer.startswith(said)
    assert bool(cheer) == bool(said)


def test_a_template_is_found_by_its_name_or_its_path(tmp_path: Path) -> None:
    path = written(tmp_path, "centre: {name: Ours}\n")
    assert load_template(str(path)).centre.name == "Ours"
    assert load_template("friendly.yaml").design.name == "friendly"


def test_an_unknown_template_is_met_with_what_comes_near() -> None:
    assert "did you mean 'friendly'?" in refused("freindly")
    assert "the shipped ones are example, friendly, plain" in refused("qqq")
    assert "there is no such template" in refused("\0")


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("design: freindly\n", "1:9: design", "there is no design called 'freindly'"),
        ("design: freindly\n", "1:9: design", "did you mean 'friendly'?"),
        ("design: {like: plane}\n", "1:16: design.like", "did you mean 'plain'?"),
        ("design: [plain]\n", "1:9: design", "must be"),
        ("design: {face: lane}\n", "1:16: design.face", "must be a list of panels (got 'lane')"),
        ("design: {face: []}\n", "1:16: design.face", "must be a list of panels"),
        ("design: {face: [lane, cal]}\n", "design.face.2", "did you mean 'call'?"),
        ("design: {face: [lane, leave, imagine, ball, own]}\n", "design.face", "also show call"),
        ("design: {back: [notes]}\n", "1:16: design.back", "also show chance"),
        ("design: {back: [notes, chance, notes]}\n", "design.back.3", "stands here twice"),
        ("design: {notes: 1}\n", "design.notes", "a whole number from 2 to 12"),
        ("design: {corners: oval}\n", "1:19: design.corners", "must be square or round"),
        ("design: {colours: {mark: red}}\n", "design.colours.mark", "must be a colour such as"),
        ('design: {colours: {mark: "#a00"}}\n', "design.colours.mark", 'write "#AA0000"'),
        (
            'design: {colours: {heading: "#7FA0FF"}}\n',
            "1:29: design.colours.heading",
            "on the oil's tint, and text needs 4.5",
        ),
        ('design: {colours: {mark: "#FFB060"}}\n', "design.colours.mark", "would do"),
        ('design: {colours: {tint: "#808080"}}\n', "design.colours.tint", "would do"),
        ("centre: {name: [a]}\n", "1:16: centre.name", "must be text of at most 60 characters"),
        ("centre: {contact: 5550134}\n", "centre.contact", 'put it in quotes: "5550134"'),
        ("centre: {lanes: one}\n", "centre.lanes", "must be a list of at most 3 texts"),
        ("centre: {lanes: [a, b, c, d]}\n", "centre.lanes", "must be a list of at most 3 texts"),
        ("centre: {lanes: [a, '']}\n", "centre.lanes.2", "must not be blank"),
        ('centre: {name: "a\\nb"}\n', "centre.name", "must be printable characters"),
        ("centre: {nmae: a}\n", "1:10: centre.nmae", "did you mean 'name'?"),
        ("schema: 2\n", "1:9: schema", "must be 1"),
    ],
)
def test_a_mistake_is_told_with_its_place(tmp_path: Path, text: str, place: str, said: str) -> None:
    message = refused(written(tmp_path, text))
    assert "mine.yaml:1:" in message
    assert f"{place}: " in message
    assert said in message


def test_what_would_do_instead_of_a_faint_colour_does(tmp_path: Path) -> None:
    text = 'design: {{colours: {{heading: "{}"}}}}\n'
    message = refused(written(tmp_path, text.format("#FF8060")))
    better = message.rpartition("hint: ")[2].removesuffix(" would do")
    assert load_template(written(tmp_path, text.format(better))).design.colours.heading == better


def test_a_design_in_a_ring_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "designs").mkdir()
    for name, other in (("one", "two"), ("two", "one")):
        written(tmp_path / "designs", f"design: {{like: {other}}}\n", f"{name}.yaml")
    monkeypatch.setattr("cardgen.templating.loading.data_folder", lambda _: tmp_path)
    assert "a design cannot be like itself" in refused("one")


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    text = 'design:\n  back: [notes]\n  colours: {mark: "#FFFFFF"}\ncentre:\n  logo: none.svg\n'
    message = refused(written(tmp_path, text))
    for line in ("mine.yaml:2:", "mine.yaml:3:", "mine.yaml:5:"):
        assert line in message


def test_a_bad_logo_is_told_at_the_line_that_names_it(tmp_path: Path) -> None:
    written(tmp_path, SQUARE.format(' onload="x()"'), "logo.svg")
    message = refused(written(tmp_path, "centre:\n  logo: logo.svg\n"))
    assert "mine.yaml:2:9: centre.logo: logo.svg has the attribute 'onload'" in message


def test_what_a_logo_loses_is_a_warning_at_its_line(tmp_path: Path) -> None:
    written(tmp_path, SQUARE.format(' opacity=".5"'), "logo.svg")
    warnings = open_template(written(tmp_path, "centre:\n  logo: logo.svg\n")).warnings
    assert [warning.line for warning in warnings] == [2]
    assert "its opacity is left out" in str(warnings[0])


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "schema",
                        "design",
                        "centre",
                        "like",
                        "face",
                        "back",
                        "notes",
                        "colours",
                        "cheer",
                        "heading",
                        "mark",
                        "tint",
                        "logo",
                        "lanes",
                        "name",
                        "footer",
                        "en",
                    ]
                ),
                inner,
                max_size=5,
            )
        ),
        max_leaves=12,
    )
)
def test_any_content_is_taken_or_refused_in_a_sentence(
    tmp_path_factory: pytest.TempPathFactory, content: object
) -> None:
    path = tmp_path_factory.getbasetemp() / "any-template.yaml"
    path.write_text(yaml.safe_dump(content, allow_unicode=False), encoding="utf-8")
    with suppress(InputError):
        load_template(path)
