"""Oil that came into the bath, from two depths: values, doubts, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc.bath import level_rise, mass_share
from fluidapp.errors import BadInput, OutOfRange


@pytest.mark.published("bath", "rise")
def test_litres_and_their_doubt_agree_with_the_value_by_hand(case):
    g = case["given"]
    got = level_rise(
        g["area"],
        g["before"],
        g["after"],
        g["u_mm"],
        g.get("added", 0.0),
        u_added_l=g.get("u_added", 0.0),
        u_area_l_per_mm=g["area"] * g.get("u_area_percent", 0.0) / 100.0,
    )
    assert got.volume_l == pytest.approx(case["want"]["volume_l"], abs=case["tol"]["volume_l"], rel=0)
    assert got.u_l == pytest.approx(case["want"]["u_l"], abs=case["tol"]["u_l"], rel=0)


CASES = {
    "clean start, grease added": {"before": 20.0, "after": 30.0, "added": 0.5},
    "clean start, grease removed of known share": {"before": 25.0, "after": 30.0, "removed": 2.0, "phi_removed": 0.05},
    "much removed, area little known": {"before": 25.0, "after": 30.0, "removed": 6.0, "phi_removed": 0.6, "u_a": 0.03},
    "some oil in it before": {"before": 22.0, "after": 29.0, "added": 0.3, "removed": 0.4, "phi_before": 0.10, "phi_removed": 0.2},
}


@pytest.mark.parametrize("name", CASES)
def test_doubts_agree_with_monte_carlo(name):
    """JCGM 101 way: draw every input, compute, look at the spread. 400,000 draws, so 0.5 % is some four standard errors."""
    c = {"added": 0.0, "removed": 0.0, "phi_before": 0.0, "phi_removed": 0.0} | CASES[name]
    u = {"a": c.get("u_a", 0.01), "h": 0.3, "added": 0.05, "removed": 0.06, "phi_before": 0.01}
    got = level_rise(
        0.54,
        c["before"],
        c["after"],
        u["h"],
        c["added"],
        c["removed"],
        u_area_l_per_mm=u["a"],
        u_added_l=u["added"],
        u_removed_l=u["removed"],
        phi_before=c["phi_before"],
        u_phi_before=u["phi_before"],
        phi_removed=c["phi_removed"],
        u_rho_oil=0.0,
        u_rho_grease=0.0,
    )
    rng = np.random.default_rng(7)

    def draw(mean, sd):
        return rng.normal(mean, sd, 400_000)

    a, h1, h2 = draw(0.54, u["a"]), draw(c["before"], u["h"]), draw(c["after"], u["h"])
    added, removed, phi1 = draw(c["added"], u["added"]), draw(c["removed"], u["removed"]), draw(c["phi_before"], u["phi_before"])
    v_in = a * (h2 - h1) - added + removed
    phi = (phi1 * a * h1 + v_in - c["phi_removed"] * removed) / (a * h2)
    mass = phi * 880.0 / (phi * 880.0 + (1 - phi) * 900.0)
    assert got.volume_l == pytest.approx(v_in.mean(), rel=5e-3)
    assert got.u_l == pytest.approx(v_in.std(), rel=5e-3)
    assert got.phi == pytest.approx(phi.mean(), abs=5e-4)
    assert got.u_phi == pytest.approx(phi.std(), rel=5e-3)
    assert got.w == pytest.approx(mass.mean(), abs=5e-4)
    assert got.u == pytest.approx(mass.std(), rel=5e-3)


def test_densities_doubt_the_mass_share_too():
    """Monte Carlo of both densities alone; own seed."""
    _, u = mass_share(0.3, 0.0, 880.0, 900.0, 15.0, 30.0)
    rng = np.random.default_rng(8)
    ro, rg = rng.normal(880, 15, 400_000), rng.normal(900, 30, 400_000)
    assert u == pytest.approx((0.3 * ro / (0.3 * ro + 0.7 * rg)).std(), rel=1e-2)


@given(
    h1=st.floats(5, 50),
    clean=st.floats(0, 5),
    oil=st.floats(0, 5),
    out=st.floats(0, 2),
    share_out=st.floats(0, 0.2),
    share_before=st.floats(0, 0.3),
)
def test_the_oil_that_was_put_in_comes_back_out_of_the_depths(h1, clean, oil, out, share_out, share_before):
    """Round trip: known amounts make a depth, the depth gives the amounts."""
    a = 0.5
    h2 = h1 + (clean + oil - out) / a
    if h2 <= 0.5:
        return
    got = level_rise(a, h1, h2, 1.0, clean, out, phi_before=share_before, phi_removed=share_out)
    assert got.volume_l == pytest.approx(oil, abs=1e-9)
    if not got.refused:
        assert got.phi * a * h2 == pytest.approx(share_before * a * h1 + oil - share_out * out, abs=1e-9)


def test_what_was_removed_without_a_known_share_is_taken_half_way_between_then_and_now():
    got = level_rise(0.5, 20.0, 24.0, 1.0, 0.0, 1.0)
    again = level_rise(0.5, 20.0, 24.0, 1.0, 0.0, 1.0, phi_removed=got.phi / 2)
    assert got.phi == pytest.approx(again.phi, abs=1e-12)
    assert got.u_phi > again.u_phi


def test_a_small_or_negative_rise_is_worded_and_its_value_stays():
    small = level_rise(0.54, 20.0, 21.0, 2.0)
    assert small.word == "no clear rise"
    assert small.volume_l == pytest.approx(0.54)
    assert small.w > 0
    fallen = level_rise(0.54, 30.0, 20.0, 1.0)
    assert fallen.word == "no clear rise"
    assert fallen.volume_l == pytest.approx(-5.4)
    assert fallen.w < 0
    assert any("gearbox stick" in remark for remark in fallen.remarks)


def test_a_rise_is_claimed_only_above_1_645_u():
    u = 0.54 * math.sqrt(2)  # 1 mm on both depths
    assert level_rise(0.54, 20.0, 20.0 + 1.644 * u / 0.54, 1.0).word == "no clear rise"
    assert level_rise(0.54, 20.0, 20.0 + 1.646 * u / 0.54, 1.0).word == "clear rise"


@pytest.mark.parametrize(
    ("kwargs", "reason"),
    [
        ({"after_mm": None}, "no depth was read now"),
        ({"before_mm": None}, "neither an earlier depth nor the depth as last packed"),
        ({"phi_before": None}, "the share of oil at the earlier depth is unknown"),
        ({"water": True}, "water was seen"),
        ({"after_mm": 0.0}, "empty"),
        ({"removed_l": 30.0, "phi_removed": 0.0}, "more oil than the bath holds"),
    ],
)
def test_it_refuses_with_its_reason(kwargs, reason):
    got = level_rise(**({"area_l_per_mm": 0.54, "before_mm": 20.0, "after_mm": 30.0, "u_mm": 1.0} | kwargs))
    assert got.refused
    assert got.u is None
    assert reason in got.refused_reason


def test_litres_stand_although_the_share_is_refused():
    got = level_rise(0.54, 20.0, 30.0, 1.0, phi_before=None)
    assert got.volume_l == pytest.approx(5.4)
    assert got.u_l == pytest.approx(0.54 * math.sqrt(2))


@pytest.mark.parametrize(
    "kwargs",
    [
        {"area_l_per_mm": 0.0},
        {"area_l_per_mm": math.nan},
        {"u_mm": 0.0},
        {"before_mm": -1.0},
        {"after_mm": math.inf},
        {"added_l": -0.1},
        {"removed_l": math.nan},
        {"u_added_l": -1.0},
        {"phi_before": 1.5},
        {"rho_oil": 0.0},
    ],
)
def test_what_cannot_be_is_an_error(kwargs):
    with pytest.raises(OutOfRange):
        level_rise(**({"area_l_per_mm": 0.54, "before_mm": 20.0, "after_mm": 30.0, "u_mm": 1.0} | kwargs))


def test_an_empty_list_of_depths_is_an_error():
    with pytest.raises(BadInput):
        level_rise(0.54, [], [30.0], 1.0)


def test_degrees_of_freedom_shrink_where_a_depth_brings_few():
    got = level_rise(0.54, 20.0, 30.0, 1.0, dof_after=3.0)
    assert got.dof_l == pytest.approx(12.0)  # u^4 / (u2^4 / 3) with two equal parts: 4 * 3
