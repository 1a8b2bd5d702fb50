"""Sentences that the screens, the sheets and the command line share. Text only."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fluidapp import units
from fluidapp.calc import balance, bath, cautions, figure, greasing, level, standing, topup
from fluidapp.calc.ring_picture import coming
from fluidapp.errors import CannotAnswer
from fluidapp.model import Bath, Compartment, GreasePoint, Gun, LevelPlug, Machine, Percent

CAUTIONS: dict[str, tuple[str, tuple[str, ...]]] = {
    "tank": ("Hot oil, pressure: isolate, vent slowly", cautions.TANK),
    "gear case": ("Level ground, isolated, let it cool: a plug may spurt", cautions.GEAR_CASE),
    "slew": ("Slewing arc clear, machine isolated", cautions.SLEW),
}


@dataclass(frozen=True, slots=True)
class Show:
    """The units in which a person wants to see answers; the names are those of :mod:`fluidapp.units`."""

    length: str = "mm"
    volume: str = "L"
    mass: str = "kg"
    temperature: str = "°C"

    def litres(self, value_l: float, u_l: float, dof: float = math.inf) -> str:
        """A volume with its ±, as text."""
        value, u = (float(units.convert("volume", x, "L", self.volume, "volume")) for x in (value_l, u_l))
        return str(figure.figure(value, u, dof, self.volume))

    def plus_minus(self, u_l: float, dof: float = math.inf) -> str:
        """The ± of a volume alone, as text."""
        return figure.figure(0.0, float(units.convert("volume", u_l, "L", self.volume, "volume")), dof, self.volume).plus_minus

    def kilograms(self, value_kg: float, u_kg: float, dof: float = math.inf) -> str:
        """A mass with its ±, as text."""
        value, u = (float(units.convert("mass", x, "kg", self.mass, "mass")) for x in (value_kg, u_kg))
        return str(figure.figure(value, u, dof, self.mass))

    def depth(self, value_mm: float, u_mm: float, dof: float = math.inf) -> str:
        """A length with its ±, as text."""
        value, u = (float(units.convert("length", x, "mm", self.length, "length")) for x in (value_mm, u_mm))
        return str(figure.figure(value, u, dof, self.length))

    def amount(self, value_l: float) -> str:
        """A measured or rounded volume without ±, as text."""
        if self.volume == "L":
            return figure.litres(value_l)
        return f"{float(units.convert('volume', value_l, 'L', self.volume, 'volume')):.2f} {self.volume}"

    def about(self, value_l: float) -> str:
        """A volume by its first three digits, as text: litres at a mark, the size of a tank."""
        return figure.about(float(units.convert("volume", value_l, "L", self.volume, "volume")), self.volume)

    def reading(self, shown: float, unit: str) -> str:
        """A reading in the gauge's own scale; one in mm is shown in the person's unit of length."""
        if unit != "mm":
            return f"{shown:.1f} {unit}"
        return f"{float(units.convert('length', shown, 'mm', self.length, 'length')):.{1 if self.length == 'mm' else 2}f} {self.length}"

    def degrees(self, temp_c: float) -> str:
        """A temperature as text."""
        return f"{float(units.convert('temperature', temp_c, '°C', self.temperature, 'temperature')):.0f} {self.temperature}"


METRIC = Show()


def scale_unit(compartment: Compartment, gauge: str | None) -> str:
    """The unit of a gauge's own scale: mm, or % for a percentage gauge."""
    return "%" if isinstance(compartment.gauge(gauge), Percent) else "mm"


def one_sided(compartment: Compartment, gauge: str | None) -> dict[str, str]:
    """What a reading without a number is called on this gauge, by bound: exact, at most, at least."""
    scale = compartment.gauge(gauge)
    if isinstance(scale, LevelPlug):
        return {"exact": "I measured below the lip", "at most": "not reachable", "at least": "it runs out"}
    low = "dry stick" if scale.kind == "stick" else "below the gauge"
    high = "above the stick" if scale.kind == "stick" else "above the gauge"
    return {"exact": "I have a reading", "at most": low, "at least": high}


def understood(volume: level.Volume, unit: str, show: Show = METRIC) -> str:
    """The reading as it was understood: "125.0 mm on the sight gauge is 95 ± 8 L"."""
    sign = {"exact": "is", "at most": "is at most", "at least": "is at least"}[volume.bound]
    return f"{show.reading(volume.reading_mm, unit)} on the {volume.gauge} {sign} {show.litres(volume.value_l, volume.u_l, volume.dof)}"


def instruction(answer: topup.TopUp, show: Show = METRIC) -> tuple[str, str]:
    """What to do, and the amount with its ±: ("Add", "26 ± 3 L"), ("Drain", ...), ("Add at least", ...)."""
    if answer.bound == "at most":
        return "Add nothing", "read again"
    amount = show.litres(abs(answer.add_l), answer.u_l, answer.dof)
    if answer.bound == "at least":
        return "Add at least", amount
    return ("Add" if answer.add_l >= 0 else "Drain"), amount


def packs(answer: topup.TopUp, show: Show = METRIC) -> str:
    """The amount to pour in containers: "a 20 L pail and 6 L"."""
    return " and ".join(str(pack) if pack.label else show.amount(pack.volume_l) for pack in answer.packs)


def stands(part: Compartment, volume: level.Volume, show: Show = METRIC) -> str:
    """Where the level stands against its marks, as a sentence; "" where no marks are entered or nothing can be told."""
    try:
        found = standing.standing(volume, level.marks(part, volume.gauge, volume.band))
    except CannotAnswer:
        return ""
    match found.where:
        case "above":
            return f"{show.litres(found.off_l, found.u_l, found.dof)} above its upper mark: add nothing."
        case "below":
            return f"{show.litres(found.off_l, found.u_l, found.dof)} below its lower mark."
        case "between":
            return "Between its marks."
        case "not clear":
            return "Whether it stands between its marks cannot be told: sharpen it below."
        case near:
            return f"N{near[1:]}: on which side cannot be told."


def not_measured(volume: level.Volume) -> str | None:
    """The sentence that names what was assumed, or None."""
    if not volume.not_measured:
        return None
    return f"Not measured, so taken as the marks ask and counted in the ±: {', '.join(volume.not_measured)}."


def top_up_lines(machine: Machine, compartment: Compartment, answer: topup.TopUp, show: Show = METRIC) -> list[str]:
    """The answer of a top-up as lines of text."""
    assert answer.volume is not None
    assert answer.marks is not None
    unit = scale_unit(compartment, answer.volume.gauge)
    verb, amount = instruction(answer, show)
    lines = [
        f"{machine.label}, {compartment.label}",
        understood(answer.volume, unit, show),
        f"Target at {show.reading(answer.marks.band.aim_mm, scale_unit(compartment, answer.marks.gauge))} on the {answer.marks.gauge}",
        f"{verb} {amount}",
    ]
    if answer.pour_l > 0:
        lines.append(f"Pour {packs(answer, show)}")
    if answer.after_mm is not None:
        lines.append(f"Expect {show.reading(answer.after_mm, unit)} on the {answer.volume.gauge} when it is in")
    if answer.hot_level_mm is not None:
        lines.append(f"and {show.reading(answer.hot_level_mm, unit)} at {show.degrees(answer.hot_c)}")
    if answer.before_you_pour:
        lines.insert(1, answer.before_you_pour)
    lines += [f"* {remark}" for remark in answer.remarks]
    assumed = not_measured(answer.volume)
    if assumed:
        lines.append(f"* {assumed}")
    lines.append(f"* Largest doubt: {answer.volume.largest.name}. {answer.volume.largest.hint}")
    lines.append(f"* {CAUTIONS['tank'][0]}. The maker's manual and site rules come first.")
    return lines


def balance_words(found: balance.Account) -> tuple[str, str]:
    """What the figure of an oil balance is called, and its verdict in a sentence."""
    if len(found.lines) == 1:
        name = found.lines[0].node
        said = {
            "loss": f"{name} has lost oil.",
            "gain": f"{name} has gained oil.",
            "no clear change": f"No clear change in {name}: within the ± of the readings.",
        }
        return (f"Gone from {name}" if found.unaccounted_l >= 0 else f"Come into {name}"), said[found.verdict]
    if found.unaccounted_l >= 0:
        more = "The balance does not close: more was lost than found."
    else:
        more = "The balance does not close: more was found than lost."
    said = {
        "balanced": "Balanced: what was lost was found again, within the ±.",
        "not clear": "Not clear: too near the limit to say.",
        "does not close": more,
    }
    return ("Not accounted for" if found.unaccounted_l >= 0 else "Found more than lost"), said[found.verdict]


def balance_rows(changes: Sequence[balance.Change], found: balance.Account, show: Show = METRIC) -> list[dict[str, str]]:
    """The table of an oil balance: what each level did, what was poured and drained where anything was, and the word for it."""
    moved = any(c.poured_l or c.drained_l for c in changes)
    rows = []
    for change, line in zip(changes, found.lines, strict=True):
        row = {
            "compartment": change.node,
            "level": f"{'lost' if change.change_l < 0 else 'gained'} {show.litres(abs(change.change_l), change.u_l, change.dof)}",
        }
        if moved:
            amounts = (("poured", change.poured_l, change.u_poured_l), ("drained", change.drained_l, change.u_drained_l))
            row["poured, drained"] = ", ".join(
                f"{name} {show.litres(amount, u) if u else show.amount(amount)}" for name, amount, u in amounts if amount
            )
        rows.append({**row, "by itself": line.word})
    return rows


def bath_lines(found: bath.BathCheck, machine_bath: Bath, show: Show = METRIC) -> list[str]:
    """What a bath's depths say, in sentences: the rise, the depth against the machine's own band, what to take out and pack in."""
    lines = []
    since = {"earlier survey": "the earlier survey", "as last packed": "the depth as last packed"}.get(found.since, "")
    if found.estimate.volume_l is not None:
        word = {
            "clear rise": f"Clear rise over {since}: oil came in.",
            "no clear rise": f"No clear rise over {since}: within the ± of the readings.",
        }
        lines.append(f"**{word[found.estimate.word]}**")
    if found.estimate.w is not None and found.estimate.u is not None:
        share = figure.figure(100.0 * found.estimate.w, 100.0 * found.estimate.u, found.estimate.dof, "%")
        lines.append(f"Share of oil in the grease, by mass: **{share}**.")
    if found.also is not None and found.also.volume_l is not None and found.also.u_l is not None:
        lines.append(f"Since the earlier survey {show.litres(found.also.volume_l, found.also.u_l, found.also.dof_l)} came in.")
    if found.depth_mm is not None and found.u_depth_mm is not None:
        low, high = machine_bath.depth_low_mm, machine_bath.depth_high_mm
        own = f" (own band {show.reading(low, 'mm')} to {show.reading(high, 'mm')})" if low is not None and high is not None else ""
        lines.append(f"Mean depth {show.depth(found.depth_mm, found.u_depth_mm)}: **{found.depth}**{own}.")
    if (
        found.take_out_l is not None
        and found.u_take_out_l is not None
        and found.take_out_kg is not None
        and found.u_take_out_kg is not None
    ):
        out_l = show.litres(found.take_out_l, found.u_take_out_l, found.dof_take_out)
        out_kg = show.kilograms(found.take_out_kg, found.u_take_out_kg, found.dof_take_out)
        text = f"To change it, take out **{out_l}**, {out_kg}"
        if found.put_in_kg is not None and found.u_put_in_kg is not None and found.put_in_mm is not None:
            typical = ", density typical" if any("density of the grease" in line for line in found.assumed) else ""
            in_kg = show.kilograms(found.put_in_kg, found.u_put_in_kg)
            text += f"; pack in **{in_kg}** of clean grease, {show.reading(found.put_in_mm, 'mm')} deep{typical}"
        lines.append(f"{text}.")
    return lines


def next_position(found: greasing.Greasing, point: GreasePoint) -> tuple[str, str]:
    """The position that comes next, as a label and its large words; a long name stands in the label."""
    step, when = coming(found), "Next" if found.steps else "Nothing is due yet; first comes"
    if point.ring is None:
        return when, point.label
    if len(step.name) <= 17:
        return f"{when}: boom over", step.name
    return f"{when}: boom over {step.name}", f"position {step.positions[0] + 1}"


def dose_words(dose: greasing.Dose, gun: Gun | None, point: GreasePoint) -> str:
    """What to give at one nipple: "**23 strokes**, which give 29.9 ± 0.8 g ...", or what is known without a weighed gun."""
    caps = [f"{point.cap_cc:g} cc" if point.cap_cc else "", f"{point.cap_g:g} g" if point.cap_g else ""]
    cap = f"Never over the cap of {' or '.join(c for c in caps if c)}." if any(caps) else ""
    wish = f"Dose {point.dose_g:g} g at each nipple." if point.dose_g else "No dose is entered for this point."
    if dose.given_g is None or dose.u_given_g is None:
        why = "This gun is not weighed: strokes stay strokes." if gun else "Choose the gun to see the strokes."
        return " ".join(t for t in (wish, cap, why) if t)
    given = figure.figure(dose.given_g, dose.u_given_g, dose.dof, "g")
    amount = f"{dose.strokes} strokes" if dose.strokes is not None else f"{dose.seconds:.0f} s"
    seal = "Stop earlier if the seal shows grease." if point.stop_at_seal else ""
    return " ".join(t for t in (f"**{amount}** give {given} at each nipple.", wish.replace(" at each nipple", ""), cap, seal) if t)


def greasing_rows(found: greasing.Greasing, point: GreasePoint) -> list[dict[str, str]]:
    """The table of a greasing round, one row for each position."""
    rows = []
    for p in found.positions:
        since = "no shot on record"
        if p.hours_since is not None and p.days_since is not None:
            since = f"{p.hours_since:.0f} h, {p.days_since:.0f} days"
        rows.append({
            "position": f"{p.number + 1} {p.name} ({p.swing_deg:g}°)" if point.ring else point.label,
            "interval used up": f"{100 * p.lapse:.0f} %, {p.word}",
            "since the last shot": since,
        })  # fmt: skip
    return rows


def greasing_way(point: GreasePoint, found: greasing.Greasing) -> str:
    """Interval, nipples and positions of a point, and where that way of greasing comes from; then the order of the round."""
    said = f"Interval {point.limit_h:g} h or {point.limit_days:g} days, whichever comes first."
    if point.ring is not None:
        nipples, positions = len(point.ring.nipples_deg), point.ring.positions
        preset = next((p for p in greasing.PRESETS if (len(p.nipples_deg), p.positions) == (nipples, positions)), None)
        way = (
            f"{preset.label}: {preset.source}" if preset else f"{nipples} nipples, every {360 / positions:g}°, as entered for this machine"
        )
        said += f" Way: {way}."
        if found.steps:
            said += f" Order of this round: {', '.join(step.name for step in found.steps)}."
        if len(found.steps) > 1:
            said += f" With time for one shot only: {found.one_shot.name}."
        said += f" {100 * found.coverage.share:.0f} % of the ring is within its interval."
    return said
