"""A design's colours, put in place of the theme's on a whole finished scene."""

from dataclasses import replace
from functools import lru_cache

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
    Text,
)
from cardgen.templating.template import Colours


def in_colours(scene: Scene, colours: Colours) -> Scene:
    """Return ``scene`` in a design's colours; ink, greys and the oil's tints stay as they are."""
    inks = {
        old: new
        for old, new in (
            (theme.NAVY, colours.heading),
            (theme.VERMILION, colours.path),
            (theme.SKY, colours.mark),
            (theme.MIST, colours.tint),
        )
        if old != new
    }
    if not inks:
        return scene

    @lru_cache(maxsize=256)
    def inked(stroke: Stroke) -> Stroke:
        return replace(stroke, colour=inks[stroke.colour]) if stroke.colour in inks else stroke

    def changed(item: Item) -> Item:
        match item:
            case Group():
                return replace(item, items=tuple(map(changed, item.items)))
            case Line():
                return replace(item, stroke=inked(item.stroke))
            case Polyline() | Curve() | Disc():
                stroke = None if item.stroke is None else inked(item.stroke)
                fill = None if item.fill is None else inks.get(item.fill, item.fill)
                return replace(item, stroke=stroke, fill=fill)
            case Text():
                return replace(item, colour=inks.get(item.colour, item.colour))
            case Image() | Field():
                return item

    return replace(scene, items=tuple(map(changed, scene.items)))
