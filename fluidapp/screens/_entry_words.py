"""One entry of the records in plain words, with the names of machines, compartments and products."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fluidapp.calc.greasing import position_name
from fluidapp.model import Machine, Product, Truck
from fluidapp.screens import _resources
from fluidapp.store import Entry
from fluidapp.store.kinds import PLACES, GunCalibration, LabResult, LevelReading, Meter, MeterChanged, Movement, OilSample, Shot, named

WHERE = {"stock": "stock", "used-oil": "used-oil tank", "outside": "outside"}
_MARKS = re.compile(r"([\\`*_\[\]$~<>#|:])")


@dataclass(frozen=True, slots=True)
class Names:
    """What keys are called: machines, trucks, products, guns, whether on the lists or off them."""

    machines: dict[str, Machine]
    trucks: dict[str, Truck]
    products: dict[str, Product]
    guns: dict[str, str]

    @classmethod
    def read(cls) -> "Names":
        """As the records have them now."""
        store = _resources.store()
        return cls(
            {m.key: m for m in store.machines(archived=True)},
            {t.key: t for t in store.trucks(archived=True)},
            {p.key: p for p in store.products(archived=True)},
            {g.key: g.label for g in store.guns(archived=True)},
        )

    def machine(self, key: str | None) -> str:
        """A machine's label; "" for none."""
        return self.machines[key].label if key in self.machines else key or ""

    def product(self, key: str | None) -> str:
        """A product's label."""
        return "unknown product" if key in (None, "unknown") else self.products[key].label if key in self.products else str(key)

    def part(self, node: str | None, on: str | None = None) -> str:
        """A node as people say it; that of another machine than ``on`` with the machine's name."""
        if node is None:
            return ""
        if node in PLACES:
            return WHERE[node]
        owner, _, key = node.partition("/")
        found = self.machines.get(owner) or self.trucks.get(owner)
        if found is None:
            return node
        listed = {one.key: one.label for one in found.compartments}
        if isinstance(found, Machine):
            listed |= {one.key: one.label for one in found.baths} | {one.key: one.label for one in found.grease_points}
        label = listed.get(key, key)
        return label if owner == on else f"{label} of {found.label}"


def entry_words(entry: Entry, names: Names) -> str:
    """One entry in one line, as it was entered."""
    said = _SAYS.get(type(entry.doc), _plain)(entry, entry.doc, names)
    note = "" if not entry.doc.note else f" ({entry.doc.note})"
    return f"{said[:1].upper()}{said[1:]}{note}"


def escaped(text: str) -> str:
    """What a person typed, so that no mark in it is taken for layout."""
    return _MARKS.sub(r"\\\1", text.replace("\n", " "))


def head(entry: Entry, names: Names, on: str | None = None) -> str:
    """When, on which machine (but for ``on``), at which meter: "2026-05-04 06:30 · Teasel, 35 t · 5123 h"."""
    meter = None if entry.meter_h is None else f"{entry.meter_h:g} h"
    machine = names.machine(entry.machine) if entry.machine != on else ""
    return " · ".join(text for text in (f"{entry.at_local:%Y-%m-%d %H:%M}", machine, meter) if text)


def crossed(void: Entry) -> str:
    """When, by whom and why an entry was crossed out."""
    reason = named(void.doc, "reason")
    by = f" by {void.by_name}" if void.by_name else ""
    return f"crossed out {void.at_local:%Y-%m-%d %H:%M}{by}" + (f": {reason}" if reason else "")


def _reading(entry: Entry, doc: LevelReading, names: Names) -> str:
    shown = ", ".join(f"{d:g}" for d in doc.depths_mm) + " mm" if doc.depths_mm else doc.as_read
    shown = shown or (f"{doc.level:g}" if doc.level is not None else doc.bound)
    gauge = f", {doc.gauge}" if doc.gauge else ""
    warm = f", oil {doc.temp_c:g} °C" if doc.temp_c is not None else ""
    return f"{names.part(doc.node, entry.machine)}{gauge}: {shown}{warm}"


def _movement(entry: Entry, doc: Movement, names: Names) -> str:
    amount = doc.as_read or (f"{doc.volume_l:g} L" if doc.volume_l is not None else f"{doc.mass_kg:g} kg")
    way = f"from {names.part(doc.from_node, entry.machine)} to {names.part(doc.to_node, entry.machine)}"
    what = f"{amount} {names.product(doc.product)}" if doc.product != "used" else amount
    to = f", to {doc.receiver}" if doc.receiver else ""
    paper = f", document {doc.document}" if doc.document else ""
    return f"{doc.purpose}: {what} {way}{to}{paper}"


def _shot(entry: Entry, doc: Shot, names: Names) -> str:
    grams = f"{doc.mass_g:g} g" if doc.mass_g else "grease"
    amount = f"{doc.strokes:g} strokes" if doc.strokes else f"{doc.seconds:g} s" if doc.seconds else grams
    machine = names.machines.get(entry.machine or "")
    boom = ""
    if doc.swing_deg is not None:
        boom = f", boom over {position_name(doc.swing_deg, machine.sprockets)}" if machine else f", boom at {doc.swing_deg:g}°"
    nipple = f", nipple {doc.nipple}" if doc.nipple > 1 else ""
    seal = "" if doc.purge_seen is None else f", {'grease shows' if doc.purge_seen else 'no grease'} at the seal"
    return f"{names.part(f'{entry.machine}/{doc.point}', entry.machine)}: {amount}{boom}{nipple}{seal}"


def _gun(entry: Entry, doc: GunCalibration, names: Names) -> str:
    counted = f"{doc.strokes} strokes" if doc.strokes else f"{doc.seconds:g} s"
    return f"{names.guns.get(doc.gun, doc.gun)} weighed: {counted} gave {doc.mass_g:g} g"


def _meter(entry: Entry, doc: Meter, names: Names) -> str:
    return f"hour meter {doc.state}" + (f": {entry.meter_h:g} h" if entry.meter_h is not None else "")


def _changed(entry: Entry, doc: MeterChanged, names: Names) -> str:
    end = "could not be read any more" if doc.old_end_h is None else f"ended at {doc.old_end_h:g} h"
    return f"hour meter exchanged: the old one {end}"


def _sample(entry: Entry, doc: OilSample, names: Names) -> str:
    added = "" if doc.added_l is None else f", {doc.as_read or f'{doc.added_l:g} L'} added since the last one"
    aged = "" if doc.oil_h is None else f", oil {doc.oil_h:g} h old"
    return f"oil sample from {names.part(doc.node, entry.machine)}, bottle {doc.bottle}{aged}{added}"


def _lab(entry: Entry, doc: LabResult, names: Names) -> str:
    values = ", ".join(f"{name} {value:g} {doc.units[name]}" for name, value in doc.values.items())
    bottle = f", bottle {doc.bottle}" if doc.bottle else ""
    return f"lab result for {names.part(doc.node, entry.machine)}{bottle}: {values or 'no figures'}"


def _plain(entry: Entry, doc: Any, names: Names) -> str:
    """A kind whose own words say it: what, where, why."""
    words = [str(getattr(doc, name)) for name in ("text", "what", "task", "seen", "reason", "day") if getattr(doc, name, None)]
    nodes = dict.fromkeys(names.part(node, entry.machine) for node in doc.nodes())
    at = f", {', '.join(nodes)}" if nodes else ""
    product = named(doc, "product")
    poured = f", {names.product(product)} went in" if entry.kind == "observation" and product else ""
    factor = f", counts {doc.factor:g} times" if entry.kind == "duty" else ""
    about = " (about another entry)" if named(doc, "about") else ""
    return f"{entry.kind}{at}{poured}{factor}{about}" + (f": {words[0]}" if words else "")


_SAYS: dict[type, Callable[[Entry, Any, Names], str]] = {
    LevelReading: _reading,
    Movement: _movement,
    Shot: _shot,
    GunCalibration: _gun,
    Meter: _meter,
    MeterChanged: _changed,
    OilSample: _sample,
    LabResult: _lab,
}
