"""How finished cards and pages come on to paper: the schemes by name, and what sheets then say."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from cardgen.cards.words import Words
from cardgen.drawing.scene import Group, Scene, Transform
from cardgen.errors import UsageError
from cardgen.printers import Flip, Offset
from cardgen.sheets.finishing import Hole, with_hole
from cardgen.sheets.folding import eight_pages, saddle
from cardgen.sheets.imposition import both_sides, imposed, page_size
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.nup import Order, fold_over, n_up, on_stock, one_each
from cardgen.sheets.papers import A4, Size
from cardgen.sheets.slots import Duplex, Plan, Turn
from cardgen.sheets.stock import Stock

Scheme: TypeAlias = Literal["two-sided", "by-hand", "fold-over", "stock", "single"]
"""Cards on both sides of a sheet; the same as two documents, for a printer that is fed twice; both
sides beside each other, to fold; on perforated stock; each on a page of its own."""
Binding: TypeAlias = Literal["pages", "saddle", "fold"]
"""Pages in reading order; sheets folded into each other and stitched; one sheet folded to eight."""

TAB_MM = 14.0
"""A strip at the head of a card for the ring's hole: nothing is read there."""
_SETTINGS = {
    "two-sided long-edge": "sheet.setting",
    "two-sided short-edge": "sheet.short_edge",
    "by-hand": "sheet.by_hand",
    "one-sided": "sheet.one_sided",
    "fold-over": "sheet.fold_over",
}


@dataclass(frozen=True)
class Layout:
    """How cards come on to paper.

    ``stock`` is the perforated stock of the scheme of that name, ``start_at`` its first free place.
    ``turn`` is how a reader turns a card over; ``offset`` how far the printer lays backs off.
    ``ring``: the cards get a strip at the head with a hole for a ring.
    """

    paper: Size = A4
    scheme: Scheme = "two-sided"
    stock: Stock | None = None
    start_at: int = 1
    order: Order = "reading"
    copies: int = 1
    flip: Flip = "long-edge"
    turn: Turn = "side"
    offset: Offset = field(default_factory=Offset)
    ring: bool = False


@dataclass(frozen=True, eq=False)
class Printed:
    """One document: what its name ends in, its pages, and how a printer turns the paper."""

    ending: str
    scenes: tuple[Scene, ...]
    duplex: Flip | None = None


def card_documents(
    fronts: Sequence[Scene], backs: Sequence[Scene], layout: Layout, title: str, words: Words
) -> tuple[Printed, ...]:
    """Return the documents that print cards, each front with its back.

    Raises UsageError if the cards do not fit the paper or the stock.
    """
    if layout.ring:
        fronts = [_with_tab(scene, layout.turn, is_back=False) for scene in fronts]
        backs = [_with_tab(scene, layout.turn, is_back=True) for scene in backs]
    pages, count = both_sides(fronts, backs), len(fronts)
    plan = _plan(count, page_size(pages), layout)
    one_sided = layout.scheme in ("fold-over", "single")
    if layout.scheme == "by-hand":
        said = _said(title, "by-hand", words)
        return (
            Printed("-fronts", imposed(pages, plan.fronts, said)),
            Printed("-backs", imposed(pages, plan.backs(), said)),
        )
    if layout.scheme == "single":
        return (Printed("", imposed(pages, plan)),)
    setting = "fold-over" if layout.scheme == "fold-over" else f"two-sided {layout.flip}"
    scenes = imposed(pages, plan, _said(title, setting, words))
    return (Printed("", scenes, None if one_sided else layout.flip),)


def _plan(count: int, size: Size, layout: Layout) -> Plan:
    dx_mm, dy_mm = layout.offset.shift_mm(layout.flip)
    duplex = Duplex(layout.flip, layout.turn, dx_mm, dy_mm)
    match layout.scheme:
        case "fold-over":
            return fold_over(count, size, layout.paper, copies=layout.copies, turn=layout.turn)
        case "single":
            return one_each(count, size, two_sided=True)
        case "stock":
            if layout.stock is None:
                raise UsageError("cards on perforated stock need the stock's name")
            return on_stock(
                count,
                size,
                layout.stock,
                two_sided=True,
                start_at=layout.start_at,
                copies=layout.copies,
                duplex=duplex,
            )
    return n_up(
        count,
        size,
        layout.paper,
        two_sided=True,
        order=layout.order,
        copies=layout.copies,
        duplex=duplex,
    )


def booklet_document(
    pages: Sequence[Scene],
    binding: Binding,
    paper: Size,
    offset: Offset,
    title: str,
    words: Words,
) -> Printed:
    """Return the document that prints a booklet's pages.

    Raises UsageError if the pages do not fit the paper, or are too many for one sheet.
    """
    if binding == "pages":
        return Printed("", tuple(pages))
    size = page_size(pages)
    if binding == "fold":
        plan = eight_pages(len(pages), size, paper, slit=words("sheet.slit"))
        return Printed("", imposed(pages, plan, _said(title, "one-sided", words)))
    dx_mm, dy_mm = offset.shift_mm("short-edge", lying=True)
    plan = saddle(len(pages), size, paper, duplex=Duplex("short-edge", "side", dx_mm, dy_mm))
    said = _said(title, "two-sided short-edge", words)
    return Printed("", imposed(pages, plan, said), "short-edge")


def _said(title: str, setting: str, words: Words) -> SheetWords:
    return SheetWords(
        job=title,
        sheet=words("sheet.sheet"),
        front=words("sheet.front"),
        back=words("sheet.back"),
        setting=words(_SETTINGS[setting]),
        slit=words("sheet.slit"),
    )


def _with_tab(scene: Scene, turn: Turn, *, is_back: bool) -> Scene:
    """Return a card longer by a strip at the edge that hangs from a ring, with the hole's mark."""
    at_foot = is_back and turn == "top"
    moved = scene if at_foot else _lower(scene, TAB_MM)
    taller = replace(moved, height_mm=scene.height_mm + TAB_MM)
    return with_hole(taller, Hole(from_edges_mm=TAB_MM / 2), is_back=is_back, turn=turn)


def _lower(scene: Scene, by_mm: float) -> Scene:
    group = Group(scene.items, name="below the tab", transform=Transform.move(0.0, by_mm))
    return replace(scene, items=(group,))


def settings_of(layout: Layout, words: Words) -> Iterator[str]:
    """Yield what to set at the printer, for who prints it."""
    match layout.scheme:
        case "fold-over":
            yield words("sheet.fold_over")
        case "by-hand":
            yield words("sheet.by_hand")
        case "single":
            yield words("sheet.one_sided")
        case _:
            yield words(_SETTINGS[f"two-sided {layout.flip}"])
