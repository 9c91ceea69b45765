"""What is done to the ink of a finished drawing: heavier lines, and black with two greys.

Done to a whole scene, so that nothing drawn on it can be forgotten.
"""

from dataclasses import replace
from functools import lru_cache
from io import BytesIO

from cardgen.drawing import theme
from cardgen.drawing.scene import (
    Curve,
    Disc,
    Field,
    Group,
    Image,
    Item,
    Line,
    Polyline,
    Scene,
    Stroke,
)

BLACK = "#000000"
MONO_GREY = "#636363"
"""What is of the second rank; contrast 6.0 on white, 4.7 on the light grey, 3.5 on black."""
MONO_LIGHT = "#E4E4E4"
"""Areas behind the drawing."""
MONO = {
    theme.INK: BLACK,
    theme.NAVY: BLACK,
    theme.VERMILION: BLACK,
    theme.SKY: MONO_GREY,
    theme.GREY: MONO_GREY,
    theme.MIST: MONO_LIGHT,
    theme.OIL_SOME: theme.WHITE,  # the film's end keeps its tick and its label
    theme.OIL_MUCH: MONO_LIGHT,
    theme.GUTTER: MONO_LIGHT,
    theme.WHITE: theme.WHITE,
}
"""What each ink of the theme becomes without colour."""
_SHARES = (0.2126, 0.7152, 0.0722)  # of red, green and blue in lightness (ITU-R BT.709)
_DARK, _PALE, _BLANK = 0.30, 0.60, 0.97  # of white: other inks are black, grey, light grey below


def heavier(group: Group, factor: float) -> Group:
    """Return ``group`` with lines ``factor`` times as wide; dashes grow with them."""

    def changed(item: Item) -> Item:
        if isinstance(item, Group):
            return replace(item, items=tuple(map(changed, item.items)))
        if isinstance(item, Line):
            return replace(item, stroke=_wider(item.stroke, factor))
        if isinstance(item, Polyline | Curve | Disc) and item.stroke is not None:
            return replace(item, stroke=_wider(item.stroke, factor))
        return item

    return group if factor == 1 else replace(group, items=tuple(map(changed, group.items)))


@lru_cache(maxsize=256)
def _wider(stroke: Stroke, factor: float) -> Stroke:
    dashes = tuple(dash * factor for dash in stroke.dash_mm)
    return replace(stroke, width_mm=stroke.width_mm * factor, dash_mm=dashes)


def in_mono(scene: Scene) -> Scene:
    """Return ``scene`` in black and two greys.

    What differed by colour differs by dash, width, shape or label as well: colour only repeats it.
    """
    return replace(scene, items=tuple(map(_item_in_mono, scene.items)))


def mono(colour: str) -> str:
    """Return what an ink becomes: black, one of the two greys, or white."""
    known = MONO.get(colour.upper())
    if known is not None:
        return known
    bright = sum(
        share * byte / 255 for share, byte in zip(_SHARES, bytes.fromhex(colour[1:]), strict=True)
    )
    limits = ((_DARK, BLACK), (_PALE, MONO_GREY), (_BLANK, MONO_LIGHT))
    return next((ink for limit, ink in limits if bright < limit), theme.WHITE)


def _item_in_mono(item: Item) -> Item:
    if isinstance(item, Group):
        return _form_in_mono(item) if item.form else _group_in_mono(item)
    if isinstance(item, Line):
        return replace(item, stroke=_stroke_in_mono(item.stroke))
    if isinstance(item, Polyline | Curve | Disc):
        return replace(
            item,
            stroke=None if item.stroke is None else _stroke_in_mono(item.stroke),
            # What has an outline is told apart by that, and what is drawn on it by its lightness.
            fill=None
            if item.fill is None
            else _fill_in_mono(item.fill, outlined=bool(item.stroke)),
        )
    if isinstance(item, Image):
        return replace(item, png=_grey_png(item.png))
    return item if isinstance(item, Field) else replace(item, colour=mono(item.colour))


def _group_in_mono(group: Group) -> Group:
    return replace(group, items=tuple(map(_item_in_mono, group.items)))


_form_in_mono = lru_cache(maxsize=64)(_group_in_mono)  # what many pages show alike stays one


def _fill_in_mono(fill: str, *, outlined: bool) -> str:
    ink = mono(fill)
    return MONO_LIGHT if outlined and ink == MONO_GREY else ink


@lru_cache(maxsize=8)
def _grey_png(png: bytes) -> bytes:
    """Return a picture without its colours; it keeps its shades, which are nobody's to read."""
    from PIL import Image as Pictures

    out = BytesIO()
    with Pictures.open(BytesIO(png)) as picture:
        picture.convert("LA").save(out, "PNG")
    return out.getvalue()


@lru_cache(maxsize=256)
def _stroke_in_mono(stroke: Stroke) -> Stroke:
    return replace(stroke, colour=mono(stroke.colour))
