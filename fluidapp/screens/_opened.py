"""What was opened in a repair: the ticks of the Refill, and for each the sizes that people can measure."""

from dataclasses import dataclass, field

import streamlit as st

from fluidapp.calc import refill
from fluidapp.errors import BadInput
from fluidapp.model import Cylinder, Machine
from fluidapp.screens import _state

GEARS = ("slewing gearbox", "final drive", "pump-drive case", "gear case")
WHOLE, CASE, HOSES, TUBES, HOUSING, TANK_FILTER = (
    "whole tank drained",
    "motor or pump case",
    "hoses",
    "tubes",
    "filter housing",
    "filter inside the tank",
)
COOLER, DRY, GEAR, SEAL = "cooler drained", "cylinder fitted dry", "gear case drained", "seal changed"
TICKS = (HOSES, CASE, HOUSING, TANK_FILTER, SEAL, GEAR, DRY, COOLER, TUBES, WHOLE)


@dataclass
class Opened:
    """Lines of what was opened, cylinders fitted dry by kind, the machine with their bores, gear cases by key, what is still missing."""

    machine: Machine
    ticked: tuple[str, ...] = ()
    lines: list[refill.Line] = field(default_factory=list)
    dry: dict[str, int] = field(default_factory=dict)
    gears: dict[str, refill.Line] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """True where the tank was drained whole, so that no reading counts."""
        return WHOLE in self.ticked


def ask(machine: Machine) -> Opened:
    """Draws the ticks and, for each, its boxes. Raises what the boxes and the lines refuse."""
    key = f"refill_{machine.key}"
    ticks = [t for t in TICKS if (t != DRY or machine.cylinders) and (t != GEAR or _gears(machine))]
    ticked = st.pills("What was opened or drained?", ticks, selection_mode="multi", key=f"{key}_opened", persist_state="session")
    found = Opened(machine, tuple(ticked))
    if CASE in ticked:
        poured = _state.box("Poured into the case", f"{key}_case", "volume", help="Empty: 0.5 to 3 L by size, typical.")
        found.lines.append(refill.case(poured))
    if HOSES in ticked:
        _pipes(found, key, "hose")
    if TUBES in ticked:
        _pipes(found, key, "tube")
    if HOUSING in ticked:
        _housing(found, key)
    if TANK_FILTER in ticked:
        found.lines.append(refill.tank_filter())
    if COOLER in ticked:
        _cooler(found, key)
    if DRY in ticked:
        _cylinders(found, key)
    if GEAR in ticked:
        _gear_cases(found, key)
    return found


def _gears(machine: Machine) -> dict[str, str]:
    return {c.key: c.label for c in machine.compartments if c.kind in GEARS and c.grease_packed_kg is None}


def _three(key: str, *boxes: tuple[str, str, str]) -> list[float | None]:
    """Boxes beside each other: (label, end of the key, kind or "number")."""
    with st.container(horizontal=True, gap="small"):
        places = [st.container(width=103) for _ in boxes]
    values = []
    for place, (label, name, kind) in zip(places, boxes, strict=True):
        with place:
            box = f"{key}_{name}"
            values.append(_state.number_box(label, box) if kind == "number" else _state.box(label, box, kind))
    return values


def _pipes(found: Opened, key: str, what: str) -> None:
    """Hoses by bore, tubes by outside and wall; up to four sizes."""
    sizes = st.segmented_control(
        f"Sizes of {what}s", [1, 2, 3, 4], key=f"{key}_{what}_sizes", default=1, required=True, persist_state="session",
        help="One row for each bore.",
    )  # fmt: skip
    for i in range(1, (sizes or 1) + 1):
        name = what if (sizes or 1) == 1 else f"{what} {i}"
        if what == "hose":
            bore, length, count = _three(
                f"{key}_hose_{i}", ("Bore", "bore", "length"), ("Length (m)", "length", "number"), ("Pieces", "count", "number")
            )
            if bore is None or length is None:
                found.missing.append(f"bore and length of {name}")
                continue
            found.lines.append(refill.hose(bore, length, _whole(f"{name}, pieces", count), name))
        else:
            outside, wall, length = _three(
                f"{key}_tube_{i}", ("Outside", "outside", "length"), ("Wall", "wall", "length"), ("Length (m)", "length", "number")
            )
            if outside is None or wall is None or length is None:
                found.missing.append(f"outside, wall and length of {name}")
                continue
            found.lines.append(refill.tube(outside, wall, length, 1, name))


def _whole(field: str, count: float | None) -> int:
    if count is None:
        return 1
    if count != int(count):
        raise BadInput(field, count, "Enter a whole number.")
    return int(count)


def _housing(found: Opened, key: str) -> None:
    diameter, wetted = _three(f"{key}_housing", ("Inside width", "diameter", "length"), ("Oil height", "wetted", "length"))
    filled = st.checkbox("The housing is filled before the start", key=f"{key}_housing_filled", persist_state="session")
    if diameter is None or wetted is None:
        found.missing.append("width and oil height of the filter housing")
    else:
        found.lines.append(refill.housing(diameter, wetted, prefilled=filled))


def _cooler(found: Opened, key: str) -> None:
    plate = _state.box("Cooler, by its plate", f"{key}_cooler", "volume")
    if plate is not None:
        found.lines.append(refill.cooler(plate))
        return
    core = _three(f"{key}_core", ("Core length", "a", "length"), ("Width", "b", "length"), ("Depth", "c", "length"))
    if all(side is not None for side in core):
        a, b, c = (float(side or 0.0) for side in core)
        found.lines.append(refill.cooler(core_mm=(a, b, c)))
    else:
        found.missing.append("litres of the cooler, or the size of its core")


def _cylinders(found: Opened, key: str) -> None:
    kept: list[Cylinder] = []
    for one in found.machine.cylinders:
        fitted = st.segmented_control(
            f"Fitted dry: {one.name}",
            list(range(one.count + 1)),
            key=f"{key}_dry_{one.name}",
            default=0,
            required=True,
            persist_state="session",
        )
        if fitted:
            bore = one.bore
            if bore is None:
                bore = _state.box(f"Bore of {one.name}", f"{key}_bore_{one.name}", "length", help="Tape round the tube, less two walls.")
            if bore is None:
                found.missing.append(f"bore of {one.name}")
            else:
                one = Cylinder.made(**{**one.model_dump(), "bore": bore})
                found.dry[one.name] = fitted
        kept.append(one)
    found.machine = found.machine.model_copy(update={"cylinders": tuple(kept)})


def _gear_cases(found: Opened, key: str) -> None:
    labels = _gears(found.machine)
    chosen = st.pills(
        "Which gear case",
        list(labels),
        selection_mode="multi",
        format_func=lambda k: labels[k],
        key=f"{key}_gears",
        persist_state="session",
    )
    for name in chosen:
        part = found.machine.compartment(name)
        label = part.capacities.refill_l or part.capacities.at_mark_l
        typed = _state.box(
            f"{part.label}, dry to its mark", f"{key}_gear_{name}", "volume", placeholder=f"{label:g}" if label else None,
            help="As it was measured the last time; empty: by its label.",
        )  # fmt: skip
        litres = typed if typed is not None else label
        if litres is None:
            found.missing.append(f"litres of {part.label}")
            continue
        source = "poured" if typed is not None else "plate"
        line = refill.gear_case(litres, 0.02 * litres if typed is not None else None, part.label, part.product, source)
        found.gears[name] = line
        found.lines.append(line)
