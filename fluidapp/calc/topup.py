"""How much to the mark: litres ±, in the containers that are at hand."""

import math
import re
from dataclasses import dataclass, replace

from fluidapp.calc import bands, budget, figure, gauge, level, oil, overfill
from fluidapp.calc.decision import CLAIM
from fluidapp.calc.oil import rinse_cycles as rinse_cycles
from fluidapp.calc.refill import Refill as Refill
from fluidapp.calc.refill import refill as refill
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Compartment, Container, Doubts, Machine, Reading

CLASS_T = 20.0  # machine class for the step of a pour, where none is entered: typical
HOT_C = 80.0  # the hot end at which the level must still stay below the brim


@dataclass(frozen=True, slots=True)
class Pack:
    """``count`` full containers of one size; the rest of an amount is a Pack without a container."""

    count: int
    label: str
    volume_l: float

    def __str__(self) -> str:
        if not self.label:
            return figure.litres(self.volume_l)
        article = "an" if re.match(r"8|1[18](?!\d)", self.label) else "a"
        return f"{article} {self.label}" if self.count == 1 else f"{self.count} × {self.label}"


@dataclass(frozen=True, slots=True)
class TopUp:
    """What to add (> 0) or drain (< 0).

    add_l, u_l, dof : litres to the target, standard uncertainty, degrees of freedom. pour_l : the instruction, rounded to
    what people can measure and >= 0. packs : that amount in containers. bound : "exact", or "at least" / "at most".
    after_mm : the gauge's reading to expect when it is in. hot_level_mm : the reading with the oil at ``hot_c``; None where
    the oil would stand beyond the gauge or the tank. before_you_pour : the first line where more is missing than usual.
    """

    add_l: float
    u_l: float
    dof: float
    pour_l: float
    packs: tuple[Pack, ...]
    remarks: tuple[str, ...]
    bound: str = "exact"
    before_you_pour: str | None = None
    after_mm: float | None = None
    hot_level_mm: float | None = None
    hot_c: float = HOT_C
    volume: level.Volume | None = None
    marks: level.Marks | None = None
    hot: overfill.Hot | None = None

    @property
    def words(self) -> str:
        """The containers in words: "a 20 L pail and 6 L"."""
        return " and ".join(str(pack) for pack in self.packs)


def size(volume: level.Volume, target_l: float, containers: tuple[Container, ...] = (), *, class_t: float | None = None) -> TopUp:
    """Litres from ``volume`` to ``target_l``, with the ± of the difference, in containers.

    volume : what is in, as of :func:`fluidapp.calc.level.volume`. target_l : litres at the target mark [L], > 0.
    containers : sizes at hand; without any the amount stays one figure. class_t : machine class [t] where the compartment is
    a hydraulic tank, for the step of the instruction.
    The doubt of the tank's litres per mm counts on the difference only, since reading and mark share it. Formula: own;
    combination as JCGM 100:2008, 5.1.2 (from memory). BadInput for a target that is not above 0.
    """
    if not (math.isfinite(target_l) and target_l > 0):
        raise BadInput("target", target_l, "It must be above 0 L.")
    add = target_l - volume.value_l
    lines = [line for line in volume.budget if line.name != "tank"]
    shared = [line for line in volume.budget if line.name == "tank"]
    lines += [replace(line, u_l=max(volume.tank_rel * abs(target_l - volume.as_read_l), 1e-3)) for line in shared]
    u, dof = budget.combine(lines)
    remarks = list(volume.remarks)
    bound = {"exact": "exact", "at most": "at least", "at least": "at most"}[volume.bound]
    pour = max(0.0, figure.to_pour(add, class_t, down=bound == "at least"))
    if bound == "at least" and add > 0:
        remarks.insert(0, f"At least {figure.litres(pour)} missing: pour {figure.litres(pour)}, then read again.")
    elif bound == "at most":
        pour = 0.0
        remarks.insert(0, "The level stands above the gauge: add nothing. Drain to the mark in reference posture, then read again.")
    elif abs(add) <= figure.half_width(u, dof):
        remarks.append("The difference to the target is within its ±.")
    return TopUp(add, u, dof, pour, packs(pour, containers), tuple(remarks), bound, volume=volume)


def packs(amount_l: float, containers: tuple[Container, ...]) -> tuple[Pack, ...]:
    """``amount_l`` as full containers, largest first, and a rest. Nothing below 5 mL; BadInput below 0 or without end.

    >>> [str(p) for p in packs(26.0, (Container(label="20 L pail", volume_l=20.0),))]
    ['a 20 L pail', '6 L']
    """
    if not 0 <= amount_l < math.inf:
        raise BadInput("amount", amount_l, "It must not be below 0 L.")
    found, rest = [], amount_l
    for container in sorted(containers, key=lambda c: -c.volume_l):
        count = math.floor(rest / container.volume_l + 1e-9)
        if count:
            found.append(Pack(count, container.label, container.volume_l))
            rest -= count * container.volume_l
    rest = round(rest, 9)
    if rest >= 0.005:
        found.append(Pack(1, "", rest))
    return tuple(found)


def answer(
    machine: Machine,
    compartment_key: str,
    reading: Reading,
    containers: tuple[Container, ...] = (),
    *,
    rho15: float = oil.RHO15_TYPICAL,
    hot_c: float = HOT_C,
    doubts: Doubts | None = None,
) -> TopUp:
    """The whole answer to "how much to the mark" for one reading: volume, target, litres ±, containers, what to expect.

    Parameters and errors as :func:`fluidapp.calc.level.volume` and :func:`size`; hot_c : oil temperature of the second
    overfill check [°C]. First remark where more is missing than the compartment usually takes.
    """
    doubts = doubts or machine.doubts
    compartment = machine.compartment(compartment_key)
    volume = level.volume(machine, compartment_key, reading, rho15=rho15, doubts=doubts)
    marks = level.marks(compartment, reading.gauge, volume.band)
    class_t, unsaid = pour_class(machine, compartment)
    found = size(_aims(compartment, reading, volume, marks, doubts), marks.target_l, containers, class_t=class_t)
    remarks = [*misled(volume), *found.remarks]
    if abs(found.add_l) > figure.JUG_L:
        remarks += unsaid
    usual = compartment.usual_topup_l
    diagnose = None
    if usual is not None and found.add_l - CLAIM * found.u_l > usual:
        diagnose = (
            f"More than this machine usually takes ({figure.litres(usual)}): before you pour, read the slewing gearbox stick "
            "and the final drives, and take samples."
        )
    limit = marks.high_l - volume.value_l
    if volume.bound == "exact" and found.pour_l > 0 and found.add_l + figure.half_width(found.u_l, found.dof) > limit:
        remarks.append("The ± reaches over the upper mark: pour most of it, read again, then add the rest.")
    after = volume.value_l + max(found.add_l, 0.0) if volume.bound == "exact" else marks.target_l
    hot, said = overfill.check(machine, compartment, reading, after, marks, rho15=rho15, hot_c=hot_c, doubts=doubts)
    remarks += said
    return replace(
        found,
        remarks=tuple(remarks),
        before_you_pour=diagnose,
        after_mm=_shown(compartment, volume.as_read_l + max(found.add_l, 0.0), reading) if volume.bound == "exact" else None,
        hot_level_mm=None if hot.temp_c is None else _shown(compartment, hot.reference_l, reading, sloping=False),
        hot_c=hot_c,
        volume=volume,
        marks=marks,
        hot=hot,
    )


def pour_class(machine: Machine, compartment: Compartment) -> tuple[float | None, tuple[str, ...]]:
    """Machine class [t] for the step of a pour, None for every other compartment than a tank; and what there is to say about it."""
    if compartment.kind != "hydraulic tank":
        return None, ()
    if machine.class_t is None:
        return CLASS_T, (f"The machine's class is not entered: litres to pour are rounded as for {CLASS_T:g} t.",)
    return machine.class_t, ()


def _aims(compartment: Compartment, reading: Reading, volume: level.Volume, marks: level.Marks, doubts: Doubts) -> level.Volume:
    """``volume`` with the doubt about which marks count, where no temperature tells, as litres between their targets.

    Each target belongs to oil of its own warmth, so that the litres between the targets stand in the place of heat's own.
    """
    others = bands.meant(compartment, reading.gauge, reading).others if reading.temp_c is None else ()
    if not others:
        return volume
    farthest = max(abs(level.marks(compartment, reading.gauge, band).target_l - marks.target_l) for band in others)
    warms, _ = budget.system_l(compartment, volume.as_read_l, doubts)
    u = budget.reaching(warms * budget.EXPANSION * doubts.temp_unmeasured_k, farthest)
    return replace(volume, budget=tuple(replace(x, u_l=u) if x.name == "oil temperature" else x for x in volume.budget))


def misled(volume: level.Volume) -> tuple[str, ...]:
    """By how much a reading would have misled: taken in another posture, on a slope, with colder or warmer oil than the marks ask.

    One sentence for each correction beyond half the ± of the answer; none for a one-sided reading.
    """
    if volume.bound != "exact":
        return ()
    least = 0.5 * figure.half_width(volume.u_l, volume.dof)
    causes = (
        ("In this posture", volume.posture_l),
        ("On this slope", volume.slope_l),
        ("With oil this cold" if volume.temperature_l > 0 else "With oil this warm", volume.temperature_l),
    )
    said = []
    for cause, litres in causes:
        if abs(litres) > least:
            amount = figure.litres(figure.to_pour(abs(litres)))
            reads, stands = ("low", "high") if litres > 0 else ("high", "low")
            said.append(
                f"{cause} the gauge reads about {amount} too {reads}: filled to the mark like that, it would stand that much too {stands}."
            )
    return tuple(said)


def _shown(compartment: Compartment, volume_l: float, reading: Reading, *, sloping: bool = True) -> float | None:
    """What the gauge of ``reading`` shows with ``volume_l`` in, on the slope of the reading or level; None beyond gauge or tank."""
    pitch, roll = (reading.pitch_deg or 0.0, reading.roll_deg or 0.0) if sloping else (0.0, 0.0)
    try:
        shown = level.reading_at(compartment, volume_l, reading.gauge, pitch_deg=pitch, roll_deg=roll, swing_deg=reading.swing_deg)
        gauge.on_scale(compartment.gauge(reading.gauge), shown)
    except (OutOfRange, CannotAnswer):
        return None
    return shown
