"""Two readings of one compartment, and what it did in between, for the oil balance."""

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc import bath as baths
from fluidapp.calc import oil
from fluidapp.calc.balance import Account, Change
from fluidapp.calc.bath import Survey, Weighed
from fluidapp.calc.bath.estimate import RHO_GREASE, U_RHO_GREASE, likely
from fluidapp.calc.bath.survey import fits
from fluidapp.calc.budget import Line
from fluidapp.calc.decision import CLAIM, quadrature
from fluidapp.calc.level import Volume, convention, volume
from fluidapp.calc.limits import zero_or_more
from fluidapp.errors import CannotAnswer
from fluidapp.model import Bath, Doubts, Machine, Reading
from fluidapp.model.holds import FILLS, check_litres

POURED_SHARE = 0.02  # standard uncertainty of an amount poured or drained, as a share of it: typical (common practice, no source)
SAME_STATE = {"slope_unmeasured_deg": 0.3, "posture_share": 0.01, "temp_unmeasured_k": 3.5}  # what a repeat leaves open: typical, ours

HINT_DEPTH = "Read four or more opposite places round the ring."


def repeated(machine: Machine) -> Doubts:
    """The machine's doubts where place, posture and warmth of the oil (within 5 K) are the same as the time before."""
    own = machine.doubts
    return own.model_copy(update={name: min(getattr(own, name), u) for name, u in SAME_STATE.items()})


def poured_doubt(amount_l: float) -> float:
    """Standard uncertainty [L] of ``amount_l`` poured or drained from marked pails: 2 % of it, typical, editable."""
    return POURED_SHARE * abs(amount_l)


def oil_change(
    machine: Machine,
    key: str,
    before: Reading,
    after: Reading,
    *,
    rho15: float = oil.RHO15_TYPICAL,
    same_state: bool = False,
    poured_l: float = 0.0,
    drained_l: float = 0.0,
    u_poured_l: float | None = None,
    u_drained_l: float | None = None,
) -> tuple[Change, tuple[Line, ...]]:
    """What the compartment ``key`` did between two readings, in litres at 15 °C, and where its ± comes from.

    before, after : one reading each, both exact. rho15 : density of the oil [kg/m3]. same_state : place, posture and warmth of the
    oil (within 5 K) were the same both times, so that most of what was not measured cancels. poured_l, drained_l : as measured,
    taken as litres at 15 °C; without a u of their own 2 % (typical).
    CannotAnswer for a one-sided reading; OutOfRange for more poured or drained than ten fills; else as
    :func:`fluidapp.calc.level.volume`.

    Formula: dV = (V2 - V1) VCF(mark); u^2 = (r dV)^2 + the other lines of both budgets, where r is the tank's own doubt, which
    both readings share and which therefore counts on the difference alone. VCF is 1 where the marks' temperature is not known
    (at most 4 % of the difference). Source of the combination: JCGM 100:2008, 5.1.2 (from memory).
    """
    part = machine.compartment(key)
    for field, litres in (("poured", poured_l), ("drained", drained_l)):
        check_litres(part, litres, field, FILLS)
    doubts = repeated(machine) if same_state else None
    band = convention(part, after.gauge)  # both by the same marks, however warm the oil was
    then, now = (volume(machine, key, reading, rho15=rho15, doubts=doubts, band=band) for reading in (before, after))
    for name, found in (("before", then), ("now", now)):
        if found.bound != "exact":
            raise CannotAnswer(f"{part.label} {name}", "no change follows from a one-sided reading", "Pour until the gauge shows a level.")
    cold = 1.0 if band is None or band.mark_c is None else float(oil.vcf(rho15, band.mark_c))
    change, lines = _difference(then, now, cold)
    u, dof = quadrature((line.u_l, line.dof) for line in lines)
    u_in = poured_doubt(poured_l) if u_poured_l is None else u_poured_l
    u_out = poured_doubt(drained_l) if u_drained_l is None else u_drained_l
    return Change(part.label, change, u, dof, poured_l, u_in, drained_l, u_out), lines


def seeping(change: Change, known_l: float, u_known_l: float | None = None) -> Change:
    """``change`` with a known seepage counted as gone: ``known_l`` [L, >= 0] ± 20 % (typical) where nothing better is known.

    OutOfRange below 0. Common practice, no source.
    """
    zero_or_more("known seepage", known_l, "L", "Enter the litres in between, 0 or more.")
    u = 0.2 * known_l if u_known_l is None else u_known_l
    return replace(change, drained_l=change.drained_l + known_l, u_drained_l=math.hypot(change.u_drained_l, u))


def bath_change(
    bath: Bath,
    before: Survey | None,
    after: Survey,
    *,
    added: Weighed | None = None,
    removed: Weighed | None = None,
    rho_grease: float | None = None,
) -> tuple[Change, tuple[Line, ...]]:
    """What the level of a grease bath did between two surveys, in litres; grease put in and taken out counts as poured and drained.

    before : None = as last packed, to ``bath.packed_depth_mm``. rho_grease : kg/m3, None = typical. CannotAnswer without a depth
    before, OutOfRange for one that does not fit in. Formula: dV = A (h2 - h1), u^2 = A^2 (u1^2 + u2^2) + (dh uA)^2. Own balance.
    """
    if before is None and bath.packed_depth_mm is None:
        raise CannotAnswer(bath.label, "no depth before is known", "Enter one, or the depth as last packed on the machine.")
    fits(bath, after, before)
    h1, u1, dof1 = bath.packed_depth_mm or 0.0, bath.u_packed_mm, math.inf
    if before is not None:
        h1, u1, dof1 = before.mean_mm, before.u_mm, before.dof
    ground = baths.area(bath)
    rise = after.mean_mm - h1
    lines = (
        Line("depth before", ground.l_per_mm * u1, before is not None, HINT_DEPTH, dof1),
        Line("depth now", ground.l_per_mm * after.u_mm, True, HINT_DEPTH, after.dof),
        Line("area", abs(rise) * ground.u, True, "Measure its litres per mm by filling.", ground.dof),
    )
    u, dof = quadrature((line.u_l, line.dof) for line in lines)
    rho = likely("density of the grease", rho_grease, RHO_GREASE)
    (put, u_put), (out, u_out) = (_litres(amount or Weighed(), rho, rho_grease is None) for amount in (added, removed))
    return Change(bath.label, ground.l_per_mm * rise, u, dof, put, u_put, out, u_out), tuple(line for line in lines if line.u_l > 0)


def ring_purge(machine: Machine, hours: float, rho_grease: float | None = None) -> tuple[float, float] | None:
    """Ring grease that may have run into the bath in ``hours`` of work [L, u]; None where no ring with a dose is entered.

    Dose, positions and interval are the grease point's own; see :func:`fluidapp.calc.bath.purge_l` for formula and errors.
    """
    for point in machine.grease_points:
        if point.kind == "slew race" and point.dose_g is not None:
            places = point.ring.positions * len(point.ring.nipples_deg) if point.ring else 1
            rho = likely("density of the grease", rho_grease, RHO_GREASE)
            return baths.purge_l(point.dose_g / rho * 1e3, places, point.limit_h, hours)
    return None


def budget(changes: Sequence[tuple[Change, Sequence[Line]]]) -> list[Line]:
    """All lines behind a balance, named by their compartment, largest first; pours and drains are lines too."""
    found = []
    for change, lines in changes:
        found += [replace(line, name=f"{change.node}: {line.name}") for line in lines]
        moved = math.hypot(change.u_poured_l, change.u_drained_l)
        if moved > 0:
            found.append(Line(f"{change.node}: poured and drained", moved, True, "Measure what goes in and out with a marked pail."))
    return sorted(found, key=lambda line: -line.u_l)


def by_cause(changes: Sequence[tuple[Change, Sequence[Line]]]) -> tuple[Line, ...]:
    """The lines behind a balance summed up over its compartments: one for the readings, one for the oil temperature, and so on."""
    every = [line for _, lines in changes for line in lines]
    found = []
    for name in dict.fromkeys(line.name for line in every):
        same = [line for line in every if line.name == name]
        u, dof = quadrature((line.u_l, line.dof) for line in same)
        found.append(Line(name, u, all(line.measured for line in same), same[0].hint, dof))
    return tuple(found)


def one_thermometer(changes: Sequence[tuple[Change, Sequence[Line]]]) -> NDArray[np.float64]:
    """Correlation of the level changes where one thermometer told the warmth of every compartment, for :func:`account` and the stories.

    What was measured with it counts as wholly shared, all else as independent: r_ij = t_i t_j/(u_i u_j), t the line "oil temperature".
    Source: JCGM 100:2008, F.1.2.3 (from memory). A stick's zero needs nothing here: it cancels between its own two readings.
    """
    total = np.array([change.u_l for change, _ in changes])
    warmth = np.array([math.sqrt(sum(x.u_l**2 for x in lines if x.name == "oil temperature" and x.measured)) for _, lines in changes])
    share = np.minimum(warmth / total, 1.0)
    found = np.outer(share, share)
    np.fill_diagonal(found, 1.0)
    return found


def look_first(machine: Machine, account: Account, read: Collection[str]) -> str | None:
    """What to do before anybody pours, where a tank has lost more than it usually takes; None where it has not.

    read : keys of the compartments and baths that are in ``account``. A loss counts beyond 1.645 u, over the machine's usual
    top-up where one is entered. Common practice, no source.
    """
    for part in machine.compartments:
        line = next((line for line in account.lines if line.node == part.label), None)
        if part.kind != "hydraulic tank" or line is None:
            continue
        usual = part.usual_topup_l or 0.0
        if line.gone_l - CLAIM * line.u_l <= usual:
            continue
        unread = [c.label for c in machine.compartments if c.kind in ("slewing gearbox", "final drive") and c.key not in read]
        more = "More is missing than usual" if usual else "Oil is missing"
        if unread:
            return f"{more}: read {_listed(unread)} and take samples first, before you pour."
        return f"{more}: take samples of the gear cases first, before you pour."
    return None


def not_read(machine: Machine, read: Collection[str]) -> list[str]:
    """Labels of the oil compartments and baths that the balance leaves out."""
    parts = [(c.key, c.label) for c in machine.compartments if c.kind not in ("coolant", "fuel tank")]
    return [label for key, label in [*parts, *((b.key, b.label) for b in machine.baths)] if key not in read]


def _difference(before: Volume, after: Volume, cold: float) -> tuple[float, tuple[Line, ...]]:
    """Change and its budget, line by line, brought to 15 °C by ``cold``; the tank's own doubt counts on the change."""
    change = (after.value_l - before.value_l) * cold
    found = []
    for name in dict.fromkeys(line.name for one in (after, before) for line in one.budget):
        both = [line for one in (before, after) for line in one.budget if line.name == name]
        u, dof = quadrature((line.u_l * cold, line.dof) for line in both)
        if name == "tank":
            u, dof = max(before.tank_rel, after.tank_rel) * abs(change), both[-1].dof
        if u > 0:
            measured = all(line.measured for line in both)
            hint = next((line.hint for line in both if not line.measured), both[-1].hint)
            found.append(Line(name, u, measured, hint, dof))
    return change, tuple(found)


def _litres(amount: Weighed, rho: float, typical: bool) -> tuple[float, float]:
    litres, u = amount.litres(rho)
    return litres, math.hypot(u, litres * U_RHO_GREASE / rho) if typical else u


def _listed(names: list[str]) -> str:
    low = [name[:1].lower() + name[1:] for name in names]
    return low[0] if len(low) == 1 else f"{', '.join(low[:-1])} and {low[-1]}"
