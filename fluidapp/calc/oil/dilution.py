"""Drain and refill: what stays behind, how often to rinse, what a leak makes of an oil."""

import math

from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import CannotAnswer, OutOfRange


def share_left(stay: float, cycles: int) -> float:
    """Share of the old oil that is left after ``cycles`` changes, of which ``stay`` (0 to 1) does not drain each time.

    OutOfRange otherwise. Formula: stay ** cycles, well mixed each time. Common practice, no source.

    >>> round(share_left(0.2, 3), 3)
    0.008
    """
    _share("share that does not drain", stay)
    if cycles < 0 or cycles != int(cycles):
        raise OutOfRange("changes", cycles, 0, None, "", "Enter a whole number, 0 or more.")
    return stay**cycles


def rinse_cycles(stay: float, target: float) -> int:
    """Number of drains and refills after which at most the share ``target`` of the old oil is left.

    stay : share that does not drain, 0 to 1; lines, coolers and cylinders stay behind too. target : wanted share, above 0.
    Returns 0 where target is 1 or more; 1 where everything drains. OutOfRange for shares that cannot be; CannotAnswer where
    nothing drains (stay = 1).
    Formula: n = ceil(ln(target) / ln(stay)), well mixed each time. Common practice, no source.

    A fifth stays behind and 5 % may be left (computed by us):
    >>> rinse_cycles(0.2, 0.05)
    2
    """
    _share("share that does not drain", stay)
    above_zero("share that may be left", target, "", "Enter a share above 0; 2 % is 0.02.")
    if target >= 1:
        return 0
    if stay == 0:
        return 1
    if stay == 1:
        raise CannotAnswer("Rinse", "nothing drains, so nothing is diluted", "Enter how much of the oil comes out.")
    return max(1, math.ceil(math.log(target) / math.log(stay) - 1e-9))


def rinse_litres(capacity_l: float, stay: float, cycles: int) -> float:
    """Fresh oil for ``cycles`` rinses of a compartment of ``capacity_l`` [L, > 0]: cycles (1 - stay) capacity. Common practice, no source.

    >>> round(rinse_litres(6.0, 0.2, 2), 2)
    9.6
    """
    above_zero("contents", capacity_l, "L", "Enter its litres.")
    share_left(stay, cycles)
    return cycles * (1.0 - stay) * capacity_l


def share_come_in(leak_l_h: float, hours: float, capacity_l: float, *, overflows: bool) -> float:
    """Share (0 to 1) of foreign oil after ``hours`` of a steady leak into a compartment that held ``capacity_l`` of its own.

    leak_l_h : L/h, >= 0. overflows : True where as much runs out as comes in, False where it only fills. OutOfRange otherwise.
    Formula: 1 - exp(-q t/V), or q t/(V + q t); well mixed. Own balance.

    >>> round(share_come_in(0.01, 100, 6.0, overflows=False), 3), round(share_come_in(0.01, 100, 6.0, overflows=True), 3)
    (0.143, 0.154)
    """
    for name, value, unit in (("leak", leak_l_h, "L/h"), ("hours", hours, "h")):
        zero_or_more(name, value, unit)
    above_zero("contents", capacity_l, "L", "Enter its litres.")
    came = leak_l_h * hours
    return -math.expm1(-came / capacity_l) if overflows else came / (capacity_l + came)


def _share(field: str, value: float) -> None:
    if not 0 <= value <= 1:
        raise OutOfRange(field, value, 0.0, 1.0, "", "A share lies between 0 and 1; 10 % is 0.1.")
