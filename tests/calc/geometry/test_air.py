"""Where a tilted tank keeps air."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo

STEP = geo.Tank([(1, geo.lying(geo.LineArc([geo.polygon([(0, 0), (9, 0), (9, 3), (4, 3), (4, 7), (0, 7)])]), 8.0, "y"))])  # low roof ahead
CONVEX = {
    "box": geo.box(12, 7, 6, corner=1.0),
    "lying cylinder": geo.horizontal_cylinder(6, 12),
    "dished ends": geo.lying_tank(4, 9, "torispherical"),
    "obround": geo.obround(10, 5, 16),
    "hopper": geo.hopper(6, 5, 2, 2, 4),
}


@pytest.mark.parametrize("name", CONVEX)
def test_a_convex_tank_never_keeps_air(name):
    tank = geo.Tank([(1, CONVEX[name])])
    for pitch, roll in [(0, 0), (3, -2), (-20, 35), (0.01, 0), (0, 90)]:
        assert len(tank.air_pockets(geo.up(pitch, roll))) == 0


def test_a_low_roof_keeps_air_when_its_end_is_lifted():
    places = STEP.air_pockets(geo.up(10.0, 0.0))
    assert places.shape == (1, 3)
    assert places[0, [0, 2]] == pytest.approx([9.0, 3.0], abs=1e-9)


def test_a_low_roof_drains_its_air_into_the_high_one_when_that_is_lifted_or_level():
    assert len(STEP.air_pockets(geo.up(-10.0, 0.0))) == 0
    assert len(STEP.air_pockets(geo.up(0.0, 0.0))) == 0


def test_a_hump_in_the_floor_keeps_no_air():
    hump = geo.LineArc(
        [[geo.Line(0, 0, 2, 0), geo.Arc(4, 0, 2, np.pi, 0), geo.Line(6, 0, 8, 0), *geo.polygon([(8, 0), (8, 5), (0, 5), (0, 0)])[:3]]]
    )
    assert len(geo.Tank([(1, geo.lying(hump, 6.0, "y"))]).air_pockets(geo.up(2.0, 1.0))) == 0


def test_two_humps_in_the_roof_keep_air_in_the_lower_one():
    roof = [(0, 0), (8, 0), (8, 3), (6, 5), (4, 3), (2, 4), (0, 3)]
    tank = geo.Tank([(1, geo.lying(geo.LineArc([geo.polygon(roof)]), 6.0, "y"))])
    places = tank.air_pockets(geo.up(0.0, 0.0))
    assert places[:, [0, 2]] == pytest.approx(np.array([[2.0, 4.0]]), abs=1e-9)


def test_a_pyramid_pressed_up_into_the_floor_keeps_no_air():
    """Its top is higher than all around it, but the oil is above it, not below."""
    floor, roof = [(0, 0, 0), (6, 0, 0), (6, 5, 0), (0, 5, 0)], [(0, 0, 4), (6, 0, 4), (6, 5, 4), (0, 5, 4)]
    faces = geo.prismatoid(floor, roof).facets(0)
    walls = faces[~np.all(faces[:, :, 2] == 0.0, axis=1)]
    dent = [(floor[i], (3.0, 2.5, 1.0), floor[(i + 1) % 4]) for i in range(4)]
    tank = geo.Tank([(1, geo.Mesh([*walls.tolist(), *dent]))])
    assert tank.capacity_l == pytest.approx(120.0 - 10.0, rel=1e-13)
    assert len(tank.air_pockets(geo.up(2.0, 1.0))) == 0
