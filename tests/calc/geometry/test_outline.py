"""Pictures as data."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput


def area(loop):
    x, y = loop.T
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


def test_a_cut_through_a_box_is_its_rectangle():
    (loop,) = geo.outline(geo.box(12, 7, 6), (1, 1, 1), (1, 0, 0), geo.up(0, 0))
    assert sorted(loop.round(6).tolist()) == [[0, 0], [0, 600], [1200, 0], [1200, 600]]


def test_on_a_slope_the_picture_stands_in_true_heights():
    n = geo.up(5.0, 0.0)
    (loop,) = geo.outline(geo.box(12, 7, 6), (1, 1, 1), (1, 0, 0), n)
    assert loop[:, 1].max() == pytest.approx(100.0 * geo.Tank([(1, geo.box(12, 7, 6))]).span(n)[1], abs=1e-6)
    assert area(loop) == pytest.approx(1200.0 * 600.0, rel=1e-9)


@pytest.mark.parametrize(
    ("part", "across", "want"),
    [
        (geo.obround(10, 5, 16), (0, 1, 0), 1e4 * (25 + np.pi * 6.25)),
        (geo.horizontal_cylinder(6, 12), (0, 1, 0), 1e4 * np.pi * 9),
        (geo.elliptical_cylinder(10, 5, 16), (0, 1, 0), 1e4 * np.pi * 12.5),
    ],
)
def test_a_round_section_is_drawn_to_a_part_in_five_hundred_with_few_points(part, across, want):
    loops = geo.outline(part, (1, 1, 1), across, geo.up(0, 0))
    assert sum(len(loop) for loop in loops) <= 200
    assert sum(area(loop) for loop in loops) == pytest.approx(want, rel=2e-3)


def test_a_cut_beside_the_part_is_empty():
    assert geo.outline(geo.box(12, 7, 6), (0, 8, 0), (1, 0, 0), geo.up(0, 0)) == []


def test_a_cut_needs_a_level_direction():
    with pytest.raises(BadInput):
        geo.outline(geo.box(12, 7, 6), (0, 1, 0), (0, 0, 1), geo.up(0, 0))


def test_a_stepped_tank_is_drawn_with_its_step():
    part = geo.lying(geo.LineArc([geo.polygon([(0, 0), (9, 0), (9, 3), (4, 3), (4, 7), (0, 7)])]), 8.0, "y")
    (loop,) = geo.outline(part, (1, 4, 1), (1, 0, 0), geo.up(0, 0))
    assert area(loop) == pytest.approx(43.0e4, rel=1e-9)
    assert len(loop) == 6
    (across,) = geo.outline(part, (2, 4, 1), (0, 1, 0), geo.up(0, 0))
    assert area(across) == pytest.approx(56.0e4, rel=1e-9)


def test_a_tank_with_dished_ends_is_one_line():
    part = geo.lying_tank(13.0, 21.0, "torispherical")
    (loop,) = geo.outline(part, (5, 0.1, 5), (1, 0, 0), geo.up(3, 0))
    assert len(loop) <= 200
    rim = 2 * geo.head_depth("torispherical", 13.0)
    assert np.ptp(loop @ [np.cos(np.radians(3)), np.sin(np.radians(3))]) == pytest.approx(100 * (21.0 + rim), rel=2e-3)


def test_every_kind_of_part_can_be_drawn():
    for part in (
        geo.frustum(2, 5, 3),
        geo.sphere(3.0),
        geo.hopper(6, 5, 2, 2, 4),
        geo.Column(5, 1, 4),
        geo.upright_tank(3, 5, "conical", "flat", bottom_depth=1),
    ):
        middle = part.facets(24).reshape(-1, 3).mean(axis=0) + np.array([0.013, 0.017, 0.0])
        loops = geo.outline(part, middle, (1, 0.3, 0), geo.up(4, -3))
        assert loops
        assert sum(len(loop) for loop in loops) <= 200
