"""The one door between people's units and ours (mm, L, kg, °C, degrees).

A fixed list of units; pint converts, but never parses what a person typed. A bare "gal", "qt", "pt" or "oz" is refused,
since it names two or three different things.
"""

import functools
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from fluidapp.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatLike = float | NDArray[np.float64]

# what a person may write -> what pint calls it
LENGTH: Mapping[str, str] = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch"}
VOLUME: Mapping[str, str] = {
    "L": "liter",
    "mL": "milliliter",
    "US gal": "US_liquid_gallon",
    "imp gal": "imperial_gallon",
    "US qt": "US_liquid_quart",
    "imp qt": "imperial_quart",
}
MASS: Mapping[str, str] = {"kg": "kilogram", "g": "gram", "lb": "pound"}
TEMPERATURE: Mapping[str, str] = {"°C": "degree_Celsius", "°F": "degree_Fahrenheit"}
ANGLE: Mapping[str, str] = {"°": "degree"}

_KINDS: Mapping[str, tuple[Mapping[str, str], str]] = {
    "length": (LENGTH, "millimeter"),
    "volume": (VOLUME, "liter"),
    "mass": (MASS, "kilogram"),
    "temperature": (TEMPERATURE, "degree_Celsius"),
    "angle": (ANGLE, "degree"),
}
_SPELLINGS = {
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), "L"),
    **dict.fromkeys(('"', "inch", "inches"), "in"),
    "ml": "mL",
    "c": "°C",
    "f": "°F",
    "deg": "°",
}
_TWO_MEANINGS = {
    **dict.fromkeys(("gal", "gals", "gallon", "gallons"), "US gal or imp gal"),
    **dict.fromkeys(("qt", "qts", "quart", "quarts"), "US qt or imp qt"),
    **dict.fromkeys(("pt", "pint", "pints"), "L, US qt or imp qt"),
    "oz": "g or mL",
    "fl oz": "mL",
}
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # 1,234 is one and a bit to some and a thousand to others
_QUANTITY = re.compile(r"(?P<n>[-+−]?[\d.,\s/]*\d[\d.,]*)\s*(?P<u>[^\d.,].*)?")
_FRACTION = re.compile(r"([+-]?)(?:(\d+)\s+)?(\d+)/(\d+)")


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=":auto:")


def convert(field: str, value: "FloatLike", unit: str, to: str, kind: str) -> Any:
    """``value`` [``unit``] in the unit ``to``, both spelled as in the lists above. Scalars give float, arrays arrays.

    BadInput for a unit that is not listed and for NaN or infinity.
    """
    listed, _ = _KINDS[kind]
    for name in (unit, to):
        if name not in listed:
            raise BadInput(field, name, f"Use one of: {', '.join(listed)}.")
    values = np.asarray(value, dtype=np.float64)
    finite = np.isfinite(values)
    if not np.all(finite):
        raise BadInput(field, float(values[~finite][0]), "Enter a finite number.")
    plain = float(values) if values.ndim == 0 else values
    if unit == to:
        return plain
    return _registry().Quantity(plain, listed[unit]).m_as(listed[to])


def to_mm(field: str, value: "FloatLike", unit: str) -> Any:
    """A length in mm."""
    return convert(field, value, unit, "mm", "length")


def to_l(field: str, value: "FloatLike", unit: str) -> Any:
    """A volume in L."""
    return convert(field, value, unit, "L", "volume")


def to_kg(field: str, value: "FloatLike", unit: str) -> Any:
    """A mass in kg."""
    return convert(field, value, unit, "kg", "mass")


def to_c(field: str, value: "FloatLike", unit: str) -> Any:
    """A temperature in °C."""
    return convert(field, value, unit, "°C", "temperature")


def number(field: str, text: str, *, comma: bool = False) -> float | None:
    """The number in ``text``, or None where it is empty.

    comma : accept a decimal comma (screens). Without it (command line, files) "12,5" is refused by name.
    Fractions as on a tape are read: "8 3/8". Thousands marks, exponents, NaN and stray text are refused, and so is
    "1,234", which may be either.
    """
    text = text.strip().replace("−", "-")
    if not text:
        return None
    if len(text) > 15:
        raise BadInput(field, text[:15] + "…", "Enter a plain number, like 212 or 12.5.")
    if text.count(",") + text.count(".") > 1:
        raise BadInput(field, text, "Use one decimal mark and no thousands marks, like 1234.5.")
    if "," in text:
        if not comma:
            raise BadInput(field, text, f"Use a point as the decimal mark, like {text.replace(',', '.')}.")
        if _THOUSANDS.fullmatch(text):
            raise BadInput(field, text, f"Write {text.replace(',', '')} or {text.replace(',', '.')}, whichever you mean.")
        text = text.replace(",", ".")
    if match := _FRACTION.fullmatch(text):
        sign, whole, top, bottom = match.groups()
        if int(bottom) == 0:
            raise BadInput(field, text, "A fraction cannot end in /0.")
        size = int(whole or 0) + int(top) / int(bottom)
        return -size if sign == "-" else size
    if not _NUMBER.fullmatch(text):
        raise BadInput(field, text, "Enter a plain number, like 212 or 12.5.")
    return float(text)


def unit_name(field: str, text: str, kind: str) -> str:
    """The listed spelling of a unit that a person wrote; BadInput, with the list, for any other."""
    listed, _ = _KINDS[kind]
    text = " ".join(text.split())
    if text in listed:
        return text
    low = text.lower()
    if low in _TWO_MEANINGS:
        raise BadInput(field, text, f"Say which one: {_TWO_MEANINGS[low]}.")
    for name in listed:
        if low == name.lower() or _SPELLINGS.get(low) == name:
            return name
    raise BadInput(field, text, f"Use one of: {', '.join(listed)}.")


def quantity(field: str, text: str, kind: str, default_unit: str, *, comma: bool = False) -> tuple[float, str] | None:
    """Number and unit in a text like "212 mm", "8 3/8 in", "5 US gal"; the unit may be left out. None where it is empty.

    The result keeps the unit as written; :func:`convert` or :func:`to_mm` and its sisters bring it inside.
    """
    text = text.strip()
    if not text:
        return None
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise BadInput(field, text, f"Enter a number and its unit, like “212 {default_unit}”.")
    value = number(field, match["n"], comma=comma)
    if value is None:
        raise BadInput(field, text, f"Enter a number and its unit, like “212 {default_unit}”.")
    try:
        return value, unit_name(field, match["u"] or default_unit, kind)
    except BadInput as err:
        raise BadInput(field, text, err.fix) from err


def as_typed(text: str, default_unit: str) -> str:
    """A text that :func:`quantity` reads, as it was typed; the unit is added where none was written.

    >>> as_typed("4 3/8 in", "mm"), as_typed("12,5", "mm")
    ('4 3/8 in', '12,5 mm')
    """
    text = text.strip()
    match = _QUANTITY.fullmatch(text)
    return f"{text} {default_unit}" if match is not None and match["u"] is None else text


def length_mm(field: str, text: str, default_unit: str = "mm", *, comma: bool = False) -> float | None:
    """A length as typed ("212 mm", "8 3/8 in") in mm; None where it is empty."""
    found = quantity(field, text, "length", default_unit, comma=comma)
    return None if found is None else float(to_mm(field, *found))


def volume_l(field: str, text: str, default_unit: str = "L", *, comma: bool = False) -> float | None:
    """A volume as typed ("5 US gal", "20") in L; None where it is empty."""
    found = quantity(field, text, "volume", default_unit, comma=comma)
    return None if found is None else float(to_l(field, *found))


def temperature_c(field: str, text: str, default_unit: str = "°C", *, comma: bool = False) -> float | None:
    """A temperature as typed in °C; None where it is empty."""
    found = quantity(field, text, "temperature", default_unit, comma=comma)
    return None if found is None else float(to_c(field, *found))


def mass_kg(field: str, text: str, default_unit: str = "kg", *, comma: bool = False) -> float | None:
    """A mass as typed in kg; None where it is empty."""
    found = quantity(field, text, "mass", default_unit, comma=comma)
    return None if found is None else float(to_kg(field, *found))
