"""Which way is up, seen from the machine."""

import numpy as np

from fluidapp.calc.geometry.arrays import Array, FloatLike
from fluidapp.errors import BadInput

SNAP_DEG = 5e-4  # slopes below this are level: half a millimetre in 57 m, far below what any level shows


def up(pitch_deg: FloatLike, roll_deg: FloatLike, swing_deg: FloatLike = 0.0) -> Array:
    """Unit vector pointing up, in the axes of the machine (x forward, y left, z up through its floor).

    pitch_deg : nose up is positive [deg], float or array, between -90 and 90.
    roll_deg : right side down is positive [deg], float or array of a matching shape, between -90 and 90.
    swing_deg : upper structure turned counter-clockwise seen from above [deg]; give it for whatever turns with the upper
        structure, and leave it 0 for what stays with the undercarriage. Pitch and roll are those of the undercarriage.
    Returns: array of shape (..., 3). Pitch and roll below 5e-4 deg in size count as level.
    Errors: BadInput where an angle is not a number or a slope is steeper than 90 deg.
    Formula: n = (sin p, cos p sin r, cos p cos r), then turned by -swing about z. Own convention.

    >>> up(30.0, 0.0).round(4).tolist()
    [0.5, 0.0, 0.866]
    >>> up(30.0, 0.0, 180.0).round(4).tolist()
    [-0.5, 0.0, 0.866]
    """
    pitch, roll, swing = np.broadcast_arrays(*(np.asarray(a, dtype=np.float64) for a in (pitch_deg, roll_deg, swing_deg)))
    for field, angle in (("pitch", pitch), ("roll", roll)):
        if not np.all(np.abs(angle) <= 90.0):
            raise BadInput(field, _first_bad(angle, np.abs(angle) <= 90.0), "Enter a slope between -90 and 90 degrees.")
    if not np.all(np.isfinite(swing)):
        raise BadInput("swing", _first_bad(swing, np.isfinite(swing)), "Enter the swing angle in degrees.")
    p = np.radians(np.where(np.abs(pitch) < SNAP_DEG, 0.0, pitch))
    r = np.radians(np.where(np.abs(roll) < SNAP_DEG, 0.0, roll))
    x, y, z = np.sin(p), np.cos(p) * np.sin(r), np.cos(p) * np.cos(r)
    turn = np.radians(np.remainder(swing, 360.0))
    cos_s, sin_s = np.cos(turn), np.sin(turn)
    n = np.stack([x * cos_s + y * sin_s, y * cos_s - x * sin_s, z], axis=-1)
    return np.where(np.abs(n) < 1e-15, 0.0, n)  # the sine of half a turn is not quite 0


def slope(n: Array) -> tuple[float, float]:
    """Pitch and roll [deg] that a level would read where ``n`` (shape (3,)) is up: the inverse of `up` without swing.

    >>> tuple(round(a, 9) for a in slope(up(3.0, -2.0)))
    (3.0, -2.0)
    """
    x, y, z = (float(v) for v in n)
    return float(np.degrees(np.arcsin(min(max(x, -1.0), 1.0)))), float(np.degrees(np.arctan2(y, z)))


def _first_bad(values: Array, good: np.ndarray) -> float:
    return float(values[~good].ravel()[0])
