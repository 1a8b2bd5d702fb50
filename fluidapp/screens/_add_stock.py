"""Stock received, and used oil handed over."""

import datetime

import streamlit as st

from fluidapp.calc import used_oil
from fluidapp.errors import BadInput
from fluidapp.model import Machine
from fluidapp.screens import _parts, _pour, _resources, _state
from fluidapp.screens._entry_words import Names
from fluidapp.store import MovementRow, NewEntry
from fluidapp.store.kinds import Movement

STOCK, USED = "stock", "used-oil"


def received(machine: Machine | None) -> bool:
    """A delivery: product, amount, price, delivery note; into the stock or onto a truck."""
    products = {p.key: p for p in _resources.store().products() if p.kind != "used"}
    if not products:
        st.info("Enter the product on Products first.")
        return False
    key = st.selectbox("Product", list(products), format_func=lambda k: products[k].label, key="add_received_product", persist_state="page")
    product = products[key]
    places = {STOCK: "stock"} | {
        f"{t.key}/{c.key}": f"{c.label} of {t.label}" for t in _resources.store().trucks() for c in t.compartments if c.product == key
    }
    to = STOCK
    if len(places) > 1:
        to = st.selectbox("Into", list(places), format_func=lambda k: places.get(k, str(k)), key="add_received_to", persist_state="page")
    grease = product.kind == "grease"
    sizes = "" if grease else ", ".join(c.label for c in product.containers)
    field, kind, unit = ("mass_kg", "mass", "a kg") if grease else ("volume_l", "volume", "a litre")
    amount = _state.box("Amount", "add_received_amount", kind, help=f"In containers of: {sizes}." if sizes else None)
    if product.price is not None:
        _state.fill("add_received_price", key, product.price, "", "number")
    else:
        _state.unfill("add_received_price")
    currency = product.currency or (getattr(_resources.site(), "currency", "") or "")
    price = _state.number_box(f"Price {unit} ({currency or 'currency of the site'})", "add_received_price")
    document = st.text_input("Delivery note, number", key="add_received_document", autocomplete="off", persist_state="page") or ""
    name, at, _ = _parts.who_and_when("add_received", metered=False)

    def build() -> list[NewEntry]:
        if amount is None:
            raise BadInput("Amount", "nothing", "Enter what was received, like 208 L.")
        doc = Movement.made(
            from_node="outside", to_node=to, product=key, purpose="stock", price=price, currency=currency if price is not None else "",
            document=document.strip(), as_read=_state.as_read("add_received_amount"), **{field: amount},
        )  # fmt: skip
        return [NewEntry.made(doc=doc, at=at)]

    return _parts.save_button("add_received", "Store the delivery", build, by_name=name)


def handed_over(machine: Machine | None) -> bool:
    """Used oil that leaves the site: litres, receiver, paper; and what is in it besides used oil."""
    st.caption(used_oil.KEEP_APART)
    places = {USED: "used-oil tank"} | {
        f"{t.key}/{c.key}": f"{c.label} of {t.label}" for t in _resources.store().trucks() for c in t.compartments if c.collects
    }
    node = USED
    if len(places) > 1:
        node = st.selectbox(
            "Out of", list(places), format_func=lambda k: places.get(k, str(k)), key="add_handed_from", persist_state="page"
        )
    inside, since = _content(node)
    booked = f"Booked into it since {since}: {_state.show().amount(inside.litres)} as measured." if inside.litres else ""
    if booked:
        st.caption(booked)
    for what, litres in inside.others.items():
        amount = "an unmeasured amount" if litres is None else _state.show().amount(litres)
        st.warning(f"By the records {amount} of {what} went into it since {since}. {used_oil.MIXED}")
    litres = _state.box("Handed over", "add_handed_litres", "volume")
    receiver = st.text_input("Receiver", key="add_handed_receiver", autocomplete="off", persist_state="page") or ""
    document = st.text_input("Document number", key="add_handed_document", autocomplete="off", persist_state="page") or ""
    mix = st.pills("Mixed with (none: used oil alone)", used_oil.OTHERS, selection_mode="multi", key="add_handed_mix", persist_state="page")
    if mix and not inside.mixed:
        st.warning(used_oil.MIXED)
    name, at, _ = _parts.who_and_when("add_handed", metered=False)

    def build() -> list[NewEntry]:
        if litres is None:
            raise BadInput("Handed over", "nothing", "Enter the litres on the paper.")
        if not receiver.strip():
            raise BadInput("Receiver", "nothing", "Name who took it over.")
        others = list(dict.fromkeys([*inside.others, *mix]))
        doc = Movement.made(
            from_node=node, to_node="outside", product="used" if _resources.product("used") else _pour.UNKNOWN, volume_l=litres,
            purpose="used oil", receiver=receiver.strip(), document=document.strip(), as_read=_state.as_read("add_handed_litres"),
            note=f"mixed with {', '.join(others)}" if others else "",
        )  # fmt: skip
        return [NewEntry.made(doc=doc, at=at)]

    return _parts.save_button("add_handed", "Store it", build, by_name=name)


def _content(node: str) -> tuple[used_oil.Content, str]:
    """What the records say went into the used-oil store since it was emptied last, and since when."""
    rows = _resources.store().movements(node=node)
    out = max((i for i, row in enumerate(rows) if row.from_node == node and row.purpose == "used oil"), default=-1)
    names = Names.read()
    drained = [used_oil.Drained(row.volume_l, _other(row, names)) for row in rows[out + 1 :] if row.to_node == node]
    if out >= 0:
        return used_oil.content(drained), f"the last hand-over, {_day(rows[out].at)}"
    return used_oil.content(drained), f"the first entry, {_day(rows[0].at)}" if rows else "the first entry"


def _other(row: MovementRow, names: Names) -> str | None:
    """What was drained where it is no oil: by its product, else by what its compartment is and holds."""
    owner, _, part = row.from_node.partition("/")
    machine = names.machines.get(owner)
    found = next((c for c in machine.compartments if c.key == part), None) if machine else None
    known = names.products.get(row.product or "")
    if known is not None and known.kind == "used":
        known = None
    held = known or (names.products.get(found.product or "") if found else None)
    return used_oil.other_than_oil(held, found.kind if found else "")


def _day(at: datetime.datetime) -> str:
    return f"{at.astimezone(_resources.now().tzinfo):%Y-%m-%d}"
