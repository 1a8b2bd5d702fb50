"""Used oil: what is kept out of its tank (common practice, no source), and what the records say is in it."""

import pytest

from fluidapp.calc.used_oil import Content, Drained, content, other_than_oil
from fluidapp.errors import OutOfRange
from fluidapp.model import Product


@pytest.mark.parametrize(
    ("product", "compartment", "other"),
    [
        (Product(key="o", label="Oil", kind="oil"), "engine sump", None),
        (Product(key="o", label="Oil", kind="oil", family="biodegradable ester"), "hydraulic tank", "biodegradable oil"),
        (Product(key="c", label="Coolant", kind="coolant"), "", "coolant"),
        (Product(key="f", label="Diesel", kind="fuel"), "", "fuel"),
        (Product(key="u", label="Used", kind="used", family="unknown"), "final drive", None),
        (None, "coolant", "coolant"),
        (None, "fuel tank", "fuel"),
        (None, "hydraulic tank", None),
    ],
)
def test_coolant_fuel_and_biodegradable_oil_are_no_used_oil(product, compartment, other) -> None:
    assert other_than_oil(product, compartment) == other


def test_litres_add_up_and_what_does_not_belong_there_is_named() -> None:
    found = content([Drained(20.0), Drained(5.0, "coolant"), Drained(2.5, "coolant"), Drained(None, "fuel"), Drained(1.0, "fuel")])
    assert found == Content(28.5, {"coolant": 7.5, "fuel": None})
    assert found.mixed
    assert not content([Drained(20.0), Drained(None)]).mixed
    assert content([]) == Content(0.0, {})


def test_litres_below_zero_are_refused() -> None:
    with pytest.raises(OutOfRange):
        content([Drained(-1.0)])
