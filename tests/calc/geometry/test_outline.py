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
