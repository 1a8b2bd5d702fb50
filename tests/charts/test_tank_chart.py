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
