"""The picture of a tank: its marks carry litres in the caller's words, whatever their size and unit."""

import pytest

from fluidapp.calc import dipchart, picture
from fluidapp.charts.tank import tank
from fluidapp.model import Machine
from fluidapp.screens.words import METRIC, Show

BIG = {
    "key": "m",
    "label": "M",
    "compartments": [
        {
            "key": "tank", "label": "Tank", "kind": "hydraulic tank",
            "body": {"shape": "box", "length": 2000.0, "width": 1500.0, "height": 900.0},
            "gauges": [{"kind": "sight glass", "name": "glass", "at": (0.0, 750.0, 0.0), "bands": [{"low": 500.0, "high": 614.0}]}],
        }
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("show", "labels"),
    [
        (METRIC, ["L  1500 L", "target  1670 L", "H  1840 L"]),
        (Show(volume="US gal"), ["L  396 US gal", "target  441 US gal", "H  487 US gal"]),
    ],
)
def test_marks_carry_their_litres_without_powers_of_ten_and_in_the_person_s_unit(show, labels):
    """3 L in each mm: 1500, 1671, 1842 L; a US gallon is 3.785411784 L."""
    part = Machine.model_validate(BIG).compartment("tank")
    drawn = picture.tank(part, dipchart.as_asked(part, "glass", 557.0), 557.0)
    texts = [list(layer.data["text"]) for layer in tank(drawn, show.about).layer if "text" in getattr(layer.data, "columns", ())]
    assert texts[0] == labels


@pytest.mark.parametrize(("length", "height"), [(400.0, 400.0), (3000.0, 300.0), (300.0, 2000.0)])
def test_a_millimetre_is_as_long_across_as_upwards(length, height):
    body = {"shape": "box", "length": length, "width": 500.0, "height": height}
    gauge = {"kind": "sight glass", "name": "glass", "at": (0.0, 250.0, 0.0), "bands": [{"low": 100.0, "high": 200.0}]}
    tank_ = BIG["compartments"][0] | {"body": body, "gauges": [gauge]}
    part = Machine.model_validate(BIG | {"compartments": [tank_]}).compartment("tank")
    spec = tank(picture.tank(part, dipchart.as_asked(part, "glass", 150.0), 150.0), METRIC.about).to_dict()
    across, upwards = (spec["layer"][0]["encoding"][axis]["scale"]["domain"] for axis in "xy")
    assert (across[1] - across[0]) / spec["width"] == pytest.approx((upwards[1] - upwards[0]) / spec["height"])
    assert upwards[0] < 0.0
    assert upwards[1] > height
    assert across[0] < 0.0
    assert across[1] > length
