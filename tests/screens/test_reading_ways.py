"""Other ways to read: by the marks, a second gauge, two positions; the blank sheet for the pit."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine
from fluidapp.store import Store, kinds, open_store

Open = Callable[..., AppTest]
AT = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
TANK = {
    "key": "tank", "label": "Hydraulic tank", "kind": "hydraulic tank", "source": "taped",
    "body": {"shape": "box", "length": 700.0, "width": 500.0, "height": 600.0},
    "gauges": [
        {"kind": "sight glass", "name": "glass", "at": (700.0, 250.0, 150.0), "end_mm": 350.0, "bands": [{"low": 150.0, "high": 250.0}]},
        {"kind": "stick", "name": "stick", "tip": (0.0, 250.0, 50.0), "end_mm": 500.0},
    ],
}  # fmt: skip
DRIVE = {
    "key": "drive", "label": "Final drive", "kind": "final drive", "fill": {"litres": 5.0, "reading": 50.0, "depth_mm": 150.0},
    "gauges": [{"kind": "stick", "name": "dipstick", "end_mm": 100.0, "bands": [{"low": 30.0, "high": 60.0}]}],
}  # fmt: skip


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    store.put(Machine.model_validate({"key": "ex", "label": "Digger", "compartments": [TANK, DRIVE]}), now_utc=AT)
    return store


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


def figure(at: AppTest) -> tuple[float, float]:
    value, _, rest = at.metric[0].value.partition(" ± ")
    return float(value), float(rest.split()[0])


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def test_so_many_mm_below_the_mark_is_the_same_as_the_reading_it_stands_for(digger: Store, open_empty: Open) -> None:
    """20 mm below the high mark at 250 mm is 230 mm: 0.35 L/mm x (150 + 230) = 133 L."""
    at = open_empty("level", machine="ex")
    at.segmented_control(key="level_bound").set_value("mark").run()
    assert not at.metric
    typed(at, level_below="20")
    value, half = figure(at)
    assert abs(value - 133.0) <= half / 2
    assert "230.0 mm on the glass" in said(at)
    at.segmented_control(key="level_mark").set_value("L").run()
    assert "130.0 mm on the glass" in said(at)
    assert not at.exception


def test_one_third_between_the_marks_is_wider_than_a_reading(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    typed(at, level_reading="183")
    read = figure(at)[1]
    at.segmented_control(key="level_bound").set_value("between").run()
    assert not at.metric
    at.selectbox(key="level_share").set_value("one third").run()
    assert abs(figure(at)[0] - 0.35 * (150 + 150 + 100 / 3)) <= figure(at)[1]
    assert figure(at)[1] >= read
    typed(at, by_name="Ada")
    at.button(key="level_save").click().run()
    stored = digger.last_reading("ex", "tank")
    assert stored is not None
    assert isinstance(stored.doc, kinds.LevelReading)
    assert stored.doc.as_read == "between L and H, one third"
    assert stored.doc.u_mm is not None


def test_a_mark_that_the_gauge_cannot_reach_is_refused_by_name(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    at.segmented_control(key="level_bound").set_value("mark").run()
    typed(at, level_below="400")
    assert at.error[0].value.startswith("glass: -150 mm is not within 0 to 350 mm")
    assert not at.metric


def test_a_gauge_without_marks_is_not_read_by_them(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    at.segmented_control(key="level_bound").set_value("mark").run()
    at.selectbox(key="level_gauge").set_value("stick").run()
    assert not at.exception
    assert at.segmented_control(key="level_bound").value is None
    assert "between the marks" not in at.segmented_control(key="level_bound").options


def test_two_gauges_that_agree_narrow_the_answer_and_both_are_stored(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    typed(at, level_reading="200")
    alone = figure(at)
    typed(at, level2_reading="300")
    both = figure(at)
    assert both[1] <= alone[1]
    assert "Both gauges agree" in said(at)
    assert "300.0 mm on the stick" in said(at)
    at.button(key="level_save").click().run()
    stored = [e.doc for e in digger.entries("ex", "reading")]
    assert [(d.gauge, d.level) for d in stored if isinstance(d, kinds.LevelReading)] == [("glass", 200.0), ("stick", 300.0)]


def test_two_gauges_that_contradict_each_other_are_both_shown_and_not_averaged(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    typed(at, level_reading="200", level_pitch="0", level_roll="0")
    alone = at.metric[0].value
    typed(at, level2_reading="400")
    assert at.metric[0].value == alone
    assert "They are not averaged" in at.warning[0].value
    assert "400.0 mm on the stick" in said(at)


def test_the_two_position_reading_waits_behind_its_gate(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    typed(at, level_reading="190")
    assert "level_turned_reading" not in [box.key for box in at.text_input]
    assert "Only where the slope is at most 3°" in said(at)
    for key, next_reason in (
        ("level_slope_small", "Only with the slewing arc clear"),
        ("level_arc_clear", "Only where slewing motor, gearbox and ring"),
    ):
        at.checkbox(key=key).set_value(True).run()
        assert next_reason in said(at)
    at.checkbox(key="level_drive_sound").set_value(True).run()
    before = figure(at)
    typed(at, level_turned_reading="210")
    value, half = figure(at)
    assert abs(value - 0.35 * (150 + 200)) <= half / 2
    assert half < before[1]
    assert "Read 190.0 mm and 210.0 mm: mean 200.0 mm" in said(at)
    at.button(key="level_save").click().run()
    stored = [e.doc for e in digger.entries("ex", "reading")]
    assert [(d.level, d.swing_deg) for d in stored if isinstance(d, kinds.LevelReading)] == [(190.0, 0.0), (210.0, 180.0)]


def test_a_steep_slope_shuts_the_gate(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    typed(at, level_reading="190", level_pitch="4")
    at.checkbox(key="level_arc_clear").set_value(True)
    at.checkbox(key="level_drive_sound").set_value(True).run()
    assert "The slope is 4°, more than 3°: do not slew" in said(at)
    assert "level_turned_reading" not in [box.key for box in at.text_input]


def test_a_final_drive_is_not_offered_the_turn(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex", part="drive")
    typed(at, level_reading="40")
    assert at.metric
    assert not any("slew 180" in fold.label for fold in at.expander)


def test_the_blank_sheet_is_offered_at_the_foot(digger: Store, open_empty: Open) -> None:
    at = open_empty("level", machine="ex")
    assert [b.proto.label for b in at.get("download_button")] == ["Blank level-check sheet with the marks (PDF)"]
