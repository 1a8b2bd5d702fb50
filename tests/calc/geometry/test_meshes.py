"""Bodies of flat faces."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput

LEVEL = geo.up(0.0, 0.0)


def directions(seed, count):
    n = np.random.default_rng(seed).normal(size=(count, 3))
    n[:3], n[3:6] = np.eye(3), -np.eye(3)
    n[6 : count // 4, 0] *= 1e-8
    return n / np.linalg.norm(n, axis=1)[:, None]


def test_an_l_shape_is_the_same_in_faces_and_drawn_out_at_221_slopes():
    drawn = geo.lying(geo.LineArc([geo.polygon([(0, 0), (9, 0), (9, 3), (4, 3), (4, 7), (0, 7)])]), 8.0, "y")
    one, two = geo.Tank([(1, drawn)]), geo.Tank([(1, geo.Mesh(drawn.facets(8)))])
    assert one.capacity_l == pytest.approx(two.capacity_l, rel=1e-14)
    for n in directions(3, 221):
        c = np.linspace(*one.span(n), 41)
        (v1, a1), (v2, a2) = one.vol(c, n), two.vol(c, n)
        assert np.max(np.abs(v1 - v2)) <= 1e-12 * one.capacity_l
        assert np.max(np.abs(a1 - a2)[1:-1]) <= 1e-9


def test_a_sloped_floor_takes_half_its_wedge():
    floor = [(0, 0, 0), (6, 0, 1), (6, 5, 1), (0, 5, 0)]
    tank = geo.Tank([(1, geo.prismatoid(floor, [(0, 0, 4), (6, 0, 4), (6, 5, 4), (0, 5, 4)]))])
    assert tank.vol(0.5, LEVEL)[0] == pytest.approx(0.5 * 3.0 * 0.5 * 5.0, rel=1e-13)
    assert tank.vol(3.0, LEVEL) == (pytest.approx(30.0 * 2.5, rel=1e-13), pytest.approx(30.0, rel=1e-13))


def test_a_hopper_at_part_depth_is_a_smaller_frustum():
    tank = geo.Tank([(1, geo.hopper(6, 5, 2, 2, 4, at=(1, 1, 1)))])
    a, b, h = 2 + 4 * 0.25, 2 + 3 * 0.25, 1.0  # a quarter of the way up
    want = h / 6 * (2 * 2 + a * b + (2 + a) * (2 + b))  # prismoid rule, exact here
    assert tank.vol(2.0, LEVEL)[0] == pytest.approx(want, rel=1e-13)


@pytest.mark.parametrize("slope", [(0.0, 0.0), (3.0, -2.0), (-35.0, 20.0)])
def test_the_curve_of_a_hopper_is_its_exact_volume(slope):
    tank, n = geo.Tank([(1, geo.hopper(6, 5, 2, 2, 4))]), geo.up(*slope)
    curve = tank.curve(*slope)
    level = np.linspace(0, curve.high_mm, 1001)
    exact = tank.vol(curve.bottom_c_dm + level / 100, n)[0]
    assert np.max(np.abs(curve.volume_l(level) - exact)) <= 1e-10 * tank.capacity_l
    assert curve.volume_l(curve.level_mm(exact)) == pytest.approx(exact, abs=1e-11 * tank.capacity_l)


def test_below_and_above_make_up_the_whole():
    tank, n = geo.Tank([(1, geo.hopper(6, 5, 2, 2, 4))]), directions(5, 300)
    c = np.random.default_rng(6).uniform(-6, 6, 300)
    assert tank.vol(c, n)[0] + tank.vol(-c, -n)[0] == pytest.approx(tank.capacity_l, rel=1e-13)


def test_faces_that_leave_a_gap_or_look_inwards_are_refused():
    faces = geo.hopper(6, 5, 2, 2, 4).facets(0)
    with pytest.raises(BadInput, match="gap"):
        geo.Mesh(faces[:-1])
    turned = faces.copy()
    turned[0] = turned[0][::-1]
    with pytest.raises(BadInput, match="gap"):
        geo.Mesh(turned)
    with pytest.raises(BadInput, match="outwards"):
        geo.Mesh(faces[:, ::-1])
    with pytest.raises(BadInput):
        geo.Mesh(faces[:2])
    with pytest.raises(BadInput):
        geo.prismatoid([(0, 0, 0), (1, 0, 0), (0, 1, 0)], [(0, 0, 1), (1, 0, 1)])
