"""What one method says about foreign oil in the grease, and what several say together."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from fluidapp.calc.budget import Line
from fluidapp.errors import OutOfRange

Method = Literal["level rise", "gearbox ceiling", "drained free oil", "density", "thickener", "penetration", "viscosity", "tracer"]
Kind = Literal["two_sided", "upper", "ceiling", "lower"]

RHO_OIL, U_RHO_OIL = 880.0, 15.0  # kg/m3, typical, editable (from memory)
RHO_GREASE, U_RHO_GREASE = 900.0, 30.0  # kg/m3, typical, editable: mineral greases 850 to 950 (trade texts)


LIGHTEST, HEAVIEST = 300.0, 3000.0  # kg/m3: no oil and no grease lies beyond (own, wide)


def likely(name: str, rho: float | None, typical: float = math.nan) -> float:
    """``rho`` [kg/m3], or ``typical`` where none was entered; OutOfRange for one that no oil or grease has."""
    if rho is None:
        return typical
    if not LIGHTEST <= rho <= HEAVIEST:
        raise OutOfRange(name, rho, LIGHTEST, HEAVIEST, "kg/m3", "Enter kg per m3, such as 900.")
    return rho


@dataclass(frozen=True, slots=True)
class Estimate:
    """The mass share ``w`` of foreign oil in the grease by one method, with its standard uncertainty ``u``.

    w, u : 0 to 1, not clipped (a small negative value is a fair reading); None where the method refuses. dof : of u.
    kind : "two_sided" may be averaged; "upper", "ceiling" and "lower" are bounds and never are.
    refused_reason : why there is no share, "" where there is one.
    volume_l, u_l, dof_l : litres of oil behind it, where the method gives litres (they may stand although the share is refused).
    phi, u_phi : volume share, where known. word : what the litres say, in words. budget : of the litres.
    """

    method: Method
    w: float | None
    u: float | None
    kind: Kind = "two_sided"
    refused_reason: str = ""
    dof: float = math.inf
    volume_l: float | None = None
    u_l: float | None = None
    dof_l: float = math.inf
    phi: float | None = None
    u_phi: float | None = None
    word: str = ""
    budget: tuple[Line, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def refused(self) -> bool:
        """True where the method gives no share (or, for a ceiling, no litres)."""
        return bool(self.refused_reason)


@dataclass(frozen=True, slots=True)
class Combined:
    """All methods together: ``w`` ± ``u``, None where they disagree or nothing is known.

    chi2, dof : their disagreement and its degrees of freedom (number averaged less one). agree : None where one method alone,
    or none, has spoken. u_dof : degrees of freedom of u. used : the methods that were averaged.
    """

    w: float | None
    u: float | None
    chi2: float
    dof: int
    agree: bool | None
    remarks: tuple[str, ...]
    u_dof: float = math.inf
    used: tuple[Method, ...] = ()


def refused(method: Method, reason: str, kind: Kind = "two_sided") -> Estimate:
    """An estimate that gives no share, for ``reason``."""
    return Estimate(method, None, None, kind, reason)


def refused_but(told: Estimate, reason: str) -> Estimate:
    """``told`` without its share, for ``reason``; its litres and volume share stand."""
    return replace(told, w=None, u=None, refused_reason=reason)


def mass_share(
    phi: float,
    u_phi: float,
    rho_oil: float = RHO_OIL,
    rho_grease: float = RHO_GREASE,
    u_rho_oil: float = U_RHO_OIL,
    u_rho_grease: float = U_RHO_GREASE,
) -> tuple[float, float]:
    """Mass share and its standard uncertainty from the volume share ``phi`` ± ``u_phi`` of oil in grease.

    rho_oil, rho_grease : densities at one temperature, 300 to 3,000 kg/m3, with standard uncertainties. OutOfRange otherwise.
    Formula: w = phi ro / (phi ro + (1 - phi) rg), dw/dphi = ro rg / (phi ro + (1 - phi) rg)^2. Own balance: masses add up,
    and so do volumes (a mixture that shrinks is not covered).

    Equal densities make both shares equal:
    >>> mass_share(0.2, 0.03, 900, 900, 0, 0)
    (0.2, 0.03)
    """
    for name, rho in (("density of the oil", rho_oil), ("density of the grease", rho_grease)):
        likely(name, rho)
    mix = phi * rho_oil + (1.0 - phi) * rho_grease
    w = phi * rho_oil / mix
    slope = phi * (1.0 - phi) / mix**2
    return w, math.sqrt(
        (rho_oil * rho_grease / mix**2 * u_phi) ** 2 + (slope * rho_grease * u_rho_oil) ** 2 + (slope * rho_oil * u_rho_grease) ** 2
    )
