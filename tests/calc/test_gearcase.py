"""Gear case: what a share made of the oil, keep or change, and the rise of a machine's own level."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import gearcase, level, oil
from fluidapp.calc.gearcase import Limit, Rise, Sample
from fluidapp.calc.gearcase.judging import Change, change_by_share, change_measured, predicted, word
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Product, Reading


def product(nu40=220.0, nu100: float | None = 18.75, source="measured new", family="mineral", label="gear oil"):
    return Product(key="p", label=label, kind="oil", family=family, nu40=nu40, nu100=nu100, nu_source=source)


GEAR, HYD = product(), product(46.0, 6.65, label="hydraulic oil")
GEAR_VG, HYD_VG = product(source="nominal"), product(46.0, 6.65, "nominal", label="hydraulic oil")


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
