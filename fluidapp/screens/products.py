"""Products: what is in it, and what does it cost?"""

import streamlit as st

from fluidapp.errors import BadInput, FluidappError
from fluidapp.model import Product
from fluidapp.screens import _form_words, _machine_save, _parts, _resources, _state
from fluidapp.screens._entry_words import escaped
from fluidapp.screens._form import Form

NEW = "new product"
GREASE, OIL = ("thickener", "nlgi"), ("nu40", "nu100", "nu_source", "nu_date")

_parts.head("Products", "What is in it: oils, greases, coolants; their figures, containers and prices?")
if said := st.session_state.pop("_products_said", None):
    st.success(said, icon=":material/check:")
_state.units_box()
listed = {p.key: p for p in _resources.store().products()}
known = {p.key: p for p in _resources.store().products(archived=True)}
machines = _resources.machines()


def block(p: Product) -> str:
    """One product in a few short lines, which a phone does not clip: name and price, kind and figures, containers, places."""
    show = _state.show()
    price = f" · {p.price:g} {p.currency} a {'kg' if p.kind == 'grease' else 'L'}" if p.price is not None else ""
    containers = ", ".join(f"{c.label} ({show.amount(c.volume_l)})" for c in p.containers)
    places = sum(_holds(p.key))
    lines = [
        f"**{escaped(p.label)}**{escaped(price)}",
        escaped(", ".join([p.kind, p.family, *_figures(p)])),
        escaped(f"{containers}; " if containers else "") + f"in {places} {'place' if places == 1 else 'places'}",
    ]
    return "  \n".join([lines[0], *(f":small[{line}]" for line in lines[1:])])


def _figures(p: Product) -> list[str]:
    said = [f"{p.nu40:g} mm²/s at 40 °C"] if p.nu40 else []
    said += [f"{p.nu100:g} at 100 °C"] if p.nu100 else []
    said += [f"{p.rho15:g} kg/m³"] if p.rho15 else []
    return said + ([f"NLGI {p.nlgi}"] if p.nlgi else []) + ([p.thickener] if p.thickener else [])


def _holds(key: str) -> list[bool]:
    """For every compartment, bath and grease point, whether it takes this product."""
    return [x.product == key for m in machines for group in (m.compartments, m.baths, m.grease_points) for x in group]


def edit(key: str) -> None:
    """The form of one product, and its button."""
    old = known.get(key)
    n = len(_resources.store().versions(key)) if old else 0
    form = Form("products_edit", f"{key}/{n}/{st.session_state.get('_products_round', 0)}", _form_words.PRODUCT)
    start = old.model_dump(mode="json", exclude_none=True) if old else {"family": "mineral"}
    words = form.words["Product"]
    doc = form.draw(Product, start, only=("label", "kind", "family"))
    left_out = GREASE if doc.get("kind") == "oil" else OIL if doc.get("kind") == "grease" else (*OIL, *GREASE)
    doc = form.draw(
        Product,
        {k: v for k, v in doc.items() if k not in left_out},
        only=[w for w in words if w not in (*left_out, "label", "kind", "family")],
    )
    by = _machine_save.name_box("products_by")
    if st.button("Save as a new version" if old else "Add the product", key="products_save", type="primary", width="stretch"):
        try:
            if not doc.get("label"):
                raise BadInput("Name", "nothing", "Enter what it is, like Gear oil ISO VG 220.")
            taken = {*known, *(m.key for m in _resources.store().machines(archived=True))}
            made = form.made(Product, {"key": key if old else _machine_save.new_key(doc["label"], taken), **doc})
            _resources.store().put(made, now_utc=_resources.now(), by=by)
            now = len(_resources.store().versions(made.key))
            done(f"{made.label} is stored. Version {now}." if now > n else "Nothing was changed, so there is no new version.")
        except FluidappError as err:
            st.error(str(err))
    if old:
        with st.expander("Take it off the lists"):
            st.caption("Records and machines that name it keep it.")
            if st.button(f"Take {old.label} off", key="products_archive"):
                _resources.store().archive(key)
                done(f"{old.label} is off the lists.")


def done(text: str) -> None:
    """Says on the next run what was stored, with the form filled anew."""
    st.session_state["_products_said"] = text
    st.session_state["_products_round"] = st.session_state.get("_products_round", 0) + 1
    st.rerun()


if listed:
    for product in sorted(listed.values(), key=lambda p: p.label):
        st.markdown(block(product))
else:
    st.info("No product is entered yet. One is enough to begin: the hydraulic oil.")
names = {NEW: "A new product"} | {k: p.label for k, p in sorted(listed.items(), key=lambda kp: kp[1].label)}
if st.session_state.get("products_which") not in names:
    st.session_state["products_which"] = NEW
which = st.selectbox("Add or edit", list(names), format_func=lambda k: names[k], key="products_which", persist_state="page")
edit(which or NEW)
off = {k: p.label for k, p in known.items() if k not in listed}
if off:
    back = st.selectbox("Put back on the lists", list(off), format_func=lambda k: off[k], key="products_back", index=None)
    if back and st.button("Put it back", key="products_back_save"):
        _resources.store().archive(back, False)
        done(f"{off[back]} is back on the lists.")
st.caption("Generic names serve best: kind, grade, base. The data sheet and the machine's manual decide what may be poured.")
_parts.next_steps([("screens/machines.py", "Machines: what holds it", {}), ("screens/topup.py", "Top-up", {})])
