"""The answer for one grease bath, from the model of a machine and what was read."""

import math

import pytest

from fluidapp.calc import between
from fluidapp.calc.bath import Survey, Weighed, area, check, drained_free_oil, mass_share, purge_l
from fluidapp.errors import OutOfRange
from fluidapp.model import Bath

ROUND = (0.0, 90.0, 180.0, 270.0)


def bath(**kwargs):
    return Bath(**({"key": "bath", "label": "grease bath", "outer_mm": 450.0, "inner_mm": 175.0} | kwargs))


def level(mm):
    return Survey((mm,) * 4, ROUND)


def test_area_of_the_annulus_is_0_540_L_per_mm():
    """pi/4 (0.900^2 - 0.350^2) = 0.53996 m2, computed by us; 5 % typical."""
    got = area(bath())
    assert got.l_per_mm == pytest.approx(0.53996, abs=5e-6)
    assert got.u == pytest.approx(0.05 * 0.53996, abs=1e-6)
    assert any("Pinion" in remark for remark in got.remarks)


def test_litres_per_mm_as_entered_win_over_radii():
    assert area(bath(area_l_per_mm=0.5)).l_per_mm == 0.5


def test_a_gear_ring_against_its_wall_uses_the_toothing():
    """Module 10, 90 internal teeth: pitch radius 450 mm, so the free area is near the annulus from the wall to it."""
    gear = {"module": 10.0, "teeth": 90, "internal": True}
    got = area(Bath(key="b", label="b", gear=gear, wall_radius_mm=300.0))
    assert got.l_per_mm == pytest.approx(math.pi * (0.450**2 - 0.300**2), rel=0.02)


def test_repacking_20_mm_of_the_annulus_takes_9_7_kg():
    """10.8 L at 0.90 kg/L, computed by us."""
    got = check(bath(packed_depth_mm=20.0), level(20.0), rho_grease=900.0)
    assert got.put_in_kg == pytest.approx(9.72, abs=5e-3)
    assert got.take_out_l == pytest.approx(10.8, abs=5e-3)
    assert got.take_out_kg == pytest.approx(9.72, abs=5e-3)


def test_without_an_earlier_survey_it_reckons_from_the_depth_as_last_packed():
    got = check(bath(packed_depth_mm=20.0), level(30.0))
    assert got.since == "as last packed"
    assert got.estimate.volume_l == pytest.approx(5.3996, abs=5e-5)
    assert got.estimate.budget[0].name == "depth as last packed"
    assert not got.estimate.budget[0].measured
    assert any("as last packed" in text for text in got.assumed)


def test_an_earlier_survey_of_unknown_share_gives_litres_beside_the_share_since_packed():
    got = check(bath(packed_depth_mm=20.0), level(30.0), level(27.0))
    assert got.since == "as last packed"
    assert got.estimate.volume_l == pytest.approx(5.3996, abs=5e-5)
    assert got.also.volume_l == pytest.approx(3 * 0.53996, abs=5e-5)
    assert got.also.refused


def test_a_clean_earlier_survey_wins_over_the_depth_as_last_packed():
    got = check(bath(packed_depth_mm=20.0), level(30.0), level(22.0), before_clean=True)
    assert got.since == "earlier survey"
    assert got.estimate.volume_l == pytest.approx(8 * 0.53996, abs=5e-5)
    assert got.estimate.u_l < check(bath(packed_depth_mm=20.0), level(30.0)).estimate.u_l


@pytest.mark.parametrize(
    ("before", "reason"),
    [(None, "neither an earlier depth nor the depth as last packed"), (level(22.0), "share of oil at the earlier depth is unknown")],
)
def test_without_a_clean_start_and_a_packed_depth_the_share_is_refused(before, reason):
    got = check(bath(), level(30.0), before)
    assert got.estimate.refused
    assert reason in got.estimate.refused_reason


def test_no_depth_is_refused_and_nothing_is_made_up():
    got = check(bath(packed_depth_mm=20.0), None)
    assert got.estimate.refused_reason == "no depth was read now"
    assert got.take_out_l is None
    assert got.depth == "no verdict"


def test_fewer_facts_widen_the_answer_and_do_not_stop_it():
    wide = check(bath(packed_depth_mm=20.0), Survey((30.0,)))
    narrow = check(bath(packed_depth_mm=20.0), level(30.0))
    assert not wide.estimate.refused
    assert wide.estimate.volume_l == pytest.approx(narrow.estimate.volume_l)
    assert wide.estimate.u_l > narrow.estimate.u_l
    assert "slope" in wide.not_measured


def test_entering_temperatures_shrinks_the_doubt_and_takes_heat_off_the_rise():
    blind = check(bath(packed_depth_mm=20.0), level(30.0))
    seen = check(bath(packed_depth_mm=20.0), level(30.0), temp_before_c=20.0, temp_after_c=60.0)
    assert "temperature of the grease" in blind.not_measured
    assert "temperature of the grease" not in seen.not_measured
    heat = 20 * 0.53996 * 7e-4 * 40  # litres of warm grease, expansion from memory
    assert blind.estimate.volume_l - seen.estimate.volume_l == pytest.approx(heat, rel=1e-4)
    assert seen.estimate.u_l < blind.estimate.u_l


def test_grease_weighed_in_is_no_oil():
    """0.9 kg at 900 kg/m3 is one litre."""
    without = check(bath(packed_depth_mm=20.0), level(30.0), rho_grease=900.0)
    with_it = check(bath(packed_depth_mm=20.0), level(30.0), added=Weighed(0.9, 0.05), rho_grease=900.0)
    assert without.estimate.volume_l - with_it.estimate.volume_l == pytest.approx(1.0)
    assert with_it.estimate.u_l > without.estimate.u_l


def test_ring_grease_that_purged_inwards_counts_as_added():
    """4 x 35 cm3 per 100 h is 1.4 L in 1,000 h, computed by us; anything from none to all of it."""
    half, u = purge_l(35.0, 4, 100.0, 1000.0)
    assert 2 * half == pytest.approx(1.4)
    assert u == pytest.approx(1.4 / math.sqrt(12))
    got = check(bath(packed_depth_mm=20.0), level(30.0), purged_l=(half, u))
    assert got.estimate.volume_l == pytest.approx(5.3996 - 0.7, abs=1e-4)
    assert not any("purged" in text for text in got.assumed)


def test_water_that_was_seen_refuses_the_share_and_says_what_to_do():
    got = check(bath(packed_depth_mm=20.0), level(30.0), water=True)
    assert got.estimate.refused
    assert "water was seen" in got.estimate.refused_reason
    assert any("take all of it out" in remark for remark in got.remarks)
    assert "water" in check(bath(packed_depth_mm=20.0), level(30.0)).not_measured


@pytest.mark.parametrize(
    ("mm", "word"),
    [
        (9.0, "short of grease"),
        (13.0, "at the limit"),
        (27.0, "at the limit"),
        (14.0, "at the limit"),
        (20.0, "within the band"),
        (26.0, "at the limit"),
        (32.0, "too full"),
        (41.0, "over the pinion"),
    ],
)
def test_depth_is_judged_only_against_the_machines_own_band(mm, word):
    assert check(bath(depth_low_mm=14.0, depth_high_mm=26.0, depth_max_mm=40.0), level(mm)).depth == word
    assert check(bath(), level(mm)).depth == "no verdict"


def test_weights_below_zero_are_errors():
    with pytest.raises(OutOfRange):
        Weighed(-1.0)
    with pytest.raises(OutOfRange):
        purge_l(0.0, 4, 100, 1000)


def test_the_answer_carries_its_cautions():
    cautions = " ".join(check(bath(), None).cautions)
    assert "locked" in cautions
    assert "swing radius" in cautions
    assert "safety data sheet" in cautions


@pytest.mark.parametrize("rho", [0.0, -900.0, 0.9, 299.0, 3001.0, math.nan, math.inf])
@pytest.mark.parametrize("name", ["rho_oil", "rho_grease"])
def test_a_density_that_no_oil_or_grease_has_is_refused_by_name(name, rho):
    """A density in kg per litre, a zero or a sign would give litres out of thin air."""
    with pytest.raises(OutOfRange, match=rf"^density of the {name[4:]}: .* kg/m3"):
        check(bath(packed_depth_mm=20.0), level(30.0), added=Weighed(1.0), **{name: rho})


def test_the_limits_of_a_density_are_themselves_allowed():
    for rho in (300.0, 3000.0):
        assert check(bath(packed_depth_mm=20.0), level(30.0), rho_oil=rho, rho_grease=rho).estimate.volume_l > 0


@pytest.mark.parametrize("rho", [0.0, -900.0, 0.9])
def test_no_other_way_to_litres_takes_such_a_density(rho, one):
    now = level(30.0)
    with pytest.raises(OutOfRange, match="density of the grease"):
        between.bath_change(bath(), level(20.0), now, added=Weighed(1.0), rho_grease=rho)
    machine = one(
        machine='grease_points = [{ key = "ring", label = "Ring", kind = "slew race", limit_h = 100.0, dose_g = 30.0, ring = {} }]'
    )
    with pytest.raises(OutOfRange, match="density of the grease"):
        between.ring_purge(machine, 100.0, rho)
    with pytest.raises(OutOfRange, match="density of the grease"):
        mass_share(0.2, 0.03, 880.0, rho)
    with pytest.raises(OutOfRange, match="density of the grease"):
        drained_free_oil((1.0, 0.1), (9.0, 0.5), 880.0, rho)


@pytest.mark.parametrize(("before", "after"), [(None, 9999.0), (9999.0, 30.0)])
def test_a_depth_that_no_bath_has_is_refused_with_its_limit(before, after):
    with pytest.raises(OutOfRange, match=r"depth: 9999 mm is above 180 mm\. So much does not fit into the bath"):
        check(bath(depth_max_mm=60.0), level(after), level(before) if before else None)
