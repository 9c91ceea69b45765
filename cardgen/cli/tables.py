"""Rows of text as columns on a terminal."""

from collections.abc import Collection, Iterator, Sequence


def aligned(rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> Iterator[str]:
    """Yield ``rows`` as lines of columns, those in ``right`` (indices) set to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = [
            cell.rjust(width) if index in right else cell.ljust(width)
            for index, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()
