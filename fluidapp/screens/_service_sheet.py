"""What stands on a service sheet: from a machine alone, from its last readings, or from a refill. Text only, no widgets."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fluidapp.calc import cautions, oil, topup
from fluidapp.calc.figure import half_width, to_pour
from fluidapp.calc.refill import BringList, Plan, Portion
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, LevelPlug, Machine, Product, Reading
from fluidapp.screens.words import Show, instruction, packs, scale_unit
from fluidapp.sheets.service_sheet import Row, ServiceSheet, Step
from fluidapp.store import Entry
from fluidapp.store.kinds import LevelReading

GEARS = ("slewing gearbox", "final drive", "pump-drive case", "gear case")
_P = "common practice, no source"
STEPS = (
    Step("Call the operator; machine in its reference posture, loads down, engine off, isolated, levers stroked.", "tick",
         "operator's manuals (second-hand); OSHA interpretation 2015-07-01 (read)"),
    Step("Walk round: leaks, hoses, what is wet. Read the hour meter.", "tick", _P),
    Step("Read the levels before anything is opened; write them down above.", "tick", _P),
    Step("Take the samples before you add oil.", "tick", "US Army LO 9-2350-261-12 (second-hand)"),
    Step("Drain what is due, measured; change filters. One container for one product.", "tick", _P),
    Step("Pour the product of the compartment, measured; write the litres down above.", "tick", _P),
    Step("Breather and plugs closed, tank pressurised again where it has that, drain cocks shut.", "tick",
         "operator's manual of a mini excavator (second-hand)"),
    Step("Run, stop, isolate, read again; write it down above.", "tick", _P),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Last:
    """The last reading of a compartment, and when it was taken."""

    reading: Reading
    on: str


def last_readings(entries: Mapping[str, Entry | None]) -> dict[str, Last]:
    """The last reading of each compartment, from its entry."""
    return {
        key: Last(entry.doc.reading(), f"{entry.at_local:%Y-%m-%d}")
        for key, entry in entries.items()
        if entry is not None and isinstance(entry.doc, LevelReading)
    }


def blank(machine: Machine, products: Mapping[str, Product], made_on: str, show: Show) -> ServiceSheet:
    """A sheet with the machine's compartments, products and marks, all else empty."""
    rows = tuple(Row(part.label, _product(part, products), _marks(part, show)) for part in machine.compartments)
    notes = (f"Reference posture: {machine.posture}.",) if machine.posture else ()
    return ServiceSheet(machine.label, "Service.", made_on, cautions.SERVICE, rows, STEPS, notes=notes)


def planned(machine: Machine, products: Mapping[str, Product], last: Mapping[str, Last], made_on: str, show: Show) -> ServiceSheet:
    """A sheet with what each compartment's last reading asks for, in the containers of its product."""
    rows, bring = [], []
    for part in machine.compartments:
        plan, load = _plan(machine, part, products, last.get(part.key), show)
        rows.append(Row(part.label, _product(part, products), plan))
        if load:
            bring.append(load)
    said = ["The plan follows from the readings named beside it: read again before you pour."] if bring else []
    if machine.posture:
        said.append(f"Reference posture: {machine.posture}.")
    return ServiceSheet(machine.label, "Service.", made_on, cautions.SERVICE, tuple(rows), STEPS, tuple(bring), tuple(said))


def refilled(
    machine: Machine,
    part: Compartment,
    plan: Plan,
    bring: BringList,
    products: Mapping[str, Product],
    made_on: str,
    show: Show,
    notes: Sequence[str] = (),
) -> ServiceSheet:
    """A sheet for a refill after a repair: what to bring, the two numbers, the gates in the order of the work."""
    found = plan.refill
    two = f"**before start {portion(found.before_start, show)}**\nafter running {portion(found.after_running, show)}"
    if plan.pour_l > 0:
        two = f"into the tank {poured(plan, show)}\n{two}"
    rows = [Row(part.label, _product(part, products), f"{_marks(part, show)}\n{two}")]
    for line in found.gear_cases:
        label = products[line.product].label if line.product and line.product in products else ""
        rows.append(Row(line.name, label, f"from dry **{show.litres(line.value_l, line.u_l, line.dof)}**"))
    items = tuple(bring_line(item.product, item.words, item.upper, item.unit, products) for item in bring.items)
    used = (
        (f"Used oil: up to {bring.used_l:.0f} L; {bring.pails} empty pail{'' if bring.pails == 1 else 's'}.",) if bring.used_l > 0 else ()
    )
    steps = tuple(Step(gate.text, gate.confirm, gate.source) for gate in plan.steps)
    return ServiceSheet(
        machine.label, "Refill after a repair.", made_on, plan.cautions[1:], tuple(rows), steps, (*items, *bring.also, *used), tuple(notes)
    )


def portion(part: Portion, show: Show) -> str:
    """The litres of one pour with their ±; what would have to come out is said so."""
    if part.u_l <= 0:
        return "nothing"
    if abs(part.value_l) < part.half_l:
        return f"0 to {show.amount(to_pour(max(part.high_l, 0.1)))}"
    if part.value_l < 0:
        return f"drain {show.litres(-part.value_l, part.u_l, part.dof)}"
    return show.litres(part.value_l, part.u_l, part.dof)


def poured(plan: Plan, show: Show) -> str:
    """What goes into the tank before the start, in containers."""
    return " and ".join(str(pack) if pack.label else show.amount(pack.volume_l) for pack in plan.packs)


def bring_line(product: str, words: str, upper: float, unit: str, products: Mapping[str, Product]) -> str:
    """One line of the bring list: "Hydraulic oil ISO VG 46: 2 × 20 L pail (up to 29 L)"."""
    label = products[product].label if product in products else product
    return f"{label}: {words} (up to {upper:.1f} {unit})"


def _product(part: Compartment, products: Mapping[str, Product]) -> str:
    if part.product is None:
        return "product ____________"
    return products[part.product].label if part.product in products else part.product


def _marks(part: Compartment, show: Show) -> str:
    scale = next((g for g in part.gauges if g.bands), None)
    if scale is None:
        return "no gauge with marks entered"
    band, unit = scale.bands[0], scale_unit(part, scale.name)
    if isinstance(scale, LevelPlug):
        return f"{scale.name}: at the lip to {show.reading(band.high, 'mm').replace('.0 ', ' ')} below it"
    heat = ""
    if band.temp_low_c is not None and band.temp_high_c is not None:
        heat = f", oil {show.degrees(band.temp_low_c)} to {show.degrees(band.temp_high_c)}"
    aim, low, high = (show.reading(x, unit).replace(".0 ", " ") for x in (band.aim_mm, band.low, band.high))
    return f"{scale.name}: to {aim} (L {low}, H {high}{heat})"


def _plan(machine: Machine, part: Compartment, products: Mapping[str, Product], last: Last | None, show: Show) -> tuple[str, str | None]:
    """What to do in a compartment, and what that asks to be brought."""
    marks = _marks(part, show)
    product = products.get(part.product or "")
    if last is None or not any(g.bands for g in part.gauges):
        return marks, None
    containers = product.containers if product else ()
    try:
        rho15 = oil.rho15_of(product)
        found = topup.answer(machine, part.key, last.reading, tuple(c for c in containers if c.volume_l <= 30), rho15=rho15)
    except FluidappError as err:
        return f"{marks}\n{err}", None
    verb, amount = instruction(found, show)
    if found.bound == "exact" and abs(found.add_l) <= half_width(found.u_l, found.dof):
        return f"{marks}\nat its mark, within the ±, on {last.on}", None
    if found.add_l < 0 and part.kind in GEARS:
        over = show.litres(-found.add_l, found.u_l, found.dof)
        return f"{marks}\n**{over} over its mark** (read {last.on}): find out what came in; never let it down to the mark", None
    text = f"{marks}\n**{verb.lower()} {amount}** (read {last.on})"
    if found.before_you_pour:
        text += "\nmore than usual: find out why first"
    if found.pour_l <= 0:
        return text, None
    return text, f"{_product(part, products)} for {part.label}: {packs(found, show)}"
