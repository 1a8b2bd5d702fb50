"""The picture of a gear case as plain data: the share by each method with its range, the limit, and what cannot be seen."""

from dataclasses import dataclass

from fluidapp.calc import oil
from fluidapp.calc.figure import half_width
from fluidapp.calc.gearcase import GearCase, Limit
from fluidapp.calc.gearcase.shares import viscosity
from fluidapp.errors import FluidappError
from fluidapp.model import Product


@dataclass(frozen=True, slots=True)
class Row:
    """One method: share in the middle and its 95 % range [%]; ``middle`` is None where there is only an interval."""

    method: str
    low: float
    middle: float | None
    high: float


@dataclass(frozen=True, slots=True)
class SharePicture:
    """Rows, the smallest share that would be seen, the share at which the limit is reached, the right edge of the scale; all in %."""

    rows: tuple[Row, ...]
    unseen: float | None
    limit: float | None
    right: float
    text: str


def share_at_limit(own: Product | None, other: Product | None, limit: Limit) -> float | None:
    """Share of ``other`` (0 to 1) that changes the viscosity at 40 °C by the limit to change; None where the oils do not tell.

    Formula: :func:`fluidapp.calc.oil.blend_fraction_open` at nu_own (1 - limit) or (1 + limit). Sheet figures (computed by us):
    a VG 46 makes a VG 220 15 % thinner at a share of 9.0 %.

    >>> from fluidapp.calc.gearcase import TRAVEL
    >>> gear = Product(key="g", label="gear oil", kind="oil", nu40=220.0)
    >>> hyd = Product(key="h", label="hydraulic oil", kind="oil", nu40=46.0)
    >>> round(100 * share_at_limit(gear, hyd, TRAVEL), 1)
    9.0
    """
    if own is None or other is None:
        return None
    try:
        base, cont = viscosity(own, 40.0), viscosity(other, 40.0)
        reached = base * (1 - limit.thinner_change / 100 if cont < base else 1 + limit.thicker_change / 100)
        share = float(oil.blend_fraction_open(base, cont, reached))
    except FluidappError:
        return None
    return share if 0 < share < 1 else None


def picture(found: GearCase, at_limit: float | None) -> SharePicture:
    """What :func:`fluidapp.calc.gearcase.check` found, as rows on one scale of shares from 0 to the right edge."""
    rows = []
    for share in (found.rise, found.viscosity):
        if share is None:
            continue
        if share.x is not None and share.u is not None:
            half = 100 * half_width(share.u, share.dof)
            rows.append(Row(share.method, 100 * share.x - half, 100 * share.x, 100 * share.x + half))
        elif share.low is not None and share.high is not None:
            rows.append(Row(share.method, 100 * share.low, None, 100 * share.high))
    both = found.share
    if both.x is not None and both.u is not None and len(both.used) > 1:
        half = 100 * half_width(both.u, both.dof)
        rows.append(Row("both together", 100 * both.x - half, 100 * both.x, 100 * both.x + half))
    unseen = None if found.not_detectable_below is None else 100 * found.not_detectable_below
    limit = None if at_limit is None else 100 * at_limit
    ends = [row.high for row in rows] + [x for x in (unseen, limit) if x is not None]
    said = [f"{row.method}: {max(row.low, 0):.1f} to {row.high:.1f} %" for row in rows]
    if limit is not None:
        said.append(f"the limit is reached at {limit:.1f} %")
    if unseen is not None:
        said.append(f"not detectable below {unseen:.1f} %")
    text = f"Share of the other oil. {'; '.join(said)}." if said else "No share is known."
    return SharePicture(tuple(rows), unseen, limit, min(100.0, 1.15 * max([*ends, 5.0])), text)
