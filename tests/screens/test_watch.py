"""Level watch: opened, followed from the records, answered, closed."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.store import NewEntry, Save, Store, kinds

Open = Callable[..., AppTest]
START = datetime.datetime(2026, 2, 2, 6, 30, tzinfo=datetime.UTC)


def put(store: Store, day: float, *docs: kinds.Doc, meter_h: float | None = None) -> None:
    at = START + datetime.timedelta(days=day)
    entries = tuple(NewEntry(machine="ex-1", at=at, meter_h=meter_h, doc=doc) for doc in docs)
    store.record(Save(id=f"save-{day}", entries=entries), now_utc=START + datetime.timedelta(days=60))


def read(level: float, **more: object) -> kinds.LevelReading:
    doc = {"node": "tank", "gauge": "glass", "level": level, "as_read": f"{level:g} mm", "temp_c": 65.0, "posture": "reference",
           "pitch_deg": 0.0, "roll_deg": 0.0}  # fmt: skip
    return kinds.LevelReading.model_validate({**doc, **more})


def opened(mode: str, **more: object) -> kinds.WatchOpened:
    return kinds.WatchOpened.model_validate({"mode": mode, "at_nodes": ["tank"], "reason": "hose renewed", **more})


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


@pytest.fixture
def losing(records: Store) -> Store:
    """0.35 m2: 10 mm a week are 3.5 L at the marks' 65 °C, in 40 machine hours."""
    put(records, 0, opened("working"), read(250.0), meter_h=1000.0)
    for week in range(1, 6):
        put(records, 7 * week, read(250.0 - 10 * week), meter_h=1000.0 + 40 * week)
    return records


def test_it_opens_without_an_answer_and_without_a_watch(records: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    assert not at.exception
    assert not at.metric
    assert "No watch is open on this machine" in texts(at)


def test_a_steady_loss_is_told_with_its_doubt_and_the_hour_of_the_low_mark(losing: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    assert not at.exception
    assert at.metric[0].label == "Losing"
    value, _, rest = at.metric[0].value.partition(" ± ")
    per_h = float(value) if rest.endswith("L/h") else float(value) / 100
    assert per_h == pytest.approx(3.5 * 0.965 / 40, abs=0.006)  # at 15 °C a litre of 65 °C is about 0.965 L
    said = texts(at)
    assert "Smallest leak that these readings would have shown" in said
    assert "Earliest the low mark may be reached (95 %): meter" in said
    assert len(at.table[0].value) == 6
    assert "6 readings over 200 h" in at.get("vega_lite_chart")[0].proto.alt


def test_what_was_poured_is_no_gain(losing: Store, open_screen: Open) -> None:
    before = open_screen("watch", machine="ex-1").metric[0].value
    pour = kinds.Movement(from_node="stock", to_node="tank", product="unknown", volume_l=35.0, u=0.1, purpose="top-up", as_read="35 L")
    put(losing, 35.2, pour, meter_h=1200.0)
    put(losing, 42, read(290.0), meter_h=1240.0)  # 190 mm, less 10 mm, and 35 L are 100 mm; by 15 °C the pour is a little more
    after = open_screen("watch", machine="ex-1").metric[0]
    assert after.label == "Losing"
    assert float(after.value.split(" ±")[0]) == pytest.approx(float(before.split(" ±")[0]), rel=0.25)


def test_a_parked_watch_ends_with_the_engine_start_and_says_nothing_about_pressure(records: Store, open_screen: Open) -> None:
    put(records, 0, opened("parked", smallest_l_h=2.0), read(250.0), meter_h=1000.0)
    put(records, 1, read(250.0), meter_h=1000.0)
    put(records, 2, read(200.0), meter_h=1006.0)
    at = open_screen("watch", machine="ex-1")
    at.checkbox(key="watch_same").set_value(True).run()
    assert not at.exception
    assert at.metric[0].label == "Holding at rest, within"
    said = texts(at)
    assert "It says nothing about motor, pump and cylinder seals" in said
    assert "Not counted: 2026-02-04 06:30, engine started." in said
    ways = {row[0]: row[1] for row in at.table[1].value.to_numpy().tolist()}
    assert ways["slewing motor's shaft seal"] == "not told"
    assert ways["centre joint, outwards"] == "holding at rest"


def test_a_one_sided_reading_is_named_and_left_out(losing: Store, open_screen: Open) -> None:
    put(losing, 43, kinds.LevelReading(node="tank", gauge="glass", bound="at most", as_read="below the gauge"), meter_h=1250.0)
    assert "below the gauge: no level" in texts(open_screen("watch", machine="ex-1"))


def test_a_reading_can_be_left_out_by_hand(losing: Store, open_screen: Open) -> None:
    put(losing, 42, read(330.0), meter_h=1240.0)
    at = open_screen("watch", machine="ex-1")
    assert "does not fit the line" in texts(at)
    odd = losing.entries("ex-1", "reading", limit=1)[0].id
    at.multiselect(key="watch_ex-1_tank_without").set_value([odd]).run()
    assert not at.exception
    assert at.metric[0].label == "Losing"
    assert "left out by hand" in texts(at)
    assert "does not fit the line" not in texts(at)


def test_a_watch_is_opened_by_a_person_with_its_reason(records: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    at.button(key="watch_save").click().run()
    assert "Levels to follow" in at.error[0].value
    at.pills(key="watch_ex-1_nodes").set_value(["tank"])
    at.text_input(key="watch_reason").set_value("new seal")
    at.text_input(key="watch_leak").set_value("0,2")
    at.button(key="watch_save").click().run()
    assert not at.exception
    doc = records.entries("ex-1", "watch opened")[0].doc
    assert isinstance(doc, kinds.WatchOpened)
    assert (doc.mode, doc.at_nodes, doc.reason, doc.smallest_l_h) == ("working", ("ex-1/tank",), "new seal", 0.2)


def test_a_watch_opens_after_a_repair(records: Store, open_screen: Open) -> None:
    put(records, 0, kinds.Repair(what="hose to the bucket cylinder"))
    at = open_screen("watch", machine="ex-1")
    at.pills(key="watch_ex-1_nodes").set_value(["tank"])
    at.selectbox(key="watch_ex-1_repair").set_value("hose to the bucket cylinder, 2026-02-02")
    at.button(key="watch_save").click().run()
    doc = records.entries("ex-1", "watch opened")[0].doc
    assert isinstance(doc, kinds.WatchOpened)
    assert doc.reason == "After: hose to the bucket cylinder, 2026-02-02."


def test_a_watch_is_closed_with_a_reason(losing: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    at.button(key="watch_close_save").click().run()
    assert "Why it ends" in at.error[0].value
    opening = losing.entries("ex-1", "watch opened")[0].id
    at.text_input(key=f"watch_{opening}_end").set_value("seal renewed")
    at.button(key="watch_close_save").click().run()
    doc = losing.entries("ex-1", "watch closed")[0].doc
    assert isinstance(doc, kinds.WatchClosed)
    assert (doc.watch, doc.reason) == (opening, "seal renewed")
    assert "(closed)" in str(open_screen("watch", machine="ex-1").selectbox(key="watch_ex-1_which").options[0])


def test_gallons_change_the_words_only(losing: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    first = at.metric[0].value
    at.selectbox(key="units").set_value("in, US gal").run()
    assert "US gal/" in at.metric[0].value
    at.selectbox(key="units").set_value("mm, L").run()
    assert at.metric[0].value == first


def test_a_note_is_kept_about_the_watch_or_one_of_its_readings(losing: Store, open_screen: Open) -> None:
    at = open_screen("watch", machine="ex-1")
    about = at.selectbox(key="watch_note_about")
    assert about.options[:2] == ["the watch", "the reading of 2026-03-09 06:30"]
    at.button(key="watch_note_save").click().run()
    assert "Note: “nothing” cannot be used" in texts(at)
    newest = losing.entries("ex-1", "reading")[0]
    at.selectbox(key="watch_note_about").set_value(newest.id)
    at.text_area(key="watch_note_text").set_value("glass fogged").run()
    at.button(key="watch_note_save").click().run()
    assert not at.exception
    (note,) = losing.entries("ex-1", "note")
    assert isinstance(note.doc, kinds.Note)
    assert (note.doc.text, note.doc.about) == ("glass fogged", newest.id)
    assert r"* Note on the reading of 2026-03-09 06\:30\: glass fogged" in texts(at.run())


def test_a_note_typed_with_a_reading_is_shown_on_the_watch(records: Store, open_screen: Open) -> None:
    put(records, 0, opened("working"), read(250.0, note="read by torch"), meter_h=1000.0)
    assert r"Note on the reading of 2026-02-02 06\:30\: read by torch" in texts(open_screen("watch", machine="ex-1"))
