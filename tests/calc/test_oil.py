"""How litres grow with heat: printed examples, regression values, identities, traps."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import oil
from fluidapp.errors import OutOfRange

RHO = st.floats(800, 1164)
WARM = st.floats(-50, 150)


def rho60(g: dict) -> float:
    """Density at 60 °F; 999.016 kg/m3 is water at 60 °F."""
    return g["rho"] if "rho" in g else 999.016 * 141.5 / (131.5 + g["api"])


@pytest.mark.published("oil", "printed")
def test_the_equation_agrees_with_the_printed_example(case):
    g = case["given"]
    found = oil.vcf_general(rho60(g), g["t_f"], 60.0, g["k0"], g["k1"], g["k2"])
    assert found == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil", "table_54b")
def test_the_equation_agrees_with_the_printed_table_in_celsius(case):
    g = case["given"]
    assert oil.vcf_general(g["rho"], g["t_c"], 15.0, 186.9696, 0.4862) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil", "regression")
def test_the_grid_of_lubricating_oil_stays_as_it_was(case):
    g = case["given"]
    np.testing.assert_allclose(oil.vcf(g["rho15"], np.array(g["t_c"])), case["want"], atol=case["tol"], rtol=0)


@pytest.mark.published("oil", "inverse")
def test_the_density_at_15_stays_as_it_was(case):
    g = case["given"]
    assert oil.rho15(g["rho_t"], g["t_c"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


@pytest.mark.published("oil", "litres")
def test_litres_at_another_temperature_stay_as_they_were(case):
    g = case["given"]
    assert oil.convert_volume(g["v"], g["from_c"], g["to_c"], g["rho15"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


def test_the_constant_agrees_in_celsius_and_fahrenheit():
    """0.6278 goes with °C and 15 °C, 0.34878 with °F and 60 °F (second-hand, several transcriptions): per degree they differ by 1.8."""
    assert pytest.approx(1.8 * 0.34878, abs=5e-5) == oil.K_LUBE
    rho_60f = 880.0 * oil.vcf(880.0, (60 - 32) / 1.8)
    for t_c in (-20.0, 20.0, 60.0, 90.0):
        in_f = oil.vcf_general(rho_60f, 1.8 * t_c + 32, 60.0, 0.0, 0.34878) * oil.vcf(880.0, (60 - 32) / 1.8)
        assert oil.vcf(880.0, t_c) == pytest.approx(in_f, abs=2e-5)


@given(RHO)
def test_nothing_changes_at_15(rho):
    assert oil.vcf(rho, 15.0) == 1.0


@given(RHO, WARM, WARM)
def test_the_factor_falls_with_heat(rho, one, other):
    cold, warm = sorted((one, other))
    if warm - cold > 1e-6:
        assert oil.vcf(rho, warm) < oil.vcf(rho, cold)


@given(RHO, WARM, WARM, st.floats(0.01, 1000))
def test_there_and_back_gives_the_same_litres(rho, one, other, litres):
    there = oil.convert_volume(litres, one, other, rho)
    assert oil.convert_volume(there, other, one, rho) == pytest.approx(litres, rel=1e-14)


@given(RHO, WARM)
def test_the_density_found_back_gives_the_density_observed(rho15, temp_c):
    observed = rho15 * oil.vcf(rho15, temp_c)
    assert oil.rho15(observed, temp_c) == pytest.approx(rho15, abs=1e-6)


@given(RHO, WARM, st.floats(0.01, 1000))
def test_heat_changes_litres_and_density_but_not_the_mass(rho15, temp_c, litres):
    """VCF multiplies litres on the way to 15 °C and the density on the way from it."""
    warm = oil.convert_volume(litres, 15.0, temp_c, rho15)
    assert warm * rho15 * oil.vcf(rho15, temp_c) == pytest.approx(litres * rho15, rel=1e-13)
    assert (warm > litres) == (temp_c > 15.0) or abs(temp_c - 15.0) < 1e-6


@pytest.mark.parametrize("rho15", [870.0, 880.0, 900.0, 920.0])
def test_litres_and_density_have_different_slopes(rho15):
    """About 0.63 kg/m3 per K for every lubricating oil (computed by us), while litres grow by 0.72 to 0.76 % per 10 K."""
    per_k = (rho15 * oil.vcf(rho15, 20.0) - rho15 * oil.vcf(rho15, 60.0)) / 40
    assert per_k == pytest.approx(0.63, abs=0.015)
    assert 0.0068 < oil.vcf(rho15, 20.0) / oil.vcf(rho15, 30.0) - 1 < 0.0076


def test_a_density_20_beside_the_truth_moves_the_factor_by_less_than_a_thousandth():
    """0.07 % from 20 to 60 °C (computed by us): no need to ask for the density."""
    near, far = (oil.vcf(rho, 20.0) / oil.vcf(rho, 60.0) for rho in (880.0, 860.0))
    assert abs(near / far - 1) == pytest.approx(0.0007, abs=0.00005)


def test_arrays_give_what_single_numbers_give():
    rho, temp = np.array([[870.0], [900.0]]), np.array([-20.0, 15.0, 60.0])
    many = oil.vcf(rho, temp)
    assert many.shape == (2, 3)
    for i in range(2):
        for j in range(3):
            assert many[i, j] == pytest.approx(oil.vcf(float(rho[i, 0]), float(temp[j])), rel=1e-15)
    np.testing.assert_allclose(oil.rho15(rho * many, np.broadcast_to(temp, (2, 3))), np.broadcast_to(rho, (2, 3)), atol=1e-6)


def test_single_numbers_give_a_float():
    assert type(oil.vcf(880.0, 60.0)) is float
    assert type(oil.rho15(860.0, 60.0)) is float
    assert type(oil.convert_volume(10.0, 70.0, 20.0)) is float


@pytest.mark.parametrize("temp", [400.0, 201.0, -61.0, math.nan, math.inf, -math.inf])
def test_an_impossible_temperature_is_refused_and_named(temp):
    for given_as in (temp, np.array([20.0, temp, 60.0])):
        with pytest.raises(OutOfRange, match="oil temperature") as refused:
            oil.vcf(880.0, given_as)
        assert repr(refused.value.value) == repr(temp)


@pytest.mark.parametrize("rho", [0.0, -880.0, 0.88, 8800.0, math.nan])
def test_an_impossible_density_is_refused_and_named(rho):
    for given_as in (rho, np.array([880.0, rho])):
        with pytest.raises(OutOfRange, match="oil density") as refused:
            oil.vcf(given_as, 20.0)
        assert repr(refused.value.value) == repr(rho)
    with pytest.raises(OutOfRange):
        oil.rho15(rho, 20.0)


def test_outside_the_printed_table_there_is_a_remark_and_an_answer():
    assert oil.out_of_table(880.0, 60.0) is None
    assert oil.out_of_table(880.0, 95.0) is None
    assert "96 °C" in (oil.out_of_table(880.0, 96.0) or "")
    assert "1200 kg/m3" in (oil.out_of_table(1200.0, 60.0) or "")
    assert 0.8 < oil.vcf(1200.0, 150.0) < 1.0


def test_a_weight_carries_the_doubt_of_its_litres_and_of_its_density():
    """20 ± 0.4 L of 870 ± 10 kg/m3 at 15 °C: 17.4 kg, sqrt(0.348² + 0.2²) kg, by hand; hotter oil weighs less by its VCF."""
    kg, u = oil.weight(20.0, 870.0, 0.4)
    assert kg == pytest.approx(17.4)
    assert u == pytest.approx(math.hypot(0.348, 0.2))
    assert oil.weight(20.0, 870.0, 0.4, temp_c=60.0)[0] == pytest.approx(17.4 * oil.vcf(870.0, 60.0))
