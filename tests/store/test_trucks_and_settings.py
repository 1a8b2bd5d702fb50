"""Trucks and settings in the records: versions, names, oil that goes to and from a truck, and files."""

from datetime import timedelta

import pytest

from fluidapp.errors import RecordsProblem, Unknown
from fluidapp.model import Setting, Truck
from fluidapp.store import Save, kinds
from fluidapp.store.files import FilesProblem, load_files

TRUCK = Truck.model_validate(
    {
        "key": "truck-1",
        "label": "Lube truck 1",
        "compartments": [{"key": "oil", "label": "Hydraulic oil", "product": "hyd", "capacity_l": 350.0, "rate_per_min": 40.0}],
    }
)
COSTS = Setting(key="costs", label="Costs", values={"per_km": 1.2, "currency": "EUR", "night": False})
FILES = {
    "trucks.toml": b"""
[[truck]]
key = "truck-1"
label = "Lube truck 1"
[[truck.compartments]]
key = "oil"
label = "Hydraulic oil"
product = "hyd"
capacity_l = 350
rate_per_min = 40

[[setting]]
key = "costs"
label = "Costs"
values = { per_km = 1.2, currency = "EUR", night = false }
"""
}


def test_a_truck_and_a_setting_come_back_as_they_were_put(store, make):
    store.put(TRUCK, COSTS, now_utc=make.now)
    assert store.truck("truck-1") == TRUCK
    assert store.trucks() == [TRUCK]
    assert store.setting("costs") == COSTS
    assert store.settings() == [COSTS]
    assert type(store.setting("costs").values["night"]) is bool
    with pytest.raises(Unknown, match=r"Truck: “truck-9” is not known\. Known: truck-1\."):
        store.truck("truck-9")
    with pytest.raises(Unknown, match=r"Setting: “rates” is not known\. Known: costs\."):
        store.setting("rates")


def test_an_edit_of_a_truck_is_a_new_version_and_the_old_one_stays(store, make):
    store.put(TRUCK, now_utc=make.now)
    store.put(TRUCK.model_copy(update={"shift_start": "06:00", "shift_end": "18:00"}), now_utc=make.now + timedelta(hours=1))
    newest, first = store.versions("truck-1")
    assert (newest.n, first.n) == (2, 1)
    assert store.version(first.id) == TRUCK
    assert store.truck("truck-1").shift_start == "06:00"


def test_the_name_of_a_machine_is_no_name_for_a_truck(store, make):
    with pytest.raises(RecordsProblem, match="“ex-1” is already the name of a machine"):
        store.put(TRUCK.model_copy(update={"key": "ex-1"}), now_utc=make.now)


def test_a_compartment_of_a_truck_may_not_bear_the_name_of_a_place(store, make):
    one = TRUCK.compartments[0].model_copy(update={"key": "stock"})
    with pytest.raises(Exception, match="These names are taken"):
        store.put(TRUCK.model_copy(update={"compartments": (one,)}), now_utc=make.now)


def test_oil_goes_from_the_stock_to_the_truck_and_from_the_truck_to_a_machine(store, make):
    store.put(TRUCK, now_utc=make.now)
    loaded = kinds.Movement(from_node="stock", to_node="truck-1/oil", product="hyd", volume_l=200.0, purpose="stock")
    poured = kinds.Movement(from_node="truck-1/oil", to_node="tank", product="hyd", volume_l=26.0, purpose="top-up")
    store.record(Save(id="s", entries=(make.entry(loaded, machine=None), make.entry(poured, 1.0))), now_utc=make.now)
    found = [(e.doc.from_node, e.doc.to_node) for e in store.entries(kinds="movement")]
    assert found == [("truck-1/oil", "ex-1/tank"), ("stock", "truck-1/oil")]


@pytest.mark.parametrize(
    ("node", "sentence"),
    [
        ("truck-1/gear", "Compartment of truck-1: “gear” is not known. Known: oil."),
        ("truck-2/oil", "Machine or truck: “truck-2” is not known. Known: ex-1, wl-2, truck-1."),
    ],
)
def test_a_truck_or_a_compartment_that_is_not_known_is_named(store, make, node, sentence):
    store.put(TRUCK, now_utc=make.now)
    doc = kinds.Movement(from_node=node, to_node="tank", product="hyd", volume_l=26.0, purpose="top-up")
    with pytest.raises(Unknown) as err:
        store.record(Save(id="s", entries=(make.entry(doc),)), now_utc=make.now)
    assert str(err.value) == sentence


def test_a_truck_s_compartment_is_no_part_of_a_machine_and_has_no_level(store, make):
    store.put(TRUCK, now_utc=make.now)
    doc = kinds.LevelReading(node="truck-1/oil", level=100.0)
    with pytest.raises(Exception, match=r"node: “truck-1/oil” cannot be used\. It is no part of the machine ex-1\."):
        store.record(Save(id="s", entries=(make.entry(doc),)), now_utc=make.now)


def test_trucks_and_settings_are_read_from_files(store, make):
    load_files(store, FILES, now_utc=make.now)
    assert store.truck("truck-1") == TRUCK
    assert store.setting("costs") == COSTS
    worse = {"trucks.toml": FILES["trucks.toml"].replace(b"capacity_l = 350", b"capacity_l = -1")}
    with pytest.raises(FilesProblem, match="capacity_l"):
        load_files(store, worse, now_utc=make.now)
