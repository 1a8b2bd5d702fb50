"""The second overfill check: with the oil hot, and with every rod back in, does the tank still hold what was filled in?"""

from dataclasses import dataclass

from fluidapp.calc import budget, figure, level, oil
from fluidapp.model import Compartment, Doubts, LevelPlug, Machine, Reading


@dataclass(frozen=True, slots=True)
class Hot:
    """Litres in the tank with hot oil in the reference posture, and with all rods in, against the brim.

    temp_c : how hot, None where heat could not be counted. rods : kinds of cylinders that are out in the reference posture, and that
    give their litres back to the tank when they come in. top : what ``brim_l`` is, in words.
    """

    temp_c: float | None
    reference_l: float
    rods_in_l: float
    brim_l: float
    rods: tuple[str, ...]
    top: str

    @property
    def posture(self) -> str | None:
        """The posture that overflows, in words; None where neither does."""
        if self.reference_l > self.brim_l:
            return "in the reference posture" if self.rods else ""
        return f"with all rods in ({', '.join(self.rods)} retracted)" if self.rods_in_l > self.brim_l else None

    @property
    def over_l(self) -> float:
        """Litres over the brim in that posture, 0 where neither overflows."""
        most = self.reference_l if self.reference_l > self.brim_l else self.rods_in_l
        return max(0.0, most - self.brim_l)


def check(
    machine: Machine,
    compartment: Compartment,
    reading: Reading,
    after_l: float,
    marks: level.Marks,
    *,
    rho15: float,
    hot_c: float,
    doubts: Doubts,
) -> tuple[Hot, tuple[str, ...]]:
    """The check with ``after_l`` [L] in, and what there is to say about it: what overflows by how much, what could not be checked.

    after_l stands at the marks' temperature, or where that is not entered at the reading's. hot_c : oil temperature of the check [°C].
    Formula: V(hot) = after + V_system (VCF(now) / VCF(hot) - 1), and the litres of the rods that are out in the reference posture.
    """
    said = []
    now_c = marks.band.mark_c if marks.band.mark_c is not None else reading.temp_c
    grown = 0.0
    if now_c is not None and now_c < hot_c:
        warms, _ = budget.system_l(compartment, after_l, doubts)
        grown = float(warms * (oil.vcf(rho15, now_c) / oil.vcf(rho15, hot_c) - 1.0))
    elif now_c is not None:
        said.append(f"Hotter oil was not checked: the marks hold at {now_c:g} °C, and the check is made at {hot_c:g} °C.")
    elif not isinstance(compartment.gauge(marks.gauge), LevelPlug):
        said.append("Hot oil was not checked: enter the oil temperature for which the marks hold, or that of the oil.")
    cylinders = machine.cylinders if compartment.kind == "hydraulic tank" else ()
    if cylinders and not level.stands_as_reference(compartment, reading):
        said.append("All rods in was not checked: the marks hold for another posture.")
        cylinders = ()
    rods = -level.posture_l(cylinders, {c.name: 0.0 for c in cylinders}) if cylinders else 0.0
    out = tuple(c.name for c in cylinders if c.ref > 0)
    found = Hot(
        hot_c if grown else None, after_l + grown, after_l + grown + rods, level.capacity_l(compartment), out, level.top(compartment)
    )
    if found.posture is not None:
        over = figure.litres(figure.to_pour(found.over_l))
        fix = "pour less" if compartment.body is not None else "make sure that it stays below the breather"
        parts = (f"at {hot_c:g} °C" if grown else "", found.posture, f"the oil would stand about {over} over {found.top}: {fix}.")
        sentence = " ".join(part for part in parts if part)
        said.append(sentence[0].upper() + sentence[1:])
    return found, tuple(said)
