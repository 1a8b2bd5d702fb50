"""The site, its products and its grease guns."""

from maker.parts import Doc


def products() -> list[Doc]:
    """Generic products: densities and viscosities are typical for their grade."""
    pail, drum, tote = (
        {"label": "20 L pail", "volume_l": 20.0},
        {"label": "208 L drum", "volume_l": 208.0},
        {"label": "1000 L tote", "volume_l": 1000.0},
    )
    rows = (
        ("hyd_vg46", "Hydraulic oil ISO VG 46", 870.0, 46.0, 6.65, 3.1, [pail, drum, tote]),
        ("eng_15w40", "Engine oil SAE 15W-40", 880.0, 108.0, 14.5, 3.9, [pail, drum]),
        ("gear_vg220", "Gear oil ISO VG 220", 895.0, 220.0, 18.75, 4.6, [pail, drum]),
        ("gear_80w90", "Gear oil SAE 80W-90", 895.0, 145.0, 14.8, 4.4, [pail, drum]),
    )
    oils = [
        {
            "key": key,
            "label": label,
            "kind": "oil",
            "family": "mineral",
            "rho15": rho,
            "nu40": nu40,
            "nu100": nu100,
            "nu_source": "nominal",
            "price": price,
            "currency": "EUR",
            "containers": sizes,
        }
        for key, label, rho, nu40, nu100, price, sizes in rows
    ]
    grease = {
        "key": "grease_ep2",
        "label": "Grease NLGI 2, lithium",
        "kind": "grease",
        "rho15": 900.0,
        "thickener": "lithium",
        "nlgi": "2",
        "price": 5.8,
        "currency": "EUR",
        "containers": [{"label": "18 kg pail", "volume_l": 20.0}],
    }
    return [*oils, grease, {"key": "used", "label": "Used oil", "kind": "used", "family": "unknown"}]


def site() -> Doc:
    return {
        "key": "sallowfield",
        "label": "Sallowfield gravel quarry",
        "today": "2026-09-30",
        "utc_offset_min": 120,
        "currency": "EUR",
        "invented": True,
        "note": "An invented quarry: its machines, readings and events are made up; the place lies in the open sea.",
    }


def guns() -> list[Doc]:
    return [
        {
            "key": "gun-hand",
            "label": "Hand gun, workshop",
            "feed": "hand",
            "g_per_stroke": 1.15,
            "sd_g": 0.08,
            "n_strokes": 20,
            "product": "grease_ep2",
        },
        {"key": "gun-power", "label": "Power gun, lube truck", "feed": "power", "g_per_min": 90.0, "product": "grease_ep2"},
    ]
