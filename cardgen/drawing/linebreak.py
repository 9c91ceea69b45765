"""Where a line may break inside a word: between East Asian characters, which have no spaces.

Unicode Standard Annex 14 in the small: not before what closes or ends (、。」, small kana), not
after what opens, not between a number and what it counts. Korean is set with spaces and breaks at
those.
"""

from functools import lru_cache
from itertools import pairwise

_NOT_FIRST = frozenset(
    "、。，．・：；？！）］｝」』】〕〉》”’％°々ー〜～…‥–—"
    "ぁぃぅぇぉっゃゅょゎゕゖァィゥェォッャュョヮヵヶ"
    ",.:;?!)]}%"
)
"""JIS X 4051 (from memory): what may not begin a line."""
_NOT_LAST = frozenset("（［｛「『【〔〈《“‘([{±~")
"""And what may not end one."""
_BREAKING = ((0x2E80, 0x30FF), (0x31F0, 0x9FFF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF))
"""Ideographs, kana and their punctuation (Unicode, Blocks.txt)."""


@lru_cache(maxsize=8192)
def pieces(word: str) -> tuple[str, ...]:
    """Return the parts of ``word`` between which a line may break; together they are the word."""
    if word.isascii():
        return (word,)
    parts = [word[:1]]
    for before, after in pairwise(word):
        if _may_break(before, after):
            parts.append(after)
        else:
            parts[-1] += after
    return tuple(parts)


def _may_break(before: str, after: str) -> bool:
    if after in _NOT_FIRST or before in _NOT_LAST or "\u00a0" in (before, after):
        return False
    if before.isdigit() or before == "½":
        return False
    return _breaks(before) or _breaks(after)


def _breaks(character: str) -> bool:
    return any(first <= ord(character) <= last for first, last in _BREAKING)
