"""A tank told twice: by its shape, table or fill, and by measured pours: combined, or the contradiction named."""

import math
from itertools import pairwise

import numpy as np
import pytest

from fluidapp.calc import build, level, pours
from fluidapp.errors import OutOfRange
from fluidapp.model import Pour, Reading

GLASS = '{ name = "glass", kind = "sight glass", at = [700, 250, 150], end_mm = 350, u_mm = 3 }'
STICK = '{ name = "stick", kind = "stick", end_mm = 500, u_mm = 2 }'
BOX = 'body = { shape = "box", length = 700, width = 500, height = 600 }'  # 0.35 L per mm
UP = np.array([0.0, 0.0, 1.0])


def chain(per_mm, *adds, start=100.0):
    """Pours of these litres into a tank with ``per_mm`` litres per mm, each beginning where the one before it ended."""
    rows, at = [], start
    for add in adds:
        rows.append(f"{{ add = {add}, before = {at}, after = {at + add / per_mm} }}")
        at += add / per_mm
    return f"pours = [{', '.join(rows)}]"


def typical(machine):
    """The same machine with figures that nobody measured."""
    return machine.model_copy(update={"compartments": tuple(c.model_copy(update={"source": "typical"}) for c in machine.compartments)})


def tank_of(one, body, gauge=GLASS):
    return one(body=body, gauge=gauge).compartment("tank")


def test_pours_that_follow_each_other_are_one_line_through_all_readings(one):
    """0, 0.5, 1, 1.5, 2 L read 4.20, 4.27, 4.35, 4.42, 4.50 dm, u 0.02 dm: A 6.6667, u(A) 0.5622 dm2. Source: computed by us."""
    rows = ", ".join(f"{{ add = 0.5, before = {a}, after = {b} }}" for a, b in pairwise((420, 427, 435, 442, 450)))
    area, u, _ = build.pour_area(tank_of(one, f"pours = [{rows}]", STICK))
    assert 100 * area == pytest.approx(6.6667, abs=5e-5)
    assert 100 * u == pytest.approx(0.5622, abs=5e-5)


def test_a_chain_ends_where_the_next_pour_begins_elsewhere_or_goes_the_other_way(one):
    rows = [(10.0, 100.0, 130.0), (10.0, 130.0, 158.0), (5.0, 160.0, 175.0), (-5.0, 175.0, 161.0)]
    found = pours.chains(tank_of(one, BOX), [Pour(add=add, before=before, after=after) for add, before, after in rows])
    assert [c.numbers for c in found] == [(0, 1), (2,), (3,)]
    assert found[2].litres == (0.0, 5.0)
    assert found[2].readings == (161.0, 175.0)


def test_shape_and_pours_are_weighted_in_the_rise_per_litre(one):
    """Poured as if the tank held 0.385 L per mm, its shape 0.35 with a doubt of 20 %. Expectation: weighted mean, by hand."""
    part = tank_of(one, f"{BOX}\nu_tank_percent = 20.0\n{chain(0.385, 20.0, 20.0, 20.0)}")
    both = build.per_mm(part)
    u_b = 3.0 / math.sqrt(2 * (30.0**2 + 10.0**2))  # u of a reading over the root of the spread of 0, 20, 40, 60 L
    assert both.pours_l == pytest.approx(0.385, rel=1e-9)
    assert both.u_pours_l == pytest.approx(u_b * 0.385**2, rel=1e-6)
    assert both.other_l == pytest.approx(0.35, rel=1e-9)
    b, u = np.array([1 / 0.385, 1 / 0.35]), np.array([u_b, 0.2 / 0.35])
    mean = float((b / u**2).sum() / (1 / u**2).sum())
    assert both.used_l == pytest.approx(1 / mean, rel=1e-6)
    assert both.u_used_l == pytest.approx((1 / u**2).sum() ** -0.5 / mean**2, rel=1e-6)
    assert both.blended
    tank = build.tank(part)
    assert float(tank.vol(3.0, UP)[0]) == pytest.approx(300 / mean, rel=1e-6)
    assert tank.capacity_l == pytest.approx(600 / mean, rel=1e-6)


def test_a_contradiction_is_named_and_the_pours_are_used(one):
    machine = one(body=f"{BOX}\n{chain(0.5, 20.0, 20.0, 20.0)}", gauge=GLASS)
    both = build.per_mm(machine.compartment("tank"))
    assert abs(both.z) > 2
    assert not both.blended
    assert both.used_l == pytest.approx(0.5)
    found = level.volume(machine, "tank", Reading(level=150.0))
    assert any("0.5 L per mm, the other figure 0.35" in remark for remark in found.remarks)
    assert found.as_read_l == pytest.approx(300 * 0.5)


def test_the_known_example_of_a_fill_against_pours_is_not_blended(one):
    """8.5 L at 2.1 dm; 1 + 1 L read 3, 12, 22 mm: pours 10.53 +- 1.57, fill 5.06 +- 0.58 dm2. Source: computed by us."""
    rows = "pours = [{ add = 1, before = 3, after = 12 }, { add = 1, before = 12, after = 22 }]"
    both = build.per_mm(tank_of(one, f"fill = {{ litres = 8.5, reading = 20, depth_mm = 210 }}\n{rows}", STICK))
    assert 100 * both.pours_l == pytest.approx(10.53, abs=0.01)
    assert 100 * both.u_pours_l == pytest.approx(1.57, abs=0.01)
    assert not both.blended
    assert both.used_l == both.pours_l


def test_pours_near_the_mark_narrow_a_top_up_but_do_not_tell_where_the_floor_is(one):
    new, old = (
        level.volume(typical(one(body=body, gauge=GLASS)), "tank", Reading(level=150.0))
        for body in (f"{BOX}\n{chain(0.35, 20.0, 20.0, 20.0)}", BOX)
    )
    assert new.tank_rel < 0.6 * old.tank_rel
    tank = next(line for line in new.budget if line.name == "tank")
    assert tank.u_l == pytest.approx(0.10 * 0.35 * 300, rel=0.15)


def test_a_table_is_scaled_too(one):
    part = tank_of(one, f"table = [[0, 0], [500, 175]]\nu_tank_percent = 30.0\n{chain(0.385, 40.0, 40.0)}", STICK)
    assert build.tank(part).volume_l(200.0) == pytest.approx(200 * build.per_mm(part).used_l)
    assert build.per_mm(part).used_l == pytest.approx(0.385, rel=0.02)


def test_a_scaled_tank_stays_monotone_and_comes_back_on_any_slope(one):
    part = typical(one(body=f"{BOX}\n{chain(0.385, 40.0, 40.0)}", gauge=GLASS)).compartment("tank")
    k = build.per_mm(part).scale
    assert k == pytest.approx(1.08, abs=0.02)
    for pitch, roll in ((0.0, 0.0), (3.0, -2.0)):
        curve, plain = build.tank(part).curve(pitch, roll), build.tank(tank_of(one, BOX)).curve(pitch, roll)
        at = np.linspace(curve.low_mm, curve.high_mm, 101)
        volume = np.asarray(curve.volume_l(at))
        assert np.all(np.diff(volume) > 0)
        assert volume == pytest.approx(k * np.asarray(plain.volume_l(at)), rel=1e-9)
        assert np.asarray(curve.level_mm(volume)) == pytest.approx(at, abs=1e-6)


def test_a_reading_at_a_pour_outside_the_tank_is_refused_by_name(one):
    part = tank_of(one, f"{BOX}\npours = [{{ add = 20, before = 300, after = 520 }}]")
    with pytest.raises(OutOfRange, match=r"glass, reading at a pour: 520 mm is not within -150 to 450 mm"):
        build.tank(part)
