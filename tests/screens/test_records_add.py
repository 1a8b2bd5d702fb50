"""Records, “Add an entry”: deliveries, used oil handed over, mix-ups, oil samples with their results, notes."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product, Site, Truck, TruckCompartment, from_toml
from fluidapp.store import NewEntry, Save, Store, kinds
from tests.screens.conftest import EARLIER
from tests.screens.test_refill import SLEW, TANK

Open = Callable[..., AppTest]
DAY = datetime.datetime(2026, 2, 2, 6, 30, tzinfo=datetime.UTC)
COOLER = '\n[[compartments]]\nkey = "cooler"\nlabel = "Radiator"\nkind = "coolant"\nproduct = "cool"\n'


@pytest.fixture
def rig(records: Store) -> Store:
    """The one machine with a slewing gearbox and a radiator; products; a truck for hydraulic oil and used oil."""
    truck = Truck(
        key="truck", label="Lube truck",
        compartments=(
            TruckCompartment(key="hyd", label="Hydraulic oil", product="hyd", capacity_l=400.0),
            TruckCompartment(key="used", label="Used oil", product="used", capacity_l=600.0, collects=True),
        ),
    )  # fmt: skip
    records.put(
        Site(key="pit", label="Pit", currency="EUR", today="2026-03-01"),
        Product(key="hyd", label="Hydraulic oil", kind="oil", nu40=46.0, price=3.1, currency="EUR"),
        Product(key="gear", label="Gear oil", kind="oil", nu40=220.0),
        Product(key="grease", label="Grease", kind="grease"),
        Product(key="cool", label="Coolant", kind="coolant"),
        Product(key="used", label="Used oil", kind="used"),
        from_toml(TANK + SLEW + COOLER, "ex-1.toml", Machine),
        truck,
        now_utc=EARLIER,
    )
    return records


def store(records: Store, *docs: tuple[kinds.Doc, int]) -> None:
    entries = tuple(NewEntry(doc=doc, at=DAY + datetime.timedelta(days=day), machine="ex-1") for doc, day in docs)
    records.record(Save(id=f"save-{records.count()}", entries=entries, by_name="Ann"), now_utc=DAY + datetime.timedelta(days=20))


def moved(from_node: str, to_node: str, litres: float, purpose: str = "top-up", product: str = "hyd") -> kinds.Movement:
    return kinds.Movement(from_node=from_node, to_node=to_node, product=product, volume_l=litres, purpose=purpose, as_read=f"{litres:g} L")


def adding(open_screen: Open, what: str, **address: str) -> AppTest:
    at = open_screen("records", **address)
    at.selectbox(key="add_what").set_value(what).run()
    assert not at.exception
    return at


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=f"add_{key}").set_value(text)
    return at.run()


def press(at: AppTest, label: str) -> AppTest:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception
    return at


def texts(at: AppTest) -> str:
    blocks = (*at.caption, *at.markdown, *at.info, *at.success, *at.warning, *at.error)
    return "\n".join(str(block.value) for block in blocks).replace("\\", "")


def docs(records: Store, kind: str) -> list:
    return [e.doc for e in records.entries(kinds=kind)]


def test_a_delivery_goes_into_the_stock_with_price_and_delivery_note(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Stock received")
    at.selectbox(key="add_received_product").set_value("hyd").run()
    assert at.text_input(key="add_received_price").value == "3.1"
    press(at, "Store the delivery")
    assert "Amount: “nothing” cannot be used" in texts(at)
    typed(at, received_amount="55 US gal", received_price="3,25", received_document="LN 4711")
    press(at, "Store the delivery")
    (doc,) = docs(rig, "movement")
    assert (doc.from_node, doc.to_node, doc.product, doc.purpose) == ("outside", "stock", "hyd", "stock")
    assert doc.volume_l == pytest.approx(208.198, abs=5e-4)  # 55 x 231 cubic inches
    assert (doc.price, doc.currency, doc.document, doc.as_read) == (3.25, "EUR", "LN 4711", "55 US gal")
    assert "Stock received: stored in the records." in texts(at.run())
    assert at.text_input(key="add_received_amount").value == ""
    assert "Stock: 55 US gal Hydraulic oil from outside to stock, document LN 4711" in texts(at)


def test_grease_comes_in_kilograms_and_oil_may_go_onto_the_truck(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Stock received")
    at.selectbox(key="add_received_product").set_value("grease").run()
    typed(at, received_amount="18")
    press(at, "Store the delivery")
    at.selectbox(key="add_received_product").set_value("hyd").run()
    at.selectbox(key="add_received_to").set_value("truck/hyd").run()
    typed(at, received_amount="401")
    press(at, "Store the delivery")
    assert "amount: 401 L is above 400 L. No more fits into Hydraulic oil of Lube truck." in texts(at)
    typed(at, received_amount="400")
    press(at, "Store the delivery")
    onto, grease = docs(rig, "movement")
    assert (grease.mass_kg, grease.volume_l, grease.to_node) == (18.0, None, "stock")
    assert (onto.volume_l, onto.to_node) == (400.0, "truck/hyd")


def test_used_oil_leaves_with_litres_receiver_and_paper(rig: Store, open_screen: Open) -> None:
    store(rig, (moved("tank", "used-oil", 100.0, "drain", "used"), 0), (moved("slew", "used-oil", 6.0, "drain", "used"), 1))
    at = adding(open_screen, "Used oil handed over")
    assert "never go into the used-oil tank" in texts(at)
    assert "Booked into it since the first entry, 2026-02-02: 106" in texts(at)
    assert not at.warning
    typed(at, handed_litres="95")
    press(at, "Store it")
    assert "Receiver: “nothing” cannot be used" in texts(at)
    typed(at, handed_receiver="Collector", handed_document="N-17")
    press(at, "Store it")
    doc = docs(rig, "movement")[0]
    assert (doc.from_node, doc.to_node, doc.product, doc.purpose, doc.volume_l) == ("used-oil", "outside", "used", "used oil", 95.0)
    assert (doc.receiver, doc.document, doc.note) == ("Collector", "N-17", "")
    at.run()
    assert "Booked into it" not in texts(at)  # nothing went in since


def test_a_mix_in_the_used_oil_is_warned_about_and_written_down(rig: Store, open_screen: Open) -> None:
    store(rig, (moved("cooler", "used-oil", 18.0, "drain", "used"), 0))
    at = adding(open_screen, "Used oil handed over")
    assert any("18 L of coolant went into it" in w.value and "no plain used oil" in w.value for w in at.warning), texts(at)
    at.pills(key="add_handed_mix").set_value(["solvent"]).run()
    typed(at, handed_litres="20", handed_receiver="Collector")
    press(at, "Store it")
    assert docs(rig, "movement")[0].note == "mixed with coolant, solvent"


def test_a_mix_that_is_only_said_is_warned_about_too(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Used oil handed over")
    at.pills(key="add_handed_mix").set_value(["biodegradable oil"]).run()
    assert any("A mix" in w.value for w in at.warning)


@pytest.mark.parametrize(("litres", "kind"), [("0,5", "movement"), ("", "observation")])
def test_after_a_mix_up_the_compartment_counts_as_mixed_until_it_is_drained(rig: Store, open_screen: Open, litres: str, kind: str) -> None:
    at = adding(open_screen, "Mix-up: wrong product poured", machine="ex-1")
    at.selectbox(key="add_mix_part").set_value("slew").run()
    at.selectbox(key="add_mix_product").set_value("hyd").run()
    assert "The compartment holds Gear oil, not Hydraulic oil" in texts(at)
    typed(at, mix_litres=litres, mix_note="wrong pail")
    press(at, "Store the mix-up")
    assert len(rig.entries("ex-1", kind)) == 1
    at = open_screen("service", machine="ex-1")
    at.pills(key="service_ex-1_parts").set_value(["slew"]).run()
    at.text_input(key="service_ex-1_slew_added").set_value("1").run()
    assert any("It counts as mixed" in w.value for w in at.warning)
    store(rig, (moved("slew", "used-oil", 6.0, "planned change", "used"), 15))
    assert any("It counts as mixed" in w.value for w in at.run().warning)  # the mix-up was later than that drain
    drain = NewEntry(doc=moved("ex-1/slew", "used-oil", 6.0, "planned change", "used"), at=rig.entries("ex-1", kind)[0].at, machine="ex-1")
    rig.record(Save(id="drain", entries=(drain,)), now_utc=DAY + datetime.timedelta(days=99))
    assert not any("It counts as mixed" in w.value for w in at.run().warning)


def test_a_sample_takes_what_was_added_since_the_last_one_from_the_records(rig: Store, open_screen: Open) -> None:
    store(
        rig,
        (moved("stock", "tank", 9.0), 0),
        (kinds.OilSample(node="tank", bottle="16"), 1),
        (moved("stock", "tank", 20.0), 2),
        (moved("tank", "used-oil", 3.0, "drain", "used"), 3),
        (moved("stock", "tank", 6.5), 4),
    )
    at = adding(open_screen, "Oil sample", machine="ex-1")
    at.selectbox(key="add_sample_part").set_value("tank").run()
    assert at.text_input(key="add_sample_added").value == "26.5"
    said = texts(at)
    assert "From the records since the last sample, 2026-02-03:" in said
    assert "* 2026-02-04: Top-up: 20 L" in said
    assert "* 2026-02-06: Top-up: 6.5 L" in said
    press(at, "Store the sample")
    assert "Bottle number: “nothing” cannot be used" in texts(at)
    typed(at, sample_bottle="17", sample_oil_h="512", sample_added="27,5")
    press(at, "Store the sample")
    doc = docs(rig, "oil sample")[0]
    assert (doc.node, doc.bottle, doc.oil_h, doc.added_l, doc.as_read) == ("ex-1/tank", "17", 512.0, 27.5, "27,5 L")


def test_an_oil_change_begins_the_count_anew(rig: Store, open_screen: Open) -> None:
    store(rig, (moved("stock", "tank", 9.0), 0), (moved("stock", "tank", 120.0, "planned change"), 1), (moved("stock", "tank", 2.0), 2))
    at = adding(open_screen, "Oil sample", machine="ex-1")
    at.selectbox(key="add_sample_part").set_value("tank").run()
    assert at.text_input(key="add_sample_added").value == "2"


def test_without_a_sample_or_a_top_up_nothing_is_filled_in(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Oil sample", machine="ex-1")
    at.selectbox(key="add_sample_part").set_value("tank").run()
    assert at.text_input(key="add_sample_added").value == ""
    assert "no top-up of it is recorded" in texts(at)


def test_a_result_belongs_to_a_bottle_and_each_bottle_waits_once(rig: Store, open_screen: Open) -> None:
    store(rig, (kinds.OilSample(node="slew", bottle="17"), 1), (kinds.OilSample(node="tank", bottle="18"), 2))
    at = adding(open_screen, "Lab result")
    assert "2 bottles are waiting" in texts(at)
    bottle = next(e.id for e in rig.entries("ex-1", "oil sample") if e.doc.bottle == "17")
    at.selectbox(key="add_lab_bottle").set_value(bottle).run()
    at.pills(key="add_lab_figures").set_value(["Iron", "another figure"]).run()
    typed(at, lab_laboratory="Laboratory", **{"lab_Iron": "41", "lab_another figure": "3"})
    assert "Give its name and its unit" in texts(at)
    typed(at, lab_name="Lead", lab_unit="mg/kg")
    press(at, "Store the result")
    (doc,) = docs(rig, "lab result")
    assert (doc.node, doc.sample, doc.bottle, doc.laboratory) == ("ex-1/slew", bottle, "17", "Laboratory")
    assert doc.values == {"Iron": 41.0, "Lead": 3.0}
    assert doc.units == {"Iron": "mg/kg", "Lead": "mg/kg"}
    assert "Lab result for Slewing gearbox, bottle 17: Iron 41 mg/kg, Lead 3 mg/kg" in texts(at)
    assert "1 bottles are waiting" in texts(at.run())


def test_a_bottle_that_is_not_on_record_needs_its_machine(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Lab result")
    at.selectbox(key="add_lab_bottle").set_value("a bottle that is not on record").run()
    assert any("Choose the machine above" in i.value for i in at.info)
    at.selectbox(key="machine").set_value("ex-1").run()
    at.pills(key="add_lab_figures").set_value(["Water"]).run()
    typed(at, lab_number="X-1", lab_Water="0,05")
    press(at, "Store the result")
    (doc,) = docs(rig, "lab result")
    assert (doc.bottle, doc.sample, doc.values) == ("X-1", None, {"Water": 0.05})


def test_a_note_on_a_compartment_and_one_on_nothing(rig: Store, open_screen: Open) -> None:
    at = adding(open_screen, "Note")
    press(at, "Store the note")
    assert "Write what there is to say" in texts(at)
    at.text_area(key="add_note_text").set_value("The pump hums *loudly*").run()
    press(at, "Store the note")
    assert docs(rig, "note")[0].text == "The pump hums *loudly*"
    assert any("The pump hums \\*loudly\\*" in m.value for m in at.markdown)
    at.selectbox(key="machine").set_value("ex-1").run()
    at.selectbox(key="add_note_part").set_value("tank")
    at.text_area(key="add_note_text").set_value("Glass is fogged").run()
    press(at, "Store the note")
    newest = rig.entries(kinds="note")
    assert {(e.machine, e.doc.node, e.doc.text) for e in newest} == {
        (None, None, "The pump hums *loudly*"), ("ex-1", "ex-1/tank", "Glass is fogged"),
    }  # fmt: skip


@pytest.mark.parametrize("what", ["Oil sample", "Mix-up: wrong product poured"])
def test_what_needs_a_machine_asks_for_it(rig: Store, open_screen: Open, what: str) -> None:
    at = adding(open_screen, what)
    assert any("Choose the machine above" in i.value for i in at.info)


def test_a_link_opens_a_form(rig: Store, open_screen: Open) -> None:
    at = open_screen("records", machine="ex-1", add_what="Oil sample")
    assert at.text_input(key="add_sample_bottle").value == ""
    assert next(e for e in at.expander if e.label == "Add an entry").proto.expanded
