"""A dip chart says the same as a reading does, line by line."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import dipchart, level
from fluidapp.errors import BadInput, CannotAnswer
from fluidapp.model import Reading, typical

MACHINES = [typical.machine(size, "ex", "Excavator") for size in typical.SIZES]
GAUGED = [(m, c.key) for m in MACHINES for c in m.compartments if c.gauges]
NAMES = [f"{m.class_t:g} t {key}" for m, key in GAUGED]


@pytest.mark.parametrize(("machine", "key"), GAUGED, ids=NAMES)
def test_every_line_is_the_volume_of_that_reading(machine, key):
    chart = dipchart.dip_chart(machine, key)
    for row in chart.rows:
        found = level.volume(machine, key, dipchart.as_asked(machine.compartment(key), chart.gauge, row.reading))
        assert row.volume_l == pytest.approx(found.as_read_l, rel=1e-12)
        assert row.volume_l == pytest.approx(found.value_l, abs=1e-9)  # read as the marks ask: nothing to correct
        assert row.u_l == found.u_l > 0


@pytest.mark.parametrize(("machine", "key"), GAUGED, ids=NAMES)
def test_litres_run_one_way_and_the_marks_stand_among_the_lines(machine, key):
    chart = dipchart.dip_chart(machine, key)
    steps = [b.volume_l - a.volume_l for a, b in itertools.pairwise(chart.rows)]
    falls = machine.compartment(key).gauge().kind == "level plug"
    assert all(step < 0 for step in steps) if falls else all(step > 0 for step in steps)
    marks, band = level.marks(machine.compartment(key)), machine.compartment(key).gauge().bands[0]
    at = {name: row for row in chart.rows for name in row.mark.split(", ") if name}
    assert {name: round(row.volume_l, 6) for name, row in at.items()} == {
        "L": round(marks.low_l, 6), "target": round(marks.target_l, 6), "H": round(marks.high_l, 6),
    }  # fmt: skip
    assert at["target"].reading == band.aim_mm
    assert at["L"].volume_l < at["H"].volume_l


def test_a_box_holds_its_floor_times_the_height_on_every_line(one):
    """1200 x 700 mm: 0.84 L in each mm, the glass begins 80 mm over the floor. By hand."""
    chart = dipchart.dip_chart(one(), "tank", step=7.0)
    for row in chart.rows:
        assert row.volume_l == pytest.approx(0.84 * (row.reading + 80), rel=1e-9)
    assert chart.per_step_l == pytest.approx(8.4)
    assert (chart.rows[0].reading, chart.rows[-1].reading) == (0.0, 500.0)
    assert {7.0, 14.0, 150.0, 200.0, 250.0} <= {row.reading for row in chart.rows}


@given(st.floats(2, 300))
def test_every_step_gives_lines_on_that_step_between_the_ends(one, step):
    chart = dipchart.dip_chart(one(), "tank", step=step)
    readings = [row.reading for row in chart.rows if not row.mark][1:-1]
    assert all(abs(at / step - round(at / step)) < 1e-4 for at in readings)
    assert len(chart.rows) <= 500 / step + 6


@pytest.mark.parametrize(("step", "said"), [(0.0, "above 0"), (-5.0, "above 0"), (float("nan"), "above 0"), (0.1, "more than 400 lines")])
def test_a_step_that_makes_no_chart_is_refused_with_its_limit(one, step, said):
    with pytest.raises(BadInput, match=said):
        dipchart.dip_chart(one(), "tank", step=step)


def test_without_anything_that_tells_litres_there_is_no_chart(one):
    machine = one(body="fill = { litres = 300, reading = 200 }", gauge='{ name = "s", kind = "stick", end_mm = 400 }')
    with pytest.raises(CannotAnswer, match="nothing tells its litres"):
        dipchart.dip_chart(machine, "tank")


def test_two_bands_are_told_apart_by_their_labels(one):
    gauge = (
        '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], end_mm = 500, bands = ['
        '{ low = 150, high = 250, label = "cold", temp_low_c = 10, temp_high_c = 30 },'
        '{ low = 200, high = 300, label = "hot", temp_low_c = 50, temp_high_c = 80, posture = "bucket out" }] }'
    )
    chart = dipchart.dip_chart(one(gauge=gauge), "tank")
    assert next(row.mark for row in chart.rows if row.reading == 200) == "target cold, L hot"
    assert "Marks hot: oil at 50 to 80 °C, bucket out." in chart.holds_for


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('body = { shape = "box", length = 700, width = 500, height = 600 }', "shape"),
        ("table = [[0, 0], [500, 100]]", "table as measured"),
        ("pours = [{ add = 20, before = 100, after = 157 }]", "1 measured pour"),
        (
            "fill = { litres = 100, reading = 200, depth_mm = 200 }\npours = [{ add = 20, before = 100, after = 157 }]",
            "fill and mark and 1",
        ),
    ],
)
def test_it_says_how_its_litres_are_known(one, body, said):
    machine = one(body=body, gauge='{ name = "stick", kind = "stick", tip = [350, 250, 10], end_mm = 500 }')
    assert said in dipchart.dip_chart(machine, "tank").known_by


def test_a_percentage_dial_runs_from_0_to_100(one):
    gauge = '{ name = "dial", kind = "percent", of = "capacity", at = [600, 350, 0] }'
    chart = dipchart.dip_chart(one(gauge=gauge), "tank", step=10.0)
    assert [row.reading for row in chart.rows] == [10.0 * k for k in range(11)]
    assert chart.rows[-1].volume_l == pytest.approx(504.0)
    assert level.volume(one(gauge=gauge), "tank", Reading(level=50.0)).as_read_l == pytest.approx(chart.rows[5].volume_l)
