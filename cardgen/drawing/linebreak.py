"""Where a line may break inside a word: between East Asian characters, which have no spaces.

Unicode Standard Annex 14 in the small: not before what closes or ends (、。」, small kana), not
after what opens, not between a number and what it counts. Korean is set with spaces and breaks at
those. Japanese reads best where lines end with a phrase: a particle goes with the word before it.
"""

from collections.abc import Callable
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
_ENDS_PHRASE = frozenset("、。，．！？」』）】〕〉》…")
_PREFIXES = frozenset("おご")
"""Hiragana that stand before a word, as well as after one."""
_BREAKING = ((0x2E80, 0x30FF), (0x31F0, 0x9FFF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF))
"""Ideographs, kana and their punctuation (Unicode, Blocks.txt)."""


@lru_cache(maxsize=8192)
def pieces(word: str) -> tuple[str, ...]:
    """Return the parts of ``word`` between which a line may break; together they are the word."""
    return _parted(word, _may_break)


@lru_cache(maxsize=8192)
def phrases(word: str) -> tuple[str, ...]:
    """Return the parts of ``word`` between which a line breaks best; together they are the word."""
    return _parted(word, _ends_phrase)


def _parted(word: str, breaks: Callable[[str, str], bool]) -> tuple[str, ...]:
    if word.isascii():
        return (word,)
    parts = [word[:1]]
    for before, after in pairwise(word):
        if breaks(before, after):
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


def _ends_phrase(before: str, after: str) -> bool:
    """Tell whether a phrase ends: after a stop, before a bracket, with hiragana before a word."""
    if not _may_break(before, after):
        return False
    if before in _ENDS_PHRASE or after in _NOT_LAST:
        return True
    return _is_hiragana(before) and before not in _PREFIXES and not _is_hiragana(after)


def _is_hiragana(character: str) -> bool:
    return "\u3041" <= character <= "\u309f"


def _breaks(character: str) -> bool:
    return any(first <= ord(character) <= last for first, last in _BREAKING)
