"""Every pour is checked against what the compartment holds: the product's box, the check, what the records say is mixed."""

from dataclasses import dataclass

import streamlit as st

from fluidapp.calc import product_check
from fluidapp.errors import BadInput
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _resources, _state
from fluidapp.store.kinds import Movement, Observation

UNKNOWN = product_check.UNKNOWN
WHOLE = 0.7  # of what it holds: a drain of at least that counts as a whole one (own limit)


@dataclass(frozen=True, slots=True)
class Poured:
    """The product of a pour, and what the check says; ``stop`` where nothing may be stored."""

    product: str
    check: product_check.ProductCheck

    @property
    def stop(self) -> bool:
        """True where the pour is refused."""
        return self.check.word == "stop"

    def refuse(self, label: str) -> None:
        """Raises BadInput, with the reason, where the pour is refused."""
        if self.stop:
            raise BadInput(f"{label}, product poured", product_label(self.product), " ".join((self.check.reason, *self.check.needs)))


def product_label(key: str | None) -> str:
    """A product by its name; what nobody knows is called so."""
    if key is None or key == UNKNOWN:
        return "unknown product"
    found = _resources.product(key)
    return found.label if found else key


def mixed(machine: Machine, part: Compartment) -> product_check.State:
    """Whether the records say that another or an unknown product went into a compartment since it was drained last."""
    node = f"{machine.key}/{part.key}"
    holds = part.capacities.refill_l or part.capacities.at_mark_l
    dated = [
        (e.at, product_check.Event("poured", e.doc.product))
        for e in reversed(_resources.store().entries(machine.key, "observation", part.key))
        if isinstance(e.doc, Observation) and e.doc.product
    ]
    for row in _resources.store().movements(node=node):
        if row.to_node == node:
            dated.append((row.at, product_check.Event("poured", row.product or UNKNOWN, row.volume_l)))
        elif row.purpose == "planned change" or (holds and row.volume_l and row.volume_l >= WHOLE * holds):
            dated.append((row.at, product_check.Event("drained")))
    events = [event for _, event in sorted(dated, key=lambda one: one[0])]
    if part.product is None and not any(e.what == "poured" for e in events):
        return product_check.State(False, None, None, "")
    return product_check.state(part.product, events)


def ask(machine: Machine, part: Compartment, key: str, *, drained: bool = False) -> Poured:
    """The product of a pour, the compartment's own first, and what the check says about it; shown at once."""
    kind = "coolant" if part.kind == "coolant" else "fuel" if part.kind == "fuel tank" else "oil"
    listed = [p.key for p in _resources.store().products() if p.kind == kind]
    own = [part.product] if part.product else []
    choices = [*own, *(k for k in sorted(listed) if k not in own), UNKNOWN]
    if st.session_state.get(key) not in choices:
        st.session_state[key] = choices[0] if own else UNKNOWN
    st.selectbox("Product poured", choices, format_func=product_label, key=key, persist_state="session")
    chosen = st.session_state[key] or choices[0]
    found = product_check.check(
        _resources.product(part.product),
        None if chosen == UNKNOWN else _resources.product(chosen),
        mixed=mixed(machine, part).mixed,
        drained=drained,
    )
    poured = Poured(chosen, found)
    show(poured)
    return poured


def movement(node: str, product: str, litres: float, box: str, purpose: str, temp_c: float | None = None) -> Movement:
    """The entry of a pour from stock, with the price that the product has now."""
    known = _resources.product(product)
    price = known.price if known else None
    return Movement.made(
        from_node="stock", to_node=node, product=product, volume_l=litres, temp_c=temp_c, purpose=purpose, price=price,
        currency=known.currency if known and price is not None else "", as_read=_state.as_read(box),
    )  # fmt: skip


def show(poured: Poured) -> None:
    """A refusal as an error, what must be known as a warning; nothing where it is the compartment's own product."""
    said = " ".join((poured.check.reason, *poured.check.needs))
    if poured.stop:
        st.error(f"Stop: {said}")
    elif poured.check.reason:
        st.warning(said)
