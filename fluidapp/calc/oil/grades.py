"""Grades: the number on the drum, from a viscosity, and the limits behind it."""

import math

from fluidapp.calc.oil.limits import require
from fluidapp.calc.oil.viscosity import LEAST
from fluidapp.errors import Unknown

# grade: middle of its band at 40 °C [mm2/s], band ±10 %. ISO 3448, from trade tables; 2200 and 3200 from memory
ISO_VG = {2: 2.2, 3: 3.2, 5: 4.6, 7: 6.8} | {
    vg: float(vg) for vg in (10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460, 680, 1000, 1500, 2200, 3200)
}
# grade: at 100 °C [mm2/s], lower limit in, upper limit out. SAE J306 (2019), trade table, second-hand
SAE_GEAR = {
    "65": (3.8, 5.0),
    "70": (5.0, 6.5),
    "75": (6.5, 8.5),
    "80": (8.5, 11.0),
    "85": (11.0, 13.5),
    "90": (13.5, 18.5),
    "110": (18.5, 24.0),
    "140": (24.0, 32.5),
    "190": (32.5, 41.0),
    "250": (41.0, math.inf),
}
# SAE J300, trade table, second-hand; grade 20 from memory (older editions begin at 5.6). Grades 8, 12 and 16 are not held
SAE_ENGINE = {"20": (6.9, 9.3), "30": (9.3, 12.5), "40": (12.5, 16.3), "50": (16.3, 21.9), "60": (21.9, 26.1)}
# least viscosity at 100 °C [mm2/s] of a W number; its other half, flow in the cold, does not follow from it (second-hand)
W_LEAST_GEAR = {"70W": 3.8, "75W": 3.8, "80W": 8.5, "85W": 11.0}
W_LEAST_ENGINE = {"0W": 3.8, "5W": 3.8, "10W": 4.1, "15W": 5.6, "20W": 5.6, "25W": 9.3}


def iso_limits(grade: int) -> tuple[float, float]:
    """Lowest and highest viscosity at 40 °C [mm2/s] of an ISO VG ``grade``; Unknown, with the list, for any other number.

    Source: ISO 3448 (trade tables): middle ±10 %.

    >>> [round(x, 1) for x in iso_limits(220)]
    [198.0, 242.0]
    """
    if grade not in ISO_VG:
        raise Unknown("ISO VG grade", str(grade), map(str, ISO_VG))
    return 0.9 * ISO_VG[grade], 1.1 * ISO_VG[grade]


def iso_vg(nu40: float) -> int | None:
    """The ISO VG grade whose band holds ``nu40`` [mm2/s at 40 °C], limits included; None between two bands, which do not touch.

    BadInput for a viscosity at or below 0.3. Source: ISO 3448 (trade tables).

    >>> iso_vg(50.6), iso_vg(55.0), nearest_iso_vg(55.0)
    (46, None, 46)
    """
    grade = nearest_iso_vg(nu40)
    low, high = iso_limits(grade)
    return grade if low * (1 - 1e-12) <= nu40 <= high * (1 + 1e-12) else None


def nearest_iso_vg(nu40: float) -> int:
    """The ISO VG grade nearest to ``nu40`` [mm2/s at 40 °C] by ratio; it need not hold it. BadInput at or below 0.3. Own rule."""
    _usable(nu40, "viscosity at 40 °C")
    return min(ISO_VG, key=lambda grade: abs(math.log(nu40 / ISO_VG[grade])))


def sae_gear(nu100: float) -> str | None:
    """SAE number of a gear oil with ``nu100`` [mm2/s at 100 °C]; None below 3.8. Never a W number: that needs its flow in the cold.

    BadInput at or below 0.3. Source: SAE J306 (2019), trade table, second-hand. Before 2005: 90 was 13.5 to 24, 140 was 24 to 41.

    >>> sae_gear(14.8), sae_gear(18.5), sae_gear(3.0)
    ('90', '110', None)
    """
    return _grade(SAE_GEAR, nu100)


def sae_engine(nu100: float) -> str | None:
    """SAE number of an engine oil with ``nu100`` [mm2/s at 100 °C]; None below 6.9 and from 26.1. Never a W number.

    BadInput at or below 0.3. Source: SAE J300, trade table, second-hand; grade 20 from memory. Grades 8, 12, 16 are not held.

    >>> sae_engine(14.5), sae_engine(12.5), sae_engine(26.1)
    ('40', '40', None)
    """
    return _grade(SAE_ENGINE, nu100)


def _grade(table: dict[str, tuple[float, float]], nu100: float) -> str | None:
    _usable(nu100, "viscosity at 100 °C")
    return next((name for name, (low, high) in table.items() if low <= nu100 < high), None)


def _usable(nu: float, field: str) -> None:
    require(field, nu, nu > LEAST and math.isfinite(nu), "Enter mm2/s (the same number as cSt), above 0.3.")
