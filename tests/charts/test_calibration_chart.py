"""The picture of a calibration: its band is the 95 % band of the pours, few as they are."""

import pytest

from fluidapp.calc.calibration import calibrate
from fluidapp.charts.calibration import calibration
from fluidapp.model import Compartment, Pour

PART = {
    "key": "tank",
    "label": "Tank",
    "kind": "hydraulic tank",
    "fill": {"litres": 100.0, "reading": 250.0},
    "gauges": [{"name": "glass", "kind": "sight glass", "u_mm": 2.0, "end_mm": 400.0}],
}


@pytest.mark.parametrize(("after", "k"), [((257.0, 257.0), 2.0), ((247.0, 267.0), 12.7062)])
def test_the_band_of_two_pours_is_wide_where_their_own_scatter_sets_it(after, k):
    """Student's t, 95 % two-sided, one degree of freedom: 12.706 (table); 2 where the readings' own doubt is known."""
    found = calibrate(Compartment.model_validate(PART, strict=False), [Pour(add=20.0, before=200.0, after=at) for at in after])
    far = calibration(found).layer[0].data.iloc[-1]
    slope, u = 1 / found.pours_l, found.u_pours_l / found.pours_l**2
    assert far["high"] - far["rise"] == pytest.approx(k * u * far["litres"], rel=1e-4)
    assert far["low"] == pytest.approx(max(0.0, slope - k * u) * far["litres"], rel=1e-3, abs=1e-9)
