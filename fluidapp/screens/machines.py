"""Machines: what is measured?"""

import streamlit as st

from fluidapp.screens import _machine_add, _machine_edit, _machine_files, _machine_look, _machine_save, _parts, _resources

WHAT = {"Look": "Look", "Add": "Add", "Edit": "Edit", "Files": "Files"}

_parts.head("Machines", "What is measured: tanks, gauges, marks, cylinders, grease points?")
_machine_save.arrive()
any_machine = bool(_resources.machines())
if not any_machine:
    st.info("No machine is entered yet. Start from a typical class; every figure can be replaced later.")
    st.session_state.setdefault(_machine_save.WHAT, "Add")
st.session_state.setdefault(_machine_save.WHAT, "Look")
task = st.segmented_control("Task", list(WHAT), key=_machine_save.WHAT, required=True, label_visibility="collapsed", persist_state="page")
if task == "Add":
    _machine_add.add()
elif not any_machine:
    if task == "Files":
        _machine_files.put_in()
    else:
        st.caption("Add a machine first, or read its file in.")
else:
    machine = _parts.pick_machine()
    if task == "Edit":
        _machine_edit.edit(machine)
    elif task == "Files":
        _machine_files.out(machine)
        _machine_files.put_in()
    else:
        st.header(machine.label, anchor=False)
        _machine_look.look(machine)
        here = {"machine": machine.key}
        _parts.next_steps(
            [
                ("screens/calibration.py", "Calibration: litres per mm by pouring", here),
                ("screens/level.py", "Level check", here),
                ("screens/greasing.py", "Greasing", here),
            ]
        )
