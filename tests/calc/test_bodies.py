"""Shapes of the record become the parts they name, where they stand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from fluidapp.calc import bodies
from fluidapp.calc import geometry as geo
from fluidapp.errors import CannotAnswer
from fluidapp.model import (
    Box,
    Deadwood,
    Elliptical,
    Frustum,
    Hopper,
    Lying,
    Mesh,
    Obround,
    Section,
    Shape,
    SlopedFloor,
    Sphere,
    Upright,
)

LEVEL = geo.up(0.0, 0.0)
SIDE = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 300.0), (500.0, 300.0), (500.0, 600.0), (0.0, 600.0)]  # a low roof ahead
STEP = Mesh(
    shape="mesh",
    corners=(*((x, 0.0, z) for x, z in SIDE), *((x, 500.0, z) for x, z in SIDE)),
    faces=((1, 2, 3, 4, 5, 6), (12, 11, 10, 9, 8, 7), *((k, k + 6, k % 6 + 7, k % 6 + 1) for k in range(1, 7))),
    at=(10.0, 20.0, 30.0),
)


def extent(solid):
    """Low and high corner of the box round a body, in mm, by looking along the three axes."""
    part = bodies.part(solid)
    return [(100.0 * part.crit(axis).min(), 100.0 * part.crit(axis).max()) for axis in np.eye(3)]


@pytest.mark.parametrize(
    ("solid", "want", "litres"),
    [
        (Box(shape="box", length=1200.0, width=700.0, height=600.0, at=(10.0, 20.0, 30.0)), [(10, 1210), (20, 720), (30, 630)], 504.0),
        (Upright(shape="upright", diameter=400.0, height=600.0, at=(10.0, 20.0, 30.0)), [(-190, 210), (-180, 220), (30, 630)], 24 * np.pi),
        (
            Lying(shape="horizontal cylinder", diameter=400.0, length=900.0, at=(10.0, 20.0, 30.0)),
            [(10, 910), (-180, 220), (30, 430)],
            36 * np.pi,
        ),
        (
            Lying(shape="horizontal cylinder", diameter=400.0, length=900.0, axis="y", at=(10.0, 20.0, 30.0)),
            [(-190, 210), (20, 920), (30, 430)],
            36 * np.pi,
        ),
        (
            Lying(shape="horizontal cylinder", diameter=400.0, length=900.0, heads="spherical", head_depth=200.0),
            [(-200, 1100), (-200, 200), (0, 400)],
            36 * np.pi + 4 / 3 * np.pi * 8,
        ),
        (
            Lying(shape="horizontal cylinder", diameter=400.0, length=900.0, heads="ellipsoidal 2:1"),
            [(-100, 1000), (-200, 200), (0, 400)],
            36 * np.pi + 4 / 3 * np.pi * 4,
        ),
        (
            Obround(shape="obround", length=1600.0, width=1000.0, height=500.0, at=(10.0, 20.0, 30.0)),
            [(10, 1610), (20, 1020), (30, 530)],
            16 * (25 + np.pi * 6.25),
        ),
        (
            Obround(shape="obround", length=1000.0, width=1600.0, height=500.0, axis="y", at=(10.0, 20.0, 30.0)),
            [(10, 1010), (20, 1620), (30, 530)],
            16 * (25 + np.pi * 6.25),
        ),
        (
            Elliptical(shape="elliptical", length=1000.0, width=500.0, height=1600.0, axis="z", at=(10.0, 20.0, 30.0)),
            [(10, 1010), (20, 520), (30, 1630)],
            16 * np.pi * 12.5,
        ),
        (  # cone below, half sphere above: school formulas
            Upright(
                shape="upright",
                diameter=400.0,
                height=600.0,
                bottom_head="conical",
                bottom_depth=150.0,
                top_head="spherical",
                top_depth=200.0,
                at=(10.0, 20.0, 30.0),
            ),
            [(-190, 210), (-180, 220), (30, 980)],
            24 * np.pi + 2 * np.pi + 2 / 3 * np.pi * 8,
        ),
        (
            Upright(shape="upright", diameter=400.0, height=600.0, bottom_head="ellipsoidal 2:1", top_head="ellipsoidal", top_depth=50.0),
            [(-200, 200), (-200, 200), (0, 750)],
            24 * np.pi + 2 / 3 * np.pi * 4 * (1 + 0.5),
        ),
        (  # frustum of a cone: pi h (R^2 + R r + r^2)/3, from memory
            Frustum(shape="cone", bottom_diameter=200.0, top_diameter=600.0, height=900.0, walls=500.0, at=(10.0, 20.0, 30.0)),
            [(-290, 310), (-280, 320), (30, 930)],
            np.pi * 4 / 3 * (9 + 3 + 1) + np.pi * 9 * 5,
        ),
        (Frustum(shape="cone", bottom_diameter=600.0, top_diameter=0.0, height=400.0), [(-300, 300), (-300, 300), (0, 400)], 12 * np.pi),
        (Sphere(shape="sphere", diameter=600.0, at=(10.0, 20.0, 30.0)), [(-290, 310), (-280, 320), (30, 630)], 36 * np.pi),
        (  # prismatoid: h/6 (lower + 4 middle + upper), from memory
            Hopper(
                shape="hopper",
                length=1000.0,
                width=600.0,
                height=700.0,
                bottom_length=400.0,
                bottom_width=200.0,
                walls=300.0,
                at=(10.0, 20.0, 30.0),
            ),
            [(10, 1010), (20, 620), (30, 730)],
            4 / 6 * (8 + 4 * 7 * 4 + 60) + 60 * 3,
        ),
        (  # wider below: h/6 (lower + 4 middle + upper) again
            Hopper(
                shape="hopper", length=400.0, width=200.0, height=600.0, bottom_length=1000.0, bottom_width=600.0, at=(10.0, 20.0, 30.0)
            ),
            [(10, 1010), (20, 620), (30, 630)],
            8 + 4 * 7 * 4 + 60,
        ),
        (
            Hopper(shape="hopper", length=1000.0, width=600.0, height=500.0, bottom_length=1000.0, bottom_width=0.0),
            [(0, 1000), (0, 600), (0, 500)],
            10 * 6 * 5 / 2,
        ),
        (
            Hopper(shape="hopper", length=1000.0, width=600.0, height=500.0, bottom_length=0.0, bottom_width=0.0, walls=200.0),
            [(0, 1000), (0, 600), (0, 500)],
            10 * 6 * 3 / 3 + 10 * 6 * 2,
        ),
        (
            SlopedFloor(shape="sloped floor", length=1000.0, width=600.0, height=500.0, rise_forward=-100.0, at=(10.0, 20.0, 30.0)),
            [(10, 1010), (20, 620), (30, 530)],
            10 * 6 * (5 - 0.5),
        ),
        (
            SlopedFloor(shape="sloped floor", length=1000.0, width=600.0, height=500.0, rise_forward=200.0, rise_left=-300.0),
            [(0, 1000), (0, 600), (0, 500)],
            10 * 6 * (5 - 2.5),
        ),
        (  # wedge: its floor reaches the roof
            SlopedFloor(shape="sloped floor", length=1000.0, width=600.0, height=500.0, rise_left=500.0),
            [(0, 1000), (0, 600), (0, 500)],
            10 * 6 * 5 / 2,
        ),
        (STEP, [(10, 1210), (20, 520), (30, 630)], 5 * (12 * 3 + 5 * 3)),
    ],
)
def test_a_body_stands_where_the_record_says_and_holds_what_it_must(solid, want, litres):
    for found, wanted in zip(extent(solid), want, strict=True):
        assert found == pytest.approx(wanted, abs=1e-6)
    assert bodies.part(solid).total == pytest.approx(litres, rel=1e-12)


def outline(*edges):
    return Section(shape="section", outline=edges, length=1000.0, axis="y", at=(0.0, 0.0, 0.0))


def test_a_drawn_outline_with_an_outward_arc_holds_the_segment_more():
    """600 x 400 mm with a half-round roof of radius 300, 1 m long."""
    section = outline({"to": (0.0, 0.0)}, {"to": (600.0, 0.0)}, {"to": (600.0, 400.0)}, {"to": (0.0, 400.0), "radius": 300.0})
    assert bodies.part(section).total == pytest.approx(10.0 * (24.0 + 0.5 * np.pi * 9.0), rel=1e-12)
    assert extent(section)[2] == pytest.approx((0.0, 700.0), abs=1e-6)


def test_an_inward_arc_takes_the_segment_away():
    section = outline({"to": (0.0, 0.0)}, {"to": (600.0, 0.0)}, {"to": (600.0, 400.0)}, {"to": (0.0, 400.0), "radius": -300.0})
    assert bodies.part(section).total == pytest.approx(10.0 * (24.0 - 0.5 * np.pi * 9.0), rel=1e-12)


def test_an_arc_that_does_not_reach_is_refused_with_its_numbers():
    section = outline({"to": (0.0, 0.0)}, {"to": (600.0, 0.0)}, {"to": (600.0, 400.0)}, {"to": (0.0, 400.0), "radius": 299.0})
    with pytest.raises(CannotAnswer, match="299"):
        bodies.part(section)


def test_deadwood_is_missing_in_proportion_between_its_heights():
    box = Box(shape="box", length=1200.0, width=700.0, height=600.0)
    tank = bodies.tank(box, (Deadwood(volume=5.0, bottom=100.0, top=400.0),))
    assert tank.capacity_l == pytest.approx(499.0, rel=1e-14)
    assert tank.vol(2.5, LEVEL)[0] == pytest.approx(84.0 * 2.5 - 2.5, rel=1e-14)
    assert tank.curve().volume_l(250.0) == pytest.approx(207.5, rel=1e-10)


def test_a_body_in_a_body_is_taken_away():
    box = Box(shape="box", length=1200.0, width=700.0, height=600.0)
    inner = Upright(shape="upright", diameter=200.0, height=300.0, at=(600.0, 300.0, 100.0))
    assert bodies.tank(box, (inner,)).vol(2.0, LEVEL)[0] == pytest.approx(168.0 - np.pi, rel=1e-13)


def scaled(value, k):
    """Every length times ``k``: numbers of a record, except ratios and the numbers of corners."""
    if isinstance(value, dict):
        return {name: one if name in ("dish", "knuckle", "faces") else scaled(one, k) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [scaled(one, k) for one in value]
    return k * value if isinstance(value, float) else value


SIMILAR = (
    Upright(shape="upright", diameter=400.0, height=600.0, bottom_head="torispherical", top_head="conical", top_depth=90.0),
    Lying(shape="horizontal cylinder", diameter=400.0, length=600.0, heads="spherical", head_depth=90.0),
    Frustum(shape="cone", bottom_diameter=200.0, top_diameter=600.0, height=900.0, walls=500.0),
    Sphere(shape="sphere", diameter=600.0),
    Hopper(shape="hopper", length=1000.0, width=600.0, height=700.0, bottom_length=400.0, bottom_width=0.0, walls=300.0),
    SlopedFloor(shape="sloped floor", length=1000.0, width=600.0, height=500.0, rise_forward=200.0, rise_left=-300.0),
    STEP,
)


@pytest.mark.parametrize("solid", SIMILAR, ids=lambda solid: solid.shape)
@given(k=st.floats(0.05, 20.0), share=st.floats(0.0, 1.0), pitch=st.floats(-40.0, 40.0), roll=st.floats(-40.0, 40.0))
@settings(max_examples=25)
def test_a_similar_tank_holds_the_cube_at_any_slope_and_level(solid, k, share, pitch, roll):
    larger = TypeAdapter(Shape).validate_python(scaled(solid.model_dump(exclude_none=True), k))
    one, other, n = bodies.tank(solid), bodies.tank(larger), geo.up(pitch, roll)
    low, high = one.span(n)
    c = low + share * (high - low)
    assert other.vol(k * c, n)[0] == pytest.approx(k**3 * one.vol(c, n)[0], rel=1e-9, abs=1e-10 * other.capacity_l)
