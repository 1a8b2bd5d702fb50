"""One reading as a point of a watch: litres at the machine's convention and at 15 °C, with what it does not share with the others."""

from dataclasses import dataclass

from fluidapp.calc import oil
from fluidapp.calc.bath import Survey, area
from fluidapp.calc.between import repeated
from fluidapp.calc.decision import quadrature
from fluidapp.calc.level import convention, marks, volume
from fluidapp.errors import CannotAnswer
from fluidapp.model import Bath, Machine, Reading


@dataclass(frozen=True, slots=True)
class Litres:
    """What one reading says [L]: ``convention_l`` at the machine's convention, ``at_15_l`` the same oil at 15 °C, each ± ``u_l``.

    cold : litres at 15 °C for one litre at the convention; 1 and ``known`` False where the marks' temperature is not entered.
    """

    convention_l: float
    at_15_l: float
    u_l: float
    cold: float
    known: bool


def cold_share(machine: Machine, key: str, gauge: str | None, rho15: float = oil.RHO15_TYPICAL) -> float | None:
    """Litres at 15 °C for one litre at the convention of this gauge; None where the temperature of its marks is not entered."""
    band = convention(machine.compartment(key), gauge)
    return None if band is None or band.mark_c is None else float(oil.vcf(rho15, band.mark_c))


def oil_litres(machine: Machine, key: str, reading: Reading, *, rho15: float = oil.RHO15_TYPICAL, same_state: bool = False) -> Litres:
    """Litres of one exact reading. same_state : the watch is read in the same place, posture and warmth (within 5 K) every time.

    The doubt leaves out the tank's own, which all readings of a watch share: it scales the rate by its own per cent. CannotAnswer for a
    one-sided reading; else as :func:`fluidapp.calc.level.volume`. Formula: V15 = V VCF(mark).
    """
    part = machine.compartment(key)
    band = convention(part, reading.gauge)  # all readings by the same marks, however warm the oil was
    found = volume(machine, key, reading, rho15=rho15, doubts=repeated(machine) if same_state else None, band=band)
    if found.bound != "exact":
        raise CannotAnswer(part.label, "no rate follows from a one-sided reading", "Pour until the gauge shows a level.")
    share = cold_share(machine, key, reading.gauge, rho15)
    cold = 1.0 if share is None else share
    u, _ = quadrature((line.u_l, line.dof) for line in found.budget if line.name != "tank")
    return Litres(found.value_l, found.value_l * cold, max(u * cold, 1e-6), cold, share is not None and reading.temp_c is not None)


def bath_litres(bath: Bath, survey: Survey) -> Litres:
    """Litres of grease from one survey of a bath: area times mean depth, without the area's own doubt; its warmth is not known."""
    ground = area(bath)
    litres = ground.l_per_mm * survey.mean_mm
    return Litres(litres, litres, ground.l_per_mm * survey.u_mm, 1.0, False)


def low_mark_l(machine: Machine, key: str, gauge: str | None, cold: float) -> float | None:
    """Litres at the low mark, at the temperature of the watch's litres; None where no marks are entered."""
    try:
        return marks(machine.compartment(key), gauge).low_l * cold
    except CannotAnswer:
        return None


def moved_at_15(volume_l: float, temp_c: float | None, rho15: float = oil.RHO15_TYPICAL) -> float:
    """Litres at 15 °C of an amount poured or drained; as measured where its temperature was not written down."""
    return volume_l if temp_c is None else volume_l * float(oil.vcf(rho15, temp_c))
