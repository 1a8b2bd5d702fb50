"""Tanks that nobody has drawn: known by measured pours, by a fill and a mark, or by a table."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import build, geometry, level
from fluidapp.errors import BadInput, CannotAnswer, OutOfRange
from fluidapp.model import Pour, Reading

STICK = '{ name = "stick", kind = "stick", end_mm = 500, bands = [{ low = 200, high = 300 }] }'
PLUG = '{ name = "plug", kind = "level plug", end_mm = 50, position_tick = false }'


def litres(machine, reading, **fields):
    return level.volume(machine, "tank", Reading(level=reading, **fields)).as_read_l


def chained(per_mm):
    """Two pours that agree: 20 L each into a tank with ``per_mm`` litres per mm."""
    return f"pours = [{{ add = 20, before = 200, after = {200 + 20 / per_mm} }}, {{ add = 20, before = 200, after = {200 + 20 / per_mm} }}]"


def tank_of(one, body, gauge=STICK):
    return one(body=body, gauge=gauge).compartment("tank")


@pytest.mark.published("build", "pours")
def test_a_measured_pour_gives_the_free_surface(case, one):
    add, before, after, u_mm = case["given"]["pour"]
    gauge = STICK.replace("end_mm", f"u_mm = {u_mm}, end_mm")
    compartment = tank_of(one, f"pours = [{{ add = {add}, before = {before}, after = {after} }}]", gauge)
    per_mm, u, _ = build.pour_area(compartment)
    assert 100 * per_mm == pytest.approx(case["want"][0], abs=case["tol"])
    assert 100 * u == pytest.approx(case["want"][1], abs=case["tol"])


def test_several_pours_are_averaged_where_their_errors_are_and_narrow_the_doubt(one):
    one_pour = tank_of(one, "pours = [{ add = 20, before = 200, after = 257 }]")
    four = tank_of(one, "pours = [" + "{ add = 20, before = 200, after = 257 }," * 4 + "]")
    assert build.pour_area(four)[0] == pytest.approx(build.pour_area(one_pour)[0])
    assert build.pour_area(four)[1] == pytest.approx(build.pour_area(one_pour)[1] / 2)
    # equal adds: rises average, not areas (an area is the reciprocal of what carries the error)
    two = tank_of(one, "pours = [{ add = 20, before = 200, after = 256 }, { add = 20, before = 200, after = 258 }]")
    assert build.pour_area(two)[0] == pytest.approx(20 / 57)


def test_pours_that_contradict_each_other_widen_the_doubt(one):
    """Rises of 47 and 67 mm with u = 2 sqrt 2 mm each: chi2 = 2 (10 / 2.83)^2 = 25 for one degree of freedom, so u grows fivefold."""
    agree = tank_of(one, "pours = [{ add = 20, before = 200, after = 257 }, { add = 20, before = 200, after = 257 }]")
    differ = tank_of(one, "pours = [{ add = 20, before = 200, after = 247 }, { add = 20, before = 200, after = 267 }]")
    assert build.pour_area(differ)[0] == pytest.approx(build.pour_area(agree)[0])
    assert build.pour_area(differ)[1] == pytest.approx(5 * build.pour_area(agree)[1])


@pytest.mark.parametrize(
    ("rises", "dof"),
    [((47, 67), 1.0), ((47, 67, 57), 2.0), ((57, 57), math.inf), ((57, 57.5, 56.5), math.inf), ((57,), math.inf)],
)
def test_a_doubt_that_the_scatter_of_the_pours_sets_has_their_degrees_of_freedom(one, rises, dof):
    """Two pours that contradict each other say little about their own scatter: t for one degree of freedom is 12.7, not 2."""
    rows = ", ".join(f"{{ add = 20, before = 200, after = {200 + rise} }}" for rise in rises)
    part = tank_of(one, f"pours = [{rows}]")
    assert build.pour_area(part)[2] == dof
    assert build.doubt(part).dof == dof


def test_readings_of_one_chain_that_scatter_have_the_degrees_of_freedom_of_their_line(one):
    """Four readings, two of them 20 mm off the line with u = 2 mm: two degrees of freedom are left."""
    rows = "{ add = 10, before = 200, after = 250 }, { add = 10, before = 250, after = 260 }, { add = 10, before = 260, after = 310 }"
    part = tank_of(one, f"pours = [{rows}]")
    assert build.pour_area(part)[2] == pytest.approx(2.0)
    even = tank_of(one, "pours = [{ add = 10, before = 200, after = 230 }, { add = 10, before = 230, after = 260 }]")
    assert build.pour_area(even)[2] == math.inf


def test_pours_beside_a_shape_hand_on_their_degrees_of_freedom(one):
    """Welch-Satterthwaite of two sources in 1/a: the pours with one degree of freedom, the shape with endless many."""
    rows = "pours = [{ add = 20, before = 200, after = 247 }, { add = 20, before = 200, after = 267 }]"
    gauge = '{ name = "stick", kind = "stick", tip = [100, 100, 0], end_mm = 500 }'
    body = 'body = { shape = "box", length = 700, width = 500, height = 600 }'
    both = build.per_mm(tank_of(one, f"{body}\nu_tank_percent = 10.0\n{rows}", gauge))
    assert both.blended
    b, u = 57.0 / 20.0, both.u_pours_l / both.pours_l**2
    assert 1 / both.pours_l == pytest.approx(b)
    other = 0.1 / both.other_l
    share = (1 / u**2) / (1 / u**2 + 1 / other**2)
    whole = (1 / u**2 + 1 / other**2) ** -0.5
    assert build.doubt(tank_of(one, f"{body}\nu_tank_percent = 10.0\n{rows}", gauge)).dof == pytest.approx(whole**4 / (share * u) ** 4)
    apart = build.per_mm(tank_of(one, f"{body}\nu_tank_percent = 18.0\n{chained(0.5)}", gauge))
    assert apart.blended
    assert abs(apart.z) > 1.0
    assert apart.dof == math.inf  # two that differ by less than is certain are not a sample of two
    alone = build.per_mm(tank_of(one, f"{body}\nu_tank_percent = 0.1\n{chained(0.5)}", gauge))
    assert not alone.blended
    assert alone.dof == math.inf


def test_the_doubt_of_a_pour_agrees_with_readings_drawn_at_random(one):
    compartment = tank_of(one, "pours = [{ add = 20, before = 200, after = 257 }, { add = 10, before = 260, after = 288.5 }]")
    per_mm, u, _ = build.pour_area(compartment)
    rng, n = np.random.default_rng(5), 200_000
    rises = [r + 2 * (rng.standard_normal(n) - rng.standard_normal(n)) for r in (57.0, 28.5)]
    weights = [20.0**2, 10.0**2]
    found = sum(weights) / sum(w * r / add for w, r, add in zip(weights, rises, (20.0, 10.0), strict=True))
    assert found.std() == pytest.approx(u, rel=4 / math.sqrt(2 * n) + 0.01)  # 1 %: curvature of 1/b at 5 % doubt
    assert np.median(found) == pytest.approx(per_mm, rel=1e-3)


def with_pour(compartment, add, before, after):
    """The compartment with a pour that its record would refuse."""
    pour = Pour.model_construct(add=add, before=before, after=after, gauge=None)
    return compartment.model_copy(update={"pours": (pour,)})


@pytest.mark.parametrize("pour", [(20.0, 257.0, 200.0), (-20.0, 200.0, 257.0), (0.0, 200.0, 200.0)])
def test_a_swapped_pour_is_named(one, pour):
    good = tank_of(one, "pours = [{ add = 20, before = 200, after = 257 }]")
    with pytest.raises(CannotAnswer, match=r"Tank: the pour does not fit: .* Check whether before and after are swapped"):
        build.tank(with_pour(good, *pour))


def test_a_drain_counts_like_a_pour(one):
    poured, drained = (
        tank_of(one, f"pours = [{p}]") for p in ("{ add = 20, before = 200, after = 257 }", "{ add = -20, before = 257, after = 200 }")
    )
    assert build.pour_area(poured) == build.pour_area(drained)


def test_a_plug_s_reading_falls_when_oil_is_poured(one):
    compartment = tank_of(one, "pours = [{ add = 0.5, before = 30, after = 20 }]", PLUG)
    assert build.pour_area(compartment)[0] == pytest.approx(0.05)
    with pytest.raises(CannotAnswer, match="swapped"):
        build.tank(with_pour(compartment, 0.5, 20.0, 30.0))


def test_a_tank_known_by_pours_counts_from_its_known_fill(one):
    machine = one(body="pours = [{ add = 20, before = 200, after = 257 }]\nfill = { litres = 100, reading = 250 }", gauge=STICK)
    for reading in (200.0, 250.0, 300.0):
        assert litres(machine, reading) == pytest.approx(100 + 20 / 57 * (reading - 250))
    found = level.volume(machine, "tank", Reading(level=250.0))
    assert next(part for part in found.budget if part.name == "tank").u_l == pytest.approx(3.0)  # 3 % of the fill (typical)
    assert not any("counted from" in remark for remark in found.remarks)


def test_without_a_known_fill_the_litres_are_counted_from_the_lowest_reading_and_it_is_said(one):
    machine = one(body="pours = [{ add = 20, before = 200, after = 257 }]", gauge=STICK)
    found = level.volume(machine, "tank", Reading(level=257.0))
    assert found.value_l == pytest.approx(257 * 20 / 57)
    assert any("counted from the gauge's lowest reading" in remark for remark in found.remarks)


@pytest.mark.published("build", "fill")
def test_a_fill_and_the_depth_of_its_mark_give_the_free_surface_there(case, one):
    """e = 1.25 +- 0.144 from upright walls to a trough (own proposal): A = e V / H."""
    g = case["given"]
    body = f"fill = {{ litres = {g['litres']}, reading = 250, depth_mm = {g['depth_dm'] * 100} }}"
    machine = one(body=body, gauge=STICK)
    at_mark = 100 * (litres(machine, 250.05) - litres(machine, 249.95)) / 0.1
    assert at_mark == pytest.approx(case["want"][0], abs=case["tol"])
    doubt = build.doubt(machine.compartment("tank"))
    assert doubt.rel * at_mark == pytest.approx(case["want"][1], abs=case["tol"])
    assert not doubt.measured
    assert litres(machine, 250.0) == pytest.approx(g["litres"])


def test_a_tank_known_by_its_fill_is_empty_at_its_floor_and_can_be_read_down_to_it(one):
    machine = one(body="fill = { litres = 300, reading = 400, depth_mm = 400 }", gauge=STICK)
    assert litres(machine, 0.0) == pytest.approx(0.0, abs=1e-9)
    assert litres(machine, 200.0) == pytest.approx(300 * 0.5**1.25, rel=1e-3)
    readings = [litres(machine, x) for x in np.linspace(0, 500, 101)]
    assert all(b > a for a, b in itertools.pairwise(readings))
    with pytest.raises(OutOfRange, match="stick"):
        litres(one(body="fill = { litres = 300, reading = 400, depth_mm = 300 }", gauge=STICK), 50.0)


def test_a_fill_without_its_depth_does_not_tell_litres(one):
    with pytest.raises(CannotAnswer, match=r"Tank: nothing tells its litres\. Enter its shape, a table, a measured pour"):
        build.tank(tank_of(one, "fill = { litres = 300, reading = 400 }"))


@given(st.lists(st.tuples(st.floats(0.5, 100), st.floats(0.1, 50)), min_size=1, max_size=8), st.floats(0, 1))
def test_a_table_gives_its_own_marks_and_what_it_gave_comes_back(one, steps, share):
    levels, volumes = [0.0], [0.0]
    for rise, more in steps:
        levels.append(levels[-1] + rise)
        volumes.append(volumes[-1] + more)
    curve = build.tank(tank_of(one, f"table = {[list(row) for row in zip(levels, volumes, strict=True)]}"))
    assert isinstance(curve, geometry.Curve)
    for at, volume in zip(levels, volumes, strict=True):
        assert curve.volume_l(at) == pytest.approx(volume, abs=1e-9)
    volume = share * volumes[-1]
    assert curve.volume_l(curve.level_mm(volume)) == pytest.approx(volume, abs=1e-9 * volumes[-1])


def test_a_table_out_of_order_is_named(one):
    with pytest.raises(BadInput, match="table volume: 10 cannot be used"):
        build.tank(tank_of(one, "table = [[0, 0], [50, 11], [100, 10]]"))


def test_a_gauge_that_starts_above_the_table_s_zero_says_so_once(one):
    shifted = one(body="table = [[0, 0], [100, 10], [200, 20]]", gauge=STICK.replace("end_mm", "zero_height_mm = 35, end_mm"))
    assert litres(shifted, 65.0) == pytest.approx(10.0)
    with pytest.raises(OutOfRange, match=r"stick: 166 mm is not within -35 to 165 mm"):
        litres(shifted, 166.0)


@pytest.mark.parametrize(
    ("body", "rel"),
    [
        ('body = { shape = "box", length = 10, width = 10, height = 10 }', 0.01),
        ("table = [[0, 0], [100, 10]]", 0.005),
        ('body = { shape = "box", length = 10, width = 10, height = 10 }\nu_tank_percent = 3', 0.03),
        ("table = [[0, 0], [100, 10]]\nu_tank_percent = 2", 0.02),
        ("pours = [{ add = 20, before = 200, after = 257 }]\nu_tank_percent = 2", 0.02),
        ("fill = { litres = 9, reading = 250, depth_mm = 200 }\nu_tank_percent = 2", 0.02),
    ],
)
def test_how_well_a_tank_is_known_is_typical_unless_somebody_knows_better(one, body, rel):
    """Taped 1 %, table 0.5 %: common practice, no source."""
    assert build.doubt(tank_of(one, body)).rel == pytest.approx(rel)


def test_a_typical_body_that_nobody_measured_is_doubted_at_10_percent(machine_of):
    text = 'key = "a"\nlabel = "A"\n[[compartments]]\nkey = "t"\nlabel = "T"\nkind = "other"\n'
    text += 'body = { shape = "box", length = 1, width = 1, height = 1 }'
    doubt = build.doubt(machine_of(text).compartment("t"))
    assert (doubt.rel, doubt.measured) == (0.10, False)
