"""The cut of a tank: it shows the whole depth, and what is wet in it has the area that its outline gives."""

import math

import pytest

from fluidapp.calc import dipchart, picture

HOPPER = 'body = { shape = "hopper", length = 900, width = 600, height = 700, bottom_length = 300, bottom_width = 200, walls = 300 }'
V = 'body = { shape = "hopper", length = 900, width = 600, height = 400, bottom_length = 900, bottom_width = 0 }'
SPHERE = 'body = { shape = "sphere", diameter = 700 }'
SLOPED = 'body = { shape = "sloped floor", length = 900, width = 600, height = 500, rise_forward = 200 }'


def glass(x: float, y: float) -> str:
    return f'{{ name = "glass", kind = "sight glass", at = [{x}, {y}, 0] }}'


def area(loop: picture.Loop) -> float:
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(loop, (*loop[1:], loop[0]), strict=True))) / 2


def drawn(one, body, level_mm, gauge=(0, 300), view="side"):
    part = one(body=body, gauge=glass(*gauge)).compartment("tank")
    return picture.tank(part, dipchart.as_asked(part, "glass", level_mm), level_mm, view)


@pytest.mark.parametrize(
    ("body", "view", "level_mm", "wet_mm2"),
    [
        (HOPPER, "side", 200.0, 200 * (300 + 600) / 2),  # trapezoids and triangles, by hand
        (HOPPER, "behind", 500.0, 400 * (200 + 600) / 2 + 100 * 600),
        (V, "side", 100.0, 100 * 900),
        (V, "behind", 100.0, 100 * 150 / 2),
        (SLOPED, "side", 100.0, 100 * 450 / 2),
    ],
)
def test_what_is_wet_in_the_cut_has_the_area_of_its_outline(one, body, view, level_mm, wet_mm2):
    found = drawn(one, body, level_mm, view=view)
    assert sum(map(area, found.liquid)) == pytest.approx(wet_mm2, rel=1e-9)
    assert found.level_mm == pytest.approx(level_mm)


def test_a_half_full_sphere_is_half_a_circle_in_its_middle(one):
    """Drawn with 46 corners to the turn: half a regular polygon, 0.3 % less than half the circle."""
    found = drawn(one, SPHERE, 350.0, gauge=(0, 0))
    assert sum(map(area, found.liquid)) == pytest.approx(46 / 4 * 350**2 * math.sin(2 * math.pi / 46), rel=1e-9)


@pytest.mark.parametrize(("body", "gauge"), [(HOPPER, (0, 20)), (SPHERE, (0, 300))])
def test_a_gauge_at_the_rim_does_not_hide_the_depth_of_the_middle(one, body, gauge):
    found = drawn(one, body, 100.0, gauge=gauge)
    assert (found.low_mm, found.high_mm) == (pytest.approx(0.0, abs=1e-6), pytest.approx(700.0))


def test_where_the_gauge_sees_the_whole_depth_the_cut_goes_through_it(one):
    """A step in the roof: 600 mm high behind, 300 mm in front; the gauge stands in the low half, which is left of a high one."""
    step = (
        'body = { shape = "section", axis = "x", length = 500, outline = '
        "[{ to = [0, 0] }, { to = [1000, 0] }, { to = [1000, 600] }, { to = [700, 600] }, { to = [700, 570] }, { to = [0, 570] }] }"
    )
    assert drawn(one, step, 100.0, gauge=(0, 300)).high_mm == pytest.approx(570.0)
    assert drawn(one, step, 100.0, gauge=(0, 900)).high_mm == pytest.approx(600.0)
