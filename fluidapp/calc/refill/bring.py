"""What to take along for one repair: each product at its upper ±, less what stands open, and empty pails for used oil."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import figure
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.calc.refill.sizing import Portion, Refill
from fluidapp.errors import BadInput
from fluidapp.model import Container


@dataclass(frozen=True, slots=True)
class Need:
    """An amount of one product: value ± (standard uncertainty), in L, or kg for grease; ``why`` says what for."""

    product: str
    value: float
    u: float
    why: str
    unit: Literal["L", "kg"] = "L"
    dof: float = math.inf

    @property
    def upper(self) -> float:
        """Upper end of the 95 % range; the value itself where nothing is uncertain."""
        return max(0.0, self.value + (figure.half_width(self.u, self.dof) if self.u > 0 else 0.0))


@dataclass(frozen=True, slots=True)
class Item:
    """One product on the list: ``upper`` is needed at most, ``open`` stands open already, ``bring`` is to be taken, in containers."""

    product: str
    unit: Literal["L", "kg"]
    upper: float
    open: float
    bring: float
    containers: tuple[tuple[int, str], ...]
    why: tuple[str, ...]

    @property
    def words(self) -> str:
        """The containers in words, or the amount where no container is known."""
        if self.bring <= 0:
            return "nothing: what stands open is enough"
        if self.containers:
            return " and ".join(f"{n} × {label}" for n, label in self.containers)
        return f"{self.bring:.1f} {self.unit}"


@dataclass(frozen=True, slots=True)
class BringList:
    """Everything for one repair; ``pails`` empty ones for ``used_l`` litres of used oil at its upper ±."""

    items: tuple[Item, ...]
    used_l: float
    pails: int
    also: tuple[str, ...]


def needs(plan: Refill, product: str, rinse_l: float = 0.0, rinse_product: str | None = None) -> tuple[Need, ...]:
    """The needs of a refill: its two numbers as one need, gear cases apart, rinse oil. Litres are of ``product`` unless a line has its own.

    Both portions together, since what is not poured before the start is poured after it.
    """
    found = [Need(product, max(0.0, plan.total.value_l), plan.total.u_l, "refill", dof=plan.total.dof)]
    found += [Need(line.product or product, line.value_l, line.u_l, line.name, dof=line.dof) for line in plan.gear_cases]
    if rinse_l > 0:
        found.append(Need(rinse_product or product, rinse_l, 0.0, "rinse"))
    return tuple(found)


def bring_list(
    wanted: Iterable[Need],
    opened: Mapping[str, float] | None = None,
    containers: Mapping[str, tuple[Container, ...]] | None = None,
    *,
    used: Portion | None = None,
    room_l: float = 0.0,
    pail_l: float = 20.0,
    also: tuple[str, ...] = (),
) -> BringList:
    """The bring list: each product at the sum of its upper ±, less open containers, in whole containers; empty pails for used oil.

    opened : litres (kg) that stand open, by product, >= 0. containers : sizes a product is bought in. used : oil that will be
    drained; room_l : free litres for it already at hand; pail_l : size of an empty pail [L]. also : filters, tools and the like.
    OutOfRange for negative amounts, BadInput for one product in L and in kg. Own rule; upper ends are added, which is cautious.

    >>> pail = Container(label="20 L pail", volume_l=20.0)
    >>> bring_list([Need("hyd", 24.0, 1.0, "refill")], {"hyd": 3.0}, {"hyd": (pail,)}).items[0].words
    '2 × 20 L pail'
    """
    opened, sizes = opened or {}, containers or {}
    for name, amount in opened.items():
        zero_or_more(f"open container, {name}", amount, "L", "Enter what is in it, 0 or more.")
    above_zero("pail", pail_l, "L", "Enter its size.")
    zero_or_more("room for used oil", room_l, "L", "Enter the free litres of the containers at hand.")
    by_product: dict[str, list[Need]] = {}
    for need in wanted:
        if not (math.isfinite(need.value) and need.u >= 0 and math.isfinite(need.u)):
            raise BadInput(f"{need.product}, {need.why}", need.value, "Enter finite amounts.")
        by_product.setdefault(need.product, []).append(need)
    items = []
    for product, group in by_product.items():
        unit = group[0].unit
        if any(need.unit != unit for need in group):
            raise BadInput(product, "L and kg", "One product is counted in one unit.")
        upper = math.fsum(need.upper for need in group)
        bring = max(0.0, upper - opened.get(product, 0.0))
        packed = _whole(bring, sizes.get(product, ())) if unit == "L" else ()
        items.append(Item(product, unit, upper, opened.get(product, 0.0), bring, packed, tuple(need.why for need in group)))
    most = used.high_l if used is not None else 0.0
    pails = math.ceil(max(0.0, most - room_l) / pail_l - 1e-9)
    return BringList(tuple(items), most, pails, also)


def _whole(amount: float, sizes: tuple[Container, ...]) -> tuple[tuple[int, str], ...]:
    """Whole containers that hold at least ``amount``, largest first; what is left over is less than the smallest size."""
    ordered = sorted(sizes, key=lambda c: -c.volume_l)
    return tuple((count, size.label) for count, size in _fill(amount, ordered) if count)


def _fill(amount: float, ordered: list[Container]) -> list[tuple[int, Container]]:
    if not ordered or amount <= 1e-9:
        return []
    size, smaller = ordered[0], ordered[1:]
    if not smaller:
        return [(math.ceil(amount / size.volume_l - 1e-9), size)]
    count = math.floor(amount / size.volume_l + 1e-9)
    rest = _fill(amount - count * size.volume_l, smaller)
    if sum(n * c.volume_l for n, c in rest) >= size.volume_l:  # as much in small ones: one large one instead
        return [(count + 1, size)]
    return [(count, size), *rest]
