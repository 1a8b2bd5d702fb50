"""Every kind of entry is checked on its way in and comes back as it was entered."""

import pytest
import sqlalchemy as sa
from pydantic import ValidationError

from fluidapp.model import Reading
from fluidapp.store import NewEntry, kinds
from fluidapp.store.kinds import MODELS

EVERY = {
    "reading": kinds.LevelReading(
        node="tank",
        gauge="glass",
        level=212.5,
        as_read="8 3/8 in",
        temp_c=41.0,
        pitch_deg=-1.5,
        posture="other",
        shown_mm={"boom": 310.0},
        note="n",
    ),
    "movement": kinds.Movement(
        from_node="stock",
        to_node="tank",
        product="hyd",
        volume_l=18.9,
        u=0.2,
        temp_c=22.0,
        purpose="top-up",
        price=4.2,
        currency="EUR",
        as_read="5 US gal",
    ),
    "shot": kinds.Shot(point="ring", nipple=2, swing_deg=90.0, strokes=12, mass_g=14.4, gun="gun-a", purge_seen=False),
    "gun calibration": kinds.GunCalibration(gun="gun-a", strokes=20, mass_g=24.1, product="grease"),
    "meter": kinds.Meter(as_read="5123.4"),
    "meter changed": kinds.MeterChanged(old_end_h=5200.0),
    "duty": kinds.Duty(factor=0.5, hours_per_week=44.0, reason="dust"),
    "repair": kinds.Repair(
        what="slewing motor seal",
        at_nodes=("slew", "tank"),
        opened=(kinds.Opened(what="hose", volume_l=0.6, u_l=0.1),),
        first_h=150.0,
        repeat_h=800.0,
        metal_found=False,
        expected_l=(21.0, 25.0),
    ),
    "task done": kinds.TaskDone(task="oil change", node="slew", product="hyd"),
    "watch opened": kinds.WatchOpened(mode="working", at_nodes=("slew", "tank"), smallest_l_h=0.05),
    "lab result": kinds.LabResult(node="slew", bottle="B-7", values={"viscosity at 40 °C": 190.0}, units={"viscosity at 40 °C": "mm2/s"}),
    "observation": kinds.Observation(node="bath", asked="How does the grease look?", seen="thin", leak_class="II", yes=True),
    "oil sample": kinds.OilSample(node="slew", bottle="B-8", oil_h=210.0, added_l=0.0, cold=True),
    "plan": kinds.Plan(
        truck="truck-1", day="2026-05-04", stops=("ex-1", "wl-2"), data={"seed": 7, "left out": None, "minutes": [10.5, None]}
    ),
    "stop": kinds.Stop(truck="truck-1", done=False, tasks=("level check",), minutes=12.0, reason="blasting"),
    "note": kinds.Note(text="Grüße, “quoted”, 3 °C\nsecond line", node="tank"),
}


def test_every_kind_is_tried_here():
    assert {*EVERY, "watch closed", "void"} == set(MODELS)
    assert len(MODELS) == 18


@pytest.mark.parametrize("kind", EVERY)
def test_an_entry_comes_back_as_it_was_entered(store, put, make, kind):
    put(make.entry(EVERY[kind], meter_h=5123.4))
    (found,) = store.entries()
    assert found.kind == kind == found.doc.kind
    assert found.doc == EVERY[kind].in_full("ex-1")
    assert found.meter_h == 5123.4


def test_the_floats_beside_the_doc_are_those_of_the_doc(store, put, make):
    put(*(make.entry(EVERY[kind]) for kind in ("reading", "movement", "shot")))
    with store.engine.connect() as conn:
        reading = conn.execute(sa.text("SELECT node, gauge, level_mm, bound, temp_c, pitch_deg, roll_deg, swing_deg FROM reading")).one()
        movement = conn.execute(
            sa.text("SELECT from_node, to_node, volume_l, mass_kg, u, temp_c, purpose, price, currency FROM movement")
        ).one()
        shot = conn.execute(sa.text("SELECT point, nipple, swing_deg, strokes, mass_g, purge_seen FROM shot")).one()
    assert reading == ("ex-1/tank", "glass", 212.5, "exact", 41.0, -1.5, None, 0.0)
    assert movement == ("stock", "ex-1/tank", 18.9, None, 0.2, 22.0, "top-up", 4.2, "EUR")
    assert shot == ("ring", 2, 90.0, 12.0, 14.4, 0)


def test_a_reading_in_per_cent_is_no_level_in_mm(store, put, make):
    put(make.entry(kinds.LevelReading(node="tank", gauge="panel", level=60)))
    with store.engine.connect() as conn:
        assert conn.scalar(sa.text("SELECT level_mm FROM reading")) is None
    assert store.last_reading("ex-1", "tank").doc.level == 60


def test_a_bath_survey_is_a_reading_of_the_mean_depth(store, put, make):
    put(make.entry(kinds.LevelReading(node="bath", depths_mm=(18, 20, 21, 19), depths_at_deg=(0, 90, 180, 270), colour="dark")))
    found = store.last_reading("ex-1", "bath").doc
    assert found.level == 19.5
    assert found.depths_mm == (18, 20, 21, 19)
    assert found.reading() == Reading(level=19.5)


@pytest.mark.parametrize(
    ("doc", "words"),
    [
        ({"kind": "reading", "node": "tank"}, "an exact reading needs a level"),
        ({"kind": "reading", "node": "Tank!", "level": 1}, "should match pattern"),
        ({"kind": "reading", "node": "tank", "level": "212"}, "should be a valid number"),
        ({"kind": "reading", "node": "tank", "level": float("nan")}, "finite number"),
        ({"kind": "reading", "node": "bath", "depths_mm": [1, 3], "level": 5}, "not the mean of the depths, 2.0 mm"),
        ({"kind": "reading", "node": "bath", "depths_mm": [1, 3], "depths_at_deg": [0]}, "1 positions for 2 depths"),
        ({"kind": "reading", "node": "bath", "depths_mm": [1, 3], "depths_n": 4}, "needs that one depth alone"),
        ({"kind": "reading", "node": "tank", "level": 3, "depths_n": 4}, "needs that one depth alone"),
        ({"kind": "movement", "from_node": "stock", "to_node": "tank", "purpose": "top-up"}, "needs litres or kilograms"),
        (
            {"kind": "movement", "from_node": "stock", "to_node": "stock", "volume_l": 1, "purpose": "stock"},
            "cannot go from “stock” to itself",
        ),
        ({"kind": "movement", "from_node": "stock", "to_node": "tank", "volume_l": -1, "purpose": "top-up"}, "greater than 0"),
        ({"kind": "movement", "from_node": "stock", "to_node": "tank", "volume_l": 1, "purpose": "gift"}, "Input should be 'top-up'"),
        ({"kind": "gun calibration", "gun": "g", "mass_g": 3}, "needs strokes or seconds"),
        ({"kind": "lab result", "node": "tank", "values": {"water": 0.1}}, "“water” has no unit"),
        ({"kind": "plan", "truck": "t", "day": "4 May"}, "should match pattern"),
        ({"kind": "note", "text": ""}, "at least 1 character"),
        ({"kind": "guess"}, "does not match any of the expected tags"),
        ({"kind": "note", "text": "x", "colour": "red"}, "Extra inputs are not permitted"),
    ],
)
def test_what_an_entry_cannot_say(doc, words):
    with pytest.raises(ValidationError) as caught:
        NewEntry.model_validate({"doc": doc, "at": "2026-05-04T06:30:00Z", "machine": "ex-1"})
    assert words in str(caught.value)


def test_a_time_without_offset_is_refused():
    with pytest.raises(ValidationError, match="timezone"):
        NewEntry.model_validate({"doc": {"kind": "note", "text": "x"}, "at": "2026-05-04T06:30:00"})
