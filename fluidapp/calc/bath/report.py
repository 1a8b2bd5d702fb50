"""All that is known of the oil in a bath together: level rise, bounds from outside, and what a laboratory found."""

from collections.abc import Sequence
from dataclasses import dataclass

from fluidapp.calc.bath.answer import BathCheck
from fluidapp.calc.bath.bounds import drained_free_oil, gearbox_ceiling
from fluidapp.calc.bath.combining import combine
from fluidapp.calc.bath.estimate import RHO_GREASE, RHO_OIL, Combined, Estimate
from fluidapp.calc.bath.lab import penetration, thickener, tracer, viscosity

# standard uncertainties where a report gives none: typical, editable (common practice, no source)
U_TRACER, U_NU_USED, U_NU_FRESH, U_THICKENER, U_PENETRATION = 0.08, 0.03, 0.02, 0.05, 5.0  # shares of the value; penetration in 0.1 mm
U_TANK_L, U_GEARBOX_L, U_OUTSIDE, U_CAUGHT = 2.0, 0.5, 0.2, 0.05  # L, L, shares of the value


@dataclass(frozen=True, slots=True)
class LabReport:
    """What a laboratory found; None = not in the report. Tracer in one unit, viscosity in mm2/s at one temperature, thickener in %,
    worked penetration in 0.1 mm; u_sampling : standard uncertainty of taking the sample, as a mass share."""

    tracer_clean: float | None = None
    tracer_oil: float | None = None
    tracer_sample: float | None = None
    nu_clean: float | None = None
    nu_oil: float | None = None
    nu_sample: float | None = None
    thickener_clean: float | None = None
    thickener_sample: float | None = None
    penetration_clean: float | None = None
    penetration_sample: float | None = None
    u_sampling: float | None = None


@dataclass(frozen=True, slots=True)
class Bounds:
    """What bounds the oil from outside [L]; None = not known. gearboxes_lost_l : one for every linked gearbox, < 0 where it gained."""

    caught_l: float | None = None
    tank_lost_l: float | None = None
    gearboxes_lost_l: Sequence[float | None] = ()
    outside_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Together:
    """Every method that was tried, refused ones with their reason, and what they say together."""

    estimates: tuple[Estimate, ...]
    combined: Combined


def together(
    check: BathCheck,
    lab: LabReport | None = None,
    bounds: Bounds | None = None,
    *,
    water: bool | None = None,
    rho_oil: float = RHO_OIL,
    rho_grease: float = RHO_GREASE,
) -> Together | None:
    """The share of oil from everything that was entered; None where nothing but the depths is there.

    Doubts are typical where the report gives none. A method of which one figure is there and another is missing refuses, with what is
    missing. Errors as in the methods; combined, or the disagreement named, by :func:`fluidapp.calc.bath.combine`.
    """
    lab, bounds = lab or LabReport(), bounds or Bounds()
    found: list[Estimate] = []
    if _any(lab.tracer_clean, lab.tracer_oil, lab.tracer_sample):
        found.append(tracer(*(_rel(x, U_TRACER) for x in (lab.tracer_clean, lab.tracer_oil, lab.tracer_sample))))
    share = None if lab.thickener_clean is None else (lab.thickener_clean / 100.0, U_THICKENER * lab.thickener_clean / 100.0)
    if _any(lab.nu_clean, lab.nu_oil, lab.nu_sample):
        found.append(viscosity(_with(lab.nu_clean, U_NU_FRESH), _with(lab.nu_oil, U_NU_FRESH), _with(lab.nu_sample, U_NU_USED), share))
    if lab.thickener_sample is not None:
        found.append(thickener(_rel(lab.thickener_clean, U_THICKENER), _rel(lab.thickener_sample, U_THICKENER)))
    if _any(lab.penetration_clean, lab.penetration_sample):
        found.append(penetration(_with(lab.penetration_clean, U_PENETRATION), _with(lab.penetration_sample, U_PENETRATION), water))
    if bounds.caught_l is not None:
        grease = None if check.take_out_l is None or check.u_take_out_l is None else (check.take_out_l, check.u_take_out_l)
        found.append(drained_free_oil(_rel(bounds.caught_l, U_CAUGHT), grease, rho_oil, rho_grease))
    if _any(bounds.tank_lost_l, *bounds.gearboxes_lost_l) and bounds.gearboxes_lost_l:
        found.append(
            gearbox_ceiling(
                _with(bounds.tank_lost_l, U_TANK_L),
                [_with(x, U_GEARBOX_L) for x in bounds.gearboxes_lost_l],
                outside_l=(bounds.outside_l, U_OUTSIDE * abs(bounds.outside_l)),
            )
        )
    if not found:
        return None
    every = (check.estimate, *found)
    return Together(every, combine(every, lab.u_sampling))


def _any(*values: float | None) -> bool:
    return any(value is not None for value in values)


def _with(value: float | None, u: float) -> tuple[float, float] | None:
    return None if value is None else (value, u)


def _rel(value: float | None, share: float) -> tuple[float, float] | None:
    return None if value is None else (value, share * abs(value))
