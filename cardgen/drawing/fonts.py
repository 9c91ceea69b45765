"""The type family of the cards: widths, heights, line breaks, and what it cannot print.

Fira Sans Condensed (SIL Open Font License) comes as a package of static TrueType files. Nothing
kerns and nothing forms ligatures here, because the PDF has neither: a text is as wide as the sum
of its advances, in every writer. What it lacks comes from other fonts, see ``fallback``.
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from itertools import groupby
from operator import itemgetter
from pathlib import Path

from cardgen.drawing import fallback
from cardgen.drawing.fallback import CSS_WEIGHTS as CSS_WEIGHTS
from cardgen.drawing.fallback import VARIABLE, Fallback, fallbacks
from cardgen.drawing.linebreak import phrases, pieces
from cardgen.drawing.scene import Weight
from cardgen.errors import InputError, Problem
from cardgen.units import POINT_MM

_PACKAGE = "fontpkg_fira_sans_condensed"
FAMILY = "Fira Sans Condensed"

_SPACES = re.compile(r"[ \t]+")  # a no-break space stays inside its word
_AFTER_STOP = re.compile(r"(?<=[。、：！？])[ \t]+")  # a wide stop has its space in itself
_LEAST_LAST, _LEAST_WORD = 0.2, 0.5  # of its room that a last line fills, and one of a single word
_NAMED = 8  # characters that a message names; it counts the rest
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


@dataclass(frozen=True)
class Run:
    """A stretch of a text that one font sets: the card font, unless a ``fallback`` does."""

    text: str
    width_em: float
    fallback: Fallback | None = None


@lru_cache(maxsize=8192)
def runs(text: str, weight: Weight = Weight.REGULAR) -> tuple[Run, ...]:
    """Return ``text`` in stretches of one font each, in order.

    Raises InputError for a character that no font can print.
    """
    advances = metrics(weight).advances_em
    try:
        return (Run(text, sum(map(advances.__getitem__, text))),)
    except KeyError:
        pass
    if missing := missing_glyphs(text, weight, raw=True):
        raise _unprintable(text, missing)
    fonts = [None if c in advances else _fallback(c, weight) for c in text]
    return tuple(
        Run(part, sum(_advance_em(c, weight) for c in part), font)
        for font, part in (
            (font, "".join(c for c, _ in group))
            for font, group in groupby(zip(text, fonts, strict=True), key=itemgetter(1))
        )
    )


@lru_cache(maxsize=4096)
def _fallback(character: str, weight: Weight) -> Fallback | None:
    return next((font for font in fallbacks(weight) if font.has(character)), None)


@lru_cache(maxsize=4096)
def _advance_em(character: str, weight: Weight) -> float:
    advances = metrics(weight).advances_em
    if character in advances:
        return advances[character]
    font = _fallback(character, weight)
    if font is None:
        raise _unprintable(character, [character])
    return font.advance_em(character)


@lru_cache(maxsize=4096)
def fallback_ink_em(character: str, weight: Weight) -> tuple[float, float] | None:
    """Return how far ``character`` rises and drops, None if it is not a fallback that sets it."""
    if character in metrics(weight).advances_em:
        return None
    font = _fallback(character, weight)
    return None if font is None else font.ink_em(character)


def use_fonts(paths: Iterable[Path]) -> None:
    """Take these font files first for what the card font lacks, until called again.

    After them come those that the environment names in CARDGEN_FONTS, which is looked at anew, or
    else the system's. Raises InputError for a file that is not there or no font.
    """
    fallback.use_fonts(paths)
    for cached in (runs, _width_em, _fallback, _advance_em, fallback_ink_em, wrap):
        cached.cache_clear()


@lru_cache(maxsize=8192)
def _width_em(text: str, weight: Weight) -> float:
    return sum(run.width_em for run in runs(text, weight))


def width_mm(text: str, size_pt: float, weight: Weight = Weight.REGULAR) -> float:
    """Return how long ``text`` is when set at ``size_pt``.

    Raises InputError for a character that no font can print.
    """
    return _width_em(text, weight) * size_pt * POINT_MM


def missing_glyphs(text: str, weight: Weight = Weight.REGULAR, *, raw: bool = False) -> list[str]:
    """Return the characters of ``text`` (composed, NFC) that would not print, each once, in order.

    Besides characters without a glyph these are controls, invisible formatting characters and marks
    that stay apart from their letter when composed: nothing here places a mark over a letter.
    ``raw`` takes the text as it is.
    """
    known = metrics(weight).advances_em
    return list(
        dict.fromkeys(
            c
            for c in (text if raw else unicodedata.normalize("NFC", text))
            if unicodedata.category(c) in _NOT_INK or (c not in known and not _fallback(c, weight))
        )
    )


def check_printable(text: str, source: str) -> None:
    """Raise InputError if a text that the user gave as ``source`` would not print whole."""
    if missing := missing_glyphs(text):
        raise _unprintable(text, missing, source)


def _unprintable(text: str, missing: list[str], source: str = "") -> InputError:
    named = ", ".join(
        f"{c if c.isprintable() else ''} (U+{ord(c):04X} {unicodedata.name(c, 'no name')})".strip()
        for c in missing[:_NAMED]
    )
    if len(missing) > _NAMED:
        named += f" and {len(missing) - _NAMED} more"
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
    message = f"the card font cannot print {named} in “{shown}”"
    hint = "write it with Latin, Greek or Cyrillic letters, digits and punctuation"
    if any(fallback.is_east_asian(c) for c in missing):
        message += ", and no font for it is found here"
        hint = (
            "install a font for Japanese and Korean, such as Noto Sans CJK, or name the file of "
            f"one in {VARIABLE}"
        )
    return InputError([Problem(source, None, None, "", message, hint=hint)])


def shortened(text: str, room_mm: float, size_pt: float, weight: Weight = Weight.REGULAR) -> str:
    """Return ``text``, or as much of it as goes on a line of ``room_mm`` with an ellipsis."""
    if width_mm(text, size_pt, weight) <= room_mm:
        return text
    while text and width_mm(f"{text}…", size_pt, weight) > room_mm:
        text = text[:-1].rstrip()
    return f"{text}…"


@lru_cache(maxsize=8192)
def wrap(
    text: str, width_mm: float, size_pt: float, weight: Weight = Weight.REGULAR
) -> tuple[str, ...]:
    """Return ``text`` as lines no longer than ``width_mm``, each as full as it can be.

    Lines break at spaces, between East Asian characters (where a phrase ends, if that takes no line
    more) and at every line end in ``text``. A word too long for a line is broken after a hyphen,
    else between characters, at least one character to a line. A last line that would be left with
    next to nothing gets words of the one before it. Raises InputError like ``width_mm``.
    """
    room_em = width_mm / (size_pt * POINT_MM) + 1e-9  # a text exactly as wide as the line fits
    lines: list[str] = []
    for paragraph in _AFTER_STOP.sub("", unicodedata.normalize("NFC", text)).splitlines():
        lines += _wrap_paragraph(_SPACES.split(paragraph.strip(" \t")), room_em, weight)
    return tuple(lines)


def _wrap_paragraph(words: list[str], room_em: float, weight: Weight) -> list[str]:
    """Return lines that end with phrases, where that takes no line more than they need at least."""
    lines = _filled(map(pieces, words), room_em, weight)
    if len(lines) > 1 and any(len(pieces(word)) > 1 for word in words):
        whole = _filled((_phrases(word, room_em, weight) for word in words), room_em, weight)
        lines = whole if len(whole) == len(lines) else lines
    return [_text_of(line) for line in _without_orphan(lines, room_em, weight)]


def _phrases(word: str, room_em: float, weight: Weight) -> list[str]:
    """Return the phrases of a word, those too long for a line in pieces."""
    parts: list[str] = []
    for phrase in phrases(word):
        parts += [phrase] if _width_em(phrase, weight) <= room_em else pieces(phrase)
    return parts


def _filled(words: Iterable[Sequence[str]], room_em: float, weight: Weight) -> list[list[str]]:
    """Return lines of the words' parts, each as full as it can be; a space is with what follows."""
    lines: list[list[str]] = [[]]
    for count, word in enumerate(words):
        for number, piece in enumerate(word):
            part = f" {piece}" if count and not number else piece
            if _line_em([*lines[-1], part], weight) <= room_em:
                lines[-1].append(part)
                continue
            if lines[-1]:
                lines.append([])
            while len(part) > 1 and _line_em([part], weight) > room_em:
                rest = part.lstrip(" ")
                fits = max(1, _fitting(rest, room_em, weight))
                # Of a leave, a break elsewhere would cut the 10 pin in two.
                fits = rest.rfind("-", 0, fits) + 1 or fits
                lines[-1].append(part[: len(part) - len(rest) + fits])
                lines.append([])
                part = rest[fits:]
            lines[-1].append(part)
    return lines


def _without_orphan(lines: list[list[str]], room_em: float, weight: Weight) -> list[list[str]]:
    """Return lines whose last one is no leftover; there are as many, and none becomes longer."""
    while len(lines) > 1:
        *before, above, last = lines
        least = _LEAST_LAST if len(last) > 1 else _LEAST_WORD
        if _line_em(last, weight) >= least * room_em or _is_clause(_text_of(above)):
            break
        kept, longer = above[:-1], [above[-1], *last]
        if not kept or _line_em(longer, weight) > _line_em(kept, weight):
            break
        lines = [*before, kept, longer]
    return lines


def _is_clause(line: str) -> bool:
    """Tell whether a line ends with its only comma, where it is better broken than before."""
    return line.endswith((",", "、")) and line.count(line[-1]) == 1


def _text_of(parts: Iterable[str]) -> str:
    return "".join(parts).lstrip(" ")


def _line_em(parts: Iterable[str], weight: Weight) -> float:
    return _width_em(_text_of(parts), weight)


def _fitting(word: str, room_em: float, weight: Weight) -> int:
    used = 0.0
    for count, character in enumerate(word):
        used += _advance_em(character, weight)
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
    with TTFont(font_path(weight), recalcTimestamp=False) as font:
        for table in ("GDEF", "GPOS", "GSUB"):  # no kerning, no ligatures, as in the PDF
            if table in font:
                del font[table]  # dropped only later they would first be read, which takes long
        subsetter = subset.Subsetter(options)
        subsetter.populate(text=characters)
        subsetter.subset(font)
        out = BytesIO()
        font.save(out, reorderTables=True)
        return out.getvalue()
