"""Fonts for what the card font lacks: found, measured, and made fit for embedding.

Japanese and Korean come from fonts of the user's or of the system's, since no package has them in a
size that is fit to ship. What is printed then depends on the machine's font, and on nothing else of
the machine: a font's glyphs are cut down to those in use, and outlines that the PDF writer cannot
embed become TrueType ones, always in the same way.
"""

import os
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache, wraps
from io import BytesIO
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

from cardgen.drawing.scene import Weight
from cardgen.errors import InputError, Problem

VARIABLE = "CARDGEN_FONTS"
"""Names font files, in place of the system's; set and empty, none at all."""
CSS_WEIGHTS = {Weight.REGULAR: 400, Weight.MEDIUM: 500, Weight.BOLD: 700}  # OS/2 usWeightClass

_MAX_BYTES = 256 << 20  # twice the largest collections of East Asian fonts there are (from memory)
_BOLD_FROM = 600  # usWeightClass; OpenType, OS/2: 600 is semi-bold
_CUBIC_ERROR_EM = 0.001  # by which an outline may move: below any printer's dot on a card
_SCRIPTS = (
    *((0x1100, 0x11FF), (0x2E80, 0x33FF), (0x3400, 0x4DBF), (0x4E00, 0x9FFF), (0xA960, 0xA97F)),
    *((0xAC00, 0xD7FF), (0xF900, 0xFAFF), (0xFE30, 0xFE4F), (0xFF00, 0xFFEF), (0x20000, 0x3FFFF)),
)
"""Blocks of East Asian characters (Unicode, Blocks.txt), all that a system's font is asked for."""
_SYSTEM_FILES = (
    *("NotoSansCJK-Regular.ttc", "NotoSansCJK-Bold.ttc"),
    *("NotoSansCJKjp-Regular.otf", "NotoSansCJKjp-Bold.otf", "NotoSansCJK-VF.ttc"),
    *("SourceHanSans-Regular.ttc", "SourceHanSans-Bold.ttc"),
    *("YuGothR.ttc", "YuGothM.ttc", "YuGothB.ttc", "meiryo.ttc", "meiryob.ttc", "msgothic.ttc"),
    *("ヒラギノ角ゴシック W3.ttc", "ヒラギノ角ゴシック W6.ttc"),
    *("ipaexg.ttf", "ipag.ttf", "TakaoGothic.ttf", "VL-Gothic-Regular.ttf"),
    *("malgun.ttf", "malgunbd.ttf", "AppleSDGothicNeo.ttc"),
    *("NotoSansCJKkr-Regular.otf", "NotoSansCJKkr-Bold.otf", "NanumGothic.ttf"),
    *("NanumGothicBold.ttf", "UnDotum.ttf", "UnDotumBold.ttf", "UnBatang.ttf"),
)
"""File names by which systems have such fonts, the most fitting first (from memory)."""


P = ParamSpec("P")
R = TypeVar("R")


def _told(
    method: Callable[Concatenate["Fallback", P], R],
) -> Callable[Concatenate["Fallback", P], R]:
    """Return a method that tells of a damaged font, over which fontTools may raise anything."""

    @wraps(method)
    def told(font: "Fallback", /, *args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return method(font, *args, **kwargs)
        except Exception as error:
            message = "is damaged: what it has of a character cannot be read"
            hint = "another copy of the font"
            raise InputError(
                [Problem(str(font.path), None, None, "", message, hint=hint)]
            ) from error

    return told


@dataclass(frozen=True)
class Fallback:
    """One font; of a collection, the first. Only in a variable font ``weight`` chooses a form.

    Whatever is asked of it raises InputError if the file is damaged there.
    """

    path: Path
    weight: Weight
    is_given: bool
    """Named by the user, and so asked for any character."""

    @_told
    def has(self, character: str) -> bool:
        """Tell whether the font is there for ``character`` and has a glyph for it."""
        wanted = self.is_given or is_east_asian(character)
        return wanted and ord(character) in self._cmap

    @_told
    def advance_em(self, character: str) -> float:
        """Return how far ``character`` moves the pen, in parts of the font's size."""
        return float(self._glyphs[self._cmap[ord(character)]].width / self._em)

    @_told
    def ink_em(self, character: str) -> tuple[float, float]:
        """Return how far a glyph rises above the baseline and drops below it, in parts of 1 em."""
        from fontTools.pens.boundsPen import BoundsPen

        pen = BoundsPen(self._glyphs)
        self._glyphs[self._cmap[ord(character)]].draw(pen)
        _, low, _, high = pen.bounds or (0, 0, 0, 0)
        return high / self._em, -low / self._em

    @cached_property
    @_told
    def family(self) -> str:
        """The name of the font's family."""
        return str(self._font["name"].getBestFamilyName() or self.path.stem)

    @_told
    def subset(self, characters: str) -> bytes:
        """Return a TrueType font of only ``characters``; same characters, same bytes."""
        return _subset(self.path, self.weight, "".join(sorted(set(characters))))

    @cached_property
    def _font(self) -> Any:
        return _opened(self.path)

    @cached_property
    def _cmap(self) -> dict[int, str]:
        cmap: dict[int, str] = self._font.getBestCmap() or {}
        return cmap

    @cached_property
    def _glyphs(self) -> Any:
        return self._font.getGlyphSet(location=_location(self._font, self.weight))

    @cached_property
    def _em(self) -> int:
        return int(self._font["head"].unitsPerEm)


def is_east_asian(character: str) -> bool:
    """Tell whether a system's font is asked for ``character``."""
    return any(first <= ord(character) <= last for first, last in _SCRIPTS)


_given: tuple[Path, ...] = ()


def use_fonts(paths: Iterable[Path]) -> None:
    """Take these files, in this order, before all others for what the card font lacks.

    This holds until it is called again. The environment is looked at anew.

    Raises:
        InputError: a file is not there, or no font that can be used.
    """
    global _given  # fonts are the process's, as the environment is
    files = tuple(paths)
    for path in files:
        _require(path, "fonts")
    _given = files
    fallbacks.cache_clear()


@lru_cache(maxsize=len(Weight))
def fallbacks(weight: Weight) -> tuple[Fallback, ...]:
    """Return the fonts to ask for a character that the card font lacks, in this order.

    Raises:
        InputError: the environment names a file that is not there, or no font that can be used.
    """
    named = os.environ.get(VARIABLE)
    mine = [*_given]
    if named is not None:
        listed = [Path(part).expanduser() for part in named.split(os.pathsep) if part.strip()]
        for path in listed:
            _require(path, VARIABLE)
        mine += listed
    found = [] if named is not None else list(_system_files())
    fonts = [
        Fallback(path, weight if _is_variable(path) else Weight.REGULAR, is_given=path in mine)
        for path in dict.fromkeys([*mine, *found])
    ]
    bold = weight is Weight.BOLD
    # A heavy font for heavy type where there is one; else what there is, in the order given.
    return tuple(sorted(fonts, key=lambda font: (not font.is_given, _is_bold(font.path) != bold)))


def _require(path: Path, where: str) -> None:
    try:
        font = _opened(path)
        if not font.getBestCmap() or not {"glyf", "CFF ", "CFF2"} & set(font.keys()):
            raise ValueError
        _is_bold(path), _is_variable(path)
    except OSError:
        message, hint = "there is no such font file", None
    except Exception:  # fontTools raises what it meets in a broken file
        message, hint = "is not a font with outlines that can be printed", "a .ttf, .otf or .ttc"
    else:
        return
    raise InputError([Problem(str(path), None, None, where, message, hint=hint)])


def _folders() -> Iterator[Path]:
    """Yield where systems keep their fonts, and where users add some (from memory)."""
    try:
        home = Path.home()
    except RuntimeError:  # a user whom the system does not know, as in containers
        home = Path(os.devnull)
    if sys.platform == "win32":
        yield Path(os.environ.get("WINDIR", r"C:\Windows")) / "Fonts"
        if local := os.environ.get("LOCALAPPDATA"):
            yield Path(local) / "Microsoft" / "Windows" / "Fonts"
    elif sys.platform == "darwin":
        yield from (home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts"))
    else:
        data = os.environ.get("XDG_DATA_HOME") or str(home / ".local/share")
        yield from (Path(data) / "fonts", home / ".fonts")
        yield from (Path("/usr/local/share/fonts"), Path("/usr/share/fonts"))


def _system_files() -> tuple[Path, ...]:
    """Return the fonts of the system's that are known to have East Asian characters."""
    there: dict[str, Path] = {}
    for folder in _folders():
        for root, inner, names in os.walk(folder):
            inner.sort()
            for name in names:
                # A Macintosh keeps names decomposed.
                there.setdefault(unicodedata.normalize("NFC", name), Path(root) / name)
    return tuple(there[name] for name in _SYSTEM_FILES if name in there)


def _opened(path: Path) -> Any:
    from fontTools.ttLib import TTFont

    # From memory: nobody has to close it.
    return TTFont(BytesIO(_bytes(path)), fontNumber=0, lazy=True, recalcTimestamp=False)


@lru_cache(maxsize=8)
def _bytes(path: Path) -> bytes:
    if not path.is_file():  # a pipe would be waited on, a device read for ever
        raise FileNotFoundError(path)
    with path.open("rb") as file:
        data = file.read(_MAX_BYTES + 1)
    if len(data) > _MAX_BYTES:
        raise ValueError(f"larger than {_MAX_BYTES} bytes")
    return data


@lru_cache(maxsize=64)
def _is_bold(path: Path) -> bool:
    return int(_opened(path)["OS/2"].usWeightClass) >= _BOLD_FROM


@lru_cache(maxsize=64)
def _is_variable(path: Path) -> bool:
    return "fvar" in _opened(path)


def _location(font: Any, weight: Weight) -> dict[str, float] | None:
    """Return where on the axes of a variable font ``weight`` is; None for a plain font."""
    if "fvar" not in font:
        return None
    axes = {axis.axisTag: axis for axis in font["fvar"].axes}
    where = {tag: axis.defaultValue for tag, axis in axes.items()}
    if (axis := axes.get("wght")) is not None:
        where["wght"] = min(max(CSS_WEIGHTS[weight], axis.minValue), axis.maxValue)
    return where


@lru_cache(maxsize=64)
def _subset(path: Path, weight: Weight, characters: str) -> bytes:
    from fontTools import subset
    from fontTools.varLib import instancer

    font = _opened(path)
    options = subset.Options(
        hinting=False,
        notdef_outline=True,
        name_IDs=[0, 1, 2, 4, 6, 13, 14, 16, 17],  # names, copyright, licence
        recalc_timestamp=False,
    )
    # No kerning, no ligatures, nothing set upright, as in the PDF.
    options.drop_tables += ["BASE", "GDEF", "GPOS", "GSUB", "VORG", "vhea", "vmtx"]
    subsetter = subset.Subsetter(options)
    subsetter.populate(text=characters + " ")
    subsetter.subset(font)
    if (where := _location(font, weight)) is not None:
        font = instancer.instantiateVariableFont(font, where)
    if "glyf" not in font:
        _make_truetype(font)
    out = BytesIO()
    font.save(out, reorderTables=True)
    return out.getvalue()


def _make_truetype(font: Any) -> None:
    """Turn a font's cubic outlines into the quadratic ones of TrueType (OpenType: glyf, loca)."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.ttLib import newTable

    order, glyphs = font.getGlyphOrder(), font.getGlyphSet()
    error = _CUBIC_ERROR_EM * font["head"].unitsPerEm
    made = {}
    for name in order:
        pen = TTGlyphPen(glyphs)
        glyphs[name].draw(Cu2QuPen(pen, error, reverse_direction=True))
        made[name] = pen.glyph()
    font["loca"] = newTable("loca")
    table = font["glyf"] = newTable("glyf")
    table.glyphOrder, table.glyphs = order, made
    for name in order:
        made[name].recalcBounds(table)
        font["hmtx"][name] = (font["hmtx"][name][0], getattr(made[name], "xMin", 0))
    limits = font["maxp"]
    limits.tableVersion = 0x00010000
    for zero in (
        *("maxZones", "maxTwilightPoints", "maxStorage", "maxFunctionDefs", "maxInstructionDefs"),
        *("maxStackElements", "maxSizeOfInstructions", "maxComponentElements"),
    ):
        setattr(limits, zero, 0)
    limits.maxZones = 1
    limits.compile(font)
    font["post"].formatType = 3.0  # no glyph names
    font["head"].glyphDataFormat = 0
    for tag in ("CFF ", "CFF2"):
        if tag in font:
            del font[tag]
    font.sfntVersion = "\x00\x01\x00\x00"
