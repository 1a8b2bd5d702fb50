"""From a gauge's reading to the plane of the liquid and back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import gauge, geometry
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import LevelPlug, Percent, SightGlass, Stick

LEVEL = geometry.up(0, 0)
GAUGES = [
    Stick(name="stick", kind="stick", tip=(850.0, 350.0, 20.0), angle=25.0, toward=0.0),
    Stick(name="stick", kind="stick", tip=(0.0, 0.0, 0.0), angle=60.0, toward=-130.0),
    SightGlass(name="glass", kind="sight glass", at=(1200.0, 200.0, 80.0)),
    Percent(name="dial", kind="percent", range_mm=300.0, at=(0.0, 0.0, 50.0)),
    LevelPlug(name="plug", kind="level plug", at=(100.0, 0.0, 250.0)),
]
EACH = pytest.mark.parametrize("scale", GAUGES, ids=lambda g: f"{g.kind} {getattr(g, 'angle', '')}")


@EACH
@given(reading=st.floats(-50, 500), pitch=st.floats(-8, 8), roll=st.floats(-8, 8), swing=st.floats(0, 360))
def test_a_reading_comes_back_from_its_plane(scale, reading, pitch, roll, swing):
    n = geometry.up(pitch, roll, swing)
    assert gauge.reading(scale, gauge.plane(scale, reading, n), n) == pytest.approx(reading, abs=1e-8)


@EACH
@given(reading=st.floats(0, 300), pitch=st.floats(-8, 8), roll=st.floats(-8, 8))
def test_the_wetted_point_of_the_gauge_lies_in_the_plane(scale, reading, pitch, roll):
    """The point is worked out here from angles, not by the module's own line."""
    n = geometry.up(pitch, roll)
    place = np.array(scale.tip if isinstance(scale, Stick) else scale.at)
    lean, toward = math.radians(getattr(scale, "angle", 0.0)), math.radians(getattr(scale, "toward", 0.0))
    along = np.array([math.sin(lean) * math.cos(toward), math.sin(lean) * math.sin(toward), math.cos(lean)])
    mm = {"percent": 3.0 * reading, "level plug": -reading}.get(scale.kind, reading)
    assert gauge.plane(scale, reading, n) == pytest.approx(n @ (place + mm * along) / 100, abs=1e-12)


def test_a_stick_leaning_forward_shows_less_height_than_length():
    assert gauge.plane(GAUGES[0], 300.0, LEVEL) == pytest.approx(0.2 + 3 * math.cos(math.radians(25)), rel=1e-14)


def test_a_level_plug_counts_downwards_and_a_dial_in_hundredths_of_its_range():
    plug, dial = GAUGES[4], GAUGES[3]
    assert gauge.plane(plug, 0.0, LEVEL) == pytest.approx(2.5)
    assert gauge.plane(plug, 30.0, LEVEL) == pytest.approx(2.2)
    assert gauge.plane(dial, 50.0, LEVEL) == pytest.approx(0.5 + 1.5)
    assert (gauge.rise(plug), gauge.rise(dial)) == (-1.0, 3.0)


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0])
def test_height_over_a_table_s_zero_and_back(angle):
    stick = Stick(name="stick", kind="stick", angle=angle, zero_height_mm=35.0)
    assert gauge.height_mm(stick, 100.0) == pytest.approx(35 + 100 * math.cos(math.radians(angle)))
    assert gauge.from_height(stick, gauge.height_mm(stick, 123.4)) == pytest.approx(123.4)


def test_a_gauge_nearly_flat_to_the_liquid_is_refused():
    flat = Stick(name="stick", kind="stick", tip=(0.0, 0.0, 0.0), angle=75.0, toward=180.0)  # 75 deg back: n.d = sin(-p + 15 deg)
    assert gauge.plane(flat, 100.0, geometry.up(3.0, 0.0)) == pytest.approx(math.sin(math.radians(12.0)), rel=1e-12)
    with pytest.raises(OutOfRange, match=r"stick: .* leans too far for this gauge"):
        gauge.plane(flat, 100.0, geometry.up(4.0, 0.0))
    with pytest.raises(OutOfRange, match="leans too far"):
        gauge.reading(flat, 1.0, geometry.up(4.0, 0.0))


@pytest.mark.parametrize(
    ("scale", "reading", "limit"),
    [
        (Stick(name="stick", kind="stick", end_mm=250.0), 251.0, "0 to 250 mm"),
        (Stick(name="stick", kind="stick"), -1.0, "below 0 mm"),
        (SightGlass(name="glass", kind="sight glass", start_mm=20.0, end_mm=200.0), 19.0, "20 to 200 mm"),
        (Percent(name="dial", kind="percent"), 101.0, "0 to 100 %"),
        (Percent(name="dial", kind="percent"), -1.0, "0 to 100 %"),
        (LevelPlug(name="plug", kind="level plug", end_mm=40.0), 41.0, "0 to 40 mm"),
        (Stick(name="stick", kind="stick"), math.nan, "nan"),
    ],
)
def test_what_the_gauge_cannot_show_is_refused_by_name(scale, reading, limit):
    with pytest.raises(OutOfRange, match=limit) as refused:
        gauge.on_scale(scale, reading)
    assert refused.value.field == scale.name
    assert "choose below or above the gauge" in str(refused.value)


@pytest.mark.parametrize(
    ("scale", "ends"), [(Stick(name="s", kind="stick", end_mm=250.0), (0.0, 250.0)), (Percent(name="p", kind="percent"), (0.0, 100.0))]
)
def test_the_ends_of_the_scale_are_on_it(scale, ends):
    for end in ends:
        gauge.on_scale(scale, end)


@pytest.mark.published("gauge", "u_reading")
def test_the_doubt_of_one_reading(case):
    g = case["given"]
    classes = {"stick": Stick, "sight glass": SightGlass, "percent": Percent, "level plug": LevelPlug}
    assert gauge.u_reading(classes[g["kind"]](name="x", **g)) == pytest.approx(case["want"], abs=case["tol"], rel=0)


def test_the_typical_doubts_can_be_edited():
    assert gauge.u_reading(Stick(name="x", kind="stick"), u_stick_mm=4.0) == 4.0
    assert gauge.u_reading(SightGlass(name="x", kind="sight glass"), u_glass_mm=1.0) == 1.0


@pytest.mark.parametrize(
    "scale", [Stick(name="s", kind="stick"), SightGlass(name="g", kind="sight glass"), LevelPlug(name="p", kind="level plug")]
)
def test_a_gauge_without_a_place_cannot_be_read_in_a_drawn_tank(scale):
    with pytest.raises(CannotAnswer, match=f"{scale.name}: its place on the tank is not entered"):
        gauge.plane(scale, 100.0, LEVEL)


def test_a_dial_without_its_range_cannot_be_read():
    with pytest.raises(CannotAnswer, match="its range in mm is not entered"):
        gauge.plane(Percent(name="dial", kind="percent", at=(0.0, 0.0, 0.0)), 50.0, LEVEL)
