"""Calibration on the screen: the walk, what does not fit, what the records offer, the new version, the entries."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.calc import level
from fluidapp.model import Machine, Pour, Product, Reading, typical
from fluidapp.store import NewEntry, Save, Store, kinds, open_store

Open = Callable[..., AppTest]
AT = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
KEY = "calibration_digger_tank_0"


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    machine = typical.machine("20 t excavator", "digger", "Digger")
    tank = machine.compartment("tank").model_copy(update={"product": "hyd"})
    parts = tuple(tank if c.key == "tank" else c for c in machine.compartments)
    store.put(Product(key="hyd", label="Hydraulic oil", kind="oil"), machine.model_copy(update={"compartments": parts}), now_utc=AT)
    return store


@pytest.fixture
def opened(digger: Store, open_empty: Open) -> AppTest:
    return open_empty("calibration", machine="digger", part="tank")


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


def walked(at: AppTest, first: str, *steps: tuple[str, str]) -> AppTest:
    typed(at, **{f"{KEY}_start": first})
    for n, (litres, after) in enumerate(steps, start=1):
        typed(at, **{f"{KEY}_litres{n}": litres, f"{KEY}_after{n}": after})
    assert not at.exception
    return at


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.success, *at.warning, *at.error))


def record(store: Store, day: float, *docs: kinds.Doc, meter_h: float | None = None) -> None:
    at = AT + datetime.timedelta(days=day)
    entries = tuple(NewEntry(machine="digger", at=at, meter_h=meter_h, doc=doc) for doc in docs)
    store.record(Save(id=f"save-{day}", entries=entries), now_utc=AT + datetime.timedelta(days=60))


def read(shown: float) -> kinds.LevelReading:
    return kinds.LevelReading(node="tank", gauge="sight gauge", level=shown, as_read=f"{shown:g} mm")


def poured(litres: float) -> kinds.Movement:
    return kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=litres, purpose="top-up", as_read=f"{litres:g} L")


def test_it_tells_how_and_where_to_begin_and_shows_no_answer_yet(opened: AppTest) -> None:
    assert not opened.exception
    assert not opened.metric
    text = said(opened)
    assert "near the low mark (260.0 mm)" in text
    assert "Pour about 8 L" in text
    assert "Read the sight gauge and enter it." in text
    assert [b.key for b in opened.button] == []


def test_the_walk_leads_from_step_to_step(opened: AppTest) -> None:
    typed(opened, **{f"{KEY}_start": "260"})
    assert "Pour no. 1, then read again." in said(opened)
    typed(opened, **{f"{KEY}_litres1": "8"})
    assert "read the sight gauge again after pour 1" in said(opened)
    assert not opened.metric
    typed(opened, **{f"{KEY}_after1": "284"})
    assert opened.metric
    assert "Pour no. 2, then read again." in said(opened)


def test_three_pours_give_litres_with_their_doubt_picture_and_table(opened: AppTest) -> None:
    """8 L raise 0.32 L/mm by 25 mm; u(b) = 3 / sqrt(2 (12² + 4²)) mm/L: 10 mm are 3.2 L ± 2 x 10 u(b) 0.32² = 0.34. By hand."""
    at = walked(opened, "260", ("8", "285"), ("8", "310"), ("8", "335"))
    assert at.metric[0].label == "From the pours, 10 mm of height are"
    assert at.metric[0].value == "3.2 ± 0.4 L"
    text = said(at)
    assert "From the typical shape: 3.5 ± 0.7 L" in text
    assert "Together, weighted by how sure each is: **3.2 ± 0.4 L**" in text
    chart = at.get("vega_lite_chart")[0].proto
    assert "the line means 0.32 L per mm, dashed the typical shape with 0.329; all 4 readings lie about it" in chart.alt
    rows = at.table[0].value.to_numpy().tolist()
    assert [row[0] for row in rows] == ["0 L", "8 L", "16 L", "24 L"]
    assert all(row[-1] == "yes" for row in rows)
    assert not at.warning


def test_the_answer_survives_inches_and_gallons(opened: AppTest) -> None:
    at = walked(opened, "260", ("8", "285"), ("8", "310"), ("8", "335"))
    first = at.metric[0].value
    at.selectbox(key="units").set_value("in, US gal").run()
    assert at.metric[0].label == "From the pours, 1 in of height are"
    assert at.metric[0].value == "2.2 ± 0.3 US gal"  # 0.32 x 25.4 / 3.7854 = 2.147, in steps of 0.2 below the ±
    at.selectbox(key="units").set_value("mm, L").run()
    assert at.metric[0].value == first


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ((("8", "310"), ("8", "285"), ("8", "335")), "Readings 2 and 3 look exchanged"),
        ((("8", "285"), ("8", "360")), "Pours 1 and 2 contradict each other: 8 L raised the gauge by 25 mm, 8 L by 75 mm"),
        ((("8", "285"), ("8", "310"), ("8", "300"), ("8", "360"), ("8", "385")), "Reading 4 does not fit the others"),
        ((("60", "300"), ("60", "340")), "120 L on top of what stood at 260"),
        ((("20", "300"), ("20", "340"), ("20", "380")), "they are not blended, the pours are used"),
        ((("1", "263"),), "Too few litres were poured"),
    ],
)
def test_what_does_not_fit_is_named(opened: AppTest, steps: tuple[tuple[str, str], ...], expected: str) -> None:
    at = walked(opened, "260", *steps)
    assert any(expected in w.value for w in at.warning), [w.value for w in at.warning]


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ((("800", "285"),), "Pour 1: 800 L is above 197.5 L. That is more than Hydraulic tank holds"),
        ((("8", "235"),), "Pour 1: 8 L moved the sight gauge from 260 to 235. Check whether"),
        ((("8", "285"), ("8", "900")), "Pour 2, sight gauge after it: 900 mm is not within 0 to 450 mm"),
        ((("8x", "285"),), "“8x” cannot be used"),
        ((("", "285"),), "Pour 1: “nothing” cannot be used. Enter the litres"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_no_answer(opened: AppTest, steps: tuple[tuple[str, str], ...], expected: str) -> None:
    at = walked(opened, "260", *steps)
    assert not at.metric
    assert len(at.error) == 1
    assert expected in at.error[0].value
    assert "calibration_use" not in [b.key for b in at.button]


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ((("0", "285"),), ("Pour 1", "0 L, 260 to 285", "tells nothing")),
        ((("8", "260"),), ("Pour 1", "8 L, 260 to 260", "did not move")),
    ],
)
def test_a_pour_that_tells_nothing_is_one_sentence(opened: AppTest, steps: tuple[tuple[str, str], ...], expected: tuple[str, ...]) -> None:
    at = walked(opened, "260", *steps)
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in expected), at.error[0].value


def test_a_pour_that_lowers_the_gauge_is_not_stored(opened: AppTest, digger: Store) -> None:
    at = walked(opened, "260", ("8", "285"), ("8", "283"), ("8", "335"))
    at.button(key="calibration_use").click().run()
    assert not at.exception
    assert any("Pour 2: 8 L moved the gauge from 285 to 283" in error.value for error in at.error)
    assert len(digger.versions("digger")) == 1


def test_it_becomes_a_new_version_and_the_level_check_answers_with_it(opened: AppTest, digger: Store) -> None:
    old = digger.machine("digger")
    at = walked(opened, "260", ("8", "285"), ("8", "310"), ("8", "335"))
    typed(at, calibration_by="Ada")
    at.button(key="calibration_use").click().run()
    assert not at.exception
    assert "Hydraulic tank is calibrated with 3 pours. Version 2." in said(at)
    new = digger.machine("digger")
    assert new.compartment("tank").pours == (
        Pour(add=8.0, before=260.0, after=285.0, gauge="sight gauge"),
        Pour(add=8.0, before=285.0, after=310.0, gauge="sight gauge"),
        Pour(add=8.0, before=310.0, after=335.0, gauge="sight gauge"),
    )
    assert digger.versions("digger")[0].by == "Ada"
    before, after = (level.volume(m, "tank", Reading(level=300.0)) for m in (old, new))
    assert after.tank_rel < 0.6 * before.tank_rel
    # 3.2 and 3.29 L in 10 mm, weighted 1/u² in the rise per litre, are 3.22: by that much less is in it
    assert after.as_read_l / before.as_read_l == pytest.approx(0.322 / 0.3292, rel=0.005)


def test_stored_pours_are_kept_with_the_new_ones_or_dropped(opened: AppTest, digger: Store, open_empty: Open) -> None:
    walked(opened, "260", ("8", "285"))
    opened.button(key="calibration_use").click().run()
    at = open_empty("calibration", machine="digger", part="tank")
    assert at.metric
    walked(at, "270", ("8", "295"))
    at.button(key="calibration_use").click().run()
    assert len(digger.machine("digger").compartment("tank").pours) == 2
    at = open_empty("calibration", machine="digger", part="tank")
    at.checkbox(key="calibration_keep_tank").set_value(False).run()
    walked(at, "280", ("8", "305"))
    at.button(key="calibration_use").click().run()
    assert digger.machine("digger").compartment("tank").pours == (Pour(add=8.0, before=280.0, after=305.0, gauge="sight gauge"),)


def test_a_recorded_top_up_with_readings_before_and_after_is_offered(digger: Store, open_empty: Open) -> None:
    record(digger, 1, read(270.0), poured(10.0), read(301.0))
    record(digger, 5, read(300.0), meter_h=100.0)
    record(digger, 6, poured(6.0), read(310.0), meter_h=140.0)
    at = open_empty("calibration", machine="digger", part="tank")
    assert any("From the records: 2" in fold.label for fold in at.expander)
    good, rest = (at.multiselect(key=f"calibration_digger_tank_recorded_{name}") for name in ("good", "rest"))
    assert good.options == ["2026-03-03: 10 L, 270.0 mm to 301.0 mm"]
    assert rest.options == ["2026-03-08: 6 L, 300.0 mm to 310.0 mm (40 h of work in between)"]
    assert not at.metric
    good.set_value([1]).run()
    assert not at.exception
    assert at.metric[0].value.startswith("3.")
    at.button(key="calibration_use").click().run()
    assert digger.machine("digger").compartment("tank").pours == (Pour(add=10.0, before=270.0, after=301.0, gauge="sight gauge"),)
    at.run()
    assert any("From the records: 1" in fold.label for fold in at.expander)  # what is stored is not offered twice


def test_the_walk_goes_into_the_records_in_its_order(opened: AppTest, digger: Store) -> None:
    at = walked(opened, "260", ("8 L", "285"), ("8.5", "312"))
    typed(at, by_name="Ada")
    at.button(key="calibration_save").click().run()
    assert not at.exception
    found = [e.doc for e in reversed(digger.entries("digger"))]
    assert [d.kind for d in found] == ["reading", "movement", "reading", "movement", "reading"]
    assert [d.level for d in found if isinstance(d, kinds.LevelReading)] == [260.0, 285.0, 312.0]
    moves = [d for d in found if isinstance(d, kinds.Movement)]
    assert [(m.volume_l, m.product, m.purpose, m.as_read) for m in moves] == [
        (8.0, "hyd", "top-up", "8 L"), (8.5, "hyd", "top-up", "8.5 L"),
    ]  # fmt: skip
    assert len(digger.versions("digger")) == 1


def test_a_drain_is_stored_as_one(opened: AppTest, digger: Store) -> None:
    at = walked(opened, "335", ("-8", "310"), ("-8", "285"))
    assert at.metric[0].value == "3.0 ± 0.6 L"  # 3.2, in steps of 0.5 below the ±
    at.button(key="calibration_save").click().run()
    moves = [e.doc for e in digger.entries("digger", "movement")]
    assert [(m.from_node, m.to_node, m.purpose) for m in moves if isinstance(m, kinds.Movement)] == [
        ("digger/tank", "used-oil", "drain")
    ] * 2


def test_a_level_plug_begins_below_its_lip(digger: Store, open_empty: Open) -> None:
    at = open_empty("calibration", machine="digger", part="drive-left")
    assert "Turn the plug into its position first." in said(at)
    key = "calibration_digger_drive-left_0"
    typed(at, **{f"{key}_start": "8"})
    typed(at, **{f"{key}_litres1": "0.3", f"{key}_after1": "2"})
    assert not at.exception
    assert at.metric


def test_a_machine_known_by_pours_alone_can_be_calibrated(tmp_path: Path, open_empty: Open) -> None:
    store = open_store(tmp_path / "records.db")
    part = {
        "key": "tank", "label": "Tank", "kind": "hydraulic tank", "pours": [{"add": 20.0, "before": 100.0, "after": 157.0}],
        "gauges": [{"kind": "stick", "name": "stick", "end_mm": 400.0}],
    }  # fmt: skip
    store.put(Machine.model_validate({"key": "digger", "label": "Digger", "compartments": [part]}), now_utc=AT)
    at = open_empty("calibration", machine="digger", part="tank")
    assert at.metric[0].value == "3.6 ± 0.4 L"  # 20 L in 57 mm: 3.51, u 0.17; in steps of 0.2 below the ±
    assert not at.error
