"""Tanks of every shape, from their file to litres: printed volumes, and readings that come back."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp.calc import level
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
    "cut cylinder": 'body = {{ shape = "upright", diameter = {d}, height = {high} }}',
}


@pytest.mark.published("geometry", shape=tuple(PUBLISHED_BODIES))
def test_a_printed_volume_comes_out_of_the_whole_chain(case, one):
    """Figures of handbooks, in their own unit of length; a machine's file is in mm."""
    g = dict(case["given"])
    per, shape, heads = g.pop("per", 1.0), g.pop("shape"), g.pop("heads", "flat")
    mm = {name: size * 25.4 for name, size in g.items()}
    depth = f", head_depth = {mm['depth']}" if "depth" in mm else ""
    body = PUBLISHED_BODIES[shape].format(**mm, heads=heads, more=depth)
    machine = one(body=body, gauge='{ name = "tube", kind = "sight glass", at = [0, 0, 0] }')
    if shape == "cut cylinder":
        lean = math.degrees(math.atan((mm["high"] - mm["low"]) / mm["d"]))
        reading = at((mm["low"] + mm["high"]) / 2, pitch_deg=lean)
    else:
        reading = at(mm.get("h", mm.get("height")))
    cubic_inches = level.volume(machine, "tank", reading).value_l / 0.016387064
    assert cubic_inches / per == pytest.approx(case["want"], abs=case["tol"], rel=0)


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
