"""The invented fleet. Every figure is a typical one for the size class, none is a real machine's."""

from typing import Any

from maker.parts import Doc, bands, box, elliptical, final_drive, gear_case, lying, obround, section, tank

HOME = (55.3120, 5.2140)  # in the open sea, so that no real quarry is meant
PLACES = {  # where each machine works: degrees north and east of HOME
    "sorrel": (0.0008, -0.0015),
    "tansy": (0.0031, 0.0022),
    "yarrow": (0.0064, 0.0011),
    "juniper": (0.0072, 0.0064),
    "fennel": (0.0108, 0.0043),
    "teasel": (0.0117, 0.0092),
    "burdock": (0.0143, 0.0068),
    "mallow": (0.0019, 0.0052),
    "sedge": (0.0042, 0.0081),
    "thistle": (0.0050, 0.0034),
    "gorse": (0.0161, 0.0103),
    "bracken": (0.0089, -0.0021),
}
SOURCE = "typical: common practice, no source"
CHECK = "boom down with the bucket teeth on the ground, arm and bucket cylinders in, attachment down, engine stopped"

# class [t]: rods (count, rod, stroke, shown in the reference posture), slewing gearbox, final drive, engine, ring and bath
CYLINDERS = {
    5: {"boom": (1, 50, 700, 240), "arm": (1, 50, 650, 0), "bucket": (1, 45, 550, 0), "blade": (1, 60, 160, 110)},
    13: {"boom": (2, 70, 1070, 330), "arm": (1, 80, 1110, 0), "bucket": (1, 70, 880, 0)},
    20: {"boom": (2, 85, 1290, 390), "arm": (1, 100, 1510, 0), "bucket": (1, 85, 1055, 0)},
    35: {"boom": (2, 100, 1500, 450), "arm": (1, 120, 1760, 0), "bucket": (1, 105, 1295, 0)},
    50: {"boom": (2, 115, 1580, 480), "arm": (1, 130, 1980, 0), "bucket": (1, 120, 1350, 0)},
}
SLEW = {13: (3.2, 150), 20: (6.0, 190), 35: (12.0, 245), 50: (9.0, 220)}  # litres at the mark, oil depth there [mm]
DRIVE = {5: (1.0, 90), 13: (2.5, 120), 15: (4.0, 140), 20: (4.8, 150), 35: (8.5, 190), 50: (13.0, 220)}
ENGINE = {
    5: (7.0, 95),
    13: (15.0, 120),
    15: (16.0, 120),
    18: (17.0, 125),
    20: (23.0, 140),
    25: (22.0, 135),
    30: (28.0, 150),
    35: (34.0, 160),
    50: (46.0, 180),
}
BATH = {
    5: (340, 230, 16),
    13: (480, 330, 24),
    20: (560, 400, 32),
    35: (640, 450, 36),
    50: (720, 520, 40),
}  # outer, inner radius, depth packed [mm]
RING_DOSE_G = {5: 14.0, 13: 24.0, 20: 30.0, 35: 40.0, 50: 52.0}


def fleet() -> list[Doc]:
    """All machines as they stand in their files."""
    return [
        excavator("sorrel", "Sorrel", 5, tank(box(520, 330, 340), 245, (0, 165), 42, 75, "hyd_vg46"), 24.0),
        excavator("tansy", "Tansy", 13, tank(box(760, 400, 430), 303, (760, 200), 92, 170, "hyd_vg46"), 33.0),
        excavator("yarrow", "Yarrow", 20, tank({**box(900, 450, 480), "corner": 60.0}, 348, (900, 225), 140, 250, "hyd_vg46"), 38.0),
        excavator("juniper", "Juniper", 20, tank(section(), 398, (600, 215), 140, 250, "hyd_vg46"), 36.0),
        excavator("fennel", "Fennel", 35, tank(box(1050, 500, 540), 400, (150, 250), 210, 410, "hyd_vg46", lean=10.0), 41.0),
        excavator("teasel", "Teasel", 35, tank(obround(), 449, (1100, 240), 209, 400, "hyd_vg46"), 42.0),
        excavator(
            "burdock", "Burdock", 50, tank({**box(1250, 560, 620), "corner": 80.0}, 447, (1250, 280), 310, 560, "hyd_vg46"), 40.0, slews=2
        ),
        loader("mallow", "Mallow", "wheel loader", 18, tank(lying(), 354, (800, 260), 123, 190, "hyd_vg46"), 30.0),
        loader("sedge", "Sedge", "wheel loader", 25, tank(box(800, 420, 520), 387, (800, 210), 130, 210, "hyd_vg46", panel=True), 37.0),
        loader("thistle", "Thistle", "crusher loader", 30, tank(elliptical(), 396, (900, 240), 144, 240, "hyd_vg46"), 46.0),
        drill("gorse", "Gorse", 28.0),
        crawler_loader("bracken", "Bracken", 22.0),
    ]


def excavator(key: str, name: str, class_t: int, hydraulic: Doc, hours: float, *, slews: int = 1) -> Doc:
    """An excavator with everything that turns; the smallest class has its slewing gearbox packed with grease."""
    compartments = [hydraulic]
    if class_t == 5:
        packed = {"key": "slew", "label": "Slewing gearbox", "kind": "slewing gearbox", "product": "grease_ep2", "grease_packed_kg": 1.6}
        compartments.append({**packed, "source": "typical"})
    else:
        litres, depth = SLEW[class_t]
        sides = ("",) if slews == 1 else ("left", "right")
        for side in sides:
            label = f"Slewing gearbox {side}".strip()
            more = {"side": side} if side else {}
            compartments.append(gear_case(f"slew-{side}".rstrip("-"), label, "slewing gearbox", litres, depth, "gear_vg220", **more))
    compartments += [final_drive(side, *DRIVE[class_t]) for side in ("left", "right")]
    compartments.append(gear_case("engine", "Engine sump", "engine sump", *ENGINE[class_t], "eng_15w40"))
    outer, inner, depth = BATH[class_t]
    bath = {
        "key": "bath",
        "label": "Grease bath",
        "product": "grease_ep2",
        "outer_mm": float(outer),
        "inner_mm": float(inner),
        "packed_depth_mm": float(depth),
        "depth_low_mm": depth - 6.0,
        "depth_high_mm": depth + 6.0,
        "depth_max_mm": depth + 30.0,
        "datum": "pan floor",
        "source": "typical",
        "linked": [c["key"] for c in compartments if c["kind"] == "slewing gearbox" and "fill" in c],
    }
    ring = {
        "key": "ring",
        "label": "Slewing ring",
        "kind": "slew race",
        "product": "grease_ep2",
        "limit_h": 100.0,
        "limit_days": 182.0,
        "dose_g": RING_DOSE_G[class_t],
        "cap_g": 1.5 * RING_DOSE_G[class_t],
        "ring": {"nipples_deg": [0.0], "frame": "upper", "positions": 4},
        "source": "typical",
    }
    cylinders = [
        {"name": n, "count": c, "rod": float(rod), "stroke": float(stroke), "ref": float(ref)}
        for n, (c, rod, stroke, ref) in CYLINDERS[class_t].items()
    ]
    posture = CHECK + (", blade down" if class_t == 5 else "")
    return machine(
        key,
        f"{name}, {class_t} t",
        "excavator",
        class_t,
        hours,
        compartments,
        posture=posture,
        baths=[bath],
        cylinders=cylinders,
        grease_points=[ring],
    )


def loader(key: str, name: str, kind: str, class_t: int, hydraulic: Doc, hours: float) -> Doc:
    """A loader on wheels: axles instead of tracks, a centre hinge that takes grease."""
    litres = {18: 18.0, 25: 26.0, 30: 34.0}[class_t]
    compartments = [hydraulic]
    compartments += [
        gear_case(f"axle-{end}", f"Axle {end}", "gear case", litres, 170, "gear_80w90", side=end, on="undercarriage")
        for end in ("front", "rear")
    ]
    compartments.append(gear_case("engine", "Engine sump", "engine sump", *ENGINE[class_t], "eng_15w40"))
    hinge = {
        "key": "hinge",
        "label": "Centre hinge",
        "kind": "bearing",
        "product": "grease_ep2",
        "limit_h": 50.0,
        "limit_days": 91.0,
        "dose_g": 40.0,
        "source": "typical",
    }
    posture = "bucket flat on the ground, frame straight, engine stopped"
    return machine(key, f"{name}, {class_t} t", kind, class_t, hours, compartments, posture=posture, grease_points=[hinge])


def drill(key: str, name: str, hours: float) -> Doc:
    """A drill whose tank nobody has measured: known by one pour and a fill."""
    glass = {"kind": "sight glass", "name": "sight gauge", "division_mm": 5.0, "start_mm": 0.0, "end_mm": 300.0, "bands": bands(170.0)}
    tank_ = {
        "key": "tank",
        "label": "Hydraulic tank",
        "kind": "hydraulic tank",
        "product": "hyd_vg46",
        "pours": [{"add": 20.0, "before": 108.0, "after": 172.0}],
        "fill": {"litres": 150.0, "reading": 170.0},
        "gauges": [glass],
        "capacities": {"system_l": 260.0, "source": "typical"},
        "settle_min": 10.0,
        "source": "poured",
    }
    compartments = [
        tank_,
        gear_case("head", "Drill head gearbox", "gear case", 3.5, 110, "gear_vg220"),
        *(final_drive(s, *DRIVE[15]) for s in ("left", "right")),
    ]
    compartments.append(gear_case("engine", "Engine sump", "engine sump", 24.0, 140, "eng_15w40"))
    return machine(key, f"{name}, 16 t", "drill", 16, hours, compartments, posture="mast down on its rest, jacks in, engine stopped")


def crawler_loader(key: str, name: str, hours: float) -> Doc:
    """A loader on tracks; somebody once filled its tank from a meter and wrote the table down."""
    table = [(0, 0), (50, 11.2), (100, 24.6), (150, 39.1), (200, 54.0), (250, 69.2), (300, 84.3), (350, 99.0), (400, 112.7)]
    stick = {
        "kind": "stick",
        "name": "dipstick",
        "division_mm": 5.0,
        "start_mm": 0.0,
        "end_mm": 400.0,
        "seated": "screwed in",
        "bands": bands(290.0),
    }
    tank_ = {
        "key": "tank",
        "label": "Hydraulic tank",
        "kind": "hydraulic tank",
        "product": "hyd_vg46",
        "table": [[float(a), float(b)] for a, b in table],
        "gauges": [stick],
        "capacities": {"system_l": 150.0, "source": "typical"},
        "settle_min": 10.0,
        "source": "poured",
    }
    compartments = [
        tank_,
        *(final_drive(s, *DRIVE[15]) for s in ("left", "right")),
        gear_case("engine", "Engine sump", "engine sump", *ENGINE[15], "eng_15w40"),
    ]
    return machine(key, f"{name}, 15 t", "crawler loader", 15, hours, compartments, posture="bucket flat on the ground, engine stopped")


def tasks(compartments: list[Doc], baths: list[Doc]) -> list[Doc]:
    """What is done again and again: changes of oil by compartment, a sample of the hydraulic oil, a look into the grease bath."""
    found: list[Doc] = []
    for c in compartments:
        if not c.get("gauges"):
            continue
        task = {"key": f"{c['key']}-change", "kind": "change", "at": c["key"], "source": SOURCE}
        match c["kind"]:
            case "engine sump":
                found.append(task | {"label": "engine oil and filter change", "repeat_h": 500.0, "repeat_days": 365.0})
            case "hydraulic tank":
                found.append(task | {"label": "hydraulic oil change", "repeat_h": 4000.0})
            case "slewing gearbox" | "final drive" | "gear case":
                found.append(task | {"label": f"{c['label'].lower()} oil change", "first_h": 150.0, "repeat_h": 2000.0})
    sample = {"key": "tank-sample", "label": "hydraulic oil sample", "kind": "sample", "at": "tank", "repeat_h": 500.0, "source": SOURCE}
    looks = [
        {"key": f"{b['key']}-check", "label": "grease bath check", "kind": "check", "at": b["key"], "repeat_h": 500.0, "source": SOURCE}
        for b in baths
    ]
    return [*found, sample, *looks]


def machine(key: str, label: str, kind: str, class_t: int, hours: float, compartments: list[Doc], **more: Any) -> Doc:
    north, east = PLACES[key]
    return {
        "key": key,
        "label": label,
        "kind": kind,
        "class_t": float(class_t),
        "typical": True,
        "hours_per_week": hours,
        "lat": round(HOME[0] + north, 4),
        "lon": round(HOME[1] + east, 4),
        **more,
        "compartments": compartments,
        "tasks": tasks(compartments, more.get("baths", [])),
    }
