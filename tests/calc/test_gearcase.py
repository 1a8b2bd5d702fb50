"""Gear case: share by level and by viscosity, both together, what it made of the oil, keep or change."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import gearcase, level, oil
from fluidapp.calc.gearcase import Limit, Rise, Sample
from fluidapp.calc.gearcase.judging import Change, change_by_share, change_measured, predicted, word
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Product, Reading


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


# what became of the oil


@pytest.mark.published("oil_blends", "drop")
def test_the_change_of_viscosity_of_a_share_is_what_the_grade_table_says(case):
    """The share is given to 0.1 %, which is up to 0.25 points of viscosity."""
    g = case["given"]
    own, other = product(g["base"], None), product(g["cont"], None)
    for x, change in zip(case["want"], g["change"], strict=True):
        assert change_by_share(x / 100, 1e-6, math.inf, own, other).percent == pytest.approx(change, abs=0.25)


@given(st.floats(0.0, 1.0), st.floats(-10, 130))
def test_the_mixture_has_its_own_line(x, temp):
    """Against blending at that very temperature from each oil's own line: the same, since both are straight in the same figures."""
    nus = [float(oil.viscosity_at(*oil.walther(p.nu40, 40.0, p.nu100, 100.0), temp)) for p in (GEAR, HYD)]
    found = predicted(x, 0.01, GEAR, HYD, temp)
    assert found.nu == pytest.approx(oil.blend_viscosity(nus, [1 - x, x]), rel=1e-9)
    assert found.new == pytest.approx(nus[0])


def test_the_doubt_of_a_predicted_viscosity_agrees_with_random_draws():
    """Share 0.1 ± 0.02, both oils drawn with 0.25 %, at 60 °C; within 3 %."""
    rng = np.random.default_rng(5)
    x = 0.1 + 0.02 * rng.standard_normal(20000)
    own, other = (np.exp(0.0025 * rng.standard_normal(20000)) for _ in range(2))
    nu40, nu100 = (oil.blend_viscosity(np.stack([a * own, b * other]), np.stack([1 - x, x])) for a, b in ((220.0, 46.0), (18.75, 6.65)))
    drawn = oil.viscosity_at(*oil.walther(nu40, 40.0, nu100, 100.0), 60.0)
    assert predicted(0.1, 0.02, GEAR, HYD, 60.0).u == pytest.approx(np.std(drawn), rel=0.03)


def test_grades_widen_a_predicted_viscosity_but_hardly_its_change():
    assert predicted(0.1, 0.001, GEAR_VG, HYD_VG, 40.0).u > 8 * predicted(0.1, 0.001, GEAR, HYD, 40.0).u
    change = change_by_share(0.1, 0.001, math.inf, GEAR_VG, HYD_VG)
    assert change.high - change.low < 4.0
    assert change.low < change.percent < change.high


@pytest.mark.parametrize(("pair", "r", "within"), [((GEAR, HYD), 0.0025, 0.01), ((GEAR_VG, HYD_VG), 0.1 / math.sqrt(3), 0.02)])
@pytest.mark.parametrize("u_x", [0.02, 0.002])
def test_the_change_has_one_sided_95_per_cent_limits(pair, r, within, u_x):
    """Share 0.1 ± u_x and both oils drawn 20,000 times: 5 % lie below the lower limit and 5 % above the upper one, nearly."""
    rng = np.random.default_rng(11)
    n = 20000
    x = np.clip(0.1 + u_x * rng.standard_normal(n), 0, 1)
    own, other = (1 + r * rng.standard_normal(n) for _ in range(2))
    drawn = 100 * (oil.blend_viscosity(np.stack([220 * own, 46 * other]), np.stack([1 - x, x])) / (220 * own) - 1)
    change = change_by_share(0.1, u_x, math.inf, *pair)
    assert np.mean(drawn < change.low) == pytest.approx(0.05, abs=within)
    assert np.mean(drawn > change.high) == pytest.approx(0.05, abs=within)


def test_a_measured_change_has_the_doubt_of_both_viscosities():
    found = change_measured(187.0, 0.01, (220.0, 220.0), 0.02)
    assert found.percent == pytest.approx(-15.0)
    assert found.high - found.percent == pytest.approx(100 * 1.645 * 0.85 * math.hypot(0.01, 0.02), rel=0.001)
    grade = change_measured(187.0, 1e-9, (198.0, 242.0), 0.0)
    assert grade.percent is None
    assert (grade.low, grade.high) == pytest.approx((100 * (187 / 242 - 1), 100 * (187 / 198 - 1)))


@pytest.mark.parametrize(
    ("low", "high", "limit", "says"),
    [
        (-20.0, -15.1, gearcase.TRAVEL, "drain and refill"),
        (-20.0, -14.9, gearcase.TRAVEL, "not clear"),
        (-14.9, -5.0, gearcase.TRAVEL, "keep"),
        (-9.0, -6.0, gearcase.INDUSTRIAL, "keep and check again"),
        (-9.0, -3.0, gearcase.INDUSTRIAL, "keep and check again"),
        (-4.9, 0.0, gearcase.INDUSTRIAL, "keep"),
        (10.1, 12.0, gearcase.INDUSTRIAL, "drain and refill"),
        (9.0, 12.0, gearcase.INDUSTRIAL, "not clear"),
        (5.0, 7.0, gearcase.SEVERE, "keep and check again"),
        (8.1, 9.0, gearcase.SEVERE, "drain and refill"),
        (-9.0, -8.0, gearcase.SEVERE, "keep"),
        (-25.0, 20.0, gearcase.TRAVEL, "not clear"),
    ],
)
def test_the_word_follows_the_whole_range_against_the_limit(low, high, limit, says):
    assert word(Change(low, high, None, "measured"), limit) == says


@pytest.mark.parametrize("fields", [(0.0, 15.0), (100.0, 15.0), (math.nan, 15.0), (15.0, -1.0), (15.0, 15.0, 16.0)])
def test_an_impossible_limit_is_refused(fields):
    with pytest.raises(OutOfRange, match="limit"):
        Limit("own", *fields)


# the answer


def check(own=GEAR, other=HYD, **more):
    return gearcase.check(own, other, **more)


def test_a_small_share_is_kept_and_a_large_one_is_not():
    small = check(samples=(Sample(205.0),))
    large = check(samples=(Sample(170.0),))
    assert (small.verdict, large.verdict) == ("keep", "drain and refill")
    assert large.change.percent == pytest.approx(100 * (170 / 220 - 1))
    assert "23 % thinner" in large.why
    assert [round(m.temp_c) for m in large.mix] == [40, 100]
    assert large.mix[0].nu == pytest.approx(170.0, rel=1e-6)
    assert large.litres is None


def test_a_sample_at_100_degrees_is_carried_to_the_change_at_40():
    nu100 = oil.blend_viscosity([18.75, 6.65], [0.88, 0.12])
    found = check(samples=(Sample(nu100, 100.0),))
    assert found.change.how == "from the share"
    assert found.change.percent == pytest.approx(100 * (oil.blend_viscosity([220.0, 46.0], [0.88, 0.12]) / 220 - 1), abs=1e-6)


def test_from_grades_the_change_is_the_band_or_follows_the_rise():
    band = check(GEAR_VG, HYD_VG, samples=(Sample(150.0),))
    assert (band.change.how, band.change.percent, band.verdict, band.mix) == ("from the grade", None, "drain and refill", ())
    assert (band.change.low, band.change.high) == pytest.approx((100 * (150 / 242 - 1), 100 * (150 / 198 - 1)), abs=0.5)
    assert check(GEAR_VG, HYD_VG, samples=(Sample(190.0),)).verdict == "not clear"
    both = check(GEAR_VG, HYD_VG, samples=(Sample(195.0),), rise=Rise(0.4, 0.03, 6.0))
    assert both.change.how == "from the share"
    assert both.verdict == "keep"


def test_another_limit_changes_the_verdict():
    assert check(samples=(Sample(196.0),)).verdict == "keep"
    assert check(samples=(Sample(196.0),), limit=gearcase.INDUSTRIAL).verdict == "drain and refill"
    assert check(samples=(Sample(196.0),), limit=Limit("own", 30.0, 30.0, 8.0, 8.0)).verdict == "keep and check again"


def test_far_above_the_mark_always_means_drain_whatever_the_viscosity_says():
    for more in ({}, {"samples": (Sample(219.0),)}, {"mixed": True}, {"limit": Limit("own", 99.0, 99.0)}):
        found = check(rise=Rise(0.7, 0.05, 6.0), **more)
        assert found.verdict == "drain and refill"
        assert "far above its mark" in found.why
    assert check(None, None, rise=Rise(0.7, 0.05, 6.0)).verdict == "drain and refill"
    near = check(rise=Rise(0.59, 0.05, 6.0))
    assert near.verdict != "drain and refill"
    assert any("Never let it down to the mark" in text for text in near.remarks)
    assert check(rise=Rise(0.59, 0.05, 6.0), far=0.05).verdict == "drain and refill"
    assert check(rise=Rise(0.7, 0.5, 6.0)).verdict != "drain and refill"


def test_any_rise_is_named_as_out_of_order_even_where_the_oil_may_stay():
    found = check(rise=Rise(0.2, 0.03, 6.0))
    assert found.verdict == "keep"
    assert any("never in order" in text for text in found.remarks)
    assert not any("never in order" in text for text in check(rise=Rise(0.02, 0.03, 6.0)).remarks)


def test_water_means_change():
    found = check(rise=Rise(0.02, 0.05, 6.0), samples=(Sample(219.0),), water=True)
    assert found.verdict == "drain and refill"
    assert "TM 38-301-4" in found.why
    assert any("Water was not looked at" in text for text in check(samples=(Sample(219.0),)).remarks)
    assert not any("Water was not looked at" in text for text in check(samples=(Sample(219.0),), water=False).remarks)


def test_an_unknown_oil_switches_every_verdict_from_viscosity_off():
    for found in (
        check(samples=(Sample(150.0),), mixed=True),
        gearcase.check(GEAR, None, samples=(Sample(150.0),)),
        gearcase.check(None, HYD, rise=Rise(0.3, 0.05, 6.0), samples=(Sample(150.0),)),
        check(product(nu40=None, nu100=None), samples=(Sample(150.0),), rise=Rise(0.3, 0.05, 6.0)),
    ):
        assert found.verdict == "no verdict"
        assert (found.viscosity, found.change, found.mix) == (None, None, ())
    assert any("Take a sample" in text for text in check(samples=(Sample(150.0),), mixed=True).remarks)
    assert gearcase.check(None, HYD, rise=Rise(0.3, 0.05, 6.0)).share.x == pytest.approx(0.3 / 6.3)


def test_disagreeing_methods_are_not_clear():
    found = check(rise=Rise(0.1, 0.02, 6.0), samples=(Sample(180.0),))
    assert (found.verdict, found.share.x, found.mix, found.litres) == ("not clear", None, (), None)
    assert "not averaged" in found.why


def test_from_a_rise_alone_a_wide_change_is_not_clear_and_a_sample_is_named():
    found = check(rise=Rise(0.55, 0.15, 6.0))
    assert found.verdict == "not clear"
    assert found.why.endswith("A sample would tell.")
    assert found.litres == 0.55
    assert found.not_detectable_below == pytest.approx(0.494 / 6.494, rel=0.01)


def test_the_litres_follow_both_methods_where_they_agree():
    found = check(rise=Rise(0.4, 0.10, 6.0), samples=(Sample(193.0),))
    x = found.share.x
    assert found.litres == pytest.approx(6.0 * x / (1 - x))
    assert 0.0 < found.u_litres < 0.10


def test_a_bound_from_above_the_gauge_leaves_the_change_open_downwards():
    found = check(rise=Rise(0.3, 0.03, 6.0, bound="at least"))
    assert found.verdict == "not clear"
    assert found.change.low == pytest.approx(100 * (46 / 220 - 1))
    assert any("may be thinner" in text for m in found.mix for text in m.remarks)


def test_the_working_temperature_is_shown_with_its_own_remarks():
    found = check(samples=(Sample(200.0),), working_c=70.0)
    assert [m.temp_c for m in found.mix] == [40.0, 100.0, 70.0]
    assert found.mix[1].nu < found.mix[2].nu < found.mix[0].nu
    cold = check(samples=(Sample(200.0),), working_c=-20.0)
    assert any("extrapolated" in text for text in cold.remarks)
    half = check(product(nu100=None), samples=(Sample(200.0),), working_c=70.0)
    assert [m.temp_c for m in half.mix] == [40.0]
    assert any("its viscosity at 100 °C is not entered" in text for text in half.remarks)


def test_nothing_entered_is_no_answer():
    with pytest.raises(CannotAnswer, match="neither a level nor a viscosity"):
        check()
    with pytest.raises(CannotAnswer, match="one or two temperatures"):
        check(samples=(Sample(200.0), Sample(190.0)))
    for far in (0.0, 1.0, math.nan):
        with pytest.raises(OutOfRange, match="far above"):
            check(rise=Rise(0.3, 0.05, 6.0), far=far)


def test_the_guide_limit_and_its_source_stand_under_the_answer():
    for limit in gearcase.GUIDES:
        found = check(samples=(Sample(205.0),), limit=limit)
        assert any("a guide, not a rule" in text and limit.source in text for text in found.remarks)
        assert limit.label in found.why
    assert found.cautions


# the level of a machine

CASE = 'body = { shape = "upright", diameter = 240, height = 300 }\nproduct = "gear"'
STICK = '{ name = "stick", kind = "stick", tip = [0, 0, 20], end_mm = 200, bands = [{ low = 100, high = 120, target = 110 }] }'
AREA = math.pi / 4 * 2.4**2  # dm2


@pytest.fixture(scope="module")
def box(one):
    return one(body=CASE, gauge=STICK, kind="slewing gearbox")


def at(mm=None, **more):
    return Reading(level=mm, temp_c=20.0, pitch_deg=0.0, roll_deg=0.0, **more)


def test_the_rise_between_two_readings_is_area_times_millimetres(box):
    found = gearcase.rise_from(box, "tank", at(120.0), at(110.0))
    assert found.litres == pytest.approx(AREA * 0.1, rel=1e-9)
    assert found.own_l == pytest.approx(AREA * 1.3, rel=1e-9)
    poured = gearcase.rise_from(box, "tank", at(120.0), at(110.0), poured_l=0.2, drained_l=0.05)
    assert poured.litres == pytest.approx(found.litres - 0.15, rel=1e-9)
    assert poured.own_l == pytest.approx(found.own_l + 0.15, rel=1e-9)
    assert poured.u_l > found.u_l


def test_without_an_earlier_reading_the_mark_stands_in_with_its_width(box):
    found = gearcase.rise_from(box, "tank", at(130.0))
    assert found.litres == pytest.approx(AREA * 0.2, rel=1e-9)
    assert found.own_l == pytest.approx(AREA * 1.3, rel=1e-9)
    assert found.u_l > AREA * 0.2 / math.sqrt(12)
    assert "taken as filled to its mark" in found.remarks[0]
    assert gearcase.check(GEAR, HYD, rise=found).rise.word == "found"


def test_above_the_stick_is_a_bound_and_below_it_no_rise(box):
    over = gearcase.rise_from(box, "tank", at(bound="at least"))
    assert over.bound == "at least"
    assert over.litres == pytest.approx(AREA * 0.9, rel=1e-9)
    with pytest.raises(CannotAnswer, match="no rise"):
        gearcase.rise_from(box, "tank", at(bound="at most"))
    with pytest.raises(CannotAnswer, match="only a bound"):
        gearcase.rise_from(box, "tank", at(bound="at least"), at(110.0))
    with pytest.raises(CannotAnswer, match="needs a reading before"):
        gearcase.rise_from(box, "tank", at(130.0), poured_l=0.5)


def test_a_gear_case_grows_with_its_own_litres_only(one):
    """Read 40 K too warm for its marks, the rise of the gear oil itself is taken off: a good 2.8 % of what is in it."""
    marks = STICK.replace("target = 110", "target = 110, temp_low_c = 15, temp_high_c = 25")
    box = one(body=CASE, gauge=marks, kind="slewing gearbox")
    cold, warm = gearcase.rise_from(box, "tank", at(115.0)), gearcase.rise_from(box, "tank", Reading(level=115.0, temp_c=60.0))
    in_it = level.volume(box, "tank", at(115.0)).value_l
    assert cold.litres - warm.litres == pytest.approx(in_it * (1 - oil.vcf(875.0, 60.0) / oil.vcf(875.0, 20.0)), rel=1e-6)
