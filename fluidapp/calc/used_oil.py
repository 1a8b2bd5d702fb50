"""Used oil: what never goes into its tank, and what the records say is in it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fluidapp.calc.limits import zero_or_more
from fluidapp.model import Product

OTHERS = ("coolant", "solvent", "brake cleaner", "biodegradable oil", "fuel", "water")
KEEP_APART = (
    "Coolant, solvent, brake cleaner, biodegradable oil and water never go into the used-oil tank: each has a container of its own "
    "(common practice, no source). Local rules decide who may take what, and on which paper."
)
MIXED = "A mix: say so to whoever takes it over, it is no plain used oil, and keep it apart from now on."


@dataclass(frozen=True, slots=True)
class Drained:
    """Litres that went into the used-oil tank; ``other`` names what it is where that is no used oil, see :func:`other_than_oil`."""

    litres: float | None
    other: str | None = None


@dataclass(frozen=True, slots=True)
class Content:
    """What the records say is in the used-oil tank: litres, and what never belongs there with its litres (None: not measured)."""

    litres: float
    others: dict[str, float | None]

    @property
    def mixed(self) -> bool:
        """True where something else went in."""
        return bool(self.others)


def other_than_oil(product: Product | None, compartment_kind: str = "") -> str | None:
    """What a drained fluid is where it is no oil for the used-oil tank: "coolant", "fuel", "biodegradable oil"; None where it is one.

    product : the fluid, or what its compartment holds; None = not known, then the kind of the compartment tells. Common practice,
    no source.

    >>> other_than_oil(None, "coolant"), other_than_oil(Product(key="o", label="Oil", kind="oil"), "engine sump")
    ('coolant', None)
    """
    kind = product.kind if product is not None else ""
    if kind == "coolant" or compartment_kind == "coolant":
        return "coolant"
    if kind == "fuel" or compartment_kind == "fuel tank":
        return "fuel"
    if product is not None and product.family == "biodegradable ester":
        return "biodegradable oil"
    return None


def content(drained: Iterable[Drained]) -> Content:
    """What is in the used-oil tank from what went in since it was emptied. OutOfRange for litres below 0.

    Formula: the plain sum of what was measured, by what it is. Common practice, no source.

    >>> content([Drained(20.0), Drained(5.0, "coolant")])
    Content(litres=25.0, others={'coolant': 5.0})
    """
    litres: list[float] = []
    others: dict[str, float | None] = {}
    for one in drained:
        amount = None if one.litres is None else zero_or_more("drained", one.litres, "L")
        litres.append(amount or 0.0)
        if one.other is not None:
            before = others.get(one.other, 0.0)
            others[one.other] = None if amount is None or before is None else before + amount
    return Content(math.fsum(litres), others)
