"""Grease that goes in or out, in litres: weighed by somebody, or purged inwards from the ring."""

import math
from dataclasses import dataclass

from fluidapp.calc.limits import above_zero, zero_or_more


@dataclass(frozen=True, slots=True)
class Weighed:
    """An amount of grease [kg, >= 0] with its standard uncertainty; without one, 5 % of it (typical, editable)."""

    kg: float = 0.0
    u_kg: float | None = None

    def __post_init__(self) -> None:
        zero_or_more("grease weighed", self.kg, "kg")
        if self.u_kg is not None:
            zero_or_more("doubt of the weight", self.u_kg, "kg")

    def litres(self, rho: float) -> tuple[float, float]:
        """Volume and its standard uncertainty [L] at density ``rho`` [kg/m3]."""
        u_kg = 0.05 * self.kg if self.u_kg is None else self.u_kg
        return self.kg / rho * 1e3, u_kg / rho * 1e3


def purge_l(cc_per_position: float, positions: int, every_h: float, hours: float) -> tuple[float, float]:
    """Ring grease that may have purged inwards into the bath: litres and standard uncertainty.

    cc_per_position [cm3], positions in a round, every_h hours, over ``hours`` (all > 0, hours >= 0; OutOfRange otherwise).
    How much goes inwards is not known: anything from nothing to all of it, so half, with u = all / sqrt(12)
    (JCGM 100:2008, 4.3.7, from memory). Own formula.

    4 x 35 cm3 every 100 h is at most 1.4 L in 1,000 h (computed by us):
    >>> half, u = purge_l(35, 4, 100, 1000)
    >>> round(2 * half, 2)
    1.4
    """
    for name, value, unit in (("grease per position", cc_per_position, "cm3"), ("positions", positions, ""), ("interval", every_h, "h")):
        above_zero(name, value, unit)
    zero_or_more("hours", hours, "h", "Enter the hours since the earlier depth.")
    most = cc_per_position * positions * hours / every_h / 1e3
    return most / 2.0, most / math.sqrt(12.0)
