"""The type family of the cards: widths, heights, line breaks, and what it cannot print.

Fira Sans Condensed (SIL Open Font License) comes as a package of static TrueType files. Nothing
kerns and nothing forms ligatures here, because the PDF has neither: a text is as wide as the sum
of its advances, in every writer.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path

from cardgen.drawing.scene import Weight
from cardgen.errors import InputError, Problem
from cardgen.units import POINT_MM

_PACKAGE = "fontpkg_fira_sans_condensed"
FAMILY = "Fira Sans Condensed"
CSS_WEIGHTS = {Weight.REGULAR: 400, Weight.MEDIUM: 500, Weight.BOLD: 700}  # OS/2 usWeightClass

_SPACES = re.compile(r"[ \t]+")  # a no-break space stays inside its word
_NOT_INK = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Mn", "Me", "Mc", "Zl", "Zp"})


@dataclass(frozen=True)
class Metrics:
    """What a font says of itself, in parts of its own size (1 em)."""

    advances_em: dict[str, float]
    x_height_em: float
    cap_height_em: float
    ascent_em: float
    descent_em: float


def font_path(weight: Weight) -> Path:
    """Return the TrueType file of ``weight``."""
    return Path(str(files(_PACKAGE) / "files" / f"FiraSansCondensed-{weight.value}.ttf"))


@cache
def metrics(weight: Weight) -> Metrics:
    """Return the measures of ``weight``, read once from its file (OpenType: OS/2, hhea, hmtx)."""
    from fontTools.ttLib import TTFont

    with TTFont(font_path(weight), lazy=True) as font:
        em = font["head"].unitsPerEm
        advance = font["hmtx"].metrics
        advances = {chr(code): advance[glyph][0] / em for code, glyph in font.getBestCmap().items()}
        # The PDF shows a no-break space as the space itself.
        advances["\u00a0"] = advances[" "]
        return Metrics(
            advances_em=advances,
            x_height_em=font["OS/2"].sxHeight / em,
            cap_height_em=font["OS/2"].sCapHeight / em,
            ascent_em=font["hhea"].ascent / em,
            descent_em=-font["hhea"].descent / em,
        )


def x_height_mm(size_pt: float, weight: Weight = Weight.REGULAR) -> float:
    """Return the height of a small x."""
    return metrics(weight).x_height_em * size_pt * POINT_MM


def cap_height_mm(size_pt: float, weight: Weight = Weight.REGULAR) -> float:
    """Return the height of a capital."""
    return metrics(weight).cap_height_em * size_pt * POINT_MM


@lru_cache(maxsize=8192)
def _width_em(text: str, weight: Weight) -> float:
    try:
        return sum(map(metrics(weight).advances_em.__getitem__, text))
    except KeyError:
        raise _unprintable(text, missing_glyphs(text, weight)) from None


def width_mm(text: str, size_pt: float, weight: Weight = Weight.REGULAR) -> float:
    """Return how long ``text`` is when set at ``size_pt``.

    Raises InputError for a character that the font cannot print.
    """
    return _width_em(text, weight) * size_pt * POINT_MM


def missing_glyphs(text: str, weight: Weight = Weight.REGULAR) -> list[str]:
    """Return the characters of ``text`` (composed, NFC) that would not print, each once, in order.

    Besides characters without a glyph these are controls, invisible formatting characters and marks
    that stay apart from their letter when composed: nothing here places a mark over a letter.
    """
    known = metrics(weight).advances_em
    return list(
        dict.fromkeys(
            c
            for c in unicodedata.normalize("NFC", text)
            if c not in known or unicodedata.category(c) in _NOT_INK
        )
    )


def _unprintable(text: str, missing: list[str]) -> InputError:
    named = ", ".join(
        f"{c if c.isprintable() else ''} (U+{ord(c):04X} {unicodedata.name(c, 'no name')})".strip()
        for c in missing
    )
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
    message = f"the card font cannot print {named} in “{shown}”"
    hint = "write it with Latin, Greek or Cyrillic letters, digits and punctuation"
    return InputError([Problem("", None, None, "", message, hint=hint)])


def shortened(text: str, room_mm: float, size_pt: float, weight: Weight = Weight.REGULAR) -> str:
    """Return ``text``, or as much of it as goes on a line of ``room_mm`` with an ellipsis."""
    if width_mm(text, size_pt, weight) <= room_mm:
        return text
    while text and width_mm(f"{text}…", size_pt, weight) > room_mm:
        text = text[:-1].rstrip()
    return f"{text}…"


def wrap(
    text: str, width_mm: float, size_pt: float, weight: Weight = Weight.REGULAR
) -> tuple[str, ...]:
    """Return ``text`` as lines no longer than ``width_mm``, each as full as it can be.

    Lines break at spaces and at every line end in ``text``. A word too long for a line is broken
    after a hyphen, else between characters, at least one character to a line. Raises InputError
    like ``width_mm``.
    """
    room_em = width_mm / (size_pt * POINT_MM) + 1e-9  # a text exactly as wide as the line fits
    lines: list[str] = []
    for paragraph in unicodedata.normalize("NFC", text).splitlines():
        lines += _wrap_paragraph(_SPACES.split(paragraph.strip(" \t")), room_em, weight)
    return tuple(lines)


def _wrap_paragraph(words: list[str], room_em: float, weight: Weight) -> list[str]:
    lines: list[str] = []
    line = ""
    for word in words:
        longer = f"{line} {word}" if line else word
        if _width_em(longer, weight) <= room_em:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while len(line) > 1 and _width_em(line, weight) > room_em:
            fits = max(1, _fitting(line, room_em, weight))
            # Of a leave, a break elsewhere would cut the 10 pin in two.
            fits = line.rfind("-", 0, fits) + 1 or fits
            lines.append(line[:fits])
            line = line[fits:]
    lines.append(line)
    return lines


def _fitting(word: str, room_em: float, weight: Weight) -> int:
    advances = metrics(weight).advances_em
    used = 0.0
    for count, character in enumerate(word):
        used += advances[character]
        if used > room_em:
            return count
    return len(word)


def subset_ttf(weight: Weight, characters: str) -> bytes:
    """Return a TrueType font of only ``characters``, for embedding; same characters, same bytes."""
    return _subset_ttf(weight, "".join(sorted(set(characters))))


@lru_cache(maxsize=256)
def _subset_ttf(weight: Weight, characters: str) -> bytes:
    from io import BytesIO

    from fontTools import subset
    from fontTools.ttLib import TTFont

    options = subset.Options(
        hinting=False,
        notdef_outline=True,
        name_IDs=[0, 1, 2, 4, 6, 13, 14, 16, 17],  # names, copyright, licence
        recalc_timestamp=False,
    )
    options.drop_tables += ["GDEF", "GPOS", "GSUB"]  # no kerning, no ligatures, as in the PDF
    with TTFont(font_path(weight), recalcTimestamp=False) as font:
        subsetter = subset.Subsetter(options)
        subsetter.populate(text=characters)
        subsetter.subset(font)
        out = BytesIO()
        font.save(out, reorderTables=True)
        return out.getvalue()
