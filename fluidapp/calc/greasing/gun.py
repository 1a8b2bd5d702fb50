"""What a grease gun gives: weighing its strokes, and turning grams into whole strokes."""

import math
from dataclasses import dataclass

from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.errors import OutOfRange
from fluidapp.model import Gun

SD_STROKE_G = 0.08  # from stroke to stroke, typical, editable (common practice, no source)
WEIGH = "This gun is not weighed: strokes stay strokes. Pump 10 to 20 strokes into a pot and weigh it before and after."
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class GunOutput:
    """Grams per stroke with the standard uncertainty of that mean."""

    g_per_stroke: float
    u_g: float
    n_strokes: int
    dof: float = math.inf
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Dose:
    """What to do at one nipple. ``strokes`` or ``seconds``, whichever the gun counts; None where it is not known.

    given_g, u_given_g : grams that so many strokes deliver (not the grams wished), None for a gun that is not weighed.
    capped : the cap has cut it.
    """

    strokes: int | None
    seconds: float | None
    given_g: float | None
    u_given_g: float | None
    dof: float
    capped: bool
    remarks: tuple[str, ...]


def calibrate_gun(before_g: float, after_g: float, n_strokes: int, resolution_g: float, sd_stroke_g: float = SD_STROKE_G) -> GunOutput:
    """Grams per stroke from a pot weighed before and after ``n_strokes``.

    before_g, after_g : pot [g]. resolution_g : step of the scale [g, > 0]. sd_stroke_g : scatter of strokes [g, >= 0].
    OutOfRange where nothing was gained or a number cannot be.
    Formula: g = (m2 - m1)/N; u^2 = 2 (R/sqrt 12)^2/N^2 + s^2/N. Source: law of propagation, rectangular reading
    (JCGM 100:2008, 4.3.7 and 5.1.2, from memory).

    20 strokes on a scale of 1 g: 0.027 g a stroke (computed by us):
    >>> round(calibrate_gun(250, 276, 20, 1.0).u_g, 3)
    0.027
    """
    if n_strokes < 1:
        raise OutOfRange("strokes", n_strokes, 1, None, "", "Weigh 10 to 20 strokes.")
    above_zero("step of the scale", resolution_g, "g", "Enter the smallest step that the scale shows.")
    zero_or_more("scatter of strokes", sd_stroke_g, "g")
    if not (math.isfinite(before_g) and math.isfinite(after_g) and after_g > before_g >= 0):
        raise OutOfRange("pot after the strokes", after_g, before_g, None, "g", "It must weigh more than before; weigh again.")
    g = (after_g - before_g) / n_strokes
    u = math.sqrt(2.0 * (resolution_g / math.sqrt(12.0)) ** 2 / n_strokes**2 + sd_stroke_g**2 / n_strokes)
    remarks = ["Weigh again with a new grease, in the cold season and after a repair of the gun."]
    if n_strokes < 10:
        remarks.insert(0, "Few strokes: weigh 10 to 20 of them.")
    return GunOutput(g, u, n_strokes, math.inf, tuple(remarks))


def grams(strokes: float | None, seconds: float | None, gun: Gun | None) -> float | None:
    """Grams of so many strokes (hand gun) or seconds (power gun); None where the gun is not weighed."""
    if gun is None:
        return None
    if strokes is not None and gun.g_per_stroke is not None:
        return strokes * gun.g_per_stroke
    if seconds is not None and gun.g_per_min is not None:
        return seconds * gun.g_per_min / 60.0
    return None


def strokes(dose_g: float | None, gun: Gun | None, cap_g: float | None = None) -> Dose:
    """Whole strokes (or seconds of a power gun) for ``dose_g`` at one nipple, never over the cap.

    dose_g, cap_g : grams, > 0, None = unknown; OutOfRange otherwise. Where only the cap is known, the dose is the cap.
    Formula: the whole number nearest to dose/g, but at most floor(cap/g); grams given = strokes x g, with
    u^2 = (n u_g)^2 + n s^2. Common practice, no source.

    35 g at 2 g a stroke is 17.5 strokes: 18 would pass a cap of 35 g.
    >>> strokes(35.0, Gun(key="gun", label="hand gun", g_per_stroke=2.0), cap_g=35.0).strokes
    17
    """
    for name, value in (("dose", dose_g), ("cap", cap_g)):
        if value is not None:
            above_zero(name, value, "g", "Enter grams above 0.")
    wish = cap_g if dose_g is None else dose_g
    if gun is not None and gun.feed == "auto":
        return _unknown("An automatic system greases by itself: fill its reservoir, and check its lines and every outlet.")
    if wish is None:
        return _unknown("No dose is known for this point: stop when the seal shows grease.")
    if gun is not None and gun.feed == "power" and gun.g_per_min is not None:
        given = wish if cap_g is None else min(wish, cap_g)
        return Dose(None, given / gun.g_per_min * 60.0, given, max(gun.sd_g, 0.01 * given), math.inf, given < wish, ())
    if gun is None or gun.g_per_stroke is None:
        return _unknown(WEIGH)
    g = gun.g_per_stroke
    remarks: list[str] = []
    n = math.floor(wish / g + 0.5 + _SLACK)
    if n == 0:
        n = 1
        remarks.append("One stroke gives more than the dose.")
    most = math.inf if cap_g is None else math.floor(cap_g / g + _SLACK)
    capped = n > most
    n = int(min(n, most))
    if capped:
        remarks.append("One stroke alone passes the cap: use a smaller gun." if n == 0 else "Cut by the cap.")
    u_mean = gun.sd_g / math.sqrt(gun.n_strokes) if gun.n_strokes else gun.sd_g
    if gun.n_strokes is None:
        remarks.append("It is not written down how many strokes were weighed: grams per stroke taken as one stroke's scatter.")
    return Dose(n, None, n * g, math.sqrt((n * u_mean) ** 2 + n * gun.sd_g**2), math.inf, capped, tuple(remarks))


def _unknown(remark: str) -> Dose:
    return Dose(None, None, None, None, math.inf, False, (remark,))
