"""Finished documents put into one: the only module that knows pikepdf.

Pages are taken over as they are; nothing in them is drawn, packed or numbered anew.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import pikepdf

from cardgen.atomicfile import MAKER
from cardgen.writers.document import DocumentInfo

_KEPT_OF_ROOT = ("/Lang", "/ViewerPreferences")


@dataclass(frozen=True)
class Part:
    """Pages ``first`` to ``first + count - 1`` (from 0) of the document called ``source``.

    A ``title`` puts the first of them into the outline.
    """

    source: str
    first: int
    count: int
    title: str = ""


def collated(sources: Mapping[str, Path], parts: Sequence[Part], info: DocumentInfo) -> bytes:
    """Return the PDF of ``parts`` in their order; a part that comes twice is kept once.

    ``sources`` are PDFs that ``pdf_bytes`` made; language and viewer's preferences are the first
    one's. The same sources and parts give the same bytes. Raises ValueError for no page at all.
    """
    with ExitStack() as stack:
        used = dict.fromkeys(part.source for part in parts)
        opened = {
            name: stack.enter_context(pikepdf.open(sources[name], access_mode=_READ))
            for name in used
        }
        made = stack.enter_context(pikepdf.new())
        starts: list[tuple[str, int]] = []
        for part in parts:
            if part.title:
                starts.append((part.title, len(made.pages)))
            made.pages.extend(opened[part.source].pages[part.first : part.first + part.count])
        if not len(made.pages):
            raise ValueError("a document needs at least one page")
        for name in _KEPT_OF_ROOT:
            root = opened[parts[0].source].Root
            if name in root:
                value = root[name]
                made.Root[name] = made.copy_foreign(value) if value.is_indirect else value
        _outline(made, starts)
        _say(made, info)
        out = BytesIO()
        made.save(
            out,
            min_version="1.7",
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,
        )
        return out.getvalue()


_READ = pikepdf.AccessMode.stream


def _outline(made: pikepdf.Pdf, starts: Iterable[tuple[str, int]]) -> None:
    entries = [pikepdf.OutlineItem(title, page) for title, page in starts]
    if entries:
        with made.open_outline() as outline:
            outline.root.extend(entries)


def _say(made: pikepdf.Pdf, info: DocumentInfo) -> None:
    said = {
        "/Title": info.title,
        "/Subject": info.subject,
        "/Author": info.author,
        "/Creator": MAKER,
        "/Producer": MAKER,
    }
    for name, text in said.items():
        if text:
            made.docinfo[name] = text
