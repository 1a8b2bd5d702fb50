"""Due list: what is listed and in which words, filters, one line recorded as done, the printed list, tasks in Machines."""

import datetime
import io
from collections.abc import Callable

import pytest
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine
from fluidapp.model.intervals import Shorter, Task
from fluidapp.screens import _due, _due_words
from fluidapp.screens.words import METRIC
from fluidapp.sheets.due_sheet import DueSheet, Line, due_sheet_pdf
from fluidapp.store import NewEntry, Save, Store, kinds
from fluidapp.store.deeds import read_deeds
from tests.screens.conftest import EARLIER

Open = Callable[..., AppTest]
NOW = datetime.datetime.now(datetime.UTC).replace(hour=6, minute=0, second=0, microsecond=0)
TASKS = (
    Task(key="tank-change", label="hydraulic oil change", kind="change", at="tank", first_h=500.0, repeat_h=2000.0, source="manual"),
    Task(key="round", label="round of checks", kind="check", repeat_h=50.0, source="manual"),
    Task(key="hoses", label="hoses looked at", kind="check", repeat_days=100.0, source="manual"),
)


def put(store: Store, days_ago: float, doc: object, meter_h: float | None) -> None:
    entry = NewEntry.made(machine="ex-1", at=NOW - datetime.timedelta(days=days_ago), meter_h=meter_h, doc=doc)
    store.record(Save(id=f"save-{store.count()}", entries=(entry,)), now_utc=datetime.datetime.now(datetime.UTC))


@pytest.fixture
def worked(records: Store) -> Store:
    """Ten weeks of 40 h up to 1400 h today; the round of checks done 70 h ago, the hoses 90 days ago, the oil never."""
    machine = records.machine("ex-1")
    records.put(machine.model_copy(update={"tasks": TASKS}), now_utc=EARLIER + datetime.timedelta(days=1))
    put(records, 90, kinds.TaskDone(task="hoses looked at"), None)
    for week in range(10, -1, -1):
        put(records, 7 * week, kinds.Meter(), 1400.0 - 40.0 * week)
    put(records, 12.25, kinds.TaskDone(task="round of checks"), 1330.0)
    return records


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info))


def links(at: AppTest) -> list[str]:
    return [str(link.proto.label) for link in at.get("page_link") if link.proto.label.startswith("**")]


def listed(store: Store) -> _due.Listed:
    return _due.gather(store, store.machines(), store.guns(), NOW.date())


def test_the_demo_opens_and_lists_a_page_of_its_tasks_the_overdue_first(open_demo_screen: Open) -> None:
    at = open_demo_screen("due")
    assert not at.exception
    assert not at.error
    shown = links(at)
    assert len(shown) == 20
    assert shown[0].startswith("**Slewing ring**")
    assert "overdue by 614 h (by the meter on 2026-09-28)" in said(at).replace("\\", "")
    at.button(key="due_more").click().run()
    assert len(links(at)) == 40


def test_words_of_what_is_overdue_coming_and_never_recorded(worked: Store, open_screen: Open) -> None:
    at = open_screen("due", machine="ex-1")
    assert not at.exception
    words = said(at).replace("\\", "")
    assert "1 overdue, 1 never recorded" in words
    assert f"overdue by 20 h (by the meter on {NOW.date()})" in words  # 1400 - 1330 - 50
    assert f"in 10 days, on {NOW.date() + datetime.timedelta(days=10)}" in words
    assert "Never recorded: enter when it was last done." in words


def test_filters_by_kind_words_and_days(worked: Store, open_screen: Open) -> None:
    at = open_screen("due", machine="ex-1")
    assert links(at) == ["**Round of checks**", "**Hoses looked at**", "**Hydraulic oil change**"]
    at.selectbox(key="due_kind").set_value("oil changes").run()
    assert links(at) == ["**Hydraulic oil change**"]
    at.selectbox(key="due_kind").set_value("all kinds").run()
    at.segmented_control(key="due_which").set_value("Overdue").run()
    assert links(at) == ["**Round of checks**"]
    at.segmented_control(key="due_which").set_value("Within days").run()
    assert links(at) == ["**Round of checks**", "**Hoses looked at**"]
    at.text_input(key="due_days").set_value("5").run()
    assert links(at) == ["**Round of checks**"]
    at.text_input(key="due_days").set_value("-1").run()
    assert "Days" in at.error[0].value


def test_one_line_done_is_stored_once_and_counts(worked: Store, open_screen: Open) -> None:
    at = open_screen("due", machine="ex-1")
    before = worked.count()
    at.button(key="due_done_ex-1/round").click().run()
    at.button(key="due_save").click().run()
    assert "Hour meter" in at.error[0].value  # hours count from there
    at.text_input(key="due_meter").set_value("1402").run()
    at.button(key="due_save").click().run()
    assert not at.exception
    assert "stored as done" in at.success[0].value
    assert worked.count() == before + 1
    entry = worked.entries("ex-1", "task done", limit=1)[0]
    assert isinstance(entry.doc, kinds.TaskDone)
    assert (entry.doc.task, entry.doc.node, entry.meter_h) == ("round of checks", None, 1402.0)
    assert "in 50 h" in said(at)
    at.button(key="due_done_ex-1/round").click().run()
    assert "due_save" not in [button.key for button in at.button]  # the same again is not offered as new
    assert "Already stored at" in said(at)
    assert worked.count() == before + 1


def test_empty_records_say_what_to_do(open_empty: Open) -> None:
    at = open_empty("due")
    assert "No machine is entered yet" in at.info[0].value


def test_first_then_repeat_counts_from_the_meter_at_the_repair(worked: Store) -> None:
    """What Refill stores: a planned change and the repair with its hours, in one save."""
    oil = kinds.Movement(from_node="stock", to_node="tank", volume_l=120.0, purpose="planned change")
    put(worked, 5, oil, 1371.0)
    put(worked, 5, kinds.Repair(what="pump renewed", at_nodes=("tank",), first_h=150.0, repeat_h=800.0), 1371.0)
    change = next(d for d in listed(worked).lines if d.key == "tank-change")
    assert change.target_h == pytest.approx(1521.0)
    assert change.why.startswith("First change 150 h after the repair at 1371 h")
    put(worked, 1, kinds.TaskDone(task="oil change", node="tank"), 1394.0)
    change = next(d for d in listed(worked).lines if d.key == "tank-change")
    assert change.target_h == pytest.approx(2194.0)  # the repair's own repeat holds from then on


def test_a_repair_with_hours_is_listed_where_the_machine_has_no_such_task(records: Store) -> None:
    put(records, 20, kinds.Meter(), 1000.0)
    put(records, 5, kinds.Repair(what="resealed", at_nodes=("tank",), first_h=150.0, repeat_h=800.0), 1040.0)
    found = listed(records)
    assert [(d.label, d.target_h, d.typical) for d in found.lines] == [("Hydraulic tank: change", 1190.0, False)]


def test_a_planned_change_alone_counts_as_a_change_and_a_voided_one_does_not(worked: Store) -> None:
    put(worked, 5, kinds.Movement(from_node="stock", to_node="tank", volume_l=120.0, purpose="planned change"), 1371.0)
    target = {d.key: d.target_h for d in listed(worked).lines}
    assert target["tank-change"] == pytest.approx(3371.0)
    put(worked, 0, kinds.Void(entry=worked.entries("ex-1", "movement")[0].id), None)
    assert {d.key: d.state for d in listed(worked).lines}["tank-change"] == "never recorded"


def test_deeds_have_the_hours_that_the_records_have(worked: Store) -> None:
    put(worked, 0, kinds.MeterChanged(old_end_h=1401.0), 5.0)
    known = {p.entry_id: p.total_h for p in worked.meter_points("ex-1")}
    assert {d.id: d.total_h for d in read_deeds(worked) if d.total_h is not None} == known


def test_what_was_done_and_counts_for_no_task_is_asked_about(worked: Store, open_screen: Open) -> None:
    put(worked, 2.9, kinds.TaskDone(task="wipers", node="tank"), None)
    odd = listed(worked).questions["ex-1"]
    assert any("“wipers” was done on" in text for text in odd)
    assert "“wipers”" in said(open_screen("due", machine="ex-1")).replace("\\", "")


def test_a_reading_that_cannot_be_is_asked_about_by_name_under_the_list(worked: Store, open_screen: Open) -> None:
    put(worked, 0, kinds.Meter(), 1500.0)  # 100 h in no time
    at = open_screen("due", machine="ex-1")
    assert [head.value for head in at.header] == ["Questions about the hour meters"]
    assert "More than 24 h a day" in said(at)
    assert "1500 h" in said(at)
    assert said(at).count("More than 24 h a day") == 1  # once under the list, not with every line


def test_the_printed_list_has_every_line_and_its_questions() -> None:
    lines = tuple(Line(f"Machine {k}", "oil change", f"in {k} h", "Every 500 h.", "22.0 ± 1.3 L Engine oil") for k in range(60))
    reader = PdfReader(io.BytesIO(due_sheet_pdf(DueSheet("2026-05-04", "All machines", lines, ("Machine 3: backwards",)))))
    pages = [page.extract_text() for page in reader.pages]
    assert len(pages) > 1
    assert all("Machine, task" in page for page in pages[:-1])
    text = "\n".join(pages)
    assert all(f"Machine {k}" in text for k in range(60))
    assert "Machine 3: backwards" in text
    assert "maker's manual" in text
    assert "Nothing is due" in PdfReader(io.BytesIO(due_sheet_pdf(DueSheet("2026-05-04", "All", ())))).pages[0].extract_text()


def test_the_sheet_of_the_list_says_what_the_screen_says(worked: Store) -> None:
    found = listed(worked)
    sheet = _due_words.sheet(found.lines, found, {}, METRIC, NOW.date(), "Excavator 1")
    assert sheet.lines[0].when.startswith("overdue by 20 h")
    assert sheet.notes == ()


@pytest.fixture
def edited(worked: Store, open_screen: Open) -> AppTest:
    at = open_screen("machines", machine="ex-1")
    at.segmented_control(key="machines_what").set_value("Edit").run()
    at.selectbox(key="machines_edit_what").select_index(6).run()
    assert not at.exception
    return at


def test_tasks_and_conditions_are_edited_in_machines(edited: AppTest, worked: Store) -> None:
    at = edited
    key = "machines_edit_tasks_tasks_"
    assert at.text_input(key=f"{key}0_label").value == "hydraulic oil change"
    at.text_input(key=f"{key}0_repeat_h").set_value("1500")
    at.button(key=f"{key}0_shorter_add").click().run()
    at.text_input(key=f"{key}0_shorter_0_condition").set_value("dust")
    at.text_input(key=f"{key}0_shorter_0_factor").set_value("0.5").run()
    at.pills(key="machines_edit_tasks_conditions").set_value(["dust"])
    at.button(key=f"{key}add").click().run()
    at.text_input(key=f"{key}3_label").set_value("Swivel greased by hand")
    at.selectbox(key=f"{key}3_kind").set_value("check")
    at.text_input(key=f"{key}3_repeat_days").set_value("30").run()
    at.button(key="machines_edit_save").click().run()
    assert not at.exception
    assert not at.error
    machine = worked.machine("ex-1")
    assert [t.key for t in machine.tasks] == ["tank-change", "round", "hoses", "swivel-greased-by-hand"]
    assert (machine.tasks[0].repeat_h, machine.tasks[0].first_h, machine.tasks[0].at) == (1500.0, 500.0, "tank")
    assert machine.tasks[0].shorter == (Shorter(condition="dust", factor=0.5),)
    assert machine.conditions == ("dust",)


def test_a_task_without_an_interval_is_refused_by_name(edited: AppTest, worked: Store) -> None:
    at = edited
    at.button(key="machines_edit_tasks_tasks_add").click().run()
    at.text_input(key="machines_edit_tasks_tasks_3_label").set_value("Wash").run()
    at.button(key="machines_edit_save").click().run()
    assert "Wash" in at.error[0].value
    assert "Enter hours or days" in at.error[0].value
    at.text_input(key="machines_edit_tasks_tasks_3_repeat_h").set_value("10")
    at.selectbox(key="machines_edit_tasks_tasks_3_kind").set_value("filter").run()
    at.button(key="machines_edit_save").click().run()
    assert "Wash, where" in at.error[0].value
    assert len(worked.machine("ex-1").tasks) == 3


def test_a_machine_without_tasks_can_be_listed(records: Store, open_screen: Open) -> None:
    machine: Machine = records.machine("ex-1")
    assert machine.tasks == ()
    at = open_screen("due", machine="ex-1")
    assert not at.exception
    assert "No task is entered yet" in said(at)
