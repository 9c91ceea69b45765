"""Nothing that is read leaves the page, lies on other text, or is set too small."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, pairwise

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from cardgen.cards.booklet import Booklet, Opener, Tally, cards_of
from cardgen.cards.card import Card, card_of
from cardgen.cards.table import Table
from cardgen.drawing import fonts
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.scene import Align, Disc, Line, Polyline, Scene, Text, Transform, Weight
from cardgen.drawing.theme import A7, ID_1, WHITE, Format
from cardgen.lane.rack import SINGLE_PINS, Leave
from cardgen.press import Job, job_of
from cardgen.targeting.aim import Reason
from cardgen.targeting.line import Action, Alternative, Hit, How, Play
from cardgen.targeting.line import Line as ChartLine
from cardgen.units import POINT_MM

MakeBooklet = Callable[[Job], Booklet]
JobFrom = Callable[[str], Job]

LEAST = "bowler: Demo Bowler\nhand: right\n"


def known(*lines: tuple[str, float, float]) -> str:
    return "known_lines:\n" + "".join(
        f'  - {{leave: "{leave}", stand: {stand}, target: {target}}}\n'
        for leave, stand, target in lines
    )


KNOWN_60 = known(
    *(
        (leave, 15 + n % 12, 17 + n % 6)
        for n, leave in enumerate(
            [f"{a}-{b}-{c}" for a, b, c in combinations(range(1, 11), 3)][:50]
            + [str(pin) for pin in range(1, 11)]
        )
    )
)
LONG_NAMES = {
    "words": "Wilhelmina Montgomery-Featherstonehaugh van der Wijngaardenn",
    "one word": "W" * 60,
    "carons": "Ž" * 30 + " " + "Ř" * 29,
    "narrow": "i" * 60,
}
EXTREMES = {
    "long names": f"bowler: {LONG_NAMES['words']}\nhand: left\n",
    "half boards": LEAST + "stand: {half_boards: true, boards: [1, 39]}\n",
    "far back": LEAST + "stand: {distance_ft: 16}\nlane: {approach_dots_ft: [12, 15]}\n",
    "between rows": LEAST + "stand: {distance_ft: 13.5}\nlane: {approach_dots_ft: [12, 15]}\n",
    "stand 1": LEAST
    + "stand: {distance_ft: 16}\nlane: {approach_dots_ft: [12, 15]}\n"
    + known(("7", 1, 10), ("10", 39, 25)),
    "outermost halves": LEAST + known(("7", 38.5, 20.5), ("10", 34.5, 20)),
    "left stand 39": "bowler: Demo\nhand: left\nstand: {distance_ft: 16}\n"
    + known(("7", 39, 20.5), ("10", 1.5, 9)),
    "targets aside": LEAST
    + known(("10", 30, 10), ("7", 12, 10.5), ("4", 37, 30.5), ("6", 38.5, 30)),
    "sixty": LEAST + KNOWN_60,
    "many pins": LEAST
    + "stand: {half_boards: true}\n"
    + known(
        ("1-2-3-4-5-6-7-8-9-10", 27.5, 20.5),
        ("1-2-4-5-6-7-8-10", 28.5, 20.5),
        ("2-3-4-5-6-7-8-9-10", 29.5, 20.5),
        ("4-6-7-8-10", 27.5, 20.5),
        ("2-7-8", 24.5, 20.5),
    ),
    "hook": LEAST + "balls: {spare: {cover: reactive, rev_rpm: 350, rotation_deg: 60}}\n",
}


@dataclass(frozen=True)
class Box:
    """A rectangle on a page, in millimetres, and whose it is."""

    left: float
    top: float
    right: float
    bottom: float
    text: str

    def overlap_mm(self, other: "Box") -> float:
        """Return how deep the two lie in each other, negative when apart."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return min(across, down)


@cache
def _ink_em(weight: Weight, character: str) -> tuple[float, float]:
    """Return how far below and above the baseline a character has ink, from its outline."""
    with TTFont(fonts.font_path(weight)) as font:
        glyphs = font.getGlyphSet()
        pen = BoundsPen(glyphs)
        glyphs[font.getBestCmap()[ord(character)]].draw(pen)
        em = font["head"].unitsPerEm
        return (0.0, 0.0) if pen.bounds is None else (pen.bounds[1] / em, pen.bounds[3] / em)


def box_of(item: Text, to_page: Transform) -> Box:
    """Return the extent of a text: its advances across, its outlines up and down."""
    width = fonts.width_mm(item.text, item.size_pt, item.weight)
    start = item.x_mm - {Align.START: 0, Align.MIDDLE: width / 2, Align.END: width}[item.align]
    inks = [_ink_em(item.weight, character) for character in item.text]
    em = item.size_pt * POINT_MM
    low, high = min(i[0] for i in inks) * em, max(i[1] for i in inks) * em
    corners = [
        to_page.point(x, y)
        for x in (start, start + width)
        for y in (item.y_mm - high, item.y_mm - low)
    ]
    xs, ys = zip(*corners, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys), item.text)


def texts_of(scene: Scene) -> list[tuple[Text, Box]]:
    return [(i, box_of(i, t)) for i, t in scene.walk() if isinstance(i, Text) and i.text]


def outside_safe(scene: Scene) -> list[str]:
    """Name what reaches nearer to the page's edge than the safe margin allows."""
    safe, slack = scene.safe_mm, 1e-6
    found = [
        box.text
        for _, box in texts_of(scene)
        if box.left < safe - slack
        or box.top < safe - slack
        or box.right > scene.width_mm - safe + slack
        or box.bottom > scene.height_mm - safe + slack
    ]
    for item, to_page in scene.walk():
        for corner in _corners(item):
            x, y = to_page.point(*corner)
            if not (
                safe - slack <= x <= scene.width_mm - safe + slack
                and safe - slack <= y <= scene.height_mm - safe + slack
            ):
                found.append(f"{type(item).__name__} {getattr(item, 'name', '')}")
    return found


def _corners(item: object) -> Iterator[tuple[float, float]]:
    if isinstance(item, Line):
        yield from ((item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm))
    elif isinstance(item, Polyline):
        yield from item.points_mm
    elif isinstance(item, Disc):
        r = item.radius_mm + (item.stroke.width_mm / 2 if item.stroke else 0)
        yield from ((item.x_mm - r, item.y_mm - r), (item.x_mm + r, item.y_mm + r))


def overlaps(scene: Scene) -> list[tuple[str, str]]:
    boxes = [box for _, box in texts_of(scene)]
    return [(a.text, b.text) for a, b in combinations(boxes, 2) if a.overlap_mm(b) > 1e-6]


def card_scenes(job: Job, fmt: Format) -> list[Scene]:
    return [
        s
        for c in cards_of(job.chart, job.words).cards
        for s in (face_scene(c, fmt), back_scene(c, fmt))
    ]


@pytest.fixture(scope="session")
def pages(demos: dict[str, Job], booklet: MakeBooklet) -> dict[str, list[Scene]]:
    """Every page of both demo bowlers, and their cards in the small format."""
    found = {}
    for name, job in demos.items():
        found[f"{name} booklet"] = booklet_scenes(booklet(job), A7)
        found[f"{name} cards"] = card_scenes(job, ID_1)
    return found


def touched(scene: Scene) -> list[tuple[str, str]]:
    """Name the numbers of the call that lie on an approach dot, an arrow or a pin."""
    marks = []
    for item, to_page in scene.walk():
        name = getattr(item, "name", "")
        if name.startswith("arrow-") or name in ("approach-dot", "target", "stand", "slide"):
            xs, ys = zip(*(to_page.point(*corner) for corner in _corners(item)), strict=True)
            marks.append(Box(min(xs), min(ys), max(xs), max(ys), name))
    labels = [box for item, box in texts_of(scene) if item.name.endswith("-label")]
    return [(b.text, m.text) for b in labels for m in marks if b.overlap_mm(m) > 1e-6]


DEMOS = ("ilse-marchetti", "wren-skobernik")
KINDS = [f"{name} {kind}" for name in DEMOS for kind in ("booklet", "cards")]


def crossings(scene: Scene) -> list[tuple[str, str]]:
    """Name the numbers of the call that the path or the walk runs through, in the lane."""
    lines: list[tuple[str, tuple[float, float], tuple[float, float]]] = []
    for item, to_page in scene.walk():
        if isinstance(item, Line) and item.name == "walk":
            ends = (item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)
            lines.append(("walk", to_page.point(*ends[0]), to_page.point(*ends[1])))
        elif isinstance(item, Polyline) and item.name.startswith("path"):
            points = [to_page.point(*p) for p in item.points_mm]
            lines += [("path", a, b) for a, b in pairwise(points)]
    return [
        (name, item.text)
        for item, box in texts_of(scene)
        if item.name.endswith("-label")
        for name, start, end in lines
        if any(
            box.left < start[0] + (end[0] - start[0]) * k / 200 < box.right
            and box.top < start[1] + (end[1] - start[1]) * k / 200 < box.bottom
            for k in range(201)
        )
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_all_stays_inside_the_safe_margin(pages: dict[str, list[Scene]], kind: str) -> None:
    for number, scene in enumerate(pages[kind], start=1):
        assert outside_safe(scene) == [], f"page {number}"


@pytest.mark.parametrize("kind", KINDS)
def test_no_text_lies_on_another(pages: dict[str, list[Scene]], kind: str) -> None:
    for number, scene in enumerate(pages[kind], start=1):
        assert overlaps(scene) == [], f"page {number}"


@pytest.mark.parametrize("kind", KINDS)
def test_the_numbers_in_the_lane_are_clear_of_line_and_marks(
    pages: dict[str, list[Scene]], kind: str
) -> None:
    for number, scene in enumerate(pages[kind], start=1):
        assert crossings(scene) == [], f"page {number}"
        assert touched(scene) == [], f"page {number}"


@pytest.mark.parametrize("case", EXTREMES)
def test_extreme_profiles_lay_out_as_well(
    case: str, job_from: JobFrom, booklet: MakeBooklet
) -> None:
    job = job_from(EXTREMES[case])
    for scene in [*booklet_scenes(booklet(job), A7), *card_scenes(job, ID_1)]:
        assert outside_safe(scene) == [], scene.title
        assert overlaps(scene) == [], scene.title
        assert crossings(scene) == [], scene.title
        assert touched(scene) == [], scene.title


@pytest.mark.parametrize("name", LONG_NAMES.values(), ids=LONG_NAMES)
def test_a_long_name_wraps_on_the_cover(name: str, job_from: JobFrom, booklet: MakeBooklet) -> None:
    assert len(name) == 60
    job = job_from(f"bowler: {name}\nhand: right\n")
    cover = booklet_scenes(booklet(job), A7)[0]
    lines = [item for item, _ in texts_of(cover) if item.name == "title"]
    assert 1 < len(lines) <= 3
    assert len({line.size_pt for line in lines}) == 1
    shown = "".join(line.text for line in lines).replace(" ", "")
    whole = name.replace(" ", "")
    assert shown == whole or (shown.endswith("…") and whole.startswith(shown[:-1]))
    assert outside_safe(cover) == []
    assert overlaps(cover) == []


def test_the_checks_would_notice(pages: dict[str, list[Scene]]) -> None:
    scene = pages["ilse-marchetti cards"][0]
    title = next(item for item, _ in texts_of(scene) if item.name == "title")
    shifted = replace(title, y_mm=title.y_mm + 1.0)
    assert overlaps(replace(scene, items=(*scene.items, shifted)))
    assert outside_safe(replace(scene, items=(*scene.items, replace(title, x_mm=1.0))))
    number = next(item for item, _ in texts_of(scene) if item.name == "target-label")
    path = next((i, t) for i, t in scene.walk() if getattr(i, "name", "") == "path-skid")
    x, y = path[1].point(*path[0].points_mm[5])  # type: ignore[union-attr]  # a polyline by name
    assert crossings(
        replace(
            scene, items=(*scene.items, replace(number, align=Align.MIDDLE, x_mm=x, y_mm=y + 1.0))
        )
    )


@pytest.mark.parametrize("kind", KINDS)
def test_type_is_no_smaller_than_its_tier(pages: dict[str, list[Scene]], kind: str) -> None:
    # Legge & Bigelow (2011), J. Vision 11(5):8: fluent reading at 40 cm wants an x-height of
    # 1.4 mm, which this family has at 7.5 pt; marks that are looked up, not read, may be 6 pt
    # (common practice in print, no source).
    ticks = {"10", "20", "30", "15'", "30'", "45'", "oil"}
    for scene in pages[kind]:
        for item, _ in texts_of(scene):
            is_tick = item.text in ticks or item.name == "folio" or item.text[:1].isdigit()
            assert item.size_pt >= (6.0 if is_tick else 7.5), item
            if item.name.startswith("figure-"):
                assert item.size_pt >= 10.0
                assert item.weight is Weight.BOLD


@pytest.mark.parametrize("kind", KINDS)
def test_stand_and_target_are_the_largest_texts_on_a_card(
    pages: dict[str, list[Scene]], demos: dict[str, Job], kind: str
) -> None:
    faces = 0
    for scene in pages[kind]:
        figures = [item for item, _ in texts_of(scene) if item.name.startswith("figure-")]
        if not figures:
            continue
        faces += 1
        assert [item.name for item in figures] == ["figure-STAND", "figure-TARGET"]
        rest = [item.size_pt for item, _ in texts_of(scene) if item not in figures]
        assert min(item.size_pt for item in figures) >= 2 * max(rest)
    assert faces == len(demos[kind.split()[0]].chart.lines)


def test_half_boards_keep_a_figure_in_one_piece(job_from: JobFrom) -> None:
    job = job_from(EXTREMES["outermost halves"])
    for fmt in (A7, ID_1):
        for card in cards_of(job.chart, job.words).cards:
            figures = [
                item.text
                for item, _ in texts_of(face_scene(card, fmt))
                if item.name.startswith("figure-")
            ]
            assert figures == [card.stand.figure, card.target.figure]


def test_what_does_not_fit_goes_on_to_another_page(
    job_from: JobFrom, demos: dict[str, Job], booklet: MakeBooklet
) -> None:
    sixty = booklet(job_from(EXTREMES["sixty"]))
    job = demos["ilse-marchetti"]
    ten = booklet(job_of(job.loaded, job.words, SINGLE_PINS))

    def sizes(pages: Booklet, kind: str) -> tuple[int, set[float], Counter[str]]:
        page = next(page for page in pages.pages if type(page).__name__ == kind)
        scenes = page_scenes(page, A7)
        texts = [item for scene in scenes for item, _ in texts_of(scene)]
        assert [bool(scene.title) for scene in scenes] == [True] + [False] * (len(scenes) - 1)
        return len(scenes), {t.size_pt for t in texts}, Counter(t.text for t in texts)

    for kind in ("Table", "Tally"):
        many, many_sizes, said = sizes(sixty, kind)
        one, one_sizes, _ = sizes(ten, kind)
        assert one == 1
        assert many > 3
        assert many_sizes == one_sizes
        page = next(page for page in sixty.pages if type(page).__name__ == kind)
        assert isinstance(page, Table | Tally)
        names = (
            list(page.leaves)
            if isinstance(page, Tally)
            else [f"{row.leave} •" if row.own else row.leave for row in page.rows]
        )
        assert len(names) >= 60
        if isinstance(page, Table):
            assert sum(row.own for row in page.rows) == 60
        expected = Counter(names)
        assert {name: said[name] for name in expected} == expected


OPENER_ROWS = tuple(
    (f"{a}-{b}-{c}", "34½ over 20½", "roughly 1 in 200")
    for a, b, c in combinations(range(1, 11), 3)
)


def test_an_opener_goes_on_to_as_many_pages_as_it_needs() -> None:
    opener = Opener("Clusters", "Pins that stand together. " * 4, OPENER_ROWS)
    scenes = page_scenes(opener, A7)
    assert len(scenes) > 3
    # Listed once in the outline, headed and not introduced again on every page.
    assert [scene.title for scene in scenes] == ["Clusters"] + [""] * (len(scenes) - 1)
    names = [name for name, _, _ in OPENER_ROWS]
    found = []
    for number, scene in enumerate(scenes):
        texts = [item.text for item, _ in texts_of(scene)]
        assert texts[0] == "Clusters"
        assert any("stand together" in text for text in texts) == (number == 0)
        listed = [text for text in texts if text in names]
        assert texts.count("34½ over 20½") == texts.count("roughly 1 in 200") == len(listed) > 0
        found += listed
        assert outside_safe(scene) == []
        assert overlaps(scene) == []
        # Above the foot, where the page's number stands.
        assert max(box.bottom for _, box in texts_of(scene)) <= A7.height_mm - A7.margin_mm
    assert found == names


def test_an_opener_of_a_few_leaves_is_one_page() -> None:
    (scene,) = page_scenes(Opener("Washouts", "Slide the head pin.", OPENER_ROWS[:12]), A7)
    assert scene.title == "Washouts"


def test_a_leave_too_long_for_its_line_stands_above_it() -> None:
    long, short = "1-2-3-4-5-6-7-8-9-10", "3-10"
    rows = tuple((leave, "34½ over 20½", "roughly 1 in 200") for leave in (long, short))
    (scene,) = page_scenes(Opener("Clusters", "All of them.", rows), A7)
    base = {item.text: item.y_mm for item, _ in texts_of(scene)}
    calls = [item.y_mm for item, _ in texts_of(scene) if item.text == "34½ over 20½"]
    assert base[long] + 3.0 < calls[0] < base[short] - 3.0
    assert calls[1] == pytest.approx(base[short], abs=0.05)  # two weights, one line
    assert overlaps(scene) == []


def test_the_table_keeps_clear_of_the_pages_number(
    pages: dict[str, list[Scene]], demos: dict[str, Job]
) -> None:
    for name in demos:
        tables = [
            scene
            for scene in pages[f"{name} booklet"]
            if any(item.text == "All lines" for item, _ in texts_of(scene))
        ]
        assert tables
        for scene in tables:
            texts = [box for item, box in texts_of(scene) if item.name != "folio"]
            assert max(box.bottom for box in texts) <= A7.height_mm - A7.margin_mm


OTHER = Alternative("strike", 34.5, 20.5, 0.005, 2.46)
CROWDED = Action(1, Hit.HALF, -1, ((2, How.BALL), (4, How.PIN), (10, How.REBOUND)))


def variants(line: ChartLine) -> Iterator[ChartLine]:
    """Yield a line as it is, and with more to say on its card than any has."""
    yield line
    for play in Play:
        odds = replace(line.odds, estimate=True)
        full = replace(line, play=play, other=OTHER, odds=odds)
        yield full
        yield replace(full, other=None, action=CROWDED)
        yield replace(full, action=CROWDED, runner_up=OTHER, reason=Reason.FAVOURITE_TARGET)


def variant_cards(job: Job) -> Iterator[Card]:
    for line in job.chart.lines:
        for variant in variants(line):
            yield card_of(variant, job.chart, job.words)


def printed_headings(card: Card, scene: Scene) -> list[str]:
    texts = [item.text for item, _ in texts_of(scene)]
    return [note.heading for note in card.notes if note.heading in texts]


@pytest.mark.parametrize("fmt", [A7, ID_1], ids=lambda fmt: fmt.name)
@pytest.mark.parametrize("name", DEMOS)
def test_notes_that_do_not_fit_are_dropped_from_the_end(
    name: str, fmt: Format, demos: dict[str, Job]
) -> None:
    dropped = whole = 0
    for card in variant_cards(demos[name]):
        scene = back_scene(card, fmt)
        assert outside_safe(scene) == [], card.name
        assert overlaps(scene) == [], card.name
        printed = printed_headings(card, scene)
        assert len(printed) >= 1
        # Those that are kept go with any: how sure the line is.
        count = next(
            count
            for count in range(len(card.notes), -1, -1)
            if all(note.heading in printed for note in card.notes[:count])
        )
        kept = [note for note in card.notes[count:] if note.kept]
        shown = [*card.notes[:count], *kept]
        assert printed == [note.heading for note in shown], card.name
        # What is printed is printed whole, in the one size.
        said = " ".join(item.text for item, _ in texts_of(scene))
        for note in shown:
            for line in note.lines:
                assert line in said, card.name
        boxes = [(item, box) for item, box in texts_of(scene) if item.size_pt >= fmt.label_pt]
        if len(printed) == len(card.notes):
            whole += 1
            continue
        dropped += 1
        first = next(note for note in card.notes if note not in shown)
        for line in first.lines[-1:]:
            assert line not in said, card.name
        # The next one would not have fitted above the caution.
        caution = next(box.top for item, box in boxes if item.text == card.caution)
        last = max(box.bottom for _, box in boxes if box.bottom < caution)
        lines = sum(len(fonts.wrap(t, fmt.inner_width_mm, fmt.body_pt)) for t in first.lines)
        needed = fmt.leading * (1.3 * fmt.label_pt + lines * fmt.body_pt) * POINT_MM
        assert needed > caution - last - 0.06 * fmt.inner_height_mm, card.name
    assert whole > 0
    assert dropped > 0


@pytest.mark.parametrize("fmt", [A7, ID_1], ids=lambda fmt: fmt.name)
def test_an_own_line_that_misses_always_says_so(fmt: Format, job_from: JobFrom) -> None:
    job = job_from(LEAST + known(("10", 34, 2), ("3-10", 39, 12), ("1-2-4", 1, 39)))
    own = [line for line in job.chart.lines if line.known]
    assert len(own) == 3
    for line in own:
        assert not line.reaches
        card = card_of(line, job.chart, job.words)
        said = " ".join(item.text for item, _ in texts_of(back_scene(card, fmt)))
        assert "By the numbers of your profile it misses." in said


@pytest.mark.parametrize("fmt", [A7, ID_1], ids=lambda fmt: fmt.name)
@pytest.mark.parametrize("name", DEMOS)
def test_the_fullest_front_has_room_for_all_it_says(
    name: str, fmt: Format, demos: dict[str, Job]
) -> None:
    job = demos[name]
    for line in job.chart.lines:
        full = replace(line, imagine=10, reason=Reason.OWN, stand=34.5, target=18.5)
        scene = face_scene(card_of(full, job.chart, job.words), fmt)
        assert outside_safe(scene) == [], line.leave
        assert overlaps(scene) == [], line.leave
        order = [item.text for item, _ in sorted(texts_of(scene), key=lambda t: t[1].top)]
        said = " ".join(text for text in order)
        for text in ("Imagine the 10 pin", "Your own line", "34½", "18½"):
            assert text in said
        # The spot to roll over goes with the target, before the ball.
        assert (
            order.index("18½")
            < order.index("Imagine the 10 pin")
            < order.index(f"{line.ball.title()} ball")
        )


@pytest.mark.parametrize("fmt", [A7, ID_1], ids=lambda fmt: fmt.name)
def test_a_card_for_the_count_has_no_room_to_draw(fmt: Format, demos: dict[str, Job]) -> None:
    for job in demos.values():
        (line,) = job_of(job.loaded, job.words, [Leave.of(4, 6, 7, 10)]).chart.lines
        better = replace(OTHER, make=0.05)
        card = card_of(replace(line, play=Play.COUNT, other=better), job.chart, job.words)
        scene = back_scene(card, fmt)
        texts = [item.text for item, _ in texts_of(scene)]
        said = " ".join(texts)
        assert "Pins to expect" in texts
        assert f"{line.odds.count:.1f} pins" in said
        assert "All of them: " in said
        assert "Need them all, as in the last frame?" in texts
        assert "Stand 34½" in said or "stand 34½" in said
        assert not {"Room at the target", "Missed the same side twice?", "Chance"} & set(texts)
        assert not [item for item, _ in scene.walk() if getattr(item, "name", "") == "room"]
        assert outside_safe(scene) == []
        assert overlaps(scene) == []


def test_what_comes_before_the_cards_is_a_page_each(
    demos: dict[str, Job], booklet: MakeBooklet
) -> None:
    for job in demos.values():
        for page in booklet(job).pages[:4]:
            assert len(page_scenes(page, A7)) == 1


def test_no_text_is_white(pages: dict[str, list[Scene]]) -> None:
    assert all(i.colour != WHITE for kind in pages for s in pages[kind] for i, _ in texts_of(s))


@pytest.mark.parametrize("fmt", [A7, ID_1], ids=lambda fmt: fmt.name)
def test_the_key_card_is_one_card(demos: dict[str, Job], fmt: Format) -> None:
    """A second page of the key would shift every back behind its front."""
    for job in demos.values():
        deck = cards_of(job.chart, job.words)
        (front,), (back,) = page_scenes(deck.key, fmt), page_scenes(deck.care, fmt)
        for scene in (front, back):
            assert outside_safe(scene) == []
            assert overlaps(scene) == []


def test_an_owner_too_long_for_a_card_is_cut_short(job_from: JobFrom) -> None:
    job = job_from(f"bowler: {'Anna ' * 60}\nhand: left\n")
    card = cards_of(job.chart, job.words).cards[0]
    for fmt in (A7, ID_1):
        scene = back_scene(card, fmt)
        owner = next(item.text for item, _ in texts_of(scene) if item.name == "owner")
        assert owner.startswith("Left hand, Anna")
        assert owner.endswith("…")
        assert outside_safe(scene) == []
