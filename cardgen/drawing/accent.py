"""A design's colours, put in place of the theme's on a whole finished scene."""

from dataclasses import replace
from functools import lru_cache
from operator import is_

from cardgen.drawing import theme
from cardgen.drawing.scene import (
    Curve,
    Disc,
    Group,
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
        """Return what has another colour anew: most has not, and stays what it is."""
        match item:
            case Group():
                items = tuple(map(changed, item.items))
                same = all(map(is_, items, item.items))
                return item if same else replace(item, items=items)
            case Line() if item.stroke.colour in inks:
                return replace(item, stroke=inked(item.stroke))
            case Polyline() | Curve() | Disc():
                stroke, fill = item.stroke, item.fill
                if fill in inks or (stroke is not None and stroke.colour in inks):
                    stroke = None if stroke is None else inked(stroke)
                    return replace(item, stroke=stroke, fill=inks.get(fill, fill) if fill else None)
            case Text() if item.colour in inks:
                return replace(item, colour=inks[item.colour])
        return item

    return replace(scene, items=tuple(map(changed, scene.items)))
