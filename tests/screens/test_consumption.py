"""Consumption: the demo's true stories stand on the list and healthy machines do not; the fleet, one machine, the way to the entries."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.screens import _fleet, _tables
from fluidapp.store import NewEntry, Save, Store, kinds, open_store
from fluidapp.store.demo import built

Open = Callable[..., AppTest]
TODAY = datetime.date(2026, 9, 30).toordinal() + 1 - 1e-6
START = datetime.datetime(2026, 2, 2, 6, 30, tzinfo=datetime.UTC)


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info))


def put(store: Store, day: float, litres: float, hours: float, purpose: str = "top-up") -> None:
    doc = kinds.Movement.model_validate(
        {"from_node": "stock", "to_node": "tank", "product": "unknown", "volume_l": litres, "purpose": purpose, "price": None}
    )
    at = START + datetime.timedelta(days=day)
    entry = NewEntry(machine="ex-1", at=at, meter_h=hours, doc=doc)
    store.record(Save(id=f"save-{day}", entries=(entry,)), now_utc=START + datetime.timedelta(days=400))


@pytest.fixture(scope="module")
def demo() -> _fleet.Seen:
    store = open_store(built())
    return _fleet.gather(store, store.machines(), {p.key: p for p in store.products()}, TODAY)


def test_the_true_stories_of_the_demo_stand_on_the_list_and_no_healthy_machine_does(demo: _fleet.Seen) -> None:
    told = [(t.machine, t.part, t.finding.kind) for t in demo.first]
    assert told == [
        ("teasel", "slew", "gain"),
        ("fennel", "drive-right", "gain"),
        ("teasel", "tank", "takes more"),
        ("mallow", "tank", "takes more"),
        ("burdock", "tank", "at once"),
    ]
    assert demo.more == 0


def test_the_same_rates_stand_in_the_list_and_on_the_machine_s_own_view(demo: _fleet.Seen, open_demo_screen: Open) -> None:
    words = next(t.finding.words for t in demo.first if (t.machine, t.part) == ("mallow", "tank"))
    at = open_demo_screen("consumption", machine="mallow", part="tank")
    assert not at.exception
    for metric in at.metric:
        assert str(metric.value) in words
    assert [m.label for m in at.metric] == ["Usually, before the change", "Since the change"]
    assert "A lasting change began between 22 June and 3 August" in at.get("vega_lite_chart")[0].proto.alt
    assert words.partition(":")[0] in said(at)


def test_the_fleet_is_ranked_and_a_view_can_be_sent_as_a_link(open_demo_screen: Open) -> None:
    at = open_demo_screen("consumption", period="last 12 months", group="compartment", product="Hydraulic oil ISO VG 46")
    assert not at.exception
    assert not at.error
    assert at.header[1].value == "Top-ups by compartment"
    rows = at.dataframe[0].value
    assert len(rows) == 12
    assert all(name.endswith("hydraulic tank") for name in rows["compartment"])
    assert all("±" in cell for cell in rows["L/100 h"])
    assert "2025-10-01 to 2026-09-30" in said(at)
    at.selectbox(key="group").set_value("machine").run()
    now = at.dataframe[0].value
    assert now["machine"].tolist()[0].startswith("Burdock")


def test_gallons_change_the_figures_of_the_tables(open_demo_screen: Open) -> None:
    at = open_demo_screen("consumption", period="last 12 months")
    litres = at.dataframe[0].value["topped up"].tolist()[0]
    at.selectbox(key="units").set_value("in, US gal").run()
    gallons = at.dataframe[0].value["topped up"].tolist()[0]
    assert gallons.endswith("US gal")
    assert float(gallons.split()[0]) * 3.785 == pytest.approx(float(litres.split()[0]), rel=0.1)
    assert "US gal/100 h" in at.dataframe[0].value.columns


def test_a_part_in_the_address_that_has_no_top_ups_opens_the_one_that_has(open_demo_screen: Open) -> None:
    at = open_demo_screen("consumption", machine="fennel", part="drive-right")
    assert not at.exception
    assert not at.error
    assert "run over its level plug at the last 3 checks" in said(at)


def test_a_machine_without_top_ups_says_so_and_one_interval_has_a_rate(records: Store, open_screen: Open) -> None:
    assert "Nothing was poured into this machine yet" in said(open_screen("consumption", machine="ex-1"))
    put(records, 0, 100.0, 1000.0, "planned change")
    put(records, 10, 30.0, 1100.0)
    at = open_screen("consumption", machine="ex-1")
    assert not at.exception
    assert "Too few intervals to tell what is usual" in said(at)
    row = at.dataframe[0].value.iloc[0]
    assert (row["hours"], row["L/100 h"].split()[0]) == ("100", "30")


def test_own_days_that_are_none_are_named(open_demo_screen: Open) -> None:
    at = open_demo_screen("consumption", period="own days", from_day="2026-13-01")
    assert "Write it like 2026-05-04." in at.error[0].value
    at = open_demo_screen("consumption", period="own days", from_day="2026-06-01", to_day="2026-05-01")
    assert "It must not be before the first day." in at.error[0].value


def test_no_cell_of_a_file_is_taken_for_a_formula() -> None:
    assert _tables.csv_bytes([{"machine": "=1+1", "L": "2.0"}]).decode("utf-8-sig") == "machine,L\n'=1+1,2.0\n"
