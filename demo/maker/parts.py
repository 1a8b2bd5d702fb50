"""Tanks, gear cases and final drives of the invented fleet, with their gauges. Every figure is typical."""

from typing import Any

Doc = dict[str, Any]


def box(length: float, width: float, height: float) -> Doc:
    return {"shape": "box", "length": float(length), "width": float(width), "height": float(height)}


def section() -> Doc:
    """An L on its long side: a shelf for the valve block takes the upper rear corner."""
    corners = ((950, 0), (950, 250), (600, 250), (600, 520), (0, 520), (0, 0))
    return {"shape": "section", "outline": [{"to": [float(x), float(z)]} for x, z in corners], "length": 430.0, "axis": "y"}


def obround() -> Doc:
    return {"shape": "obround", "length": 1100.0, "width": 480.0, "height": 620.0, "axis": "x"}


def lying() -> Doc:
    return {"shape": "horizontal cylinder", "diameter": 520.0, "length": 800.0, "axis": "x", "heads": "flat", "at": [0.0, 260.0, 0.0]}


def elliptical() -> Doc:
    return {"shape": "elliptical", "length": 900.0, "width": 480.0, "height": 560.0, "axis": "x"}


def tank(
    body: Doc,
    mark_mm: float,
    place: tuple[float, float],
    mark_l: float,
    system_l: float,
    product: str,
    *,
    lean: float = 0.0,
    panel: bool = False,
) -> Doc:
    """A hydraulic tank whose oil stands ``mark_mm`` deep at the cold mark; its gauge is a glass, or a leaning stick."""
    gauges: list[Doc] = []
    if lean:
        gauges.append(
            {
                "kind": "stick",
                "name": "dipstick",
                "tip": [*map(float, place), 20.0],
                "angle": lean,
                "toward": 0.0,
                "seated": "screwed in",
                "division_mm": 5.0,
                "start_mm": 0.0,
                "end_mm": 500.0,
                "bands": bands(386.0),
            }
        )
    else:
        zero = mark_mm - 110.0
        gauges.append(
            {
                "kind": "sight glass",
                "name": "sight gauge",
                "at": [*map(float, place), zero],
                "division_mm": 5.0,
                "start_mm": 0.0,
                "end_mm": 220.0,
                "bands": bands(110.0),
            }
        )
    if panel:
        gauges.append({"kind": "percent", "name": "panel", "of": "range", "range_mm": 200.0, "at": [*map(float, place), mark_mm - 110.0]})
    return {
        "key": "tank",
        "label": "Hydraulic tank",
        "kind": "hydraulic tank",
        "product": product,
        "body": body,
        "gauges": gauges,
        "capacities": {"at_mark_l": float(mark_l), "system_l": float(system_l), "source": "typical"},
        "settle_min": 10.0,
        "source": "taped",
    }


def bands(cold: float) -> list[Doc]:
    """Where the level belongs in the reference posture, cold and hot."""
    both = {"posture": "reference posture"}
    return [
        {"low": cold - 25, "high": cold + 25, "target": cold, **both, "temp_low_c": 10.0, "temp_high_c": 30.0, "label": "cold"},
        {"low": cold, "high": cold + 60, **both, "temp_low_c": 50.0, "temp_high_c": 80.0, "label": "hot"},
    ]


def gear_case(key: str, label: str, kind: str, litres: float, depth: float, product: str, **more: Any) -> Doc:
    """A case with a dipstick, known by its fill and the oil depth at the mark."""
    stick = {
        "kind": "stick",
        "name": "dipstick",
        "division_mm": 1.0,
        "start_mm": 0.0,
        "end_mm": 160.0,
        "seated": "rested",
        "bands": [{"low": 30.0, "high": 50.0, "target": 45.0, "temp_low_c": 0.0, "temp_high_c": 30.0, "label": "cold"}],
    }
    return {
        "key": key,
        "label": label,
        "kind": kind,
        "product": product,
        "fill": {"litres": litres, "reading": 45.0, "depth_mm": float(depth)},
        "gauges": [stick],
        "capacities": {"refill_l": litres, "source": "typical"},
        "source": "typical",
        **more,
    }


def final_drive(side: str, litres: float, depth: float) -> Doc:
    """A final drive with a level plug: read with the track turned until the mark on the cover is up."""
    plug = {
        "kind": "level plug",
        "name": "level plug",
        "start_mm": 0.0,
        "end_mm": 60.0,
        "bands": [{"low": 0.0, "high": 8.0, "target": 3.0}],
    }
    return {
        "key": f"drive-{side}",
        "label": f"Final drive {side}",
        "kind": "final drive",
        "side": side,
        "on": "undercarriage",
        "product": "gear_vg220",
        "fill": {"litres": litres, "reading": 0.0, "depth_mm": float(depth)},
        "gauges": [plug],
        "capacities": {"refill_l": litres, "source": "typical"},
        "source": "typical",
    }
