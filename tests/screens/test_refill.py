"""Refill: two numbers from a reading and what was opened, the bring list, steps, refusals, one save."""

import math
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product, from_toml
from fluidapp.store import Store, kinds
from tests.screens.conftest import EARLIER, MACHINE

Open = Callable[..., AppTest]
KEY = "refill_ex-1"
SLEW = """
[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
product = "gear"
fill = {litres = 6.0, reading = 45.0, depth_mm = 190.0}
capacities = {refill_l = 6.0}
[[compartments.gauges]]
kind = "stick"
name = "dipstick"
end_mm = 160
bands = [{low = 30, high = 50, target = 45}]
"""
TANK = MACHINE.replace('kind = "hydraulic tank"', 'kind = "hydraulic tank"\nproduct = "hyd"').replace(
    "capacities = {system_l = 250}", "capacities = {system_l = 250, at_mark_l = 122, refill_l = 120}"
)


@pytest.fixture
def at(records: Store, open_empty: Open) -> AppTest:
    hyd = Product(key="hyd", label="Hydraulic oil", kind="oil", nu40=46.0, rho15=870.0, price=3.1, currency="EUR")
    gear = Product(key="gear", label="Gear oil", kind="oil", nu40=220.0)
    records.put(hyd, gear, from_toml(TANK + SLEW, "ex-1.toml", Machine), now_utc=EARLIER)
    return open_empty("refill", machine="ex-1")


def opened(at: AppTest, *ticks: str, **boxes: str) -> AppTest:
    at.pills(key=f"{KEY}_opened").set_value(list(ticks)).run()
    if "gear case drained" in ticks:
        at.pills(key=f"{KEY}_gears").set_value(["slew"]).run()
    for name, text in boxes.items():
        at.text_input(key=name if name.startswith("refill_") else f"{KEY}_{name}").set_value(text)
    at.run()
    assert not at.exception
    return at


def read(at: AppTest, level: str = "125") -> AppTest:
    for key, text in (("refill_reading", level), ("refill_pitch", "0"), ("refill_roll", "0"), ("refill_temp", "65")):
        at.text_input(key=key).set_value(text)
    at.segmented_control(key="refill_posture").set_value("reference")
    at.run()
    assert not at.exception
    return at


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def value(text: str) -> float:
    return float(text.partition(" ±")[0])


def test_it_opens_without_an_answer(at: AppTest) -> None:
    assert not at.exception
    assert not at.metric
    assert "tick that it was drained whole" in texts(at)


def test_the_reading_alone_gives_the_tanks_deficit(at: AppTest) -> None:
    # 0.35 L in each mm, 75 mm to the mark at 200: 26.25 L
    read(at)
    assert at.metric[0].label == "Before the start"
    assert abs(value(at.metric[0].value) - 26.25) <= 1
    assert "After running: **nothing**" in texts(at) or "After running: **0 to" in texts(at)


def test_case_and_hose_come_on_top_each_in_its_place(at: AppTest) -> None:
    # case, typical 0.5 to 3 L: 1.75 L before the start; 10 m of 25.4 mm bore: pi/4 0.254^2 100 = 5.07 L after running
    read(at)
    opened(at, "motor or pump case", "hoses", hose_1_bore="25.4", hose_1_length="10")
    rows = at.table[-1].value if len(at.table) else None
    listed = {str(r["what"]): (str(r["litres"]), str(r["when"])) for t in at.table for _, r in t.value.iterrows() if "what" in t.value}
    assert rows is not None
    assert listed["motor or pump case"][1] == "before start"
    assert abs(value(listed["hose"][0]) - math.pi / 4 * 0.254**2 * 100) <= 0.1
    assert listed["hose"][1] == "after running"
    assert abs(value(at.metric[0].value) - 28.0) <= 1


def test_the_bring_list_takes_the_upper_end_less_what_stands_open(at: AppTest) -> None:
    read(at)
    opened(at, "gear case drained", open_hyd="5", used="6", room="2")
    take = {str(r["bring"]): str(r["take"]) for t in at.table for _, r in t.value.iterrows() if "bring" in t.value}
    upper = float(take["Hydraulic oil"].partition("up to ")[2].split()[0])
    assert 26.25 < upper < 34
    assert f"{upper - 5:.1f} L" in take["Hydraulic oil"]
    assert "up to 6.4 L" in take["Gear oil"]  # 6 L known to 3 %, twice
    assert take["for used oil"].startswith("1 empty pail")


def test_a_whole_drain_needs_no_reading_and_takes_the_refill_capacity(at: AppTest) -> None:
    opened(at, "whole tank drained")
    assert abs(value(at.metric[0].value) - 120.0) <= 5
    assert not at.error


def test_rinsing_goes_on_until_the_old_oil_is_below_the_limit(at: AppTest) -> None:
    # a fifth stays: 20, 4 %; so 2 times, and the first of them needs 6 x 0.8 = 4.8 L of rinse oil
    read(at)
    opened(at, "gear case drained", stay="20", target="5")
    said = texts(at)
    assert "drain and refill 2 times" in said
    assert "4 % of the old oil" in said
    assert "4.8 L" in said


def test_flush_or_not_follows_what_failed(at: AppTest) -> None:
    read(at)
    at.selectbox(key=f"{KEY}_failed").set_value("motor").run()
    assert "Look first" in texts(at)
    at.segmented_control(key=f"{KEY}_metal").set_value("found").run()
    assert "**Flush.**" in texts(at)
    at.segmented_control(key=f"{KEY}_metal").set_value("none").run()
    assert "Make up the loss" in texts(at)


def test_the_gates_stand_in_the_order_of_the_work_and_name_what_is_open(at: AppTest) -> None:
    read(at)
    opened(at, "motor or pump case", "gear case drained")
    gates = [c.key for c in at.checkbox if c.key and c.key.startswith(f"{KEY}_gate_")]
    names = [key.removeprefix(f"{KEY}_gate_") for key in gates]
    assert names.index("safe") < names.index("case") < names.index("tank") < names.index("weep") < names.index("reading")
    assert "gear case again" in names
    before = next(w.value for w in at.warning if "still open" in w.value)
    at.checkbox(key=gates[0]).check().run()
    after = next(w.value for w in at.warning if "still open" in w.value)
    assert "step 1," in before
    assert "step 1," not in after
    assert "do not say that it is safe" in texts(at)


@pytest.mark.parametrize(
    ("ticks", "boxes", "words"),
    [
        (("hoses",), {"hose_1_bore": "0.5", "hose_1_length": "2"}, ("hose bore", "0.5 mm", "inches", "12.7 mm")),
        (("hoses",), {"hose_1_bore": "25.4", "hose_1_length": "2500"}, ("length", "2500", "60 m")),
        (("tubes",), {"tube_1_outside": "25", "tube_1_wall": "13", "tube_1_length": "2"}, ("wall", "13")),
        (("motor or pump case",), {"case": "-1"}, ("case", "-1")),
        ((), {"open_hyd": "-3"}, ("open container", "-3")),
        ((), {"used": "-3"}, ("Used oil", "-3")),
        ((), {"refill_temp": "400"}, ("temperature", "400")),
    ],
)
def test_a_mistake_is_one_sentence(at: AppTest, ticks: tuple[str, ...], boxes: dict[str, str], words: tuple[str, ...]) -> None:
    read(at)
    opened(at, *ticks, **boxes)
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in words), at.error[0].value


def test_a_rod_thicker_than_the_bore_is_named(at: AppTest) -> None:
    read(at)
    opened(at, "cylinder fitted dry")
    at.segmented_control(key=f"{KEY}_dry_boom").set_value(1).run()
    assert "bore of boom" in texts(at)
    at.text_input(key=f"{KEY}_bore_boom").set_value("80").run()
    assert not at.exception
    assert "85 mm is not thinner than the bore 80 mm" in at.error[0].value


def test_bore_in_inches_with_its_unit_is_taken(at: AppTest) -> None:
    # 1 in holds 0.507 L a metre (computed by us): 10 m, 5.07 L
    read(at)
    opened(at, "hoses", hose_1_bore="1 in", hose_1_length="10")
    assert not at.error
    listed = {str(r["what"]): str(r["litres"]) for t in at.table for _, r in t.value.iterrows() if "what" in t.value}
    assert abs(value(listed["hose"]) - 5.07) <= 0.2


def finished(at: AppTest, **boxes: str) -> AppTest:
    read(at)
    opened(
        at,
        "motor or pump case",
        "gear case drained",
        **{"poured_before": "27", "poured_after": "1", "poured_slew": "5.9", "after": "198"} | boxes,
    )
    at.text_input(key="refill_meter").set_value("7342")
    at.selectbox(key=f"{KEY}_rule").set_value("slewing gearbox after a reseal").run()
    assert not at.exception
    return at


def test_poured_is_compared_and_the_changes_count_from_the_meter(at: AppTest) -> None:
    finished(at)
    said = texts(at)
    assert "**Before the start:** poured 27 L, expected" in said
    assert "as expected" in said
    assert "**7 492 h** then **8 292 h**" in said  # 7342 + 150, + 800
    finished(at, poured_before="60")
    assert "More than expected: look for a leak" in texts(at)


def test_all_of_it_is_one_save(at: AppTest, records: Store) -> None:
    finished(at)
    at.button(key="refill_save").click().run()
    assert not at.exception
    assert not at.error
    entries = list(reversed(records.entries("ex-1")))
    assert len({e.save_id for e in entries}) == 1
    assert [e.kind for e in entries] == ["reading", "movement", "movement", "movement", "repair", "reading"]
    repair = entries[4].doc
    assert isinstance(repair, kinds.Repair)
    assert (repair.first_h, repair.repeat_h, entries[4].meter_h) == (150.0, 800.0, 7342.0)
    assert {o.what for o in repair.opened} == {"motor or pump case", "Slewing gearbox"}
    poured = [e.doc for e in entries if isinstance(e.doc, kinds.Movement)]
    assert [(p.to_node, p.product, p.volume_l, p.price) for p in poured] == [
        ("ex-1/tank", "hyd", 27.0, 3.1), ("ex-1/tank", "hyd", 1.0, 3.1), ("ex-1/slew", "gear", 5.9, None),
    ]  # fmt: skip
    assert "Already stored at" in texts(at.run())


def test_another_product_is_stopped_with_the_reason(at: AppTest, records: Store) -> None:
    finished(at)
    at.selectbox(key=f"{KEY}_product").set_value("gear").run()
    assert any("Stop: The compartment holds Hydraulic oil, not Gear oil" in e.value for e in at.error)
    at.button(key="refill_save").click().run()
    assert any("product poured" in e.value for e in at.error)
    assert records.count() == 0


def test_at_most_twelve_inputs_answer_the_usual_repair(at: AppTest) -> None:
    # machine, reading, two ticks, bore, length; then poured twice, gauge after, name, meter and the button: 12
    at.text_input(key="refill_reading").set_value("125")
    at.pills(key=f"{KEY}_opened").set_value(["motor or pump case", "hoses"]).run()
    for key, text in (
        (f"{KEY}_hose_1_bore", "25.4"), (f"{KEY}_hose_1_length", "2"), (f"{KEY}_poured_before", "26"), (f"{KEY}_poured_after", "2"),
        (f"{KEY}_after", "199"), ("by_name", "A."), ("refill_meter", "100"),
    ):  # fmt: skip
        at.text_input(key=key).set_value(text)
    at.button(key="refill_save").click().run()
    assert not at.error
    assert any("Stored in the records." in s.value for s in at.success)
