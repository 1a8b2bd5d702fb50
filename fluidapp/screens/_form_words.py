"""How the fields of machines and products are called and asked for. Text only; what is not listed is not asked."""

from collections.abc import Callable, Mapping
from typing import Any

from fluidapp.model import Band, Bath, Capacities, Compartment, Container, Cylinder, Doubts, Fill, Gear, GreasePoint, Pour, Ring
from fluidapp.model.intervals import Shorter, Task
from fluidapp.model.shapes import MEASURED
from fluidapp.screens._form import Spec, Words

_AT = Spec("Place of its low corner", "point", "where the tank stands on the machine; empty: it begins at 0, 0, 0.")
_FOOT = Spec("Place of its centre at the floor", "point", "empty: 0, 0, 0.")
_LENGTHS = {
    "length": Spec("Length, along the machine", "length"),
    "width": Spec("Width, across", "length"),
    "height": Spec("Height", "length"),
}


def _deep(*ends: str) -> Callable[[Mapping[str, Any]], bool]:
    """Whether one of the ends needs a measured depth."""
    return lambda found: any(found.get(end) in MEASURED for end in ends)


def _dished(*ends: str) -> Callable[[Mapping[str, Any]], bool]:
    """Whether one of the ends is dished with a knuckle."""
    return lambda found: any(found.get(end) == "torispherical" for end in ends)


SHAPES: dict[str, Words] = {
    "Box": {**_LENGTHS, "corner": Spec("Radius of the upright edges", "length"), "at": _AT},
    "Upright": {
        "diameter": Spec("Diameter inside", "length"),
        "height": Spec("Height of the straight wall", "length"),
        "bottom_head": Spec("Bottom", "choice"),
        "top_head": Spec("Top", "choice"),
        "bottom_depth": Spec("Depth of the bottom", "length", "From the lower rim of the straight wall down.", when=_deep("bottom_head")),
        "top_depth": Spec("Height of the top", "length", "From the upper rim of the straight wall up.", when=_deep("top_head")),
        "dish": Spec("Dish radius over diameter", "number", "Typical 1.", when=_dished("bottom_head", "top_head")),
        "knuckle": Spec("Knuckle radius over diameter", "number", "Typical 0.06.", when=_dished("bottom_head", "top_head")),
        "at": Spec("Place of its lowest point, in the middle", "point", "empty: 0, 0, 0."),
    },
    "Lying": {
        "diameter": Spec("Diameter inside", "length"),
        "length": Spec("Length of the shell", "length"),
        "axis": Spec("Its axis lies along (x) or across (y)", "choice"),
        "heads": Spec("Ends", "choice"),
        "head_depth": Spec("Depth of one end", "length", "How far it stands out.", when=_deep("heads")),
        "dish": Spec("Dish radius over diameter", "number", "Typical 1.", when=_dished("heads")),
        "knuckle": Spec("Knuckle radius over diameter", "number", "Typical 0.06.", when=_dished("heads")),
        "at": Spec("Place of its lowest point where the shell begins", "point", "empty: 0, 0, 0."),
    },
    "Obround": {**_LENGTHS, "axis": Spec("Drawn along", "choice", "x along the machine, y across, z upright."), "at": _AT},
    "Elliptical": {**_LENGTHS, "axis": Spec("Drawn along", "choice", "x along the machine, y across, z upright."), "at": _AT},
    "Hopper": {
        **_LENGTHS,
        "bottom_length": Spec("Length of its bottom", "length", "The same as above for a V; 0 for a point."),
        "bottom_width": Spec("Width of its bottom", "length", "0 for a V or a point."),
        "walls": Spec("Upright walls above the slopes", "length", "Counted in the height; 0 where the slopes reach the roof."),
        "at": _AT,
    },
    "SlopedFloor": {
        **_LENGTHS,
        "rise_forward": Spec("Floor higher in front by", "length", "Than at the rear; below 0: it is higher at the rear."),
        "rise_left": Spec("Floor higher left by", "length", "Than at the right; below 0: it is higher at the right."),
        "at": _AT,
    },
    "Frustum": {
        "bottom_diameter": Spec("Diameter at the bottom", "length", "0 for a point."),
        "top_diameter": Spec("Diameter at the top", "length"),
        "height": Spec("Height", "length"),
        "walls": Spec("Straight wall above the cone", "length", "Counted in the height; 0 without one."),
        "at": _FOOT,
    },
    "Sphere": {"diameter": Spec("Diameter inside", "length"), "at": Spec("Place of its lowest point", "point", "empty: 0, 0, 0.")},
    "Mesh": {"at": Spec("Moved by", "point", "empty: 0, 0, 0.")},  # its corners and faces come from the machine's file
    "Section": {
        "outline": Spec(
            "Outline, one corner a line, anticlockwise",
            "edges",
            "Two places in mm (across, up) and, for an arc that ends there, its radius.",
        ),
        "length": Spec("Length that it is drawn along", "length"),
        "axis": Spec("Drawn along", "choice", "y: the outline is seen from the side; x: from behind; z: from above."),
        "at": Spec("Moved by", "point", "empty: 0, 0, 0."),
    },
    "Deadwood": {
        "volume": Spec("Its litres", "volume"),
        "bottom": Spec("Its bottom, over the machine's zero", "length"),
        "top": Spec("Its top", "length"),
    },
}
SHAPE_NAMES = {
    "box": "box",
    "upright": "upright cylinder",
    "horizontal cylinder": "lying cylinder",
    "obround": "two half rounds and straight walls",
    "elliptical": "elliptical",
    "section": "drawn outline",
    "sloped floor": "box with a sloped floor, wedge",
    "hopper": "hopper, V-bottom",
    "cone": "cone, round hopper",
    "sphere": "sphere",
    "mesh": "flat faces, from its file",
}
_MM = {
    "division_mm": Spec("Distance of its lines", "length", "Empty: typical."),
    "start_mm": Spec("Lowest reading it can show", "length"),
    "end_mm": Spec("Highest reading it can show", "length"),
    "u_mm": Spec("Standard uncertainty of one reading", "length", "Empty: typical, 2 mm stick, 3 mm glass."),
    "zero_height_mm": Spec("Its zero over the zero of the table", "length", "Only for a tank without a shape."),
}
_SIDE = {"side": Spec("Side", "choice", "Which side of the machine; empty: it does not matter.")}
_BANDS = {"bands": Spec("Marks", "list", "", Band)}
_PLACE = "from the machine's zero: x forward, y left, z up. It shows its height on the tank and lets the slope be taken out."
GAUGES: dict[str, Words] = {
    "Stick": {
        "name": Spec("Name", "text"),
        **_SIDE,
        "tip": Spec("Place of its zero (its tip)", "point", _PLACE),
        "angle": Spec("Leans from upright by", "angle"),
        "toward": Spec("Leans towards (0 forward, 90 left)", "angle"),
        "seated": Spec("Read it", "choice", "Screwed in or only rested: it differs from machine to machine."),
        **_MM,
        **_BANDS,
    },
    "SightGlass": {"name": Spec("Name", "text"), **_SIDE, "at": Spec("Place of its zero", "point", _PLACE), **_MM, **_BANDS},
    "Percent": {
        "name": Spec("Name", "text"),
        **_SIDE,
        "of": Spec("Per cent of", "choice", "Of its range in mm, or of the tank's litres."),
        "range_mm": Spec("Height from 0 % to 100 %", "length"),
        "at": Spec("Place of its 0 %", "point", _PLACE),
        "start_mm": Spec("Lowest reading (%)", "number"),
        "end_mm": Spec("Highest reading (%)", "number"),
        "u_mm": Spec("Standard uncertainty of one reading (%)", "number", "Empty: typical, 2 %."),
        "bands": Spec("Marks in %", "list", "", Band),
    },
    "LevelPlug": {
        "name": Spec("Name", "text"),
        **_SIDE,
        "position_tick": Spec("Counts only in its position (track turned)", "yes"),
        "at": Spec("Place of its lip", "point", _PLACE),
        "end_mm": Spec("Deepest that can be felt below the lip", "length"),
        "u_mm": _MM["u_mm"],
        "zero_height_mm": _MM["zero_height_mm"],
        **_BANDS,
    },
}
GAUGE_NAMES = {"stick": "dipstick", "sight glass": "sight glass", "percent": "per cent", "level plug": "level plug"}
_BAND = {
    "low": Spec("L mark", "length"),
    "high": Spec("H mark", "length"),
    "target": Spec("Target", "length", "Empty: the middle."),
    "temp_low_c": Spec("Oil from", "temperature", "For which these marks hold; empty: not known."),
    "temp_high_c": Spec("Oil to", "temperature"),
    "label": Spec("Name, like cold or hot", "text"),
    "posture": Spec("Posture for which they hold", "text"),
}
PARTS: dict[str, Words] = {
    "Band": _BAND,
    "Fill": {
        "litres": Spec("Litres in it", "volume"),
        "reading": Spec("when the gauge reads", "length"),
        "depth_mm": Spec("Oil depth there", "length", "From the lowest point of the inside to the oil; a bent wire or a rule tells it."),
        "gauge": Spec("Gauge, where there are several", "text"),
        "source": Spec("Where this comes from", "choice"),
    },
    "Pour": {
        "add": Spec("Poured (drained: below 0)", "volume"),
        "before": Spec("Gauge before", "length"),
        "after": Spec("Gauge after", "length"),
        "gauge": Spec("Gauge, where there are several", "text"),
    },
    "Capacities": {
        "at_mark_l": Spec("In the tank at its mark", "volume"),
        "refill_l": Spec("Refill after a drain", "volume"),
        "system_l": Spec("Whole system", "volume", "With lines, cooler and cylinders: it is what grows with heat."),
        "source": Spec("Where they come from", "choice"),
    },
    "Gear": {
        "module": Spec("Module (mm)", "number", "25.4 over the diametral pitch."),
        "teeth": Spec("Teeth", "count"),
        "internal": Spec("Teeth inside the ring", "yes"),
        "shift": Spec("Profile shift", "number"),
    },
    "Ring": {
        "nipples_deg": Spec("Nipples at (degrees)", "degrees", "0 is under the boom; 90 to its left. One or more, with spaces."),
        "frame": Spec("Nipples on", "choice", "Upper: they turn with the boom."),
        "positions": Spec("Positions a round", "count"),
        "finish_turns": Spec("Closing turns", "count"),
    },
    "Container": {"label": Spec("Container", "text"), "volume_l": Spec("Holds", "volume")},
}
COMPARTMENT: Words = {
    "label": Spec("Name", "text"),
    "kind": Spec("What it is", "choice"),
    "side": Spec("Side", "choice"),
    "on": Spec("Sits on the", "choice"),
    "product": Spec("What is in it", "product", "Products are entered on Products."),
    "settle_min": Spec("Wait after stopping (min)", "number"),
    "usual_topup_l": Spec("Usual top-up", "volume", "More than that and Top-up asks you to look for the reason first."),
    "source": Spec("Where its figures come from", "choice"),
    "u_tank_percent": Spec("Its litres known to (1 σ, %)", "number", "Empty: typical, 1 % taped, 10 % typical figures, 0.5 % a table."),
    "capacities": Spec("Litres that are written somewhere", "part", "three different figures, often mixed up.", Capacities),
    "grease_packed_kg": Spec("Packed with grease: how much", "mass"),
    "table": Spec(
        "Table: level in mm and litres, one mark a line", "pairs", "Levels must rise. From the tank's plate, or as you measured it."
    ),
    "fill": Spec("Fill", "part", "so many litres at this reading, at a mark above all.", Fill),
    "pours": Spec("Pour", "list", "", Pour),
    "gauges": Spec("Gauge", "text"),
    "minus": Spec("What stands inside", "text"),
    "body": Spec("Shape", "text"),
}
MACHINE: dict[str, Words] = {
    "Doubts": {
        "stick_mm": Spec("One reading of a stick", "length"),
        "glass_mm": Spec("One reading of a glass", "length"),
        "percent": Spec("One reading in per cent (%)", "number"),
        "slope_measured_deg": Spec("Slope, measured (°)", "number"),
        "slope_unmeasured_deg": Spec("Slope, not measured (°)", "number"),
        "temp_measured_k": Spec("Oil temperature, measured (K)", "number"),
        "temp_unmeasured_k": Spec("Oil temperature, not measured (K)", "number"),
        "tank_taped_percent": Spec("Litres of a taped tank (%)", "number"),
        "rod_mm": Spec("Bare rod, measured", "length"),
        "posture_share": Spec("Posture not looked at: share of all rods", "number", "0.05 is 5 %."),
        "rods_over_system": Spec("All rods: share of the system", "number", "Where no cylinder is entered."),
        "system_over_tank": Spec("System over tank", "number", "Litres in the system for each in the tank, where not entered."),
    },
    "Machine": {
        "label": Spec("Name", "text"),
        "kind": Spec("What it is", "text"),
        "class_t": Spec("Size class (t)", "number"),
        "hours_per_week": Spec("Hours a week", "number"),
        "sprockets": Spec("Sprockets are at the", "choice"),
        "typical": Spec("Its figures are typical, not its own", "yes"),
        "posture": Spec("Reference posture", "words", "The one for which the marks hold, in the words of its manual."),
        "note": Spec("Note", "words"),
        "lat": Spec("Latitude (°)", "number"),
        "lon": Spec("Longitude (°)", "number"),
        "cylinders": Spec("Cylinder", "list", "", Cylinder),
        "grease_points": Spec("Grease point", "list", "", GreasePoint),
        "compartments": Spec("Compartment", "list", "", Compartment),
        "baths": Spec("Grease bath", "list", "", Bath),
        "tasks": Spec("Task", "list", "", Task),
        "conditions": Spec("Conditions that hold here", "text"),
        "doubts": Spec("Doubts", "part", "1 σ each.", Doubts),
    },
    "Task": {
        "label": Spec("Name", "text", "What is done, like hydraulic oil change."),
        "kind": Spec("What it is", "choice"),
        "at": Spec("Where", "text", "Empty: the whole machine (checks only)."),
        "product": Spec("Product", "product", "Only where it is not that of the place."),
        "first_h": Spec("First time after (h)", "number", "After a repair or first fill; empty: as later."),
        "repeat_h": Spec("Then every (h)", "number"),
        "first_days": Spec("First time after (days)", "number"),
        "repeat_days": Spec("Then every (days)", "number", "Hours or days, whichever comes first."),
        "source": Spec("Where its figures come from", "text", "Typical until you write where yours come from, like the manual's page."),
        "shorter": Spec("Shortened", "list", "", Shorter),
    },
    "Shorter": {
        "condition": Spec("Where there is", "text", "Like dust, heat, water."),
        "factor": Spec("Only this part of it", "number", "0.5 is half the interval."),
        "source": Spec("Where that comes from", "text"),
    },
    "Compartment": COMPARTMENT,
    "Cylinder": {
        "name": Spec("Name", "text"),
        "count": Spec("How many", "count"),
        "rod": Spec("Rod, thickness", "length", "Tape round the rod, over 3.14."),
        "stroke": Spec("Stroke: bare rod fully out", "length"),
        "ref": Spec("Bare rod in the reference posture", "length"),
        "bore": Spec("Bore", "length", "Only for a cylinder that is fitted dry."),
    },
    "GreasePoint": {
        "label": Spec("Name", "text"),
        "kind": Spec("What it is", "choice"),
        "product": Spec("Grease", "product"),
        "limit_h": Spec("Every (h)", "number"),
        "limit_days": Spec("or every (days)", "number"),
        "dose_g": Spec("Dose a nipple and position (g)", "number"),
        "cap_g": Spec("Never over (g)", "number"),
        "cap_cc": Spec("Never over (cc)", "number"),
        "stop_at_seal": Spec("Stop when grease shows at the seal", "yes"),
        "ring": Spec("Ring", "part", "positions in which it is greased.", Ring),
        "source": Spec("Where its figures come from", "choice"),
        "note": Spec("Note", "words"),
    },
    "Bath": {
        "label": Spec("Name", "text"),
        "product": Spec("Grease", "product"),
        "area_l_per_mm": Spec("Litres per mm of depth", "number"),
        "outer_mm": Spec("Outer radius", "length"),
        "inner_mm": Spec("Inner radius", "length"),
        "gear": Spec("Gear", "part", "", Gear),
        "wall_radius_mm": Spec("Radius of the pan's wall", "length"),
        "u_area_percent": Spec("Area known to (1 σ, %)", "number"),
        "packed_depth_mm": Spec("Depth as last packed", "length"),
        "u_packed_mm": Spec("That depth known to (1 σ)", "length"),
        "depth_low_mm": Spec("Depth, at least", "length", "This machine's own band; no default."),
        "depth_high_mm": Spec("Depth, at most", "length"),
        "depth_max_mm": Spec("Top of the pinion", "length"),
        "datum": Spec("Depth counts from", "choice"),
        "linked": Spec("Gearboxes that can leak into it (keys)", "keys"),
        "source": Spec("Where its figures come from", "choice"),
    },
    **SHAPES,
    **GAUGES,
    **PARTS,
    # the same by their tags, by which a fault is placed
    "box": SHAPES["Box"],
    "upright": SHAPES["Upright"],
    "horizontal cylinder": SHAPES["Lying"],
    "obround": SHAPES["Obround"],
    "elliptical": SHAPES["Elliptical"],
    "section": SHAPES["Section"],
    "sloped floor": SHAPES["SlopedFloor"],
    "hopper": SHAPES["Hopper"],
    "cone": SHAPES["Frustum"],
    "sphere": SHAPES["Sphere"],
    "mesh": SHAPES["Mesh"],
    "stick": GAUGES["Stick"],
    "sight glass": GAUGES["SightGlass"],
    "percent": GAUGES["Percent"],
    "level plug": GAUGES["LevelPlug"],
}
PRODUCT: dict[str, Words] = {
    "Product": {
        "label": Spec("Name", "text", "Its kind and grade, like Hydraulic oil ISO VG 46."),
        "kind": Spec("What it is", "choice"),
        "family": Spec("Base", "choice"),
        "rho15": Spec("Density at 15 °C (kg/m³)", "number", "From the data sheet; empty: typical."),
        "nu40": Spec("Viscosity at 40 °C (mm²/s)", "number"),
        "nu100": Spec("Viscosity at 100 °C (mm²/s)", "number"),
        "nu_source": Spec("Viscosity as", "choice"),
        "nu_date": Spec("Viscosity measured on", "text"),
        "thickener": Spec("Thickener", "text", "Of a grease: lithium, calcium ..."),
        "nlgi": Spec("NLGI grade", "text"),
        "price": Spec("Price a litre (grease: a kg)", "number"),
        "currency": Spec("Currency", "text"),
        "containers": Spec("Container", "list", "", Container),
    },
    "Container": PARTS["Container"],
}


PERCENT: dict[str, Words] = {
    **MACHINE,
    "Band": {**_BAND, "low": Spec("L mark (%)", "number"), "high": Spec("H mark (%)", "number"), "target": Spec("Target (%)", "number")},
    "Fill": {**PARTS["Fill"], "reading": Spec("when the dial reads (%)", "number")},
    "Pour": {**PARTS["Pour"], "before": Spec("Dial before (%)", "number"), "after": Spec("Dial after (%)", "number")},
}  # the same for a gauge in per cent
