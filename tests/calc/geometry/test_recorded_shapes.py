"""Tilted hoppers, sloped floors, cones, spheres and upright tanks with ends as they are recorded, against other ways to their litres.

Lengths in mm in the records, in dm beside them.
"""

from itertools import pairwise

import numpy as np
import pytest
from geometry_oracles import by_discs, by_slices, random_points, wet_rectangle
from scipy.integrate import quad

from fluidapp.calc import bodies
from fluidapp.calc import geometry as geo
from fluidapp.model import Frustum, Hopper, Mesh, Section, SlopedFloor, Sphere, Upright

SLOPES = [(5.0, -3.0), (-25.0, 40.0), (0.5, 12.0)]
LEVELS = (0.03, 0.3, 0.55, 0.8, 0.98)
AT = (1.0, -2.0, 3.0)
AT_MM = (100.0, -200.0, 300.0)


def levels(tank, n):
    low, high = tank.span(n)
    return [low + share * (high - low) for share in LEVELS]


@pytest.mark.parametrize("slope", SLOPES)
def test_a_tilted_sphere_is_a_cap_of_the_textbook(slope):
    """pi h^2 (3 R - h)/3 at every slope (from memory)."""
    tank, n = bodies.tank(Sphere(shape="sphere", diameter=700.0, at=AT_MM)), geo.up(*slope)
    for c in levels(tank, n):
        h = c - (n @ np.add(AT, (0, 0, 3.5)) - 3.5)
        assert tank.vol(c, n)[0] == pytest.approx(np.pi * h * h * (3 * 3.5 - h) / 3, abs=1e-10 * tank.capacity_l)


def cone_radius(s):
    return 0.5 + 2.5 * s / 4.0 if s < 4.0 else 3.0


def two_ends_radius(s):
    """Cone of depth 1.5 below, shell of 6, half ellipsoid of height 1 above, on a diameter of 4."""
    if s < 1.5:
        return 2.0 * s / 1.5
    return 2.0 if s < 7.5 else 2.0 * np.sqrt(max(1.0 - (s - 7.5) ** 2, 0.0))


CONE = Frustum(shape="cone", bottom_diameter=100.0, top_diameter=600.0, height=700.0, walls=300.0, at=AT_MM)
STANDING = Upright(
    shape="upright", diameter=400.0, height=600.0, bottom_head="conical", bottom_depth=150.0, top_head="ellipsoidal 2:1", at=AT_MM
)
ROUND = {"cone with walls": (CONE, cone_radius, [0, 4, 7]), "upright with ends": (STANDING, two_ends_radius, [0, 1.5, 7.5, 8.5])}


@pytest.mark.parametrize("slope", SLOPES)
@pytest.mark.parametrize("name", ROUND)
def test_a_tilted_round_tank_agrees_with_adaptive_quadrature_of_its_discs(name, slope):
    solid, radius, breaks = ROUND[name]
    tank, n = bodies.tank(solid), geo.up(*slope)
    for c in levels(tank, n):
        want, error = by_discs(radius, breaks, n[2], c - n @ np.array(AT))
        assert error < 1e-10 * tank.capacity_l
        assert tank.vol(c, n)[0] == pytest.approx(want, abs=1e-10 * tank.capacity_l)


HOPPERS = {
    "hopper with walls": ((900.0, 600.0), (300.0, 200.0), 700.0, 300.0),
    "point": ((900.0, 600.0), (0.0, 0.0), 400.0, 0.0),
    "V": ((900.0, 600.0), (900.0, 0.0), 500.0, 100.0),
    "wider below": ((300.0, 200.0), (900.0, 600.0), 400.0, 0.0),
}


@pytest.mark.parametrize("slope", SLOPES)
@pytest.mark.parametrize("name", HOPPERS)
def test_a_tilted_hopper_agrees_with_adaptive_quadrature_of_its_level_rectangles(name, slope):
    mouth, floor, height, walls = HOPPERS[name]
    record = Hopper(
        shape="hopper", length=mouth[0], width=mouth[1], bottom_length=floor[0], bottom_width=floor[1], height=height, walls=walls, at=AT_MM
    )
    tank, n = bodies.tank(record), geo.up(*slope)
    box, slopes = np.maximum(mouth, floor) / 100, (height - walls) / 100

    def rectangle(z, k):
        share = min(z / slopes, 1.0)
        size = [(f + (m - f) * share) / 100 for f, m in zip(floor, mouth, strict=True)]
        corner = (box - size) / 2
        return wet_rectangle(*size, n[0], n[1], k - n[2] * z - n[:2] @ corner)

    for c in levels(tank, n):
        k = c - n @ np.array(AT)
        edges = np.unique(np.concatenate([np.linspace(0.0, slopes, 65), np.linspace(slopes, height / 100, 9)]))
        want = sum(quad(rectangle, a, b, args=(k,), epsabs=1e-12, epsrel=1e-11, limit=200)[0] for a, b in pairwise(edges))
        assert tank.vol(c, n)[0] == pytest.approx(want, abs=1e-10 * tank.capacity_l)


@pytest.mark.parametrize("slope", SLOPES)
def test_a_tilted_floor_that_slopes_one_way_agrees_with_adaptive_quadrature(slope):
    """Sections at a height are rectangles from the sloping floor to the front wall; 9 x 6 x 5 dm, the floor 2 dm higher at the rear."""
    record = SlopedFloor(shape="sloped floor", length=900.0, width=600.0, height=500.0, rise_forward=-200.0, at=AT_MM)
    tank, n = bodies.tank(record), geo.up(*slope)
    for c in levels(tank, n):
        want, error = by_slices(
            lambda z: 9.0 * max(1.0 - z / 2.0, 0.0), lambda z: 9.0, 0.0, 5.0, 6.0, (n[0], n[2], n[1]), c - n @ np.array(AT)
        )
        assert error < 1e-9
        assert tank.vol(c, n)[0] == pytest.approx(want, abs=1e-10 * tank.capacity_l)


@pytest.mark.parametrize("slope", SLOPES)
def test_a_tilted_floor_that_slopes_both_ways_agrees_with_random_points(slope):
    record = SlopedFloor(shape="sloped floor", length=900.0, width=600.0, height=500.0, rise_forward=100.0, rise_left=-150.0)
    tank, n = bodies.tank(record), geo.up(*slope)

    def inside(p):
        return p[:, 2] > 1.0 * p[:, 0] / 9.0 + 1.5 * (1.0 - p[:, 1] / 6.0)

    for c in levels(tank, n)[1:-1]:
        want, error = random_points(inside, (0, 0, 0), (9, 6, 5), n, c, 200_000, seed=11)
        assert abs(tank.vol(c, n)[0] - want) <= 3.0 * error


def test_faces_with_many_corners_hold_what_the_same_outline_drawn_out_holds():
    side = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 300.0), (500.0, 300.0), (500.0, 600.0), (0.0, 600.0)]
    mesh = Mesh(
        shape="mesh",
        corners=(*((x, 0.0, z) for x, z in side), *((x, 500.0, z) for x, z in side)),
        faces=((1, 2, 3, 4, 5, 6), (12, 11, 10, 9, 8, 7), *((k, k + 6, k % 6 + 7, k % 6 + 1) for k in range(1, 7))),
        at=AT_MM,
    )
    drawn = Section(shape="section", outline=[{"to": corner} for corner in side], length=500.0, axis="y", at=AT_MM)
    one, two = bodies.tank(mesh), bodies.tank(drawn)
    for n in np.random.default_rng(8).normal(size=(60, 3)):
        n /= np.linalg.norm(n)
        c = np.linspace(*two.span(n), 21)
        assert one.vol(c, n)[0] == pytest.approx(two.vol(c, n)[0], abs=1e-12 * two.capacity_l)


@pytest.mark.parametrize("slope", [(0.0, 0.0), (3.0, -2.0), (-35.0, 20.0)])
@pytest.mark.parametrize("name", HOPPERS)
def test_the_curve_of_every_hopper_is_its_exact_volume(name, slope):
    mouth, floor, height, walls = HOPPERS[name]
    record = Hopper(
        shape="hopper", length=mouth[0], width=mouth[1], bottom_length=floor[0], bottom_width=floor[1], height=height, walls=walls
    )
    tank, n = bodies.tank(record), geo.up(*slope)
    curve = tank.curve(*slope)
    level = np.linspace(0, curve.high_mm, 1001)
    exact = tank.vol(curve.bottom_c_dm + level / 100, n)[0]
    assert np.max(np.abs(curve.volume_l(level) - exact)) <= 1e-10 * tank.capacity_l
