"""The supervisor's columns: a small ledger by hand, with sums and hours that can be followed on paper."""

from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
import pytest

from fluidapp.calc import consumption
from fluidapp.model import Truck
from fluidapp.store import Store, kinds, ledger

Put = Callable[..., tuple[str, ...]]


def moved(out_of: str, into: str, litres: float, purpose: str = "top-up", **more: object) -> kinds.Movement:
    doc = {"from_node": out_of, "to_node": into, "product": "hyd", "volume_l": litres, "purpose": purpose, **more}
    return kinds.Movement.model_validate(doc)


@pytest.fixture
def year(store: Store, put: Put, make: SimpleNamespace) -> ledger.Ledger:
    """200 L come in; fill, two top-ups, a draining, a repair, a new meter; used oil leaves twice, once with a paper."""
    e = make.entry
    put(e(moved("outside", "stock", 200.0, "stock", price=3.0, currency="EUR"), 0, machine=None))
    put(e(moved("stock", "tank", 100.0, "planned change"), 0.1, 1000.0))
    put(e(moved("stock", "tank", 4.0, u=0.1), 3, 1060.0))
    put(e(moved("tank", "used-oil", 1.5, "drain"), 4, 1070.0))
    put(e(kinds.Repair(what="hose", at_nodes=("tank",)), 5, 1080.0))
    put(e(moved("stock", "tank", 5.0), 6, 1100.0))
    put(e(kinds.MeterChanged(old_end_h=1110.0), 7, 10.0))
    put(e(moved("stock", "tank", 2.0), 8, 30.0))
    put(e(kinds.Meter(state="broken since"), 9))
    put(e(moved("stock", "slew", 0.5), 10))
    put(e(kinds.Meter(), 11, 40.0))
    put(e(moved("stock", "slew", 0.25, "other"), 12))
    put(e(moved("used-oil", "outside", 1.0, "used oil", document="17", receiver="Collector"), 13, machine=None))
    wrong = put(e(moved("stock", "tank", 77.0), 14, 50.0))
    put(e(moved("used-oil", "outside", 0.5, "used oil"), 14, machine=None))
    put(e(kinds.Void(entry=wrong[0], reason="typed twice"), 14.5))
    return ledger.read_ledger(store)


def test_names_and_numbers_are_those_of_the_calculations() -> None:
    assert ledger.PURPOSES == consumption.PURPOSES
    assert (ledger.OUTSIDE, ledger.STOCK, ledger.MACHINE, ledger.USED_OIL) == (0, 1, 2, 3)


def test_flows_of_the_hand_built_ledger(year: ledger.Ledger) -> None:
    moves = year.moves
    flow = consumption.sort(moves.from_kind, moves.to_kind, moves.purpose)
    litres, _ = consumption.totals(flow, np.zeros(len(flow), int), 1, moves.litres, np.zeros(len(flow)))
    got = dict(zip(consumption.FLOWS, litres[0].tolist(), strict=True))
    assert got == {
        "delivered": 200.0, "topped up": 11.5, "changed": 100.0, "poured, other": 0.25, "drained": 1.5, "handed over": 1.5,
        "left stock": 0.0, "moved": 0.0,
    }  # fmt: skip
    assert moves.litres.sum() == pytest.approx(200 + 100 + 4 + 1.5 + 5 + 2 + 0.5 + 0.25 + 1.5)  # without the voided 77 L
    assert moves.paper.sum() == 1
    assert moves.litres[moves.paper].tolist() == [1.0]
    assert moves.price[0] == 3.0
    assert year.currencies[moves.currency[0]] == "EUR"
    assert year.products == ("hyd",)
    assert set(moves.product.tolist()) == {0}


def test_records_of_a_compartment_with_hours_over_an_exchanged_meter(year: ledger.Ledger) -> None:
    records = year.records
    tank = records.series == year.places.index("ex-1/tank")
    assert records.hours[tank].tolist() == [1000.0, 1060.0, 1070.0, 1100.0, 1130.0]  # 1110 h at the exchange, then 20 h more
    assert records.segment[tank].tolist() == [0, 0, 0, 0, 1]
    assert records.litres[tank].tolist()[1:] == [4.0, -1.5, 5.0, 2.0]
    assert np.isnan(records.litres[tank][0])  # a change is no consumption
    assert records.known[tank].tolist() == [True, True, False, True, True]
    assert records.restart[tank].tolist() == [False, False, False, True, False]
    assert not records.broken[tank].any()
    slew = records.series == year.places.index("ex-1/slew")
    assert records.broken[slew].tolist() == [True, False]
    assert records.known[slew].tolist() == [True, False]
    assert np.isnan(records.hours[slew]).all()
    found = consumption.intervals(
        records.series[tank], records.hours[tank], records.litres[tank], known=records.known[tank], segment=records.segment[tank]
    )
    assert found.hours.tolist() == [60.0, 40.0]  # none reaches over the new meter
    assert found.litres.tolist() == [4.0, 3.5]  # 5 L poured, 1.5 L of it for what was drained


def test_a_truck_is_stock_or_used_oil_and_empty_records_have_no_columns(store: Store, put: Put, make: SimpleNamespace) -> None:
    empty = ledger.read_ledger(store)
    assert (empty.places, len(empty.moves.litres), len(empty.records.litres)) == ((), 0, 0)
    before = ledger.stamp(store)
    truck = {
        "key": "lube",
        "label": "Lube truck",
        "compartments": [
            {"key": "a", "label": "A", "capacity_l": 500.0, "product": "hyd"},
            {"key": "old", "label": "Old", "capacity_l": 300.0, "product": "grease", "collects": True},
        ],
    }
    store.put(Truck.model_validate(truck), now_utc=make.now)
    put(make.entry(moved("lube/a", "ex-1/tank", 3.0), 1, 5.0), make.entry(moved("ex-1/tank", "lube/old", 1.0, "drain"), 1, 5.0))
    got = ledger.read_ledger(store).moves
    assert (got.from_kind.tolist(), got.to_kind.tolist()) == ([ledger.STOCK, ledger.MACHINE], [ledger.MACHINE, ledger.USED_OIL])
    assert ledger.stamp(store) == (before[0] + 2, before[1] + 1, 0)


def test_levels_of_chosen_compartments_from_a_day_on(store: Store, put: Put, make: SimpleNamespace) -> None:
    put(make.reading(200.0, 0, 10.0), make.reading(210.0, 5, 20.0))
    found = ledger.read_levels(store, ("ex-1/tank",), make.at(4).toordinal())
    assert (found.nodes, found.gauge, found.level.tolist(), found.bound) == (("ex-1/tank",), ("glass",), [210.0], ("exact",))
    assert found.day[0] == pytest.approx(make.at(5).toordinal() + 6.5 / 24)
