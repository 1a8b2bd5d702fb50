"""What one gauge says in litres: the reading as a function that the budget can move and tilt."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from fluidapp.calc import build, gauge
from fluidapp.calc.gauge import AnyGauge
from fluidapp.calc.geometry import Curve, Tank, up
from fluidapp.calc.geometry.arrays import Array
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Compartment, LevelPlug, Percent, Reading, Stick

Litres = Callable[[float, float, float], float]  # reading, pitch, roll -> litres


def usable_gauge(compartment: Compartment, reading: Reading) -> AnyGauge:
    if not compartment.gauges:
        raise CannotAnswer(compartment.label, "no gauge is entered for it", "Enter its dipstick, glass or level plug on the machine.")
    scale = compartment.gauge(reading.gauge)
    if isinstance(scale, LevelPlug) and scale.position_tick and not reading.position_ok:
        raise CannotAnswer(
            scale.name, "the plug may stand too high or too low", "Turn the track until the plug is in its position, then tick it."
        )
    if reading.ran_out_l is not None and not isinstance(scale, LevelPlug):
        raise BadInput(scale.name, f"{reading.ran_out_l:g} L ran out", "Oil runs out at a level plug only; leave this empty.")
    return scale


def shown_by(scale: AnyGauge, reading: Reading) -> float:
    """The reading in the gauge's scale; for a one-sided reading without a number, the end of the gauge."""
    if reading.level is not None:
        gauge.on_scale(scale, reading.level)
        return reading.level
    at_low_end = (reading.bound == "at most") != isinstance(scale, LevelPlug)
    end = scale.start_mm if at_low_end else gauge.highest(scale)
    if end is None:
        raise CannotAnswer(scale.name, "where the gauge ends is not entered", "Enter the highest reading that it can show.")
    return end


def follows_slope(compartment: Compartment, scale: AnyGauge) -> bool:
    """Whether a reading can be corrected for the slope: the tank is drawn, and the gauge has a place in it."""
    place = scale.tip if isinstance(scale, Stick) else scale.at
    return compartment.body is not None and place is not None


def plane_of_share(tank: Tank, scale: Percent, share_l: float, n: Array) -> float:
    """c [dm] of the plane where a dial of the capacity stands as high as ``share_l`` [L] on a level machine and "up" is ``n``."""
    place = np.array(scale.at) / 100.0
    height = tank.span(gauge.LEVEL)[0] + float(tank.curve().level_mm(share_l)) / 100.0
    return float(n @ place + (height - place[2]) * n[2])


def share_at(tank: Tank, scale: Percent, c_dm: float, n: Array) -> float:
    """What that dial shows [%] where the plane is n.x = ``c_dm``: the inverse of :func:`plane_of_share`."""
    place = np.array(scale.at) / 100.0
    height = place[2] + (c_dm - n @ place) / n[2]
    return float(tank.curve().volume_l(100.0 * float(height - tank.span(gauge.LEVEL)[0]))) / tank.capacity_l * 100.0


def reader(compartment: Compartment, scale: AnyGauge, swing_deg: float) -> Litres:
    tank = build.tank(compartment)
    unit = "%" if isinstance(scale, Percent) else "mm"
    brim = f"Read again, or check the tank's height and the place of its gauge on {compartment.label}."

    def from_share(shown: float, pitch: float, roll: float) -> float:
        share = shown / 100.0 * float(tank.capacity_l)
        if not (pitch or roll) or isinstance(tank, Curve) or not isinstance(scale, Percent) or not follows_slope(compartment, scale):
            return share
        n = up(pitch, roll, swing_deg)
        c = plane_of_share(tank, scale, share, n)
        low, high = tank.span(n)
        if not low - 1e-9 <= c <= high + 1e-9:
            raise OutOfRange(scale.name, shown, 0.0, 100.0, "%", f"On this slope the level leaves the tank at the gauge: {brim}")
        return float(tank.vol(c, n)[0])

    if isinstance(scale, Percent) and scale.of == "capacity":
        return from_share

    if isinstance(tank, Curve):

        def from_curve(shown: float, pitch: float, roll: float) -> float:
            height = gauge.height_mm(scale, shown)
            if not tank.low_mm - 1e-9 <= height <= tank.high_mm + 1e-9:
                low, high = sorted(gauge.from_height(scale, h) for h in (tank.low_mm, tank.high_mm))
                raise OutOfRange(scale.name, shown, low, high, unit, brim)
            return float(tank.volume_l(min(max(height, tank.low_mm), tank.high_mm)))

        return from_curve

    def from_tank(shown: float, pitch: float, roll: float) -> float:
        n = up(pitch, roll, swing_deg)
        c = gauge.plane(scale, shown, n)
        low, high = tank.span(n)
        if not low - 1e-9 <= c <= high + 1e-9:
            low, high = sorted(gauge.reading(scale, edge, n) for edge in (low, high))
            raise OutOfRange(scale.name, shown, low, high, unit, brim)
        return float(tank.vol(c, n)[0])

    return lru_cache(maxsize=16)(from_tank)  # the budget asks for the litres as read again and again


def sits(litres: Litres, shown: float) -> bool:
    try:
        litres(shown, 0.0, 0.0)
    except OutOfRange:
        return False
    return True


def moved(litres: Litres, shown: float, by: float, pitch: float, roll: float) -> float:
    """Larger change of volume when the reading moves ``by`` either way; a side that leaves the tank counts up to its edge."""
    now = litres(shown, pitch, roll)
    return _either_way(lambda share: litres(shown + share * by, pitch, roll) - now)


def tilted(litres: Litres, shown: float, pitch: float, roll: float, step: tuple[float, float]) -> float:
    """Larger change of volume when the slope moves by ``step`` [degrees along, across] either way, as :func:`moved`."""
    now = litres(shown, pitch, roll)
    return _either_way(lambda share: litres(shown, pitch + share * step[0], roll + share * step[1]) - now)


def _either_way(change: Callable[[float], float]) -> float:
    return max(_to_the_edge(change, 1.0), _to_the_edge(change, -1.0))


def _to_the_edge(change: Callable[[float], float], whole: float) -> float:
    """Size of ``change(whole)``; where that leaves the tank, of the change at the edge, bisected to a thousand-millionth."""
    try:
        return abs(change(whole))
    except OutOfRange:
        inside, outside, size = 0.0, whole, 0.0
    for _ in range(30):
        share = (inside + outside) / 2
        try:
            inside, size = share, abs(change(share))
        except OutOfRange:
            outside = share
    return size
