"""Which marks count: a gauge may have several, for cold and for hot oil, or for another posture."""

import math
from dataclasses import dataclass

from fluidapp.calc.gauge import AnyGauge
from fluidapp.model import Band, Compartment, Reading


@dataclass(frozen=True, slots=True)
class Meant:
    """The marks that a reading is taken by, None without any, and the others that could have been meant.

    other_posture : the marks hold for a posture that is not the reference posture. reason : why these, in words; "" without a choice.
    """

    band: Band | None
    others: tuple[Band, ...] = ()
    other_posture: bool = False
    reason: str = ""

    @property
    def others_c(self) -> tuple[float, ...]:
        """Oil temperatures for which the other marks hold [°C], as far as they are known."""
        return tuple(band.mark_c for band in self.others if band.mark_c is not None)


def marked(compartment: Compartment, gauge_name: str | None = None) -> AnyGauge | None:
    """The gauge of that name (or the first), or where it has no marks the first one that has some; None where none has."""
    own = compartment.gauge(gauge_name)
    return next((g for g in (own, *compartment.gauges) if g.bands), None)


def meant(compartment: Compartment, gauge_name: str | None = None, reading: Reading | None = None) -> Meant:
    """The marks that count for ``reading``, or without one those of the machine's own convention, which are the first.

    Marks of another posture count only for a reading in another posture whose rods were not measured. Among the rest those whose
    range of oil temperature holds the reading's, or is nearest to it; without a temperature the first. Own rule.
    """
    scale = marked(compartment, gauge_name)
    if scale is None:
        return Meant(None)
    usual = tuple(band for band in scale.bands if band.reference)
    unusual = tuple(band for band in scale.bands if not band.reference)
    elsewhere = bool(usual) and reading is not None and reading.posture == "other" and not reading.shown_mm and bool(unusual)
    choice = unusual if elsewhere else usual or unusual
    temp_c = reading.temp_c if reading is not None else None
    band = choice[0] if temp_c is None else min(choice, key=lambda b: _away_k(b, temp_c))
    others = tuple(b for b in choice if b is not band)
    return Meant(band, others, elsewhere, _reason(band, others, elsewhere, temp_c))


def _away_k(band: Band, temp_c: float) -> tuple[float, float]:
    """How far ``temp_c`` lies outside the range of ``band`` [K], then how far from its middle; marks without a range come last."""
    if band.temp_low_c is None and band.temp_high_c is None:
        return math.inf, math.inf
    low = -math.inf if band.temp_low_c is None else band.temp_low_c
    high = math.inf if band.temp_high_c is None else band.temp_high_c
    return max(low - temp_c, temp_c - high, 0.0), math.inf if band.mark_c is None else abs(band.mark_c - temp_c)


def _reason(band: Band, others: tuple[Band, ...], elsewhere: bool, temp_c: float | None) -> str:
    if not others and not elsewhere:
        return ""
    why = [f"which hold for: {band.posture}"] if elsewhere else []
    if others and temp_c is None:
        why.append("since no oil temperature is entered; the ± reaches to the other marks")
    elif others and temp_c is not None:
        inside = _away_k(band, temp_c)[0] == 0
        why.append(f"since the oil has {temp_c:g} °C" if inside else f"which are the nearest to the oil's {temp_c:g} °C")
    return f"Taken by {words(band)}, {', '.join(why)}."


def words(band: Band) -> str:
    """The marks in words: "the hot marks (50 to 80 °C)"."""
    name = f"the {band.label} marks" if band.label else f"the marks from {band.low:g} to {band.high:g}"
    if band.temp_low_c is None or band.temp_high_c is None:
        return name
    return f"{name} ({band.temp_low_c:g} to {band.temp_high_c:g} °C)"
