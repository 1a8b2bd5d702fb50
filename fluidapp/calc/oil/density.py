"""How litres grow with heat: volume correction and density."""

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from fluidapp.calc.oil.limits import plain, within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatLike = float | NDArray[np.float64]

K_LUBE = 0.6278  # kg/m3/K, lubricating oils, base 15 °C
RHO15_TYPICAL = 875.0  # kg/m3; 20 kg/m3 beside the truth moves the step from 20 to 60 °C by only 0.07 %
U_RHO15 = 10.0  # kg/m3: of a density that is entered from a data sheet, typical (common practice, no source)
RANGE_RHO = (800.0, 1164.0)
RANGE_C = (-50.0, 95.0)


def vcf(rho15: "FloatLike", temp_c: "FloatLike") -> Any:
    """Litres at 15 °C per litre at ``temp_c`` of a lubricating oil (volume correction factor).

    rho15 : density at 15 °C [kg/m3], > 0, float or array. temp_c : oil temperature [°C], -60 to 200 (own limit), float or array.
    Returns float or array. OutOfRange for an impossible density or temperature.
    Formula: x = 0.6278/rho15 * (temp_c - 15); VCF = exp(-x (1 + 0.8 x)).
    Source: ASTM D1250-80 / API MPMS 11.1, group D; the equation is checked on printed examples of other groups, the
    constant is second-hand and from memory. Range of the 1980 table: 800 to 1164 kg/m3, -50 to 95 °C.

    >>> round(float(vcf(880.0, 60.0)), 5)
    0.96761
    """
    return _correction(rho15, temp_c, 15.0, 0.0, K_LUBE, 0.0)


def vcf_general(rho_ref: "FloatLike", temp: "FloatLike", base: float, k0: float, k1: float, k2: float = 0.0) -> Any:
    """The same for any group: alpha = k0/rho_ref**2 + k1/rho_ref + k2, per degree of ``temp`` and ``base``.

    rho_ref : density at ``base`` [kg/m3]. base : 15 [°C] or 60 [°F]. Source: API MPMS 11.1 (ASTM D1250-80 form). Errors as :func:`vcf`.

    API MPMS 11.1-2004, 11.1.6.1, example 6 (gasoline, 657.3 kg/m3, 27.3 °F) prints 1.026475833518 (second-hand):
    >>> round(float(vcf_general(657.3, 27.3, 60.0, 192.4571, 0.2438)), 4)
    1.0265
    """
    return _correction(rho_ref, temp, base, k0, k1, k2)


def rho15(rho_t: "FloatLike", temp_c: "FloatLike") -> Any:
    """Density at 15 °C [kg/m3] of a lubricating oil whose density is ``rho_t`` [kg/m3] at ``temp_c`` [°C].

    Fixed-point iteration of rho <- rho_t / VCF(rho, temp_c) to 1e-9 kg/m3. Source and range as :func:`vcf`.

    >>> round(float(rho15(860.0, 60.0)), 2)
    888.5
    """
    rho = np.asarray(rho_t, dtype=float) + 0.0
    for _ in range(50):
        new = np.asarray(rho_t, dtype=float) / vcf(rho, temp_c)
        done = bool(np.max(np.abs(new - rho)) < 1e-9)
        rho = new
        if done:
            break
    return plain(rho)


def convert_volume(v_l: "FloatLike", from_c: "FloatLike", to_c: "FloatLike", rho15: "FloatLike" = RHO15_TYPICAL) -> Any:
    """Litres at ``to_c`` of what is ``v_l`` litres at ``from_c`` [°C]: V VCF(from) / VCF(to). Source as :func:`vcf`.

    >>> round(float(convert_volume(10.0, 70.0, 20.0, 870.0)), 3)
    9.634
    """
    return v_l * vcf(rho15, from_c) / vcf(rho15, to_c)


def weight(volume_l: float, rho15: float, u_l: float, temp_c: float = 15.0, u_rho15: float = U_RHO15) -> tuple[float, float]:
    """Mass [kg] of ``volume_l`` litres [>= 0] at ``temp_c`` [°C], and its standard uncertainty.

    rho15 : density at 15 °C [kg/m3]. u_l : standard uncertainty of the litres. u_rho15 : that of the density, typical.
    Formula: m = V VCF(T) rho15 / 1000; (u/m)^2 = (u_l/V)^2 + (u_rho15/rho15)^2. Source of VCF and errors as :func:`vcf`.

    >>> kg, u = weight(20.0, 870.0, 0.4)
    >>> round(kg, 2), round(u, 2)
    (17.4, 0.4)
    """
    per_l = float(vcf(rho15, temp_c)) / 1000.0
    return volume_l * per_l * rho15, math.hypot(u_l * rho15, volume_l * u_rho15) * per_l


def out_of_table(rho15: float, temp_c: float) -> str | None:
    """The remark where density or temperature lies outside the printed table, else None."""
    if not RANGE_RHO[0] <= rho15 <= RANGE_RHO[1]:
        return f"Density {rho15:g} kg/m3 lies outside the printed table (800 to 1164 kg/m3): the volume correction is extrapolated."
    if not RANGE_C[0] <= temp_c <= RANGE_C[1]:
        return f"{temp_c:g} °C lies outside the printed table (-50 to 95 °C): the volume correction is extrapolated."
    return None


def _correction(rho: "FloatLike", temp: "FloatLike", base: float, k0: float, k1: float, k2: float) -> Any:
    within("oil density", rho, 300.0, 3000.0, "kg/m3", "Enter the density at 15 °C, about 880 for most oils.")
    low, high, unit = (-60.0, 200.0, "°C") if base == 15.0 else (-76.0, 392.0, "°F")
    within("oil temperature", temp, low, high, unit, "Read the temperature again, and check its unit.")
    x = (k0 / np.square(rho) + k1 / np.asarray(rho) + k2) * (np.asarray(temp) - base)
    result = np.exp(-x * (1 + 0.8 * x))
    return plain(result)
