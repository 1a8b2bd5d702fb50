"""Behind "I have a lab report": oil in the grease from its thickener, oil viscosity, a tracer element, density, penetration.

Each method refuses, with its reason, where its reference is missing or too near to what is to be told. Balances of masses and
volumes, own; standards are named where one stands behind the measurement. X_g clean grease, X_o the oil, X_m the sample.
"""

import math

from fluidapp.calc.bath.estimate import (
    RHO_GREASE,
    RHO_OIL,
    U_RHO_GREASE,
    U_RHO_OIL,
    Estimate,
    Method,
    mass_share,
    refused,
    refused_but,
)
from fluidapp.calc.limits import zero_or_more
from fluidapp.calc.oil.viscosity import CONSTANT, LEAST, transform
from fluidapp.errors import OutOfRange

TOO_WIDE = 0.10  # of mass share; ours, editable
TOO_NEAR = 5.0  # standard uncertainties between the two references; ours, editable
EXPONENT = 0.63  # penetration against share, 0.63 to 1: from memory and our own, no published pair was found; the end with the larger bound
DENSITY_GAP = 50.0  # kg/m3
_SAMPLE = "Used grease is not the same everywhere: mix a sample from at least four places."


def thickener(clean: tuple[float, float] | None, sample: tuple[float, float] | None) -> Estimate:
    """Mass share of oil from the dilution of the thickener.

    clean, sample : (share, standard uncertainty) of thickener, soap or soap metal in clean grease of the same batch and in the sample,
    in one unit; clean > 0. None = not measured. Formula: w = 1 - T_m/T_0, u^2 = (u_m/T_0)^2 + (T_m u_0/T_0^2)^2. Measured for
    example as insolubles (ASTM D128, second-hand). Dirt and wear count as insolubles, so that w reads low.

    10 ± 0.5 % down to 8 ± 0.3 %: 0.200 ± 0.050 (computed by us)
    >>> e = thickener((10, 0.5), (8, 0.3))
    >>> round(e.w, 3), round(e.u, 3)
    (0.2, 0.05)
    """
    if clean is None or sample is None:
        return refused("thickener", "clean grease of the same batch and the sample must both be measured")
    (t0, u0), (tm, um) = _pair("thickener of the clean grease", clean), _pair("thickener of the sample", sample)
    if t0 < TOO_NEAR * u0 or t0 == 0:
        return refused("thickener", "the clean grease's thickener is not known well enough")
    w, u = 1.0 - tm / t0, math.hypot(um / t0, tm * u0 / t0**2)
    if tm > t0 + 2.0 * math.hypot(um, u0):
        return refused_but(Estimate("thickener", w, u), "the sample holds more thickener than the clean grease: wrong batch, or dirt")
    return _wide("thickener", w, u, ("Dirt and wear count as thickener, so the share reads low.", _SAMPLE))


def tracer(clean: tuple[float, float] | None, oil: tuple[float, float] | None, sample: tuple[float, float] | None) -> Estimate:
    """Mass share of oil from an element that the oil holds and the grease does not (zinc, phosphorus, calcium, magnesium, boron).

    Each (content, standard uncertainty) in one unit, None = not measured. Formula: w = (C_m - C_g)/(C_o - C_g),
    u^2 = (u_m^2 + ((1 - w) u_g)^2 + (w u_o)^2)/(C_o - C_g)^2. Choose the element with the largest ratio.

    20, 400 and 96 ppm, each ± 8 %: 0.200 ± 0.027 (computed by us)
    >>> e = tracer((20, 1.6), (400, 32), (96, 7.68))
    >>> round(e.w, 3), round(e.u, 3)
    (0.2, 0.027)
    """
    if clean is None or oil is None or sample is None:
        return refused("tracer", "clean grease, oil and sample must all be measured")
    (g, ug), (o, uo), (m, um) = _pair("clean grease", clean), _pair("oil", oil), _pair("sample", sample)
    if abs(o - g) < TOO_NEAR * math.hypot(uo, ug) or o == g:
        return refused("tracer", "the grease holds about as much of this element as the oil: choose another")
    w, u = _share(g, ug, o, uo, m, um)
    return _wide("tracer", w, u, (_SAMPLE,))


def viscosity(
    clean: tuple[float, float] | None,
    oil: tuple[float, float] | None,
    sample: tuple[float, float] | None,
    thickener_share: tuple[float, float] | None = None,
) -> Estimate:
    """Mass share of oil from the viscosity of the oil that was drawn out of the sample.

    Each (kinematic viscosity [mm2/s] at one temperature, relative standard uncertainty), the clean grease's being that of its own oil;
    None = not measured. Typical: 0.03 drawn out, 0.02 fresh. thickener_share : (mass share, u) of thickener in the clean grease; None =
    0.10 ± 0.05, typical, which is said. OutOfRange for a viscosity not above 0.3 mm2/s.
    Formula: W = log10 log10 (v + 0.7), x = (W_m - W_g)/(W_o - W_g) of the oil phase, and
    w = x (1 - T_0)/(1 - x T_0) of all. Source: ASTM D7152, inverted, with the short form of ASTM D341 (constant from memory). Not for
    oils with viscosity index improvers or additive packages, nor with solids in them.

    460 with a fifth of 46 in it has 265.9 mm2/s (computed by us):
    >>> round(viscosity((460, 0.03), (46, 0.02), (265.9, 0.03), (0.0, 0.0)).w, 3)
    0.2
    """
    if clean is None or oil is None or sample is None:
        return refused("viscosity", "the clean grease's oil, the foreign oil and the sample's oil must all be measured")
    (wg, ug), (wo, uo), (wm, um) = _w("clean grease's oil", clean), _w("oil", oil), _w("sample's oil", sample)
    if abs(wo - wg) < TOO_NEAR * math.hypot(uo, ug) or wo == wg:
        return refused("viscosity", "the two oils are about equally thick")
    x, ux = _share(wg, ug, wo, uo, wm, um)
    t0, ut = _pair("thickener", (0.10, 0.05) if thickener_share is None else thickener_share)
    if t0 >= 1.0:
        raise OutOfRange("thickener", t0, 0.0, 1.0, "", "Enter its mass share, such as 0.1.")
    below = 1.0 - x * t0
    w = x * (1.0 - t0) / below
    u = math.hypot(ux * (1.0 - t0) / below**2, ut * x * (1.0 - x) / below**2)
    if ux > TOO_WIDE:
        return refused_but(Estimate("viscosity", w, u), "the viscosities are too near each other, or too uncertain")
    if not -2.0 * ux <= x <= 1.0 + 2.0 * ux:
        return refused_but(
            Estimate("viscosity", w, u), "a mix of these two oils does not explain the sample: water, a third oil, or a wrong reference"
        )
    said = (_SAMPLE,) if thickener_share is not None else (_SAMPLE, "Thickener of the clean grease: typical.")
    return _wide("viscosity", w, u, said)


def density(
    sample: tuple[float, float] | None,
    clean: tuple[float, float] | None = (RHO_GREASE, U_RHO_GREASE),
    oil: tuple[float, float] | None = (RHO_OIL, U_RHO_OIL),
    water: bool | None = None,
) -> Estimate:
    """Mass share of oil from densities; weak, so that it is averaged only when asked for.

    Each (density [kg/m3], standard uncertainty); None = not measured. Formula: phi = (r_m - r_g)/(r_o - r_g), with the doubt as for a
    tracer. Refuses where water was seen and where the references lie within 50 kg/m3. One per cent of trapped air adds about
    30 points.

    914 between 920 and 890, each ± 3: phi 0.200 ± 0.13, but they lie too near (computed by us)
    >>> e = density((914, 3), (920, 3), (890, 3))
    >>> round(e.phi, 3), round(e.u_phi, 2), e.refused
    (0.2, 0.13, True)
    """
    if sample is None or clean is None or oil is None:
        return refused("density", "clean grease, oil and sample must all be measured")
    (m, um), (g, ug), (o, uo) = _pair("sample", sample), _pair("clean grease", clean), _pair("oil", oil)
    if g == 0 or o == 0 or g == o:
        return refused("density", "clean grease and oil are equally heavy")
    phi, u_phi = _share(g, ug, o, uo, m, um)
    w, u = mass_share(phi, u_phi, o, g, 0.0, 0.0)
    told = Estimate(
        "density", w, u, phi=phi, u_phi=u_phi, remarks=("Trapped air makes the share read high or low by tens of points.", _SAMPLE)
    )
    if water:
        return refused_but(told, "water was seen")
    if abs(o - g) < DENSITY_GAP or abs(o - g) < TOO_NEAR * math.hypot(uo, ug):
        return refused_but(told, "clean grease and oil are too near each other in density")
    return told


def penetration(
    clean: tuple[float, float] | None, sample: tuple[float, float] | None, water: bool | None = None, exponent: float | None = None
) -> Estimate:
    """The most oil that softening allows: an upper bound, since shear and water soften too.

    clean, sample : (worked penetration [0.1 mm], standard uncertainty), > 0; None = not measured. exponent : fitted on site from
    mixtures of known share; without it 0.63, the end of the range 0.63 to 1 that gives the larger bound.
    Formula: w_max = 1 - (P_0/P_m)^(1/b). From memory and our own. Measured after ASTM D217 (second-hand).

    280 to 325: at most about 0.211 (computed by us)
    >>> round(penetration((280, 5), (325, 5)).w, 3)
    0.211
    """
    if clean is None or sample is None:
        return refused("penetration", "clean grease and sample must both be measured", "upper")
    (p0, u0), (pm, um) = _pair("penetration of the clean grease", clean), _pair("penetration of the sample", sample)
    b = EXPONENT if exponent is None else exponent
    if not (0.0 < b <= 2.0):
        raise OutOfRange("exponent", b, 0.0, 2.0, "", "Leave it out, or fit it on mixtures of 0, 10 and 20 % oil.", above=True)
    if p0 == 0 or pm == 0:
        raise OutOfRange("penetration", 0.0, 0.0, None, "0.1 mm", "Enter it above 0.", above=True)
    if water:
        return refused("penetration", "water was seen, which softens too", "upper")
    if pm < p0:
        return refused("penetration", "the sample is stiffer than the clean grease: no bound", "upper")
    ratio = (p0 / pm) ** (1.0 / b)
    u = ratio / b * math.hypot(u0 / p0, um / pm)
    return Estimate("penetration", 1.0 - ratio, u, "upper", remarks=("At most about this much: shear and water soften grease too.",))


def _pair(name: str, value: tuple[float, float]) -> tuple[float, float]:
    x, u = float(value[0]), float(value[1])
    zero_or_more(name, x, "")
    zero_or_more(f"doubt of {name}", u, "")
    return x, u


def _w(name: str, value: tuple[float, float]) -> tuple[float, float]:
    """Double logarithm of a viscosity and its standard uncertainty."""
    v, rel = _pair(name, value)
    if v <= LEAST:
        raise OutOfRange(f"viscosity of the {name}", v, LEAST, None, "mm2/s", "Enter it at one temperature.", above=True)
    shifted = v + CONSTANT
    return float(transform(v)), rel * v / (shifted * math.log(10.0) * math.log(shifted))


def _share(g: float, ug: float, o: float, uo: float, m: float, um: float) -> tuple[float, float]:
    """Where ``m`` lies between ``g`` (0) and ``o`` (1), and its standard uncertainty."""
    x = (m - g) / (o - g)
    return x, math.sqrt(um**2 + ((1.0 - x) * ug) ** 2 + (x * uo) ** 2) / abs(o - g)


def _wide(method: Method, w: float, u: float, remarks: tuple[str, ...]) -> Estimate:
    told = Estimate(method, w, u, remarks=remarks)
    if u > TOO_WIDE:
        return refused_but(told, "its ± is too wide to say anything")
    return told
