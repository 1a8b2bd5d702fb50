"""Oil families, and when the formula for mixed oils holds for two products."""

from typing import Literal

from fluidapp.calc.oil.index import viscosity_index
from fluidapp.model import Product

Family = Literal["mineral", "biodegradable ester", "other", "unknown"]
IMPROVED_ABOVE = 120.0  # viscosity index beyond which a mineral oil is taken for one with a viscosity improver (own limit)


def family_change(one: Product, other: Product) -> bool | None:
    """Whether going from ``one`` to ``other`` changes the oil family; None where a family is not known ("unknown", or "other" twice).

    Two "other" oils may be two families: nothing is claimed. Common practice, no source.
    """
    families = {one.family, other.family}
    if "unknown" in families or families == {"other"}:
        return None
    return len(families) > 1


def improved(product: Product) -> bool | None:
    """Whether a product is likely to hold a viscosity improver: its index is above 120; None without both viscosities. Own rule."""
    if product.nu40 is None or product.nu100 is None or product.nu100 < 2 or product.nu40 <= product.nu100:
        return None
    return bool(viscosity_index(product.nu40, product.nu100) > IMPROVED_ABOVE)


def blend_remarks(*products: Product) -> tuple[str, ...]:
    """What must stand under a viscosity of these oils mixed. Source: scope of ASTM D7152 (read)."""
    found = []
    families = {p.family for p in products}
    if len(families) > 1 or families & {"other", "unknown"}:
        found.append("The formula for mixed oils is meant for base stocks of one kind; these families differ or are not known.")
    thick = [p.label for p in products if improved(p)]
    if thick:
        found.append(f"Likely with a viscosity improver, for which the formula may not hold: {', '.join(thick)}.")
    return tuple(found)
