"""The answer for one grease bath: how much oil came in, what share it is, what to take out and what to put in."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from fluidapp.calc.bath.amounts import Weighed
from fluidapp.calc.bath.areas import Area, area
from fluidapp.calc.bath.estimate import RHO_GREASE, RHO_OIL, U_RHO_GREASE, U_RHO_OIL, Estimate, likely
from fluidapp.calc.bath.rise import level_rise
from fluidapp.calc.bath.survey import Survey, fits
from fluidapp.calc.budget import EXPANSION
from fluidapp.calc.cautions import SLEW
from fluidapp.calc.decision import CLAIM, quadrature
from fluidapp.model import Bath, Doubts

Depth = Literal["short of grease", "within the band", "at the limit", "too full", "over the pinion", "no verdict"]


@dataclass(frozen=True, slots=True)
class BathCheck:
    """What a bath's depths say.

    estimate : the level rise, litres and share, over ``since``. also : the rise since the earlier survey, where that one was not
    a clean start and the share is reckoned from the depth as packed. take_out_l, take_out_kg : all that is in it now;
    put_in_kg : clean grease to ``put_in_mm``, None where neither a packed depth nor a band is known. u_...: standard uncertainties
    with dof infinite, dof_take_out where it is not. depth : a verdict against the machine's own band only.
    assumed, not_measured : what the answer took for granted, and what was not read and widens the ±.
    """

    estimate: Estimate
    since: Literal["earlier survey", "as last packed", "nothing"]
    also: Estimate | None
    area: Area
    depth_mm: float | None
    u_depth_mm: float | None
    depth: Depth
    take_out_l: float | None
    u_take_out_l: float | None
    take_out_kg: float | None
    u_take_out_kg: float | None
    dof_take_out: float
    put_in_mm: float | None
    put_in_kg: float | None
    u_put_in_kg: float | None
    assumed: tuple[str, ...]
    not_measured: tuple[str, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = SLEW


def check(
    bath: Bath,
    after: Survey | None,
    before: Survey | None = None,
    *,
    before_clean: bool | None = None,
    phi_before: float | None = None,
    u_phi_before: float = 0.0,
    added: Weighed | None = None,
    removed: Weighed | None = None,
    purged_l: tuple[float, float] | None = None,
    water: bool | None = None,
    temp_before_c: float | None = None,
    temp_after_c: float | None = None,
    rho_oil: float | None = None,
    rho_grease: float | None = None,
) -> BathCheck:
    """How much oil is in this bath, from its depths now and its depths before, or as last packed.

    bath : the bath of a machine. after : depths now, None = none. before : an earlier survey. before_clean : True where that was
    freshly packed clean grease; phi_before : its volume share of oil where known. Without either, the share is reckoned from
    ``bath.packed_depth_mm`` if there is one. added, removed : grease since that start; purged_l : (litres, u) of ring grease
    that ran inwards, see :func:`fluidapp.calc.bath.purge_l`. water : seen, not seen, None = not looked at. temperatures [°C].
    densities : 300 to 3,000 kg/m3, None = typical. OutOfRange beyond, and for a depth that does not fit into the bath. The level rise and
    its refusals: :func:`fluidapp.calc.bath.level_rise`. Common practice, no source, for all typical values.
    """
    fits(bath, after, before)
    ground = area(bath)
    rho_g, rho_o = likely("density of the grease", rho_grease, RHO_GREASE), likely("density of the oil", rho_oil, RHO_OIL)
    u_rho_g = U_RHO_GREASE if rho_grease is None else 0.005 * rho_g
    u_rho_o = U_RHO_OIL if rho_oil is None else 0.005 * rho_o
    assumed, unread, remarks = _taken_for_granted(after, before, ground, purged_l, water, temp_before_c, temp_after_c, rho_grease, rho_oil)

    added_l, u_added = (added or Weighed()).litres(rho_g)
    removed_l, u_removed = (removed or Weighed()).litres(rho_g)
    purge, u_purge = purged_l or (0.0, 0.0)

    def rise(h1: float | None, u1: float, dof1: float, phi1: float | None) -> Estimate:
        if after is None:
            return level_rise(ground.l_per_mm, h1, None, 1.0)
        warm, u_warm = _heat(ground.l_per_mm * (after.mean_mm if h1 is None else h1), temp_before_c, temp_after_c)
        return level_rise(
            ground.l_per_mm,
            h1,
            after.mean_mm,
            after.u_mm,
            added_l + purge,
            removed_l,
            u_before_mm=u1,
            dof_before=dof1,
            dof_after=after.dof,
            u_area_l_per_mm=ground.u,
            u_added_l=math.hypot(u_added, u_purge),
            u_removed_l=u_removed,
            other_l=warm,
            u_other_l=u_warm,
            phi_before=phi1,
            u_phi_before=u_phi_before,
            water=bool(water),
            rho_oil=rho_o,
            rho_grease=rho_g,
            u_rho_oil=u_rho_o,
            u_rho_grease=u_rho_g,
        )

    packed = bath.packed_depth_mm
    share = 0.0 if before_clean else phi_before
    since: Literal["earlier survey", "as last packed", "nothing"]
    also = None
    if before is not None and (share is not None or packed is None):
        since, estimate = "earlier survey", rise(before.mean_mm, before.u_mm, before.dof, share)
    elif packed is not None:
        since, estimate = "as last packed", rise(packed, bath.u_packed_mm, math.inf, 0.0)
        assumed.append("packed clean, to the depth as last packed, of which the ± is typical unless entered")
        if before is not None:
            also = rise(before.mean_mm, before.u_mm, before.dof, None)
            remarks.append("The earlier survey was not a clean start: the share is reckoned from the depth as last packed.")
    else:
        since, estimate = "nothing", rise(None, 1.0, math.inf, None)
    temperatures = temp_before_c is not None and temp_after_c is not None
    estimate = _marked(estimate, since == "as last packed", temperatures)
    return _result(bath, ground, after, estimate, since, also, rho_o, rho_g, u_rho_g, assumed, unread, remarks)


def _taken_for_granted(
    after: Survey | None,
    before: Survey | None,
    ground: Area,
    purged_l: tuple[float, float] | None,
    water: bool | None,
    temp_before_c: float | None,
    temp_after_c: float | None,
    rho_grease: float | None,
    rho_oil: float | None,
) -> tuple[list[str], list[str], list[str]]:
    assumed = list(dict.fromkeys(text for survey in (after, before) if survey is not None for text in survey.assumed))
    if purged_l is None:
        assumed.append("no ring grease purged inwards")
    if rho_grease is None:
        assumed.append("density of the grease, typical")
    if rho_oil is None:
        assumed.append("density of the oil, typical")
    unread = []
    if water is None:
        unread.append("water")
    if temp_before_c is None or temp_after_c is None:
        unread.append("temperature of the grease")
    if after is not None and not after.balanced:
        unread.append("slope")
    remarks = list(dict.fromkeys(text for survey in (after, before) if survey is not None for text in survey.remarks))
    remarks += ground.remarks
    if water:
        remarks.append("Water was seen: take all of it out, wipe, refill by hand, and find where it comes in.")
    return assumed, unread, remarks


def _heat(volume_l: float, before_c: float | None, after_c: float | None) -> tuple[float, float]:
    """What a warmer bath rises by itself [L], with its standard uncertainty."""
    if before_c is None or after_c is None:
        return 0.0, volume_l * EXPANSION * Doubts().temp_unmeasured_k * math.sqrt(2.0)
    return volume_l * EXPANSION * (after_c - before_c), volume_l * EXPANSION * Doubts().temp_measured_k * math.sqrt(2.0)


def _marked(estimate: Estimate, packed: bool, temperatures: bool) -> Estimate:
    """The budget with its lines named for people, and marked where they rest on something typical."""
    parts = []
    for part in estimate.budget:
        if part.name == "other":
            part = replace(part, name="temperature of the grease", measured=temperatures)
        elif part.name == "depth before" and packed:
            part = replace(part, name="depth as last packed", measured=False, hint="read the depth right after packing")
        parts.append(part)
    return replace(estimate, budget=tuple(parts))


def _verdict(bath: Bath, after: Survey | None) -> Depth:
    if after is None:
        return "no verdict"
    mean, doubt = after.mean_mm, CLAIM * after.u_mm
    if bath.depth_max_mm is not None and max(after.depths_mm) > bath.depth_max_mm:
        return "over the pinion"
    low, high = bath.depth_low_mm, bath.depth_high_mm
    if low is None and high is None:
        return "no verdict"
    if low is not None and mean + doubt < low:
        return "short of grease"
    if high is not None and mean - doubt > high:
        return "too full"
    inside = (low is None or mean - doubt >= low) and (high is None or mean + doubt <= high)
    return "within the band" if inside else "at the limit"


def _result(
    bath: Bath,
    ground: Area,
    after: Survey | None,
    estimate: Estimate,
    since: Literal["earlier survey", "as last packed", "nothing"],
    also: Estimate | None,
    rho_o: float,
    rho_g: float,
    u_rho_g: float,
    assumed: list[str],
    unread: list[str],
    remarks: list[str],
) -> BathCheck:
    out_l = u_out_l = out_kg = u_out_kg = None
    dof_out = math.inf
    if after is not None:
        out_l = ground.l_per_mm * after.mean_mm
        u_out_l, dof_out = quadrature([(ground.l_per_mm * after.u_mm, after.dof), (after.mean_mm * ground.u, math.inf)])
        phi = min(1.0, max(0.0, estimate.phi or 0.0))
        rho = phi * rho_o + (1.0 - phi) * rho_g
        out_kg = out_l * rho / 1e3
        u_out_kg = math.hypot(u_out_l * rho, out_l * u_rho_g) / 1e3
    to_mm = bath.packed_depth_mm
    if to_mm is None and bath.depth_low_mm is not None and bath.depth_high_mm is not None:
        to_mm = (bath.depth_low_mm + bath.depth_high_mm) / 2.0
    in_kg = u_in_kg = None
    if to_mm is not None:
        in_kg = ground.l_per_mm * to_mm * rho_g / 1e3
        u_in_kg = math.hypot(ground.u * to_mm * rho_g, ground.l_per_mm * to_mm * u_rho_g) / 1e3
    verdict = _verdict(bath, after)
    if verdict == "over the pinion":
        remarks.append("Grease stands over the top of the pinion: remove it, and check the gearbox oil for grease.")
    if verdict == "no verdict" and after is not None:
        remarks.append(
            "No depth band is entered for this bath, so only litres are given. The band is the machine's own, from its own datum."
        )
    if estimate.word == "clear rise":
        remarks.append("Check the gearbox level and its lower seal, and sample the gear oil, before anything is poured.")
    return BathCheck(
        estimate=estimate,
        since=since,
        also=also,
        area=ground,
        depth_mm=None if after is None else after.mean_mm,
        u_depth_mm=None if after is None else after.u_mm,
        depth=verdict,
        take_out_l=out_l,
        u_take_out_l=u_out_l,
        take_out_kg=out_kg,
        u_take_out_kg=u_out_kg,
        dof_take_out=dof_out,
        put_in_mm=to_mm,
        put_in_kg=in_kg,
        u_put_in_kg=u_in_kg,
        assumed=tuple(assumed),
        not_measured=tuple(unread),
        remarks=tuple(dict.fromkeys((*remarks, *estimate.remarks))),
    )
