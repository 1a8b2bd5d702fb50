"""Boxes, cylinders, obrounds and drawn sections below any plane, against independent ways to the same volume."""

import fluids
import numpy as np
import pytest
from geometry_oracles import box_corners, by_slices, random_points
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput

LEVEL = geo.up(0.0, 0.0)
SIZE = np.array([12.0, 7.0, 6.0])
TURN = 2.0 * np.pi


def tank(*parts):
    return geo.Tank(list(parts))


def l_shape():
    return geo.LineArc([geo.polygon([(0, 0), (9, 0), (9, 3), (4, 3), (4, 7), (0, 7)])])


SHAPES = {
    "box": (1, geo.box(*SIZE)),
    "box with round edges": (1, geo.box(*SIZE, corner=1.2)),
    "upright cylinder": (1, geo.upright_cylinder(4.0, 6.0)),
    "lying cylinder": (1, geo.horizontal_cylinder(5.0, 11.0)),
    "lying cylinder across": (1, geo.horizontal_cylinder(5.0, 11.0, "y")),
    "obround": (1, geo.obround(10.0, 5.0, 16.0)),
    "elliptical": (1, geo.elliptical_cylinder(10.0, 5.0, 16.0)),
    "l shape": (1, geo.lying(l_shape(), 8.0, "y")),
    "section with a hole": (
        1,
        geo.lying(geo.LineArc([geo.polygon([(0, 0), (6, 0), (7, 5), (0, 5)]), [geo.Arc(3.0, 2.5, 1.0, 0.0, TURN)]]), 8.0, "x"),
    ),
}


def directions(seed, count):
    """Random directions, among them some a hair away from level and from upright."""
    n = np.random.default_rng(seed).normal(size=(count, 3))
    third = count // 6
    n[:third, 0] *= 1e-9
    n[third : 2 * third, 1] *= 1e-6
    n[2 * third : 3 * third, :2] *= 1e-8
    n[0], n[1], n[2] = (0, 0, 1), (0, 1, 0), (-1, 0, 0)
    return n / np.linalg.norm(n, axis=1)[:, None]


@pytest.mark.parametrize("name", SHAPES)
def test_what_is_below_and_what_is_above_make_up_the_whole(name):
    t = tank(SHAPES[name])
    n = directions(1, 1200)
    c = np.random.default_rng(2).uniform(-12, 20, 1200)
    below, surface = t.vol(c, n)
    above, same_surface = t.vol(-c, -n)
    assert below + above == pytest.approx(t.capacity_l, rel=1e-13)
    assert surface == pytest.approx(same_surface, abs=1e-9 * t.capacity_l)


@pytest.mark.parametrize("name", SHAPES)
def test_volume_never_falls_when_the_plane_rises(name):
    t = tank(SHAPES[name])
    for n in directions(3, 24):
        low, high = t.span(n)
        volume, _ = t.vol(np.linspace(low, high, 400), n)
        assert np.all(np.diff(volume) > -1e-13 * t.capacity_l)
        assert volume[0] == pytest.approx(0.0, abs=1e-13 * t.capacity_l)
        assert volume[-1] == pytest.approx(t.capacity_l, rel=1e-13)


@pytest.mark.parametrize("name", SHAPES)
def test_the_free_surface_is_the_growth_of_the_volume(name):
    t = tank(SHAPES[name])
    for n in directions(4, 24):
        heights = t.crit(n)
        if len(heights) > 40:
            continue
        c = 0.5 * (heights[:-1] + heights[1:])
        step = 1e-3 * np.minimum(np.diff(heights), 1.0)
        growth = (t.vol(c + step, n)[0] - t.vol(c - step, n)[0]) / (2.0 * step)
        surface = t.vol(c, n)[1]
        assert np.all(np.abs(growth - surface) <= 1e-4 * surface + 1e-14 * t.capacity_l / step)


@pytest.mark.parametrize("k", [0.01, 3.0, 250.0])
def test_a_tank_of_k_times_the_size_holds_k_cubed(k):
    n = geo.up(4.0, -7.0)
    small = tank((1, geo.obround(10.0, 5.0, 16.0)), (-1, geo.box(1, 1, 1, at=(4, 4, 2))))
    large = tank((1, geo.obround(10.0 * k, 5.0 * k, 16.0 * k)), (-1, geo.box(k, k, k, at=(4 * k, 4 * k, 2 * k))))
    c = np.linspace(*small.span(n), 30)
    assert large.vol(k * c, n)[0] == pytest.approx(k**3 * small.vol(c, n)[0], rel=1e-12, abs=1e-13 * large.capacity_l)


def test_a_box_on_a_slope_holds_its_area_times_the_depth_at_its_middle():
    """True while the surface meets only the four walls: 84 dm2 times the height of the plane above the middle of the floor."""
    t = tank((1, geo.box(*SIZE)))
    foot = np.array([12.0, 2.0, 0.8])
    for pitch, roll in [(0, 0), (3, 0), (0, 3), (3, -2), (-4, 5)]:
        n = geo.up(pitch, roll)
        c = n @ foot + 2.0 * n[2]
        depth = (c - n @ [6.0, 3.5, 0.0]) / n[2]
        volume, surface = t.vol(c, n)
        assert volume == pytest.approx(84.0 * depth, rel=1e-13)
        assert surface == pytest.approx(84.0 / n[2], rel=1e-13)


def test_nose_up_with_the_glass_at_the_front_holds_more_at_the_same_reading():
    """12 x 7 x 6 dm, glass at the front end, reading 2 dm: 235.2 L level, 84 (2.8 + 6 tan 3 deg) L at 3 deg nose up."""
    t, n = tank((1, geo.box(*SIZE))), geo.up(3.0, 0.0)
    c = n @ [12.0, 2.0, 0.8] + 2.0 * n[2]
    assert t.vol(c, n)[0] == pytest.approx(84.0 * (2.8 + 6.0 * np.tan(np.radians(3.0))), rel=1e-13)


@settings(max_examples=80, deadline=None)
@given(st.floats(0.01, 1.5), st.floats(0.02, 6.2), st.floats(-0.2, 1.2))
def test_a_box_agrees_with_its_eight_corners_at_any_slope(lean, turn, share):
    n = np.array([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), np.cos(lean)])
    if np.min(np.abs(n)) < 0.02:  # the oracle divides by the product of the three and loses its own digits
        return
    t = tank((1, geo.box(*SIZE)))
    low, high = t.span(n)
    c = low + share * (high - low)
    assert t.vol(c, n)[0] == pytest.approx(box_corners(SIZE, n, c), abs=1e-10 * t.capacity_l)


CHORDS = {  # left and right edge at the height v of the section, its v range, length; section axes u, v, then the axis
    "lying cylinder": (lambda v: -half(2.5, v - 2.5), lambda v: half(2.5, v - 2.5), 5.0, 11.0),
    "obround": (lambda v: 2.5 - half(2.5, v - 2.5), lambda v: 7.5 + half(2.5, v - 2.5), 5.0, 16.0),
    "elliptical": (lambda v: 5.0 - 2.0 * half(2.5, v - 2.5), lambda v: 5.0 + 2.0 * half(2.5, v - 2.5), 5.0, 16.0),
}


def half(r, v):
    return np.sqrt(max(r * r - v * v, 0.0))


@pytest.mark.parametrize(("pitch", "roll"), [(0.0, 0.0), (5.0, -3.0), (0.001, 0.0), (0.0, 8.0), (-30.0, 50.0), (90.0, 0.0)])
@pytest.mark.parametrize("name", CHORDS)
def test_round_sections_agree_with_adaptive_quadrature(name, pitch, roll):
    left, right, height, length = CHORDS[name]
    t, n = tank(SHAPES[name]), geo.up(pitch, roll)
    low, high = t.span(n)
    for c in low + np.array([0.03, 0.21, 0.5, 0.77, 0.98]) * (high - low):
        want, error = by_slices(left, right, 0.0, height, length, (n[1], n[2], n[0]), c)
        assert error < 1e-10 * t.capacity_l
        assert t.vol(c, n)[0] == pytest.approx(want, abs=1e-10 * t.capacity_l)


@pytest.mark.parametrize(("pitch", "roll"), [(0.0, 0.0), (5.0, -3.0), (0.001, 0.0), (-30.0, 50.0)])
def test_round_edges_agree_with_adaptive_quadrature(pitch, roll):
    t, n = tank(SHAPES["box with round edges"]), geo.up(pitch, roll)

    def cut(y):  # how far the corner takes back the end walls at the distance y from the side
        return 1.2 - half(1.2, 1.2 - min(y, 7.0 - y)) if min(y, 7.0 - y) < 1.2 else 0.0

    low, high = t.span(n)
    for c in low + np.array([0.03, 0.21, 0.5, 0.77, 0.98]) * (high - low):
        pieces = [by_slices(cut, lambda y: 12.0 - cut(y), a, b, 6.0, (n[0], n[1], n[2]), c) for a, b in [(0, 1.2), (1.2, 5.8), (5.8, 7)]]
        assert t.vol(c, n)[0] == pytest.approx(sum(p[0] for p in pieces), abs=1e-10 * t.capacity_l)


def inside_l(p):
    x, z = p[:, 0], p[:, 2]
    return ((x < 9) & (z < 3)) | ((x < 4) & (z < 7))


def inside_holed(p):
    y, z = p[:, 1], p[:, 2]
    return (y < 6 + z / 5) & (z < 5) & (np.hypot(y - 3.0, z - 2.5) > 1.0)


@pytest.mark.parametrize(("pitch", "roll"), [(0.0, 0.0), (6.0, -4.0), (-25.0, 60.0)])
@pytest.mark.parametrize(
    ("name", "inside", "box"), [("l shape", inside_l, (9, 8, 7)), ("section with a hole", inside_holed, (8, 7, 5))]
)  # fmt: skip
def test_drawn_sections_agree_with_random_points(name, inside, box, pitch, roll):
    t, n = tank(SHAPES[name]), geo.up(pitch, roll)
    low, high = t.span(n)
    for share in (0.2, 0.5, 0.8):
        c = low + share * (high - low)
        want, error = random_points(inside, (0, 0, 0), box, n, c, 200_000, seed=11)
        assert abs(t.vol(c, n)[0] - want) <= 3.0 * error


def test_a_lying_cylinder_agrees_with_the_reference_library():
    """`fluids.TANK`, flat ends, 1,000 levels from 0.8 to 99.2 % of the depth, relative; the rest in parts of the capacity."""
    t, other = tank((1, geo.horizontal_cylinder(6.0, 12.0))), fluids.TANK(D=6.0, L=12.0, horizontal=True)
    h = np.linspace(0.008, 0.992, 1000) * 6.0
    want = np.array([other.V_from_h(x) for x in h])
    assert t.vol(h, LEVEL)[0] == pytest.approx(want, rel=1e-12)
    h = np.concatenate([np.geomspace(1e-6, 0.008, 50), 1.0 - np.geomspace(1e-6, 0.008, 50)]) * 6.0
    want = np.array([other.V_from_h(x) for x in h])
    assert t.vol(h, LEVEL)[0] == pytest.approx(want, abs=1e-12 * t.capacity_l)


def test_an_obround_at_level_is_its_box_and_its_two_half_rounds():
    t = tank(SHAPES["obround"])
    x = (1.5 - 2.5) / 2.5
    rounds = 2.5**2 * (np.arccos(-x) + x * np.sqrt(1.0 - x * x))
    assert t.vol(1.5, LEVEL)[0] == pytest.approx(16.0 * (5.0 * 1.5 + rounds), rel=1e-13)
    assert t.capacity_l == pytest.approx(16.0 * (25.0 + np.pi * 2.5**2), rel=1e-14)


def test_a_circle_drawn_in_arcs_is_the_ellipse_of_equal_axes():
    arcs = geo.LineArc([[geo.Arc(3.0, 4.0, 2.0, 0.7, 2.9), geo.Arc(3.0, 4.0, 2.0, 2.9, 0.7 + TURN)]])
    drawn, round_ = tank((1, geo.lying(arcs, 9.0))), tank((1, geo.lying(geo.Ellipse(2.0, 2.0, 3.0, 4.0), 9.0)))
    n = directions(5, 300)
    c = np.random.default_rng(6).uniform(-6, 9, 300)
    assert drawn.vol(c, n)[0] == pytest.approx(round_.vol(c, n)[0], abs=1e-13 * round_.capacity_l)


def test_an_inward_arc_takes_away_what_an_outward_one_adds():
    def slab(t0, t1):
        edges = [
            geo.Line(0, 0, 6, 0),
            geo.Line(6, 0, 6, 4),
            geo.Line(6, 4, 5, 4),
            geo.Arc(3, 4, 2, t0, t1),
            geo.Line(1, 4, 0, 4),
            geo.Line(0, 4, 0, 0),
        ]
        return tank((1, geo.lying(geo.LineArc([edges]), 3.0)))

    assert slab(0.0, np.pi).capacity_l == pytest.approx(3.0 * (24.0 + 2.0 * np.pi), rel=1e-14)
    dented = slab(0.0, -np.pi)
    assert dented.capacity_l == pytest.approx(3.0 * (24.0 - 2.0 * np.pi), rel=1e-14)
    assert dented.vol(4.0, LEVEL)[0] == pytest.approx(dented.capacity_l, rel=1e-14)
    assert dented.vol(2.0, LEVEL)[0] == pytest.approx(36.0, rel=1e-14)


def test_an_outline_drawn_the_other_way_round_is_the_same_tank():
    corners = [(0, 0), (9, 0), (9, 3), (4, 3), (4, 7), (0, 7)]
    assert geo.LineArc([geo.polygon(corners[::-1])]).area == geo.LineArc([geo.polygon(corners)]).area == 43.0


def test_every_reading_may_have_its_own_slope():
    t = tank(SHAPES["obround"], (-1, geo.upright_cylinder(1.0, 2.0, at=(5.0, 5.0, 1.0))))
    n, c = directions(8, 40), np.linspace(-5, 9, 40)
    together, surface = t.vol(c, n)
    alone = [t.vol(float(x), m) for x, m in zip(c, n, strict=True)]
    assert together == pytest.approx([v for v, _ in alone], abs=1e-12 * t.capacity_l)
    assert surface == pytest.approx([a for _, a in alone], abs=1e-9 * t.capacity_l)
    assert t.vol(np.zeros((3, 1)), n[:5])[0].shape == (3, 5)
    assert isinstance(t.vol(1.0, LEVEL)[0], float)


def test_many_readings_worked_in_blocks_are_the_same_as_few():
    t, n = tank(SHAPES["lying cylinder"]), geo.up(2.0, 1.0)
    c = np.linspace(*t.span(n), 40_001)
    assert t.vol(c, n)[0][::500] == pytest.approx(t.vol(c[::500], n)[0], rel=1e-15)


def test_what_stands_at_the_bottom_raises_the_lowest_point_of_the_inside():
    t = tank((1, geo.box(4, 4, 5)), (-1, geo.box(4, 4, 1)))
    assert t.span(LEVEL) == pytest.approx((1.0, 5.0), abs=1e-12)
    assert t.curve().volume_l(100.0) == pytest.approx(16.0, rel=1e-12)


@pytest.mark.parametrize(
    "build",
    [
        lambda: geo.box(0.0, 1.0, 1.0),
        lambda: geo.box(1.0, 1.0, -1.0),
        lambda: geo.box(4.0, 4.0, 4.0, corner=2.1),
        lambda: geo.upright_cylinder(float("nan"), 1.0),
        lambda: geo.horizontal_cylinder(1.0, float("nan")),
        lambda: geo.horizontal_cylinder(1.0, 1.0, "w"),
        lambda: geo.LineArc([]),
        lambda: geo.LineArc([[geo.Line(0, 0, 1, 0), geo.Line(1, 0, 1, 1)]]),
        lambda: geo.LineArc([[geo.Line(0, 0, 1, 0), geo.Line(1, 0, 0, 0)]]),
        lambda: geo.Tank([(1, geo.box(1, 1, 1)), (-1, geo.box(2, 1, 1))]),
    ],
)
def test_a_body_that_cannot_be_is_refused(build):
    with pytest.raises(BadInput):
        build()


@pytest.mark.parametrize(("c", "n"), [(float("nan"), (0, 0, 1)), (1.0, (0, 0, 2)), (1.0, (0, float("nan"), 1))])
def test_a_plane_that_is_none_is_refused(c, n):
    with pytest.raises(BadInput):
        geo.Tank([SHAPES["box"]]).vol(c, np.array(n, dtype=float))
