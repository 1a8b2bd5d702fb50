"""Top-up: how much to the mark, in my pails?"""

import streamlit as st

from fluidapp import units
from fluidapp.calc import figure, oil, picture, topup
from fluidapp.calc.between import poured_doubt
from fluidapp.charts.tank import tank as draw_tank
from fluidapp.errors import FluidappError
from fluidapp.model import Compartment, Container, Machine
from fluidapp.screens import _parts, _pour, _reading, _resources, _state
from fluidapp.screens.words import instruction, not_measured, packs, scale_unit, understood
from fluidapp.store import NewEntry
from fluidapp.store.kinds import LevelReading

PAILS = ("20 L pail", "5 US gal pail", "10 L can", "1 L jug", "none")

_parts.head("Top-up", "How much to the mark, in my pails?", "tank")
machine = _parts.pick_machine()
part = _parts.pick_compartment(machine, "topup", lambda c: any(g.bands for g in c.gauges))
asked_at, answer_at, below = st.container(), st.container(), st.container()


def containers(part: Compartment) -> tuple[Container, ...]:
    """The containers at hand: those of the product where they are entered, else common sizes."""
    product = _resources.product(part.product)
    own = {c.label: c for c in (product.containers if product else ())}
    names = [*own, *(p for p in PAILS if p not in own)]
    chosen = st.selectbox("Container at hand", names, key="topup_pail", persist_state="page")
    if chosen in own:
        return (own[chosen],)
    if chosen is None or chosen == "none":
        return ()
    size = chosen.rsplit(" ", 1)[0]
    return (Container(label=chosen, volume_l=units.volume_l("Container", size) or 20.0),)


def shown_answer(machine: Machine, part: Compartment) -> None:
    """Reads the inputs and shows what they say; a refusal is one sentence."""
    with asked_at:
        asked = _reading.ask(machine, part, "topup", below)
    result_at, pails_at, pour_at = (answer_at.container() for _ in range(3))
    with pails_at:
        sizes = containers(part)
    reading = asked.reading
    if reading is None:
        result_at.info("Enter what the gauge shows to see how much to add.")
        return
    product = _resources.product(part.product)
    rho15 = _resources.rho15(part.product)
    found = topup.answer(machine, part.key, reading, sizes, rho15=rho15)
    assert found.volume is not None
    assert found.marks is not None
    show, unit = _state.show(), scale_unit(part, reading.gauge)
    with result_at:
        if found.before_you_pour:
            st.warning(found.before_you_pour)
        verb, amount = instruction(found, show)
        _parts.answer(verb, amount)
    with pour_at:
        if found.pour_l > 0:
            st.markdown(f"Pour **{packs(found, show)}**")
        _parts.remarks(found.remarks)
        st.caption(f"{understood(found.volume, unit, show)}; the target is at {show.reading(found.marks.band.aim_mm, unit)}.")
        if found.after_mm is not None:
            hot = f", and {show.reading(found.hot_level_mm, unit)} at {show.degrees(found.hot_c)}" if found.hot_level_mm is not None else ""
            st.caption(f"When it is in, expect {show.reading(found.after_mm, unit)} now{hot}. Then read again.")
        if product:
            weight = ""
            if product.rho15 and found.pour_l >= 1:
                weight = f", {show.kilograms(*oil.weight(found.pour_l, product.rho15, poured_doubt(found.pour_l)))}"
            cost = f", {found.pour_l * product.price:.0f} {product.currency}".rstrip() if product.price and found.pour_l > 0 else ""
            st.caption(f"Product: {product.label}{weight}{cost}. Pour nothing else.")
        if found.hot is not None and found.hot.posture is None and found.volume.bound == "exact":
            room = show.amount(figure.to_pour(found.hot.brim_l - found.hot.rods_in_l, machine.class_t, down=True))
            heat = f"at {show.degrees(found.hot.temp_c)}" if found.hot.temp_c is not None else "heat not counted"
            rods = "all rods in, " if found.hot.rods else ""
            st.caption(f"Overfill, second check: {rods}{heat}, {room} are left to {found.hot.top}.")
        if assumed := not_measured(found.volume):
            st.caption(assumed)
        _reading.say_weights(asked, found.volume.budget)
        drawn = picture.tank(part, reading, found.volume.reading_mm)
        _parts.chart(draw_tank(drawn, show.about), drawn.text, "topup_chart", "content")
    with below:
        _parts.budget_table(found.volume.budget)
        with st.expander("Store the reading and what was poured"):
            poured = _state.box("Really poured", "topup_poured", "volume", help="Measured, not planned. Empty: only the reading is stored.")
            after = _state.box("Gauge after pouring", "topup_after", "length") if unit == "mm" else None
            product_poured = _pour.ask(machine, part, "topup_product") if poured is not None else None
            name, at, meter = _parts.who_and_when("topup")

            def entries() -> list[NewEntry]:
                made = [LevelReading.made(node=part.key, **reading.model_dump())]
                rows = [NewEntry.made(doc=made[0], at=at, machine=machine.key, meter_h=meter)]
                if poured is not None and product_poured is not None:
                    product_poured.refuse(part.label)
                    doc = _pour.movement(part.key, product_poured.product, poured, "topup_poured", "top-up", reading.temp_c)
                    rows.append(NewEntry.made(doc=doc, at=at, machine=machine.key, meter_h=meter))
                if after is not None:
                    again = reading.model_copy(update={"level": after, "bound": "exact", "as_read": _state.as_read("topup_after")})
                    rows.append(
                        NewEntry.made(doc=LevelReading.made(node=part.key, **again.model_dump()), at=at, machine=machine.key, meter_h=meter)
                    )
                return rows

            _parts.save_button("topup", "Store it", entries, by_name=name)


try:
    shown_answer(machine, part)
except FluidappError as err:
    answer_at.error(str(err))
here = {"machine": machine.key}
_parts.next_steps(
    [
        ("screens/balance.py", "Oil balance: where did it go?", here),
        ("screens/level.py", "Level check of another compartment", here),
        ("screens/service.py", "Service: several compartments in one save", here),
        ("screens/records.py", "Records of this machine", here),
    ]
)
