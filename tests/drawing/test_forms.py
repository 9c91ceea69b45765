"""The sheets to fill in: nothing clipped, nothing crowded, a field in every place to write."""

from itertools import combinations, pairwise

import pytest

from cardgen.cards.forms import LOG_ROWS, intake_sheet, log_sheet
from cardgen.cards.words import Words
from cardgen.drawing.fonts import cap_height_mm, metrics, width_mm
from cardgen.drawing.forms import intake_scene, log_scenes
from cardgen.drawing.scene import Align, Field, Line, Polyline, Scene, Text, Weight
from cardgen.profile.intake import INTAKE
from cardgen.sheets.papers import A4, LETTER, Size
from cardgen.shotlog.columns import COLUMNS, MAX_NOTE
from cardgen.units import POINT_MM

PAPERS = pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
Box = tuple[float, float, float, float]


def log(words: Words, paper: Size, shots: int = 0) -> list[Scene]:
    sheet = log_sheet(words, filled=[{"leave": "10"}] * shots)
    return log_scenes(sheet, paper.width_mm, paper.height_mm)


def every_sheet(words: Words, paper: Size) -> list[Scene]:
    return [
        *log(words, paper, LOG_ROWS + 1),
        intake_scene(intake_sheet(words), paper.width_mm, paper.height_mm),
    ]


def texts(scene: Scene) -> list[Text]:
    return [item for item in scene.items if isinstance(item, Text) and item.text]


def fields(scene: Scene) -> list[Field]:
    return [item for item in scene.items if isinstance(item, Field)]


def text_box(text: Text) -> Box:
    wide = width_mm(text.text, text.size_pt, text.weight)
    left = text.x_mm - {Align.START: 0, Align.MIDDLE: wide / 2, Align.END: wide}[text.align]
    below = metrics(text.weight).descent_em * text.size_pt * POINT_MM
    top = text.y_mm - cap_height_mm(text.size_pt, text.weight)
    return left, top, left + wide, text.y_mm + min(below, 0.22 * text.size_pt * POINT_MM)


def field_box(field: Field) -> Box:
    return field.x_mm, field.y_mm, field.x_mm + field.width_mm, field.y_mm + field.height_mm


def meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] - 1e-6 and b[0] < a[2] - 1e-6 and a[1] < b[3] - 1e-6 and b[1] < a[3] - 1e-6


@PAPERS
def test_everything_stays_inside_the_margin(words: Words, paper: Size) -> None:
    for scene in every_sheet(words, paper):
        assert scene.safe_mm == 5  # what printers leave white; all is laid out within 10
        boxes = [text_box(text) for text in texts(scene)] + [field_box(f) for f in fields(scene)]
        boxes += [
            (line.x1_mm, line.y1_mm, line.x2_mm, line.y2_mm)
            for line in scene.items
            if isinstance(line, Line)
        ]
        for left, top, right, bottom in boxes:
            assert left >= 10 - 1e-6
            assert top >= 10 - 1e-6
            assert right <= scene.width_mm - 10 + 1e-6
            assert bottom <= scene.height_mm - 10 + 1e-6


@PAPERS
def test_no_text_runs_into_another_or_into_a_field(words: Words, paper: Size) -> None:
    for scene in every_sheet(words, paper):
        boxes = [(text.text, text_box(text)) for text in texts(scene)]
        boxes += [(field.name, field_box(field)) for field in fields(scene)]
        assert [(a, b) for (a, x), (b, y) in combinations(boxes, 2) if meet(x, y)] == []


@PAPERS
def test_headings_of_the_log_stay_in_their_columns(words: Words, paper: Size) -> None:
    (scene,) = log(words, paper)
    first_row = [field for field in fields(scene) if field.name.startswith("shot.1.")]
    above = [t for t in texts(scene) if t.y_mm < first_row[0].y_mm]
    for field, name in zip(first_row, COLUMNS, strict=True):
        right = field.x_mm + field.width_mm
        (named,) = [text for text in above if text.text == name]
        column = [text for text in above if text.x_mm == named.x_mm]
        assert len(column) == 3  # heading, what to write there, its name in a log file
        assert [text.y_mm for text in column] == sorted(text.y_mm for text in column)
        assert all(text_box(text)[2] <= right for text in column)


@PAPERS
def test_type_is_large_enough_to_read_and_to_write(words: Words, paper: Size) -> None:
    for scene in every_sheet(words, paper):
        assert all(text.size_pt >= 7.5 for text in texts(scene))
        sentences = [text for text in texts(scene) if len(text.text.split()) > 9]
        assert sentences
        assert all(text.size_pt >= 8.5 for text in sentences if text.colour == "#111111")
        assert all(field.size_pt >= 9 and field.height_mm >= 6.5 for field in fields(scene))


@PAPERS
def test_rows_of_the_log_are_high_enough_for_a_hand(words: Words, paper: Size) -> None:
    (scene,) = log(words, paper)
    assert scene.width_mm > scene.height_mm
    lines = {
        line.y1_mm for line in scene.items if isinstance(line, Line) and line.y1_mm == line.y2_mm
    }
    rows = sorted(lines)[1:]  # the first is the title's rule
    assert 18 <= len(rows) - 1 == LOG_ROWS <= 22
    # common practice, no source: ruled school paper for beginners has lines 7 to 8 mm apart
    assert all(b - a >= 7.5 for a, b in pairwise(rows))


@PAPERS
def test_each_field_of_the_log_lies_between_its_lines(words: Words, paper: Size) -> None:
    (scene,) = log(words, paper)
    level = {i.y1_mm for i in scene.items if isinstance(i, Line) and i.y1_mm == i.y2_mm}
    upright = {i.x1_mm for i in scene.items if isinstance(i, Line) and i.x1_mm == i.x2_mm}
    assert len(fields(scene)) == LOG_ROWS * len(COLUMNS)
    assert len(upright) == len(COLUMNS) - 1
    for field in fields(scene):
        left, top, right, bottom = field_box(field)
        assert any(0 < top - y < 0.5 for y in level)
        assert any(0 < y - bottom < 0.5 for y in level)
        assert not any(left <= x <= right for x in upright)


def test_a_log_has_a_field_for_each_column_of_each_shot(words: Words) -> None:
    pages = log(words, A4, 2 * LOG_ROWS + 1)
    names = [field.name for scene in pages for field in fields(scene)]
    assert names == [f"shot.{n}.{c}" for n in range(1, 3 * LOG_ROWS + 1) for c in COLUMNS]
    assert [scene.title != "" for scene in pages] == [True, False, False]
    assert [[t.text for t in texts(s) if "/" in t.text] for s in pages] == [
        ["1/3"],
        ["2/3"],
        ["3/3"],
    ]


def test_choices_of_the_log_may_be_blank(words: Words) -> None:
    (scene,) = log(words, A4)
    options = {field.name: field.options for field in fields(scene) if field.options}
    assert options["shot.7.ball"] == ("", "spare", "strike")
    assert options["shot.7.result"] == ("", "hit", "miss", "left", "right")
    assert len(options) == 2 * LOG_ROWS


def test_a_column_or_a_word_that_the_log_has_not_is_refused(words: Words) -> None:
    with pytest.raises(ValueError, match="no column 'lane'"):
        log_sheet(words, filled=[{"lane": "7"}])
    with pytest.raises(ValueError, match="'split' is no choice in the column 'result'"):
        log_sheet(words, filled=[{"result": "split"}])


@PAPERS
def test_the_intake_asks_every_question_once(words: Words, paper: Size) -> None:
    scene = intake_scene(intake_sheet(words), paper.width_mm, paper.height_mm)
    assert scene.height_mm > scene.width_mm
    asked = {field.name: field.options for field in fields(scene)}
    assert len(asked) == len(fields(scene)) == len(INTAKE)
    for question in INTAKE:
        assert asked[question.field] == (("", *question.options) if question.options else ())


def test_what_can_be_chosen_is_also_printed_for_a_pen(words: Words) -> None:
    scene = intake_scene(intake_sheet(words), A4.width_mm, A4.height_mm)
    printed = " ".join(text.text for text in texts(scene))
    for question in INTAKE:
        assert all(option in printed for option in question.options)


@PAPERS
def test_a_place_to_write_is_tinted_and_has_its_field(words: Words, paper: Size) -> None:
    scene = intake_scene(intake_sheet(words), paper.width_mm, paper.height_mm)
    tints = {i.points_mm[0] for i in scene.items if isinstance(i, Polyline) and i.name == "answer"}
    assert tints == {(field.x_mm, field.y_mm) for field in fields(scene)}


@PAPERS
def test_both_sheets_tell_to_take_care(words: Words, paper: Size) -> None:
    for scene in every_sheet(words, paper):
        said = " ".join(text.text for text in texts(scene) if text.name == "cautions")
        for word in ("Warm up", "hurts", "medical", "dry", "foul line", "rules", "coach"):
            assert word in said


def test_every_field_says_what_belongs_there(words: Words) -> None:
    for scene in every_sheet(words, A4):
        tips = [field.tip for field in fields(scene)]
        assert all(tips)
    (scene, _) = log(words, A4, LOG_ROWS + 1)
    assert len({field.tip for field in fields(scene)}) == len(fields(scene))


@pytest.mark.parametrize("leave", ["10", "2-4-5-8", "1-2-4-10", "4-6-7-9-10", "4-6-7-8-10"])
def test_a_usual_leave_is_seen_whole(words: Words, leave: str) -> None:
    (scene,) = log(words, LETTER)
    field = next(f for f in fields(scene) if f.name == "shot.1.leave")
    assert width_mm(leave, field.size_pt) < field.width_mm - 2


def test_a_long_note_keeps_its_value(words: Words) -> None:
    note = "x " * (MAX_NOTE // 2)
    sheet = log_sheet(words, filled=[{"note": note}])
    (scene,) = log_scenes(sheet, A4.width_mm, A4.height_mm)
    assert next(f.value for f in fields(scene) if f.name == "shot.1.note") == note


def test_weights_are_those_of_the_family(words: Words) -> None:
    used = {text.weight for scene in every_sheet(words, A4) for text in texts(scene)}
    assert used == {Weight.REGULAR, Weight.MEDIUM, Weight.BOLD}
