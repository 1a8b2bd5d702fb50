"""The whole answer to a refill after a repair: from one reading, or a whole drain, to two numbers, steps and cautions."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fluidapp.calc import figure, level, oil
from fluidapp.calc.cautions import REFILL
from fluidapp.calc.refill.gates import Gate, gates, parts_of
from fluidapp.calc.refill.lines import Line, cylinder, without
from fluidapp.calc.refill.sizing import Marks, Missing, Refill, refill
from fluidapp.errors import CannotAnswer
from fluidapp.model import Compartment, Container, Doubts, Machine, Reading

if TYPE_CHECKING:
    from fluidapp.calc.topup import Pack, TopUp

U_LABEL = 0.03  # of a capacity from plate or manual: typical, editable
OVER_LABEL = 1.05  # a fill beyond the label by more than this is named (own limit)


@dataclass(frozen=True, slots=True)
class Plan:
    """A refill as it is done. refill : the two numbers. pour_l : what to pour into the tank before the start, rounded to what people
    can measure, packs : that in containers. topup : the level as read, None after a whole drain. steps : in the order of the work.
    """

    refill: Refill
    pour_l: float
    packs: "tuple[Pack, ...]"
    topup: "TopUp | None"
    steps: tuple[Gate, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = REFILL


def drained_tank(compartment: Compartment) -> Missing:
    """What a drained compartment takes to its mark: its *refill* capacity, else what it holds at the mark; ± 3 % (typical).

    Never the system's capacity, which counts lines, cooler and cylinders that did not drain. CannotAnswer without either.
    """
    known = compartment.capacities.refill_l or compartment.capacities.at_mark_l
    if known is None:
        raise CannotAnswer(
            compartment.label, "neither its refill capacity nor what it holds at the mark is entered", "Read the plate or the manual."
        )
    return Missing(known, U_LABEL * known)


def label_remark(compartment: Compartment, fill_l: float) -> str | None:
    """A line where ``fill_l`` [L] is more than the compartment's label says: often the system's figure. Own limit: 5 %.

    Compared with the refill capacity, else with what it holds at the mark; None where it fits or nothing is entered.
    """
    capacities = compartment.capacities
    label, name = capacities.refill_l, "refill after a drain"
    if label is None:
        label, name = capacities.at_mark_l, "at mark"
    if label is None or fill_l <= OVER_LABEL * label:
        return None
    more = f"{figure.litres(figure.to_pour(fill_l))} is more than its label “{name}”, {label:g} L"
    if capacities.system_l is not None and fill_l > 0.9 * capacities.system_l:
        return f"{more}: that is the system's figure, which counts lines and cylinders too."
    return f"{more}: check the reading and the label."


def plan(
    machine: Machine,
    key: str,
    reading: Reading | None,
    opened: Iterable[Line] = (),
    *,
    dry: Mapping[str, int] | None = None,
    seal: bool = False,
    containers: tuple[Container, ...] = (),
    rho15: float = oil.RHO15_TYPICAL,
    doubts: Doubts | None = None,
) -> Plan:
    """What to bring into the tank ``key`` of ``machine`` before the start and after running.

    reading : of the tank, lines plugged; None = the tank was drained whole, so its refill capacity is missing. opened : lines of
    what was opened, without the cylinders of ``dry`` (number fitted dry of each kind), which are added here and left out of the
    posture. seal : a motor or pump seal was changed. Other parameters and errors as :func:`fluidapp.calc.topup.answer`,
    :func:`refill`, :func:`fluidapp.calc.refill.cylinder` and :func:`drained_tank`.
    """
    from fluidapp.calc import topup

    dry = {name: count for name, count in (dry or {}).items() if count}
    lines = [*opened]
    left = without(machine, dry)
    if machine.cylinders and not left.cylinders:  # every rod was fitted dry: no rod's litres go back, known or typical
        doubts = (doubts or machine.doubts).model_copy(update={"rods_over_system": 0.0})
    lines += [cylinder(one, dry[one.name]) for one in machine.cylinders if one.name in dry]
    part = left.compartment(key)
    remarks: list[str] = []
    found = None
    marks = None
    if reading is not None:
        names = {c.name for c in left.cylinders}
        kept = {name: shown for name, shown in reading.shown_mm.items() if name in names}
        found = topup.answer(left, key, reading.model_copy(update={"shown_mm": kept}), containers, rho15=rho15, doubts=doubts)
        remarks += found.remarks
        if found.marks is not None:
            marks = Marks(found.marks.low_l, found.marks.target_l, found.marks.high_l)
    elif part.gauges and any(g.bands for g in part.gauges):
        known = level.marks(part)
        marks = Marks(known.low_l, known.target_l, known.high_l)
    missing = found if found is not None else drained_tank(part)
    if found is None and marks is not None and missing.add_l > marks.target_l:
        told = f"{part.label} holds {marks.target_l:.0f} L at its target by its shape, and {missing.add_l:.0f} L by its label"
        if missing.add_l > OVER_LABEL * marks.target_l:
            raise CannotAnswer("Refill", told, "Correct the one that is wrong; a refill capacity does not count the lines.")
        missing = Missing(marks.target_l, missing.u_l)
        remarks.append(f"{told}; the shape is taken.")
    sized = refill(missing, lines, marks=marks)
    over = label_remark(part, sized.tank_l)
    if over:
        remarks.append(over)
    class_t, unsaid = topup.pour_class(machine, part)
    pour = max(0.0, figure.to_pour(sized.tank_l, class_t))
    if pour > figure.JUG_L:
        remarks += unsaid
    if marks is not None and found is not None and found.bound == "exact":
        room = marks.high_l - (marks.target_l - found.add_l)
        if pour > room:
            pour = max(0.0, math.floor(room / figure.pour_step(room, class_t) + 1e-9) * figure.pour_step(room, class_t))
    parts = {*parts_of(lines), *(("seal",) if seal else ())}
    return Plan(
        refill=sized,
        pour_l=pour,
        packs=topup.packs(pour, containers),
        topup=found,
        steps=gates(parts),
        remarks=tuple(dict.fromkeys((*sized.remarks, *remarks))),
    )
