"""What a watch can say about each way that oil may leave: some leak at rest, some only under pressure."""

from dataclasses import dataclass

from fluidapp.calc.watch.trend import Trend


@dataclass(frozen=True, slots=True)
class About:
    """One way, whether it leaks only under pressure, and the kinds of compartments on whose level it shows."""

    name: str
    under_pressure: bool
    shows_on: tuple[str, ...]


# common practice, no source
ABOUT: tuple[About, ...] = (
    About("slewing motor's shaft seal", True, ("hydraulic tank", "slewing gearbox")),
    About("travel motors' shaft seals", True, ("hydraulic tank", "final drive")),
    About("main pump's shaft seal", True, ("hydraulic tank", "pump-drive case")),
    About("gear-driven pump's seal", True, ("hydraulic tank", "engine sump")),
    About("rod seals, hoses, couplers", True, ("hydraulic tank",)),
    About("centre joint, outwards", False, ("hydraulic tank",)),
    About("pinion's lower seal", False, ("slewing gearbox",)),
    About("face seals of the final drives", False, ("final drive",)),
    About("drain cocks, plugs, tank seams", False, ()),  # on every compartment
)


def about(found: Trend, compartment_kind: str) -> list[tuple[str, str]]:
    """Each way that shows on this compartment, and what the watch says about it: the verdict, or "not told".

    A parked watch says nothing about ways that leak only under pressure: never "holding". A loss or a gain is one of all ways together.
    """
    said = []
    for way in ABOUT:
        if way.shows_on and compartment_kind not in way.shows_on:
            continue
        said.append((way.name, "not told" if found.kind == "parked" and way.under_pressure else str(found.verdict)))
    return said
