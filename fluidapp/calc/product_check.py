"""Is it the right product? Every pour is checked against what the compartment holds."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import oil
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Product

Word = Literal["same product", "stop", "mixed until drained", "change of product"]
UNKNOWN = "unknown"  # the product key of a pour whose product nobody knows
CONTAINER = "One container for one product, clean and marked; wipe spout and filler before pouring (common practice, no source)."
# pairs of thickeners in a public table (Bureau of Reclamation, FIST 2-4, table 2, second-hand). Published charts contradict each
# other, so that a mixture of two greases is replaced whatever the table says
THICKENERS = {
    frozenset({"lithium", "lithium complex"}): "compatible",
    frozenset({"lithium", "calcium"}): "borderline",
    frozenset({"lithium", "clay"}): "incompatible",
    frozenset({"lithium", "polyurea"}): "incompatible",
}


@dataclass(frozen=True, slots=True)
class ProductCheck:
    """What a pour means. reason : one sentence, "" where it is the same product. mixed : the compartment counts as mixed afterwards,
    until it is drained; viscosity_verdicts : whether a verdict from viscosity may still be given. needs : what must come first.
    rinses : drains and refills before the new product, where the family changes and the limit is known.
    """

    word: Word
    reason: str
    mixed: bool
    viscosity_verdicts: bool
    needs: tuple[str, ...] = ()
    rinses: int | None = None
    remarks: tuple[str, ...] = (CONTAINER,)


def differences(one: Product, other: Product) -> tuple[str, ...]:
    """In what two products differ, in words: kind, family, thickener, NLGI grade, viscosity; at least "another product"."""
    if one.kind != other.kind:
        return (f"{other.kind} instead of {one.kind}",)
    found = []
    if one.family != other.family:
        found.append(f"family {other.family} instead of {one.family}")
    if one.kind == "grease":
        if one.thickener is None or other.thickener is None:
            found.append("a thickener that is not known")
        elif one.thickener != other.thickener:
            told = THICKENERS.get(frozenset({one.thickener, other.thickener}), "not in the table")
            found.append(f"thickener {other.thickener} instead of {one.thickener} ({told}; charts contradict each other)")
        if one.nlgi != other.nlgi and one.nlgi and other.nlgi:
            found.append(f"NLGI {other.nlgi} instead of {one.nlgi}")
    elif one.nu40 is not None and other.nu40 is not None and abs(other.nu40 / one.nu40 - 1) > 0.1:
        found.append(f"{other.nu40:g} instead of {one.nu40:g} mm2/s at 40 °C")
    return tuple(found) or ("another product",)


def check(
    holds: Product | None,
    poured: Product | None,
    *,
    mixed: bool = False,
    drained: bool = False,
    residual_percent: float | None = None,
    stay: float | None = None,
) -> ProductCheck:
    """Whether ``poured`` may go into a compartment that holds ``holds``; None = unknown product.

    mixed : an unknown or another product went in since its last drain. drained : it was drained just now, so that a change of
    product is meant. residual_percent : the maker's limit of old oil after a change of family, as entered by the site [%, 0 to 100];
    stay : share of the old oil that does not drain, 0 to 1. OutOfRange otherwise.

    Another product than the compartment's: stop, with the reason. Unknown: allowed, and the compartment counts as mixed until it
    is drained. A change of family needs a drain, a flush and the site's residual limit. Common practice, no source.

    >>> hyd = Product(key="hyd", label="hydraulic oil", kind="oil", nu40=46.0)
    >>> gear = Product(key="gear", label="gear oil", kind="oil", nu40=220.0)
    >>> check(gear, gear).word, check(gear, hyd).word, check(gear, None).word
    ('same product', 'stop', 'mixed until drained')
    >>> check(gear, hyd).reason
    'The compartment holds gear oil, not hydraulic oil: 46 instead of 220 mm2/s at 40 °C.'
    """
    if residual_percent is not None and not 0 < residual_percent < 100:
        raise OutOfRange("residual limit", residual_percent, 0.0, 100.0, "%", "Enter the maker's limit of old oil; 2 % is 2.")
    if stay is not None and not 0 <= stay <= 1:
        raise OutOfRange("share that does not drain", stay, 0.0, 1.0, "", "A share lies between 0 and 1; 10 % is 0.1.")
    after = mixed and not drained
    if poured is None:
        reason = "An unknown product: the compartment counts as mixed until it is drained."
        return ProductCheck("mixed until drained", reason, True, False, ("Take a sample.",))
    if poured.kind == "used":
        return ProductCheck("stop", f"{poured.label} is used: it never goes back into a machine.", after, not after)
    if holds is None:
        if drained:
            needs = ("Enter this product for the compartment.",)
            return ProductCheck("change of product", "What it held is not known, so a share of it stays behind.", False, True, needs)
        reason = "What the compartment holds is not entered: it counts as mixed until it is drained."
        return ProductCheck("mixed until drained", reason, True, False, ("Enter the product of the compartment, or drain it.",))
    if holds.key == poured.key:
        if after:
            return ProductCheck("mixed until drained", "It counts as mixed since an earlier pour, until it is drained.", True, False)
        return ProductCheck("same product", "", False, True)
    told = "; ".join(differences(holds, poured))
    reason = f"The compartment holds {holds.label}, not {poured.label}: {told}."
    if holds.kind != poured.kind:
        return ProductCheck("stop", reason, after, not after, ("Pour nothing.",))
    if not drained:
        needs = ("Pour its own product, or drain it first.",)
        if holds.kind == "grease":
            needs = ("Take all of the old grease out, wipe, then fill.",)
        return ProductCheck("stop", reason, after, not after, needs)
    return _changed(holds, poured, reason, residual_percent, stay)


def _changed(holds: Product, poured: Product, reason: str, residual_percent: float | None, stay: float | None) -> ProductCheck:
    """A change of product after a drain."""
    enter = "Enter the new product for the compartment."
    family = oil.family_change(holds, poured)
    if family is False:
        return ProductCheck("change of product", reason, False, True, (enter, "Check that both are compatible: a share stays behind."))
    if residual_percent is None or stay is None:
        unknown = "" if family else " The families are not known to be the same."
        missing = "the maker's limit of old oil (residual limit)" if residual_percent is None else "how much does not drain"
        return ProductCheck("stop", f"{reason}{unknown} A change of family needs a flush.", False, True, (f"Enter {missing}.",))
    rinses = _rinses(stay, residual_percent / 100.0)
    times = "once" if rinses == 1 else f"{rinses} times"
    first = f"Rinse {times} before the last fill, then have the residual measured." if rinses else "Have the residual measured."
    return ProductCheck("change of product", reason, False, True, (first, "Change filters and seals as the maker says.", enter), rinses)


def _rinses(stay: float, limit: float) -> int:
    """Rinses between the drain that was done and the last fill: that fill dilutes once itself."""
    return max(0, oil.rinse_cycles(stay, limit) - 1)


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to a compartment: a pour of ``product`` (a key, or "unknown"), or a whole drain, in order of time."""

    what: Literal["poured", "drained"]
    product: str | None = None
    litres: float | None = None


@dataclass(frozen=True, slots=True)
class State:
    """Whether a compartment counts as mixed now, since which event (its place in the list), and by which product."""

    mixed: bool
    since: int | None
    by: str | None
    reason: str


def state(holds: str | None, events: Iterable[Event]) -> State:
    """Whether a compartment of product ``holds`` (a key) is mixed, from what was poured and drained, oldest first.

    Mixed since the first pour of another or an unknown product; a whole drain ends it. BadInput for a pour without a product.
    Common practice, no source.

    >>> state("gear", [Event("poured", "gear"), Event("poured", "unknown")]).mixed
    True
    >>> state("gear", [Event("poured", "unknown"), Event("drained")]).mixed
    False
    """
    since: int | None = None
    by: str | None = None
    for i, event in enumerate(events):
        if event.what == "drained":
            since = by = None
            continue
        if not event.product:
            raise BadInput("product poured", event.product or "", "Name it, or write “unknown”.")
        if event.litres is not None:
            zero_or_more("poured", event.litres, "L")
        if event.litres == 0:
            continue
        if since is None and (event.product == UNKNOWN or event.product != holds):
            since, by = i, event.product
    if since is None:
        return State(False, None, None, "")
    name = "an unknown product" if by == UNKNOWN else f"“{by}”" + (" without a product of its own entered" if holds is None else "")
    return State(True, since, by, f"Mixed with {name} until it is drained: no verdict from viscosity, take a sample.")
