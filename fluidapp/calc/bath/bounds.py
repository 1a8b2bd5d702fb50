"""What bounds the oil in the bath from outside: what tank and gearboxes could have given, and the free oil at the drain."""

import math
from collections.abc import Sequence

from fluidapp.calc.bath.estimate import RHO_GREASE, RHO_OIL, Estimate, likely, refused
from fluidapp.calc.decision import quadrature
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import BadInput

Litres = tuple[float, float]


def gearbox_ceiling(
    tank_lost_l: Litres | None, gearboxes_lost_l: Sequence[Litres | None], outside_l: Litres = (0.0, 0.0), elsewhere_l: Litres = (0.0, 0.0)
) -> Estimate:
    """The most oil that can have come into the bath: what the linked gearboxes and the tank lost and nobody saw elsewhere.

    tank_lost_l : (litres, standard uncertainty) that the tank lost by itself, poured - drained - change; None = not read.
    gearboxes_lost_l : the same for every gearbox linked to this bath, None = not read. outside_l : seen to leak out;
    elsewhere_l : of the tank's loss, found in other compartments. [L at one temperature]
    Refuses where tank or a linked gearbox was not read: then it is no ceiling. BadInput where no gearbox is linked.
    Formula: V_max = max(0, sum of losses - outside - elsewhere), doubts by root sum of squares. Own balance. Never averaged.

    >>> most = gearbox_ceiling((5.0, 1.2), [(-1.0, 0.5)], outside_l=(0.5, 0.0))
    >>> most.volume_l, round(most.u_l, 1)
    (3.5, 1.3)
    """
    if not gearboxes_lost_l:
        raise BadInput("gearboxes", "none", "Name the gearboxes that can leak into this bath.")
    if tank_lost_l is None:
        return refused("gearbox ceiling", "the tank was not read: without it there is no ceiling", "ceiling")
    if any(g is None for g in gearboxes_lost_l):
        return refused("gearbox ceiling", "a gearbox linked to this bath was not read: without it there is no ceiling", "ceiling")
    parts = [("tank", tank_lost_l, 1.0), ("outside", outside_l, -1.0), ("elsewhere", elsewhere_l, -1.0)]
    parts += [("gearbox", g, 1.0) for g in gearboxes_lost_l if g is not None]
    for name, (litres, u), _ in parts:
        if not (math.isfinite(litres) and u >= 0 and math.isfinite(u)):
            raise BadInput(f"litres of {name}", litres, "Enter litres, and a doubt of 0 or more.")
    total = math.fsum(sign * litres for _, (litres, _), sign in parts)
    u, dof = quadrature((u, math.inf) for _, (_, u), _ in parts)
    return Estimate("gearbox ceiling", None, None, "ceiling", dof=dof, volume_l=max(0.0, total), u_l=u, dof_l=dof)


def drained_free_oil(
    caught_l: Litres | None, grease_l: Litres | None, rho_oil: float = RHO_OIL, rho_grease: float = RHO_GREASE
) -> Estimate:
    """The least oil that was in the bath: what ran out at its drain. Oil still bound in the grease is not in it.

    caught_l : (litres of free oil, standard uncertainty); grease_l : grease in the bath before draining; None = not measured.
    densities : 300 to 3,000 kg/m3. OutOfRange otherwise, and for litres below 0.
    Formula: w_min = ro V / (ro V + rg V_grease), doubts by the law of propagation. Own balance. Never averaged.

    >>> round(drained_free_oil((1.0, 0.05), (9.0, 0.5), 900, 900).w, 2)
    0.1
    """
    if caught_l is None or grease_l is None:
        return refused("drained free oil", "the oil caught and the grease in the bath must both be measured", "lower")
    for name, (litres, u) in (("free oil", caught_l), ("grease", grease_l)):
        for value in (litres, u):
            zero_or_more(name, value, "L")
    for name, rho in (("density of the oil", rho_oil), ("density of the grease", rho_grease)):
        likely(name, rho)
    oil, grease = rho_oil * caught_l[0], rho_grease * grease_l[0]
    if oil + grease == 0:
        return refused("drained free oil", "the bath was empty", "lower")
    w = oil / (oil + grease)
    u = math.hypot((1.0 - w) * rho_oil * caught_l[1], w * rho_grease * grease_l[1]) / (oil + grease)
    return Estimate("drained free oil", w, u, "lower", volume_l=caught_l[0], u_l=caught_l[1])
