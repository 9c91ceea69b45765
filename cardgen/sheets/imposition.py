"""Carries out a plan: pages go into slots, marks and a line of words around them.

Every scheme is a plan (``nup``, ``folding``, ``binding``); this is the one loop that draws them.
"""

from collections import Counter
from collections.abc import Container, Sequence

from cardgen.drawing.scene import Clip, Group, Scene, Transform
from cardgen.sheets.margin import SheetWords, footer, line_of
from cardgen.sheets.nup import Order, n_up
from cardgen.sheets.papers import Size
from cardgen.sheets.slots import LONG_EDGE, PRINTER_MARGIN_MM, Duplex, Plan, Sheet, Slot

_DIGITS = 9  # rounds off what subtracting places leaves: 53.980000000000004


def imposed(
    pages: Sequence[Scene], plan: Plan, words: SheetWords | None = None
) -> tuple[Scene, ...]:
    """Return the sides of ``plan`` as scenes, in its order, with ``pages`` in their slots.

    A page that is in several slots is one form to the writer, drawn once. Without ``words`` the
    margins stay empty but for marks, and the sides have no titles; one that is a single page, with
    a trim, keeps the page's. Raises ValueError if the pages differ in size, or there are none.
    """
    page_size(pages)
    uses = Counter(slot.page for sheet in plan.sheets for slot in sheet.slots)
    repeated = {page for page, times in uses.items() if times > 1}
    return tuple(_side(pages, plan, sheet, words, repeated) for sheet in plan.sheets)


def _side(
    pages: Sequence[Scene],
    plan: Plan,
    sheet: Sheet,
    words: SheetWords | None,
    repeated: Container[int],
) -> Scene:
    labels: list[str] = []
    if words is not None:
        side = (words.back if sheet.is_back else words.front) if plan.is_two_sided else ""
        labels = [f"{words.sheet} {sheet.number}/{plan.count}", side]
    said = footer(plan, sheet, words, labels) if words is not None else ()
    placed = (
        _placed(pages[slot.page], slot, "page" if slot.page in repeated else "")
        for slot in sheet.slots
    )
    alone = pages[sheet.slots[0].page] if plan.trim is not None else None
    return Scene(
        width_mm=plan.paper.width_mm,
        height_mm=plan.paper.height_mm,
        items=(*placed, *sheet.marks, *said),
        title=line_of(labels) if alone is None else alone.title,
        safe_mm=plan.margin_mm,
        trim=plan.trim,
        description="" if alone is None else alone.description,
    )


def impose(
    fronts: Sequence[Scene],
    backs: Sequence[Scene],
    paper: Size,
    words: SheetWords,
    margin_mm: float = PRINTER_MARGIN_MM,
    *,
    bleed_mm: float = 0.0,
    order: Order = "reading",
    copies: int = 1,
    duplex: Duplex = LONG_EDGE,
) -> tuple[Scene, ...]:
    """Return the sheets that carry the cards, with cut marks and a line of words in the margin.

    ``backs`` is empty for one-sided cards, else holds one back for each front. Cards are cut at
    their trim, where they have one; see ``nup.n_up`` for the rest. Raises UsageError if a card does
    not fit the sheet, ValueError if the cards differ in size or fronts and backs in number.
    """
    pages = both_sides(fronts, backs)
    if not pages:
        return ()
    plan = n_up(
        len(fronts),
        page_size(pages),
        paper,
        two_sided=bool(backs),
        bleed_mm=bleed_mm,
        order=order,
        copies=copies,
        duplex=duplex,
        margin_mm=margin_mm,
    )
    return imposed(pages, plan, words)


def both_sides(fronts: Sequence[Scene], backs: Sequence[Scene]) -> tuple[Scene, ...]:
    """Return fronts and then backs, as the plans for cards number them.

    Raises ValueError if there are backs, but not one for each front.
    """
    if backs and len(backs) != len(fronts):
        raise ValueError(f"{len(fronts)} fronts need as many backs, not {len(backs)}")
    return (*fronts, *backs)


def page_size(pages: Sequence[Scene]) -> Size:
    """Return the finished size that all pages share.

    Raises ValueError if they differ, or there are none.
    """
    trims = {(trim.width_mm, trim.height_mm) for trim in map(trim_of, pages)}
    if len(trims) != 1:
        raise ValueError(f"pages of one document must be of one size, not {sorted(trims)}")
    return Size("page", *trims.pop())


def trim_of(scene: Scene) -> Clip:
    """Return the finished page within its scene."""
    return scene.trim or Clip(0.0, 0.0, scene.width_mm, scene.height_mm)


def _placed(scene: Scene, slot: Slot, form: str) -> Group:
    trim = trim_of(scene)
    to_origin = Transform.move(-trim.x_mm, -trim.y_mm)
    place = to_origin.then(slot.transform(trim.width_mm, trim.height_mm))
    return Group(
        items=scene.items,
        name=f"page {slot.page + 1}",
        transform=place,
        clip=_seen(slot.window, place),
        form=form,
    )


def _seen(window: Clip, place: Transform) -> Clip:
    """Return a window on the sheet in the coordinates of a page that only quarter turns place."""
    ends = (
        (window.x_mm, window.y_mm),
        (window.x_mm + window.width_mm, window.y_mm + window.height_mm),
    )
    (x1, y1), (x2, y2) = (
        # The inverse of a turn is its transpose.
        (
            place.a * (x - place.e) + place.b * (y - place.f),
            place.c * (x - place.e) + place.d * (y - place.f),
        )
        for x, y in ends
    )
    return Clip(
        round(min(x1, x2), _DIGITS),
        round(min(y1, y2), _DIGITS),
        round(abs(x2 - x1), _DIGITS),
        round(abs(y2 - y1), _DIGITS),
    )
