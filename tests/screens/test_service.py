"""Service: several compartments in one save, the product check, the undo of a whole save."""

from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product, from_toml
from fluidapp.store import Store, kinds
from tests.screens.conftest import EARLIER
from tests.screens.test_refill import SLEW, TANK

Open = Callable[..., AppTest]
KEY = "service_ex-1"


@pytest.fixture
def at(records: Store, open_empty: Open) -> AppTest:
    hyd = Product(key="hyd", label="Hydraulic oil", kind="oil", nu40=46.0)
    gear = Product(key="gear", label="Gear oil", kind="oil", nu40=220.0)
    ester = Product(key="ester", label="Ester oil", kind="oil", nu40=46.0, family="biodegradable ester")
    records.put(hyd, gear, ester, from_toml(TANK + SLEW, "ex-1.toml", Machine), now_utc=EARLIER)
    return open_empty("service", machine="ex-1")


def worked(at: AppTest, *parts: str, **boxes: str) -> AppTest:
    at.pills(key=f"{KEY}_parts").set_value(list(parts)).run()
    for name, text in boxes.items():
        at.text_input(key=f"{KEY}_{name}" if name.startswith(("tank", "slew")) else name).set_value(text)
    at.run()
    assert not at.exception
    return at


def both(at: AppTest) -> AppTest:
    return worked(
        at, "tank", "slew",
        tank_before="125", tank_added="26", tank_after="199", slew_before="below", slew_drained="5,8", slew_added="6", slew_after="45",
        service_temp="65", service_meter="5123.4", by_name="A.",
    )  # fmt: skip


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def test_it_opens_empty_with_a_sheet_to_print(at: AppTest) -> None:
    assert not at.exception
    assert "Choose what you worked on" in texts(at)
    at.button(key="service_save").click().run()
    assert "nothing entered" in at.error[0].value


def test_two_compartments_are_one_save(at: AppTest, records: Store) -> None:
    both(at)
    at.checkbox(key=f"{KEY}_slew_changed").check().run()
    at.button(key="service_save").click().run()
    assert not at.exception
    assert not at.error
    entries = list(reversed(records.entries("ex-1")))
    assert len({e.save_id for e in entries}) == 1
    assert [e.kind for e in entries] == ["reading", "movement", "reading", "reading", "movement", "movement", "reading", "task done"]
    assert {e.meter_h for e in entries} == {5123.4}
    assert {e.by_name for e in entries} == {"A."}
    moved = [e.doc for e in entries if isinstance(e.doc, kinds.Movement)]
    assert [(m.from_node, m.to_node, m.volume_l, m.purpose) for m in moved] == [
        ("stock", "ex-1/tank", 26.0, "top-up"),
        ("ex-1/slew", "used-oil", 5.8, "planned change"),
        ("stock", "ex-1/slew", 6.0, "planned change"),
    ]  # fmt: skip
    read = [e.doc for e in entries if isinstance(e.doc, kinds.LevelReading)]
    assert [(r.node, r.level, r.bound) for r in read] == [
        ("ex-1/tank", 125.0, "exact"), ("ex-1/tank", 199.0, "exact"), ("ex-1/slew", None, "at most"), ("ex-1/slew", 45.0, "exact"),
    ]  # fmt: skip
    assert read[0].temp_c == 65.0
    assert "Already stored at" in texts(at.run())


def test_readings_and_litres_are_held_against_each_other(at: AppTest) -> None:
    # 74 mm at 0.35 L each are 25.9 L
    worked(at, "tank", tank_before="125", tank_added="26", tank_after="199", service_temp="65")
    assert "they fit" in texts(at)
    worked(at, "tank", tank_before="125", tank_added="60", tank_after="199", service_temp="65")
    assert "They do not fit" in texts(at)


def test_the_meter_is_read_or_said_not_to_be(at: AppTest, records: Store) -> None:
    worked(at, "tank", tank_before="125")
    at.button(key="service_save").click().run()
    assert "say that it was not read" in at.error[0].value
    assert records.count() == 0
    at.segmented_control(key="service_meter_state").set_value("not read").run()
    at.button(key="service_save").click().run()
    assert not at.error
    meters = [e.doc for e in records.entries("ex-1", "meter")]
    assert [m.state for m in meters if isinstance(m, kinds.Meter)] == ["not read"]


def test_another_product_is_stopped_and_nothing_is_stored(at: AppTest, records: Store) -> None:
    both(at)
    at.selectbox(key=f"{KEY}_tank_product").set_value("gear").run()
    assert any(e.value.startswith("Stop: The compartment holds Hydraulic oil, not Gear oil") for e in at.error)
    at.button(key="service_save").click().run()
    assert records.count() == 0


def test_a_change_of_family_asks_for_the_residual_limit(at: AppTest, records: Store) -> None:
    worked(at, "tank", tank_drained="118", tank_added="120", service_meter="10")
    at.checkbox(key=f"{KEY}_tank_changed").check().run()
    at.selectbox(key=f"{KEY}_tank_product").set_value("ester").run()
    assert any("residual limit" in e.value for e in at.error)
    at.button(key="service_save").click().run()
    assert records.count() == 0


def test_an_unknown_product_marks_the_compartment_until_it_is_drained(at: AppTest, records: Store) -> None:
    worked(at, "slew", slew_added="0.5", service_meter="10")
    at.selectbox(key=f"{KEY}_slew_product").set_value("unknown").run()
    assert "counts as mixed until it is drained" in texts(at)
    at.button(key="service_save").click().run()
    assert not at.error
    assert records.count() == 1
    worked(at, "slew", slew_added="0.4")
    at.selectbox(key=f"{KEY}_slew_product").set_value("gear").run()
    assert "mixed since an earlier pour" in texts(at)
    worked(at, "slew", slew_added="6", slew_drained="6.2")
    at.checkbox(key=f"{KEY}_slew_changed").check().run()
    assert "mixed" not in texts(at)


@pytest.mark.parametrize(
    ("boxes", "said"),
    [
        ({"service_meter": "-5"}, ("Hour meter", "-5", "greater than or equal to 0")),
        ({"service_temp": "500"}, ("Oil temperature", "500", "150")),
        ({"tank_added": "0"}, ("Litres", "0", "greater than 0")),
    ],
)
def test_what_cannot_be_stored_is_one_sentence(at: AppTest, records: Store, boxes: dict[str, str], said: tuple[str, ...]) -> None:
    worked(at, "tank", **({"tank_before": "125", "service_meter": "5123"} | boxes))
    if not at.error:
        at.button(key="service_save").click().run()
    assert not at.exception
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in said), at.error[0].value
    assert records.count() == 0


def test_a_queued_second_tap_undoes_one_save_only(at: AppTest, records: Store) -> None:
    for reading in ("125", "126"):
        worked(at, "tank", tank_before=reading, service_meter="5123")
        at.button(key="service_save").click().run()
    assert len(records.entries("ex-1", "reading")) == 2
    button = next(b for b in at.run().button if b.label == "Undo this save")
    button.click().run()
    button.click().run()
    assert not at.exception
    assert len(records.entries("ex-1", "reading")) == 1


def test_undo_crosses_out_the_whole_save_and_keeps_it_readable(at: AppTest, records: Store) -> None:
    both(at)
    at.button(key="service_save").click().run()
    at.run()
    stored = records.count()
    assert len(records.entries("ex-1")) == stored
    at.text_input(key=f"{KEY}_undo_why").set_value("wrong machine").run()
    next(b for b in at.button if b.label == "Undo this save").click().run()
    assert not at.exception
    assert records.entries("ex-1") == []
    everything = records.entries("ex-1", live=False)
    assert len(everything) == 2 * stored
    assert {e.doc.reason for e in everything if isinstance(e.doc, kinds.Void)} == {"wrong machine"}
    assert any(f"{stored} entries crossed out" in s.value for s in at.success)


@pytest.mark.parametrize(
    ("boxes", "words"),
    [
        ({"tank_before": "900", "tank_after": "100"}, ("glass", "900 mm", "350 mm")),
        ({"tank_added": "5 gal"}, ("Added", "gal")),
        ({"tank_before": "12x"}, ("Before", "12x")),
    ],
)
def test_a_mistake_is_one_sentence(at: AppTest, boxes: dict[str, str], words: tuple[str, ...]) -> None:
    worked(at, "tank", **boxes)
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in words), at.error[0].value


def test_more_than_fits_is_refused_before_anything_is_answered(at: AppTest, records: Store) -> None:
    worked(at, "tank", tank_before="125", tank_added="9999", tank_after="199", service_meter="10")
    # twice the 250 L of the system, which are typical
    assert at.error[0].value.startswith("Added: 9999 L is above 500 L. No more fits in or comes out (Hydraulic tank)")
    assert not [b for b in at.button if b.key == "service_save"]


def test_drained_coolant_never_goes_into_the_used_oil(records: Store, open_empty: Open) -> None:
    cooler = '\n[[compartments]]\nkey = "cooler"\nlabel = "Radiator"\nkind = "coolant"\nproduct = "cool"\n'
    cool, used = Product(key="cool", label="Coolant", kind="coolant"), Product(key="used", label="Used oil", kind="used")
    records.put(cool, used, from_toml(TANK + cooler, "ex-1.toml", Machine), now_utc=EARLIER)
    at = open_empty("service", machine="ex-1")
    at.pills(key=f"{KEY}_parts").set_value(["cooler", "tank"]).run()
    at.text_input(key=f"{KEY}_cooler_drained").set_value("18")
    at.text_input(key=f"{KEY}_tank_drained").set_value("20")
    at.text_input(key="service_meter").set_value("10").run()
    assert any("Coolant: into a container of its own, never into the used-oil tank" in w.value for w in at.warning)
    at.button(key="service_save").click().run()
    assert {(m.from_node, m.to_node, m.product) for m in records.movements("ex-1")} == {
        ("ex-1/cooler", "outside", "cool"), ("ex-1/tank", "used-oil", "used"),
    }  # fmt: skip
