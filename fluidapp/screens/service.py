"""Service: what did I do here? One save for many compartments."""

import streamlit as st

from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Machine
from fluidapp.screens import _parts, _refill, _resources, _service, _service_sheet, _state, _undo
from fluidapp.store import NewEntry
from fluidapp.store.kinds import Meter

READ, NOT_READ, BROKEN = "read", "not read", "broken"

_parts.head("Service", "What did I do here? Several compartments in one save.", "tank")
machine = _parts.pick_machine()
rows_at, save_at, below = (st.container() for _ in range(3))


def asked(machine: Machine) -> list[_service.Row]:
    """The compartments that were worked on, and what was done in each."""
    parts = {c.key: c for c in machine.compartments}
    chosen = st.pills(
        "Worked on", list(parts), selection_mode="multi", format_func=lambda k: parts[k].label, key=f"service_{machine.key}_parts",
        persist_state="session",
    )  # fmt: skip
    rows = []
    for key in chosen:
        with st.container(border=True):
            st.markdown(f"**{parts[key].label}**")
            rows.append(_service.ask(machine, parts[key]))
    return rows


def shown(machine: Machine) -> None:
    """Draws the form; a refusal is one sentence."""
    with rows_at:
        rows = asked(machine)
        temp_c = _state.box("Oil temperature", "service_temp", "temperature")
    done = [row for row in rows if not row.empty]
    with save_at:
        for row in done:
            if said := _service.words(machine, row, temp_c):
                st.markdown(said)
        name, at, meter = _parts.who_and_when("service")
        state = READ
        if meter is None:
            state = st.segmented_control("Hour meter was", [NOT_READ, BROKEN], key="service_meter_state", persist_state="page") or ""
        if not done:
            st.info("Choose what you worked on, and enter what you read, drained and added.")

        def entries() -> list[NewEntry]:
            if not done:
                raise BadInput("Service", "nothing entered", "Enter a reading, or what was drained or added.")
            if not state:
                raise BadInput("Hour meter", "empty", "Enter it, or say that it was not read.")
            docs = [doc for row in done for doc in row.docs(temp_c)]
            if state != READ:
                docs.append(Meter.made(state="not read" if state == NOT_READ else "broken since"))
            return [NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter) for doc in docs]

        _parts.save_button("service", "Store all of it", entries, by_name=name)


def sheets(machine: Machine) -> None:
    """The service sheet: with what the last readings ask for, or blank."""
    store, show, day = _resources.store(), _state.show(), f"{_resources.now():%Y-%m-%d}"

    def planned() -> bytes:
        from fluidapp.sheets.service_sheet import service_sheet_pdf

        last = _service_sheet.last_readings({c.key: store.last_reading(machine.key, c.key) for c in machine.compartments})
        return service_sheet_pdf(_service_sheet.planned(machine, _refill.products(), last, day, show))

    def blank() -> bytes:
        from fluidapp.sheets.service_sheet import service_sheet_pdf

        return service_sheet_pdf(_service_sheet.blank(machine, _refill.products(), day, show))

    st.caption("On paper, for where no screen goes: type it in later with its time.")
    for key, label, made in (
        ("plan", "Service sheet from the last readings (PDF)", planned),
        ("blank", "Blank service sheet (PDF)", blank),
    ):
        st.download_button(
            label, data=made, file_name=f"{machine.key}-service-{key}.pdf", mime="application/pdf", on_click="ignore",
            key=f"service_sheet_{key}", width="stretch", icon=":material/print:",
        )  # fmt: skip


try:
    shown(machine)
except FluidappError as err:
    save_at.error(str(err))
with below:
    _undo.said()
    _undo.newest(machine.key, f"service_{machine.key}")
    sheets(machine)
here = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/level.py", "Level check", here),
        ("screens/gearcase.py", "Gear case: keep or change?", here),
        ("screens/records.py", "Records of this machine", here),
    ]
)
