"""The test page: what is read off it is what the printer did, whatever it did."""

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import TypeAlias

import pypdfium2
import pytest

from cardgen.cards.words import Words
from cardgen.drawing.alignpage import align_scenes, turned_over
from cardgen.drawing.scene import Disc, Field, Group, Item, Line, Polyline, Scene, Text, Transform
from cardgen.drawing.theme import GREY, INK
from cardgen.preflight import preflight
from cardgen.printers import Flip, Offset
from cardgen.units import POINT_MM
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

FLIPS: tuple[Flip, ...] = ("long-edge", "short-edge")
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
Ends: TypeAlias = dict[str, tuple[float, float, float, float]]
CASES = [(paper, flip) for paper in PAPERS for flip in FLIPS]


def lines_of(scene: Scene) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Yield each named line of a page and its two ends on it."""
    for item, to_page in scene.walk():
        if isinstance(item, Line):
            start, end = (
                to_page.point(item.x1_mm, item.y1_mm),
                to_page.point(item.x2_mm, item.y2_mm),
            )
            yield item.name, (*start, *end)


def printed(scene: Scene, flip: Flip, off: Offset) -> Ends:
    """Return where the back's lines show through to the front.

    Derived here anew: a long-edge flip of an upright sheet puts the back's left on the front's
    right, a short-edge flip its top on the front's foot; then the printer is off by so much.
    """
    found: Ends = {}
    for name, (x1, y1, x2, y2) in lines_of(scene):
        if flip == "long-edge":
            x1, x2 = scene.width_mm - x1, scene.width_mm - x2
        else:
            y1, y2 = scene.height_mm - y1, scene.height_mm - y2
        found[name] = (x1 + off.dx_mm, y1 + off.dy_mm, x2 + off.dx_mm, y2 + off.dy_mm)
    return found


def read(edge: str, front: Scene, through: Ends) -> float:
    """Read one scale as the page tells to: whole millimetres at the 0, tenths where lines meet.

    Right and up count plus. Where two lines meet equally well, both must say the same.
    """
    axis = 0 if edge in ("top", "foot") else 1
    sign = 1 if axis == 0 else -1  # a scene's y runs down
    marks, verniers = {}, {}
    for name, ends in lines_of(front):
        if match := re.fullmatch(rf"{edge} mark (-?\d+)", name):
            marks[int(match[1])] = sign * ends[axis]
    for name, ends in through.items():
        if match := re.fullmatch(rf"{edge} vernier (-?\d+)", name):
            verniers[int(match[1])] = sign * ends[axis]
    gaps = {n: min(abs(at - mark) for mark in marks.values()) for n, at in verniers.items()}
    meet = [n for n, gap in gaps.items() if gap < 1e-9]
    readings = set()
    for tenths in meet:
        # Of two numbers equally near, the one that the tenths lead away from.
        whole = min(marks, key=lambda m: abs(marks[m] - verniers[0] + 1e-6 * tenths))
        readings.add(round(whole + tenths / 10, 6))
    (reading,) = readings
    # No other line comes near enough to be taken for it: its next neighbours are a tenth off.
    others = [gap for n, gap in gaps.items() if n not in meet]
    assert min(others) == pytest.approx(0.1)
    return reading


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_every_tenth_of_the_millimetre_is_read_off_as_it_is(
    paper: str, flip: Flip, words: Words
) -> None:
    front, back = align_scenes(words, *PAPERS[paper], flip)
    for tenth in range(-10, 11):
        right, up = tenth / 10, ((tenth * 7) % 21 - 10) / 10
        through = printed(back, flip, Offset(right, -up))
        assert read("top", front, through) == read("foot", front, through) == right
        assert read("left", front, through) == read("right", front, through) == up


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_the_vernier_line_of_that_number_meets_and_its_partner_is_as_many_lines_on(
    paper: str, flip: Flip, words: Words
) -> None:
    front, back = align_scenes(words, *PAPERS[paper], flip)
    marks = dict(lines_of(front))
    for tenth in range(-5, 6):
        through = printed(back, flip, Offset(tenth / 10, tenth / 10))
        x1 = through[f"top vernier {tenth}"][0]
        assert x1 == pytest.approx(marks[f"top mark {tenth}"][0])
        y1 = through[f"left vernier {-tenth}"][1]  # down is minus
        assert y1 == pytest.approx(marks[f"left mark {-tenth}"][1])


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_whole_millimetres_are_read_at_the_zero(paper: str, flip: Flip, words: Words) -> None:
    front, back = align_scenes(words, *PAPERS[paper], flip)
    for whole in range(-5, 6):
        for tenth in (-4, 0, 3):
            right = round(whole + tenth / 10, 6)
            through = printed(back, flip, Offset(right, right))
            assert read("top", front, through) == read("foot", front, through) == right
            assert read("left", front, through) == read("right", front, through) == -right


@pytest.mark.parametrize(("paper", "flip"), CASES)
@pytest.mark.parametrize("off", [Offset(0.3, -0.8), Offset(-4.7, 2.2)])
def test_with_what_was_read_kept_the_page_reads_nought(
    paper: str, flip: Flip, off: Offset, words: Words
) -> None:
    front, back = align_scenes(words, *PAPERS[paper], flip, offset=off, printer="office")
    through = printed(back, flip, off)
    for edge in ("top", "foot", "left", "right"):
        assert read(edge, front, through) == 0
    cross = dict(lines_of(front))["front cross"]
    seen = through["back cross"]
    for axis in (0, 1):
        middle = (seen[axis] + seen[axis + 2]) / 2
        assert middle == pytest.approx((cross[axis] + cross[axis + 2]) / 2)


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_lines_meet_end_to_end_on_either_side_of_the_axis(
    paper: str, flip: Flip, words: Words
) -> None:
    front, back = align_scenes(words, *PAPERS[paper], flip)
    through = printed(back, flip, Offset())
    marks = dict(lines_of(front))
    for edge, across in (("top", 1), ("foot", 1), ("left", 0), ("right", 0)):
        mark, vernier = marks[f"{edge} mark 0"], through[f"{edge} vernier 0"]
        ends = sorted((mark[across], mark[across + 2]))
        seen = sorted((vernier[across], vernier[across + 2]))
        assert ends[0] < seen[0] < ends[1] < seen[1]
        assert ends[1] - seen[0] == pytest.approx(1.2)


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_the_numbers_of_the_back_stand_at_their_lines_and_read_from_the_front(
    paper: str, flip: Flip, words: Words
) -> None:
    _, back = align_scenes(words, *PAPERS[paper], flip)
    over = turned_over(*PAPERS[paper], flip)
    found = defaultdict(list)
    for item, to_page in back.walk():
        if isinstance(item, Text) and item.name == "number":
            seen = to_page.then(over)
            # Not mirrored as seen from the front: turned at most.
            assert seen.a * seen.d - seen.b * seen.c == pytest.approx(1)
            found[item.text].append(seen)
    assert {text: len(places) for text, places in found.items()} == {
        "0": 4,
        **{str(n): 8 for n in range(1, 6)},
    }


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_the_solid_arrow_stands_in_the_open_one_unless_flipped_otherwise(
    paper: str, flip: Flip, words: Words
) -> None:
    width, height = PAPERS[paper]
    front, back = align_scenes(words, width, height, flip)

    def arrow(scene: Scene, name: str, through: Transform) -> list[tuple[float, float]]:
        return next(
            [to.then(through).point(*p) for p in item.points_mm]
            for item, to in scene.walk()
            if isinstance(item, Polyline) and item.name == name
        )

    outer = arrow(front, "front arrow", Transform())
    inner = arrow(back, "back arrow", turned_over(width, height, flip))
    assert min(x for x, _ in outer) < min(x for x, _ in inner)
    assert max(x for x, _ in outer) > max(x for x, _ in inner)
    # Each has its point at the top.
    assert outer[0][1] == min(y for _, y in outer) < inner[0][1] == min(y for _, y in inner)
    other: Flip = "short-edge" if flip == "long-edge" else "long-edge"
    wrong = arrow(back, "back arrow", turned_over(width, height, other))
    assert min(y for _, y in wrong) > height / 2
    assert wrong[0][1] == max(y for _, y in wrong)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_rulers_are_a_hundred_millimetres_in_the_finished_file(
    paper: str, words: Words
) -> None:
    scenes = align_scenes(words, *PAPERS[paper], "long-edge")
    document = pypdfium2.PdfDocument(pdf_bytes(scenes, DocumentInfo("test", duplex="long-edge")))
    assert len(document) == 2
    for page, scene in zip(document, scenes, strict=True):
        # Middles, as PDFium adds to the extent of a line.
        middles = {
            (round((left + right) / 2 * POINT_MM, 2), round((foot + top) / 2 * POINT_MM, 2))
            for left, foot, right, top in (found.get_bounds() for found in page.get_objects())
        }
        near = {
            (x + i / 100, y + j / 100) for x, y in middles for i in (-1, 0, 1) for j in (-1, 0, 1)
        }
        near = {(round(x, 2), round(y, 2)) for x, y in near}
        for name, (x1, y1, x2, y2) in lines_of(scene):
            middle = (round((x1 + x2) / 2, 2), round(scene.height_mm - (y1 + y2) / 2, 2))
            assert middle in near, name
    lines = dict(lines_of(scenes[0]))
    across = [lines[f"ruler across {mm}"][0] - lines["ruler across"][0] for mm in range(1, 101)]
    up = [lines["ruler up"][1] - lines[f"ruler up {mm}"][1] for mm in range(1, 101)]
    assert across == pytest.approx(list(range(1, 101)))
    assert up == pytest.approx(list(range(1, 101)))


def inks(item: Item) -> Iterator[str]:
    match item:
        case Text():
            yield item.colour
        case Line():
            yield item.stroke.colour
        case Polyline() | Disc():
            yield from (item.fill,) if item.fill else ()
            yield from (item.stroke.colour,) if item.stroke else ()
        case Field() | Group():
            raise AssertionError(item)


@pytest.mark.parametrize(("paper", "flip"), CASES)
@pytest.mark.parametrize("printer", ["", "W" * 60])
def test_the_page_passes_preflight(paper: str, flip: Flip, printer: str, words: Words) -> None:
    scenes = align_scenes(words, *PAPERS[paper], flip, printer=printer)
    assert preflight(scenes, kind="sheet") == ()
    assert {c for item, _ in scenes[1].walk() for c in inks(item)} == {INK, GREY}


@pytest.mark.parametrize(("paper", "flip"), CASES)
def test_it_says_how_to_print_it(paper: str, flip: Flip, words: Words) -> None:
    front, _ = align_scenes(words, *PAPERS[paper], flip)
    said = " ".join(i.text for i, _ in front.walk() if isinstance(i, Text))
    edge = flip.removesuffix("-edge")
    assert said.count(f"flip on the {edge} edge") == 2
    assert "actual size (100 %)" in said
    assert "cardgen align PRINTER --right MM --up MM" in said


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("printer", ["", "W" * 60])
def test_the_steps_end_above_the_middle_cross(paper: str, printer: str, words: Words) -> None:
    front, _ = align_scenes(words, *PAPERS[paper], "short-edge", printer=printer)
    cross = next(item for item, _ in front.walk() if isinstance(item, Disc))
    last = max(
        item.y_mm
        for item, _ in front.walk()
        if isinstance(item, Text) and "--right MM" in item.text
    )
    assert last < cross.y_mm - 10
