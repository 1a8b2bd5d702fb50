"""Mixed oils: what a mixture's viscosity is, and what share a viscosity gives away."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from fluidapp.calc.oil.limits import plain, require
from fluidapp.calc.oil.viscosity import back, transform
from fluidapp.errors import BadInput, CannotAnswer

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    FloatLike = float | NDArray[np.float64]

APART = 0.10  # the two oils' viscosities must differ by more than this share of the base's (own limit)
Word = Literal["found", "not detectable by viscosity", "not explained by this mix"]
_QUESTION = "Share from viscosity"


def blend_viscosity(nus: "ArrayLike", fractions: "ArrayLike") -> Any:
    """Viscosity [mm2/s] of a mixture of oils, all at one temperature.

    nus : viscosity of each oil [mm2/s, above 0.3], along the first axis. fractions : volume share of each, 0 to 1, of the same
    shape or one number an oil; they sum to 1. Returns float, or an array over the remaining axes. BadInput otherwise.
    Formula: W = sum of x_i log10(log10(nu_i + 0.7)), and back. Source: ASTM D7152, the one-temperature blending method (scope
    read, formula second-hand). Volume or mass share makes no significant difference for base stocks (D7152). May not suit
    non-Newtonian oils, viscosity improvers, additive packages or solids; no use for grease.

    70 % of 220, 20 % of 46 and 10 % of 108 mm2/s (computed by us):
    >>> round(blend_viscosity([220.0, 46.0, 108.0], [0.7, 0.2, 0.1]), 2)
    143.65
    """
    shares = _shares(nus, fractions)
    return back(np.sum(shares * transform(np.asarray(nus, dtype=np.float64)), axis=0))


def blend_density(rhos: "ArrayLike", fractions: "ArrayLike") -> Any:
    """Density [kg/m3] of a mixture: sum of volume share times density, all at one temperature. Volumes are taken to add up.

    rhos : kg/m3, > 0, along the first axis. fractions : as :func:`blend_viscosity`. BadInput otherwise. Own balance.

    >>> round(blend_density([895.0, 870.0], [0.9, 0.1]), 1)
    892.5
    """
    rhos = np.asarray(rhos, dtype=np.float64)
    require("oil density", rhos, (rhos > 0) & np.isfinite(rhos), "Enter kg/m3, about 880 for most oils.")
    return plain(np.sum(_shares(rhos, fractions) * rhos, axis=0))


def blend_fraction(nu_base: "FloatLike", nu_cont: "FloatLike", nu_meas: "FloatLike") -> Any:
    """Volume share, 0 to 1, of a second oil in a base oil, from three viscosities at one temperature.

    nu_base, nu_cont, nu_meas : base oil as new, the oil that came in, and the mixture [mm2/s, above 0.3], floats or arrays. All
    measured: a grade is no measurement (:func:`blend_fraction_interval`). Solved for the mix that has a wanted viscosity, it
    gives the share to add.
    CannotAnswer where nu_meas lies outside the two oils (water, oxidation or another oil explains it, never this mix) or where the
    two oils differ by 10 % of the base or less (own limit). BadInput for a viscosity at or below 0.3.
    Formula: x = (W_meas - W_base) / (W_cont - W_base). Source, range and limits: :func:`blend_viscosity`.

    180 in a gear oil of 220 that took in hydraulic oil of 46 mm2/s, 11.1 % (computed by us):
    >>> round(100 * blend_fraction(220.0, 46.0, 180.0), 1)
    11.1
    """
    found = np.asarray(blend_fraction_open(nu_base, nu_cont, nu_meas))
    outside = (found < -1e-12) | (found > 1 + 1e-12)
    if np.any(outside):
        nu = np.broadcast_to(np.asarray(nu_meas, dtype=np.float64), found.shape)[outside].ravel()[0]
        raise CannotAnswer(
            _QUESTION,
            f"{nu:g} mm2/s does not lie between the two oils, so this mix does not explain it",
            "Look for water, oxidation or another oil, or take another sample.",
        )
    return plain(np.clip(found, 0.0, 1.0))  # only the last digit is cut: everything else was refused above


def blend_fraction_open(nu_base: "FloatLike", nu_cont: "FloatLike", nu_meas: "FloatLike") -> Any:
    """As :func:`blend_fraction`, but below 0 or above 1 where nu_meas lies outside the two oils: for a budget, never for a screen."""
    base, cont = np.asarray(nu_base, dtype=np.float64), np.asarray(nu_cont, dtype=np.float64)
    w_base, w_cont, w_meas = transform(base), transform(cont), transform(nu_meas)
    close = np.abs(cont - base) <= APART * base
    if np.any(close):
        raise CannotAnswer(
            _QUESTION, "the two oils' viscosities differ by 10 % or less, so viscosity cannot tell them apart", "Use the level rise."
        )
    return plain((w_meas - w_base) / (w_cont - w_base))


def u_fraction(nu_base: float, nu_cont: float, nu_meas: float, r_base: float, r_cont: float, r_meas: float) -> float:
    """Standard uncertainty of the share of :func:`blend_fraction` (0 to 1), from relative standard uncertainties of the viscosities.

    r_base, r_cont, r_meas : u(nu)/nu, >= 0 (0.01 is 1 %); independent. BadInput or CannotAnswer as the share itself.
    Formula: dx/dW_meas = 1/d, dx/dW_base = (x - 1)/d, dx/dW_cont = -x/d with d = W_cont - W_base, and
    dW/dln(nu) = nu / (nu + 0.7) / (ln(10) ln(nu + 0.7)). Source: JCGM 100:2008, 5.1.2 (from memory); derivatives ours.

    A laboratory's 0.7 % on the used sample alone is about 0.4 points of VG 46 in VG 220:
    >>> round(100 * u_fraction(220.0, 46.0, 180.0, 0.0, 0.0, 0.007), 1)
    0.4
    """
    for name, r in (("base oil", r_base), ("other oil", r_cont), ("sample", r_meas)):
        require(f"doubt of the viscosity, {name}", r, r >= 0 and math.isfinite(r), "Enter a share of it, 0 or more.")
    x = blend_fraction_open(nu_base, nu_cont, nu_meas)
    d = transform(nu_cont) - transform(nu_base)
    return math.hypot(*(k * _slope(nu) * r / d for k, nu, r in ((x - 1, nu_base, r_base), (-x, nu_cont, r_cont), (1, nu_meas, r_meas))))


@dataclass(frozen=True, slots=True)
class Interval:
    """What a viscosity says about the share where one or both oils are known by their band only.

    low, high : lowest and highest share, not clipped. word : what may be said. not_detectable_below : share that brings a
    new oil from the middle of its band to its edge, so that it looks like a new one still.
    """

    low: float
    high: float
    word: Word
    not_detectable_below: float


def blend_fraction_interval(base: tuple[float, float], cont: tuple[float, float], nu_meas: float) -> Interval:
    """Lowest and highest share of a second oil where only bands are known: the four corners of the two bands, never one figure.

    base, cont : (lowest, highest) viscosity of the oils as new [mm2/s], such as :func:`fluidapp.calc.oil.iso_limits`; both ends
    equal where it was measured. nu_meas : the mixture, at the same temperature. BadInput for a band that is upside down or a
    viscosity at or below 0.3; CannotAnswer where the bands come within 10 % of each other.
    "not detectable by viscosity" where the interval reaches 0 or below, "not explained by this mix" where all of it lies
    outside 0 to 1. Formula: :func:`blend_fraction` at the corners. Own rule.

    180 mm2/s in a VG 220 that took in VG 46 (computed by us):
    >>> found = blend_fraction_interval((198.0, 242.0), (41.4, 50.6), 180.0)
    >>> round(100 * found.low, 1), round(100 * found.high, 1), found.word, round(100 * found.not_detectable_below)
    (5.2, 16.6, 'found', 6)
    """
    for low, high in (base, cont):
        if not low <= high:
            raise BadInput("viscosity band", f"{low:g} to {high:g}", "The first figure is the lower one.")
    if max(base[0], cont[0]) <= min(base[1], cont[1]):
        raise CannotAnswer(_QUESTION, "the bands of the two oils overlap", "Enter the measured viscosity of the new oils.")
    corners = [blend_fraction_open(b, c, nu_meas) for b in base for c in cont]
    low, high = min(corners), max(corners)
    thinner = cont[1] < base[0]
    edge = blend_fraction_open(_middle(base), _middle(cont), base[0] if thinner else base[1])
    word: Word = "found"
    if low <= 0.0:
        word = "not detectable by viscosity" if high >= 0.0 else "not explained by this mix"
    elif low > 1.0:
        word = "not explained by this mix"
    return Interval(low, high, word, edge)


def blending_index(nu: "FloatLike") -> Any:
    """Blending index of an oil, for **mass** shares: a second opinion beside :func:`blend_viscosity`.

    nu : kinematic viscosity [mm2/s], above 0.3, float or array; BadInput otherwise.
    Formula: 14.534 ln(ln(nu + 0.8)) + 10.975, natural logarithms, constant 0.8.
    Source: Maples, Petroleum Refinery Process Economics, 2nd ed. (second-hand).

    >>> round(blending_index(10.0), 4), round(blending_index(100.0), 4)
    (23.5747, 33.1962)
    """
    transform(nu)  # the same refusals
    return plain(14.534 * np.log(np.log(np.asarray(nu, dtype=np.float64) + 0.8)) + 10.975)


def viscosity_of_index(index: "FloatLike") -> Any:
    """Viscosity [mm2/s] of a blending index; the inverse of :func:`blending_index`, same source. Float or array.

    >>> round(viscosity_of_index(23.5747), 3)
    10.0
    """
    index = np.asarray(index, dtype=np.float64)
    require("blending index", index, (index > -60) & (index < 100), "It lies between about 1 and 50 for oils.")
    return plain(np.exp(np.exp((index - 10.975) / 14.534)) - 0.8)


def blend_viscosity_by_mass(nus: "ArrayLike", fractions: "ArrayLike") -> Any:
    """Viscosity [mm2/s] of a mixture by mass shares and :func:`blending_index`: sum of w_i times the index, and back.

    Parameters and errors as :func:`blend_viscosity`, with mass shares. Charts of this kind disagree by about one percentage point.
    """
    shares = _shares(nus, fractions)
    return viscosity_of_index(np.sum(shares * np.asarray(blending_index(np.asarray(nus, dtype=np.float64))), axis=0))


def _shares(values: "ArrayLike", fractions: "ArrayLike") -> "NDArray[np.float64]":
    given, shares = np.asarray(values, dtype=np.float64), np.asarray(fractions, dtype=np.float64)
    if given.ndim == 0 or shares.ndim == 0 or given.shape[0] != shares.shape[0]:
        raise BadInput(
            "shares", f"{shares.shape[0] if shares.ndim else 1} for {given.shape[0] if given.ndim else 1} oils", "One share an oil."
        )
    require("share", shares, (shares >= 0) & (shares <= 1), "A share lies between 0 and 1; 10 % is 0.1.")
    total = shares.sum(axis=0)
    require("shares", total, np.abs(total - 1.0) < 1e-6, "Together they must be 1.")
    return shares.reshape(shares.shape + (1,) * (given.ndim - shares.ndim)) if shares.ndim < given.ndim else shares


def _slope(nu: float) -> float:
    """dW / d ln(nu)."""
    return nu / (nu + 0.7) / (math.log(10.0) * math.log(nu + 0.7))


def _middle(band: tuple[float, float]) -> float:
    return (band[0] + band[1]) / 2.0
