"""Share of hydraulic oil in a gear case: by its level, by its viscosity, by both together."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import gearcase, oil
from fluidapp.calc.gearcase import Rise, Sample
from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Product


def product(nu40=220.0, nu100: float | None = 18.75, source="measured new", family="mineral", label="gear oil"):
    return Product(key="p", label=label, kind="oil", family=family, nu40=nu40, nu100=nu100, nu_source=source)


GEAR, HYD = product(), product(46.0, 6.65, label="hydraulic oil")
GEAR_VG, HYD_VG = product(source="nominal"), product(46.0, 6.65, "nominal", label="hydraulic oil")


# share by level


@given(st.floats(0.01, 5.0), st.floats(1.0, 30.0))
def test_the_share_by_rise_is_what_was_mixed(came, own):
    found = gearcase.by_rise(Rise(came, 1e-3, own))
    assert found.x * (own + came) == pytest.approx(came, rel=1e-12)
    assert found.word == "found"


def test_the_doubt_of_the_rise_agrees_with_random_draws():
    """0.9 ± 0.1 L over 6 ± 0.3 L, drawn 40,000 times; within 3 %."""
    rng = np.random.default_rng(3)
    came, own = 0.9 + 0.1 * rng.standard_normal(40000), 6.0 + 0.3 * rng.standard_normal(40000)
    assert gearcase.by_rise(Rise(0.9, 0.1, 6.0, 0.3)).u == pytest.approx(np.std(came / (own + came)), rel=0.03)


def test_a_rise_is_found_beyond_1_645_u_and_a_fall_gives_no_share():
    assert gearcase.by_rise(Rise(0.165, 0.1, 6.0)).word == "found"
    near = gearcase.by_rise(Rise(0.164, 0.1, 6.0))
    assert near.word == "not detectable"
    assert near.x == pytest.approx(0.164 / 6.164)
    assert gearcase.by_rise(Rise(-0.164, 0.1, 6.0)).x < 0
    fell = gearcase.by_rise(Rise(-0.2, 0.1, 6.0))
    assert (fell.word, fell.x) == ("level fell", None)
    assert "oil left the case" in fell.remarks[0]


def test_what_a_rise_would_miss_is_3_29_u():
    assert gearcase.by_rise(Rise(0.0, 0.1, 6.0)).not_detectable_below == pytest.approx(0.329 / 6.329, rel=0.001)


@pytest.mark.parametrize(
    ("rise", "says"),
    [
        (Rise(-6.0, 0.1, 6.0), "More is missing than was in it"),
        (Rise(0.5, 0.1, 0.0), "own oil of the case"),
        (Rise(0.5, 0.0, 6.0), "No reading is exact"),
        (Rise(math.nan, 0.1, 6.0), "rise of the level"),
        (Rise(0.5, math.nan, 6.0), "doubt of the rise"),
    ],
)
def test_an_impossible_rise_is_refused_and_named(rise, says):
    with pytest.raises(OutOfRange, match=says):
        gearcase.by_rise(rise)


# share by viscosity


@given(st.floats(0.05, 0.9), st.sampled_from([40.0, 60.0, 100.0]))
def test_the_share_by_viscosity_is_what_was_mixed_at_any_one_temperature(x, temp):
    """Against a mixture made at that temperature from the oils' own lines."""
    nus = [float(oil.viscosity_at(*oil.walther(p.nu40, 40.0, p.nu100, 100.0), temp)) for p in (GEAR, HYD)]
    found = gearcase.by_viscosity(Sample(oil.blend_viscosity(nus, [1 - x, x]), temp), GEAR, HYD)
    assert found.x == pytest.approx(x, abs=1e-6)
    assert found.word == "found"


def test_measured_oils_give_a_figure_and_grades_an_interval():
    """180 mm2/s in VG 220 with VG 46: 11.1 %, or 5.2 to 16.6 % from grades, a little wider for the laboratory's own doubt."""
    figure = gearcase.by_viscosity(Sample(180.0), GEAR, HYD)
    assert figure.x == pytest.approx(0.111, abs=0.0006)
    assert figure.u == pytest.approx(oil.u_fraction(220.0, 46.0, 180.0, 0.0025, 0.0025, 0.0025))
    for pair in ((GEAR_VG, HYD_VG), (GEAR_VG, HYD), (GEAR, HYD_VG)):
        band = gearcase.by_viscosity(Sample(180.0), *pair)
        assert band.x is None
        assert band.low < figure.x < band.high
    both = gearcase.by_viscosity(Sample(180.0, r=1e-9), GEAR_VG, HYD_VG)
    assert (both.low, both.high) == pytest.approx((0.052, 0.166), abs=0.0006)
    wider = gearcase.by_viscosity(Sample(180.0), GEAR_VG, HYD_VG)
    assert both.low - 0.004 < wider.low < both.low < both.high < wider.high < both.high + 0.004


def test_at_100_degrees_one_viscosity_of_each_oil_is_enough_and_grades_are_a_band_there_too():
    hot = (product(None, 18.75), product(None, 6.65))
    assert gearcase.by_viscosity(Sample(16.0, 100.0), *hot).x == pytest.approx(oil.blend_fraction(18.75, 6.65, 16.0))
    found = gearcase.by_viscosity(Sample(16.0, 100.0, r=1e-9), *(replace_source(p, "nominal") for p in hot))
    assert found.low == pytest.approx(oil.blend_fraction_open(0.9 * 18.75, 0.9 * 6.65, 16.0), abs=1e-6)
    assert found.high == pytest.approx(oil.blend_fraction_open(1.1 * 18.75, 1.1 * 6.65, 16.0), abs=1e-6)
    assert any("defined at 40 °C" in text for text in found.remarks)


def test_a_data_sheet_is_wider_than_a_measured_drum():
    sheet = gearcase.by_viscosity(Sample(180.0), replace_source(GEAR, "data sheet"), HYD)
    assert sheet.u > 2 * gearcase.by_viscosity(Sample(180.0), GEAR, HYD).u


def replace_source(p, source):
    return p.model_copy(update={"nu_source": source})


def test_from_grades_nothing_is_said_under_about_6_per_cent():
    found = gearcase.by_viscosity(Sample(200.0), GEAR_VG, HYD_VG)
    assert found.word == "not detectable"
    assert found.low < 0 < found.high
    assert found.not_detectable_below == pytest.approx(0.06, abs=0.003)
    assert gearcase.by_viscosity(Sample(200.0), GEAR, HYD).word == "found"


@pytest.mark.parametrize("nu", [260.0, 30.0])
def test_a_viscosity_outside_both_oils_gives_no_share_but_its_reason(nu):
    for pair in ((GEAR, HYD), (GEAR_VG, HYD_VG)):
        found = gearcase.by_viscosity(Sample(nu), *pair)
        assert found.word == "not explained by this mix"
        assert found.x is None
        assert "water, oxidation" in found.reason


def test_a_new_oil_read_a_little_too_thick_is_a_small_negative_share_and_no_finding():
    found = gearcase.by_viscosity(Sample(220.6), GEAR, HYD)
    assert found.word == "not detectable"
    assert -0.01 < found.x < 0


@pytest.mark.parametrize(
    ("own", "other", "sample", "says"),
    [
        (product(nu40=None), HYD, Sample(180.0), "gear oil at 40 °C: its viscosity at 40 °C is not entered"),
        (product(nu100=None), HYD, Sample(60.0, 70.0), "its viscosity at 100 °C is not entered"),
        (product(50.0, 7.0), HYD, Sample(48.0), "cannot tell them apart"),
        (product(50.0, 7.0, "nominal"), HYD, Sample(48.0), "overlap"),
    ],
)
def test_a_share_that_cannot_be_had_comes_with_its_reason(own, other, sample, says):
    found = gearcase.by_viscosity(sample, own, other)
    assert (found.word, found.x, found.low) == ("no figure", None, None)
    assert says in found.reason


def test_impossible_samples_are_refused_and_named():
    for sample in (Sample(0.2), Sample(math.nan), Sample(-5.0)):
        with pytest.raises(BadInput, match="viscosity"):
            gearcase.by_viscosity(sample, GEAR, HYD)
    for r in (0.0, 1.0, math.nan):
        with pytest.raises(OutOfRange, match="doubt of the sample"):
            gearcase.by_viscosity(Sample(180.0, r=r), GEAR, HYD)
    with pytest.raises(OutOfRange, match="oil temperature"):
        gearcase.by_viscosity(Sample(180.0, 900.0), GEAR, HYD)


def test_two_temperatures_that_tell_two_stories_give_no_figure():
    """40 °C as for 11 %, 100 °C as for 11 % or as for 16 %."""
    at_40 = gearcase.by_viscosity(Sample(180.0), GEAR, HYD)
    nu100 = [oil.blend_viscosity([18.75, 6.65], [1 - x, x]) for x in (0.111, 0.16)]
    same, other = (gearcase.by_viscosity(Sample(nu, 100.0), GEAR, HYD) for nu in nu100)
    assert gearcase.two_temperatures(at_40, same) == at_40
    refused = gearcase.two_temperatures(at_40, other)
    assert refused.x is None
    assert "11 % from one temperature and 16 % from the other" in refused.reason


# both together


def test_both_methods_are_averaged_by_their_weights_where_they_agree():
    """0.75 ± 0.05 L over 6 L (11.1 %) and 180 mm2/s (11.1 %): the mean is theirs, and its ± is smaller than each."""
    rise, visc = gearcase.by_rise(Rise(0.70, 0.05, 6.0)), gearcase.by_viscosity(Sample(180.0), GEAR, HYD)
    both = gearcase.combine(rise, visc)
    w = np.array([rise.u, visc.u]) ** -2.0
    assert both.x == pytest.approx(np.average([rise.x, visc.x], weights=w), rel=1e-12)
    assert both.u == pytest.approx(1 / math.sqrt(w.sum()), rel=1e-12)
    assert both.u < min(rise.u, visc.u)
    assert both.agree is True
    assert both.z == pytest.approx((rise.x - visc.x) / math.hypot(rise.u, visc.u))


def test_few_degrees_of_freedom_of_the_rise_count_by_its_weight():
    rise = gearcase.by_rise(Rise(0.70, 0.02, 6.0, dof=4.0))
    visc = gearcase.by_viscosity(Sample(180.0, r=0.02), GEAR, HYD)
    both = gearcase.combine(rise, visc)
    part = both.u**2 / rise.u**2  # weight of the rise
    assert both.dof == pytest.approx(both.u**4 / ((part * rise.u) ** 4 / 4.0), rel=1e-9)
    assert 4.0 < both.dof < math.inf


def test_methods_that_disagree_are_not_averaged_and_the_side_is_named():
    visc = gearcase.by_viscosity(Sample(180.0), GEAR, HYD)
    much = gearcase.combine(gearcase.by_rise(Rise(2.0, 0.05, 6.0)), visc)
    little = gearcase.combine(gearcase.by_rise(Rise(0.1, 0.05, 6.0)), visc)
    assert (much.x, much.agree, little.x, little.agree) == (None, False, None, False)
    assert much.z > 2 > -2 > little.z
    assert "more than the viscosity explains" in much.remarks[0]
    assert "thinner than the rise explains" in little.remarks[0]


def test_the_limit_of_agreement_is_two_u_of_the_difference():
    visc = gearcase.by_viscosity(Sample(180.0), GEAR, HYD)
    rise = gearcase.by_rise(Rise(0.5, 0.05, 6.0))
    for z, agree in ((1.99, True), (2.01, False), (-1.99, True), (-2.01, False)):
        moved = replace(rise, x=visc.x + z * math.hypot(rise.u, visc.u))
        assert gearcase.combine(moved, visc).agree is agree


def test_an_interval_may_agree_or_contradict_but_is_never_averaged():
    band = gearcase.by_viscosity(Sample(180.0), GEAR_VG, HYD_VG)
    inside = gearcase.by_rise(Rise(0.70, 0.05, 6.0))
    agreed = gearcase.combine(inside, band)
    assert (agreed.x, agreed.u, agreed.agree, agreed.used) == (inside.x, inside.u, True, ("level rise",))
    assert gearcase.combine(gearcase.by_rise(Rise(2.0, 0.05, 6.0)), band).agree is False
    assert gearcase.combine(gearcase.by_rise(Rise(0.1, 0.05, 6.0)), band).agree is False
    edge = gearcase.by_rise(Rise(0.30, 0.05, 6.0))
    assert edge.x < band.low
    assert gearcase.combine(edge, band).agree is True
    assert gearcase.combine(None, band).x is None


def test_a_level_above_the_gauge_is_a_bound_and_only_contradicted_from_below():
    at_least = gearcase.by_rise(Rise(0.5, 0.05, 6.0, bound="at least"))
    assert at_least.word == "at least"
    more = gearcase.combine(at_least, gearcase.by_viscosity(Sample(150.0), GEAR, HYD))
    assert more.agree is True
    assert more.x == gearcase.by_viscosity(Sample(150.0), GEAR, HYD).x
    assert gearcase.combine(at_least, gearcase.by_viscosity(Sample(215.0), GEAR, HYD)).agree is False
    alone = gearcase.combine(at_least, None)
    assert (alone.x, alone.bound) == (at_least.x, "at least")
    band = gearcase.combine(at_least, gearcase.by_viscosity(Sample(120.0), GEAR_VG, HYD_VG))
    assert (band.x, band.bound, band.agree) == (at_least.x, "at least", True)
    assert gearcase.combine(at_least, gearcase.by_viscosity(Sample(210.0), GEAR_VG, HYD_VG)).agree is True
    assert gearcase.combine(at_least, gearcase.by_viscosity(Sample(225.0), GEAR_VG, HYD_VG)).agree is False
    assert gearcase.combine(replace(at_least, x=0.2), gearcase.by_viscosity(Sample(215.0), GEAR_VG, HYD_VG)).agree is False


def test_one_method_alone_stands_alone():
    rise = gearcase.by_rise(Rise(0.5, 0.05, 6.0))
    assert gearcase.combine(rise, None).x == rise.x
    outside = gearcase.by_viscosity(Sample(260.0), GEAR, HYD)
    both = gearcase.combine(rise, outside)
    assert (both.x, both.agree) == (rise.x, None)
    assert "No share from viscosity" in both.remarks[0]
