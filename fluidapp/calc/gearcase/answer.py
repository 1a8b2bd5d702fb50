"""The answer for one gear case: how much hydraulic oil is in it, what that made of the oil, keep or change."""

import math
from dataclasses import dataclass, replace

from fluidapp.calc import level, oil, topup
from fluidapp.calc.between import oil_change
from fluidapp.calc.budget import u_ran_out
from fluidapp.calc.cautions import GEAR_CASE
from fluidapp.calc.decision import CLAIM, quadrature
from fluidapp.calc.gearcase import judging
from fluidapp.calc.gearcase.judging import TRAVEL, Change, Limit, Viscosity, Word
from fluidapp.calc.gearcase.shares import (
    R_SOURCE,
    Combined,
    Rise,
    Sample,
    Share,
    band,
    by_rise,
    by_viscosity,
    combine,
    two_temperatures,
    viscosity,
)
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Machine, Product, Reading

FAR = 0.10  # share of the case's own litres beyond which a rise is far above the mark (own limit, editable)


@dataclass(frozen=True, slots=True)
class GearCase:
    """What level and viscosity say about one gear case.

    verdict : "drain and refill", "keep", "keep and check again", "not clear" or "no verdict"; why : the reason, first in words.
    share : both methods together; rise, viscosity : each alone, None where it was not asked. not_detectable_below : the smallest
    share that the better of the methods would have shown. litres, u_litres : of the other oil in the case. change : of the
    viscosity at 40 °C. mix : the mixture's viscosity at 40, at 100 and at the working temperature, as far as it is known.
    """

    verdict: Word
    why: str
    share: Combined
    rise: Share | None
    viscosity: Share | None
    not_detectable_below: float | None
    litres: float | None
    u_litres: float | None
    change: Change | None
    mix: tuple[Viscosity, ...]
    limit: Limit
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = GEAR_CASE


def rise_from(
    machine: Machine,
    key: str,
    now: Reading,
    before: Reading | None = None,
    *,
    poured_l: float = 0.0,
    drained_l: float = 0.0,
    rho15: float | None = None,
) -> Rise:
    """How far the level of a gear case rose, from two readings, or from one and the mark it is filled to.

    before : an earlier reading; None = filled to the target, anywhere between the marks (rectangular, own rule). rho15 : density
    of the gear oil [kg/m3]. poured_l, drained_l : gear oil put in or taken out between the two readings [L], each known to 2 %.
    CannotAnswer for a reading that is only "at most"; else as :func:`fluidapp.calc.level.volume`.
    """
    rho = oil.RHO15_TYPICAL if rho15 is None else rho15
    part = machine.compartment(key)
    if now.bound == "at most":
        raise CannotAnswer(part.label, "below its gauge there is no rise", "Look for where its oil went, and fill it to the mark.")
    if now.ran_out_l is not None and before is None:
        marks = level.marks(part, now.gauge)
        known = "What ran out is counted from the lip; before, the case is taken as filled to its mark."
        return Rise(
            now.ran_out_l + marks.high_l - marks.target_l, u_ran_out(now.ran_out_l), marks.target_l, 0.03 * marks.target_l, remarks=(known,)
        )
    if before is not None:
        if now.bound != "exact":
            raise CannotAnswer(
                part.label, "above its gauge the rise is only a bound", "Leave the earlier reading out, or let it cool and read."
            )
        own = level.volume(machine, key, before, rho15=rho)
        change, _ = oil_change(machine, key, before, now, rho15=rho, poured_l=poured_l, drained_l=drained_l)
        came = change.change_l - poured_l + drained_l
        u, dof = quadrature([(change.u_l, change.dof), (change.u_poured_l, math.inf), (change.u_drained_l, math.inf)])
        return Rise(came, u, own.value_l + poured_l - drained_l, own.u_l, dof)
    if poured_l or drained_l:
        raise CannotAnswer(
            part.label, "what was poured or drained needs a reading before it", "Enter that reading, or leave the litres out."
        )
    shown = level.volume(machine, key, now, rho15=rho)
    marks = level.marks(part, now.gauge, shown.band)
    found = topup.size(shown, marks.target_l)
    u_mark = (marks.high_l - marks.low_l) / math.sqrt(12.0)
    assumed = "No earlier reading: taken as filled to its mark, anywhere between low and high."
    over = found.bound == "at most"
    u_own = found.volume.tank_rel * marks.target_l if found.volume is not None else 0.0
    remarks = (
        assumed,
        *(("Above its gauge: at least this much came in.",) if over else ()),
        *(found.volume.remarks if found.volume else ()),
    )
    return Rise(-found.add_l, math.hypot(found.u_l, u_mark), marks.target_l, u_own, found.dof, "at least" if over else "exact", remarks)


def check(
    own: Product | None,
    other: Product | None,
    *,
    rise: Rise | None = None,
    samples: tuple[Sample, ...] = (),
    limit: Limit = TRAVEL,
    working_c: float | None = None,
    mixed: bool = False,
    water: bool | None = None,
    far: float = FAR,
) -> GearCase:
    """How much of ``other`` (hydraulic oil) is in ``own`` (gear oil), and whether the oil may stay.

    own, other : products as new; None = unknown, which switches every verdict from viscosity off, as ``mixed`` does (an unknown
    product was poured since the last drain). rise : of the level. samples : viscosities of the used oil, one or two, at different
    temperatures. limit : editable. working_c : temperature at which the gear works [°C]. water : milky or not; None = not looked at.
    far : share of the case's own litres beyond which the level stands far above the mark (own limit).

    CannotAnswer with neither rise nor sample; OutOfRange and BadInput for impossible figures. Far above the mark and water always
    say "drain and refill", whatever the viscosity. Rules: common practice, no source, but water (US Army TM 38-301-4, table 2-4:
    change the oil). Limits: guides with their source in the limit. The tool never says that it is safe to go on.

    0.3 ± 0.05 L came into 6 L of a measured VG 220, whose sample has 199 mm2/s at 40 °C:
    >>> gear = Product(key="g", label="gear oil", kind="oil", nu40=220.0, nu100=18.75, nu_source="measured new")
    >>> hyd = Product(key="h", label="hydraulic oil", kind="oil", nu40=46.0, nu100=6.65, nu_source="measured new")
    >>> found = check(gear, hyd, rise=Rise(0.3, 0.05, 6.0), samples=(Sample(199.0),))
    >>> found.verdict, round(100 * found.share.x, 1), round(found.change.percent, 1)
    ('keep', 5.5, -9.5)
    """
    if rise is None and not samples:
        raise CannotAnswer("Gear case", "neither a level nor a viscosity is entered", "Read its stick or plug, or take a sample.")
    if not 0 < far < 1:
        raise OutOfRange("far above the mark", far, 0.0, 1.0, "", "Enter a share of the case's own oil; 10 % is 0.1.", True, True)
    remarks: list[str] = []
    known = own is not None and other is not None and not mixed
    off = None
    if not known or own is None or other is None:
        off = "An unknown oil was poured since the last drain" if mixed else "One of the oils is not known"
        remarks.append(f"{off}: no verdict from viscosity. Take a sample, or drain and refill to start from a known oil.")
    elif missing := judging.mixed_remark(own, other):
        off = missing
        remarks.append(missing)

    risen = by_rise(rise) if rise is not None else None
    seen = None
    if samples and off is None and own is not None and other is not None:
        seen = _sampled(samples, own, other)
    share = combine(risen, seen)
    change: Change | None = None
    mix: tuple[Viscosity, ...] = ()
    if off is None and own is not None and other is not None:
        change = _change(samples, own, other, share)
        mix = _mix(share, own, other, working_c, remarks)
    verdict, why = _verdict(rise, risen, share, change, limit, water, far, off)
    if risen is not None and risen.word in ("found", "at least"):
        remarks.append(
            "A gear case whose level rises is never in order: find the way in (slewing or travel motor seal) before it is filled."
        )
        remarks.append("Never let it down to the mark: the mixture stays.")
    if water is None:
        remarks.append("Water was not looked at: milky oil, or a crackle on a hot plate, means change.")
    if change is not None and off is None:
        remarks.append(f"The limit is a guide, not a rule: {limit.source}.")
    least = [s.not_detectable_below for s in (risen, seen) if s is not None and s.not_detectable_below is not None]
    litres, u_litres = _litres(rise, share)
    return GearCase(
        verdict=verdict,
        why=why,
        share=share,
        rise=risen,
        viscosity=seen,
        not_detectable_below=min(least) if least else None,
        litres=litres,
        u_litres=u_litres,
        change=change,
        mix=mix,
        limit=limit,
        remarks=tuple(dict.fromkeys((*remarks, *share.remarks, *(text for one in mix for text in one.remarks)))),
    )


def _sampled(samples: tuple[Sample, ...], own: Product, other: Product) -> Share:
    if len(samples) > 2 or len({s.temp_c for s in samples}) < len(samples):
        raise CannotAnswer("Samples", "one viscosity each at one or two temperatures is used", "Average repeated figures, or enter one.")
    found = [by_viscosity(sample, own, other) for sample in samples]
    return found[0] if len(found) == 1 else two_temperatures(*found)


def _change(samples: tuple[Sample, ...], own: Product, other: Product, share: Combined) -> Change | None:
    """Measured at 40 °C where there is such a sample, else as the share predicts it."""
    at_40 = next((s for s in samples if s.temp_c == 40.0), None)
    if at_40 is not None and own.nu_source in R_SOURCE:
        return judging.change_measured(at_40.nu, at_40.r, band(own, 40.0), R_SOURCE[own.nu_source])
    if share.x is not None and share.u is not None:
        return judging.change_by_share(share.x, share.u, share.dof, own, other, at_least=share.bound == "at least")
    if at_40 is not None:
        return judging.change_measured(at_40.nu, at_40.r, band(own, 40.0), 0.0)
    return None


def _mix(share: Combined, own: Product, other: Product, working_c: float | None, remarks: list[str]) -> tuple[Viscosity, ...]:
    if share.x is None or share.u is None:
        return ()
    found = []
    for temp in dict.fromkeys((40.0, 100.0, *(() if working_c is None else (working_c,)))):
        try:
            viscosity(own, temp)
            found.append(judging.predicted(share.x, share.u, own, other, temp))
        except CannotAnswer as err:
            remarks.append(f"{err.question} is not shown: {err.reason}.")
    if share.bound == "at least":
        return tuple(replace(one, remarks=(*one.remarks, "At this share or more: the mixture may be thinner.")) for one in found)
    return tuple(found)


def _litres(rise: Rise | None, share: Combined) -> tuple[float | None, float | None]:
    """Litres of the other oil: the rise itself, sharpened where both methods agree; with a sample alone none without the contents."""
    if share.agree is False or rise is None or share.x is None or share.u is None or share.x >= 1:
        return None, None
    if share.used == ("level rise",):
        return rise.litres, rise.u_l
    litres = rise.own_l * share.x / (1 - share.x)
    return litres, math.hypot(rise.own_l * share.u / (1 - share.x) ** 2, litres / rise.own_l * rise.u_own_l)


def _verdict(
    rise: Rise | None,
    risen: Share | None,
    share: Combined,
    change: Change | None,
    limit: Limit,
    water: bool | None,
    far: float,
    off: str | None,
) -> tuple[Word, str]:
    if water:
        return "drain and refill", "Water was seen (US Army TM 38-301-4, table 2-4: change the oil): find where it comes in."
    if rise is not None and rise.litres > max(far * rise.own_l, CLAIM * rise.u_l):
        return "drain and refill", f"The level stands far above its mark, by more than {100 * far:.0f} % of what the case holds."
    if off is not None:
        return "no verdict", off + "."
    if share.agree is False:
        return "not clear", share.remarks[0]
    if change is None:
        if risen is not None and risen.word == "level fell":
            return "no verdict", "The level fell: look for where the gear oil went, and fill it to the mark."
        return "no verdict", share.remarks[0] if share.remarks else "Neither level nor viscosity gives a share."
    word = judging.word(change, limit)
    return word, _because(change, limit, word)


def _because(change: Change, limit: Limit, word: Word) -> str:
    moved = f"{abs(change.percent):.0f} % {'thinner' if change.percent < 0 else 'thicker'}" if change.percent is not None else "changed"
    spread = f"between {change.low:+.0f} and {change.high:+.0f} %"
    against = f"the guide for {limit.label} is {limit.thinner_change:g} % thinner, {limit.thicker_change:g} % thicker"
    end = " A sample would tell." if word == "not clear" and change.how == "from the share" else ""
    return f"At 40 °C the oil is {moved} than new ({spread}); {against}.{end}"
