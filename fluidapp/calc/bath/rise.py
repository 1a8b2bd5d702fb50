"""First method: what came into the bath, from the rise of its level."""

import math
from collections.abc import Sequence

from fluidapp.calc.bath.estimate import RHO_GREASE, RHO_OIL, U_RHO_GREASE, U_RHO_OIL, Estimate, mass_share, refused, refused_but
from fluidapp.calc.budget import Line
from fluidapp.calc.decision import CLAIM, alone, quadrature
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput, OutOfRange

Depth = float | Sequence[float] | None
_HINTS = {
    "depth now": "read at four or more opposite places",
    "depth before": "read at four or more opposite places, or look up the depth as packed",
    "area": "measure the litres per mm by filling",
    "grease added": "weigh what is put in",
    "grease removed": "weigh what is taken out",
    "other": "read at the same temperature as before",
}


def level_rise(
    area_l_per_mm: float,
    before_mm: Depth,
    after_mm: Depth,
    u_mm: float,
    added_l: float = 0.0,
    removed_l: float = 0.0,
    *,
    u_before_mm: float | None = None,
    dof_before: float = math.inf,
    dof_after: float = math.inf,
    u_area_l_per_mm: float = 0.0,
    u_added_l: float = 0.0,
    u_removed_l: float = 0.0,
    other_l: float = 0.0,
    u_other_l: float = 0.0,
    phi_before: float | None = 0.0,
    u_phi_before: float = 0.0,
    phi_removed: float | None = None,
    water: bool = False,
    rho_oil: float = RHO_OIL,
    rho_grease: float = RHO_GREASE,
    u_rho_oil: float = U_RHO_OIL,
    u_rho_grease: float = U_RHO_GREASE,
) -> Estimate:
    """Oil that came into the bath between two depths [L ±], and the share of the grease that it makes.

    area_l_per_mm : free area, > 0. before_mm, after_mm : mean depth, or the depths of one survey, [mm, >= 0]; None = not read.
    u_mm : standard uncertainty of one depth as given [mm, > 0]: of each mean, or of each reading of a list (which is averaged);
    u_before_mm : the same for before_mm, where it differs (a depth as packed). dof_before, dof_after : degrees of freedom.
    added_l, removed_l : grease put in and taken out in between [L, >= 0]; other_l : what swelled the bath otherwise, such as
    heat [L, either sign]; each with its u. phi_before : volume share of oil in it before, 0 after a clean start, None = unknown;
    phi_removed : of what was taken out, None = somewhere between before and now. water : True where water was seen.
    rho_oil, rho_grease : kg/m3.

    The method refuses (``refused_reason``, no share) where no depth, no depth before or no share before is known, where the
    bath is empty now, where water was seen, and where the readings ask for more oil than the bath holds. The litres stand where
    both depths do. OutOfRange and BadInput for numbers that cannot be.

    Formula: V_in = A (h2 - h1) - added + removed; phi2 = (phi1 A h1 + V_in - phi_removed removed) / (A h2); doubts by the law of
    propagation (JCGM 100:2008, equation 10, from memory), mass share by :func:`fluidapp.calc.bath.mass_share`. Own balance.
    A rise below 1.645 u is worded "no clear rise"; its value stays, even below 0, since leaving it out would bias averages.

    0.540 L/mm, 20 to 30 mm at four places, 0.5 ± 0.1 L added, area ± 3 % gives 4.90 ± 0.79 L, 1 sigma (computed by us):
    >>> rise = level_rise(0.53996, 20.0, 30.0, 1.0, 0.5, u_added_l=0.1, u_area_l_per_mm=0.03 * 0.53996)
    >>> round(rise.volume_l, 2), round(rise.u_l, 2)
    (4.9, 0.79)
    """
    a = above_zero("area", area_l_per_mm, "L/mm")
    for name, value in (("grease added", added_l), ("grease removed", removed_l)):
        zero_or_more(name, value, "L")
    doubts = {"area": u_area_l_per_mm, "grease added": u_added_l, "grease removed": u_removed_l, "other": u_other_l}
    for name, value in doubts.items():
        zero_or_more(f"doubt of {name}", value, "L/mm" if name == "area" else "L")
    if not math.isfinite(other_l):
        raise BadInput("other change", other_l, "Enter litres.")
    if after_mm is None:
        return refused("level rise", "no depth was read now")
    h2, u2 = _mean("depth now", after_mm, u_mm)
    if before_mm is None:
        return refused("level rise", "neither an earlier depth nor the depth as last packed is known")
    h1, u1 = _mean("depth before", before_mm, u_mm if u_before_mm is None else u_before_mm)

    v_in = a * (h2 - h1) - added_l - other_l + removed_l
    parts = {
        "depth now": (a * u2, dof_after),
        "depth before": (a * u1, dof_before),
        "area": (abs(h2 - h1) * u_area_l_per_mm, math.inf),
        "grease added": (u_added_l, math.inf),
        "grease removed": (u_removed_l, math.inf),
        "other": (u_other_l, math.inf),
    }
    u_in, dof_in = quadrature(parts.values())
    word, remarks = _words(v_in, u_in)
    told = Estimate(
        "level rise",
        None,
        None,
        volume_l=v_in,
        u_l=u_in,
        dof_l=dof_in,
        word=word,
        budget=tuple(Line(n, u, True, _HINTS[n], dof) for n, (u, dof) in sorted(parts.items(), key=lambda p: -p[1][0]) if u > 0),
        remarks=remarks,
    )
    if water:
        return refused_but(told, "water was seen: what came in is not oil alone")
    if phi_before is None:
        return refused_but(told, "the share of oil at the earlier depth is unknown, and so is the depth as last packed")
    if h2 == 0:
        return refused_but(told, "the bath is empty now")
    for name, share in (("share before", phi_before), ("share of what was removed", phi_removed or 0.0)):
        if not 0.0 <= share <= 1.0:
            raise OutOfRange(name, share, 0.0, 1.0, "", "Enter a share between 0 and 1.")

    v1, v2 = a * h1, a * h2
    u_removed_share = 0.0
    if phi_removed is None:  # half way between then and now, anywhere in between
        phi = (phi_before * v1 + v_in - removed_l * phi_before / 2.0) / (v2 + removed_l / 2.0)
        phi_removed = (phi_before + phi) / 2.0
        u_removed_share = abs(phi - phi_before) / math.sqrt(12.0)
    else:
        phi = (phi_before * v1 + v_in - phi_removed * removed_l) / v2
    by = [
        ((1.0 - phi) / h2 * u2, dof_after),
        ((phi_before - 1.0) / h2 * u1, dof_before),
        ((added_l + other_l - removed_l + phi_removed * removed_l) / (a * v2) * u_area_l_per_mm, math.inf),
        (math.hypot(u_added_l, u_other_l) / v2, math.inf),
        ((1.0 - phi_removed) / v2 * u_removed_l, math.inf),
        (h1 / h2 * u_phi_before, math.inf),
        (removed_l / v2 * u_removed_share, math.inf),
    ]
    u_phi, dof_phi = quadrature((abs(u), dof) for u, dof in by)
    if phi - CLAIM * u_phi > 1.0:
        return refused_but(told, "the readings ask for more oil than the bath holds: a depth or an amount is wrong")
    w, u_w = mass_share(phi, u_phi, rho_oil, rho_grease, u_rho_oil, u_rho_grease)
    return Estimate(
        "level rise",
        w,
        u_w,
        dof=dof_phi,
        volume_l=v_in,
        u_l=u_in,
        dof_l=dof_in,
        phi=phi,
        u_phi=u_phi,
        word=word,
        budget=told.budget,
        remarks=remarks,
    )


def _words(v_in: float, u_in: float) -> tuple[str, tuple[str, ...]]:
    if alone(v_in, u_in) == "gain":
        return "clear rise", ()
    if alone(v_in, u_in) == "loss":
        return "no clear rise", ("The level has fallen: look for grease on the gearbox stick, at the seals and at the drain.",)
    return "no clear rise", ()


def _mean(name: str, depth: float | Sequence[float], u_mm: float) -> tuple[float, float]:
    above_zero(f"doubt of {name}", u_mm, "mm")
    depths = [float(depth)] if isinstance(depth, (int, float)) else [float(d) for d in depth]
    if not depths:
        raise BadInput(name, "none", "Enter at least one depth, or leave it out.")
    for d in depths:
        zero_or_more(name, d, "mm")
    return math.fsum(depths) / len(depths), u_mm / math.sqrt(len(depths))
