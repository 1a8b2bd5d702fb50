"""Products: added, changed as a new version, taken off and put back; oils and greases ask for their own figures."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Product, typical
from fluidapp.store import Store, open_store

Open = Callable[..., AppTest]
AT = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
KEY = "products_edit"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(tmp_path / "records.db")


@pytest.fixture
def stocked(store: Store) -> Store:
    machine = typical.machine("13 t excavator", "ex", "Excavator")
    tank = machine.compartments[0].model_copy(update={"product": "hyd"})
    oil = {"key": "hyd", "label": "Hydraulic oil VG 46", "kind": "oil", "nu40": 46.0, "price": 3.1, "currency": "EUR",
           "containers": [{"label": "20 L pail", "volume_l": 20.0}]}  # fmt: skip
    store.put(
        Product.model_validate(oil),
        Product(key="grease", label="Grease NLGI 2", kind="grease", nlgi="2", thickener="lithium"),
        machine.model_copy(update={"compartments": (tank, *machine.compartments[1:])}),
        now_utc=AT,
    )
    return store


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=f"{KEY}_{key}").set_value(text)
    return at.run()


def blocks(at: AppTest) -> list[list[str]]:
    """The listed products, each as its lines."""
    lines = [m.value.replace("\\", "").split("  \n") for m in at.markdown if m.value.startswith("**")]
    return [[line.removeprefix(":small[").removesuffix("]") for line in block] for block in lines]


def saved(at: AppTest, key: str = "products_save") -> AppTest:
    at.button(key=key).click().run()
    assert not at.exception
    return at


def test_empty_records_ask_for_the_hydraulic_oil_first(store: Store, open_empty: Open) -> None:
    at = open_empty("products")
    assert any("No product is entered yet" in info.value for info in at.info)
    assert not blocks(at)


def test_an_oil_with_its_container_and_price_is_added(store: Store, open_empty: Open) -> None:
    at = open_empty("products")
    at.selectbox(key=f"{KEY}_kind").set_value("oil").run()
    at.selectbox(key=f"{KEY}_family").set_value("biodegradable ester").run()
    at.button(key=f"{KEY}_containers_add").click().run()
    typed(at, label="Hydraulic oil VG 46", nu40="46", rho15="915", price="4,20",
          currency="EUR", containers_0_label="pail", containers_0_volume_l="5 US gal")  # fmt: skip
    saved(at)
    (made,) = store.products()
    assert made.key == "hydraulic-oil-vg-46"
    assert (made.family, made.nu40, made.rho15, made.price) == ("biodegradable ester", 46.0, 915.0, 4.2)
    assert made.containers[0].volume_l == pytest.approx(18.927, abs=5e-4)  # 5 x 231 cubic inches
    assert "Hydraulic oil VG 46 is stored. Version 1." in at.success[0].value
    assert at.text_input(key=f"{KEY}_label").value == ""
    assert blocks(at)[0][0] == "**Hydraulic oil VG 46** · 4.2 EUR a L"


def test_the_list_shows_figures_containers_price_and_how_many_places_take_it(stocked: Store, open_empty: Open) -> None:
    grease, oil = blocks(open_empty("products"))
    assert oil == ["**Hydraulic oil VG 46** · 3.1 EUR a L", "oil, mineral, 46 mm²/s at 40 °C", "20 L pail (20 L); in 1 place"]
    assert grease == ["**Grease NLGI 2**", "grease, mineral, NLGI 2, lithium", "in 0 places"]


def test_an_edit_is_a_new_version_and_unchanged_is_none(stocked: Store, open_empty: Open) -> None:
    at = open_empty("products")
    at.selectbox(key="products_which").set_value("hyd").run()
    assert at.text_input(key=f"{KEY}_price").value == "3.1"
    saved(at)
    assert "Nothing was changed" in at.success[0].value
    typed(at, price="3.35")
    saved(at)
    assert stocked.product("hyd").price == 3.35
    assert len(stocked.versions("hyd")) == 2
    assert stocked.product("hyd").containers[0].label == "20 L pail"


def test_a_grease_is_asked_for_thickener_and_an_oil_for_viscosity(stocked: Store, open_empty: Open) -> None:
    at = open_empty("products")
    at.selectbox(key="products_which").set_value("grease").run()
    keys = {box.key for box in at.text_input}
    assert f"{KEY}_thickener" in keys
    assert f"{KEY}_nu40" not in keys
    at.selectbox(key="products_which").set_value("hyd").run()
    keys = {box.key for box in at.text_input}
    assert f"{KEY}_nu40" in keys
    assert f"{KEY}_thickener" not in keys


@pytest.mark.parametrize(
    ("boxes", "expected"),
    [
        ({}, "Name: “nothing” cannot be used. Enter what it is"),
        ({"label": "Oil", "nu40": "46 cSt"}, "Viscosity at 40 °C (mm²/s)"),
        ({"label": "Oil", "nu40": "-46"}, "Viscosity at 40 °C (mm²/s): -46 cannot be used. Input should be greater than 0"),
        ({"label": "Oil", "rho15": "0.87"}, "Density at 15 °C (kg/m³): 0.87 cannot be used. Input should be greater than 500"),
        ({"label": "Oil", "price": "-1"}, "Price a litre (grease: a kg): -1 cannot be used"),
    ],
)
def test_a_refusal_names_the_field_and_stores_nothing(store: Store, open_empty: Open, boxes: dict[str, str], expected: str) -> None:
    at = open_empty("products")
    typed(at, **boxes)
    saved(at)
    assert len(at.error) == 1
    assert expected in at.error[0].value
    assert store.products() == []


def test_a_product_leaves_the_lists_and_comes_back(stocked: Store, open_empty: Open) -> None:
    at = open_empty("products")
    at.selectbox(key="products_which").set_value("grease").run()
    saved(at, "products_archive")
    assert [p.key for p in stocked.products()] == ["hyd"]
    at.selectbox(key="products_back").set_value("grease").run()
    saved(at, "products_back_save")
    assert [p.key for p in stocked.products()] == ["grease", "hyd"]
