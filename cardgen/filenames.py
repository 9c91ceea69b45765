"""Names of people and cards turned into names of files that every system takes."""

import hashlib
import unicodedata
from collections import Counter
from collections.abc import Iterable

_MAX_BYTES = 80  # well within the 255 of common file systems, with room for a folder in a path
_NOTHING_LEFT = "card"
_KEPT = "-_.+"
_TRIMMED = "-. "
# Names that Windows gives to devices, with any extension and in any case.
_DEVICES = frozenset(
    {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}
    | {f"{port}{digit}" for port in ("COM", "LPT") for digit in "0123456789¹²³"}
)


def safe_stem(text: str) -> str:
    """Return ``text`` as a file name without extension: one path component, at most 80 bytes.

    Letters, digits and ``-_.+`` stay, runs of anything else become one dash, so that neither a path
    separator, a shell's special character nor an invisible one gets through. A name cut for length
    ends in a hash of the whole; a device's name gets a leading underscore; of nothing, ``card``.
    """
    stem = _dashed(unicodedata.normalize("NFC", text)) or _NOTHING_LEFT
    if stem.partition(".")[0].upper() in _DEVICES:
        stem = "_" + stem
    if len(stem.encode()) > _MAX_BYTES:
        tail = "-" + hashlib.sha256(stem.encode()).hexdigest()[:8]
        stem = _cut(stem, _MAX_BYTES - len(tail)) + tail
    return stem


def distinct_stems(names: Iterable[str]) -> list[str]:
    """Return a safe stem for each name, no two of which any file system takes for the same file.

    A name that nobody else shares keeps its own stem; the others are numbered from 2 in order.
    """
    stems = [safe_stem(name) for name in names]
    taken = Counter(map(_key, stems))
    seen: set[str] = set()
    distinct = []
    for stem in stems:
        if _key(stem) in seen:
            stem = _numbered(stem, taken)
            taken[_key(stem)] += 1
        seen.add(_key(stem))
        distinct.append(stem)
    return distinct


def _numbered(stem: str, taken: Counter[str]) -> str:
    number = 2
    while True:
        suffix = f"-{number}"
        candidate = _cut(stem, _MAX_BYTES - len(suffix)) + suffix
        if _key(candidate) not in taken:
            return candidate
        number += 1


def _key(stem: str) -> str:
    return unicodedata.normalize("NFKC", stem).casefold()


def _dashed(text: str) -> str:
    out: list[str] = []
    for character in text:
        category = unicodedata.category(character)
        last = out[-1] if out else "-"
        if character in _KEPT or category[0] in "LN":
            keep = not (character in "-." and last in "-.")
        else:
            # A mark belongs to the letter before it; a variation selector is only seen in emoji.
            after_letter = unicodedata.category(last)[0] in "LM"
            keep = category in ("Mn", "Mc") and after_letter and not _selects(character)
            if not keep and category in ("Cc", "Cf", "Cs", "Mn", "Mc", "Me"):
                if character.isspace() and last not in "-.":
                    out.append("-")
                continue
        if keep:
            out.append(character)
        elif last not in "-.":
            out.append("-")
    return unicodedata.normalize("NFC", "".join(out)).strip(_TRIMMED)


def _selects(mark: str) -> bool:
    return "\ufe00" <= mark <= "\ufe0f" or "\U000e0100" <= mark <= "\U000e01ef"


def _cut(stem: str, max_bytes: int) -> str:
    return stem.encode()[:max_bytes].decode(errors="ignore").rstrip(_TRIMMED)
