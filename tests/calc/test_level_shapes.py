"""Tanks of every shape, from their file to litres: printed volumes, and readings that come back."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp.calc import dipchart, level
from fluidapp.errors import OutOfRange
from fluidapp.model import Reading

LYING = 'body = { shape = "horizontal cylinder", diameter = 600, length = 1200, at = [0, 300, 0] }'
TUBE = '{ name = "tube", kind = "sight glass", at = [600, 300, 0] }'


def at(level_mm=None, **fields):
    return Reading(level=level_mm, **fields)


PUBLISHED_BODIES = {
    "horizontal": 'body = {{ shape = "horizontal cylinder", diameter = {d}, length = {length} }}',
    "upright": 'body = {{ shape = "upright", diameter = {d}, height = {height} }}',
    "box": 'body = {{ shape = "box", length = {length}, width = {width}, height = {height} }}',
    "ring": 'body = {{ shape = "upright", diameter = {d}, height = {height} }}\n'
    'minus = [{{ shape = "upright", diameter = {inner}, height = {height} }}]',
    "lying": 'body = {{ shape = "horizontal cylinder", diameter = {d}, length = {length}, heads = "{heads}"{more} }}',
    "hopper": 'body = {{ shape = "hopper", length = {length}, width = {width}, bottom_length = {floor_length}, '
    "bottom_width = {floor_width}, height = {height} }}",
    "cone": 'body = {{ shape = "cone", bottom_diameter = 0, top_diameter = {d}, height = {height} }}',
    "standing": 'body = {{ shape = "upright", diameter = {d}, height = {twice}, bottom_head = "{heads}"{more} }}',
    "standing two": 'body = {{ shape = "upright", diameter = {d}, height = {height}, bottom_head = "spherical", bottom_depth = {below}, '
    'top_head = "spherical", top_depth = {above} }}',
    "cut cylinder": 'body = {{ shape = "upright", diameter = {d}, height = {high} }}',
}


@pytest.mark.published("geometry", shape=tuple(PUBLISHED_BODIES))
def test_a_printed_volume_comes_out_of_the_whole_chain(case, one):
    """Figures of handbooks, in their own unit of length; a machine's file is in mm."""
    g = dict(case["given"])
    per, shape, heads = g.pop("per", 1.0), g.pop("shape"), g.pop("heads", "flat")
    mm = {name: size * 25.4 for name, size in g.items()}
    field = "bottom_depth" if shape == "standing" else "head_depth"
    depth = f", {field} = {mm['depth']}" if "depth" in mm else ""
    body = PUBLISHED_BODIES[shape].format(**mm, twice=2 * mm.get("d", 0.0), heads=heads, more=depth)
    machine = one(body=body, gauge='{ name = "tube", kind = "sight glass", at = [0, 0, 0] }')
    if shape == "cut cylinder":
        lean = math.degrees(math.atan((mm["high"] - mm["low"]) / mm["d"]))
        reading = at((mm["low"] + mm["high"]) / 2, pitch_deg=lean)
    else:
        reading = at(mm.get("h", mm.get("height")))
    cubic_inches = level.volume(machine, "tank", reading).value_l / 0.016387064
    assert cubic_inches / per == pytest.approx(case["want"], abs=case["tol"], rel=0)


# a low roof ahead
STEP = """body = { shape = "mesh", corners = [[0, 0, 0], [1200, 0, 0], [1200, 0, 300], [500, 0, 300], [500, 0, 600], [0, 0, 600],
[0, 500, 0], [1200, 500, 0], [1200, 500, 300], [500, 500, 300], [500, 500, 600], [0, 500, 600]], faces = [
[1, 2, 3, 4, 5, 6], [12, 11, 10, 9, 8, 7],
[1, 7, 8, 2], [2, 8, 9, 3], [3, 9, 10, 4], [4, 10, 11, 5], [5, 11, 12, 6], [6, 12, 7, 1]] }"""
SHAPES = {
    "box": 'body = { shape = "box", length = 1200, width = 700, height = 600, at = [-100, 50, 30] }',
    "round box": 'body = { shape = "box", length = 900, width = 500, height = 400, corner = 120 }',
    "upright": 'body = { shape = "upright", diameter = 500, height = 700, at = [10, 20, 5] }',
    "lying": LYING,
    "lying y": 'body = { shape = "horizontal cylinder", diameter = 600, length = 1200, axis = "y" }',
    "obround": 'body = { shape = "obround", length = 1600, width = 500, height = 1000 }',
    "elliptical": 'body = { shape = "elliptical", length = 1600, width = 700, height = 500 }',
    "section": 'body = { shape = "section", length = 500, outline = '
    "[{ to = [0, 0] }, { to = [300, 0] }, { to = [400, 200] }, { to = [300, 450], radius = 300 }, { to = [0, 400] }] }",
    "upright, dished": 'body = { shape = "upright", diameter = 500, height = 700, bottom_head = "torispherical", top_head = "conical", '
    "top_depth = 120, at = [10, 20, 5] }",
    "cone": 'body = { shape = "cone", bottom_diameter = 100, top_diameter = 600, height = 700, walls = 300 }',
    "sphere": 'body = { shape = "sphere", diameter = 700, at = [10, 20, 5] }',
    "hopper": 'body = { shape = "hopper", length = 900, width = 600, height = 700, bottom_length = 300, bottom_width = 200, walls = 300 }',
    "V": 'body = { shape = "hopper", length = 900, width = 600, height = 400, bottom_length = 900, bottom_width = 0 }',
    "point": 'body = { shape = "hopper", length = 900, width = 600, height = 400, bottom_length = 0, bottom_width = 0 }',
    "sloped floor": 'body = { shape = "sloped floor", length = 900, width = 600, height = 500, rise_forward = 100, rise_left = -150 }',
    "wedge": 'body = { shape = "sloped floor", length = 900, width = 600, height = 500, rise_forward = 500 }',
    "faces": STEP,
    "less a box": 'body = { shape = "box", length = 1200, width = 700, height = 600 }\n'
    'minus = [{ shape = "box", length = 300, width = 300, height = 200, at = [200, 200, 0] }]',
    "table": "table = [[0, 0], [50, 11], [100, 26], [150, 44], [200, 63], [250, 80]]",
}


@pytest.mark.parametrize("shape", SHAPES)
@given(share=st.floats(0, 1))
@settings(max_examples=40)
def test_the_reading_for_a_volume_gives_that_volume_back(one, shape, share):
    machine = one(body=SHAPES[shape], gauge='{ name = "tube", kind = "stick", tip = [0, 0, 10], angle = 20, toward = 30, start_mm = -500 }')
    tank = machine.compartment("tank")
    whole = level.capacity_l(tank)
    shown = level.reading_at(tank, share * whole)
    assert level.volume(machine, "tank", at(shown)).as_read_l == pytest.approx(share * whole, abs=2e-9 * whole)


@pytest.mark.parametrize("shape", SHAPES)
def test_no_reading_shows_more_than_the_tank_holds(one, shape):
    tank = one(body=SHAPES[shape], gauge=TUBE).compartment("tank")
    with pytest.raises(OutOfRange, match="volume"):
        level.reading_at(tank, level.capacity_l(tank) * 1.001)
    with pytest.raises(OutOfRange, match="volume"):
        level.reading_at(tank, -0.001)


def test_bodies_stand_where_the_file_says(one):
    """The gauge is at the rim or end of each body; the sloping plane through it decides whether the body was moved aside."""
    tilt = math.tan(math.radians(4.0))
    round_ = one(
        body='body = { shape = "upright", diameter = 600, height = 900, at = [1000, 0, 0] }', gauge=TUBE.replace("600, 300", "1300, 0")
    )
    found = level.volume(round_, "tank", at(400.0, pitch_deg=4.0)).as_read_l
    assert found == pytest.approx(math.pi * 9 * (4.0 + 3.0 * tilt), rel=1e-12)
    lying = one(body=LYING, gauge=TUBE)  # axis over y = 300: roll about it keeps half full
    assert level.volume(lying, "tank", at(300.0, roll_deg=4.0)).as_read_l == pytest.approx(math.pi * 9 * 12 / 2, rel=1e-9)
    across = one(body=LYING.replace("[0, 300, 0]", '[300, 0, 0], axis = "y"'), gauge=TUBE.replace("600, 300", "300, 0"))
    assert level.volume(across, "tank", at(300.0, pitch_deg=4.0)).as_read_l == pytest.approx(math.pi * 9 * 12 / 2, rel=1e-9)
    assert level.volume(across, "tank", at(300.0, roll_deg=-2.0)).as_read_l > math.pi * 9 * 12 / 2 * 1.05  # left, the far end, is low


def test_air_under_a_low_roof_is_told_of_when_its_end_is_lifted_and_the_oil_closes_it_off(one):
    machine = one(body=STEP, gauge=TUBE.replace("600, 300", "0, 250"))

    def told(level_mm, **slope):
        return any("air may stay" in remark for remark in level.volume(machine, "tank", at(level_mm, **slope)).remarks)

    assert told(400.0, pitch_deg=8.0, roll_deg=0.0)
    assert not told(400.0, pitch_deg=-8.0, roll_deg=0.0)  # the low end is down: its air leaves into the high one
    assert not told(100.0, pitch_deg=8.0, roll_deg=0.0)  # the oil is far below the low roof
    assert not told(400.0, pitch_deg=0.0, roll_deg=0.0)


@pytest.mark.parametrize("shape", ["upright, dished", "cone", "sphere", "hopper", "V", "point", "sloped floor", "wedge"])
def test_a_tank_that_bulges_nowhere_inwards_keeps_no_air(one, shape):
    machine = one(body=SHAPES[shape], gauge='{ name = "tube", kind = "sight glass", at = [0, 0, 0] }')
    found = level.volume(machine, "tank", at(350.0, pitch_deg=12.0, roll_deg=-7.0))
    assert not any("air may stay" in remark for remark in found.remarks)


@pytest.mark.parametrize("shape", ["upright, dished", "cone", "sphere", "hopper", "V", "point", "sloped floor", "wedge", "faces"])
def test_a_dip_chart_begins_and_ends_with_the_tank_and_never_falls(one, shape):
    gauge = '{ name = "tube", kind = "sight glass", at = [0, 0, 0], start_mm = -500, end_mm = 2000, bands = [{ low = 150, high = 250 }] }'
    machine = one(body=SHAPES[shape], gauge=gauge)
    rows = dipchart.dip_chart(machine, "tank").rows
    litres = [row.volume_l for row in rows]
    assert litres[0] == 0.0
    assert litres[-1] == pytest.approx(level.capacity_l(machine.compartment("tank")), rel=1e-12)
    assert all(above > below for below, above in itertools.pairwise(litres))
    assert all(row.u_l > 0 for row in rows)
