"""Stock: what is on hand, how long it lasts, when to order, used oil and cost, from entries that can be followed on paper."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Container, Product
from fluidapp.store import NewEntry, Save, Store, kinds

Open = Callable[..., AppTest]
START = datetime.datetime.now(datetime.UTC) - datetime.timedelta(days=70)


def put(store: Store, day: float, out_of: str, into: str, litres: float, purpose: str, **more: object) -> None:
    doc = kinds.Movement.model_validate(
        {"from_node": out_of, "to_node": into, "product": "hyd", "volume_l": litres, "purpose": purpose, **more}
    )
    machine = "ex-1" if "tank" in (out_of, into) else None
    entry = NewEntry(machine=machine, at=START + datetime.timedelta(days=day), doc=doc)
    store.record(Save(id=f"save-{day}", entries=(entry,)), now_utc=datetime.datetime.now(datetime.UTC))


@pytest.fixture
def stocked(records: Store) -> Store:
    """500 L come in, 10 L a week go out for nine weeks; 80 L of used oil, 50 L of it handed over without a paper."""
    drum = Container(label="208 L drum", volume_l=208.0)
    records.put(Product(key="hyd", label="Hydraulic oil", kind="oil", price=3.0, currency="EUR", containers=(drum,)), now_utc=START)
    put(records, 0, "outside", "stock", 500.0, "stock")
    for week in range(9):
        put(records, 7 * week + 3, "stock", "tank", 10.0, "top-up", u=0.1)
    put(records, 50, "tank", "used-oil", 80.0, "drain", u=1.0)
    put(records, 55, "used-oil", "outside", 50.0, "used oil", u=1.0)
    return records


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info))


def test_what_is_on_hand_and_how_long_it_lasts(stocked: Store, open_screen: Open) -> None:
    at = open_screen("stock")
    assert not at.exception
    row = at.dataframe[0].value.iloc[0]
    assert row["on hand"] == "410.0 ± 0.6 L"  # 500 - 90; u = 0.1 sqrt 9
    assert row["in containers"] == "1 × 208 L drum and 202 L open"
    assert row["use a week"] == "9 L"  # 90 L in ten weeks
    assert row["lasts"].startswith("319 days")  # 410 / 9 weeks
    assert row["order at"].endswith("enough for now")
    assert at.get("vega_lite_chart")[0].proto.alt.startswith("Hydraulic oil: 410.0 ± 0.6 L")


def test_used_oil_against_its_limit_and_hand_overs_without_a_paper(stocked: Store, open_screen: Open) -> None:
    at = open_screen("stock", used_limit="29")
    assert at.metric[0].value == "30 ± 3 L"
    assert "at its limit by the records" in said(at)
    assert "1 without a paper number and receiver" in said(at)
    at.text_input(key="used_limit").set_value("33").run()
    assert "it is full about" in said(at)  # 8 L a week come in


def test_cost_of_the_period_and_of_the_next_month(stocked: Store, open_screen: Open) -> None:
    at = open_screen("stock")
    row = at.dataframe[-1].value.iloc[0]
    assert row["cost"].startswith("270 ±")  # 90 L at 3 EUR
    assert float(row["next 30 days"].split()[0]) == pytest.approx(9 * 3 * 30 / 7, abs=10)  # 9 L a week, 30 days, 3 EUR


def test_days_until_a_delivery_have_limits_and_a_longer_wait_orders_earlier(stocked: Store, open_screen: Open) -> None:
    def order(lead: str) -> int:
        return int(open_screen("stock", stock_lead=lead).dataframe[0].value.iloc[0]["order at"].split()[0])

    assert order("14") < order("200")
    assert "1 to 365" in open_screen("stock", stock_lead="0").error[0].value


def test_more_out_than_in_is_named(records: Store, open_screen: Open) -> None:
    put(records, 3, "stock", "tank", 10.0, "top-up", product="unknown")
    assert "more went out than came in" in said(open_screen("stock"))
