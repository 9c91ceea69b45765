"""What is made, by name: from a bowler's print job and an order to finished documents and files."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from cardgen.deckpage import deck_page
from cardgen.drawing.theme import FORMATS, Format, format_of
from cardgen.errors import UsageError
from cardgen.handouts import POSTERS, Handout, leave_handouts, lessons, poster, worksheets
from cardgen.layouts import Binding, Layout, cut_format
from cardgen.preflight import passed
from cardgen.press import Document, Job
from cardgen.sheets.binding import HoleName
from cardgen.templating.template import Template

FileType: TypeAlias = Literal["pdf", "svg", "png"]
PAGE = "page"
"""The deck as one file for a screen; all other products are for paper."""
_SIZED, _BOUND = ("cards", "booklet"), ("handout", "worksheet", "lessons")


@dataclass(frozen=True)
class Order:
    """How products are wanted; what does not matter to one is not looked at.

    ``size`` is a format by name or millimetres, None for a product's usual one, which for cards is
    ``usual_size``. ``holes`` None is what binders for the layout's paper have.
    """

    layout: Layout = field(default_factory=Layout)
    size: str | None = None
    large_print: bool = False
    binding: Binding = "pages"
    poster_size: str = "a3"
    holes: HoleName | None = None
    date: str = ""
    usual_size: str = "id1"

    def cards(self) -> Format:
        """Return the format of cards.

        Raises UsageError as ``format_of`` does.
        """
        return self._format(self.usual_size)

    def pages(self) -> Format:
        """Return the format of a booklet's pages.

        Raises UsageError for one that no booklet has.
        """
        fmt = self._format("a7")
        if not fmt.is_page:
            names = ", ".join(name for name, known in sorted(FORMATS.items()) if known.is_page)
            raise UsageError(
                f"size {self.size!r}: a booklet has pages of {names}, or larger upright ones"
            )
        return fmt

    def pocket_pages(self) -> Format:
        """Return the format of a pocket booklet's pages: an eighth of the paper."""
        return format_of({"A4": "a7", "Letter": "mini-letter"}[self.layout.paper.name])

    def like(self, template: Template | None) -> "Order":
        """Return the same order for cards as large as a template has them, if it says."""
        size = template.design.size if template is not None else ""
        return replace(self, usual_size=size) if size else self

    def _format(self, usual: str) -> Format:
        size = self.size or ("a6" if self.large_print else usual)
        return format_of(size, large_print=self.large_print)


def _booklet(job: Job, order: Order) -> Iterator[Document]:
    yield job.booklet(
        order.pages(),
        binding=order.binding,
        paper=order.layout.paper,
        offset=order.layout.offset,
        bleed_mm=order.layout.bleed_mm,
        date=order.date,
    )


def _pocket(job: Job, order: Order) -> Iterator[Document]:
    yield job.pocket(order.pocket_pages(), paper=order.layout.paper, date=order.date)


def _cards(job: Job, order: Order) -> Iterator[Document]:
    yield from job.cards(order.cards(), order.layout)


def _practice(job: Job, order: Order) -> Iterator[Document]:
    yield job.practice_sheets(order.layout.paper)


def _handout(make: Callable[[Job, Order], Handout]) -> Callable[[Job, Order], Iterator[Document]]:
    def made(job: Job, order: Order) -> Iterator[Document]:
        handout = make(job, order)
        findings = passed(handout.scenes, kind="handout", forgiven=("overlap",))
        yield Document("", job.inked(handout.scenes), handout.info, findings)

    return made


_MAKERS: dict[str, Callable[[Job, Order], Iterator[Document]]] = {
    "pocket": _pocket,
    "booklet": _booklet,
    "cards": _cards,
    "practice": _practice,
    "handout": _handout(lambda job, order: leave_handouts(job, order.layout.paper, order.holes)),
    "worksheet": _handout(lambda job, order: worksheets(job, order.layout.paper, order.holes)),
    "lessons": _handout(lambda job, order: lessons(job, order.layout.paper, order.holes)),
    "poster": _handout(lambda job, order: poster(job, POSTERS[order.poster_size])),
}
PAPER_PRODUCTS = tuple(_MAKERS)
PRODUCTS = (*PAPER_PRODUCTS, PAGE)


def check_order(order: Order, products: Collection[str]) -> None:
    """Refuse what cannot be made, or would change nothing, before anything is computed.

    Raises:
        UsageError: a format is none that a product has, or nothing ordered heeds a wish.
    """
    layout, usual = order.layout, Layout()
    asked = (
        ("--size", order.size is not None, (*_SIZED, PAGE)),
        ("--large-print", order.large_print, (*_SIZED, PAGE)),
        ("--bleed", layout.bleed_mm > 0, _SIZED),
        ("--binding", order.binding != "pages", ("booklet",)),
        ("--stock", layout.stock is not None, ("cards",)),
        ("--layout", layout.stock is None and layout.scheme != usual.scheme, ("cards",)),
        ("--order", layout.order != usual.order, ("cards",)),
        ("--copies", layout.copies != usual.copies, ("cards",)),
        ("--flip", layout.flip != usual.flip, ("cards",)),
        ("--ring", layout.ring, ("cards",)),
        ("--laminate", layout.film_mm > 0, ("cards",)),
        ("--printer", layout.offset != usual.offset, _SIZED),
        ("--holes", order.holes is not None, _BOUND),
        ("--poster-size", order.poster_size != "a3", ("poster",)),
        ("--date", bool(order.date), ("pocket", "booklet")),
    )
    for option, is_asked, heeding in asked:
        if is_asked and not set(heeding) & set(products):
            raise UsageError(f"{option} needs {' or '.join(f'--as {one}' for one in heeding)}")
    if "booklet" in products:
        order.pages()
    if "cards" in products:
        cut_format(order.cards(), order.layout)
    if PAGE in products:
        order.cards()


def documents_of(job: Job, product: str, order: Order) -> Iterator[Document]:
    """Yield the documents of a product for paper.

    Raises:
        CardgenError: there is nothing to make it of, or it would not come out right.
    """
    yield from _MAKERS[product](job, order)


def page_of(job: Job, order: Order) -> bytes:
    """Return the deck as a page for a screen, HTML."""
    return deck_page(job, order.cards()).encode()


def pages_as(document: Document, file_type: FileType, dpi: float) -> Iterator[tuple[str, bytes]]:
    """Yield a document's files, each with what its name ends in: one PDF, or a file a page.

    Raises as ``Document.png`` does.
    """
    if file_type == "pdf":
        yield f"{document.ending}.pdf", document.pdf()
        return
    count = len(document.scenes)
    pages = (text.encode() for text in document.svg()) if file_type == "svg" else document.png(dpi)
    for number, data in enumerate(pages, start=1):
        # As many figures for each, so that a folder lists them in order.
        place = f"-{number:0{len(str(count))}}" if count > 1 else ""
        yield f"{document.ending}{place}.{file_type}", data
