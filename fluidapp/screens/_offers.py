"""Recorded top-ups and drains of a compartment, as pours for its calibration."""

from fluidapp.calc.offered import Moved, Offer, Seen, offers
from fluidapp.model import Compartment, Machine
from fluidapp.screens import _resources
from fluidapp.store.kinds import LevelReading, Movement


def recorded(machine: Machine, part: Compartment) -> list[tuple[str, Offer]]:
    """Every pour that the records hold, newest first, with the day on which it was made; those on the gauges that there are now."""
    node = f"{machine.key}/{part.key}"
    events: list[Seen | Moved] = []
    days: dict[str, str] = {}
    names = [g.name for g in part.gauges]
    found = [*_resources.store().entries(machine.key, "reading", part.key), *_resources.store().entries(None, "movement", node)]
    for entry in sorted(found, key=lambda e: (e.at, e.seq)):
        doc, at_h = entry.doc, entry.at.timestamp() / 3600
        if isinstance(doc, LevelReading):
            gauge = doc.gauge or names[0]
            if doc.bound == "exact" and doc.level is not None and not doc.swing_deg and gauge in names:
                days[entry.id] = f"{entry.at_local:%Y-%m-%d}"
                events.append(Seen(at_h, gauge, doc.level, doc.temp_c, doc.posture, entry.meter_h, entry.id))
        elif isinstance(doc, Movement):
            litres = doc.volume_l if doc.to_node == node or doc.volume_l is None else -doc.volume_l
            events.append(Moved(at_h, litres))
    return [(days[offer.after.entry], offer) for offer in offers(events)]
