"""Rows of text as columns on a terminal, as wide as that is."""

import codecs
import os
import re
import shutil
import sys
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import zip_longest

import click

from cardgen.cli.speaking import stylish
from cardgen.drawing.linebreak import pieces

_LEAST_WRAPPED = 12
"""Columns of text below which a cell wrapped over many lines is harder to read than none."""
_GAPS = (2, 1)
_WORD = re.compile("[^ ]+ *")


def columns() -> int | None:
    """Return how many columns there are for results; None if they go to no terminal.

    ``COLUMNS`` counts wherever they go.
    """
    asked = os.environ.get("COLUMNS", "")
    if asked.isdecimal() and int(asked) > 0:
        return int(asked)
    if sys.stdout is None or not sys.stdout.isatty():
        return None
    return shutil.get_terminal_size().columns


def width_of(text: str) -> int:
    """Return how many columns ``text`` takes: two for what is wide (UAX 11), none for a mark."""
    if text.isascii():
        return len(text)
    return sum(
        0
        if unicodedata.category(character) in ("Mn", "Me", "Cf")
        else 2
        if unicodedata.east_asian_width(character) in "WF"
        else 1
        for character in text
    )


def wrapped(text: str, room: int | None) -> list[str]:
    """Return ``text`` as lines of at most ``room`` columns, broken where its language breaks.

    A word that is longer than that stays whole.
    """
    if room is None or width_of(text) <= room:
        return [text]
    lines = [""]
    for word in _WORD.findall(text):
        for piece in pieces(word):
            if lines[-1] and width_of((lines[-1] + piece).rstrip()) > room:
                lines.append("")
            lines[-1] += piece
    return [line.rstrip() for line in lines]


def paragraphs(*texts: str) -> Iterator[str]:
    """Yield texts as lines, each wrapped to the terminal."""
    for text in texts:
        yield from wrapped(_shown(text), columns())


def aligned(
    rows: Sequence[Sequence[str]],
    *,
    right: Collection[int] = (),
    spare: Sequence[int] = (),
    wrap: Sequence[int] = (),
    head: bool = False,
    strong: Collection[int] = (),
    indent: int = 0,
) -> Iterator[str]:
    """Yield ``rows`` as lines of columns that fit the terminal.

    Columns are named by their index. Where there is no room, the gaps close up, then the columns
    of ``wrap`` are wrapped, and then those of ``spare`` are left out, first the first. No cell is
    ever cut; if all that is not enough, lines are longer than the terminal.

    Args:
        rows: Cells, in each row as many.
        right: Columns to set to the right.
        spare: Columns that may be left out.
        wrap: Columns whose texts may go over several lines.
        head: Whether the first row has headings; they are bold where that can be.
        strong: Columns that are bold where that can be.
        indent: Columns to leave free before each line.
    """
    if not rows:
        return
    shown = [[_shown(cell) for cell in row] for row in rows]
    room = columns()
    kept, widths, gap = _fitting(shown, spare, wrap, None if room is None else room - indent)
    bold = stylish()
    for number, row in enumerate(shown):
        cells = [
            wrapped(row[index], widths[index]) if index in wrap else [row[index]] for index in kept
        ]
        for line in zip_longest(*cells, fillvalue=""):
            parts = []
            for index, text in zip(kept, line, strict=True):
                space = " " * (widths[index] - width_of(text))
                if bold and text and (index in strong or (head and number == 0)):
                    text = click.style(text, bold=True)
                parts.append(space + text if index in right else text + space)
            yield " " * indent + (" " * gap).join(parts).rstrip()


def _fitting(
    rows: Sequence[Sequence[str]], spare: Sequence[int], wrap: Sequence[int], room: int | None
) -> tuple[list[int], list[int], int]:
    """Return which columns are kept, the width of each column, and the gap between them."""
    natural = [max(map(width_of, column)) for column in zip(*rows, strict=True)]
    narrower = [natural]
    for index in wrap:
        widths = list(narrower[-1])
        widths[index] = min(
            natural[index], max(_LEAST_WRAPPED, _longest(row[index] for row in rows))
        )
        narrower.append(widths)
    kept = list(range(len(natural)))
    if room is None:
        return kept, natural, _GAPS[0]
    for left_out in range(len(spare) + 1):
        kept = [index for index in range(len(natural)) if index not in spare[:left_out]]
        for widths in narrower:
            for gap in _GAPS:
                free = room - gap * (len(kept) - 1) - sum(widths[index] for index in kept)
                if free >= 0:
                    return kept, _widened(widths, natural, wrap, free), gap
    return kept, narrower[-1], _GAPS[-1]


def _longest(texts: Iterable[str]) -> int:
    """Return the width of the longest piece that cannot be wrapped."""
    words = (word for text in texts for word in _WORD.findall(text))
    return max((width_of(piece.rstrip()) for word in words for piece in pieces(word)), default=0)


def _widened(
    widths: Sequence[int], natural: Sequence[int], wrap: Sequence[int], free: int
) -> list[int]:
    """Return widths with what is ``free`` given to what was narrowed, last first."""
    widened = list(widths)
    for index in reversed(wrap):
        more = min(free, natural[index] - widened[index])
        widened[index] += more
        free -= more
    return widened


def _shown(text: str) -> str:
    """Return ``text`` as standard output will show it, where a character it lacks is an escape."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        if codecs.lookup(encoding).name == "ascii":  # click writes UTF-8 there
            return text
    except LookupError:
        return text
    return text.encode(encoding, "backslashreplace").decode(encoding)
