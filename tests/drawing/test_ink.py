"""The inks: where each is used, and that the pages can be read without seeing colour."""

from io import BytesIO
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image as Pictures

from cardgen.cards.booklet import cards_of
from cardgen.drawing import theme
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.ink import BLACK, MONO, MONO_GREY, MONO_LIGHT, heavier, in_mono, mono
from cardgen.drawing.pages import booklet_scenes
from cardgen.drawing.scene import (
    Disc,
    Field,
    Group,
    Image,
    Line,
    Polyline,
    Scene,
    Stroke,
    Text,
)
from cardgen.drawing.theme import A7, FORMATS, ID_1, format_of
from cardgen.preflight import preflight
from cardgen.press import Job

INKS = {"ink": theme.INK, "navy": theme.NAVY, "vermilion": theme.VERMILION, "sky": theme.SKY}
TINTS = {theme.MIST, theme.OIL_SOME, theme.OIL_MUCH, theme.GUTTER}
PALETTE = {*INKS.values(), *TINTS, theme.GREY, theme.WHITE}
PATH_PARTS = {"path", "path-skid", "path-hook", "path-roll", "path-at-pins"}
PATH_NAMES = {*PATH_PARTS, "laydown", "ball"}

# Machado, Oliveira & Fernandes (2009), A Physiologically-based Model for Simulation of Color Vision
# Deficiency, IEEE TVCG 15(6), severity 1.0, for linear RGB. The numbers are from memory.
DEFICIENCIES = {
    "none": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# IEC 61966-2-1 (sRGB): linear RGB to CIE XYZ, and the D65 white.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour: str) -> NDArray[np.float64]:
    """Return ``#rrggbb`` as linear RGB (IEC 61966-2-1)."""
    value = np.array(list(bytes.fromhex(colour[1:])), dtype=np.float64) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast_on_white(colour: str) -> float:
    """Return the contrast ratio (WCAG 2.2, definitions of contrast ratio, relative luminance)."""
    return float(1.05 / (np.array([0.2126, 0.7152, 0.0722]) @ linear(colour) + 0.05))


def lab(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return CIE 1976 L*a*b* of linear RGB (ISO/CIE 11664-4)."""
    t = TO_XYZ @ np.clip(rgb, 0, 1) / (TO_XYZ @ np.ones(3))
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.fixture(scope="session")
def scenes(demos: dict[str, Job], booklet: object) -> list[Scene]:
    found: list[Scene] = []
    for job in demos.values():
        found += booklet_scenes(booklet(job, "25 November 2026"), A7)  # type: ignore[operator]  # a fixture that is a function
        for card in cards_of(job.chart, job.words).cards:
            found += [face_scene(card, ID_1), back_scene(card, ID_1)]
    return found


def colours_of(item: object) -> set[str]:
    stroke, fill = getattr(item, "stroke", None), getattr(item, "fill", None)
    colours = {fill} if fill else set()
    if isinstance(stroke, Stroke):
        colours.add(stroke.colour)
    if isinstance(item, Text):
        colours.add(item.colour)
    return colours


def test_every_colour_is_of_the_theme(scenes: list[Scene]) -> None:
    used = {c for scene in scenes for item, _ in scene.walk() for c in colours_of(item)}
    assert used == PALETTE


def test_vermilion_is_the_ball_and_its_path(scenes: list[Scene]) -> None:
    named = {
        getattr(item, "name", "")
        for scene in scenes
        for item, _ in scene.walk()
        if theme.VERMILION in colours_of(item)
    }
    assert named == PATH_NAMES


def test_text_is_read_on_white(scenes: list[Scene]) -> None:
    # WCAG 2.2, success criterion 1.4.3 (AA): 4.5 to 1 for text of any size
    colours = {i.colour for scene in scenes for i, _ in scene.walk() if isinstance(i, Text)}
    assert colours == {theme.INK, theme.NAVY, theme.GREY}
    assert all(contrast_on_white(colour) >= 4.5 for colour in colours)


def test_contrast_is_what_the_theme_says() -> None:
    assert contrast_on_white("#000000") == pytest.approx(21)  # WCAG 2.2: black on white
    said = {"ink": 18.9, "navy": 11.0, "vermilion": 5.5, "sky": 3.2}
    for name, ratio in said.items():
        assert contrast_on_white(INKS[name]) == pytest.approx(ratio, abs=0.05)
    assert contrast_on_white(theme.GREY) == pytest.approx(6.3, abs=0.05)
    # WCAG 2.2, 1.4.11: 3 to 1 for what a picture needs to be understood
    assert all(contrast_on_white(colour) >= 3 for colour in INKS.values())


def test_path_and_walk_differ_without_colour(scenes: list[Scene]) -> None:
    paths: dict[str, set[Stroke]] = {}
    walks = set()
    for scene in scenes:
        for item, _ in scene.walk():
            if isinstance(item, Polyline) and item.name.startswith("path"):
                assert item.stroke is not None
                paths.setdefault(item.name, set()).add(item.stroke)
            elif isinstance(item, Line) and item.name == "walk":
                walks.add(item.stroke)
    (walk,) = walks
    assert set(paths) == PATH_PARTS
    looks = {name: stroke for name, (stroke,) in paths.items()}
    skid, hook = looks.pop("path-skid"), looks.pop("path-hook")
    (plain,) = set(looks.values())
    assert not plain.dash_mm
    assert walk.dash_mm
    assert plain.width_mm > 1.5 * walk.width_mm
    # Skid, hook and roll: broken, heavy, plain.
    assert skid.dash_mm
    assert not hook.dash_mm
    assert hook.width_mm > 1.5 * plain.width_mm
    assert skid.dash_mm[0] > 2 * walk.dash_mm[0]
    assert skid.width_mm > 1.5 * walk.width_mm


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2)."""
    on_white = sorted((contrast_on_white(one), contrast_on_white(other)))
    return on_white[1] / on_white[0]


def test_what_is_drawn_on_a_tint_keeps_its_contrast() -> None:
    # WCAG 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for what a picture needs to be understood (1.4.11)
    for tint in TINTS:
        # In the gutter stand feet and the oil's name, in ink.
        greys = set() if tint == theme.GUTTER else {theme.GREY}
        for text in {theme.INK, theme.NAVY, *greys}:
            assert contrast(text, tint) >= 4.5
        assert contrast(theme.VERMILION, tint) >= 3


def test_oil_gutter_and_bare_lane_are_told_apart_in_grey() -> None:
    # Lightness alone, CIE 1976 L*: two just noticeable differences at least between neighbours.
    lightness = [lab(linear(c))[0] for c in (theme.WHITE, theme.OIL_SOME, theme.OIL_MUCH)]
    assert np.all(np.diff(lightness) < -2)
    assert lab(linear(theme.GUTTER))[0] < lightness[2] - 5


def test_ball_pins_and_feet_differ_without_colour(scenes: list[Scene]) -> None:
    looks: dict[str, set[tuple[bool, float]]] = {}
    for scene in scenes:
        for item, _ in scene.walk():
            if isinstance(item, Disc) and item.name in {"standing-pin", "fallen-pin", "ball"}:
                solid = item.fill is not None
                looks.setdefault(item.name, set()).add((solid, round(item.radius_mm, 3)))
    assert {solid for solid, _ in looks["standing-pin"]} == {True}
    assert {solid for solid, _ in looks["fallen-pin"] | looks["ball"]} == {False}
    assert min(r for _, r in looks["ball"]) > max(r for _, r in looks["fallen-pin"])


def test_the_matrices_keep_white_and_greys() -> None:
    # Machado et al.: a grey looks the same to all, so that every row sums to one. Six decimals.
    for matrix in DEFICIENCIES.values():
        assert matrix.sum(axis=1) == pytest.approx(1, abs=2e-6)


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_the_inks_stay_apart_for_the_colour_blind(deficiency: str) -> None:
    seen = {name: lab(DEFICIENCIES[deficiency] @ linear(c)) for name, c in INKS.items()}
    apart = {(a, b): float(np.linalg.norm(seen[a] - seen[b])) for a, b in combinations(seen, 2)}
    assert min(apart.values()) >= 20, apart


LOOKS = {
    "path": theme.PATH,
    "path-skid": theme.SKID,
    "path-hook": theme.HOOK,
    "walk": theme.WALK,
    "breakpoint": theme.BREAKPOINT,
    "imagined pin": theme.IMAGINED_PIN,
    "fallen pin": theme.OPEN_PIN,
}
"""The strokes that lie beside each other on one card and mean different things."""
SAME_SHAPE = (("path-skid", "walk"), ("path", "walk"), ("path-hook", "path"), ("path", "path-skid"))
"""Those of them that are lines of one shape; the others are a bar or rings."""


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
@pytest.mark.parametrize("ground", [theme.WHITE, theme.OIL_SOME, theme.OIL_MUCH])
def test_what_lies_on_the_lane_stands_out_for_the_colour_blind(
    deficiency: str, ground: str
) -> None:
    seen = DEFICIENCIES[deficiency]
    under = lab(seen @ linear(ground))
    for name, stroke in LOOKS.items():
        assert np.linalg.norm(lab(seen @ linear(stroke.colour)) - under) >= 40, name
    path, walk = (lab(seen @ linear(LOOKS[name].colour)) for name in ("path", "walk"))
    assert np.linalg.norm(path - walk) >= 20


def test_lines_of_one_shape_differ_in_grey_or_in_dash_and_width() -> None:
    for one, other in SAME_SHAPE:
        a, b = LOOKS[one], LOOKS[other]
        apart = abs(lab(linear(a.colour))[0] - lab(linear(b.colour))[0])
        dashed = a.dash_mm != b.dash_mm and bool(a.dash_mm) + bool(b.dash_mm) > 0
        widths = sorted((a.width_mm, b.width_mm))
        assert apart >= 12 or dashed or widths[1] > 1.5 * widths[0], (one, other)
        # Without any grey to tell them, as in --mono.
        assert dashed or widths[1] > 1.5 * widths[0], (one, other)


# --- Black and two greys


@pytest.fixture(scope="session")
def mono_scenes(scenes: list[Scene], demos: dict[str, Job]) -> list[Scene]:
    found = [in_mono(scene) for scene in scenes]
    for job in demos.values():
        for fmt in (FORMATS["a8"], FORMATS["id1-landscape"], format_of("a6", large_print=True)):
            for card in cards_of(job.chart, job.words).cards:
                found += [in_mono(face_scene(card, fmt)), in_mono(back_scene(card, fmt))]
    return found


def test_mono_is_black_and_two_greys(mono_scenes: list[Scene]) -> None:
    used = {c for scene in mono_scenes for item, _ in scene.walk() for c in colours_of(item)}
    assert used == {BLACK, MONO_GREY, MONO_LIGHT, theme.WHITE}
    for colour in used:
        assert len(set(bytes.fromhex(colour[1:]))) == 1, colour  # no hue


def test_mono_knows_every_ink_of_the_theme() -> None:
    inks = {value for value in vars(theme).values() if isinstance(value, str) and value[:1] == "#"}
    assert inks == PALETTE == set(MONO)


@pytest.mark.parametrize(
    ("ink", "found"),
    [
        ("#000000", BLACK),
        ("#7F0000", BLACK),
        ("#00008b", BLACK),
        ("#00A000", MONO_GREY),
        ("#FF0000", BLACK),
        ("#FFE9A8", MONO_LIGHT),
        ("#ffffff", theme.WHITE),
    ],
)
def test_other_inks_go_by_their_lightness(ink: str, found: str) -> None:
    assert mono(ink) == found


def test_mono_changes_nothing_but_ink(scenes: list[Scene], mono_scenes: list[Scene]) -> None:
    for scene, grey in zip(scenes, mono_scenes[: len(scenes)], strict=True):
        assert (grey.width_mm, grey.title, grey.safe_mm) == (
            scene.width_mm,
            scene.title,
            scene.safe_mm,
        )
        for (item, place), (same, there) in zip(scene.walk(), grey.walk(), strict=True):
            assert (type(item), place) == (type(same), there)
            if isinstance(item, Text):
                assert isinstance(same, Text)
                assert (item.text, item.size_pt, item.x_mm) == (same.text, same.size_pt, same.x_mm)
        assert in_mono(grey) == grey


def test_mono_passes_preflight_with_all_its_contrast(mono_scenes: list[Scene]) -> None:
    # WCAG 2.2: text 4.5 to 1 (1.4.3), what a picture needs 3 to 1 (1.4.11)
    assert contrast(MONO_GREY, theme.WHITE) >= 4.5
    assert contrast(MONO_GREY, MONO_LIGHT) >= 4.5
    assert contrast(BLACK, MONO_GREY) >= 3
    for scene in mono_scenes:
        found = [f for f in preflight([scene], kind="card") if f.rule == "contrast"]
        assert found == [], scene.title


def test_greys_and_black_are_told_apart_by_their_lightness() -> None:
    steps = [lab(linear(c))[0] for c in (BLACK, MONO_GREY, MONO_LIGHT, theme.WHITE)]
    assert np.diff(steps)[:2].min() >= 40
    assert np.diff(steps)[2] >= 8


def test_path_and_walk_differ_in_mono(mono_scenes: list[Scene]) -> None:
    # The dashes and widths of test_path_and_walk_differ_without_colour; all of one ink now.
    for scene in mono_scenes:
        strokes = {
            item.name: item.stroke
            for item, _ in scene.walk()
            if isinstance(item, Line | Polyline) and item.stroke is not None
        }
        if "walk" not in strokes:
            continue
        walk = strokes["walk"]
        for name in PATH_PARTS & set(strokes):
            path = strokes[name]
            assert path.colour == walk.colour == BLACK
            assert path.width_mm > 1.5 * walk.width_mm
            assert path.dash_mm == () or path.dash_mm[0] > 2 * walk.dash_mm[0]


def test_a_picture_loses_its_colours() -> None:
    picture = Pictures.new("RGBA", (4, 3), (200, 30, 30, 128))
    data = BytesIO()
    picture.save(data, "PNG")
    scene = Scene(20, 20, (Group((Image(1, 1, 4, 3, data.getvalue(), "logo"),)),))
    ((image, _),) = in_mono(scene).walk()
    assert isinstance(image, Image)
    with Pictures.open(BytesIO(image.png)) as grey:
        assert (grey.mode, grey.size) == ("LA", (4, 3))
        assert grey.getpixel((0, 0))[1] == 128  # type: ignore[index]  # a pair in this mode


def test_a_field_is_left_to_its_viewer() -> None:
    field = Field(1, 1, 10, 5, "log.1", "what to write")
    assert in_mono(Scene(20, 20, (field,))).items == (field,)


def test_heavier_lines_keep_their_places() -> None:
    stroke = Stroke(theme.NAVY, 0.2, (1.0, 0.5))
    group = Group((Group((Line(0, 0, 5, 5, stroke, "a"),)), Disc(1, 1, 1, fill=theme.NAVY)))
    inner, disc = heavier(group, 1.5).items
    assert isinstance(inner, Group)
    (line,) = inner.items
    assert line == Line(0, 0, 5, 5, Stroke(theme.NAVY, 0.2 * 1.5, (1.5, 0.75)), "a")
    assert disc == group.items[1]
    assert heavier(group, 1.0) is group
