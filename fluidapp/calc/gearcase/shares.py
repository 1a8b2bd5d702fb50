"""How much of another oil is in a gear case: by its level, by its viscosity, and by both."""

import math
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import oil
from fluidapp.calc.decision import BALANCED, CLAIM, alone, quadrature, smallest_seen
from fluidapp.calc.limits import above_zero
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Product

# relative standard uncertainty of a viscosity, by where it comes from; "nominal" is a band instead
LAB = 0.0025  # laboratory reproducibility 0.7 % (JIS K 2283, second-hand) is 2.8 of them (ISO 5725-6, from memory)
R_SOURCE = {"measured new": LAB, "data sheet": 0.02}  # a data sheet's typical figure against one drum: typical, editable
GAP = 0.03  # shares from 40 and from 100 °C that lie farther apart have another cause (own limit)
Word = Literal["found", "at least", "not detectable", "level fell", "not explained by this mix", "no figure"]


@dataclass(frozen=True, slots=True)
class Rise:
    """How far the level rose [L] over ``own_l`` litres of the case's own oil; ``bound`` as of a reading, never "at most"."""

    litres: float
    u_l: float
    own_l: float
    u_own_l: float = 0.0
    dof: float = math.inf
    bound: Literal["exact", "at least"] = "exact"
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sample:
    """Viscosity of the used oil [mm2/s] at ``temp_c``; ``r`` its relative standard uncertainty (a laboratory's by default)."""

    nu: float
    temp_c: float = 40.0
    r: float = LAB


@dataclass(frozen=True, slots=True)
class Share:
    """What one method says about the volume share of the other oil.

    x, u, dof : share (0 to 1, not clipped: a little below 0 is a fair reading), standard uncertainty, degrees of freedom; None
    where there is no figure. low, high : the interval instead, where oils are known by their grade only. word : what may be said.
    reason : why there is no figure. not_detectable_below : share that this method would miss.
    """

    method: Literal["level rise", "viscosity"]
    word: Word
    x: float | None = None
    u: float | None = None
    dof: float = math.inf
    low: float | None = None
    high: float | None = None
    reason: str = ""
    not_detectable_below: float | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Combined:
    """Both methods together: ``x`` ± ``u`` (None where they disagree or give no figure), and what was done.

    z : difference over its standard uncertainty, None where only one spoke. agree : None likewise. bound : "exact" or "at least".
    """

    x: float | None
    u: float | None
    dof: float
    z: float | None
    agree: bool | None
    bound: Literal["exact", "at least"]
    used: tuple[str, ...]
    remarks: tuple[str, ...]


def by_rise(rise: Rise) -> Share:
    """Volume share of what came in, from the litres by which the level rose.

    OutOfRange where the case's own litres are not above 0, or more than all of them is missing.
    Formula: x = r / (V + r), u^2 = (V u_r / (V + r)^2)^2 + (r u_V / (V + r)^2)^2. Found beyond 1.645 u of the rise; a rise of
    3.29 u is seen 95 % of the time. It takes for granted that nothing left the case and nothing was poured. Own balance.

    0.6 ± 0.05 L over 6 L (computed by us):
    >>> found = by_rise(Rise(0.6, 0.05, 6.0))
    >>> found.word, round(found.x, 4), round(found.u, 4)
    ('found', 0.0909, 0.0069)
    """
    own, came = rise.own_l, rise.litres
    above_zero("own oil of the case", own, "L", "Enter what it holds at its mark.")
    above_zero("doubt of the rise", rise.u_l, "L", "No reading is exact: enter a number above 0.")
    if not -own < came < math.inf:
        raise OutOfRange("rise of the level", came, -own, None, "L", "More is missing than was in it: check both readings.")
    whole = (own + came) ** 2
    u = math.hypot(own / whole * rise.u_l, came / whole * rise.u_own_l)
    seen = smallest_seen(rise.u_l)
    word: Word = {"gain": "found", "loss": "level fell", "no clear change": "not detectable"}[alone(came, rise.u_l)]  # type: ignore[assignment]
    if rise.bound == "at least" and word == "found":
        word = "at least"
    remarks = rise.remarks
    if word == "level fell":
        remarks += ("The level fell: oil left the case, so the rise says nothing about what came in.",)
    x = None if word == "level fell" else came / (own + came)
    return Share(
        "level rise",
        word,
        x,
        None if x is None else u,
        rise.dof,
        reason="the level fell" if x is None else "",
        not_detectable_below=seen / (own + seen),
        remarks=remarks,
    )


def viscosity(product: Product, temp_c: float) -> float:
    """Viscosity of a product as new [mm2/s] at ``temp_c`` [°C], from its figures at 40 and 100 °C; CannotAnswer where one is missing."""
    if temp_c == 40.0 and product.nu40 is not None:
        return product.nu40
    if temp_c == 100.0 and product.nu100 is not None:
        return product.nu100
    if product.nu40 is None or product.nu100 is None:
        missing = "40 °C" if product.nu40 is None else "100 °C"
        raise CannotAnswer(f"Viscosity of {product.label} at {temp_c:g} °C", f"its viscosity at {missing} is not entered", "Enter it.")
    return float(oil.viscosity_at(*oil.walther(product.nu40, 40.0, product.nu100, 100.0), temp_c))


def band(product: Product, temp_c: float) -> tuple[float, float]:
    """Lowest and highest viscosity as new [mm2/s]: both the same where it was measured or taken from its data sheet.

    A nominal oil: the band of its ISO VG grade at 40 °C (ISO 3448), else 10 % either way (common practice, no source).
    """
    nu = viscosity(product, temp_c)
    if product.nu_source in R_SOURCE:
        return nu, nu
    grade = oil.iso_vg(nu) if temp_c == 40.0 else None
    return oil.iso_limits(grade) if grade is not None else (0.9 * nu, 1.1 * nu)


def by_viscosity(sample: Sample, own: Product, other: Product) -> Share:
    """Volume share of ``other`` in ``own`` from one viscosity of the mixture; a figure ± from measured oils, else an interval.

    Only "measured new" and "data sheet" viscosities of both oils give a figure. OutOfRange or BadInput for an impossible sample;
    a share that cannot be had comes back with its reason, never as an error.
    Formula and source: :func:`fluidapp.calc.oil.blend_fraction`, u by :func:`fluidapp.calc.oil.u_fraction`; "not explained" beyond 2 u
    outside 0 to 1 (own rule).
    """
    if not (0 < sample.r < 1):
        raise OutOfRange("doubt of the sample's viscosity", sample.r, 0.0, 1.0, "", "Enter a share of it; 0.5 % is 0.005.", True, True)
    oil.transform(sample.nu)  # refuses an impossible one by name
    remarks = oil.blend_remarks(own, other)
    try:
        bases, conts = band(own, sample.temp_c), band(other, sample.temp_c)
        if own.nu_source in R_SOURCE and other.nu_source in R_SOURCE:
            return _figure(sample, own, other, bases[0], conts[0], remarks)
        return _interval(sample, bases, conts, remarks)
    except CannotAnswer as err:
        return Share("viscosity", "no figure", reason=f"{err.question}: {err.reason}", remarks=remarks)


def _figure(sample: Sample, own: Product, other: Product, base: float, cont: float, remarks: tuple[str, ...]) -> Share:
    r_base, r_cont = R_SOURCE[own.nu_source], R_SOURCE[other.nu_source]
    x = float(oil.blend_fraction_open(base, cont, sample.nu))
    u = oil.u_fraction(base, cont, sample.nu, r_base, r_cont, sample.r)
    least = smallest_seen(oil.u_fraction(base, cont, base, r_base, r_cont, sample.r))
    if not -BALANCED * u <= x <= 1 + BALANCED * u:
        return Share("viscosity", "not explained by this mix", reason=_NOT_EXPLAINED, not_detectable_below=least, remarks=remarks)
    return Share("viscosity", "found" if x > CLAIM * u else "not detectable", x, u, not_detectable_below=least, remarks=remarks)


def _interval(sample: Sample, bases: tuple[float, float], conts: tuple[float, float], remarks: tuple[str, ...]) -> Share:
    ends = [oil.blend_fraction_interval(bases, conts, sample.nu * (1 + k * BALANCED * sample.r)) for k in (-1, 1)]
    low, high = min(e.low for e in ends), max(e.high for e in ends)
    remarks += ("From grades alone there is only an interval: enter the measured viscosity of the new oil for a figure.",)
    if sample.temp_c != 40.0:
        remarks += ("The grade's band is defined at 40 °C; 10 % either way is taken here.",)
    word: Word = "found" if low > 0 else "not detectable"
    if high < 0 or low > 1:
        word = "not explained by this mix"
    reason = _NOT_EXPLAINED if word == "not explained by this mix" else ""
    return Share("viscosity", word, low=low, high=high, reason=reason, not_detectable_below=ends[0].not_detectable_below, remarks=remarks)


def two_temperatures(one: Share, other: Share) -> Share:
    """The better of two shares from viscosities at two temperatures; no figure where they lie over 3 points apart (own limit)."""
    if one.x is None or other.x is None or one.u is None or other.u is None:
        return one if one.x is not None or other.x is None else other
    if abs(one.x - other.x) > GAP:
        reason = (
            f"{100 * one.x:.0f} % from one temperature and {100 * other.x:.0f} % from the other: another cause, or a viscosity improver"
        )
        return Share("viscosity", "no figure", reason=reason, remarks=one.remarks)
    return one if one.u <= other.u else other


def combine(rise: Share | None, visc: Share | None) -> Combined:
    """One share from both methods where they agree, else none and the reason.

    Formula: weighted mean with 1/u^2 where |z| <= 2, z = (x1 - x2) / sqrt(u1^2 + u2^2); beyond it they are not averaged. An
    interval or a bound is never averaged: it may agree (within 2 u) or contradict. Own rule; weighted mean: any text on least squares.
    """
    shares = [s for s in (rise, visc) if s is not None]
    reasons = (f"No share from {s.method}: {s.reason}." for s in shares if s.reason)
    remarks = tuple(dict.fromkeys((*reasons, *(text for s in shares for text in s.remarks))))
    told = [s for s in shares if s.x is not None]
    if rise is not None and visc is not None and rise.x is not None and rise.u is not None:
        bound: Literal["exact", "at least"] = "at least" if rise.word == "at least" else "exact"
        if visc.x is not None and visc.u is not None:
            z = (rise.x - visc.x) / max(math.hypot(rise.u, visc.u), 1e-12)
            if bound == "at least":
                return _against_bound(rise, visc, z, remarks)
            if abs(z) > BALANCED:
                return Combined(None, None, math.inf, z, False, bound, (), (_disagree(z), *remarks))
            w = rise.u**-2 + visc.u**-2
            u, dof = quadrature([(1 / (rise.u * w), rise.dof), (1 / (visc.u * w), visc.dof)])
            return Combined((rise.x / rise.u**2 + visc.x / visc.u**2) / w, u, dof, z, True, bound, (rise.method, visc.method), remarks)
        if visc.low is not None and visc.high is not None:
            above = max(rise.x - visc.high, 0.0) if bound == "exact" or rise.x > visc.high else 0.0
            below = max(visc.low - rise.x, 0.0) if bound == "exact" else 0.0
            z = (above - below) / max(rise.u, 1e-12)
            if abs(z) > BALANCED:
                return Combined(None, None, math.inf, z, False, bound, (), (_disagree(z), *remarks))
            return Combined(rise.x, rise.u, rise.dof, z, True, bound, (rise.method,), remarks)
    if told:
        bound = "at least" if told[0].word == "at least" else "exact"
        return Combined(told[0].x, told[0].u, told[0].dof, None, None, bound, (told[0].method,), remarks)
    return Combined(None, None, math.inf, None, None, "exact", (), remarks)


def _against_bound(rise: Share, visc: Share, z: float, remarks: tuple[str, ...]) -> Combined:
    if z > BALANCED:
        return Combined(None, None, math.inf, z, False, "exact", (), (_disagree(z), *remarks))
    return Combined(visc.x, visc.u, visc.dof, z, True, "exact", (visc.method,), remarks)


def _disagree(z: float) -> str:
    if z > 0:
        return (
            "Level and viscosity disagree, and are not averaged: the level rose by more than the viscosity explains. "
            "Look for water, for gear oil that was topped up, or for a wrong reading."
        )
    return (
        "Level and viscosity disagree, and are not averaged: the oil is thinner than the rise explains. "
        "Some of the mixture may have left through the lower seal or a drain, or the oil was not what it was taken for."
    )


_NOT_EXPLAINED = "the viscosity does not lie between the two oils: look for water, oxidation, grease or another oil"
