"""Round the Refill: the bring list, flush or not, rinsing, the lines of both numbers, the service sheet."""

from collections.abc import Mapping

import streamlit as st

from fluidapp.calc import oil, refill
from fluidapp.errors import BadInput
from fluidapp.model import Compartment, Container, Machine, Product
from fluidapp.screens import _opened, _resources, _service_sheet, _state
from fluidapp.screens.words import Show

PAIL_MOST_L = 30.0  # a container up to this size is poured from by hand (own limit)


def products() -> dict[str, Product]:
    """All products by key."""
    return {p.key: p for p in _resources.store().products()}


def pails(product: Product | None) -> tuple[Container, ...]:
    """Containers of a product that one pours from by hand."""
    return tuple(c for c in product.containers if c.volume_l <= PAIL_MOST_L) if product else ()


def rows(plan: refill.Plan, show: Show) -> list[dict[str, str]]:
    """The lines of both numbers and of the gear cases."""
    found = plan.refill
    listed = [*found.before_start.lines, *(line for line in found.after_running.lines if line.value_l > 0), *found.gear_cases]
    return [
        {
            "what": line.name,
            "litres": show.litres(line.value_l, line.u_l, line.dof) if line.u_l > 0 else show.amount(line.value_l),
            "when": line.when,
            "known": line.source,
        }
        for line in listed
    ]


def bring(machine: Machine, part: Compartment, opened: _opened.Opened, plan: refill.Plan) -> refill.BringList:
    """Draws what is at hand, and gives the list."""
    key = f"refill_{machine.key}"
    known = products()
    own = part.product or "unknown"
    with st.expander("At hand: open containers, room for used oil; rinse, grease"):
        at_hand: dict[str, float] = {}
        for product in dict.fromkeys((own, *(line.product or own for line in plan.refill.gear_cases))):
            label = known[product].label if product in known else product
            amount = _state.box(f"Open: {label}", f"{key}_open_{product}", "volume")
            if amount is not None:
                at_hand[product] = amount
        drained = _state.box("Used oil that comes out", f"{key}_used", "volume", help="Empty: what was ticked as drained.")
        room = _state.box("Room for used oil at hand", f"{key}_room", "volume")
        grease = _state.box("Grease to bring", f"{key}_grease", "mass")
        rinse_l, rinse_of, said = _rinse(part, opened, key)
        if said:
            st.caption(said)
    wanted = list(refill.needs(plan.refill, own, rinse_l, rinse_of))
    if grease is not None:
        baths = [b.product for b in machine.baths if b.product]
        wanted.append(refill.Need(baths[0] if baths else "grease", grease, 0.0, "grease", "kg"))
    if drained is None:
        out = [line.value_l for line in plan.refill.gear_cases]
        out += [plan.refill.before_start.lines[0].value_l] if opened.whole and plan.refill.before_start.lines else []
        drained = sum(out) + rinse_l
    if drained < 0:
        raise BadInput("Used oil that comes out", f"{drained:g} L", "Enter 0 or more.")
    used = refill.Portion(drained, max(0.03 * drained, 1e-9), float("inf"), ())
    also = ["Return filter"]
    if {_opened.CASE, _opened.SEAL} & set(opened.ticked):
        also.append("Drain filter of the motor or pump")
    if {_opened.HOUSING, _opened.TANK_FILTER} & set(opened.ticked):
        also.append("Filter element and its seal")
    also.append("Caps and plugs for open lines, marked pail or meter, drip tray")
    return refill.bring_list(
        wanted, at_hand, {k: p.containers for k, p in known.items()}, used=used if drained > 0 else None, room_l=room or 0.0,
        also=tuple(also),
    )  # fmt: skip


def _rinse(part: Compartment, opened: _opened.Opened, key: str) -> tuple[float, str | None, str]:
    """Rinse oil: cycles until less than the wanted share of the old oil is left."""
    stay = _state.number_box("Rinse: share that does not drain (%)", f"{key}_stay")
    target = _state.number_box("Rinse until the old oil is below (%)", f"{key}_target")
    if stay is None or target is None:
        return 0.0, None, ""
    cycles = oil.rinse_cycles(stay / 100, target / 100)
    if opened.gears:
        name, line = next(iter(opened.gears.items()))
        litres, product, where = line.value_l, line.product, opened.machine.compartment(name).label
    else:
        litres, product, where = part.capacities.refill_l or part.capacities.at_mark_l or 0.0, part.product, part.label
    need = oil.rinse_litres(litres, stay / 100, cycles)
    left = 100 * oil.share_left(stay / 100, cycles)
    times = "once" if cycles == 1 else f"{cycles} times"
    said = (
        f"{where}: drain and refill {times}, the last one is the fill itself; {left:.2g} % of the old oil is left then. "
        f"Rinse oil before it: {_state.show().amount(need - litres * (1 - stay / 100)) if cycles > 1 else 'none'}."
    )
    return max(0.0, need - litres * (1 - stay / 100)), product, said


def bring_rows(found: refill.BringList, known: Mapping[str, Product]) -> list[dict[str, str]]:
    """The bring list as a table."""
    listed = [
        {"bring": known[i.product].label if i.product in known else i.product, "take": f"{i.words} (up to {i.upper:.1f} {i.unit})"}
        for i in found.items
        if i.upper > 0
    ]
    if found.used_l > 0:
        count = "no empty pail" if found.pails == 0 else "1 empty pail" if found.pails == 1 else f"{found.pails} empty pails"
        listed.append({"bring": "for used oil", "take": f"{count} of 20 L (up to {found.used_l:.1f} L)"})
    return listed + [{"bring": item, "take": ""} for item in found.also]


def flush_fold(machine: Machine) -> tuple[bool | None, str | None]:
    """Flush or not: what failed, metal or not, drain filter. Returns metal found, and what failed."""
    key = f"refill_{machine.key}"
    with st.expander("Flush or not: what failed?"):
        failed = st.selectbox(
            "What failed", list(refill.FAILED), key=f"{key}_failed", index=None, placeholder="Choose", persist_state="session"
        )
        seen = st.segmented_control("Metal on magnet, plug or filter", ["found", "none"], key=f"{key}_metal", persist_state="session")
        clean = None
        if failed == "seal only":
            clean = st.segmented_control("Drain filter", ["clean", "not clean"], key=f"{key}_clean", persist_state="session")
        metal = None if seen is None else seen == "found"
        if failed is not None:
            found = refill.flush(failed, metal, None if clean is None else clean == "clean")
            st.markdown(f"**{found.word[:1].upper()}{found.word[1:]}.** {' '.join(found.steps)}")
            st.caption(f"Source: {found.source}.")
    return metal, failed


def steps_fold(machine: Machine, plan: refill.Plan) -> None:
    """The gates in the order of the work, each to be confirmed."""
    with st.expander("Steps in the order of the work", key=f"refill_{machine.key}_steps"):
        done = []
        for i, gate in enumerate(plan.steps, start=1):
            ticked = st.checkbox(
                f"{i}. {gate.text}", key=f"refill_{machine.key}_gate_{gate.key}", help=f"Source: {gate.source}", persist_state="session"
            )
            if ticked:
                done.append(gate.key)
        left = refill.still_open(plan.steps, done)
        if left:
            numbers = ", ".join(str(plan.steps.index(gate) + 1) for gate in left)
            st.warning(f"Before the start still open: step {numbers}.")
        st.caption("Ticks are a memory aid. They do not say that it is safe to start.")


def sheet_button(machine: Machine, part: Compartment, plan: refill.Plan, found: refill.BringList) -> None:
    """The service sheet of this refill as a PDF."""
    known, show = products(), _state.show()
    day = f"{_resources.now():%Y-%m-%d}"

    def made() -> bytes:
        from fluidapp.sheets.service_sheet import service_sheet_pdf

        return service_sheet_pdf(_service_sheet.refilled(machine, part, plan, found, known, day, show))

    st.download_button(
        "Service sheet (PDF)", data=made, file_name=f"{machine.key}-refill.pdf", mime="application/pdf", on_click="ignore",
        key="refill_sheet", width="stretch", icon=":material/print:",
    )  # fmt: skip
