"""The rows of the Service: one compartment each, before, drained, added, after."""

import math
from dataclasses import dataclass

import streamlit as st

from fluidapp.calc import between, decision, used_oil
from fluidapp.errors import CannotAnswer
from fluidapp.model import Compartment, Frozen, LevelPlug, Machine, Percent, Reading
from fluidapp.model.holds import check_litres
from fluidapp.screens import _pour, _resources, _state
from fluidapp.screens.words import one_sided
from fluidapp.store.kinds import LevelReading, Movement, TaskDone

SHORT = {"at most": "below", "at least": "above"}


@dataclass(frozen=True, slots=True)
class Row:
    """What was done in one compartment; None where nothing was entered."""

    part: Compartment
    gauge: str | None
    before: Reading | None
    after: Reading | None
    drained_l: float | None
    added_l: float | None
    poured: _pour.Poured | None
    changed: bool
    key: str

    @property
    def empty(self) -> bool:
        """True where nothing was entered."""
        return self.before is None and self.after is None and self.drained_l is None and self.added_l is None

    def docs(self, temp_c: float | None) -> list[Frozen]:
        """The entries of this row, in the order of the work. BadInput where the pour is refused."""
        found: list[Frozen] = []
        if self.before is not None:
            found.append(_reading_doc(self.part.key, self.before, temp_c))
        if self.drained_l is not None:
            purpose = "planned change" if self.changed else "drain"
            other = used_oil.other_than_oil(_resources.product(self.part.product), self.part.kind)
            product = self.part.product if other else "used" if _known("used") else None
            found.append(
                Movement.made(
                    from_node=self.part.key,
                    to_node="outside" if other else "used-oil",
                    product=product or "unknown",
                    volume_l=self.drained_l,
                    temp_c=temp_c,
                    purpose=purpose,
                    as_read=_state.as_read(f"{self.key}_drained"),
                )
            )
        if self.added_l is not None and self.poured is not None:
            self.poured.refuse(self.part.label)
            purpose = "planned change" if self.changed else "top-up"
            found.append(_pour.movement(self.part.key, self.poured.product, self.added_l, f"{self.key}_added", purpose, temp_c))
        if self.after is not None:
            found.append(_reading_doc(self.part.key, self.after, temp_c))
        if self.changed and self.added_l is not None:
            found.append(TaskDone.made(task="oil change", node=self.part.key, product=self.poured.product if self.poured else None))
        return found


def _known(product: str) -> bool:
    return _resources.product(product) is not None


def _reading_doc(node: str, reading: Reading, temp_c: float | None) -> LevelReading:
    return LevelReading.made(node=node, **{**reading.model_dump(), "temp_c": temp_c})


def ask(machine: Machine, part: Compartment) -> Row:
    """Draws the boxes of one compartment. Raises what they refuse."""
    key = f"service_{machine.key}_{part.key}"
    gauge = part.gauges[0].name if part.gauges else None
    if len(part.gauges) > 1:
        gauge = st.selectbox("Gauge", [g.name for g in part.gauges], key=f"{key}_gauge", persist_state="session")
    with st.container(horizontal=True, gap="small"):
        places = [st.container(width=132) for _ in range(4 if gauge else 2)]
    before = after = None
    if gauge:
        scale, ok = part.gauge(gauge), None
        if isinstance(scale, LevelPlug) and scale.position_tick:
            ok = (
                st.checkbox("The plug stands in its position (track turned until it does)", key=f"{key}_plug_ok", persist_state="session")
                or None
            )
        with places[0]:
            before = _level(part, gauge, "Before", f"{key}_before", ok)
        with places[3]:
            after = _level(part, gauge, "After", f"{key}_after", ok)
    with places[1 if gauge else 0]:
        drained = _state.box("Drained", f"{key}_drained", "volume")
    with places[2 if gauge else 1]:
        added = _state.box("Added", f"{key}_added", "volume")
    for name, litres in (("Drained", drained), ("Added", added)):
        check_litres(part, litres or 0.0, name)
    changed = False
    if drained is not None:
        if other := used_oil.other_than_oil(_resources.product(part.product), part.kind):
            st.warning(f"{other.capitalize()}: into a container of its own, never into the used-oil tank. It is booked as gone outside.")
        changed = st.checkbox("Drained whole: this is an oil change", key=f"{key}_changed", persist_state="session")
    poured = _pour.ask(machine, part, f"{key}_product", drained=changed) if added is not None else None
    return Row(part, gauge, before, after, drained, added, poured, changed, key)


def _level(part: Compartment, gauge: str, label: str, key: str, ok: bool | None) -> Reading | None:
    """One reading in a box that takes the words of a one-sided reading too."""
    scale, names = part.gauge(gauge), one_sided(part, gauge)
    unit = "%" if isinstance(scale, Percent) else _state.show().length
    text = (st.session_state.get(key) or "").strip().lower()
    for bound in ("at most", "at least"):
        if text and text in (names[bound], SHORT[bound]):
            st.text_input(f"{label} ({unit})", key=key, autocomplete="off", persist_state="session")
            return Reading.made(gauge=gauge, bound=bound, as_read=names[bound], position_ok=ok)
    if isinstance(scale, Percent):
        level = _state.number_box(f"{label} (%)", key)
    else:
        level = _state.box(label, key, "length", help=f"Or write “{SHORT['at most']}” ({names['at most']}), “above” ({names['at least']}).")
    if level is None:
        return None
    typed = f"{text} %" if isinstance(scale, Percent) else _state.as_read(key)
    return Reading.made(gauge=gauge, level=level, as_read=typed, position_ok=ok)


def words(machine: Machine, row: Row, temp_c: float | None) -> str | None:
    """Whether readings and litres of a row fit together; None where that cannot be told."""
    if row.before is None or row.after is None or row.before.bound != "exact" or row.after.bound != "exact":
        return None
    rho15 = _resources.rho15(row.part.product)
    then, now = (r.model_copy(update={"temp_c": temp_c}) for r in (row.before, row.after))
    try:
        change, _ = between.oil_change(
            machine, row.part.key, then, now, rho15=rho15, poured_l=row.added_l or 0.0, drained_l=row.drained_l or 0.0, same_state=True
        )
    except CannotAnswer:
        return None
    show = _state.show()
    gauge = f"the gauge says {show.litres(change.change_l, change.u_l, change.dof)}"
    net = (row.added_l or 0.0) - (row.drained_l or 0.0)
    gap = change.change_l - net
    u, _ = decision.quadrature((u, math.inf) for u in (change.u_l, change.u_poured_l, change.u_drained_l))
    fits = abs(gap) <= decision.BALANCED * u
    said = f"{row.part.label}: {net:+.2f} L net, {gauge}"
    return f"{said}: they fit." if fits else f"{said}. **They do not fit:** read again, or look for oil that was not written down."
