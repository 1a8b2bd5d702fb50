"""The lines of a refill after a repair: what was opened, how much it takes, and when that is poured."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange, Unknown
from fluidapp.model import Cylinder, Machine

When = Literal["before start", "after running"]
Into = Literal["tank", "motor or pump case", "filter housing", "circuit", "gear case"]

# standard uncertainties and ranges where nobody entered better ones: typical, editable (common practice, no source, or from memory)
U_POURED = 0.02  # of a measured pour
U_SIZED = 0.05  # of what follows from bore and length, or bore and stroke
CASE_L = (0.5, 3.0)  # motor or pump case, by size (from memory)
HOUSING_FILLED = (0.60, 0.70)  # of a filter housing; the element takes the rest (from memory)
CARRIED_L = (0.2, 1.0)  # what the element of a filter inside the tank carries away (from memory)
COOLER_FILLED = (0.3, 0.5)  # of the core's outer size (from memory)


@dataclass(frozen=True, slots=True)
class Line:
    """One line: litres ± (standard uncertainty), when they are poured and into what, measured or typical, what would shrink the ±."""

    name: str
    value_l: float
    u_l: float
    when: When
    into: Into
    measured: bool
    hint: str = ""
    source: str = "own formula"
    dof: float = math.inf
    product: str | None = None

    def __post_init__(self) -> None:
        for field, value in ((self.name, self.value_l), (f"{self.name}, doubt", self.u_l)):
            zero_or_more(field, value, "L", "Enter 0 or more litres.")


def hose(bore_mm: float, length_m: float, count: int = 1, name: str = "hose") -> Line:
    """Litres in ``count`` opened hoses: pi/4 bore^2 length; they fill from the tank when the machine runs.

    bore_mm : inner diameter, 3 to 100 mm; length_m : 0.05 to 60 m each. OutOfRange beyond (a bore in inches, a length in mm).
    ± 5 % (1 sigma, typical). Own formula.

    A nominal bore of 1/2 in holds 0.127 L a metre, 1 in 0.507, 2 in 2.03 (computed by us):
    >>> [round(hose(25.4 * inch, 1.0).value_l, 3) for inch in (0.5, 1.0, 2.0)]
    [0.127, 0.507, 2.027]
    """
    _within("hose bore", bore_mm, 3.0, 100.0, "mm", "Is it in inches? 1/2 in is 12.7 mm.")
    return _pipe(name, bore_mm, length_m, count)


def tube(outside_mm: float, wall_mm: float, length_m: float, count: int = 1, name: str = "tube") -> Line:
    """Litres in ``count`` opened tubes, which are sized by their outside: pi/4 (outside - 2 wall)^2 length. As :func:`hose`.

    outside_mm : 4 to 130 mm; wall_mm : above 0 and less than half of it. OutOfRange or BadInput otherwise.

    >>> round(tube(25.0, 2.5, 1.0).value_l, 3)
    0.314
    """
    _within("tube, outside diameter", outside_mm, 4.0, 130.0, "mm", "Is it in inches? 1 in is 25.4 mm.")
    if not 0 < wall_mm < outside_mm / 2:
        raise OutOfRange("tube, wall", wall_mm, 0.0, outside_mm / 2, "mm", "Enter the thickness of one wall.", True, True)
    return _pipe(name, outside_mm - 2 * wall_mm, length_m, count)


def case(poured_l: float | None = None, low_l: float = CASE_L[0], high_l: float = CASE_L[1], name: str = "motor or pump case") -> Line:
    """Litres poured into a motor or pump case before the first start: as measured, else a typical range (rectangular).

    OutOfRange for a negative amount, BadInput for a range upside down. Typical range from memory.
    """
    if poured_l is not None:
        return Line(name, poured_l, max(U_POURED * poured_l, 0.01), "before start", "motor or pump case", True, source="measured pour")
    value, u = _range(name, low_l, high_l)
    return Line(name, value, u, "before start", "motor or pump case", False, "Measure what you pour into the case.", "typical, from memory")


def housing(
    diameter_mm: float, wetted_mm: float, *, prefilled: bool, filled: tuple[float, float] = HOUSING_FILLED, name: str = "filter housing"
) -> Line:
    """Litres in an outside filter housing: area x wetted height x 0.60 to 0.70, since the element takes the rest (from memory).

    prefilled : poured full before the start, else it fills from the tank. OutOfRange for sizes that no housing has.
    """
    _within("filter housing, diameter", diameter_mm, 30.0, 500.0, "mm", "Measure its inside; is it in inches?")
    _within("filter housing, wetted height", wetted_mm, 20.0, 2000.0, "mm", "Measure how high the oil stands in it.")
    share, u_share = _range("filter housing, filled share", *filled)
    _share("filter housing, filled share", filled[1])
    gross = math.pi / 4 * diameter_mm**2 * wetted_mm / 1e6
    u = gross * math.hypot(u_share, U_SIZED * share)
    if prefilled:
        return Line(name, gross * share, u, "before start", "filter housing", False, "Measure what you pour into it.", "from memory")
    return Line(name, gross * share, u, "after running", "circuit", False, "Fill it before the start, and measure.", "from memory")


def tank_filter(low_l: float = CARRIED_L[0], high_l: float = CARRIED_L[1]) -> Line:
    """What the old element of a filter inside the tank carries away (its housing lies in the tank). Typical, from memory."""
    value, u = _range("filter inside the tank", low_l, high_l)
    return Line(
        "filter inside the tank", value, u, "after running", "circuit", False, "Weigh or drain the old element.", "typical, from memory"
    )


def cooler(
    plate_l: float | None = None, core_mm: tuple[float, float, float] | None = None, filled: tuple[float, float] = COOLER_FILLED
) -> Line:
    """Litres in a drained cooler: its plate, else length x width x depth of the core [mm] x 0.3 to 0.5 (from memory).

    OutOfRange for sizes that cannot be; CannotAnswer with neither.
    """
    if plate_l is not None:
        return Line("cooler", plate_l, U_SIZED * plate_l, "after running", "circuit", True, source="its plate")
    if core_mm is None:
        raise CannotAnswer(
            "Cooler", "neither its plate nor the size of its core is entered", "Measure length, width and depth of the core."
        )
    for side in core_mm:
        _within("cooler core", side, 5.0, 5000.0, "mm", "Measure the finned part only.")
    _share("cooler, filled share", filled[1])
    share, u_share = _range("cooler, filled share", *filled)
    gross = math.prod(core_mm) / 1e6
    hint = "Look for the litres on its plate or in the manual."
    return Line("cooler", gross * share, gross * u_share, "after running", "circuit", False, hint, "typical, from memory")


def cylinder(fitted: Cylinder, count: int = 1) -> Line:
    """What a cylinder fitted dry takes until it stands in the reference posture; it must then be left out of the posture's litres.

    fitted : with its bore. count : how many of that kind were fitted dry. CannotAnswer without a bore, OutOfRange beyond its number.
    Formula: pi/4 (bore^2 ref + (bore^2 - rod^2) (stroke - ref)): retracted it is annulus x stroke, extended bore area x stroke.
    ± 5 % (1 sigma, typical). Own formula.

    A boom cylinder of the 20 t class takes 7.3 L retracted (computed by us):
    >>> round(cylinder(Cylinder(name="boom", bore=120.0, rod=85.0, stroke=1290.0)).value_l, 1)
    7.3
    """
    if fitted.bore is None:
        raise CannotAnswer(
            f"Cylinder {fitted.name}", "its bore is not entered", "Enter it on the machine; tape round the tube, less two walls."
        )
    if not 1 <= count <= fitted.count:
        raise OutOfRange(f"cylinders fitted dry, {fitted.name}", count, 1, fitted.count, "", "That is how many the machine has.")
    head = fitted.bore**2 * fitted.ref
    rod_side = (fitted.bore**2 - fitted.rod**2) * (fitted.stroke - fitted.ref)
    litres = count * math.pi / 4 * (head + rod_side) / 1e6
    return Line(f"cylinder, {fitted.name}", litres, U_SIZED * litres, "after running", "circuit", True, "Fill it before it is fitted.")


def air(allowance_l: float = 0.0, u_l: float = 0.5) -> Line:
    """What the trapped air still takes: the user's own figure, 0 with a ± unless entered (common practice, no source)."""
    return Line("air allowance", allowance_l, u_l, "after running", "circuit", allowance_l > 0, "", "common practice, no source")


def gear_case(litres: float, u_l: float | None = None, name: str = "gear case", product: str | None = None, source: str = "plate") -> Line:
    """Litres of a gear case from dry to its mark, from plate or an earlier measured pour; ± 3 % unless known (typical).

    It holds its own product and is never summed up with the hydraulic oil. OutOfRange unless above 0.
    """
    above_zero(name, litres, "L", "Enter what it holds from dry to its mark.")
    return Line(
        name, litres, 0.03 * litres if u_l is None else u_l, "before start", "gear case", source == "poured", "", source, math.inf, product
    )


def without(machine: Machine, dry: Mapping[str, int]) -> Machine:
    """The machine with the cylinders that were fitted dry left out of its posture, so that they are not counted twice.

    dry : number of cylinders of each kind. Unknown for a kind that the machine does not have, OutOfRange beyond their number.
    """
    names = [c.name for c in machine.cylinders]
    for name in dry:
        if name not in names:
            raise Unknown("Cylinder", name, names)
    left = []
    for one in machine.cylinders:
        gone = dry.get(one.name, 0)
        if not 0 <= gone <= one.count:
            raise OutOfRange(f"cylinders fitted dry, {one.name}", gone, 0, one.count, "", "That is how many the machine has.")
        if gone < one.count:
            left.append(one.model_copy(update={"count": one.count - gone}))
    return machine.model_copy(update={"cylinders": tuple(left)})


def _pipe(name: str, bore_mm: float, length_m: float, count: int) -> Line:
    _within(f"{name}, length", length_m, 0.05, 60.0, "m", "Enter metres of one piece.")
    if count != int(count) or not 1 <= count <= 200:
        raise OutOfRange(f"{name}, pieces", count, 1, 200, "", "Enter a whole number.")
    litres = count * math.pi / 4 * bore_mm**2 * length_m / 1000.0
    label = name if count == 1 else f"{count} × {name}"
    return Line(label, litres, U_SIZED * litres, "after running", "circuit", True, "Measure bore and length.")


def _within(field: str, value: float, low: float, high: float, unit: str, fix: str) -> None:
    if not low <= value <= high:
        raise OutOfRange(field, value, low, high, unit, fix)


def _range(field: str, low: float, high: float) -> tuple[float, float]:
    """Middle and standard uncertainty of a range within which anything is equally likely (JCGM 100:2008, 4.3.7, from memory)."""
    for value in (low, high):
        zero_or_more(field, value, "")
    if high < low:
        raise BadInput(field, f"{low:g} to {high:g}", "The first figure is the lower one.")
    return (low + high) / 2, (high - low) / math.sqrt(12.0)


def _share(field: str, value: float) -> None:
    if not 0 <= value <= 1:
        raise OutOfRange(field, value, 0.0, 1.0, "", "A share lies between 0 and 1; 65 % is 0.65.")
