"""Calibration by pouring: litres per mm from "poured so much, the gauge rose so much", and what does not fit, by name."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fluidapp.calc import build, figure
from fluidapp.calc import gauge as gauges
from fluidapp.calc.geometry import Curve, Tank
from fluidapp.calc.pours import Chain, chains, single_slopes
from fluidapp.errors import BadInput, CannotAnswer, FluidappError, OutOfRange
from fluidapp.model import Compartment, LevelPlug, Pour

FEW, MANY = 2.0, 3.0  # z beyond which two pours contradict each other: where there are two, and where there are more (own)


@dataclass(frozen=True, slots=True)
class Point:
    """One reading of a calibration: litres poured so far in its chain, rise of the gauge over the chain's fitted start [mm].

    reading : as it was read, in the gauge's own scale. off_mm : how far it lies over the line. odd : it does not fit the others.
    """

    chain: int
    litres: float
    rise_mm: float
    reading: float
    off_mm: float
    u_mm: float
    odd: bool


@dataclass(frozen=True, slots=True)
class Calibration:
    """What a list of pours says.

    pours_l, u_pours_l : litres per mm of height from the pours alone. other_l, u_other_l : from what else is entered, None where
    nothing is; ``told_by`` says what that is. used_l, u_used_l : what the machine will be calculated with; ``blended`` is False
    where the two contradict each other (|z| > 2): then the pours alone count. named : what does not fit, each a sentence. dof_pours,
    dof_used : degrees of freedom of u_pours_l and u_used_l.
    """

    pours: tuple[Pour, ...]
    pours_l: float
    u_pours_l: float
    told_by: str
    other_l: float | None
    u_other_l: float | None
    used_l: float
    u_used_l: float
    z: float | None
    blended: bool
    named: tuple[str, ...]
    points: tuple[Point, ...]
    litres: float
    gauge: str
    dof_pours: float = math.inf
    dof_used: float = math.inf


def calibrate(compartment: Compartment, pours: Sequence[Pour]) -> Calibration:
    """Litres per mm of ``compartment`` from ``pours``, compared and combined with what else is entered about it.

    compartment : its own stored pours are left out. pours : in their order; a drain has litres below 0.
    OutOfRange for a reading that the gauge cannot show and for a pour larger than the compartment; CannotAnswer where the
    readings do not rise with the pours; BadInput without a pour. Formula: :func:`fluidapp.calc.geometry.pour_fit`, one line for
    each chain of pours; :func:`fluidapp.calc.build.per_mm` for the comparison. Litres are taken as exact.
    """
    if not pours:
        raise BadInput("pours", "none", "Enter at least one pour with the reading before and after it.")
    bare = compartment.model_copy(update={"pours": ()})
    holds = _capacity(bare)
    for i, pour in enumerate(pours):
        _plausible(compartment, pour, i, holds)
    with_pours = compartment.model_copy(update={"pours": tuple(pours)})
    found = chains(compartment, pours)
    _upside_down(compartment, pours, found)
    area, u_area, dof = build.pour_area(with_pours)
    misfits = _misfits(found)
    named = [*misfits, *([] if misfits else _contradictions(found)), *_too_much(bare, pours, holds)]
    if u_area > area / 3.0 and not misfits:
        named.append("Too few litres were poured for this gauge: the litres per mm are known to worse than a third. Pour more.")
    both = _both(with_pours, named)
    return Calibration(
        pours=tuple(pours),
        pours_l=area,
        u_pours_l=u_area,
        told_by=told_by(compartment),
        other_l=both.other_l if both else None,
        u_other_l=both.u_other_l if both else None,
        used_l=both.used_l if both else area,
        u_used_l=both.u_used_l if both else u_area,
        z=both.z if both else None,
        blended=bool(both and both.blended),
        named=tuple(dict.fromkeys(named)),
        points=_points(found, 1.0 / area),
        litres=sum(abs(pour.add) for pour in pours),
        gauge=found[0].gauge,
        dof_pours=dof,
        dof_used=both.dof if both else dof,
    )


def told_by(compartment: Compartment) -> str:
    """What tells the litres per mm beside pours, in words; empty where nothing does."""
    other = build.told(compartment)
    if other is None:
        return ""
    if other.body is not None:
        return "typical shape" if other.source == "typical" else "shape"
    return "table" if other.table else "fill and mark"


def begin_at(compartment: Compartment, gauge: str | None = None) -> float | None:
    """Reading at which to begin, in the gauge's own scale: the low mark; None without marks."""
    scale = compartment.gauge(gauge)
    if not scale.bands:
        return None
    band = scale.bands[0]
    return band.high if isinstance(scale, LevelPlug) else band.low


def pour_to_try(compartment: Compartment, gauge: str | None = None) -> float | None:
    """Litres of one pour such that three stay within the marks and raise the gauge well over its doubt; None where unknown.

    Own rule: a quarter of the litres between the marks and a rise of at least 5 u of one reading, rounded to whole litres (small
    ones to half a litre or 50 mL).
    """
    scale = compartment.gauge(gauge)
    try:
        per = _per_mm(compartment)
    except FluidappError:
        return None
    wide = 0.25 * abs(scale.bands[0].high - scale.bands[0].low) if scale.bands else 0.0
    litres = per * abs(gauges.rise(scale)) * max(wide, 5.0 * gauges.u_reading(scale))
    step = 1.0 if litres >= 5 else 0.5 if litres >= 1 else 0.05
    return max(round(litres / step) * step, 0.05)


def _per_mm(compartment: Compartment) -> float:
    """Litres per mm about the first gauge's marks as known so far."""
    if compartment.pours:
        return build.pour_area(compartment)[0]
    tank = build.tank(compartment)
    curve = tank if isinstance(tank, Curve) else tank.curve()
    at = 0.5 * (curve.low_mm + curve.high_mm)
    return float(curve.area_dm2(at)) / 100.0


def _capacity(bare: Compartment) -> tuple[float, float] | None:
    """Litres to the brim (or to the top of what is known) and their standard uncertainty, without the pours."""
    try:
        capacity = float(build.tank(bare).capacity_l)
        return capacity, build.doubt(bare).rel * capacity
    except FluidappError:
        return None


def _plausible(compartment: Compartment, pour: Pour, i: int, holds: tuple[float, float] | None) -> None:
    scale = compartment.gauge(pour.gauge)
    for name, at in (("before", pour.before), ("after", pour.after)):
        try:
            gauges.on_scale(scale, at)
        except OutOfRange as err:
            fix = "Read again: only readings on the gauge count for a calibration."
            raise OutOfRange(f"Pour {i + 1}, {scale.name} {name} it", at, err.low, err.high, err.unit, fix) from err
    if pour.add == 0:
        raise BadInput(f"Pour {i + 1}", 0.0, "Enter the litres that were poured (below 0 where they were drained).")
    if holds is not None and abs(pour.add) > holds[0] + 2.0 * holds[1]:
        fix = f"That is more than {compartment.label} holds: check the amount."
        raise OutOfRange(f"Pour {i + 1}", abs(pour.add), None, round(holds[0], 1), "L", fix)


def _upside_down(compartment: Compartment, pours: Sequence[Pour], found: Sequence[Chain]) -> None:
    """CannotAnswer for a pour that stands alone and lowered the gauge; in a chain the other readings tell what is wrong."""
    for chain in found:
        pour = pours[chain.numbers[0]]
        if len(chain.numbers) == 1 and not chain.rises_mm[-1] > 0:
            what = f"{pour.add:g} L moved the {chain.gauge} from {pour.before:g} to {pour.after:g}"
            raise CannotAnswer(f"Pour {chain.numbers[0] + 1}", what, "Check whether the readings before and after are swapped.")


def _too_much(bare: Compartment, pours: Sequence[Pour], holds: tuple[float, float] | None) -> list[str]:
    """Whether all pours of a chain together would have run over."""
    if holds is None or bare.body is None:
        return []
    said = []
    for chain in chains(bare, pours):
        try:
            tank = build.tank(bare)
            assert isinstance(tank, Tank)
            start = float(tank.vol(gauges.plane(bare.gauge(chain.gauge), chain.readings[0], gauges.LEVEL), gauges.LEVEL)[0])
        except FluidappError:
            continue
        over = start + chain.litres[-1] - holds[0]
        if over > 2.0 * holds[1]:
            first = chain.numbers[0] + 1
            last = chain.numbers[-1] + 1
            who = f"Pour {first}" if first == last else f"Pours {min(first, last)} to {max(first, last)}"
            said.append(
                f"{who}: {figure.litres(round(chain.litres[-1], 2))} on top of what stood at {chain.readings[0]:g} is "
                f"{figure.litres(round(over, 1))} more than {bare.label} holds: an amount, a reading or the shape is wrong."
            )
    return said


def _misfits(found: Sequence[Chain]) -> list[str]:
    """Readings that do not fit their chain, and two that look exchanged; readings are numbered as on the screen."""
    said = []
    for k, chain in enumerate(found):
        if len(chain.numbers) < 2:
            continue
        where = "" if len(found) == 1 else f"List {k + 1}: "
        said += [f"{where}{remark}" for remark in chain.fit().remarks if "third" not in remark]
    return said


def _contradictions(found: Sequence[Chain]) -> list[str]:
    """Two pours whose rises per litre differ by more than chance, the worst pair.

    z = (b1 - b2) / u; neighbours in a chain share a reading, so u^2 = 2 u1^2/V1^2 + 2 u2^2/V2^2 + 2 u^2/(V1 V2) for them. Own rule:
    |z| > 2 where there are two pours, > 3 where there are more pairs to look at.
    """
    rows = []
    for k, chain in enumerate(found):
        litres = [b - a for a, b in zip(chain.litres, chain.litres[1:], strict=False)]
        for i, ((b, u_b), v) in enumerate(zip(single_slopes(chain), litres, strict=True)):
            rows.append((k, i, chain.numbers[i], b, u_b, v, chain.u_mm))
    limit = FEW if len(rows) == 2 else MANY
    worst: tuple[float, str] | None = None
    for m, (k1, i1, n1, b1, u1, v1, u_mm) in enumerate(rows):
        for k2, i2, n2, b2, u2, v2, _ in rows[m + 1 :]:
            shared = 2.0 * u_mm**2 / (v1 * v2) if k1 == k2 and abs(i1 - i2) == 1 else 0.0
            z = abs(b1 - b2) / (u1**2 + u2**2 + shared) ** 0.5
            if z > limit and (worst is None or z > worst[0]):
                pair = sorted([(n1, b1, v1), (n2, b2, v2)])
                (na, ba, va), (nb, bb, vb) = pair
                text = (
                    f"Pours {na + 1} and {nb + 1} contradict each other: {figure.litres(round(va, 2))} raised the gauge by "
                    f"{ba * va:.0f} mm, {figure.litres(round(vb, 2))} by {bb * vb:.0f} mm. Pour once more to see which one is wrong."
                )
                worst = (z, text)
    return [worst[1]] if worst else []


def _both(with_pours: Compartment, named: list[str]) -> "build.PerMm | None":
    if build.told(with_pours) is None:
        return None
    both = build.per_mm(with_pours)
    if both.remark:
        named.append(
            f"The {told_by(with_pours)} of {with_pours.label} and the pours contradict each other by more than chance: they are not "
            "blended, the pours are used. Check the sizes, the place of the gauge and the amounts."
        )
    return both


def _points(found: Sequence[Chain], rise_per_l: float) -> tuple[Point, ...]:
    """Every reading as a rise over its chain's own start, which is chosen so that its readings lie about one common line."""
    points = []
    for k, chain in enumerate(found):
        odd = set(chain.fit().outliers) if len(chain.numbers) > 1 else set()
        start = sum(h - rise_per_l * v for v, h in zip(chain.litres, chain.rises_mm, strict=True)) / len(chain.litres)
        for i, (v, h, shown) in enumerate(zip(chain.litres, chain.rises_mm, chain.readings, strict=True)):
            points.append(Point(k, v, h - start, shown, h - start - rise_per_l * v, chain.u_mm, i in odd))
    return tuple(points)
