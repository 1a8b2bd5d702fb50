"""Eighteen months, week by week: who works, who checks, what is poured, changed and greased."""

import math
import random
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from fluidapp.calc import level
from fluidapp.model import Compartment, Machine
from maker.work import END, HERE, START, Book, Leak, Plant, tenth

TRUCK, EARLY, SHOP = "lube truck", "early shift", "workshop"
PRODUCTS = {"hyd_vg46": (1000.0, 3.1), "eng_15w40": (416.0, 3.9), "gear_vg220": (208.0, 4.6), "gear_80w90": (208.0, 4.4)}
HOURS_AT_START = {
    "sorrel": 1410.0,
    "tansy": 3320.0,
    "yarrow": 5284.0,
    "juniper": 2107.0,
    "fennel": 7850.0,
    "teasel": 6122.0,
    "burdock": 4016.0,
    "mallow": 8803.0,
    "sedge": 1960.0,
    "thistle": 5530.0,
    "gorse": 2744.0,
    "bracken": 9121.0,
}
SEEPS = {  # litres of hydraulic oil per 100 h that are lost at hoses, rods and couplers
    "sorrel": 0.5,
    "tansy": 0.9,
    "yarrow": 1.3,
    "juniper": 1.0,
    "fennel": 2.1,
    "teasel": 1.6,
    "burdock": 2.7,
    "mallow": 0.8,
    "sedge": 0.7,
    "thistle": 1.5,
    "gorse": 2.6,
    "bracken": 0.9,
}


def air_c(day: datetime) -> float:
    """Mean morning temperature of the season [°C]."""
    return 9.5 - 8.5 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365.25)


def live(machines: list[dict[str, Any]], stories: Mapping[str, Callable[[Plant], None]], seed: int = 20260930) -> Book:
    """The whole time, for every machine in turn, and the stock in the end."""
    book = Book()
    for doc in machines:
        machine = Machine.model_validate(doc)
        plant = Plant(machine, random.Random(f"{seed} {machine.key}"), book, hours=HOURS_AT_START[machine.key])
        ordinary(plant)
        plant.leaks.append(Leak("tank", "ground", SEEPS[machine.key] / 100))
        plant.leaks.append(Leak("engine", "ground", 0.0003 * plant.litres["engine"]))
        plant.leaks += [Leak(key, "ground", 0.00001 * plant.litres[key]) for key in plant.litres if key not in ("tank", "engine", "bath")]
        if machine.key in stories:
            stories[machine.key](plant)
        work(plant)
    stock(book, random.Random(f"{seed} stock"))
    for rows in (book.readings, book.movements, book.shots, book.meters, book.others):
        rows.sort(key=lambda row: (row["time"], row.get("machine") or ""))
    return book


def work(plant: Plant) -> None:
    """One machine from the first Monday to the last."""
    rng = plant.rng
    begin = {key: plant.hours - rng.uniform(0, 0.8) * every for key, (_, every) in tasks(plant.machine).items()}
    plant.last_change.update({key: h for key, h in begin.items() if key not in plant.last_change})
    plant.last_round = plant.hours - rng.uniform(0, 60)
    plant.last_sample = plant.hours - rng.uniform(0, 450)
    places = (0.0, 90.0, 180.0, 270.0)
    week = 0
    monday = START
    while monday <= END:
        at = monday + timedelta(minutes=rng.randrange(0, 50))
        oil_c = air_c(monday) + rng.gauss(0, 2.5)
        plant.book.meters.append({**plant.head(at, EARLY), "meter_h": plant.meter_h})
        check(plant, week, at, oil_c)
        for key, (task, every) in tasks(plant.machine).items():
            if plant.hours - plant.last_change[key] >= every:
                plant.change(key, task, at + timedelta(hours=5), SHOP)
        if plant.hours - plant.last_sample >= 500:
            plant.sample("tank", at + timedelta(minutes=30), SHOP)
        if week % 9 == 4:
            plant.survey(at + timedelta(hours=4), SHOP)
        days = 5 if rng.random() > 0.06 else rng.choice((0, 2, 3))
        hours = max(0.0, (plant.machine.hours_per_week or 30.0) * days / 5 * rng.gauss(1.0, 0.08))
        if monday.month in (12, 1) and (monday.month == 12) == (monday.day > 20):
            hours *= 0.2  # the pit stands still round the turn of the year
        done = 0.0
        for day in range(5):
            today = monday + timedelta(days=day)
            if today > END:
                break
            plant.run(hours / 5, today)
            done += hours / 5
            greasing(plant, places, today + timedelta(hours=7, minutes=rng.randrange(0, 120)))
            for when, happens in plant.events:
                if when.date() == today.date():
                    happens(plant, today + timedelta(hours=10))
        monday += timedelta(days=7)
        week += 1


def check(plant: Plant, week: int, at: datetime, oil_c: float) -> None:
    """The Monday morning round, cold and before the first start; what is low is topped up by the lube truck."""
    rng, minute = plant.rng, 0
    for compartment in plant.machine.compartments:
        if not compartment.gauges or not looked_at(compartment, week):
            continue
        plant.read(compartment.key, at + timedelta(minutes=minute), EARLY, oil_c)
        minute += rng.choice((1, 2, 3))
        if compartment.key == "tank" and len(compartment.gauges) > 1:
            plant.read("tank", at + timedelta(minutes=minute), EARLY, oil_c, gauge_name=compartment.gauges[1].name)
        marks = level.marks(compartment)
        room = marks.target_l - plant.litres[compartment.key]
        low = marks.target_l - 0.4 * (marks.target_l - marks.low_l)
        if plant.litres[compartment.key] < low or (compartment.kind == "final drive" and room > 0.12 * marks.target_l):
            then = at + timedelta(hours=2, minutes=rng.randrange(0, 90))
            plant.pour(compartment.key, tenth(room), then, TRUCK, oil_c=oil_c + 2)
            if compartment.key == "tank" and rng.random() < 0.7:
                plant.read("tank", then + timedelta(minutes=15), TRUCK, oil_c + 1.5)


def looked_at(compartment: Compartment, week: int) -> bool:
    """How often a compartment is read."""
    every = {"hydraulic tank": 1, "engine sump": 1, "slewing gearbox": 2}.get(compartment.kind, 4)
    return week % every == 0


def tasks(machine: Machine) -> dict[str, tuple[str, float]]:
    """Planned changes by compartment: task and interval [h]."""
    return {str(t.at): (t.label, t.repeat_h) for t in machine.tasks if t.kind == "change" and t.repeat_h is not None}


def greasing(plant: Plant, places: tuple[float, ...], at: datetime) -> None:
    """Greasing rounds: a ring at every position each 80 hours or so, other points at two thirds of their interval."""
    for point in plant.machine.grease_points:
        due = 78.0 if point.ring else 0.66 * point.limit_h
        if plant.hours - plant.last_round < due:
            continue
        plant.last_round = plant.hours
        gun = "gun-power" if plant.rng.random() < 0.4 else "gun-hand"
        by = TRUCK if gun == "gun-power" else EARLY
        if point.ring is None:
            plant.shoot(point.key, None, at, by, gun)
            continue
        for n, swing in enumerate(places):
            if not plant.skip_position(plant, swing, at):
                plant.shoot(point.key, swing, at + timedelta(minutes=4 * n), by, gun)


def ordinary(plant: Plant) -> None:
    """Things that happen in any quarry: a burst hose, a dusty place, a gun that is weighed."""
    match plant.machine.key:
        case "tansy":
            plant.events.append((datetime(2025, 10, 14, tzinfo=HERE), burst_hose))
        case "thistle":
            dust = {"factor": 0.5, "reason": "works in the crusher's dust"}
            plant.events.append((datetime(2025, 4, 1, tzinfo=HERE), lambda p, at: p.wrote("duty", at, SHOP, **dust)))
        case "yarrow":
            weighed = {"gun": "gun-hand", "strokes": 20, "mass_g": 23.0, "product": "grease_ep2"}
            plant.events.append((datetime(2026, 3, 10, tzinfo=HERE), lambda p, at: p.wrote("gun calibration", at, SHOP, **weighed)))


def burst_hose(plant: Plant, at: datetime) -> None:
    """A bucket cylinder's hose bursts; what was lost is poured in two goes."""
    plant.litres["tank"] -= 14.0
    opened = [{"what": "hose to the bucket cylinder", "volume_l": 0.6}]
    plant.wrote("repair", at, SHOP, what="hose to the bucket cylinder renewed", at_nodes=["tank"], opened=opened, metal_found=False)
    plant.read("tank", at + timedelta(minutes=20), SHOP, 24.0)
    plant.pour("tank", 12.0, at + timedelta(minutes=35), SHOP, oil_c=16.0)
    plant.pour("tank", 2.2, at + timedelta(minutes=80), SHOP, oil_c=16.0)
    plant.read("tank", at + timedelta(minutes=90), SHOP, 27.0)


def stock(book: Book, rng: random.Random) -> None:
    """Deliveries before the stock runs low, and collections of used oil."""
    held = {key: 0.8 * size for key, (size, _) in PRODUCTS.items()}
    used = 240.0
    rows = sorted(book.movements, key=lambda row: row["time"])
    first = START - timedelta(days=3)
    added = [delivery(first, key, round(amount), PRODUCTS[key][1], "opening stock") for key, amount in held.items()]
    held = {key: float(round(amount)) for key, amount in held.items()}
    for row in rows:
        at, amount = datetime.fromisoformat(row["time"]), float(row["amount"])
        if row["from"] == "stock":
            key = row["product"]
            size, price = PRODUCTS[key]
            held[key] -= amount
            if held[key] < 0.35 * size:
                later = at + timedelta(days=rng.choice((1, 2, 3)), hours=3)
                if later < END:
                    dearer = price * (1 + 0.04 * (at - START).days / 365 + rng.gauss(0, 0.01))
                    added.append(delivery(later, key, size, round(dearer, 2), "delivery"))
                    held[key] += size
        elif row["to"] == "used-oil":
            used += amount
            if used > 800:
                collected = {
                    "time": (at + timedelta(days=2)).isoformat(timespec="minutes"),
                    "by": SHOP,
                    "from": "used-oil",
                    "to": "outside",
                }
                book.movements.append(collected | {"product": "used", "amount": f"{used:.0f}", "unit": "L", "purpose": "used oil"})
                used = 0.0
    book.movements.extend(added)


def delivery(at: datetime, product: str, litres: float, price: float, note: str) -> dict[str, Any]:
    """Oil that comes into stock."""
    row = {
        "time": at.isoformat(timespec="minutes"),
        "by": SHOP,
        "from": "outside",
        "to": "stock",
        "product": product,
        "amount": f"{litres:g}",
    }
    return row | {"unit": "L", "purpose": "stock", "price": price, "currency": "EUR", "note": note}
