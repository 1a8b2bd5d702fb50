"""Records: the history with its filters and pages, an entry corrected, crossed out, or undone with its whole save."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Bath, GreasePoint, Gun, Machine, Product, Ring
from fluidapp.screens import _history
from fluidapp.store import NewEntry, Save, Store, kinds
from tests.screens.conftest import EARLIER

Open = Callable[..., AppTest]
DAY = datetime.datetime(2026, 2, 2, 6, 30, tzinfo=datetime.UTC)


@pytest.fixture
def rig(records: Store) -> Store:
    """The one machine with a bath and a ring, two people's entries on four days, and a delivery."""
    digger = records.machine("ex-1").model_copy(
        update={
            "baths": (Bath(key="bath", label="Grease bath", area_l_per_mm=0.54),),
            "grease_points": (GreasePoint(key="ring", label="Slewing ring", kind="slew race", limit_h=100.0, cap_g=60.0, ring=Ring()),),
        }
    )
    hyd = Product(key="hyd", label="Hydraulic oil", kind="oil", price=3.1, currency="EUR")
    gear = Product(key="gear", label="Gear oil", kind="oil", nu40=220.0)
    gun = Gun(key="gun", label="Gun", feed="hand", g_per_stroke=2.0)
    records.put(Machine.model_validate(digger.model_dump()), hyd, gear, gun, now_utc=EARLIER)
    read = kinds.LevelReading(node="tank", gauge="glass", level=212.725, as_read="8 3/8 in", temp_c=40.0)
    poured = kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=20.0, purpose="top-up", as_read="20 L")
    shot = kinds.Shot(point="ring", swing_deg=90.0, strokes=17.0, mass_g=34.0, gun="gun", as_read="17 strokes")
    bath = kinds.LevelReading(node="bath", depths_mm=(20.0, 22.0), as_read="20, 22 mm")
    came = kinds.Movement(from_node="outside", to_node="stock", product="hyd", volume_l=208.0, purpose="stock", price=3.1)
    store(records, "one", "Ann", (read, 0, 5000.0), (poured, 0, 5000.0))
    store(records, "two", "Ben", (shot, 1, 5010.0), (bath, 2, None))
    records.record(Save(id="three", entries=(NewEntry(doc=came, at=DAY),), by_name="Ben"), now_utc=DAY + datetime.timedelta(days=9))
    return records


def store(records: Store, save: str, by: str, *docs: tuple[kinds.Doc, int, float | None]) -> None:
    entries = tuple(NewEntry(doc=doc, at=DAY + datetime.timedelta(days=day), machine="ex-1", meter_h=meter) for doc, day, meter in docs)
    records.record(Save(id=save, entries=entries, by_name=by), now_utc=DAY + datetime.timedelta(days=9))


def texts(at: AppTest) -> str:
    blocks = (*at.caption, *at.markdown, *at.info, *at.success, *at.warning, *at.error)
    return "\n".join(str(block.value) for block in blocks).replace("\\", "")


def listed(at: AppTest) -> list[str]:
    """The entries of the list, each as its words."""
    return [m.value.replace("\\", "").split("  \n")[1] for m in at.markdown if m.value.startswith(":small[")]


def found(records: Store, kind: str, live: bool = True) -> list:
    return records.entries("ex-1", kind, live=live)


def opened_entry(open_screen: Open, records: Store, kind: str, **address: str) -> AppTest:
    entry = found(records, kind)[0].id
    at = open_screen("records", entry=entry, **address)
    at.segmented_control(key=f"records_what_{entry}").set_value("Correct it").run()
    assert not at.exception
    return at


def press(at: AppTest, label: str) -> AppTest:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception
    return at


def test_all_machines_are_shown_before_one_is_chosen_newest_first(rig: Store, open_screen: Open) -> None:
    at = open_screen("records")
    assert not at.exception
    assert listed(at) == [
        "Grease bath: 20, 22 mm",
        "Slewing ring: 17 strokes, boom over left track",
        "Stock: 208 L Hydraulic oil from outside to stock",
        "Top-up: 20 L Hydraulic oil from stock to Hydraulic tank",
        "Hydraulic tank, glass: 8 3/8 in, oil 40 °C",
    ]
    assert "5 entries, newest first; 1 to 5 are shown." in texts(at)
    assert "2026-02-03 06:30 · Excavator 1 · 5010 h · Ben" in texts(at)


@pytest.mark.parametrize(
    ("address", "count"),
    [
        ({"machine": "ex-1"}, 4),
        ({"records_kind": "movement"}, 2),
        ({"machine": "ex-1", "part": "tank"}, 2),
        ({"machine": "ex-1", "part": "ring"}, 1),
        ({"records_by": "Ben"}, 3),
        ({"records_from": "2026-02-03"}, 2),
        ({"records_to": "2026-02-02"}, 3),
        ({"records_from": "2026-02-03", "records_to": "2026-02-03"}, 1),
    ],
)
def test_filters_are_taken_from_the_address(rig: Store, open_screen: Open, address: dict[str, str], count: int) -> None:
    at = open_screen("records", **address)
    assert not at.exception
    assert len(listed(at)) == count


def test_filters_are_said_over_the_list_and_bound_to_the_address(rig: Store, open_screen: Open) -> None:
    at = open_screen("records", machine="ex-1")
    bound = {"records_kind": at.multiselect, "records_by": at.selectbox, "records_from": at.text_input, "records_crossed": at.checkbox}
    assert all(boxes(key=key).proto.query_param_key == key for key, boxes in bound.items())
    at.selectbox(key="records_part").set_value("ring").run()
    assert at.query_params["part"] == "ring"
    at.selectbox(key="records_part").set_value(None).run()
    assert "part" not in at.query_params
    at.multiselect(key="records_kind").set_value(["shot", "reading"])
    at.selectbox(key="records_by").set_value("Ben")
    at.text_input(key="records_from").set_value("2026-02-03")
    at.checkbox(key="records_crossed").check().run()
    assert "Only shot, reading; from 2026-02-03; by Ben." in texts(at)


def test_a_machine_taken_out_of_the_box_leaves_the_address(rig: Store, open_screen: Open) -> None:
    at = open_screen("records", machine="ex-1")
    at.selectbox(key="machine").set_value(None).run()
    assert "machine" not in at.query_params
    assert len(listed(at)) == 5


@pytest.mark.parametrize("text", ["yesterday", "2026-13-01", "4.5.2026"])
def test_a_day_that_is_none_is_one_sentence(rig: Store, open_screen: Open, text: str) -> None:
    at = open_screen("records")
    at.text_input(key="records_from").set_value(text).run()
    assert not at.exception
    assert [e.value for e in at.error] == [f"From day: “{text}” cannot be used. Write it like 2026-05-04."]


def test_an_unknown_entry_in_the_address_is_one_sentence_and_leads_back(rig: Store, open_screen: Open) -> None:
    at = open_screen("records", entry="nothing")
    assert "Entry: “nothing” is not known" in at.error[0].value
    press(at, "Back to the list")
    assert len(listed(at)) == 5


def test_thousands_of_entries_come_in_pages(open_demo_screen: Open) -> None:
    at = open_demo_screen("records", records_page="3")
    assert not at.exception
    assert len(listed(at)) == 20
    assert "41 to 60 are shown" in texts(at)
    at.selectbox(key="machine").set_value("teasel").run()
    assert "1 to 20 are shown" in texts(at)  # another question begins at its first page
    at.segmented_control(key="records_as").set_value("table").run()
    assert len(at.dataframe[0].value) == 100


def test_the_file_holds_everything_that_is_asked_for_and_no_formula(rig: Store, open_screen: Open) -> None:
    store(rig, "bad", "=HYPERLINK()", (kinds.Note(text="x"), 3, None))
    at = open_screen("records")
    at.segmented_control(key="records_as").set_value("table").run()
    assert any(b.label == "All of them as a table (CSV)" for b in at.get("download_button"))
    everything = _history.Filter(None, _history.KINDS, None, None, None, None, True)
    lines = _history.as_csv(everything).decode("utf-8-sig").split("\n")
    assert lines[0] == "time,machine,meter_h,kind,what,by,crossed_out,id"
    assert lines[1].startswith("2026-02-05T06:30+00:00,Excavator 1,,note,Note: x,'=HYPERLINK(),,")
    assert len(lines) == 1 + 6 + 1


def test_an_entry_is_crossed_out_with_a_reason_and_shown_struck_through(rig: Store, open_screen: Open) -> None:
    entry = found(rig, "shot")[0]
    at = open_screen("records", entry=entry.id)
    at.segmented_control(key=f"records_what_{entry.id}").set_value("Cross it out").run()
    press(at, "Cross it out")
    assert "Why: “nothing” cannot be used" in at.error[0].value
    at.text_input(key=f"records_why_{entry.id}").set_value("wrong machine").run()
    press(at, "Cross it out")
    assert "Crossed out; it stays readable." in texts(at)
    assert "entry" not in at.query_params
    assert len(listed(at)) == 4
    at.run()
    at.run()
    assert "Crossed out; it stays readable." in texts(at)  # it stays until something else is stored
    at.checkbox(key="records_crossed").check().run()
    assert "~~Slewing ring: 17 strokes, boom over left track~~" in listed(at)
    assert ": wrong machine]" in texts(at)
    assert rig.shots("ex-1") == []


def test_a_reading_is_replaced_in_one_save_with_what_was_typed_before_in_its_boxes(rig: Store, open_screen: Open) -> None:
    at = opened_entry(open_screen, rig, "reading")  # the bath's
    key = f"fix_{found(rig, 'reading')[0].id}"
    assert at.text_input(key=f"{key}_depths").value == "20 22"
    assert at.text_input(key=f"{key}_when").value == "2026-02-04 06:30"
    at.text_input(key=f"{key}_depths").set_value("20 23,5").run()
    press(at, "Store the correction")
    assert "Corrected: the new entry counts" in texts(at)
    new, _ = found(rig, "reading")
    assert isinstance(new.doc, kinds.LevelReading)
    assert (new.doc.depths_mm, new.doc.level) == ((20.0, 23.5), 21.75)
    (void,) = found(rig, "void", live=False)
    assert (void.save_id, void.doc.reason) == (new.save_id, "corrected")


def test_the_boxes_keep_unit_and_text_and_only_what_is_changed_changes(rig: Store, open_screen: Open) -> None:
    old = found(rig, "reading")[1]
    at = open_screen("records", entry=old.id)
    at.segmented_control(key=f"records_what_{old.id}").set_value("Correct it").run()
    key = f"fix_{old.id}"
    assert at.text_input(key=f"{key}_level").value == "212.725"
    assert at.text_input(key=f"{key}_temp").value == "40"
    assert at.text_input(key=f"{key}_meter").value == "5000"
    press(at, "Store the correction")
    assert "nothing changed" in at.error[0].value
    at.text_input(key=f"{key}_temp").set_value("60")
    at.text_input(key=f"{key}_meter").set_value("5001,5").run()
    press(at, "Store the correction")
    new = found(rig, "reading")[1]
    assert (new.at, new.meter_h) == (old.at, 5001.5)
    assert new.doc == old.doc.model_copy(update={"temp_c": 60.0})
    assert new.doc.as_read == "8 3/8 in"


def test_a_level_may_become_one_off_the_gauge(rig: Store, open_screen: Open) -> None:
    old = found(rig, "reading")[1]
    at = open_screen("records", entry=old.id)
    at.segmented_control(key=f"records_what_{old.id}").set_value("Correct it").run()
    at.segmented_control(key=f"fix_{old.id}_bound").set_value("at most").run()
    press(at, "Store the correction")
    doc = found(rig, "reading")[1].doc
    assert isinstance(doc, kinds.LevelReading)
    assert (doc.level, doc.bound, doc.as_read) == (None, "at most", "below the gauge")


def test_the_litres_of_a_pour_are_corrected_and_nonsense_is_refused(rig: Store, open_screen: Open) -> None:
    at = opened_entry(open_screen, rig, "movement")
    key = f"fix_{found(rig, 'movement')[0].id}"
    at.text_input(key=f"{key}_amount").set_value("9999").run()
    press(at, "Store the correction")
    assert "litres: 9999 L is above 500 L" in at.error[0].value  # twice the 250 L of the system, typical
    assert [m.volume_l for m in rig.movements("ex-1")] == [20.0]
    at.text_input(key=f"{key}_amount").set_value("5 US gal").run()
    press(at, "Store the correction")
    (moved,) = found(rig, "movement")
    assert isinstance(moved.doc, kinds.Movement)
    assert moved.doc.volume_l == pytest.approx(18.927, abs=5e-4)  # 5 x 231 cubic inches
    assert (moved.doc.as_read, moved.doc.purpose, moved.doc.product) == ("5 US gal", "top-up", "hyd")


def test_the_strokes_of_a_shot_are_corrected_with_their_grams(rig: Store, open_screen: Open) -> None:
    at = opened_entry(open_screen, rig, "shot")
    key = f"fix_{found(rig, 'shot')[0].id}"
    at.text_input(key=f"{key}_given").set_value("20")
    at.selectbox(key=f"{key}_swing").set_value(180.0)
    at.segmented_control(key=f"{key}_purge").set_value("shows").run()
    press(at, "Store the correction")
    (shot,) = rig.shots("ex-1")
    assert isinstance(shot.doc, kinds.Shot)
    assert (shot.doc.strokes, shot.doc.mass_g, shot.doc.swing_deg, shot.doc.purge_seen, shot.doc.as_read) == (
        20.0, 40.0, 180.0, True, "20 strokes",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("doc", "box", "text", "field", "value"),
    [
        (kinds.Note(text="leak at the cok"), "words", "leak at the cock", "text", "leak at the cock"),
        (kinds.OilSample(node="tank", bottle="17", added_l=4.0, as_read="4 L"), "added", "5", "added_l", 5.0),
        (kinds.LabResult(node="tank", bottle="17", values={"Iron": 12.0}, units={"Iron": "mg/kg"}), "0", "21", "values", {"Iron": 21.0}),
        (kinds.Duty(factor=0.5, reason="dust"), "number", "0.7", "factor", 0.7),
        (kinds.MeterChanged(old_end_h=5100.0), "number", "5101", "old_end_h", 5101.0),
        (kinds.TaskDone(task="filter", node="tank"), "note", "both of them", "note", "both of them"),
    ],
    ids=["note", "oil sample", "lab result", "duty", "meter changed", "task done"],
)
def test_every_other_kind_is_corrected_in_its_own_words(
    rig: Store, open_screen: Open, doc: kinds.Doc, box: str, text: str, field: str, value: object
) -> None:
    store(rig, "other", "Ann", (doc, 4, 0.0 if doc.kind == "meter changed" else None))
    at = opened_entry(open_screen, rig, doc.kind)
    at.text_input(key=f"fix_{found(rig, doc.kind)[0].id}_{box}").set_value(text).run()
    press(at, "Store the correction")
    (new,) = found(rig, doc.kind)
    assert getattr(new.doc, field) == value


def test_a_whole_save_is_undone_from_one_of_its_entries(rig: Store, open_screen: Open) -> None:
    entry = found(rig, "shot")[0]
    at = open_screen("records", entry=entry.id)
    at.segmented_control(key=f"records_what_{entry.id}").set_value("Undo its whole save").run()
    assert "* Slewing ring: 17 strokes" in texts(at)
    assert "* Grease bath: 20, 22 mm" in texts(at)
    press(at, "Undo this save")
    at.run()
    assert "2 entries crossed out" in texts(at)
    assert {e.save_id for e in rig.entries()} == {"one", "three"}
    press(at, "Back to the list")
    assert len(listed(at)) == 3


def test_the_newest_saves_can_be_undone_below_the_list_too(rig: Store, open_screen: Open) -> None:
    at = open_screen("records")
    assert at.selectbox(key="records_undo").options[0].startswith("2026-02-04 06:30, Ben, 2 entries")
    press(at, "Undo this save")
    at.run()
    assert "2 entries crossed out; they stay readable" in texts(at)
    assert rig.shots("ex-1") == []


def test_a_crossed_out_entry_says_what_took_its_place(rig: Store, open_screen: Open) -> None:
    old = found(rig, "movement")[0]
    new = kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=26.0, purpose="top-up", as_read="26 L")
    store(rig, "fix", "Ann", (kinds.Void(entry=old.id, reason="26, not 20"), 5, None), (new, 0, 5000.0))
    at = open_screen("records", entry=old.id)
    assert "This entry counts no more: crossed out 2026-02-07 06:30 by Ann: 26, not 20." in texts(at)
    assert "Entered in its place: Top-up: 26 L Hydraulic oil" in texts(at)
    assert not [b for b in at.button if b.label == "Store the correction"]
