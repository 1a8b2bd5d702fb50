"""What a laboratory's figures say, and when they say nothing."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import bath
from fluidapp.calc.bath import density, penetration, thickener, tracer, viscosity
from fluidapp.calc.oil import blend_fraction, u_fraction
from fluidapp.errors import OutOfRange


@pytest.mark.published("bath", "lab")
def test_share_and_doubt_agree_with_the_value_by_hand(case):
    g = dict(case["given"])
    got = getattr(bath, g.pop("method"))(**g)
    assert got.w == pytest.approx(case["want"]["w"], abs=case["tol"])
    if "u" in case["want"]:
        assert got.u == pytest.approx(case["want"]["u"], abs=5e-4)
    assert not got.refused


@pytest.mark.published("bath", "bound")
def test_penetration_bounds_the_share_from_above(case):
    g = case["given"]
    got = penetration((g["clean"], 0.0), (g["sample"], 0.0), exponent=g["exponent"])
    assert got.w == pytest.approx(case["want"], abs=case["tol"])
    assert got.kind == "upper"


def test_without_a_site_fit_penetration_takes_the_larger_bound():
    assert penetration((280, 5), (325, 5)).w == pytest.approx(0.211, abs=5e-4)


def spread(formula, *pairs, n=400_000):
    rng = np.random.default_rng(11)
    return formula(*(rng.normal(x, u, n) for x, u in pairs)).std()


def double_log(v):
    return np.log10(np.log10(v + 0.7))


@pytest.mark.parametrize(
    ("estimate", "sd"),
    [
        (thickener((10, 0.3), (8, 0.3)), spread(lambda t0, tm: 1 - tm / t0, (10, 0.3), (8, 0.3))),
        (tracer((20, 1.6), (400, 8), (96, 7)), spread(lambda g, o, m: (m - g) / (o - g), (20, 1.6), (400, 8), (96, 7))),
        (density((905, 3), (960, 3), (870, 3)), spread(lambda m, g, o: (m - g) / (o - g) * o / m, (905, 3), (960, 3), (870, 3))),
        (penetration((280, 5), (325, 5)), spread(lambda a, b: 1 - (a / b) ** (1 / 0.63), (280, 5), (325, 5))),
    ],
    ids=["thickener", "tracer", "density", "penetration"],
)
def test_doubts_agree_with_monte_carlo(estimate, sd):
    """400,000 draws; the share is a ratio, so that straight propagation may be off by a few per cent."""
    assert estimate.u == pytest.approx(sd, rel=0.04)


def test_doubt_of_a_viscosity_agrees_with_monte_carlo():
    got = viscosity((460, 0.02), (46, 0.02), (300, 0.02), (0.1, 0.02))

    def share(g, o, m, t):
        x = (double_log(m) - double_log(g)) / (double_log(o) - double_log(g))
        return x * (1 - t) / (1 - x * t)

    assert got.u == pytest.approx(spread(share, (460, 9.2), (46, 0.92), (300, 6.0), (0.1, 0.02)), rel=0.02)


@given(share=st.floats(0.0, 0.9), grease=st.floats(100, 1000), oil=st.floats(20, 60), soap=st.floats(0.0, 0.3))
def test_a_known_mix_gives_its_share_back(share, grease, oil, soap):
    """Round trip through the printed blending rule, and through mass: w of all is x (1 - T) / (1 - x T) of the oil phase."""
    mixed = 10 ** (10 ** (share * double_log(oil) + (1 - share) * double_log(grease))) - 0.7
    got = viscosity((grease, 0.001), (oil, 0.001), (mixed, 0.001), (soap, 0.0))
    oil_mass, clean_oil = share, 1 - share
    thick = clean_oil * soap / (1 - soap)
    assert got.w == pytest.approx(oil_mass / (oil_mass + clean_oil + thick), abs=1e-6)


@given(share=st.floats(0.0, 0.9))
def test_a_known_dilution_gives_its_share_back(share):
    assert thickener((10, 0.01), (10 * (1 - share), 0.01)).w == pytest.approx(share, abs=1e-12)
    assert tracer((20, 0.01), (400, 0.01), (20 * (1 - share) + 400 * share, 0.01)).w == pytest.approx(share, abs=1e-12)
    mixed = 1 / (share / 800 + (1 - share) / 950)  # masses and volumes add up
    assert density((mixed, 0.01), (950, 0.01), (800, 0.01)).w == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize(
    ("estimate", "reason"),
    [
        (thickener(None, (8, 0.3)), "same batch"),
        (thickener((10, 0.5), None), "same batch"),
        (thickener((10, 3), (8, 0.3)), "not known well enough"),
        (thickener((10, 0.5), (12, 0.5)), "more thickener"),
        (thickener((10, 1.5), (8, 1.5)), "too wide"),
        (tracer((20, 1), None, (96, 5)), "must all be measured"),
        (tracer((380, 20), (400, 20), (390, 20)), "choose another"),
        (viscosity(None, (46, 0.02), (200, 0.03)), "must all be measured"),
        (viscosity((46, 0.02), (46, 0.02), (46, 0.03)), "equally thick"),
        (viscosity((100, 0.03), (46, 0.02), (80, 0.3)), "too uncertain"),
        (viscosity((460, 0.03), (46, 0.02), (600, 0.03)), "does not explain"),
        (viscosity((460, 0.03), (46, 0.02), (35, 0.03)), "does not explain"),
        (density((914, 3), (920, 3), (890, 3)), "too near"),
        (density((914, 3), (960, 3), (870, 3), water=True), "water"),
        (density(None), "must all be measured"),
        (density((914, 3), (900, 3), (900, 3)), "equally heavy"),
        (penetration((280, 5), (270, 5)), "stiffer"),
        (penetration((280, 5), (325, 5), water=True), "water"),
        (penetration(None, (325, 5)), "must both be measured"),
    ],
)
def test_a_method_refuses_with_its_reason(estimate, reason):
    assert estimate.refused
    assert estimate.w is None
    assert reason in estimate.refused_reason


def test_references_are_too_near_below_5_standard_uncertainties():
    assert "choose another" not in tracer((100, 10), (171, 10), (130, 1)).refused_reason  # 71 > 5 sqrt(200) = 70.7
    assert "choose another" in tracer((100, 10), (170, 10), (130, 1)).refused_reason


def test_density_keeps_its_volume_share_although_it_refuses():
    """914 between 920 and 890, each ± 3: phi 0.200 ± 0.13 (computed by us)."""
    got = density((914, 3), (920, 3), (890, 3))
    assert got.phi == pytest.approx(0.2)
    assert got.u_phi == pytest.approx(0.13, abs=5e-3)


def test_share_and_doubt_of_thin_oils_agree_with_the_blend_of_two_oils():
    """Independent code of this project: the share of one oil in another, and its doubt."""
    got = viscosity((15.0, 0.01), (3.0, 0.01), (10.0, 0.01), (0.0, 0.0))
    assert got.w == pytest.approx(blend_fraction(15.0, 3.0, 10.0), abs=1e-12)
    assert got.u == pytest.approx(u_fraction(15.0, 3.0, 10.0, 0.01, 0.01, 0.01), rel=1e-9)


def test_oils_of_like_thickness_tell_less():
    """A fifth of 220 in 460: 0.05 (computed by us), against 0.014 for a fifth of 46."""
    mixed = 10 ** (10 ** (0.2 * double_log(220) + 0.8 * double_log(460))) - 0.7
    assert viscosity((460, 0.03), (220, 0.02), (mixed, 0.03), (0.0, 0.0)).u == pytest.approx(0.05, abs=5e-3)


def test_a_typical_thickener_is_said_and_widens():
    told, typical = viscosity((460, 0.03), (46, 0.02), (265.9, 0.03), (0.1, 0.0)), viscosity((460, 0.03), (46, 0.02), (265.9, 0.03))
    assert typical.w == pytest.approx(told.w)
    assert typical.u > told.u
    assert any("typical" in remark for remark in typical.remarks)


@pytest.mark.parametrize(
    "call",
    [
        lambda: thickener((-1, 0.1), (1, 0.1)),
        lambda: thickener((10, -0.1), (1, 0.1)),
        lambda: tracer((1, 0.1), (math.nan, 1), (2, 1)),
        lambda: viscosity((0.1, 0.1), (46, 0.1), (46, 0.1)),
        lambda: viscosity((460, 0.03), (46, 0.02), (265.9, 0.03), (1.0, 0.0)),
        lambda: penetration((280, 5), (325, 5), exponent=0.0),
        lambda: penetration((0, 5), (325, 5)),
    ],
)
def test_figures_that_cannot_be_are_errors(call):
    with pytest.raises(OutOfRange):
        call()
