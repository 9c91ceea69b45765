"""The inks: where each is used, and that the pages can be read without seeing colour."""

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from cardgen.cards.booklet import cards_of
from cardgen.drawing import theme
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.pages import booklet_scenes
from cardgen.drawing.scene import Disc, Line, Polyline, Scene, Stroke, Text
from cardgen.drawing.theme import A7, ID_1
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


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_the_inks_stay_apart_for_the_colour_blind(deficiency: str) -> None:
    seen = {name: lab(DEFICIENCIES[deficiency] @ linear(c)) for name, c in INKS.items()}
    apart = {(a, b): float(np.linalg.norm(seen[a] - seen[b])) for a, b in combinations(seen, 2)}
    assert min(apart.values()) >= 20, apart
