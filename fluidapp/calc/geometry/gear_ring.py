"""Grease bath round a slewing ring: litres per millimetre of grease, with the gaps between the teeth counted."""

from dataclasses import dataclass

import numpy as np

from fluidapp.errors import BadInput

PRESSURE_ANGLE = np.radians(20.0)
TIP, ROOT, FILLET = 1.0, 1.25, 0.38  # of the module; ISO 53 profile A, from memory


@dataclass(frozen=True, slots=True)
class BathArea:
    """Level area of the bath [mm2] by its parts, and what it makes in litres per mm of grease."""

    annulus_mm2: float
    gaps_mm2: float
    fillets_mm2: float
    pinions_mm2: float

    @property
    def l_per_mm(self) -> float:
        """Litres of grease per mm of its height [L/mm]."""
        return (self.annulus_mm2 + self.gaps_mm2 - self.fillets_mm2 - self.pinions_mm2) * 1e-6


def bath_area(module_mm: float, teeth: int, internal: bool, wall_radius_mm: float, shift: float = 0.0) -> float:
    """Litres of grease per millimetre of height in the bath between a toothed ring and a round wall [L/mm].

    module_mm : module of the teeth [mm]; 25.4 over the diametral pitch.
    teeth : number of teeth of the ring.
    internal : True where the teeth point inwards (the wall lies inside the ring), False where they point outwards.
    wall_radius_mm : radius of the round wall facing the teeth [mm].
    shift : profile shift over the module.
    Errors: BadInput that names the field. Pinions that stand in the grease: `bath_parts`.
    Formula: annulus between tip circle and wall + gaps between the teeth - root fillets; gaps from the involute between root and
    tip circle. Grease does not lie level: measure its height in four places at least and take the mean.
    Source: involute geometry, own formula, checked against polygons of both kinds of gear (tests); tooth proportions of ISO 53
    from memory: pressure angle 20 deg, addendum 1, dedendum 1.25, fillet 0.38 of the module.

    >>> round(bath_area(10, 90, True, 380), 5)
    0.18371
    """
    return bath_parts(module_mm, teeth, internal, wall_radius_mm, shift).l_per_mm


def bath_parts(
    module_mm: float,
    teeth: int,
    internal: bool,
    wall_radius_mm: float,
    shift: float = 0.0,
    pinions: int = 0,
    pinion_teeth: int = 0,
    pinion_shift: float = 0.0,
) -> BathArea:
    """The bath by its parts; arguments as `bath_area`, and the pinions that stand in the grease (their share in the mesh is small
    and not taken off the gaps)."""
    tip, _ = _radii(module_mm, teeth, internal, shift)
    if not (np.isfinite(wall_radius_mm) and wall_radius_mm > 0.0):
        raise BadInput("wall radius", wall_radius_mm, "It must be above 0 mm.")
    if internal and not wall_radius_mm < tip:
        raise BadInput("wall radius", wall_radius_mm, f"Inside a ring with inner teeth the wall must be within the tips, {tip:g} mm.")
    if not internal and not wall_radius_mm > tip:
        raise BadInput("wall radius", wall_radius_mm, f"Round a ring with outer teeth the wall must be beyond the tips, {tip:g} mm.")
    if pinions < 0:
        raise BadInput("pinions", pinions, "Their number cannot be below 0.")
    annulus = float(np.pi * abs(tip * tip - wall_radius_mm * wall_radius_mm))
    pinion = pinions * gear_area(module_mm, pinion_teeth, pinion_shift) if pinions else 0.0
    return BathArea(annulus, gap_area(module_mm, teeth, internal, shift), fillet_area(module_mm, teeth), pinion)


def gap_area(module_mm: float, teeth: int, internal: bool, shift: float = 0.0) -> float:
    """Area of all gaps between the teeth, from root to tip circle, without fillets [mm2].

    >>> round(gap_area(10, 90, True), 2), round(gap_area(10, 90, False), 2)
    (29377.69, 30577.41)
    """
    tip, root = _radii(module_mm, teeth, internal, shift)
    if internal:  # the gap of an inner gear has the shape of the tooth of an outer one
        return teeth * _body(module_mm, teeth, shift, tip, root)
    return float(np.pi * (tip * tip - root * root)) - teeth * _body(module_mm, teeth, shift, root, tip)


def fillet_area(module_mm: float, teeth: int) -> float:
    """Area that the rounded roots take from the gaps [mm2].

    >>> round(fillet_area(10, 90), 2)
    232.22
    """
    _check(module_mm, teeth, 0.0)
    turn = 0.5 * np.pi - PRESSURE_ANGLE
    return float(2.0 * teeth * (FILLET * module_mm) ** 2 * (np.tan(0.5 * turn) - 0.5 * turn))


def gear_area(module_mm: float, teeth: int, shift: float = 0.0) -> float:
    """Area of an outer gear such as a pinion, without its bore and fillets [mm2].

    3 % below its pitch circle with 17 teeth and no shift, 11 % above it with 13 teeth and a shift of 0.5:
    >>> [round(gear_area(1, z, x) / (np.pi * (z / 2) ** 2), 2) for z, x in ((17, 0.0), (13, 0.5))]
    [0.97, 1.11]
    """
    tip, root = _radii(module_mm, teeth, False, shift)
    return float(np.pi * root * root) + teeth * _body(module_mm, teeth, shift, root, tip)


def _radii(module_mm: float, teeth: int, internal: bool, shift: float) -> tuple[float, float]:
    """Tip and root radius [mm]."""
    _check(module_mm, teeth, shift)
    pitch = 0.5 * module_mm * teeth
    if internal:
        return pitch - module_mm * (TIP - shift), pitch + module_mm * (ROOT + shift)
    return pitch + module_mm * (TIP + shift), pitch - module_mm * (ROOT - shift)


def _body(module_mm: float, teeth: int, shift: float, low: float, high: float) -> float:
    """Area of one tooth of an outer gear between the radii ``low`` and ``high``, radial below the base circle [mm2]."""
    half_turn = np.pi / teeth + 4.0 * shift * np.tan(PRESSURE_ANGLE) / teeth  # angle that the tooth spans on the pitch circle
    base = 0.5 * module_mm * teeth * np.cos(PRESSURE_ANGLE)
    full = half_turn + 2.0 * (np.tan(PRESSURE_ANGLE) - PRESSURE_ANGLE)  # angle that it spans on the base circle
    area = 0.0
    if low < base:
        area, low = 0.5 * (min(base, high) ** 2 - low * low) * full, base
    if high > low:
        area += 0.5 * (high * high - low * low) * full - 2.0 * base * base * (_swept(high, base) - _swept(low, base))
    return float(area)


def _swept(radius: float, base: float) -> float:
    angle = np.arccos(min(base / radius, 1.0))
    tangent = np.tan(angle)
    return float(tangent**3 / 3.0 - angle * tangent**2 / 2.0 + (tangent - angle) / 2.0)


def _check(module_mm: float, teeth: int, shift: float) -> None:
    if not (np.isfinite(module_mm) and module_mm > 0.0):
        raise BadInput("module", module_mm, "It must be above 0 mm.")
    if not (teeth == int(teeth) and teeth >= 8):
        raise BadInput("teeth", teeth, "A whole number, at least 8.")
    if not -1.0 <= shift <= 1.0:
        raise BadInput("shift", shift, "The profile shift is between -1 and 1 of the module.")
