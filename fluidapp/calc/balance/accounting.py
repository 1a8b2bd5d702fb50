"""The first balance between two sets of readings: tank lost, less gearbox gained, less bath gained, is not accounted for."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.cautions import TANK
from fluidapp.calc.decision import Alone, Closing, alone, closing, quadrature, smallest_seen
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput, OutOfRange


@dataclass(frozen=True, slots=True)
class Change:
    """What one compartment did between two readings, in litres at one temperature.

    change_l : level after less level before, > 0 where it rose. u_l, dof : its standard uncertainty and degrees of freedom.
    poured_l, drained_l : what was written down as put in and taken out between the readings, each with its u.
    """

    node: str
    change_l: float
    u_l: float
    dof: float = math.inf
    poured_l: float = 0.0
    u_poured_l: float = 0.0
    drained_l: float = 0.0
    u_drained_l: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.change_l):
            raise BadInput(f"{self.node}: change", self.change_l, "Enter a finite number of litres.")
        if not (self.u_l > 0 and math.isfinite(self.u_l)):
            raise BadInput(f"{self.node}: standard uncertainty", self.u_l, "No reading is exact: enter a number above 0.")
        for what, value in (("poured", self.poured_l), ("drained", self.drained_l)):
            if not (value >= 0 and math.isfinite(value)):
                raise OutOfRange(
                    f"{self.node}: {what}", value, 0.0, None, "L", "Enter what was put in as poured, what was taken out as drained."
                )
        for what, value in (("u of poured", self.u_poured_l), ("u of drained", self.u_drained_l)):
            zero_or_more(f"{self.node}: {what}", value, "L", "A standard uncertainty is 0 or above.")


@dataclass(frozen=True, slots=True)
class Line:
    """One compartment of the balance. ``gone_l`` = poured - drained - change: > 0 left it, < 0 came into it by itself."""

    node: str
    change_l: float
    poured_l: float
    drained_l: float
    gone_l: float
    u_l: float
    dof: float
    word: Alone

    @property
    def lost_l(self) -> float:
        """Litres by which its level fell between the readings, 0 where it rose."""
        return max(0.0, -self.change_l)

    @property
    def gained_l(self) -> float:
        """Litres by which its level rose between the readings, 0 where it fell."""
        return max(0.0, self.change_l)


@dataclass(frozen=True, slots=True)
class Account:
    """The balance over all compartments that were read.

    unaccounted_l, u_l, dof : lost + poured - gained - drained, its standard uncertainty and degrees of freedom.
    verdict : "balanced", "not clear" or "does not close"; with one compartment alone "loss", "no clear change" or "gain".
    sees_l : the smallest loss that these readings would have shown 95 % of the time.
    """

    lines: tuple[Line, ...]
    lost_l: float
    gained_l: float
    poured_l: float
    drained_l: float
    unaccounted_l: float
    u_l: float
    dof: float
    verdict: Closing | Alone
    sees_l: float
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = TANK

    @property
    def changes_l(self) -> NDArray[np.float64]:
        """What each compartment did by itself: change - poured + drained [L], in the order of ``lines``."""
        return np.array([-line.gone_l for line in self.lines])


def level_change(
    node: str,
    area_l_per_mm: float,
    before_mm: float,
    after_mm: float,
    u_mm: float,
    u_area_percent: float = 0.0,
    *,
    poured_l: float = 0.0,
    u_poured_l: float = 0.0,
    drained_l: float = 0.0,
    u_drained_l: float = 0.0,
) -> Change:
    """Change of a compartment with upright walls from two readings of one gauge.

    area_l_per_mm : free area [L/mm, which is m2], > 0. before_mm, after_mm : readings [mm], larger = fuller.
    u_mm : standard uncertainty of one reading [mm], > 0. u_area_percent : of the area [%], 1 sigma.
    OutOfRange where an area or a doubt is not above 0.
    Formula: change = A (after - before); u^2 = 2 (A u_mm)^2 + (r change)^2. Common practice, no source. A zero offset of the
    gauge cancels.

    >>> tank = level_change("tank", 0.28, 300, 255, 5, 5)
    >>> round(tank.change_l, 2), round(tank.u_l, 2)
    (-12.6, 2.08)
    """
    above_zero(f"{node}: area", area_l_per_mm, "L/mm", "Enter the litres per mm, above 0.")
    above_zero(f"{node}: doubt of one reading", u_mm, "mm", "No reading is exact: enter a number above 0.")
    zero_or_more(f"{node}: doubt of the area", u_area_percent, "%")
    change = area_l_per_mm * (after_mm - before_mm)
    u = math.sqrt(2.0 * (area_l_per_mm * u_mm) ** 2 + (u_area_percent / 100.0 * change) ** 2)
    return Change(node, change, u, math.inf, poured_l, u_poured_l, drained_l, u_drained_l)


def change_between(
    node: str,
    before: tuple[float, float, float],
    after: tuple[float, float, float],
    *,
    poured_l: float = 0.0,
    u_poured_l: float = 0.0,
    drained_l: float = 0.0,
    u_drained_l: float = 0.0,
) -> Change:
    """Change of a compartment from two volumes, each (litres, standard uncertainty, degrees of freedom), taken as independent.

    What both share (the tank's own litres per mm, the gauge's zero) is counted twice here, on the safe side.

    >>> change_between("tank", (200.0, 0.6, float("inf")), (194.0, 0.8, float("inf"))).u_l
    1.0
    """
    u, dof = quadrature([(before[1], before[2]), (after[1], after[2])])
    return Change(node, after[0] - before[0], u, dof, poured_l, u_poured_l, drained_l, u_drained_l)


def account(changes: Sequence[Change], correlation: NDArray[np.float64] | None = None) -> Account:
    """What is not accounted for after everything read, poured and drained has been summed up.

    changes : one a compartment, in litres at one temperature (15 °C, else say at which). correlation : of the level changes,
    k x k, where they share a doubt (one thermometer for two volumes); without it they are independent.
    BadInput for no compartment, one that is named twice, or a correlation matrix that is none.

    Formula: lost + poured - gained - drained; u by root sum of squares (GUM equation 13 with a correlation), degrees of
    freedom by GUM G.2b. Words: :func:`fluidapp.calc.decision.closing`, for one compartment
    :func:`fluidapp.calc.decision.alone`. Common practice, no source.

    >>> both = account([level_change("tank", 0.28, 300, 255, 5, 5), level_change("gearbox", 0.030, 100, 155, 3, 10)])
    >>> round(both.unaccounted_l, 2), round(both.u_l, 2), both.verdict
    (10.95, 2.09, 'does not close')
    """
    if not changes:
        raise BadInput("compartments", 0, "Enter the readings of at least one compartment.")
    names = [c.node for c in changes]
    for name in names:
        if names.count(name) > 1:
            raise BadInput("compartment", name, "It is named twice; sum up its readings first.")
    lines = tuple(_line(c) for c in changes)
    missing = sum(line.gone_l for line in lines)
    u, dof = quadrature((line.u_l, line.dof) for line in lines)
    if correlation is not None:
        u = _correlated(np.array([c.u_l for c in changes]), correlation, u)
    verdict: Closing | Alone = closing(missing, u) if len(lines) > 1 else alone(-missing, u)
    return Account(
        lines=lines,
        lost_l=sum(line.lost_l for line in lines),
        gained_l=sum(line.gained_l for line in lines),
        poured_l=sum(line.poured_l for line in lines),
        drained_l=sum(line.drained_l for line in lines),
        unaccounted_l=missing,
        u_l=u,
        dof=dof,
        verdict=verdict,
        sees_l=smallest_seen(u),
        remarks=_remarks(lines, missing, u, verdict),
    )


def _line(change: Change) -> Line:
    u, dof = quadrature([(change.u_l, change.dof), (change.u_poured_l, math.inf), (change.u_drained_l, math.inf)])
    gone = change.poured_l - change.drained_l - change.change_l
    return Line(change.node, change.change_l, change.poured_l, change.drained_l, gone, u, dof, alone(-gone, u))


def _correlated(u: NDArray[np.float64], correlation: NDArray[np.float64], u_independent: float) -> float:
    r = np.asarray(correlation, dtype=np.float64)
    if r.shape != (u.size, u.size) or not np.allclose(r, r.T) or not np.allclose(np.diag(r), 1.0) or not np.all(np.abs(r) <= 1.0):
        raise BadInput("correlation", str(r.shape), "It must be symmetric, k x k, with 1 on its diagonal and nothing beyond ±1.")
    extra = float(u @ (r - np.eye(u.size)) @ u)
    return math.sqrt(max(0.0, u_independent**2 + extra))


def _remarks(lines: tuple[Line, ...], missing: float, u: float, verdict: Closing | Alone) -> tuple[str, ...]:
    said: list[str] = []
    if len(lines) == 1:
        said.append(f"Only {lines[0].node} was read: a loss there is no proof that oil left the machine. Read the other compartments too.")
    said += [
        f"{line.node} has gained by itself: any gain is abnormal. Sample it before anything is poured or drained."
        for line in lines
        if line.word == "gain"
    ]
    if verdict == "does not close" and missing > 0:
        said.append(
            "More was lost than was found: look for a compartment that was not read, oil on the ground, or an entry that is missing."
        )
    if verdict == "does not close" and missing < 0:
        said.append("More was found than was lost: look for water, a pour that nobody wrote down, or a reading that is wrong.")
    if verdict == "not clear":
        said.append("Too near the limit to say: read again in the same posture and at the same temperature.")
    if verdict in ("balanced", "no clear change"):
        said.append("A loss smaller than the smallest one that could have been seen may still be there.")
    return tuple(said)
