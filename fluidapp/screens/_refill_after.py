"""After the pour: what was really poured against what was expected, the next change, and all of it into the records in one save."""

import datetime
from dataclasses import dataclass

import streamlit as st

from fluidapp.calc import refill
from fluidapp.model import Compartment, Frozen, Machine, Reading
from fluidapp.screens import _opened, _parts, _pour, _state
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading, Opened, Repair

NO_RULE = "own hours"


@dataclass(frozen=True, slots=True)
class Change:
    """Hours to the first change and between the ones after it, as chosen; None while nothing is."""

    first_h: float | None = None
    repeat_h: float | None = None


def fold(
    machine: Machine, part: Compartment, reading: Reading | None, opened: _opened.Opened, plan: refill.Plan, metal: bool | None
) -> None:
    """Draws the fold and stores on a press of its button."""
    key = f"refill_{machine.key}"
    with st.expander("After the pour: compare, next change, store"):
        with st.container(horizontal=True, gap="small"):
            places = [st.container(width=132) for _ in range(2)]
        with places[0]:
            first = _state.box("Poured before start", f"{key}_poured_before", "volume")
        with places[1]:
            later = _state.box("Poured after running", f"{key}_poured_after", "volume")
        product = _pour.ask(machine, part, f"{key}_product", drained=opened.whole)
        _compare(plan, first, later)
        gears = {name: _gear(machine, name, line, key) for name, line in opened.gears.items()}
        scale = part.gauge(reading.gauge if reading else None)
        after = _state.box(f"{scale.name[:1].upper()}{scale.name[1:]} after", f"{key}_after", "length") if scale.kind != "percent" else None
        if first is not None and after is None:
            st.caption("The job stays open until the gauge was read again after running, in the reference posture.")
        what = st.text_input("What was repaired", key=f"{key}_what", autocomplete="off", persist_state="session") or ""
        name, at, meter = _parts.who_and_when("refill")
        change = _next_change(key, meter)

        def entries() -> list[NewEntry]:
            product.refuse(part.label)
            docs: list[Frozen] = []
            if reading is not None:
                docs.append(LevelReading.made(node=part.key, **reading.model_dump()))
            for poured, box in ((first, "poured_before"), (later, "poured_after")):
                if poured is not None:
                    docs.append(
                        _pour.movement(part.key, product.product, poured, f"{key}_{box}", "planned change" if opened.whole else "top-up")
                    )
            for gear, (litres, poured_product) in gears.items():
                if litres is not None:
                    poured_product.refuse(machine.compartment(gear).label)
                    docs.append(_pour.movement(gear, poured_product.product, litres, f"{key}_poured_{gear}", "planned change"))
            docs.append(_repair(part, opened, plan, what, metal, change))
            if after is not None:
                again = Reading.made(gauge=scale.name, level=after, as_read=_state.as_read(f"{key}_after"), posture="reference")
                docs.append(LevelReading.made(node=part.key, **again.model_dump()))
            return _rows(docs, machine, at, meter)

        _parts.save_button("refill", "Store the refill", entries, by_name=name)


def _rows(docs: list[Frozen], machine: Machine, at: datetime.datetime, meter: float | None) -> list[NewEntry]:
    return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter) for doc in docs]


def _compare(plan: refill.Plan, first: float | None, later: float | None) -> None:
    """Poured against expected: each portion, and both together."""
    found = plan.refill
    if first is not None:
        _say("Before the start", refill.against(found.before_start, first))
    if first is not None and later is not None:
        _say("In all", refill.against(found.total, first + later))


def _say(label: str, told: refill.Poured) -> None:
    text = f"**{label}:** {told.text}" + ("" if told.word != "as expected" else ", as expected.")
    if told.word == "as expected":
        st.markdown(text)
    else:
        st.warning(text)


def _gear(machine: Machine, name: str, line: refill.Line, key: str) -> tuple[float | None, _pour.Poured]:
    part = machine.compartment(name)
    litres = _state.box(f"Poured, {part.label}", f"{key}_poured_{name}", "volume")
    product = _pour.ask(machine, part, f"{key}_product_{name}", drained=True)
    if litres is not None:
        portion = refill.Portion(line.value_l, line.u_l, line.dof, (line,))
        _say(part.label, refill.against(portion, litres))
        st.caption(f"{part.label}: run 1 h, stop, read it again.")
    return litres, product


def _repair(part: Compartment, opened: _opened.Opened, plan: refill.Plan, what: str, metal: bool | None, change: Change) -> Repair:
    listed = tuple(Opened(what=line.name, volume_l=line.value_l, u_l=line.u_l) for line in opened.lines)
    total = plan.refill.total
    ticked = ", ".join(opened.ticked)
    return Repair.made(
        what=what.strip() or (f"opened: {ticked}"[:80] if ticked else "refill"), at_nodes=(part.key, *opened.gears), opened=listed,
        first_h=change.first_h, repeat_h=change.repeat_h, metal_found=metal, expected_l=(total.low_l, total.high_l),
    )  # fmt: skip


def _next_change(key: str, meter: float | None) -> Change:
    """First and next change, counted from the hour meter at the repair."""
    rules = {rule.label: rule for rule in refill.CHANGE_RULES}
    chosen = st.selectbox(
        "Next change: a rule to start from", [*rules, NO_RULE], key=f"{key}_rule", index=None, placeholder="Choose", persist_state="session"
    )
    if chosen is None:
        return Change()
    rule = rules.get(chosen)
    with st.container(horizontal=True, gap="small"):
        places = [st.container(width=132) for _ in range(2)]
    with places[0]:
        first = _state.number_box("First after (h)", f"{key}_first_h")
    with places[1]:
        repeat = _state.number_box("Then every (h)", f"{key}_repeat_h")
    if rule is not None:
        span = "" if rule.first_h[0] == rule.first_h[1] else f" (up to {rule.first_h[1]:g} h)"
        then = f", then every {rule.repeat_h[0]:g} h" if rule.repeat_h else ""
        st.caption(
            f"Without own hours: first after {rule.first_h[0]:g} h{span}{then}. Source: {rule.source}. The maker's manual comes first."
        )
        first = rule.first_h[0] if first is None else first
        repeat = rule.repeat_h[0] if repeat is None and rule.repeat_h else repeat
    if first is None:
        return Change()
    if meter is None:
        st.info("Enter the hour meter at the repair: without it no hour of a change follows.")
    else:
        hours = refill.changes(meter, first, repeat)
        st.markdown(" then ".join(f"**{h:,.0f} h**".replace(",", " ") for h in hours) + " on this meter.")
    return Change(first, repeat)
