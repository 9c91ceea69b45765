"""Numbers as a language writes them, and the form of a word that goes with a number.

The rules are those of the Unicode CLDR, through Babel.
"""

from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel import Locale

CATEGORIES = ("zero", "one", "two", "few", "many", "other")
"""The plural categories there are (Unicode Technical Standard 35, part 3, section 5)."""


@lru_cache(maxsize=16)
def _locale(language: str) -> "Locale":
    from babel import Locale

    return Locale.parse(language, sep="-")


def is_language(tag: str) -> bool:
    """Tell whether rules are known for a language by its BCP 47 tag."""
    from babel import UnknownLocaleError

    try:
        _locale(tag)
    except (UnknownLocaleError, ValueError):
        return False
    return True


@lru_cache(maxsize=16)
def decimal_sign(language: str) -> str:
    """Return what stands before the decimals."""
    return str(_locale(language).number_symbols["latn"]["decimal"])


@lru_cache(maxsize=16)
def comma(language: str) -> str:
    """Return what stands between the parts of a list, with its space."""
    pattern: str = _locale(language).list_patterns["standard"]["middle"]
    return pattern.replace("{0}", "").replace("{1}", "")


def written(value: float, language: str, decimals: int | None = None) -> str:
    """Return ``value`` with that many decimals, or as few as it has (six figures at most).

    A minus is a minus, not a hyphen, and none stands before nought.
    """
    text = f"{value:g}" if decimals is None else f"{round(value, decimals) + 0.0:.{decimals}f}"
    return text.replace("-", "−").replace(".", decimal_sign(language))


def categories(language: str) -> tuple[str, ...]:
    """Return the plural categories that the language has, ``other`` the last."""
    return tuple(c for c in CATEGORIES if c == "other" or c in _locale(language).plural_form.tags)


def category(number: object, language: str) -> str:
    """Return the plural category of a number or of a number as printed: ``1,0`` may not be ``1``.

    What is no number, such as ``<1``, is ``other``.
    """
    text = str(number).replace("−", "").replace(decimal_sign(language), ".")
    if text.endswith("½"):
        text = f"{text[:-1] or 0}.5"
    try:
        return str(_locale(language).plural_form(Decimal(text)))
    except InvalidOperation:
        return "other"
