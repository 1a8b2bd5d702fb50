"""Machine hours at a time between two looks at the hour meter."""

from collections.abc import Sequence

import numpy as np

from fluidapp.errors import BadInput, OutOfRange


def hours_at(days: Sequence[float], hours: Sequence[float], day: float) -> float:
    """Total machine hours on ``day``, from hours known on ``days`` (both rising, same length); 0 where none are known.

    Between two known points in proportion to the days; before the first and after the last as there. BadInput where the lengths
    differ. Own rule.

    >>> hours_at([0.0, 10.0], [100.0, 150.0], 4.0), hours_at([0.0, 10.0], [100.0, 150.0], 12.0)
    (120.0, 150.0)
    """
    if len(days) != len(hours):
        raise BadInput("hours", len(hours), f"Give one for each of the {len(days)} days.")
    return float(np.interp(day, days, hours)) if len(days) else 0.0


def total_now(meter_h: float, last_meter_h: float | None, last_total_h: float) -> float:
    """Total machine hours from what the meter shows now, after the last recorded look at it (None: never).

    OutOfRange where the meter shows less than then.

    >>> total_now(5100.0, 5000.0, 12000.0)
    12100.0
    """
    if last_meter_h is None:
        return meter_h
    if meter_h < last_meter_h:
        raise OutOfRange("Hour meter", meter_h, last_meter_h, None, "h", "It was read there before: read again, or enter the meter change.")
    return last_total_h + meter_h - last_meter_h
