"""How finished cards and pages come on to paper: the schemes by name, and what sheets then say."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from cardgen.cards.words import Words
from cardgen.drawing.scene import Group, Scene, Transform
from cardgen.drawing.theme import Format, insert_of
from cardgen.errors import UsageError
from cardgen.printers import Flip, Offset
from cardgen.sheets.extent import extent_of
from cardgen.sheets.finishing import Hole, with_hole
from cardgen.sheets.folding import eight_pages, saddle
from cardgen.sheets.imposition import both_sides, imposed, page_size
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.nup import Order, fold_over, n_up, on_stock, one_each
from cardgen.sheets.papers import A4, Size
from cardgen.sheets.slots import Duplex, Edges, Plan, Turn
from cardgen.sheets.stock import Stock

Scheme: TypeAlias = Literal["two-sided", "by-hand", "fold-over", "stock", "single"]
"""Cards on both sides of a sheet; the same as two documents, for a printer that is fed twice; both
sides beside each other, to fold; on perforated stock; each on a page of its own."""
Binding: TypeAlias = Literal["pages", "saddle", "fold"]
"""Pages in reading order; sheets folded into each other and stitched; one sheet folded to eight."""

TAB_MM = 14.0
"""A strip at the head of a card for the ring's hole: nothing is read there."""
_IN_A_SPREAD = 2


@dataclass(frozen=True)
class Layout:
    """How cards come on to paper.

    ``stock`` is the perforated stock of the scheme of that name, ``start_at`` its first free place.
    ``turn`` is how a reader turns a card over; ``offset`` how far the printer lays backs off.
    ``ring``: the cards get a strip at the head with a hole for a ring. ``bleed_mm`` is what shows
    beyond a card's trim, ``film_mm`` what film is sealed around it: none where it is not laminated.
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
    bleed_mm: float = 0.0
    film_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Printed:
    """One document: what its name ends in, its pages, and how a printer turns the paper.

    ``settings`` is what to tell who prints it, and who cuts, folds or laminates what was printed.
    """

    ending: str
    scenes: tuple[Scene, ...]
    duplex: Flip | None = None
    settings: tuple[str, ...] = ()


def cut_format(finished: Format, layout: Layout) -> Format:
    """Return the format that cards are cut to, so that they are ``finished`` once laminated.

    Raises UsageError if the film leaves too little paper.
    """
    return insert_of(finished, layout.film_mm) if layout.film_mm else finished


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
    size = page_size(pages)
    plan = _plan(count, size, layout)
    one_sided = layout.scheme in ("fold-over", "single")
    settings = tuple(settings_of(layout, words, size))
    said = _said(title, settings, words)
    if layout.scheme == "by-hand":
        return (
            Printed("-fronts", imposed(pages, plan.fronts, said), settings=settings),
            Printed("-backs", imposed(pages, plan.backs(), said), settings=settings),
        )
    scenes = imposed(pages, plan, None if layout.scheme == "single" else said)
    return (Printed("", scenes, None if one_sided else layout.flip, settings),)


def _plan(count: int, size: Size, layout: Layout) -> Plan:
    dx_mm, dy_mm = layout.offset.shift_mm(layout.flip)
    duplex = Duplex(layout.flip, layout.turn, dx_mm, dy_mm)
    match layout.scheme:
        case "fold-over":
            return fold_over(
                count,
                size,
                layout.paper,
                bleed_mm=layout.bleed_mm,
                copies=layout.copies,
                turn=layout.turn,
            )
        case "single":
            return one_each(count, size, two_sided=True, bleed_mm=layout.bleed_mm)
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
        bleed_mm=layout.bleed_mm,
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
    *,
    bleed_mm: float = 0.0,
) -> Printed:
    """Return the document that prints a booklet's pages; ``bleed_mm`` shows beyond their trim.

    Raises UsageError if the pages do not fit the paper, or are too many for one sheet.
    """
    size = page_size(pages)
    if binding == "pages":
        single = one_each(len(pages), size, bleed_mm=bleed_mm)
        return Printed("", imposed(pages, single) if bleed_mm else tuple(pages))
    if binding == "fold":
        plan = eight_pages(len(pages), size, paper, slit=words("sheet.slit"))
        settings: tuple[str, ...] = (words("sheet.one_sided"), words("making.knife"))
        scenes = imposed(pages, plan, _said(title, settings, words))
        return Printed("", scenes, settings=settings)
    plan = _stitched(pages, paper, bleed_mm, offset, lying=True)
    if plan.paper.width_mm < plan.paper.height_mm:
        plan = _stitched(pages, paper, bleed_mm, offset, lying=False)
    settings = (words("sheet.short_edge"),)
    if any(len(sheet.slots) > _IN_A_SPREAD for sheet in plan.sheets):
        settings += (words("making.spreads"), words("making.pile"))
    scenes = imposed(pages, plan, _said(title, settings, words))
    return Printed("", scenes, "short-edge", settings)


def _stitched(
    pages: Sequence[Scene], paper: Size, bleed_mm: float, offset: Offset, *, lying: bool
) -> Plan:
    dx_mm, dy_mm = offset.shift_mm("short-edge", lying=lying)
    return saddle(
        len(pages),
        page_size(pages),
        paper,
        bleed_mm=bleed_mm,
        white=_white(pages),
        duplex=Duplex("short-edge", "side", dx_mm, dy_mm),
    )


def _white(pages: Sequence[Scene]) -> Edges:
    """Return what all pages leave free at their edges."""
    found = [(page, extent_of(page.items)) for page in pages]
    boxes = [(page, box) for page, box in found if box is not None]
    return Edges(
        min((box.x_mm for _, box in boxes), default=0.0),
        min((box.y_mm for _, box in boxes), default=0.0),
        min((page.width_mm - box.x_mm - box.width_mm for page, box in boxes), default=0.0),
        min((page.height_mm - box.y_mm - box.height_mm for page, box in boxes), default=0.0),
    )


def _said(title: str, settings: Sequence[str], words: Words) -> SheetWords:
    setting, *notes = settings
    return SheetWords(
        job=title,
        sheet=words("sheet.sheet"),
        front=words("sheet.front"),
        back=words("sheet.back"),
        setting=setting,
        slit=words("sheet.slit"),
        notes=tuple(notes),
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


def settings_of(layout: Layout, words: Words, cut: Size | None = None) -> Iterator[str]:
    """Yield what to set at the printer, then what to mind with what it has printed.

    ``cut`` is the size that cards are cut to, if that is to be told.
    """
    match layout.scheme:
        case "fold-over":
            yield words("sheet.fold_over")
        case "by-hand":
            yield words("sheet.by_hand")
        case "single":
            yield words("sheet.one_sided")
        case _:
            yield words("sheet.setting" if layout.flip == "long-edge" else "sheet.short_edge")
    if cut is not None and layout.film_mm:
        full = {
            "full_width": _length(cut.width_mm + 2 * layout.film_mm, words),
            "full_height": _length(cut.height_mm + 2 * layout.film_mm, words),
        }
        yield words("making.laminate", **_lengths(cut, words), **full)
    elif cut is not None and layout.scheme != "stock":
        yield words("making.size", **_lengths(cut, words))
    if layout.film_mm:
        yield words("making.laminator")
    if layout.order == "cut-stack":
        yield words("making.pile")


def _lengths(size: Size, words: Words) -> dict[str, str]:
    return {"width": _length(size.width_mm, words), "height": _length(size.height_mm, words)}


def _length(length_mm: float, words: Words) -> str:
    """Return a length as a ruler has it."""
    return words.number(round(length_mm, 1))
