"""Numbers that people write with a unit: what they are in the unit of the field."""

import re

from cardgen.units import FOOT_M, INCH_M, KMH_MPS, MPH_MPS, POUND_KG

_WITH_UNIT = re.compile(
    r"(?!0[box])([-+]?[0-9]+(?:[.,][0-9]*)?) *"
    r"(?![eE][-+]?[0-9])([^\W\d_].*|[%°'\"′″])"
)
_SAYS = {
    "mph": "miles per hour",
    "lb": "pounds",
    "ft": "feet",
    "in": "inches",
    "deg": "degrees",
    "rpm": "revolutions per minute",
    "ml": "millilitres",
    "um": "micrometres",
    "percent": "percent",
    "board": "boards",
    "boards": "boards",
}
"""What the last part of a field's name says of its unit."""
_LENGTHS = {
    "ft": FOOT_M,
    "in": INCH_M,
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
}
_SPEEDS = {"mph": MPH_MPS, "km/h": KMH_MPS, "m/s": 1.0}
_WEIGHTS = {
    "lb": POUND_KG,
    "kg": 1.0,
    "g": 0.001,
    "oz": POUND_KG / 16,  # avoirdupois, exact
    "st": 14 * POUND_KG,  # the stone, exact
}
_KINDS = (_LENGTHS, _SPEEDS, _WEIGHTS)
_ALIKE = {
    "mph": "mph mi/h",
    "km/h": "km/h kmh kph kmph",
    "m/s": "m/s mps",
    "lb": "lb lbs pound pounds",
    "kg": "kg kgs kilo kilos",
    "g": "g gram grams",
    "oz": "oz ounce ounces",
    "st": "st stone stones",
    "ft": "ft foot feet ' ′",
    "in": 'in inch inches " ″',
    "m": "m metre metres meter meters",
    "cm": "cm",
    "mm": "mm",
    "deg": "deg degree degrees °",
    "rpm": "rpm u/min",
    "ml": "ml",
    "um": "um µm μm",
    "percent": "percent %",
    "boards": "b board boards nd rd th",  # the 34th
}
_UNITS = {word: unit for unit, words in _ALIKE.items() for word in words.split()}
_DIGITS = 3  # nobody knows a ball or a lane better


def factors_into(unit: str) -> dict[str, float]:
    """Return what a number is to be multiplied by to be in ``unit``, by what may stand after it.

    Only lengths (``ft``, ``in``), speeds (``mph``) and weights (``lb``) have others than their own.
    """
    kind = next((kind for kind in _KINDS if unit in kind), {unit: 1.0})
    return {word: kind[of] / kind[unit] for word, of in _UNITS.items() if of in kind}


def unit_hint(text: str, field: str) -> str | None:
    """Return what helps who wrote a number with a unit into ``field``; None for any other text.

    The last part of the field's name is the unit that it has, as in ``speed_mph``.
    """
    found = _WITH_UNIT.fullmatch(text.strip())
    if found is None:
        return None
    number, written = found[1], found[2].strip()
    meant = field.rpartition("_")[2]
    word = written.casefold().rstrip(".")
    if meant not in _SAYS or _UNITS.get(word) == _UNITS.get(meant, meant):
        return f"write the number alone: {number}"
    factor = factors_into(meant).get(word)
    if factor is None:
        return f"write the number alone, in {_SAYS[meant]}"
    value = float(number.replace(",", ".")) * factor
    told = f"{float(f'{value:.{_DIGITS}g}'):g}"
    return f"{found[0]} is {told} {meant}: write {told}"
