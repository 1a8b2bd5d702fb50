"""Measured pours of one compartment as chains of readings: what each chain says about the rise of the gauge per litre."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fluidapp.calc import gauge as gauges
from fluidapp.calc.geometry import PourFit, pour_fit
from fluidapp.model import Compartment, Pour


@dataclass(frozen=True, slots=True)
class Chain:
    """Pours that follow each other: each begins at the reading with which the one before it ended.

    gauge : its name. litres : poured so far at each reading [L], rising from 0 (a chain of drains is turned round).
    readings : in the gauge's own scale, one more than there are pours. rises_mm : the same as heights over the first [mm].
    u_mm : standard uncertainty of one reading as a height [mm]. numbers : places of its pours in the list, the first is 0.
    """

    gauge: str
    litres: tuple[float, ...]
    readings: tuple[float, ...]
    rises_mm: tuple[float, ...]
    u_mm: float
    numbers: tuple[int, ...]

    def fit(self) -> PourFit:
        """The straight line through its readings; errors as :func:`fluidapp.calc.geometry.pour_fit`."""
        return pour_fit(self.litres, self.rises_mm, self.u_mm)

    def slope(self) -> tuple[float, float, float]:
        """Rise per litre, its standard uncertainty [mm/L] and the degrees of freedom of that; errors as :meth:`fit`."""
        fit = self.fit()
        return 100.0 / fit.area_dm2, 100.0 * fit.u_area_dm2 / fit.area_dm2**2, fit.u_dof


def chains(compartment: Compartment, pours: Sequence[Pour]) -> tuple[Chain, ...]:
    """The pours in their order, those that follow each other on one gauge and go the same way joined.

    Two pours follow each other where the second begins exactly at the reading with which the first ended.
    """
    groups: list[list[int]] = []
    for i, pour in enumerate(pours):
        last = pours[groups[-1][-1]] if groups else None
        joins = last is not None and last.gauge == pour.gauge and last.after == pour.before and (last.add > 0) == (pour.add > 0)
        if joins:
            groups[-1].append(i)
        else:
            groups.append([i])
    return tuple(_chain(compartment, [pours[i] for i in group], group) for group in groups)


def _chain(compartment: Compartment, pours: Sequence[Pour], numbers: Sequence[int]) -> Chain:
    scale = compartment.gauge(pours[0].gauge)
    per = gauges.rise(scale)
    readings = [pours[0].before, *(pour.after for pour in pours)]
    litres = [0.0]
    for pour in pours:
        litres.append(litres[-1] + pour.add)
    if litres[-1] < 0:  # drains: the last reading comes first
        readings, litres = readings[::-1], [x - litres[-1] for x in litres[::-1]]
        numbers = numbers[::-1]
    return Chain(
        gauge=scale.name,
        litres=tuple(litres),
        readings=tuple(readings),
        rises_mm=tuple(per * (x - readings[0]) for x in readings),
        u_mm=gauges.u_reading(scale) * abs(per),
        numbers=tuple(numbers),
    )


def single_slopes(chain: Chain) -> list[tuple[float, float]]:
    """Rise per litre of each pour of a chain by itself, and its standard uncertainty [mm/L]."""
    steps = zip(pairwise(chain.litres), pairwise(chain.rises_mm), strict=True)
    return [((h1 - h0) / (v1 - v0), 2.0**0.5 * chain.u_mm / (v1 - v0)) for (v0, v1), (h0, h1) in steps]
