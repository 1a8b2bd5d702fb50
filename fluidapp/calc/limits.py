"""Two guards of plain numbers that many formulas share: refused by name, with the number and what would do."""

import math

from fluidapp.errors import OutOfRange


def above_zero(field: str, value: float, unit: str, fix: str = "Enter a number above 0.") -> float:
    """``value`` where it is a finite number above 0; OutOfRange otherwise, NaN included."""
    if not (value > 0 and math.isfinite(value)):
        raise OutOfRange(field, value, 0.0, None, unit, fix, above=True)
    return value


def zero_or_more(field: str, value: float, unit: str, fix: str = "Enter 0 or more.") -> float:
    """``value`` where it is a finite number of 0 or more; OutOfRange otherwise, NaN included."""
    if not (value >= 0 and math.isfinite(value)):
        raise OutOfRange(field, value, 0.0, None, unit, fix)
    return value
