"""What a page is called, and what is on it, for who cannot see it.

A page that has no description of its own is read out: its texts, in the order in which they were
set. A sheet with several pages on it names those pages.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf
from unicodedata import east_asian_width

from cardgen.drawing.fonts import width_mm
from cardgen.drawing.linebreak import phrases
from cardgen.drawing.scene import (
    Align,
    Field,
    Group,
    Image,
    Item,
    Point,
    Scene,
    Text,
    Transform,
    Weight,
)
from cardgen.units import POINT_MM

_DRAWN = frozenset({"lane", "room-gauge"})
"""Groups that are pictures: the figures along a lane say nothing by themselves."""
_PLACED = re.compile(r"page (\d+)")
_ENDS = (".", "!", "?", ":", ";", ",", "…", "。", "！", "？", "：", "、")
_SAME_MM = 0.3  # baselines and left ends that are as good as one
_LEADING = 1.6  # times the size of the type, at most, from line to line of a paragraph
_LAST, _NEVER = "cautions", "folio"
"""Names of texts that are read after all others, wherever they stand, and of those never read."""


@dataclass(frozen=True)
class _Said:
    """A text and where it stands on the page."""

    text: str
    at_mm: Point
    width_mm: float = 0.0
    size_mm: float = 0.0
    style: tuple[float, Weight, str, Align, str] | None = None

    def level_with(self, other: "_Said") -> bool:
        return abs(self.at_mm[1] - other.at_mm[1]) < _SAME_MM

    def below_mm(self, other: "_Said") -> float:
        """How far below a line of the same kind it stands; endless for other texts."""
        like = self.style == other.style and self.style is not None
        if not like or abs(self.at_mm[0] - other.at_mm[0]) >= _SAME_MM:
            return inf
        return self.at_mm[1] - other.at_mm[1]


def title_of(scene: Scene) -> str:
    """Return the page's name: its entry in the outline, else its heading, if it has any."""
    return scene.title or _heading(scene.items)


def description_of(scene: Scene) -> str:
    """Return what the page shows: its own description, else the pages on it, else its texts."""
    if scene.description:
        return scene.description
    placed = [item for item in scene.items if isinstance(item, Group) and _number(item)]
    if len(placed) < 2:
        return _read_out(_said(scene.items, Transform()))
    pages = [(int(_number(page)), _heading(page.items)) for page in placed]
    rest = [item for item in scene.items if not (isinstance(item, Group) and _number(item))]
    listed = ", ".join(f"{number} {heading}".strip() for number, heading in sorted(pages))
    return _joined(listed, _read_out(_said(rest, Transform())))


def _number(item: Group) -> str:
    """Return the number of the page that a group puts on its sheet, empty for other groups."""
    placed = _PLACED.fullmatch(item.name)
    return placed[1] if placed else ""


def _heading(items: Sequence[Item]) -> str:
    return " ".join(_titles(items))


def _titles(items: Sequence[Item]) -> Iterator[str]:
    for item in items:
        if isinstance(item, Group):
            yield from _titles(item.items)
        elif isinstance(item, Text) and item.name == "title" and item.text.strip():
            yield _plain(item.text)


def _said(items: Sequence[Item], outer: Transform) -> Iterator[_Said]:
    for item in items:
        match item:
            case Group() if item.name not in _DRAWN:
                yield from _said(item.items, item.transform.then(outer))
            case Text() if item.text.strip() and item.name != _NEVER:
                scale = hypot(outer.a, outer.b)
                yield _Said(
                    _plain(item.text),
                    outer.point(item.x_mm, item.y_mm),
                    width_mm(item.text, item.size_pt, item.weight) * scale,
                    item.size_pt * POINT_MM * scale,
                    (item.size_pt, item.weight, item.colour, item.align, item.name),
                )
            case Image() if item.alt:
                yield _Said(item.alt, outer.point(item.x_mm, item.y_mm))
            case Field() if item.value:
                yield _Said(f"{item.tip}: {item.value}", outer.point(item.x_mm, item.y_mm))


def _plain(text: str) -> str:
    return text.replace("\u00a0", " ").strip()


def _read_out(texts: Iterable[_Said]) -> str:
    """Return texts as one: lines of a paragraph run on, cells of a row have commas, else stops."""
    ordered = sorted(_downwards(texts), key=lambda said: _is_last(said.style))
    rooms: dict[float, float] = {}
    for said in ordered:
        left = round(said.at_mm[0], 1)
        rooms[left] = max(rooms.get(left, 0.0), said.width_mm)
    read = ordered[0].text if ordered else ""
    for before, said in pairwise(ordered):
        if said.level_with(before):
            read = f"{read}, {said.text}"
        elif _runs_on(before, said, rooms[round(said.at_mm[0], 1)]):
            apart = "" if _is_wide(read[-1]) or _is_wide(said.text[0]) else " "
            read = f"{read}{apart}{said.text}"
        else:
            read = _joined(read, said.text)
    return read


def _is_last(style: tuple[float, Weight, str, Align, str] | None) -> bool:
    return style is not None and style[-1] == _LAST


def _downwards(texts: Iterable[_Said]) -> list[_Said]:
    """Return texts with each paragraph that was set from its last line upwards turned round."""
    ordered: list[_Said] = []
    first = 0
    for said in texts:
        if not ordered or not -_LEADING * said.size_mm < said.below_mm(ordered[-1]) < 0:
            ordered[first:] = reversed(ordered[first:])
            first = len(ordered)
        ordered.append(said)
    ordered[first:] = reversed(ordered[first:])
    return ordered


def _runs_on(before: _Said, said: _Said, room_mm: float) -> bool:
    """Tell whether a text goes on in the next line: lines of a paragraph are as full as can be."""
    if said.style is None or said.style[3] is not Align.START or said.style != before.style:
        return False
    if not 0 < said.below_mm(before) < _LEADING * said.size_mm:
        return False
    size_pt, weight, *_ = said.style
    left_mm = room_mm - before.width_mm
    if width_mm(f" {phrases(said.text.split(' ')[0])[0]}", size_pt, weight) > left_mm:
        return True
    # A last line may have been given words that the one before it had room for.
    return said.width_mm <= before.width_mm and said.width_mm > left_mm


def _joined(text: str, more: str) -> str:
    if not text or not more:
        return text or more
    if text.endswith(_ENDS):
        return f"{text} {more}"
    return f"{text}{'。' if _is_wide(text[-1]) else '.'} {more}"


def _is_wide(character: str) -> bool:
    """Tell whether a character is set without spaces: Japanese, not Korean (UAX 11 and 14)."""
    return east_asian_width(character) in "WF" and not "\uac00" <= character <= "\ud7a3"
