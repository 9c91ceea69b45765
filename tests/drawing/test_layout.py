"""Nothing that is read leaves the page, lies on other text, or is set too small."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, pairwise

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from cardgen.cards.booklet import Booklet, Tally, cards_of
from cardgen.cards.table import Table
from cardgen.drawing import fonts
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.scene import Align, Disc, Line, Polyline, Scene, Text, Transform, Weight
from cardgen.drawing.theme import A7, ID_1, WHITE, Format
from cardgen.press import Job
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
    path = next((i, t) for i, t in scene.walk() if getattr(i, "name", "") == "path")
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
    ticks = {"10", "20", "30", "15'", "30'", "45'"}
    for scene in pages[kind]:
        for item, _ in texts_of(scene):
            is_tick = item.text in ticks or item.name == "folio" or item.text[:1].isdigit()
            assert item.size_pt >= (6.0 if is_tick else 7.5), item
            if item.name.startswith("figure-"):
                assert item.size_pt >= 10.0
                assert item.weight is Weight.BOLD


@pytest.mark.parametrize("kind", KINDS)
def test_stand_and_target_are_the_largest_texts_on_a_card(
    pages: dict[str, list[Scene]], kind: str
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
    assert faces == 10


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
    ten = booklet(demos["ilse-marchetti"])

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
        mark = " •" if kind == "Table" else ""
        page = next(page for page in sixty.pages if type(page).__name__ == kind)
        assert isinstance(page, Table | Tally)
        names = page.leaves if isinstance(page, Tally) else [row.leave for row in page.rows]
        assert len(names) == 60
        expected = Counter(f"{name}{mark}" for name in names)
        assert {name: said[name] for name in expected} == expected


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
