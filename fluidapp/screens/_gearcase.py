"""The inputs of the Gear case: the level and what to compare it with, behind it the laboratory's figures and the limit."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import streamlit as st

from fluidapp.calc import gearcase
from fluidapp.calc.figure import figure
from fluidapp.errors import BadInput
from fluidapp.model import Compartment, Machine, Product, Reading
from fluidapp.screens import _past, _pour, _reading, _resources, _state
from fluidapp.screens.words import Show

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

KINDS = ("slewing gearbox", "final drive", "pump-drive case", "gear case")
AT_MARK = "filled to its mark"


@dataclass(frozen=True, slots=True)
class Asked:
    """What was entered, and the answer that follows; ``found`` is None while nothing is entered."""

    reading: Reading | None
    found: gearcase.GearCase | None
    own: Product | None
    other: Product | None
    asked: _reading.Asked | None


def ask(machine: Machine, part: Compartment, asked_at: "DeltaGenerator", more_at: "DeltaGenerator", fold_at: "DeltaGenerator") -> Asked:
    """Draws the inputs and asks the calculation. Raises what it refuses."""
    key = f"gearcase_{machine.key}_{part.key}"
    typed = None
    if part.gauges:
        with asked_at:
            typed = _reading.ask(machine, part, "gearcase", fold_at)
    reading = typed.reading if typed else None
    own, other = _resources.product(part.product), _hydraulic(machine)
    with more_at:
        rise = _rise(machine, part, reading, key)
        water = st.segmented_control("Milky?", ["milky", "not milky"], key=f"{key}_water", persist_state="session")
    with fold_at:
        own, other, samples = _lab(own, other, key)
        limit, working_c = _limit(key)
    if rise is None and not samples:
        return Asked(reading, None, own, other, typed)
    state = _pour.mixed(machine, part)
    found = gearcase.check(
        own, other, rise=rise, samples=samples, limit=limit, working_c=working_c, mixed=state.mixed,
        water=None if water is None else water == "milky",
    )  # fmt: skip
    return Asked(reading, found, own, other, typed)


def _hydraulic(machine: Machine) -> Product | None:
    tank = next((c for c in machine.compartments if c.kind == "hydraulic tank"), None)
    return _resources.product(tank.product) if tank else None


def _rise(machine: Machine, part: Compartment, reading: Reading | None, key: str) -> gearcase.Rise | None:
    """How far the level rose: from an earlier reading, or from the mark."""
    product = _resources.product(part.product)
    rho15 = product.rho15 if product else None
    stored = {str(past): past for past in (_past.readings(machine, part.key, None, 6) if part.gauges else [])}
    choices = [AT_MARK, *stored]
    if st.session_state.get(f"{key}_before") not in choices:
        st.session_state[f"{key}_before"] = AT_MARK
    choice = st.selectbox("Compare with", choices, key=f"{key}_before", persist_state="session") if part.gauges else AT_MARK
    if reading is None:
        return None
    if choice not in stored:
        return gearcase.rise_from(machine, part.key, reading, rho15=rho15)
    moved = _past.moved(machine, part.key, stored[choice])
    return gearcase.rise_from(
        machine, part.key, reading, stored[choice].doc.reading(), poured_l=moved.in_l, drained_l=moved.out_l, rho15=rho15
    )


def _lab(own: Product | None, other: Product | None, key: str) -> tuple[Product | None, Product | None, tuple[gearcase.Sample, ...]]:
    """Viscosities that a laboratory reported: of the used oil, and of both oils as new."""
    with st.expander("I have a lab report: viscosity (mm²/s)"):
        st.caption("One figure at 40 °C is enough. New oils measured too make a figure out of an interval.")
        figures = {}
        for who, label in (("used", "Used oil"), ("own", "Gear oil, new"), ("other", "Hydraulic, new")):
            with st.container(horizontal=True, gap="small"):
                places = [st.container(width=146) for _ in range(2)]
            for place, temp in zip(places, (40, 100), strict=True):
                with place:
                    figures[who, temp] = _state.number_box(f"{label}, {temp} °C", f"{key}_{who}_{temp}")
        told = [p for p in (_as_new(own, figures, "own"), _as_new(other, figures, "other")) if p is not None]
        st.caption(" ".join(f"{p.label}: taken as {p.nu_source}." for p in told))
    samples = tuple(gearcase.Sample(nu, float(temp)) for temp in (40, 100) if (nu := figures["used", temp]) is not None)
    return _as_new(own, figures, "own"), _as_new(other, figures, "other"), samples


def _as_new(product: Product | None, figures: dict[tuple[str, int], float | None], who: str) -> Product | None:
    nu40, nu100 = figures[who, 40], figures[who, 100]
    if product is None or (nu40 is None and nu100 is None):
        return product
    for nu in (nu40, nu100):
        if nu is not None and nu <= 0:
            raise BadInput(f"{product.label}, viscosity", nu, "It must be above 0 mm²/s.")
    if nu40 is None:
        raise BadInput(f"{product.label}, 40 °C", "not entered", "Enter its viscosity at 40 °C too.")
    if nu100 is not None and nu100 >= nu40:
        raise BadInput(f"{product.label}, 100 °C", nu100, f"Oil is thinner when hot: it must be below {nu40:g} mm²/s.")
    return product.model_copy(update={"nu40": nu40, "nu100": nu100, "nu_source": "measured new"})


def _limit(key: str) -> tuple[gearcase.Limit, float | None]:
    guides = {g.label: g for g in gearcase.GUIDES}
    with st.expander("Limit, working temperature"):
        name = st.selectbox("Guide for", list(guides), key=f"{key}_guide", persist_state="session") or gearcase.TRAVEL.label
        guide = guides[name]
        st.caption(
            f"Change at {guide.thinner_change:g} % thinner or {guide.thicker_change:g} % thicker ({guide.source}). A guide, no rule."
        )
        thinner = _state.number_box("Own limit, thinner (%)", f"{key}_thinner")
        thicker = _state.number_box("Own limit, thicker (%)", f"{key}_thicker")
        working_c = _state.box("Working temperature of the gears", f"{key}_working", "temperature")
    if thinner is None and thicker is None:
        return guide, working_c
    own = gearcase.Limit(
        "your own limit", guide.thinner_change if thinner is None else thinner, guide.thicker_change if thicker is None else thicker
    )
    return own, working_c


def share_words(found: gearcase.GearCase) -> tuple[str, str]:
    """What the large figure is called, and the figure: a share ±, an interval, a bound, or that nothing was detected."""
    share = found.share
    told = found.rise if found.rise is not None and found.rise.word != "level fell" else found.viscosity
    seen = found.viscosity
    if share.x is not None and share.u is not None:
        word = told.word if told is not None and len(share.used) == 1 else "found"
        if word == "not detectable" and found.not_detectable_below is not None:
            return "Hydraulic oil in it, not detectable", f"below {100 * found.not_detectable_below:.0f} %"
        text = str(figure(100 * share.x, 100 * share.u, share.dof, "%"))
        return "Hydraulic oil in it", f"at least {text.partition(' ±')[0]} %" if share.bound == "at least" else text
    if seen is not None and seen.low is not None and seen.high is not None and share.agree is not False:
        return "Hydraulic oil in it", f"{max(100 * seen.low, 0):.0f} to {100 * seen.high:.0f} %"
    return "Hydraulic oil in it", "no figure"


def lines(found: gearcase.GearCase, show: Show) -> list[str]:
    """Keep or change, why, and how many litres that is."""
    said = [f"**{found.verdict[:1].upper()}{found.verdict[1:]}.** {found.why}"]
    if found.litres is not None and found.u_litres is not None and found.litres > 0:
        more = "At least " if found.share.bound == "at least" else "That is "
        said.append(f"{more}{show.litres(found.litres, found.u_litres, found.share.dof)} of it.")
    return said


def rows(found: gearcase.GearCase) -> list[dict[str, str]]:
    """The table of viscosities: as new, and as the share makes it."""
    return [
        {
            "at": f"{one.temp_c:g} °C",
            "new, mm²/s": f"{one.new:.3g}",
            "mixed, mm²/s": str(figure(one.nu, one.u, unit="")),
            "change": f"{100 * (one.nu / one.new - 1):+.0f} %",
        }
        for one in found.mix
    ]
